"""Readings as far as they can be read: what is drawn while a form is still being filled in.

A cell that cannot be read is left blank here and everything round it is drawn; `ribband.survey`
decides what may be planned on. Places are (form, row from 0, column from 0), or None where the
cell is not on a form any more.

Not checked here: anything. Problems are listed by `ribband.app.screens.forms`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from ribband.errors import Problem
from ribband.survey.model import Cell, EndPoint, Girth, Reading, Side
from ribband.survey.offsets import read_offsets
from ribband.survey.places import Places, end_of, places, read_girths, read_points
from ribband.survey.rows import Form, Row
from ribband.survey.typed import headings, stations, texts, typed

__all__ = ["AsTyped", "Rows", "Where", "readings_of"]

Rows = Mapping[str, tuple[Row, ...]]
MEASURED = (
    "vessel", "frames", "girths", "offsets", "ends", "points", "old_strakes", "old_butts", "doubts",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Sheet:
    """Where the rows and columns of a form lie."""

    form: Form
    rows: Mapping[int, int]
    columns: Mapping[str, int]
    position: int

    @classmethod
    def of(cls, form: Form) -> _Sheet:
        names = headings(form)[0]
        rows = {number: at for at, number in enumerate(form.numbers)}
        columns = {name: at for at, name in enumerate(names)}
        return cls(form, rows, columns, _position_row(form))


class Where:
    """Finds the place on a form of a cell as the survey names it."""

    def __init__(self, forms: Mapping[str, Form]) -> None:
        measured = (forms[name] for name in MEASURED if name in forms)
        self._sheets = {form.file: _Sheet.of(form) for form in measured}
        self._forms = forms

    def place(self, cell: Cell | None) -> tuple[str, int, int] | None:
        """Give (form, row, column), or None."""
        sheet = self._sheets.get(cell.file) if cell else None
        if sheet is None or cell is None:
            return None
        row, column = sheet.rows.get(cell.row or sheet.position), sheet.columns.get(cell.column)
        return None if row is None or column is None else (sheet.form.name, row, column)

    def says(self, place: tuple[str, int, int] | None) -> str:
        """Give what is typed at a place."""
        if place is None:
            return ""
        form, row, column = place
        return self._forms[form].rows[row][column]


@dataclass(frozen=True, slots=True)
class AsTyped:
    """What could be read of the forms, in millimetres; nothing faired."""

    rows: Rows
    places: Places
    stations: Mapping[str, float]
    readings: tuple[Reading, ...]
    ends: tuple[EndPoint, ...]
    girths: tuple[Girth, ...]


def readings_of(forms: Mapping[str, Form], unit: str) -> AsTyped:
    """Read as much of the forms of measurements as can be read."""
    rows = {name: _rows(forms[name], unit) for name in MEASURED if name in forms}
    side, half = _said(rows)
    names = stations(forms["offsets"]) if "offsets" in forms else ()
    table = read_offsets(rows.get("offsets", ()), names, side, half, unit)
    where, _ = places(rows, table.stations)
    girths = _placed(rows.get("girths", ()), where, side)
    points, point_ends, _ = read_points(rows.get("points", ()), where, side)
    ends = (*(_end(row, half) for row in rows.get("ends", ())), *point_ends)
    return AsTyped(rows, where, table.stations, (*table.readings, *points), ends, girths)


def _rows(form: Form, unit: str) -> tuple[Row, ...]:
    """Read a form with the cells that cannot be read left blank; a bad heading reads nothing."""
    rows, problems = typed(form, unit)
    if not problems or any(p.row == form.heading_row for p in problems):
        return rows
    return typed(_blanked(form, problems), unit)[0]


def _blanked(form: Form, problems: tuple[Problem, ...]) -> Form:
    names, bad = headings(form)[0], {(p.row, p.column) for p in problems}
    rows = tuple(
        tuple("" if (number, name) in bad else cell for name, cell in zip(names, row, strict=False))
        for number, row in zip(form.numbers, form.rows, strict=True)
    )
    return replace(form, rows=rows)


def _placed(rows: tuple[Row, ...], where: Places, side: Side) -> tuple[Girth, ...]:
    """Read the girths of which it is known where they were taken."""
    girths, problems = read_girths(rows, where, side)
    nowhere = {p.row for p in problems if p.column == "frame" or not p.found}
    return tuple(one for one in girths if one.cell is None or one.cell.row not in nowhere)


def _said(rows: Rows) -> tuple[Side, float | None]:
    """Give the side and the half siding the vessel's form says."""
    said = {str(row.values["item"]).lower(): row.values["value"] for row in rows.get("vessel", ())}
    return said.get("side") or "both", said.get("half siding")


def _end(row: Row, half: float | None) -> EndPoint:
    v, own = row.values, row.values.get("half_siding")
    text = row.as_typed["position"].strip()
    y = own if own is not None else half or 0.0
    end = end_of(v["end"])
    return EndPoint("", end, v["position"], y, v["height"], row.cell("position"), text)


def _position_row(form: Form) -> int:
    """Give the number of the row of positions of the table of offsets; 0 where there is none."""
    rows = zip(form.numbers, texts(form, "line"), strict=True)
    return next((number for number, line in rows if line == "position"), 0)
