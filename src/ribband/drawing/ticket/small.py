"""The shape on a ticket: small and true to scale, in the blank it is got out of."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ribband.drawing.book.words import length
from ribband.drawing.lettering import width_mm
from ribband.drawing.patterns.flat import Flat, as_points, laid, least_lie
from ribband.drawing.patterns.scarfs import scarf_marks
from ribband.drawing.scales import choose, words
from ribband.drawing.sheet import Box, Item, Point, Polyline, Text
from ribband.hull.model import Floats
from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape

__all__ = ["LOW_MM", "TALL_MM", "Small", "shape_to_scale"]

_FIGURE = 2.1
TALL_MM, LOW_MM = 28.0, 14.0  # of a page with room, and of one where figures want it


@dataclass(frozen=True, slots=True)
class Small:
    """The drawing: full-size items with scale and origin, what stands on the paper, y under it."""

    items: tuple[Item, ...]
    paper: tuple[Item, ...]
    scale: float
    origin: Point
    under: float


def shape_to_scale(
    shape: Shape, plank: Plank, unit: str, room: Box, tall_mm: float = TALL_MM
) -> Small:
    """Draw the plank across the top of `room`, at the largest standard scale that goes in.

    tall_mm : the most the plank and its blank may take of the page
    """
    flat = laid(shape, plank.side)
    blank = _blank(flat.ring)
    every = np.concatenate([flat.ring, blank])
    (left, low), (right, high) = every.min(axis=0), every.max(axis=0)
    scale = choose(float(right - left), room.width - 4.0, unit)
    scale = min(scale, choose(float(high - low), tall_mm, unit))
    top = room.upper - 5.0
    origin = (
        room.left + (room.width - float(left + right) * scale) / 2,
        top - float(high) * scale,
    )
    foot = top - float(high - low) * scale
    items = (
        Polyline("blank", as_points(blank), closed=True),
        Polyline("batten line", ((0.0, 0.0), (_after_end(flat), 0.0))),
        *(Polyline("frames", as_points(line)) for line in flat.lines),
        *(
            replace(item, layer="blank")
            for item in scarf_marks(shape, flat)
            if isinstance(item, Polyline)
        ),
        Polyline("outline", as_points(flat.ring), closed=True),
    )
    paper = (
        *_numbers(flat, shape, scale, origin, foot),
        *_words(flat, scale, unit, room, (top, foot)),
        _batten_said(flat, blank, unit, room, foot - 11.4),
    )
    return Small(items, paper, scale, origin, foot - 13.7)


def _blank(ring: Floats) -> Floats:
    """Give the corners (4, 2) of the narrowest rectangle round the plank."""
    lie = least_lie(ring)
    turn = np.array([[np.cos(lie), -np.sin(lie)], [np.sin(lie), np.cos(lie)]])
    along = ring @ turn
    (a, b), (c, d) = along.min(axis=0), along.max(axis=0)
    return np.asarray(np.array([[a, b], [c, b], [c, d], [a, d]]) @ turn.T)


def _numbers(flat: Flat, shape: Shape, scale: float, origin: Point, foot: float) -> Iterator[Item]:
    """Letter the frames' numbers under the plank: each, or as many as have room."""
    order = np.argsort(flat.at_mm, kind="stable")
    last = -np.inf
    for i in order:
        x = origin[0] + float(flat.at_mm[i]) * scale
        half = width_mm(shape.frames[i], _FIGURE) / 2
        if x - half > last + 0.8:
            yield Text("frames", (x, foot - 1.6), shape.frames[i], _FIGURE, "centre", "top")
            last = x + half


def _words(
    flat: Flat, scale: float, unit: str, room: Box, heights: tuple[float, float]
) -> Iterator[Item]:
    """Letter the fore end and both edges, and beside the fore end what the drawing is."""
    top, foot = heights[0] + 1.8, heights[1] - 8.0
    fore: tuple[float, Literal["left", "right"]] = (room.left, "left")
    other: tuple[float, Literal["left", "right"]] = (room.right, "right")
    says = "← fore"
    if flat.fore > 0:
        says, fore, other = "fore →", other, fore
    yield Text("signs", (fore[0], top), says, 2.4, fore[1], face="Sans-Semibold")
    middle = (room.left + room.right) / 2
    yield Text("signs", (middle, top), "upper edge", 2.1, "centre", face="Sans-Italic")
    yield Text("signs", (middle, foot), "lower edge", 2.1, "centre", face="Sans-Italic")
    said = f"the inner face, seen from outboard, {words(scale, unit)}"
    yield Text("labels", (other[0], top), said, 2.1, other[1], face="Sans-Italic")
    yield Text("labels", (other[0], foot), "dashed: the least blank, grain along it", 2.1,
               other[1], face="Sans-Italic")  # fmt: skip


def _after_end(flat: Flat) -> float:
    """Give the x of the batten line's after end."""
    return flat.ends[0] if flat.fore > 0 else flat.ends[1]


def _batten_said(flat: Flat, blank: Floats, unit: str, room: Box, y: float) -> Text:
    """Say which line the batten's is, where it begins, and where it is struck on the blank."""
    low, _, _, high = blank
    up = (high - low) / np.linalg.norm(high - low)
    ends = (0.0, _after_end(flat))
    off = [length(float((np.array([x, 0.0]) - low) @ up), unit) for x in ends]
    says = (
        f"dash and dot: the batten line, 0 at its fore end; struck {off[0]} off the blank's lower "
        f"side at that end, {off[1]} at its after end"
    )
    return Text("batten line", ((room.left + room.right) / 2, y), says, 2.1, "centre",
                face="Sans-Italic")  # fmt: skip
