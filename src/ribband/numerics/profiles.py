"""Slender shapes as two curves over x, on cells of one width, so that they can be stacked.

A *profile* stands for a ring of corners by a straight piece of its lower and of its upper edge in
every *cell*. The profile of a plank (`around`) never cuts into the ring, that of a board
(`within`) never reaches out of it; where the ring has no corner inside a cell both are exact.

Not checked: rings that cross themselves, and hollows that a vertical line meets twice (`around`
fills them, `within` overlooks them).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Profile", "around", "arounds", "columns", "grown", "open_ring", "ring_area", "turned",
           "within"]  # fmt: skip

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, eq=False)
class Profile:
    """A shape on cells: cell k runs from `left` + k step to one step farther.

    left, right : true ends of the shape; low, high : (cells, 2) edges at a cell's two sides
    """

    left: float
    right: float
    low: Floats
    high: Floats


def open_ring(ring: Floats) -> Floats:
    """Give the corners without a repeated last one, anticlockwise, (n, 2)."""
    ring = np.asarray(ring, dtype=np.float64)
    step = np.hypot(*(ring - np.roll(ring, -1, axis=0)).T)
    ring = ring[step > 1e-9]
    return ring if ring_area(ring) > 0 else ring[::-1]


def ring_area(ring: Floats) -> float:
    """Give the area of a ring, positive where it runs anticlockwise.

    >>> ring_area(np.array([[0, 0], [2, 0], [2, 1], [0, 1.0]]))
    2.0
    """
    x, y = ring.T
    return float(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2)


def turned(ring: Floats, angle: float, flipped: bool = False) -> Floats:
    """Mirror a ring in the x axis if `flipped`, then turn it about the origin."""
    c, s = np.cos(angle), np.sin(angle)
    x, y = ring[:, 0], -ring[:, 1] if flipped else ring[:, 1]
    return np.stack([c * x - s * y, s * x + c * y], axis=1)


def grown(ring: Floats, by: float) -> Floats:
    """Set every edge of an anticlockwise ring out by `by`; sharp corners are cut square.

    The result holds every point nearer than `by` to the ring.
    """
    edge = np.roll(ring, -1, axis=0) - ring
    along = edge / np.hypot(*edge.T)[:, None]
    before = np.roll(along, 1, axis=0)
    out, out_before = _outward(along), _outward(before)
    cosine = np.sum(along * before, axis=1)[:, None]
    mitre = ring + by * (out + out_before) / np.maximum(1 + cosine, 0.2)
    convex = (before[:, 0] * along[:, 1] - before[:, 1] * along[:, 0])[:, None] > 0
    square = convex & (cosine < -0.2)
    first = np.where(square, ring + by * (out_before + before), mitre)
    second = np.where(square, ring + by * (out - along), mitre)
    both = np.stack([first, second], axis=1).reshape(-1, 2)
    return open_ring(both)


def columns(ring: Floats, x: Floats) -> tuple[Floats, Floats]:
    """Give the lowest and the highest point of a ring over each x; nan beside it."""
    low, high = _columns(ring[None], x[None])
    return low[0], high[0]


def _columns(rings: Floats, x: Floats) -> tuple[Floats, Floats]:
    """Give the same of many rings of as many corners, each over an own row of x."""
    a = rings.reshape(-1, 2)
    b = np.roll(rings, -1, axis=1).reshape(-1, 2)
    left, right = np.minimum(a[:, 0], b[:, 0]), np.maximum(a[:, 0], b[:, 0])
    run = b[:, 0] - a[:, 0]
    upright = np.abs(run) < 1e-9
    slope = np.where(upright, 0.0, (b[:, 1] - a[:, 1]) / np.where(upright, 1.0, run))
    apart = _apart(rings, x)
    keys, own = (x + apart[:, None]).ravel(), np.repeat(apart, rings.shape[1])
    order = np.argsort(keys, kind="stable")
    at, edge = _met(keys[order], left + own - 1e-9, right + own + 1e-9)
    at, flat = order[at], x.ravel()
    y = a[edge, 1] + (np.clip(flat[at], left[edge], right[edge]) - a[edge, 0]) * slope[edge]
    low, high = np.full(len(flat), np.inf), np.full(len(flat), -np.inf)
    steep = upright[edge]
    np.minimum.at(low, at, np.where(steep, np.minimum(a[edge, 1], b[edge, 1]), y))
    np.maximum.at(high, at, np.where(steep, np.maximum(a[edge, 1], b[edge, 1]), y))
    none = np.isinf(low)
    low[none], high[none] = np.nan, np.nan
    return low.reshape(x.shape), high.reshape(x.shape)


def _apart(rings: Floats, x: Floats) -> Floats:
    """Give shifts along x by which rings, and what is asked of them, lie one after another."""
    first = min(float(rings[..., 0].min()), float(x.min()))
    last = max(float(rings[..., 0].max()), float(x.max()))
    return np.asarray((np.ceil(last - first) + 1.0) * np.arange(len(rings)))


def _met(x: Floats, left: Floats, right: Floats) -> tuple[Ints, Ints]:
    """Pair every edge from left to right with every x, in order, that it lies over."""
    first, end = np.searchsorted(x, left), np.searchsorted(x, right, side="right")
    count = np.maximum(end - first, 0)
    edge = np.repeat(np.arange(len(left)), count)
    before = np.cumsum(count) - count
    return np.arange(len(edge)) + (first - before)[edge], edge


def around(ring: Floats, step: float, left: float | None = None) -> Profile:
    """Give a profile that holds the ring; cells are counted from `left`, else from its end."""
    return _profile(ring, step, left, 1.0)


def within(ring: Floats, step: float, left: float | None = None) -> Profile:
    """Give a profile that the ring holds, but for what lies past its ends."""
    return _profile(ring, step, left, -1.0)


def _profile(ring: Floats, step: float, left: float | None, sign: float) -> Profile:
    first = float(ring[:, 0].min())
    return _profiles(ring[None], step, np.array([first if left is None else left]), sign)[0]


def arounds(rings: Floats, step: float) -> list[Profile]:
    """Give a profile that holds it for each of many rings of as many corners, (m, n, 2)."""
    return _profiles(rings, step, rings[..., 0].min(axis=1), 1.0)


def _profiles(rings: Floats, step: float, start: Floats, sign: float) -> list[Profile]:
    """Lay cells over rings: chords between the cells' sides, shifted out (sign 1) or in."""
    x = rings[..., 0]
    first, last = x.min(axis=1), x.max(axis=1)
    cells = np.maximum(1, np.ceil((last - start) / step - 1e-9).astype(int))
    many, row = int(cells.max()) + 1, np.arange(len(rings))[:, None]
    nodes = np.clip(start[:, None] + step * np.arange(many), first[:, None], last[:, None])
    low_y, high_y = _columns(rings, np.concatenate([nodes, x], axis=1))
    low, high = (_cells(y[:, :many], cells) for y in (low_y, high_y))
    at = (x - start[:, None]) / step
    cell = np.clip(at.astype(int), 0, cells[:, None] - 1)
    part = np.clip(at - cell, 0.0, 1.0)
    shift_low, shift_high = np.zeros((2, *low.shape[:2]))
    chord = high[row, cell, 0] * (1 - part) + high[row, cell, 1] * part
    np.maximum.at(shift_high, (row, cell), sign * (high_y[:, many:] - chord))
    chord = low[row, cell, 0] * (1 - part) + low[row, cell, 1] * part
    np.maximum.at(shift_low, (row, cell), sign * (chord - low_y[:, many:]))
    low, high = low - sign * shift_low[..., None], high + sign * shift_high[..., None]
    return [
        Profile(float(first[k]), float(last[k]), low[k, :n], high[k, :n])
        for k, n in enumerate(cells.tolist())
    ]


def _cells(y: Floats, cells: Ints) -> Floats:
    """Give both sides of every cell, (rings, cells, 2); the end cells go on as their neighbours.

    At the very end of a ring there is only its foremost corner, not the edge to be followed.
    """
    y, long = y.copy(), np.flatnonzero(cells > 2)
    if len(long):
        end = cells[long]
        y[long, 0] = 2 * y[long, 1] - y[long, 2]
        y[long, end] = 2 * y[long, end - 1] - y[long, end - 2]
    return np.stack([y[:, :-1], y[:, 1:]], axis=2)


def _outward(along: Floats) -> Floats:
    return np.stack([along[:, 1], -along[:, 0]], axis=1)
