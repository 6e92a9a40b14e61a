"""Showing the order of hanging, the plan of work, its forecast, and what would come of a change.

Each answer also carries the same facts as plain data, in the columns of the open tables.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband import __version__
from ribband.app.plan.making import Made, Tell
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.runner import quiet
from ribband.app.plan.steps import kept_as
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.app.showing.whose import headed
from ribband.errors import InputError, Problem
from ribband.findings import Finding
from ribband.store import JobFile
from ribband.units import counted, format_length, in_unit, parse_length

if TYPE_CHECKING:
    from ribband.shop.hanging.model import Hanging
    from ribband.shop.work.compare import Case, Outcome
    from ribband.shop.work.forecast import Forecast
    from ribband.shop.work.learning import Learned
    from ribband.shop.work.model import WorkPlan
    from ribband.shop.work.whole import Worked
    from ribband.timber.laid import Laid

__all__ = [
    "CARE",
    "CHANCES",
    "cases_of",
    "day_findings",
    "day_said",
    "hanging_answer",
    "show_forecast",
    "show_hanging",
    "show_what_if",
    "show_work",
    "timber_findings",
    "what_if_answer",
    "work_answer",
    "work_lines",
]

HOURS_ONLY = "Longer boards: hours only; butts are not laid out again. All others as planned."
LIKELY_ONE = "The planned end is the day without any mishap; gained is of the likely one."
CARE = (
    "The plan says when, not how: steam, saws and lifts hurt. Local rules and the surveyor's word "
    "come before its hours."
)
KEEPS_SHAPE = (
    "That a hull keeps its shape with so much of it open is not known here: moulds, shores and the "
    "surveyor's word come first."
)
CHANCES = (
    "Hours scatter about their rates, planks are spoilt and days are lost by the rules of work; "
    "nobody changes the order as things go."
)
DAYS_SHOWN = 3


def day_said(day: str) -> str:
    """Say a date.

    >>> day_said("2027-03-01")
    'Mon 1 Mar 2027'
    """
    when = date.fromisoformat(day)
    return f"{when:%a} {when.day} {when:%b %Y}"


def show_hanging(path: Path, aside: Sequence[str] = (), *, tell: Tell = quiet) -> Answer:
    """Show the order of hanging and how the shutter was chosen.

    Raises
    ------
    InputError, JobFileError
    """
    planned = plan(path, "hanging", aside=aside, tell=tell)
    hanging: Hanging | None = planned.run.result("hanging")
    if hanging is None:
        return _not_so_far(planned, "The order of hanging")
    return replace(
        headed(planned, hanging_answer(hanging, planned.run.bench.unit)),
        findings=_of(planned, "hanging"),
        data={"sequence": _table("sequence", hanging, None), "shutters": hanging.shutters},
        good=planned.good,
    )


def hanging_answer(hanging: Hanging, unit: str) -> Answer:
    """Say the same of an order made already, without tables and findings."""
    rows = tuple(
        (str(p.place), p.plank, p.face, ", ".join(p.needs), p.says) for p in hanging.places
    )
    looks = tuple(
        (look.plank, f"{look.points:.1f}", in_unit(look.says, unit)) for look in hanging.looks
    )
    return Answer(
        title="The order of hanging",
        lines=(
            Line("planks", str(len(hanging.places))),
            Line("shutters", ", ".join(hanging.shutters), "hung last, one a side"),
            Line(
                "one side ahead",
                f"{counted(hanging.ahead, 'plank')} at most",
                "while both have planks left",
            ),
        ),
        listings=(
            Listing("Planks in order", ("", "plank", "face", "needs", "why here"), rows),
            Listing("Looked at for shutter", ("plank", "points against", "how it lies"), looks),
        ),
        notes=(KEEPS_SHAPE,),
    )


def show_work(
    path: Path, seconds: float | None = None, aside: Sequence[str] = (), *, tell: Tell = quiet
) -> Answer:
    """Show the plan of work; with `seconds` it is searched so long again and the better kept.

    Raises
    ------
    InputError, JobFileError
    """
    planned = plan(
        path, "work", aside=aside, tell=lambda p, w: tell(p * (0.4 if seconds else 1.0), w)
    )
    worked: Worked | None = planned.run.result("work")
    if worked is None:
        return _not_so_far(planned, "The plan of work")
    more: tuple[Line, ...] = ()
    if seconds is not None and not worked.plan.proved:
        worked, more = _longer(planned, worked, seconds, tell)
    own = worked.plan
    return replace(
        headed(planned, work_answer(worked, more)),
        findings=(*day_findings(planned, worked), *_timber(planned, worked), *_of(planned, "work")),
        data={
            name: _table(name, worked.work.hanging, worked) for name in ("sequence", "steps", "log")
        }
        | {"search": _search(own)},
        good=planned.good,
    )


def work_answer(worked: Worked, more: tuple[Line, ...] = ()) -> Answer:
    """Say the same of a plan made already, without tables and findings."""
    from ribband.shop.work.model import HOT_OF_HANGING

    own = worked.plan
    return Answer(
        title="The plan of work",
        lines=(*more, *work_lines(worked)),
        listings=(_by_operation(worked), _by_hand(own), _first_days(own), _taught(worked.learned)),
        notes=(CARE, *([HOT_OF_HANGING] if own.steams else [])),
    )


def _timber(planned: Planned, worked: Worked) -> tuple[Finding, ...]:
    """Say which planks have no board, by the laying kept of the job as it is, if there is one."""
    with JobFile.open(planned.job) as job:
        kept = job.kept(planned.run.keys["laying"])
    return timber_findings(worked, kept[0] if kept is not None else None)


def day_findings(planned: Planned, worked: Worked) -> tuple[Finding, ...]:
    """Doubt the first day the yard gave, by the day of asking; told and not kept."""
    from ribband.shop.work.first_day import first_day_doubted

    said = planned.run.bench.rules["work"].begins
    return first_day_doubted(said, worked.work.begins, datetime.now(UTC).date())


def timber_findings(worked: Worked, laid: Laid | None) -> tuple[Finding, ...]:
    """Say which planks are planned without a board; of all where nothing is laid."""
    from ribband.shop.work.stuff import timber_wanted

    every = [measure.plank for measure in worked.work.measures]
    return timber_wanted(worked.plan, every if laid is None else laid.laying.unlaid)


def show_forecast(path: Path, aside: Sequence[str] = (), *, tell: Tell = quiet) -> Answer:
    """Show when the last plank will be done, as a spread.

    Raises
    ------
    InputError, JobFileError
    """
    planned = plan(path, "work", aside=aside, tell=tell)
    worked: Worked | None = planned.run.result("work")
    if worked is None:
        return _not_so_far(planned, "The forecast")
    spread = worked.forecast
    rows = tuple(
        (f"{100 * part:.0f} in 100", day_said(day))
        for part, day in zip(spread.parts, spread.dates, strict=True)
    )
    said = Answer(
        title="When the last plank is done",
        lines=_forecast_lines(spread),
        listings=(Listing("Done by then in so many of the runs", ("runs", "day"), rows),),
        notes=(CHANCES,),
        findings=(*day_findings(planned, worked), *_of(planned, "work")),
        data={"parts": spread.parts, "dates": spread.dates, "days": spread.days},
        good=planned.good,
    )
    return headed(planned, said)


def show_what_if(  # noqa: PLR0917 - each is a change
    path: Path,
    hands: int = 0,
    gear: Sequence[tuple[str, int]] = (),
    boards: str = "",
    lost: float | None = None,
    seconds: float = 2.0,
    *,
    tell: Tell = quiet,
) -> Answer:
    """Show what would come of one more hand, more gear, longer boards, bad weather.

    `boards` is a length in the job's unit; `lost` a part of the days, 0 to 1.

    Raises
    ------
    InputError, JobFileError
    """
    planned = plan(path, "work", tell=lambda part, words: tell(0.4 * part, words))
    worked: Worked | None = planned.run.result("work")
    if worked is None:
        return _not_so_far(planned, "What if")
    cases = cases_of(planned, worked, hands, gear, boards, lost)
    said = what_if_answer(cases, seconds, lambda part, words: tell(0.4 + 0.6 * part, words))
    return headed(planned, said, whole="")


def what_if_answer(cases: Sequence[Case], seconds: float, tell: Tell = quiet) -> Answer:
    """Plan every case alike and say what would come of it."""
    from ribband.shop import compare

    outcomes = compare(cases, seconds=seconds, progress=tell)
    rows = tuple(_outcome(outcome) for outcome in outcomes)
    heads = ("", "planks", "hours", "as like as not by", "nine in ten by", "planned end",
             "working days gained")  # fmt: skip
    return Answer(
        title="What if",
        listings=(Listing("Each planned and run over alike", heads, rows),),
        notes=(f"{HOURS_ONLY} {LIKELY_ONE}", CARE),
        data={"cases": [_facts(outcome) for outcome in outcomes]},
    )  # fmt: skip


def work_lines(worked: Worked) -> tuple[Line, ...]:
    """Say in a few lines what a plan of work comes to: the days it is likely to end on first."""
    own = worked.plan
    if not own.steps:
        return (Line("left to do", "nothing", "every step is logged"),)
    proved = "proved the soonest" if own.proved else (
        f"at most {100 * own.gap:.1f} % later than the soonest there can be"
    )  # fmt: skip
    *likely, planned = _forecast_lines(worked.forecast)
    finish = f", {worked.to_finish} that hang to be finished" if worked.to_finish else ""
    return (
        *([_assumed_hands(worked)] if worked.assumed else []),
        *likely,
        Line(
            "left to do",
            f"{counted(worked.to_hang, 'plank')} to be hung{finish}",
            _hours_said(worked),
        ),
        Line("begins", day_said(own.days.days[0])),
        replace(planned, remark=f"{planned.remark}; {proved}"),
    )


def _assumed_hands(worked: Worked) -> Line:
    return Line("hands", f"{len(worked.work.crew)}, the house's own", "fill in the form crew")


def _hours_said(worked: Worked) -> str:
    """Say the man-hours, and by how much the log has changed what the rates give."""
    hours, rated = worked.plan.hours, worked.rated_hours
    said = f"{hours:.0f} man-hours"
    if round(hours) == round(rated):
        return said
    return f"{said}: {rated:.0f} by the rates, times {hours / rated:.2f} by what the log taught"


def _forecast_lines(spread: Forecast) -> tuple[Line, ...]:
    """Say the likely days first; the planned end last, and how many runs pass it."""
    return (
        Line("as like as not by", day_said(spread.by[0.5]), f"half of {len(spread.days)} runs"),
        Line("nine in ten by", day_said(spread.by[0.9])),
        Line("planned end", day_said(spread.planned_date), spread.without_mishap),
    )


def _longer(
    planned: Planned, worked: Worked, seconds: float, tell: Tell
) -> tuple[Worked, tuple[Line, ...]]:
    """Search on for so many seconds and keep the better."""
    from ribband.app.plan.work_steps import plan_the_work
    from ribband.shop.work.days import SLOT_MINUTES

    made, found = plan_the_work(
        planned.run.bench, lambda part, words: tell(0.4 + 0.6 * part, words), seconds
    )
    saved = worked.plan.end - made.plan.end
    if saved < 0 or (saved == 0 and made.plan.bound <= worked.plan.bound):
        return worked, (Line("longer search", "found nothing better"),)
    planned.run.bench.made["work"] = Made(made, found)
    key = planned.run.keys["work"]
    with JobFile.open(planned.job, writing=True) as job:
        name = kept_as("work", planned.run.bench.forms)
        job.keep(key, name, (made, found), __version__, made.plan.seconds)
    return made, (Line("longer search", f"{saved * SLOT_MINUTES / 60:.1f} working hours saved"),)


def cases_of(  # noqa: PLR0917 - each is a change
    planned: Planned,
    worked: Worked,
    hands: int,
    gear: Sequence[tuple[str, int]],
    boards: str,
    lost: float | None,
) -> list[Case]:
    """Give the plan as it is, and every change asked for.

    Raises
    ------
    InputError : a length that cannot be read
    """
    from ribband.shop import Case, bad_weather, longer_boards, more_gear, more_hands

    base = Case("as planned", worked.work, planned.run.bench.rules["work"])
    cases = [base]
    cases += [more_hands(base, hands)] if hands else []
    cases += [more_gear(base, item, count) for item, count in gear]
    if boards:
        unit = planned.run.bench.unit
        try:
            mm = parse_length(boards, unit)
        except ValueError as wrong:
            problem = Problem("what-if", 0, "boards", boards, str(wrong), format_length(9144, unit))
            raise InputError([problem]) from None
        cases.append(longer_boards(base, mm / 1000))
    cases += [bad_weather(base, lost)] if lost is not None else []
    return cases


def _outcome(outcome: Outcome) -> tuple[str, ...]:
    by = outcome.forecast.by
    return (
        outcome.case,
        str(outcome.planks),
        f"{outcome.hours:.0f}",
        day_said(by[0.5]),
        day_said(by[0.9]),
        day_said(outcome.plan.last_day),
        f"{outcome.gained:+.1f}",
    )


def _facts(outcome: Outcome) -> dict[str, Any]:
    return {
        "case": outcome.case,
        "planks": outcome.planks,
        "hours": outcome.hours,
        "planned_end": outcome.plan.last_day,
        "dates": dict(zip(map(str, outcome.forecast.parts), outcome.forecast.dates, strict=True)),
        "working_days_gained": outcome.gained,
        "gap": outcome.plan.gap,
    }


def _by_operation(worked: Worked) -> Listing:
    planks = Counter(step.operation for step in worked.plan.steps)
    factor = {item.operation: item.factor for item in worked.learned}
    hours = worked.plan.by_operation
    rows = (
        *((op, str(planks[op]), str(n), f"{factor.get(op, 1.0):.2f}") for op, n in hours.items()),
        *([("all", "", str(sum(hours.values())), "")] if hours else []),
    )
    return Listing("Operations", ("", "planks", "man-hours", "of the rate"), rows)


def _by_hand(own: WorkPlan) -> Listing:
    from ribband.shop.work.days import SLOT_MINUTES

    slots: Counter[str] = Counter()
    for stint in own.stints:
        slots[stint.hand] += stint.end - stint.start
    rows = [(hand, f"{n * SLOT_MINUTES / 60:.1f}") for hand, n in sorted(slots.items())]
    if rows:
        says = f"{own.clock_hours:.1f}: the {own.hours:.0f} man-hours, each step to five minutes"
        rows.append(("all", says))
    return Listing("Hands", ("", "hours at work"), tuple(rows))


def _first_days(own: WorkPlan) -> Listing:
    """List the steps of the first days, by day and clock."""
    until = DAYS_SHOWN * own.days.slots
    rows = tuple(_step_rows(own, until))
    return Listing(f"The first {DAYS_SHOWN} days", ("begins", "ends", "plank", "what", "who"), rows)


def _step_rows(own: WorkPlan, until: int) -> Iterator[tuple[str, ...]]:
    for n, step in enumerate(own.steps):
        if step.start < until:
            begins, ends = own.days.at(step.start), own.days.at(step.end, end=True)
            yield (
                f"{begins:%a} {begins.day} {begins:%b %H:%M}",
                f"{ends:%H:%M}" if ends.date() == begins.date() else f"{ends:%a %H:%M}",
                step.plank,
                step.operation,
                ", ".join(own.crew_of(n)),
            )


def _taught(learned: Sequence[Learned]) -> Listing:
    rows = tuple(
        (x.operation, str(x.logged), f"{x.factor:.2f}", x.says) for x in learned if x.logged
    )
    return Listing("What the log taught", ("", "steps", "of the rate", ""), rows)


def _search(own: WorkPlan) -> dict[str, Any]:
    return {
        "value": own.end, "bound": own.bound, "gap": own.gap, "proved": own.proved,
        "seconds": own.seconds, "unit": "slots of five working minutes",
    }  # fmt: skip


def _table(name: str, hanging: Hanging, worked: Worked | None) -> list[dict[str, Any]]:
    from ribband.store.table_work import WORK_SHAPES, filled_work

    columns = [c.name for shape in WORK_SHAPES if shape.name == name for c in shape.columns]
    rows = filled_work(hanging, worked).get(name, [])
    return [dict(zip(columns, row, strict=True)) for row in rows]


def _of(planned: Planned, stage: str) -> tuple[Any, ...]:
    return tuple(finding for finding in planned.run.findings if finding.stage == stage)


def _not_so_far(planned: Planned, title: str) -> Answer:
    return Answer(
        title=title,
        notes=(f"Not made: {planned.run.stopped}",),
        findings=planned.run.findings,
        good=False,
    )
