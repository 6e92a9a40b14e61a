"""Girths held against the old planking: at a frame its strakes' widths add up to the girth.

Two tapes of the same thing: a girth typed a foot out, or a column of girths slipped by a row, may
lie fair and still not be what the old strakes add up to. Only frames at which every old strake of
a side has a width are looked at, and frames count as far apart as `allowed` says: a strake's seam
and what a tape reads, and a quarter turn of the planking where the frames were measured.

Not checked: which of the two is wrong; that is the shipwright's to measure again.
"""

from __future__ import annotations

from collections import defaultdict

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.model import Hull
from ribband.survey.model import Survey
from ribband.units import format_length

__all__ = ["allowed", "held_against_old_planking"]

STRAKE_MM = 5.0  # common practice, no source: a caulking seam and a tape's reading, a strake
SHOWN = 4


def held_against_old_planking(hull: Hull, survey: Survey) -> tuple[Finding, ...]:
    """Say at which frames the old strakes' widths do not add up to the girth (H022)."""
    unit = hull.particulars.unit
    girths = dict(zip(hull.lines.names, hull.lines.girth_mm, strict=True))
    girths |= dict(zip(hull.frames.names, hull.frames.girth_mm, strict=True))
    found = []
    for side, sums in _sums(survey).items():
        off = {
            frame: total - float(girths[frame])
            for frame, (total, strakes) in sums.items()
            if frame in girths and abs(total - girths[frame]) > allowed(survey, strakes)
        }
        if not off:
            continue
        worst = sorted(off, key=lambda frame: -abs(off[frame]))
        told = [
            f"{frame if frame in {'stem', 'stern'} else f'frame {frame}'}, "
            f"{format_length(sums[frame][0], unit)} of a girth of "
            f"{format_length(float(girths[frame]), unit)}"
            for frame in worst[:SHOWN]
        ]
        more = f"; and {len(worst) - SHOWN} more" if len(worst) > SHOWN else ""
        says = f"the old strakes' widths do not add up to the girth: {'; '.join(told)}{more}"
        why = "measure again there: a girth or a width is out, or typed at another frame"
        found.append(Finding("H022", Severity.CAUTION, "hull", _where(side), says, why))
    return tuple(found)


def allowed(survey: Survey, strakes: int) -> float:
    """Give how far, mm, the widths of so many strakes may add up to another girth."""
    particulars = survey.particulars
    turned = particulars.quarter_turn_mm if particulars.measured_to == "frame" else 0.0
    return STRAKE_MM * strakes + turned


def _sums(survey: Survey) -> dict[str, dict[str, tuple[float, int]]]:
    """Give by side, at every frame where all old strakes have a width, their sum and number."""
    widths: dict[str, dict[str, dict[str, float]]] = defaultdict(lambda: defaultdict(dict))
    for old in survey.old_widths:
        widths[old.side][old.frame][old.strake] = old.width_mm
    found = {}
    for side, by_frame in widths.items():
        every = {strake for own in by_frame.values() for strake in own}
        whole = {frame: own for frame, own in by_frame.items() if own.keys() == every}
        found[side] = {
            frame: (float(np.sum(list(own.values()))), len(own)) for frame, own in whole.items()
        }
    return found


def _where(side: str) -> str:
    return "old planking" if side == "both" else f"old planking, {side}"
