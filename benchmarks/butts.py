"""Butts: how near the bound, how soon, on made vessels of three sizes.

The vessels are those of ``tests/made_ways.py``; the tight ones have planks only just long enough,
so that strakes hinder each other and the fewest butts are more than each strake needs alone. A
run is timed by the processor's clock of this process, so that a busy machine does not count.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from time import process_time
from typing import Any

from benchmarks.table import Row
from ribband.butts import Butt, Layout, clashes, lay

TESTS = Path(__file__).parents[1] / "tests"


def made() -> Any:
    """Load the made vessels of the tests."""
    if str(TESTS) not in sys.path:
        sys.path.append(str(TESTS))
    return import_module("made_ways")


def timed(run: Callable[[], Layout], times: int = 1) -> tuple[Layout, float]:
    """Give the layout and the least processor seconds of several runs."""
    spent, layout = [], None
    for _ in range(times):
        begun = process_time()
        layout = run()
        spent.append(process_time() - begun)
    if layout is None:
        raise ValueError("times: at least one run is needed")
    return layout, min(spent)


def rows() -> list[Row]:
    """Measure everything asked of the butts."""
    return [
        *small(),
        *middle("25 x 60", made().VESSELS["25 x 60"]),
        *middle("25 x 60, tight", made().Vessel(25, 60, 400.0, 7700.0)),
        *middle("25 x 60, very tight", made().Vessel(25, 60, 400.0, 6500.0)),
        *large("42 x 120", made().VESSELS["42 x 120"]),
        *large("42 x 120, tight", made().Vessel(42, 120, 450.0, 10500.0)),
    ]


def gap(layout: Layout) -> float:
    """Give the butts above the proved bound."""
    return layout.goals[1].value - layout.goals[1].bound


def said(layout: Layout) -> str:
    """Give value and bound of every goal in words."""
    words = ("butts", "beyond one on a frame", "near with one strake between", "mm wasted",
             "adjacent tight", "mm uneven")  # fmt: skip
    return "; ".join(
        f"{goal.value:g} {name}" + (", proved" if goal.proved else f", bound {goal.bound:g}")
        for goal, name in zip(layout.goals[1:], words, strict=True)
    )


def small() -> list[Row]:
    """12 x 35: the count found and proved within a second; then the other goals."""
    vessel = made().VESSELS["12 x 35"]
    rules = made().rules_for(vessel)
    ways = made().made_ways(vessel, rules)
    counted: list[float] = []
    begun = [0.0]

    def told(_: float, words: str) -> None:
        # the count is proved, or as near as it will be, before the butts are evened
        if words == "evening the butts" and len(counted) < len(begun) - 1:
            counted.append(process_time() - begun[-1])

    def once() -> Layout:
        begun.append(process_time())
        return lay(ways, rules, progress=told)

    layout, spent = timed(once)
    return [
        Row("butts 12 x 35, fewest found and proved", min(counted), "s", 1.0, said(layout)),
        Row("butts 12 x 35, above the bound", gap(layout), "butts", 0.0),
        Row("butts 12 x 35, every goal tried", spent, "s", 30.0),
    ]


def middle(name: str, vessel: Any) -> list[Row]:
    """25 x 60: near the bound in 2 s, proved or near in 30 s, checked and laid again quickly."""
    rules = made().rules_for(vessel)
    ways = made().made_ways(vessel, rules)
    layout, spent = timed(lambda: lay(ways, rules))
    quick = lay(ways, rules, seconds=2.0)
    moved = layout.butts[len(layout.butts) // 2]
    pinned = replace(ways, fixed=(Butt(moved.strake, moved.landing + 4, fixed=True),))
    again, again_spent = timed(lambda: lay(pinned, rules, start=layout), 3)
    same = len(set(layout.butts) & set(again.butts))
    return [
        Row(f"butts {name}, above the bound", gap(layout), "butts", 1.0, said(layout)),
        Row(f"butts {name}, found and proved", spent, "s", 30.0),
        Row(
            f"butts {name}, in 2 s by the wall, above the bound",
            quick.goals[1].value - layout.goals[1].bound,
            "butts",
            1.0,
        ),
        Row(
            f"butts {name}, again round a pin",
            1000 * again_spent,
            "ms",
            300.0,
            f"{same} of {len(layout.butts)} butts stay",
        ),
        Row(f"butts {name}, check", checking(ways, rules, layout), "ms", 1.0),
    ]


def checking(ways: Any, rules: Any, layout: Layout) -> float:
    """Give the least milliseconds of a check of the whole layout."""
    spent = []
    for _ in range(50):
        begun = process_time()
        clashes(ways, rules, layout)
        spent.append(process_time() - begun)
    return 1000 * min(spent)


def large(name: str, vessel: Any) -> list[Row]:
    """42 x 120: within 2 % of the bound in 20 s."""
    rules = made().rules_for(vessel)
    ways = made().made_ways(vessel, rules)
    layout, spent = timed(lambda: lay(ways, rules, seconds=19.0))
    part = 100 * gap(layout) / layout.goals[1].bound
    until = "proved" if layout.goals[1].proved else "stopped at 19 s, not proved"
    return [
        Row(f"butts {name}, above the bound", part, "%", 2.0, said(layout)),
        Row(f"butts {name}, time taken", spent, "s", 20.0, until),
    ]
