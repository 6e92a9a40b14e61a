"""The two edges of a board as two lines over its length, and outlines made of them.

*Edges*: at each place x from the butt end, how far the lower and the upper edge lie across the
board. Between two places they run straight. A board with two live edges is taken to be even about
its middle line; one with a sawn edge lies on it, the sawn edge straight at 0.

Not checked here: whether the board is really even, or how much it sweeps. A board whose shape
matters should be given by its outline.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ribband.hull.model import Floats

__all__ = ["Edges", "edges_of_outline", "edges_of_widths"]


@dataclass(frozen=True, slots=True, eq=False)
class Edges:
    """Lower and upper edge: x (n,) growing from 0, lower (n,), upper (n,), all mm.

    >>> edges = edges_of_widths([(0.0, 300.0), (4000.0, 260.0)], live=True)
    >>> edges.at(2000.0)
    (10.0, 290.0)
    """

    x: Floats
    lower: Floats
    upper: Floats

    @property
    def length_mm(self) -> float:
        """Give the length of the board."""
        return float(self.x[-1])

    def at(self, x_mm: float) -> tuple[float, float]:
        """Give the lower and the upper edge at x."""
        low, high = np.interp(x_mm, self.x, self.lower), np.interp(x_mm, self.x, self.upper)
        return float(low), float(high)

    def width_at(self, x_mm: float) -> float:
        """Give the width at x."""
        low, high = self.at(x_mm)
        return high - low

    def outline(self) -> Floats:
        """Give the corners in order round the board: out along the lower edge, back on the upper.

        >>> edges_of_widths([(0.0, 300.0), (4000.0, 260.0)], live=False).outline().tolist()
        [[0.0, 0.0], [4000.0, 0.0], [4000.0, 260.0], [0.0, 300.0]]
        """
        return self.band(0.0, self.length_mm, self.lower, self.upper)

    def band(self, start: float, end: float, low: Floats, high: Floats) -> Floats:
        """Give the ring between the lines `low` and `high` (n,) over x from `start` to `end`."""
        inside = self.x[(self.x > start) & (self.x < end)]
        x = np.concatenate([[start], inside, [end]])
        lower = np.column_stack([x, np.interp(x, self.x, low)])
        upper = np.column_stack([x, np.interp(x, self.x, high)])
        return np.concatenate([lower, upper[::-1]])


def edges_of_widths(widths: Sequence[tuple[float, float]], *, live: bool) -> Edges:
    """Give the edges from widths taken square across at places, (x, width) in mm, x growing.

    `live`: both edges are live, and the board is even about its middle line; otherwise its lower
    edge is straight.
    """
    x, width = np.array(widths, dtype=float).T
    lower = (width.max() - width) / 2 if live else np.zeros_like(width)
    return Edges(x, lower, lower + width)


def edges_of_outline(outline: Floats) -> Edges:
    """Give the edges of an outline (n, 2): its least and greatest y at every corner's x.

    >>> ring = np.array([[0.0, 0], [1000, 20], [2000, 0], [2000, 200], [0, 240]])
    >>> edges_of_outline(ring).at(1000.0)
    (20.0, 220.0)
    """
    x = np.unique(outline[:, 0])
    (x0, y0), (x1, y1) = outline.T, np.roll(outline, -1, axis=0).T
    at, upright = x[:, None], x0 == x1
    meets = (np.minimum(x0, x1) <= at) & (at <= np.maximum(x0, x1))
    part = np.where(upright, 0.0, (at - x0) / np.where(upright, 1.0, x1 - x0))
    y = y0 + part * (y1 - y0)
    low = np.where(meets, np.where(upright, np.minimum(y0, y1), y), np.inf)
    high = np.where(meets, np.where(upright, np.maximum(y0, y1), y), -np.inf)
    return Edges(x, low.min(axis=1), high.max(axis=1))
