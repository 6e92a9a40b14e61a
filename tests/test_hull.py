"""The fair hull: how near it comes to the truth, what it doubts, what it says."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import ribband
from made_hulls import FormulaSurface, by_girth, launch, launch_shape
from made_surveys import surveyed, taped
from ribband.errors import InputError
from ribband.hull import Hull, HullRules, check, fit
from ribband.hull.check import distances
from ribband.hull.sections import moved
from ribband.survey import read_forms, read_survey
from ribband.survey.model import Cell, Decision


def true_error(hull: Hull, shape=None, count: int = 1500) -> np.ndarray:
    """How far points of the true hull lie from the fair one."""
    rng = np.random.default_rng(5)
    true = FormulaSurface(shape or by_girth(launch_shape()))
    return np.abs(distances(hull.surface, true.point(rng.random(count), rng.random(count))))


def codes(findings) -> set[str]:
    return {f.code for f in findings}


@pytest.fixture(scope="module")
def noisy() -> tuple[Hull, object, dict[str, float]]:
    survey, bad = surveyed(60, blunders=15, seed=2)
    return fit(survey), survey, bad


@pytest.fixture(scope="module")
def exact() -> tuple[Hull, object]:
    survey, _ = surveyed(60, noise=0.0)
    return fit(survey), survey


@pytest.mark.parametrize(("frames", "most"), [(24, 2.0), (60, 1.3)])
def test_three_mm_of_error_leaves_less_on_the_hull(frames: int, most: float) -> None:
    errors = [true_error(fit(surveyed(frames, seed=s)[0]), count=600) for s in (3, 4)]
    assert np.sqrt(np.mean(np.square(errors))) < most


def test_exact_readings_give_the_hull_back(exact) -> None:
    hull, survey = exact
    assert np.sqrt(np.mean(true_error(hull) ** 2)) < 0.3
    assert hull.doubts == ()
    assert check(hull, survey) == ()
    assert hull.has_stem
    assert hull.has_stern


def test_girths_of_a_made_hull(exact) -> None:
    hull, _ = exact
    true = launch(60).frames
    assert hull.frames.names == true.names
    assert hull.frames.starts == true.starts
    assert np.abs(hull.frames.girth_mm - true.girth_mm).max() < 0.6


def test_most_blunders_are_named_and_few_good_readings(noisy) -> None:
    hull, _, bad = noisy
    named = {d.key for d in hull.doubts}
    assert len(named & set(bad)) >= 0.7 * len(bad)
    assert len(named - set(bad)) <= 3
    for doubt in hull.doubts:
        if doubt.key in bad:
            assert doubt.off_mm == pytest.approx(bad[doubt.key], abs=13)
            assert doubt.fair_mm == pytest.approx(doubt.value_mm - doubt.off_mm)


def test_the_check_agrees_with_a_noisy_hull(noisy) -> None:
    hull, survey, _ = noisy
    assert codes(check(hull, survey)) == {"H009"}


def test_the_check_catches_what_is_wrong(exact) -> None:
    hull, survey = exact
    longer = replace(hull.frames, girth_mm=hull.frames.girth_mm * 1.001)
    assert "H004" in codes(check(replace(hull, frames=longer), survey))
    shifted = replace(hull.frames, x_mm=hull.frames.x_mm + 5.0)
    assert "H005" in codes(check(replace(hull, frames=shifted), survey))
    broken = replace(hull.lines, girth_mm=hull.lines.girth_mm * np.nan)
    assert "H001" in codes(check(replace(hull, lines=broken), survey))
    short = replace(hull.frames, normal=hull.frames.normal * 0.9)
    assert "H002" in codes(check(replace(hull, frames=short), survey))
    row = next(i for i, r in enumerate(survey.readings) if r.role == "surface")
    wrong = list(survey.readings)
    wrong[row] = moved(wrong[row], wrong[row].value_mm + 80.0)
    assert "H003" in codes(check(hull, replace(survey, readings=tuple(wrong))))


def test_lines_are_even_and_smooth_to_the_ends(noisy) -> None:
    hull, _, _ = noisy
    for lines in (hull.lines, hull.frames):
        assert np.isfinite(lines.curvature).all()
        step = np.linalg.norm(np.diff(lines.xyz, axis=1), axis=-1)
        assert np.abs(step / step.mean(axis=1, keepdims=True) - 1).max() < 0.02
        assert np.all(np.abs(np.linalg.norm(lines.normal, axis=-1) - 1) < 1e-9)
    assert np.all(hull.frames.normal[..., 1] > -0.2)


def test_a_blunder_of_a_foot_is_explained() -> None:
    survey, _ = surveyed(40, seed=1)
    row = next(i for i, r in enumerate(survey.readings) if r.key == "line 9 at 20 both")
    good = survey.readings[row]
    readings = list(survey.readings)
    readings[row] = moved(good, good.value_mm + 304.8)
    unit = replace(survey.particulars, unit="ft-in-8ths")
    hull = fit(replace(survey, particulars=unit, readings=tuple(readings)))
    doubt = next(d for d in hull.doubts if d.key == good.key)
    assert doubt.explains == "a foot"
    assert doubt.off_mm == pytest.approx(304.8, abs=10)


@pytest.mark.parametrize(
    ("decision", "value", "stays"), [("accept", None, True), ("keep", None, False)]
)
def test_the_shipwright_decides(decision: str, value: float | None, stays: bool) -> None:
    survey, bad = surveyed(40, seed=6, blunders=1, size=40.0)
    (key,) = bad
    said = Decision(key, decision, value, Cell("doubts", 2, "decision"))
    hull = fit(replace(survey, decisions=(said,)))
    doubts = {d.key: d.decision for d in hull.doubts}
    assert (key in doubts) is stays
    if stays:
        assert doubts[key] == decision


def test_a_corrected_reading_is_used() -> None:
    survey, bad = surveyed(40, seed=6, blunders=1, size=40.0)
    (key,) = bad
    right = next(r for r in survey.readings if r.key == key).value_mm - bad[key]
    said = Decision(key, "correct", right, Cell("doubts", 2, "decision"))
    survey = replace(survey, decisions=(said,))
    hull = fit(survey)
    assert key not in {d.key for d in hull.doubts}
    assert "H003" not in codes(check(hull, survey))


def test_no_stem_no_stern_says_so() -> None:
    survey, _ = surveyed(30, noise=1.0, ends=False, x=(900.0, 16000.0))
    hull = fit(survey)
    assert not hull.has_stem
    assert not hull.has_stern
    assert [f.where for f in hull.findings if f.code == "H010"] == ["stem", "stern"]
    assert hull.lines.xyz[0, :, 0] == pytest.approx(900.0)
    assert set(hull.frames.starts) == {"keel"}


def test_planking_is_deducted_square_to_the_surface() -> None:
    over, _ = surveyed(60, noise=0.0, over_mm=38.0, ends=False, x=(900.0, 16000.0))
    hull = fit(over)
    inner = (hull.frames.x_mm > 1500) & (hull.frames.x_mm < 15500)
    true = FormulaSurface(by_girth(launch_shape()))
    # the formula's keel has no normal of its own (its curvature there is infinite): start above
    points = hull.frames.xyz[inner][:, 4::12].reshape(-1, 3)
    assert np.abs(distances(true, points)).max() < 0.2


def test_two_sides_are_compared_and_the_mean_is_planned_on() -> None:
    port, _ = surveyed(40, noise=0.0, side="port")
    wide = by_girth(launch_shape(beam=4240.0))
    starboard, _ = surveyed(40, noise=0.0, side="starboard", shape=wide)
    hull = fit(replace(port, readings=port.readings + starboard.readings))
    assert len(hull.sides) == len(hull.frames.names)
    middle = hull.sides[20]
    assert middle.greatest_mm == pytest.approx(15.8, abs=1.0)  # 20 mm of half-beam, tapered
    assert middle.girth_mm < 0
    half = true_error(hull, by_girth(launch_shape(beam=4220.0)), 400)
    assert np.sqrt(np.mean(half**2)) < 1.0
    assert "H016" in codes(hull.findings)


def test_too_little_is_said_all_at_once() -> None:
    survey, _ = surveyed(3, points=2)
    with pytest.raises(InputError) as caught:
        fit(survey)
    assert len(caught.value.problems) >= 2


def test_the_same_survey_gives_the_same_hull() -> None:
    survey, _ = surveyed(24)
    first, again = fit(survey), fit(survey)
    assert np.array_equal(first.lines.xyz, again.lines.xyz)


def test_a_tape_alone_gives_girth_lines() -> None:
    hull = fit(taped(noise=2.0))
    assert not hull.in_space
    assert hull.doubts == ()
    assert hull.lines.girth_mm == pytest.approx(
        np.array([g.girth_mm for g in taped().girths]), abs=4.0
    )
    assert codes(hull.findings) == {"H010"}
    assert check(hull, taped()) == ()


def test_a_misread_inch_on_the_tape_is_named() -> None:
    survey = taped(noise=1.0, seed=3)
    girths = list(survey.girths)
    girths[12] = replace(girths[12], girth_mm=girths[12].girth_mm - 25.4)
    unit = replace(survey.particulars, unit="ft-in-8ths")
    hull = fit(replace(survey, particulars=unit, girths=tuple(girths)))
    (doubt,) = hull.doubts
    assert doubt.frame == "13"
    assert doubt.off_mm == pytest.approx(-25.4, abs=4)
    assert doubt.explains == "an inch"
    assert hull.frames.basis[12] == "faired"
    kept = Decision(doubt.key, "keep", None, Cell("doubts", 2, "decision"))
    again = fit(replace(survey, girths=tuple(girths), decisions=(kept,)))
    assert doubt.key not in {d.key for d in again.doubts}


def test_hood_ends_on_the_tape() -> None:
    survey = taped()
    first, last = survey.girths[0], survey.girths[-1]
    girths = (replace(first, frame="stem"), *survey.girths[1:-1], replace(last, frame="stern"))
    marks = survey.frames[1:-1]
    hull = fit(replace(survey, girths=girths, frames=marks))
    assert hull.has_stem
    assert hull.has_stern
    assert hull.lines.names[0] == "stem"
    assert len(hull.lines.names) == len(hull.frames.names) + 2


def test_rules_are_kept_within_their_range() -> None:
    assert HullRules().tolerance_mm == 3.0


EXAMPLES = Path(ribband.__file__).parent / "data" / "examples"


def test_the_packet_of_1825_is_fair_and_stays_within_her_stem() -> None:
    """Offsets: H. I. Chapelle, The Pioneer Steamship Savannah, USNM Bulletin 228, 1961, fig. 5."""
    survey = read_survey(read_forms(EXAMPLES / "packet_1825"))
    hull = fit(survey)
    assert hull.has_stem
    assert not hull.has_stern
    head = max(p.z_mm for p in survey.ends if p.end == "stem")
    stem_x = min(p.x_mm for p in survey.ends if p.end == "stem" and p.z_mm == head)
    assert hull.lines.xyz[..., 0].min() > stem_x - 2.0
    beam = 2 * hull.frames.xyz[..., 1].max() / 304.8
    assert beam == pytest.approx(27.0, abs=0.3)  # moulded beam 27 ft; +-0.15 ft a reading
    assert not {"H001", "H002", "H003", "H004", "H005", "H007", "H008"} & codes(check(hull, survey))


def test_the_blunders_of_the_demo_are_named() -> None:
    survey = read_survey(read_forms(EXAMPLES / "marl_heron"))
    said = [d.explains for d in fit(survey).doubts]
    assert "a foot" in said
    assert "an inch" in said
    assert any(text.startswith("digits swapped") for text in said)
    assert len(said) <= 5
