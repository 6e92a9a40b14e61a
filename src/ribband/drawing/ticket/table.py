"""The spiling of a plank as figures, as a shipwright writes it down at the batten.

One line a frame: distance along the batten from its fore end, then square off it down to the
lower edge and up to the upper, the width, which is both together, the bevel of each edge and the
hollow. The corners of both ends come with them, those of a notch, and marks between frames where a
batten would run wide, so that the plank can be laid out from the figures alone. A minus means that
the batten lies outside the plank there, or along it that the place lies before its fore end;
brackets, that the edge ends before and is carried on fair.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ribband.drawing.bench import degrees, rise, rise_base
from ribband.drawing.book.words import bare
from ribband.drawing.lettering import width_mm, wrap
from ribband.drawing.sheet import Item, Polyline, Text
from ribband.drawing.ticket.stations import Corner, stations
from ribband.drawing.ticket.stations import corners as corners_of
from ribband.hull.model import Floats
from ribband.planks.shape_model import Shape
from ribband.units import UNITS, imperial

__all__ = ["BEVELS", "HEAD_MM", "TOLD", "WIDE_MM", "head", "line", "rows"]

HEAD_MM = 18.2
END_MM = 1.0  # by which a frame may lie past an edge's end and count as on it
# right edges of the columns, mm from the left of the table, after the frame's own
_EDGES = (41.0, 62.0, 82.0, 101.0, 117.0, 133.0, 150.0, 166.0, 184.0)
WIDE_MM = 185.9
TOLD = (
    "strike the batten line straight on the outer face, 0 at its fore end; at each figure along it "
    "(−: before 0) square off it down and up (−: the other way, the line lies outside there); "
    "spring a batten through the marks, anew from every corner; ( ): the edge ends before this "
    "frame and is carried on fair; width: down and up together"
)
BEVELS = (
    "bevels fit each edge to its neighbour: from square to the inner face, whose outline this is; "
    "−: outer face the wider; the caulking bevel comes after"
)
CORNER, BETWEEN = "notch, ", "between"
_CORNERS = ("fore, upper", "fore, lower", "aft, upper", "aft, lower")


def rows(shape: Shape, unit: str) -> list[tuple[str, ...]]:
    """Give the lines of the table, from the fore end aft, as text."""
    at = (shape.upper[0], shape.lower[0], shape.upper[-1], shape.lower[-1])
    wide = ("", _wide(shape, 0, unit), "", _wide(shape, -1, unit))
    corners = [_corner(*each, unit) for each in zip(_CORNERS, at, wide, strict=True)]
    between = [(float(x), _frame(shape, i, unit)) for i, x in enumerate(shape.along_mm)]
    between += [(c.along_mm, _within(c, unit)) for c in corners_of(shape)]
    between += [(x, _station(x, lower, upper, unit)) for x, lower, upper in stations(shape)]
    between.sort(key=lambda each: each[0])
    return [*corners[:2], *(cells for _, cells in between), *corners[2:]]


def _wide(shape: Shape, at: int, unit: str) -> str:
    """Write how wide an end is, square to the batten from corner to corner."""
    return bare(float(shape.upper[at, 1] - shape.lower[at, 1]), unit)


def _corner(name: str, at: Floats, wide: str, unit: str) -> tuple[str, ...]:
    x, y = float(at[0]), float(at[1])
    off = ("", bare(y, unit)) if name.endswith("upper") else (bare(-y, unit), "")
    return (name, bare(x, unit), *off, wide, "", "", "", "", "")


def _within(corner: Corner, unit: str) -> tuple[str, ...]:
    """Write a corner of one edge between its ends."""
    down = corner.edge == "lower"
    off = ("", bare(corner.off_mm, unit)) if not down else (bare(-corner.off_mm, unit), "")
    return (f"{CORNER}{corner.edge}", bare(corner.along_mm, unit), *off, *("",) * 6)


def _station(along: float, lower: float, upper: float, unit: str) -> tuple[str, ...]:
    """Write a station between frames; an edge that does not reach it is left blank."""
    figures = (bare(mm, unit) if np.isfinite(mm) else "" for mm in (-lower, upper, upper - lower))
    return (BETWEEN, bare(along, unit), *figures, *("",) * 5)


def _frame(shape: Shape, i: int, unit: str) -> tuple[str, ...]:
    lower, upper = float(shape.lower_fit_rad[i]), float(shape.upper_fit_rad[i])
    along, down, up = (float(each[i]) for each in (shape.along_mm, -shape.lower_mm, shape.upper_mm))
    return (
        shape.frames[i],
        bare(along, unit),
        _off(down, along, shape.lower, unit),
        _off(up, along, shape.upper, unit),
        _width(down + up, along, shape, unit),
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


def _width(mm: float, along_mm: float, shape: Shape, unit: str) -> str:
    """Write the width square off the batten; in brackets where one of the edges does not reach."""
    both = [_off(mm, along_mm, edge, unit) for edge in (shape.lower, shape.upper)]
    return max(both, key=len)


def _fine(mm: float, unit: str) -> str:
    """Write a hollow: to a tenth of a millimetre, or a sixteenth of an inch."""
    if imperial(unit):
        return bare(mm, "in")
    return f"{mm + 0.0:.1f}".replace("-0.0", "0.0").replace("-", "−") if np.isfinite(mm) else ""


def head(left: float, top: float, unit: str) -> Iterator[Item]:
    """Set the heading of the table, its top at `top`."""
    says = f"Spiling, in {UNITS[unit].says}"
    more = "+: a sixteenth of an inch more" if unit == "ft-in-8ths" else ""
    yield Text("kicker", (left, top - 3.2), says, 3.0, face="Serif-Italic")
    said = width_mm(says, 3.0, "Serif-Italic") + 6.0
    for k, text in enumerate(wrap(TOLD, WIDE_MM - said, 1.8)):
        yield Text("labels", (left + WIDE_MM, top - 1.4 - 2.7 * k), text, 1.8, "right")
    yield Text("labels", (left, top - 6.4), more, 1.8)
    for k, text in enumerate(wrap(BEVELS, _EDGES[3] - 2.0, 1.8)):
        yield Text("labels", (left, top - 10.2 - 2.7 * k), text, 1.8)
    for text, a, b in (("bevel, lower edge", 4, 6), ("bevel, upper edge", 6, 8)):
        low, high = left + _EDGES[a - 1] + 3.0, left + _EDGES[b - 1]
        yield Text(
            "labels", ((low + high) / 2, top - 11.1), text, 2.1, "centre", face="Sans-Italic"
        )
        yield Polyline("hair", ((low, top - 12.1), (high, top - 12.1)))
    over, hollow = f"on {rise_base(unit)}", f"hollow, {'in' if imperial(unit) else 'mm'}"
    names = (
        "along", "down to lower", "up to upper", "width", "degrees", over, "degrees", over, hollow
    )  # fmt: skip
    yield Text("labels", (left, top - 16.3), "frame", 2.1, face="Sans-Italic")
    for name, edge in zip(names, _EDGES, strict=True):
        yield Text("labels", (left + edge, top - 16.3), name, 2.1, "right", face="Sans-Italic")
    yield Polyline("rules", ((left, top - HEAD_MM), (left + WIDE_MM, top - HEAD_MM)))


def line(left: float, low: float, pitch: float, cells: tuple[str, ...]) -> Iterator[Item]:
    """Set one line of figures, its foot at y = `low`."""
    size = min(2.7, max(1.8, 0.62 * pitch))
    y = low + (pitch - size) / 2
    no_frame = cells[0] in {*_CORNERS, BETWEEN} or cells[0].startswith(CORNER)
    face = "Sans-Italic" if no_frame else "Sans-Semibold"
    yield Text("figures", (left, y), cells[0], size, face=face)
    for text, edge in zip(cells[1:], _EDGES, strict=True):
        if text:
            yield Text("figures", (left + edge, y), text, size, "right")
