"""Stations at a wrong position, columns exchanged, wrong points of the ends: named, and only so."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import pytest

from made_surveys import surveyed
from ribband.hull import Hull, check, fit
from ribband.survey import read_forms, read_survey
from ribband.survey.check import check as check_survey
from ribband.survey.model import Cell, Decision, Survey

FOOT = 304.8


def example(name: str) -> Survey:
    return read_survey(read_forms(Path(str(files("ribband") / "data" / "examples" / name))))


def at(survey: Survey, **places: float) -> Survey:
    """Give the survey with stations (named `s7`) set down elsewhere, in mm."""
    moved = {name[1:]: x for name, x in places.items()}
    readings = (replace(r, x_mm=moved.get(r.station, r.x_mm)) for r in survey.readings)
    return replace(survey, readings=tuple(readings))


def place(survey: Survey, station: str) -> float:
    return next(r.x_mm for r in survey.readings if r.station == station)


def exchanged(survey: Survey, a: str, b: str) -> Survey:
    return at(survey, **{f"s{a}": place(survey, b), f"s{b}": place(survey, a)})


def positions(hull: Hull) -> dict[str, tuple[float, str]]:
    return {d.frame: (d.off_mm, d.explains) for d in hull.doubts if d.line == "position"}


def said(key: str, decision: str, value: float | None = None) -> Decision:
    return Decision(key, decision, value, Cell("doubts", 2, "decision"))


@pytest.fixture(scope="module")
def good() -> Survey:
    return surveyed(24, seed=2, blunders=3)[0]


@pytest.mark.parametrize("name", ["marl_heron", "packet_1825", "launch_1905"])
def test_good_tables_are_not_suspected(name: str) -> None:
    hull = fit(example(name))
    assert not [d for d in hull.doubts if d.line == "position" or d.frame in {"stem", "stern"}]
    assert not [f for f in hull.findings if f.code == "H018"]


@pytest.mark.parametrize("frames", [9, 14, 24, 40])
def test_good_made_hulls_are_not_suspected(frames: int) -> None:
    for seed in (2, 7):
        hull = fit(surveyed(frames, seed=seed, blunders=frames // 8)[0])
        assert not [d for d in hull.doubts if d.line == "position" or d.frame in {"stem", "stern"}]


@pytest.mark.parametrize(("station", "by"), [("2", -FOOT), ("5", FOOT), ("9", -FOOT), ("20", FOOT)])
def test_a_station_a_foot_out_is_named(good: Survey, station: str, by: float) -> None:
    wrong = at(good, **{f"s{station}": place(good, station) + by})
    hull = fit(replace(wrong, particulars=replace(wrong.particulars, unit="ft-in-8ths")))
    found = positions(hull)
    assert list(found) == [station]
    assert found[station][0] == pytest.approx(by, abs=30)
    assert found[station][1] == "a foot"
    finding = next(f for f in hull.findings if f.code == "H018")
    assert finding.where == f"station {station}"
    assert ("further forward" if by > 0 else "further aft") in finding.says
    assert hull.rms_mm < 3.0
    assert {f.code for f in check(hull, wrong)} <= {"H009"}


def test_the_station_of_a_real_table_is_named_where_it_was_typed() -> None:
    survey = example("marl_heron")
    hull = fit(at(survey, sF=place(survey, "F") + FOOT))
    (doubt,) = [d for d in hull.doubts if d.line == "position"]
    assert (doubt.frame, doubt.explains, doubt.column) == ("F", "a foot", "F")
    assert doubt.off_mm == pytest.approx(FOOT, abs=30)
    assert doubt.file.startswith("offsets")
    assert doubt.row > 1


@pytest.mark.parametrize(("a", "b"), [("4", "5"), ("7", "9"), ("15", "16")])
def test_two_columns_exchanged_are_named(good: Survey, a: str, b: str) -> None:
    hull = fit(exchanged(good, a, b))
    found = positions(hull)
    assert {station: says for station, (_, says) in found.items()} == {
        a: f"exchanged with station {b}",
        b: f"exchanged with station {a}",
    }
    assert found[a][0] == pytest.approx(place(good, b) - place(good, a))
    assert "look exchanged" in next(f for f in hull.findings if f.code == "H018").says


def test_the_shipwright_decides_on_a_position(good: Survey) -> None:
    right = place(good, "9")
    wrong = at(good, s9=right + FOOT)
    key = "position of station 9"
    mended = fit(replace(wrong, decisions=(said(key, "correct", right),)))
    assert positions(mended) == {}
    assert mended.rms_mm == pytest.approx(fit(good).rms_mm, abs=0.01)
    kept = fit(replace(wrong, decisions=(said(key, "keep"),)))
    assert positions(kept) == {}
    assert kept.rms_mm > 1.5 * mended.rms_mm
    accepted = fit(replace(wrong, decisions=(said(key, "accept"),)))
    (doubt,) = [d for d in accepted.doubts if d.line == "position"]
    assert doubt.decision == "accept"
    told = check_survey(replace(wrong, decisions=(said(key, "keep"),)))
    assert "S009" not in {f.code for f in told}


@pytest.mark.parametrize("row", [3, 6, 9])
@pytest.mark.parametrize("end", ["stem", "stern"])
def test_a_wrong_point_of_an_end_is_named(good: Survey, end: str, row: int) -> None:
    ends = list(good.ends)
    i = [k for k, p in enumerate(ends) if p.end == end][row]
    ends[i] = replace(ends[i], x_mm=ends[i].x_mm + 76.2)
    wrong = replace(good, ends=tuple(ends))
    (doubt,) = [d for d in fit(wrong).doubts if d.frame in {"stem", "stern"}]
    assert doubt.key == ends[i].key
    assert doubt.off_mm == pytest.approx(76.2, abs=8)
    assert doubt.fair_mm == pytest.approx(good.ends[i].x_mm, abs=8)
    kept = fit(replace(wrong, decisions=(said(doubt.key, "keep"),)))
    assert not [d for d in kept.doubts if d.key == doubt.key]
    mended = replace(wrong, decisions=(said(doubt.key, "correct", good.ends[i].x_mm),))
    assert not [d for d in fit(mended).doubts if d.key == doubt.key]


def test_a_stem_head_a_foot_out_stops_nothing() -> None:
    """Its run then has two points only above the knuckle it makes."""
    survey = example("marl_heron")
    head = max((p for p in survey.ends if p.end == "stem"), key=lambda p: p.z_mm)
    ends = tuple(replace(p, x_mm=p.x_mm + FOOT) if p is head else p for p in survey.ends)
    assert fit(replace(survey, ends=ends)).has_stem
