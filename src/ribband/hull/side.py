"""One side of the hull: edges, surface and doubtful readings, fitted together.

The surface is fitted to every reading, each is tried without (`leaveout`), and it is fitted
again to those that stand; readings given up are offered a place again, once.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ribband.errors import InputError, Problem
from ribband.findings import Finding, Severity
from ribband.hull.between import drawn_sections, unshown_turns
from ribband.hull.bodily import Bodily
from ribband.hull.edges import Edges, fair_edges
from ribband.hull.fairrun import FairRun, Judge
from ribband.hull.knuckle_along import knuckles_along
from ribband.hull.leaveout import LeaveOut, halves, neighbours
from ribband.hull.misplaced import Misplaced
from ribband.hull.model import Doubt, Floats
from ribband.hull.patch import (
    GARBOARD,
    Frame,
    Patch,
    faired_across,
    fit_patch,
    frame_of,
    live,
    sparse_rows,
    start_feet,
)
from ribband.hull.placing import place
from ribband.hull.rules import FEWER, HullRules
from ribband.hull.sections import (
    EdgeStations,
    Points,
    edge_stations,
    points_of,
    stands,
)
from ribband.hull.slips import explain
from ribband.hull.surface import SplineSurface, reach
from ribband.numerics.bspline import even_basis
from ribband.survey.model import Decision, EndPoint, Reading, position_key
from ribband.units import UNITS, counted, format_bare, format_length, format_small, parse_length

__all__ = ["SideFit", "fit_side"]

_MANY = 10  # readings that none can judge are told of if they are more than this, and than
_MANY_PART = 0.1  # this part of all


@dataclass(frozen=True, eq=False)
class SideFit:
    """The fair surface of one side, and what was made of each reading.

    off : (m,) reading less surface, square to it; use : (m,) weights in the end
    against : readings the shipwright stands by that their fellows do not bear out, and how much
        too great they are by them
    """

    patch: Patch
    edges: Edges
    points: Points
    off: Floats
    use: Floats
    doubts: tuple[Doubt, ...]
    findings: tuple[Finding, ...]
    against: tuple[tuple[Reading, float], ...] = ()

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
    *,
    borne: frozenset[str] = frozenset(),
) -> SideFit:
    """Fit one side; readings and decisions as `sections.decided` gives them.

    borne : stations that the other side bears out, so that they are not out as wholes

    Raises
    ------
    InputError : fewer than four stations with both rabbet and sheer, or no points between
    """
    placed = place(
        lambda kept: _begin(kept, ends, said, rules, unit),
        readings,
        said,
        rules.tolerance_mm,
        borne,
    )
    begun, misplaced, bodily = placed.begun, placed.misplaced, placed.bodily
    points = begun.points
    patch, trial = _settled(begun, rules)
    patch, trial = _faired(begun, patch, trial, rules)
    beyond, findings = _beyond(patch, points, begun.over, rules)
    against = begun.sure & (trial.use == 0) & (points.use > 0)
    outs = _outs(patch, trial, points, np.flatnonzero((trial.use == 0) & ~beyond))
    close = _floor(rules, unit)
    slight = [o.row for o in outs if abs(o.off) <= close and points.use[o.row] > 0]
    doubted = [o for o in outs if not against[o.row] and o.row not in slight]
    doubts = (
        *(_position_doubt(m, readings, said, unit) for m in misplaced),
        *(_bodily_doubt(b, readings, said, unit) for b in bodily),
        *(d for line in begun.lines for d in _edge_doubts(*line, close, said=said, unit=unit)),
        *(_doubt(*o.told(points), said=said, unit=unit) for o in doubted),
    )
    findings += _unjudged(points, trial)
    findings += [_position_finding(m, unit) for m in misplaced]
    findings += [_bodily_finding(b, unit) for b in bodily]
    findings += [_unsure_finding(*pair, *alone) for pair, alone in placed.unsure.items()]
    stood = [(points.readings[o.row], o.off) for o in outs if against[o.row]]
    stood += [one for line in begun.lines for one in _edges_against(*line)]
    use = trial.use.copy()
    use[against] = points.use[against]
    use[slight] = points.use[slight]
    edges = begun.edges
    if stood:
        edges, patch = _stood_by(begun, patch, use, ends, rules=rules, unit=unit)
    off = patch.off(points.xyz)
    fit = SideFit(patch, edges, points, off, use, doubts, (), tuple(stood))
    findings += _turns(fit, rules.tolerance_mm, unit)
    return replace(fit, findings=(*edges.findings, *findings))


def _turns(fit: SideFit, tolerance_mm: float, unit: str) -> list[Finding]:
    """Say where the sections turn more sharply than the surface is drawn."""
    sections = drawn_sections(fit.points, fit.use, fit.patch, tolerance_mm=tolerance_mm)
    near = {"error_mm": fit.rms_mm, "tolerance_mm": tolerance_mm}
    return [
        *unshown_turns(sections, **near, unit=unit),
        *knuckles_along(sections, **near, unit=unit),
    ]


def _floor(rules: HullRules, unit: str) -> float:
    """Give how far out a reading must lie to be doubted at all, mm, as it was read."""
    kind = UNITS[unit]
    return max(rules.tolerance_mm, rules.doubt_steps * float(kind.mm * kind.step))


def _stood_by(
    begun: _Begun,
    patch: Patch,
    use: Floats,
    ends: tuple[EndPoint, ...],
    *,
    rules: HullRules,
    unit: str,
) -> tuple[Edges, Patch]:
    """Fit edges and surface once more, to what the shipwright stands by as well."""
    edges, points = begun.edges, begun.points
    if any(run.against.any() for run, _ in begun.lines):
        judge = replace(_judge(rules), hold=True)
        edges = fair_edges(begun.rabbet, begun.sheer, ends, judge, unit)
    frame = _frame(edges, points)
    patch = fit_patch(
        frame, points.xyz, use, begun.feet, sliding=rules.sliding, close=rules.tolerance_mm,
        begin=patch,
    )  # fmt: skip
    return edges, faired_across(frame, points.xyz, use, patch, sliding=rules.sliding)


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

    @property
    def lines(self) -> tuple[tuple[FairRun, EdgeStations], ...]:
        """The fair lines of the edges, each with the stations it was read at."""
        rabbet = ((run, self.rabbet) for run in self.edges.rabbet_runs)
        return (*rabbet, (self.edges.sheer_run, self.sheer))


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
    edges = fair_edges(rabbet, sheer, ends, _judge(rules), unit)
    points, over = _within(edges, points, rules)
    _enough(rabbet, sheer, points)
    sure = np.array([stands(r, said) for r in points.readings])
    frame = _frame(edges, points)
    feet = start_feet(edges, points.xyz, points.stations, frame)
    patch = fit_patch(
        frame, points.xyz, points.use, feet, sliding=rules.sliding, close=rules.tolerance_mm
    )
    trial = _trial(frame, patch, points, points.use)
    return _Begun(rabbet, sheer, edges, points, over, sure, frame, feet, patch, trial)


def _enough(rabbet: EdgeStations, sheer: EdgeStations, points: Points) -> None:
    problems = [
        Problem("offsets", 0, role, counted(len(edge.names), "station"), "four or more", "")
        for role, edge in (("rabbet", rabbet), ("sheer", sheer))
        if len(edge.names) < 4
    ]
    if len(points.readings) < 8:
        found = f"{counted(len(points.readings), 'point')} between rabbet and sheer"
        problems.append(Problem("offsets", 0, "", found, "eight or more", ""))
    if problems:
        raise InputError(problems)


def _judge(rules: HullRules) -> Judge:
    return Judge(rules.doubt_times + FEWER, rules.tolerance_mm)


def _frame(edges: Edges, points: Points) -> Frame:
    along_pieces, across_pieces = _pieces(points)
    return frame_of(edges, even_basis(along_pieces), even_basis(across_pieces))


def _pieces(points: Points) -> tuple[int, int]:
    """How many pieces the surface has each way: enough for the readings, no more."""
    stations = len({r.station for r in points.readings})
    most = max(len(points.readings) // max(stations, 1), 1)
    return int(np.clip(0.6 * stations + 8, 16, 44)), int(np.clip(most, 10, 14))


def _settled(begun: _Begun, rules: HullRules) -> tuple[Patch, LeaveOut]:
    """Give up what is doubted and fit again, until no more is doubted or taken back.

    What the shipwright stands by is judged like the rest, lest it make its fellows doubtful.
    """
    frame, points, feet = begun.frame, begun.points, begun.feet
    bent = np.zeros(len(points.use), bool)
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
        bent[trial.bent] = True
        trial = _trial(frame, patch, points, use, bent)
        if not last:
            trial.take_back(rules.doubt_times, rules.tolerance_mm)
            trial.search(rules.doubt_times, rules.tolerance_mm)
    return patch, trial


def _faired(
    begun: _Begun, patch: Patch, trial: LeaveOut, rules: HullRules
) -> tuple[Patch, LeaveOut]:
    """Fair the settled surface once more, and judge anew on it what was given up at the garboard.

    There the surface is soft now: what no fellow can judge is taken back.
    """
    frame, points = begun.frame, begun.points
    faired = faired_across(frame, points.xyz, trial.use, patch, sliding=rules.sliding)
    gone = np.flatnonzero((trial.use == 0) & (points.use > 0) & (faired.v < 2 * GARBOARD))
    if faired is patch or not len(gone):
        return faired, trial
    again = _trial(frame.leaning(faired.lean, faired.soft), faired, points, trial.use)
    again.certain[:] = True
    again.certain[gone] = False
    for row in gone.tolist():
        again.use_again(row)
    again.search(rules.doubt_times, rules.tolerance_mm)
    back = gone[again.use[gone] > 0]
    if not len(back):
        return faired, trial
    trial.use[back] = points.use[back]
    return faired_across(frame, points.xyz, trial.use, patch, sliding=rules.sliding), trial


def _trial(
    frame: Frame, patch: Patch, points: Points, use: Floats, bent: NDArray[np.bool_] | None = None
) -> LeaveOut:
    certain = np.zeros(len(use), bool) if bent is None else bent.copy()
    free = np.flatnonzero(frame.free[..., 1].ravel())
    bases = frame.start.along, frame.start.across
    rows = sparse_rows(*bases, *live(*bases, patch.u, patch.v))[:, free]
    stiff = patch.stiffness * frame.penalty[free][:, free]
    normal = SplineSurface(patch.tensor).normal(patch.u, patch.v)
    share = np.abs(np.einsum("mi,mi->m", normal, points.way))
    share = np.where(np.any(points.way != 0, axis=1), np.maximum(share, 0.25), 1.0)
    near = neighbours(_places(patch, points))
    off, half = patch.off(points.xyz), halves(rows, use, stiff)
    return LeaveOut(off, half, use.copy(), near, certain, share, points.use)


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
    count = counted(len(names), "reading lies", "readings lie")
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
        slip, said[key].decision if key in said else "", first.file, 0, first.column, found.x_mm,
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


def _bodily_doubt(
    found: Bodily, readings: tuple[Reading, ...], said: dict[str, Decision], unit: str
) -> Doubt:
    """Doubt a column: nothing is taken off it, and what it stands too great by should be."""
    slip = explain(found.by_mm, max(0.15 * abs(found.by_mm), 2.0), "", unit, parse_length)
    own = (r for r in readings if (r.station, r.side) == (found.station, found.side))
    first = next(own)
    in_space = first.measured == "xyz" and found.kind == "heights"
    cell = replace(first.cell, column="z") if in_space else first.cell
    return Doubt(
        found.key, found.station, f"{found.what}, all", "", 0.0, found.by_mm, found.by_mm,
        slip, said[found.key].decision if found.key in said else "",
        cell.file, cell.row, cell.column, found.x_mm,
    )  # fmt: skip


def _bodily_finding(found: Bodily, unit: str) -> Finding:
    before, after = (format_small(mm, unit) for mm in (found.before_mm, found.after_mm))
    by = format_length(abs(found.by_mm), unit)
    way = "great" if found.by_mm > 0 else "small"
    says = (
        f"stands {by} out as a whole: its {found.count} {found.what} are all too {way} by about as"
        f" much; the station's readings lie {before} out on the mean as typed, {after} once mended"
    )
    why = "left out until you accept, correct or keep its " + found.what
    return Finding("H019", Severity.CAUTION, "hull", f"station {found.station}", says, why)


def _unsure_finding(one: str, other: str, alone: str) -> Finding:
    """Say that columns about here are out as wholes, and that it does not show which."""
    which = f"station {alone} alone" if alone not in {one, other} else "only one of them"
    says = (
        f"something is out as a whole here: stations {one} and {other} together, or {which};"
        " which it is does not show, so all are used as typed"
    )
    why = "look at these columns again, or measure one of them anew"
    return Finding("H023", Severity.CAUTION, "hull", f"stations {one}, {other}", says, why)


def _unjudged(points: Points, trial: LeaveOut) -> list[Finding]:
    """Say how many readings no fellow can judge, and where, if they are many."""
    used = trial.use > 0
    alone = np.flatnonzero(used & (trial.pull > trial.blind))
    every = int(used.sum())
    if len(alone) <= _MANY or len(alone) <= _MANY_PART * every:
        return []
    stations = [points.readings[i].station for i in alone]
    where = [s for s in dict.fromkeys(stations) if s]
    says = (
        f"{len(alone)} of {every} readings have no fellow near enough to judge them by, where the"
        " hull turns so much between stations and lines: a slip in one of them is followed, and not"
        " named"
    )
    why = "hold them against the book or the hull yourself; closer stations or lines give fellows"
    place = f"stations {', '.join(where)}" if where else "readings"
    return [Finding("H025", Severity.CAUTION, "hull", place, says, why)]


def _edge_doubts(
    run: FairRun, stations: EdgeStations, close: float, *, said: dict[str, Decision], unit: str
) -> list[Doubt]:
    doubts = []
    for reading, off, weight in _edge_rows(run, stations, ~run.against & (run.use == 0)):
        if weight == 0 or abs(off) > close:
            fair = reading.value_mm - off
            doubts.append(_doubt(reading, off, fair, 6.0, said=said, unit=unit))
    return doubts


def _edges_against(run: FairRun, stations: EdgeStations) -> list[tuple[Reading, float]]:
    return [(reading, off) for reading, off, _ in _edge_rows(run, stations, run.against)]


def _edge_rows(
    run: FairRun, stations: EdgeStations, wanted: NDArray[np.bool_]
) -> Iterator[tuple[Reading, float, float]]:
    """Give the readings of an edge that are wanted, (m, 2): how far out, and the weight given."""
    for column, by in enumerate((stations.by_y, stations.by_z)):
        for row in np.flatnonzero((run.which >= 0) & wanted[:, column]):
            station = run.which[row]
            reading = by[station]
            if reading is not None:
                weight = float(stations.use[station, column])
                yield reading, float(run.lines[column].residual[row]), weight


@dataclass(frozen=True, slots=True)
class _Out:
    """A reading given up: its row, how far out as it was read, its fair value, how sure that is."""

    row: int
    off: float
    fair: float
    uncertain: float

    def told(self, points: Points) -> tuple[Reading, float, float, float]:
        return points.readings[self.row], self.off, self.fair, self.uncertain


def _outs(
    patch: Patch, trial: LeaveOut, points: Points, rows: NDArray[np.intp]
) -> tuple[_Out, ...]:
    """Say of the readings of `rows` how far they lie out."""
    normal = SplineSurface(patch.tensor).normal(patch.u, patch.v)
    feet = patch.tensor.at(patch.u, patch.v)
    go = reach(patch.tensor, points.xyz[rows], points.way[rows], (patch.u[rows], patch.v[rows]))
    found, own, spread = [], trial.own, trial.spread()
    for i, along_way in zip(rows.tolist(), go, strict=True):
        reading = points.readings[i]
        if reading.measured == "xyz":
            off, fair = float(trial.off[i]), float(feet[i, 1])
        else:
            across = float(normal[i] @ points.way[i])
            steep = across if abs(across) > 0.1 else float(np.copysign(0.1, across))
            off = float(trial.off[i]) / steep if np.isnan(along_way) else -float(along_way)
            fair = reading.value_mm - off
        uncertain = 2 * spread * np.sqrt(1 + own[i]) * trial.seen[i] / trial.share[i]
        found.append(_Out(i, off, fair, float(uncertain)))
    return tuple(found)


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
        reading.cell.file, reading.cell.row, reading.cell.column, reading.x_mm,
    )  # fmt: skip
