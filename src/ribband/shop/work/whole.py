"""The plan of work of a whole job: what is left to do, planned, run over, and looked over.

*Yard*: what its forms say of rates, crew, gear and days, with its log. What is learned from the
log is put into the rates; what it says is done is not planned again. Work goes on the day after
the last day logged, or on the day the rules name if that is later.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, timedelta

from ribband.findings import Finding, Severity
from ribband.shop.hanging.model import Hanging
from ribband.shop.work.check import check_work
from ribband.shop.work.days import DayOff, next_monday
from ribband.shop.work.forecast import Forecast, forecast
from ribband.shop.work.forms import Logged, done_of
from ribband.shop.work.learning import Learned, learn, learned_rates
from ribband.shop.work.model import GEAR, Hand, Measure, Rate, Work, WorkPlan
from ribband.shop.work.plan import plan_work
from ribband.shop.work.rates import with_own
from ribband.shop.work.rules import WorkRules

__all__ = ["Worked", "Yard", "begin_of", "work_of", "work_out"]


@dataclass(frozen=True, slots=True)
class Yard:
    """What the yard's forms say; an empty crew is the rule's number of hands for everything.

    `void` are planks whose pattern no longer holds: spoilt, and of another shape since.
    """

    rates: tuple[Rate, ...] = ()
    crew: tuple[Hand, ...] = ()
    gear: dict[str, int] = field(default_factory=lambda: dict(GEAR))
    off: tuple[DayOff, ...] = ()
    log: tuple[Logged, ...] = ()
    void: frozenset[str] = frozenset()


@dataclass(frozen=True, slots=True)
class Worked:
    """The result: what was planned, the plan, its forecast, and what the log taught."""

    work: Work
    plan: WorkPlan
    forecast: Forecast
    learned: tuple[Learned, ...]
    log: tuple[Logged, ...] = ()
    findings: tuple[Finding, ...] = ()


def begin_of(yard: Yard, rules: WorkRules, today: str) -> tuple[str, bool]:
    """Give the day work begins or goes on, and whether it was said rather than assumed.

    >>> begin_of(Yard(), WorkRules(), "2027-03-03")
    ('2027-03-08', False)
    >>> log = (Logged("P1-1", "hung", "2027-03-04 11:00", ()),)
    >>> begin_of(Yard(log=log), WorkRules(begins="2027-03-01"), "2027-01-01")
    ('2027-03-05', True)
    """
    logged = max((line.at[:10] for line in yard.log), default="")
    after = (date.fromisoformat(logged) + timedelta(days=1)).isoformat() if logged else ""
    if rules.begins or after:
        return max(rules.begins, after), True
    return next_monday(date.fromisoformat(today)), False


def work_of(
    measures: Sequence[Measure], hanging: Hanging, yard: Yard, rules: WorkRules, begins: str
) -> tuple[Work, tuple[Learned, ...]]:
    """Give what is to be planned, with what the log taught put into the rates."""
    rates = with_own(yard.rates)
    learned = learn(yard.log, measures, rates, rules)
    crew = yard.crew or tuple(Hand(f"hand {n + 1}") for n in range(rules.hands))
    names = {measure.plank for measure in measures} - yard.void
    done = tuple(pair for pair in done_of(yard.log) if pair[0] in names)
    work = Work(
        tuple(measures),
        hanging,
        learned_rates(rates, learned),
        crew,
        yard.gear,
        yard.off,
        done,
        begins,
    )
    return work, learned


def work_out(  # noqa: PLR0917 - what the plan is made from
    measures: Sequence[Measure],
    hanging: Hanging,
    yard: Yard,
    rules: WorkRules,
    level: int,
    today: str,
    seconds: float | None = None,
    progress: Callable[[float, str], None] | None = None,
) -> Worked:
    """Plan what is left, run it over and look it over.

    Raises
    ------
    InputError : work nobody of the crew can do
    NotConverged : it cannot be fitted into the days there are
    """
    begins, said = begin_of(yard, rules, today)
    work, learned = work_of(measures, hanging, yard, rules, begins)
    work = replace(work, level=level)
    tell = progress or (lambda _part, _words: None)
    plan = plan_work(work, rules, seconds=seconds, progress=lambda p, w: tell(0.8 * p, w))
    errors = {item.operation: item.error for item in learned}
    spread = forecast(work, plan, rules, errors=errors, progress=lambda p, w: tell(0.8 + p / 5, w))
    found = (*plan.findings, *_assumed(begins, said), *_unknown(yard, work))
    found = (*found, *check_work(work, plan, rules))
    return Worked(work, plan, spread, learned, yard.log, found)


def _assumed(begins: str, said: bool) -> tuple[Finding, ...]:
    if said:
        return ()
    says = f"no first day is said; taken to begin on {begins}: set the rule work.begins"
    return (Finding("W504", Severity.NOTE, "work", "calendar", says),)


def _unknown(yard: Yard, work: Work) -> tuple[Finding, ...]:
    names = {measure.plank for measure in work.measures}
    lost = sorted({line.plank for line in yard.log} - names)
    if not lost:
        return ()
    says = "logged, but no plank of this name is on the list any more; its hours are not counted"
    return (Finding("W505", Severity.CAUTION, "work", ", ".join(lost[:8]), says),)
