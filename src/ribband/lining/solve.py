"""Find the fairest seams for one division: Gauss-Newton, with limits made exact.

The fair terms alone make a banded least-squares problem; a few steps settle it. Limits and held
things are put in as an augmented Lagrangian: each has a force that grows by its stiffness times
what it is off, until it is kept to 0.02 mm. What cannot be kept stays off and is reported.

Not checked: that the hull or wishes make sense. Nothing here raises for a hard task.
"""

from __future__ import annotations


from dataclasses import dataclass

import numpy as np

from ribband.hull.model import Floats
from ribband.lining.cut import Cut, cut_seams
from ribband.lining.division import Division, Ints
from ribband.lining.ground import Ground
from ribband.lining.rules import LiningRules
from ribband.lining.task import Task
from ribband.lining.terms import (
    evenness,
    fair_seams,
    seam_curvature,
    taper_block,
    wanted_block,
    width_slopes,
)
from ribband.numerics.near_squares import Block, banded_step, total

__all__ = ["Forces", "Settled", "settle", "start_from_shares"]

KEPT_MM = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class Forces:
    """What each limit pushes with: (S, C) for widths, (N,) for held girths and widths."""

    least: Floats
    greatest: Floats
    girths: Floats
    widths: Floats

    def for_task(self, task: Task) -> Forces:
        """Carry the limits' forces over to a task that holds other points."""
        return Forces(
            self.least, self.greatest, np.zeros(len(task.girths.at)), np.zeros(len(task.widths.at))
        )


@dataclass(frozen=True, slots=True, eq=False)
class Settled:
    """Where the seams came to lie.

    fraction : (R, L); cost : a strake's mean share of the fair terms; over_mm : the most any
    limit or held thing is off; greatest : (S, C) limits with the backing out in them
    """

    division: Division
    task: Task
    fraction: Floats
    cut: Cut
    forces: Forces
    greatest: Floats
    least: Floats
    cost: float
    sweep_rms_per_m: float
    over_mm: float
    steps: int
    stiff: float


def start_from_shares(ground: Ground, division: Division) -> Floats:
    """Divide every line by the shares wanted: (R, L) girth fractions."""
    share = np.where(division.present(), division.share, 0.0)
    upper = np.cumsum(share, axis=0) / share.sum(axis=0)
    return np.vstack([np.zeros((1, len(ground.u))), upper])


def settle(
    ground: Ground,
    division: Division,
    task: Task,
    rules: LiningRules,
    fraction: Floats | None = None,
    forces: Forces | None = None,
    steps: int = 16,
    kept_mm: float = KEPT_MM,
) -> Settled:
    """Settle the seams, from `fraction` and `forces` if given."""
    fraction = start_from_shares(ground, division) if fraction is None else fraction.copy()
    forces = forces or _no_forces(division, task, len(ground.frame_girth) + 2)
    mean = float(ground.girth.max()) / division.whole
    stiff = np.sqrt(100.0 * max(rules.weight_evenness, 0.1) / len(ground.u)) / mean
    limited = bool(forces.least.any() or forces.greatest.any())
    done = 0
    for done in range(1, steps + 1):
        cut = cut_seams(ground, division, fraction, rules.sine_floor)
        limits = _limits_now(task, cut)
        if limited:
            forces = _pushed(forces, task, cut, limits, stiff)
        blocks = _fair(ground, division, fraction, task, rules, cut)
        blocks += _holding(division, task, cut, limits, forces, stiff)
        moved = _move(division, fraction, banded_step(blocks, division.unknowns))
        moved_mm = moved * mean * division.whole
        limited = limited or moved_mm < 0.05 * mean
        if moved_mm < kept_mm and _over(task, cut, limits) < kept_mm:
            break
    cut = cut_seams(ground, division, fraction, rules.sine_floor)
    limits = _limits_now(task, cut)
    fair = _fair(ground, division, fraction, task, rules, cut)
    return Settled(
        division, task, fraction, cut, forces, limits[1], limits[0],
        total(fair) / max(division.whole - 1, 1), sweep_rms(ground, division, fraction),
        _over(task, cut, limits), done, stiff,
    )  # fmt: skip


def sweep_rms(ground: Ground, division: Division, fraction: Floats) -> float:
    """Root mean square of the seams' geodesic curvature, 1/m."""
    value, run = seam_curvature(ground.on_lines(fraction))
    own = division.present()[:-1]
    there = own[:, :-2] & own[:, 1:-1] & own[:, 2:]
    value, run = value[1:-1][there], run[1:-1][there]
    return 1000.0 * float(np.sqrt(np.sum(value**2 * run) / max(np.sum(run), 1e-300)))


def _fair(
    ground: Ground,
    division: Division,
    fraction: Floats,
    task: Task,
    rules: LiningRules,
    cut: Cut,
) -> list[Block]:
    spots = cut.spots
    blocks = fair_seams(ground, division, spots, rules)
    blocks.append(evenness(ground, division, fraction, spots, rules, task))
    if len(task.wanted.strake):
        blocks.append(wanted_block(ground, division, cut, task))
    if task.tapers:
        blocks.append(taper_block(ground, division, cut, task))
    return blocks


def _limits_now(task: Task, cut: Cut) -> tuple[Floats, Floats]:
    """Least and greatest (S, C) in force, with the backing out for the roundness there."""
    arc = np.maximum(np.diff(cut.girth, axis=0), 1.0)
    bend = np.abs(np.diff(cut.turn, axis=0)) / arc
    backed = np.sqrt(8.0 * task.limits.hollow / np.maximum(bend, 1e-12))
    greatest = np.minimum(task.greatest, np.maximum(backed, 1.05 * task.least))
    least = np.where(cut.whole, np.minimum(task.least, greatest), 0.0)
    return least, np.where(cut.there, greatest, np.inf)


def _over(task: Task, cut: Cut, limits: tuple[Floats, Floats]) -> float:
    least, greatest = limits
    off = [np.max(np.where(cut.there, np.maximum(least - cut.width, cut.width - greatest), 0.0))]
    off.append(np.abs(_girths_off(task, cut)).max(initial=0.0))
    off.append(np.abs(_widths_off(task, cut)).max(initial=0.0))
    return float(max(*off, 0.0))


def _girths_off(task: Task, cut: Cut) -> Floats:
    off: Floats = cut.girth[task.girths.at, task.girths.column] - task.girths.value
    return off


def _widths_off(task: Task, cut: Cut) -> Floats:
    off: Floats = cut.width[task.widths.at, task.widths.column] - task.widths.value
    return off


def _no_forces(division: Division, task: Task, columns: int) -> Forces:
    none = np.zeros((division.strakes, columns))
    return Forces(none, none, np.zeros(len(task.girths.at)), np.zeros(len(task.widths.at)))


def _pushed(
    forces: Forces, task: Task, cut: Cut, limits: tuple[Floats, Floats], stiff: float
) -> Forces:
    """Forces grown by what is off; a limit pushes one way only. Unit: residual."""
    under = np.where(cut.there, stiff * (limits[0] - cut.width), 0.0)
    above = np.where(cut.there, stiff * (cut.width - np.minimum(limits[1], 1e9)), 0.0)
    return Forces(
        np.maximum(forces.least + under, 0.0),
        np.maximum(forces.greatest + above, 0.0),
        forces.girths + stiff * _girths_off(task, cut),
        forces.widths + stiff * _widths_off(task, cut),
    )


def _holding(
    division: Division,
    task: Task,
    cut: Cut,
    limits: tuple[Floats, Floats],
    forces: Forces,
    stiff: float,
) -> list[Block]:
    """Blocks of the limits that push and of everything held."""
    blocks = []
    for sign, limit, force in ((1.0, limits[1], forces.greatest), (-1.0, limits[0], forces.least)):
        off = np.where(cut.there, sign * stiff * (cut.width - np.minimum(limit, 1e9)), -1.0)
        push = off + force
        strake, column = np.nonzero(cut.there & (push > 0))
        index, slope = width_slopes(division, cut, strake, column)
        blocks.append(Block(push[strake, column], index, sign * stiff * slope))
    held = task.widths
    if len(held.at):
        index, slope = width_slopes(division, cut, held.at, held.column)
        blocks.append(Block(stiff * _widths_off(task, cut) + forces.widths, index, stiff * slope))
    if len(task.girths.at):
        index, slope = _girth_slopes(division, cut, task.girths.at, task.girths.column)
        blocks.append(Block(stiff * _girths_off(task, cut) + forces.girths, index, stiff * slope))
    return blocks


def _girth_slopes(division: Division, cut: Cut, row: Ints, column: Ints) -> tuple[Ints, Floats]:
    index = division.unknown[cut.row[row, column][:, None], cut.index[row, column]]
    return index, cut.by_fraction[row, column][:, None] * cut.weight[row, column]


def _move(division: Division, fraction: Floats, step: Floats) -> float:
    """Move the seams in place, no gap closed by more than two thirds; give the greatest move."""
    free = division.unknown >= 0
    change = np.zeros_like(fraction)
    change[free] = step[division.unknown[free]]
    gap, closing = np.diff(fraction, axis=0), -np.diff(change, axis=0)
    shut = closing > 1e-12
    room = np.where(shut, 0.67 * np.maximum(gap, 1e-4) / np.where(shut, closing, 1.0), 1.0)
    room = room[division.present()]
    part = min(1.0, float(room.min(initial=1.0)))
    fraction += part * change
    return float(np.abs(part * change).max(initial=0.0))
