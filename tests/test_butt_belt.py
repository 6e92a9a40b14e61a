"""Butts that all fall in one belt are told, though they keep every rule."""

from __future__ import annotations

import numpy as np

from ribband.butts import ButtRules
from ribband.butts.belt import in_one_belt, opposite_garboards
from ribband.butts.model import Butt, Layout, Ways

FRAMES = 36


def ways(strakes: int = 12) -> Ways:
    x = 400.0 * np.arange(FRAMES)
    landings = 2 * FRAMES - 1
    along = np.tile(200.0 * np.arange(landings), (strakes, 1))
    rank = np.tile(np.arange(strakes)[:, None], (1, landings))
    return Ways(
        tuple(str(n + 1) for n in range(strakes)), tuple(str(n) for n in range(FRAMES)), x, along,
        rank, np.full(strakes, 14000.0), np.ones((strakes, landings), dtype=bool),
    )  # fmt: skip


def laid(*landings: int) -> Layout:
    butts = tuple(Butt(n % 12, landing) for n, landing in enumerate(landings))
    return Layout(butts, True, (), 0.0, 0)


def test_a_belt_amidships_is_told_with_its_frames() -> None:
    (found,) = in_one_belt(ways(), laid(30, 32, 34, 36, 38, 40, 30, 34, 38, 10, 60, 62))
    assert found.code == "B015"
    assert "9 of the 12 butts" in found.says
    assert "15" in found.where
    assert "20" in found.where


def test_butts_spread_along_her_say_nothing() -> None:
    assert in_one_belt(ways(), laid(*range(6, 66, 5))) == ()


def test_few_butts_say_nothing() -> None:
    assert in_one_belt(ways(), laid(*[34] * 7)) == ()


def test_both_garboards_butting_on_one_frame_are_told_unless_a_rule_parts_them() -> None:
    (found,) = opposite_garboards(ways(), ButtRules(), laid(30, 32, 34))
    assert found.code == "B016"
    assert "frame 15" in found.where
    assert opposite_garboards(ways(), ButtRules(sides="staggered"), laid(30)) == ()
    assert opposite_garboards(ways(), ButtRules(opposite_garboard_mm=1000.0), laid(30)) == ()
    assert opposite_garboards(ways(), ButtRules(), Layout((), True, (), 0.0, 0)) == ()
