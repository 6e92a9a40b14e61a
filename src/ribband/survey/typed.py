"""Every cell of a form read by what its column wants; what is wrong is listed, all of it.

Headings are found whatever their case, spaces or order. A cell that is blank or a dash is not
measured and reads None. In the table of offsets each station is a column of its own and a row is
read by its line. A ``?`` at the end of a measured cell marks it doubtful and is not read.

Not checked here: whether rows agree with each other or with other forms.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import Any

from ribband.errors import Problem
from ribband.survey.columns import (
    LAYOUTS,
    OFFSET_AT,
    OFFSET_LINES,
    Column,
    Kind,
    Layout,
    heading,
    line_named,
    nearest,
    shown,
)
from ribband.survey.csv_forms import letter_of
from ribband.survey.rows import Form, Row
from ribband.units import UNITS, as_written

__all__ = [
    "doubtful", "headings", "kind_at", "of_length", "reads", "stations", "texts", "typed",
    "waits_for_unit",
]  # fmt: skip

_BLANK = {"", "-", "--", "—", "–"}
_LONGEST = 2000  # characters in a cell
_MARKED = {"girths", "points"}  # forms where a ? after a figure marks it doubtful


@lru_cache(maxsize=32)  # of a job's forms one is changed at a time, and all are looked over again
def typed(form: Form, unit: str) -> tuple[tuple[Row, ...], tuple[Problem, ...]]:
    """Read a form: its rows that are right throughout, and every problem of the others.

    >>> cells = (("18ft", "20"), ("18ft", "lots"))
    >>> rows, problems = typed(Form("stock", ("length", "count"), cells, "s.csv", (2, 3)), "mm")
    >>> rows[0].values["count"], problems[0].row, problems[0].wanted
    (20, 3, 'a whole number from 0 to 100000')
    """
    names, problems = headings(form)
    good: list[Row] = []
    wrong = list(problems)
    for number, cells in zip(form.numbers, form.rows, strict=True):
        as_typed = dict(zip(names, cells, strict=False))
        row = Row({}, form.file, number, as_typed)
        values, bad = _offsets_row(row, unit) if form.name == "offsets" else _row(form, row, unit)
        wrong += bad
        if not bad:
            good.append(Row(values, form.file, number, as_typed))
    return (() if problems else tuple(good)), tuple(wrong)


def headings(form: Form) -> tuple[tuple[str, ...], tuple[Problem, ...]]:
    """Give the heading in our spelling (stations as typed), and what is wrong with it."""
    layout = LAYOUTS[form.name]
    own = {column.name for column in layout.columns}
    names = tuple(
        heading(text) if form.name != "offsets" or heading(text) in own else " ".join(text.split())
        for text in form.header
    )
    problems = [*_unknown(form, layout, names), *_missing(form, layout, names)]
    for at, name in enumerate(names):
        if name and name in names[:at]:
            problems.append(_heading_problem(form, name, "each heading once"))
    return names, tuple(problems)


def stations(form: Form) -> tuple[str, ...]:
    """Name the stations of a table of offsets, in the order of its columns."""
    return tuple(name for name in headings(form)[0] if name not in {"line", "at", "notes", ""})


def texts(form: Form, column: str) -> tuple[str, ...]:
    """Give the text of `column` in every row, "" where the form has no such column."""
    names = headings(form)[0]
    if column not in names:
        return ("",) * len(form.rows)
    return tuple(cells[names.index(column)].strip() for cells in form.rows)


def doubtful(text: str) -> bool:
    """Tell whether a cell was marked doubtful by whoever typed it.

    >>> doubtful("3-7-5 ?")
    True
    """
    return text.rstrip().endswith("?")


def waits_for_unit(form: Form, problem: Problem) -> bool:
    """Tell whether a cell of `form` is wrong only for want of a unit.

    So is a blank where a length is wanted, and a length that reads in another unit.
    """
    if problem.row not in form.numbers:
        return False
    kind = kind_at(form, form.rows[form.numbers.index(problem.row)], problem.column)
    if kind is None or isinstance(kind.example, str):
        return False
    plain = problem.found.strip().removesuffix("?").strip()
    return plain in _BLANK or any(reads(plain, kind, unit) for unit in UNITS)


def of_length(form: Form, cells: tuple[str, ...], column: str) -> bool:
    """Tell whether `column` holds a length in the row `cells`; `column` in our spelling.

    >>> of_length(Form("vessel", ("item", "value"), (), "v.csv", ()), ("beam", "7-6-0"), "value")
    True
    """
    kind = kind_at(form, cells, column)
    return kind is not None and not isinstance(kind.example, str)


def kind_at(form: Form, row: tuple[str, ...], column: str) -> Kind | None:
    """Find what a cell may hold, `column` in our spelling; None where anything may stand.

    >>> kind_at(Form("gear", ("item",), (), "gear.csv", ()), ("planer",), "item").choices[1]
    'planer'
    """
    cells = dict(zip(headings(form)[0], row, strict=False))
    layout = LAYOUTS[form.name]
    first = cells.get(layout.columns[0].name, "")
    own = {column.name: column for column in layout.columns}
    if form.name == "offsets" and column not in {"line", "notes"}:
        kinds = OFFSET_AT if column == "at" else OFFSET_LINES
        return kinds.get(line_named(first))
    return own[column].kind_for(first) if column in own else None


def reads(text: str, kind: Kind, unit: str) -> bool:
    """Tell whether a filled cell reads as its kind.

    >>> reads("7-13-2", LAYOUTS["girths"].column("girth").kind, "ft-in-8ths")
    False
    """
    return text.strip() not in _BLANK and not _cell(text, kind, unit)[1]


def _unknown(form: Form, layout: Layout, names: tuple[str, ...]) -> list[Problem]:
    own = tuple(column.name for column in layout.columns)
    problems = []
    for at, name in enumerate(names):
        if not name:
            if any(at < len(cells) and cells[at].strip() for cells in form.rows):
                wanted = "a heading over every filled column"
                problems.append(_heading_problem(form, "", wanted, column=letter_of(at)))
        elif form.name != "offsets" and name not in own:
            near = nearest(name, own)
            hint = f"; perhaps {near}" if near else ""
            wanted = f"one of {', '.join(own)}{hint}"
            problems.append(_heading_problem(form, form.header[at].strip(), wanted, near or own[0]))
    return problems


def _missing(form: Form, layout: Layout, names: tuple[str, ...]) -> list[Problem]:
    problems = [
        _heading_problem(
            form, "", f"a column {column.name}: {column.says}", column.name, column.name
        )
        for column in layout.columns
        if column.needed and column.name not in names
    ]
    if form.name == "offsets" and "at" not in names and _has_lines_at(form, names):
        wanted = "a column at: how high a waterline is, how far out a buttock"
        problems.append(_heading_problem(form, "", wanted, "at", "at"))
    if form.name == "offsets" and not set(names) - {"line", "at", "notes", ""}:
        problems.append(_heading_problem(form, "", "a column for each station", "8"))
    return problems


def _has_lines_at(form: Form, names: tuple[str, ...]) -> bool:
    where = names.index("line") if "line" in names else len(names)
    lines = (cells[where] for cells in form.rows if where < len(cells))
    return any(line_named(text) in OFFSET_AT for text in lines)


def _heading_problem(
    form: Form, found: str, wanted: str, example: str = "", column: str = ""
) -> Problem:
    return Problem(form.file, form.heading_row, column or found, found, wanted, example)


def _row(form: Form, row: Row, unit: str) -> tuple[dict[str, Any], list[Problem]]:
    layout = LAYOUTS[form.name]
    first = row.as_typed.get(layout.columns[0].name, "")
    values: dict[str, Any] = {}
    problems: list[Problem] = []
    for column in layout.columns:
        text = row.as_typed.get(column.name, "")
        plain = text.rstrip().removesuffix("?") if form.name in _MARKED else text
        needed = column.needed and not column.may_gap and column.name in row.as_typed
        value, wanted = _cell(plain, column.kind_for(first), unit, needed=needed)
        values[column.name] = value
        if wanted:
            example = _example(column, column.kind_for(first), as_written(plain, unit))
            problems.append(Problem(row.file, row.number, column.name, text, wanted, example))
    return values, problems


def _cell(text: str, kind: Kind, unit: str, *, needed: bool = False) -> tuple[Any, str]:
    """Read one cell: its value, and what is wanted where it cannot be read."""
    if text.strip() in _BLANK:
        return None, "a value; the cell is blank" if needed else ""
    if len(text) > _LONGEST:
        return None, f"at most {_LONGEST} characters"
    if _spreadsheet_error(text):
        return None, "a value; the spreadsheet shows an error of its own here"
    try:
        return kind.read(text, unit), ""
    except ValueError as error:
        return None, str(error)


def _spreadsheet_error(text: str) -> bool:
    return text.strip().rstrip("!?") in {
        "#REF", "#DIV/0", "#N/A", "#NAME", "#NULL", "#NUM", "#VALUE", "#SPILL", "#CALC",
    }  # fmt: skip


def _example(column: Column, kind: Kind, unit: str) -> str:
    own = kind is column.kind and column.example != ""
    return shown(column.example if own else kind.example, unit)


def _offsets_row(row: Row, unit: str) -> tuple[dict[str, Any], list[Problem]]:
    """Read a row of the table of offsets; `at` of a diagonal is (height mm, slope rad)."""
    text = row.as_typed.get("line", "")
    line = line_named(text)
    if line not in OFFSET_LINES:
        near = nearest(line, OFFSET_LINES)
        wanted = f"one of {', '.join(OFFSET_LINES)}" + (f"; perhaps {near}" if near else "")
        return {}, [Problem(row.file, row.number, "line", text, wanted, near or "waterline")]
    kinds: Mapping[str, Kind | None] = {"line": None, "at": OFFSET_AT.get(line), "notes": None}
    values: dict[str, Any] = {"line": line, "at": None, "notes": row.as_typed.get("notes") or None}
    problems = []
    filled = any(said.strip() for name, said in row.as_typed.items() if name not in kinds)
    for name, said in row.as_typed.items():
        kind = kinds.get(name, OFFSET_LINES[line])
        if kind is None or not name:
            continue
        plain = said.rstrip().removesuffix("?").rstrip()
        needed = name == "at" and filled
        values[name], wanted = _cell(plain, kind, unit, needed=needed)
        if wanted:
            example = shown(kind.example, as_written(plain, unit))
            problems.append(Problem(row.file, row.number, name, said, wanted, example))
    return values, problems
