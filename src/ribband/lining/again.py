"""Dividing again what is left: some seams lie still where planks hang, the others run fair by them.

A seam that lies still is no unknown: its girth fraction is given on every line of the stretch that
hangs. What is known of it are its girths at columns; the lines are moved until the seam cuts the
frames there. Free seams between are first spread evenly over what room is left to them.

Not checked: that the seams given are fair, or leave any room.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats, Hull
from ribband.lining.cut import Cut, cut_seams
from ribband.lining.division import Division
from ribband.lining.ground import Ground
from ribband.lining.lineout import hold, lining_of
from ribband.lining.model import Lining, Wish
from ribband.lining.report import doubts
from ribband.lining.rules import LiningRules
from ribband.lining.search import Found
from ribband.lining.solve import FINE, settle
from ribband.lining.task import task_of

__all__ = ["divide_again"]

Masks = NDArray[np.bool_]
LEAST_BY = 1.0  # mm a seam must move for its fraction, for a column to say where it lies
ROUNDS = 4  # of moving the lines until the seam cuts the frames where it should


def divide_again(
    planned: Lining,
    hull: Hull,
    rules: LiningRules,
    wishes: Sequence[Wish],
    girths: Floats,
) -> Lining:
    """Divide again with some seams held where they hang.

    Parameters
    ----------
    planned : the lining out as planned; its strakes and stealers stay
    wishes : for what is free, and to free what hangs from the limits of width
    girths : (S + 1, C) girth along the frame of each seam where it hangs, NaN where it is free;
        one stretch a seam is taken as hanging from its first column to its last
    """
    drag = hold(planned, hull, rules)
    ground, division = drag.asked.ground, drag.settled.division
    fraction, still = _laid_still(ground, division, planned.seam_v, rules, girths)
    division = _without(division, still)
    task = task_of(hull, rules, division, tuple(wishes), ())
    settled = settle(ground, division, task, rules, fraction, stop=FINE)
    asked = replace(drag.asked, wishes=tuple(wishes))
    return lining_of(asked, drag.count, Found(drag.stealers, settled, 0.0), [], doubts)


def _laid_still(
    ground: Ground, division: Division, planned: Floats, rules: LiningRules, girths: Floats
) -> tuple[Floats, Masks]:
    """Give the fractions (R, L) with the hung seams where they hang, and where that is."""
    fraction = planned.copy()
    still = np.zeros(fraction.shape, dtype=bool)
    for turn in range(ROUNDS):
        cut = cut_seams(ground, division, fraction, rules.sine_floor)
        for row in (1 + np.flatnonzero(np.isfinite(girths[1:-1]).any(axis=1))).tolist():
            known = np.isfinite(girths[row]) & np.isfinite(cut.girth[row])
            at = np.flatnonzero(known & (np.abs(cut.by_fraction[row]) > LEAST_BY))
            u = _crossing_u(ground, cut, row)[at]
            off = (girths[row] - cut.girth[row])[at] / cut.by_fraction[row, at]
            hung = _within(ground.u, u)
            fraction[row] += np.where(hung, np.interp(ground.u, u, off), 0.0)
            still[row] |= hung
        _joined(division, fraction, still)
        if turn == 0:
            fraction = _spread(planned, fraction, still)
    return fraction, still


def _joined(division: Division, fraction: Floats, still: Masks) -> None:
    """Let the upper seam of a stealer that does not stand lie, and lie still, on the one below."""
    present = division.present()
    for row in np.flatnonzero(~present[:-1].all(axis=1)).tolist():
        gone = ~present[row]
        fraction[row + 1, gone] = fraction[row, gone]
        still[row + 1, gone] = still[row, gone]


def _crossing_u(ground: Ground, cut: Cut, row: int) -> Floats:
    """Where the seam of a row crosses the columns (C,) in u."""
    u: Floats = np.sum(cut.weight[row] * ground.u[cut.index[row]], axis=-1)
    u[[0, -1]] = ground.u[[0, -1]]
    return u


def _within(lines: Floats, u: Floats) -> Masks:
    """Mark the lines of a stretch, with the next one on either side to carry its ends."""
    first = np.searchsorted(lines, u.min(), "right") - 1
    last = np.searchsorted(lines, u.max(), "left")
    number = np.arange(len(lines))
    return np.asarray((number >= first) & (number <= last))


def _spread(planned: Floats, moved: Floats, still: Masks) -> Floats:
    """Let the free seams keep their part of the room between those that lie still."""
    held = still.copy()
    held[[0, -1]] = True
    spread = moved.copy()
    for line in range(moved.shape[1]):
        at = held[:, line]
        before, after = planned[at, line], np.maximum.accumulate(moved[at, line])
        spread[:, line] = np.interp(planned[:, line], before, after)
    return spread


def _without(division: Division, still: Masks) -> Division:
    """Take the still seams out of the unknowns and number the rest anew."""
    kept = np.unique(division.unknown[(division.unknown >= 0) & ~still])
    number = np.full(division.unknowns + 1, -1)
    number[kept] = np.arange(len(kept))
    unknown = np.where(still, -1, number[division.unknown])
    return replace(division, unknown=unknown, unknowns=len(kept))
