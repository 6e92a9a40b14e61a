"""The smallest blank a plank can be got out of: the narrowest rectangle round its outline.

One side of it lies along a side of the outline's convex hull. Where a plank's edges both run on
along its length, as nearly all do, the hull is two chains: the sides of the one are measured
against the corners of the other, found by their slopes. The grain is taken to run along
the blank. The blank holds the flat shape alone; what is left on edges and ends is the plank
list's rule.

Not checked: that a board has such a blank free of flaws (`ribband.timber`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats

__all__ = ["Blanks", "plank_blanks", "smallest_blanks"]

Ints = NDArray[np.intp]
COARSE, WITHIN_MM = 12, 1e-6  # points apart; how far within, so that no corner is lost
SLENDER = 0.5  # of the length: a wider blank may lie along an end


@dataclass(frozen=True, eq=False)
class Blanks:
    """Blanks of P planks: turn of the grain from the batten (P,), rad, and sizes (P,), mm."""

    turn: Floats
    length: Floats
    width: Floats


def smallest_blanks(outlines: Floats) -> Blanks:
    """Give the narrowest blanks of outlines (P, k, 2).

    >>> box = np.array([[[0.0, 0], [100, 10], [99, 20], [-1, 10]]])
    >>> blank = smallest_blanks(box)
    >>> round(float(blank.width[0]), 2), round(float(blank.length[0]), 1)
    (10.05, 100.5)
    """
    from scipy.spatial import ConvexHull  # noqa: PLC0415 - heavy

    hulls = [outline[ConvexHull(outline).vertices] for outline in outlines]
    most = max(len(corners) for corners in hulls)
    padded = [np.concatenate([c, np.repeat(c[:1], most - len(c), axis=0)]) for c in hulls]
    return _narrowest(np.array(padded))


def _narrowest(corners: Floats) -> Blanks:
    """Give the blanks of convex corners (P, k, 2), the first repeated at the end to fill up."""
    side = np.roll(corners, -1, axis=1) - corners
    turn = np.arctan2(side[..., 1], side[..., 0])
    turn = np.remainder(turn + np.pi / 2, np.pi) - np.pi / 2
    across = corners @ np.stack([-np.sin(turn), np.cos(turn)], axis=1)
    width = np.where(side.any(axis=-1), np.ptp(across, axis=1), np.inf)
    best = width.argmin(axis=1)
    plank = np.arange(len(corners))
    turn = turn[plank, best]
    along = np.einsum("pki,ip->pk", corners, np.stack([np.cos(turn), np.sin(turn)]))
    return Blanks(turn, np.ptp(along, axis=1), width[plank, best])


def plank_blanks(lower: Floats, upper: Floats) -> Blanks:
    """Give the narrowest blanks of planks with edges (P, k, 2) each, from forward aft.

    The same as `smallest_blanks` of their outlines, in less time.

    >>> lower, upper = np.array([[[0.0, 0], [100, 10]]]), np.array([[[-1.0, 10], [99, 20]]])
    >>> blank = plank_blanks(lower, upper)
    >>> round(float(blank.width[0]), 2), round(float(blank.length[0]), 1)
    (10.05, 100.5)
    """
    outlines = np.concatenate([lower, upper], axis=1)
    if (np.diff(lower[..., 0]) <= 0).any() or (np.diff(upper[..., 0]) <= 0).any():
        return smallest_blanks(outlines)
    below, above = _chain(lower, upper, 1.0), _chain(upper, lower, -1.0)
    both = [_across(below, above), _across(above, below)]
    plank, turn, width = (np.concatenate(a) for a in zip(*both, strict=True))
    best = np.lexsort((width, plank))[np.searchsorted(np.sort(plank), np.arange(len(lower)))]
    turn, width = turn[best], width[best]
    along = np.einsum("pki,ip->pk", outlines, np.stack([np.cos(turn), np.sin(turn)]))
    length = np.ptp(along, axis=1)
    if (width > SLENDER * length).any():
        return smallest_blanks(outlines)
    return Blanks(turn, length, width)


@dataclass(frozen=True, eq=False)
class _Chain:
    """The lower chains of P convex hulls, one after another; sign -1: of upper ones, mirrored.

    x, y : (N,) corners from left to right; plank : (N,)
    """

    x: Floats
    y: Floats
    plank: Ints
    sign: float


def _chain(edge: Floats, other: Floats, sign: float) -> _Chain:
    """Take away what bows inward, again and again, from the edges and the other edges' ends."""
    points = np.concatenate([other[:, :1], edge, other[:, -1:]], axis=1) * [1.0, sign]
    there = np.ones(points.shape[:2], bool)
    there[:, 0] = points[:, 0, 0] < points[:, 1, 0]
    there[:, -1] = points[:, -1, 0] > points[:, -2, 0]
    there &= ~_within(points, there)
    plank, (x, y) = np.nonzero(there)[0], points[there].T
    return _Chain(*_hull(x, y, plank), sign)


def _within(points: Floats, there: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Tell which points (P, k, 2) lie within the chain of a few of them, so are no corners."""
    few = there.copy()
    few[:, 2:-2] &= np.arange(2, there.shape[1] - 2) % COARSE == 0
    plank, (x, y) = np.nonzero(few)[0], points[few].T
    x, y, plank = _hull(x, y, plank)
    far = 4.0 * (np.abs(points[..., 0]).max() + 1.0)
    below = points[..., 0] + far * np.arange(len(points))[:, None]
    return np.asarray(points[..., 1] > np.interp(below, x + far * plank, y) + WITHIN_MM)


def _hull(x: Floats, y: Floats, plank: Ints) -> tuple[Floats, Floats, Ints]:
    """Give the lower chains of planks' points, each from left to right."""
    while len(x) > 2:
        dx, dy = np.diff(x), np.diff(y)
        inward = (dx[:-1] * dy[1:] <= dy[:-1] * dx[1:]) & (plank[:-2] == plank[2:])
        if not inward.any():
            break
        stays = np.concatenate([[True], ~inward, [True]])
        x, y, plank = x[stays], y[stays], plank[stays]
    return x, y, plank


def _across(chain: _Chain, other: _Chain) -> tuple[Ints, Floats, Floats]:
    """Give plank, turn and width of the blank along every side of a chain."""
    side, turn = _sides(chain)
    far_side, far_turn = _sides(other)
    plank = chain.plank[side]
    turned = np.searchsorted(far_turn + 10.0 * other.plank[far_side], 10.0 * plank - turn)
    far = turned + plank  # each plank has a corner more than sides
    rise = -other.y[far] - chain.y[side]
    width = np.cos(turn) * rise - np.sin(turn) * (other.x[far] - chain.x[side])
    return plank, chain.sign * turn, width


def _sides(chain: _Chain) -> tuple[Ints, Floats]:
    """Give the first corner of every side, and the sides' angles, which rise along a chain."""
    side = np.flatnonzero(chain.plank[1:] == chain.plank[:-1])
    rise, run = chain.y[side + 1] - chain.y[side], chain.x[side + 1] - chain.x[side]
    return side, np.arctan2(rise, run)
