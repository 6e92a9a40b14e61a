"""The tables of the work: planks in their order, every step of the plan, and the log as kept.

Times are as the plan has them, "2027-03-01 07:30"; an end is the evening rather than the next
morning.

Not checked here: the plan; the tables carry the findings beside them.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from ribband.store.table_model import Column, Link, Shape
from ribband.store.table_model import must as _must
from ribband.store.table_model import number as _number
from ribband.store.table_model import text as _text

if TYPE_CHECKING:
    from ribband.shop.hanging.model import Hanging
    from ribband.shop.work.model import Step, WorkPlan
    from ribband.shop.work.whole import Worked

__all__ = ["WORK_SHAPES", "filled_work"]

Values = tuple[Any, ...]
OF_PLANK = Link("plank", "planks", "plank")
STATES = (
    "patterned", "got out", "planed", "bevelled", "hollowed", "steamed", "hung", "fastened",
    "bunged", "caulked", "spoilt",
)  # fmt: skip

WORK_SHAPES = (
    Shape(
        "sequence",
        "a plank in the order of work",
        (
            _must("plank", "its name"),
            Column("place", "integer", "in the order of hanging, from 1"),
            _text("start", "when its first step begins; empty where nothing is left to do"),
            _text("end", "when its last step ends"),
            _text("crew", "who hangs it, parted by ;"),
            _text("steam_start", "into the box"),
            _text("steam_end", "out of the box and on to the hull"),
            _text("hang_start", "offered up"),
            _text("hang_end", "on the frames"),
            _text("needs", "planks that must be fast before, parted by ;"),
            _text("says", "why it comes there"),
        ),
        ("plank",),
        (OF_PLANK,),
    ),
    Shape(
        "steps",
        "a step of the plan of work",
        (
            _must("plank", "its name"),
            _must("operation", "what is done to it"),
            _text("start", "when it begins"),
            _text("end", "when it ends"),
            Column("hands", "integer", "at it at once"),
            _number("hours", "man-hours by the rates, with what the log taught"),
            _text("crew", "who, parted by ;"),
        ),
        ("plank", "operation"),
        (OF_PLANK,),
    ),
    Shape(
        "log",
        "a step done on a plank",
        (
            _must("plank", "its name, as logged"),
            _must("state", "what it has come to", *STATES),
            _text("at", "date, or date and clock, as logged"),
            _text("by", "the hands, parted by ;"),
            _text("note", "as logged"),
        ),
    ),
)


def filled_work(hanging: Hanging | None, worked: Worked | None) -> dict[str, list[Values]]:
    """Give the rows of the tables that can be filled.

    >>> filled_work(None, None)
    {}
    """
    tables: dict[str, list[Values]] = {}
    if hanging is not None:
        tables["sequence"] = list(_sequence(hanging, worked.plan if worked else None))
    if worked is not None and worked.plan.steps:
        tables["steps"] = list(_steps(worked.plan))
    if worked is not None and worked.log:
        tables["log"] = [(e.plank, e.state, e.at, "; ".join(e.by), e.note) for e in worked.log]
    return tables


def _sequence(hanging: Hanging, plan: WorkPlan | None) -> Iterator[Values]:
    own: dict[str, dict[str, tuple[int, Step]]] = {}
    crews = plan.crews() if plan else ()
    for n, step in enumerate(plan.steps if plan else ()):
        own.setdefault(step.plank, {})[step.operation] = (n, step)
    for place in hanging.places:
        steps = own.get(place.plank, {})
        crew = "; ".join(crews[steps["hang"][0]]) if "hang" in steps else ""
        first = min((step for _, step in steps.values()), key=lambda s: s.start, default=None)
        last = max((step for _, step in steps.values()), key=lambda s: s.end, default=None)
        yield (
            place.plank,
            place.place,
            *(_start(plan, first), _end(plan, last), crew),
            *_span(plan, steps.get("steam")),
            *_span(plan, steps.get("hang")),
            "; ".join(place.needs),
            place.says,
        )


def _steps(plan: WorkPlan) -> Iterator[Values]:
    for s, crew in zip(plan.steps, plan.crews(), strict=True):
        times = (_start(plan, s), _end(plan, s))
        yield (s.plank, s.operation, *times, s.hands, s.hours, "; ".join(crew))


def _span(plan: WorkPlan | None, found: tuple[int, Step] | None) -> tuple[str, str]:
    step = found[1] if found else None
    return _start(plan, step), _end(plan, step)


def _start(plan: WorkPlan | None, step: Step | None) -> str:
    return f"{plan.days.at(step.start):%Y-%m-%d %H:%M}" if plan and step else ""


def _end(plan: WorkPlan | None, step: Step | None) -> str:
    return f"{plan.days.at(step.end, end=True):%Y-%m-%d %H:%M}" if plan and step else ""
