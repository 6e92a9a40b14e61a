"""From planks to a project: tasks with what they use, links, and what there is to use each day.

*Hands.* Operations that the same hands can do make one class. For every union of classes, no more
hands may be at work on what only they can do than there are of them that day; by Hall's theorem
that is just enough for the hands to be found (`work/hands.py`). *Hanging*: a plank is hung and
fastened in one task, with no wait between; from its first touch till the part of its fastening
that holds it (`held_part`) no night comes between, for nobody leaves it in clamps over people's
heads. A steamed one's time in the box is of that task too, and runs, with its hanging, not over
the dinner hour either where it fits into the morning or the afternoon. *Overnight* are the planks
for which a day is too short.

*Links.* The operations of a plank follow each other. A plank is hung when those it needs are
fast, or, if its shape must be spiled from the opening, begun when they are; it is caulked when
those below and above it are too. Each side is hung in its order; the n-th of a
side waits for the other side's to be within `level` of it. A side's plank is begun when the
one half of `ahead` before it is being hung, no sooner.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations, pairwise
from math import ceil

import numpy as np

from ribband.errors import InputError, Problem
from ribband.findings import Finding, Severity
from ribband.shop.work.days import SLOT_MINUTES, Days, days_of
from ribband.shop.work.model import OPERATIONS, Hand, Measure, Work
from ribband.shop.work.project import Ints, Link, Project, Span, Task, Use
from ribband.shop.work.rates import hands_of, hours_of, wanted
from ribband.shop.work.rules import WorkRules
from ribband.shop.work.slots import Slots
from ribband.units import counted

__all__ = ["GEAR_ORDER", "Built", "Part", "Wait", "build", "hung_in_order"]

AT_BENCH = ("pattern", "get out")
ON_HULL = ("hang", "fasten", "bung", "caulk")
NEARLY = 1e-9
MANY = 12  # classes of hands beyond which unions of more than two are not all told


@dataclass(frozen=True, slots=True)
class Part:
    """A step within a task: slots from its start, hands and man-hours."""

    task: int
    plank: str
    operation: str
    begin: int
    end: int
    hands: int
    hours: float
    gear: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Wait:
    """Part `then` begins no sooner than part `first` ends, or with `at_start` begins."""

    first: int
    then: int
    at_start: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Built:
    """A project with what its tasks are; `urgency` orders of the trade to begin from.

    overnight : planks that cannot be hung and held in one day
    """

    project: Project
    parts: tuple[Part, ...]
    waits: tuple[Wait, ...]
    days: Days
    urgency: tuple[tuple[float, ...], ...]
    findings: tuple[Finding, ...]
    overnight: tuple[str, ...] = ()


def hung_in_order(work: Work) -> dict[str, list[str]]:
    """Give the planks of each side in their order of hanging, those hung already left out."""
    hung = _hung(work)
    sides: dict[str, list[str]] = defaultdict(list)
    for place in work.hanging.places:
        if place.plank not in hung:
            sides[place.side].append(place.plank)
    return dict(sides)


def build(work: Work, rules: WorkRules, days: int) -> Built:
    """Give the project of what is left to do, over so many working days.

    Raises
    ------
    InputError : work that nobody of the crew, or no gear, can do
    """
    calendar = days_of(work.begins, days, rules.week_days, rules.day_hours, rules.clock, work.off,
                       rules.dinner_hour)  # fmt: skip
    parts, findings = _parts(work, rules, calendar)
    tasks = _tasks(parts, rules)
    unions = _unions(work.crew)
    capacity = np.array(
        [*_gear_there(work, calendar), *(_there(union, work.crew, calendar) for union in unions)]
    )
    tasks = tuple(
        replace(t, uses=(*t.uses, *_hand_uses(own, work.crew, unions)))
        for t, own in zip(tasks, _by_task(parts), strict=True)
    )
    waits = tuple(dict.fromkeys(_waits(parts, work, rules)))
    links = tuple(_link(parts, wait) for wait in waits)
    project = Project(tasks, links, capacity, calendar.breaks(), calendar.pauses())
    project = replace(project, tasks=_where_it_goes(project))
    left = _overnight(parts, project.tasks)
    urgency = _urgencies(parts, work)
    return Built(project, parts, waits, calendar, urgency, tuple(findings), left)


def _by_task(parts: Sequence[Part]) -> list[list[Part]]:
    own: list[list[Part]] = [[] for _ in range(1 + max((p.task for p in parts), default=-1))]
    for part in parts:
        own[part.task].append(part)
    return own


def _parts(work: Work, rules: WorkRules, days: Days) -> tuple[tuple[Part, ...], list[Finding]]:
    """Give every step that is left, by plank and operation, a plank's hanging in one task."""
    done = _done(work)
    able = {op: _able(op, work.crew, days) for op in OPERATIONS}
    parts: list[Part] = []
    short: dict[str, tuple[int, int]] = {}
    task = 0
    for measure in work.measures:
        own = [
            _part(operation, measure, work, rules, able, short)
            for operation in wanted(measure)
            if (measure.plank, operation) not in done
        ]
        for together in _in_one(own):
            at = 0
            for part in together:
                parts.append(replace(part, task=task, begin=at, end=at + part.end))
                at += part.end
            task += 1
    _refuse_impossible(parts, able, work)
    return tuple(parts), [_short_handed(op, *n) for op, n in short.items()]


def _day(rules: WorkRules) -> int:
    return round(rules.day_hours * 60 / SLOT_MINUTES)


def _in_one(own: Sequence[Part]) -> Iterator[list[Part]]:
    """Put a plank's steps together that are done in one go, with no wait between."""
    group: list[Part] = []
    for part in own:
        if group and group[-1].operation not in {"steam", "hang"}:
            yield group
            group = []
        group.append(part)
    if group:
        yield group


def _able(operation: str, crew: Sequence[Hand], days: Days) -> int:
    """Give how many can do an operation together at some hour of the week, those who stay first."""
    does = [hand for hand in crew if operation in hand.does]
    stay = [hand for hand in does if hand.stays] or does
    there = np.zeros((7, days.slots), dtype=np.int64)
    for hand in stay:
        first, last = days.hours_within(hand.clock)
        there[list(hand.days), first:last] += 1
    return int(there.max(initial=0))


def _done(work: Work) -> set[tuple[str, str]]:
    """Give what is done: all up to the last operation logged of each plank.

    A steamed plank that is not hung is steamed again.
    """
    said = set(work.done)
    found = set()
    for measure in work.measures:
        own = wanted(measure)
        last = max((n for n, op in enumerate(own) if (measure.plank, op) in said), default=-1)
        last -= last >= 0 and own[last] == "steam"
        found |= {(measure.plank, op) for op in own[: last + 1]}
    return found


def _part(  # noqa: PLR0917 - one line of a long list
    operation: str,
    measure: Measure,
    work: Work,
    rules: WorkRules,
    able: Mapping[str, int],
    short: dict[str, tuple[int, int]],
) -> Part:
    hours = hours_of(operation, measure, work.rates)
    hands = hands_of(operation, work.rates)
    if hands > able.get(operation, 0) > 0:
        short[operation] = (hands, able[operation])
        hands = able[operation]
    minutes = (measure.steam_min or 0.0) if operation == "steam" else 60 * hours / max(hands, 1)
    slots = max(1, round(minutes / SLOT_MINUTES))
    gear = _gear(operation, measure, rules)
    return Part(0, measure.plank, operation, 0, slots, hands, hours, gear)


def _gear(operation: str, measure: Measure, rules: WorkRules) -> tuple[str, ...]:
    used = {"plane": ("planer",), "steam": ("steam box",)}.get(operation, ())
    if operation == "hang" and (measure.kg or 0.0) > rules.crane_kg:
        used = ("crane",)
    return (*used, "staging") if operation in ON_HULL else used


def _refuse_impossible(parts: Sequence[Part], able: Mapping[str, int], work: Work) -> None:
    unable = sorted({p.operation for p in parts if p.hands and not able.get(p.operation)})
    lacking = sorted({g for p in parts for g in p.gear if work.gear.get(g, 0) < 1})
    problems = [
        Problem("crew", 0, "skills", "nobody", f"somebody who can {operation}", "all")
        for operation in unable
    ]
    problems += [Problem("gear", 0, "how many", "0", f"a {item} at least", "1") for item in lacking]
    if problems:
        raise InputError(problems)


def _short_handed(operation: str, wanted_hands: int, there: int) -> Finding:
    wanted = counted(wanted_hands, "hand")
    says = f"the rates want {wanted}, {there} of the crew can; taken to take longer"
    why = "a plank handled by too few can hurt them"
    return Finding("W501", Severity.CAUTION, "work", operation, says, why)


def _tasks(parts: Sequence[Part], rules: WorkRules) -> tuple[Task, ...]:
    names = list(GEAR_ORDER)
    tasks = []
    for own in _by_task(parts):
        uses = tuple(
            Use(names.index(item), 1, part.begin, part.end) for part in own for item in part.gear
        )
        name = f"{own[0].plank} {own[0].operation}"
        tasks.append(Task(name, own[-1].end, uses, *_unbroken(own, rules)))
    return tuple(tasks)


def _unbroken(own: Sequence[Part], rules: WorkRules) -> tuple[Span, Span]:
    """Give what of a task is cut by no night, and what of it by no dinner either; (0, 0): none."""
    day, last = _day(rules), own[-1]
    if last.operation != "fasten":
        return (0, 0), (0, 0)
    held = last.begin + ceil(rules.held_part * (last.end - last.begin) - NEARLY)
    hot = last.begin if own[0].operation == "steam" else 0
    begin = own[1].begin if hot > day else 0
    span = (begin, held) if 0 < held - begin <= day else (0, 0)
    return span, (0, hot) if hot <= day else (0, 0)


def _where_it_goes(project: Project) -> tuple[Task, ...]:
    """Give the tasks; what goes into no day, as hands and gear are there, may run on over it."""
    slots = Slots(project)
    free: dict[Task, bool] = {}
    tasks = []
    for task in project.tasks:
        alike = replace(task, name="")
        if task.whole and alike not in free:
            free[alike] = slots.first_fit(task, 0) is not None
        tasks.append(task if free.get(alike, True) else replace(task, span=(0, 0), hot=(0, 0)))
    return tuple(tasks)


def _overnight(parts: Sequence[Part], tasks: Sequence[Task]) -> tuple[str, ...]:
    """Give the planks that are half hung, or not yet held, when a night comes."""
    own = (group[-1] for group in _by_task(parts))
    return tuple(
        part.plank
        for part, task in zip(own, tasks, strict=True)
        if part.operation == "fasten" and task.span == (0, 0)
    )


GEAR_ORDER = ("steam box", "planer", "crane", "staging")


def _gear_there(work: Work, days: Days) -> Iterator[Ints]:
    for item in GEAR_ORDER:
        counts = [work.gear_on(item, day) for day in days.days]
        yield np.repeat(np.array(counts, dtype=np.int64), days.slots)


def _unions(crew: Sequence[Hand]) -> list[frozenset[str]]:
    """Give every union of classes of operations' hands, as sets of names."""
    able: dict[str, set[str]] = defaultdict(set)
    for hand in crew:
        for operation in hand.does:
            able[operation].add(hand.name)
    classes = list(dict.fromkeys(frozenset(names) for names in able.values()))
    most = len(classes) if len(classes) <= MANY else 2
    found = dict.fromkeys(
        frozenset[str]().union(*some)
        for n in range(1, most + 1)
        for some in combinations(classes, n)
    )
    return list(found)


def _there(union: frozenset[str], crew: Sequence[Hand], days: Days) -> Ints:
    own = [hand for hand in crew if hand.name in union]
    counts = np.zeros((len(days.days), days.slots), dtype=np.int64)
    for hand in own:
        first, last = days.hours_within(hand.clock)
        there = [hand.there(day, days.weekday(n)) for n, day in enumerate(days.days)]
        counts[:, first:last] += np.array(there, dtype=np.int64)[:, None]
    return counts.reshape(-1)


def _hand_uses(
    own: Sequence[Part], crew: Sequence[Hand], unions: Sequence[frozenset[str]]
) -> Iterator[Use]:
    for part in own:
        able = {hand.name for hand in crew if part.operation in hand.does}
        for n, union in enumerate(unions):
            if part.hands and able <= union:
                yield Use(len(GEAR_ORDER) + n, part.hands, part.begin, part.end)


At = Mapping[tuple[str, str], int]


def _link(parts: Sequence[Part], wait: Wait) -> Link:
    first, then = parts[wait.first], parts[wait.then]
    since = first.begin if wait.at_start else first.end
    return Link(first.task, then.task, since - then.begin)


def _waits(parts: Sequence[Part], work: Work, rules: WorkRules) -> Iterator[Wait]:
    at = {(part.plank, part.operation): n for n, part in enumerate(parts)}
    for n, (a, b) in enumerate(pairwise(parts)):
        if a.plank == b.plank and a.task != b.task:
            yield Wait(n, n + 1)
    yield from _after_fast(at, work)
    yield from _level(at, work)
    yield from _not_too_soon(at, work, rules)


def _after_fast(at: At, work: Work) -> Iterator[Wait]:
    """Hang, or spile, after those a plank needs are fast; caulk after its neighbours are."""
    spiled = {measure.plank for measure in work.measures if measure.spiled}
    needs = [(need, place.plank) for place in work.hanging.places for need in place.needs]
    pairs = [
        *(((need, "fasten"), (plank, "hang")) for need, plank in needs),
        *(((need, "fasten"), (plank, "pattern")) for need, plank in needs if plank in spiled),
        *(((low, "fasten"), (high, "caulk")) for low, high in work.hanging.seams),
        *(((high, "fasten"), (low, "caulk")) for low, high in work.hanging.seams),
    ]
    for first, then in pairs:
        if first in at and then in at:
            yield Wait(at[first], at[then])


def _level(at: At, work: Work) -> Iterator[Wait]:
    """Hang each side in its order, and neither more than `level` ahead of the other."""
    sides = list(hung_in_order(work).values())
    for own in sides:
        for a, b in pairwise(own):
            yield Wait(at[a, "hang"], at[b, "hang"], at_start=True)
    lead = _lead(work)
    for one, other in ((s, t) for s in sides for t in sides if s is not t):
        for n, plank in enumerate(one):
            behind = min(n - work.level + lead[_side(work, one[0])], len(other) - 1)
            for first in other[0 if n == 0 else behind : behind + 1] if behind >= 0 else ():
                yield Wait(at[first, "hang"], at[plank, "hang"])


def _side(work: Work, plank: str) -> str:
    return next(place.side for place in work.hanging.places if place.plank == plank)


def _hung(work: Work) -> set[str]:
    return {plank for plank, operation in _done(work) if operation == "hang"}


def _lead(work: Work) -> dict[str, int]:
    """Give how many planks each side is ahead of the other at the beginning."""
    hung = _hung(work)
    counts: dict[str, int] = defaultdict(int)
    for place in work.hanging.places:
        counts[place.side] += place.plank in hung
    total = sum(counts.values())
    return {side: 2 * count - total for side, count in counts.items()}


def _not_too_soon(at: At, work: Work, rules: WorkRules) -> Iterator[Wait]:
    """Begin a side's plank only when the one half of `ahead` before it is being hung."""
    ahead = max(1, rules.ahead // 2)
    for order in hung_in_order(work).values():
        for before, plank in zip(order, order[ahead:], strict=False):
            first = next(op for op in OPERATIONS if (plank, op) in at)
            if first in AT_BENCH:
                yield Wait(at[before, "hang"], at[plank, first], at_start=True)


def _urgencies(parts: Sequence[Part], work: Work) -> tuple[tuple[float, ...], ...]:
    """Order tasks by the place of their plank; once with what may wait after the rest."""
    place = {p.plank: float(p.place) for p in work.hanging.places}
    late = {"bung": 30.0, "caulk": 1000.0}
    whole = [place[own[-1].plank] for own in _by_task(parts)]
    waiting = [place[own[-1].plank] + late.get(own[-1].operation, 0.0) for own in _by_task(parts)]
    return tuple(whole), tuple(waiting)
