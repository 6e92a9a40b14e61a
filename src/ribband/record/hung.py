"""As hung: measured seams, set against the plan, and the seam that is held through them.

Between measured columns the drift is taken as a smooth line through them that overshoots nowhere;
past the last measured one it stays, as far as planks hang. At stem and stern the seam lies in the
rabbet as planned unless it was measured there. A seam that hangs and was not measured is taken as
planned, and that is said.

Codes: R010 a measurement that cannot be placed; R011 a seam drifted; R012 two measurements of one
seam that disagree; R013 hung seams taken as planned, not measured.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats, Hull
from ribband.lining.model import Lining
from ribband.record.model import Drift, HungPoint, Standing
from ribband.record.rules import RecordRules
from ribband.survey.rows import Row
from ribband.units import counted, format_length

__all__ = ["check_hung", "drifts", "hung_seams", "read_hung", "seam_girths"]

Ints = NDArray[np.int64]
Masks = NDArray[np.bool_]


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
    rows = {strake.name: row for row, strake in enumerate(lining.strakes)}
    columns = {name: column for column, name in enumerate(lining.columns)}
    found = []
    for point in points:
        if point.side != side or point.strake not in rows or point.frame not in columns:
            continue
        row, column = rows[point.strake], columns[point.frame]
        upper = point.edge == "upper"
        planned = (lining.upper_girth_mm if upper else lining.lower_girth_mm)[row, column]
        if np.isfinite(planned):
            seam = row + 1 if upper else row
            above = lining.strakes[seam - 1].name if seam else ""
            drift = Drift(side, seam, above, point.frame, float(planned), point.girth_mm)
            found.append(drift)
    return tuple(found)


def hung_seams(hull: Hull, lining: Lining, standing: Standing, found: Sequence[Drift]) -> Floats:
    """Give the girth (S + 1, C) of every seam where it hangs, NaN where it is free.

    The rabbet (seam 0) and the sheer are the hull's own and are never held.
    """
    planned = seam_girths(lining)
    hangs = np.zeros(planned.shape, dtype=bool)
    hangs[:-1] |= standing.held
    hangs[1:] |= standing.held
    hangs[[0, -1]] = False
    x = _positions(hull)
    held = np.where(hangs, planned, np.nan)
    for seam, its in _by_seam(found).items():
        at, off = _means(its, lining.columns)
        for end in (0, len(x) - 1):
            if hangs[seam, end] and end not in at:
                at, off = [*at, end], [*off, 0.0]
        held[seam] += _through(x, np.array(at), np.array(off))
    return held


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
    out = [_unplaced(point) for point in points if not _placed(point, lining)]
    for standing in standings:
        found = drifts(standing.side, points, lining)
        out += _drifted(found, rules, unit)
        out += _disagreeing(found, rules, unit)
        out += _not_measured(standing, found, lining)
    return tuple(out)


def _placed(point: HungPoint, lining: Lining) -> bool:
    names = [strake.name for strake in lining.strakes]
    if point.strake not in names or point.frame not in lining.columns:
        return False
    row, column = names.index(point.strake), lining.columns.index(point.frame)
    return bool(np.isfinite(lining.width_mm[row, column]))


def _unplaced(point: HungPoint) -> Finding:
    where = f"{point.cell.file}, row {point.cell.row}" if point.cell else "as hung"
    says = f"strake {point.strake} does not reach frame {point.frame}; the line counts for nothing"
    return Finding("R010", Severity.CAUTION, "record", where, says)


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


def _not_measured(standing: Standing, found: Sequence[Drift], lining: Lining) -> list[Finding]:
    measured = {drift.seam for drift in found}
    seams = {
        seam
        for row in np.flatnonzero(standing.held.any(axis=1))
        for seam in (int(row), int(row) + 1)
        if 0 < seam < len(lining.strakes)
    }
    left = sorted(seams - measured)
    if not left:
        return []
    names = ", ".join(lining.strakes[seam - 1].name for seam in left)
    says = f"taken as planned, not measured: the seams above strakes {names}"
    return [Finding("R013", Severity.NOTE, "record", standing.side, says)]


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
