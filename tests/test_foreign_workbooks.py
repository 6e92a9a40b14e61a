"""Workbooks and files as other office programs write them: read right, or the cell is named."""

from __future__ import annotations

import zipfile
from pathlib import Path
from typing import Any

import pytest
from openpyxl import Workbook
from openpyxl.chart import BarChart, Reference

from made_forms import problems_in
from ribband.survey import read_forms, read_survey

NS = "http://schemas.openxmlformats.org"
MAIN = f"{NS}/spreadsheetml/2006/main"
REL = f"{NS}/officeDocument/2006/relationships"
TYPES = (
    f'<Types xmlns="{NS}/package/2006/content-types">'
    '<Default Extension="xml" ContentType="application/xml"/>'
    '<Default Extension="rels" '
    'ContentType="application/vnd.openxmlformats-package.relationships+xml"/>'
    '<Override PartName="/xl/workbook.xml" ContentType="application/'
    'vnd.openxmlformats-officedocument.spreadsheetml.sheet.main+xml"/>'
    '<Override PartName="/xl/worksheets/first.xml" ContentType="application/'
    'vnd.openxmlformats-officedocument.spreadsheetml.worksheet+xml"/>'
    '<Override PartName="/xl/sharedStrings.xml" ContentType="application/'
    'vnd.openxmlformats-officedocument.spreadsheetml.sharedStrings+xml"/>'
    '<Override PartName="/xl/styles.xml" ContentType="application/'
    'vnd.openxmlformats-officedocument.spreadsheetml.styles+xml"/></Types>'
)
STYLES = (
    f'<styleSheet xmlns="{MAIN}"><numFmts count="1">'
    '<numFmt numFmtId="164" formatCode="[$-809]d\\-mmm\\-yy;@"/></numFmts>'
    '<fonts count="1"><font/></fonts><fills count="1"><fill><patternFill/></fill></fills>'
    '<borders count="1"><border/></borders><cellStyleXfs count="1"><xf/></cellStyleXfs>'
    '<cellXfs count="3"><xf numFmtId="0"/><xf numFmtId="49"/><xf numFmtId="164"/></cellXfs>'
    "</styleSheet>"
)
STRINGS = (
    f'<sst xmlns="{MAIN}"><si><t>frame</t></si><si><t>position</t></si>'
    "<si><r><t>gir</t></r><r><rPr><b/></rPr><t>th</t></r></si>"
    '<si><t xml:space="preserve"> 3-7-5 </t></si></sst>'
)


def text(cell: str, said: str) -> str:
    return f'<c r="{cell}" t="inlineStr" s="1"><is><t>{said}</t></is></c>'


ROWS = (
    '<row r="1"><c r="A1" t="s"><v>0</v></c><c r="B1" t="s"><v>1</v></c>'
    '<c r="C1" t="s"><v>2</v></c><c r="H1" s="1"/></row>'
    f'<row r="2">{text("A2", "1")}{text("B2", "0ft")}<c r="C2" t="s"><v>3</v></c></row>'
    f'<row r="3"><c r="A3"><v>2</v></c>{text("B3", "2-0-0")}'
    '<c r="C3" t="str"><f>C2</f><v>3-9-0</v></c></row>'
)


def hand_made(path: Path, rows: str = ROWS, after: str = "", prefix: str = "") -> Path:
    """Write a workbook part by part; `prefix` names the spreadsheet's own namespace."""
    p = f"{prefix}:" if prefix else ""
    named = f"xmlns:{prefix}" if prefix else "xmlns"
    body = f"<sheetViews><sheetView workbookViewId='0'/></sheetViews><sheetData>{rows}</sheetData>"
    body = (body + after).replace("</", "\0").replace("<", f"<{p}").replace("\0", f"</{p}")
    parts = {
        "[Content_Types].xml": TYPES,
        "_rels/.rels": f'<Relationships xmlns="{NS}/package/2006/relationships"><Relationship '
        f'Id="r1" Type="{REL}/officeDocument" Target="/xl/workbook.xml"/></Relationships>',
        "xl/workbook.xml": f'<workbook xmlns="{MAIN}" xmlns:r="{REL}"><bookViews><workbookView/>'
        '</bookViews><sheets><sheet name="Girths" sheetId="7" r:id="r9"/></sheets></workbook>',
        "xl/_rels/workbook.xml.rels": f'<Relationships xmlns="{NS}/package/2006/relationships">'
        f'<Relationship Id="r9" Type="{REL}/worksheet" Target="/xl/worksheets/first.xml"/>'
        f'<Relationship Id="r2" Type="{REL}/styles" Target="styles.xml"/>'
        f'<Relationship Id="r3" Type="{REL}/sharedStrings" Target="sharedStrings.xml"/>'
        "</Relationships>",
        "xl/worksheets/first.xml": f'<{p}worksheet {named}="{MAIN}">{body}</{p}worksheet>',
        "xl/styles.xml": STYLES,
        "xl/sharedStrings.xml": STRINGS,
    }
    with zipfile.ZipFile(path, "w") as packed:
        for name, xml in parts.items():
            packed.writestr(name, xml)
    return path


@pytest.mark.parametrize("prefix", ["", "x"])
def test_strings_in_place_and_shared_and_kept_results_are_read(tmp_path: Path, prefix: str) -> None:
    path = hand_made(tmp_path / "forms.xlsx", prefix=prefix)
    survey = read_survey(read_forms(path))
    assert [g.as_typed for g in survey.girths] == ["3-7-5", "3-9-0"]
    assert survey.girths[0].girth_mm == pytest.approx(1108.075)
    assert [f.name for f in survey.frames] == ["1", "2"]


def test_a_date_by_its_style_alone_is_named(tmp_path: Path) -> None:
    row = '<row r="4">' + text("A4", "3") + text("B4", "4-0-0") + '<c r="C4" s="2"><v>38418</v></c>'
    problems = problems_in(hand_made(tmp_path / "forms.xlsx", ROWS + row + "</row>"))
    (problem,) = problems
    assert (problem.row, problem.column) == (4, "girth")
    assert "made a date of it" in problem.wanted


def test_merged_cells_are_named_whatever_the_prefix(tmp_path: Path) -> None:
    for prefix in ("", "x"):
        path = hand_made(
            tmp_path / f"forms{prefix}.xlsx",
            after="<mergeCells count='1'><mergeCell ref=\"C2:C3\"/></mergeCells>",
            prefix=prefix,
        )
        assert [(p.row, p.column, p.found) for p in problems_in(path)] == [
            (2, "column C", "merged cells")
        ]


def made(path: Path, fill_in: Any) -> Path:
    book = Workbook()
    sheet = book.worksheets[0]
    sheet.title = "girths"
    for line in (("frame", "position", "girth"), ("1", "0ft", "3-7-5"), ("2", "2-0-0", "3-9-0")):
        sheet.append(line)
    fill_in(book)
    book.save(path)
    return path


def test_a_sheet_that_is_a_chart_is_passed_over(tmp_path: Path) -> None:
    def chart(book: Any) -> None:
        bars = BarChart()
        bars.add_data(Reference(book["girths"], min_col=3, min_row=1, max_row=3))
        book.create_chartsheet("picture", 0).add_chart(bars)

    assert problems_in(made(tmp_path / "forms.xlsx", chart)) == ()


def test_one_form_on_two_sheets_is_refused(tmp_path: Path) -> None:
    def again(book: Any) -> None:
        book.copy_worksheet(book["girths"]).title = "Girths "

    problem = problems_in(made(tmp_path / "forms.xlsx", again))[0]
    assert problem.found == "girths again"


def test_empty_columns_and_rows_that_were_touched_are_passed_over(tmp_path: Path) -> None:
    def touched(book: Any) -> None:
        sheet = book["girths"]
        sheet["L40"] = "   "
        sheet["G2"].number_format = "@"
        sheet.column_dimensions["Z"].width = 30

    assert problems_in(made(tmp_path / "forms.xlsx", touched)) == ()


@pytest.mark.parametrize(
    ("raw", "words"),
    [
        (b"%PDF-1.7\n%\xe2\xe3\xcf\xd3\n", "CSV text"),
        (b"\xff\xd8\xff\xe0\0\x10JFIF", "CSV text"),
        (b"<html><body><table><tr><td>frame</td></tr></table></body></html>", "CSV text"),
        (b"{\\rtf1\\ansi frame, girth}", "CSV text"),
    ],
)
def test_another_kind_of_file_named_csv(raw: bytes, words: str, tmp_path: Path) -> None:
    (tmp_path / "girths.csv").write_bytes(raw)
    problems = problems_in(tmp_path)
    assert problems
    assert all(p.file == "girths.csv" for p in problems)
    assert any(words in p.wanted for p in problems)


SEMICOLONS = "frame;position;girth\r\n1;0;1,108\r\n2;610;1.143\r\n"


@pytest.mark.parametrize("encoding", ["cp1252", "utf-8-sig", "utf-16"])
def test_decimal_commas_between_semicolons_are_named_every_one(
    encoding: str, tmp_path: Path
) -> None:
    (tmp_path / "girths.csv").write_bytes(SEMICOLONS.encode(encoding))
    (tmp_path / "vessel.csv").write_text("item;value\nunit;mm\n")
    problems = problems_in(tmp_path)
    assert [(p.row, p.column, p.found) for p in problems] == [
        (2, "girth", "1,108"),
        (3, "girth", "1.143"),
    ]
    assert "point for decimals" in problems[0].wanted
