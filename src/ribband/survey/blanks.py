"""Blank forms for the yard to fill in, as CSV files or one workbook.

Each has its title and notes as lines that start with ``#``, the heading, and an example row whose
first cell starts with ``#``, so that it is never read as data. In a workbook the cells are
formatted as text, so that 3-7-5 stays what it is, and choices drop down.

Not checked here: nothing; what is written can be read back.
"""

from __future__ import annotations

import csv
from pathlib import Path
from typing import Any, Literal

from ribband.survey.columns import ITEMS, LAYOUTS, OFFSET_LINES, Column, Layout, shown
from ribband.units import UNITS, format_bare

__all__ = ["write_blank_forms"]

_ROWS = 500  # rows of a workbook in which choices drop down
_AS_TEXT = "@"  # the number format of cells that are text, whatever is typed
_STATIONS = 12


def write_blank_forms(folder: Path, kind: Literal["csv", "xlsx"], unit: str) -> list[Path]:
    """Write every form, blank, into `folder`; gives the files written.

    `unit` is a key of `ribband.units.UNITS`: the examples are in it, and the vessel's form says it.
    """
    folder.mkdir(parents=True, exist_ok=True)
    if kind == "xlsx":
        return [_workbook(folder / "forms.xlsx", unit)]
    return [_csv(folder / f"{name}.csv", layout, unit) for name, layout in LAYOUTS.items()]


def _csv(path: Path, layout: Layout, unit: str) -> Path:
    with path.open("w", encoding="utf-8-sig", newline="") as file:
        csv.writer(file).writerows(_lines(layout, unit))
    return path


def _lines(layout: Layout, unit: str) -> list[list[str]]:
    """Give the lines of a blank form: notes, heading, example, and rows begun for the yard."""
    says = [f"# {layout.says}. Lengths in {UNITS[unit].says}, or with their unit."]
    says += [f"# {shown(note, unit)}" for note in layout.notes]
    says += [f"# {column.name}: {column.says}" for column in layout.columns]
    heading = [column.name for column in layout.columns]
    example = [_shown(column, unit) for column in layout.columns]
    if layout.name == "offsets":
        stations = [str(station) for station in range(1, _STATIONS + 1)]
        heading[2:2] = stations
        example[2:2] = [format_bare(1108.075, unit)] * _STATIONS
    example[0] = f"# example: {example[0]}"
    return [*([line] for line in says), heading, example, *_begun(layout, unit)]


def _begun(layout: Layout, unit: str) -> list[list[str]]:
    """Give the rows whose first cells are always the same."""
    if layout.name == "vessel":
        return [[item, unit if item == "unit" else ""] for item in ITEMS]
    if layout.name == "offsets":
        return [[line] for line in OFFSET_LINES]
    return []


def _shown(column: Column, unit: str) -> str:
    return shown(column.example if column.example != "" else column.kind.example, unit)


def _workbook(path: Path, unit: str) -> Path:
    from openpyxl import Workbook  # noqa: PLC0415

    book = Workbook()
    book.remove(book.worksheets[0])
    for name, layout in LAYOUTS.items():
        sheet = book.create_sheet(name)
        lines = _lines(layout, unit)
        for line in lines:
            sheet.append(line)
        _dress(sheet, lines, layout)
    book.save(path)
    return path


def _dress(sheet: Any, lines: list[list[str]], layout: Layout) -> None:
    from openpyxl.styles import Font  # noqa: PLC0415
    from openpyxl.utils import get_column_letter  # noqa: PLC0415

    at = next(n for n, line in enumerate(lines, start=1) if not line[0].startswith("#"))
    heading = lines[at - 1]
    for column, name in enumerate(heading, start=1):
        whole = sheet.column_dimensions[get_column_letter(column)]
        whole.width = max(12, len(name) + 3)
        whole.number_format = _AS_TEXT
        sheet.cell(at, column).font = Font(bold=True)
    for row in sheet.iter_rows(min_row=at + 1):
        for cell in row:
            cell.number_format = _AS_TEXT
    for row in (*range(1, at), at + 1):
        for cell in sheet[row]:
            cell.font = Font(italic=True, color="595959")
    sheet.freeze_panes = sheet.cell(at + 1, 1)
    _choices(sheet, heading, layout, at + 2)


def _choices(sheet: Any, heading: list[str], layout: Layout, first: int) -> None:
    """Let choices drop down: in whole columns, and beside the items of the vessel."""
    for at, name in enumerate(heading, start=1):
        column = next((column for column in layout.columns if column.name == name), None)
        if column and column.kind.choices:
            _drop_down(sheet, column.kind.choices, at, first, first + _ROWS)
    for row in range(first, sheet.max_row + 1) if layout.name == "vessel" else ():
        if choices := ITEMS[sheet.cell(row, 1).value].choices:
            _drop_down(sheet, choices, 2, row, row)


def _drop_down(sheet: Any, choices: tuple[str, ...], column: int, first: int, last: int) -> None:
    from openpyxl.utils import get_column_letter  # noqa: PLC0415
    from openpyxl.worksheet.datavalidation import DataValidation  # noqa: PLC0415

    letter = get_column_letter(column)
    valid = DataValidation("list", formula1=f'"{",".join(choices)}"', allow_blank=True)
    valid.add(f"{letter}{first}:{letter}{last}")
    sheet.add_data_validation(valid)
