"""Where stealers go: on which frames their nibs stand, and at what height.

The frames come from dynamic programming over the number of strakes along the hull: each number
at each frame is judged by the mean width it leaves. The heights begin where strakes come
narrowest; then each stealer in turn is moved up, down, forward and aft while that scores better.

Not checked: two stealers one upon another (never tried); that a nib suits what is built there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Protocol, TypeVar

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats, Hull
from ribband.lining.division import Stealer
from ribband.lining.solve import Settled

__all__ = ["BROKEN", "first_placed", "placed_well"]

_NEAR_END = 0.12  # of the length: no nib nearer to a hood end
_LOWEST, _HIGHEST = 0.15, 0.72  # of the strakes: clear of the broads and of the topsides' eye
_MOVES = 10  # tries at most for a set
_WORTH = 1e-3  # of the score, or a fiftieth of it: less is no reason to move a stealer
BROKEN = 10.0  # added to the score of a lining that is off its limits


class _Judged(Protocol):
    @property
    def score(self) -> float: ...

    @property
    def stealers(self) -> tuple[Stealer, ...]: ...


J = TypeVar("J", bound=_Judged)


def first_placed(hull: Hull, s: Settled, changes: int) -> tuple[Stealer, ...]:
    """Give a first set of `changes` stealers for a division settled without any; or none."""
    whole = s.division.whole - changes
    stealers: list[Stealer] = []
    for frame, rise in _best_changes(hull, s, changes):
        above = round(_height(s, aft=rise > 0) * whole)
        while any(abs(above - other.above) < 3 for other in stealers):
            above += 3
        above = int(np.clip(above, 1, whole - 3))
        stealers.append(_running(above, frame, len(hull.frames.names), aft=rise > 0))
    return tuple(sorted(stealers))


def placed_well(
    hull: Hull, first: tuple[Stealer, ...], judge: Callable[[tuple[Stealer, ...]], J], whole: int
) -> J:
    """Move each stealer while that scores better; give the best set as judged."""
    best, step = judge(first), 1.0
    tried = {first}
    while step > 0.2 and len(tried) < _MOVES:
        others = [o for o in _moved(hull, best.stealers, whole, step) if o not in tried]
        better = None
        for other in others[: _MOVES - len(tried)]:
            tried.add(other)
            found = judge(other)
            if found.score < best.score - max(_WORTH, 0.02 * best.score):
                better = found
                break
        if better is None and best.score > BROKEN:
            break  # limits that cannot be kept are not kept by a finer place
        best, step = (better, step) if better else (best, step / 2)
    return best


def _moved(
    hull: Hull, stealers: tuple[Stealer, ...], whole: int, step: float
) -> Iterator[tuple[Stealer, ...]]:
    """Give sets with one stealer moved, by a sixth of the strakes or a twelfth of the frames."""
    frames = len(hull.frames.names)
    up, along = max(round(step * whole / 6), 1), max(round(step * frames / 12), 1)
    for number, one in enumerate(stealers):
        rest = stealers[:number] + stealers[number + 1 :]
        aft = one.fore >= 0
        nib = one.fore if aft else one.aft
        for rise, on in ((up, 0), (-up, 0), (0, along), (0, -along)):
            above, at = one.above + rise, nib + on
            if _LOWEST * whole <= above <= _HIGHEST * whole and _clear(hull, at):
                moved = _running(above, at, frames, aft=aft)
                if all(abs(moved.above - other.above) >= 2 for other in rest):
                    yield tuple(sorted((*rest, moved)))


def _running(above: int, nib: int, frames: int, *, aft: bool) -> Stealer:
    """Give a stealer from its nib to the hood end."""
    return Stealer(above, nib, frames) if aft else Stealer(above, -1, nib)


def _clear(hull: Hull, frame: int) -> bool:
    """Tell whether there is such a frame, and a nib may stand on it: not too near a hood end."""
    return 0 <= frame < len(hull.frames.x_mm) and bool(_clear_frames(hull)[frame])


def _clear_frames(hull: Hull) -> NDArray[np.bool_]:
    """Mark the frames (F,) a nib may stand on."""
    x = hull.lines.x_mm
    part = (hull.frames.x_mm - x[0]) / (x[-1] - x[0])
    return np.asarray((part > _NEAR_END) & (part < 1 - _NEAR_END))


def _height(s: Settled, *, aft: bool) -> float:
    """Where along the girth the strakes come narrowest at the end opposite, 0 to 1."""
    half = s.cut.width.shape[1] // 2
    part = slice(0, half) if aft else slice(half, None)
    short = np.where(s.cut.whole, np.maximum(1.1 * s.least - s.cut.width, 0.0), 0.0)[1:, part]
    each = short.sum(axis=1)
    if not each.any():
        return 0.4
    middle = float(np.average(np.arange(1, len(each) + 1), weights=each)) / len(each)
    return float(np.clip(middle, _LOWEST + 0.05, _HIGHEST - 0.1))


def _best_changes(hull: Hull, s: Settled, changes: int) -> tuple[tuple[int, int], ...]:
    """Frames where the number of strakes changes by +1 or -1, `changes` times in all, by DP."""
    cut = s.cut
    width = np.where(cut.there, cut.width, 0.0)[:, 1:-1].sum(axis=0)  # girth square across
    cost = _count_costs(s, width, changes)
    return _walk(cost, _clear_frames(hull), changes)


def _count_costs(s: Settled, width: Floats, changes: int) -> Floats:
    """Cost (F, changes + 1) of having that many strakes fewer at each frame."""
    n = s.division.whole
    least = np.median(s.task.least[1:, 1:-1], axis=0)
    greatest = np.median(np.minimum(s.greatest, 1e6)[:, 1:-1], axis=0)
    mean = width.max() / n
    cost = np.empty((len(width), changes + 1))
    for fewer in range(changes + 1):
        each = width / (n - fewer)
        narrow = np.maximum(1.2 * least - each, 0.0) / mean
        wide = np.maximum(each - 0.97 * greatest, 0.0) / mean
        cost[:, fewer] = 40.0 * narrow**2 + 80.0 * wide**2 + 0.2 * np.log(each / mean) ** 2
    return cost / len(width)


def _walk(cost: Floats, allowed: NDArray[np.bool_], changes: int) -> tuple[tuple[int, int], ...]:
    """Best run of counts that rises from the ends to the full number, using all the changes."""
    best: tuple[float, tuple[tuple[int, int], ...]] = (np.inf, ())
    for fore in range(changes + 1):
        aft = changes - fore
        run = _one_walk(cost, allowed, fore, aft)
        best = min(best, run, key=lambda r: r[0])
    return best[1]


def _one_walk(
    cost: Floats, allowed: NDArray[np.bool_], fore: int, aft: int
) -> tuple[float, tuple[tuple[int, int], ...]]:
    """Stages: `fore` strakes short forward, none short amidships, then up to `aft` short."""
    short = [*range(fore, -1, -1), *range(1, aft + 1)]
    frames, gap = len(cost), 3
    value = np.cumsum(cost[:, short[0]])
    back: list[Floats] = []
    for stage in range(1, len(short)):
        run = np.concatenate([[0.0], np.cumsum(cost[:, short[stage]])])
        start = np.where(allowed, np.concatenate([[np.inf], value[:-1]]) - run[:-1], np.inf)
        start[: gap * stage] = np.inf
        best = np.minimum.accumulate(start)
        back.append(np.where(start <= best, np.arange(frames), 0))
        value = best + run[1:]
    if not np.isfinite(value[-1]):
        return np.inf, ()
    at, moves = frames - 1, []
    for stage in range(len(short) - 1, 0, -1):
        at = int(np.maximum.accumulate(back[stage - 1])[at])
        moves.append((at, short[stage - 1] - short[stage]))
        at -= 1
    return float(value[-1]), tuple(reversed(moves))
