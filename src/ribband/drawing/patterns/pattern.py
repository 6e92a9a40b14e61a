"""The full-size pattern of a plank as a sheet, 1:1.

The drawing has the closed outline, the batten line, the frames (each as its plane crosses the flat
plank, leaning as it does, numbered, with the distance along the batten to where they meet), the
bevel figures of both edges, scarfs, name, signs and, where given, nails. On the paper round it
stands what is to be read: how to lay it, what a bevel means, what is in doubt, the check bar.

The outline is that of the inner face, the one on the frames: cut square to it, then bevel.

Not checked: that the timber is wide or thick enough; the ticket says what is needed.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from ribband.drawing.bench import (
    Bench,
    bevel,
    caulking_bevel,
    few,
    leans_out,
    marked_minus,
    outside_mm,
    rise_base,
)
from ribband.drawing.labels import Labels, text_box
from ribband.drawing.lettering import width_mm, wrap
from ribband.drawing.patterns.flat import Flat, as_points, laid, least_lie
from ribband.drawing.patterns.scarfs import scarf_marks, scarfs_said
from ribband.drawing.scales import check_bar
from ribband.drawing.sheet import (
    STYLES,
    Box,
    Item,
    Mark,
    Page,
    Point,
    Polyline,
    Sheet,
    Style,
    Text,
)
from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape
from ribband.units import format_bare, format_length, imperial

__all__ = ["CAP_MM", "LAYERS", "MARGIN_MM", "full_size", "legend_tall"]

MARGIN_MM = 12.0
LEGEND_MM = 184.0  # how wide the legend is set, to go on the narrowest paper
LETTERED_MM = 75.0  # what a frame's lettering takes of the plank's length
CAP_MM = 2.6  # height of lettering: read from the bench, not the desk
_LINE = 4.6

LAYERS: dict[str, Style] = {  # bottom to top
    "batten line": Style(0.18, "#274a6d", (8.0, 1.6, 1.6, 1.6)),
    "frames": Style(0.18, "#4a4f53"),
    "tiles": Style(0.13, "#274a6d"),
    "outline": Style(0.25),
    "nails": Style(0.2),
    "scarfs": Style(0.25, "#1b1b1b", (4.0, 2.0)),
    "bevels": Style(0.18, "#274a6d"),
    "signs": Style(0.25),
    "name": Style(0.25),
    **{name: STYLES[name] for name in ("match", "bars", "border", "rules", "notes", "title")},
    "doubtful": STYLES["doubtful"],
}


def full_size(
    shape: Shape,
    plank: Plank,
    bench: Bench,
    *,
    doubts: Sequence[str] = (),
    nails: Sequence[Point] = (),
) -> Sheet:
    """Draw the pattern of `plank` at full size on one sheet as large as it needs.

    Starboard is `shape` turned over; lettering reads either way. The drawing's zero is the fore
    end of the batten, x along the batten to the right (so that a starboard plank lies at x < 0).

    Parameters
    ----------
    doubts : what is doubtful about this plank, printed in the legend
    nails : where fastenings come, mm in the shape's own axes
    """
    flat = laid(shape, plank.side)
    legend = tuple(_legend(shape, plank, bench, doubts))
    tall = legend_tall(legend)
    left, right = flat.ends
    low, high = float(flat.ring[:, 1].min()), float(flat.ring[:, 1].max())
    wide = max(right - left, LEGEND_MM) + 2 * MARGIN_MM
    page = Page(wide, high - low + tall + 3 * MARGIN_MM, MARGIN_MM)
    return Sheet(
        plank.name,
        page,
        bench.title(f"Pattern of plank {plank.name}, full size", plank.side),
        tuple(_items(flat, shape, plank, bench, nails)),
        legend,
        1.0,
        1.0,
        origin=(MARGIN_MM - left, 2 * MARGIN_MM + tall - low),
        styles=LAYERS,
    )


def legend_tall(legend: Sequence[Item]) -> float:
    """Give how far a legend reaches above the margin, mm."""
    return (
        max((i.at[1] + i.height_mm for i in legend if isinstance(i, Text)), default=0) - MARGIN_MM
    )


def _items(
    flat: Flat, shape: Shape, plank: Plank, bench: Bench, nails: Sequence[Point]
) -> Iterator[Item]:
    marks = _marks(flat, shape, bench)
    lettered = [item for mark in marks for item in mark.letters(flat)]
    lettered += [*_name(flat, plank, marks), *_signs(flat, marks), *scarf_marks(shape, flat)]
    taken = Labels()
    for text in (item for item in lettered if isinstance(item, Text)):
        taken.take(text_box(text))
    for mark in marks:
        taken.take(Box(mark.reach[0] - 1.0, mark.lower, mark.reach[1] + 1.0, mark.upper))
    yield Polyline("outline", as_points(flat.ring), closed=True)
    yield from _batten(flat)
    yield from (item for mark in marks for item in mark.lines())
    yield from lettered
    yield from _fore(flat, taken)
    hand = -flat.fore
    for x, y in nails:
        yield Mark("nails", (hand * x, y), "plus", 6.0)


def _batten(flat: Flat) -> Iterator[Item]:
    ends = [*flat.ends, 0.0]
    yield Polyline("batten line", ((min(ends), 0.0), (max(ends), 0.0)))


@dataclass(frozen=True, slots=True)
class _Mark:
    """A frame on the pattern: where, how wide the plank is there, and what is written."""

    x: float
    lower: float
    upper: float
    frame: str
    along: str
    bevels: tuple[str, str]
    line: tuple[Point, ...]  # from the lower edge to the upper
    free: tuple[float, float]  # from the lettering of the line before to the line after

    @property
    def reach(self) -> tuple[float, float]:
        """Give the least and greatest x of the line."""
        x = [point[0] for point in self.line]
        return min(x), max(x)

    @property
    def size(self) -> float:
        """Give the height of the figures: what the plank's width has room for."""
        return float(np.clip((self.upper - self.lower - 6.0) / 8.0, 2.2, 5.0))

    def lines(self) -> Iterator[Item]:
        """Draw the frame's line from edge to edge; a batten outside the plank is joined to it."""
        yield Polyline("frames", self.line)
        if not self.lower <= 0.0 <= self.upper:
            near = self.lower if self.lower > 0 else self.upper
            yield Polyline("batten line", ((self.x, 0.0), (self.x, near)))
            yield Polyline("batten line", ((self.x, -4.0), (self.x, 4.0)))

    def letters(self, flat: Flat) -> Iterator[Item]:
        """Letter it: three lines where the plank is wide enough, else one behind the other."""
        size = self.size
        number = min(1.6 * size, 8.0)
        bold = width_mm(self.frame, number, "Sans-Semibold")
        under, over = self.bevels
        long = max(
            bold + 4.0 + width_mm(self.along, size), *(width_mm(b, size) for b in self.bevels)
        )
        for left in self._places(long):
            low, high = flat.room(left, left + long)
            middle = _free_height((low + size + 3.2, high - size - 3.2), number)
            if middle is not None:
                yield Text("bevels", (left, high - 2.2), over, size, rest="top")
                yield from self._number((left, middle), number, size, bold)
                yield Text("bevels", (left, low + 2.2), under, size)
                return
        yield from self._in_a_row(flat)

    def _places(self, long: float) -> list[float]:
        """Give where lettering may begin: right of the line, else left of it, near it first."""
        steps = (2.5, 8.0, 16.0, 30.0)
        first, last = self.reach
        places = [last + step for step in steps] + [first - step - long for step in steps]
        return [x for x in places if self.free[0] < x and x + long < self.free[1]]

    def _number(self, at: Point, number: float, size: float, bold: float) -> Iterator[Item]:
        x, y = at
        yield Text("frames", at, self.frame, number, rest="middle", face="Sans-Semibold")
        yield Text("frames", (x + bold + 4.0, y - number / 2), self.along, size)

    def _in_a_row(self, flat: Flat) -> Iterator[Item]:
        """Letter a narrow place below the plank, where there is always room."""
        size, left = 2.6, self.x + 1.0
        y = min(flat.under(self.x - 5.0, left + 50.0), self.lower) - 2.0
        yield Text("frames", (left, y), self.frame, 4.0, rest="top", face="Sans-Semibold")
        said = (self.along, f"upper {self.bevels[1]}", f"lower {self.bevels[0]}")
        layers = ("frames", "bevels", "bevels")
        for k, (layer, text) in enumerate(zip(layers, said, strict=True)):
            yield Text(layer, (left, y - 5.6 - 4.0 * k), text, size, rest="top")


def _free_height(room: tuple[float, float], tall: float) -> float | None:
    """Give where lettering `tall` stands in the room clear of the batten line, None if nowhere.

    >>> _free_height((-40.0, 60.0), 8.0), _free_height((-40.0, 40.0), 8.0)
    (10.0, 5.3)
    >>> _free_height((-8.0, 8.0), 8.0) is None
    True
    """
    low, high = room
    off = tall / 2 + 1.3
    for middle in ((low + high) / 2, off, -off):
        if abs(middle) >= off and low <= middle - tall / 2 and middle + tall / 2 <= high:
            return middle
    return None


def _marks(flat: Flat, shape: Shape, bench: Bench) -> list[_Mark]:
    order = np.argsort(flat.at_mm, kind="stable")
    first, last = (end(flat.lines[order, :, 0], axis=1).tolist() for end in (np.min, np.max))
    starts = [flat.ends[0], *(x + LETTERED_MM for x in last)]
    free = zip(starts, [*first[1:], flat.ends[1]], strict=False)
    return [
        _Mark(
            float(flat.at_mm[i]), float(shape.lower_mm[i]), float(shape.upper_mm[i]),
            shape.frames[i], format_bare(float(shape.along_mm[i]), bench.unit),
            (bevel(float(shape.lower_fit_rad[i]), bench.unit),
             bevel(float(shape.upper_fit_rad[i]), bench.unit)),
            as_points(flat.lines[i]), between,
        )
        for i, between in zip(order, free, strict=True)
    ]  # fmt: skip


def _bays(flat: Flat, marks: Sequence[_Mark]) -> list[tuple[float, float]]:
    """Give what is free of frames' lettering in each bay: from after a line's to the next line.

    A line at the very end of the plank is lettered before it.
    """
    left, right = flat.ends
    starts = [left + 15.0, *(m.reach[1] + LETTERED_MM for m in marks)]
    late = right - LETTERED_MM
    stops = [*(m.reach[0] - (8.0 if m.x < late else LETTERED_MM) for m in marks), right - 8.0]
    return [(a, b) for a, b in zip(starts, stops, strict=True) if b - a > 30.0]


def _name(flat: Flat, plank: Plank, marks: Sequence[_Mark]) -> Iterator[Item]:
    """Letter the name large in the middle bay and in every fifth from it."""
    bays = _bays(flat, marks)
    if not bays:
        yield from _name_outside(flat, plank)
        return
    for a, b in bays[len(bays) // 2 % 5 :: 5]:
        middle = (a + b) / 2
        long = min(b - a, 150.0)
        low, high = flat.room(middle - long / 2, middle + long / 2)
        size = min(22.0, 0.4 * (high - low), long / width_mm(plank.name, 1.0, "Sans-Semibold"))
        if size >= 3.0:
            y = _clear_of_batten((low, high), size)
            yield Text(
                "name", (middle, y), plank.name, size, "centre", "middle", face="Sans-Semibold"
            )


def _name_outside(flat: Flat, plank: Plank) -> Iterator[Item]:
    left, right = flat.ends
    at = ((left + right) / 2, float(flat.ring[:, 1].min()) - 4.0)
    yield Text("name", at, plank.name, 8.0, "centre", "top", face="Sans-Semibold")


def _clear_of_batten(room: tuple[float, float], size: float) -> float:
    """Give the height at which lettering stands clear of the batten line, or the middle."""
    low, high = room
    middle = (low + high) / 2
    if abs(middle) > size / 2 + 1.5:
        return middle
    above = size / 2 + 2.0
    return above if above + size / 2 < high - 2.0 else middle


def _signs(flat: Flat, marks: Sequence[_Mark]) -> Iterator[Item]:
    """Mark upper and lower, the fore end, and the way the grain is to run."""
    bays = _bays(flat, marks)
    lie = least_lie(flat.ring)
    for a, b in bays[(len(bays) // 2 + 2) % 5 :: 5]:
        low, high = flat.room(a, min(b, a + 110.0))
        size = min(4.0, (high - low) / 12)
        if size >= 1.8:
            yield Text("signs", (a, high - 2.2), "upper edge", size, rest="top", face="Sans-Italic")
            yield Text("signs", (a, low + 2.2), "lower edge", size, face="Sans-Italic")
            yield from _grain((a, b), (low, high), lie, size)


def _grain(
    bay: tuple[float, float], room: tuple[float, float], lie: float, size: float
) -> Iterator[Item]:
    """Draw the grain's arrow as the narrowest blank lies, between the words of both edges."""
    long, c, s = min(bay[1] - bay[0], 140.0), math.cos(lie), math.sin(lie)
    tall = long * abs(s) + size + 2.0
    low, high = room[0] + size + 4.0, room[1] - size - 4.0
    below, above = (low, min(high, -2.0)), (max(low, 2.0), high)  # of the batten line
    low, high = max(below, above, key=lambda free: free[1] - free[0])
    if high - low < tall:
        return
    y = (low + high - tall) / 2 + (0.0 if s > 0 else long * abs(s))
    start, end = (bay[0], y), (bay[0] + long * c, y + long * s)
    yield Polyline("signs", (start, end))
    yield _head(start, (c, s))
    yield _head(end, (-c, -s))
    at = (bay[0] + 7.0 * c - 1.2 * s, y + 7.0 * s + 1.2 * c)
    yield Text("signs", at, "grain", size, turn_rad=lie, face="Sans-Italic")


def _head(tip: Point, way: Point) -> Polyline:
    """Draw an arrowhead, its wings from the tip along `way`, a unit vector."""
    (x, y), (c, s) = tip, way
    wings = [(x + 5 * c - k * 1.2 * s, y + 5 * s + k * 1.2 * c) for k in (-1, 1)]
    return Polyline("signs", (wings[0], tip, wings[1]))


def _fore(flat: Flat, taken: Labels) -> Iterator[Item]:
    """Write "fore" at the fore end with an arrowhead towards it, in the first place free."""
    way = flat.fore
    align: Literal["left", "right"] = "left" if way < 0 else "right"
    text = Text("signs", (0.0, 0.0), "fore", 5.0, align, "middle", face="Sans-SemiboldItalic")
    tip = _fore_tip(flat, text, taken)
    x, y = tip
    yield Polyline("signs", ((x - way * 6, y + 2.4), tip, (x - way * 6, y - 2.4)))
    yield replace(text, at=(x - way * 8.0, y))


def _fore_tip(flat: Flat, text: Text, taken: Labels) -> Point:
    """Give where the arrow's tip may stand: in the plank near its end, else below it."""
    way, end = flat.fore, (-1 if flat.fore > 0 else 0)
    (low_x, low_y), (high_x, high_y) = flat.lower[end], flat.upper[end]
    for back in (4.0, 40.0, 100.0, 180.0):
        for share in (0.72, 0.28, 0.5):
            y = low_y + share * (high_y - low_y)
            near = np.interp([y - 4.0, y + 4.0], [low_y, high_y], [low_x, high_x]) * way
            x = way * (float(near.min()) - back)
            box = text_box(text, (x - way * 8.0, y)).grown(1.5)
            box = replace(box, left=min(x, box.left), right=max(x, box.right))
            low, high = flat.room(box.left, box.right)
            if low < box.lower and box.upper < high and taken.free(box) and abs(y) > 4.5:
                return x, float(y)
    return way * (way * float(flat.lower[end, 0]) - 4.0), float(flat.ring[:, 1].min()) - 24.0


def _legend(shape: Shape, plank: Plank, bench: Bench, doubts: Sequence[str]) -> Iterator[Item]:
    """Set the legend upwards from the margin's corner: check bar, doubts, how to use, name."""
    x, y = MARGIN_MM, MARGIN_MM
    yield from check_bar((x, y + 10.0), bench.unit, 100.0, CAP_MM)
    y += 19.0
    told: list[tuple[str, str]] = [("notes", line) for line in _how(shape, plank, bench)]
    told += [("doubtful", f"In doubt: {doubt}") for doubt in few(doubts)]
    lines = [(layer, line) for layer, text in told for line in wrap(text, LEGEND_MM, CAP_MM)]
    for layer, line in reversed(lines):
        yield Text(layer, (x, y), line, CAP_MM)
        y += _LINE
    y += 1.6
    said = [bench.vessel, bench.yard, bench.date, f"revision {bench.revision}".strip()]
    under = ", ".join(part for part in said if part and part != "revision")
    yield Text("notes", (x, y), under, 3.2, face="Serif-Italic")
    yield Text("name", (x, y + 7.0), plank.name, 10.0, face="Sans-Semibold")
    beside = x + width_mm(plank.name, 10.0, "Sans-Semibold") + 6.0
    yield Text("name", (beside, y + 7.0), f"pattern, full size, {plank.side}", 4.0, face="Serif")


def _how(shape: Shape, plank: Plank, bench: Bench) -> tuple[str, ...]:
    mate = "starboard" if plank.side == "port" else "port"
    long = format_length(plank.length_mm, bench.unit)
    return (
        (
            f"Seen from outboard. Lay it on the outer face of the {plank.side} plank; on the "
            f"inner face it gives its mate to {mate}, where the two sides are the same."
        ),
        (
            "The outline is the INNER face, the one that lies on the frames, with no allowance on "
            "it. A bevel fits an edge to its neighbour: how far it leans from square to that face, "
            f"in degrees and as rise on {rise_base(bench.unit)}."
        ),
        *_order_of_cutting(shape, plank, bench),
        *scarfs_said(shape, bench.unit),
        (
            "Frame lines lie as the frames cross the plank, and so lean; a bevel is for where its "
            "line meets the edge. Beside each number, the distance along the batten to where they "
            f"meet. The plank is about {long} long."
        ),
    )


def _order_of_cutting(shape: Shape, plank: Plank, bench: Bench) -> tuple[str, ...]:
    """Say in what order to cut: where the outer face is the wider, wood is left on first."""
    plus = (
        "Bevel without a sign: the OUTER face is the narrower. Cut square to the outline, then "
        "plane the bevel off towards the outer face."
    )
    opens = tuple(filter(None, [caulking_bevel(shape, plank, bench.unit)]))
    if not marked_minus(shape):
        return (plus, *opens)
    if not leans_out(shape, plank, bench.unit):
        least = "1/16 in" if imperial(bench.unit) else "1 mm"
        hair = (
            f"Bevel marked −: the OUTER face is the wider, by less than {least} of what is left at "
            "last. Cut outside the line, and plane to it on the inner face."
        )
        return (hair, plus, *opens)
    reach = format_length(outside_mm(shape, plank), bench.unit)
    much = f", here up to {reach}" if plank.dressed_mm else ""
    minus = (
        f"Bevel marked −: the OUTER face is the wider. 1, leave wood on outside the outline{much}. "
        "2, cut square to the line so left. 3, plane the bevel in to the outline on the inner "
        "face. Cut square to the outline itself, the outer face would be too narrow and the "
        "plank lost."
    )
    return (minus, plus, *opens)
