"""Alternatives as points over two measures, with those that no other beats marked.

A *point* is an alternative; its *kind* says how it stands: "front" (no other is better in one of
the two measures and as good in the other), "beaten", or "faulty" (a rule is broken in it; it is
shown, and never counted). The step line runs along the front: no alternative planned lies beyond
it. Points at the same place share one mark, and their names stand in one line.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from ribband.drawing.layout import Air, Drawing, Sign, lay_on, room_on
from ribband.drawing.sheet import Box, Item, Mark, Page, Point, Polyline, Sheet, Text, Title

__all__ = ["Axis", "Plotted", "trade_off"]

_CAP, _SMALL = 2.0, 1.7  # mm, lettering
_NAMES = 3  # of alternatives at one place that are spelled out
_STEPS = (1.0, 2.0, 5.0)  # a scale goes up in these
_NOTES = (
    "Only what was planned is compared; a search that did not finish may have done better.",
    "A point that breaks a rule is shown and not counted. The surveyor's word comes first.",
)

Kind = Literal["front", "beaten", "faulty"]


@dataclass(frozen=True, slots=True)
class Axis:
    """A measure: what it says, how a value is written, and which way is better.

    grain : the size of the unit it is written in, so that the scale goes up in round figures
    """

    says: str
    written: Callable[[float], str]
    better: Literal["less", "more"] = "less"
    grain: float = 1.0


@dataclass(frozen=True, slots=True)
class Plotted:
    """An alternative: its two measures and how it stands."""

    name: str
    x: float
    y: float
    kind: Kind


@dataclass(frozen=True, slots=True)
class _Scale:
    """A scale from one round number to another over a length, mm."""

    low: float
    high: float
    step: float
    length: float

    def at(self, value: float) -> float:
        return self.length * (value - self.low) / (self.high - self.low)

    def ticks(self) -> list[float]:
        count = round((self.high - self.low) / self.step)
        return [self.low + n * self.step for n in range(count + 1)]


def trade_off(
    points: Sequence[Plotted], across: Axis, up: Axis, title: Title, page: Page
) -> tuple[Sheet, ...]:
    """Draw the trade-off on one sheet.

    Raises
    ------
    ValueError : there is no point to draw
    """
    if not points:
        raise ValueError("there is nothing planned to draw")
    signs = tuple(_sign(kind, points) for kind in ("front", "beaten", "faulty"))
    air = Air(22.0, 14.0, 26.0, 6.0)
    room = room_on(page, _NOTES, signs)
    x = _scale([p.x for p in points], room.width - air.left - air.right, across.grain)
    y = _scale([p.y for p in points], room.height - air.lower - air.upper, up.grain)
    items = (*_axes(x, y, across, up), *_front(points, x, y, across, up), *_marks(points, x, y))
    box = Box(0.0, 0.0, x.length, y.length)
    drawing = Drawing("trade-off", items, box, air, _NOTES, signs, to_scale=False)
    return lay_on(drawing, page, title, 1.0)


def _scale(values: Sequence[float], length: float, grain: float = 1.0) -> _Scale:
    """Choose round ends and steps, with a little air round the values.

    >>> _scale([9.0, 12.0], 100.0).ticks()
    [8.5, 9.0, 9.5, 10.0, 10.5, 11.0, 11.5, 12.0, 12.5]
    """
    low, high = min(values) / grain, max(values) / grain
    span = (high - low) or abs(high) * 0.1 or 1.0
    least = span / 8
    power = 10.0 ** math.floor(math.log10(least))
    step = next((s * power for s in (*_STEPS, 10.0) if s * power >= least), 10.0 * power)
    start = math.floor((low - 0.06 * span) / step) * step
    end = math.ceil((high + 0.06 * span) / step) * step
    return _Scale(start * grain, end * grain, step * grain, length)


def _axes(x: _Scale, y: _Scale, across: Axis, up: Axis) -> Iterator[Item]:
    for value in x.ticks():
        at = x.at(value)
        yield Polyline("grid", ((at, 0.0), (at, y.length)))
        yield Text("frame numbers", (at, -4.2), across.written(value), _SMALL, "centre")
    for value in y.ticks():
        at = y.at(value)
        yield Polyline("grid", ((0.0, at), (x.length, at)))
        yield Text("frame numbers", (-2.0, at), up.written(value), _SMALL, "right", "middle")
    yield Polyline("rules", ((0.0, y.length), (0.0, 0.0), (x.length, 0.0)))
    face = "Sans-Semibold"
    yield Text("notes", (x.length / 2, -10.0), _said(across), _CAP, "centre", face=face)
    yield Text(
        "notes", (-18.0, y.length / 2), _said(up), _CAP, "centre", turn_rad=math.pi / 2, face=face
    )


def _said(axis: Axis) -> str:
    return f"{axis.says} ({axis.better} is better)"


def _front(
    points: Sequence[Plotted], x: _Scale, y: _Scale, across: Axis, up: Axis
) -> Iterator[Item]:
    """Step along the front: what lies on the better side of the line, nobody planned."""
    sign = 1.0 if across.better == "less" else -1.0
    own = sorted({(p.x, p.y) for p in points if p.kind == "front"}, key=lambda at: sign * at[0])
    corners: list[Point] = []
    for at in own:
        if corners:
            corners.append((x.at(at[0]), corners[-1][1]))
        corners.append((x.at(at[0]), y.at(at[1])))
    if len(corners) > 1:
        yield Polyline("distances", tuple(corners))


def _marks(points: Sequence[Plotted], x: _Scale, y: _Scale) -> Iterator[Item]:
    places: dict[tuple[float, float], list[Plotted]] = {}
    for point in points:
        places.setdefault((point.x, point.y), []).append(point)
    lettered: list[tuple[float, float]] = []
    for (px, py), own in sorted(places.items(), key=lambda place: _rank(place[1])):
        at = (x.at(px), y.at(py))
        kind = min(own, key=lambda p: _RANK[p.kind]).kind
        yield _MARKS[kind](at)
        if all(abs(at[1] - b) > 2.6 or abs(at[0] - a) > 30.0 for a, b in lettered):
            lettered.append(at)
            yield Text("plank names", (at[0] + 2.2, at[1]), _names(own), _SMALL, rest="middle")


_RANK: dict[Kind, int] = {"front": 0, "beaten": 1, "faulty": 2}
_MARKS: dict[Kind, Callable[[Point], Item]] = {
    "front": lambda at: Mark("butts", at, "dot", 2.2),
    "beaten": lambda at: Mark("measured", at, "ring", 2.0),
    "faulty": lambda at: Mark("doubtful", at, "cross", 2.0),
}


def _rank(own: Sequence[Plotted]) -> int:
    return min(_RANK[p.kind] for p in own)


def _names(own: Sequence[Plotted]) -> str:
    more = f" and {len(own) - _NAMES} more" if len(own) > _NAMES else ""
    return "; ".join(p.name for p in own[:_NAMES]) + more


def _sign(kind: Kind, points: Sequence[Plotted]) -> Sign:
    count = sum(p.kind == kind for p in points)
    says = {
        "front": "none better in one and as good in the other",
        "beaten": "another is better",
        "faulty": "breaks a rule",
    }
    return Sign((_MARKS[kind]((0.0, 0.0)),), f"{says[kind]}: {count}")
