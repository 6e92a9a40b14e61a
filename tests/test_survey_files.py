"""Files of forms: what a spreadsheet saves is read, and written out again unchanged."""

from __future__ import annotations

import csv
import datetime
from pathlib import Path
from typing import Literal

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook

from ribband.errors import InputError
from ribband.survey import Form, read_forms, read_survey, typed, write_blank_forms, write_forms
from ribband.survey.columns import LAYOUTS
from ribband.units import UNITS

GIRTHS = "frame,girth,notes\n1,1500,\n2,1600,after cleaning\n"


def girths_in(folder: Path, raw: bytes) -> Form:
    (folder / "girths.csv").write_bytes(raw)
    return read_forms(folder)["girths"]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("ending", ["\n", "\r\n"])
def test_what_spreadsheets_save(encoding: str, delimiter: str, ending: str, tmp_path: Path) -> None:
    text = GIRTHS.replace("cleaning", "höja").replace(",", delimiter).replace("\n", ending)
    form = girths_in(tmp_path, text.encode(encoding))
    assert form.header == ("frame", "girth", "notes")
    assert form.rows == (("1", "1500", ""), ("2", "1600", "after höja"))
    assert form.numbers == (2, 3)
    assert form.remarks == ()


def test_an_old_western_file_is_read_with_a_remark(tmp_path: Path) -> None:
    form = girths_in(tmp_path, "frame,position,girth\n1,0,43½in\n".encode("cp1252"))
    assert form.rows == (("1", "0", "43½in"),)
    survey = read_survey({"girths": form})
    assert survey.girths[0].girth_mm == pytest.approx(43.5 * 25.4)
    assert [f.where for f in survey.findings if f.code == "S010"] == ["girths.csv"]


def test_rows_are_counted_as_the_spreadsheet_counts(tmp_path: Path) -> None:
    text = (
        "# girths, taken in rain\n\nframe,girth,notes\n\n"
        '1,1500,"two\nlines"\n# the rest later\n2,1600\n'
    )
    form = girths_in(tmp_path, text.encode())
    assert form.heading_row == 3
    assert form.numbers == (5, 7)
    assert form.rows == (("1", "1500", "two\nlines"), ("2", "1600", ""))
    assert form.notes == ((1, "# girths, taken in rain"), (6, "# the rest later"))


def test_inch_marks_in_plain_cells(tmp_path: Path) -> None:
    form = girths_in(tmp_path, b'frame,girth\n1,3\' 7 5/8"\n2,"3\' 7 5/8"""\n')
    assert [cells[1] for cells in form.rows] == ["3' 7 5/8\""] * 2


def test_headings_whatever_their_case_and_order(tmp_path: Path) -> None:
    form = girths_in(tmp_path, b" GIRTH ,Side,Position, Frame\n1500,,0,1\n")
    assert read_survey({"girths": form}).girths[0].girth_mm == 1500


cells = st.text(st.characters(codec="utf-8", exclude_categories=["Cs", "Cc"]), max_size=12)
plain = cells.filter(lambda text: not text.lstrip().startswith("#"))


@st.composite
def forms(draw: st.DrawFn) -> Form:
    header = tuple(draw(st.lists(plain.filter(str.strip), min_size=2, max_size=5)))
    width = len(header)
    row = st.tuples(plain.filter(str.strip), *[cells] * (width - 1))
    rows = tuple(draw(st.lists(row, max_size=6)))
    steps = draw(st.lists(st.integers(1, 3), min_size=len(rows), max_size=len(rows)))
    numbers = [2]
    for step in steps:
        numbers.append(numbers[-1] + step)
    notes = ((1, "#" + draw(cells)),)
    return Form("girths", header, rows, "girths.csv", tuple(numbers[1:]), notes, 2)


@given(forms())
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=150)
def test_writing_and_reading_changes_nothing(tmp_path: Path, form: Form) -> None:
    write_forms({"girths": form}, tmp_path)
    assert read_forms(tmp_path)["girths"] == form


def test_lines_that_claim_one_place_are_all_written(tmp_path: Path) -> None:
    rows = (("1", "1500"), ("2", "1600"))
    form = Form("girths", ("frame", "girth"), rows, "girths.csv", (1, 1), ((1, "# taped"),))
    write_forms({"girths": form}, tmp_path)
    assert read_forms(tmp_path)["girths"].rows == rows


def test_a_text_file_of_a_forms_name_is_read(tmp_path: Path) -> None:
    (tmp_path / "girths.tsv").write_text("frame\tgirth\n1\t1500\n")
    (tmp_path / "letter.txt").write_text("Dear sirs")
    assert list(read_forms(tmp_path)) == ["girths"]


def test_a_heading_with_semicolons_is_still_parted_by_commas(tmp_path: Path) -> None:
    form = Form("girths", ("a;b;c", "girth"), (("1", "2;3"),), "girths.csv", (2,))
    write_forms({"girths": form}, tmp_path)
    assert read_forms(tmp_path)["girths"] == form


def test_a_second_writing_is_the_same_to_the_byte(tmp_path: Path) -> None:
    (tmp_path / "a").mkdir()
    (tmp_path / "a" / "girths.csv").write_text("# said; so\n" + GIRTHS.replace(",", ";"))
    first = write_forms(read_forms(tmp_path / "a"), tmp_path / "b")[0].read_bytes()
    assert write_forms(read_forms(tmp_path / "b"), tmp_path / "c")[0].read_bytes() == first


def test_a_workbook_says_the_same_as_its_csv(tmp_path: Path) -> None:
    book = Workbook()
    book.remove(book.worksheets[0])
    texts = {
        "vessel": "item,value\nunit,mm\nbuilt,1934\n",
        "frames": "frame,position\n1,0\n2,400.5\n",
        "girths": "# taped\nframe,girth\n1,1500\n2,1600\n",
    }
    for name, text in texts.items():
        (tmp_path / f"{name}.csv").write_text(text)
        sheet = book.create_sheet(name.title())
        for line in csv.reader(text.splitlines()):
            sheet.append(
                [float(cell) if cell.replace(".", "").isdigit() else cell for cell in line]
            )
    from_csv = read_survey(read_forms(tmp_path))
    (tmp_path / "book").mkdir()
    book.save(tmp_path / "book" / "marl heron.xlsx")
    from_book = read_survey(read_forms(tmp_path / "book"))
    assert from_book.particulars == from_csv.particulars
    assert [f.x_mm for f in from_book.frames] == [f.x_mm for f in from_csv.frames]
    assert [g.girth_mm for g in from_book.girths] == [g.girth_mm for g in from_csv.girths]
    assert [g.cell.row for g in from_book.girths] == [g.cell.row for g in from_csv.girths]
    assert from_book.girths[0].cell.file == "marl heron.xlsx [Girths]"


def test_a_formula_is_read_by_its_kept_value(tmp_path: Path) -> None:
    path = tmp_path / "forms.xlsx"
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = "girths"
    for line in (["frame", "position", "girth"], ["1", 0, 1500], ["2", 400, "=C2+100"]):
        sheet.append(line)
    book.save(path)
    with pytest.raises(InputError) as caught:
        read_forms(path)
    assert "kept no result" in str(caught.value)


def test_dates_where_dates_belong_are_kept(tmp_path: Path) -> None:
    path = tmp_path / "forms.xlsx"
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = "vessel"
    sheet.append(["item", "value"])
    sheet.append(["measured on", datetime.date(2026, 5, 4)])
    book.save(path)
    assert read_forms(path)["vessel"].rows == (("measured on", "2026-05-04"),)


@pytest.mark.parametrize("unit", UNITS)
@pytest.mark.parametrize("kind", ["csv", "xlsx"])
def test_blank_forms_read_back_blank(
    kind: Literal["csv", "xlsx"], unit: str, tmp_path: Path
) -> None:
    paths = write_blank_forms(tmp_path, kind, unit)
    assert len(paths) == (1 if kind == "xlsx" else len(LAYOUTS))
    forms = read_forms(tmp_path)
    assert list(forms) == list(LAYOUTS)
    begun = {"vessel", "offsets"}
    assert not [name for name, form in forms.items() if form.rows and name not in begun]
    with pytest.raises(InputError) as caught:
        read_survey(forms)
    assert [p.found for p in caught.value.problems] == ["no measurements"]


@pytest.mark.parametrize("unit", UNITS)
def test_the_example_rows_are_right(unit: str, tmp_path: Path) -> None:
    """Every example, set free of its mark, is read without a problem."""
    write_blank_forms(tmp_path, "csv", unit)
    for name, form in read_forms(tmp_path).items():
        lines = csv.reader((tmp_path / f"{name}.csv").read_text("utf-8-sig").splitlines())
        example = next(cells for cells in lines if cells[0].startswith("# example: "))
        example[0] = example[0].removeprefix("# example: ")
        free = Form(name, form.header, (tuple(example),), form.file, (2,))
        rows, problems = typed(free, unit)
        assert not problems
        assert len(rows) == 1


def test_cells_of_the_blank_workbook_are_text_and_choices_drop_down(tmp_path: Path) -> None:
    (path,) = write_blank_forms(tmp_path, "xlsx", "ft-in-8ths")
    sheet = load_workbook(path)["girths"]
    heading = next(row for row in sheet.iter_rows() if row[0].value == "frame")
    assert {sheet.column_dimensions[cell.column_letter].number_format for cell in heading} == {"@"}
    begun = load_workbook(path)["vessel"]
    assert [v.formula1 for v in begun.data_validations.dataValidation] == [
        '"mm,cm,m,in,ft,ft-in-8ths"', '"frame,planking"', '"both,port,starboard"',
    ]  # fmt: skip
    assert {cell.number_format for cell in begun[begun.max_row]} == {"@"}
    assert ["both,port,starboard" in v.formula1 for v in sheet.data_validations.dataValidation] == [
        True
    ]


def test_a_filled_workbook_of_ours_is_read(tmp_path: Path) -> None:
    (path,) = write_blank_forms(tmp_path, "xlsx", "ft-in-8ths")
    book = load_workbook(path)
    for name, lines in {
        "frames": [("1", "2-0-0"), ("2", "4-0-0")],
        "girths": [("1", None, None, "3-7-5"), ("2", None, None, "3-9-0-")],
    }.items():
        sheet = book[name]
        after = sheet.max_row
        heading = next(row[0].row for row in sheet.iter_rows() if row[0].value == "frame")
        assert after >= heading
        for below, line in enumerate(lines, start=2):
            for column, value in enumerate(line, start=1):
                sheet.cell(heading + below, column).value = value
    book.save(path)
    survey = read_survey(read_forms(path))
    assert [g.as_typed for g in survey.girths] == ["3-7-5", "3-9-0-"]
    assert survey.girths[0].girth_mm == pytest.approx(1108.075)


def test_a_notebooks_table_of_old_widths_is_read_as_rows(tmp_path: Path) -> None:
    """Strakes down, frames across; a misspelt heading is still a misspelt heading."""
    path = tmp_path / "old_strakes.csv"
    path.write_text("side,Strake,stem,Frame 8,18,notes\nport,1,120,190,,soft\nport,2,-,180,175,\n")
    form = read_forms(path)["old_strakes"]
    assert form.header == ("side", "strake", "frame", "width", "notes")
    assert form.rows == (
        ("port", "1", "stem", "120", "soft"),
        ("port", "1", "8", "190", "soft"),
        ("port", "2", "8", "180", ""),
        ("port", "2", "18", "175", ""),
    )
    assert form.numbers == (2, 3, 4, 5)
    path.write_text("strake,fram,widht\n1,8,190\n")
    assert read_forms(path)["old_strakes"].header == ("strake", "fram", "widht")
