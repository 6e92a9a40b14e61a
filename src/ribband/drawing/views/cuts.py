"""Cuts of the fair surface: waterlines, buttocks and sections, as curves in space.

A *net* is the surface seen at a grid of parameters. A cut is found on every line u = const by
where the coordinate passes the wanted value, and on the rabbet and the sheer by where they do, so
that its ends lie on them. Runs that a line does not reach part the cut in two.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ribband.drawing.sheet import Point
from ribband.hull.model import Floats, Surface

__all__ = ["Net", "along", "apart", "middle_of", "net", "section"]


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
    return kept if len(kept) > 1 else [points[0], (points[0][0] + least, points[0][1])]


def along(n: Net, axis: int, value: float) -> tuple[Floats, ...]:
    """Cut square to `axis` (1 a buttock, 2 a waterline) at `value`: runs of (n, 3) points."""
    crossings: list[tuple[float, Floats]] = []
    for u, line in zip(n.u, n.xyz, strict=True):
        found = _crossing(line, axis, value)
        if found is not None:
            crossings.append((float(u), found))
    for edge in (0, -1):
        crossings += _edge_crossings(n.u, n.xyz[:, edge], axis, value)
    return _runs(sorted(crossings, key=lambda c: c[0]), float(np.diff(n.u).max()))


def section(n: Net, x: float) -> Floats | None:
    """Cut square to the length at `x`: (n, 3) points from the keel up, or None if it misses."""
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


def _edge_crossings(u: Floats, edge: Floats, axis: int, value: float) -> list[tuple[float, Floats]]:
    off = edge[:, axis] - value
    out = []
    for k in np.flatnonzero((off[:-1] <= 0) != (off[1:] <= 0)):
        t = off[k] / (off[k] - off[k + 1])
        out.append((float(u[k] + t * (u[k + 1] - u[k])), edge[k] + t * (edge[k + 1] - edge[k])))
    return out


def _runs(crossings: list[tuple[float, Floats]], most: float) -> tuple[Floats, ...]:
    runs: list[list[Floats]] = []
    last = -np.inf
    for u, point in crossings:
        if u - last > most * 1.001 or not runs:
            runs.append([])
        if not runs[-1] or np.linalg.norm(point - runs[-1][-1]) > 1.0:
            runs[-1].append(point)
        last = u
    return tuple(np.array(run) for run in runs if len(run) > 2)
