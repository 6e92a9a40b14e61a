"""Planks laid flat on their battens, and where the frames cross them.

*Batten line*: straight in the flat plank, from end to end, so placed that the plank's middle lies
as far above it as below, but ending within the plank's ends. x runs along it from the fore end
and y square to it, towards the upper edge. A long plank's batten line leaves the plank where its
sweep is more than its width; the offsets are then both of one sign, and still give the shape.

A *crossing* is a frame that cuts a plank's middle. Its *place* counts grid lines from the fore
end. Frames are planes x = const, as they are marked.

Not checked: that a plank meets a frame once only.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.numerics.rows import find, read, refined, through_all
from ribband.planks.opening import Edges, Opening

__all__ = ["Crossings", "Laid", "Places", "crossings", "lay_flat", "places"]

Ints = NDArray[np.intp]
FINER = 4  # points of an edge for each line of the grid
TOUCH_MM = 1.0
WITHIN = 0.1  # of an end's width: how near its corners a batten may end


@dataclass(frozen=True, eq=False)
class Laid:
    """Flat planks: points (P, n, m, 2) on their battens.

    lower, upper : (P, k, 2) close points of the edges
    ends : (P, 2) fraction of the width where the batten leaves the fore and after end
    length : (P,) of the batten line
    """

    points: Floats
    lower: Floats
    upper: Floats
    ends: Floats
    length: Floats


@dataclass(frozen=True, eq=False)
class Places:
    """Q crossings in the order of planks and frames, on the hull.

    plank, frame : (Q,); place : (Q, m) along each row of the grid
    across, own : (Q, m) points of the frame's line: row, whole or not, and place along it; where
    the frame runs out over an end of the plank the line stops there
    """

    plank: Ints
    frame: Ints
    place: Floats
    across: Floats
    own: Floats

    def of(self, planks: Ints) -> Places:
        """Give the crossings of some planks (rows, in order), which are counted anew."""
        mine = np.flatnonzero(np.isin(self.plank, planks))
        plank = np.searchsorted(planks, self.plank[mine])
        line = self.across[mine], self.own[mine]
        return Places(plank, self.frame[mine], self.place[mine], *line)


@dataclass(frozen=True, eq=False)
class Crossings:
    """Q crossings in the order of planks and frames, on the hull and on the flat planks.

    plank, frame : (Q,); place : (Q, m) along each row of the grid
    along, lower, upper : (Q,) batten figures, mm
    line : (Q, m, 2) the frame's line on the flat plank, as far as it is on it
    """

    plank: Ints
    frame: Ints
    place: Floats
    along: Floats
    lower: Floats
    upper: Floats
    line: Floats


def lay_flat(points: Floats) -> Laid:
    """Put flat strips (P, n, m, 2), middles from 0 along x, on their battens."""
    middle = points[:, :, points.shape[2] // 2, 1]
    height = (middle.max(axis=1) + middle.min(axis=1)) / 2
    t = np.stack([_fraction(points[:, k, :, 1], height) for k in (0, -1)], axis=1)
    t = np.clip(t, WITHIN, 1 - WITHIN)
    start, end = _on(points[:, 0], t[:, 0]), _on(points[:, -1], t[:, 1])
    length = np.linalg.norm(end - start, axis=-1)
    c, s = np.moveaxis((end - start) / length[:, None], -1, 0)[..., None, None]
    off = points - start[:, None, None]
    turned = np.stack(
        [c * off[..., 0] + s * off[..., 1], c * off[..., 1] - s * off[..., 0]], axis=-1
    )
    edges = refined(np.concatenate([turned[:, :, 0], turned[:, :, -1]]), FINER)
    return Laid(turned, edges[: len(points)], edges[len(points) :], t, length)


def places(opening: Opening | Edges, x_mm: Floats) -> Places:
    """Find where frames at `x_mm` (F,) cross the planks on the hull."""
    x = opening.xyz[..., 0]
    middle = x[:, :, x.shape[2] // 2]
    there = (x_mm >= middle[:, :1] - TOUCH_MM) & (x_mm <= middle[:, -1:] + TOUCH_MM)
    plank, frame = np.nonzero(there)
    rows = np.moveaxis(x, 2, 1).reshape(-1, x.shape[1])
    row = plank[:, None] * x.shape[2] + np.arange(x.shape[2])
    place = find(rows, row, np.broadcast_to(x_mm[frame][:, None], row.shape))
    across = np.broadcast_to(np.arange(float(x.shape[2])), place.shape).copy()
    own = np.clip(place, 0.0, x.shape[1] - 1.0)
    off = x[plank][:, [0, -1]] - x_mm[frame][:, None, None]
    out = np.flatnonzero((off[:, 0] > TOUCH_MM).any(axis=1) | (off[:, 1] < -TOUCH_MM).any(axis=1))
    across[out] = _on_plank(off[out] * [[[1.0], [-1.0]]])
    own[out] = _places_between(x[plank[out]], across[out], x_mm[frame[out]])
    return Places(plank, frame, place, across, own)


def _on_plank(beyond: Floats) -> Floats:
    """Give rows (Q, m), even between where frames cross the ends of planks or their edges.

    beyond : (Q, 2, m) how far each end's points lie beyond the frame: there it is off the plank
    """
    count = beyond.shape[2]
    here, after = beyond[..., :-1], beyond[..., 1:]
    crossed = (here > 0) != (after > 0)
    at = np.arange(count - 1) + here / np.where(crossed, here - after, 1.0)
    low = np.where(crossed & (here > 0), at, 0.0).max(axis=(1, 2))
    high = np.where(crossed & (after > 0), at, count - 1.0).min(axis=(1, 2))
    even = np.linspace(0.0, 1.0, count)
    return np.asarray(low[:, None] + (high - low)[:, None] * even, float)


def _places_between(x: Floats, across: Floats, x_mm: Floats) -> Floats:
    """Give where along planks x (Q, n, m) the rows `across` (Q, k) reach `x_mm` (Q,)."""
    between = np.einsum("qnm,qkm->qkn", x, through_all(across, x.shape[2]))
    rows = between.reshape(-1, x.shape[1])
    wanted = np.broadcast_to(x_mm[:, None], across.shape)
    place = find(rows, np.arange(len(rows)).reshape(across.shape), wanted)
    return np.clip(place, 0.0, x.shape[1] - 1.0)


def crossings(at: Places, laid: Laid) -> Crossings:
    """Read on the flat planks where frames cross them."""
    points = np.moveaxis(laid.points, 2, 1)
    flat = points.reshape(-1, *points.shape[2:])
    m = points.shape[1]
    row = at.plank[:, None] * m + np.arange(m)
    along = _meets(read(flat, row, at.place))
    lower, upper = (_height(flat, row[:, k], along) for k in (0, -1))
    line = read(flat, row, at.own)
    out = np.flatnonzero((at.across != np.arange(m)).any(axis=1))
    every = read(flat, row[out][:, None], np.repeat(at.own[out][..., None], m, axis=2))
    line[out] = np.einsum("qkmi,qkm->qki", every, through_all(at.across[out], m))
    return Crossings(at.plank, at.frame, at.place, along, lower, upper, line)


def _fraction(y: Floats, height: Floats) -> Floats:
    """Give where along a rising end line (P, m) the height (P,) is reached, 0 to 1 inside."""
    span = y[:, -1] - y[:, 0]
    return np.asarray((height - y[:, 0]) / np.where(span > 1e-6, span, 1e-6), float)


def _on(line: Floats, t: Floats) -> Floats:
    """Give points (P, 2) at fractions of end lines (P, m, 2)."""
    steps = line.shape[1] - 1
    k = np.clip((t * steps).astype(int), 0, steps - 1)
    part = (t * steps - k)[:, None]
    row = np.arange(len(line))
    return np.asarray(line[row, k] * (1 - part) + line[row, k + 1] * part, float)


def _meets(line: Floats) -> Floats:
    """Give x where frames' lines (Q, m, 2) meet the batten, by the parabola nearest to it."""
    x, y = line[..., 0], line[..., 1]
    steps = y.shape[1] - 1
    nearest = np.clip(np.abs(y).argmin(axis=1), 1, steps - 1)
    pick = nearest[:, None] + np.array([-1, 0, 1])
    (a, b, c), (p, q, r) = (np.take_along_axis(v, pick, 1).T for v in (x, y))
    rise = np.maximum(r - p, 1e-9)
    slope = (c - a) / rise
    gap = np.where((q - p > 1e-6) & (r - q > 1e-6), (q - p) * (r - q), np.inf)
    bow = (a + (q - p) * slope - b) / gap
    away = np.where((p <= 0) & (r >= 0), -p * r, 0.0)  # straight on beyond the plank
    return np.asarray(a - p * slope - bow * away, float)


def _height(flat: Floats, row: Ints, along: Floats) -> Floats:
    """Give the height of an edge square off the batten."""
    place = find(flat[..., 0], row, along)
    return np.asarray(read(flat, row, place)[:, 1], float)
