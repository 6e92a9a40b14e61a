"""The table of offsets: rows by line and columns by station, into readings in space.

A waterline's cells are half-breadths at a set height; a buttock's are heights at a set
half-breadth; a diagonal's are distances d from the centreline, down a slope a from its height h
there, so a cell stands at y = d cos a, z = h - d sin a. Height and half-breadth of rabbet and
sheer are two readings of one point, one measured in z and one in y.

A blank cell is a *gap* when the line is known to pass the station: it lies between measured
cells, or between the rabbet and sheer there. Other blanks are where the line has ended.

Not checked here: fairness.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from ribband.errors import Problem
from ribband.findings import Finding, Severity
from ribband.survey.model import FrameMark, Reading, Side
from ribband.survey.rows import Row
from ribband.survey.typed import doubtful
from ribband.units import format_bare

__all__ = ["DOUBTFUL", "Table", "read_offsets"]

DOUBTFUL = "doubtful as typed"
Cells = Mapping[str, float]
_WHAT = {"waterline": "half-breadth", "buttock": "height", "diagonal": "distance"}


@dataclass(frozen=True, slots=True)
class Table:
    """What the table of offsets held: station positions, readings, gaps and problems.

    `marks` are the stations with the cells of their positions.
    """

    stations: Mapping[str, float]
    readings: tuple[Reading, ...]
    findings: tuple[Finding, ...]
    problems: tuple[Problem, ...]
    marks: tuple[FrameMark, ...] = ()


def read_offsets(
    rows: Sequence[Row], stations: Sequence[str], side: Side, half_siding_mm: float | None,
    unit: str = "mm",
) -> Table:  # fmt: skip
    """Read the table; `half_siding_mm` stands in for a blank rabbet half-breadth.

    `unit` is the job's own, for what is said of problems.

    Rows and columns in which nothing was filled in are left out.
    """
    stations = [name for name in stations if any(_has(row, name) for row in rows)]
    rows = [row for row in rows if any(_has(row, name) for name in stations)]
    if not rows:
        return Table({}, (), (), ())
    problems = _repeated(rows)
    position = next((row for row in rows if row.values["line"] == "position"), None)
    if position is None:
        wanted = "a row position: how far each station stands aft"
        problems.append(Problem(rows[0].file, 0, "line", "no position", wanted, "position"))
        return Table({}, (), (), tuple(problems))
    x = _cells(position, dict.fromkeys(stations, 0.0))
    wanted = "how far the station stands aft"
    problems += [
        Problem(position.file, position.number, name, "", wanted, format_bare(6096.0, unit))
        for name in stations
        if name not in x
    ]
    problems += _wandering(position, x)
    read = {name: x[name] for name in x if _any_read(rows, name)}
    edges = {role: _edge(rows, role, read, side, half_siding_mm) for role in ("rabbet", "sheer")}
    readings = [reading for edge in edges.values() for reading in edge.readings]
    findings = [*_blank(x, read), *(f for edge in edges.values() for f in edge.findings)]
    for row in rows:
        if row.values["line"] in _WHAT:
            readings += [_reading(row, name, read, side) for name in read if _has(row, name)]
            findings += _gaps(row, read, edges)
    marks = tuple(FrameMark(name, x[name], cell=position.cell(name)) for name in x)
    return Table(x, tuple(readings), tuple(findings), tuple(problems), marks)


@dataclass(frozen=True, slots=True)
class _Edge:
    height: Cells
    breadth: Cells
    readings: tuple[Reading, ...]
    findings: tuple[Finding, ...]


def _has(row: Row, station: str) -> bool:
    return row.values.get(station) is not None


def _any_read(rows: Sequence[Row], station: str) -> bool:
    return any(_has(row, station) for row in rows if row.values["line"] != "position")


def _blank(x: Cells, read: Cells) -> list[Finding]:
    """Report stations that were given a position and no reading, all in one line."""
    names = [name for name in x if name not in read]
    if not names:
        return []
    where = _at_stations(names)
    says = "nothing was read: the column holds a position only"
    return [Finding("S002", Severity.NOTE, "survey", where, says, "faired across")]


def _repeated(rows: Sequence[Row]) -> list[Problem]:
    seen: set[tuple[object, object]] = set()
    problems = []
    for row in rows:
        line = (row.values["line"], row.values["at"])
        if line in seen:
            found = f"{row.values['line']} {row.as_typed.get('at', '')}".strip()
            problems.append(Problem(row.file, row.number, "line", found, "each line once"))
        seen.add(line)
    return problems


def _wandering(position: Row, x: Cells) -> list[Problem]:
    """Positions must run one way across the table; name the ones that turn back."""
    names = list(x)
    rises = sum(x[b] > x[a] for a, b in pairwise(names))
    sign = 1 if 2 * rises >= len(names) - 1 else -1
    wanted = "positions that run one way from column to column"
    return [
        Problem(position.file, position.number, b, position.as_typed[b], wanted)
        for a, b in pairwise(names)
        if sign * (x[b] - x[a]) <= 0
    ]


def _edge(
    rows: Sequence[Row], role: str, x: Cells, side: Side, half_siding_mm: float | None
) -> _Edge:
    height = _row_of(rows, f"{role} height")
    breadth = _row_of(rows, f"{role} half-breadth")
    heights, breadths = _cells(height, x), _cells(breadth, x)
    assumed = {}
    if role == "rabbet" and half_siding_mm is not None:
        assumed = {name: half_siding_mm for name in heights if name not in breadths}
    whole = {**breadths, **assumed}
    readings = []
    for name in [n for n in x if n in heights and n in whole]:
        point = (x[name], whole[name], heights[name])
        for row, cells in ((height, heights), (breadth, breadths)):
            if row and name in cells:
                readings.append(_edge_reading(row, name, point, side))
    return _Edge(heights, whole, tuple(readings), tuple(_halves(role, x, heights, whole)))


def _row_of(rows: Sequence[Row], line: str) -> Row | None:
    return next((row for row in rows if row.values["line"] == line), None)


def _cells(row: Row | None, x: Cells) -> dict[str, float]:
    return {name: float(row.values[name]) for name in x if _has(row, name)} if row else {}


def _edge_reading(row: Row, station: str, point: tuple[float, float, float], side: Side) -> Reading:
    line = str(row.values["line"])
    text = row.as_typed[station].strip()
    return Reading(
        key=f"offsets: {line} at station {station}",
        station=station,
        line=line,
        role="rabbet" if line.startswith("rabbet") else "sheer",
        side=side,
        x_mm=point[0],
        y_mm=point[1],
        z_mm=point[2],
        measured="z" if line.endswith("height") else "y",
        value_mm=float(row.values[station]),
        cell=row.cell(station),
        as_typed=text,
        note=DOUBTFUL if doubtful(text) else "",
    )


def _halves(role: str, x: Cells, heights: Cells, breadths: Cells) -> list[Finding]:
    """Report points of an edge that are known by one figure only, or not at all."""
    findings = []
    for missing, having, code in (
        ("half-breadth", [n for n in x if n in heights and n not in breadths], "S011"),
        ("height", [n for n in x if n in breadths and n not in heights], "S011"),
        (
            "height or half-breadth",
            [n for n in x if n not in heights and n not in breadths],
            "S002",
        ),
    ):
        if having and (heights or breadths):
            why = "the other figure alone is not used" if code == "S011" else ""
            says = f"no {missing} at {_at_stations(having)}"
            findings.append(Finding(code, Severity.CAUTION, "survey", role, says, why))
    return findings


def _at_stations(names: Sequence[str]) -> str:
    if len(names) == 1:
        return f"station {names[0]}"
    return f"stations {', '.join(names[:-1])} and {names[-1]}"


def _reading(row: Row, station: str, x: Cells, side: Side) -> Reading:
    line, at, value = row.values["line"], row.values["at"], float(row.values[station])
    y, z, measured = _placed(line, at, value)
    name = f"{line} {row.as_typed['at'].strip()}"
    text = row.as_typed[station].strip()
    return Reading(
        key=f"offsets: {name} at station {station}",
        station=station,
        line=name,
        role="surface",
        side=side,
        x_mm=x[station],
        y_mm=y,
        z_mm=z,
        measured=measured,
        value_mm=value,
        cell=row.cell(station),
        as_typed=text,
        note=DOUBTFUL if doubtful(text) else "",
    )


def _placed(
    line: str, at: float | tuple[float, float], value: float
) -> tuple[float, float, Literal["y", "z", "d"]]:
    if isinstance(at, tuple):
        height, slope = at
        return value * math.cos(slope), height - value * math.sin(slope), "d"
    return (value, at, "y") if line == "waterline" else (at, value, "z")


def _gaps(row: Row, x: Cells, edges: Mapping[str, _Edge]) -> list[Finding]:
    order = sorted(x, key=lambda name: x[name])
    filled = [at for at, name in enumerate(order) if _has(row, name)]
    line, at = row.values["line"], row.values["at"]
    missing = [
        name
        for place, name in enumerate(order)
        if not _has(row, name)
        and (_passes(line, at, name, edges) or _within(place, filled))
        and not _ended(line, at, name, edges)
    ]
    if not missing:
        return []
    name = f"{line} {row.as_typed['at'].strip()}"
    says = f"no {_WHAT[line]} at {_at_stations(missing)}"
    return [Finding("S002", Severity.NOTE, "survey", name, says, "blank cells; faired across")]


def _within(place: int, filled: Sequence[int]) -> bool:
    return bool(filled) and filled[0] < place < filled[-1]


def _span(line: str, name: str, edges: Mapping[str, _Edge]) -> tuple[float | None, float | None]:
    if line == "waterline":
        return edges["rabbet"].height.get(name), edges["sheer"].height.get(name)
    return edges["rabbet"].breadth.get(name), edges["sheer"].breadth.get(name)


def _passes(line: str, at: object, name: str, edges: Mapping[str, _Edge]) -> bool:
    """Tell whether the line is known to pass the station between rabbet and sheer."""
    low, high = _span(line, name, edges)
    return isinstance(at, float) and low is not None and high is not None and low < at < high


def _ended(line: str, at: object, name: str, edges: Mapping[str, _Edge]) -> bool:
    """Tell whether the line has run out before the station: below the rabbet, or past the sheer."""
    low, high = _span(line, name, edges)
    if not isinstance(at, float):
        return False
    below = low is not None and at <= low
    above = line == "waterline" and high is not None and at >= high
    return below or above
