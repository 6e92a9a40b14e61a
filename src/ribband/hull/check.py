"""The hull looked at again, by other means than made it.

Closest points are found by search on ever finer grids, girths by another library's spline
through the samples, fairness by counting bends. Nothing of the fitting is called. With both
sides measured the surface is their mean, and readings are allowed half the difference.

Not checked: that the shipwright measured the right vessel.
"""

from __future__ import annotations

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats, GirthLines, Hull, Surface
from ribband.hull.old_planking import held_against_old_planking
from ribband.hull.rules import HullRules
from ribband.survey.model import (
    Kind,
    Reading,
    Survey,
    bodily_key,
    place_of,
    position_key,
)
from ribband.units import format_length, format_small

__all__ = ["bends", "check", "distances"]

_CELLS = 9
_ZOOMS = 7


def check(hull: Hull, survey: Survey, rules: HullRules | None = None) -> tuple[Finding, ...]:
    """Give every fault, caution and note found in a hull; empty is good."""
    rules = HullRules() if rules is None else rules
    found = [*_numbers(hull), *_doubts(hull), *held_against_old_planking(hull, survey)]
    if hull.surface is not None:
        found += [
            *_normals(hull), *_planes(hull), *_girths(hull),
            *_evenness(hull), *_readings(hull, survey, rules), *_bends(hull),
        ]  # fmt: skip
    return tuple(found)


def _fault(code: str, where: str, says: str) -> Finding:
    return Finding(code, Severity.FAULT, "hull", where, says)


def _numbers(hull: Hull) -> list[Finding]:
    for kind, lines in (("lines", hull.lines), ("frames", hull.frames)):
        tables = (lines.x_mm, lines.girth_mm, lines.u, lines.v, lines.xyz, lines.normal)
        if not all(np.isfinite(t).all() for t in (*tables, lines.curvature) if t is not None):
            return [_fault("H001", kind, "a value is not a number")]
        if not np.all(lines.girth_mm > 0):
            return [_fault("H001", kind, "a girth is not greater than nothing")]
    return []


def _normals(hull: Hull) -> list[Finding]:
    assert hull.frames.normal is not None  # noqa: S101 - there is a surface
    length = np.linalg.norm(hull.frames.normal, axis=-1)
    out = np.abs(length - 1).max(initial=0.0)
    says = f"a normal's length is off by {out:.1e}"
    return [_fault("H002", "frames", says)] if out > 1e-9 else []


def _planes(hull: Hull) -> list[Finding]:
    assert hull.frames.xyz is not None  # noqa: S101
    off = np.abs(hull.frames.xyz[..., 0] - hull.frames.x_mm[:, None]).max(axis=1, initial=0.0)
    unit = hull.particulars.unit
    return [
        _fault(
            "H005",
            f"frame {name}",
            f"its girth line leaves its plane by {format_small(float(a), unit)}",
        )
        for name, a in zip(hull.frames.names, off, strict=True)
        if a > 1.0
    ]


def _splined_length(run: Floats) -> float:
    """Length of a spline through points (m, 3), by another library."""
    from scipy.interpolate import CubicSpline  # noqa: PLC0415

    chords = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(run, axis=0), axis=1))])
    fine = CubicSpline(chords, run)(np.linspace(0, chords[-1], 40 * len(run)))
    return float(np.linalg.norm(np.diff(fine, axis=0), axis=1).sum())


def _girths(hull: Hull) -> list[Finding]:
    assert hull.frames.xyz is not None  # noqa: S101
    unit = hull.particulars.unit
    found = []
    for name, run, girth in zip(
        hull.frames.names, hull.frames.xyz, hull.frames.girth_mm, strict=True
    ):
        off = _splined_length(run) - girth
        if abs(off) > max(0.1, 2e-4 * girth):
            by = format_small(abs(off), unit)
            says = f"its girth is {format_length(girth, unit)} but its points give {by} "
            says += "more" if off > 0 else "less"
            found.append(_fault("H004", f"frame {name}", says))
    return found


def _evenness(hull: Hull) -> list[Finding]:
    found = []
    for kind, lines in (("lines", hull.lines), ("frames", hull.frames)):
        assert lines.xyz is not None  # noqa: S101
        step = np.linalg.norm(np.diff(lines.xyz, axis=1), axis=-1)
        uneven = np.abs(step / step.mean(axis=1, keepdims=True) - 1).max(axis=1, initial=0.0)
        rows = np.flatnonzero(uneven > 0.05)
        if len(rows):
            where = f"{kind} {', '.join(lines.names[i] or str(i) for i in rows)}"
            says = f"their points stand unevenly, by up to {100 * uneven.max():.0f} %"
            found.append(Finding("H006", Severity.CAUTION, "hull", where, says))
    return found


def distances(surface: Surface, points: Floats) -> Floats:
    """Give the least distance from points (m, 3) to the surface, by search on finer grids.

    The sign is positive outside. Points may be anywhere; beyond an edge the distance is to the
    edge.
    """
    coarse_u, coarse_v = np.meshgrid(np.linspace(0, 1, 161), np.linspace(0, 1, 41), indexing="ij")
    sheet = surface.point(coarse_u, coarse_v).reshape(-1, 3)
    first = np.array([int(np.argmin(((sheet - p) ** 2).sum(axis=1))) for p in points])
    u, v = coarse_u.ravel()[first], coarse_v.ravel()[first]
    span_u, span_v = 1 / 160, 1 / 40
    cell = np.linspace(-1, 1, _CELLS)
    for _ in range(_ZOOMS):
        try_u = np.clip(u[:, None, None] + span_u * cell[:, None], 0, 1)
        try_v = np.clip(v[:, None, None] + span_v * cell, 0, 1)
        try_u, try_v = np.broadcast_arrays(try_u, try_v)
        gap = ((surface.point(try_u, try_v) - points[:, None, None]) ** 2).sum(axis=-1)
        best = gap.reshape(len(points), -1).argmin(axis=1)
        rows = np.arange(len(points))
        u = try_u.reshape(len(points), -1)[rows, best]
        v = try_v.reshape(len(points), -1)[rows, best]
        span_u, span_v = span_u / 3, span_v / 3
    off = points - surface.point(u, v)
    side = np.sign((off * surface.normal(u, v)).sum(axis=-1))
    return np.asarray(side * np.linalg.norm(off, axis=-1), float)


def _kept(hull: Hull, survey: Survey) -> list[Reading]:
    """Give the readings in use as typed: not doubted, and not changed by a decision."""
    gone = {d.key for d in hull.doubts} | {d.key for d in survey.decisions}
    above = _above_sheer(hull, survey)
    spoken = {d.key for d in survey.decisions}
    moved = {d.frame for d in hull.doubts if d.line == "position" or d.whole}
    moved |= {r.station for r in survey.readings if position_key(r.station) in spoken}
    moved |= {r.station for r in survey.readings if spoken.intersection(_columns(r))}
    gone_edges = {(d.frame, d.line.partition(" ")[0]) for d in hull.doubts}
    return [
        r
        for r in survey.readings
        if r.key not in gone | above
        and r.station not in moved
        and (r.role == "surface" or (r.station, r.role) not in gone_edges)
    ]


def _columns(reading: Reading) -> set[str]:
    """Name the columns a reading belongs to, as decisions name them."""
    kinds: tuple[Kind, ...] = ("half-breadths", "heights")
    return {bodily_key(kind, reading.station, reading.side) for kind in kinds}


def _above_sheer(hull: Hull, survey: Survey) -> set[str]:
    """Give the keys of surface readings above the sheer, by the lines' heads: no planking is there.

    Below the rabbet none are let off.
    """
    assert hull.lines.xyz is not None  # noqa: S101
    head = hull.lines.xyz[:, -1]
    order = np.argsort(head[:, 0])
    return {
        r.key
        for r in survey.readings
        if r.role == "surface" and r.z_mm > np.interp(r.x_mm, head[order, 0], head[order, 2])
    }


def _readings(hull: Hull, survey: Survey, rules: HullRules) -> list[Finding]:
    kept, unit = _kept(hull, survey), survey.particulars.unit
    if hull.surface is None or not kept:
        return []
    points = np.array([(r.x_mm, r.y_mm, r.z_mm) for r in kept])
    off = distances(hull.surface, points)
    if survey.particulars.measured_to == "planking":
        off = off - survey.particulars.planking_mm
    allowed = max(4 * rules.tolerance_mm, rules.doubt_times * 1.5 * hull.rms_mm)
    allowed += max((d.greatest_mm / 2 for d in hull.sides), default=0.0)
    found = []
    for role, code in (("surface", "H003"), ("rabbet", "H007"), ("sheer", "H007")):
        rows = [i for i, r in enumerate(kept) if r.role == role]
        far = [i for i in rows if abs(off[i]) > allowed]
        if far:
            worst = max(far, key=lambda i: abs(off[i]))
            most, by = (format_length(float(a), unit) for a in (allowed, abs(off[worst])))
            side = "outside" if off[worst] > 0 else "inside"
            says = (
                f"{len(far)} of {len(rows)} readings of the {role} "
                f"{'lies' if len(far) == 1 else 'lie'} more than {most} from the fair surface; "
                f"the furthest, {kept[worst].line or 'a point'}, {by} {side}"
            )
            where = place_of(kept[worst].station, kept[worst].x_mm, hull.marks)
            found.append(Finding(code, Severity.CAUTION, "hull", where, says))
    return found


def _doubts(hull: Hull) -> list[Finding]:
    still = [d for d in hull.doubts if not d.decision]
    if not still:
        return []
    columns = sum(d.whole or d.line == "position" for d in still)
    each = [
        f"{n} {what}{'s' * (n != 1)}"
        for n, what in ((columns, "station"), (len(still) - columns, "reading"))
        if n
    ]
    verb, them = ("is", "it") if len(still) == 1 else ("are", "them")
    says = f"{' and '.join(each)} {verb} doubted and left out until you accept, correct or keep"
    says += f" {them}"
    where = ", ".join(dict.fromkeys(d.where for d in still))
    return [Finding("H009", Severity.CAUTION, "hull", where, says)]


def bends(lines: GirthLines) -> Floats:
    """Count how often each lengthwise line of even v turns from round to hollow, (M,).

    Seen in plan; turns gentler than 0.01 /m are not counted.
    """
    assert lines.xyz is not None  # noqa: S101
    x, y = lines.xyz[..., 0], lines.xyz[..., 1]
    dx, dy = np.gradient(x, axis=0), np.gradient(y, axis=0)
    turn = dx * np.gradient(dy, axis=0) - dy * np.gradient(dx, axis=0)
    curvature = turn / np.maximum((dx**2 + dy**2) ** 1.5, 1e-9)
    counts = []
    for column in curvature.T:
        signs = np.sign(column[np.abs(column) > 1e-5])
        counts.append(int(np.count_nonzero(np.diff(signs))))
    return np.array(counts, float)


def _bends(hull: Hull) -> list[Finding]:
    most = int(bends(hull.lines).max(initial=0))
    if most <= 3:
        return []
    says = f"a line along the hull turns from round to hollow {most} times; look at the lines"
    return [Finding("H008", Severity.CAUTION, "hull", "surface", says)]
