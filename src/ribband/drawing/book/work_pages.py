"""Hanging in the book: the order, how the shutter was chosen, the plan of work and its forecast.

Planks of both sides that follow each other and are alike share a line. Not checked here: the
plan; its own check does that, and its findings are listed with the rest.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date, timedelta
from itertools import groupby
from typing import TYPE_CHECKING

from ribband.drawing.book.flow import Box, Story, heading, say
from ribband.drawing.book.model import Book
from ribband.drawing.book.table import Col, Line, Sum, Table
from ribband.drawing.book.words import LEGEND, count, mark
from ribband.shop.work.days import SLOT_MINUTES
from ribband.shop.work.model import HOT_OF_HANGING
from ribband.shop.work.stuff import timber_wanted
from ribband.units import in_unit

if TYPE_CHECKING:
    from ribband.shop.hanging.model import Hanging, Place
    from ribband.shop.work.model import Step, WorkPlan
    from ribband.shop.work.whole import Worked

__all__ = ["hanging"]

HOUR = SLOT_MINUTES / 60  # of a slot
KEEPS_SHAPE = (
    "That a hull keeps its shape with so much of it open is not known here: moulds and shores stay "
    "until the surveyor says otherwise, and the surveyor’s word comes before this order."
)
CARE = (
    "The plan says when, not how. Steam, saws, planers and lifts hurt; the rules of the place "
    "come before its hours, and a tired crew before its dates."
)


def hanging(book: Book) -> Story:
    """Set the part on hanging: order, shutter, plan of work, forecast."""
    story: Story = [heading("Hanging, and the plan of work", "hanging")]
    if book.hanging is None:
        return [*story, say("The order of hanging has not been worked out.")]
    return [
        *story,
        *_order(book.hanging, book.worked),
        *_shutter(book.hanging, book.unit),
        *(_plan(book, book.worked) if book.worked is not None else []),
    ]


def _order(own: Hanging, worked: Worked | None) -> Story:
    said = (
        f"{count(len(own.places), 'plank')}, garboards and sheer strakes first, both sides level, "
        "the shutters last. A plank is hung when those it needs are fastened."
    )
    hung = _hung(worked.plan) if worked else {}
    if worked and worked.plan.steps:
        likely, last = _day(worked.forecast.by[0.5]), _day(worked.plan.last_day)
        said += (
            f" The days are the plan’s, without any mishap: its last is {last}, the likely one "
            f"{likely}."
        )
    cols = [Col("place", "right"), Col("planks"), Col("face"), Col("needs fast before", share=1),
            Col("hung by the plan", share=0.7)]  # fmt: skip
    rows: list[Line] = [_order_row(twins, hung) for twins in _twins(own.places)]
    return [
        heading("The order of hanging", "order-of-hanging", 1),
        say(said),
        Box([say(KEEPS_SHAPE, "boxed")], loud=True),
        Table(cols, rows),
    ]


def _twins(places: Sequence[Place]) -> Iterator[tuple[Place, ...]]:
    """Give planks in order, a port and a starboard one that follow each other together."""
    n = 0
    while n < len(places):
        pair = places[n : n + 2]
        alike = len(pair) == 2 and pair[0].plank[1:] == pair[1].plank[1:]
        yield tuple(pair) if alike else (places[n],)
        n += 2 if alike else 1


def _order_row(twins: tuple[Place, ...], hung: dict[str, str]) -> tuple[str, ...]:
    first = twins[0]
    needs = ", ".join(name[1:] if len(twins) > 1 else name for name in first.needs)
    when = " · ".join(dict.fromkeys(hung.get(p.plank, "") for p in twins))
    return (
        "–".join(str(p.place) for p in twins),
        ", ".join(p.plank for p in twins),
        first.face,
        needs or "nothing",
        when or "hung, or nothing planned",
    )


def _hung(plan: WorkPlan) -> dict[str, str]:
    return {s.plank: _clock(plan, s) for s in plan.steps if s.operation == "hang"}


def _clock(plan: WorkPlan, step: Step) -> str:
    at = plan.days.at(step.start)
    return f"{at:%a} {at.day} {at:%b %H:%M}"


def _shutter(own: Hanging, unit: str) -> Story:
    if not own.looks:
        return []
    side = own.looks[0].plank[:1]
    rows: list[Line] = [
        (look.plank, f"{look.points:.1f}", in_unit(look.says, unit))
        for look in own.looks
        if look.plank.startswith(side)
    ]
    cols = [Col("plank"), Col("points against", "right"), Col("how it lies", share=1)]
    shut = " and ".join(own.shutters)
    said = (
        f"Last on each side: {shut}. Points count against a plank clear of keel and sheer for its "
        "sweep, twist and bend, for being out of reach or driven from below, and for a hood end."
    )
    return [heading("The shutter", "shutter", 1), say(said), Table(cols, rows, fives=False)]


def _plan(book: Book, worked: Worked) -> Story:
    plan = worked.plan
    story: Story = [heading("The plan of work", "plan-of-work", 1)]
    if not plan.steps:
        return [*story, say("Nothing is left to do: every step is logged.")]
    every = [measure.plank for measure in worked.work.measures]
    lacking = every if book.laid is None else book.laid.laying.unlaid
    without = [say(f"{f.says}; {f.why}.") for f in timber_wanted(plan, lacking)]
    hot = [say(HOT_OF_HANGING)] if plan.steams else []
    story += [say(_lead(worked)), *without, *hot, Box([say(CARE, "boxed")], loud=True)]
    return [*story, _weeks(plan), _hours(worked), *_taught(worked)]


def _lead(worked: Worked) -> str:
    plan, spread = worked.plan, worked.forecast
    by = spread.by
    gap = "proved the soonest there can be" if plan.proved else (
        f"no plan can end more than {100 * plan.gap:.1f} % sooner"
    )  # fmt: skip
    whose = ", the house’s own: fill in the form crew" if worked.assumed else ""
    finish = f", {worked.to_finish} that hang to be finished" if worked.to_finish else ""
    taught = "" if round(plan.hours) == round(worked.rated_hours) else (
        f" ({worked.rated_hours:.0f} by the rates, before what the log taught)"
    )  # fmt: skip
    return (
        f"{count(len(worked.work.crew), 'hand')}{whose}. As like as not done by {_day(by[0.5])}, "
        f"nine times in ten by {_day(by[0.9])}: from {len(spread.days)} runs with hours that "
        f"scatter, planks spoilt and days lost. {count(worked.to_hang, 'plank')} to be hung"
        f"{finish}; {plan.hours:.0f} man-hours{taught}, from {_day(plan.days.days[0])} to "
        f"{_day(plan.last_day)} {spread.without_mishap} ({gap}). {_not_in_it(worked)}"
    )


def _not_in_it(worked: Worked) -> str:
    """Say what has no hours in the plan."""
    unknown = "whether planks want steam or hollowing is not known, and neither has hours here; "
    spiled = any(measure.spiled for measure in worked.work.measures)
    return (
        f"Not in it: {unknown if spiled else ''}taking the old planks off, work on the frames, "
        "shoring and fairing the bottom afterwards."
    )


def _day(text: str) -> str:
    when = date.fromisoformat(text)
    return f"{when.day} {when:%b %Y}"


def _weeks(plan: WorkPlan) -> Table:
    """Sum the plan up week by week: planks hung, hours of all hands."""
    hung = [plan.days.at(s.start).date() for s in plan.steps if s.operation == "hang"]
    busy: dict[date, int] = {}
    for stint in plan.stints:
        for day in range(stint.start // plan.days.slots, (stint.end - 1) // plan.days.slots + 1):
            a, b = (n * plan.days.slots for n in (day, day + 1))
            week = _week(date.fromisoformat(plan.days.days[day]))
            busy[week] = busy.get(week, 0) + min(b, stint.end) - max(a, stint.start)
    weeks = {week: len(list(own)) for week, own in groupby(sorted(hung), key=_week)}
    every = sorted({*weeks, *busy})
    rows: list[Line] = [
        (_day(w.isoformat()), str(weeks.get(w, 0)), f"{busy.get(w, 0) * HOUR:.0f}") for w in every
    ]
    rows.append(Sum(("all", str(len(hung)), f"{sum(busy.values()) * HOUR:.0f}")))
    cols = [Col("week of"), Col("planks hung", "right"), Col("hours of all hands", "right")]
    foot = (
        f"Hours by the clock, each step to whole {SLOT_MINUTES} minutes: {plan.clock_hours:.0f} in "
        f"all, of the {plan.hours:.0f} man-hours of the steps."
    )
    return Table(cols, rows, fives=False, title="Week by week", foot=foot)


def _week(day: date) -> date:
    return day - timedelta(days=day.weekday())


def _hours(worked: Worked) -> Table:
    """List the operations with their hours and whose rates they are."""
    rows: list[Line] = []
    hours = worked.plan.by_operation
    for operation, steps in _by_operation(worked.plan).items():
        source = {r.source for r in worked.work.rates if r.operation == operation}
        signs = "".join("the yard" if s == "the yard" else mark(s) for s in sorted(source))
        rows.append((operation, str(len(steps)), str(hours[operation]), signs))
    rows.append(Sum(("all", "", str(sum(hours.values())), "")))
    cols = [Col("operation"), Col("planks", "right"), Col("man-hours", "right"), Col("rates")]
    foot = (
        "Of our own rates only the pace of a whole crew was told; the share of each operation is "
        f"the house’s, set so that together they give it. {LEGEND}"
    )
    return Table(cols, rows, fives=False, title="Operations", foot=foot)


def _by_operation(plan: WorkPlan) -> dict[str, list[Step]]:
    found: dict[str, list[Step]] = {}
    for step in plan.steps:
        found.setdefault(step.operation, []).append(step)
    return found


def _taught(worked: Worked) -> Story:
    rows: list[Line] = [
        (x.operation, str(x.logged), f"{x.factor:.2f}", x.says) for x in worked.learned if x.logged
    ]
    if not rows:
        return []
    cols = [Col("operation"), Col("steps logged", "right"), Col("of the rate", "right"),
            Col("", share=1)]  # fmt: skip
    return [Table(cols, rows, fives=False, title="What the log taught")]
