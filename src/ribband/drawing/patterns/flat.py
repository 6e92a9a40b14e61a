"""A flat shape made ready to draw: fair edges, one closed outline, port or turned over.

*Hand.* Port is drawn as seen from outboard, fore end to the left; starboard is the same turned
over, fore end to the right, so that it too is seen from outboard. Either way x runs to the right
and the upper edge is up.

An edge, or an end, is a cubic spline through its points (chord length as parameter, ends free),
sprung anew from every corner sharper than `CORNER_RAD` such as a nib's notch. The outline is
straight from point to point and stays within `CHORD_MM` of that spline.

Not checked: that the edges do not cross.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ribband.drawing.sheet import Point
from ribband.hull.model import Floats
from ribband.planks.shape_model import Shape

__all__ = [
    "CHORD_MM",
    "CORNER_RAD",
    "Flat",
    "as_points",
    "fair_edge",
    "fair_runs",
    "frame_lines",
    "laid",
    "least_lie",
]

CHORD_MM = 0.02
CORNER_RAD = math.radians(10.0)


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """A shape on the drawing board.

    ring : (n, 2) the closed outline, against the clock, last point not the first again
    lower, upper : (n, 2) fair edges, x from left to right
    at_mm : (k,) x of each frame where it meets the batten, in the order of the shape's frames
    lines : (k, m, 2) the frames' lines, lower edge first
    fore : -1 where the fore end is at the left, 1 where it is at the right
    """

    ring: Floats
    lower: Floats
    upper: Floats
    at_mm: Floats
    lines: Floats
    fore: int

    def room(self, left: float, right: float) -> tuple[float, float]:
        """Give the lowest and highest y free between both edges all the way from left to right.

        Beyond either edge's end there is no room: the lowest is then above the highest.
        """
        first = max(self.lower[0, 0], self.upper[0, 0])
        last = min(self.lower[-1, 0], self.upper[-1, 0])
        if left < first or right > last:
            return np.inf, -np.inf
        return _most(self.lower, left, right, np.max), _most(self.upper, left, right, np.min)

    def under(self, left: float, right: float) -> float:
        """Give the lowest y of the plank from left to right, or of what is nearest."""
        return _most(self.lower, left, right, np.min)

    @property
    def ends(self) -> tuple[float, float]:
        """Give the least and greatest x of the outline."""
        return float(self.ring[:, 0].min()), float(self.ring[:, 0].max())


def laid(shape: Shape, side: str) -> Flat:
    """Lay a shape on the board as a plank of `side`, "port" or "starboard"."""
    lower, upper, fore, aft = map(fair_edge, (shape.lower, shape.upper, shape.fore, shape.aft))
    ring = _without_repeats(np.concatenate([lower, aft[1:-1], upper[::-1], fore[::-1][1:-1]]))
    at, lines = np.asarray(shape.along_mm, float), frame_lines(shape)
    if side != "starboard":
        return Flat(ring, lower, upper, at, lines, -1)
    over = np.array([-1.0, 1.0])
    return Flat(ring[::-1] * over, lower[::-1] * over, upper[::-1] * over, -at, lines * over, 1)


def frame_lines(shape: Shape) -> Floats:
    """Give the frames' lines (k, m, 2) on a shape; square off the batten where not known."""
    if shape.frame_lines is not None:
        return shape.frame_lines
    ends = [np.stack([shape.along_mm, y], axis=1) for y in (shape.lower_mm, shape.upper_mm)]
    return np.stack(ends, axis=1)


def fair_edge(points: Floats, chord_mm: float = CHORD_MM) -> Floats:
    """Give an edge as a polyline (m, 2) within `chord_mm` of the spline through its points.

    >>> fair_edge(np.array([[0.0, 0.0], [500.0, 0.0], [1000.0, 0.0]])).shape
    (3, 2)
    """
    runs = fair_runs(points, chord_mm)
    return np.concatenate([runs[0], *(run[1:] for run in runs[1:])])


def fair_runs(points: Floats, chord_mm: float = CHORD_MM) -> list[Floats]:
    """Give an edge likewise, from corner to corner: each run begins where the last one ends.

    >>> notched = np.array([[0.0, 0], [500, 0], [1000, 0], [1000, 40], [1500, 40], [2000, 40]])
    >>> [run[-1].tolist() for run in fair_runs(notched)]
    [[1000.0, 0.0], [1000.0, 40.0], [2000.0, 40.0]]
    """
    points = _without_repeats(np.asarray(points, float))
    if len(points) < 3:
        return [points]
    corners = np.flatnonzero(np.abs(_turns(points)) > CORNER_RAD) + 1
    stops = [0, *corners.tolist(), len(points) - 1]
    return [_sprung(points[a : b + 1], chord_mm) for a, b in pairwise(stops)]


def least_lie(points: Floats) -> float:
    """Give the angle of the narrowest rectangle round the points: how the blank lies, rad.

    >>> least_lie(np.array([[0.0, 0.0], [1000.0, 100.0], [990.0, 200.0], [-10.0, 100.0]]))
    0.0996
    """
    from scipy.spatial import ConvexHull  # noqa: PLC0415 - heavy, only when drawing

    round_ = points[ConvexHull(points).vertices]
    step = np.roll(round_, -1, axis=0) - round_
    angles = np.arctan2(step[:, 1], step[:, 0])
    across = np.stack([-np.sin(angles), np.cos(angles)])
    heights = np.ptp(round_ @ across, axis=0)
    angle = float(angles[int(np.argmin(heights))])
    return math.remainder(angle, math.pi)


def _sprung(points: Floats, chord_mm: float) -> Floats:
    """Spring a batten through points without a corner; `Curve.through` is the same curve."""
    from scipy.interpolate import CubicSpline  # noqa: PLC0415 - heavy, only when drawing

    if len(points) < 3 or (steps := _steps(points, chord_mm)) == 1:
        return points
    long = np.linalg.norm(np.diff(points, axis=0), axis=1)
    chord = np.concatenate([[0.0], np.cumsum(long)])
    parts = (chord[:-1, None] + long[:, None] * np.arange(steps) / steps).ravel()
    return np.asarray(CubicSpline(chord, points)(np.append(parts, chord[-1])))


def _steps(points: Floats, chord_mm: float) -> int:
    """Give into how many a piece must be parted: its rise over the chord falls with the square."""
    long = np.linalg.norm(np.diff(points, axis=0), axis=1)
    turn = np.abs(_turns(points))
    rises = np.maximum(long[:-1], long[1:]) * turn / 4  # twice the rise of an arc, to be safe
    return int(max(1, math.ceil(math.sqrt(float(rises.max()) / chord_mm))))


def _turns(points: Floats) -> Floats:
    step = np.diff(points, axis=0)
    angle = np.unwrap(np.arctan2(step[:, 1], step[:, 0]))
    return np.asarray(np.diff(angle))


def _without_repeats(points: Floats) -> Floats:
    apart = np.any(np.abs(np.diff(points, axis=0)) > 1e-6, axis=1)
    kept = points[np.append(True, apart)]
    closing = len(kept) > 2 and np.all(np.abs(kept[-1] - kept[0]) <= 1e-6)
    return np.asarray(kept[:-1] if closing else kept)


def _most(edge: Floats, left: float, right: float, worst: Callable[[Floats], float]) -> float:
    inside = edge[(edge[:, 0] > left) & (edge[:, 0] < right), 1]
    at = np.interp([left, right], edge[:, 0], edge[:, 1])
    return float(worst(np.concatenate([inside, at])))


def as_points(points: Floats) -> tuple[Point, ...]:
    """Give an array (n, 2) as the points of an item."""
    return tuple(map(tuple, points.tolist()))
