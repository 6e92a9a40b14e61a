"""Stations whose readings agree with the surface only if they stood somewhere else.

A whole station is left out of the fit. If its readings then lie far off the surface its fellows
make, and moving them all fore or aft by one length brings them back onto it, the *position* is
doubted, not the readings. Two columns exchanged show as two stations, each at home where the
other was set down.

First every station is tried on the equations of the fit as they stand (`suspects`); what looks
wrong is tried in earnest on a surface faired without it (`proven`).

Not checked: stations where the hull runs straight fore and aft (nothing shows there, and nothing
depends on it), and the first and last station where an end was not measured.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import zip_longest

import numpy as np
from numpy.typing import NDArray

from ribband.hull.edges import Edges
from ribband.hull.leaveout import LeaveOut
from ribband.hull.model import Floats
from ribband.hull.patch import Patch
from ribband.hull.sections import Points
from ribband.hull.surface import SplineSurface, foot_points
from ribband.survey.model import Cell, Decision, Reading, Survey, position_key

__all__ = [
    "Left",
    "Misplaced",
    "edge_miss",
    "feet_of",
    "left_out",
    "paired",
    "position_cell",
    "proven",
    "repositioned",
    "settling",
    "spoken_for",
    "suspects",
    "unrest",
]

_FEWEST = 4  # readings a station must have to be judged
_LOOKS_OUT = 2.5  # times what stations usually lie out when left out
_TELLS = 3.0  # times the tolerance: a station out by less is not looked into
_LOOKS_MENDED = 0.5
_STANDS_OUT = 2.2  # times what the stations beside it lie out
_MENDED = 0.35  # of how far its readings were out may be left where it belongs
_SPACES = 0.12  # of the space between stations: a lesser shift is not told from a real shape
_MENDED_AT_ENDS = 0.15  # of the first and the last, with fellows on one side only
_SPACES_AT_ENDS = 0.25
_BOTH_STAND_OUT = 2.0  # of two exchanged: their places are known, so less will do
_LEAST = 20.0  # times the tolerance
_ALMOST_ALL = 0.8  # of a station's readings are looked at, lest one blunder hide the rest
_AT_HOME = 0.5  # of the way between two: nearer the other's place than this it belongs there
_REACH = 1.3  # spaces: a station is looked for as far as its neighbours, and no less than this
_FEWEST_STATIONS = 5
_FAR_OUT = 4.0  # times what is usual: tried even if no shift alone mends it
_TRIED = 5  # the furthest out are tried, each alone and with those near it
_PAIR = 0.35  # a pair must settle the rest this power of two better than one station


@dataclass(frozen=True, slots=True)
class Misplaced:
    """A station typed at x_mm whose readings agree with the others `by_mm` further aft.

    `before_mm` and `after_mm` are how far its readings lie out, on the mean, as typed and there;
    `exchanged` is the station with which it looks exchanged, or "".
    """

    station: str
    x_mm: float
    by_mm: float
    before_mm: float
    after_mm: float
    count: int
    exchanged: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Left:
    """A station left out: how far its readings lie off the rest, and by what shift less.

    rows : (m,) its readings; out : (m,) how far each lies off the rest
    """

    station: str
    x_mm: float
    rows: NDArray[np.intp]
    out: Floats
    before_mm: float
    after_mm: float
    by_mm: float

    @property
    def looks_moved(self) -> bool:
        """Tell whether a shift of the station brings its readings back."""
        return self.after_mm < _LOOKS_MENDED * self.before_mm


def repositioned(survey: Survey) -> Survey:
    """Put in the positions the shipwright has corrected, of readings and of frames."""
    said = {
        d.key: d.value_mm
        for d in survey.decisions
        if d.decision == "correct" and d.value_mm is not None
    }
    typed = _places(survey.readings)
    right = {s: said[position_key(s)] - x for s, x in typed.items() if position_key(s) in said}
    if not right:
        return survey
    readings = tuple(
        replace(r, x_mm=r.x_mm + right[r.station]) if r.station in right else r
        for r in survey.readings
    )
    frames = tuple(
        replace(m, x_mm=m.x_mm + right[m.name])
        if m.name in right and abs(m.x_mm - typed[m.name]) < 1.0
        else m
        for m in survey.frames
    )
    return replace(
        survey, readings=readings, frames=tuple(sorted(frames, key=lambda mark: mark.x_mm))
    )


def position_cell(survey: Survey, station: str) -> Cell | None:
    """Give the cell in which the position of a station was typed, where it is known."""
    for mark in (*survey.stations, *survey.frames):
        if mark.name == station and mark.cell:
            column = "position" if mark.cell.column == "frame" else mark.cell.column
            return replace(mark.cell, column=column)
    return None


def _places(readings: Sequence[Reading]) -> dict[str, float]:
    """Give where each named station stands."""
    found: dict[str, list[float]] = {}
    for reading in readings:
        if reading.station:
            found.setdefault(reading.station, []).append(reading.x_mm)
    return {station: sum(x) / len(x) for station, x in found.items()}


def suspects(
    surface: tuple[Points, Patch, LeaveOut, Edges], sure: Collection[str], tolerance_mm: float
) -> tuple[tuple[str, ...], ...]:
    """Give the stations, or pairs, whose leaving out would settle the others most; best first."""
    points, patch, trial, edges = surface
    alone = left_out(points, patch, trial)
    if len(alone) < _FEWEST_STATIONS:
        return ()
    usual = float(np.median([s.before_mm for s in alone]))
    inner = alone[0 if edges.has_stem else 1 : None if edges.has_stern else -1]
    able = [s for s in inner if s.station not in sure]
    least = max(_LOOKS_OUT * usual, _TELLS * tolerance_mm)
    out = [s for s in able if s.before_mm > least]
    if not any(s.looks_moved or s.before_mm > _FAR_OUT * usual for s in out):
        return ()
    worst = sorted(out, key=lambda s: -s.before_mm)[:_TRIED]
    names = [s.station for s in able]
    groups: set[tuple[str, ...]] = {(s.station,) for s in worst}
    for one in worst:
        k = names.index(one.station)
        beside = [*names[max(k - 2, 0) : k], *names[k + 1 : k + 3], *(s.station for s in worst[:3])]
        groups |= {tuple(sorted((one.station, other))) for other in beside if other != one.station}
    rest = {g: settling(points, patch, trial, g) for g in sorted(groups)}
    order = sorted(rest, key=lambda g: rest[g])
    singles = [g for g in order if len(g) == 1]
    pairs = [g for g in order if len(g) == 2]
    furthest = tuple(sorted(s.station for s in worst[:2]))
    pairs = [*(g for g in pairs if g == furthest), *(g for g in pairs if g != furthest)]
    taking_turns = [g for both in zip_longest(singles, pairs) for g in both if g]
    return tuple(dict.fromkeys([order[0], *taking_turns]))


def settling(points: Points, patch: Patch, trial: LeaveOut, gone: tuple[str, ...]) -> float:
    """Give how unsettled the rest stay without `gone`, for stations and pairs to be compared.

    A pair has two stations' freedom to settle the rest with: it must do so much better.
    """
    return unrest(points, patch, trial, gone) * float(len(gone) ** _PAIR)


def unrest(points: Points, patch: Patch, trial: LeaveOut, gone: tuple[str, ...]) -> float:
    """Give how far all other stations lie out, left out in turn, once `gone` are given up."""
    named = np.array([r.station in gone for r in points.readings])
    rows = np.flatnonzero(named & (trial.use > 0))
    q = trial.half @ trial.half[rows].T
    own = np.eye(len(rows)) - q[rows] * trial.use[rows]
    off = trial.off + (q * trial.use[rows]) @ np.linalg.solve(own, trial.off[rows])
    use = np.where(named, 0.0, trial.use)
    wider = np.linalg.cholesky(np.linalg.inv(own / trial.use[rows][None, :]))
    half = np.concatenate([trial.half, q @ wider], axis=1)
    without = replace(trial, off=off, use=use, half=half)
    return sum(s.before_mm for s in left_out(points, patch, without))


def left_out(points: Points, patch: Patch, trial: LeaveOut) -> list[Left]:
    """Leave out one station after another on the equations as they stand, in order aft."""
    ahead = SplineSurface(patch.tensor).normal(patch.u, patch.v)[:, 0]
    stations = points.stations
    found = []
    for k in range(int(stations.max()) + 1):
        rows = np.flatnonzero((stations == k) & (trial.use > 0))
        first = points.readings[int(np.argmax(stations == k))]
        if len(rows) < _FEWEST or not first.station:
            continue
        own = np.eye(len(rows)) - trial.half[rows] @ trial.half[rows].T * trial.use[rows]
        out = np.linalg.solve(own, trial.off[rows])
        by = _shift(np.asarray(out, float), ahead[rows])
        before, after = (float(np.abs(e).mean()) for e in (out, out + by * ahead[rows]))
        x = float(points.xyz[rows, 0].mean())
        found.append(Left(first.station, x, rows, np.asarray(out, float), before, after, by))
    return found


def _shift(out: Floats, ahead: Floats) -> float:
    """Give the shift aft that best brings readings `out` by so much back: a weighted median."""
    sizes = np.maximum(np.abs(ahead), 1e-3)
    each = -out / np.copysign(sizes, ahead)
    order = np.argsort(each)
    total = np.cumsum(sizes[order])
    return float(each[order[np.searchsorted(total, total[-1] / 2)]])


def proven(
    surface: tuple[Points, Patch, LeaveOut, Edges],
    taken: Mapping[str, Sequence[Reading]],
    tolerance_mm: float,
) -> dict[str, Misplaced]:
    """Tell if the station or pair `taken` out belongs elsewhere on the surface without it."""
    points, patch, trial, edges = surface
    beside = left_out(points, patch, trial)
    homes = {s: float(np.mean([r.x_mm for r in readings])) for s, readings in taken.items()}
    every = np.array(sorted([*(s.x_mm for s in beside), *homes.values()]))
    found = [
        _stood(_Miss(patch, edges, readings), s, homes, every) for s, readings in taken.items()
    ]
    usual = sum(_usual(beside, m.x_mm, tolerance_mm) for m in found)
    before, after = sum(m.before_mm for m in found), sum(m.after_mm for m in found)
    at_an_end = len(found) == 1 and found[0].x_mm in {every[0], every[-1]}
    mended = _MENDED_AT_ENDS if at_an_end else _MENDED
    spaces = _SPACES_AT_ENDS if at_an_end else _SPACES
    far = all(
        abs(m.by_mm) > max(_LEAST * tolerance_mm, spaces * _space(every, m.x_mm)) for m in found
    )
    stands_out = _STANDS_OUT if len(found) == 1 else _BOTH_STAND_OUT
    if far and before > stands_out * usual and after < mended * before:
        return {m.station: m for m in found}
    return {}


def _stood(miss: _Miss, station: str, homes: Mapping[str, float], every: Floats) -> Misplaced:
    """Say how a station's readings lie where it was set, and at the other's place or the best."""
    x = homes[station]
    other = next((s for s in homes if s != station), "")
    by = homes[other] - x if other else 0.0
    before, there = miss.at(np.array([0.0, by])).tolist()
    if not other:
        by, there = miss.least(_lower(every, x), _upper(every, x))
    return Misplaced(station, x, by, before, there, len(miss.readings), other)


def _usual(beside: Sequence[Left], x: float, tolerance_mm: float) -> float:
    """Give how far the stations nearest x lie out when left out."""
    near = sorted(beside, key=lambda s: abs(s.x_mm - x))[:4]
    return max(float(np.median([s.before_mm for s in near])), tolerance_mm)


def _lower(every: Floats, x: float) -> float:
    """Give how far forward a station may be moved: to the one before it, or a space."""
    ahead = every[every < x - 1.0]
    least = -_REACH * float(np.median(np.diff(every)))
    return min(float(ahead[-1] - x), least) if len(ahead) else least


def _upper(every: Floats, x: float) -> float:
    aft = every[every > x + 1.0]
    least = _REACH * float(np.median(np.diff(every)))
    return max(float(aft[0] - x), least) if len(aft) else least


def _space(every: Floats, x: float) -> float:
    """Give the usual space between stations about x."""
    k = int(np.argmin(np.abs(every - x)))
    near = every[max(k - 1, 0) : k + 2]
    return float(np.diff(near).mean())


@dataclass(frozen=True, eq=False)
class _Miss:
    """How far a station's readings lie off the surface and the sheer, wherever it stands."""

    patch: Patch
    edges: Edges
    readings: Sequence[Reading]

    def at(self, by: Floats) -> Floats:
        """Give the mean miss of almost all readings when moved aft by each of `by` (b,)."""
        inner = [r for r in self.readings if r.role == "surface"]
        place = np.array([(r.x_mm, r.y_mm, r.z_mm) for r in inner], float).reshape(-1, 3)
        moved = place[None] + by[:, None, None] * np.array([1.0, 0.0, 0.0])
        off = _distance(self.patch, moved.reshape(-1, 3)).reshape(len(by), -1)
        own = [r for r in self.readings if r.role == "sheer" and r.measured in {"y", "z"}]
        heads = np.abs(edge_miss(self.edges.sheer, own, by))
        both = np.sort(np.concatenate([off, heads], axis=1), axis=1)
        most = max(int(np.ceil(_ALMOST_ALL * both.shape[1])), 1)
        return np.asarray(both[:, :most].mean(axis=1), float)

    def least(self, lower: float, upper: float) -> tuple[float, float]:
        """Give the shift between two that misses least, and by how much it misses."""
        by = np.linspace(lower, upper, 49)
        for _ in range(2):
            miss = self.at(by)
            k = int(np.argmin(miss))
            step = by[1] - by[0]
            best = float(by[k]), float(miss[k])
            by = by[k] + np.linspace(-step, step, 17)
        return best


def edge_miss(edge: Floats, own: Sequence[Reading], by: Floats) -> Floats:
    """Give by how much its own readings (k) are greater than an edge, (b, k), at each shift aft."""
    order = np.argsort(edge[:, 0], kind="stable")
    return np.array(
        [
            r.value_mm
            - np.interp(r.x_mm + by, edge[order, 0], edge[order, 1 if r.measured == "y" else 2])
            for r in own
        ]
    ).reshape(-1, len(by)).T  # fmt: skip


def _distance(patch: Patch, points: Floats) -> Floats:
    """Give how far points (m, 3) lie from the surface."""
    return np.asarray(np.linalg.norm(points - patch.tensor.at(*feet_of(patch, points)), axis=-1))


def feet_of(patch: Patch, points: Floats) -> tuple[Floats, Floats]:
    """Give the feet u, v (m,) of points (m, 3), sought from the nearest of a table of places."""
    from scipy.spatial import cKDTree  # noqa: PLC0415 - heavy

    u, v = np.linspace(0, 1, 161), np.linspace(0, 1, 41)
    near = cKDTree(patch.tensor.grid(u, v).reshape(-1, 3)).query(points)[1]
    start: tuple[NDArray[np.intp], NDArray[np.intp]] = np.unravel_index(near, (161, 41))  # type: ignore[assignment]
    return foot_points(patch.tensor, points, u[start[0]], v[start[1]], 4)


def paired(found: Mapping[str, Misplaced]) -> tuple[Misplaced, ...]:
    """Say of two stations found one by one, each at home where the other was set, so."""
    told = dict(found)
    for a in found.values():
        for b in found.values():
            room = _AT_HOME * abs(a.x_mm - b.x_mm)
            there = abs(a.x_mm + a.by_mm - b.x_mm) < room
            if a is not b and there and abs(b.x_mm + b.by_mm - a.x_mm) < room:
                told[a.station] = replace(a, by_mm=b.x_mm - a.x_mm, exchanged=b.station)
    return tuple(told.values())


def spoken_for(said: Mapping[str, Decision], stations: Collection[str]) -> dict[str, str]:
    """Give what the shipwright has said of the positions of stations."""
    return {s: said[position_key(s)].decision for s in stations if position_key(s) in said}
