"""A hand that moves a seam: fewer unknowns, so that a large lining follows while it moves.

Seams within `BESIDE` of the one in the hand move freely. The others go along with the outermost
of those, in proportion to their height: of the seam at half its height half as much. So the least
of the same cost is looked for among fewer shapes; when the hand rests all seams are free again.

Not checked: how far that lies from all seams moving freely; a test measures it.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.lining.division import Division, Ints
from ribband.numerics.near_squares import Block

__all__ = ["BESIDE", "Hand", "by_the_hand"]

BESIDE = 3  # seams on either side of the hand that move freely


@dataclass(frozen=True, slots=True, eq=False)
class Hand:
    """How every unknown hangs on the few: its number (n + 1,) among them, and its share (n + 1,).

    The last entry is for what is held: number -1, share 0. `count` is how many few there are;
    `free` (n + 1,) tells which unknowns are among them themselves.
    """

    number: Ints
    share: Floats
    free: NDArray[np.bool_]
    count: int

    def tied(self, block: Block) -> Block:
        """Give a block of all unknowns as it hangs on the few."""
        return Block(block.value, self.number[block.index], block.slope * self.share[block.index])

    def beside(self, block: Block) -> NDArray[np.bool_]:
        """Tell which rows of a block hang on free unknowns alone, or on held ones beside them."""
        free = self.free[block.index] | (block.index < 0)
        some = np.any(block.index >= 0, axis=1)
        beside: NDArray[np.bool_] = np.all(free, axis=1) & some
        return beside

    def every(self, part: Floats) -> Floats:
        """Give the step of all unknowns from that of the few."""
        step: Floats = (np.append(part, 0.0)[self.number] * self.share)[:-1]
        return step


def by_the_hand(division: Division, fraction: Floats, moved: Ints) -> Hand | None:
    """Tie the seams away from those `moved` to the ones beside them; None where none are moved."""
    last = len(division.unknown) - 1
    if not len(moved):
        return None
    low, high = max(int(moved.min()) - BESIDE, 1), min(int(moved.max()) + BESIDE, last - 1)
    rows = np.arange(last + 1)
    to = np.clip(rows, low, high)
    up = fraction / np.maximum(fraction[low], 1e-9)
    down = (1.0 - fraction) / np.maximum(1.0 - fraction[high], 1e-9)
    share = np.where(rows[:, None] < low, up, np.where(rows[:, None] > high, down, 1.0))
    own = division.unknown[to]
    ours = np.unique(own[own >= 0])
    few = np.full(division.unknowns + 1, -1)
    few[ours] = np.arange(len(ours))
    every = division.unknown
    there = every >= 0
    number, part = np.full(division.unknowns + 1, -1), np.zeros(division.unknowns + 1)
    number[every[there]] = few[own[there]]
    part[every[there]] = np.where(own[there] < 0, 0.0, share[there])
    free = np.zeros(division.unknowns + 1, bool)
    free[ours] = True
    number[ours], part[ours] = few[ours], 1.0
    return Hand(number, part, free, len(ours))
