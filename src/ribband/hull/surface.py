"""The fair surface as a tensor spline, with normals and curvatures.

Outward is S_v x S_u: u runs aft, v up. Where keel and stem run into each other the two tangents
are parallel and no normal exists; there it is taken a hair inside the corner.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import ArrayLike

from ribband.hull.model import Floats, Surface
from ribband.numerics.bspline import Tensor

__all__ = [
    "Inside",
    "SplineSurface",
    "along_curvature",
    "foot_points",
    "points_and_normals",
    "reach",
]

_HAIR = 2e-3
_SECOND = ((1, 0), (0, 1), (2, 0), (1, 1), (0, 2))


@dataclass(frozen=True, eq=False)
class SplineSurface:
    """A bicubic surface over u, v from 0 to 1; `tensor` holds x, y, z in mm."""

    tensor: Tensor

    def point(self, u: ArrayLike, v: ArrayLike) -> Floats:
        """Give points (..., 3)."""
        return self.tensor.at(u, v)

    def normal(self, u: ArrayLike, v: ArrayLike) -> Floats:
        """Give unit normals (..., 3), outward."""
        by_u, by_v = self.tensor.many(*self._off_corner(u, v), _SECOND[:2])
        return _unit(np.cross(by_v, by_u))

    def point_and_normal(self, u: ArrayLike, v: ArrayLike) -> tuple[Floats, Floats]:
        """Give points and unit normals (..., 3), in less time than one by one."""
        u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
        inside = self._off_corner(u, v)
        point, by_u, by_v = self.tensor.many(*inside, ((0, 0), *_SECOND[:2]))
        moved = (inside[0] != u) | (inside[1] != v)
        if moved.any():
            point[moved] = self.point(u[moved], v[moved])
        return point, _unit(np.cross(by_v, by_u))

    def curvatures(self, u: ArrayLike, v: ArrayLike) -> tuple[Floats, Floats]:
        """Give principal curvatures (...,), 1/mm, greater first; positive where round."""
        first, second = self.forms(u, v)
        area = first[0] * first[2] - first[1] ** 2
        mean = first[0] * second[2] - 2 * first[1] * second[1] + first[2] * second[0]
        mean = mean / (2 * area)
        gauss = (second[0] * second[2] - second[1] ** 2) / area
        root = np.sqrt(np.maximum(mean**2 - gauss, 0.0))
        return mean + root, mean - root

    def forms(self, u: ArrayLike, v: ArrayLike) -> tuple[Floats, Floats]:
        """Give the first and second forms, each (3, ...): uu, uv, vv; second positive if round."""
        a, b, aa, ab, bb = self.tensor.many(*self._off_corner(u, v), _SECOND)
        n = _unit(np.cross(b, a))
        first = np.stack([_dot(a, a), _dot(a, b), _dot(b, b)])
        return first, -np.stack([_dot(aa, n), _dot(ab, n), _dot(bb, n)])

    @cached_property
    def _smooth_corner(self) -> bool:
        """True where keel and stem run into each other at u = v = 0, so that no normal exists."""
        a, b = self.tensor.many(0.0, 0.0, _SECOND[:2])
        return bool(np.linalg.norm(np.cross(a, b)) < 0.2 * np.linalg.norm(a) * np.linalg.norm(b))

    def _off_corner(self, u: ArrayLike, v: ArrayLike) -> tuple[Floats, Floats]:
        """Step a hair inside at such a corner."""
        u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
        if not self._smooth_corner:
            return u, v
        near = (u < _HAIR) & (v < _HAIR)
        return np.where(near, np.maximum(u, _HAIR), u), np.where(near, np.maximum(v, _HAIR), v)


@dataclass(frozen=True, eq=False)
class Inside:
    """A surface moved inward along its normals: the frames under planking of `thickness_mm`.

    Exact: normals stay, and a radius of curvature shortens by the thickness.
    """

    outside: Surface
    thickness_mm: float

    def point(self, u: ArrayLike, v: ArrayLike) -> Floats:
        """Give points (..., 3)."""
        return self.outside.point(u, v) - self.thickness_mm * self.outside.normal(u, v)

    def normal(self, u: ArrayLike, v: ArrayLike) -> Floats:
        """Give unit normals (..., 3), outward."""
        return self.outside.normal(u, v)

    def point_and_normal(self, u: ArrayLike, v: ArrayLike) -> tuple[Floats, Floats]:
        """Give points and unit normals (..., 3), in less time than one by one."""
        point, normal = points_and_normals(self.outside, u, v)
        return point - self.thickness_mm * normal, normal

    def curvatures(self, u: ArrayLike, v: ArrayLike) -> tuple[Floats, Floats]:
        """Give principal curvatures (...,), 1/mm, greater first."""
        greater, less = self.outside.curvatures(u, v)
        t = self.thickness_mm
        return greater / (1 - t * greater), less / (1 - t * less)


def points_and_normals(surface: Surface, u: ArrayLike, v: ArrayLike) -> tuple[Floats, Floats]:
    """Give points and unit normals (..., 3) of any surface, at once where it can."""
    if isinstance(surface, (SplineSurface, Inside)):
        return surface.point_and_normal(u, v)
    return surface.point(u, v), surface.normal(u, v)


def along_curvature(surface: SplineSurface, u: Floats, v: Floats) -> Floats:
    """Give the normal curvature (L, M) along lines of samples u, v (L, M); 1/mm."""
    first, second = surface.forms(u, v)
    du = np.gradient(u, axis=-1, edge_order=2)
    dv = np.gradient(v, axis=-1, edge_order=2)
    length = first[0] * du**2 + 2 * first[1] * du * dv + first[2] * dv**2
    turn = second[0] * du**2 + 2 * second[1] * du * dv + second[2] * dv**2
    return np.asarray(turn / length, float)


def foot_points(
    tensor: Tensor, points: Floats, u: Floats, v: Floats, steps: int = 4
) -> tuple[Floats, Floats]:
    """Move u, v (m,) to the feet of the perpendiculars from points (m, 3), by Newton's method.

    Feet stay between 0 and 1; a step is at most 0.1.
    """
    for _ in range(steps):
        s, a, b, aa, ab, bb = tensor.many(u, v, ((0, 0), *_SECOND))
        r = points - s
        g_u, g_v = _dot(r, a), _dot(r, b)
        e, f, g = _dot(a, a), _dot(a, b), _dot(b, b)
        h_uu, h_uv, h_vv = e - _dot(r, aa), f - _dot(r, ab), g - _dot(r, bb)
        poor = (h_uu * h_vv - h_uv**2 < 0.1 * (e * g - f**2)) | (h_uu <= 0)
        h_uu, h_uv, h_vv = (np.where(poor, x, y) for x, y in ((e, h_uu), (f, h_uv), (g, h_vv)))
        u, v = _bounded_step(u, v, (g_u, g_v), (h_uu, h_uv, h_vv))
    return u, v


def reach(
    tensor: Tensor, points: Floats, ways: Floats, feet: tuple[Floats, Floats], steps: int = 8
) -> Floats:
    """Give how far each point must go along its way (m, 3) to meet the surface, (m,).

    `feet` are u, v where to begin. NaN where the way does not meet the surface.
    """
    go = np.zeros(len(points))
    u, v = feet
    for _ in range(steps):
        s, a, b = tensor.many(u, v, ((0, 0), (1, 0), (0, 1)))
        miss = points + go[:, None] * ways - s
        system = np.stack([a, b, -ways], axis=-1)
        flat = np.abs(np.linalg.det(system)) < 1e-6 * np.linalg.norm(np.cross(a, b), axis=-1)
        system[flat] = np.eye(3)
        step = np.linalg.solve(system, miss[..., None])[..., 0]
        step[flat] = np.nan
        short = np.clip(np.nan_to_num(step[:, :2]), -0.05, 0.05)
        u, v = np.clip(u + short[:, 0], 0, 1), np.clip(v + short[:, 1], 0, 1)
        go = go + step[:, 2]
    off = points + go[:, None] * ways - tensor.at(u, v)
    return np.where(np.linalg.norm(off, axis=-1) < 0.5, go, np.nan)


def _bounded_step(
    u: Floats, v: Floats, slope: tuple[Floats, Floats], hesse: tuple[Floats, Floats, Floats]
) -> tuple[Floats, Floats]:
    """Take a Newton step; a coordinate held at its edge lets the other move alone."""
    (g_u, g_v), (h_uu, h_uv, h_vv) = slope, hesse
    det = h_uu * h_vv - h_uv**2 + 1e-12 * h_uu * h_vv
    step_u = (h_vv * g_u - h_uv * g_v) / det
    step_v = (h_uu * g_v - h_uv * g_u) / det
    held_u = ((u <= 0) & (step_u < 0)) | ((u >= 1) & (step_u > 0))
    held_v = ((v <= 0) & (step_v < 0)) | ((v >= 1) & (step_v > 0))
    step_v = np.where(held_u, g_v / h_vv, step_v)
    step_u = np.where(held_v, g_u / h_uu, step_u)
    step_u = np.where(held_u, 0.0, np.clip(step_u, -0.1, 0.1))
    step_v = np.where(held_v, 0.0, np.clip(step_v, -0.1, 0.1))
    return np.clip(u + step_u, 0.0, 1.0), np.clip(v + step_v, 0.0, 1.0)


def _dot(a: Floats, b: Floats) -> Floats:
    return np.asarray(np.einsum("...i,...i->...", a, b), float)


def _unit(n: Floats) -> Floats:
    return np.asarray(n / np.maximum(np.linalg.norm(n, axis=-1, keepdims=True), 1e-300), float)
