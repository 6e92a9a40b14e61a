# ruff: noqa: E501 - cases read best as a table
"""Broken forms: each wrong cell is named by file, row and column, in words that mend it."""

from __future__ import annotations

import datetime
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook

from made_forms import problems_in

VESSEL = "item,value\nvessel,Marl Heron\nunit,ft-in-8ths\nplanking,0-1-4\n"
FRAMES = "frame,position\n1,2-0-0\n2,4-0-0\n3,6-0-0\n4,8-0-0\n5,10-0-0\n"
GIRTHS = "frame,girth\n1,5-0-0\n2,5-6-0\n3,5-9-0\n4,5-7-2\n5,5-1-1+\n"
OFFSETS = (
    "line,at,1,2,3\nposition,,2-0-0,6-0-0,10-0-0\nrabbet height,,0-6-0,0-5-0,0-4-0\n"
    "rabbet half-breadth,,0-2-4,0-2-4,0-2-4\nsheer height,,5-0-0,4-9-0,4-7-0\n"
    "sheer half-breadth,,2-0-0,2-9-0,2-6-0\nwaterline,2-0-0,1-0-0,2-0-0,1-9-0\n"
)
GOOD = {"vessel": VESSEL, "frames": FRAMES, "girths": GIRTHS, "offsets": OFFSETS}


def fill(folder: Path, **forms: str) -> Path:
    """Put good forms in a folder, with `forms` in place of some; "" leaves one out."""
    folder.mkdir(exist_ok=True)
    for name, text in {**GOOD, **forms}.items():
        if text:
            (folder / f"{name}.csv").write_text(text, "utf-8")
    return folder


def test_the_good_forms_are_good(tmp_path: Path) -> None:
    assert problems_in(fill(tmp_path / "job")) == ()


@dataclass(frozen=True)
class Case:
    says: str
    form: str
    text: str
    row: int
    column: str
    found: str
    words: str
    example: str = ""


def girths(line: str) -> str:
    return GIRTHS + line + "\n"


CASES = [
    Case("13 inches", "girths", "frame,girth\n1,7-13-2\n", 2, "girth", "7-13-2",
         "inches from 0 to 11", "7-6-0"),
    Case("9 eighths", "girths", "frame,girth\n1,7-3-9\n", 2, "girth", "7-3-9", "eighths from 0 to 7"),
    Case("two parts", "girths", "frame,girth\n1,7-3\n", 2, "girth", "7-3",
         "7-3-0 for feet and inches"),
    Case("bare number in a job of feet", "girths", "frame,girth\n1,60\n", 2, "girth", "60",
         "could be feet or inches"),
    Case("a date made of a length", "girths", "frame,girth\n1,7-Mar-05\n", 2, "girth", "7-Mar-05",
         "format the cells as text"),
    Case("a word", "girths", "frame,girth\n1,five feet\n", 2, "girth", "five feet", "a length"),
    Case("not a number", "girths", "frame,girth\n1,nan\n", 2, "girth", "nan", "a length"),
    Case("infinite", "girths", "frame,girth\n1,inf\n", 2, "girth", "inf", "a length"),
    Case("ten kilometres", "girths", "frame,girth\n1,10000m\n", 2, "girth", "10000m",
         "a length from 0-0-3 to 131-2-6+"),
    Case("girth below nothing", "girths", "frame,girth\n1,-5-0-0\n", 2, "girth", "-5-0-0",
         "a length from"),
    Case("other digits", "girths", "frame,girth\n1,٥-0-0\n", 2, "girth", "٥-0-0", "plain digits"),
    Case("decimal comma", "girths", 'frame,girth\n1,"5,5ft"\n', 2, "girth", "5,5ft",
         "a point for decimals"),
    Case("frame left blank", "girths", "frame,girth\n,5-0-0\n", 2, "frame", "", "the cell is blank"),
    Case("girth twice", "girths", girths("2,5-6-0"), 7, "frame", "2", "each frame once"),
    Case("girth of no frame", "girths", girths("55,5-6-0"), 7, "frame", "55",
         "a frame of the form frames; '55' is not one", "5"),
    Case("girth of the stem with no position", "girths", girths("stem,4-0-0"), 7, "frame", "stem",
         "a position here"),
    Case("side misspelt", "girths", "frame,side,girth\n1,prot,5-0-0\n", 2, "side", "prot",
         "perhaps port"),
    Case("heading misspelt", "girths", "frame,grith\n1,5-0-0\n", 1, "grith", "grith",
         "perhaps girth", "girth"),
    Case("column missing", "girths", "frame,side\n1,port\n", 1, "girth", "", "a column girth"),
    Case("heading twice", "girths", "frame,girth,girth\n1,5-0-0,5-0-0\n", 1, "girth", "girth",
         "each heading once"),
    Case("heading blank over figures", "girths", "frame,,girth\n1,7,5-0-0\n", 1, "column B", "",
         "a heading over every filled column"),
    Case("more cells than headings", "girths", "frame,girth\n1,5-0-0,extra\n", 2, "column C", "extra",
         "no more cells than the 2 of the heading"),
    Case("a row hidden by a #", "girths", girths("#6,5-0-0"), 7, "", "#6", "no # before a row", "6"),
    Case("a spreadsheet's own error", "girths", "frame,girth\n1,#REF!\n", 2, "girth", "#REF!",
         "an error of its own"),
    Case("a quote never closed", "girths", 'frame,girth\n1,"5-0-0\n' + "2,5-0-0\n" * 30, 2, "", '1,"5-0-0',
         "quote marks that open and close"),
    Case("inch mark in quotes left open", "girths", 'frame,girth\n1,"3\' 7 5/8""\n2,5-6-0\n', 2, "",
         "1,\"3' 7 5/8\"\"", "quote marks that open and close", '"3\' 7 5/8"""'),
    Case("a very long cell", "girths", "frame,girth\n" + "x" * 3000 + ",5-0-0\n", 2, "frame",
         "x" * 200 + "...",
         "at most 2000 characters"),
    Case("too many rows", "girths", "frame,girth\n" + "1,5-0-0\n" * 20_001, 20_002, "", "more rows",
         "at most 20000 rows"),
    Case("an empty form", "girths", "\n\n", 0, "", "no heading", "a heading row"),
    Case("position contradicts frames", "girths", "frame,position,girth\n1,3-0-0,5-0-0\n", 2,
         "position", "3-0-0", "the same position as the form frames gives frame 1"),
    Case("frame twice", "frames", FRAMES + "5,12-0-0\n", 7, "frame", "5", "each frame once"),
    Case("frames out of order", "frames", FRAMES + "6,9-0-0\n", 7, "position", "9-0-0",
         "aft of frame 5 at 10-0-0"),
    Case("stem among the frames", "frames", FRAMES + "stem,12-0-0\n", 7, "frame", "stem",
         "the ends, not frames"),
    Case("yes or no", "frames", "frame,position,double\n1,2-0-0,perhaps\n", 2, "double", "perhaps",
         "yes or no"),
    Case("unit unknown", "vessel", "item,value\nunit,cubits\n", 2, "value", "cubits",
         "ft-in-8ths (feet-inches-eighths)"),
    Case("feet alone as the unit", "vessel", "item,value\nunit,feet\n", 2, "value", "feet",
         "ft (decimal feet)"),
    Case("item misspelt", "vessel", VESSEL + "plankign,0-1-4\n", 5, "item", "plankign", "planking"),
    Case("item twice", "vessel", VESSEL + "planking,0-1-4\n", 5, "item", "planking", "each item once"),
    Case("planking as thick as a wall", "vessel", "item,value\nunit,mm\nplanking,3000\n", 3, "value",
         "3000", "a length from 1 mm to 300 mm"),
    Case("half-breadth below nothing", "offsets", OFFSETS + "waterline,3-0-0,-1-0-0,2-0-0,2-0-0\n", 8,
         "1", "-1-0-0", "a length from"),
    Case("line misspelt", "offsets", OFFSETS + "watreline,3-0-0,1-0-0,2-0-0,2-0-0\n", 8, "line",
         "watreline", "perhaps waterline", "waterline"),
    Case("waterline with no height", "offsets", OFFSETS + "waterline,,1-0-0,2-0-0,2-0-0\n", 8, "at", "",
         "the cell is blank", "4-0-0"),
    Case("waterline twice", "offsets", OFFSETS + "waterline,24in,1-0-0,2-0-0,2-0-0\n", 8, "line",
         "waterline 24in", "each line once"),
    Case("diagonal with no slope", "offsets", OFFSETS + "diagonal,3-0-0,1-0-0,2-0-0,2-0-0\n", 8, "at",
         "3-0-0", "the height on the centreline, @, and the slope", "4-0-0 @ 45"),
    Case("no positions", "offsets", "line,at,1,2\nwaterline,2-0-0,1-0-0,2-0-0\n", 0, "line",
         "no position", "how far each station stands aft"),
    Case("one position missing", "offsets", OFFSETS.replace("6-0-0,10-0-0", ",10-0-0"), 2, "2", "",
         "how far the station stands aft"),
    Case("positions that turn back", "offsets", OFFSETS.replace("6-0-0,10-0-0", "6-0-0,1-0-0"), 2, "3",
         "1-0-0", "run one way"),
    Case("no stations", "offsets", "line,at,notes\nposition,,\n", 1, "", "", "a column for each station"),
    Case("stem aft of the stern", "ends",
         "end,height,position\nstem,4-0-0,20-0-0\nstern,4-0-0,0-0-0\n", 2, "position", "20-0-0",
         "grow from forward to aft"),
    Case("an end that is none", "ends", "end,height,position\nbow,4-0-0,0-0-0\n", 2, "end", "bow",
         "one of stem, stern"),
    Case("point with no place", "points", "frame,y,z\n,1-0-0,2-0-0\n", 2, "x", "", "the frame's name"),
    Case("point on a frame unknown", "points", "frame,y,z\n12,1-0-0,2-0-0\n", 2, "frame", "12",
         "'12' is not one", "2"),
    Case("point to the wrong side of nothing", "points", "frame,y,z\n1,-1-0-0,2-0-0\n", 2, "y",
         "-1-0-0", "a length from 0-0-0"),
    Case("old strake on a frame unknown", "old_strakes", "strake,frame,width\n3,40,0-7-3\n", 2, "frame",
         "40", "a frame of the form frames"),
    Case("old width below nothing", "old_strakes", "strake,frame,width\n3,4,-0-7-3\n", 2, "width",
         "-0-7-3", "a length from"),
    Case("landing in the air", "old_butts", "strake,frame,landing\n3,4,air\n", 2, "landing", "air",
         "one of frame, block"),
    Case("a correction without a value", "doubts",
         "reading,decision,value\ngirths: frame 3,correct,\n", 2, "value", "", "the right value"),
    Case("a decision that is none", "doubts", "reading,decision\ngirths: frame 3,maybe\n", 2,
         "decision", "maybe", "one of accept, correct, keep"),
    Case("half a board in stock", "stock", "length,count\n18-0-0,2.5\n", 2, "count", "2.5",
         "a whole number"),
    Case("a title above the heading", "girths", "Girths of Marl Heron,,\n" + GIRTHS, 1, "",
         "Girths of Marl Heron", "starts with #", "# Girths of Marl Heron"),
    Case("metres in a job of millimetres", "vessel", "item,value\nunit,mm\nlength,5\n", 3, "value", "5",
         "write its unit with it if it is in another"),
    Case("a board twice", "boards", "board,length,width_butt,width_top,thickness\nA7,18-0-0,1-0-0,1-0-0,2in\n"
         "a7,16-0-0,1-0-0,1-0-0,2in\n", 3, "board", "a7", "each once"),
    Case("an old width twice", "old_strakes", "strake,frame,width\n3,4,0-7-3\n3,4,0-7-4\n", 3, "frame",
         "3, 4", "each once"),
    Case("a wish unknown", "lining", "wish,value\nwiden,0-7-3\n", 2, "wish", "widen", "one of strakes"),
    Case("half a strake", "lining", "wish,value\nstrakes,14.5\n", 2, "value", "14.5",
         "a whole number from 2 to 100", "16"),
    Case("a wish on a frame unknown", "butts", "wish,strake,frame,to_frame\nforbid,3,2,44\n", 2,
         "to_frame", "44", "a frame of the form frames"),
]  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.says)
def test_a_wrong_cell_is_named(case: Case, tmp_path: Path) -> None:
    problems = problems_in(fill(tmp_path / "job", **{case.form: case.text}))
    there = [p for p in problems if (p.file, p.row) == (f"{case.form}.csv", case.row)]
    assert there, problems
    assert case.column in {p.column for p in there}
    problem = next(p for p in there if p.column == case.column)
    assert case.words in problem.wanted
    assert problem.found == case.found
    assert not case.example or problem.example == case.example


def test_every_problem_of_every_form_at_once(tmp_path: Path) -> None:
    job = fill(
        tmp_path / "job",
        girths="frame,girth\n1,7-13-2\n2,5-6-0\n3,x\n4,5-7-2,and more\n",
        offsets=OFFSETS.replace("2-9-0", "2-9-9"),
        old_strakes="strake,frame,width\n3,40,0-7-3\n3,2,0-7-3-1\n",
        grith="frame,girth\n1,5-0-0\n",
    )
    found = {(p.file, p.row, p.column) for p in problems_in(job)}
    assert found >= {
        ("girths.csv", 2, "girth"),
        ("girths.csv", 4, "girth"),
        ("girths.csv", 5, "column C"),
        ("offsets.csv", 6, "2"),
        ("old_strakes.csv", 3, "width"),
        ("grith.csv", 0, ""),
    }


def test_problems_of_many_forms_come_in_the_order_of_their_rows(tmp_path: Path) -> None:
    job = fill(tmp_path / "job", girths="frame,girth\n1,x\n9,5-6-0\n3,y\n")
    assert [p.row for p in problems_in(job)] == [2, 3, 4]


def test_a_form_of_unknown_name(tmp_path: Path) -> None:
    job = fill(tmp_path / "job", ofsets="line,at,1\n")
    (problem,) = problems_in(job)
    assert (problem.file, problem.found, problem.example) == ("ofsets.csv", "ofsets", "offsets")


def test_nothing_measured(tmp_path: Path) -> None:
    (problem,) = problems_in(fill(tmp_path / "job", girths="", offsets=""))
    assert "measurements in girths, offsets or points" in problem.wanted


@pytest.mark.parametrize(
    ("name", "raw", "words"),
    [
        ("girths.csv", b"PK\x03\x04rest", "save the workbook as .xlsx"),
        ("girths.csv", b"frame\0girth\n", "CSV text"),
        ("girths.csv", b"", "a heading row"),
        ("forms.xlsx", b"not a workbook", "an XLSX workbook that opens"),
        ("forms.xls", b"\xd0\xcf\x11\xe0", "save it as one of these"),
        ("girths.csv", b"a," * 4_100_000, "at most 8 MB"),
    ],
)
def test_files_that_are_no_forms(name: str, raw: bytes, words: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(raw)
    (problem,) = problems_in(tmp_path)
    assert problem.file == name
    assert words in problem.wanted


def test_a_path_that_is_not_there(tmp_path: Path) -> None:
    (problem,) = problems_in(tmp_path / "gone")
    assert problem.found == "nothing there"


def test_a_file_that_cannot_be_read(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job = fill(tmp_path / "job")

    def locked(path: Path) -> bytes:
        raise PermissionError(13, "Permission denied", str(path))

    monkeypatch.setattr(Path, "read_bytes", locked)
    problems = problems_in(job)
    assert {problem.file for problem in problems} == {f"{name}.csv" for name in GOOD}
    assert {problem.found for problem in problems} == {"Permission denied"}


def test_an_empty_folder(tmp_path: Path) -> None:
    (problem,) = problems_in(tmp_path)
    assert problem.found == "no form"


def book(path: Path, fill_in: Callable[[Any], None]) -> Path:
    """Make a workbook with good frames and a sheet of girths that `fill_in` spoils."""
    made = Workbook()
    made.remove(made.worksheets[0])
    for name in ("vessel", "frames"):
        sheet = made.create_sheet(name)
        for line in GOOD[name].splitlines():
            sheet.append(line.split(","))
    sheet = made.create_sheet("girths")
    for line in GIRTHS.splitlines():
        sheet.append(line.split(","))
    fill_in(sheet)
    made.save(path)
    return path


def set_cell(cell: str, value: object) -> Callable[[Any], None]:
    def spoil(sheet: Any) -> None:
        sheet[cell] = value

    return spoil


@pytest.mark.parametrize(
    ("spoil", "row", "column", "words"),
    [
        (set_cell("B3", datetime.date(2005, 3, 7)), 3, "girth", "made a date of it"),
        (set_cell("B3", datetime.datetime(2005, 3, 7, 0, 0)), 3, "girth", "made a date of it"),
        (set_cell("B3", datetime.time(3, 7, 5)), 3, "girth", "made a date of it"),
        (set_cell("B3", 38418), 3, "girth", "could be feet or inches"),
        (set_cell("B3", "=B2+1"), 3, "column B", "kept no result of this formula"),
        (set_cell("B3", True), 3, "girth", "a length"),
        (set_cell("D4", "stray"), 4, "column D", "no more cells than the 2 of the heading"),
        (lambda sheet: sheet.merge_cells("B3:B5"), 3, "column B", "one value in each cell"),
    ],
)  # fmt: skip
def test_broken_workbooks(
    spoil: Callable[[Any], None], row: int, column: str, words: str, tmp_path: Path
) -> None:
    problems = problems_in(book(tmp_path / "forms.xlsx", spoil))
    problem = next(p for p in problems if (p.row, p.column) == (row, column))
    assert problem.file == "forms.xlsx [girths]"
    assert words in problem.wanted


def test_the_good_workbook_is_good(tmp_path: Path) -> None:
    assert problems_in(book(tmp_path / "forms.xlsx", set_cell("B3", "5-6-0"))) == ()


def test_a_sheet_of_unknown_name(tmp_path: Path) -> None:
    path = book(tmp_path / "forms.xlsx", lambda sheet: setattr(sheet, "title", "grths"))
    problem = problems_in(path)[0]
    assert (problem.file, problem.example) == ("forms.xlsx [grths]", "girths")


def test_the_same_form_twice(tmp_path: Path) -> None:
    book(tmp_path / "forms.xlsx", set_cell("A1", "frame"))
    (tmp_path / "girths.csv").write_text(GIRTHS)
    problem = problems_in(tmp_path)[0]
    assert problem.found == "girths again"


def test_a_workbook_that_unpacks_to_far_more(tmp_path: Path) -> None:
    path = tmp_path / "forms.xlsx"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/workbook.xml", "<workbook/>")
        packed.writestr("xl/worksheets/sheet1.xml", b" " * 70_000_000)
    assert path.stat().st_size < 200_000
    (problem,) = problems_in(path)
    assert "60 MB when unpacked" in problem.wanted


def test_a_workbook_with_definitions_of_its_own(tmp_path: Path) -> None:
    path = tmp_path / "forms.xlsx"
    with zipfile.ZipFile(path, "w") as packed:
        packed.writestr("xl/workbook.xml", '<!DOCTYPE a [<!ENTITY b "c">]><workbook/>')
    (problem,) = problems_in(path)
    assert "plain XLSX" in problem.wanted


def test_a_workbook_cut_short(tmp_path: Path) -> None:
    path = book(tmp_path / "forms.xlsx", set_cell("B3", "5-6-0"))
    whole = path.read_bytes()
    for part in (0.2, 0.5, 0.9):
        path.write_bytes(whole[: int(part * len(whole))])
        (problem,) = problems_in(path)
        assert problem.wanted == "an XLSX workbook that opens"
