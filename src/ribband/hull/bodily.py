"""Stations that stand out bodily: all half-breadths, or all heights, of a column off alike.

A column read off the wrong staff, or typed with the same slip all the way down, makes a bulge that
no single reading gives away: each is borne out by those above and below it. Such a station is left
out whole. If its readings then lie off the surface its fellows make, all by like amounts in the
way they were read, and by far more than the stations beside it do when they are left out, it is
doubted as a whole, and the amount is named.

*Kinds*: half-breadths (waterlines, diagonals, the sheer's) and heights (buttocks, the sheer's).
Points in space count as both. What the rabbet reads is not judged here: it is set by the siding
of the keel, and is faired with its own fellows.

Every station, and every two side by side, is first tried on the equations of the fit as they stand
(`standing_out`); what looks wrong is tried in earnest on a surface faired without it (`borne_out`).
Two side by side hide each other: with one left out the other holds the surface where it is. They
are left out together, and must both stand out by more than neighbours do that are left out two
by two.

Not checked: the first and the last station where an end was not measured, and how waterlines whose
set heights were all wrong would look.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise, product

import numpy as np
from numpy.typing import NDArray

from ribband.hull.edges import Edges
from ribband.hull.leaveout import LeaveOut
from ribband.hull.misplaced import Left, edge_miss, feet_of, left_out, settling
from ribband.hull.model import Floats
from ribband.hull.patch import Patch
from ribband.hull.sections import KINDS, Points, direction, kinds_of
from ribband.hull.surface import SplineSurface
from ribband.survey.model import Decision, Kind, Reading, Side, bodily_key

__all__ = ["Bodily", "borne_out", "in_order", "set_right", "standing_out"]

_FEWEST = 4  # readings of a kind
_LEAST = (
    2.5  # times the tolerance: a column out by less is not told from the shape between stations
)
_CHANCE = 5.0  # times the usual error of so many readings together
_STANDS_OUT = 4.0  # times what the stations beside it stand out, left out in their turn
_AT_ENDS = 8.0  # of the first and the last, with fellows on one side only
_FEW_BEYOND = 2  # stations beyond it, fewer than which the end itself is next to it
_LIKE = 0.5  # of the amount: how far a reading may lie from it and be off alike
_ALMOST_ALL = 0.8  # of its readings must be off alike
_MENDED = 0.4  # of how far they were out may be left
_TRIED = 3
_LOOKS_OUT = 2.0  # times what pairs about a pair stand out by, for it to be tried in earnest
_ASLANT = 0.3  # a reading that shows less of its error square to the surface says little


@dataclass(frozen=True, slots=True)
class Bodily:
    """A station whose readings of one kind all stand `by_mm` too great.

    `before_mm` and `after_mm` are how far its readings lie out, on the mean, as typed and with
    that taken off; `key` is the name a decision on it bears.
    """

    key: str
    station: str
    kind: Kind
    x_mm: float
    by_mm: float
    before_mm: float
    after_mm: float
    count: int
    side: Side = "both"

    @property
    def what(self) -> str:
        """Name its readings, with the side where sides were measured apart."""
        return self.kind if self.side == "both" else f"{self.kind} to {self.side}"


def set_right(readings: Iterable[Reading], decisions: Iterable[Decision]) -> tuple[Reading, ...]:
    """Take off what the shipwright says a column stands too great by."""
    by = {
        d.key: d.value_mm for d in decisions if d.decision == "correct" and d.value_mm is not None
    }
    if not by:
        return tuple(readings)
    return tuple(_less(r, by) for r in readings)


def _less(reading: Reading, by: Mapping[str, float]) -> Reading:
    for kind in kinds_of(reading):
        mm = by.get(bodily_key(kind, reading.station, reading.side))
        if mm is not None:
            way = _way(reading, kind) * -mm
            value = reading.value_mm - (mm if reading.measured != "xyz" else -way[1])
            y, z = reading.y_mm + way[1], reading.z_mm + way[2]
            reading = replace(reading, value_mm=value, y_mm=y, z_mm=z)
    return reading


def _way(reading: Reading, kind: Kind) -> Floats:
    """Give the way in which a reading of a kind grows."""
    if reading.measured == "xyz":
        return np.array([0.0, 1.0, 0.0] if kind == "half-breadths" else [0.0, 0.0, 1.0])
    return direction(reading)


def standing_out(
    surface: tuple[Points, Patch, LeaveOut, Edges], sure: Collection[str], tolerance_mm: float
) -> tuple[tuple[str, ...], ...]:
    """Give the stations, and pairs, that look bodily out; those first that settle the rest most.

    `sure` are the stations the shipwright has spoken for.
    """
    points, patch, trial, edges = surface
    every = left_out(points, patch, trial)
    inner = every[0 if edges.has_stem else 1 : None if edges.has_stern else -1]
    usual = max(trial.spread(), 1e-9)
    ways = _shown(points.readings, points.way, _normals(patch, patch.u, patch.v))
    least = _LEAST * tolerance_mm
    alone: dict[tuple[str, ...], float] = {
        (one.station,): _size(one, trial, ways[one.rows], usual, least)
        for one in inner
        if one.station not in sure
    }
    pairs = [_Two.of(*both, trial, ways) for both in pairwise(inner)]
    two: dict[tuple[str, ...], float] = {
        pair.names: pair.size(trial, usual, np.maximum(least, _LOOKS_OUT * beside))
        for pair, beside in zip(pairs, _beside_each(pairs), strict=True)
        if not set(pair.names) & set(sure)
    }
    out = [
        group
        for sizes in (alone, two)
        for group in sorted(sizes, key=lambda g: -sizes[g])[:_TRIED]
        if sizes[group] > _CHANCE
    ]
    settled = {g: settling(points, patch, trial, g) for g in out}
    return tuple(sorted(out, key=settled.__getitem__))


def in_order(one: str, other: str) -> tuple[str, str]:
    """Name two as they are named where positions are looked at."""
    return (one, other) if one <= other else (other, one)


def _size(one: Left, trial: LeaveOut, ways: Floats, usual: float, least: float) -> float:
    """Say how many times chance a station stands out, in the kind in which it does so most."""
    rows = one.rows
    use = trial.use[rows]
    found = [0.0]
    for shown in ways.T:
        seen = np.abs(shown) > _ASLANT
        by = _middle(one.out[seen] / shown[seen], np.abs(shown[seen])) if seen.any() else 0.0
        if seen.sum() >= _FEWEST - 1 and abs(by) > least:
            pull = (use * shown) @ trial.half[rows]
            found.append(abs(by) * float(np.sqrt(use @ shown**2 - pull @ pull)) / usual)
    return max(found)


@dataclass(frozen=True, slots=True, eq=False)
class _Two:
    """Two stations side by side left out together on the equations as they stand.

    rows : their readings', (m,); shown : (2, 2, m) how much each shows of a kind, 0 of the other's;
    by : (2, 2) what each stands out by, in each kind
    """

    names: tuple[str, str]
    rows: NDArray[np.intp]
    shown: Floats
    by: Floats

    @classmethod
    def of(cls, one: Left, other: Left, trial: LeaveOut, ways: Floats) -> _Two:
        rows = np.concatenate([one.rows, other.rows])
        out = _left_out_at(rows, trial)
        shown = np.zeros((2, 2, len(rows)))
        parts = np.split(np.arange(len(rows)), [len(one.rows)])
        for k, part in enumerate(parts):
            shown[k][:, part] = ways[rows[part]].T
        by = [[_amount(out[part], ways[rows[part]], kind) for kind in (0, 1)] for part in parts]
        return cls(in_order(one.station, other.station), rows, shown, np.array(by))

    def size(self, trial: LeaveOut, usual: float, least: Floats) -> float:
        """Say how many times chance the lesser stands out, in the kinds that do most."""
        half, use = trial.half[self.rows], trial.use[self.rows]
        found = [0.0]
        for kinds in product((0, 1), (0, 1)):
            by = np.abs(self.by[(0, 1), kinds])
            if np.all(by > least[list(kinds)]):
                shown = self.shown[(0, 1), kinds].T
                pull = half.T @ (use[:, None] * shown)
                known = (use[:, None] * shown).T @ shown - pull.T @ pull
                found.append(float(np.min(by / np.sqrt(np.diag(np.linalg.inv(known))))) / usual)
        return max(found)


def _beside_each(pairs: Sequence[_Two]) -> Floats:
    """Give what the pairs about each, none of its own stations in them, stand out by, (n, 2)."""
    sizes = np.abs([pair.by for pair in pairs]).max(axis=1) if pairs else np.zeros((0, 2))
    found = np.zeros((len(pairs), 2))
    for k in range(len(pairs)):
        near = [*range(max(k - 4, 0), max(k - 1, 0)), *range(k + 2, min(k + 5, len(pairs)))]
        found[k] = np.percentile(sizes[near], 25, axis=0) if near else 0.0
    return found


def _left_out_at(rows: NDArray[np.intp], trial: LeaveOut) -> Floats:
    """Give how far readings (m,) lie off the rest when they are left out together."""
    half, use = trial.half[rows], trial.use[rows]
    own = np.eye(len(rows)) - half @ half.T * use
    return np.asarray(np.linalg.solve(own, trial.off[rows]), float)


def _shown(readings: Sequence[Reading], way: Floats, normal: Floats) -> Floats:
    """Give how much of an error of each kind shows square to the surface, (m, 2).

    Readings of the surface, the way each was read (m, 3), and the normals where they lie.
    """
    across = np.einsum("mi,mi->m", way, normal)
    in_space = np.asarray(~way.any(axis=1), bool)
    rises = np.array([r.measured == "z" for r in readings], bool)
    shown = np.stack([np.where(rises, 0.0, across), np.where(rises, across, 0.0)], axis=-1)
    return np.where(in_space[:, None], normal[:, 1:], shown)


def _normals(patch: Patch, u: Floats, v: Floats) -> Floats:
    return SplineSurface(patch.tensor).normal(u, v)


def _middle(values: Floats, weights: Floats) -> float:
    """Give the weighted median of values (m,)."""
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return float(values[order[np.searchsorted(total, total[-1] / 2)]])


def borne_out(
    surface: tuple[Points, Patch, LeaveOut, Edges],
    taken: Sequence[Reading],
    tolerance_mm: float,
    together: int = 1,
) -> tuple[Bodily, ...]:
    """Tell if the station `taken` out stands off the surface without it, all by like amounts.

    `together` : how many side by side were taken out, this one among them.
    """
    points, patch, trial, edges = surface
    out, shown = _missed(patch, edges, taken)
    by = np.array([_amount(out, shown, k) for k in (0, 1)])
    x = float(np.mean([r.x_mm for r in taken]))
    stands_out = _STANDS_OUT if points.xyz[:, 0].min() < x < points.xyz[:, 0].max() else _AT_ENDS
    beside = _beside(points, patch, trial, x, together)
    least = max(_LEAST * tolerance_mm, _rise_at_end(points, patch, x))
    stands = np.abs(by) > np.maximum(least, stands_out * beside)
    by = np.where(stands & [_alike(out, shown, k, by[k]) for k in (0, 1)], by, 0.0)
    before, after = (_mean(miss) for miss in (out, out - shown @ by))
    if not by.any() or after > _MENDED * before:
        return ()
    first = taken[0]
    return tuple(
        Bodily(bodily_key(kind, first.station, first.side), first.station, kind, x, float(by[k]),
               before, after, int(np.count_nonzero(shown[:, k])), first.side)
        for k, kind in enumerate(KINDS) if by[k]
    )  # fmt: skip


def _rise_at_end(points: Points, patch: Patch, x: float) -> float:
    """Give how far the hull bows out between an end and the stations kept beside it, mm.

    Over a gap of chord c in which she turns by t an arc rises c t / 8. Next to a full bow or stern
    that is shape, and nobody stands beyond to tell it from a column that is out. 0 elsewhere.
    """
    stations = points.stations
    first = [int(np.argmax(stations == k)) for k in range(int(stations.max()) + 1)]
    place = points.xyz[first, 0]
    fore, aft = np.flatnonzero(place < x), np.flatnonzero(place > x)
    if min(len(fore), len(aft)) >= _FEW_BEYOND:
        return 0.0
    mean_u = np.array([patch.u[stations == k].mean() for k in range(len(first))])
    low = mean_u[fore[-1]] if len(fore) >= _FEW_BEYOND else 0.0
    high = mean_u[aft[0]] if len(aft) >= _FEW_BEYOND else 1.0
    v = np.linspace(0.2, 0.9, 15)
    ends = [np.full_like(v, u) for u in (low, high)]
    chord = np.linalg.norm(patch.tensor.at(ends[1], v) - patch.tensor.at(ends[0], v), axis=-1)
    cosine = np.einsum("mi,mi->m", *(_normals(patch, u, v) for u in ends))
    return float(np.median(chord * np.arccos(np.clip(cosine, -1.0, 1.0)) / 8))


def _missed(patch: Patch, edges: Edges, taken: Sequence[Reading]) -> tuple[Floats, Floats]:
    """Give how far readings lie out (m,), and how much of each kind shows in it (m, 2)."""
    inner = [r for r in taken if r.role == "surface"]
    place = np.array([(r.x_mm, r.y_mm, r.z_mm) for r in inner], float).reshape(-1, 3)
    u, v = feet_of(patch, place)
    normal = _normals(patch, u, v)
    off = np.einsum("mi,mi->m", place - patch.tensor.at(u, v), normal)
    heads = [r for r in taken if r.role == "sheer" and r.measured in {"y", "z"}]
    miss = edge_miss(edges.sheer, heads, np.zeros(1))[0]
    ones = np.array([[float(k in kinds_of(r)) for k in KINDS] for r in heads]).reshape(-1, 2)
    way = np.array([direction(r) for r in inner], float).reshape(-1, 3)
    shown = np.concatenate([_shown(inner, way, normal), ones])
    return np.concatenate([off, miss]), shown


def _amount(out: Floats, shown: Floats, kind: int) -> float:
    seen = np.abs(shown[:, kind]) > _ASLANT
    if seen.sum() < _FEWEST:
        return 0.0
    return _middle(out[seen] / shown[seen, kind], np.abs(shown[seen, kind]))


def _alike(out: Floats, shown: Floats, kind: int, by: float) -> bool:
    """Tell whether almost all readings of a kind are off by like amounts."""
    seen = np.abs(shown[:, kind]) > _ASLANT
    near = np.abs(out[seen] - by * shown[seen, kind]) < _LIKE * abs(by) * np.abs(shown[seen, kind])
    return bool(by) and bool(near.mean() >= _ALMOST_ALL)


def _beside(points: Points, patch: Patch, trial: LeaveOut, x: float, together: int) -> Floats:
    """Give how far the stations nearest x stand out, in each kind, when left out in turn, (2,).

    `together` at a time: over a wider gap the hull's own shape is less well foretold.
    """
    every = left_out(points, patch, trial)
    ways = _shown(points.readings, points.way, _normals(patch, patch.u, patch.v))
    amounts = []
    for one in sorted(every, key=lambda one: abs(one.x_mm - x))[:4]:
        k = every.index(one)
        out = _left_out_at(np.concatenate([e.rows for e in every[k : k + together]]), trial)
        own = slice(0, len(one.rows))
        amounts.append([_amount(out[own], ways[one.rows], kind) for kind in (0, 1)])
    return np.median(np.abs(amounts), axis=0) if amounts else np.zeros(2)


def _mean(miss: Floats) -> float:
    """Give the mean miss of almost all readings, lest one blunder hide the rest."""
    size = np.sort(np.abs(miss))
    return float(size[: max(int(np.ceil(_ALMOST_ALL * len(size))), 1)].mean())
