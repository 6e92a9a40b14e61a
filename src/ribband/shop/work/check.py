"""Looking a plan of work over, apart from what made it.

Everything is counted again from steps and stints: hours by the rates, the order of operations, no
wait out of the box, none left half hung over a night, planks hung only on what is fast, sides level
and in order, hands able, there and at one thing at a time, gear, days off, and that no end lies
before what its hours allow.

Not checked here: that the rates are those of your yard.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Sequence
from datetime import date
from itertools import pairwise

from ribband.findings import Finding, Severity
from ribband.shop.work.days import SLOT_MINUTES, Days
from ribband.shop.work.model import OPERATIONS, Step, Stint, Work, WorkPlan
from ribband.shop.work.rates import hours_of, wanted
from ribband.shop.work.rules import WorkRules
from ribband.units import counted

__all__ = ["check_work"]

HULL = {"hang", "fasten", "bung", "caulk"}


def check_work(
    work: Work,
    plan: WorkPlan,
    rules: WorkRules = WorkRules(),  # noqa: B008 - frozen
) -> tuple[Finding, ...]:
    """Look for steps forgotten or out of order, hands and gear wanted twice, and wrong days."""
    found = (*_all_there(work, plan), *_in_order(plan))
    if found:
        return tuple(found)
    at = {(step.plank, step.operation): step for step in plan.steps}
    return (
        *_hung_on_fast(work, at),
        *_level(work, at),
        *_not_too_soon(work, at, rules),
        *_left_hanging(work, plan, rules),
        *_crewed(work, plan),
        *_one_thing_at_a_time(plan),
        *_gear_there(work, plan, rules),
        *_on_working_days(work, plan, rules),
        *_bound_holds(work, plan),
    )


At = dict[tuple[str, str], Step]


def _all_there(work: Work, plan: WorkPlan) -> Iterator[Finding]:
    """Every operation that is left, once, with its hours; a done one only if steamed again."""
    planned = defaultdict(list)
    for step in plan.steps:
        planned[step.plank].append(step)
    done = set(work.done)
    for measure in work.measures:
        steps = sorted(planned.pop(measure.plank, []), key=lambda s: OPERATIONS.index(s.operation))
        own = wanted(measure)
        first = max((n + 1 for n, op in enumerate(own) if (measure.plank, op) in done), default=0)
        first -= first > 0 and own[first - 1] == "steam"
        if [step.operation for step in steps] != list(own[first:]):
            yield _fault("W511", measure.plank, "its steps are not those that are left to do")
            continue
        for step in steps:
            hours = hours_of(step.operation, measure, work.rates)
            minutes = (step.end - step.start) * SLOT_MINUTES
            should = (
                measure.steam_min or 0.0
                if step.operation == "steam"
                else 60 * hours / max(1, step.hands)
            )
            if abs(minutes - should) > SLOT_MINUTES / 2 + 1e-6 and minutes != SLOT_MINUTES:
                yield _fault("W512", f"{step.plank} {step.operation}", "not as long as its rate")
    for plank in planned:
        yield _fault("W511", plank, "no plank of this name is to be hung")


def _in_order(plan: WorkPlan) -> Iterator[Finding]:
    by_plank = defaultdict(list)
    for step in plan.steps:
        by_plank[step.plank].append(step)
    for plank, steps in by_plank.items():
        own = sorted(steps, key=lambda s: OPERATIONS.index(s.operation))
        for a, b in pairwise(own):
            if b.start < a.end:
                yield _fault("W513", plank, f"{b.operation} begins before {a.operation} is done")
            if a.operation == "steam" and b.start != a.end:
                yield _fault("W514", plank, "waits between the steam box and the hull")
            if a.operation == "steam":
                yield from _in_one_go(plank, a, b, plan.days)


def _hung_on_fast(work: Work, at: At) -> Iterator[Finding]:
    """Nothing is hung on, spiled from or caulked against what is not fast."""
    spiled = {measure.plank for measure in work.measures if measure.spiled}
    for place in work.hanging.places:
        for need in place.needs:
            yield from _after(at, (need, "fasten"), (place.plank, "hang"), "W515")
            if place.plank in spiled:
                yield from _after(at, (need, "fasten"), (place.plank, "pattern"), "W515")
    for low, high in work.hanging.seams:
        yield from _after(at, (low, "fasten"), (high, "caulk"), "W516")
        yield from _after(at, (high, "fasten"), (low, "caulk"), "W516")


def _after(at: At, first: tuple[str, str], then: tuple[str, str], code: str) -> Iterator[Finding]:
    if first in at and then in at and at[then].start < at[first].end:
        yield _fault(code, then[0], f"{then[1]} begins before {first[0]} is fast")


def _level(work: Work, at: At) -> Iterator[Finding]:
    """Count planks hung on each side through time; a hanging counts from its start to the end."""
    order = {p.plank: p.place for p in work.hanging.places}
    side = {p.plank: p.side for p in work.hanging.places}
    steps = [step for (_, op), step in at.items() if op == "hang"]
    hung = dict.fromkeys(side.values(), 0)
    for plank in side.keys() - {step.plank for step in steps}:
        hung[side[plank]] += 1
    whole = {s: sum(v == s for v in side.values()) for s in hung}
    for own in hung:
        its = sorted((s for s in steps if side[s.plank] == own), key=lambda s: order[s.plank])
        for a, b in pairwise(its):
            if b.start < a.start:
                yield _fault("W517", b.plank, f"hung before {a.plank}, which comes first")
    begun = sorted((step.start, 1, step.plank) for step in steps)
    done = sorted((step.end, 0, step.plank) for step in steps)
    fast = dict(hung)
    for _, is_begun, plank in sorted(begun + done):
        if not is_begun:
            fast[side[plank]] += 1
            continue
        hung[side[plank]] += 1
        for other in hung:
            ahead = hung[side[plank]] - fast[other]
            if other != side[plank] and fast[other] < whole[other] and ahead > work.level:
                yield _fault("W518", plank, f"{counted(ahead, 'plank')} ahead of the other side")


def _not_too_soon(work: Work, at: At, rules: WorkRules) -> Iterator[Finding]:
    order = sorted(work.hanging.places, key=lambda p: p.place)
    for side in {p.side for p in order}:
        names = [p.plank for p in order if p.side == side and (p.plank, "hang") in at]
        for before, plank in zip(names, names[rules.ahead // 2 :], strict=False):
            begun = at.get((plank, "pattern"), at.get((plank, "get out")))
            if begun and begun.start < at[before, "hang"].start:
                yield _fault("W519", plank, "begun further ahead than the rule allows")


def _crewed(work: Work, plan: WorkPlan) -> Iterator[Finding]:
    """Every step has its hands from beginning to end, all able and there that day."""
    crew = {hand.name: hand for hand in work.crew}
    own: dict[int, list[Stint]] = defaultdict(list)
    for stint in plan.stints:
        own[stint.step].append(stint)
        hand, step = crew.get(stint.hand), plan.steps[stint.step]
        if hand is None or step.operation not in hand.does:
            yield _fault("W521", stint.hand, f"is put to {step.operation} and cannot do it")
            continue
        comes, goes = plan.days.hours_within(hand.clock)
        for day in range(stint.start // plan.days.slots, (stint.end - 1) // plan.days.slots + 1):
            if not hand.there(
                plan.days.days[day], date.fromisoformat(plan.days.days[day]).weekday()
            ):
                yield _fault("W522", stint.hand, f"is not there on {plan.days.days[day]}")
            at = day * plan.days.slots
            first, last = max(stint.start, at) - at, min(stint.end, at + plan.days.slots) - at
            if first < comes or last > goes:
                says = f"is put to work outside his or her hours on {plan.days.days[day]}"
                yield _fault("W522", stint.hand, says)
    for n, step in enumerate(plan.steps):
        edges = sorted({step.start, step.end, *(e for s in own[n] for e in (s.start, s.end))})
        for a, b in pairwise(edges):
            there = sum(s.start <= a and s.end >= b for s in own[n])
            if there != step.hands or a < step.start or b > step.end:
                yield _fault(
                    "W523", f"{step.plank} {step.operation}", f"{counted(there, 'hand')} at it"
                )


def _one_thing_at_a_time(plan: WorkPlan) -> Iterator[Finding]:
    by_hand = defaultdict(list)
    for stint in plan.stints:
        by_hand[stint.hand].append(stint)
    for hand, stints in by_hand.items():
        for a, b in pairwise(sorted(stints, key=lambda s: s.start)):
            if b.start < a.end:
                yield _fault("W524", hand, f"is at two things on {plan.days.at(b.start):%d %B}")


def _gear_there(work: Work, plan: WorkPlan, rules: WorkRules) -> Iterator[Finding]:
    heavy = {m.plank for m in work.measures if (m.kg or 0.0) > rules.crane_kg}
    users = {
        "steam box": [s for s in plan.steps if s.operation == "steam"],
        "planer": [s for s in plan.steps if s.operation == "plane"],
        "crane": [s for s in plan.steps if s.operation == "hang" and s.plank in heavy],
        "staging": [s for s in plan.steps if s.operation in HULL],
    }
    for item, steps in users.items():
        for n, day in enumerate(plan.days.days[: -(-plan.end // plan.days.slots)]):
            there, a = work.gear_on(item, day), n * plan.days.slots
            most = _most_at_once([s for s in steps if s.start < a + plan.days.slots and s.end > a])
            if most > there:
                yield _fault("W525", item, f"{most} wanted at once on {day}, {there} there")
                break


def _most_at_once(steps: Sequence[Step]) -> int:
    changes = sorted([(s.start, 1) for s in steps] + [(s.end, -1) for s in steps])
    count = most = 0
    for _, change in changes:
        count += change
        most = max(most, count)
    return most


def _in_one_go(plank: str, steam: Step, hang: Step, days: Days) -> Iterator[Finding]:
    """Steaming and hanging run over no night, nor over dinner if they fit in without."""
    (day, begin), last = divmod(steam.start, days.slots), hang.end - 1
    if last // days.slots != day and hang.end - steam.start <= days.slots:
        yield _fault("W514", plank, "is steamed or hung over the night")
    fits = hang.end - steam.start <= max(days.noon, days.slots - days.noon)
    if days.noon and fits and begin < days.noon <= last - day * days.slots:
        yield _fault("W514", plank, "is steamed or hung over the dinner hour")


def _left_hanging(work: Work, plan: WorkPlan, rules: WorkRules) -> Iterator[Finding]:
    """No plank is left half hung, or hung and not held, over a night, unless it must and is told.

    It must where its hours are longer than a day, or its hands have hours of their own.
    """
    shared = any(hand.clock for hand in work.crew)
    at_hull: dict[str, list[Step]] = defaultdict(list)
    for step in sorted(plan.steps, key=lambda s: OPERATIONS.index(s.operation)):
        if step.operation in {"steam", "hang", "fasten"}:
            at_hull[step.plank].append(step)
    day = plan.days.slots
    for plank, steps in at_hull.items():
        fasten = steps[-1]
        if any(b.start != a.end for a, b in pairwise(steps)):
            yield _fault("W530", plank, "is hung and left in its clamps")
        held = fasten.start - int(-rules.held_part * (fasten.end - fasten.start) // 1)
        begins = steps[0].start
        if steps[0].operation == "steam" and fasten.start - begins > day:
            begins = steps[0].end  # steamed and hung over a night: W502 says so
        told, fits = plank in plan.overnight, held - begins <= day
        if told and fits and not shared:
            yield _fault("W530", plank, "is left over the night though it goes into a day")
        if not told and begins // day != max(begins, held - 1) // day:
            yield _fault("W530", plank, "is left half hung, or not held, over the night")


def _on_working_days(work: Work, plan: WorkPlan, rules: WorkRules) -> Iterator[Finding]:
    used = plan.days.days[: -(-plan.end // plan.days.slots)]
    for day in used:
        said = [d.off for d in work.off if d.first <= day <= d.last]
        closed = said[-1] if said else date.fromisoformat(day).weekday() >= rules.week_days
        if closed or day < work.begins:
            yield _fault("W526", day, "is worked though the yard is closed")


def _bound_holds(work: Work, plan: WorkPlan) -> Iterator[Finding]:
    ends = max((step.end for step in plan.steps), default=0)
    slots = sum((s.end - s.start) * s.hands for s in plan.steps)
    least = slots / max(1, len(work.crew))
    if ends != plan.end or plan.end < plan.bound or plan.end < least - 1e-9:
        yield _fault("W527", "end", "the end and its bound do not agree with the steps")
    if plan.proved and plan.end != plan.bound:
        yield _fault("W527", "end", "said to be proved the soonest, and is not")


def _fault(code: str, where: str, says: str) -> Finding:
    return Finding(code, Severity.FAULT, "work", where, says)
