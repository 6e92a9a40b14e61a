"""Runs of points in space: lengths along them, even spacing, crossings.

Not checked: that neighbouring points differ.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

__all__ = ["along", "evened", "fill"]

Floats = NDArray[np.float64]


def along(points: Floats) -> Floats:
    """Give the length from the first point to each, (..., m), of points (..., m, d).

    >>> along(np.array([[0.0, 0.0], [3.0, 4.0]])).tolist()
    [0.0, 5.0]
    """
    steps = np.linalg.norm(np.diff(points, axis=-2), axis=-1)
    return np.concatenate([np.zeros((*steps.shape[:-1], 1)), np.cumsum(steps, axis=-1)], axis=-1)


def fill(at: Floats, known: Floats, values: Floats) -> Floats:
    """Interpolate values (m, d) known at (m,) linearly, giving (k, d)."""
    return np.stack([np.interp(at, known, column) for column in values.T], axis=-1)


def evened(points: Floats, count: int) -> Floats:
    """Give `count` points evenly spaced by length along a run (m, d)."""
    length = along(points)
    return fill(np.linspace(0, length[-1], count), length, points)
