"""A laying under way: what the search works on, and the programme that prices planks.

*Pool*: the patterns met so far, of every set of planks on a board the cheapest. *Prices* of
planks are the shadow prices of the linear programme over patterns. *Halves* of what was filled are
put together to more patterns, see `laying/halves.py`.

Not checked: that planks do not meet; `laying/fill.py` lays them so that they do not.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from ribband.errors import NotConverged
from ribband.numerics.linear import least_cost
from ribband.numerics.profiles import Floats
from ribband.timber.laying.fill import (
    WAYS,
    First,
    Pattern,
    Place,
    Way,
    fill,
    first_looks,
    least_room,
    on_top,
    singles,
)
from ribband.timber.laying.ground import STEP, Kind, Lies, Plot, suits
from ribband.timber.laying.halves import BARREN, FEW, MOST, Halves
from ribband.timber.laying.pace import LONG, Pace
from ribband.timber.laying.rules import LayingRules

__all__ = ["Progress", "Search", "State", "empty", "lift", "programme", "put", "yield_of"]

Ints = NDArray[np.int64]
Progress = Callable[[float, str], None] | None
LOOKED, LOOKED_LONG = 160, 120  # lies looked at when a board is filled some way
LEANS_KEPT = 4  # of a kind one way round, on one board, in a long search
IN_PART = 0.5  # of the fillings are of a part of the board, the rest of it to be kept
TWO_LONG = 0.25  # of those are of a part as long as two planks
IN_ALL = 72_000  # halves kept of all boards, or a little more of many
PAIRS, PAIRED = 3, 6  # patterns of two halves kept after each filling, and where nothing is filled
SPREAD = 300  # lies looked at on a half
FILLED = 0.2  # of the times when a board is looked at anew, with halves, it is filled
A_PAIRING = 0.2  # of a trial, about, the time that pairing takes
UNLAID = 12.0  # times the timber of a plank, the cost of leaving it without a board


@dataclass(slots=True)
class State:
    """A laying under way: a pattern a board, and how many of each kind have no board."""

    patterns: dict[int, Pattern]
    left: Ints

    def copy(self) -> State:
        """Give one that can be changed apart."""
        return State(dict(self.patterns), self.left.copy())


@dataclass(slots=True)
class Search:
    """What the search works on, and the patterns found so far."""

    kinds: Sequence[Kind]
    plots: Sequence[Plot]
    lies: Lies
    rules: LayingRules
    rng: np.random.Generator
    pace: Pace
    progress: Progress = None
    fits: NDArray[np.bool_] = field(init=False)
    volume: Floats = field(init=False)
    counts: Ints = field(init=False)
    pool: dict[int, dict[tuple[int, ...], Pattern]] = field(init=False, default_factory=dict)
    halves: dict[int, Halves] = field(init=False, default_factory=dict)
    looks: dict[tuple[int, bool], First] = field(init=False, default_factory=dict)
    length: Floats = field(init=False)
    area: Floats = field(init=False)
    pairing: bool = False

    def __post_init__(self) -> None:
        self.fits = suits(self.kinds, self.plots)
        self.volume = np.array([k.area_mm2 * k.piece.thickness_mm for k in self.kinds])
        self.area = np.array([k.area_mm2 for k in self.kinds])
        self.counts = np.array([len(k.planks) for k in self.kinds])
        self.length = np.zeros(len(self.kinds))
        np.maximum.at(self.length, self.lies.kind, self.lies.length)

    def fill(self, plot: int, prices: Floats, left: Ints, way: Way) -> Pattern:
        """Fill a board; remember the pattern, and what its halves and those known make together."""
        able = np.where(self.fits[plot], left, 0)
        seen: list[tuple[Place, ...]] = []
        pattern = fill(
            self.plots[plot], plot, self.lies, prices, able,
            rules=self.rules, way=way, rng=self.rng, first=self.first(plot, way.above), seen=seen,
        )  # fmt: skip
        self.pace.tried(1.0 - A_PAIRING if pattern.places else 1.0)
        if pattern.places:
            self.keep(pattern)
            halves = self.halves_of(plot)
            for places in seen:
                halves.learn(places, way.above)
            self.pair(plot, prices, able, PAIRS)
        return pattern

    def begin_pairing(self) -> None:
        """Begin every board anew with single planks, and look more for pairs of halves."""
        self.pairing = True
        self.halves.clear()

    def anew(self, plot: int, prices: Floats, left: Ints, blur: float = 0.08) -> None:
        """Look for patterns of a board at these prices: by filling it, or by halves."""
        if self.pairing and self.rng.random() > FILLED:
            self.spread(plot, prices, left)
        else:
            self.fill(plot, prices, left, self.some_way(plot, left, blur))
        if self.pairing:
            self.pair(plot, prices, left)

    def spread(self, plot: int, prices: Floats, left: Ints) -> None:
        """Learn of a half of a board what it is with every plank that could come next.

        The pairing that follows makes up the rest of the trial.
        """
        self.pace.tried(1.0 - A_PAIRING)
        above = bool(self.rng.random() < 0.5)
        able = np.where(self.fits[plot], left, 0)
        halves = self.halves_of(plot)
        at, side = halves.some(prices, able, above, self.rng), halves.side(above)
        half, rest = side.places[at], able.copy()
        for place in half:
            rest[place.kind] -= 1
        fits = self.first(plot, above).fits & (rest > 0)[self.lies.kind]
        way = Way(above, most=SPREAD)
        worth = (prices / self.area)[self.lies.kind]
        found = on_top(
            self.plots[plot], self.lies, half, np.flatnonzero(fits), way, worth, self.rng
        )
        side.tried[at] += 1.0 if found else BARREN
        for place in found:
            halves.learn((*half, place), above)

    def pair(self, plot: int, prices: Floats, left: Ints, most: int = PAIRED) -> None:
        """Remember the patterns of two halves worth most at these prices."""
        self.pace.tried(A_PAIRING)
        able = np.where(self.fits[plot], left, 0)
        for other in self.halves_of(plot).best(prices, able, most):
            self.keep(other)

    def halves_of(self, plot: int) -> Halves:
        """Give the halves known of a board."""
        if plot not in self.halves:
            most = min(MOST, max(FEW, IN_ALL // len(self.plots))) if self.pairing else FEW
            own = Halves.of(self.plots[plot], plot, self.lies, len(self.kinds), self.rules, most)
            self.halves[plot] = own
            for above in (False, True) if self.pairing else ():
                looks, ways = self.first(plot, above), WAYS if self.long(LONG) else 1
                places = singles(self.plots[plot], self.lies, looks, above, ways)
                own.begin_with([p for p in places if self.fits[plot][p.kind]], above)
        return self.halves[plot]

    def keep(self, pattern: Pattern) -> None:
        """Put a pattern into the pool, if none with the same planks costs less."""
        known = self.pool.setdefault(pattern.plot, {})
        kinds = tuple(sorted(p.kind for p in pattern.places))
        if kinds not in known or pattern.cost < known[kinds].cost:
            known[kinds] = pattern

    def patterns(self) -> list[Pattern]:
        """Give every pattern of the pool."""
        return [pattern for known in self.pool.values() for pattern in known.values()]

    def long(self, a_board: float) -> bool:
        """Tell whether the search has as many seconds a board."""
        return self.pace.reach >= a_board * len(self.plots)

    def first(self, plot: int, above: bool) -> First:
        """Give the first looks at a board, taken once."""
        if (plot, above) not in self.looks:
            looks = first_looks(self.plots[plot], self.lies, above)
            if self.long(LONG):
                looks = least_room(looks, self.lies, LEANS_KEPT)
            self.looks[plot, above] = looks
        return self.looks[plot, above]

    def some_way(self, plot: int, left: Ints, blur: float = 0.08) -> Way:
        """Give a way to fill a board with planks of those left, at random."""
        above, power = bool(self.rng.random() < 0.5), float(self.rng.uniform(0.7, 1.25))
        part = self._some_part(plot, left) if self.rng.random() < IN_PART else None
        looked = LOOKED_LONG if self.long(LONG) else LOOKED
        return Way(above, power, blur, looked, part)

    def _some_part(self, plot: int, left: Ints) -> tuple[int, int] | None:
        """Give an end of a board as long as one plank, or two, where the rest is kept by that."""
        able = np.flatnonzero(self.fits[plot] & (left > 0))
        if not len(able):
            return None
        many = 2 if self.rng.random() < TWO_LONG else 1
        wanted = float(self.length[self.rng.choice(able, many)].sum())
        cells = int(np.ceil(wanted / STEP)) + int(self.rng.integers(0, 3))
        keeping = self.rules.offcut_length_mm + self.rules.kerf_mm
        if cells * STEP > self.plots[plot].length - keeping:
            return None
        whole = len(self.plots[plot].floor)
        return (0, cells) if self.rng.random() < 0.5 else (whole - cells, cells)

    def cost(self, state: State) -> float:
        """Give the timber used with a charge for what is left over, mm3."""
        used = sum(p.cost for p in state.patterns.values())
        return used + UNLAID * float(self.volume @ state.left)

    def worth(self, pattern: Pattern, prices: Floats) -> float:
        """Give the price of the planks of a pattern."""
        return float(sum(prices[p.kind] for p in pattern.places))

    def late(self) -> bool:
        """Tell whether the search is over."""
        return self.pace.gone() >= 1.0

    def say(self, part: float, words: str) -> None:
        """Pass progress on."""
        if self.progress is not None:
            self.progress(part, words)


def empty(ground: Search) -> State:
    """Give the laying of nothing."""
    return State({}, ground.counts.copy())


def put(state: State, pattern: Pattern) -> None:
    """Lay a pattern."""
    if pattern.places:
        state.patterns[pattern.plot] = pattern
        for place in pattern.places:
            state.left[place.kind] -= 1


def lift(state: State, plot: int) -> None:
    """Take everything off a board."""
    for place in state.patterns.pop(plot).places:
        state.left[place.kind] += 1


def programme(
    ground: Search, patterns: list[Pattern], counts: Ints, plots: NDArray[np.int64]
) -> tuple[Floats, Floats]:
    """Solve the linear programme over patterns: how much of each, and the prices of planks."""
    row_of = {int(plot): k for k, plot in enumerate(plots)}
    kinds, many = len(counts), len(patterns)
    places = [(p.kind, c) for c, pattern in enumerate(patterns) for p in pattern.places]
    bears, of = np.array(places, dtype=np.int64).reshape(-1, 2).T
    board = np.array([kinds + row_of[p.plot] for p in patterns], dtype=np.int64)
    every = np.arange(kinds)
    solved = least_cost(
        np.concatenate([[p.cost for p in patterns], UNLAID * ground.volume]),
        (
            np.concatenate([-np.ones(len(bears)), np.ones(many), -np.ones(kinds)]),
            np.concatenate([bears, board, every]),
            np.concatenate([of, np.arange(many), many + every]),
        ),
        np.concatenate([-counts, np.ones(len(plots))]),
        np.full(many + kinds, np.inf),
    )
    if solved is None:
        raise NotConverged("prices of planks: the linear programme has no answer")
    return solved.x[:many], solved.prices[:kinds]


def yield_of(ground: Search, pattern: Pattern) -> float:
    """Give the part of the timber used that is planks."""
    return ground.worth(pattern, ground.volume) / pattern.cost
