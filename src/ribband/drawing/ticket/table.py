"""The spiling of a plank as figures, as a shipwright writes it down at the batten.

One line a frame: distance along the batten from its fore end, then square off it down to the
lower edge and up to the upper, the bevel of each and the hollow. The corners of both ends come
with them, so that the plank can be laid out from the figures alone. A minus means that the batten
lies outside the plank there; brackets, that the edge ends before and is carried on fair.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ribband.drawing.bench import degrees, rise, rise_base
from ribband.drawing.book.words import bare
from ribband.drawing.sheet import Item, Polyline, Text
from ribband.hull.model import Floats
from ribband.planks.shape_model import Shape
from ribband.units import UNITS, imperial

__all__ = ["BEVELS", "HEAD_MM", "TOLD", "WIDE_MM", "head", "line", "rows"]

HEAD_MM = 15.5
END_MM = 1.0  # by which a frame may lie past an edge's end and count as on it
# right edges of the columns, mm from the left of the table, after the frame's own
_EDGES = (46.0, 69.0, 91.0, 109.0, 127.0, 146.0, 164.0, 184.0)
WIDE_MM = 185.9
TOLD = "along the batten from its fore end, square off it; − batten outside; ( ) edge carried on"
BEVELS = "bevels that fit, from square to the inner face; − outer wider; caulking bevel after"
_CORNERS = ("fore, upper", "fore, lower", "aft, upper", "aft, lower")


def rows(shape: Shape, unit: str) -> list[tuple[str, ...]]:
    """Give the lines of the table, from the fore end aft, as text."""
    order = np.argsort(shape.along_mm, kind="stable")
    at = (shape.upper[0], shape.lower[0], shape.upper[-1], shape.lower[-1])
    corners = [_corner(name, xy, unit) for name, xy in zip(_CORNERS, at, strict=True)]
    frames = [_frame(shape, int(i), unit) for i in order]
    return [*corners[:2], *frames, *corners[2:]]


def _corner(name: str, at: Floats, unit: str) -> tuple[str, ...]:
    x, y = float(at[0]), float(at[1])
    off = ("", bare(y, unit)) if name.endswith("upper") else (bare(-y, unit), "")
    return (name, bare(x, unit), *off, "", "", "", "", "")


def _frame(shape: Shape, i: int, unit: str) -> tuple[str, ...]:
    lower, upper = float(shape.lower_fit_rad[i]), float(shape.upper_fit_rad[i])
    return (
        shape.frames[i],
        bare(float(shape.along_mm[i]), unit),
        _off(-float(shape.lower_mm[i]), float(shape.along_mm[i]), shape.lower, unit),
        _off(float(shape.upper_mm[i]), float(shape.along_mm[i]), shape.upper, unit),
        degrees(lower),
        rise(lower, unit),
        degrees(upper),
        rise(upper, unit),
        _fine(float(shape.hollow_mm[i]), unit),
    )


def _off(mm: float, along_mm: float, edge: Floats, unit: str) -> str:
    """Write a height off the batten; in brackets where the edge (n, 2) does not reach."""
    text, (first, last) = bare(mm, unit), edge[[0, -1], 0]
    return text if first - END_MM <= along_mm <= last + END_MM else f"({text})"


def _fine(mm: float, unit: str) -> str:
    """Write a hollow: to a tenth of a millimetre, or a sixteenth of an inch."""
    if imperial(unit):
        return bare(mm, "in")
    return f"{mm + 0.0:.1f}".replace("-0.0", "0.0").replace("-", "−") if np.isfinite(mm) else ""


def head(left: float, top: float, unit: str) -> Iterator[Item]:
    """Set the heading of the table, its top at `top`."""
    says = f"Spiling, in {UNITS[unit].says}"
    yield Text("kicker", (left, top - 3.2), says, 3.0, face="Serif-Italic")
    yield Text("labels", (left + WIDE_MM, top - 3.2), TOLD, 1.8, "right")
    yield Text("labels", (left, top - 8.4), BEVELS, 1.8)
    for text, a, b in (("bevel, lower edge", 3, 5), ("bevel, upper edge", 5, 7)):
        low, high = left + _EDGES[a - 1] + 3.0, left + _EDGES[b - 1]
        yield Text("labels", ((low + high) / 2, top - 8.4), text, 2.1, "centre", face="Sans-Italic")
        yield Polyline("hair", ((low, top - 9.4), (high, top - 9.4)))
    over, hollow = f"on {rise_base(unit)}", f"hollow, {'in' if imperial(unit) else 'mm'}"
    names = ("along", "down to lower", "up to upper", "degrees", over, "degrees", over, hollow)
    yield Text("labels", (left, top - 13.6), "frame", 2.1, face="Sans-Italic")
    for name, edge in zip(names, _EDGES, strict=True):
        yield Text("labels", (left + edge, top - 13.6), name, 2.1, "right", face="Sans-Italic")
    yield Polyline("rules", ((left, top - HEAD_MM), (left + WIDE_MM, top - HEAD_MM)))


def line(left: float, low: float, pitch: float, cells: tuple[str, ...]) -> Iterator[Item]:
    """Set one line of figures, its foot at y = `low`."""
    size = min(2.7, max(1.8, 0.62 * pitch))
    y = low + (pitch - size) / 2
    face = "Sans-Italic" if cells[0] in _CORNERS else "Sans-Semibold"
    yield Text("figures", (left, y), cells[0], size, face=face)
    for text, edge in zip(cells[1:], _EDGES, strict=True):
        if text:
            yield Text("figures", (left + edge, y), text, size, "right")
