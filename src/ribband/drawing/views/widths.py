"""The table of widths to set off on every frame, and the girths they add up to.

A row is a strake, the sheer strake uppermost as on the frame; a column is a frame or a hood end.
The upper block gives the width to set off *along the frame*, so that a column adds up to the
girth; the lower block gives the girth from the rabbet to each strake's upper edge, which is how
to mark a frame without adding up its errors. Square across, a plank is got out to the width in
the plank list; towards the ends that is less than the width along the frame.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ribband.drawing.board import Setting, titled
from ribband.drawing.layout import Air, Drawing, lay_on, room_on
from ribband.drawing.lettering import width_mm
from ribband.drawing.sheet import Box, Fill, Item, Polyline, Sheet, Text
from ribband.hull.model import Floats, Hull
from ribband.lining.model import Lining
from ribband.units import format_bare

__all__ = ["widths_table"]

_LINE, _HEIGHT, _HEAD = 4.6, 1.95, 7.0  # mm: row, lettering, heading of a block
_NOTES = (
    "Widths are along the frame, so that a column adds up to the girth.",
    "Mark a frame from the girths rather than by adding widths.",
    "Where a strake does not reach a frame its place is left blank.",
    "Prove every seam with a ribband on the frames before any plank is got out.",
)


@dataclass(frozen=True, slots=True)
class _Block:
    """One table of the sheet: a heading, and figures (strakes, columns) from keel to sheer."""

    heading: str
    figures: Floats
    foot: tuple[str, Floats] | None = None


def widths_table(
    hull: Hull,
    lining: Lining,
    *,
    setting: Setting = Setting(),  # noqa: B008 - frozen
    alike: str = "each side",
) -> tuple[Sheet, ...]:
    """Draw the table of widths and girths on as many sheets as it needs."""
    unit = hull.particulars.unit
    room = room_on(setting.page, _NOTES, ())
    width = lining.upper_girth_mm - lining.lower_girth_mm
    total = ("girth", np.nansum(width, axis=0))
    blocks = (
        _Block("Widths to set off along the frame", width, total),
        _Block("Girth from the rabbet to the upper edge", lining.upper_girth_mm),
    )
    named = _name_width(lining)
    cell = _cell_width(lining, unit)
    per = max(1, int((room.width - named) // cell))
    columns = _shared_out(_shown(lining), per)
    drawings = [
        _drawing(lining, run, part, named, cell, unit, room)
        for part in _together(blocks, room.height)
        for run in columns
    ]
    title = titled(hull, "Table of widths", setting, alike)
    return lay_on(drawings, setting.page, title, 1.0, unit=unit)


def _shown(lining: Lining) -> list[int]:
    """Give the columns that hold anything: hood ends are left out where not known."""
    return [c for c in range(len(lining.columns)) if np.isfinite(lining.upper_girth_mm[:, c]).any()]


def _shared_out(columns: list[int], most: int) -> list[list[int]]:
    """Share the columns evenly over as few sheets as will do."""
    sheets = -(-len(columns) // most)
    each = -(-len(columns) // sheets)
    return [columns[i : i + each] for i in range(0, len(columns), each)]


def _together(blocks: Sequence[_Block], room: float) -> list[tuple[_Block, ...]]:
    """Put both blocks on a sheet where they fit, else each on its own."""
    return [tuple(blocks)] if sum(map(_tall, blocks)) <= room else [(b,) for b in blocks]


def _tall(block: _Block) -> float:
    return _HEAD + (len(block.figures) + 2 + bool(block.foot)) * _LINE


def _name_width(lining: Lining) -> float:
    return max(width_mm(f"{s.name}  {s.called}", _HEIGHT) for s in lining.strakes) + 6.0


def _cell_width(lining: Lining, unit: str) -> float:
    figures = lining.upper_girth_mm[np.isfinite(lining.upper_girth_mm)]
    widest = max(width_mm(format_bare(float(v), unit), _HEIGHT) for v in figures)
    return max(widest, *(width_mm(c, _HEIGHT) for c in lining.columns)) + 1.8


def _drawing(  # noqa: PLR0917 - a table's measures
    lining: Lining,
    run: list[int],
    blocks: tuple[_Block, ...],
    named: float,
    cell: float,
    unit: str,
    room: Box,
) -> Drawing:
    stretch = min(cell * 1.35, (room.width - named) / len(run))
    items: list[Item] = []
    top = 0.0
    for block in blocks:
        items += _block(lining, run, block, (named, stretch, top), unit)
        top -= _tall(block)
    box = Box(0.0, top, named + stretch * len(run), 0.0)
    return Drawing("widths", tuple(items), box, Air(0, 0, 0, 1), _NOTES, to_scale=False)


def _block(
    lining: Lining,
    run: list[int],
    block: _Block,
    measures: tuple[float, float, float],
    unit: str,
) -> Iterator[Item]:
    named, cell, top = measures
    right = named + cell * len(run)
    yield Text("title", (0.0, top - 3.6), block.heading, 2.6, face="Serif-Italic")
    head = top - _HEAD
    yield from _rule("title", head, right)
    yield Text("strake names", (1.0, head - 3.3), "strake", _HEIGHT, face="Sans-Italic")
    for i, c in enumerate(run):
        at = (named + (i + 0.88) * cell, head - 3.3)
        yield Text("strake names", at, lining.columns[c], _HEIGHT, "right", face="Sans-Semibold")
    yield from _rule("rules", head - _LINE, right)
    count = len(lining.strakes)
    for k in range(count):
        row = count - 1 - k
        y = head - (k + 2) * _LINE
        if k % 2:
            yield Fill("bands", ((0, y), (right, y), (right, y + _LINE), (0, y + _LINE)))
        strake = lining.strakes[row]
        yield Text("strake names", (1.0, y + 1.3), strake.name, _HEIGHT, face="Sans-Semibold")
        yield Text("strake names", (7.5, y + 1.3), strake.called, _HEIGHT)
        yield from _figures(block.figures[row, run], (named, cell, y), unit, "Sans")
    low = head - (count + 1) * _LINE
    yield from _rule("rules" if block.foot else "title", low, right)
    if block.foot:
        yield Text("strake names", (1.0, low - 3.3), block.foot[0], _HEIGHT, face="Sans-Italic")
        place = (named, cell, low - _LINE)
        yield from _figures(block.foot[1][run], place, unit, "Sans-Semibold")
        yield from _rule("title", low - _LINE, right)


def _rule(layer: str, y: float, right: float) -> Iterator[Item]:
    yield Polyline(layer, ((0.0, y), (right, y)))


def _figures(
    values: Floats, place: tuple[float, float, float], unit: str, face: str
) -> Iterator[Item]:
    named, cell, y = place
    for i, value in enumerate(values):
        if np.isfinite(value):
            at = (named + (i + 0.88) * cell, y + 1.3)
            yield Text("girths", at, format_bare(float(value), unit), _HEIGHT, "right", face=face)
