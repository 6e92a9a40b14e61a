"""Repairs: nine planks of the packet, the launch as recorded, and what the check would catch."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from made_hung import planned
from ribband import hull, lining
from ribband.butts import ButtRules
from ribband.butts import ways as ways_of
from ribband.butts.model import Ways
from ribband.drawing.sheet import Dimension, Polyline, Sheet, Text
from ribband.drawing.views.cut_backs import cut_back_said, cut_back_sheets
from ribband.lining import LiningRules
from ribband.planks import PlankRules, ShapeRules, get_shapes
from ribband.record import (
    CutBack,
    Recorded,
    Repair,
    RepairRules,
    Stuff,
    check_repair,
    cut_backs,
    held_said,
    old_butts_of,
    plan_repair,
    record_seams,
)
from ribband.record.forms import Bad
from ribband.record.repair import choice
from ribband.record.repair.hanging import hang_in_turns
from ribband.record.repair.order import side_by_side
from ribband.survey import read_forms, read_survey
from ribband.survey.model import Cell, OldWidth

EXAMPLES = Path(str(files("ribband").joinpath("data", "examples")))
RULES = RepairRules()
STUFF = Stuff(PlankRules(), ShapeRules())


def faults(repair: Repair) -> list[str]:
    return [f"{f.code} {f.where}: {f.says}" for f in repair.findings if f.severity == "fault"]


@lru_cache(maxsize=1)
def launch() -> Recorded:
    plan = planned()
    return Recorded(plan.hull, plan.lining, plan.ways,
                    {"port": plan.layout.butts, "starboard": plan.layout.butts})  # fmt: skip


def bad(strake: int, first: int, last: int, side: str = "port", joint: str = "butt") -> Bad:
    names = launch().ways.frames
    return Bad(side, str(strake), names[first], names[last], joint)  # type: ignore[arg-type]


def repaired(*bads: Bad, rules: RepairRules = RULES, butts: ButtRules | None = None) -> Repair:
    return plan_repair(launch(), bads, butts or ButtRules(), rules, STUFF)


def test_a_short_stretch_is_renewed_and_no_more_than_must_be() -> None:
    made = repaired(bad(7, 12, 15))
    assert not faults(made)
    (renewal,) = made.renewals
    assert renewal.bad_mm <= renewal.length_mm == pytest.approx(made.bound_mm, abs=60.0)
    assert [p.name for p in made.planks.planks] == list(renewal.planks)
    assert made.planks.totals[0].length_mm == pytest.approx(renewal.length_mm, rel=1e-6)


def test_less_cannot_be_renewed_by_trying_every_place() -> None:
    """One plank between two joints: the least by looking at all pairs of places."""
    made = repaired(bad(7, 12, 15))
    side = next(s for s in made.sides if s.side == "port")
    own = made.renewals[0]
    best = np.inf
    ends = range(-1, side.ways.along_mm.shape[1] + 1)
    olds = {-1, side.ways.along_mm.shape[1]} | {b.landing for b in side.old if b.strake == 6}
    for i in (n for n in ends if n <= 24):
        for j in (n for n in ends if n >= 30):
            new = tuple(n for n in (i, j) if n not in olds)
            if any(not side.ways.open[6, n] for n in new):
                continue
            row = side.ways.along_mm[6]
            at = [0.0 if n < 0 else side.ways.length_mm[6] if n >= len(row) else row[n]
                  for n in (i, j)]  # fmt: skip
            tried = replace(own, landings=(i, j), new=new, length_mm=float(at[1] - at[0]))
            gone = [b for b in side.old if b.strake == 6 and i < b.landing < j]
            kept = [b for b in side.old if b not in gone]
            made_of = [*kept, *(type(side.old[0])(6, n) for n in new)]
            layout = replace(side.layout, butts=tuple(sorted(made_of)))
            trial = replace(side, layout=layout, renewals=(tried,))
            if not check_repair(trial, ButtRules(), RULES):
                best = min(best, tried.length_mm + RULES.joint_mm * len(new))
    assert own.length_mm + RULES.joint_mm * len(own.new) == pytest.approx(best, abs=1.0)


def test_what_was_chosen_before_is_never_given_up_for_worse(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With no time to search the joints kept before come back, and no more is called proved."""
    bads = [Bad("port", str(strake), "stem", "stern", "butt") for strake in (1, 2, 3, 4, 5)]
    best = repaired(*bads)
    assert best.proved
    monkeypatch.setattr(choice, "SECONDS", 1e-4)
    again = plan_repair(launch(), bads, ButtRules(), RULES, STUFF, before=best.renewals)
    assert [r.landings for r in again.renewals] == [r.landings for r in best.renewals]
    assert not again.proved
    assert again.bound_mm >= sum(r.bad_mm for r in again.renewals) - 1.0  # less cannot be
    assert not faults(again)


def test_joints_chosen_before_that_a_rule_bars_now_are_left() -> None:
    before = repaired(bad(7, 12, 15, joint="scarf")).renewals
    strict = replace(RULES, beyond_spaces=4)
    fresh = repaired(bad(7, 12, 15, joint="scarf"), rules=strict)
    assert [r.landings for r in fresh.renewals] != [r.landings for r in before]
    asked = [bad(7, 12, 15, joint="scarf")]
    again = plan_repair(launch(), asked, ButtRules(), strict, STUFF, before=before)
    assert not faults(again)
    assert again.length_mm == pytest.approx(fresh.length_mm)


def test_joints_of_a_strake_stand_once_a_new_plank_of_it_is_got_out() -> None:
    """Joints dear at first, cheap after: the least is other joints, but for the strake begun."""
    bads = [Bad("port", str(strake), "stem", "stern", "butt") for strake in (3, 6)]
    dear, cheap = (replace(RULES, joint_mm=mm) for mm in (3000.0, 0.0))
    before = repaired(*bads, rules=dear).renewals
    free = repaired(*bads, rules=cheap).renewals
    assert [r.landings for r in free if r.strake == "3"] != [r.landings for r in before][:1]
    again = plan_repair(
        launch(), bads, ButtRules(), cheap, STUFF, before=before, out=["P3-1", "S6-1"]
    )
    landings = {r.strake: r.landings for r in before}
    assert {r.strake: r.landings for r in again.renewals}["3"] == landings["3"]
    assert not faults(again)
    assert "R052" not in {f.code for f in again.findings}
    strict = replace(RULES, beyond_spaces=4)
    moved = plan_repair(
        launch(), [bad(7, 12, 15, joint="scarf")], ButtRules(), strict, STUFF, out=["P7-1"],
        before=repaired(bad(7, 12, 15, joint="scarf")).renewals,
    )  # fmt: skip
    assert [f.where for f in moved.findings if f.code == "R052"] == ["strake 7 port"]


def test_nothing_kept_is_moved_and_new_butts_keep_the_rules() -> None:
    bads = [bad(4, 8, 11), bad(5, 14, 18), bad(6, 9, 12), bad(9, 20, 24, "starboard")]
    made = repaired(*bads)
    assert not faults(made)
    for side in made.sides:
        spans = [(int(r.strake) - 1, r.landings[0], r.landings[-1]) for r in side.renewals]
        for butt in side.old:
            inside = any(row == butt.strake and i < butt.landing < j for row, i, j in spans)
            there = (butt.strake, butt.landing) in {
                (b.strake, b.landing) for b in side.layout.butts
            }
            assert inside or there


def test_openings_side_by_side_are_in_other_turns() -> None:
    bads = [bad(s, 12, 15) for s in (4, 5, 6, 7, 8, 9)]
    made = repaired(*bads)
    names = launch().ways.strakes
    for a in made.renewals:
        for b in made.renewals:
            if a is not b and a.turn == b.turn:
                assert not side_by_side(a, b, names, RULES)
    assert max(r.turn for r in made.renewals) >= 3
    assert "surveyor" in " ".join(f.says for f in made.findings)


def test_a_scarf_may_stand_where_a_butt_may_not() -> None:
    strict = replace(ButtRules(), adjacent_spaces=12, passing=8)
    butted = repaired(bad(7, 12, 15), butts=strict)
    scarfed = repaired(bad(7, 12, 15, joint="scarf"), butts=strict)
    assert scarfed.length_mm < butted.length_mm
    assert not faults(scarfed)


def test_a_scarfed_plank_is_longer_by_half_a_scarf_at_every_new_end() -> None:
    strict = replace(ButtRules(), adjacent_spaces=5)
    made = repaired(bad(7, 12, 15, joint="scarf"), butts=strict)
    port = next(s for s in made.sides if s.side == "port")
    (renewal,) = port.renewals
    assert renewal.new
    thick = launch().hull.particulars.planking_mm
    lap = RULES.scarf_slope * thick
    by = {shape.name: shape for shape in port.shapes}
    first, last = (by[renewal.planks[n][1:]] for n in (0, -1))
    ends = [end in renewal.new for end in (renewal.landings[0], renewal.landings[-1])]
    assert [first.fore_scarf_mm, last.aft_scarf_mm] == pytest.approx([lap * n for n in ends])
    butted = replace(port.layout, butts=tuple(replace(b, joint="butt") for b in port.layout.butts))
    rows = {renewal.planks[0][1:].split("-")[0]: port.ways.strakes.index(renewal.strake)}
    plain = get_shapes(launch().hull, launch().lining, port.ways, butted, ShapeRules(),
                       only=set(rows.values()))  # fmt: skip
    flat = {shape.name: shape for shape in plain.shapes}
    for name in {n[1:] for n in renewal.planks}:
        more = by[name].blank_length_mm - flat[name].blank_length_mm
        assert more == pytest.approx((by[name].fore_scarf_mm + by[name].aft_scarf_mm) / 2, abs=2.0)
    listed = sum(p.length_mm for p in made.planks.planks)
    assert listed == pytest.approx(renewal.length_mm + sum(ends) * lap / 2, rel=1e-6)
    assert "R048" in {f.code for f in made.findings}


def test_what_cannot_be_is_said_with_rule_and_butt() -> None:
    strict = replace(ButtRules(), adjacent_spaces=20, passing=20, greatest_plank_mm=2500.0)
    made = repaired(bad(7, 8, 20), butts=strict)
    told = [f for f in made.findings if f.code == "R046"]
    assert told
    assert any("strake" in f.says and "the rule" in f.says for f in told)


def test_the_check_sees_a_lost_butt_and_a_short_renewal() -> None:
    made = repaired(bad(7, 12, 15))
    side = next(s for s in made.sides if s.side == "port")
    own = side.renewals[0]
    fewer = replace(side, layout=replace(side.layout, butts=side.layout.butts[2:]))
    assert "R044" in {f.code for f in check_repair(fewer, ButtRules(), RULES)}
    longer = replace(own, bad=(bad(7, 4, 30),))
    wrong = replace(side, renewals=(longer,))
    assert "R040" in {f.code for f in check_repair(wrong, ButtRules(), RULES)}


def test_old_seams_lie_where_the_old_widths_say() -> None:
    survey = read_survey(read_forms(EXAMPLES / "marl_heron"))
    fair = hull.fit(survey)
    seams = record_seams(fair, None, survey.old_widths, LiningRules())  # type: ignore[arg-type]
    assert len(seams.lining.strakes) == 16
    off = _by_frame(seams.lining, survey)
    assert max(abs(mm) for frame, mm in off if frame != "24") < 7.0  # girth shared, 16 strakes
    ways = ways_of(fair, seams.lining, ButtRules())
    old, told = old_butts_of(ways, survey.old_butts, "starboard", ())
    assert len(old) == len({(b.strake, b.frame, b.landing) for b in survey.old_butts})
    assert not told
    recorded = Recorded(fair, seams.lining, ways, {"port": old, "starboard": old})
    made = plan_repair(recorded, [Bad("port", "7", "20", "24", "butt", "rot")], ButtRules(),
                       RULES, STUFF)  # fmt: skip
    assert not faults(made)
    assert len(made.sides[0].shapes) == len(made.planks.planks)


def test_a_few_old_widths_do_not_say_how_many_strakes_she_has() -> None:
    lined, frame = launch().lining, launch().ways.frames[9]
    column = lined.columns.index(frame)
    width = lined.width_mm[:, column].tolist()
    few = [OldWidth("both", str(k + 1), frame, width[k], None, Cell("", 0, "")) for k in range(5)]
    seams = record_seams(launch().hull, lined, few, LiningRules())
    assert len(seams.lining.strakes) == len(lined.strakes)
    assert "R034" in {f.code for f in seams.findings}
    assert seams.off_mm < 3.0


def _by_frame(made: lining.Lining, survey: object) -> list[tuple[str, float]]:
    rows = [s.name for s in made.strakes]
    return [
        (w.frame, float(made.width_mm[rows.index(w.strake), made.columns.index(w.frame)])
         - w.width_mm)
        for w in survey.old_widths  # type: ignore[attr-defined]
    ]  # fmt: skip


# ---- old planks cut back for scarfs


def slopes(cut: CutBack, at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Give the part of the thickness the old plank has at places along the strake: (from, to)."""
    part = np.clip((at - cut.tip_mm) / (cut.full_mm - cut.tip_mm), 0.0, 1.0)
    return (np.zeros_like(part), part) if cut.face == "outer" else (1.0 - part, np.ones_like(part))


def test_old_planks_are_cut_back_to_the_new_ones_shape() -> None:
    """The new plank's own scarf, from its flat shape, and the old one's fill the thickness."""
    made = repaired(bad(7, 12, 15, joint="scarf"), bad(9, 20, 24, "starboard", joint="scarf"))
    assert not faults(made)
    cuts = cut_backs(made)
    assert cuts
    for cut in cuts:
        side = next(s for s in made.sides if s.side == cut.side)
        row = side.ways.strakes.index(cut.strake)
        shape = next(s for s in side.shapes if f"{cut.side[0].upper()}{s.name}" == cut.new)
        long = shape.fore_scarf_mm if cut.stays == "forward" else shape.aft_scarf_mm
        assert cut.length_mm == pytest.approx(long) == pytest.approx(8.0 * cut.thickness_mm)
        assert abs(cut.full_mm - cut.tip_mm) == pytest.approx(long)
        assert (cut.tip_mm + cut.full_mm) / 2 == pytest.approx(cut.joint_mm)
        assert cut.joint_mm == pytest.approx(float(side.ways.along_mm[row, cut.landing]))
        renewal = next(r for r in side.renewals if cut.new in r.planks)
        ends = [_along(side.ways, row, n) for n in (renewal.landings[0], renewal.landings[-1])]
        assert ends[0] <= cut.joint_mm <= ends[1]
        within = ends[0] < cut.tip_mm < ends[1]  # what stays ends inside what is renewed
        assert within
        assert not ends[0] < cut.full_mm < ends[1]
        # as on the new plank's pattern: its after end is off the inner face, its fore end the outer
        at = np.linspace(*sorted((cut.tip_mm, cut.full_mm)), 21)
        part = np.linspace(0.0, 1.0, 21)  # from forward aft
        new = (part, np.ones(21)) if cut.stays == "aft" else (np.zeros(21), part)
        old = slopes(cut, at)
        gap = np.minimum(np.abs(old[1] - new[0]), np.abs(new[1] - old[0]))
        assert gap.max() < 1e-9  # face to face, nothing over and nothing lacking
        frame, off = cut.from_frame(cut.tip_mm)
        own = side.ways.along_mm[row, 2 * side.ways.frames.index(frame)]
        assert own + off == pytest.approx(cut.tip_mm)


def _along(ways: Ways, row: int, landing: int) -> float:
    if landing < 0:
        return 0.0
    inside = landing < ways.along_mm.shape[1]
    return float(ways.along_mm[row, landing] if inside else ways.length_mm[row])


def test_butts_and_old_joints_cut_nothing_back() -> None:
    assert cut_backs(repaired(bad(7, 12, 15))) == ()
    side = launch().old["port"]
    own = next(b for b in side if b.strake == 6)
    names = launch().ways.frames
    whole = Bad("port", "7", "stem", names[own.landing // 2], "scarf")
    made = repaired(whole)
    assert {c.stays for c in cut_backs(made)} <= {"aft"}  # the stem rabbet is no scarf


def test_new_planks_scarfed_to_each_other_go_in_from_aft_butted_ones_from_forward() -> None:
    names = launch().ways.frames
    for joint in ("butt", "scarf"):
        made = repaired(Bad("port", "7", names[2], names[-3], joint))
        own = next(r.planks for side in made.sides for r in side.renewals)
        assert len(own) > 1
        order = hang_in_turns(made).places
        hung = [place.plank for place in order]
        assert hung == list(own if joint == "butt" else own[::-1])
        assert [place.needs for place in order[1:]] == [(name,) for name in hung[:-1]]


def test_the_sheets_are_to_scale_and_say_the_places() -> None:
    made = repaired(bad(7, 12, 15, joint="scarf"))
    cuts = cut_backs(made)
    sheets = cut_back_sheets(launch().hull, cuts)
    assert len(sheets) == len(cuts)
    for cut, sheet in zip(cuts, sheets, strict=True):
        lines = [i for i in sheet.items if isinstance(i, Polyline) and i.layer == "butts"]
        assert {x for line in lines for x, _ in line.points} == {cut.tip_mm}
        dashed = [i for i in sheet.items if isinstance(i, Polyline) and i.layer == "open ends"]
        assert {x for line in dashed for x, _ in line.points} == {cut.full_mm}
        long = next(i for i in sheet.items if isinstance(i, Dimension) and "1 in 8" in i.text)
        assert abs(long.b[0] - long.a[0]) == pytest.approx(cut.length_mm)
        assert "surveyor" in cut_notes(sheet)
        assert cut.from_frame(cut.tip_mm)[0] in cut_back_said(cut, "mm")
    with pytest.raises(ValueError, match="no old plank"):
        cut_back_sheets(launch().hull, ())


def cut_notes(sheet: Sheet) -> str:
    return " ".join(i.text for i in sheet.paper if isinstance(i, Text))


def test_what_holds_an_end_is_the_rule_and_the_butts_that_bar_every_nearer_place() -> None:
    """Every butt named is there and too near; apart from it the place would break no rule."""
    strict = replace(ButtRules(), adjacent_spaces=6)
    made = repaired(bad(4, 12, 15), bad(7, 20, 22), bad(9, 24, 26), butts=strict)
    said = 0
    for side in made.sides:
        for r in side.renewals:
            row = side.ways.strakes.index(r.strake)
            assert [held.end for held in r.held] == ["fore", "after"]
            assert [held.at for held in r.held] == [r.landings[0], r.landings[-1]]
            for held in r.held:
                words = held_said(side.ways, held, side.old)
                assert bool(words) == bool(held.nearer)
                if held.barred:
                    assert {n for one in held.barred for n in one.places} == set(held.nearer)
                said += sum("old butt of strake" in why for _, why in words)
                for one in held.barred:
                    if one.rule == "butts.adjacent_spaces" and one.butt:
                        assert abs(one.butt.strake - row) == 1
                        assert all(abs(n - one.butt.landing) < 12 for n in one.places)
                        there = {(b.strake, b.landing) for b in side.layout.butts}
                        assert (one.butt.strake, one.butt.landing) in there
    assert said
    assert repaired(bad(4, 12, 15), bad(7, 20, 22), bad(9, 24, 26)).length_mm < made.length_mm


def test_an_end_as_near_as_a_joint_may_be_is_held_by_nothing() -> None:
    none = {"adjacent_spaces": 0, "between_spaces": 0, "passing": 0, "adjacent_mm": 0.0}
    short = {"between_mm": 0.0, "least_plank_mm": 600.0, "least_plank_spaces": 0}
    free = replace(ButtRules(), **none, **short)
    strake, butt = _butt_with_room()
    last = butt // 2
    asked = bad(strake, last - 2, last)
    made = repaired(asked, butts=free, rules=replace(RULES, least_left_mm=0.0))
    side = next(s for s in made.sides if s.side == "port")
    (renewal,) = made.renewals
    assert renewal.landings == (
        butt - 6,
        butt,
    )  # a space before what is bad; an old butt at its end
    assert [held_said(side.ways, held, side.old) for held in renewal.held] == [(), ()]


def _butt_with_room() -> tuple[int, int]:
    """Give a strake and the landing of an old butt of it, at a frame, with no other near."""
    old = launch().old["port"]
    return next(
        (int(launch().ways.strakes[b.strake]), b.landing)
        for b in old
        if b.landing % 2 == 0
        and launch().ways.strakes[b.strake].isdigit()
        and 20 < b.landing < 60
        and not any(o.strake == b.strake and 0 < b.landing - o.landing < 12 for o in old)
    )


def test_a_piece_too_short_to_leave_is_told_with_the_old_joint_beside_it() -> None:
    side = repaired(bad(7, 12, 15)).sides[0]
    row = side.ways.strakes.index("7")
    joint = max(b.landing for b in side.old if b.strake == row and b.landing < 40)
    first = joint // 2 + 2  # a joint a frame space abaft the old one would leave a scrap
    made = repaired(bad(7, first, first + 1))
    own = next(s for s in made.sides if s.side == "port")
    fore = made.renewals[0].held[0]
    assert fore.at == joint
    (one,) = [b for b in fore.barred if b.rule == "repair.least_left"]
    assert one.butt is not None
    assert one.butt.landing == joint
    says = dict(held_said(own.ways, fore, own.old))
    assert "so little left of the old plank beside the old butt of strake 7 on" in " ".join(
        says.values()
    )
