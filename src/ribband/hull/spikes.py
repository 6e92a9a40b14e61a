"""A lone reading of a line that its neighbours do not bear out.

A cubic through two neighbours on either side foretells each reading. One is given up when it
lies further from that than the others do AND its neighbours agree among themselves once it is
gone: where the line itself turns sharply they are left at odds, and it stays. The two readings
at either end, with neighbours on one side only, are never given up.

Not checked: that x grows.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.numerics.smoothing import robust_spread

__all__ = ["foretold", "spike"]

_AGREE = 0.4  # neighbours must come down to this share of how far they were out
_SCATTER = 1.6  # mm: a tape round a frame is not read closer than a sixteenth of an inch
_BESIDE = 2
_TRIED = 6


def _foretold(x: Floats, value: Floats, used: NDArray[np.intp], i: int) -> tuple[float, float]:
    """Give a reading less what two on either side foretell, and how noise in all five adds up.

    NaN where it has not two on either side.
    """
    below, above = used[used < i][-2:], used[used > i][:2]
    if len(below) < 2 or len(above) < 2:
        return float("nan"), 1.0
    beside = np.concatenate([below, above])
    at = x[beside]
    share = np.array(
        [np.prod((x[i] - np.delete(at, k)) / (at[k] - np.delete(at, k))) for k in range(4)]
    )
    return float(value[i] - share @ value[beside]), float(np.sqrt(1 + share @ share))


def spike(
    x: Floats,
    value: Floats,
    use: Floats,
    certain: NDArray[np.bool_],
    *,
    times: float,
    least_mm: float,
) -> tuple[int, ...]:
    """Find the reading, or two next to each other, to give up next; empty when none.

    Readings (m,) over x (m,) growing; one of weight `use` 0 is left out, `certain` ones stay.
    """
    used = np.flatnonzero(use > 0)
    out, size = foretold(x, value, used)
    may = np.isfinite(size) & ~certain[used] & (np.abs(out) > least_mm)
    for k in np.argsort(-np.where(may, size, 0.0))[: min(int(may.sum()), _TRIED)].tolist():
        for group in ((k,), (k, k + 1), (k - 1, k)):
            rows = used[list(group)] if group[0] >= 0 and group[-1] < len(used) else used[:0]
            free = len(rows) > 0 and not certain[rows].any()
            if free and _agree(x, value, used, rows, times=times):
                return tuple(int(r) for r in rows)
    return ()


def foretold(x: Floats, value: Floats, used: NDArray[np.intp]) -> tuple[Floats, Floats]:
    """Give each used reading less what its neighbours foretell, and its size on one scale."""
    told = np.array([_foretold(x, value, used, int(i)) for i in used])
    return told[:, 0], np.abs(told[:, 0]) / told[:, 1]


def _agree(
    x: Floats,
    value: Floats,
    used: NDArray[np.intp],
    gone: NDArray[np.intp],
    *,
    times: float,
) -> bool:
    """Tell whether the neighbours agree once `gone` are given up, and each of them stands out."""
    rest = np.setdiff1d(used, gone)
    size = foretold(x, value, rest)[1]
    spread = max(robust_spread(size[np.isfinite(size)]), _SCATTER)
    first, last = np.searchsorted(rest, gone[[0, -1]])
    around = rest[max(first - _BESIDE, 0) : last + _BESIDE]
    before = [_foretold(x, value, used, int(i))[0] for i in around]
    after = [_foretold(x, value, rest, int(i))[0] for i in around]
    both = np.isfinite(before) & np.isfinite(after)
    if both.sum() < 2:
        return False
    was, left = (float(np.abs(np.array(side)[both]).sum()) for side in (before, after))
    told = [_foretold(x, value, rest, int(i)) for i in gone]
    stands_out = all(abs(off) > times * spread * noise for off, noise in told)
    return stands_out and left < _AGREE * was + 2 * spread * np.sqrt(both.sum())
