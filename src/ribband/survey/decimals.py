"""Figures with a decimal comma, as the spreadsheets of many countries write them.

Bare, ``1,250`` could be one and a quarter or one thousand two hundred and fifty, so a comma is
never guessed at. Where the yard says of its forms that their commas are decimals, every figure is
written with a point as it is taken in; in such forms a point could only be a mark for thousands or
a slip, and is refused. *Figure*: a cell that holds a length or a number; so do the flaws and more
widths of a board and the values of rules, among their words. Names and notes stay as they are.

Not checked here: whether a figure with its point is one that can be.
"""

from __future__ import annotations

import re
from collections import Counter, defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Literal

from ribband.errors import Problem
from ribband.survey.rows import Form, Forms
from ribband.survey.typed import headings, kind_at, reads
from ribband.units import UNITS, counted

__all__ = ["AS_DECIMALS", "Decimal", "commas_once", "with_points"]

Decimal = Literal["point", "comma"]
AS_DECIMALS = "--decimal comma"
_AMONG_WORDS = {("boards", "flaws"), ("boards", "widths"), ("rules", "value")}
_COMMA = re.compile(r"(?<=[\d\s-]),(?=\d)|^,(?=\d)")
_POINT = re.compile(r"\.\d")
_MANY = 3  # cells from which on they are told once


def with_points(forms: Forms) -> tuple[dict[str, Form], tuple[Problem, ...]]:
    """Give the forms with the decimal commas of their figures as points, and figures with points.

    >>> rows = (("frame 1,5", "1587,5", "10,5 m"), ("2", "1.587", ""))
    >>> form = Form("girths", ("frame", "girth", "notes"), rows, "girths.csv", (2, 3))
    >>> given, wrong = with_points({"girths": form})
    >>> given["girths"].rows[0], wrong[0].row, wrong[0].found
    (('frame 1,5', '1587.5', '10,5 m'), 3, '1.587')
    """
    given: dict[str, Form] = {}
    problems: list[Problem] = []
    for name, form in forms.items():
        given[name], wrong = _with_points(form)
        problems += wrong
    return given, tuple(problems)


def commas_once(forms: Forms, problems: Sequence[Problem]) -> tuple[Problem, ...]:
    """Give the problems with those of decimal commas told once a file, where they are many."""
    commas = [problem for problem in problems if _of_comma(forms, problem)]
    if len(commas) < _MANY:
        return tuple(problems)
    told = set(commas)
    return (*_by_file(commas), *(problem for problem in problems if problem not in told))


def _with_points(form: Form) -> tuple[Form, list[Problem]]:
    names = headings(form)[0]
    rows, problems = [], []
    for number, cells in zip(form.numbers, form.rows, strict=True):
        now = list(cells)
        for at, text in enumerate(cells):
            if not _holds_figures(form, cells, names[at]):
                continue
            if _POINT.search(text):
                wanted = "a comma for decimals, as was said of this file, and no mark for thousands"
                problems.append(Problem(form.file, number, names[at], text, wanted, "1587,5"))
            now[at] = _COMMA.sub(".", text)
        rows.append(tuple(now))
    return replace(form, rows=tuple(rows)), problems


def _holds_figures(form: Form, cells: tuple[str, ...], column: str) -> bool:
    kind = kind_at(form, cells, column)
    return (kind is not None and kind.figure) or (form.name, column) in _AMONG_WORDS


def _of_comma(forms: Forms, problem: Problem) -> bool:
    """Tell whether a cell is wrong for its comma alone."""
    form = next((form for form in forms.values() if form.file == problem.file), None)
    if form is None or "," not in problem.found or problem.row not in form.numbers:
        return False
    cells = form.rows[form.numbers.index(problem.row)]
    kind = kind_at(form, cells, problem.column)
    if kind is None or not kind.figure:
        return False
    return any(reads(_pointed(problem.found), kind, unit) for unit in UNITS)


def _pointed(text: str) -> str:
    """Write a figure with a point for its comma, and without its marks for thousands."""
    return _COMMA.sub(".", re.sub(r"\.(?=\d{3}(\D|$))", "", text)).rstrip(" ?")


def _by_file(commas: Sequence[Problem]) -> Iterator[Problem]:
    files: dict[str, list[Problem]] = defaultdict(list)
    for problem in commas:
        files[problem.file].append(problem)
    for file, own in files.items():
        first, by = own[0], Counter(problem.column for problem in own)
        columns = ", ".join(f"{column} {count}" for column, count in by.items())
        yield Problem(
            file, 0, "",
            f"{counted(len(own), 'figure')} with a comma ({columns}), such as {first.found} "
            f"in row {first.row}",
            "a point for decimals and no mark for thousands: set the spreadsheet so and save it "
            f"again; or, if the commas are decimals ({_pointed(first.found)}), say so",
            AS_DECIMALS,
        )  # fmt: skip
