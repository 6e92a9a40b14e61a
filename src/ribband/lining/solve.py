"""Find the fairest seams for one division: Gauss-Newton, with limits kept at every step.

The fair terms alone make a banded least-squares problem; a few steps settle it. Widths that
would pass a limit are pushed back by the least pushes that keep all limits of that step
(`ribband.numerics.near_squares`). Held things are stiff springs with a force that grows by what
they are off. What cannot be kept stays off, by the least sum of squares, and is reported.

Not checked: that the hull or wishes make sense. Nothing here raises for a hard task.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.lining.blanks import plank_terms
from ribband.lining.cut import Cut, cut_seams
from ribband.lining.division import Division, Ints
from ribband.lining.ground import Ground, Spots
from ribband.lining.hand import Hand, by_the_hand
from ribband.lining.rules import LiningRules
from ribband.lining.start import start_from_shares
from ribband.lining.task import Task
from ribband.lining.terms import (
    evenness,
    fair_seams,
    seam_curvature,
    taper_block,
    wanted_block,
    width_slopes,
    widths_at,
)
from ribband.numerics.near_squares import Block, Kept, after, limited_step, total

__all__ = [
    "DRAGGED", "FINE", "SHORT", "Forces", "Settled", "Stop", "settle", "stop_for_hand",
]  # fmt: skip

LIES_MM = 0.02  # off by less, a seam lies at its limit or where it is held
NO_LIMIT_MM = 1e6
_FAR_MM = 20.0  # a first step as long as this leaves nothing near enough for the second
Masks = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, eq=False)
class Forces:
    """What each limit pushes with: (S, C) for widths, (N,) for held girths and widths.

    In half the sum of squares per mm: what one mm of ease would gain, to first order.
    """

    least: Floats
    greatest: Floats
    girths: Floats
    widths: Floats

    def for_task(self, task: Task) -> Forces:
        """Carry the limits' forces over to a task that holds other points."""
        return Forces(
            self.least, self.greatest, np.zeros(len(task.girths.at)), np.zeros(len(task.widths.at))
        )


@dataclass(frozen=True, slots=True)
class Stop:
    """When a solve is done: what is off a limit, the last move (mm), and the most steps.

    `patience` is how many steps what is off may stay before the limits are taken not to agree.
    `near` lets a step be solved with what the one before it left, where that is near enough: what
    is settled is the same within a hundredth of `moved_mm`, in half the time.
    """

    kept_mm: float
    moved_mm: float
    steps: int
    patience: int
    near: bool = False


FINE = Stop(LIES_MM, 0.2, 25, 6)
SHORT = Stop(0.1, 3.0, 8, 3)
DRAGGED = Stop(0.1, 0.5, 6, 6, near=True)
HURRIED = Stop(0.1, 0.5, 2, 2, near=True)
GLANCED = Stop(0.1, 0.5, 1, 1, near=True)
MANY = 4000  # unknowns: beyond, a hand is not kept waiting for more steps than that
SOME = 2000  # beyond, a hand that still moves is answered after one


def stop_for_hand(unknowns: int, *, rests: bool = True) -> Stop:
    """Give when a move of a hand is answered; what is not settled by then goes on with the next.

    `rests` is False while the hand still moves, and will ask again.

    >>> stop_for_hand(24 * 61).steps, stop_for_hand(59 * 141).steps
    (6, 2)
    >>> stop_for_hand(24 * 61, rests=False).steps, stop_for_hand(59 * 60, rests=False).steps
    (6, 1)
    """
    if not rests and unknowns > SOME:
        return GLANCED
    return DRAGGED if unknowns <= MANY else HURRIED


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
    stop: Stop
    fair: tuple[Block, ...] = ()  # the fair terms as they stand, where a hand goes on from here

    @property
    def broken_off(self) -> bool:
        """True where the steps ran out before it lay still: another move would bring it on."""
        return self.steps >= self.stop.steps


def settle(  # noqa: PLR0917
    ground: Ground,
    division: Division,
    task: Task,
    rules: LiningRules,
    fraction: Floats | None = None,
    forces: Forces | None = None,
    stop: Stop = FINE,
    began: Settled | None = None,
) -> Settled:
    """Settle the seams, from `fraction` and `forces` if given.

    `began` is what was settled at `fraction` for a task unlike this one only in what is held: it
    is taken as it is, and not worked out anew.
    """
    fraction = start_from_shares(ground, division) if fraction is None else fraction.copy()
    forces = forces or _no_forces(division, task, len(ground.frame_girth) + 2)
    mean = float(ground.girth.max()) / division.whole
    stiff = np.sqrt(1e5 * max(rules.weight_evenness, 0.1) / len(ground.u)) / mean
    cut = began.cut if began else cut_seams(ground, division, fraction, rules.sine_floor)
    fair = began.fair if began else ()
    fair = fair or _fair(ground, division, fraction, task, rules, cut)
    kept, last_mm = Kept(), _FAR_MM
    done, over = 0, list[float]()
    while done < stop.steps:
        done += 1
        limits = _limits_now(division, task, cut)
        near = kept if stop.near else None
        hand = by_the_hand(division, fraction, _moved_rows(task, cut)) if stop is GLANCED else None
        step, forces = _stepped(division, task, cut, fair, forces, limits, stiff, near, hand)
        _move(division, fraction, step)
        moved_mm = float(np.abs(step).max(initial=0.0)) * mean * division.whole
        over.append(_over(task, cut, limits))
        cut = cut_seams(ground, division, fraction, rules.sine_floor, cut)
        fair = _fair(ground, division, fraction, task, rules, cut)
        if moved_mm > last_mm:
            kept = Kept()  # what was kept is not near enough any more
        last_mm = moved_mm
        if (moved_mm < stop.moved_mm and over[-1] < stop.kept_mm) or _stuck(over, stop):
            break
    limits = _limits_now(division, task, cut)
    return Settled(
        division, task, fraction, cut, forces, limits[1], limits[0],
        total(fair) / max(division.whole - 1, 1), sweep_rms(division, cut.spots),
        _over(task, cut, limits), done, stop, fair if stop.near else (),
    )  # fmt: skip


def _stepped(  # noqa: PLR0917
    division: Division,
    task: Task,
    cut: Cut,
    fair: Sequence[Block],
    forces: Forces,
    limits: tuple[Floats, Floats],
    stiff: float,
    kept: Kept | None,
    hand: Hand | None = None,
) -> tuple[Floats, Forces]:
    """Give the step of all unknowns that keeps the limits as they are now, and what pushes then.

    With `hand` the seams away from it go along in proportion, and limits are kept beside it only.
    """
    held = _held(division, task, cut, forces, stiff)
    push = np.concatenate([forces.greatest[cut.there], forces.least[cut.there]])
    rows = _limit_rows(division, cut, limits)
    if hand is None:
        step, push = limited_step(
            [*fair, *held], rows, division.unknowns, stiff=stiff, push=push, kept=kept
        )
        return step, _pushed(held, cut, stiff, step, push)
    on = hand.beside(rows)
    own = Block(rows.value[on], rows.index[on], rows.slope[on])
    few = [hand.tied(block) for block in (*fair, *held)]
    part, push[on] = limited_step(few, hand.tied(own), hand.count, stiff=stiff, push=push[on])
    step = hand.every(part)
    return step, _pushed(held, cut, stiff, step, push)


def _moved_rows(task: Task, cut: Cut) -> Ints:
    """Give the seams that are held where they do not lie yet: a hand has moved them."""
    rows: Ints = task.girths.at[np.abs(_girths_off(task, cut)) > LIES_MM]
    return rows


def _stuck(over: Sequence[float], stop: Stop) -> bool:
    """Tell whether what is off the limits has stopped falling: they cannot all be kept."""
    if len(over) <= stop.patience or over[-1] < stop.kept_mm:
        return False
    return min(over[-2:]) > 0.7 * min(over[:-2])


def sweep_rms(division: Division, spots: Spots) -> float:
    """Root mean square of the seams' geodesic curvature, 1/m."""
    value, run = seam_curvature(spots)
    own = division.present()[:-1]
    there = own[:, :-2] & own[:, 1:-1] & own[:, 2:]
    value, run = value[1:-1][there], run[1:-1][there]
    return 1000.0 * float(np.sqrt(np.sum(value**2 * run) / max(np.sum(run), 1e-300)))


def _fair(  # noqa: PLR0917
    ground: Ground,
    division: Division,
    fraction: Floats,
    task: Task,
    rules: LiningRules,
    cut: Cut,
) -> tuple[Block, ...]:
    spots = cut.spots
    blocks = fair_seams(ground, division, spots, rules)
    widths = widths_at(ground, fraction, spots, rules.sine_floor)
    blocks.append(evenness(ground, division, fraction, spots, rules, task, widths))
    blocks += plank_terms(ground, division, spots, rules, task.limits.hollow, widths)
    if len(task.wanted.strake):
        blocks.append(wanted_block(ground, division, cut, task))
    if task.tapers:
        blocks.append(taper_block(ground, division, cut, task))
    return tuple(blocks)


def _limits_now(division: Division, task: Task, cut: Cut) -> tuple[Floats, Floats]:
    """Least and greatest (S, C) in force, with the backing out for the roundness there.

    A strake that nothing can move has none.
    """
    bend = 8.0 * cut.rise / np.maximum(cut.width, 1.0) ** 2
    backed = np.sqrt(8.0 * task.limits.hollow / np.maximum(bend, 1e-12))
    greatest = np.minimum(task.greatest, np.maximum(backed, 1.05 * task.least))
    least = np.where(cut.whole, np.minimum(task.least, greatest), 0.0)
    moves = _moves(division, cut)
    greatest = np.where(moves, greatest, NO_LIMIT_MM)
    return np.where(moves, least, 0.0), np.where(cut.there, greatest, np.inf)


def _moves(division: Division, cut: Cut) -> Masks:
    """Tell (S, C) where an edge of a strake hangs on an unknown."""
    unknown = division.unknown[cut.row[..., None], cut.index]
    edge = np.asarray(np.any(unknown >= 0, axis=-1))
    return np.asarray(edge[1:] | edge[:-1])


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


def _limit_rows(division: Division, cut: Cut, limits: tuple[Floats, Floats]) -> Block:
    """Every limit of every strake at every column: mm over, and how that hangs on the unknowns."""
    strake, column = np.nonzero(cut.there)
    index, slope = width_slopes(division, cut, strake, column)
    width = cut.width[strake, column]
    over, under = width - limits[1][strake, column], limits[0][strake, column] - width
    return Block(
        np.concatenate([over, under]), np.vstack([index, index]), np.vstack([slope, -slope])
    )


def _pushed(held: Sequence[Block], cut: Cut, stiff: float, step: Floats, push: Floats) -> Forces:
    """Give the forces after a step: limits as the step found, held things by their springs."""
    greatest, least = np.zeros(cut.there.shape), np.zeros(cut.there.shape)
    greatest[cut.there], least[cut.there] = np.split(push, 2)
    widths, girths = (stiff * after(block, step) for block in held)
    return Forces(least, greatest, girths, widths)


def _held(division: Division, task: Task, cut: Cut, forces: Forces, stiff: float) -> list[Block]:
    """Blocks of everything held; their forces make good what stiffness leaves."""
    held = task.widths
    index, slope = width_slopes(division, cut, held.at, held.column)
    value = stiff * _widths_off(task, cut) + forces.widths / stiff
    widths = Block(value, index, stiff * slope)
    index, slope = _girth_slopes(division, cut, task.girths.at, task.girths.column)
    value = stiff * _girths_off(task, cut) + forces.girths / stiff
    return [widths, Block(value, index, stiff * slope)]


def _girth_slopes(division: Division, cut: Cut, row: Ints, column: Ints) -> tuple[Ints, Floats]:
    index = division.unknown[cut.row[row, column][:, None], cut.index[row, column]]
    return index, cut.by_fraction[row, column][:, None] * cut.weight[row, column]


def _move(division: Division, fraction: Floats, step: Floats) -> None:
    """Move the seams in place, no gap closed by more than two thirds."""
    free = division.unknown >= 0
    change = np.zeros_like(fraction)
    change[free] = step[division.unknown[free]]
    gap, closing = np.diff(fraction, axis=0), -np.diff(change, axis=0)
    shut = closing > 1e-12
    room = np.where(shut, 0.67 * np.maximum(gap, 1e-4) / np.where(shut, closing, 1.0), 1.0)
    room = room[division.present()]
    part = min(1.0, float(room.min(initial=1.0)))
    fraction += part * change
    np.maximum.accumulate(fraction, axis=0, out=fraction)  # a gap that was shut stays shut
