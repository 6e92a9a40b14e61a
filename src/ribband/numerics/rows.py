"""Cubic reading of sampled rows at places between the samples, many rows at once.

A *row* is a value at n even steps, n >= 4; a *place* is a number of steps from its first sample,
whole or not. Values between come from the cubic through the four nearest samples.

Not checked: that a row searched for a value increases.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

__all__ = ["find", "read", "refined", "through_all"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
_SETTLED = 1e-6  # of a step: by Newton's method the next one is of its square


def read(rows: Floats, row: Ints, place: Floats) -> Floats:
    """Give the values (..., d) of rows (r, n, d) at `place` (...) of `row` (...).

    >>> rows = (np.arange(6.0) ** 3)[None, :, None]
    >>> float(read(rows, np.array([0]), np.array([2.5]))[0, 0])
    15.625
    """
    first, weight, _ = _near(place, rows.shape[1])
    near = rows[row[..., None], first[..., None] + np.arange(4)]
    return np.asarray(np.einsum("...q,...qd->...d", weight, near), float)


def find(rows: Floats, row: Ints, value: Floats, beyond: float = 1.0) -> Floats:
    """Give the place (...) where a rising row of (r, n) takes `value` (...), by Newton's method.

    A value not reached gives a place up to `beyond` steps before the first sample or after the
    last, where the cubic is carried on.

    >>> float(find((np.arange(6.0) ** 2)[None], np.array([0]), np.array([6.25]))[0])
    2.5
    """
    samples = rows[row]
    count = rows.shape[1]
    bay = np.clip((samples <= value[..., None]).sum(axis=-1) - 1, 0, count - 2)
    low, high = (np.take_along_axis(samples, (bay + k)[..., None], -1)[..., 0] for k in (0, 1))
    step = np.where(high > low, high - low, 1.0)
    place = bay + np.clip((value - low) / step, -beyond, 1 + beyond)
    for _ in range(4):
        first, weight, slope = _near(place, count)
        near = np.take_along_axis(samples, first[..., None] + np.arange(4), -1)
        rise = (slope * near).sum(axis=-1)
        off = value - (weight * near).sum(axis=-1)
        move = np.clip(off / np.where(rise > 0, rise, step), -1.0, 1.0)
        place = np.clip(place + move, -beyond, count - 1 + beyond)
        if np.abs(move).max(initial=0.0) < _SETTLED:
            break
    return np.asarray(place, float)


def refined(rows: Floats, times: int) -> Floats:
    """Give rows (r, n, d) with `times` steps for each, (r, times (n - 1) + 1, d), by splines."""
    fine = np.tensordot(_finer(rows.shape[1], times), rows, axes=(1, 1))
    return np.asarray(np.moveaxis(fine, 0, 1), float)


def through_all(place: Floats, count: int) -> Floats:
    """Give weights (..., count) of the polynomial through `count` even samples, at `place` (...).

    >>> through_all(np.array([1.5]), 3) @ np.arange(3.0) ** 2
    array([2.25])
    """
    at = np.arange(count)
    weight = np.ones((*place.shape, count))
    for i in at:
        for j in at[at != i]:
            weight[..., i] *= (place - j) / (i - j)
    return weight


@lru_cache(maxsize=8)
def _finer(count: int, times: int) -> Floats:
    """Give what each of `count` samples counts for in the splines' finer steps."""
    from scipy.interpolate import CubicSpline  # noqa: PLC0415 - heavy

    spline = CubicSpline(np.arange(count), np.eye(count), axis=0)
    return np.asarray(spline(np.linspace(0, count - 1, times * (count - 1) + 1)), float)


def _near(place: Floats, count: int) -> tuple[Ints, Floats, Floats]:
    """Give the first of the four nearest samples, their weights and the weights' slopes."""
    first = np.clip(np.floor(place).astype(np.intp) - 1, 0, count - 4)
    a = place - first
    b, c, e = a - 1, a - 2, a - 3
    weight = np.stack([-b * c * e / 6, a * c * e / 2, -a * b * e / 2, a * b * c / 6], axis=-1)
    slope = np.stack(
        [
            -(b * c + b * e + c * e) / 6,
            (a * c + a * e + c * e) / 2,
            -(a * b + a * e + b * e) / 2,
            (a * b + a * c + b * c) / 6,
        ],
        axis=-1,
    )
    return first, weight, slope
