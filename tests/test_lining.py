"""Lining out: known answers, invariants, a naive second optimiser, wishes that clash."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

import made_hulls
import made_lining
from made_lining import PLAIN, faults
from ribband.errors import InputError
from ribband.findings import Severity
from ribband.hull.model import Hull
from ribband.lining import LiningRules, Wish, check, hold, limits_of, line_out, read_wishes
from ribband.lining.cut import cut_seams
from ribband.lining.division import division_of
from ribband.lining.ground import ground_of
from ribband.lining.model import Lining
from ribband.lining.rules import WidthLimits
from ribband.lining.search import count_of
from ribband.lining.solve import DRAGGED, Stop, settle
from ribband.lining.task import task_of
from ribband.lining.terms import evenness, fair_seams, widths_at
from ribband.survey.model import Cell, OldWidth
from ribband.survey.rows import Row


@pytest.fixture(scope="module")
def launch() -> Hull:
    return made_lining.launch()


@pytest.fixture(scope="module")
def lined() -> Lining:
    return made_lining.lined_launch()


@pytest.fixture(scope="module")
def tape() -> Hull:
    return made_hulls.tape()


def test_barrel_is_divided_evenly() -> None:
    hull = made_hulls.barrel()
    lining = line_out(hull, PLAIN, [Wish("strakes", 10)])
    assert np.nanmax(np.abs(lining.width_mm - 1000 * np.pi / 2 / 10)) < 0.2  # mm
    assert lining.sweep_rms_per_m < 1e-5
    assert not check(hull, PLAIN, [], lining)


def test_strakes_sum_to_the_girth(launch: Hull, lined: Lining) -> None:
    total = np.nansum(lined.upper_girth_mm - lined.lower_girth_mm, axis=0)
    girth = [launch.lines.girth_mm[0], *launch.frames.girth_mm, launch.lines.girth_mm[-1]]
    assert np.abs(total - girth).max() < 0.01


def test_with_girths_alone_widths_are_girths_and_fill_the_whole(tape: Hull) -> None:
    lining = line_out(tape, PLAIN)
    width = lining.width_mm
    girth = lining.upper_girth_mm - lining.lower_girth_mm
    assert np.nanmax(np.abs(width - girth)) < 1e-9
    frames = np.nansum(width, axis=0)[1:-1]
    assert frames == pytest.approx(tape.frames.girth_mm, abs=1e-6)
    assert faults(tape, PLAIN, [], lining) == []


def test_checker_finds_nothing_wrong(launch: Hull, lined: Lining) -> None:
    assert lined.feasible
    assert faults(launch, LiningRules(), [Wish("strakes", 17)], lined) == []


def test_limits_are_kept_exactly(launch: Hull) -> None:
    wishes = [Wish("strakes", 17), Wish("greatest", 180.0, "6"), Wish("least", 100.0, "12")]
    lining = line_out(launch, LiningRules(), wishes)
    assert lining.feasible
    assert np.nanmax(lining.width_mm[5]) <= 180.1
    assert np.nanmin(lining.width_mm[11]) >= 99.9
    assert faults(launch, LiningRules(), wishes, lining) == []


def test_straighter_than_dividing_evenly(tape: Hull) -> None:
    even = np.linspace(0, 1, 14)[:, None] * tape.lines.girth_mm
    x = tape.lines.x_mm
    bend = np.gradient(np.gradient(even[1:-1], x, axis=1), x, axis=1)[:, 2:-2]
    lining = line_out(tape, LiningRules(), [Wish("strakes", 13)])
    assert lining.sweep_rms_per_m < 0.75 * 1000 * np.sqrt(np.mean(bend**2))


def test_twice_the_hull_is_lined_out_alike() -> None:
    small = made_hulls.tape()
    lines = replace(small.lines, x_mm=2 * small.lines.x_mm, girth_mm=2 * small.lines.girth_mm)
    large = replace(small, lines=lines, frames=lines)
    sizes = {"greatest_width_mm": 200.0, "least_width_mm": 80.0, "least_hood_mm": 60.0}
    one = line_out(small, LiningRules(**sizes), [Wish("strakes", 14)])
    two = line_out(
        large, LiningRules(**{k: 2 * v for k, v in sizes.items()}), [Wish("strakes", 14)]
    )
    assert np.nanmax(np.abs(2 * one.width_mm - two.width_mm)) < 0.1


def test_a_symmetric_hull_is_lined_out_symmetrically() -> None:
    hull = made_hulls.tape(31)
    t = np.linspace(-1, 1, 31)
    lines = replace(hull.lines, girth_mm=2300.0 * (1 - 0.35 * np.abs(t) ** 2.4))
    lining = line_out(
        replace(hull, lines=lines, frames=lines), LiningRules(), [Wish("strakes", 13)]
    )
    width = lining.width_mm[:, 1:-1]
    assert np.abs(width - width[:, ::-1]).max() < 0.1


def test_more_frames_move_the_hood_ends_little() -> None:
    few, many = made_hulls.launch(25, 41), made_hulls.launch(49, 81)
    wishes = [Wish("strakes", 17)]
    a, b = (line_out(h, LiningRules(), wishes).upper_girth_mm for h in (few, many))
    assert np.abs(a[:, 0] - b[:, 0]).max() < 4.0
    assert np.abs(a[:, -1] - b[:, -1]).max() < 4.0


def test_a_naive_optimiser_agrees() -> None:
    """The same terms handed to a general least-squares solver, without our steps or slopes."""
    from scipy.optimize import least_squares  # noqa: PLC0415

    hull = made_hulls.tape(12, 1000.0)
    rules = LiningRules(greatest_width_mm=900.0, least_width_mm=1.0, least_hood_mm=1.0)
    ground, limits = ground_of(hull), limits_of(rules, hull.particulars)
    division = division_of(hull, rules, 6, (), 0.4)
    task = task_of(hull, rules, division)
    ours = settle(ground, division, task, rules, stop=Stop(1e-4, 5e-4, 40, 40))

    def residuals(x: np.ndarray) -> np.ndarray:
        fraction = ours.fraction.copy()
        fraction[1:-1] = x.reshape(5, 12)
        spots = ground.on_lines(fraction)
        blocks = fair_seams(ground, division, spots, rules)
        widths = widths_at(ground, fraction, spots, rules.sine_floor)
        blocks.append(evenness(ground, division, fraction, spots, rules, task, widths))
        return np.concatenate([b.value for b in blocks])

    start = np.repeat(np.linspace(0, 1, 7)[1:-1, None], 12, 1)
    naive = least_squares(residuals, start.ravel(), xtol=1e-12, ftol=1e-14)
    off = np.abs(naive.x.reshape(5, 12) - ours.fraction[1:-1]) * ground.girth
    assert off.max() < 1.5  # ours freezes the sine of the seam's angle within a step
    assert 2 * naive.cost <= ours.cost * 5 * (1 + 1e-9)
    assert 2 * naive.cost > ours.cost * 5 * 0.999
    assert limits.greatest == 900.0


def test_number_of_strakes_is_chosen_and_said(launch: Hull) -> None:
    lining = line_out(launch)
    count = count_of(launch, LiningRules())
    assert lining.feasible
    assert len(lining.strakes) >= count.by_girth
    assert "rounded up" in lining.reasons[0]
    assert len(lining.alternatives) == 2
    assert all(a.strakes != len(lining.strakes) or a.stealers for a in lining.alternatives)


def test_roundness_asks_for_more_strakes() -> None:
    hull = made_hulls.barrel()
    assert count_of(hull, LiningRules(hollow_mm=2.0)).fewest > count_of(hull, PLAIN).fewest


def test_points_and_widths_are_held(launch: Hull, lined: Lining) -> None:
    c = lined.columns.index("15")
    wishes = [
        Wish("strakes", 17),
        Wish("fix", float(lined.upper_girth_mm[6, c]) + 15.0, "7", "15"),
        Wish("width", float(lined.width_mm[9, c]) - 8.0, "10", "15"),
    ]
    lining = line_out(launch, LiningRules(), wishes)
    assert lining.feasible
    assert lining.upper_girth_mm[6, c] == pytest.approx(wishes[1].value, abs=0.1)
    assert lining.width_mm[9, c] == pytest.approx(wishes[2].value, abs=0.1)


def test_a_bump_in_a_given_line_is_reported(launch: Hull, lined: Lining) -> None:
    c = lined.columns.index("15")
    line = lined.upper_girth_mm[6, c - 2 : c + 3] + np.array([0, 0, 12.0, 0, 0])
    wishes = [Wish("strakes", 17)]
    wishes += [Wish("master", float(g), "7", lined.columns[c - 2 + i]) for i, g in enumerate(line)]
    lining = line_out(launch, LiningRules(), wishes)
    assert any(f.code == "L025" for f in lining.findings)
    assert any(f.code == "L007" for f in check(launch, LiningRules(), wishes, lining))


def test_recorded_widths_pull(launch: Hull, lined: Lining) -> None:
    c = lined.columns.index("15")
    wanted = float(lined.width_mm[8, c]) + 20.0
    old = [OldWidth("both", "9", f, wanted, None, Cell("", 0, "")) for f in ("14", "15", "16")]
    wishes = [Wish("strakes", 17), Wish("recorded", 1.0)]
    lining = line_out(launch, LiningRules(), wishes, old)
    assert abs(lining.width_mm[8, c] - wanted) < 0.8 * abs(lined.width_mm[8, c] - wanted)


def test_wishes_that_clash_name_the_one_to_give_up(launch: Hull) -> None:
    wishes = [
        Wish("strakes", 17),
        Wish("fix", 1300.0, "7", "15"),
        Wish("fix", 1340.0, "8", "15", note="the old scarph"),
    ]
    lining = line_out(launch, LiningRules(), wishes)
    assert not lining.feasible
    codes = {f.code for f in lining.findings}
    assert {"L021", "L022"} <= codes
    named = [f for f in lining.findings if f.code == "L022" and f.severity is Severity.CAUTION]
    assert any("strake 7" in f.where or "strake 8" in f.where for f in named)
    assert faults(launch, LiningRules(), wishes, lining) == []  # the lining says so itself


def test_too_few_strakes_are_refused_in_words(launch: Hull) -> None:
    lining = line_out(launch, LiningRules(), [Wish("strakes", 11)])
    assert not lining.feasible
    assert any(f.code == "L021" for f in lining.findings)
    assert any("number of strakes" in f.where for f in lining.findings if f.code == "L022")


def test_a_frame_that_is_not_there_is_an_input_error(launch: Hull) -> None:
    with pytest.raises(InputError, match="frame"):
        line_out(launch, LiningRules(), [Wish("strakes", 17), Wish("fix", 900.0, "5", "99")])


def test_dragging_a_seam_holds_it_and_keeps_the_limits(launch: Hull, lined: Lining) -> None:
    c = lined.columns.index("15")
    to = float(lined.upper_girth_mm[6, c]) + 10.0
    moved = hold(lined, launch, LiningRules()).move("7", "15", to).lining()
    assert moved.upper_girth_mm[6, c] == pytest.approx(to, abs=0.2)
    again = line_out(launch, LiningRules(), [Wish("strakes", 17), Wish("fix", to, "7", "15")])
    assert np.nanmax(np.abs(moved.width_mm - again.width_mm)) < 1.0


def test_a_drag_is_settled_as_if_every_step_were_worked_out_anew(
    launch: Hull, lined: Lining
) -> None:
    drag = hold(lined, launch, LiningRules())
    c = lined.columns.index("15")
    for mm in (3.0, 9.0, -6.0, 30.0):
        to = float(lined.upper_girth_mm[6, c]) + mm
        before, drag = drag.settled, drag.move("7", "15", to)
        asked, plain = drag.asked, replace(DRAGGED, near=False)
        task = task_of(launch, asked.rules, before.division, asked.wishes)
        anew = settle(
            asked.ground, before.division, task, asked.rules, before.fraction,
            before.forces.for_task(task), plain,
        )  # fmt: skip
        assert anew.steps == drag.settled.steps
        assert np.abs(anew.cut.girth - drag.settled.cut.girth).max() < 0.005
        assert drag.settled.cost == pytest.approx(anew.cost, rel=1e-4)


def test_same_input_same_answer(launch: Hull, lined: Lining) -> None:
    again = line_out(launch, LiningRules(), [Wish("strakes", 17)])
    assert np.array_equal(again.seam_v, lined.seam_v)


def test_along_grows_and_is_no_shorter_than_the_chord(lined: Lining) -> None:
    for k in range(len(lined.strakes)):
        there = np.isfinite(lined.along_mm[k])
        along = lined.along_mm[k, there]
        assert along[0] == 0.0
        assert (np.diff(along) > 0).all()
        ends = (lined.lower_xyz[k, there] + lined.upper_xyz[k, there])[[0, -1]] / 2
        assert along[-1] >= np.linalg.norm(ends[1] - ends[0]) - 5.0


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        (lambda x: replace(x, upper_girth_mm=x.upper_girth_mm + 0.05), "L001"),
        (lambda x: replace(x, lower_girth_mm=x.lower_girth_mm[::-1]), "L002"),
        (lambda x: replace(x, width_mm=x.width_mm * 1.5), "L003"),
        (lambda x: replace(x, width_mm=x.width_mm * 0.4), "L004"),
        (lambda x: replace(x, width_mm=x.width_mm * 1.1), "L009"),
        (lambda x: replace(x, width_mm=x.width_mm[:, :-1]), "L011"),
    ],
)
def test_checker_catches_a_spoilt_lining(launch: Hull, lined: Lining, spoil, code: str) -> None:
    found = check(launch, LiningRules(), [Wish("strakes", 17)], spoil(lined))
    assert code in {f.code for f in found}


def test_a_limit_passed_everywhere_is_told_once(launch: Hull, lined: Lining) -> None:
    """One a strake a frame would bury what else is wrong; of few strakes each is named."""
    wish = [Wish("strakes", len(lined.strakes))]
    narrow = replace(lined, width_mm=lined.width_mm * 0.4)
    (all_over,) = [f for f in check(launch, LiningRules(), wish, narrow) if f.code == "L004"]
    assert all_over.where.startswith(f"strakes 1 to {len(lined.strakes)}, ")
    assert int(re.search(r"the worst of (\d+) places, strake \d", all_over.says)[1]) > 300
    width = lined.width_mm.copy()
    width[4, 10:13] *= 0.3
    width[7, 20] *= 0.3
    few = [f for f in check(launch, LiningRules(), wish, replace(lined, width_mm=width))
           if f.code == "L004"]  # fmt: skip
    name = lined.columns
    assert [f.where for f in few] == [
        f"strake 5, frames {name[10]} to {name[12]}", f"strake 8, frame {name[20]}",
    ]  # fmt: skip
    assert "worst of 3 places" in few[0].says
    assert "worst" not in few[1].says


def test_a_wave_that_a_plane_takes_off_is_not_called_unfair(launch: Hull, lined: Lining) -> None:
    def told(out: float) -> list[str]:
        upper, lower = lined.upper_xyz.copy(), lined.lower_xyz.copy()
        wave = out * np.cos((np.arange(upper.shape[1]) - 15) * np.pi / 2)
        upper[7, 8:23, 2] += wave[8:23]
        lower[8, 8:23, 2] += wave[8:23]
        waved = replace(lined, upper_xyz=upper, lower_xyz=lower)
        found = check(launch, LiningRules(), [], waved)
        return [f.says for f in found if f.code == "L007" and f.where.startswith("strake 8, ")]

    assert not told(0.4)
    (says,) = told(6.0)
    high = float(says.partition("about ")[2].split()[0])
    assert high == pytest.approx(6.0, rel=0.25)  # of it, what lies square to the seam


def test_checker_catches_a_kinked_seam(launch: Hull, lined: Lining) -> None:
    upper, lower = lined.upper_xyz.copy(), lined.lower_xyz.copy()
    upper[7, 15, 2] += 12.0
    lower[8, 15, 2] += 12.0
    found = check(launch, LiningRules(), [], replace(lined, upper_xyz=upper, lower_xyz=lower))
    assert "L007" in {f.code for f in found}


def test_cutting_even_seams_gives_even_girths() -> None:
    hull = made_hulls.barrel()
    ground = ground_of(hull)
    division = division_of(hull, PLAIN, 8, (), 0.4)
    fraction = np.linspace(0, 1, 9)[:, None] * np.ones((1, len(ground.u)))
    cut = cut_seams(ground, division, fraction, 0.35)
    assert np.abs(np.diff(cut.girth, axis=0) - 1000 * np.pi / 16).max() < 1e-3
    assert np.abs(cut.rise - 1000 * (1 - np.cos(np.pi / 32))).max() < 1e-3


def test_limits_follow_the_thickness() -> None:
    hull = made_hulls.barrel()
    limits = limits_of(LiningRules(), hull.particulars)
    assert limits == WidthLimits(210.5, 210.5, 84.2, 63.15, 6.0, 50.0)


def test_wishes_are_read_and_every_bad_cell_named() -> None:
    good = [
        Row({"wish": "width", "strake": "1", "frame": "24", "value": 228.6, "weight": 0.5}, "f", 2),
        Row({"wish": "recorded", "value": "0.25", "weight": None}, "f", 3),
        Row({"wish": "greatest", "value": "190 mm"}, "f", 4),
    ]
    wishes = read_wishes(good)
    assert [w.value for w in wishes] == [228.6, 0.25, 190.0]
    bad = [
        Row({"wish": "widht", "value": 1.0}, "lining.csv", 2, {"wish": "widht"}),
        Row({"wish": "fix", "strake": "3", "value": 900.0}, "lining.csv", 3),
        Row({"wish": "recorded", "value": "3"}, "lining.csv", 4),
        Row({"wish": "least", "value": "wide"}, "lining.csv", 5),
    ]
    with pytest.raises(InputError) as caught:
        read_wishes(bad)
    assert [p.row for p in caught.value.problems] == [2, 3, 4, 5]


def test_a_corner_left_by_the_stem_is_no_narrow_strake(launch: Hull, lined: Lining) -> None:
    there = np.isfinite(lined.width_mm)
    cut = there & ~lined.whole
    assert cut.any()  # the made launch has a raking stem
    assert not cut[:, [0, -1]].any()  # a hood end is always whole
    assert (lined.lower_girth_mm[1:][cut[1:]] == 0.0).all()
    full = lined.full_width_mm
    assert np.array_equal(np.isfinite(full), there & lined.whole)
    assert np.nanmin(lined.width_mm[1:]) < 0.8 * np.nanmin(full[1:])


def test_a_vessel_in_feet_reads_no_millimetres(launch: Hull, lined: Lining) -> None:
    feet = replace(launch, particulars=replace(launch.particulars, unit="ft-in-8ths"))
    wishes = [Wish("strakes", 11), Wish("fix", 1300.0, "7", "15")]
    lining = line_out(feet, LiningRules(), wishes)
    spoilt = [
        replace(lined, width_mm=1.5 * lined.width_mm),
        replace(lined, upper_girth_mm=lined.upper_girth_mm + 1.0),
        replace(lined, width_mm=0.4 * lined.width_mm),
    ]
    said = [
        *lining.reasons,
        *(b.gain for b in lining.binds),
        *(a.says for a in lining.alternatives),
    ]
    said += [f.says for f in lining.findings]
    said += [f.says for one in spoilt for f in check(feet, LiningRules(), wishes, one)]
    assert len(said) > 50
    assert not [text for text in said if " mm" in text or "per metre" in text]


def test_uppers_and_lowers_take_their_own_taper(launch: Hull, lined: Lining) -> None:
    middle = 1 + int(np.argmax(launch.frames.girth_mm))
    line = [
        Wish("master", float(lined.upper_girth_mm[9, c]), "10", f)
        for f in ("4", "15", "27")
        for c in [lined.columns.index(f)]
    ]
    wishes = [Wish("strakes", 17), *line, Wish("taper", 0.75, "uppers", "stem")]
    lining = line_out(launch, LiningRules(), wishes)

    def tapers(one: Lining, end: int) -> np.ndarray:
        return one.width_mm[:, end] / one.width_mm[:, middle]

    assert lining.feasible
    assert np.abs(tapers(lined, 0)[10:] - 0.75).min() > 0.08  # it was not so by itself
    assert np.abs(tapers(lining, 0)[10:] - 0.75).max() < 0.05
    assert np.abs(tapers(lining, -1) - tapers(lined, -1)).max() < 0.06  # only the stem was asked
    assert "master line above strake 10, given at 3 frames" in " ".join(lining.reasons)
    assert not [f for f in lining.findings if f.code == "L025"]
    assert not [f for f in check(launch, LiningRules(), wishes, lining) if f.code == "L007"]


def test_a_taper_that_is_missed_is_said(launch: Hull, lined: Lining) -> None:
    found = check(launch, LiningRules(), [Wish("taper", 0.3, "lowers")], lined)
    assert {f.code for f in found} == {"L012"}


def test_groups_may_be_named_in_limits(launch: Hull) -> None:
    wishes = [Wish("strakes", 18), Wish("greatest", 185.0, "bilge"), Wish("taper", 0.7, "topsides")]
    with pytest.raises(InputError, match="topsides"):
        line_out(launch, LiningRules(), wishes)
    lining = line_out(launch, LiningRules(), wishes[:2])
    bilge = [i for i, s in enumerate(lining.strakes) if s.called == "bilge"]
    assert lining.feasible
    assert np.nanmax(lining.width_mm[bilge]) <= 185.1
    assert np.nanmax(lining.width_mm) > 186.0


def test_many_limits_at_once_are_kept_exactly(launch: Hull) -> None:
    """So little room is left between least and greatest that most strakes lie on a limit."""
    wishes = [Wish("strakes", 18), Wish("greatest", 181.0), Wish("least", 150.0, "", "12", "24")]
    lining = line_out(launch, LiningRules(), wishes)
    assert lining.feasible
    assert faults(launch, LiningRules(), wishes, lining) == []


def test_strakes_wider_than_asked_by_their_proportion_are_named() -> None:
    hull = made_hulls.launch(24, 41)
    rules = LiningRules(greatest_width_mm=200.0)
    codes = {f.code: f for f in check(hull, rules, (), line_out(hull, rules))}
    assert "garboard" in codes["L014"].says
    level = LiningRules(greatest_width_mm=200.0, garboard=1.0, first_broad=1.0, second_broad=1.0)
    lined = line_out(hull, level)
    assert "L014" not in {f.code for f in check(hull, level, (), lined)}
    assert np.nanmax(lined.full_width_mm) <= 200.5


def test_a_fairer_division_that_was_not_taken_is_told_why() -> None:
    lined = line_out(made_hulls.tape())
    fairer = [
        a for a in lined.alternatives if a.cost < lined.cost and a.strakes > len(lined.strakes)
    ]
    told = [r for r in lined.reasons if "would run fairer" in r]
    assert bool(told) == bool(fairer)
    free = line_out(made_hulls.tape(), LiningRules(weight_strake=0.0))
    assert not [r for r in free.reasons if "would run fairer" in r]
