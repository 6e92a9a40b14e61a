"""A fair line of girths over the frames' positions, and the girths it does not believe.

The girth grows at one rate where frames begin on the stem and at another where they begin on the
keel, so a true line of girths has turns no batten would make. A girth is therefore judged by its
neighbours only: a cubic through two on either side foretells it. It is given up when it lies
further from what they foretell than the others do AND its neighbours agree among themselves once
it is gone; a turn of the line leaves them at odds, and stays. The two at either end, with
neighbours on one side only, are never given up. Every girth kept is held to.

Not checked: that positions grow.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.numerics.smoothing import Smooth, robust_spread, smooth_line

__all__ = ["GirthLine", "fair_girths"]

_AGREE = 0.4  # neighbours must come down to this share of how far they were out
_SCATTER = 1.6  # mm: a tape round a frame is not read closer than a sixteenth of an inch
_HELD = 3.0  # times the tolerance: a girth kept lies no further from the line
_FIRMER = 8.0
_BESIDE = 2
_TRIED = 6


@dataclass(frozen=True, eq=False)
class GirthLine:
    """A fair line; use (m,) is 0 where a girth was given up; spread, the usual error."""

    batten: Smooth
    use: Floats
    spread: float


def fair_girths(
    x: Floats,
    girth: Floats,
    weights: Floats,
    certain: NDArray[np.bool_],
    *,
    times: float,
    least_mm: float,
) -> GirthLine:
    """Fair girths (m,) over x (m,) growing; weight 0 leaves one out, `certain` ones must stay.

    >>> x = np.arange(20.0) * 400
    >>> taped = np.minimum(1000 + 0.4 * x, 1800 + 0.01 * x)
    >>> taped[12] += 300
    >>> line = fair_girths(x, taped, np.ones(20), np.zeros(20, bool), times=4.0, least_mm=3.0)
    >>> np.flatnonzero(line.use == 0).tolist(), round(float(line.batten.at(x[12])[0]))
    ([12], 1847)
    """
    use = weights.copy()
    for _ in range(len(x) // 5 + 1):
        gone = _spike(x, girth, use, certain, times=times, least_mm=least_mm)
        if not gone:
            break
        use[list(gone)] = 0.0
    line = _line(x, girth, use, least_mm)
    back = (use == 0) & (weights > 0)
    told = _all_foretold(x, girth, np.flatnonzero(use > 0))[1]
    spread = max(line.spread, robust_spread(told[np.isfinite(told)]), _SCATTER)
    back &= np.abs(line.batten.residual) < max(times * spread, least_mm)
    return _line(x, girth, np.where(back, weights, use), least_mm) if back.any() else line


def _line(x: Floats, girth: Floats, use: Floats, close: float) -> GirthLine:
    batten = _held(x, girth, use, close)
    used = use > 0
    room = np.maximum(1 - np.diag(batten.share) * batten.weights, 0.02)[used]
    spread = robust_spread(batten.residual[used] / np.sqrt(room))
    return GirthLine(batten, use, max(spread, _SCATTER))


def _held(x: Floats, girth: Floats, use: Floats, close: float) -> Smooth:
    """Fair the line, and hold it firmer to the girths that it would leave."""
    firm = use.copy()
    batten = smooth_line(x, girth, firm, close=close)
    for _ in range(5):
        left = (use > 0) & (np.abs(batten.residual) > _HELD * close)
        if not left.any():
            break
        firm[left] *= _FIRMER
        batten = smooth_line(x, girth, firm, close=close)
    return batten


def _foretold(x: Floats, girth: Floats, used: NDArray[np.intp], i: int) -> tuple[float, float]:
    """Give a girth less what two on either side foretell, and how noise in all five adds up.

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
    return float(girth[i] - share @ girth[beside]), float(np.sqrt(1 + share @ share))


def _spike(
    x: Floats,
    girth: Floats,
    use: Floats,
    certain: NDArray[np.bool_],
    *,
    times: float,
    least_mm: float,
) -> tuple[int, ...]:
    """Find the girth, or two next to each other, to give up next; empty when none."""
    used = np.flatnonzero(use > 0)
    out, size = _all_foretold(x, girth, used)
    may = np.isfinite(size) & ~certain[used] & (np.abs(out) > least_mm)
    for k in np.argsort(-np.where(may, size, 0.0))[: min(int(may.sum()), _TRIED)].tolist():
        for group in ((k,), (k, k + 1), (k - 1, k)):
            rows = used[list(group)] if group[0] >= 0 and group[-1] < len(used) else used[:0]
            free = len(rows) > 0 and not certain[rows].any()
            if free and _agree(x, girth, used, rows, times=times):
                return tuple(int(r) for r in rows)
    return ()


def _all_foretold(x: Floats, girth: Floats, used: NDArray[np.intp]) -> tuple[Floats, Floats]:
    """Give each used girth less what its neighbours foretell, and its size on one scale."""
    told = np.array([_foretold(x, girth, used, int(i)) for i in used])
    return told[:, 0], np.abs(told[:, 0]) / told[:, 1]


def _agree(
    x: Floats,
    girth: Floats,
    used: NDArray[np.intp],
    gone: NDArray[np.intp],
    *,
    times: float,
) -> bool:
    """Tell whether the neighbours agree once `gone` are given up, and each of them stands out."""
    rest = np.setdiff1d(used, gone)
    size = _all_foretold(x, girth, rest)[1]
    spread = max(robust_spread(size[np.isfinite(size)]), _SCATTER)
    first, last = np.searchsorted(rest, gone[[0, -1]])
    around = rest[max(first - _BESIDE, 0) : last + _BESIDE]
    before = [_foretold(x, girth, used, int(i))[0] for i in around]
    after = [_foretold(x, girth, rest, int(i))[0] for i in around]
    both = np.isfinite(before) & np.isfinite(after)
    if both.sum() < 2:
        return False
    was, left = (float(np.abs(np.array(side)[both]).sum()) for side in (before, after))
    told = [_foretold(x, girth, rest, int(i)) for i in gone]
    stands_out = all(abs(off) > times * spread * noise for off, noise in told)
    return stands_out and left < _AGREE * was + 2 * spread * np.sqrt(both.sum())
