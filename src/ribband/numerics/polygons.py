"""Rings of corners in the plane: where they lie, how far they are apart.

A *ring* is (n, 2) corners in order, closed by its first. Written apart from `profiles`, so that
what was laid out there can be looked over here.

Not checked: rings that cross themselves.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["clipped", "distance", "enclosed_area", "holds", "laid_out", "rings_meet"]

Floats = NDArray[np.float64]


def laid_out(ring: Floats, flipped: bool, turn: float, x: float, y: float) -> Floats:
    """Mirror a ring in the x axis if flipped, turn it, shift it.

    >>> laid_out(np.array([[1.0, 2.0]]), True, np.pi / 2, 10.0, 0.0).round(6)
    array([[12.,  1.]])
    """
    points = ring[:, 0] + 1j * np.where(flipped, -ring[:, 1], ring[:, 1])
    points = points * np.exp(1j * turn) + complex(x, y)
    return np.stack([points.real, points.imag], axis=1)


def enclosed_area(ring: Floats) -> float:
    """Give the area a ring encloses, whichever way it runs.

    >>> enclosed_area(np.array([[0, 0], [0, 1], [3, 1], [3, 0.0]]))
    3.0
    """
    first = ring[0]
    a, b = ring[1:-1] - first, ring[2:] - first
    return float(abs(np.sum(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])) / 2)


def holds(ring: Floats, points: Floats) -> NDArray[np.bool_]:
    """Tell which points lie inside a ring, by counting the edges to their right.

    >>> square = np.array([[0, 0], [2, 0], [2, 2], [0, 2.0]])
    >>> holds(square, np.array([[1.0, 1.0], [3.0, 1.0]]))
    array([ True, False])
    """
    a, b = ring, np.roll(ring, -1, axis=0)
    x, y = points[:, :1], points[:, 1:]
    spans = (a[:, 1] > y) != (b[:, 1] > y)
    rise = np.where(a[:, 1] == b[:, 1], 1.0, b[:, 1] - a[:, 1])
    right = x < a[:, 0] + (y - a[:, 1]) * (b[:, 0] - a[:, 0]) / rise
    return np.asarray(np.sum(spans & right, axis=1) % 2 == 1)


def distance(one: Floats, two: Floats) -> float:
    """Give the least distance between the edges of two rings; nothing where they cross.

    >>> square = np.array([[0, 0], [2, 0], [2, 2], [0, 2.0]])
    >>> distance(square, square + [5.0, 0.0])
    3.0
    """
    if _cross(one, two):
        return 0.0
    return min(_to_edges(one, two), _to_edges(two, one))


def rings_meet(one: Floats, two: Floats) -> bool:
    """Tell whether two rings cross or one lies in the other."""
    return bool(_cross(one, two) or holds(one, two[:1])[0] or holds(two, one[:1])[0])


def clipped(ring: Floats, first: float, last: float) -> Floats:
    """Give the part of a ring between two upright lines; empty where there is none.

    >>> clipped(np.array([[0, 0], [4, 0], [4, 1], [0, 1.0]]), 1.0, 9.0)[:, 0].min().item()
    1.0
    """
    return _one_side(_one_side(ring, first, 1.0), last, -1.0)


def _one_side(ring: Floats, at: float, sign: float) -> Floats:
    points = []
    for k in range(len(ring)):
        a, b = ring[k - 1], ring[k]
        depth_a, depth_b = sign * (a[0] - at), sign * (b[0] - at)
        if (depth_a < 0) != (depth_b < 0):
            part = depth_a / (depth_a - depth_b)
            points.append(a + part * (b - a))
        if depth_b >= 0:
            points.append(b)
    return np.array(points).reshape(-1, 2)


def _cross(one: Floats, two: Floats) -> bool:
    """Tell whether any edges of two rings cross, by the sides their ends lie on."""
    a, b = one[:, None], np.roll(one, -1, axis=0)[:, None]
    c, d = two[None], np.roll(two, -1, axis=0)[None]
    apart = (_side(a, b, c) * _side(a, b, d) < 0) & (_side(c, d, a) * _side(c, d, b) < 0)
    return bool(apart.any())


def _side(a: Floats, b: Floats, p: Floats) -> Floats:
    ab, ap = b - a, p - a
    return np.asarray(ab[..., 0] * ap[..., 1] - ab[..., 1] * ap[..., 0])


def _to_edges(points: Floats, ring: Floats) -> float:
    """Give the least distance from points to the edges of a ring."""
    a, edge = ring, np.roll(ring, -1, axis=0) - ring
    long2 = np.maximum(np.sum(edge**2, axis=1), 1e-18)
    out = points[:, None] - a
    part = np.clip(np.sum(out * edge, axis=-1) / long2, 0.0, 1.0)
    return float(np.sqrt(np.min(np.sum((out - part[..., None] * edge) ** 2, axis=-1))))
