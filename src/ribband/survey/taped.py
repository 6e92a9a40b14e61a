"""Which girths a hull that was only taped is faired from, and whether they are enough.

A girth of a *hood end*, stem or stern, runs along the rabbet and not along a frame, so it says
nothing of the girths beside it. It is faired with them only where frames without a girth of their
own lie between it and the nearest one taped.

Not checked: that the girths are right.
"""

from __future__ import annotations

from collections.abc import Sequence

from ribband.errors import InputError, Problem
from ribband.survey.model import Cell, FrameMark, Girth, Survey
from ribband.survey.places import ENDS
from ribband.units import counted

__all__ = ["FEWEST", "by_side", "enough", "to_fair"]

FEWEST = 5  # girths a side: a fair line through fewer has nothing to be judged by
_SAME_MM = 1.0


def by_side(girths: Sequence[Girth]) -> dict[str, list[Girth]]:
    """Sort girths by side and then by position; those of both sides go to each.

    >>> by_side(())
    {'both': []}
    """
    own = sorted({g.side for g in girths} - {"both"}) or ["both"]
    if len(own) == 1:
        return {own[0]: sorted(girths, key=lambda g: g.x_mm)}
    return {
        side: sorted((g for g in girths if g.side in {side, "both"}), key=lambda g: g.x_mm)
        for side in own
    }


def to_fair(girths: Sequence[Girth], frames: Sequence[FrameMark]) -> list[Girth]:
    """Leave out the girth of a hood end, unless frames without one lie next to it."""
    own = [g.x_mm for g in girths if g.frame not in ENDS]
    fore, aft = (min(own), max(own)) if own else (float("inf"), float("-inf"))
    needed = {
        "stem": any(m.x_mm < fore - _SAME_MM for m in frames),
        "stern": any(m.x_mm > aft + _SAME_MM for m in frames),
    }
    return [g for g in girths if needed.get(g.frame, True)]


def enough(survey: Survey) -> Survey:
    """Give back a survey that a hull can be faired from, as far as its girths go.

    Raises
    ------
    InputError : only girths were taken, at too few frames of a side; told at its last row
    """
    wrong = [] if not survey.girths_only else [
        _too_few(side, girths, count)
        for side, girths in by_side(survey.girths).items()
        if (count := len({g.frame for g in to_fair(girths, survey.frames)})) < FEWEST
    ]  # fmt: skip
    if wrong:
        raise InputError(wrong)
    return survey


def _too_few(side: str, girths: Sequence[Girth], count: int) -> Problem:
    last = max((g.cell for g in girths), key=lambda cell: cell.row, default=Cell("girths", 0, ""))
    found = f"girths at {counted(count, 'frame')}" + (f" on {side}" if side != "both" else "")
    wanted = "girths at five frames or more a side (stem and stern are not frames), or points"
    return Problem(last.file, last.row, "girth", found, wanted)
