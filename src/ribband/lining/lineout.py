"""Line out: from a hull, rules and wishes to strakes, seams and widths on every frame.

`line_out` chooses the number of strakes and the stealers (unless wishes say them), settles the
seams, and says why, what binds, and what the next best would be. `hold` makes a lined-out hull
ready for a seam to be dragged: each move is settled from where the seams lie.

Not checked here: the result; `check` does that apart.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ribband.errors import InputError, Problem
from ribband.findings import Finding
from ribband.hull.model import Floats, Hull
from ribband.lining.division import Stealer, strakes_of
from ribband.lining.ground import Ground, ground_of
from ribband.lining.model import KEPT_MM, Lining, Strake, Wish
from ribband.lining.report import alternatives, binds, blanks_m2, findings, reasons
from ribband.lining.rules import LiningRules, limits_of
from ribband.lining.search import (
    Asked,
    Count,
    Found,
    count_of,
    finished,
    resumed,
    search,
    tried,
    unlike,
    with_other_stealers,
)
from ribband.lining.solve import Settled, settle, stop_for_hand
from ribband.lining.start import with_fewer_lines
from ribband.lining.task import columns_of, task_of
from ribband.survey.model import OldWidth

__all__ = ["Drag", "hold", "line_out"]

Progress = Callable[[float, str], None]


def line_out(
    hull: Hull,
    rules: LiningRules | None = None,
    wishes: Sequence[Wish] = (),
    old_widths: Sequence[OldWidth] = (),
    seed: int = 0,
    *,
    progress: Progress | None = None,
) -> Lining:
    """Line out a hull.

    Parameters
    ----------
    hull : fair hull; needs at least 5 lines and 3 frames
    rules, wishes, old_widths : what is wanted; old widths count only with a "recorded" wish
    seed : not used, nothing here is random; kept so that all searches are called alike
    progress : called with a fraction and words

    Returns
    -------
    Lining, with ``feasible=False`` and a finding where a limit or wish could not be kept

    Raises
    ------
    InputError : a wish for a strake or frame that is not there
    """
    del seed
    rules = rules or LiningRules()
    report: Progress = progress or (lambda _fraction, _words: None)
    ground = ground_of(hull)
    count = count_of(hull, rules, wishes)
    limits = limits_of(rules, hull.particulars)
    coarse = ground
    if not any(w.kind == "strakes" for w in wishes):
        fewer = with_fewer_lines(hull)
        coarse = ground if fewer is hull else ground_of(fewer)
    asked = Asked(ground, coarse, rules, limits, tuple(wishes), tuple(old_widths), count.fewest)
    found = _candidates(asked, count, report)
    report(0.9, "fairing the seams")
    shown = sorted((finished(asked, f) for f in unlike(found)), key=lambda f: f.score)
    return lining_of(asked, count, shown[0], [*shown, *found])


@dataclass(frozen=True, slots=True, eq=False)
class Drag:
    """A lined-out hull held ready for a seam to be moved, by `hold`; each move gives another."""

    asked: Asked
    count: Count
    stealers: tuple[Stealer, ...]
    settled: Settled

    def move(self, strake: str, frame: str, girth_mm: float, *, rests: bool = True) -> Drag:
        """Hold the seam above `strake` at `girth_mm` on `frame` and settle the rest.

        A point moved before on the same seam and frame is moved on, not added. `rests` is False
        while the hand still moves: a large lining is then answered after one step.
        """
        moved = Wish("fix", girth_mm, strake, frame, note="moved")
        kept = tuple(
            w for w in self.asked.wishes if (w.kind, w.strake, w.frame) != ("fix", strake, frame)
        )
        asked = replace(self.asked, wishes=(*kept, moved))
        division = self.settled.division
        task = task_of(asked.ground.hull, asked.rules, division, asked.wishes, asked.old)
        forces = self.settled.forces.for_task(task)
        settled = settle(
            asked.ground, division, task, asked.rules, self.settled.fraction, forces,
            stop_for_hand(division.unknowns, rests=rests), self.settled,
        )  # fmt: skip
        return Drag(asked, self.count, self.stealers, settled)

    @property
    def strakes(self) -> tuple[Strake, ...]:
        """The strakes as they stand, keel to sheer."""
        return strakes_of(self.settled.division, self.asked.ground.hull)

    def with_stealers(self, stealers: Sequence[Stealer]) -> Drag:
        """Settle with these stealers instead, which become wishes; whole strakes stay as many."""
        order, hull = tuple(sorted(stealers)), self.asked.ground.hull
        others = (w for w in self.asked.wishes if w.kind != "stealer")
        asked = replace(self.asked, wishes=(*others, *(_wish_of(s, hull) for s in order)))
        found = with_other_stealers(asked, self.settled, order)
        return Drag(asked, self.count, order, found.settled)

    def as_wished(self) -> Drag:
        """Give it with the stealers that are wished, where other ones stand; without any by rule.

        Where none are wished and the rules allow some, those that stand are left.
        """
        wished = tuple(sorted(_wished_stealers(self.asked)))
        if wished == self.stealers or not (wished or self.asked.rules.stealers == 0):
            return self
        return self.with_stealers(wished)

    def lining(self) -> Lining:
        """Give the whole result as it lies now."""
        found = Found(self.stealers, self.settled, 0.0)
        return lining_of(self.asked, self.count, found, [])


def hold(
    lining: Lining,
    hull: Hull,
    rules: LiningRules | None = None,
    wishes: Sequence[Wish] = (),
    old_widths: Sequence[OldWidth] = (),
) -> Drag:
    """Make a lining ready for dragging seams: its strakes and stealers stay as they are."""
    rules = rules or LiningRules()
    ground = ground_of(hull)
    count = count_of(hull, rules, wishes)
    limits = limits_of(rules, hull.particulars)
    asked = Asked(ground, ground, rules, limits, tuple(wishes), tuple(old_widths), count.fewest)
    stealers = _stealers_of(lining, hull)
    whole = len(lining.strakes) - len(stealers)
    best = resumed(asked, whole, stealers, lining.seam_v)
    return Drag(asked, count, stealers, best.settled)


def _candidates(asked: Asked, count: Count, report: Progress) -> list[Found]:
    rules = asked.rules
    given = [round(w.value) for w in asked.wishes if w.kind == "strakes"]
    wished = _wished_stealers(asked)
    if given and wished:
        return [resumed(asked, given[-1] - len(wished), wished)]
    if given:
        return [resumed(asked, given[-1], ())]
    low = int(np.clip(count.fewest, rules.least_strakes, rules.most_strakes))
    counts = range(low, min(low + 3, rules.most_strakes) + 1)
    if wished:
        found = [tried(asked, n - len(wished), wished) for n in counts]
        return sorted(found, key=lambda f: f.score)
    return search(asked, counts, lambda part, words: report(0.85 * part, words))


def _wished_stealers(asked: Asked) -> tuple[Stealer, ...]:
    names = asked.ground.hull.frames.names
    place = {name: i for i, name in enumerate(names)} | {"stem": -1, "stern": len(names)}
    problems, stealers = [], []
    for wish in asked.wishes:
        if wish.kind != "stealer":
            continue
        ends = [wish.frame, wish.to_frame or "stern"]
        missing = [e for e in ends if e not in place]
        if missing or not wish.strake.isdecimal() or int(wish.strake) < 1:
            wanted = "a whole strake's number and frames of this hull"
            problems.append(Problem("lining", 0, "stealer", f"{wish.strake} {ends}", wanted))
            continue
        fore, aft = sorted(place[e] for e in ends)
        stealers.append(Stealer(int(wish.strake) - 1, fore, aft))
    if problems:
        raise InputError(problems)
    return tuple(stealers)


def _wish_of(stealer: Stealer, hull: Hull) -> Wish:
    """Give the wish that asks for a stealer; its squared end is named first."""
    names = hull.frames.names
    fore = names[stealer.fore] if stealer.fore >= 0 else "stem" if hull.has_stem else names[0]
    tail = "stern" if hull.has_stern else names[-1]
    aft = names[stealer.aft] if stealer.aft < len(names) else tail
    ends = (fore, aft) if stealer.fore >= 0 else (aft, fore)
    return Wish("stealer", 0.0, str(stealer.above + 1), *ends)


def _stealers_of(lining: Lining, hull: Hull) -> tuple[Stealer, ...]:
    names = list(hull.frames.names)
    found = []
    for strake in lining.strakes:
        if not strake.stealer:
            continue
        fore = names.index(strake.first) if strake.first in names else -1
        aft = names.index(strake.last) if strake.last in names else len(names)
        if not hull.has_stem and fore == 0 and strake.nib != strake.first:
            fore = -1
        if not hull.has_stern and aft == len(names) - 1 and strake.nib != strake.last:
            aft = len(names)
        found.append(Stealer(int(strake.name[:-1]) - 1, fore, aft))
    return tuple(found)


def lining_of(
    asked: Asked,
    count: Count,
    best: Found,
    found: list[Found],
    told: Callable[[Asked, Found], tuple[Finding, ...]] = findings,
) -> Lining:
    """Put the result together; `told` says what is in doubt."""
    settled, ground = best.settled, asked.ground
    cut, division = settled.cut, settled.division
    there = cut.there
    space = ground.hull.in_space
    lower = np.where(there, cut.girth[:-1], np.nan)
    present = division.present()
    return Lining(
        columns=columns_of(ground.hull),
        strakes=strakes_of(division, ground.hull),
        lower_girth_mm=lower,
        upper_girth_mm=np.where(there, cut.girth[1:], np.nan),
        width_mm=np.where(there, cut.width, np.nan),
        lower_xyz=np.where(there[..., None], cut.point[:-1], np.nan) if space else None,
        upper_xyz=np.where(there[..., None], cut.point[1:], np.nan) if space else None,
        along_mm=_along(ground, settled),
        seam_u=ground.u,
        seam_v=settled.fraction,
        present=present.astype(float),
        feasible=settled.over_mm <= KEPT_MM,
        cost=settled.cost,
        sweep_rms_per_m=settled.sweep_rms_per_m,
        reasons=reasons(asked, count, best, found),
        binds=binds(asked, best),
        alternatives=alternatives(asked, best, found),
        findings=told(asked, best),
        whole=cut.whole,
        blank_m2=blanks_m2(asked, settled),
    )


def _along(ground: Ground, settled: Settled) -> Floats:
    """Distance (S, C) along each strake's middle from its fore end; chords rounded to arcs.

    A frame that cuts only a corner off a strake, beside a raking stem, has no middle of it: it
    stands where its plane cuts the way between the columns beside it.
    """
    cut = settled.cut
    middle = (cut.point[1:] + cut.point[:-1]) / 2
    t = (cut.girth[1:, 1:-1] + cut.girth[:-1, 1:-1]) / 2 / ground.frame_girth
    frame = np.broadcast_to(np.arange(t.shape[1]), t.shape)
    middle[:, 1:-1] = ground.on_frames(t, frame)[0]
    way = cut.tangent[1:] + cut.tangent[:-1]
    way /= np.linalg.norm(way, axis=-1, keepdims=True) + 1e-300
    along = np.full(cut.there.shape, np.nan)
    for k, there in enumerate(cut.there):
        every = np.flatnonzero(there)
        at = every[_crossed(cut.whole[k, every])]
        chord = np.linalg.norm(np.diff(middle[k, at], axis=0), axis=1)
        bend = np.arccos(np.clip(np.sum(way[k, at[1:]] * way[k, at[:-1]], axis=1), -1.0, 1.0))
        arc = chord * (1.0 + bend**2 / 24.0)
        known = np.concatenate([[0.0], np.cumsum(arc)])
        x = np.maximum.accumulate(middle[k, at, 0])
        along[k, every] = np.interp(middle[k, every, 0], x, known)
        along[k, at] = known
    return along


def _crossed(whole: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Mark the columns (c,) of a strake that its middle goes through; both its ends do."""
    through = whole.copy()
    through[[0, -1]] = True
    return through
