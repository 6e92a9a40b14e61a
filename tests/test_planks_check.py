"""The check of a plank list must see each thing it is there to see."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from made_hulls import barrel, launch, tape
from made_planking import even_lining, stepped_layout, ways_of
from ribband.planks import Plank, PlankList, PlankRules, check, list_planks
from ribband.planks.check import AREA_ERROR, hull_side_m2

Spoil = Callable[[PlankList], PlankList]


@pytest.fixture(scope="module")
def job():
    hull = launch()
    lining = even_lining(hull, 16)
    ways = ways_of(hull, lining)
    return hull, lining, ways, stepped_layout(ways)


@pytest.fixture(scope="module")
def made(job) -> PlankList:
    return list_planks(*job, PlankRules())


def with_plank(at: int, **changes: object) -> Spoil:
    def spoil(made: PlankList) -> PlankList:
        planks: list[Plank] = list(made.planks)
        planks[at] = replace(planks[at], **changes)
        return replace(made, planks=tuple(planks))

    return spoil


def without(at: int) -> Spoil:
    return lambda made: replace(made, planks=made.planks[:at] + made.planks[at + 1 :])


def without_strake(name: str) -> Spoil:
    return lambda made: replace(made, planks=tuple(p for p in made.planks if p.strake != name))


def wrong_total(made: PlankList) -> PlankList:
    first, *rest = made.by_side
    return replace(made, by_side=(replace(first, length_mm=first.length_mm + 1.0), *rest))


SPOILT = [
    ("P011", with_plank(1, name="P1-1")),
    ("P012", with_plank(1, number=7)),
    ("P012", with_plank(0, fore="3")),
    ("P012", with_plank(1, fore="44")),
    ("P012", with_plank(1, fore_landing="block")),
    ("P012", with_plank(1, width_min_mm=500.0)),
    ("P012", with_plank(1, length_mm=-1.0)),
    ("P012", without(1)),
    ("P012", without_strake("9")),
    ("P013", with_plank(1, length_mm=9000.0)),
    ("P014", with_plank(1, area_m2=2.0)),
    ("P015", with_plank(1, dressed_board_feet=1.0)),
    ("P015", with_plank(1, rough_board_feet=1.0)),
    ("P016", wrong_total),
]


def test_a_good_list_has_no_finding(job, made) -> None:
    assert check(*job, made) == ()


@pytest.mark.parametrize(("code", "spoil"), SPOILT)
def test_each_fault_is_found(job, made, code: str, spoil: Spoil) -> None:
    assert code in {finding.code for finding in check(*job, spoil(made))}


def test_a_frame_that_cuts_a_corner_of_a_strake_is_no_way_round(job, made) -> None:
    """At a raking end the corner lies far off the strake's middle: the length passes it by."""
    hull, lining, ways, layout = job
    off = np.array([0.0, 0.0, 400.0])
    low, high = lining.lower_xyz.copy(), lining.upper_xyz.copy()
    low[0, -2], high[0, -2] = low[0, -2] + off, high[0, -2] + off
    bent = replace(lining, lower_xyz=low, upper_xyz=high)
    assert "P013" in {f.code for f in check(hull, bent, ways, layout, made)}
    whole = np.isfinite(lining.width_mm)
    whole[0, -2] = False
    cut = replace(bent, whole=whole)
    assert "P013" not in {f.code for f in check(hull, cut, ways, layout, made)}


def test_a_narrow_lining_does_not_cover_the_hull(job) -> None:
    hull, lining, ways, layout = job
    whole = list_planks(hull, lining, ways, layout)
    narrow = (replace(p, area_m2=p.area_m2 * (1 - 2 * AREA_ERROR)) for p in whole.planks)
    made = replace(whole, planks=tuple(narrow))
    assert "P014" in {f.code for f in check(hull, lining, ways, layout, made)}


def test_the_side_of_a_drum_from_facets() -> None:
    area = hull_side_m2(barrel(radius=1000.0, length=12000.0))
    assert area == pytest.approx(np.pi / 2 * 12.0, rel=2e-4)


def test_without_stem_and_stern_the_side_ends_at_the_frames() -> None:
    hull = replace(barrel(radius=1000.0, length=12000.0), has_stem=False, has_stern=False)
    between = hull.marks[-1].x_mm - hull.marks[0].x_mm
    assert hull_side_m2(hull) == pytest.approx(np.pi / 2 * between / 1000, rel=3e-3)


def test_girths_taped_to_the_stern_count_to_the_stern() -> None:
    hull = tape(frames=11, spacing=500.0)
    lines = hull.lines
    x, girth = np.append(lines.x_mm, 5400.0), np.append(lines.girth_mm, lines.girth_mm[-1])
    longer = replace(hull, lines=replace(lines, x_mm=x, girth_mm=girth))
    extra = 400.0 * lines.girth_mm[-1] / 1e6
    assert hull_side_m2(longer) == pytest.approx(hull_side_m2(hull) + extra)
