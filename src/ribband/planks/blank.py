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
