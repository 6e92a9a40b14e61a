"""Checking a re-lining apart from how it was made: with girths and widths alone.

Codes: R020 a hung seam is not where it hangs; R021 a cut plank's width is not kept; R022 strakes
do not add up to the girth; R023 what is left is wider or narrower than its limit; R024 a cut plank
and its opening; R025 planks that change.

Not checked: fairness, which `ribband.lining` reports with the lining itself.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.model import Hull
from ribband.lining.rules import LiningRules, limits_of
from ribband.record.model import Opening, Relined
from ribband.record.relining.solve import Planned
from ribband.record.rules import RecordRules
from ribband.units import counted, format_length, format_off

__all__ = ["check_relined"]

HELD_MM = 1.0  # a seam held between frames lies on the frame to within this
LIMIT_MM = 0.4  # a sixty-fourth of an inch: no saw is finer
SUM_MM = 0.01
HOODS = {"stem", "stern"}


def check_relined(planned: Planned, relined: Relined, rules: RecordRules) -> tuple[Finding, ...]:
    """Check a re-lining and say what it means for planks already cut."""
    unit = planned.hull.particulars.unit
    return (
        *_seams(relined, unit),
        *_cut(planned, relined, unit),
        *_sums(planned.hull, relined, unit),
        *_limits(planned.lining_rules, planned.hull, relined, unit),
        *_fits(relined, rules, unit),
        *_changes(relined, unit),
    )


def _seams(relined: Relined, unit: str) -> Iterator[Finding]:
    """Compare with the measurements themselves, not with what was inferred between them."""
    anew = relined.lining
    measured: dict[tuple[int, str], list[float]] = {}
    for drift in relined.drifts:
        if np.isfinite(relined.seam_held[drift.seam, anew.columns.index(drift.frame)]):
            measured.setdefault((drift.seam, drift.frame), []).append(drift.measured_mm)
    for (seam, frame), girths in measured.items():
        column = anew.columns.index(frame)
        lies = anew.lower_girth_mm[seam, column]
        if not np.isfinite(lies):
            lies = anew.upper_girth_mm[seam - 1, column]
        off = abs(float(lies) - float(np.mean(girths)))
        if off > HELD_MM:
            where = f"{relined.side}, seam above strake {anew.strakes[seam - 1].name}"
            says = f"lies {format_length(off, unit)} from where it hangs at frame {frame}"
            yield Finding("R020", Severity.FAULT, "record", where, says)


def _cut(planned: Planned, relined: Relined, unit: str) -> Iterator[Finding]:
    opened = {opening.strake for opening in relined.openings}
    off = np.abs(relined.lining.width_mm - planned.lining.width_mm)
    off = np.where(relined.standing.cut, np.nan_to_num(off), 0.0)
    for row, strake in enumerate(planned.lining.strakes):
        worst = int(off[row].argmax())
        if off[row, worst] > LIMIT_MM and strake.name not in opened:
            where = f"{relined.side}, strake {strake.name}, {relined.lining.columns[worst]}"
            says = f"cut already, and {format_length(float(off[row, worst]), unit)} off its width"
            yield Finding("R021", Severity.FAULT, "record", where, says)


def _sums(hull: Hull, relined: Relined, unit: str) -> Iterator[Finding]:
    """Add the strakes up at every column; at stem and stern to the edges of the planking itself."""
    lower, upper = relined.lining.lower_girth_mm, relined.lining.upper_girth_mm
    whole = upper[-1] - lower[0]
    whole[1:-1] = hull.frames.girth_mm
    off = np.abs(np.nansum(upper - lower, axis=0) - np.nan_to_num(whole))
    for column in np.flatnonzero(off > SUM_MM).tolist():
        name = relined.lining.columns[column]
        where = f"{relined.side}, {name if name in HOODS else f'frame {name}'}"
        says = f"strakes add up to {format_length(float(off[column]), unit)} off the girth"
        yield Finding("R022", Severity.FAULT, "record", where, says)


def _limits(rules: LiningRules, hull: Hull, relined: Relined, unit: str) -> Iterator[Finding]:
    """Tell of each free strake once, where it is furthest past the plain limits amidships."""
    limits = limits_of(rules, hull.particulars)
    done = relined.standing.held | relined.standing.cut
    width = np.where(done, np.nan, relined.lining.full_width_mm)
    broad = (rules.garboard, rules.first_broad, rules.second_broad)
    for row, strake in enumerate(relined.lining.strakes):
        wider = max(broad[row], 1.0) if row < len(broad) else 1.0
        most = limits.greatest * wider + (limits.nib if row and strake.stealer else 0.0)
        if not np.isfinite(width[row]).any():
            continue
        widest = float(np.nanmax(width[row]))
        if widest > most + LIMIT_MM:
            column = relined.lining.columns[int(np.nanargmax(width[row]))]
            where = f"{relined.side}, strake {strake.name}, {column}"
            says = (
                f"{format_length(widest, unit)} wide in what is left; "
                f"{format_length(most, unit)} is the most. Another strake may be wanted there"
            )
            yield Finding("R023", Severity.CAUTION, "record", where, says)


def _fits(relined: Relined, rules: RecordRules, unit: str) -> Iterator[Finding]:
    """Set each cut plank against the opening left for it between hung neighbours."""
    rows = {strake.name: row for row, strake in enumerate(relined.lining.strakes)}
    columns = {name: column for column, name in enumerate(relined.lining.columns)}
    by_strake: dict[str, list[Opening]] = {}
    for opening in relined.openings:
        if relined.standing.cut[rows[opening.strake], columns[opening.frame]]:
            by_strake.setdefault(opening.strake, []).append(opening)
    for strake, openings in by_strake.items():
        yield from _fit(relined.side, strake, openings, rules, unit)


def _fit(
    side: str, strake: str, openings: list[Opening], rules: RecordRules, unit: str
) -> Iterator[Finding]:
    tight = max(openings, key=lambda o: o.planned_mm - o.left_mm)
    slack = max(openings, key=lambda o: o.left_mm - o.planned_mm)
    over, short = tight.planned_mm - tight.left_mm, slack.left_mm - slack.planned_mm
    where = f"{side}, strake {strake}"
    inferred = "" if all(o.measured for o in openings) else "; measure the opening before planing"
    if over > LIMIT_MM:
        severity = Severity.FAULT if over > rules.plane_off_mm else Severity.CAUTION
        todo = "get it out anew" if over > rules.plane_off_mm else "plane it to fit"
        says = f"cut {format_length(over, unit)} too wide at frame {tight.frame}: {todo}{inferred}"
        yield Finding("R024", severity, "record", where, says)
    if short > rules.drift_mm:
        says = (
            f"cut {format_length(short, unit)} too narrow at frame {slack.frame}: "
            f"the seam would gape; get it out anew{inferred}"
        )
        yield Finding("R024", Severity.FAULT, "record", where, says)


def _changes(relined: Relined, unit: str) -> Iterator[Finding]:
    if relined.changed:
        one, many = "plank changes and is", "planks change and are"
        shapes = "its new shape" if len(relined.changed) == 1 else "their new shapes"
        says = f"{counted(len(relined.changed), one, many)} to be got out by {shapes}"
        most = max(relined.moved, key=lambda one: abs(one.mm), default=None)
        if most is not None:
            far = format_off(most.mm, unit)
            says += f": {most.plank} most, its {most.edge} edge {far} at frame {most.frame}"
        why = "the others are as they were within relining.as_it_was: their patterns hold"
        yield Finding("R025", Severity.NOTE, "record", relined.side, says, why)
