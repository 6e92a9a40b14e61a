"""One side of the hull: edges, surface and doubtful readings, fitted together.

The surface is fitted to every reading, each is tried without (`leaveout`), and it is fitted
again to those that stand; readings given up are offered a place again, once.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.errors import InputError, Problem
from ribband.findings import Finding, Severity
from ribband.hull.edges import Edges, fair_edges
from ribband.hull.fairrun import FairRun, Judge
from ribband.hull.leaveout import LeaveOut, halves, neighbours
from ribband.hull.misplaced import Misplaced, paired, proven, spoken_for, suspects
from ribband.hull.model import Doubt, Floats
from ribband.hull.patch import (
    Frame,
    Patch,
    faired_across,
    fit_patch,
    frame_of,
    live,
    sparse_rows,
    start_feet,
)
from ribband.hull.rules import FEWER, HullRules
from ribband.hull.sections import EdgeStations, Points, edge_stations, points_of
from ribband.hull.slips import explain
from ribband.hull.surface import SplineSurface, reach
from ribband.numerics.bspline import even_basis
from ribband.survey.model import Decision, EndPoint, Reading, position_key
from ribband.units import format_bare, format_small, parse_length

__all__ = ["SideFit", "fit_side"]

_TRIES = 5  # stations or pairs left out in earnest, to see if they stand at a wrong position


@dataclass(frozen=True, eq=False)
class SideFit:
    """The fair surface of one side, and what was made of each reading.

    off : (m,) reading less surface, square to it; use : (m,) weights in the end
    """

    patch: Patch
    edges: Edges
    points: Points
    off: Floats
    use: Floats
    doubts: tuple[Doubt, ...]
    findings: tuple[Finding, ...]

    @property
    def rms_mm(self) -> float:
        """Give the usual error of the readings in use."""
        used = self.off[self.use > 0]
        return float(np.sqrt(np.mean(used**2))) if len(used) else 0.0


def fit_side(
    readings: tuple[Reading, ...],
    ends: tuple[EndPoint, ...],
    said: dict[str, Decision],
    rules: HullRules,
    unit: str,
) -> SideFit:
    """Fit one side; readings and decisions as `sections.decided` gives them.

    Raises
    ------
    InputError : fewer than four stations with both rabbet and sheer, or no points between
    """
    begun, misplaced = _placed(readings, ends, said, rules, unit)
    edges, points = begun.edges, begun.points
    patch, trial = _settled(begun, rules)
    use = trial.use
    patch = faired_across(begun.frame, points.xyz, use, patch, sliding=rules.sliding)
    beyond, findings = _beyond(patch, points, begun.over, rules)
    doubts = (
        *(_position_doubt(m, readings, said, unit) for m in misplaced),
        *(d for run in edges.rabbet_runs for d in _edge_doubts(run, begun.rabbet, said, unit)),
        *_edge_doubts(edges.sheer_run, begun.sheer, said, unit),
        *_surface_doubts(patch, trial, points, beyond, said=said, unit=unit),
    )
    findings += [_position_finding(m, unit) for m in misplaced]
    off = patch.off(points.xyz)
    return SideFit(patch, edges, points, off, use, doubts, (*edges.findings, *findings))


@dataclass(frozen=True, eq=False)
class _Begun:
    """A first fit of the readings, before any of them is doubted."""

    rabbet: EdgeStations
    sheer: EdgeStations
    edges: Edges
    points: Points
    over: list[str]
    sure: NDArray[np.bool_]
    frame: Frame
    feet: tuple[Floats, Floats]
    patch: Patch
    trial: LeaveOut

    @property
    def surface(self) -> tuple[Points, Patch, LeaveOut, Edges]:
        """What stations at a wrong position are looked for on."""
        return self.points, self.patch, self.trial, self.edges


def _placed(
    readings: tuple[Reading, ...],
    ends: tuple[EndPoint, ...],
    said: dict[str, Decision],
    rules: HullRules,
    unit: str,
) -> tuple[_Begun, tuple[Misplaced, ...]]:
    """Begin the fit without the stations that stand at a wrong position; give these too."""

    def begin(gone: Collection[str]) -> _Begun:
        return _begin(tuple(r for r in readings if r.station not in gone), ends, said, rules, unit)

    names = {r.station for r in readings}
    spoken = spoken_for(said, names)
    sure = {s for s, decision in spoken.items() if decision != "accept"}
    out: dict[str, Misplaced] = {}
    begun = begin(())
    tries = _TRIES
    while tries > 0:
        for doubted in suspects(begun.surface, sure, rules.tolerance_mm)[:tries]:
            tries -= 1
            try:
                without = begin({*out, *doubted})
            except InputError:  # too little is left to judge by
                continue
            taken = {s: [r for r in readings if r.station == s] for s in doubted}
            if found := proven(without.surface, taken, rules.tolerance_mm):
                out |= found
                begun = without
                break
        else:
            break
    return begun, paired(out)


def _begin(
    readings: tuple[Reading, ...],
    ends: tuple[EndPoint, ...],
    said: dict[str, Decision],
    rules: HullRules,
    unit: str,
) -> _Begun:
    rabbet, sheer = (edge_stations(readings, role, said) for role in ("rabbet", "sheer"))
    points = points_of(readings, said)
    _enough(rabbet, sheer, points)
    judge = Judge(rules.doubt_times + FEWER, rules.tolerance_mm)
    edges = fair_edges(rabbet, sheer, ends, judge, unit)
    points, over = _within(edges, points, rules)
    _enough(rabbet, sheer, points)
    sure = np.array([_stands(r, said) for r in points.readings])
    along_pieces, across_pieces = _pieces(points)
    frame = frame_of(edges, even_basis(along_pieces), even_basis(across_pieces))
    feet = start_feet(edges, points.xyz, points.stations, frame)
    patch = fit_patch(
        frame, points.xyz, points.use, feet, sliding=rules.sliding, close=rules.tolerance_mm
    )
    trial = _trial(frame, patch, points, points.use, sure)
    return _Begun(rabbet, sheer, edges, points, over, sure, frame, feet, patch, trial)


def _enough(rabbet: EdgeStations, sheer: EdgeStations, points: Points) -> None:
    problems = [
        Problem("offsets", 0, role, f"{len(edge.names)} stations", "four or more", "")
        for role, edge in (("rabbet", rabbet), ("sheer", sheer))
        if len(edge.names) < 4
    ]
    if len(points.readings) < 8:
        found = f"{len(points.readings)} points between rabbet and sheer"
        problems.append(Problem("offsets", 0, "", found, "eight or more", ""))
    if problems:
        raise InputError(problems)


def _stands(reading: Reading, said: dict[str, Decision]) -> bool:
    return reading.key in said and said[reading.key].decision != "accept"


def _pieces(points: Points) -> tuple[int, int]:
    """How many pieces the surface has each way: enough for the readings, no more."""
    stations = len({r.station for r in points.readings})
    most = max(len(points.readings) // max(stations, 1), 1)
    return int(np.clip(0.6 * stations + 8, 16, 44)), int(np.clip(most, 10, 14))


def _settled(begun: _Begun, rules: HullRules) -> tuple[Patch, LeaveOut]:
    """Give up what is doubted and fit again, until no more is doubted or taken back."""
    frame, points, feet, sure = begun.frame, begun.points, begun.feet, begun.sure
    patch, trial, use = begun.patch, begun.trial, begun.points.use
    trial.search(rules.doubt_times, rules.tolerance_mm)
    trial.take_back(rules.doubt_times, rules.tolerance_mm)
    for last in (False, False, True):
        if np.array_equal(trial.use > 0, use > 0):
            break
        use = trial.use.copy()
        patch = fit_patch(
            frame,
            points.xyz,
            use,
            feet,
            sliding=rules.sliding,
            close=rules.tolerance_mm,
            begin=patch,
        )
        sure = sure | np.isin(np.arange(len(use)), trial.bent)
        trial = _trial(frame, patch, points, use, sure)
        if not last:
            trial.take_back(rules.doubt_times, rules.tolerance_mm)
            trial.search(rules.doubt_times, rules.tolerance_mm)
    return patch, trial


def _trial(
    frame: Frame, patch: Patch, points: Points, use: Floats, sure: NDArray[np.bool_]
) -> LeaveOut:
    free = np.flatnonzero(frame.free[..., 1].ravel())
    bases = frame.start.along, frame.start.across
    rows = sparse_rows(*bases, *live(*bases, patch.u, patch.v))[:, free]
    stiff = patch.stiffness * frame.penalty[free][:, free]
    normal = SplineSurface(patch.tensor).normal(patch.u, patch.v)
    share = np.abs(np.einsum("mi,mi->m", normal, points.way))
    share = np.where(np.any(points.way != 0, axis=1), np.maximum(share, 0.25), 1.0)
    near = neighbours(_places(patch, points))
    off, half = patch.off(points.xyz), halves(rows, use, stiff)
    return LeaveOut(off, half, use.copy(), near, sure, share, points.use)


def _places(patch: Patch, points: Points) -> Floats:
    """Where readings stand, counted in stations along and in readings across, (m, 2)."""
    stations = points.stations.max() + 1
    return np.stack([patch.u * stations, patch.v * len(patch.u) / stations], axis=-1)


def _within(edges: Edges, points: Points, rules: HullRules) -> tuple[Points, list[str]]:
    """Leave out readings above the fair sheer or below the fair rabbet; give their keys too."""
    x, z = points.xyz[:, 0], points.xyz[:, 2]
    slack = 4 * rules.tolerance_mm
    high, low = (_height(edge, x) for edge in (edges.sheer, edges.keel))
    on_keel = (x >= edges.keel[0, 0]) & (x <= edges.keel[-1, 0])
    out = (z > high + slack) | (on_keel & (z < low - slack))
    kept = np.flatnonzero(~out)
    names = [points.readings[i].key for i in np.flatnonzero(out)]
    readings = tuple(points.readings[i] for i in kept)
    return Points(readings, points.xyz[kept], points.way[kept], points.use[kept]), names


def _height(edge: Floats, x: Floats) -> Floats:
    order = np.argsort(edge[:, 0], kind="stable")
    return np.asarray(np.interp(x, edge[order, 0], edge[order, 2]), float)


def _beyond(
    patch: Patch, points: Points, over: list[str], rules: HullRules
) -> tuple[NDArray[np.bool_], list[Finding]]:
    """Mark the readings that stand past the rabbet or sheer, (m,), with a finding of them."""
    r = points.xyz - patch.tensor.at(patch.u, patch.v)
    past = (patch.v <= 0) | (patch.v >= 1)
    beyond = past & (np.linalg.norm(r, axis=1) > 4 * rules.tolerance_mm)
    beyond &= np.abs(patch.off(points.xyz)) < 0.7 * np.linalg.norm(r, axis=1)
    names = [*over, *(r.key for r, out in zip(points.readings, beyond, strict=True) if out)]
    if not names:
        return beyond, []
    count = "1 reading lies" if len(names) == 1 else f"{len(names)} readings lie"
    says = f"{count} beyond the rabbet or the sheer and not used: " + "; ".join(names[:6])
    says += " ..." if len(names) > 6 else ""
    return beyond, [Finding("H014", Severity.CAUTION, "hull", "edges", says)]


def _position_doubt(
    found: Misplaced, readings: tuple[Reading, ...], said: dict[str, Decision], unit: str
) -> Doubt:
    key = position_key(found.station)
    typed = format_bare(found.x_mm, unit)
    slip = explain(-found.by_mm, max(0.1 * abs(found.by_mm), 25.0), typed, unit, parse_length)
    if found.exchanged:
        slip = f"exchanged with station {found.exchanged}"
    first = next(r.cell for r in readings if r.station == found.station)
    return Doubt(
        key, found.station, "position", typed, found.x_mm, found.x_mm + found.by_mm, -found.by_mm,
        slip, said[key].decision if key in said else "", first.file, 0, first.column,
    )  # fmt: skip


def _position_finding(found: Misplaced, unit: str) -> Finding:
    by, before, after = (
        format_small(abs(mm), unit) for mm in (found.by_mm, found.before_mm, found.after_mm)
    )
    way = "further aft" if found.by_mm > 0 else "further forward"
    says = f"its {found.count} readings lie {before} out on the mean where it was set, and "
    if found.exchanged:
        says += f"{after} at the place of station {found.exchanged}: they look exchanged"
    else:
        says += f"{after} if it stood {by} {way}: its position looks wrong"
    why = "left out until you accept, correct or keep the position"
    return Finding("H018", Severity.CAUTION, "hull", f"station {found.station}", says, why)


def _edge_doubts(
    run: FairRun, stations: EdgeStations, said: dict[str, Decision], unit: str
) -> list[Doubt]:
    doubts = []
    for column, (line, by) in enumerate(
        zip(run.lines, (stations.by_y, stations.by_z), strict=True)
    ):
        for row in np.flatnonzero(run.which >= 0):
            reading = by[run.which[row]]
            if reading is None or run.use[row, column] > 0:
                continue
            off = float(line.residual[row])
            doubts.append(_doubt(reading, off, reading.value_mm - off, 6.0, said=said, unit=unit))
    return doubts


def _surface_doubts(
    patch: Patch,
    trial: LeaveOut,
    points: Points,
    beyond: NDArray[np.bool_],
    *,
    said: dict[str, Decision],
    unit: str,
) -> list[Doubt]:
    normal = SplineSurface(patch.tensor).normal(patch.u, patch.v)
    feet = patch.tensor.at(patch.u, patch.v)
    rows = np.flatnonzero((trial.use == 0) & ~beyond)
    go = reach(patch.tensor, points.xyz[rows], points.way[rows], (patch.u[rows], patch.v[rows]))
    doubts, own = [], trial.own
    for i, along_way in zip(rows, go, strict=True):
        reading = points.readings[i]
        if reading.measured == "xyz":
            off, fair = float(trial.off[i]), float(feet[i, 1])
        else:
            across = float(normal[i] @ points.way[i])
            steep = across if abs(across) > 0.1 else float(np.copysign(0.1, across))
            off = float(trial.off[i]) / steep if np.isnan(along_way) else -float(along_way)
            fair = reading.value_mm - off
        uncertain = 2 * trial.spread() * np.sqrt(1 + own[i]) * trial.seen[i] / trial.share[i]
        doubts.append(_doubt(reading, off, fair, float(uncertain), said=said, unit=unit))
    return doubts


def _doubt(
    reading: Reading,
    off: float,
    fair: float,
    uncertain: float,
    *,
    said: dict[str, Decision],
    unit: str,
) -> Doubt:
    decision = said[reading.key].decision if reading.key in said else ""
    return Doubt(
        reading.key, reading.station, reading.line, reading.as_typed, reading.value_mm, fair, off,
        explain(off, uncertain, reading.as_typed, unit, parse_length), decision,
        reading.cell.file, reading.cell.row, reading.cell.column,
    )  # fmt: skip
