"""Interpolation that only looks near by: cubics along sampled lines, and from line to line.

*Along*: L lines, each sampled at M even fractions from 0 to 1, a cubic spline through each.
*Across*: a cubic through the four nearest of K knots, so that a value between lines depends on
four unknowns only. Not checked: that fractions lie in 0..1 (the end cubics carry on beyond).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["EvenLines", "four_nearest"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class EvenLines:
    """Cubic splines along L lines; `parts` (M - 1, L, c, 4), powers of the local fraction."""

    parts: Floats

    @classmethod
    def through(cls, samples: Floats) -> EvenLines:
        """Make splines through samples (L, M, c), not-a-knot ends."""
        from scipy.interpolate import CubicSpline  # noqa: PLC0415 - heavy

        m = samples.shape[1]
        spline = CubicSpline(np.arange(m), samples, axis=1)
        return cls(np.ascontiguousarray(spline.c[::-1].transpose(1, 2, 3, 0)))

    def some(self, channels: slice) -> EvenLines:
        """Give some of the c channels, on their own."""
        return EvenLines(np.ascontiguousarray(self.parts[:, :, channels]))

    def at(self, fraction: Floats, line: NDArray[np.int64]) -> tuple[Floats, Floats]:
        """Give values and slopes per unit fraction, (..., c), at `fraction` (...) of `line` (...).

        >>> lines = EvenLines.through(np.linspace(0, 2, 5)[None, :, None] ** 2)
        >>> value, slope = lines.at(np.array([0.3]), np.array([0]))
        >>> value[0, 0].round(6), slope[0, 0].round(6)
        (np.float64(0.36), np.float64(2.4))
        """
        bays = self.parts.shape[0]
        scaled = fraction * bays
        bay = np.clip(scaled.astype(np.int64), 0, bays - 1)
        t = (scaled - bay)[..., None]
        c = self.parts[bay, line]
        c0, c1, c2, c3 = c[..., 0], c[..., 1], c[..., 2], c[..., 3]
        return c0 + t * (c1 + t * (c2 + t * c3)), bays * (c1 + t * (2 * c2 + t * (3 * c3)))


def four_nearest(
    knots: Floats, at: Floats, first: NDArray[np.int64], last: NDArray[np.int64]
) -> tuple[NDArray[np.int64], Floats, Floats]:
    """Weights of the four knots about each place.

    Parameters
    ----------
    knots : (K,) increasing
    at : (...) places
    first, last : (...) the knots that may be used, at least four

    Returns
    -------
    index, weight, slope : (..., 4); value = sum(weight * f[index]), derivative with `slope`

    >>> knots = np.arange(6.0)
    >>> i, w, d = four_nearest(knots, np.array([2.5]), np.array([0]), np.array([5]))
    >>> (w * knots[i] ** 3).sum().round(6), (d * knots[i] ** 3).sum().round(6)
    (np.float64(15.625), np.float64(18.75))
    """
    start = np.clip(np.searchsorted(knots, at) - 2, first, np.maximum(last - 3, first))
    index = start[..., None] + np.arange(4)
    d = at[..., None] - knots[index]
    p, q, r, s = (d[..., i] for i in range(4))
    under = _under(knots.tobytes())[start]
    weight = np.stack([q * r * s, p * r * s, p * q * s, p * q * r], axis=-1) / under
    slope = np.stack(
        [
            q * r + q * s + r * s,
            p * r + p * s + r * s,
            p * q + p * s + q * s,
            p * q + p * r + q * r,
        ],
        axis=-1,
    )
    return index, weight, slope / under


@lru_cache(maxsize=32)
def _under(own: bytes) -> Floats:
    """Give what the weights of each four knots in a row are divided by, (K - 3, 4)."""
    knots = np.frombuffer(own)
    a, b, c, e = (knots[i : len(knots) - 3 + i] for i in range(4))
    return np.stack(
        [
            (a - b) * (a - c) * (a - e),
            (b - a) * (b - c) * (b - e),
            (c - a) * (c - b) * (c - e),
            (e - a) * (e - b) * (e - c),
        ],
        axis=-1,
    )
