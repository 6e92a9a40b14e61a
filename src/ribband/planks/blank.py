"""The smallest blank a plank can be got out of: the narrowest rectangle round its outline.

One side of it lies along a side of the outline's convex hull. The grain is taken to run along
the blank. The blank holds the flat shape alone; what is left on edges and ends is the plank
list's rule.

Not checked: that a board has such a blank free of flaws (`ribband.timber`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ribband.hull.model import Floats

__all__ = ["Blanks", "smallest_blanks"]


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
    turn, length, width = np.array([_narrowest(outline) for outline in outlines]).T
    return Blanks(turn, length, width)


def _narrowest(outline: Floats) -> tuple[float, float, float]:
    """Give turn, length and width of one blank."""
    from scipy.spatial import ConvexHull  # noqa: PLC0415 - heavy

    corners = outline[ConvexHull(outline).vertices]
    side = np.roll(corners, -1, axis=0) - corners
    turn = np.arctan2(side[:, 1], side[:, 0])
    turn = np.remainder(turn + np.pi / 2, np.pi) - np.pi / 2
    across = corners @ np.stack([-np.sin(turn), np.cos(turn)])
    width = across.max(axis=0) - across.min(axis=0)
    best = int(width.argmin())
    along = corners @ np.array([np.cos(turn[best]), np.sin(turn[best])])
    return float(turn[best]), float(np.ptp(along)), float(width[best])
