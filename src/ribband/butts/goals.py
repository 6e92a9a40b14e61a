"""What a layout is worth, goal by goal, in their order.

1. rules relaxed: clashes left (0 in a layout that fits);
2. butts;
3. butts beyond one on a frame (or beyond the number the rule allows): of several ways to have
   the same number of frames shared, spread ones; piling six butts on one frame would count as
   a single shared frame, so frames are not what is counted;
4. pairs of butts with one strake between nearer than is wished (none where a rule asks for it);
5. stock length wasted, each plank cut from the shortest board that does, longest planks first;
6. pairs of butts in adjacent strakes with less than one frame space to spare;
7. unevenness: root mean square of each plank's difference from its strake's mean plank.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ribband.butts.problem import TOUCH_MM
from ribband.hull.model import Floats

__all__ = ["NAMES", "crowd", "plank_lengths", "stock_waste", "unevenness"]

NAMES = (
    "rules relaxed",
    "butts",
    "butts beyond one on a frame",
    "near butts with one strake between",
    "stock length wasted, mm",
    "adjacent butts with less than a space to spare",
    "unevenness of lengths, mm",
)
Ints = NDArray[np.int64]


def crowd(laid: Ints, n: int, per_frame: int) -> int:
    """Count butts beyond `per_frame` on a column; laid (S, k) columns, n for none."""
    on = np.bincount(laid.ravel(), minlength=n + 1)[:n]
    return int(np.maximum(on - per_frame, 0).sum())


def plank_lengths(laid: Ints, along: Floats, length: Floats) -> list[Floats]:
    """Give the plank lengths of each strake, from forward."""
    n = along.shape[1]
    return [
        np.diff(np.concatenate([[0.0], a[row[row < n]], [whole]]))
        for row, a, whole in zip(laid, along, length, strict=True)
    ]


def stock_waste(lengths: Floats, yields: Floats, counts: Floats) -> tuple[float, int]:
    """Give the stock wasted (mm) and how many planks find no board.

    >>> stock_waste(np.array([4.0, 5.0]), np.array([5.0, 6.0]), np.array([1.0, 1.0]))
    (2.0, 0)
    """
    if not len(yields):
        return 0.0, 0
    left, waste, without = counts.copy(), 0.0, 0
    for plank in np.sort(lengths)[::-1]:
        fits = np.flatnonzero((yields >= plank - TOUCH_MM) & (left > 0))
        if fits.size:
            left[fits[0]] -= 1
            waste += float(max(yields[fits[0]] - plank, 0.0))
        else:
            without += 1
    return waste, without


def unevenness(planks: list[Floats]) -> float:
    """Give the root mean square difference of planks from the mean of their strake, mm."""
    off = np.concatenate([p - p.mean() for p in planks])
    return float(np.sqrt(np.mean(off**2)))
