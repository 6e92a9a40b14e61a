"""How evenly frames stand, and which one looks typed into the wrong place.

A frame is *out of step* when the two bays beside it differ, but together make two of the bays next
to them, which are alike: then it alone is off, and where it would be even is known. A yard with
two spacings, doubled frames or cant frames has other bays next to them, so nothing is said there;
nor is it of a pattern that comes back again and again.

Not found: the first and the last frame, two slips side by side, and a slip that all that follow
share. The factors are our own.
"""

from __future__ import annotations

import statistics
from collections import defaultdict
from collections.abc import Iterator, Sequence
from itertools import pairwise

from ribband.findings import Finding, Severity
from ribband.survey.model import FrameMark, Survey
from ribband.units import format_length

__all__ = ["out_of_step", "spacing"]

_UNEVEN = 1.3  # a bay over or under the usual by this factor is reported
_ALIKE = 0.05  # bays that differ by no more of their width are alike
_OFF = 0.15  # a frame off by more of a bay than this is named
_NEXT = 2  # bays looked at each side of the two that differ
_FEWEST = 3  # of them, that there is something to be even with
_MOST = 3  # frames out of step; more of them are how she was built


def spacing(survey: Survey) -> Iterator[Finding]:
    """Name frames out of step, and note the other bays that differ from the usual."""
    off = out_of_step([frame.x_mm for frame in survey.frames])
    for at, even_mm in off.items():
        yield _slipped(survey, at, even_mm)
    yield from _uneven(survey, {bay for at in off for bay in (at - 1, at)})


def out_of_step(x_mm: Sequence[float]) -> dict[int, float]:
    """Give the places of frames that alone break an even spacing, and where each would be even.

    >>> out_of_step([0, 500, 1000, 1300, 2000, 2500, 3000])
    {3: 1500.0}
    >>> out_of_step([0, 300, 1000, 1300, 2000, 2300, 3000])  # in pairs
    {}
    """
    bays = [after - ahead for ahead, after in pairwise(x_mm)]
    found = {}
    for at in range(1, len(bays)):
        even = (bays[at - 1] + bays[at]) / 2
        beside = [*bays[max(at - 1 - _NEXT, 0) : at - 1], *bays[at + 1 : at + 1 + _NEXT]]
        alike = all(abs(bay - even) <= _ALIKE * even for bay in beside)
        off = abs(bays[at] - bays[at - 1]) / 2
        if len(beside) >= _FEWEST and alike and off > _OFF * even:
            found[at] = (x_mm[at - 1] + x_mm[at + 1]) / 2
    return found if len(found) <= _MOST else {}


def _slipped(survey: Survey, at: int, even_mm: float) -> Finding:
    ahead, frame, after = survey.frames[at - 1 : at + 2]
    unit = survey.particulars.unit
    fore, aft, bay, even = (
        format_length(mm, unit)
        for mm in (
            frame.x_mm - ahead.x_mm,
            after.x_mm - frame.x_mm,
            (after.x_mm - ahead.x_mm) / 2,
            even_mm,
        )
    )
    says = (
        f"{fore} aft of frame {ahead.name} and {aft} forward of frame {after.name}, where the "
        f"frames about it stand {bay} apart; at {format_length(frame.x_mm, unit)}"
        f"{_cell(frame)}: perhaps {even}"
    )
    why = "every width, butt and fastening of the frame goes where it is said to stand"
    return Finding("S021", Severity.CAUTION, "survey", f"frame {frame.name}", says, why)


def _cell(frame: FrameMark) -> str:
    return f" ({frame.cell.file} row {frame.cell.row})" if frame.cell else ""


def _uneven(survey: Survey, told: set[int]) -> Iterator[Finding]:
    """Report bays that differ from the usual, gathered by how wide they are."""
    pairs = list(pairwise(survey.frames))
    if len(pairs) < 3:
        return
    usual = statistics.median(b.x_mm - a.x_mm for a, b in pairs)
    unit = survey.particulars.unit
    bays: dict[str, list[str]] = defaultdict(list)
    for place, (ahead, frame) in enumerate(pairs):
        bay = frame.x_mm - ahead.x_mm
        if place not in told and not usual / _UNEVEN <= bay <= usual * _UNEVEN:
            bays[format_length(bay, unit)].append(f"{ahead.name} to {frame.name}")
    for bay_says, names in bays.items():
        says = f"{bay_says} apart; the usual is {format_length(usual, unit)}"
        where = "frames " + ", ".join(names)
        yield Finding("S005", Severity.NOTE, "survey", where, says)
