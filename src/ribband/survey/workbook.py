"""Forms as an XLSX workbook: one sheet a form, named as the form.

A number typed as a number is read as it stands; a formula by the value the spreadsheet last
worked out. A date where a length should be is shown as a date, so that reading the length refuses
it and says how to mend it. Merged cells and formulas without a kept value are refused. Before
anything is opened the file is weighed: a small file that unpacks to a very large one is refused.

Not checked here: what the cells say. Cells to the right of the 400th column are not looked at.
"""

from __future__ import annotations

import datetime
import re
import struct
import warnings
import zipfile
import zlib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from ribband.errors import Problem
from ribband.survey.csv_forms import MOST_CELLS, MOST_ROWS, letter_of, sheet_to_form
from ribband.survey.defused import taken_back
from ribband.survey.rows import Form

__all__ = ["Sheet", "read_workbook"]

MOST_BYTES = 20_000_000
MOST_UNPACKED = 60_000_000
MOST_PARTS = 500
MOST_LINES = MOST_ROWS + 500


@dataclass(frozen=True, slots=True)
class Sheet:
    """A sheet with something on it: its name and its numbered lines."""

    name: str
    lines: tuple[tuple[int, tuple[str, ...]], ...]
    file: str

    def form(self, name: str) -> tuple[Form, tuple[Problem, ...]]:
        """Read the sheet as the form `name`, as `sheet_to_form` does."""
        return sheet_to_form(self.lines, name, self.file)


def read_workbook(path: Path, point: str = ".") -> tuple[tuple[Sheet, ...], tuple[Problem, ...]]:
    """Read every sheet that is not empty, with the problems of cells that cannot be read.

    `point` is the mark numbers are written with; a spreadsheet keeps them without one.
    """
    if wrong := _weigh(path):
        return (), (wrong,)
    with warnings.catch_warnings():  # of drawings and styles that do not matter here
        warnings.simplefilter("ignore")
        return _read(path, point)


def _read(path: Path, point: str) -> tuple[tuple[Sheet, ...], tuple[Problem, ...]]:
    problems: list[Problem] = []
    try:
        with path.open("rb") as one, path.open("rb") as two:  # closed also where it is damaged
            return tuple(_sheets(path, one, two, problems, point)), tuple(problems)
    except MemoryError:
        found = "too much for this machine's memory"
        return (), (*problems, Problem(path.name, 0, "", found, "a smaller workbook"))
    except Exception:  # a damaged workbook fails in a hundred ways
        return (), (*problems, _unreadable(path))


def _sheets(
    path: Path, values: BinaryIO, formulas: BinaryIO, problems: list[Problem], point: str
) -> Iterator[Sheet]:
    from openpyxl import load_workbook  # noqa: PLC0415

    book = load_workbook(values, read_only=True, data_only=True, keep_links=False)
    asked = load_workbook(formulas, read_only=True, keep_links=False)
    for sheet in book.worksheets:
        found, wrongs = _sheet(path, sheet, asked[sheet.title], point)
        problems += wrongs
        if found.lines:
            yield found


def _unreadable(path: Path) -> Problem:
    return Problem(path.name, 0, "", "a damaged workbook", "an XLSX workbook that opens")


def _weigh(path: Path) -> Problem | None:
    """Refuse what is no workbook, or would fill the memory, before it is unpacked."""
    if path.stat().st_size > MOST_BYTES:
        return Problem(path.name, 0, "", "a very large file", f"at most {MOST_BYTES // 10**6} MB")
    try:
        with zipfile.ZipFile(path) as packed:
            parts = packed.infolist()
            if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_UNPACKED:
                wanted = f"at most {MOST_UNPACKED // 10**6} MB when unpacked"
                return Problem(path.name, 0, "", "a workbook that unpacks to far more", wanted)
            if "xl/workbook.xml" not in packed.namelist():
                return Problem(path.name, 0, "", "another kind of file", "an XLSX workbook")
            if any(_defines(packed.read(part)) for part in parts if part.filename.endswith("xml")):
                return Problem(path.name, 0, "", "XML with definitions of its own", "plain XLSX")
    except (zipfile.BadZipFile, zlib.error, OSError, RuntimeError, NotImplementedError, EOFError,
            ValueError, struct.error):  # fmt: skip
        return _unreadable(path)
    return None


def _defines(xml: bytes) -> bool:
    plain = xml.replace(b"\0", b"")
    return b"<!DOCTYPE" in plain or b"<!ENTITY" in plain


def _sheet(path: Path, sheet: Any, asked: Any, point: str) -> tuple[Sheet, list[Problem]]:
    file = f"{path.name} [{sheet.title}]"
    problems = _merged(path, sheet, file)
    lines: list[tuple[int, tuple[str, ...]]] = []
    pairs = zip(
        sheet.iter_rows(values_only=True, max_col=MOST_CELLS),
        asked.iter_rows(values_only=True, max_col=MOST_CELLS),
        strict=False,
    )
    for number, (values, formulas) in enumerate(pairs, start=1):
        if number > MOST_LINES:
            wanted = f"at most {MOST_LINES} rows, notes and blank ones counted"
            problems.append(Problem(file, number, "", "more rows", wanted))
            break
        cells = tuple(_text(value, point) for value in values)
        if any(cells):
            lines.append((number, cells))
        problems += _unworked(file, number, values, formulas)
    return Sheet(sheet.title, tuple(_trimmed(lines)), file), problems


def _trimmed(
    lines: Sequence[tuple[int, tuple[str, ...]]],
) -> Iterator[tuple[int, tuple[str, ...]]]:
    for number, cells in lines:
        last = max(at for at, cell in enumerate(cells, start=1) if cell)
        yield number, cells[:last]


def _text(value: object, point: str) -> str:
    """Write a cell as text; whole numbers without a point, dates so that they show as dates."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        text = f"{value:.9f}".rstrip("0").rstrip(".") if abs(value) < 1e12 else str(value)
        return text.replace(".", point)
    if isinstance(value, datetime.datetime):
        return value.date().isoformat()
    return taken_back(value) if isinstance(value, str) else str(value)


def _unworked(
    file: str, number: int, values: Sequence[object], formulas: Sequence[object]
) -> list[Problem]:
    return [
        Problem(
            file, number, letter_of(at), str(formula)[:60],
            "a value; the spreadsheet kept no result of this formula, so type the figure",
        )
        for at, (value, formula) in enumerate(zip(values, formulas, strict=False))
        if value is None and formula is not None
    ]  # fmt: skip


def _merged(path: Path, sheet: Any, file: str) -> list[Problem]:
    """Find merged cells below notes; only the first of them would hold the value."""
    with zipfile.ZipFile(path) as packed:
        name = str(getattr(sheet, "_worksheet_path", "")).lstrip("/")
        xml = packed.read(name).decode("utf-8", "replace") if name in packed.namelist() else ""
    notes = {
        number
        for number, (first,) in enumerate(
            sheet.iter_rows(max_col=1, max_row=200, values_only=True), start=1
        )
        if str(first or "").startswith("#")
    }
    return [
        Problem(file, int(row), f"column {column}", "merged cells", "one value in each cell")
        for column, row in re.findall(r'<(?:\w+:)?mergeCell [^>]*?ref="([A-Z]+)(\d+):', xml)
        if int(row) not in notes
    ]
