"""Where the rabbet turns a sharp corner, at the forefoot or the heel, and how sure that is.

Measured points alone do not say whether the rabbet turns a corner between stem and keel or runs
round in a sweep. Here a *sweep*, one fair line through the points about the sharpest turn, is held
against a *knuckle*: two lines that part at a measured point, or between two points, where both run
on until they cross. Each is judged by how far the four points on either side of the turn, but not
the outermost of all, lie off its line, faired without them one by one.

A knuckle at a point is believed that leaves less than 0.7 of what the sweep leaves, or half of the
squares; at the *foot*, where the points of stem or post end and those of the keel begin, any that
leaves less. The patch has a corner somewhere, and the point is on the rabbet at any rate. One
between two points must leave less than half of what the sweep leaves and of what the best at a
point does. A sweep within twice the tolerance is left alone.

Points are seen from the side, in order along the rabbet. Not checked: that they are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache, partial

import numpy as np

from ribband.hull.model import Floats
from ribband.numerics.polyline import along
from ribband.numerics.smoothing import Smooth, batten_basis, smooth_lines

__all__ = ["Likeliest", "Turn", "likeliest", "turns"]

_KNUCKLE = np.radians(40.0)
_LEAST = np.radians(8.0)  # a lesser turn is no corner
_TRIED = 3  # the sharpest turns
_WINDOW = 7  # points on either side
_JUDGED = 4  # of these: a far one, foretold over a wide gap, would drown the rest
_FAIR = 2.0  # times the tolerance: a sweep as close as this is one
_AT_A_POINT = 0.7  # of what a sweep leaves
_BETWEEN = 0.5  # of what a sweep leaves, and of what the best knuckle at a point does
_AS_GOOD = 1.3  # a place that fits so many times better than the one taken makes it doubtful
_BEYOND = 0.1  # of a gap, by which lines may cross outside it
_FAR_MM = 1e5
_FEWEST = 3  # points on a side, for it to be judged by them


@dataclass(frozen=True, slots=True)
class Turn:
    """The sharpest turn of the rabbet in one half of the hull.

    corner : (2,) x and z of the knuckle, mm; None where the rabbet runs round in a sweep
    before, after : rows of the measured points beside it; the same where the corner is one of them
    turn_rad : how far it turns there
    out_mm : how far the points about it lie off the line taken, each faired without it, rms
    doubt_mm : how far off the corner may be
    rival : (2,) a knuckle that leaves less than the sweep does, but not so much that it is believed
    """

    corner: tuple[float, float] | None
    before: int
    after: int
    turn_rad: float
    out_mm: float
    doubt_mm: float = 0.0
    rival: tuple[float, float] | None = None


@dataclass(frozen=True, slots=True)
class _Knuckle:
    """A knuckle tried: as `Turn`; out_mm of the points that its two lines were judged by."""

    corner: Floats
    before: int
    after: int
    turn_rad: float
    out_mm: float
    rounded_mm: float
    lines: tuple[_Line, _Line]

    def path(self) -> Floats:
        """Give close points (k, 2) of both lines, up to the corner, from two points on either side.

        From the last point of each to the corner it runs straight.
        """
        fore, aft = self.lines
        near = np.linspace(fore.at[-3], fore.at[-1], 13), np.linspace(aft.at[0], aft.at[2], 13)
        before, after = fore.place(near[0]), aft.place(near[1])
        part = np.linspace(0.0, 1.0, 7)[1:, None]
        up = before[-1] + part * (self.corner - before[-1])
        return np.concatenate([before, up, self.corner + part * (after[0] - self.corner), after])

    def told(self, doubt_mm: float) -> Turn:
        x, z = self.corner.tolist()
        return Turn((x, z), self.before, self.after, self.turn_rad, self.out_mm, doubt_mm)


def turns(points: Floats, close_mm: float, foot: int = -1) -> Turn | None:
    """Give the sharpest turn of points (m, 2) along the rabbet, x and z; None if there is none.

    Lines through few points are no stiffer than brings them within `close_mm`, rms. `foot` is the
    row of the last point of stem or post, -1 where there is none.

    >>> stem = np.array([[-300.0, 1200.0], [-250.0, 1000.0], [-200.0, 800.0], [-150.0, 600.0]])
    >>> keel = np.array([[x, 100.0] for x in (300.0, 800.0, 1300.0, 1800.0)])
    >>> tuple(round(c, 3) for c in turns(np.concatenate([stem, keel]), 3.0).corner)
    (-25.0, 100.0)
    """
    turned = _turned(points)
    tried = [int(k) + 1 for k in np.argsort(-turned)[:_TRIED] if turned[k] > _LEAST]
    if not tried:
        return None
    lo, hi = max(tried[0] - _WINDOW, 0), min(tried[0] + _WINDOW + 1, len(points))
    if 0 < foot < len(points) - 1 and turned[foot - 1] > _LEAST:
        tried = list(dict.fromkeys((*tried, foot)))
    inside = tuple(k - lo for k in tried if lo < k < hi - 1)
    window = np.ascontiguousarray(points[lo:hi], float).tobytes()
    found = _in_window(window, inside, close_mm, foot - lo)
    return replace(found, before=found.before + lo, after=found.after + lo)


@dataclass(frozen=True, slots=True, eq=False)
class Likeliest:
    """The knuckle that suits points best, believed or not.

    path : (k, 2) close points of its two lines, as far as two points on either side
    sweep_mm : how far the points about it lie off one sweep through all, rms
    """

    turn_rad: float
    corner: tuple[float, float]
    path: Floats
    out_mm: float
    sweep_mm: float


def likeliest(points: Floats, span: int, close_mm: float) -> Likeliest | None:
    """Give the knuckle about a span of points (m, 2) that suits them best.

    None where there are too few points to judge by, or the lines on either side do not meet there.
    """
    near = slice(max(span - _JUDGED, 1), min(span + 2 + _JUDGED, len(points) - 1))
    trial = partial(_knuckle, points, near, close_mm)
    places = ((span, span), (span, span + 1), (span + 1, span + 1))
    tried = [k for place in places if (k := trial(*place))]
    if not tried:
        return None
    best = min(tried, key=lambda k: k.out_mm)
    y, z = best.corner.tolist()
    sweep = _rms(_Line(points, close_mm).off()[near])
    return Likeliest(best.turn_rad, (y, z), best.path(), best.out_mm, sweep)


def _turned(points: Floats) -> Floats:
    """Give how far the polyline turns at each inner point, (m - 2,)."""
    if len(points) < 3:
        return np.zeros(0)
    step = np.diff(points, axis=0)
    return np.abs(np.diff(np.unwrap(np.arctan2(step[:, 1], step[:, 0]))))


@lru_cache(maxsize=256)
def _in_window(window: bytes, tried: tuple[int, ...], close_mm: float, foot: int) -> Turn:
    """Find the turn among the points of a window; the same ones come again and again."""
    points = np.frombuffer(window).reshape(-1, 2)
    turned = _turned(points)
    near = slice(max(tried[0] - _JUDGED, 1), min(tried[0] + _JUDGED + 1, len(points) - 1))
    sweep = _rms(_Line(points, close_mm).off()[near])
    trial = partial(_knuckle, points, near, close_mm)
    at = [k for row in tried if (k := trial(row, row))]
    best = min(at, key=lambda k: k.out_mm, default=None)
    row = best.before if best else tried[0]
    between = [k for a in (row - 1, row) if (k := trial(a, a + 1))]
    taken = _believed(sweep, at, between, foot) if sweep > _FAIR * close_mm else None
    if taken:
        others = [k for k in (*at, *between) if k.out_mm * _AS_GOOD < taken.out_mm]
        return taken.told(max(taken.rounded_mm, _furthest(taken, others)))
    row = tried[0]
    turn = float(turned[row - 1])
    if _plain(turned, row):
        x, z = points[row].tolist()
        return Turn((x, z), row, row, turn, 0.0)
    rival = best.told(0.0).corner if best and _FAIR * close_mm < sweep > best.out_mm else None
    return Turn(None, row, row, turn, sweep, rival=rival)


def _believed(
    sweep: float, at: list[_Knuckle], between: list[_Knuckle], foot: int
) -> _Knuckle | None:
    """Give the knuckle to be believed, at a point or between two, if any is."""
    best = min(at, key=lambda k: k.out_mm, default=None)
    crossed = min(between, key=lambda k: k.out_mm, default=None)
    if crossed and crossed.out_mm < _BETWEEN * min(sweep, best.out_mm if best else np.inf):
        return crossed
    if best and best.out_mm < (1.0 if best.before == foot else _AT_A_POINT) * sweep:
        return best
    return None


def _plain(turned: Floats, row: int) -> bool:
    """Tell whether the polyline itself turns far more sharply at a row than beside it."""
    at = row - 1
    beside = turned[max(at - 1, 0) : at].sum() + turned[at + 1 : at + 2].sum()
    sharp = turned[at] > _KNUCKLE and turned[at] > 1.5 * beside
    return bool(sharp or (turned[at] > _KNUCKLE / 4 and turned[at] > 2.5 * beside))


def _furthest(taken: _Knuckle, others: list[_Knuckle]) -> float:
    return max((float(np.linalg.norm(k.corner - taken.corner)) for k in others), default=0.0)


class _Line:
    """One of the two lines that meet, faired through its points (m, 2)."""

    def __init__(self, points: Floats, close_mm: float) -> None:
        self.points, self.at = points, along(points)
        self.lines: list[Smooth] = []
        if len(points) > _FEWEST:
            ones = np.ones(len(points))
            self.lines = smooth_lines(
                self.at, list(points.T), (ones, ones), batten_basis(self.at),
                fixed=((None, None),) * 2, close=(close_mm, close_mm),
            )  # fmt: skip

    def end(self, last: int) -> tuple[Floats, Floats, Floats]:
        """Give place, way and turning (2,) at the first (0) or last (-1) point."""
        at = self.at[[last]]
        if self.lines:
            place, way, turning = (
                np.array([line.at(at, d)[0] for line in self.lines]) for d in (0, 1, 2)
            )
            return place, way, turning
        slope, start = self._straight()
        return start + slope * at, slope, np.zeros(2)

    def place(self, at: Floats) -> Floats:
        """Give points (k, 2) at lengths along it."""
        if self.lines:
            return np.stack([line.at(at) for line in self.lines], axis=-1)
        slope, start = self._straight()
        return np.asarray(start + at[:, None] * slope, float)

    def off(self) -> Floats:
        """Give how far each point lies beside the line faired without it; nothing of two only."""
        if self.lines:
            miss = np.stack([line.left_out for line in self.lines], axis=-1)
            way = np.stack([line.at(self.at, 1) for line in self.lines], axis=-1)
        elif len(self.points) == _FEWEST:
            slope, start = self._straight()
            way = np.tile(slope, (_FEWEST, 1))
            own = 1 / _FEWEST + (self.at - self.at.mean()) ** 2 / (_FEWEST * self.at.var())
            miss = (self.points - start - self.at[:, None] * slope) / (1 - own)[:, None]
        else:
            return np.zeros(0)
        across = way[:, ::-1] * [-1.0, 1.0] / np.linalg.norm(way, axis=1, keepdims=True)
        return np.asarray(np.einsum("mi,mi->m", miss, across), float)

    def _straight(self) -> tuple[Floats, Floats]:
        slope, start = np.polyfit(self.at, self.points, 1)
        return np.asarray(slope, float), np.asarray(start, float)


def _rms(off: Floats) -> float:
    return float(np.sqrt(np.mean(off**2))) if len(off) else np.inf


def _knuckle(
    points: Floats, near: slice, close_mm: float, before: int, after: int
) -> _Knuckle | None:
    """Try a knuckle at a point, or between two; None where it is none, or nothing judges it."""
    fore, aft = points[: before + 1], points[after:]
    if min(len(fore), len(aft)) < _FEWEST:
        return None
    lines = [_Line(fore, close_mm), _Line(aft, close_mm)]
    one, other = lines[0].end(-1), lines[1].end(0)
    corner, room = points[before], 0.0
    if after > before:
        met = _crossing(one, other)
        gap = float(np.linalg.norm(points[after] - points[before]))
        if met is None or not all(-_BEYOND * gap < s < (1 + _BEYOND) * gap for s in met[1]):
            return None
        corner, room = met[0], max(min(met[1]), 0.0)
    turn = _angle(one[1], other[1])
    if turn < _LEAST:
        return None
    off = np.concatenate([lines[0].off()[near.start :], lines[1].off()[: near.stop - after]])
    # rounded off between the points rather than sharp, it would pass so far inside
    rounded = room * float(np.tan(turn / 4))
    return _Knuckle(corner, before, after, turn, _rms(off), rounded, (lines[0], lines[1]))


def _angle(a: Floats, b: Floats) -> float:
    return abs(float(np.arctan2(a[0] * b[1] - a[1] * b[0], a @ b)))


def _crossing(
    one: tuple[Floats, Floats, Floats], other: tuple[Floats, Floats, Floats]
) -> tuple[Floats, tuple[float, float]] | None:
    """Run two lines on, one ahead and the other back, until they cross: where, and how far each."""
    (a, way_a, turn_a), (b, way_b, turn_b) = one, other
    far = np.zeros(2)
    for _ in range(20):
        p, q = float(far[0]), float(far[1])
        miss = b - way_b * q + turn_b * q**2 / 2 - (a + way_a * p + turn_a * p**2 / 2)
        system = np.stack([way_a + turn_a * p, way_b - turn_b * q], axis=1)
        if abs(np.linalg.det(system)) < 1e-4:
            return None
        far = far + np.linalg.solve(system, miss)
        if np.abs(far).max() > _FAR_MM:
            return None
    p, q = float(far[0]), float(far[1])
    return a + way_a * p + turn_a * p**2 / 2, (p, q)
