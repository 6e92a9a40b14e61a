"""Forms into a survey: places, readings, gaps, sides and old planking."""

from __future__ import annotations

import math
from pathlib import Path

import pytest

from ribband.errors import InputError
from ribband.findings import Severity
from ribband.survey import Form, read_forms, read_survey, typed, unit_of
from ribband.survey.model import Cell, OldButt, OldFastening, Survey

FOOT = 304.8
VESSEL = "item,value\nvessel,Marl Heron\nunit,ft-in-8ths\nplanking,0-1-4\nrough,0-1-6\n"
FRAMES = "frame,position,sided,moulded,double\n1,2-0-0,0-3-4,0-4-4,no\n2,4-0-0,,,yes\n3,6-0-0,,,\n"
OFFSETS = (
    "line,at,A,B,C,notes\nposition,,2-0-0,6-0-0,10-0-0,\nrabbet height,,0-6-0,0-5-0,0-4-0,\n"
    "rabbet half-breadth,,0-2-4,,0-2-4,\nsheer height,,5-0-0,4-9-0,4-7-0,\n"
    "sheer half-breadth,,2-0-0,2-9-0,2-6-0?,\nwaterline,2-0-0,1-0-0,,1-9-0,by tape\n"
    "buttock,1-0-0,2-0-0,1-0-0,-,\ndiagonal,3-6-0 @ 30,1-6-0,2-0-0,1-9-0,\n"
)


def survey_of(folder: Path, **forms: str) -> Survey:
    for name, text in forms.items():
        (folder / f"{name}.csv").write_text(text, "utf-8")
    return read_survey(read_forms(folder))


def codes(survey: Survey) -> list[str]:
    return [finding.code for finding in survey.findings]


def test_girths_only(tmp_path: Path) -> None:
    survey = survey_of(
        tmp_path, vessel=VESSEL, frames=FRAMES, girths="frame,girth\n2,5-6-0\n1,5-0-0\n3,5-9-1+\n"
    )
    assert survey.girths_only
    assert [frame.name for frame in survey.frames] == ["1", "2", "3"]
    assert [girth.key for girth in survey.girths] == [f"girths: frame {n}" for n in (2, 1, 3)]
    girth = survey.girths[2]
    assert girth.x_mm == pytest.approx(6 * FOOT)
    assert girth.girth_mm == pytest.approx(5 * FOOT + (9 + 3 / 16) * 25.4)
    assert (girth.side, girth.as_typed) == ("both", "5-9-1+")
    assert girth.cell == Cell("girths.csv", 4, "girth")


def test_particulars(tmp_path: Path) -> None:
    text = VESSEL + "measured to,Planking\nyard,Ebbmere Slip\nbeam,13-9-0\nballast,none yet\n"
    survey = survey_of(tmp_path, vessel=text, frames=FRAMES, girths="frame,girth\n1,5-0-0\n")
    vessel = survey.particulars
    assert (vessel.vessel, vessel.yard, vessel.unit) == ("Marl Heron", "Ebbmere Slip", "ft-in-8ths")
    assert vessel.planking_mm == pytest.approx(38.1)
    assert vessel.rough_mm == pytest.approx(44.45)
    assert vessel.measured_to == "planking"
    assert vessel.more == (("beam", "13-9-0"), ("ballast", "none yet"))


def test_planking_thicker_than_the_rough_stuff_is_refused_at_both_cells(tmp_path: Path) -> None:
    girths = "frame,girth\n1,5-0-0\n"
    text = VESSEL.replace("planking,0-1-4", "planking,0-2-4").replace("0-1-6", "0-2-0")
    with pytest.raises(InputError) as caught:
        survey_of(tmp_path, vessel=text, frames=FRAMES, girths=girths)
    dressed, rough = caught.value.problems
    assert (dressed.file, dressed.row, dressed.found) == ("vessel.csv", 4, "0-2-4")
    assert (rough.file, rough.row, rough.found) == ("vessel.csv", 5, "0-2-0")
    assert "0-2-0 in row 5" in dressed.wanted
    assert "0-2-4 in row 4" in rough.wanted
    alike = text.replace("0-2-4", "0-2-0")
    assert survey_of(tmp_path, vessel=alike, frames=FRAMES, girths=girths).particulars.rough_mm
    alone = text.replace("rough,0-2-0\n", "")
    assert survey_of(tmp_path, vessel=alone, frames=FRAMES, girths=girths).particulars.planking_mm


def test_frames_are_apart_from_stations(tmp_path: Path) -> None:
    survey = survey_of(tmp_path, vessel=VESSEL, frames=FRAMES, offsets=OFFSETS)
    first, second, _ = survey.frames
    assert first.sided_mm == pytest.approx(88.9)
    assert first.moulded_mm == pytest.approx(114.3)
    assert second.double
    assert second.sided_mm is None
    assert {reading.station for reading in survey.readings} == {"A", "B", "C"}
    assert "S001" not in codes(survey)


def test_stations_serve_as_frames_and_it_is_said(tmp_path: Path) -> None:
    survey = survey_of(
        tmp_path, vessel=VESSEL, offsets=OFFSETS, girths="frame,position,girth\nB,6-0-0,6ft\n"
    )
    assert [frame.name for frame in survey.frames] == ["A", "B", "C"]
    assert "S001" in codes(survey)


def test_readings_of_each_kind_of_line(tmp_path: Path) -> None:
    survey = survey_of(tmp_path, vessel=VESSEL, offsets=OFFSETS)
    by_key = {reading.key: reading for reading in survey.readings}
    waterline = by_key["offsets: waterline 2-0-0 at station C"]
    assert (waterline.x_mm, waterline.y_mm, waterline.z_mm) == pytest.approx(
        (10 * FOOT, 1.75 * FOOT, 2 * FOOT)
    )
    assert (waterline.measured, waterline.line) == ("y", "waterline 2-0-0")
    assert waterline.cell == Cell("offsets.csv", 7, "C")
    buttock = by_key["offsets: buttock 1-0-0 at station A"]
    assert (buttock.y_mm, buttock.z_mm) == pytest.approx((FOOT, 2 * FOOT))
    assert buttock.measured == "z"
    diagonal = by_key["offsets: diagonal 3-6-0 @ 30 at station B"]
    assert diagonal.value_mm == pytest.approx(2 * FOOT)
    assert diagonal.y_mm == pytest.approx(2 * FOOT * math.cos(math.pi / 6))
    assert diagonal.z_mm == pytest.approx(3.5 * FOOT - 2 * FOOT / 2)
    assert diagonal.measured == "d"


def test_height_and_half_breadth_of_an_edge_are_two_readings_of_a_point(tmp_path: Path) -> None:
    survey = survey_of(tmp_path, vessel=VESSEL, offsets=OFFSETS)
    sheer = [r for r in survey.readings if r.role == "sheer" and r.station == "B"]
    assert [(r.measured, r.line) for r in sheer] == [
        ("z", "sheer height"), ("y", "sheer half-breadth"),
    ]  # fmt: skip
    assert len({(r.x_mm, r.y_mm, r.z_mm) for r in sheer}) == 1
    assert [r.value_mm for r in sheer] == pytest.approx([4.75 * FOOT, 2.75 * FOOT])


def test_half_an_edge_is_not_used_and_it_is_said(tmp_path: Path) -> None:
    survey = survey_of(tmp_path, vessel=VESSEL, offsets=OFFSETS)
    assert not [r for r in survey.readings if r.role == "rabbet" and r.station == "B"]
    finding = next(f for f in survey.findings if f.code == "S011")
    assert (finding.where, finding.says) == ("rabbet", "no half-breadth at station B")


def test_the_keels_half_siding_stands_in_for_the_rabbet(tmp_path: Path) -> None:
    vessel = VESSEL + "half siding,0-2-4\n"
    survey = survey_of(tmp_path, vessel=vessel, offsets=OFFSETS)
    (rabbet,) = [r for r in survey.readings if r.role == "rabbet" and r.station == "B"]
    assert (rabbet.measured, rabbet.y_mm) == ("z", pytest.approx(63.5))
    assert "S011" not in codes(survey)


def test_gaps_are_reported_where_the_line_passes(tmp_path: Path) -> None:
    text = OFFSETS.replace("waterline,2-0-0,1-0-0,,1-9-0", "waterline,2-0-0,,,1-9-0")
    text += "waterline,0-5-2,,,0-3-0,\nwaterline,4-8-0,1-9-0,2-6-0,,\n"
    survey = survey_of(tmp_path, vessel=VESSEL, offsets=text)
    says = [(f.where, f.says) for f in survey.findings if f.code == "S002"]
    assert says == [
        ("waterline 2-0-0", "no half-breadth at stations A and B"),
        ("buttock 1-0-0", "no height at station C"),
        ("waterline 0-5-2", "no half-breadth at station B"),
    ]


def test_a_line_under_the_rabbet_is_no_gap(tmp_path: Path) -> None:
    text = OFFSETS.replace("0-6-0,0-5-0,0-4-0", "0-3-0,0-5-0,0-3-0").replace(
        "1-0-0,,1-9-0", "1-0-0,2ft,1-9-0"
    )
    text = text.replace("1-0-0,-,", "1-0-0,9in,")
    above = survey_of(tmp_path, vessel=VESSEL, offsets=text + "waterline,0-5-1,0-3-0,,0-3-0,\n")
    assert "S002" in codes(above)
    under = survey_of(tmp_path, vessel=VESSEL, offsets=text + "waterline,0-4-7,0-3-0,,0-3-0,\n")
    assert "S002" not in codes(under)


@pytest.mark.parametrize(("vessel", "example"), [(VESSEL, "20-0-0"), ("item,value\n", "6096")])
def test_a_station_without_a_position_is_told_in_the_jobs_unit(
    tmp_path: Path, vessel: str, example: str
) -> None:
    with pytest.raises(InputError) as caught:
        survey_of(tmp_path, vessel=vessel, offsets=OFFSETS.replace("6-0-0,10", ",10", 1))
    found = {(p.column, p.example) for p in caught.value.problems if "station stands" in p.wanted}
    assert found == {("B", example)}


def test_a_narrow_bay_is_as_uneven_as_a_wide_one(tmp_path: Path) -> None:
    frames = "frame,position\n1,0\n2,500\n3,700\n4,1200\n5,1600\n6,2100\n"
    survey = survey_of(tmp_path, frames=frames, girths="frame,girth\n1,1500\n6,1500\n")
    assert [f.where for f in survey.findings if f.code == "S005"] == ["frames 2 to 3"]


def frames_at(*inches: int) -> str:
    cells = (f"{n},{at // 12}-{at % 12}-0" for n, at in enumerate(inches, 1))
    return "frame,position\n" + "\n".join(cells) + "\n"


def spaced(*bays: int) -> str:
    return frames_at(*(sum(bays[:n]) for n in range(len(bays) + 1)))


def test_a_frame_that_alone_breaks_the_spacing_is_named_with_its_even_place(tmp_path: Path) -> None:
    frames = spaced(*[11] * 6, 7, 15, *[11] * 5)
    survey = survey_of(tmp_path, vessel=VESSEL, frames=frames, girths="frame,girth\n1,5-0-0\n")
    (told,) = (f for f in survey.findings if f.code == "S021")
    assert (told.where, told.severity) == ("frame 8", Severity.CAUTION)
    assert "0-7-0 aft of frame 7 and 1-3-0 forward of frame 9" in told.says
    assert told.says.endswith("0-11-0 apart; at 6-1-0 (frames.csv row 9): perhaps 6-5-0")
    assert "S005" not in codes(survey)


@pytest.mark.parametrize(
    "bays",
    [
        (12,) * 12,
        (6, 16) * 6,  # doubled frames
        (18,) * 6 + (12,) * 6,  # two spacings
        (7, 8, 9, 10, 11, 11, 11, 11, 10, 8, 6),  # cants closing in
        (11, 11, 7, 15, 11, 11) * 5,  # built so, again and again
        (12, 12, 12, 13, 11, 12, 12, 12),  # no more than a hand's error
        (12, 12, 12, 24, 12, 12, 12),  # a frame left out
    ],
)
def test_frames_built_unevenly_are_not_called_slips(tmp_path: Path, bays: tuple[int, ...]) -> None:
    survey = survey_of(
        tmp_path, vessel=VESSEL, frames=spaced(*bays), girths="frame,girth\n1,5-0-0\n"
    )
    assert "S021" not in codes(survey)


def test_a_question_mark_is_kept(tmp_path: Path) -> None:
    survey = survey_of(tmp_path, vessel=VESSEL, offsets=OFFSETS)
    doubted = [r for r in survey.readings if r.note]
    assert [r.key for r in doubted] == ["offsets: sheer half-breadth at station C"]
    assert doubted[0].as_typed == "2-6-0?"
    (finding,) = [f for f in survey.findings if f.code == "S003"]
    assert finding.says == "marked as doubtful by whoever typed it: 2-6-0? (C)"


def test_marks_of_a_line_are_one_finding(tmp_path: Path) -> None:
    text = OFFSETS.replace("4-9-0,4-7-0", "4-9-0 ?,4-7-0?")
    survey = survey_of(tmp_path, vessel=VESSEL + "half siding,0-2-4\n", offsets=text)
    finding = next(f for f in survey.findings if f.code == "S003" and "height" in f.where)
    assert finding.where == "offsets: sheer height"
    assert finding.says.endswith("4-9-0 ? (B), 4-7-0? (C)")


def test_girths_and_points_may_be_marked_too(tmp_path: Path) -> None:
    survey = survey_of(
        tmp_path,
        vessel=VESSEL,
        frames=FRAMES,
        girths="frame,girth\n1,5-0-0?\n2,5-6-0\n",
        points="frame,y,z\n1,1-0-0,2-0-0 ?\n",
    )
    assert survey.girths[0].girth_mm == pytest.approx(5 * FOOT)
    assert [f.where for f in survey.findings if f.code == "S003"] == [
        "points: frame 1, point 1", "girths: frame 1",
    ]  # fmt: skip


def test_points_in_any_order(tmp_path: Path) -> None:
    points = (
        "frame,side,label,x,y,z\n2,port,sheer,,2-0-0,5-0-0\n2,port,,,1-0-0,2-0-0\n"
        "2,port,,,1-6-0,3-0-0\n3,s,rabbet,6-0-4,0-2-4,0-6-0\n,,stem,0-6-0,0-2-0,3-0-0\n"
    )
    survey = survey_of(tmp_path, vessel=VESSEL, frames=FRAMES, points=points)
    assert [r.key for r in survey.readings] == [
        "points: frame 2 port, sheer",
        "points: frame 2 port, point 1",
        "points: frame 2 port, point 2",
        "points: frame 3 starboard, rabbet",
    ]
    assert survey.readings[0].x_mm == pytest.approx(4 * FOOT)
    assert survey.readings[3].x_mm == pytest.approx(6 * FOOT + 12.7)
    assert {r.measured for r in survey.readings} == {"xyz"}
    (stem,) = survey.ends
    assert (stem.end, stem.y_mm, stem.z_mm) == (
        "stem",
        pytest.approx(50.8),
        pytest.approx(3 * FOOT),
    )


def test_ends_and_hood_end_girths(tmp_path: Path) -> None:
    survey = survey_of(
        tmp_path,
        vessel=VESSEL + "half siding,0-2-4\n",
        frames=FRAMES,
        girths="frame,position,girth\nStem,-0-6-0,4-6-0\n1,,5-0-0\n",
        ends="end,height,position,half_siding\nstem,4-0-0,-0-6-0,\nstern,4-0-0,9-0-0,0-3-0\n",
    )
    assert survey.girths[0].frame == "stem"
    assert survey.girths[0].x_mm == pytest.approx(-152.4)
    stem, stern = survey.ends
    assert (stem.key, stem.y_mm) == ("ends: stem at height 4-0-0", pytest.approx(63.5))
    assert stern.y_mm == pytest.approx(76.2)


def test_a_blank_side_is_what_the_vessel_says(tmp_path: Path) -> None:
    survey = survey_of(
        tmp_path,
        vessel=VESSEL + "side,port\n",
        frames=FRAMES,
        girths="frame,side,girth\n1,,5-0-0\n1,starboard,5-0-1\n2,,5-6-0\n",
    )
    assert [girth.side for girth in survey.girths] == ["port", "starboard", "port"]
    finding = next(f for f in survey.findings if f.code == "S007")
    assert finding.says == "2 readings to port and 1 to starboard"


def test_old_planking(tmp_path: Path) -> None:
    survey = survey_of(
        tmp_path,
        vessel=VESSEL,
        frames=FRAMES,
        girths="frame,girth\n1,5-0-0\n",
        old_strakes="side,strake,frame,width,thickness\nport,3,2,0-7-3,0-1-4\nport,3,stem,0-4-0,\n",
        old_butts="side,strake,frame,landing\nport,3,2,block\nport,5,3,\n",
        old_fastenings="where,kind,gauge,length,per_frame\nbottom,boat nail,3/16 square,4in,2\n",
    )
    assert [(w.strake, w.frame, w.width_mm) for w in survey.old_widths] == [
        ("3", "2", pytest.approx(187.325)), ("3", "stem", pytest.approx(101.6)),
    ]  # fmt: skip
    assert survey.old_widths[1].thickness_mm is None
    assert survey.old_widths[0].timber == ""  # a form of before has no such column
    assert survey.old_butts[0] == OldButt(
        "port", "3", "2", "block", Cell("old_butts.csv", 2, "frame")
    )
    assert survey.old_butts[1].landing == "frame"
    (nail,) = survey.old_fastenings
    assert isinstance(nail, OldFastening)
    assert (nail.gauge, nail.length_mm, nail.per_frame) == (
        "3/16 square",
        pytest.approx(101.6),
        "2",
    )


def test_old_planks_may_be_told_of_in_words(tmp_path: Path) -> None:
    survey = survey_of(
        tmp_path,
        vessel=VESSEL,
        frames=FRAMES,
        girths="frame,girth\n1,5-0-0\n",
        old_strakes="strake,frame,width,thickness,timber,fastening,condition\n"
        "3,2,0-7-3,0-1-4,pitch pine,iron nails,soft at the lower edge\n3,3,0-7-0,,,,\n",
        old_fastenings="where,kind,condition\nbottom,boat nail,wasted under the heads\n",
    )
    told, bare = survey.old_widths
    assert (told.timber, told.fastening) == ("pitch pine", "iron nails")
    assert told.condition == "soft at the lower edge"
    assert (bare.timber, bare.fastening, bare.condition) == ("", "", "")
    assert survey.old_fastenings[0].condition == "wasted under the heads"


def test_decisions(tmp_path: Path) -> None:
    doubts = (
        "reading,decision,value\noffsets: sheer half-breadth at station C,keep,\n"
        "offsets: waterline 2-0-0 at station A,correct,1-1-0\ngirths: frame 9,accept,\n"
    )
    survey = survey_of(tmp_path, vessel=VESSEL, offsets=OFFSETS, doubts=doubts)
    assert [d.decision for d in survey.decisions] == ["keep", "correct", "accept"]
    assert survey.decisions[1].value_mm == pytest.approx(13 * 25.4)
    assert [f.where for f in survey.findings if f.code == "S009"] == ["girths: frame 9"]


def test_findings_of_a_thin_survey(tmp_path: Path) -> None:
    survey = survey_of(
        tmp_path,
        vessel="item,value\nvessel,Marl Heron\nmeasured to,planking\n",
        frames="frame,position\n1,0\n2,500\n3,1000\n4,1700\n5,2200\n6,2700\n",
        girths="frame,girth\n2,1500\n3,1600\n",
    )
    assert {"S004", "S005", "S006", "S013", "S015"} <= set(codes(survey))
    uneven = next(f for f in survey.findings if f.code == "S005")
    assert (uneven.where, uneven.says) == ("frames 3 to 4", "700 mm apart; the usual is 500 mm")
    outside = [f.where for f in survey.findings if f.code == "S004"]
    assert outside == ["frame 1", "frames 4, 5 and 6"]
    assert all(f.severity in Severity and f.stage == "survey" for f in survey.findings)


def test_girths_taped_outside_the_planking_are_said_not_to_be_deducted(tmp_path: Path) -> None:
    def of(measured_to: str) -> Survey:
        return survey_of(
            tmp_path,
            vessel=f"item,value\nunit,mm\nmeasured to,{measured_to}\nplanking,40\n",
            girths="frame,position,girth\n" + "".join(f"{n},{500 * n},1500\n" for n in range(1, 8)),
        )

    (found,) = [f for f in of("planking").findings if f.code == "S019"]
    assert "shorter by 63" in found.says  # 40 mm round a quarter turn
    assert "S019" not in codes(of("frame"))


def test_readings_past_the_edges_are_cautioned(tmp_path: Path) -> None:
    text = OFFSETS + "waterline,5-6-0,2-0-0,,,\nwaterline,0-3-0,,0-2-4,,\n"
    survey = survey_of(tmp_path, vessel=VESSEL + "half siding,0-2-4\n", offsets=text)
    says = {f.where: f.says for f in survey.findings if f.code == "S008"}
    assert says == {
        "offsets: waterline 5-6-0 at station A": "0-6-0 above the sheer",
        "offsets: waterline 0-3-0 at station B": "0-2-0 below the rabbet",
    }


def test_findings_speak_the_jobs_unit(tmp_path: Path) -> None:
    survey = survey_of(tmp_path, vessel=VESSEL, frames=FRAMES, girths="frame,girth\n1,5-0-0\n")
    assert "4-0-0 aft of" in next(f.says for f in survey.findings if f.code == "S004")
    assert not [f for f in survey.findings if " mm" in f.says]


def test_one_file_alone_in_millimetres(tmp_path: Path) -> None:
    path = tmp_path / "what the tape said.csv"
    path.write_text("Frame;Position;Girth\n1;0;1500\n2;400;1550,\n".replace(",", ""))
    survey = read_survey(read_forms(path))
    assert [girth.girth_mm for girth in survey.girths] == [1500, 1550]
    assert "S015" in codes(survey)


def test_a_point_far_from_its_frame_is_cautioned(tmp_path: Path) -> None:
    points = "frame,x,y,z\n1,2-0-6,1-0-0,2-0-0\n1,6-1-0,1-0-0,2-0-0\n"
    survey = survey_of(tmp_path, vessel=VESSEL, frames=FRAMES, points=points)
    (finding,) = [f for f in survey.findings if f.code == "S016"]
    assert finding.where == "points: frame 1, point 2"
    assert finding.says == "4-1-0 from its frame, nearer to frame 3"


def test_a_frame_numbered_as_a_decimal_is_still_the_frame(tmp_path: Path) -> None:
    frames = FRAMES.replace("\n1,", "\n1.0,")
    survey = survey_of(tmp_path, vessel=VESSEL, frames=frames, girths="frame,girth\n1,5-0-0\n")
    assert survey.girths[0].x_mm == pytest.approx(2 * FOOT)


def test_frames_match_whatever_their_case(tmp_path: Path) -> None:
    survey = survey_of(
        tmp_path,
        vessel=VESSEL,
        frames="frame,position\n1A,2-0-0\n",
        girths="frame,girth\n 1a ,5-0-0\n",
    )
    assert survey.girths[0].x_mm == pytest.approx(2 * FOOT)


def test_typed_gives_values_by_column() -> None:
    form = Form(
        "lining",
        ("Wish", "Strake", "Frame", "To Frame", "Value"),
        (
            ("strakes", "", "", "", "14"),
            ("width", "3", "12", "", "0-7-3"),
            ("recorded", "", "", "", "0.5"),
        ),
        "lining.csv",
        (2, 3, 4),
    )
    rows, problems = typed(form, "ft-in-8ths")
    assert not problems
    assert [row.values["value"] for row in rows] == [14, pytest.approx(187.325), 0.5]
    assert rows[1].values["to_frame"] is None
    assert rows[1].values["weight"] is None
    assert rows[1].as_typed["value"] == "0-7-3"


@pytest.mark.parametrize(("text", "unit"), [("metres", "m"), ("nonsense", "mm"), ("", "mm")])
def test_the_jobs_unit(text: str, unit: str) -> None:
    form = Form("vessel", ("item", "value"), (("Unit", text),), "vessel.csv", (2,))
    assert unit_of({"vessel": form}) == unit
    assert unit_of({}) == "mm"


def test_the_whole_survey_or_none_of_it(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        survey_of(tmp_path, vessel=VESSEL, frames=FRAMES, girths="frame,girth\n1,x\n2,y\n")
    assert [problem.row for problem in caught.value.problems] == [2, 3]


def test_a_blank_girth_is_a_gap_and_is_reported(tmp_path: Path) -> None:
    (tmp_path / "girths.csv").write_text(
        "frame,position,girth\n1,0,2000\n2,400,\n3,800,2100\n4,1200,2110\n"
    )
    (tmp_path / "frames.csv").write_text("frame,position\n1,0\n2,400\n3,800\n4,1200\n")
    survey = read_survey(read_forms(tmp_path))
    assert [girth.frame for girth in survey.girths] == ["1", "3", "4"]
    assert [f.where for f in survey.findings if f.code == "S002"] == ["frame 2"]


def test_a_station_with_no_reading_at_all_is_one_line(tmp_path: Path) -> None:
    lines = [line.split(",") for line in OFFSETS.replace("2-0-0?,", "2-0-0,").splitlines()]
    for line in lines:
        line.insert(4, {"line": "B2", "position": "8-0-0"}.get(line[0], ""))
    text = "\n".join(",".join(line) for line in lines)
    whole = survey_of(tmp_path, vessel=VESSEL, offsets=OFFSETS)
    (tmp_path / "with").mkdir()
    survey = survey_of(tmp_path / "with", vessel=VESSEL, offsets=text)
    gaps = [(f.where, f.says) for f in survey.findings if f.code == "S002"]
    extra = [gap for gap in gaps if gap not in [(f.where, f.says) for f in whole.findings]]
    assert extra == [("station B2", "nothing was read: the column holds a position only")]
    assert "B2" in [frame.name for frame in survey.frames]
