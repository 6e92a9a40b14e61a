"""Forms as CSV: reading what a yard's spreadsheet saves, and writing it out again.

The file may be UTF-8 (with or without its mark), UTF-16 with a mark, or, failing that, Western
European (cp1252), which is remarked on. Cells are parted by commas, semicolons or tabs, whichever
the heading uses most. Lines whose first cell starts with ``#`` are notes.

Not checked here: what the cells say.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from ribband.errors import InputError, Problem
from ribband.survey.rows import Form

__all__ = ["MOST_CELLS", "MOST_ROWS", "letter_of", "read_csv", "sheet_to_form", "write_csv"]

MOST_BYTES = 8_000_000
MOST_ROWS = 20_000
MOST_CELLS = 400  # in a row
_OLD_WESTERN = "not UTF-8, so read as Western European (cp1252): look at accents and fractions"


def read_csv(path: Path, name: str) -> Form:
    """Read the form `name` from a CSV file.

    Raises
    ------
    InputError : the file is no text, is too big, or its rows do not fit its heading
    """
    text, remarks = _decoded(path)
    lines = _numbered(text, _delimiter(text), path.name)
    return sheet_to_form(lines, name, path.name, remarks)


def write_csv(form: Form, path: Path) -> None:
    """Write a form as it was typed, notes and row numbers in their places."""
    lines: dict[int, Sequence[str]] = {form.heading_row: form.header}
    lines |= {number: (text,) for number, text in form.notes}
    lines |= dict(zip(form.numbers, form.rows, strict=True))
    with path.open("w", encoding="utf-8", newline="") as file:
        plain = csv.writer(file, lineterminator="\r\n")
        quoted = csv.writer(file, lineterminator="\r\n", quoting=csv.QUOTE_ALL)
        for number in range(1, max(lines) + 1):
            telling = number == form.heading_row and {";", "\t"} & set("".join(form.header))
            (quoted if telling else plain).writerow(lines.get(number, ()))


def sheet_to_form(
    lines: Iterable[tuple[int, Sequence[str]]], name: str, file: str, remarks: tuple[str, ...] = ()
) -> Form:
    """Sort numbered lines of cells into notes, a heading and rows.

    Raises
    ------
    InputError : no heading, too many rows, or cells to the right of the heading
    """
    notes: list[tuple[int, str]] = []
    rows: list[tuple[int, Sequence[str]]] = []
    problems: list[Problem] = []
    for number, cells in lines:
        if not any(cell.strip() for cell in cells):
            continue
        if cells[0].lstrip().startswith("#"):
            said = [cell for cell in cells if cell.strip()]
            notes.append((number, said[0] if len(said) == 1 else ", ".join(map(str.strip, said))))
            problems += _hidden(number, cells, file)
        else:
            rows.append((number, cells))
        if len(rows) > MOST_ROWS + 1:
            raise InputError([Problem(file, number, "", "more rows", f"at most {MOST_ROWS} rows")])
    if not rows:
        raise InputError(
            [*problems, Problem(file, 0, "", "no heading", "a heading row above the rows")]
        )
    (heading_row, header), *body = rows
    width = _width(header)
    for number, cells in body:
        problems += _too_wide(number, cells, width, file)
    if problems:
        raise InputError(problems)
    return Form(
        name,
        tuple(header[:width]),
        tuple(tuple((*cells, *[""] * width)[:width]) for _, cells in body),
        file,
        tuple(number for number, _ in body),
        tuple(notes),
        heading_row,
        remarks,
    )


def letter_of(at: int) -> str:
    """Name a column that has no heading, as the spreadsheet does; `at` counts from 0.

    >>> letter_of(0), letter_of(27)
    ('column A', 'column AB')
    """
    letters = ""
    at += 1
    while at:
        at, rest = divmod(at - 1, 26)
        letters = chr(ord("A") + rest) + letters
    return f"column {letters}"


def _decoded(path: Path) -> tuple[str, tuple[str, ...]]:
    size = path.stat().st_size
    if size > MOST_BYTES:
        wanted = f"a file of at most {MOST_BYTES // 10**6} MB"
        raise InputError([Problem(path.name, 0, "", f"{size / 1e6:.0f} MB", wanted)])
    raw = path.read_bytes()
    if raw.startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF")):
        wanted = "CSV text; save the workbook as .xlsx or each sheet as CSV"
        raise InputError([Problem(path.name, 0, "", "another kind of file", wanted)])
    if raw.startswith((b"\xff\xfe", b"\xfe\xff")):
        return raw.decode("utf-16", errors="replace"), ()
    if b"\0" in raw:
        raise InputError([Problem(path.name, 0, "", "bytes that are no text", "CSV text")])
    try:
        return raw.decode("utf-8-sig"), ()
    except UnicodeDecodeError:
        return raw.decode("cp1252", errors="replace"), (_OLD_WESTERN,)


def _delimiter(text: str) -> str:
    lines = (line for line in text.splitlines() if line.strip() and line.lstrip('" ')[:1] != "#")
    first = re.sub(r'"(?:[^"]|"")*"', "", next(lines, ""))
    return max(",;\t", key=first.count)


def _numbered(text: str, delimiter: str, file: str) -> list[tuple[int, Sequence[str]]]:
    """Part the text into numbered lines; a quote mark that is never closed would eat rows."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter, strict=True)
    lines: list[tuple[int, Sequence[str]]] = []
    try:
        for number, cells in enumerate(reader, start=1):
            lines.append((number, cells))
    except csv.Error:
        number = len(lines) + 1
        found = text.splitlines()[number - 1][:60] if number <= len(text.splitlines()) else ""
        wanted = 'quote marks that open and close round a whole cell, with "" for one inside'
        raise InputError([Problem(file, number, "", found, wanted, '"3\' 7 5/8"""')]) from None
    return lines


def _width(header: Sequence[str]) -> int:
    return max(at for at, text in enumerate(header, start=1) if text.strip())


def _too_wide(number: int, cells: Sequence[str], width: int, file: str) -> list[Problem]:
    if not any(cell.strip() for cell in cells[width:]):
        return []
    wanted = f"{width} cells, as in the heading; put text that holds commas in quote marks"
    at = next(at for at, cell in enumerate(cells) if at >= width and cell.strip())
    return [Problem(file, number, letter_of(at), cells[at].strip()[:60], wanted)]


def _hidden(number: int, cells: Sequence[str], file: str) -> list[Problem]:
    """Refuse a row of figures behind a #, which would be taken for a note and lost."""
    first = cells[0].strip()
    if not re.fullmatch(r"#\s*\d+\w?|#(REF|DIV/0|N/A|NAME|NULL|NUM|VALUE)[!?]?", first):
        return []
    if not any(cell.strip() for cell in cells[1:]):
        return []
    wanted = "no # before a row of measurements; lines that start with # are notes"
    return [Problem(file, number, "", first, wanted, first.lstrip("# "))]
