"""What a form is, as typed and as understood.

A *form* is one sheet of text: a heading and rows. A *row* is the same line after every cell has
been read by what its column wants (a length in millimetres, a count, a choice). The form keeps
the text exactly as typed, so that writing it out again changes nothing.

Not checked here: anything. `ribband.survey.columns` says what each form may hold.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from ribband.errors import Problem
from ribband.survey.model import Cell

__all__ = ["Form", "Forms", "Row"]


@dataclass(frozen=True, slots=True)
class Form:
    """One form as typed: every cell is text, blank cells are "".

    `rows` are the data rows, each as long as `header`; `numbers` are their row numbers as the
    spreadsheet counts them (the heading is often row 1, lower when notes stand above it).
    `notes` are the lines that start with ``#``, each with its row number; `heading_row` is where
    the heading stood; `remarks` is what the reader had to assume, for the findings.

    >>> Form("frames", ("frame", "position"), (("1", "2-0-0"),), "frames.csv", (2,)).numbers
    (2,)
    """

    name: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    file: str
    numbers: tuple[int, ...]
    notes: tuple[tuple[int, str], ...] = ()
    heading_row: int = 1
    remarks: tuple[str, ...] = field(default=(), compare=False)


@dataclass(frozen=True, slots=True)
class Row:
    """One row after reading: `values` in millimetres and so on, None where blank.

    `as_typed` holds the text of every column; `number` is the row as the spreadsheet counts.

    >>> Row({"girth": 1500.0}, "girths.csv", 3, {"girth": "1500"}).cell("girth")
    Cell(file='girths.csv', row=3, column='girth')
    """

    values: Mapping[str, Any]
    file: str
    number: int
    as_typed: Mapping[str, str] = field(default_factory=dict)

    def cell(self, column: str) -> Cell:
        """Name the cell of `column` in this row."""
        return Cell(self.file, self.number, column)

    def text(self, column: str) -> str:
        """Give what `column` holds as text, without blanks about it; "" where there is nothing."""
        value = self.values.get(column)
        return "" if value is None else str(value).strip()

    def problem(self, column: str, wanted: str, example: str = "") -> Problem:
        """Say what is wanted in `column` in place of what was typed there.

        >>> Row({"board": "A7"}, "boards.csv", 3).problem("board", "each board once").found
        'A7'
        """
        found = self.as_typed.get(column) or self.text(column)
        return Problem(self.file, self.number, column, found, wanted, example)


Forms = Mapping[str, Form]
