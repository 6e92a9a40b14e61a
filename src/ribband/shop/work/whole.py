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
from ribband.shop.work.forms import Logged, done_of, in_time
from ribband.shop.work.learning import Learned, learn, learned_rates
from ribband.shop.work.model import GEAR, STATES, Hand, Lack, Measure, Rate, Work, WorkPlan
from ribband.shop.work.plan import plan_work
from ribband.shop.work.rates import wanted, with_own
from ribband.shop.work.rules import WorkRules
from ribband.units import counted

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
    lacking: tuple[Lack, ...] = ()


@dataclass(frozen=True, slots=True)
class Worked:
    """The result: what was planned, the plan, its forecast, and what the log taught.

    `assumed` tells that no crew was given and the rule's number of hands stands for it.
    """

    work: Work
    plan: WorkPlan
    forecast: Forecast
    learned: tuple[Learned, ...]
    log: tuple[Logged, ...] = ()
    findings: tuple[Finding, ...] = ()
    assumed: bool = False

    @property
    def to_hang(self) -> int:
        """Give how many planks are still to be hung."""
        return sum(step.operation == "hang" for step in self.plan.steps)

    @property
    def to_finish(self) -> int:
        """Give how many planks hang already and have steps left."""
        return len({step.plank for step in self.plan.steps}) - self.to_hang

    @property
    def rated_hours(self) -> float:
        """Give the man-hours of what is left by the rates as given, before the log taught any."""
        factor = {item.operation: item.factor for item in self.learned}
        return sum(step.hours / factor.get(step.operation, 1.0) for step in self.plan.steps)


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
    learned = learn(yard.log, measures, rates, rules, yard.crew)
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
        lacking=yard.lacking,
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
    found = (*found, *_skipping(yard, work), *_spiled(work), *_no_days_off(yard))
    found = (*found, *_untended(plan), *check_work(work, plan, rules))
    return Worked(work, plan, spread, learned, yard.log, found, not yard.crew)


def _assumed(begins: str, said: bool) -> tuple[Finding, ...]:
    if said:
        return ()
    says = f"no first day is said; taken to begin on {begins}: set the rule work.begins"
    return (Finding("W504", Severity.NOTE, "work", "calendar", says),)


def _no_days_off(yard: Yard) -> tuple[Finding, ...]:
    if yard.off:
        return ()
    says = "no days off are entered: every day of the working week counts, holidays with them"
    why = "fill in the form calendar"
    return (Finding("W510", Severity.NOTE, "work", "calendar", says, why),)


def _skipping(yard: Yard, work: Work) -> tuple[Finding, ...]:
    """Tell of steps logged with hands and a time, but without those before: they take their hours.

    That is why man-hours can rise with the log: the rate of the step told is taught all of them.
    """
    wants = {measure.plank: wanted(measure) for measure in work.measures}
    told: set[tuple[str, str]] = set()
    skip: dict[str, None] = {}
    for line in in_time(yard.log):
        step, steps = STATES.get(line.state, ""), wants.get(line.plank, ())
        before = steps[: steps.index(step)] if step in steps else ()
        skipped = any((line.plank, each) not in told for each in before)
        if skipped and line.by and line.at:
            skip[f"{line.plank} {line.state}"] = None
        told |= {(line.plank, each) for each in (*before, step)}
    if not skip:
        return ()
    named = ", ".join(list(skip)[:4]) + (f" and {len(skip) - 4} more" if len(skip) > 4 else "")
    says = (
        f"logged without the steps before it: {named}; all the hours of those hands are taken for "
        "the step told, which may make its rate, and the man-hours left, too great"
    )
    why = "log the steps between as they are done, with the hands and a clock"
    return (Finding("W508", Severity.NOTE, "work", "the log", says, why),)


def _spiled(work: Work) -> tuple[Finding, ...]:
    """Tell that planks without a flat shape have no hours for what is not known of them."""
    spiled = sum(measure.spiled for measure in work.measures)
    if not spiled:
        return ()
    says = (
        f"no flat shape is known of {counted(spiled, 'plank')}: each is spiled when those it lies "
        "against are fast; whether it wants steam or hollowing is not known, and no hours are "
        "planned for either"
    )
    why = "measure her in space, or reckon steaming and hollowing on top"
    return (Finding("W509", Severity.CAUTION, "work", "the plan of work", says, why),)


def _untended(plan: WorkPlan) -> tuple[Finding, ...]:
    """Tell that nobody is reckoned at the steam box, where its rate has no hours."""
    steamed = [step for step in plan.steps if step.operation == "steam"]
    if not steamed or any(step.hours for step in steamed):
        return ()
    says = (
        f"nobody is reckoned at the steam box for {counted(len(steamed), 'plank')}: by the rates "
        "fire and water are tended between other work; say who watches them"
    )
    why = "give steam its man-hours on the form rates"
    return (Finding("W520", Severity.CAUTION, "work", "the steam box", says, why),)


def _unknown(yard: Yard, work: Work) -> tuple[Finding, ...]:
    names = {measure.plank for measure in work.measures}
    lost = sorted({line.plank for line in yard.log} - names)
    if not lost:
        return ()
    says = "logged, but no plank of this name is on the list any more; its hours are not counted"
    return (Finding("W505", Severity.CAUTION, "work", ", ".join(lost[:8]), says),)
