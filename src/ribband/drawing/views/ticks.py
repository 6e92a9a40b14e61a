"""Tick strips: the marks of every frame at full size, to be cut out and laid along the frame.

One strip a frame (and one for each hood end): from the rabbet at its left end to the sheer, a
tick at each seam with the strakes it parts and its girth. A strip longer than the paper runs over
several sheets that overlap; the *join* lines of neighbouring pieces lie on one another. Paper
moves with damp and printers shrink: the check bar on every sheet is to be measured first, and the
girth written at a tick goes before the tick.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

import numpy as np

from ribband.drawing.board import Setting, titled
from ribband.drawing.layout import Air, Drawing, lay_on, room_on
from ribband.drawing.lettering import width_mm
from ribband.drawing.sheet import Box, Item, Point, Polyline, Sheet, Text
from ribband.hull.model import Hull
from ribband.lining.model import Lining
from ribband.units import format_bare

__all__ = ["tick_strips"]

_DEEP, _PITCH = 14.0, 16.0  # mm: a strip, and from strip to strip
_AIR = Air(4.0, 2.0, 4.0, 4.0)
_NOTES = (
    "Print at 100 %, not fitted to the page, and measure the check bar before use.",
    "Where a tick and its written girth differ, the girth is right.",
    "Lay the strip along the outside of the frame, its left end on the rabbet.",
    "The heavy edge is the marking edge. Lay pieces over each other by their join lines.",
)


@dataclass(frozen=True, slots=True)
class _Strip:
    """The marks of one frame: girths from the rabbet with what they part."""

    name: str
    marks: tuple[tuple[float, str], ...]

    @property
    def long(self) -> float:
        return self.marks[-1][0]


def tick_strips(
    hull: Hull,
    lining: Lining,
    *,
    setting: Setting = Setting(),  # noqa: B008 - frozen
    alike: str = "both sides",
    frames: Sequence[str] = (),
) -> tuple[Sheet, ...]:
    """Draw the tick strips of `frames` ("stem" and "stern" too; empty for all), at full size."""
    unit = hull.particulars.unit
    strips = [s for c, name in enumerate(lining.columns)
              if (not frames or name in frames) and (s := _strip(lining, c))]  # fmt: skip
    room = room_on(setting.page, _NOTES, ())
    per = max(1, int((room.height - _AIR.lower - _AIR.upper - _DEEP) // _PITCH) + 1)
    groups = -(-len(strips) // per)
    per = -(-len(strips) // max(groups, 1))
    length = room.width - _AIR.left - _AIR.right
    drawings = [
        drawing
        for at in range(0, len(strips), max(per, 1))
        for drawing in _pieces(strips[at : at + per], length, setting.overlap_mm, unit)
    ]
    title = titled(hull, "Tick strips", setting, alike)
    return lay_on(drawings, setting.page, title, 1.0, unit=unit)


def _strip(lining: Lining, column: int) -> _Strip | None:
    upper = lining.upper_girth_mm[:, column]
    rows = np.flatnonzero(np.isfinite(upper))
    if not len(rows):
        return None
    names = [lining.strakes[r].name for r in rows]
    parted = [f"{a}|{b}" for a, b in pairwise(names)]
    marks = [(0.0, "rabbet")]
    marks += [(float(upper[r]), says) for r, says in zip(rows, [*parted, "sheer"], strict=True)]
    return _Strip(lining.columns[column], tuple(marks))


def _pieces(
    strips: Sequence[_Strip], length: float, overlap: float, unit: str
) -> Iterator[Drawing]:
    """Cut the strips of one group into lengths of paper; the last pieces are as long as needed."""
    longest = max(s.long for s in strips)
    step = length - overlap
    joins = [k * step for k in range(1, int(np.ceil(max(longest - overlap, 1.0) / step)))]
    edges = [0.0, *joins, longest]
    for left, right in pairwise(edges):
        low = left - overlap / 2 if left else 0.0
        high = right + overlap / 2 if right < longest else longest
        items = [
            item
            for row, strip in enumerate(strips)
            if strip.long > left
            for item in _piece(strip, -row * _PITCH, (low, high), joins, unit)
        ]
        box = Box(low, -(len(strips) - 1) * _PITCH - _DEEP, max(high, low + length * 0.999), 0.0)
        yield Drawing("ticks", tuple(items), box, _AIR, _NOTES)


def _piece(
    strip: _Strip, top: float, span: tuple[float, float], joins: Sequence[float], unit: str
) -> Iterator[Item]:
    low, high = span[0], min(span[1], strip.long)
    foot = top - _DEEP
    yield Polyline("sheer", ((low, top), (high, top)))
    yield Polyline("rules", ((low, top), (low, foot), (high, foot), (high, top)))
    whose = strip.name if strip.name in {"stem", "stern"} else f"frame {strip.name}"
    within = [join for join in joins if low < join < high]
    at = low + 2.0 if not within or within[0] - low > 60.0 else within[0] + 10.0
    yield Text("title", (at, foot + 1.6), whose, 2.8, face="Sans-Semibold")
    if low > 0 or high < strip.long:
        says = f"from {format_bare(low, unit)} to {format_bare(high, unit)}"
        beside = at + width_mm(whose, 2.8, "Sans-Semibold") + 5.0
        yield Text("notes", (beside, foot + 1.6), says, 1.8, face="Sans-Italic")
    for join in within:  # broken where the figures stand
        yield Polyline("match", ((join, top), (join, top - 2.4)))
        yield Polyline("open ends", ((join, top - 8.2), (join, foot)))
        yield Text("match", (join + 0.8, foot + 1.6), "join", 1.8, face="Sans-Italic")
    yield from _marks(strip, top, (low, high), unit)


def _marks(strip: _Strip, top: float, span: tuple[float, float], unit: str) -> Iterator[Item]:
    last = -np.inf
    for girth, says in strip.marks:
        if not span[0] - 1e-9 <= girth <= span[1] + 1e-9:
            continue
        near = girth - last < 16.0  # a narrow strake: its figure stands lower
        last = girth
        yield Polyline("ticks", ((girth, top), (girth, top - (10.0 if near else 7.0))))
        at: Point = (girth + 0.8, top - 3.4)
        side: Literal["left", "right"] = "right" if girth > span[1] - 14.0 else "left"
        if side == "right":
            at = (girth - 0.8, at[1])
        drop = 3.2 if near else 0.0
        yield Text("strake names", (at[0], at[1] - drop), says, 2.0, side, face="Sans-Semibold")
        figure = format_bare(girth, unit)
        yield Text("widths", (at[0], at[1] - drop - 2.8), figure, 1.8, side)
