"""Cuts of the fair surface: waterlines, buttocks and sections, as curves in space.

A *net* is the surface seen at a grid of parameters. A cut runs from side to side of the net's
cells; its points lie where the coordinate passes the wanted value along the cells' sides, so its
ends lie on the rabbet, the sheer or the ends of the hull. A coordinate that comes back (tumblehome,
a tuck) gives a cut that turns, or several. Between points of the net the surface is taken straight,
unless the surface itself is given to `along`: then the cut's points lie on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.drawing.sheet import Point
from ribband.hull.model import Floats, Surface

__all__ = ["Net", "along", "apart", "middle_of", "net", "section"]

_Side = tuple[tuple[int, int], tuple[int, int]]


@dataclass(frozen=True, slots=True, eq=False)
class Net:
    """The surface on a grid: u (A,), v (B,), xyz (A, B, 3)."""

    u: Floats
    v: Floats
    xyz: Floats


def net(surface: Surface, lines: int = 101, points: int = 97) -> Net:
    """See the surface at `lines` by `points` parameters, closer together at the ends of u."""
    t = np.linspace(0.0, 1.0, lines)
    u = t - 0.6 * np.sin(2 * np.pi * t) / (2 * np.pi)
    v = np.linspace(0.0, 1.0, points)
    return Net(u, v, np.asarray(surface.point(u[:, None], v[None, :]), float))


def middle_of(n: Net) -> float:
    """Give the position of the fullest section, which parts the fore body from the aft."""
    y, z = n.xyz[..., 1], n.xyz[..., 2]
    area = np.sum((y[:, 1:] + y[:, :-1]) / 2 * np.diff(z, axis=1), axis=1)
    return float(n.xyz[int(np.argmax(area)), :, 0].mean())


def apart(points: Sequence[Point], least: float = 0.5) -> list[Point]:
    """Leave out points that lie on the one before: a batten needs some way between nails."""
    kept = [points[0]]
    for p in points[1:]:
        if np.hypot(p[0] - kept[-1][0], p[1] - kept[-1][1]) > least:
            kept.append(p)
    if kept[-1] != points[-1] and len(kept) > 1:
        kept[-1] = points[-1]
    return kept if len(kept) > 1 else [points[0], (points[0][0] + least, points[0][1])]


def along(n: Net, axis: int, value: float, surface: Surface | None = None) -> tuple[Floats, ...]:
    """Cut square to `axis` (1 a buttock, 2 a waterline) at `value`: runs of (n, 3) points.

    With `surface` (the one the net was seen on) the points lie on it to about 0.01 mm.
    """
    off = n.xyz[..., axis] - value
    off = np.where(off == 0.0, 1e-9, off)
    steps = _steps(off > 0)
    runs = [run for run in _chains(steps) if len(run) > 2]
    if surface is not None:
        return tuple(_on_surface(n, off, run, surface, axis) for run in runs)
    return tuple(np.array([_on_side(n.xyz, off, side) for side in run]) for run in runs)


def _on_surface(n: Net, off: Floats, run: list[_Side], surface: Surface, axis: int) -> Floats:
    """Find where each side of a run, an arc of the surface, passes the cut: secants, bracketed."""
    a, b = (np.array([side[k] for side in run]) for k in (0, 1))
    low, high = (off[tuple(at.T)] for at in (a, b))
    value = float(n.xyz[(*a[0], axis)] - low[0])
    t, from_t, to_t = low / (low - high), np.zeros(len(run)), np.ones(len(run))
    point = np.empty((len(run), 3))
    for _ in range(4):
        u = n.u[a[:, 0]] + t * (n.u[b[:, 0]] - n.u[a[:, 0]])
        v = n.v[a[:, 1]] + t * (n.v[b[:, 1]] - n.v[a[:, 1]])
        point = np.asarray(surface.point(u, v), float)
        now = point[:, axis] - value
        before = (now > 0) == (low > 0)  # still on the side of the arc's beginning
        from_t, low = np.where(before, t, from_t), np.where(before, now, low)
        to_t, high = np.where(before, to_t, t), np.where(before, high, now)
        t = np.where(low == high, t, from_t + (to_t - from_t) * low / (low - high + 1e-300))
    return point


def section(n: Net, x: float) -> Floats | None:
    """Cut square to the length at `x`: (n, 3) points from the keel up, or None if it misses."""
    for end in (n.xyz[0], n.xyz[-1]):
        if np.abs(end[:, 0] - x).max() < 1.0:  # an upright end: a cut would run along it
            return np.asarray(end, float)
    points = [_crossing(n.xyz[:, j], 0, x) for j in range(len(n.v))]
    found = [p for p in points if p is not None]
    if len(found) < 4:
        return None
    ends = [(0, found[0]), (len(n.v) - 1, found[-1])]
    run = np.array(found)
    for j, _ in ends:  # where the section starts on the stem, its foot lies between two points
        if points[j] is None:
            run = _with_foot(n, run, x, lower=j == 0)
    return run


def _with_foot(n: Net, run: Floats, x: float, *, lower: bool) -> Floats:
    ends = [p for i in (0, -1) if (p := _crossing(n.xyz[i], 0, x)) is not None]
    target = run[0] if lower else run[-1]
    if not ends:
        return run
    foot = min(ends, key=lambda p: float(np.linalg.norm(p - target)))
    if np.linalg.norm(foot - target) < 1e-6:
        return run
    return np.vstack([foot, run]) if lower else np.vstack([run, foot])


def _crossing(line: Floats, axis: int, value: float) -> Floats | None:
    """Give the first point of `line` (n, 3) where the coordinate passes `value`."""
    off = line[:, axis] - value
    at = np.flatnonzero((off[:-1] <= 0) != (off[1:] <= 0))
    if not len(at):
        return None
    k = int(at[0])
    t = off[k] / (off[k] - off[k + 1])
    point: Floats = line[k] + t * (line[k + 1] - line[k])
    return point


def _steps(over: NDArray[np.bool_]) -> list[tuple[_Side, _Side]]:
    """Give how the cut passes each cell: from side to side; a side is named by its two corners."""
    corners = over[:-1, :-1].astype(int) + over[1:, :-1] + over[1:, 1:] + over[:-1, 1:]
    steps = []
    for i, j in np.argwhere((corners > 0) & (corners < 4)):
        ring = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)]
        sides = [
            (min(a, b), max(a, b))
            for a, b in zip(ring, [*ring[1:], ring[0]], strict=True)
            if over[a] != over[b]
        ]
        steps += list(zip(sides[::2], sides[1::2], strict=True))
    return steps


def _chains(steps: list[tuple[_Side, _Side]]) -> list[list[_Side]]:
    """Join the steps end to end; open runs first, then closed ones."""
    joins: dict[_Side, list[_Side]] = {}
    for a, b in steps:
        joins.setdefault(a, []).append(b)
        joins.setdefault(b, []).append(a)
    starts = sorted(joins, key=lambda side: (len(joins[side]), side))
    runs, seen = [], set()
    for start in starts:
        if start in seen:
            continue
        run, at = [start], start
        seen.add(start)
        while after := [s for s in joins[at] if s not in seen]:
            at = after[0]
            seen.add(at)
            run.append(at)
        if len(run) > 2 and start in joins[at] and len(joins[start]) == 2:
            run.append(start)
        runs.append(run)
    return runs


def _on_side(xyz: Floats, off: Floats, side: _Side) -> Floats:
    a, b = side
    t = off[a] / (off[a] - off[b])
    point: Floats = xyz[a] + t * (xyz[b] - xyz[a])
    return point
