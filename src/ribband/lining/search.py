"""How many strakes, and where stealers: short solves of the likely divisions.

The number to begin from is the published rule, midship girth over the greatest width rounded
up, raised where the round of the bilge asks for narrower strakes than that. Stealers come from
dynamic programming over the number of strakes along the frames: each number at each frame is
judged by the mean width it leaves, each change costs a stealer. The best few are settled and
compared by `score`.

Not checked: divisions far from these; two stealers one above the other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ribband.hull.model import Floats, Hull
from ribband.lining.division import Division, Stealer, division_of
from ribband.lining.ground import Ground
from ribband.lining.model import Wish
from ribband.lining.rules import LiningRules, WidthLimits, limits_of
from ribband.lining.solve import FINE, KEPT_MM, SHORT, Settled, Stop, settle
from ribband.lining.start import on_other_lines, shared_out
from ribband.lining.task import task_of
from ribband.survey.model import OldWidth

__all__ = [
    "Count",
    "Found",
    "count_of",
    "finished",
    "resumed",
    "score",
    "search",
    "tried",
    "unlike",
]

_HEIGHTS = (0.45, 0.3, 0.6)  # where a stealer goes in, as a share of the strakes
_NEAR_END = 0.12  # of the length: no nib nearer to a hood end


@dataclass(frozen=True, slots=True)
class Count:
    """The fewest strakes: by the published rule, and by the round of the bilge and where."""

    midship_mm: float
    by_girth: int
    by_roundness: int
    at: str

    @property
    def fewest(self) -> int:
        """The greater of the two."""
        return max(self.by_girth, self.by_roundness)


@dataclass(frozen=True, slots=True, eq=False)
class Found:
    """A division settled, with its stealers and score."""

    stealers: tuple[Stealer, ...]
    settled: Settled
    score: float

    @property
    def strakes(self) -> int:
        """Strakes amidships."""
        return self.settled.division.whole + len(self.stealers)

    @property
    def kind(self) -> tuple[int, int]:
        """Strakes amidships, and how many of them are stealers."""
        return self.strakes, len(self.stealers)


@dataclass(frozen=True, slots=True, eq=False)
class Asked:
    """Everything that is given for all divisions; `coarse` has every second line of `ground`."""

    ground: Ground
    coarse: Ground
    rules: LiningRules
    limits: WidthLimits
    wishes: tuple[Wish, ...]
    old: tuple[OldWidth, ...]
    fewest: int


def count_of(hull: Hull, rules: LiningRules, wishes: Sequence[Wish] = ()) -> Count:
    """Reckon the fewest strakes."""
    limits = limits_of(rules, hull.particulars)
    greatest = limits.greatest
    for wish in wishes:
        if wish.kind == "greatest" and not wish.strake and not wish.frame:
            greatest = wish.value
    frames = hull.frames
    girth = float(frames.girth_mm.max())
    need = np.full(len(frames.names), girth / greatest)
    if frames.curvature is not None:
        backed = np.sqrt(8.0 * limits.hollow / np.maximum(np.abs(frames.curvature), 1e-12))
        width = np.clip(backed, 1.05 * limits.least, greatest)
        need = frames.girth_mm * np.mean(1.0 / width, axis=1)
    wider = sum(max(s, 1.0) - 1.0 for s in (rules.garboard, rules.first_broad, rules.second_broad))
    at = int(np.argmax(need))
    return Count(
        girth,
        int(np.ceil(girth / greatest - 1e-9)),
        int(np.ceil(need[at] - wider - 1e-9)),
        frames.names[at],
    )


def score(settled: Settled, stealers: int, fewest: int, rules: LiningRules) -> float:
    """Judge a division: cost, strakes over the fewest, stealers, and what is off the limits."""
    strakes = settled.division.whole + stealers
    off = 10.0 + settled.over_mm if settled.over_mm > 10 * KEPT_MM else 0.0
    more = max(strakes - fewest, 0) / fewest
    return settled.cost + rules.weight_strake * more + rules.weight_stealer * stealers + off


def tried(
    asked: Asked, whole: int, stealers: tuple[Stealer, ...], start: Settled | None = None
) -> Found:
    """Settle one division shortly on the coarse lines, from one settled there before if given."""
    division = _division(asked, asked.coarse, whole, stealers)
    seams = shared_out(start.fraction, start.division, division) if start else None
    return _settled(asked, asked.coarse, division, stealers, seams, SHORT)


def finished(asked: Asked, found: Found) -> Found:
    """Settle a division to the end, on all lines, from where it was found on the coarse ones."""
    if asked.coarse is asked.ground or found.settled.stop is FINE:
        return found
    whole = found.settled.division.whole
    division = _division(asked, asked.ground, whole, found.stealers)
    seams = on_other_lines(found.settled.fraction, asked.coarse.u, asked.ground, division)
    return _settled(asked, asked.ground, division, found.stealers, seams, FINE)


def resumed(
    asked: Asked, whole: int, stealers: tuple[Stealer, ...], seams: Floats | None = None
) -> Found:
    """Settle a division to the end, from seams that lie nearly right if given."""
    division = _division(asked, asked.ground, whole, stealers)
    return _settled(asked, asked.ground, division, stealers, seams, FINE)


def unlike(found: Sequence[Found], most: int = 3) -> list[Found]:
    """Give the best of each number of strakes and stealers, best first."""
    kinds: dict[tuple[int, int], Found] = {}
    for one in found:
        kinds.setdefault(one.kind, one)
    return list(kinds.values())[:most]


def _division(asked: Asked, ground: Ground, whole: int, stealers: tuple[Stealer, ...]) -> Division:
    nib = asked.limits.nib / (float(ground.girth.max()) / (whole + len(stealers)))
    return division_of(ground.hull, asked.rules, whole, stealers, nib)


def _settled(  # noqa: PLR0917
    asked: Asked,
    ground: Ground,
    division: Division,
    stealers: tuple[Stealer, ...],
    seams: Floats | None,
    stop: Stop,
) -> Found:
    task = task_of(ground.hull, asked.rules, division, asked.wishes, asked.old)
    settled = settle(ground, division, task, asked.rules, seams, stop=stop)
    return Found(stealers, settled, score(settled, len(stealers), asked.fewest, asked.rules))


def search(
    asked: Asked, counts: Iterable[int], progress: Callable[[float, str], None]
) -> list[Found]:
    """Try the likely divisions, best first."""
    found: list[Found] = []
    start: Settled | None = None
    counts = list(counts)
    for number, count in enumerate(counts):
        progress(number / len(counts), f"trying {count} strakes")
        if found and min(f.score for f in found) < _least_score(asked, count):
            break
        plain = tried(asked, count, (), start)
        start = plain.settled
        found.append(plain)
        if number < 2:
            found += [tried(asked, count - len(s), s, start) for s in _stealers(asked, plain)]
    return sorted(found, key=lambda f: f.score)


def _least_score(asked: Asked, count: int) -> float:
    """No division of so many strakes can score less, but that one more is tried to compare."""
    return asked.rules.weight_strake * (count - 2 - asked.fewest) / asked.fewest


def _stealers(asked: Asked, plain: Found) -> list[tuple[Stealer, ...]]:
    """Give the sets of stealers worth settling: where the ends come narrow."""
    rules = asked.rules
    narrow = plain.settled.cut.width < 1.02 * plain.settled.least + 1.0
    if not rules.stealers or not narrow[1:][plain.settled.cut.whole[1:]].any():
        return []
    if any(w.kind in {"master", "fix", "width", "recorded"} and w.strake for w in asked.wishes):
        return []  # strakes are named: their numbers must not shift
    sets = []
    for changes in range(1, rules.stealers + 1):
        path = best_changes(asked, plain, changes)
        if path:
            sets += _placed(path, plain.settled.division.whole - changes)
    return sets


def best_changes(asked: Asked, plain: Found, changes: int) -> tuple[tuple[int, int], ...]:
    """Frames where the number of strakes changes by +1 or -1, `changes` times in all, by DP."""
    hull = asked.ground.hull
    cut = plain.settled.cut
    width = np.where(cut.there, cut.width, 0.0)[:, 1:-1].sum(axis=0)  # girth square across
    n = plain.settled.division.whole
    cost = _count_costs(asked, plain, width, n, changes)
    x = hull.lines.x_mm
    part = (hull.frames.x_mm - x[0]) / (x[-1] - x[0])
    allowed = (part > _NEAR_END) & (part < 1 - _NEAR_END)
    return _walk(cost, allowed, changes)


def _count_costs(asked: Asked, plain: Found, width: Floats, n: int, changes: int) -> Floats:
    """Cost (F, changes + 1) of having n - d strakes at each frame."""
    limits = plain.settled.task
    least = np.median(limits.least[1:, 1:-1], axis=0)
    greatest = np.median(np.minimum(plain.settled.greatest, 1e6)[:, 1:-1], axis=0)
    mean = width.max() / n
    cost = np.empty((len(width), changes + 1))
    for fewer in range(changes + 1):
        each = width / (n - fewer)
        narrow = np.maximum(1.2 * least - each, 0.0) / mean
        wide = np.maximum(each - 0.97 * greatest, 0.0) / mean
        cost[:, fewer] = 40.0 * narrow**2 + 80.0 * wide**2 + 0.2 * np.log(each / mean) ** 2
    return cost / len(width)


def _walk(cost: Floats, allowed: Floats, changes: int) -> tuple[tuple[int, int], ...]:
    """Best run of counts that rises from the ends to the full number, using all the changes."""
    best: tuple[float, tuple[tuple[int, int], ...]] = (np.inf, ())
    for fore in range(changes + 1):
        aft = changes - fore
        run = _one_walk(cost, allowed, fore, aft)
        best = min(best, run, key=lambda r: r[0])
    return best[1]


def _one_walk(
    cost: Floats, allowed: Floats, fore: int, aft: int
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


def _placed(path: tuple[tuple[int, int], ...], whole: int) -> list[tuple[Stealer, ...]]:
    """Turn changes into stealers, at the likely heights; none upon another."""
    sets = []
    for first in _HEIGHTS[: 2 if len(path) == 1 else 1]:
        stealers = []
        for number, (frame, rise) in enumerate(path):
            above = round(first * whole) + (2 * number if first < 0.5 else -2 * number)
            above = int(np.clip(above, 1, whole - 3))
            stealers.append(
                Stealer(above, frame, 10**6) if rise > 0 else Stealer(above, -1, frame - 1)
            )
        sets.append(tuple(stealers))
    return sets
