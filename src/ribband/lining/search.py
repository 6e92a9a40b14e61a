"""How many strakes, and where stealers: short solves of the likely divisions.

The number to begin from is the published rule, midship girth over the greatest width rounded
up, raised where the round of the bilge asks for narrower strakes than that. Where ends come narrow
stealers are tried (`ribband.lining.stealers`). All are settled shortly and compared by `score`.

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
from ribband.lining.solve import DRAGGED, FINE, SHORT, Settled, Stop, settle
from ribband.lining.start import on_other_lines, shared_out
from ribband.lining.stealers import BROKEN, first_placed, placed_well
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
    "with_other_stealers",
]


_SHOWN = 3  # the best and the two next
_OFF_MM = 0.2  # a short solve that is off by more does not keep its limits: it stops at half of it


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

    @property
    def kept(self) -> bool:
        """True where limits and wishes are kept, as near as a short solve comes to them."""
        return self.settled.over_mm <= _OFF_MM


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
    off = BROKEN + settled.over_mm if settled.over_mm > _OFF_MM else 0.0
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


def with_other_stealers(asked: Asked, was: Settled, stealers: tuple[Stealer, ...]) -> Found:
    """Settle as many whole strakes with other stealers, shortly, from seams settled before."""
    division = _division(asked, asked.ground, was.division.whole, stealers)
    seams = shared_out(was.fraction, was.division, division)
    return _settled(asked, asked.ground, division, stealers, seams, DRAGGED)


def unlike(found: Sequence[Found], most: int = _SHOWN) -> list[Found]:
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
        worse = start is not None and plain.settled.over_mm > start.over_mm > _OFF_MM
        start = plain.settled
        found.append(plain)
        if worse and len(unlike(found)) >= _SHOWN:
            break  # still more strakes only take it further from its limits
        if number == 0 or (number == 1 and _better_kept(plain, found)):
            found += _with_stealers(asked, plain)
    return sorted(found, key=lambda f: f.score)


def _better_kept(plain: Found, found: Sequence[Found]) -> bool:
    """Tell whether nothing keeps the limits yet, and one strake more comes nearer to it."""
    broken = min(f.score for f in found) > BROKEN
    return broken and plain.settled.over_mm < found[0].settled.over_mm


def _least_score(asked: Asked, count: int) -> float:
    """No division of so many strakes can score less, but that one more is tried to compare."""
    return asked.rules.weight_strake * (count - 2 - asked.fewest) / asked.fewest


def _with_stealers(asked: Asked, plain: Found) -> list[Found]:
    """Settle the likely sets of stealers, one more at a time while that helps."""
    found: list[Found] = []
    best = plain
    if not _wants_stealers(asked, plain):
        return found
    s = near = plain.settled

    def judge(stealers: tuple[Stealer, ...]) -> Found:
        nonlocal near
        one = tried(asked, s.division.whole - len(stealers), stealers, near)
        near = one.settled
        return one

    for changes in range(1, asked.rules.stealers + 1):
        first = first_placed(asked.ground.hull, s, changes)
        if not first:
            break
        better = placed_well(asked.ground.hull, first, judge, s.division.whole - changes)
        found.append(better)
        if better.score > best.score and best.kept:
            break
        best = min(best, better, key=lambda f: f.score)
    return found


def _wants_stealers(asked: Asked, plain: Found) -> bool:
    """Tell whether an end comes narrow, and no wish names a strake whose number would shift."""
    cut, least = plain.settled.cut, plain.settled.least
    if plain.kept and plain.settled.cost <= asked.rules.weight_stealer:
        return False  # not even the fairest could pay for a stealer
    narrow = (cut.width < 1.02 * least + 1.0) & cut.whole
    named = {"master", "fix", "width", "recorded"}
    return bool(asked.rules.stealers and narrow[1:].any()) and not any(
        w.kind in named and w.strake for w in asked.wishes
    )
