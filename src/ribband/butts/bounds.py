"""What is proved of a layout: bounds, what they hold for, and those that come quickly.

The goals after the count are numbered in their order from 0. A bound on one of them holds for
every layout with as many butts that is no worse in the goals before it.
"""

from __future__ import annotations

from dataclasses import dataclass
from time import monotonic

import numpy as np
from numpy.typing import NDArray

from ribband.butts.alone import least_apart
from ribband.butts.crowding import least_beyond
from ribband.butts.tables import Tables
from ribband.hull.model import Floats

__all__ = [
    "BEYOND",
    "NEAR",
    "PAIRS",
    "TIGHT",
    "UNEVEN",
    "WASTE",
    "Bound",
    "Known",
    "Limits",
    "Task",
    "as_scored",
    "quick",
    "tiled_to",
]

Ints = NDArray[np.int64]
Known = dict[tuple[int, int], int]  # fewest butts of strakes a to b
BEYOND, NEAR, WASTE, TIGHT, UNEVEN = range(5)
PAIRS = (NEAR, TIGHT)


@dataclass(frozen=True, slots=True)
class Bound:
    """A proved least number of butts, those of groups, and a better layout if one was come upon.

    known : fewest butts of strakes a to b (b not among them)
    """

    value: int
    known: Known
    better: Ints | None = None


@dataclass(frozen=True, slots=True)
class Limits:
    """Longest plank, least butts of each strake alone (S,), and this side's stock if counted."""

    longest: float
    alone: Floats
    yields: Floats
    counts: Floats


@dataclass(frozen=True, slots=True)
class Task:
    """What is to be polished: the problem, the number of butts, and how long it may take.

    known : fewest butts of strakes a to b, from the proof of the count
    """

    t: Tables
    limits: Limits
    per_frame: int
    butts: int
    known: Known
    seconds: float
    until: float

    def most(self, a: int, b: int) -> int:
        """Give the most butts of strakes a to b, the others having no fewer than is known."""
        below, above = self._least_beside()
        return self.butts - below[a] - above[b]

    def most_each(self) -> Floats:
        """Give (S,) the most butts of each strake."""
        below, above = self._least_beside()
        each = [self.butts - b - a for b, a in zip(below[:-1], above[1:], strict=True)]
        return np.array(each, dtype=float)

    def _least_beside(self) -> tuple[list[int], list[int]]:
        """Give the fewest butts of the strakes below each, and of it and those above."""
        strakes = len(self.t.open)
        turned = {(strakes - b, strakes - a): least for (a, b), least in self.known.items()}
        return tiled_to(self.known, strakes), tiled_to(turned, strakes)[::-1]

    @property
    def over(self) -> bool:
        """Say whether the time is up."""
        return monotonic() > self.until


def quick(task: Task, goal: int) -> float:
    """Give the quick bound of a goal, in the score's order from that after the count."""
    t, most = task.t, task.most_each()
    if goal == BEYOND:
        return float(least_beyond(t, task.limits.alone, task.butts, task.per_frame))
    if goal in PAIRS:
        return 0.0
    planks = task.butts + len(t.open)
    return as_scored(goal, least_apart(t, most, task.butts, even=goal == UNEVEN), planks)


def as_scored(goal: int, least: float, planks: int) -> float:
    """Turn a sum into the goal's own measure, rounded as the goal is.

    Sums of lengths are mm, or mm2 for unevenness.
    """
    if goal == UNEVEN:
        return round(float(np.sqrt(max(least, 0.0) / planks)), 1)
    return float(round(least)) if goal == WASTE else float(np.ceil(least - 1e-6))


def tiled_to(known: Known, strakes: int) -> list[int]:
    """Give the best sum over groups that do not overlap, of the strakes below each."""
    best = [0] * (strakes + 1)
    for end in range(1, strakes + 1):
        best[end] = max(best[a] + v for (a, b), v in known.items() if b == end)
    return best
