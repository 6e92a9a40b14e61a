"""The hull as she is recorded: old seams through the old widths, old butts where they stood.

At a frame where old strakes were measured, their widths are set off along the frame (square widths
brought to girths by the lean of the seams), and where all were measured what they miss of the
girth is shared among them. Between recorded frames seams run with the fair ones.

Codes: R030 no old widths, so the lining of this job stands in; R031 old widths that miss the
girth; R032 no old butts, so this job's stand in; R033 an old butt that cannot be placed; R034 no
frame measured whole, so this job's number of strakes stands in.

Not checked: whether the old widths were measured square across.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ribband import lining as lining_stage
from ribband.butts.model import Butt, Ways
from ribband.findings import Finding, Severity
from ribband.hull.model import Floats, Hull
from ribband.lining.again import divide_again
from ribband.lining.model import Lining, Wish
from ribband.lining.rules import LiningRules
from ribband.survey.model import OldButt, OldWidth
from ribband.units import format_length

__all__ = ["OldSeams", "old_butts_of", "record_seams"]

TELL_MM = 12.7  # old widths that miss the girth by more are told
WHOLE = 0.8  # widths square across that come to more of a girth, which leans, fill it
WIDER = 1.6  # the widest old strake may be this much of the widest recorded


@dataclass(frozen=True, slots=True, eq=False)
class OldSeams:
    """The old lining; `off_mm` is by how much strakes lie off their recorded widths, at most."""

    lining: Lining
    off_mm: float
    findings: tuple[Finding, ...]


def record_seams(
    hull: Hull, lining: Lining, old: Sequence[OldWidth], rules: LiningRules
) -> OldSeams:
    """Give the hull's old seams; those of `lining` where no old width was recorded.

    Raises
    ------
    InputError : an old strake that cannot be
    """
    widths = [w for w in old if w.strake.isdecimal()]
    if not widths:
        says = "no old widths are recorded; the lining of this job stands in for the old seams"
        return OldSeams(lining, 0.0, (_caution("R030", "old_strakes", says),))
    count, counted = _count(hull, lining, widths)
    wide = WIDER * max(w.width_mm for w in widths)
    eased = replace(rules, greatest_width_mm=wide, greatest_hood_mm=wide)
    wishes = (Wish("strakes", count), Wish("recorded", 1.0))
    near = lining_stage.line_out(hull, eased, wishes, widths)
    girths, told = _set_off(hull, near, widths)
    free = tuple(
        wish
        for strake in near.strakes
        for wish in (
            Wish("least", 0.0, strake.name), Wish("greatest", wide, strake.name)
        )
    )  # fmt: skip
    made = divide_again(near, hull, eased, free, girths)
    return OldSeams(made, _off(made, widths), (*counted, *told))


def old_butts_of(
    ways: Ways, old: Sequence[OldButt], side: str, planned: Sequence[Butt]
) -> tuple[tuple[Butt, ...], tuple[Finding, ...]]:
    """Give the old butts of a side; `planned` where none is recorded of either side.

    Where only one side was recorded, the other is taken as its mirror image.
    """
    if not old:
        says = "no old butts are recorded; the butts of this job stand in for the old ones"
        return tuple(sorted(planned)), (_caution("R032", side, says),)
    own = [b for b in old if b.side in {side, "both"}] or list(old)
    placed: set[Butt] = set()
    told = []
    for butt in own:
        if butt.strake in ways.strakes and butt.frame in ways.frames:
            landing = 2 * ways.frames.index(butt.frame) + (butt.landing == "block")
            if landing < ways.along_mm.shape[1]:
                placed.add(Butt(ways.strakes.index(butt.strake), landing, fixed=True))
                continue
        says = f"no strake {butt.strake} at frame {butt.frame}; it counts for nothing"
        told.append(_caution("R033", f"{butt.cell.file}, row {butt.cell.row}", says))
    return tuple(sorted(placed)), tuple(told)


def _count(
    hull: Hull, lining: Lining, widths: Sequence[OldWidth]
) -> tuple[int, tuple[Finding, ...]]:
    """Give how many strakes she has: as recorded where a frame was measured from end to end.

    Elsewhere nobody said that the highest strake measured is the last: this job's lining tells.
    """
    most = max(int(w.strake) for w in widths)
    if any(_whole(hull, widths, most)):
        return most, ()
    lined = max((int(s.name) for s in lining.strakes if s.name.isdecimal()), default=0)
    if lined <= most:
        return most, ()
    says = (
        f"at no frame were all old strakes measured, and none above strake {most}: she is taken "
        f"to have {lined}, as this job is lined; measure one frame whole, or wish for the number"
    )
    return lined, (_caution("R034", "old_strakes", says),)


def _whole(hull: Hull, widths: Sequence[OldWidth], most: int) -> Iterator[bool]:
    """Tell of each frame whether its old widths, of every strake to the highest, fill its girth."""
    girths = dict(zip(hull.frames.names, hull.frames.girth_mm.tolist(), strict=True))
    at: dict[str, dict[int, float]] = {}
    for w in widths:
        at.setdefault(w.frame, {})[int(w.strake)] = w.width_mm
    for frame, own in at.items():
        yield len(own) == most and sum(own.values()) > WHOLE * girths.get(frame, float("inf"))


def _set_off(hull: Hull, near: Lining, old: Sequence[OldWidth]) -> tuple[Floats, list[Finding]]:
    """Give the girth (S + 1, C) of each old seam where the record tells it."""
    rows = {strake.name: row for row, strake in enumerate(near.strakes)}
    columns = {name: column for column, name in enumerate(near.columns)}
    width = np.full(near.width_mm.shape, np.nan)
    for w in old:
        if w.strake in rows and w.frame in columns:
            width[rows[w.strake], columns[w.frame]] = w.width_mm
    lean = (near.upper_girth_mm - near.lower_girth_mm) / near.width_mm
    girths = np.full((len(rows) + 1, len(columns)), np.nan)
    told: list[Finding] = []
    for column in np.flatnonzero(np.isfinite(width).any(axis=0)).tolist():
        steps = width[:, column] * lean[:, column]
        whole = float(np.nanmax(near.upper_girth_mm[:, column]))
        if np.isfinite(steps).all():
            told += _missed(near.columns[column], whole - float(steps.sum()), hull)
            steps *= whole / steps.sum()
        up = np.concatenate([[0.0], np.cumsum(steps)])
        down = whole - np.concatenate([np.cumsum(steps[::-1])[::-1], [0.0]])
        girths[:, column] = np.where(np.isfinite(up), up, down)
    girths[[0, -1]] = np.nan
    return girths, told


def _missed(frame: str, off: float, hull: Hull) -> Iterator[Finding]:
    if abs(off) > TELL_MM:
        short = "short of" if off > 0 else "over"
        length = format_length(abs(off), hull.particulars.unit)
        says = f"the old widths come to {length} {short} the girth; it is shared among them"
        yield _caution("R031", f"frame {frame}", says)


def _off(made: Lining, old: Sequence[OldWidth]) -> float:
    rows = {strake.name: row for row, strake in enumerate(made.strakes)}
    off = [
        abs(float(made.width_mm[rows[w.strake], made.columns.index(w.frame)]) - w.width_mm)
        for w in old
        if w.strake in rows and w.frame in made.columns
    ]
    return max(off, default=0.0)


def _caution(code: str, where: str, says: str) -> Finding:
    return Finding(code, Severity.CAUTION, "record", where, says)
