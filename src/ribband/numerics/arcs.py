"""A closed outline of many short chords said again in few arcs.

*Bulge*: how DXF says an arc between two points: the tangent of a quarter of its angle, positive
against the clock; 0 is a straight line. It is twice the arc's rise over its chord.

From a corner on, each arc is made as long as every point it passes lies within the tolerance of
it; corners stay as they are. Where two arcs meet they need not run into each other quite smoothly:
the kink is about four tolerances over the arc's length.

Not checked: that the outline does not cross itself, or that its chords are short.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["arcs_round", "off_arc"]

Floats = NDArray[np.float64]
SHORT_MM = 1e-9
MOST = 1.0  # no more than half a circle at once


def arcs_round(ring: Floats, tolerance_mm: float, corner_rad: float) -> Floats:
    """Give arcs round a closed outline (n, 2), the first point not said again: (k, 3) x, y, bulge.

    The bulge is of the arc from its point to the next, the last to the first.

    >>> turn = np.linspace(0, 2 * np.pi, 400, endpoint=False)
    >>> arcs = arcs_round(100.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1), 0.05, 0.2)
    >>> len(arcs), round(float(arcs[0, 2]), 2)
    (2, 1.0)
    """
    corners = _corners(ring, corner_rad)
    start = int(corners[0]) if len(corners) else 0
    closed = np.concatenate([ring[start:], ring[: start + 1]])
    stops = {*((corners - start) % len(ring)).tolist(), len(ring)} - {0}
    rows, at = [], 0
    for stop in sorted(stops):
        while at < stop:
            to = _furthest(closed, at, stop, tolerance_mm)
            rows.append((*closed[at], _bulge(closed[at : to + 1])))
            at = to
    return np.array(rows, float)


def off_arc(points: Floats, start: Floats, end: Floats, bulge: float) -> Floats:
    """Give how far points (n, 2) lie from the circle, or the line, of an arc, mm, (n,)."""
    chord = end - start
    long = float(np.hypot(*chord))
    if long < SHORT_MM:
        return np.asarray(np.hypot(*(points - start).T), float)
    way = chord / long
    along, out = (points - start) @ way, (points - start) @ np.array([-way[1], way[0]])
    if abs(bulge) < 1e-12:
        return np.asarray(np.abs(out), float)
    # centre on the chord's middle line: rise and radius from the bulge
    centre = long * (1 - bulge**2) / (4 * bulge)
    radius = long * (1 + bulge**2) / (4 * abs(bulge))
    return np.asarray(np.abs(np.hypot(along - long / 2, out - centre) - radius), float)


def _corners(ring: Floats, corner_rad: float) -> NDArray[np.intp]:
    before, after = ring - np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0) - ring
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    return np.flatnonzero(np.abs(np.arctan2(cross, (before * after).sum(axis=1))) > corner_rad)


def _furthest(points: Floats, at: int, stop: int, tolerance_mm: float) -> int:
    """Give how far one arc reaches: by doubling, then by halving between."""
    good, step = at + 1, 2
    while at + step <= stop and _within(points[at : at + step + 1], tolerance_mm):
        good, step = at + step, 2 * step
    bad = min(at + step, stop + 1)
    while bad - good > 1:
        middle = (good + bad) // 2
        if _within(points[at : middle + 1], tolerance_mm):
            good = middle
        else:
            bad = middle
    return good


def _within(run: Floats, tolerance_mm: float) -> bool:
    bulge = _bulge(run)
    return bool(abs(bulge) <= MOST) and bool(
        off_arc(run[1:-1], run[0], run[-1], bulge).max(initial=0.0) <= tolerance_mm
    )


def _bulge(run: Floats) -> float:
    """Give the bulge of the arc from first to last point that lies nearest those between.

    Each point's own arc has the bulge of half the angle it is seen under; where the arc is flat
    points near the ends say little, so each counts by the square of its place in the rise.
    """
    if len(run) < 3:
        return 0.0
    ahead, behind = run[1:-1] - run[0], run[-1] - run[1:-1]
    cross = ahead[:, 0] * behind[:, 1] - ahead[:, 1] * behind[:, 0]
    turn = np.arctan2(cross, (ahead * behind).sum(axis=1))  # half the arc's angle, by the chords
    share = np.linalg.norm(ahead, axis=1) * np.linalg.norm(behind, axis=1)
    return float(np.tan(np.average(turn, weights=share**2) / 2))
