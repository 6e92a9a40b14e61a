"""Rings of corners in the plane: where they lie, how far they are apart.

A *ring* is (n, 2) corners in order, closed by its first. Written apart from `profiles`, so that
what was laid out there can be looked over here.

Not checked: rings that cross themselves.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["clipped", "crosses_itself", "distance", "enclosed_area", "holds", "laid_out",
           "rings_meet"]  # fmt: skip

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


def crosses_itself(ring: Floats) -> bool:
    """Tell whether an edge of a ring crosses another; that they touch is let pass.

    >>> crosses_itself(np.array([[0, 0], [2, 0], [0, 1], [2, 1.0]]))
    True
    """
    return _cross(ring, ring)


def clipped(ring: Floats, first: float, last: float) -> Floats:
    """Give the part of a ring between two upright lines; empty where there is none.

    >>> clipped(np.array([[0, 0], [4, 0], [4, 1], [0, 1.0]]), 1.0, 9.0)[:, 0].min().item()
    1.0
    """
    return _one_side(_one_side(ring, first, 1.0), last, -1.0)


def _one_side(ring: Floats, at: float, sign: float) -> Floats:
    """Give the corners on one side of an upright line, and where the edges cross it."""
    a, b = np.roll(ring, 1, axis=0), ring
    depth_a, depth_b = sign * (a[:, 0] - at), sign * (b[:, 0] - at)
    crosses = (depth_a < 0) != (depth_b < 0)
    part = depth_a / np.where(crosses, depth_a - depth_b, 1.0)
    both = np.stack([a + part[:, None] * (b - a), b], axis=1)
    return np.asarray(both[np.stack([crosses, depth_b >= 0], axis=1)])


def _cross(one: Floats, two: Floats) -> bool:
    """Tell whether any edges of two rings cross, by the sides their ends lie on."""
    by_one, by_two = _sides(one, two), _sides(two, one)
    apart = (by_one * np.roll(by_one, -1, axis=1) < 0).T
    apart &= by_two * np.roll(by_two, -1, axis=1) < 0
    return bool(apart.any())


def _sides(ring: Floats, points: Floats) -> Floats:
    """Tell on which side of every edge of a ring each point lies, (edges, points)."""
    (ax, ay), (bx, by) = ring.T[:, :, None], np.roll(ring, -1, axis=0).T[:, :, None]
    return np.asarray((bx - ax) * (points[:, 1] - ay) - (by - ay) * (points[:, 0] - ax))


def _to_edges(points: Floats, ring: Floats) -> float:
    """Give the least distance from points to the edges of a ring."""
    edge_x, edge_y = (np.roll(ring, -1, axis=0) - ring).T
    long2 = np.maximum(edge_x**2 + edge_y**2, 1e-18)
    out_x, out_y = points[:, :1] - ring[:, 0], points[:, 1:] - ring[:, 1]
    part = np.clip((out_x * edge_x + out_y * edge_y) / long2, 0.0, 1.0)
    out_x -= part * edge_x
    out_y -= part * edge_y
    return float(np.sqrt(np.min(out_x**2 + out_y**2)))
