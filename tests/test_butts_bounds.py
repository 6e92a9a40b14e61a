"""Bounds on the goals of butts, against every layout there is of small vessels."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from itertools import combinations, product

import numpy as np
import pytest

from made_ways import Vessel, made_ways
from ribband.butts import Butt, ButtRules, Layout, Ways, clashes, lay

Row = tuple[int, ...]
NAMES = ("butts", "beyond", "near", "waste", "tight", "uneven")


def rows_alone(ways: Ways, rules: ButtRules, s: int) -> list[Row]:
    """Every way of laying one strake alone, straight from the checker."""
    found = []
    for k in range(5):
        for at in combinations(np.flatnonzero(ways.open[s]).tolist(), k):
            bare = Layout(tuple(Butt(s, j) for j in at), True, (), 0.0, 0)
            if not [b for b in clashes(ways, rules, bare) if b.strake == s]:
                found.append(at)
    return found


def every_layout(ways: Ways, rules: ButtRules) -> Iterator[tuple[Row, ...]]:
    """Every layout that keeps the rules of shift between strakes."""

    def fits(s: int, a: Row, u: int, b: Row) -> bool:
        for i, j in product(a, b):
            gap = abs(i - j) / 2
            if u - s == 1 and gap < rules.adjacent_spaces:
                return False
            if gap == 0 and u - s - 1 < rules.passing:
                return False
        return True

    def on(laid: tuple[Row, ...]) -> Iterator[tuple[Row, ...]]:
        u = len(laid)
        if u == len(choices):
            yield laid
            return
        for row in choices[u]:
            if all(fits(s, laid[s], u, row) for s in range(u)):
                yield from on((*laid, row))

    choices = [rows_alone(ways, rules, s) for s in range(len(ways.strakes))]
    return on(())


def scored(ways: Ways, rules: ButtRules, laid: tuple[Row, ...]) -> tuple[float, ...]:
    """Score a layout in so many words."""
    on = [j for row in laid for j in row]
    beyond = sum(max(on.count(j) - rules.per_frame, 0) for j in set(on))
    near = tight = 0
    for s, u in combinations(range(len(laid)), 2):
        gaps = [abs(i - j) / 2 for i, j in product(laid[s], laid[u])]
        near += sum(u - s == 2 and gap < rules.between_wish_spaces for gap in gaps)
        tight += sum(u - s == 1 and gap < rules.adjacent_spaces + 1 for gap in gaps)
    waste, off = 0.0, []
    for s, row in enumerate(laid):
        planks = np.diff([0.0, *ways.along_mm[s, list(row)], ways.length_mm[s]])
        off += list(planks - planks.mean())
        if ways.stock_mm is not None:
            boards = ways.stock_mm - rules.trim_mm
            waste += sum(min(b for b in boards if b >= p - 0.1) - p for p in planks)
    uneven = round(float(np.sqrt(np.mean(np.square(off)))), 1)
    return (len(on), beyond, near, float(round(waste)), tight, uneven)


CASES = {
    "loose": (ButtRules(adjacent_spaces=2, passing=1), Vessel(4, 12, 600.0, 4300.0), 0),
    "crowded": (ButtRules(adjacent_spaces=2, passing=2), Vessel(4, 10, 600.0, 4300.0), 2),
    "wide": (ButtRules(adjacent_spaces=2, passing=1), Vessel(4, 11, 600.0, 4000.0), 3),
    "stock": (ButtRules(adjacent_spaces=2, passing=1), Vessel(4, 11, 600.0, 3600.0), 2),
}


def case(name: str) -> tuple[Ways, ButtRules]:
    bare, vessel, wish = CASES[name]
    rules = replace(
        bare,
        greatest_plank_mm=vessel.greatest_mm,
        trim_mm=100.0,
        least_plank_mm=1200.0,
        hood_mm=900.0,
        between_wish_spaces=wish,
    )
    ways = made_ways(vessel, rules)
    if name == "stock":
        boards = np.array([1700.0, 2300.0, 2900.0, 3700.0])
        ways = replace(ways, stock_mm=boards, stock_count=np.full(4, -1))
    return ways, rules


@pytest.mark.parametrize("name", CASES)
def test_no_layout_is_better_than_a_bound(name: str) -> None:
    ways, rules = case(name)
    every = [scored(ways, rules, laid) for laid in every_layout(ways, rules)]
    assert len(every) > 50
    layout = lay(ways, rules)
    reached = compared(ways, rules, layout, every)
    assert all(goal.proved for goal in layout.goals)
    assert reached == pytest.approx(min(every), abs=0.2)
    compared(ways, rules, lay(ways, rules, start=layout, seed=1), every)


def compared(
    ways: Ways, rules: ButtRules, layout: Layout, every: list[tuple[float, ...]]
) -> tuple[float, ...]:
    """Hold each goal against the best there is with the count and the goals before as reached."""
    reached = tuple(goal.value for goal in layout.goals[1:])
    on = [[b.landing for b in layout.butts if b.strake == s] for s in range(len(ways.strakes))]
    laid = tuple(tuple(sorted(row)) for row in on)
    assert scored(ways, rules, laid) == pytest.approx(reached, abs=0.2)
    for i, goal in enumerate(layout.goals[1:]):
        fair = [
            e[i]
            for e in every
            if (i == 0 or e[0] == reached[0])
            and all(e[k] <= reached[k] + 1e-6 for k in range(1, i))
        ]
        assert goal.bound <= min(fair) + 0.11, NAMES[i]
        if goal.proved:
            assert goal.value == pytest.approx(min(fair), abs=0.11), NAMES[i]
    return reached
