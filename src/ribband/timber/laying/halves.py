"""Patterns put together of two halves: planks stacked from below, and planks hung from above.

Every board filled leaves halves behind: its first plank, its first two, and so on, from the lower
edge up or from the upper edge down. Any half from below goes with any from above that it does not
meet, so that a few dozen fillings of a board give thousands of patterns, and the one worth most at
the prices of the day is found among them without laying a plank anew.

Of halves with the same planks the one that takes least room is kept; of too many the oldest goes.

Not checked: that a half lies clear of flaws; `laying/fill.py` lays it so.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ribband.numerics.profiles import Floats
from ribband.timber.laying.fill import Pattern, Place, cost_mm3
from ribband.timber.laying.ground import STEP, Lies, Plot
from ribband.timber.laying.rules import LayingRules

__all__ = ["FEW", "MOST", "Halves"]

FEW, MOST = 200, 720  # halves kept of a board from below, and as many from above
LOOKED_AT = 40  # pairs looked at, dearest first, till enough are found that may be laid
TO_LEARN = 120  # halves at least that are kept of what is filled
SOME = 16  # of the places along an edge, those looked at first
Small = NDArray[np.float32]
Ints = NDArray[np.int64]


@dataclass(slots=True)
class _Side:
    """Halves from one edge of a board; the first is nothing at all.

    edge : (most, 2 cells) how far in each comes; sign 1 from below, -1 upside down from above
    counts : (most, kinds) its planks; first, last : where they begin and end along the board, mm
    firm : the first of those that may give way to others; new : those not yet tried with others
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
    firm: int = 1
    new: set[int] = field(default_factory=lambda: {0})

    @classmethod
    def empty(cls, sign: float, places: int, kinds: int, most: int) -> _Side:
        """Give a side on which nothing is known but how to leave it bare."""
        return cls(
            sign,
            np.full((most, places), -np.inf, dtype=np.float32),
            np.zeros((most, kinds), dtype=np.int8),
            np.full(most, np.inf),
            np.full(most, -np.inf),
            np.zeros(most),
            [()],
        )

    def spot(self, kinds: tuple[int, ...], room: float) -> int | None:
        """Give where a half is to be kept; None where a better one of the same planks is."""
        old = self.at.get(kinds)
        if old is not None:
            return old if room < self.room[old] - 1.0 else None
        if len(self.places) < len(self.room):
            self.places.append(())
            return len(self.places) - 1
        self.turn = max(self.turn, self.firm - 1) + 1
        self.turn = self.firm if self.turn == len(self.room) else self.turn
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
    cost: Small

    @classmethod
    def of(  # noqa: PLR0917 - a board and what may lie on it
        cls, plot: Plot, index: int, lies: Lies, kinds: int, rules: LayingRules, most: int = FEW
    ) -> Halves:
        """Begin with none."""
        below, above = (_Side.empty(sign, 2 * len(plot.floor), kinds, most) for sign in (1.0, -1.0))
        return cls(plot, lies, rules, index, below, above, np.zeros((most, most), np.float32))

    def begin_with(self, places: Sequence[Place], from_above: bool) -> None:
        """Keep single planks, some of one kind at several places; none of them gives way."""
        side = self.above if from_above else self.below
        for place in places[: max(0, len(side.room) - TO_LEARN)]:
            self.learn((place,), from_above)
            side.at.clear()
        side.firm = len(side.places)

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
        side.new.add(spot)

    def _settle(self) -> None:
        """Find out which halves go together, of those that are new, and what each pair costs.

        A few places along the edges are looked at first: most that meet, meet there already.
        """
        low, high = len(self.below.places), len(self.above.places)
        floor, roof = self.below.edge[:low], -self.above.edge[:high]
        few = np.ascontiguousarray(floor[:, ::SOME]), np.ascontiguousarray(roof[:, ::SOME])
        for spot in self.below.new:
            apart = (few[0][spot] <= few[1]).all(axis=1)
            apart[apart] = (floor[spot] <= roof[apart]).all(axis=1)
            cost = self._cost(slice(spot, spot + 1), slice(high))[0]
            self.cost[spot, :high] = np.where(apart, cost, np.inf)
        for spot in self.above.new if len(self.below.new) < low else ():
            apart = (few[0] <= few[1][spot]).all(axis=1)
            apart[apart] = (floor[apart] <= roof[spot]).all(axis=1)
            cost = self._cost(slice(low), slice(spot, spot + 1))[:, 0]
            self.cost[:low, spot] = np.where(apart, cost, np.inf)
        self.below.new.clear()
        self.above.new.clear()

    def best(self, prices: Floats, left: Ints, most: int) -> list[Pattern]:
        """Give the patterns of two halves that are worth most over what they cost, at most `most`.

        left : planks of each kind that may be laid
        """
        self._settle()
        low, high = len(self.below.places), len(self.above.places)
        worth = self._worth(self.below, low, prices, left)[:, None]
        value = (
            worth + self._worth(self.above, high, prices, left) - self.cost[:low, :high]
        ).ravel()
        value[0] = -np.inf
        count = min(LOOKED_AT, len(value))
        top = np.argpartition(value, len(value) - count)[-count:]
        found: dict[tuple[int, ...], Pattern] = {}
        for pair in top[np.argsort(-value[top])].tolist():
            if len(found) >= most or not np.isfinite(value[pair]):
                break
            one, two = divmod(pair, high)
            if np.all(self.below.counts[one] + self.above.counts[two] <= left):
                places = (*self.below.places[one], *self.above.places[two])
                same = tuple(sorted(p.kind for p in places))
                if same not in found:
                    cost = cost_mm3(self.plot, self.lies, places, self.rules)
                    found[same] = Pattern(self.index, places, cost)
        return [*found.values()]

    @staticmethod
    def _worth(side: _Side, many: int, prices: Floats, left: Ints) -> Small:
        counts = side.counts[:many]
        worth = np.where((counts <= left).all(axis=1), counts @ prices, -np.inf)
        return np.asarray(worth, dtype=np.float32)

    def _cost(self, low: slice, high: slice) -> Floats:
        """Give about what each pair costs, (low, high): the board less its ends if long enough."""
        plot, long = self.plot, self.rules.offcut_length_mm + self.rules.kerf_mm
        nodes = STEP * np.arange(len(plot.area_to))
        first = np.minimum(self.below.first[low, None], self.above.first[high])
        last = np.maximum(self.below.last[low, None], self.above.last[high])
        first, last = np.minimum(first, plot.length), np.maximum(last, 0.0)
        begin = np.where(first >= long, np.interp(first, nodes, plot.area_to), 0.0)
        whole = float(plot.area_to[-1])
        end = np.where(plot.length - last >= long, np.interp(last, nodes, plot.area_to), whole)
        return np.asarray((end - begin) * plot.board.thickness_mm * plot.rate)
