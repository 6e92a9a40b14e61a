"""Some boards of a laying emptied and laid anew together, again and again.

Of the boards cut into, those with most waste are likelier taken; some not cut into go with them.
They are filled a few times at prices of their own, and of all patterns known of them the cheapest
set that holds the planks lifted is solved for in whole numbers, what lay there before among them,
so that a laying never gets dearer but where a little worse is let pass on the way.

Not checked: how far the laying is from the best; see `laying/bound.py`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ribband.numerics.linear import least_whole
from ribband.numerics.profiles import Floats
from ribband.timber.laying.fill import Pattern, cost_mm3
from ribband.timber.laying.state import UNLAID, Search, State, lift, programme, put, yield_of

__all__ = ["again"]

Ints = NDArray[np.int64]
USED, UNUSED = 12, 6  # boards laid anew at a time: cut into, and not
ROUNDS = 3  # of filling and pricing
KNOWN = 40  # patterns a board, at most, to choose from
CHOOSING = 0.5  # s, at most, to choose, where the search goes by a clock


def again(ground: Search, state: State, prices: Floats) -> State:
    """Lay some boards anew, until the time is up; give the cheapest laying met."""
    best, best_cost = state.copy(), ground.cost(state)
    now, now_cost = best, best_cost
    begun = ground.pace.gone()
    base = np.maximum(prices, 0.3 * ground.volume)
    whole = max(1.0 - begun, 1e-9)
    while not ground.late():
        part = (ground.pace.gone() - begun) / whole
        trial, base = _part_anew(ground, now, base)
        cost = ground.cost(trial)
        if cost <= now_cost + 0.0003 * best_cost * (1 - part) * ground.rng.random():
            now, now_cost = trial, cost
        if cost < best_cost - 1e-6:
            best, best_cost = trial, cost
        ground.say(0.55 + 0.44 * part, "Laying some boards anew together.")
    return best


def _part_anew(ground: Search, state: State, prices: Floats) -> tuple[State, Floats]:
    """Give a laying with some boards laid anew, and the prices as that has moved them."""
    boards = _some_boards(ground, state)
    trial = state.copy()
    old = [trial.patterns[plot] for plot in boards.tolist() if plot in trial.patterns]
    for pattern in old:
        lift(trial, pattern.plot)
    left, own = trial.left.copy(), prices
    for turn in range(ROUNDS):
        for plot in ground.rng.permutation(boards):
            if ground.late():
                break
            ground.anew(int(plot), own, left, 0.15)
        patterns = _known(ground, boards, left, own, old)
        if turn == ROUNDS - 1 or ground.late():
            break
        priced = programme(ground, patterns, left, boards)[1]
        own = np.where(left > 0, 0.4 * own + 0.6 * priced, own)
    for pattern in _cheapest(ground, patterns, left, boards) or old:
        put(trial, _thinned(ground, pattern, trial.left))
    return trial, np.maximum(0.8 * prices + 0.2 * own, 0.3 * ground.volume)


def _some_boards(ground: Search, state: State) -> Ints:
    """Choose boards by chance, the wasteful ones likelier."""
    used = np.array(sorted(state.patterns), dtype=np.int64)
    unused = np.array([k for k in range(len(ground.plots)) if k not in state.patterns], np.int64)
    others = ground.rng.permutation(unused)[:UNUSED]
    if not len(used):
        return others
    waste = np.array([1.05 - min(1.0, yield_of(ground, state.patterns[int(k)])) for k in used])
    some = ground.rng.choice(used, min(USED, len(used)), False, waste / waste.sum())
    return np.concatenate([some, others])


def _known(
    ground: Search, boards: Ints, left: Ints, prices: Floats, old: Sequence[Pattern]
) -> list[Pattern]:
    """Give the patterns known of the boards that pay best for the planks to be laid."""
    found = list(old)
    for plot in boards.tolist():
        known = ground.pool.get(plot, {})
        if not known:
            continue
        over = [p.cost - _worth(kinds, prices, left) for kinds, p in known.items()]
        patterns = list(known.values())
        found += [patterns[n] for n in np.argsort(np.array(over))[:KNOWN].tolist()]
    return found


def _worth(kinds: tuple[int, ...], prices: Floats, left: Ints) -> float:
    """Give the price of those planks of a pattern that are to be laid."""
    return float(sum(prices[k] for n, k in enumerate(kinds) if kinds[:n].count(k) < left[k]))


def _cheapest(
    ground: Search, patterns: Sequence[Pattern], left: Ints, boards: Ints
) -> list[Pattern]:
    """Choose a pattern a board at most, so that the planks to be laid cost least; none if late."""
    row_of = {int(plot): k for k, plot in enumerate(boards)}
    kinds = np.flatnonzero(left)
    at = {int(kind): k for k, kind in enumerate(kinds)}
    table = np.zeros((len(kinds) + len(boards), len(patterns) + len(kinds)))
    for c, pattern in enumerate(patterns):
        for place in pattern.places:
            if place.kind in at:
                table[at[place.kind], c] -= 1
        table[len(kinds) + row_of[pattern.plot], c] = 1
    table[: len(kinds), len(patterns) :] = -np.eye(len(kinds))
    cost = np.concatenate([[p.cost for p in patterns], UNLAID * ground.volume[kinds]])
    most = np.concatenate([np.ones(len(patterns)), left[kinds]])
    limit = np.concatenate([-left[kinds], np.ones(len(boards))])
    taken = least_whole(cost, table, limit, most, CHOOSING, ground.pace.nodes)
    return (
        []
        if taken is None
        else [patterns[n] for n in np.flatnonzero(taken[: len(patterns)]).tolist()]
    )


def _thinned(ground: Search, pattern: Pattern, left: Ints) -> Pattern:
    """Leave out of a pattern what is not to be laid any more."""
    places, count = [], left.copy()
    for place in pattern.places:
        if count[place.kind] > 0:
            count[place.kind] -= 1
            places.append(place)
    if len(places) == len(pattern.places):
        return pattern
    cost = cost_mm3(ground.plots[pattern.plot], ground.lies, places, ground.rules)
    return replace(pattern, places=tuple(places), cost=cost)
