"""Forms as CSV: reading what a yard's spreadsheet saves, and writing it out again.

The file may be UTF-8 (with or without its mark), UTF-16 with a mark, or, failing that, Western
European (cp1252), which is remarked on. Cells are parted by commas, semicolons or tabs, whichever
the heading uses most. Lines whose first cell starts with ``#`` are notes. Written out, a cell that
a spreadsheet would run as a formula has an apostrophe before it, taken off when read again.

Not checked here: what the cells say.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Sequence
from pathlib import Path

from ribband.errors import InputError, Problem
from ribband.survey.defused import defused, taken_back
from ribband.survey.rows import Form

__all__ = ["MOST_CELLS", "MOST_ROWS", "letter_of", "read_csv", "sheet_to_form", "write_csv"]

MOST_BYTES = 8_000_000
MOST_ROWS = 20_000
MOST_LINES = 3 * MOST_ROWS  # notes and blank ones counted
MOST_CELLS = 400  # in a row
_OLD_WESTERN = "not UTF-8, so read as Western European (cp1252): look at accents and fractions"


def read_csv(path: Path, name: str) -> tuple[Form, tuple[Problem, ...]]:
    """Read the form `name` from a CSV file; gives what is wrong with its rows too.

    Raises
    ------
    InputError : the file is no text, is too big, or has no heading
    """
    text, remarks = _decoded(path)
    lines = _numbered(text, _delimiter(text), path.name)
    return sheet_to_form(lines, name, path.name, remarks)


def write_csv(form: Form, path: Path) -> None:
    """Write a form as it was typed, notes and row numbers in their places."""
    lines = _laid_out(form)
    with path.open("w", encoding="utf-8", newline="") as file:
        plain = csv.writer(file, lineterminator="\r\n")
        quoted = csv.writer(file, lineterminator="\r\n", quoting=csv.QUOTE_ALL)
        for number in range(1, max(lines) + 1):
            telling = number == form.heading_row and {";", "\t"} & set("".join(form.header))
            cells = [defused(cell) for cell in lines.get(number, ())]
            (quoted if telling else plain).writerow(cells)


def _laid_out(form: Form) -> dict[int, Sequence[str]]:
    """Put every line at its number; one after the other if two claim the same place."""
    notes = [(number, (text,)) for number, text in form.notes]
    rows = list(zip(form.numbers, form.rows, strict=True))
    every: list[tuple[int, Sequence[str]]] = [*notes, (form.heading_row, form.header), *rows]
    lines = dict(every)
    if len(lines) == len(every) and min(lines) >= 1 and max(lines) <= MOST_ROWS * 2:
        return lines
    return dict(enumerate((line for _, line in every), start=1))


def sheet_to_form(
    lines: Iterable[tuple[int, Sequence[str]]], name: str, file: str, remarks: tuple[str, ...] = ()
) -> tuple[Form, tuple[Problem, ...]]:
    """Sort numbered lines of cells into notes, a heading and rows; give what is wrong with them.

    Raises
    ------
    InputError : there is no heading, or there are too many rows
    """
    filled = [(number, cells) for number, cells in lines if any(cell.strip() for cell in cells)]
    notes = [line for line in filled if line[1][0].lstrip().startswith("#")]
    rows = [line for line in filled if not line[1][0].lstrip().startswith("#")]
    if wrong := _no_heading(rows, file) or _too_many(rows, file):
        raise InputError([wrong])
    (heading_row, header), *body = rows
    width = max(at for at, text in enumerate(header, start=1) if text.strip())
    problems = [problem for number, cells in notes for problem in _hidden(number, cells, file)]
    problems += [p for number, cells in body for p in _too_wide(number, cells, width, file)]
    form = Form(
        name,
        tuple(header[:width]),
        tuple(tuple((*cells, *[""] * width)[:width]) for _, cells in body),
        file,
        tuple(number for number, _ in body),
        tuple((number, _note(cells)) for number, cells in notes),
        heading_row,
        remarks,
    )
    return form, tuple(problems)


def _note(cells: Sequence[str]) -> str:
    said = [cell for cell in cells if cell.strip()]
    return said[0] if len(said) == 1 else ", ".join(cell.strip() for cell in said)


def _no_heading(rows: Sequence[tuple[int, Sequence[str]]], file: str) -> Problem | None:
    if not rows:
        return Problem(file, 0, "", "no heading", "a heading row above the rows")
    number, cells = rows[0]
    said = [cell.strip() for cell in cells if cell.strip()]
    if len(said) > 1:
        return None
    wanted = "the heading, with all its columns; a title above it starts with #"
    return Problem(file, number, "", said[0][:60], wanted, f"# {said[0][:60]}")


def _too_many(rows: Sequence[tuple[int, Sequence[str]]], file: str) -> Problem | None:
    if len(rows) <= MOST_ROWS + 1:
        return None
    return _more_rows(file, rows[MOST_ROWS + 1][0])


def _more_rows(file: str, number: int) -> Problem:
    return Problem(file, number, "", "more rows", f"at most {MOST_ROWS} rows")


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
    if raw.lstrip().startswith((b"PK\x03\x04", b"\xd0\xcf\x11\xe0", b"%PDF", b"{\\rtf", b"<")):
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
            if number > MOST_LINES:
                raise InputError([_more_rows(file, number)])
            lines.append((number, [taken_back(cell) for cell in cells]))
    except csv.Error:
        number = len(lines) + 1
        found = text.splitlines()[number - 1][:60] if number <= len(text.splitlines()) else ""
        wanted = 'quote marks that open and close round a whole cell, with "" for one inside'
        raise InputError([Problem(file, number, "", found, wanted, '"3\' 7 5/8"""')]) from None
    return lines


def _too_wide(number: int, cells: Sequence[str], width: int, file: str) -> list[Problem]:
    if not any(cell.strip() for cell in cells[width:]):
        return []
    wanted = (
        f"no more cells than the {width} of the heading; put text that holds commas in quote marks"
    )
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
