"""Jobs for flat shapes: seams laid on made hulls by formula, and true developments beside them."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
from scipy.interpolate import CubicSpline

from made_hulls import hull_of
from made_planking import even_lining, ways_of
from ribband.butts.model import Layout, Ways
from ribband.hull.model import Floats, Hull
from ribband.hull.surface import SplineSurface, foot_points
from ribband.lining.model import Lining
from ribband.numerics.bspline import even_basis, tensor_through
from ribband.planks.shape_model import Shape

NO_BUTTS = Layout((), feasible=True, goals=(), seconds=0.0, seed=0)


def with_seams(hull: Hull, seams: Callable[[Floats], Floats], strakes: int) -> tuple[Lining, Ways]:
    """Line a hull out along v = seams(u), (strakes + 1, K), and give the butt problem."""
    lining = even_lining(hull, strakes)
    u = np.linspace(0.0, 1.0, 61)
    lining = replace(lining, seam_u=u, seam_v=seams(u), present=np.ones((strakes, 61)))
    return lining, ways_of(hull, lining)


def cone(
    small: float = 500.0, large: float = 1500.0, length: float = 12000.0, frames: int = 25
) -> Hull:
    """A quarter cone, axis along x, its radius growing aft."""

    def shape(u: Floats, v: Floats) -> Floats:
        a, r = v * np.pi / 2, small + (large - small) * u
        return np.stack([length * u, r * np.sin(a), -r * np.cos(a)], axis=-1)

    return hull_of(shape, np.linspace(300.0, length - 300.0, frames), 41)


def ball(radius: float, low: float, high: float, turn: float, frames: int = 9) -> Hull:
    """A band of a sphere between two latitudes (rad), turned `turn` rad about its pole.

    The pole lies along z; the band is cut in two by the plane y of its middle meridian.
    """

    def shape(u: Floats, v: Floats) -> Floats:
        lat, lon = low + (high - low) * v, turn * (u - 0.5)
        flat = radius * np.cos(lat)
        return np.stack([flat * np.sin(lon), flat * np.cos(lon), radius * np.sin(lat)], axis=-1)

    reach = 0.8 * radius * np.cos(high) * np.sin(turn / 2)
    return hull_of(shape, np.linspace(-reach, reach, frames), 41)


def apart(points: Floats, wanted: Floats) -> float:
    """Give the greatest distance between two like sets of points (n, 2), laid best together."""
    p, q = points - points.mean(axis=0), wanted - wanted.mean(axis=0)
    left, _, right = np.linalg.svd(p.T @ q)
    return float(np.linalg.norm(p @ (left @ right) - q, axis=1).max())


def splined(hull: Hull, along: int = 80, across: int = 20) -> Hull:
    """The same hull with a spline surface through its formula, as a fitted hull has."""
    u, v = even_basis(along), even_basis(across)
    values = hull.surface.point(*np.meshgrid(u.greville, v.greville, indexing="ij"))
    return replace(hull, surface=SplineSurface(tensor_through(u, v, values)))


def same_seams(true: Hull, fitted: Hull, lining: Lining) -> Lining:
    """The seams of a lining of the true hull, carried square over to a fitted one."""
    fine = np.linspace(0.0, 1.0, 241)
    seams = lining.seam_v.copy()
    for row in range(1, len(seams) - 1):
        v = np.interp(fine, lining.seam_u, lining.seam_v[row])
        u, v = foot_points(fitted.surface.tensor, true.surface.point(fine, v), fine, v, 12)
        on = np.flatnonzero(np.diff(np.maximum.accumulate(u), prepend=-1.0) > 1e-4)
        seams[row] = np.clip(CubicSpline(u[on], v[on])(lining.seam_u), 0.0, 1.0)
    return replace(lining, seam_v=seams)


def edges_apart(shape: Shape, wanted: Shape) -> Floats:
    """How far a shape's edges lie beside another's, laid best together, (points,)."""
    p, q = (np.concatenate([s.lower, s.upper]) for s in (wanted, shape))
    p, q = p - p.mean(axis=0), q - q.mean(axis=0)
    left, _, right = np.linalg.svd(q.T @ p)
    off = q @ (left @ right) - p
    half = len(p) // 2
    way = np.concatenate([np.gradient(p[:half], axis=0), np.gradient(p[half:], axis=0)])
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    return np.asarray(np.abs(off[:, 1] * way[:, 0] - off[:, 0] * way[:, 1]), float)


def bevels_apart(shape: Shape, wanted: Shape) -> Floats:
    """How far a shape's bevels differ from another's at the frames both cross, degrees."""
    both = [(i, wanted.frames.index(f)) for i, f in enumerate(shape.frames) if f in wanted.frames]
    i, j = np.array(both).T
    off = [
        shape.lower_bevel_rad[i] - wanted.lower_bevel_rad[j],
        shape.upper_bevel_rad[i] - wanted.upper_bevel_rad[j],
    ]
    return np.degrees(np.abs(np.concatenate(off)))
