"""Hulls and forms out of the common run, tried from the forms to the fair hull.

Truth is the formula the forms were worked out from, so girths are compared with it.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from made_forms import (
    Boat,
    changed,
    double_ender,
    ends,
    form,
    forms_of,
    frames,
    transom_boat,
    vessel,
    whole,
)
from ribband.app.plan.inputs import look_over
from ribband.errors import InputError
from ribband.hull import Hull, check, fit
from ribband.survey import read_survey
from ribband.survey.rows import Forms

GIRTHS = ("frame", "position", "side", "girth", "notes")
POINTS = ("frame", "side", "label", "x", "y", "z", "notes")


def faired(forms: Forms) -> Hull:
    """The hull, found sound by the checker."""
    survey = read_survey(forms)
    hull = fit(survey)
    faults = [f for f in check(hull, survey) if f.severity.name == "FAULT"]
    assert not faults
    return hull


def furthest(hull: Hull, boat: Boat) -> float:
    """How far a girth is from the truth at the worst, as a share of the greatest."""
    true = np.array([boat.girth(m.x_mm) for m in hull.marks])
    return float(np.abs(hull.frames.girth_mm - true).max() / true.max())


def says(findings, code: str) -> str:
    return " ".join(f"{f.where} {f.says}" for f in findings if f.code == code)


def row_of(forms: Forms, line: str, at: str = "") -> int:
    return next(k for k, r in enumerate(forms["offsets"].rows) if r[:2] == (line, at))


def test_a_sternpost_is_read_like_a_stem() -> None:
    boat = double_ender()
    hull = faired(whole(boat))
    assert furthest(hull, boat) < 0.002
    assert hull.frames.starts[0] == "stem"
    assert hull.frames.starts[-1] == "stern"
    assert "8550 mm, height 0 mm" in says(hull.findings, "H012")


def test_stations_on_a_raking_transom_begin_on_its_edge() -> None:
    boat = transom_boat()
    hull = faired(whole(boat, transom=True, unit="ft-in-8ths", spacing=304.8))
    assert furthest(hull, boat) < 0.003
    assert hull.frames.starts[-1] == "stern"
    assert not hull.doubts


def _tumblehome(h: float, t: float) -> float:
    plan = 1 - abs(2 * t - 1) ** 2.6
    side = (1 - (1 - h) ** 2.4) ** (0.6 + 0.35 * (1 - plan))
    return plan * side * (1 - 0.5 * max(h - 0.5, 0) ** 2)


def _hollow(h: float, t: float) -> float:
    return (1 - abs(2 * t - 1) ** 2.6) * min(1.06 * h**2 / (h**2 + 0.06), 1.0)


@pytest.mark.parametrize("section", [_tumblehome, _hollow])
def test_tumblehome_and_hollow_garboards(section: Callable[[float, float], float]) -> None:
    boat = replace(double_ender(), section=section)
    assert furthest(faired(whole(boat)), boat) < 0.006


def test_a_stubby_hull_and_a_hundred_and_forty_frames() -> None:
    stubby = double_ender(length=4500.0, beam=2500.0, depth=1200.0)
    assert furthest(faired(whole(stubby, spacing=300.0)), stubby) < 0.004
    boat = double_ender()
    many = faired(whole(boat, spacing=62.0))
    assert len(many.marks) > 140
    assert furthest(many, boat) < 0.002


def test_five_stations_and_four_waterlines_make_a_fair_hull() -> None:
    boat = double_ender()
    hull = faired(whole(boat, stations=5, waterlines=4, buttocks=0))
    assert furthest(hull, boat) < 0.006


def test_readings_above_the_sheer_are_left_out_and_said() -> None:
    boat = double_ender()
    forms = whole(boat)
    table = forms["offsets"]
    top = max(k for k, r in enumerate(table.rows) if r[0] == "waterline")
    for station in ("5", "6", "7", "8"):
        table = changed(table, top, station, "1395")
    hull = faired({**forms, "offsets": table})
    assert "4 readings lie beyond the rabbet or the sheer" in says(hull.findings, "H014")
    assert furthest(hull, boat) < 0.002


def test_a_nought_for_a_half_breadth_of_the_sheer_is_doubted() -> None:
    boat = double_ender()
    forms = whole(boat)
    row = row_of(forms, "sheer half-breadth")
    hull = faired({**forms, "offsets": changed(forms["offsets"], row, "6", "0")})
    assert "offsets: sheer half-breadth at station 6" in {d.key for d in hull.doubts}
    assert furthest(hull, boat) < 0.002


def test_a_blank_station_and_missing_sheer_heights_are_said_and_bridged() -> None:
    boat = double_ender()
    forms = whole(boat)
    table = forms["offsets"]
    for row in range(1, len(table.rows)):
        table = changed(table, row, "6", "")
    table = changed(table, row_of(forms, "sheer height"), "9", "")
    survey = read_survey({**forms, "offsets": table})
    assert "station 6" in says(survey.findings, "S002")
    assert "station 9" in says(survey.findings, "S011")
    assert furthest(fit(survey), boat) < 0.002


def test_frames_named_with_words_doubled_uneven_and_beyond() -> None:
    boat = double_ender()
    names = ["fore peak", "knee", "A", "B", "C", "D", "midship bend", "F", "counter"]
    x = [-400.0, 300.0, 900.0, 1100.0, 2500.0, 2560.0, 4700.0, 7000.0, 9500.0]
    forms = {**whole(boat), "frames": frames(x, names=names)}
    hull = faired(forms)
    assert hull.frames.names == ("knee", "A", "B", "C", "D", "midship bend", "F")
    assert "fore peak, counter" in says(hull.findings, "H015")
    assert furthest(hull, boat) < 0.002


def _taped(boat: Boat, count: int, side: str = "") -> list[tuple[str, ...]]:
    return [
        (str(k + 1), f"{x:.0f}", side, f"{boat.girth(x):.0f}", "")
        for k, x in enumerate(np.linspace(400, 8400, count))
    ]


@pytest.mark.parametrize("count", [6, 24, 60])
def test_a_turn_of_the_girths_at_the_forefoot_is_no_blunder(count: int) -> None:
    boat = double_ender()
    hull = fit(read_survey(forms_of(vessel(boat), form("girths", GIRTHS, _taped(boat, count)))))
    assert not hull.doubts
    assert furthest(hull, boat) < 0.006


def test_a_girth_a_foot_wrong_is_named_between_gaps_and_hood_ends() -> None:
    boat = double_ender()
    rows = _taped(boat, 30)
    rows[12] = (*rows[12][:3], "", "")
    rows[20] = (*rows[20][:3], str(int(rows[20][3]) + 305), "")
    rows = [("stem", "0", "", "1250", ""), *rows, ("stern", "8900", "", "1500", "")]
    hull = fit(read_survey(forms_of(vessel(boat), form("girths", GIRTHS, rows))))
    assert [d.frame for d in hull.doubts] == ["21"]
    assert (hull.lines.girth_mm[0], hull.lines.girth_mm[-1]) == (1250.0, 1500.0)
    assert furthest(hull, boat) < 0.006


@pytest.mark.parametrize(
    ("frames_taped", "hood_ends", "refused"),
    [(3, True, True), (4, False, True), (4, True, True), (5, False, False), (5, True, False)],
)
def test_too_few_girths_are_refused_at_entry_and_by_the_fairing(
    frames_taped: int, hood_ends: bool, refused: bool
) -> None:
    """Girths of stem and stern run along the rabbet: they are no frames, and do not count."""
    boat = double_ender()
    rows = _taped(boat, frames_taped)
    if hood_ends:
        rows = [("stem", "0", "", "1250", ""), *rows, ("stern", "8900", "", "1500", "")]
    forms = forms_of(vessel(boat), form("girths", GIRTHS, rows))
    if not refused:
        assert len(fit(read_survey(forms)).marks) == frames_taped
        return
    with pytest.raises(InputError, match=f"girths at {frames_taped} frames.*five frames") as wrong:
        fit(read_survey(forms))
    assert [(p.file, p.row) for p in wrong.value.problems] == [("girths.csv", len(rows) + 1)]
    with pytest.raises(InputError) as entered:
        look_over(forms)
    assert entered.value.problems == wrong.value.problems


def test_a_taped_side_with_too_few_girths_is_named() -> None:
    boat = double_ender()
    port = [(f, x, "port", girth, note) for f, x, _, girth, note in _taped(boat, 8)]
    few = [(f, x, "starboard", girth, note) for f, x, _, girth, note in port[:4]]
    with pytest.raises(InputError, match="4 frames on starboard"):
        fit(read_survey(forms_of(vessel(boat), form("girths", GIRTHS, port + few))))


def _points(boat: Boat, side: str = "", wider: dict[int, float] | None = None):
    rows = []
    for k, x in enumerate(np.linspace(1000, 8400, 16).round()):
        for j, share in enumerate(np.linspace(0, 1, 14)):
            label = {0: "rabbet", 13: "sheer"}.get(j, "")
            _, y, z = boat.point(x, share)
            y += (wider or {}).get(k, 0.0) * (label != "rabbet")
            rows.append((f"P{k}", side, label, f"{x:.1f}", f"{y:.1f}", f"{z:.1f}", ""))
    return rows


def test_sides_that_differ_are_said_at_every_frame() -> None:
    boat = double_ender()
    both = _points(boat, "port") + _points(boat, "starboard", {6: 20.0, 7: 20.0, 8: 20.0})
    at = frames(list(np.arange(1200.0, 8300.0, 400.0)))
    hull = fit(read_survey(forms_of(vessel(boat), at, form("points", POINTS, both), ends(boat))))
    assert len(hull.sides) == len(hull.marks)
    every = says(hull.findings, "H017")
    assert every.count(";") == len(hull.marks) - 1
    less, gap = re.search(r"; 9 -(\d+) mm, (\d+) mm;", every).groups()
    assert int(less) == pytest.approx(22, abs=2), every
    assert int(gap) == pytest.approx(21, abs=2)
    assert "8, 9, 10" in says(hull.findings, "H016")


def test_points_in_any_order_make_the_same_hull() -> None:
    boat = double_ender()
    rows = _points(boat)
    at = frames(list(np.arange(1200.0, 8300.0, 400.0)))
    mixed = [rows[k] for k in np.random.default_rng(1).permutation(len(rows))]
    one, two = (
        fit(read_survey(forms_of(vessel(boat), at, form("points", POINTS, r), ends(boat))))
        for r in (rows, mixed)
    )
    assert np.allclose(one.frames.girth_mm, two.frames.girth_mm, atol=0.01)
    assert furthest(one, boat) < 0.002


def _slipped(rows: list[list[str]], kind: str) -> str:
    """Type a row of the table into the wrong place; gives what is to be said of it."""
    line = {tuple(r[:2]): k for k, r in enumerate(rows)}
    if kind == "along":
        row = rows[line["waterline", "610"]]
        row[2:-1] = ["", *row[2:-2]]
        return "waterline 610 looks as if every figure were typed one station too far aft"
    if kind == "exchanged":
        a, b = rows[line["waterline", "410"]], rows[line["waterline", "810"]]
        a[2:], b[2:] = b[2:], a[2:]
        return "waterline 410 looks exchanged with waterline 810"
    if kind == "sheer":
        a, b = rows[line["sheer height", ""]], rows[line["sheer half-breadth", ""]]
        a[2:], b[2:] = b[2:], a[2:]
        return "sheer looks as if height and half-breadth were exchanged"
    rows[line["waterline", "610"]][0] = "buttock"
    return "buttock 610 looks like a waterline"


@pytest.mark.parametrize("kind", ["along", "exchanged", "sheer", "misnamed"])
def test_a_row_typed_into_the_wrong_place_is_named(kind: str) -> None:
    forms = whole(double_ender())
    rows = [list(r) for r in forms["offsets"].rows]
    wanted = _slipped(rows, kind)
    survey = read_survey({**forms, "offsets": form("offsets", forms["offsets"].header, rows)})
    assert wanted in says(survey.findings, "S017")


@pytest.mark.parametrize("boat", [double_ender(), transom_boat()])
def test_a_table_typed_right_is_not_suspected(boat: Boat) -> None:
    survey = read_survey(whole(boat, transom=boat.stern(0) < 7000))
    assert not says(survey.findings, "S017")


def test_a_vessel_in_feet_hears_of_no_millimetres() -> None:
    boat = double_ender()
    forms = whole(boat, unit="ft")
    table = forms["offsets"]
    table = changed(table, row_of(forms, "waterline", table.rows[8][1]), "5", "2.10")
    survey = read_survey({**forms, "offsets": table})
    hull = fit(survey)
    found = (*survey.findings, *hull.findings, *check(hull, survey))
    assert found
    assert not [f for f in found if " mm" in f.says + f.why]
