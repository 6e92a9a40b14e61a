"""As hung: measured seams, set against the plan, and the seam that is held through them.

Between measured columns the drift is taken as a smooth line through them that overshoots nowhere;
past the last measured one it stays, as far as planks hang. At stem and stern the seam lies in the
rabbet as planned unless it was measured there.

A plank that hangs is as wide as it was cut. So a seam that was not measured has moved with what
was measured on the other side of its planks; between two that were measured, in part with each;
with none it is taken as planned. All of it is said. Where a stealer does not stand, the seams above
and below it are one.

Codes: R010 a measurement that cannot be placed; R011 a seam drifted; R012 two measurements of one
seam that disagree; R013 hung seams taken as planned, not measured; R014 hung seams taken to have
moved with others, not measured; R015 a measurement where nothing hangs.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats, Hull
from ribband.lining.model import KEPT_MM, Lining
from ribband.record.model import Drift, HungPoint, Standing
from ribband.record.rules import RecordRules
from ribband.survey.rows import Row
from ribband.units import counted, format_length

__all__ = ["Edge", "check_hung", "drifts", "edge_of", "hung_seams", "read_hung", "seam_girths"]

Ints = NDArray[np.int64]
Masks = NDArray[np.bool_]

ASKED = 0.5  # of a strake's width: further off is more likely a slip than a seam (ours)


def read_hung(rows: Sequence[Row]) -> tuple[HungPoint, ...]:
    """Read the form `as_hung`; a row without a girth is a gap and says nothing.

    >>> row = Row({"side": "port", "strake": "4", "edge": "upper", "frame": "9", "girth": 712.0},
    ...           "as_hung.csv", 2)
    >>> read_hung([row])[0].girth_mm
    712.0
    """
    return tuple(
        HungPoint(
            str(row.values.get("side") or "port"), str(row.values["strake"]),
            "lower" if row.values.get("edge") == "lower" else "upper",
            str(row.values["frame"]), float(row.values["girth"]), row.cell("girth"),
            str(row.values.get("at") or "").strip(),
        )
        for row in rows
        if row.values.get("girth") is not None
    )  # fmt: skip


def seam_girths(lining: Lining) -> Floats:
    """Give the girth of every seam (S + 1, C) as planned; NaN where there is none.

    A seam beside a strake that does not reach a column is that of the next strake there.
    """
    lower, upper = lining.lower_girth_mm, lining.upper_girth_mm
    seams = np.full((len(lower) + 1, lower.shape[1]), np.nan)
    seams[:-1] = lower
    above = np.isfinite(upper)
    seams[1:][above] = upper[above]
    return seams


def drifts(side: str, points: Sequence[HungPoint], lining: Lining) -> tuple[Drift, ...]:
    """Set every measured seam of a side against the plan; what cannot be placed is left out."""
    gone = _gone(lining)
    found = []
    for point in points:
        edge = edge_of(point, lining) if point.side == side else None
        if edge is not None and edge.bears(point):
            seam = edge.row + (point.edge == "upper")
            while seam and gone[seam - 1, edge.column]:
                seam -= 1
            above = lining.strakes[seam - 1].name if seam else ""
            found.append(Drift(side, seam, above, point.frame, edge.planned_mm, point.girth_mm))
    return tuple(found)


class Edge(NamedTuple):
    """An edge as planned where it was measured: row of its strake, column, girth, strake's own.

    frame_mm : the girth of the frame itself there, from the rabbet to the sheer
    """

    row: int
    column: int
    planned_mm: float
    wide_mm: float
    frame_mm: float

    def doubted(self, point: HungPoint) -> bool:
        """Tell whether a measurement is further off than half the strake's width: to be asked."""
        return abs(point.girth_mm - self.planned_mm) > ASKED * self.wide_mm

    def beyond(self, point: HungPoint) -> bool:
        """Tell whether a measurement is past the frame's own girth by more than that."""
        return point.girth_mm > self.frame_mm + ASKED * self.wide_mm

    def bears(self, point: HungPoint) -> bool:
        """Tell whether a measurement is no further off than the strake is wide."""
        return abs(point.girth_mm - self.planned_mm) <= self.wide_mm


def edge_of(point: HungPoint, lining: Lining) -> Edge | None:
    """Give the edge that was measured; None where its strake does not stand."""
    names = [strake.name for strake in lining.strakes]
    if point.strake not in names or point.frame not in lining.columns:
        return None
    row, column = names.index(point.strake), lining.columns.index(point.frame)
    lower, upper = (
        float(girth[row, column]) for girth in (lining.lower_girth_mm, lining.upper_girth_mm)
    )
    if not np.isfinite(upper - lower):
        return None
    planned, frame = upper if point.edge == "upper" else lower, lining.upper_girth_mm[:, column]
    return Edge(row, column, planned, upper - lower, float(np.nanmax(frame)))


def _gone(lining: Lining) -> Masks:
    """Mark where (S, C) a stealer does not stand: there its upper seam is its lower."""
    stealer = np.array([strake.stealer for strake in lining.strakes])
    return np.asarray(stealer[:, None] & ~np.isfinite(lining.upper_girth_mm))


def hung_seams(hull: Hull, lining: Lining, standing: Standing, found: Sequence[Drift]) -> Floats:
    """Give the girth (S + 1, C) of every seam where it hangs, NaN where it is free.

    The rabbet (seam 0) and the sheer are the hull's own and are never held.
    """
    hangs = _hanging(lining, standing.fast)
    measured = _pinned(_measured(hull, lining, hangs, found), standing, lining)
    off = _moved_with(measured, standing.held | _gone(lining))
    return np.where(hangs, seam_girths(lining) + off, np.nan)


def _hanging(lining: Lining, held: Masks) -> Masks:
    """Mark the seams (S + 1, C) that a plank hangs beside."""
    hangs = np.zeros((len(lining.strakes) + 1, len(lining.columns)), dtype=bool)
    hangs[:-1] |= held
    hangs[1:] |= held
    gone = _gone(lining)
    rows = np.flatnonzero(gone.any(axis=1)).tolist()
    for row in (*rows, *reversed(rows)):
        hangs[row : row + 2, gone[row]] |= hangs[row : row + 2, gone[row]].any(axis=0)
    hangs[[0, -1]] = False
    return hangs


def _measured(hull: Hull, lining: Lining, hangs: Masks, found: Sequence[Drift]) -> Floats:
    """Give the drift (S + 1, C) of every seam that was measured anywhere, NaN of the others."""
    x, gone = _positions(hull), _gone(lining)
    off = np.full(hangs.shape, np.nan)
    for seam, its in _by_seam(_of_both(found, lining, gone)).items():
        at, by = _means(its, lining.columns)
        for end in (0, len(x) - 1):
            if hangs[seam, end] and end not in at:
                at, by = [*at, end], [*by, 0.0]
        off[seam] = _through(x, np.array(at), np.array(by))
    off[[0, -1]] = 0.0
    return off


def _pinned(measured: Floats, standing: Standing, lining: Lining) -> Floats:
    """Let a seam that was not measured lie where it was recorded (S + 1, C) beside an old plank."""
    if standing.old is None:
        return measured
    return np.where(np.isnan(measured) & _hanging(lining, standing.old), 0.0, measured)


def _of_both(found: Sequence[Drift], lining: Lining, gone: Masks) -> list[Drift]:
    """Let what was measured where a stealer does not stand count for the seam above it too."""
    both = list(found)
    for drift in found:
        column, seam = lining.columns.index(drift.frame), drift.seam
        while seam < len(gone) and gone[seam, column]:
            seam += 1
            both.append(replace(drift, seam=seam))
    return both


def _moved_with(measured: Floats, joined: Masks) -> Floats:
    """Give every seam the drift (S + 1, C) of what it is joined to by hung planks, 0 with none.

    >>> seams = np.array([[0.0], [4.0], [np.nan], [np.nan], [10.0], [np.nan], [0.0]])
    >>> hung = np.array([[True], [True], [True], [True], [False], [False]])
    >>> _moved_with(seams, hung).ravel().tolist()
    [0.0, 4.0, 6.0, 8.0, 10.0, 0.0, 0.0]
    """
    below, steps_below = _carried(measured, joined)
    above, steps_above = (part[::-1] for part in _carried(measured[::-1], joined[::-1]))
    part = steps_below / np.maximum(steps_below + steps_above, 1.0)
    between = below + part * (above - below)
    one = np.where(np.isfinite(below), below, above)
    off = np.where(np.isfinite(between), between, one)
    return np.where(np.isfinite(measured), measured, np.nan_to_num(off))


def _carried(measured: Floats, joined: Masks) -> tuple[Floats, Floats]:
    """Carry drifts up from plank to plank, and count over how many."""
    off, steps = measured.copy(), np.zeros(measured.shape)
    for seam in range(1, len(off)):
        take = np.isnan(off[seam]) & joined[seam - 1]
        off[seam] = np.where(take, off[seam - 1], off[seam])
        steps[seam] = np.where(take, steps[seam - 1] + 1.0, 0.0)
    return off, steps


def _through(x: Floats, at: Ints, off: Floats) -> Floats:
    """Draw a smooth line of drift (C,) through what was measured at the columns `at`."""
    from scipy.interpolate import PchipInterpolator  # noqa: PLC0415 - heavy

    order = np.argsort(x[at], kind="stable")
    knots, off = x[at][order], off[order]
    if len(knots) == 1:
        return np.full(len(x), off[0])
    within = np.clip(x, knots[0], knots[-1])
    return np.asarray(PchipInterpolator(knots, off)(within))


def check_hung(
    points: Sequence[HungPoint],
    lining: Lining,
    standings: Sequence[Standing],
    rules: RecordRules,
    unit: str,
) -> tuple[Finding, ...]:
    """Find measurements that cannot be placed, drift worth telling, and seams not measured."""
    out = [*_unplaced(points, lining, unit)]
    for standing in standings:
        found = drifts(standing.side, points, lining)
        out += _drifted(found, rules, unit)
        out += _disagreeing(found, rules, unit)
        out += _in_the_open(points, lining, standing)
        out += _not_measured(standing, found, lining, rules, unit)
    return tuple(out)


def _unplaced(points: Sequence[HungPoint], lining: Lining, unit: str) -> Iterator[Finding]:
    """Tell of measurements of what is not there, or too far off to be of it."""
    for point in points:
        edge = edge_of(point, lining)
        if edge is None:
            there = f"strake {point.strake} does not reach frame {point.frame}"
            says = f"{there}; the line counts for nothing"
        elif edge.bears(point):
            continue
        else:
            off = format_length(abs(point.girth_mm - edge.planned_mm), unit)
            says = (
                f"{off} from where strake {point.strake} has its {point.edge} edge at frame "
                f"{point.frame}, more than the strake is wide; the line counts for nothing: "
                "measure again"
            )
        yield Finding("R010", Severity.CAUTION, "record", _where(point), says)


def _where(point: HungPoint) -> str:
    return f"{point.cell.file}, row {point.cell.row}" if point.cell else "as hung"


def _in_the_open(
    points: Sequence[HungPoint], lining: Lining, standing: Standing
) -> Iterator[Finding]:
    """Tell of what was measured of seams that no plank hangs beside."""
    hangs = _hanging(lining, standing.fast)
    columns = {name: column for column, name in enumerate(lining.columns)}
    for point in points:
        for drift in drifts(standing.side, (point,), lining):
            if 0 < drift.seam < len(lining.strakes) and not hangs[drift.seam, columns[drift.frame]]:
                says = (
                    f"seam above strake {drift.above}, frame {drift.frame}: no plank hangs there "
                    "by the log; the line counts for nothing until one does"
                )
                yield Finding("R015", Severity.CAUTION, "record", _where(point), says)


def _drifted(found: Sequence[Drift], rules: RecordRules, unit: str) -> list[Finding]:
    """Tell of each seam once, where it is furthest off."""
    out = []
    for seam, its in _by_seam(found).items():
        worst = max(its, key=lambda drift: abs(drift.drift_mm))
        if abs(worst.drift_mm) <= rules.drift_mm:
            continue
        way = "high" if worst.drift_mm > 0 else "low"
        off = format_length(abs(worst.drift_mm), unit)
        where = f"{worst.side}, seam above strake {worst.above}" if seam else worst.side
        says = f"hangs {off} {way} at frame {worst.frame}, the worst of {len(its)} measured"
        out.append(Finding("R011", Severity.CAUTION, "record", where, says))
    return out


def _disagreeing(found: Sequence[Drift], rules: RecordRules, unit: str) -> list[Finding]:
    at: dict[tuple[int, str], list[Drift]] = defaultdict(list)
    for drift in found:
        at[drift.seam, drift.frame].append(drift)
    out = []
    for (_, frame), its in at.items():
        apart = max(d.measured_mm for d in its) - min(d.measured_mm for d in its)
        if apart > rules.apart_mm:
            where = f"{its[0].side}, seam above strake {its[0].above}, frame {frame}"
            says = (
                f"measured {counted(len(its), 'time')}, {format_length(apart, unit)} apart; "
                "the mean is used; measure again"
            )
            out.append(Finding("R012", Severity.CAUTION, "record", where, says))
    return out


def _not_measured(
    standing: Standing, found: Sequence[Drift], lining: Lining, rules: RecordRules, unit: str
) -> Iterator[Finding]:
    """Tell of hung seams that nobody measured: those beside measured ones, and the others."""
    hangs = _hanging(lining, standing.held)
    if standing.old is not None:  # a seam beside an old plank was recorded
        hangs &= ~_hanging(lining, standing.old)
    hangs[1:][_gone(lining)] = False  # said of the seam below
    moved = np.where(hangs, _moved_beside(standing, found, lining), np.nan)
    measured = {drift.seam for drift in found}
    seams = [s for s in np.flatnonzero(hangs.any(axis=1)).tolist() if s not in measured]
    beside = [seam for seam in seams if (np.nan_to_num(moved[seam]) > KEPT_MM).any()]
    alone = [seam for seam in seams if seam not in beside]
    if alone:
        says = f"taken as planned, not measured: the {_seams_named(alone, lining)}"
        yield Finding("R013", Severity.NOTE, "record", standing.side, says)
    there = np.isfinite(lining.upper_girth_mm - lining.lower_girth_mm)
    free = np.pad(there & ~standing.fast & ~_gone(lining), ((1, 1), (0, 0)))
    opens = set(np.flatnonzero((hangs & (free[:-1] | free[1:])).any(axis=1)).tolist())
    first = [seam for seam in beside if seam in opens and np.nanmax(moved[seam]) > rules.drift_mm]
    for seams in (*([seam] for seam in first), [seam for seam in beside if seam not in first]):
        if seams:
            says = (
                f"not measured: taken to have moved by up to "
                f"{format_length(float(np.nanmax(moved[seams])), unit)} with the seams measured "
                f"beside {'it' if len(seams) == 1 else 'them'}, as planks keep the widths they "
                "were cut to"
            )
            if seams[0] in first:
                says += "; measure it before a plank is got out to lie against it"
            severity = Severity.CAUTION if seams[0] in first else Severity.NOTE
            where = f"{standing.side}, {_seams_named(seams, lining)}"
            yield Finding("R014", severity, "record", where, says)


def _seams_named(seams: Sequence[int], lining: Lining) -> str:
    names = ", ".join(lining.strakes[seam - 1].name for seam in seams)
    return f"seam above strake {names}" if len(seams) == 1 else f"seams above strakes {names}"


def _moved_beside(standing: Standing, found: Sequence[Drift], lining: Lining) -> Floats:
    """Give how far (S + 1, C) each seam went at most with measured ones; NaN: joined to none."""
    most = np.full((len(lining.strakes) + 1, len(lining.columns)), np.nan)
    for drift in sorted(found, key=lambda one: abs(one.drift_mm)):
        most[drift.seam] = drift.drift_mm
    most = _pinned(most, standing, lining)
    joined = standing.held | _gone(lining)
    below, above = _carried(most, joined)[0], _carried(most[::-1], joined[::-1])[0][::-1]
    most[[0, -1]] = 0.0  # rabbet and sheer stay
    moved = np.abs(_moved_with(most, joined))
    return np.where(np.isfinite(below) | np.isfinite(above), moved, np.nan)


def _by_seam(found: Sequence[Drift]) -> dict[int, list[Drift]]:
    seams: dict[int, list[Drift]] = defaultdict(list)
    for drift in found:
        seams[drift.seam].append(drift)
    return dict(seams)


def _means(its: Sequence[Drift], columns: Sequence[str]) -> tuple[list[int], list[float]]:
    """Give the columns measured and the mean drift at each."""
    at: dict[int, list[float]] = defaultdict(list)
    for drift in its:
        at[columns.index(drift.frame)].append(drift.drift_mm)
    return list(at), [float(np.mean(off)) for off in at.values()]


def _positions(hull: Hull) -> Floats:
    first, last = hull.lines.x_mm[[0, -1]]
    x: Floats = np.concatenate([[first], hull.frames.x_mm, [last]])
    return x
