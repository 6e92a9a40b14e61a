"""The smallest blank a plank can be got out of: the narrowest rectangle round its outline.

The grain is taken to run along the blank. The blank holds the flat shape alone; what is left on
edges and ends is the plank list's rule.

Not checked: that a board has such a blank free of flaws (`ribband.timber`).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ribband.hull.model import Floats

__all__ = ["Blanks", "smallest_blanks"]

WAYS, NARROWED = 25, 6  # directions tried at a time, and how often round the best of them


@dataclass(frozen=True, eq=False)
class Blanks:
    """Blanks of P planks: turn of the grain from the batten (P,), rad, and sizes (P,), mm."""

    turn: Floats
    length: Floats
    width: Floats


def smallest_blanks(outline: Floats) -> Blanks:
    """Give the narrowest blanks of outlines (P, k, 2), slender along x.

    >>> box = np.array([[[0.0, 0], [100, 10], [99, 20], [-1, 10]]])
    >>> blank = smallest_blanks(box)
    >>> round(float(blank.width[0]), 2), round(float(blank.length[0]), 1)
    (10.05, 100.5)
    """
    low, high = outline.min(axis=1), outline.max(axis=1)
    span = np.arctan2(high[:, 1] - low[:, 1], high[:, 0] - low[:, 0])
    best = np.zeros(len(outline))
    for _ in range(NARROWED):
        turn = best[:, None] + span[:, None] * np.linspace(-1, 1, WAYS)
        best = np.take_along_axis(turn, _across(outline, turn).argmin(axis=1)[:, None], 1)[:, 0]
        span *= 2.0 / (WAYS - 1)
    width = _across(outline, best[:, None])[:, 0]
    return Blanks(best, _across(outline, best[:, None] - np.pi / 2)[:, 0], width)


def _across(outline: Floats, turn: Floats) -> Floats:
    """Give the widths (P, d) of outlines across directions `turn` (P, d)."""
    ways = np.stack([-np.sin(turn), np.cos(turn)], axis=1)
    height = outline @ ways
    return np.asarray(height.max(axis=1) - height.min(axis=1), float)
