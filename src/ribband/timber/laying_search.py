"""Choosing patterns for all boards at once: prices, diving, and laying a few boards again.

*Prices* of planks come from the linear programme over the patterns found so far; boards are
filled anew at those prices, and so on. *Diving* then fixes the boards the programme is surest of,
prices again and fills the rest. Last, a few boards at a time are emptied and filled again in
other ways; a laying that uses more is now and then accepted on the way, the best one is kept.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from time import perf_counter

import numpy as np
from numpy.typing import NDArray

from ribband.errors import NotConverged
from ribband.numerics.linear import least_cost
from ribband.numerics.profiles import Floats
from ribband.timber.laying_fill import First, Pattern, Way, fill, first_looks
from ribband.timber.laying_ground import Kind, Lies, Plot, suits
from ribband.timber.laying_rules import LayingRules

__all__ = ["Search", "State", "search"]

Ints = NDArray[np.int64]
Progress = Callable[[float, str], None] | None
WORTH_DIVING = 2.0  # seconds; in less there is no time to
PRICING, DIVING = 0.45, 0.92  # parts of the time at which pricing and diving end
STEPS = 20  # of diving
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
    end: float
    progress: Progress = None
    clock: Callable[[], float] = perf_counter
    fits: NDArray[np.bool_] = field(init=False)
    volume: Floats = field(init=False)
    counts: Ints = field(init=False)
    pool: dict[tuple[int, tuple[int, ...]], Pattern] = field(init=False, default_factory=dict)
    looks: dict[tuple[int, bool], First] = field(init=False, default_factory=dict)
    tries: int = 0

    def __post_init__(self) -> None:
        self.fits = suits(self.kinds, self.plots)
        self.volume = np.array([k.area_mm2 * k.piece.thickness_mm for k in self.kinds])
        self.counts = np.array([len(k.planks) for k in self.kinds])

    def fill(self, plot: int, prices: Floats, left: Ints, way: Way) -> Pattern:
        """Fill a board and remember the pattern."""
        able = np.where(self.fits[plot], left, 0)
        pattern = fill(
            self.plots[plot], plot, self.lies, prices, able,
            rules=self.rules, way=way, rng=self.rng, first=self.first(plot, way.above),
        )  # fmt: skip
        self.tries += 1
        key = (plot, tuple(sorted(p.kind for p in pattern.places)))
        known = self.pool.get(key)
        if pattern.places and (known is None or pattern.cost < known.cost):
            self.pool[key] = pattern
        return pattern

    def first(self, plot: int, above: bool) -> First:
        """Give the first looks at a board, taken once."""
        if (plot, above) not in self.looks:
            self.looks[plot, above] = first_looks(self.plots[plot], self.lies, above)
        return self.looks[plot, above]

    def some_way(self, blur: float = 0.08) -> Way:
        """Give a way to fill, at random."""
        return Way(bool(self.rng.random() < 0.5), float(self.rng.uniform(0.7, 1.25)), blur, 400)

    def cost(self, state: State) -> float:
        """Give the timber used with a charge for what is left over, mm3."""
        used = sum(p.cost for p in state.patterns.values())
        return used + UNLAID * float(self.volume @ state.left)

    def worth(self, pattern: Pattern, prices: Floats) -> float:
        """Give the price of the planks of a pattern."""
        return float(sum(prices[p.kind] for p in pattern.places))

    def late(self) -> bool:
        """Tell whether the time is up."""
        return self.clock() >= self.end

    def say(self, part: float, words: str) -> None:
        """Pass progress on."""
        if self.progress is not None:
            self.progress(part, words)


def search(ground: Search, seconds: float, start: State | None = None) -> State:
    """Look for the laying that uses least timber until the time is up."""
    begun = ground.clock()
    prices = first_prices(ground)
    if start is None:
        ground.say(0.02, "Filling the boards one by one.")
        state = greedy(ground, empty(ground), prices, 0.8)
        if not ground.late():
            state = min(state, greedy(ground, empty(ground), prices, 1.0), key=ground.cost)
        if seconds >= WORTH_DIVING:
            prices = price(ground, prices, begun + PRICING * seconds)
            dived = dive(ground, prices, begun + DIVING * seconds)
            state = min(state, dived, key=ground.cost)
    else:
        state = start
        for pattern in state.patterns.values():
            ground.pool[pattern.plot, tuple(sorted(p.kind for p in pattern.places))] = pattern
    return again(ground, state, prices)


def empty(ground: Search) -> State:
    """Give the laying of nothing."""
    return State({}, ground.counts.copy())


def first_prices(ground: Search) -> Floats:
    """Price planks by their timber, the long ones dearer: fewer boards bear them."""
    length = np.zeros(len(ground.kinds))
    np.maximum.at(length, ground.lies.kind, ground.lies.length)
    return np.asarray(ground.volume * np.sqrt(length / length.mean()), dtype=np.float64)


def greedy(ground: Search, state: State, prices: Floats, power: float) -> State:
    """Fill the boards still empty one by one, the largest first."""
    state = state.copy()
    for plot in sorted(range(len(ground.plots)), key=lambda k: -float(ground.plots[k].area_to[-1])):
        if plot not in state.patterns and state.left.any():
            put(state, ground.fill(plot, prices, state.left, Way(power=power)))
    return state


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


def price(ground: Search, prices: Floats, until: float) -> Floats:
    """Fill boards at the programme's prices, round after round; give the last prices."""
    boards = np.arange(len(ground.plots))
    everything, begun = ground.counts, ground.clock()
    while ground.clock() < min(until, ground.end):
        for plot in ground.rng.permutation(boards):
            ground.fill(int(plot), prices, everything, ground.some_way())
            if ground.clock() >= until:
                break
        solved = programme(ground, list(ground.pool.values()), everything, boards)
        prices = 0.3 * prices + 0.7 * solved[1]
        ground.say(0.02 + 0.4 * _gone(ground, begun, until), "Pricing planks.")
    return prices


def _gone(ground: Search, begun: float, until: float) -> float:
    return min(1.0, (ground.clock() - begun) / max(until - begun, 1e-9))


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


def dive(ground: Search, prices: Floats, until: float) -> State:
    """Fix the boards the programme is surest of, fill and price the rest again, and so on."""
    state = empty(ground)
    begun = ground.clock()
    steps = STEPS
    for step in range(steps):
        open_plots = np.array([k for k in range(len(ground.plots)) if k not in state.patterns])
        if not state.left.any() or not len(open_plots):
            break
        limit = begun + (until - begun) * (step + 1) / steps
        for plot in ground.rng.permutation(open_plots):
            if ground.clock() >= limit:
                break
            ground.fill(int(plot), prices, state.left, ground.some_way())
        fitting = [p for p in ground.pool.values() if _allowed(p, state)]
        if not fitting:
            break
        part, prices = programme(ground, fitting, state.left, open_plots)
        _fix(ground, state, fitting, part, max(3, len(open_plots) // 14))
        ground.say(0.42 + 0.5 * (step + 1) / steps, "Fixing the boards that are surest.")
    return greedy(ground, state, np.maximum(prices, ground.volume * 0.5), 0.8)


def _allowed(pattern: Pattern, state: State) -> bool:
    """Tell whether a pattern's board is free and its planks are all still to be laid."""
    if pattern.plot in state.patterns:
        return False
    kinds = [p.kind for p in pattern.places]
    return all(kinds.count(k) <= state.left[k] for k in set(kinds))


def _fix(
    ground: Search,
    state: State,
    patterns: list[Pattern],
    part: Floats,
    most: int,
) -> None:
    """Lay the patterns with the greatest part in the programme, while their planks last."""
    sure = part + 0.05 * np.array([_yield_of(ground, p) for p in patterns])
    sure[part < 1e-6] = -1
    laid = 0
    for at in np.argsort(-sure):
        if laid >= most or sure[at] < 0:
            break
        if _allowed(patterns[at], state):
            put(state, patterns[at])
            laid += 1


def _yield_of(ground: Search, pattern: Pattern) -> float:
    """Give the part of the timber used that is planks."""
    return ground.worth(pattern, ground.volume) / pattern.cost


def again(ground: Search, state: State, prices: Floats) -> State:
    """Empty a few boards at a time and fill them in other ways, until the time is up."""
    best, best_cost = state.copy(), ground.cost(state)
    now, now_cost = state.copy(), best_cost
    begun = ground.clock()
    base = np.maximum(prices, 0.3 * ground.volume)
    whole = max(ground.end - begun, 1e-9)
    while not ground.late():
        part = (ground.clock() - begun) / whole
        trial = _relaid(ground, now, base)
        cost = ground.cost(trial)
        heat = 0.001 * best_cost / max(1, len(best.patterns)) ** 0.5 * (1 - part) ** 2
        if cost <= now_cost + heat * -np.log(ground.rng.random() + 1e-12):
            now, now_cost = trial, cost
        if cost < best_cost - 1e-6:
            best, best_cost = trial.copy(), cost
        ground.say(0.92 + 0.07 * part, "Laying a few boards again.")
    return best


def _relaid(ground: Search, state: State, prices: Floats) -> State:
    """Give a laying with a few boards filled anew, one or two unused ones among them."""
    trial = state.copy()
    used = np.array(sorted(trial.patterns))
    many = min(len(used), int(ground.rng.integers(2, 4)))
    boards: list[int] = []
    if many:
        waste = np.array([1.02 - min(1.0, _yield_of(ground, trial.patterns[int(k)])) for k in used])
        boards = [int(k) for k in ground.rng.choice(used, many, False, waste / waste.sum())]
    for plot in boards:
        lift(trial, plot)
    unused = [k for k in range(len(ground.plots)) if k not in state.patterns]
    extra = min(len(unused), int(ground.rng.integers(0, 3)))
    boards += [int(k) for k in ground.rng.permutation(unused)[:extra]]
    power = ground.rng.uniform(0.8, 1.3)
    shaken = (0.5 * prices + 0.5 * 1.6 * ground.volume) ** power
    for plot in ground.rng.permutation(boards):
        if not trial.left.any():
            break
        put(trial, ground.fill(int(plot), shaken, trial.left, ground.some_way(0.15)))
    return trial
