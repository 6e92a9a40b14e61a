"""Choosing patterns for all boards at once: prices, diving, and laying a few boards again.

*Prices* of planks come from the linear programme over the patterns found so far; boards are
filled anew at those prices, and so on. *Diving* then fixes the boards the programme is surest of,
prices again and fills the rest. Last, a few boards at a time are emptied and filled again in
other ways; a laying that uses more is now and then accepted on the way, the best one is kept.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ribband.numerics.profiles import Floats
from ribband.timber.laying.again import again
from ribband.timber.laying.fill import Pattern, Way
from ribband.timber.laying.pace import LONG
from ribband.timber.laying.state import Search, State, empty, programme, put, yield_of

__all__ = ["search"]

Ints = NDArray[np.int64]
WORTH_DIVING = 2.0  # seconds; in less there is no time to
PRICING, DIVING = 0.5, 0.9  # parts of the search at which pricing and diving end
AT_ONCE = 25  # boards filled at the same prices
STEPS = 20  # of diving
FILLED = 3  # of so many times that pairs of halves are looked for a board is filled too, once
DIVED = 0.4  # part of the times when diving


def search(ground: Search, start: State | None = None) -> State:
    """Look for the laying that uses least timber until the pace says that it is over."""
    reach = ground.pace.reach
    prices = first_prices(ground)
    state = _filled(ground, prices) if start is None else start
    for pattern in state.patterns.values():
        ground.keep(pattern)
    if reach >= LONG:
        ground.begin_pairing()
    if start is None and reach >= WORTH_DIVING:
        prices = price(ground, prices, PRICING)
        dived = dive(ground, prices, DIVING)
        state = min(state, dived, key=ground.cost)
    return again(ground, state, prices)


def _filled(ground: Search, prices: Floats) -> State:
    """Fill the boards one by one, in two ways if it is a long search; give the better."""
    ground.say(0.02, "Filling the boards one by one.")
    state = greedy(ground, empty(ground), prices, 0.8)
    if ground.pace.reach < WORTH_DIVING or ground.late():
        return state
    return min(state, greedy(ground, empty(ground), prices, 1.0), key=ground.cost)


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


def price(ground: Search, prices: Floats, until: float) -> Floats:
    """Fill boards at the programme's prices, round after round; give the last prices.

    until : the part of the search at which that ends
    """
    boards, begun = np.arange(len(ground.plots)), ground.pace.gone()
    turn = -1
    while ground.pace.gone() < until:
        turn += 1
        for some in np.array_split(ground.rng.permutation(boards), -(-len(boards) // AT_ONCE)):
            for plot in some.tolist():
                ground.anew(plot, prices, ground.counts, filled=turn % FILLED == FILLED - 1)
            solved = programme(ground, ground.patterns(), ground.counts, boards)
            prices = 0.5 * prices + 0.5 * solved[1]
            if ground.pace.gone() >= until:
                break
        ground.say(0.02 + 0.23 * _gone(ground, begun, until), "Pricing planks.")
    return prices


def _gone(ground: Search, begun: float, until: float) -> float:
    return min(1.0, (ground.pace.gone() - begun) / max(until - begun, 1e-9))


def dive(ground: Search, prices: Floats, until: float) -> State:
    """Fix the boards the programme is surest of, fill and price the rest again, and so on.

    until : the part of the search at which that ends
    """
    state = empty(ground)
    begun = ground.pace.gone()
    for step in range(STEPS):
        open_plots = np.array([k for k in range(len(ground.plots)) if k not in state.patterns])
        if not state.left.any() or not len(open_plots):
            break
        limit = begun + (until - begun) * (step + 1) / STEPS
        for plot in ground.rng.permutation(open_plots):
            if ground.pace.gone() >= limit:
                break
            ground.anew(int(plot), prices, state.left, filled=ground.rng.random() < DIVED)
        fitting = [p for p in ground.patterns() if _allowed(p, state)]
        if not fitting:
            break
        part, prices = programme(ground, fitting, state.left, open_plots)
        _fix(ground, state, fitting, part, max(3, len(open_plots) // 14))
        ground.say(0.25 + 0.3 * (step + 1) / STEPS, "Fixing the boards that are surest.")
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
    sure = part + 0.05 * np.array([yield_of(ground, p) for p in patterns])
    sure[part < 1e-6] = -1
    laid = 0
    for at in np.argsort(-sure):
        if laid >= most or sure[at] < 0:
            break
        if _allowed(patterns[at], state):
            put(state, patterns[at])
            laid += 1
