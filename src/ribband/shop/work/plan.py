"""Making the plan of work: steps, hands and dates from what is to be done.

The plan is searched for as `work/solver.py` tells, with the end of the last step as its goal; its
bound knows the chains of work, the hours on every class of hands and piece of gear, and days off.

The machines, the steam and the lifts in it are dangerous: the plan says when, not how. Guards,
gloves, a vented box and the lifting rules of the place come before its hours.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ribband.errors import NotConverged
from ribband.findings import Finding, Severity
from ribband.shop.work.build import Built, build
from ribband.shop.work.days import SLOT_MINUTES
from ribband.shop.work.hands import name_hands
from ribband.shop.work.model import Step, Work, WorkPlan
from ribband.shop.work.project import Ints
from ribband.shop.work.rates import hours_of, wanted
from ribband.shop.work.rules import WorkRules
from ribband.shop.work.solver import Solved, solve
from ribband.units import counted

__all__ = ["plan_work"]

NAMED = 6  # planks named before the rest are counted
LONGER = 3  # times the calendar is made longer before it is given up


def plan_work(
    work: Work,
    rules: WorkRules = WorkRules(),  # noqa: B008 - frozen
    *,
    seconds: float | None = None,
    near: float = 0.0,
    seed: int = 0,
    progress: Callable[[float, str], None] | None = None,
) -> WorkPlan:
    """Plan what is left to do.

    Parameters
    ----------
    seconds : how long to search; the rule's where None
    near : stop once the end is no further past the bound than this part of it

    Raises
    ------
    InputError : work nobody of the crew can do
    NotConverged : it cannot be fitted into the days there are
    """
    days = _days_needed(work, rules)
    for longer in range(LONGER):
        built = build(work, rules, days << (2 * longer))
        try:
            solved = solve(
                built.project,
                built.urgency,
                seconds=rules.seconds if seconds is None else seconds,
                near=near,
                seed=seed,
                progress=progress,
            )
        except NotConverged:
            continue
        return _told(built, solved, work)
    raise NotConverged("the work does not fit: too few days with the hands and gear it wants")


def _days_needed(work: Work, rules: WorkRules) -> int:
    """Give working days enough for nearly any crew: twice the hours, and the longest chain."""
    hours = sum(
        hours_of(op, m, work.rates) + (m.steam_min or 0.0) / 60
        for m in work.measures
        for op in wanted(m)
    )
    return 15 + int(2.2 * hours / (max(1, len(work.crew)) * rules.day_hours))


def _told(built: Built, solved: Solved, work: Work) -> WorkPlan:
    steps = _steps(built, solved.starts)
    stints = name_hands(steps, work.crew, built.days)
    hours = sum(step.hours for step in steps)
    found = (*built.findings, *_findings(built, solved))
    return WorkPlan(
        steps,
        stints,
        built.days,
        solved.end,
        solved.bound,
        solved.proved,
        solved.seconds,
        hours,
        found,
        built.overnight,
    )


def _steps(built: Built, starts: Ints) -> tuple[Step, ...]:
    steps = (
        Step(
            part.plank,
            part.operation,
            int(starts[part.task]) + part.begin,
            int(starts[part.task]) + part.end,
            part.hands,
            part.hours,
        )
        for part in built.parts
    )
    return tuple(sorted(steps, key=lambda s: (s.start, s.end)))


def _findings(built: Built, solved: Solved) -> tuple[Finding, ...]:
    found: Sequence[Finding] = ()
    firsts = {part.task: part for part in reversed(built.parts)}
    over = [
        firsts[n].plank
        for n, task in enumerate(built.project.tasks)
        if firsts[n].operation == "steam" and task.hot == (0, 0)
    ]
    if built.overnight:
        names = list(built.overnight)
        more = f" and {len(names) - NAMED} more" if len(names) > NAMED else ""
        says = (
            f"{counted(len(names), 'plank')} cannot be hung and held by fastenings in one day, as "
            f"long as the hands for it are there: {', '.join(names[:NAMED])}{more}; a night comes "
            "while each is half hung or in its clamps"
        )
        why = "shore it, keep people from under it, or put more hands to it"
        found = (*found, Finding("W529", Severity.CAUTION, "work", "hang", says, why))
    if over:
        says = "steaming and hanging are longer than a day: see to the box and the hands overnight"
        found = (*found, Finding("W502", Severity.CAUTION, "work", ", ".join(over[:5]), says))
    if not solved.proved:
        hours = (solved.end - solved.bound) * SLOT_MINUTES / 60
        says = f"no plan can end more than {hours:.1f} working hours sooner; not proved the soonest"
        found = (*found, Finding("W503", Severity.NOTE, "work", "plan", says))
    return tuple(found)
