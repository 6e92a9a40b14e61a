"""Patterns put together of two halves: planks stacked from below, and planks hung from above.

Every board filled leaves halves behind: its first plank, its first two, and so on, from the lower
edge up or from the upper edge down. Any half from below goes with any from above that it does not
meet, so that a few dozen fillings of a board give thousands of patterns, and the one worth most at
the prices of the day is found among them without laying a plank anew.

Which planks go on a half is looked at for one half at a time, those first whose planks are worth
most for the room they take and that were not gone on from yet.

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

__all__ = ["BARREN", "FEW", "MOST", "Halves"]

FEW, MOST = 200, 720  # halves kept of a board from below, and as many from above
LOOKED_AT = 40  # pairs looked at, dearest first, till enough are found that may be laid
TO_LEARN = 120  # halves at least that are kept of what is filled
CHANCE = 1.0  # how much chance may raise the worth of a half
POWERS = 0.6, 1.2  # of the room in worth / room^power
BARREN = 1000.0  # times tried, of a half on which nothing goes
TIMES = 3  # as many times, while too few may be
AT_ONCE = 20_000  # pairs of halves looked at in one go
SOME = 8  # of the places along an edge, those looked at first
Small = NDArray[np.float32]
Ints = NDArray[np.int64]


@dataclass(slots=True)
class _Side:
    """Halves from one edge of a board; the first is nothing at all.

    edge : (most, 2 cells) how far in each comes; sign 1 from below, -1 upside down from above
    counts : (most, kinds) its planks
    first, last : what the board costs up to where they begin, and up to where they end; an end of
        it too short to be kept is not counted before them, and counted with them
    room : (most,) how much of the board it takes up; tried : how often it was gone on from
    firm : the first of those that may give way to others; new : those not yet tried with others
    """

    sign: float
    edge: Small
    counts: Small
    first: Small
    last: Small
    room: Floats
    tried: Small
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
            np.zeros((most, kinds), dtype=np.float32),
            np.full(most, np.inf, dtype=np.float32),
            np.full(most, -np.inf, dtype=np.float32),
            np.zeros(most),
            np.zeros(most, dtype=np.float32),
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
    """The halves known of a board, and which of them go together.

    cost : of every pair, endless where it meets; sure : where that was looked at everywhere along
    """

    plot: Plot
    lies: Lies
    rules: LayingRules
    index: int
    below: _Side
    above: _Side
    cost: Small
    sure: NDArray[np.bool_]

    @classmethod
    def of(  # noqa: PLR0917 - a board and what may lie on it
        cls, plot: Plot, index: int, lies: Lies, kinds: int, rules: LayingRules, most: int = FEW
    ) -> Halves:
        """Begin with none."""
        below, above = (_Side.empty(sign, 2 * len(plot.floor), kinds, most) for sign in (1.0, -1.0))
        cost, sure = np.zeros((most, most), np.float32), np.zeros((most, most), dtype=np.bool_)
        return cls(plot, lies, rules, index, below, above, cost, sure)

    def side(self, from_above: bool) -> _Side:
        """Give the halves from below, or those from above."""
        return self.above if from_above else self.below

    def begin_with(self, places: Sequence[Place], from_above: bool) -> None:
        """Keep single planks, some of one kind at several places; none of them gives way."""
        side = self.side(from_above)
        places = places[: max(0, len(side.room) - TO_LEARN)]
        edges, spans = _edges(self.plot, self.lies, places, from_above)
        begin = len(side.places)
        spots = np.arange(begin, begin + len(places))
        side.places += [(place,) for place in places]
        side.edge[spots] = edges.reshape(len(places), side.edge.shape[1])
        side.counts[spots, [place.kind for place in places]] = 1
        for spot, span in zip(spots.tolist(), spans, strict=True):
            side.first[spot], side.last[spot] = self._costs(*span)
        start = -self.plot.roof if from_above else self.plot.floor
        side.room[spots] = np.maximum(edges - start, 0.0).sum(axis=(1, 2))
        side.new.update(spots.tolist())
        side.firm = len(side.places)

    def learn(self, places: tuple[Place, ...], from_above: bool) -> None:
        """Keep a half, if none of the same planks takes less room."""
        side = self.side(from_above)
        start = -self.plot.roof if from_above else self.plot.floor
        edges, spans = _edges(self.plot, self.lies, places, from_above)
        span = min(a for a, _ in spans), max(b for _, b in spans)
        self._keep(side, places, edges.max(axis=0), span, start)

    def some(self, prices: Floats, left: Ints, from_above: bool, rng: np.random.Generator) -> int:
        """Choose a half whose planks are worth most for the room they take, with chance in it."""
        side = self.side(from_above)
        many = len(side.places)
        worth = self._worth(side, prices, left.astype(np.float32)).astype(np.float64)
        worth /= np.maximum(side.room[:many], 1.0) ** rng.uniform(*POWERS)
        worth *= (1 + CHANCE * rng.random(many)) / (1.0 + side.tried[:many])
        worth[0] = -1.0
        return int(np.argmax(worth))

    def _keep(
        self,
        side: _Side,
        places: tuple[Place, ...],
        edge: Floats,
        span: tuple[float, float],
        start: Floats,
    ) -> None:
        kinds = tuple(sorted(p.kind for p in places))
        room = float(np.maximum(edge - start, 0.0).sum())
        spot = side.spot(kinds, room)
        if spot is None:
            return
        side.at[kinds] = spot
        side.room[spot], side.tried[spot] = room, 0.0
        side.places[spot] = places
        side.edge[spot] = edge.ravel()
        side.counts[spot] = np.bincount(kinds, minlength=side.counts.shape[1])
        side.first[spot], side.last[spot] = self._costs(*span)
        side.new.add(spot)

    def _costs(self, first: float, last: float) -> tuple[float, float]:
        """Give what the board costs up to where planks begin, and up to where they end."""
        plot, long = self.plot, self.rules.offcut_length_mm + self.rules.kerf_mm
        whole, rate = float(plot.area_to[-1]), plot.board.thickness_mm * plot.rate
        begin = _area_to(plot, first) if first >= long else 0.0
        end = _area_to(plot, last) if plot.length - last >= long else whole
        return begin * rate, end * rate

    def _settle(self) -> None:
        """Find out which halves may go together, of those that are new, and what each pair costs.

        A few places along the edges are looked at; the others when a pair is about to be taken.
        """
        low, high = len(self.below.places), len(self.above.places)
        below, above = np.array(sorted(self.below.new)), np.array(sorted(self.above.new))
        every = np.arange(high)
        for some in _by(below, high):
            self._pair(some, every)
        if len(below) < low:
            every = np.arange(low)
            for some in _by(above, low):
                self._pair(every, some)
        self.below.new.clear()
        self.above.new.clear()

    def _pair(self, one: Ints, two: Ints) -> None:
        below, above = self.below, self.above
        floor, roof = below.edge[one, ::SOME], -above.edge[two, ::SOME]
        apart = (floor[:, None] <= roof).all(axis=2)
        cost = np.maximum(below.last[one, None], above.last[two])
        cost -= np.minimum(below.first[one, None], above.first[two])
        at = np.ix_(one, two)
        self.cost[at] = np.where(apart, cost, np.float32(np.inf))
        self.sure[at] = False
        self.cost[0, 0] = np.inf

    def best(self, prices: Floats, left: Ints, most: int) -> list[Pattern]:
        """Give the patterns of two halves that are worth most over what they cost, at most `most`.

        left : planks of each kind that may be laid
        """
        self._settle()
        able = left.astype(np.float32)
        one = self._worth(self.below, prices, able)
        two = self._worth(self.above, prices, able)
        found: dict[tuple[int, ...], Pattern] = {}
        for _ in range(TIMES):
            if self._look(one, two, able, found, most):
                break
        return [*found.values()]

    def _look(
        self, one: Small, two: Small, able: Small, found: dict[tuple[int, ...], Pattern], most: int
    ) -> bool:
        """Look at the pairs worth most; tell whether there is no need to look again."""
        rows, columns = _dearest(one, two, self.cost)
        if not len(rows):
            return True
        below, above = self.below, self.above
        sure = self.sure[rows, columns]
        new = np.flatnonzero(~sure)
        sure[new] = (below.edge[rows[new]] <= -above.edge[columns[new]]).all(axis=1)
        self.sure[rows, columns] = True
        self.cost[rows[~sure], columns[~sure]] = np.inf
        sure &= (below.counts[rows] + above.counts[columns] <= able).all(axis=1)
        for n in np.flatnonzero(sure).tolist():
            places = (*below.places[rows[n]], *above.places[columns[n]])
            same = tuple(sorted(p.kind for p in places))
            if same not in found:
                cost = cost_mm3(self.plot, self.lies, places, self.rules)
                found[same] = Pattern(self.index, places, cost)
                if len(found) >= most:
                    return True
        return False

    @staticmethod
    def _worth(side: _Side, prices: Floats, able: Small) -> Small:
        counts = side.counts[: len(side.places)]
        worth = counts @ prices.astype(np.float32)
        worth[(counts > able).any(axis=1)] = -np.inf
        return np.asarray(worth)


def _dearest(one: Small, two: Small, cost: Small) -> tuple[Ints, Ints]:
    """Give the pairs worth most over what they cost, dearest first, that may go together.

    They lie in the rows whose dearest pair is dearest.
    """
    over = two - cost[: len(one), : len(two)]
    dearest = over.max(axis=1) + one
    rows = np.argsort(-dearest, kind="stable")[:LOOKED_AT]
    rows = rows[np.isfinite(dearest[rows])]
    value = (over[rows] + one[rows, None]).ravel()
    count = min(LOOKED_AT, len(value))
    top = np.argpartition(value, len(value) - count)[-count:] if count else np.arange(0)
    top = top[np.argsort(-value[top], kind="stable")]
    top = top[np.isfinite(value[top])]
    row, column = np.divmod(top, len(two))
    return rows[row], column


def _edges(
    plot: Plot, lies: Lies, places: Sequence[Place], from_above: bool
) -> tuple[Floats, list[tuple[float, float]]]:
    """Give how far in each plank comes, (planks, cells, 2), and from where to where along."""
    high, sign = (lies.low, -1.0) if from_above else (lies.high, 1.0)
    edges = np.full((len(places), len(plot.floor), 2), -np.inf)
    spans = []
    for edge, place in zip(edges, places, strict=True):
        part = edge[place.cell : place.cell + int(lies.cells[place.lie])]
        part[:] = sign * (place.y + high[place.lie, : len(part)])
        begin = place.cell * STEP
        spans.append((begin, begin + float(lies.length[place.lie])))
    return edges, spans


def _by(new: Ints, others: int) -> list[Ints]:
    """Part what is new so that not too many pairs are looked at in one go."""
    return np.array_split(new, 1 + len(new) * others // AT_ONCE) if len(new) else []


def _area_to(plot: Plot, x: float) -> float:
    """Give the face of a board up to a place along it."""
    cell = min(max(int(x / STEP), 0), len(plot.area_to) - 2)
    part = min(max(x / STEP - cell, 0.0), 1.0)
    return float((1 - part) * plot.area_to[cell] + part * plot.area_to[cell + 1])
