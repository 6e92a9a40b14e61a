"""Papers of the plan of work: the calendar file and the bars.

The calendar file is an iCalendar (RFC 5545) that any calendar opens: an event for every stretch a
step is worked on (of a hand, while he is at it), and in the whole plan's one for each of the days
it is likely to end: its own last day is that without mishap. Times float: they are the yard's own
clock. Identifiers come from plank, operation, part and hand, so that a new file moves the old
events.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, date, datetime
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from ribband.app.papers.drawings import Paper, named_after
from ribband.app.papers.whole import into_file, into_folder
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.runner import quiet
from ribband.errors import InputError, Problem

if TYPE_CHECKING:
    from icalendar import Event

    from ribband.drawing.sheet import Sheet
    from ribband.shop.work.model import WorkPlan
    from ribband.shop.work.whole import Worked

__all__ = ["bars_of", "calendar_text", "draw_bars", "work_papers", "write_calendar"]

LIKELY = ((0.5, "as like as not"), (0.9, "nine times in ten"))  # parts of the runs, in words
IN_CALENDAR = ("steam", "hang", "fasten")


def write_calendar(
    job: Path, path: Path | None = None, hand: str = "", *, tell: Tell = quiet
) -> Path:
    """Write the calendar file of a job, of one hand's steps where named.

    Raises
    ------
    InputError, JobFileError
    """
    planned = plan(job, "work", tell=tell)
    worked = _worked(planned)
    if hand and hand not in {h.name for h in worked.work.crew}:
        names = ", ".join(h.name for h in worked.work.crew)
        raise InputError([Problem("crew", 0, "name", hand, f"one of {names}")])
    vessel = named_after(planned.run.bench.survey.particulars.vessel, planned.job.stem)
    out = path or planned.job.with_name(f"{vessel} {hand or 'plan of work'}.ics")
    text = calendar_text(worked, vessel, planned.made.at, hand)
    return into_file(out, lambda part: part.write_bytes(text))


def calendar_text(worked: Worked, vessel: str, at: str, hand: str = "") -> bytes:
    """Give the iCalendar text: steaming, hanging and fastening; of a hand, all he is at.

    `at` is when the inputs were taken in; events are stamped with it, so that the same inputs
    give the same file.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("prodid", "-//Ribband//Plan of work//EN")
    calendar.add("version", "2.0")
    calendar.add("x-wr-calname", f"{vessel}: {hand or 'plan of work'}")
    stamp = _stamp(at)
    if worked.plan.steps:
        calendar.add("description", _likely(worked))  # RFC 7986, 5.2
        for part, day in () if hand else LIKELY:
            calendar.add_component(_last_day(worked, part, f"{vessel}: {day} planked", stamp))
    for number, crew in enumerate(worked.plan.crews()):
        for event in _events(worked.plan, number, crew, vessel, hand):
            event.add("dtstamp", stamp)
            calendar.add_component(event)
    return bytes(calendar.to_ical())


def draw_bars(
    job: Path, folder: Path, paper: Paper, formats: Sequence[str], *, tell: Tell = quiet
) -> tuple[Path, ...]:
    """Draw the plan of work as bars into a folder.

    Raises
    ------
    InputError, JobFileError
    """
    planned = plan(job, "work", tell=tell)
    return _bars_written(bars_of(planned, paper), folder, formats)


def work_papers(planned: Planned, out: Path, paper: Paper) -> tuple[Path, ...]:
    """Write a plan's calendar file into a folder and its bars among the drawings; gives the bars.

    Nothing is written where nothing is planned.
    """
    worked: Worked | None = planned.run.result("work")
    if worked is None or not worked.plan.steps:
        return ()
    vessel = named_after(planned.run.bench.survey.particulars.vessel, planned.job.stem)
    diary = out / f"{vessel} plan of work.ics"
    text = calendar_text(worked, vessel, planned.made.at)
    into_file(diary, lambda part: part.write_bytes(text))
    return _bars_written(bars_of(planned, paper), out / "drawings", ("pdf", "svg"))


def _bars_written(
    sheets: Sequence[Sheet], folder: Path, formats: Sequence[str]
) -> tuple[Path, ...]:
    return into_folder(folder, lambda into: _bars_in(sheets, into, formats))


def _bars_in(sheets: Sequence[Sheet], folder: Path, formats: Sequence[str]) -> list[Path]:
    from ribband.drawing import pdf, svg

    paths: list[Path] = []
    if "pdf" in formats:
        paths.append(folder / "work.pdf")
        pdf.write(sheets, paths[-1])
    if "svg" in formats:
        for n, sheet in enumerate(sheets, start=1):
            paths.append(folder / (f"work-{n}.svg" if len(sheets) > 1 else "work.svg"))
            svg.write(sheet, paths[-1])
    return paths


def bars_of(planned: Planned, paper: Paper) -> tuple[Sheet, ...]:
    """Give the sheets of the bars.

    Raises
    ------
    InputError : the paper is not known, or nothing is left to do
    """
    from ribband.drawing.board import Setting
    from ribband.drawing.sheet import Page
    from ribband.drawing.views.work_bars import work_bars

    worked = _worked(planned)
    try:
        setting = Setting(
            Page.of(paper.size), date=planned.made.at[:10], revision=str(planned.revision)
        )
        own = worked.work.hanging, worked.plan, worked.forecast
        return work_bars(planned.run.bench.hull, *own, setting=setting)
    except ValueError as wrong:
        raise InputError([Problem("drawing", 0, "paper", paper.size, str(wrong), "A3")]) from wrong


def _worked(planned: Planned) -> Worked:
    worked: Worked | None = planned.run.result("work")
    if worked is None:
        wanted = f"a job whose work is planned. {planned.run.stopped}".strip()
        raise InputError([Problem("work", 0, "", "no plan of work", wanted)])
    return worked


def _stamp(at: str) -> datetime:
    when = datetime.fromisoformat(at)
    return when.astimezone(UTC) if when.tzinfo else when.replace(tzinfo=UTC)


def _likely(worked: Worked) -> str:
    spread = worked.forecast
    return (
        f"As like as not done by {spread.by[0.5]}, nine times in ten by {spread.by[0.9]}. The plan "
        f"here ends {worked.plan.last_day}, {spread.without_mishap}."
    )


def _last_day(worked: Worked, part: float, summary: str, stamp: datetime) -> Event:
    """Give the whole day by which a part of the runs has ended."""
    from icalendar import Event

    event = Event()
    event.add("uid", f"{summary}@ribband".replace(" ", "-"))
    event.add("dtstamp", stamp)
    event.add("dtstart", date.fromisoformat(worked.forecast.by[part]))
    event.add("summary", summary)
    event.add("description", _likely(worked))
    event.add("transp", "TRANSPARENT")
    return event


def _events(
    plan: WorkPlan, number: int, crew: Sequence[str], vessel: str, hand: str
) -> Iterator[Event]:
    """Give a step's events, one for every stretch it is worked on; of a hand, while he is at it.

    What is broken off at night goes on the next working day, and what is broken off for dinner
    after it: no event runs through either.
    """
    from icalendar import Event

    step = plan.steps[number]
    if not hand and step.operation not in IN_CALENDAR:
        return
    spans = [(step.start, step.end)]
    if hand:
        spans = [(s.start, s.end) for s in plan.stints if s.step == number and s.hand == hand]
    pauses = sorted({*plan.days.breaks(), *plan.days.pauses()})
    parts = [part for span in spans for part in _parted(*span, pauses)]
    for n, (start, end) in enumerate(parts, start=1):
        event = Event()
        more = f"-{n}" if n > 1 else ""
        whose = f"-{hand}" if hand else ""
        uid = f"{step.plank}-{step.operation}{more}-{vessel}{whose}@ribband"
        event.add("uid", uid.replace(" ", "-"))
        event.add("dtstart", plan.days.at(start))
        event.add("dtend", plan.days.at(end, end=True))
        of = f", part {n} of {len(parts)}" if len(parts) > 1 else ""
        event.add("summary", f"{step.operation} {step.plank}{of}")
        event.add("description", ", ".join(crew) or "the box is tended between other work")
        yield event


def _parted(start: int, end: int, pauses: Sequence[int]) -> Iterator[tuple[int, int]]:
    """Part slots of working time where work pauses.

    >>> list(_parted(90, 200, [54, 96, 150, 192])), list(_parted(0, 54, [54]))
    ([(90, 96), (96, 150), (150, 192), (192, 200)], [(0, 54)])
    """
    inside = [pause for pause in pauses if start < pause < end]
    yield from pairwise([start, *inside, end])
