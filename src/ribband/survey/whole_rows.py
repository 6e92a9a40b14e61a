"""Rows of the table of offsets that look typed into the wrong place as a whole.

Each row is foretold, station by station, from the other rows there by straight lines from point
to point. A slip of the whole row (one station along, exchanged with another row, a waterline
called a buttock) is named when it would bring the row far nearer to what is foretold.

Not checked here: single figures; `ribband.hull` does that. Nothing is changed.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from ribband.findings import Finding, Severity
from ribband.survey.model import Reading, Survey

__all__ = ["whole_rows"]

_NEARER = 0.4  # a slip is named when it brings a row to this share of how far it was out
_FAR = 0.02  # and the row is out by more than this share of the greatest half-breadth
_FEW = 5  # stations; fewer cannot tell
Point = tuple[float, float]  # half-breadth, height


def whole_rows(survey: Survey) -> Iterator[Finding]:
    """Name rows, at most one of each kind of slip, that seem typed into the wrong place."""
    table = [r for r in survey.readings if r.key.startswith("offsets: ")]
    stations = sorted({(r.x_mm, r.station) for r in table})
    order = [name for _, name in stations]
    rows: dict[str, dict[str, Reading]] = defaultdict(dict)
    for reading in table:
        if reading.role == "surface" and reading.measured in {"y", "z"}:
            rows[reading.line][reading.station] = reading
    widest = max((r.y_mm for r in table), default=0.0)
    edges = _edges(table)
    if len(order) < _FEW or len(rows) < 2:
        return
    yield from _exchanged_edges(rows, edges)
    found = [
        *_shifted(rows, edges, order, widest),
        *_exchanged(rows, edges, widest),
        *_misnamed(rows, edges, widest),
    ]
    if found:
        _, line, says = min(found)
        why = "the whole row fits the others far better so"
        yield Finding("S017", Severity.CAUTION, "survey", line, says, why)


def _edges(table: Sequence[Reading]) -> dict[str, dict[str, Point]]:
    edges: dict[str, dict[str, Point]] = {"rabbet": {}, "sheer": {}}
    for r in table:
        if r.role != "surface":
            edges[r.role][r.station] = (r.y_mm, r.z_mm)
    return edges


def _others(
    rows: Mapping[str, Mapping[str, Reading]],
    edges: Mapping[str, Mapping[str, Point]],
    left_out: Sequence[str],
    station: str,
) -> list[Point]:
    """Give the points of a station from the rabbet up, but for some rows."""
    cells = [r[station] for line, r in rows.items() if line not in left_out and station in r]
    points = [(c.y_mm, c.z_mm) for c in cells]
    points += [edge[station] for edge in edges.values() if station in edge]
    return sorted(points, key=lambda p: (p[1], p[0]))


def _foretold(points: Sequence[Point], at: float, known: int) -> float | None:
    """Read off the other coordinate where `known` (0 half-breadth, 1 height) is `at`."""
    for a, b in pairwise(points):
        if a[known] <= at <= b[known] and b[known] > a[known]:
            share = (at - a[known]) / (b[known] - a[known])
            return a[1 - known] + share * (b[1 - known] - a[1 - known])
    return None


def _out(told: Mapping[str, float], values: Mapping[str, float]) -> float:
    """Give how far values lie from what is foretold, on the mean; infinite where few compare."""
    gaps = [abs(values[s] - told[s]) for s in values if s in told]
    return sum(gaps) / len(gaps) if len(gaps) >= _FEW else float("inf")


def _told(
    rows: Mapping[str, Mapping[str, Reading]],
    edges: Mapping[str, Mapping[str, Point]],
    line: str,
    left_out: Sequence[str],
    *,
    known: int | None = None,
) -> dict[str, float]:
    first = next(iter(rows[line].values()))
    own = 1 if first.measured == "y" else 0
    at = first.z_mm if own == 1 else first.y_mm
    stations = {s for edge in edges.values() for s in edge}
    told = {
        s: _foretold(_others(rows, edges, left_out, s), at, own if known is None else known)
        for s in stations
    }
    return {s: value for s, value in told.items() if value is not None}


Found = list[tuple[float, str, str]]


def _shifted(
    rows: Mapping[str, Mapping[str, Reading]],
    edges: Mapping[str, Mapping[str, Point]],
    order: Sequence[str],
    widest: float,
) -> Found:
    found: Found = []
    for line, row in rows.items():
        told = _told(rows, edges, line, (line,))
        values = {s: r.value_mm for s, r in row.items()}
        now = _out(told, values)
        if not _FAR * widest < now < float("inf"):
            continue
        for step, words in ((-1, "aft"), (1, "forward")):
            moved = {
                order[k + step]: values[s]
                for k, s in enumerate(order)
                if s in values and 0 <= k + step < len(order)
            }
            share = _out(told, moved) / now
            if share < _NEARER:
                says = f"looks as if every figure were typed one station too far {words}"
                found.append((share, line, says))
    return found


def _exchanged(
    rows: Mapping[str, Mapping[str, Reading]],
    edges: Mapping[str, Mapping[str, Point]],
    widest: float,
) -> Found:
    found: Found = []
    lines = [line for line, row in rows.items() if next(iter(row.values())).measured == "y"]
    for k, one in enumerate(lines):
        for two in lines[k + 1 :]:
            values = [{s: r.value_mm for s, r in rows[line].items()} for line in (one, two)]
            told = [_told(rows, edges, line, (one, two)) for line in (one, two)]
            now = _out(told[0], values[0]) + _out(told[1], values[1])
            there = _out(told[0], values[1]) + _out(told[1], values[0])
            share = there / now if 0 < now < float("inf") else 1.0
            if now < float("inf") and now > 2 * _FAR * widest and share < _NEARER:
                found.append((share, one, f"looks exchanged with {two}"))
    return found


def _misnamed(
    rows: Mapping[str, Mapping[str, Reading]],
    edges: Mapping[str, Mapping[str, Point]],
    widest: float,
) -> Found:
    found: Found = []
    for line, row in rows.items():
        first = next(iter(row.values()))
        values = {s: r.value_mm for s, r in row.items()}
        own = 1 if first.measured == "y" else 0
        now = _out(_told(rows, edges, line, (line,)), values)
        other = _out(_told(rows, edges, line, (line,), known=1 - own), values)
        if other < _NEARER * now and now > _FAR * widest:
            kind = "a buttock" if own == 1 else "a waterline"
            share = other / now if now < float("inf") else 0.0
            found.append((share, line, f"looks like {kind}: its figures fit as such"))
    return found


def _exchanged_edges(
    rows: Mapping[str, Mapping[str, Reading]], edges: Mapping[str, Mapping[str, Point]]
) -> Iterator[Finding]:
    """Tell whether the sheer's height and half-breadth look exchanged: lines then pass above it."""
    sheer = edges["sheer"]
    cells = [(r, sheer[s]) for row in rows.values() for s, r in row.items() if s in sheer]
    above = sum(r.z_mm > head[1] + 1.0 for r, head in cells)
    still = sum(r.z_mm > head[0] + 1.0 for r, head in cells)
    if above > max(_FEW, 4 * still):
        says = f"looks as if height and half-breadth were exchanged: {above} readings lie above it"
        yield Finding("S017", Severity.CAUTION, "survey", "sheer", says)
