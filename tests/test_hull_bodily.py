"""A column out as a whole, readings kept against their fellows, and how both are named."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from made_forms import double_ender, ends, form, forms_of, frames, offsets, stations_of, vessel
from made_surveys import surveyed
from ribband.drawing.bench import doubts_about
from ribband.hull import Hull, HullRules, check, fit
from ribband.hull.bodily import _rise_at_end
from ribband.hull.patch import Patch
from ribband.hull.placing import _Search
from ribband.hull.sections import Points, kinds_of, moved
from ribband.hull.side import _begin, _unsure_finding
from ribband.numerics.bspline import even_basis, tensor_through
from ribband.survey import read_survey
from ribband.survey.check import check as check_survey
from ribband.survey.model import Cell, Decision, FrameMark, Survey, bodily_key

INCH = 25.4
UNIT = "ft-in-8ths"
KEY = "half-breadths of station 9"


@cache
def ketch() -> Survey:
    """34 ft, measured at 14 stations; her 20 frames bear the same numbers and stand elsewhere."""
    boat = double_ender(10400.0, 3200.0, 1500.0)
    fore, aft = boat.top()
    neat = lambda values: [76.2 * round(a / 76.2) for a in values]  # noqa: E731
    stations = neat(stations_of(boat, 14))
    heights, outs = neat(1950 * np.linspace(0, 1, 8)[1:]), neat([533.0, 1067.0])
    names = [str(k + 1) for k in range(14)]
    return read_survey(
        forms_of(
            vessel(boat, UNIT),
            frames(list(np.linspace(fore + 350, aft - 350, 20)), UNIT),
            offsets(boat, stations, heights, outs, UNIT, names),
            ends(boat, UNIT),
        )
    )


def column_out(survey: Survey, station: str, by: float, kind: str = "half-breadths") -> Survey:
    readings = tuple(
        moved(r, r.value_mm + by) if r.station == station and kind in kinds_of(r) else r
        for r in survey.readings
    )
    return replace(survey, readings=readings)


def one_out(survey: Survey, key: str, by: float) -> Survey:
    readings = (moved(r, r.value_mm + by) if r.key == key else r for r in survey.readings)
    return replace(survey, readings=tuple(readings))


def deciding(survey: Survey, key: str, decision: str, value: float | None = None) -> Survey:
    said = Decision(key, decision, value, Cell("doubts", 2, "decision"))  # type: ignore[arg-type]
    return replace(survey, decisions=(said,))


@cache
def bulged() -> tuple[Survey, Hull]:
    survey = column_out(ketch(), "9", 2 * INCH)
    return survey, fit(survey)


def test_a_column_two_inches_out_is_doubted_as_a_whole() -> None:
    survey, hull = bulged()
    (doubt,) = hull.doubts
    assert (doubt.key, doubt.place, doubt.whole) == (KEY, "station 9", True)
    assert doubt.off_mm == pytest.approx(2 * INCH, abs=3)
    assert doubt.explains == "two inches"
    assert (doubt.file, doubt.column) == ("offsets.csv", "9")
    finding = next(f for f in hull.findings if f.code == "H019")
    assert finding.where == "station 9"
    assert "as a whole" in finding.says
    assert [(f.code, f.where) for f in check(hull, survey)] == [("H009", "station 9")]


def points_of_both_sides(station: str, side: str, by: float) -> Survey:
    """A hull taken as points in space on each side, one station of one side out by so much."""
    made = [surveyed(18, points=12, noise=1.0, seed=k, side=s)[0]
            for k, s in enumerate(("port", "starboard"))]  # fmt: skip
    every = [r for one in made for r in one.readings if not r.line.endswith(" z")]
    readings = tuple(
        replace(
            r, measured="xyz", cell=Cell("points.csv", n, "y"),
            y_mm=r.y_mm + (by if (r.station, r.side) == (station, side) else 0.0),
        )
        for n, r in enumerate(every, 2)
    )  # fmt: skip
    marks = (replace(m, cell=Cell("frames.csv", n, "frame"))
             for n, m in enumerate(made[0].frames, 2))  # fmt: skip
    return replace(made[0], readings=readings, frames=tuple(marks))


def test_points_doubted_as_a_whole_are_of_a_side_and_stand_on_their_own_form() -> None:
    survey = points_of_both_sides("9", "starboard", 80.0)
    hull = fit(survey)
    (doubt,) = (d for d in hull.doubts if d.whole)
    assert doubt.key == "half-breadths of station 9 starboard"
    assert f"{doubt.where}, {doubt.line}" == "frame 9, half-breadths to starboard, all"
    first = next(r for r in survey.readings if (r.station, r.side) == ("9", "starboard"))
    assert (doubt.file, doubt.row, doubt.column) == ("points.csv", first.cell.row, "y")
    assert any("half-breadths to starboard" in f.says for f in hull.findings if f.code == "H019")


def test_the_shipwright_decides_on_a_column() -> None:
    survey, _ = bulged()
    mended = fit(deciding(survey, KEY, "correct", 2 * INCH))
    assert not mended.doubts
    good = fit(ketch())
    assert mended.frames.girth_mm == pytest.approx(good.frames.girth_mm, abs=1e-6)
    kept = deciding(survey, KEY, "keep")
    assert not [d for d in fit(kept).doubts if d.whole]
    left = fit(deciding(survey, KEY, "accept"))
    assert [(d.key, d.decision) for d in left.doubts] == [(KEY, "accept")]
    assert "S009" not in {f.code for f in check_survey(kept)}


def test_heights_out_as_a_whole_are_told_from_half_breadths() -> None:
    survey = surveyed(18, points=12, seed=3)[0]
    hull = fit(column_out(survey, "9", -40.0, "heights"))
    (doubt,) = [d for d in hull.doubts if d.whole]
    assert doubt.key == bodily_key("heights", "9")
    assert doubt.off_mm == pytest.approx(-40, abs=6)


@pytest.mark.parametrize(("one", "other"), [(50.0, 50.0), (40.0, -60.0)])
def test_two_columns_out_side_by_side_are_both_named_and_no_good_one(one, other) -> None:
    """Each by its own amount, where either alone would hold the surface where it is."""
    survey = surveyed(18, points=12, seed=3)[0]
    hull = fit(column_out(column_out(survey, "8", one), "9", other))
    found = {d.key: d.off_mm for d in hull.doubts if d.whole or d.line == "position"}
    assert list(found) == [bodily_key("half-breadths", s) for s in ("8", "9")]
    assert list(found.values()) == pytest.approx([one, other], abs=8)


def test_where_two_or_one_between_them_may_be_out_it_is_said_and_none_is_left_out() -> None:
    said = _unsure_finding("8", "9", "10")
    assert (said.code, said.where) == ("H023", "stations 8, 9")
    assert "8 and 9 together, or station 10 alone" in said.says
    survey = surveyed(18, points=12, seed=3)[0]
    readings = column_out(column_out(survey, "8", 50.0), "9", 50.0).readings
    rules = HullRules()

    def begin(kept):
        return _begin(kept, survey.ends, {}, rules, "mm")

    search = _Search(begin, readings, 3.0, begin(readings), {}, {})
    # tried in vain, two side by side make the one beside them, that would do as well, no fact
    search.tried = lambda group, whole, moved: _Vain(group)
    assert search.round([("8", "9"), ("10",)], [], 5) == 0
    assert search.placed().unsure == {("8", "9"): ("10",)}
    assert search.placed().bodily == ()


class _Vain:
    """A trial in which a pair is not borne out and a station alone is."""

    def __init__(self, group: tuple[str, ...]) -> None:
        self.explained = {} if len(group) == 2 else {group[0]: ()}


def test_a_good_table_is_not_suspected() -> None:
    assert not fit(ketch()).doubts


@pytest.mark.parametrize("line", ["waterline 3-9-0", "sheer half-breadth"])
def test_a_kept_reading_makes_none_of_its_fellows_doubtful(line: str) -> None:
    key = f"offsets: {line} at station 7"
    survey = one_out(ketch(), key, 2 * INCH)
    assert [d.key for d in fit(survey).doubts] == [key]
    hull = fit(deciding(survey, key, "keep"))
    assert not hull.doubts
    (note,) = [f for f in hull.findings if f.code == "H020"]
    assert note.where == "station 7"
    assert "you stand by" in note.says
    assert hull.rms_mm > 2 * fit(ketch()).rms_mm  # the surface is drawn to it


def test_nothing_is_doubted_within_what_the_unit_tells() -> None:
    """However small the tolerance: a sixteenth of an inch is as near as the table was written."""
    strict = HullRules(tolerance_mm=0.2)
    every = [abs(d.off_mm) for d in fit(ketch(), replace(strict, doubt_steps=0.0)).doubts]
    few = [abs(d.off_mm) for d in fit(ketch(), replace(strict, doubt_steps=2.0)).doubts]
    assert min(every) < 2 * INCH / 16
    assert few == [off for off in every if off > 2 * INCH / 16]
    assert HullRules().doubt_steps == 1.0


def test_a_reading_is_of_its_station_and_not_of_the_frame_of_that_name() -> None:
    hull = fit(one_out(ketch(), "offsets: waterline 3-9-0 at station 9", 2 * INCH))
    (doubt,) = hull.doubts
    assert doubt.where == "station 9"
    at = dict(zip(hull.frames.names, hull.frames.x_mm, strict=True))
    assert abs(at["9"] - doubt.x_mm) > 300
    about = {n: doubts_about(hull, _Crossing((n, str(int(n) + 1)))) for n in ("9", "12")}  # type: ignore[arg-type]
    assert not [s for s in about["9"] if "in doubt" in s]
    (said,) = [s for s in about["12"] if "in doubt" in s]
    assert said.startswith("Station 9: waterline 3-9-0")


class _Crossing:
    """A plank as `doubts_about` sees it: the frames it crosses, and a name."""

    strake, number = "4", 1

    def __init__(self, crossed: tuple[str, ...]) -> None:
        self.frames = crossed


def test_stations_that_bear_the_names_of_frames_elsewhere_are_said_once() -> None:
    (note,) = [f for f in ketch().findings if f.code == "S018"]
    assert "14 stations" in note.says
    same = surveyed(24, seed=1)[0]
    assert not [f for f in check_survey(same) if f.code == "S018"]
    marks = tuple(FrameMark(m.name, m.x_mm) for m in same.frames)
    assert not [f for f in check_survey(replace(same, stations=marks)) if f.code == "S018"]


def test_where_no_frames_are_listed_a_station_is_a_frame() -> None:
    survey = replace(ketch(), frames=())
    hull = fit(one_out(survey, "offsets: waterline 3-9-0 at station 9", 2 * INCH))
    assert [d.where for d in hull.doubts] == ["frame 9"]


def test_the_unit_is_asked_for_first_and_once() -> None:
    from ribband.survey.solve import problems_of  # noqa: PLC0415

    begun = form(
        "ends",
        ("end", "height", "position", "half_siding", "notes"),
        [("stem", "", "", "", "")] * 3 + [("stern", "2ft?x", "3-4-5", "", "")],
    )
    items = [("vessel", "Marl Heron", ""), ("unit", "", ""), ("planking", "", "")]
    blank = form("vessel", ("item", "value", "notes"), items)
    first, wrong = problems_of(forms_of(blank, begun))
    assert (first.file, first.row, first.column) == ("vessel.csv", 3, "value")
    assert first.wanted.startswith("the unit first")
    assert wrong.found == "2ft?x"  # it reads in no unit
    given = form("vessel", blank.header, [*items[:1], ("unit", UNIT, "")])
    after = problems_of(forms_of(given, begun))
    assert len(after) == 7
    assert after[0].example == "4-0-0"


def test_next_to_a_full_bow_what_the_hull_bows_out_by_is_no_slip_of_a_column() -> None:
    """An upright quarter of a drum of 2 m: from the end to a station 45 degrees round, c t / 8."""
    u, v = even_basis(40), even_basis(12)
    round_, up = np.meshgrid(u.greville * np.pi / 2, v.greville * 1000.0, indexing="ij")
    drum = np.stack([2000 * (1 - np.cos(round_)), 2000 * np.sin(round_), up], axis=-1)
    tensor = tensor_through(u, v, drum)
    kept = np.repeat([0.5, 0.6, 0.7, 0.8, 0.9], 3)
    heights = np.tile([0.3, 0.5, 0.7], 5)
    patch = Patch(tensor, kept, heights, 1.0, 1.0)
    first = ketch().readings[0]
    stations = tuple(replace(first, station=str(k)) for k in np.repeat(range(5), 3))
    xyz = tensor.at(kept, heights)
    points = Points(stations, xyz, np.zeros_like(xyz), np.ones(len(xyz)))
    turn = np.pi / 4
    chord = 2 * 2000 * np.sin(turn / 2)
    x = float(xyz[0, 0]) - 200.0
    assert _rise_at_end(points, patch, x) == pytest.approx(chord * turn / 8, rel=1e-3)  # 150 mm
    assert _rise_at_end(points, patch, float(xyz[6, 0]) + 1.0) == 0.0
