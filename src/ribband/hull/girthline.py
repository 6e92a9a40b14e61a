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
from ribband.hull.spikes import foretold, spike
from ribband.numerics.smoothing import Smooth, robust_spread, smooth_line

__all__ = ["GirthLine", "fair_girths"]

_SCATTER = 1.6  # mm: a tape round a frame is not read closer than a sixteenth of an inch
_HELD = 3.0  # times the tolerance: a girth kept lies no further from the line
_FIRMER = 8.0


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
        gone = spike(x, girth, use, certain, times=times, least_mm=least_mm)
        if not gone:
            break
        use[list(gone)] = 0.0
    line = _line(x, girth, use, least_mm)
    back = (use == 0) & (weights > 0)
    told = foretold(x, girth, np.flatnonzero(use > 0))[1]
    spread = max(line.spread, robust_spread(told[np.isfinite(told)]), _SCATTER)
    back &= np.abs(line.batten.residual) < max(times * spread, least_mm)
    return _line(x, girth, np.where(back, weights, use), least_mm) if back.any() else line


def _line(x: Floats, girth: Floats, use: Floats, close: float) -> GirthLine:
    batten = _held(x, girth, use, close)
    used = use > 0
    room = np.maximum(1 - batten.own * batten.weights, 0.02)[used]
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
