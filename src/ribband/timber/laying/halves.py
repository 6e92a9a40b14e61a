"""Patterns put together of two halves: planks stacked from below, and planks hung from above.

Every board filled leaves halves behind: its first plank, its first two, and so on, from the lower
edge up or from the upper edge down. Any half from below goes with any from above that it does not
meet, so that a few dozen fillings of a board give thousands of patterns, and the one worth most at
the prices of the day is found among them without laying a plank anew.

Of halves with the same planks the one that takes least room is kept; of too many the oldest goes.

Not checked: that a half lies clear of flaws; `laying/fill.py` lays it so.
"""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ribband.numerics.profiles import Floats
from ribband.timber.laying.fill import Pattern, Place, cost_mm3
from ribband.timber.laying.ground import STEP, Lies, Plot
from ribband.timber.laying.rules import LayingRules

__all__ = ["Halves"]

MOST = 200  # halves kept from below, and as many from above
LOOKED_AT = 24  # pairs looked at, dearest first, till enough are found that may be laid
Small = NDArray[np.float32]
Ints = NDArray[np.int64]


@dataclass(slots=True)
class _Side:
    """Halves from one edge of a board; the first is nothing at all.

    edge : (MOST, 2 cells) how far in each comes; sign 1 from below, -1 upside down from above
    counts : (MOST, kinds) its planks; first, last : where they begin and end along the board, mm
    """

    sign: float
    edge: Small
    counts: NDArray[np.int8]
    first: Floats
    last: Floats
    room: Floats
    places: list[tuple[Place, ...]]
    at: dict[tuple[int, ...], int] = field(default_factory=dict)
    turn: int = 0

    @classmethod
    def empty(cls, sign: float, places: int, kinds: int) -> _Side:
        """Give a side on which nothing is known but how to leave it bare."""
        return cls(
            sign,
            np.full((MOST, places), -np.inf, dtype=np.float32),
            np.zeros((MOST, kinds), dtype=np.int8),
            np.full(MOST, np.inf),
            np.full(MOST, -np.inf),
            np.zeros(MOST),
            [()],
        )

    def spot(self, kinds: tuple[int, ...], room: float) -> int | None:
        """Give where a half is to be kept; None where a better one of the same planks is."""
        old = self.at.get(kinds)
        if old is not None:
            return old if room < self.room[old] - 1.0 else None
        if len(self.places) < MOST:
            self.places.append(())
            return len(self.places) - 1
        self.turn = self.turn % (MOST - 1) + 1
        gone = tuple(sorted(p.kind for p in self.places[self.turn]))
        self.at.pop(gone, None)
        return self.turn


@dataclass(slots=True)
class Halves:
    """The halves known of a board, and which of them go together."""

    plot: Plot
    lies: Lies
    rules: LayingRules
    index: int
    below: _Side
    above: _Side
    apart: NDArray[np.bool_]

    @classmethod
    def of(cls, plot: Plot, index: int, lies: Lies, kinds: int, rules: LayingRules) -> Halves:
        """Begin with none."""
        below, above = (_Side.empty(sign, 2 * len(plot.floor), kinds) for sign in (1.0, -1.0))
        return cls(plot, lies, rules, index, below, above, np.ones((MOST, MOST), dtype=np.bool_))

    def learn(self, places: tuple[Place, ...], from_above: bool) -> None:
        """Keep a half, if none of the same planks takes less room."""
        side = self.above if from_above else self.below
        start = -self.plot.roof if from_above else self.plot.floor
        edge, first, last = np.full_like(start, -np.inf), np.inf, -np.inf
        for place in places:
            begin, cells = place.cell, int(self.lies.cells[place.lie])
            high = self.lies.low[place.lie] if from_above else self.lies.high[place.lie]
            own = (side.sign * (place.y + high[:cells]))[: len(edge) - begin]
            span = slice(begin, begin + len(own))
            edge[span] = np.maximum(edge[span], own)
            first = min(first, begin * STEP)
            last = max(last, begin * STEP + float(self.lies.length[place.lie]))
        self._keep(side, places, edge, (first, last), start)

    def _keep(
        self,
        side: _Side,
        places: tuple[Place, ...],
        edge: Floats,
        span: tuple[float, float],
        start: Floats,
    ) -> None:
        kinds = tuple(sorted(p.kind for p in places))
        spot = side.spot(kinds, float(np.maximum(edge - start, 0.0).sum()))
        if spot is None:
            return
        side.at[kinds] = spot
        side.room[spot] = float(np.maximum(edge - start, 0.0).sum())
        side.places[spot] = places
        side.edge[spot] = edge.ravel()
        side.counts[spot] = np.bincount(kinds, minlength=side.counts.shape[1])
        side.first[spot], side.last[spot] = span
        if side is self.below:
            self.apart[spot] = (side.edge[spot] <= -self.above.edge).all(axis=1)
        else:
            self.apart[:, spot] = (self.below.edge <= -side.edge[spot]).all(axis=1)

    def best(self, prices: Floats, left: Ints, most: int) -> list[Pattern]:
        """Give the patterns of two halves that are worth most over what they cost, at most `most`.

        left : planks of each kind that may be laid
        """
        low, high = len(self.below.places), len(self.above.places)
        worth = self._worth(self.below, low, prices, left)[:, None]
        worth = worth + self._worth(self.above, high, prices, left)
        value = np.where(self.apart[:low, :high], worth - self._cost(low, high), -np.inf).ravel()
        value[0] = -np.inf
        count = min(LOOKED_AT, len(value))
        top = np.argpartition(value, len(value) - count)[-count:]
        found: list[Pattern] = []
        for pair in top[np.argsort(-value[top])].tolist():
            if len(found) >= most or not np.isfinite(value[pair]):
                break
            one, two = divmod(pair, high)
            if np.all(self.below.counts[one] + self.above.counts[two] <= left):
                places = (*self.below.places[one], *self.above.places[two])
                cost = cost_mm3(self.plot, self.lies, places, self.rules)
                found.append(Pattern(self.index, places, cost))
        return found

    @staticmethod
    def _worth(side: _Side, many: int, prices: Floats, left: Ints) -> Floats:
        counts = side.counts[:many]
        return np.where((counts <= left).all(axis=1), counts @ prices, -np.inf)

    def _cost(self, low: int, high: int) -> Floats:
        """Give about what each pair costs, (low, high): the board less its ends if long enough."""
        plot, long = self.plot, self.rules.offcut_length_mm + self.rules.kerf_mm
        nodes = STEP * np.arange(len(plot.area_to))
        first = np.minimum(self.below.first[:low, None], self.above.first[:high])
        last = np.maximum(self.below.last[:low, None], self.above.last[:high])
        first, last = np.minimum(first, plot.length), np.maximum(last, 0.0)
        begin = np.where(first >= long, np.interp(first, nodes, plot.area_to), 0.0)
        whole = float(plot.area_to[-1])
        end = np.where(plot.length - last >= long, np.interp(last, nodes, plot.area_to), whole)
        return np.asarray((end - begin) * plot.board.thickness_mm * plot.rate)
