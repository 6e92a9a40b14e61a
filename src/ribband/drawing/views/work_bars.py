"""The plan of work as bars: a row a plank in its order of hanging, a column a working day.

A bar is a stretch of work on the plank: at the bench (pattern to hollow), in the steam box, on the
hull (hang), fastened and bunged, caulked. Bars of steps that follow each other without a wait run
together. Days are working days; the dates stand at the head of each week.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date

from ribband.drawing.board import Setting, titled
from ribband.drawing.layout import Air, Drawing, Sign, lay_on, room_on
from ribband.drawing.lettering import width_mm
from ribband.drawing.sheet import Box, Fill, Item, Point, Polyline, Sheet, Text
from ribband.hull.model import Hull
from ribband.shop.hanging.model import Hanging
from ribband.shop.work.forecast import Forecast
from ribband.shop.work.model import Step, WorkPlan

__all__ = ["work_bars"]

_LINE, _BAR, _CAP, _HEAD = 3.6, 2.2, 1.6, 9.0  # mm: row, bar, lettering, heading
_DAY = (3.2, 25.0)  # mm: least and most for a day
_KINDS = {
    "at the bench": ("#c9c2ae", ("pattern", "get out", "plane", "bevel", "hollow")),
    "in the steam box": ("#9a2a1c", ("steam",)),
    "hung": ("#1b1b1b", ("hang",)),
    "fastened and bunged": ("#274a6d", ("fasten", "bung")),
    "caulked": ("#7d9bb5", ("caulk",)),
}
_NOTES = (
    "Working days only; the date is of the first one of a week.",
    "The plan says when, not how: steam, saws and lifts hurt. Local rules come first.",
)


def _notes(plan: WorkPlan, spread: Forecast | None) -> tuple[str, ...]:
    """Lead with the days the work is likely to end; the bars' own last is said to be the plan's."""
    if spread is None:
        return (f"The bars end {_day(plan.last_day)} without any mishap.", *_NOTES)
    likely = (
        f"As like as not done by {_day(spread.by[0.5])}, nine times in ten by "
        f"{_day(spread.by[0.9])}. The bars end {_day(plan.last_day)}, {spread.without_mishap}."
    )
    return (likely, *_NOTES)


def _day(text: str) -> str:
    when = date.fromisoformat(text)
    return f"{when:%a} {when.day} {when:%b %Y}"


@dataclass(frozen=True, slots=True)
class _Frame:
    """The grid of a sheet: where rows and days lie, mm."""

    plan: WorkPlan
    named: float
    day: float
    first: int
    days: int

    def x(self, slot: float) -> float:
        """Give where a slot lies across."""
        return self.named + (slot / self.plan.days.slots - self.first) * self.day


def work_bars(
    hull: Hull,
    hanging: Hanging,
    plan: WorkPlan,
    spread: Forecast | None = None,
    *,
    setting: Setting = Setting(),  # noqa: B008 - frozen
) -> tuple[Sheet, ...]:
    """Draw the plan of work on as many sheets as it needs; by `spread` the likely days are said.

    Raises
    ------
    ValueError : there is nothing left to do
    """
    order = [place.plank for place in hanging.places]
    by_plank = {name: [s for s in plan.steps if s.plank == name] for name in order}
    planks = [name for name in order if by_plank[name]]
    if not planks:
        raise ValueError("nothing is left to do: there are no bars to draw")
    signs = tuple(_sign(name) for name in _KINDS)
    notes = _notes(plan, spread)
    room = room_on(setting.page, notes, signs)
    named = max(width_mm(name, _CAP) for name in planks) + 4.0
    rows = max(1, int((room.height - _HEAD - 2) // _LINE))
    whole = -(-plan.end // plan.days.slots)
    across = max(1, int((room.width - named) // _DAY[0]))
    drawings = [
        replace(_drawing(by_plank, planks[at : at + rows], frame), notes=notes)
        for day in range(0, whole, across)
        for frame in (_frame(plan, named, day, across, whole, room),)
        for at in range(0, len(planks), rows)
        if _seen(plan, by_plank, planks[at : at + rows], day, across)
    ]
    title = titled(hull, "Plan of work", setting, "both sides")
    return lay_on(drawings, setting.page, title, 1.0, unit=hull.particulars.unit)


def _frame(  # noqa: PLR0917 - measures of a sheet
    plan: WorkPlan, named: float, first: int, across: int, whole: int, room: Box
) -> _Frame:
    days = min(across, whole - first)
    return _Frame(plan, named, min(_DAY[1], (room.width - named) / days), first, days)


def _seen(
    plan: WorkPlan, steps: dict[str, list[Step]], planks: Sequence[str], first: int, days: int
) -> bool:
    """Tell whether anything is done to these planks on these days."""
    a, b = first * plan.days.slots, (first + days) * plan.days.slots
    return any(step.start < b and step.end > a for name in planks for step in steps[name])


def _drawing(steps: dict[str, list[Step]], planks: Sequence[str], frame: _Frame) -> Drawing:
    low = -_HEAD - _LINE * len(planks)
    right = frame.named + frame.day * frame.days
    items = [*_grid(frame, low, right)]
    for n, name in enumerate(planks):
        y = -_HEAD - _LINE * (n + 1)
        if n % 2:
            items.insert(0, Fill("bands", _corners(0.0, y, right, y + _LINE)))
        items.append(Text("plank names", (1.0, y + 1.0), name, _CAP, face="Sans-Semibold"))
        items += _bars(steps[name], frame, y)
    signs = tuple(_sign(name) for name in _KINDS)
    box = Box(0.0, low, right, 0.0)
    return Drawing("work", tuple(items), box, Air(0, 0, 0, 1), (), signs, to_scale=False)


def _grid(frame: _Frame, low: float, right: float) -> Iterator[Item]:
    yield Polyline("rules", ((0.0, -_HEAD), (right, -_HEAD)))
    yield Polyline("rules", ((0.0, low), (right, low)))
    before = -1
    for n in range(frame.days):
        day = date.fromisoformat(frame.plan.days.days[frame.first + n])
        x = frame.named + n * frame.day
        week = day.isocalendar().week
        new = week != before
        yield Polyline("frames" if new else "grid", ((x, low), (x, -_HEAD)))
        if new:
            yield Text("frame numbers", (x, -3.6), f"{day.day} {day:%b}", _CAP, face="Sans-Italic")
        before = week
        yield Text("frame numbers", (x + frame.day / 2, -7.6), f"{day:%a}"[:1], 1.3, "centre")


def _bars(steps: Sequence[Step], frame: _Frame, y: float) -> Iterator[Item]:
    first, last = (d * frame.plan.days.slots for d in (frame.first, frame.first + frame.days))
    for colour, start, end in _joined(steps):
        a, b = max(start, first), min(end, last)
        if a < b:
            low = y + (_LINE - _BAR) / 2
            yield Fill("bars", _corners(frame.x(a), low, frame.x(b), low + _BAR), colour)


def _joined(steps: Sequence[Step]) -> list[tuple[str, int, int]]:
    """Give (colour, from, to) of stretches of work of one kind that touch."""
    colour = {op: colour for colour, operations in _KINDS.values() for op in operations}
    found: list[tuple[str, int, int]] = []
    for step in sorted(steps, key=lambda s: s.start):
        own = (colour[step.operation], step.start, step.end)
        if found and found[-1][0] == own[0] and found[-1][2] == own[1]:
            own = (own[0], found.pop()[1], own[2])
        found.append(own)
    return found


def _sign(kind: str) -> Sign:
    return Sign((Fill("bars", _corners(-3.5, -1.0, 3.5, 1.0), _KINDS[kind][0]),), kind)


def _corners(left: float, lower: float, right: float, upper: float) -> tuple[Point, ...]:
    return ((left, lower), (right, lower), (right, upper), (left, upper))
