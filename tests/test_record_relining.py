"""Re-lining what is left: what hangs stays, what is cut keeps its width, the rest runs fair."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_hung import planned, seam_off, stood
from ribband import record
from ribband.lining import Lining
from ribband.record import HungPoint, RecordRules, ReliningRules
from ribband.record.hung import seam_girths
from ribband.record.log import columns_of
from ribband.units import format_length

RULES = RecordRules()
SPREAD = ReliningRules(takes_up_mm=0.0)  # over all that is left


def seams(lining: Lining) -> np.ndarray:
    return seam_girths(lining)


def test_nothing_measured_changes_nothing() -> None:
    plan = planned()
    got = record.reline(plan, stood(plan, (1, 2, 3, 14)), ())
    assert np.nanmax(np.abs(seams(got.lining) - seams(plan.lining))) < 0.3
    assert not got.changed
    assert {(b.strake, b.landing) for b in got.layout.butts} == {
        (b.strake, b.landing) for b in plan.layout.butts
    }


@pytest.mark.parametrize("off", [-12.0, 5.0, 9.0])
def test_a_drifted_seam_is_held_where_it_hangs_and_spread_over_what_is_left(off: float) -> None:
    plan = planned()
    points = seam_off(plan, 3, off)
    got = record.reline(plan, stood(plan, (1, 2, 3, 13, 14)), points, SPREAD)
    for point in points:
        column = plan.lining.columns.index(point.frame)
        assert got.lining.upper_girth_mm[2, column] == pytest.approx(point.girth_mm, abs=0.5)
    moved = seams(got.lining) - seams(plan.lining)
    assert np.nanmax(np.abs(moved[12])) < 0.3  # the seam under the hung topsides
    middle = plan.lining.columns.index(points[len(points) // 2].frame)
    shares = np.diff(moved[3:13, middle]) / -off
    assert np.all(shares > 0)  # every free strake takes a part,
    assert np.max(shares) < 3.0 * np.min(shares)  # none of them most of it
    assert np.allclose(np.sum(shares), 1.0, atol=0.1)
    assert record.check_relined(plan, got, RULES)
    assert not [f for f in record.check_relined(plan, got, RULES) if f.severity == "fault"]


def test_a_drift_is_taken_up_by_the_next_strakes_and_no_further() -> None:
    """10 mm low at one frame of the garboard: what is far from it is as it was, and said to be.

    Spread over all, most planks change; by the rule only those of the strakes that take it up.
    """
    plan = planned()
    garboard, column = plan.lining.upper_girth_mm[0], 12
    at = HungPoint("port", "1", "upper", plan.lining.columns[column], float(garboard[column]) - 10)
    near = record.reline(plan, stood(plan, (1,)), (at,))
    wide = record.reline(plan, stood(plan, (1,)), (at,), SPREAD)
    free = [p for p in plan.planks if p.side == "port" and p.strake != "1"]
    assert len(wide.changed) > len(free) / 2
    assert len(near.changed) < len(wide.changed) / 3
    assert near.lining.feasible or not plan.lining.feasible
    off = np.nan_to_num(seams(near.lining) - seams(plan.lining))
    rows = {strake.name: row for row, strake in enumerate(plan.lining.strakes)}
    for plank in free:
        there = columns_of(plank, plan.lining)
        edges = off[rows[plank.strake] : rows[plank.strake] + 2, there].ravel()
        most = float(edges[np.abs(edges).argmax()])
        said = [one for one in near.moved if one.plank == plank.name]
        assert (plank.name in near.changed) == bool(said) == (abs(most) > 1.5875)
        if said:
            assert said[0].mm == pytest.approx(most)
    told = next(f for f in record.check_relined(plan, near, RULES) if f.code == "R025")
    assert f"{len(near.changed)} planks change" in told.says
    assert f"edge {near_most(near)} low at frame" in told.says


def test_a_lining_made_round_a_drift_stays_when_planks_are_cut_by_it() -> None:
    plan = planned()
    points = seam_off(plan, 1, 10.0)
    first = record.reline(plan, stood(plan, (1,)), points)
    in_force = replace(plan, lining=first.lining)
    again = record.reline(in_force, stood(in_force, (1,), (2,)), points)
    assert np.nanmax(np.abs(seams(again.lining) - seams(first.lining))) < 0.3
    assert not again.changed


def near_most(got: record.Relined) -> str:
    return format_length(max(-one.mm for one in got.moved), planned().hull.particulars.unit)


def test_a_cut_plank_keeps_its_width_and_moves() -> None:
    plan = planned()
    got = record.reline(plan, stood(plan, (1, 2, 3), (4,)), seam_off(plan, 3, 9.0))
    cut = got.standing.cut
    off = np.where(cut, got.lining.width_mm - plan.lining.width_mm, 0.0)
    assert np.nanmax(np.abs(off)) < 0.4
    moved = (seams(got.lining) - seams(plan.lining))[4, 12:24]
    assert np.allclose(moved, 9.0, atol=1.0)
    assert not any(name.startswith("P4-") for name in got.changed)


def test_the_last_opening_is_measured_and_a_cut_shutter_told_it_does_not_fit() -> None:
    plan = planned()
    hung = tuple(n for n in range(1, 15) if n != 8)
    below = seam_off(plan, 7, 10.0, 1)
    got = record.reline(plan, stood(plan, hung, (8,)), below)
    shutter = {o.frame: o for o in got.openings if o.strake == "8"}
    point = below[len(below) // 2]
    assert shutter[point.frame].left_mm == pytest.approx(
        shutter[point.frame].planned_mm - 10.0, abs=0.3
    )
    told = [f for f in record.check_relined(plan, got, RULES) if f.code == "R024"]
    assert told
    assert told[0].severity == "fault"
    assert "too wide" in told[0].says


def test_the_check_sees_a_hung_seam_that_was_moved() -> None:
    plan = planned()
    points = seam_off(plan, 3, 9.0)
    got = record.reline(plan, stood(plan, (1, 2, 3)), points)
    wrong = replace(got, lining=plan.lining)
    assert "R020" in {f.code for f in record.check_relined(plan, wrong, RULES)}


def test_measurements_that_disagree_or_cannot_be_placed_are_told() -> None:
    plan = planned()
    at = plan.lining.columns[12]
    girth = float(plan.lining.upper_girth_mm[2, 12])
    points = (
        HungPoint("port", "3", "upper", at, girth),
        HungPoint("port", "4", "lower", at, girth + 8.0),
        HungPoint("port", "99", "upper", at, girth),
    )
    found = record.check_hung(points, plan.lining, [stood(plan, (1, 2, 3, 4, 14))], RULES, "mm")
    assert {"R010", "R011", "R012", "R013", "R014"} <= {f.code for f in found}


def test_a_seam_not_measured_moves_with_its_plank_and_is_said_to() -> None:
    """Strake 2 hangs on a garboard that sits 9 mm high: its upper edge is 9 mm high as well."""
    plan = planned()
    points = seam_off(plan, 1, 9.0)
    stand = stood(plan, (1, 2))
    got = record.reline(plan, stand, points)
    middle = slice(8, 24)
    moved = seams(got.lining) - seams(plan.lining)
    assert np.allclose(moved[1:3, middle], 9.0, atol=0.5)
    told = record.check_hung(points, plan.lining, [stand], RULES, "mm")
    beside = [f for f in told if f.code == "R014"]
    assert [f.where for f in beside] == ["port, seam above strake 2"]
    assert beside[0].severity == "caution"
    assert "up to 9 " in beside[0].says
    assert "R013" not in {f.code for f in told}


def test_between_two_measured_seams_one_not_measured_moves_in_part_with_each() -> None:
    plan = planned()
    points = (*seam_off(plan, 1, 8.0), *seam_off(plan, 4, 2.0))
    got = record.reline(plan, stood(plan, (1, 2, 3, 4)), points)
    moved = (seams(got.lining) - seams(plan.lining))[1:5, 14]
    assert moved == pytest.approx([8.0, 6.0, 4.0, 2.0], abs=0.5)
    told = record.check_hung(points, plan.lining, [stood(plan, (1, 2, 3, 4))], RULES, "mm")
    said = {f.where: f.says for f in told if f.code == "R014"}
    assert list(said) == ["port, seams above strakes 2, 3"]
    assert "up to 6 " in said["port, seams above strakes 2, 3"]


def test_nothing_is_to_be_measured_before_a_plank_is_got_out_where_all_hang() -> None:
    plan = planned()
    every = tuple(range(1, len(plan.lining.strakes) + 1))
    points = (*seam_off(plan, 1, 8.0), *seam_off(plan, 4, 8.0))
    told = record.check_hung(points, plan.lining, [stood(plan, every)], RULES, "mm")
    assert {f.severity for f in told if f.code == "R014"} == {"note"}
    some = record.check_hung(points, plan.lining, [stood(plan, every[:6])], RULES, "mm")
    assert [f.where for f in some if f.code == "R014" and f.severity == "caution"] == [
        "port, seam above strake 6"
    ]


@pytest.mark.parametrize("hung", [(1, 2), (3, 4)])
def test_where_a_stealer_does_not_stand_a_hung_seam_is_one_for_the_strakes_on_both_sides(
    hung: tuple[int, ...],
) -> None:
    plan = planned(14, 24, "2")
    names = [strake.name for strake in plan.lining.strakes]
    assert names[1:4] == ["2", "2s", "3"]
    states = {p.name: "hung" for p in plan.planks if p.strake in {str(n) for n in hung}}
    stand = record.standing("port", plan.planks, plan.lining, states)
    column, edge = 6, ("upper" if hung == (1, 2) else "lower")
    strake = "2" if edge == "upper" else "3"
    row = names.index(strake)
    girths = plan.lining.upper_girth_mm if edge == "upper" else plan.lining.lower_girth_mm
    at = HungPoint(
        "port", strake, edge, plan.lining.columns[column], float(girths[row, column]) + 7
    )
    got = record.reline(plan, stand, (at,), SPREAD)
    lower, upper = got.lining.lower_girth_mm, got.lining.upper_girth_mm
    gone = ~np.isfinite(upper[2]) & np.isfinite(upper[1]) & np.isfinite(lower[3])
    assert gone[0]  # the stem among them
    assert gone[column]
    assert upper[1, gone] == pytest.approx(lower[3, gone], abs=0.01)
    assert upper[1, column] - plan.lining.upper_girth_mm[1, column] == pytest.approx(7.0, abs=0.5)
    assert "R022" not in {f.code for f in record.check_relined(plan, got, RULES)}
    parted = lower.copy()
    parted[3, 0] += 50.0  # nothing between two strakes at the stem
    wrong = replace(got, lining=replace(got.lining, lower_girth_mm=parted))
    told = [f for f in record.check_relined(plan, wrong, RULES) if f.code == "R022"]
    assert [f.where for f in told] == ["port, stem"]


def test_a_measurement_off_by_more_than_the_strake_or_where_nothing_hangs_counts_for_nothing() -> (
    None
):
    plan = planned()
    girths, column = plan.lining.upper_girth_mm[:, 12], plan.lining.columns[12]
    far = HungPoint("port", "1", "upper", column, float(girths[3]))
    open_ = HungPoint("port", "6", "upper", column, float(girths[5]) + 6.0)
    stand = stood(plan, (1, 2))
    got = record.reline(plan, stand, (far, open_))
    assert not got.changed
    told = {f.code: f for f in record.check_hung((far, open_), plan.lining, [stand], RULES, "mm")}
    assert "more than the strake is wide" in told["R010"].says
    assert "no plank hangs there" in told["R015"].says


def test_one_side_measured_leaves_the_other() -> None:
    plan = planned()
    points = tuple(replace(p, side="starboard") for p in seam_off(plan, 3, 9.0))
    got = record.reline(plan, stood(plan, (1, 2, 3)), points)
    assert not got.drifts
    assert not got.changed


def test_butts_of_hung_planks_stay() -> None:
    plan = planned()
    got = record.reline(plan, stood(plan, (1, 2, 3), (4,)), seam_off(plan, 3, 9.0))
    fixed = {(b.strake, b.landing) for b in got.layout.butts if b.fixed}
    before = {(b.strake, b.landing) for b in plan.layout.butts if b.strake < 4}
    assert before <= fixed
