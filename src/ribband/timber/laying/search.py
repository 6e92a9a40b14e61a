"""Choosing patterns for all boards at once: prices, diving, and laying a few boards again.

*Prices* of planks come from the linear programme over the patterns found so far; boards are
looked at anew at those prices, and so on. *Diving* then fixes the boards the programme is surest
of, prices again and fills the rest. Last, a few boards at a time are emptied and filled again in
other ways; a laying that uses more is now and then accepted on the way, the best one is kept.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ribband.numerics.profiles import Floats
from ribband.timber.laying.again import again
from ribband.timber.laying.fill import Pattern, Way
from ribband.timber.laying.pace import LONG, PAIRING
from ribband.timber.laying.state import Search, State, empty, programme, put, yield_of

__all__ = ["search"]

Ints = NDArray[np.int64]
WORTH_DIVING = 2.0  # s; in less there is no time to
TWICE = 0.4  # part of the search that may be gone where all boards are filled a second time
MANY = 15_000  # boards times kinds of plank: of more, halves are paired in a long search only
PRICING, DIVING = 0.5, 0.9  # parts of the search at which pricing and diving end
AT_ONCE = 25  # boards filled at the same prices
STEPS, FEW_STEPS = 20, 6  # of diving, and in a short search
FIXED = 1.45  # times as many boards are fixed at a step
PLAIN = 2  # rounds of pricing in which only halves known are paired


def search(ground: Search, start: State | None = None) -> State:
    """Look for the laying that uses least timber until the pace says that it is over."""
    prices, state = first_prices(ground), start
    if _worth_pairing(ground):
        ground.begin_pairing()
    elif state is None:
        state = _filled(ground, prices)
    if start is None and (ground.pairing or ground.pace.reach >= WORTH_DIVING):
        prices = price(ground, prices, PRICING)
        dived = dive(ground, prices, DIVING)
        if state is None and dived.left.any():  # on few boards filling finds room diving did not
            state = _filled(ground, prices)
        state = dived if state is None else min(state, dived, key=ground.cost)
    state = empty(ground) if state is None else state
    for pattern in state.patterns.values():
        ground.keep(pattern)
    return again(ground, state, prices)


def _worth_pairing(ground: Search) -> bool:
    """Tell whether there is time to begin every board with single planks as halves."""
    if ground.late():
        return False
    few = len(ground.plots) * len(ground.kinds) <= MANY
    return ground.long(LONG) or (few and ground.long(PAIRING))


def _filled(ground: Search, prices: Floats) -> State:
    """Fill the boards one by one, in two ways if there is time; give the better."""
    ground.say(0.02, "Filling the boards one by one.")
    state = greedy(ground, empty(ground), prices, 0.8)
    if ground.pace.reach < WORTH_DIVING or ground.pace.gone() > TWICE:
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
    """Look for patterns at the programme's prices, round after round; give the last prices.

    until : the part of the search at which that ends
    """
    boards, begun = np.arange(len(ground.plots)), ground.pace.gone()
    turn = -1
    while ground.pace.gone() < until:
        turn += 1
        for some in np.array_split(ground.rng.permutation(boards), -(-len(boards) // AT_ONCE)):
            for plot in some.tolist():
                if ground.pairing and turn < PLAIN:
                    ground.pair(plot, prices, ground.counts)
                else:
                    ground.anew(plot, prices, ground.counts)
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
    steps = STEPS if ground.long(LONG) else FEW_STEPS
    for step in range(steps):
        open_plots = np.array([k for k in range(len(ground.plots)) if k not in state.patterns])
        if not state.left.any() or not len(open_plots):
            break
        limit = begun + (until - begun) * (step + 1) / steps
        for plot in ground.rng.permutation(open_plots):
            if ground.pace.gone() >= limit:
                break
            ground.anew(int(plot), prices, state.left)
        fitting = [p for p in ground.patterns() if _allowed(p, state)]
        if not fitting:
            break
        part, prices = programme(ground, fitting, state.left, open_plots)
        _fix(ground, state, fitting, part, max(3, round(len(open_plots) * FIXED / steps)))
        ground.say(0.25 + 0.3 * (step + 1) / steps, "Fixing the boards that are surest.")
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
