"""When the last plank will be done: a spread, not a day.

The plan's order is kept: steps are taken up in the order of their starts, each when all it waits
for is done and enough hands who can do it, and its gear, are free; whoever is free takes it. A
plank stays in the box until the hands to hang it are there. In each run the hours of every step
are drawn about their rate (log-normal, by the rate's scatter), every operation's rate is itself
off by as much as is not known of it, some planks are spoilt and got out again, and some days are
lost to weather; days lost are drawn as failures before so many good days.

Not in it: that a plank whose hands come late is held before the night, that a yard would change
its order as things go, and that a step a hand leaves at the
end of his last day is taken over by another. Runs end later than the plan, which has no scatter;
the distance is the price of chance.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.shop.work.build import GEAR_ORDER, Built, Part, build
from ribband.shop.work.days import Days, days_of
from ribband.shop.work.model import OPERATIONS, Hand, Work, WorkPlan
from ribband.shop.work.project import Link, Project, Task, order_of
from ribband.shop.work.rates import scatter_of
from ribband.shop.work.rules import WorkRules

__all__ = ["PARTS", "Forecast", "forecast"]

PARTS = (0.1, 0.25, 0.5, 0.8, 0.9)  # of the runs
RUNS = 2000
SPOILT = ("get out", "plane", "bevel", "hollow")  # done again for a spoilt plank


@dataclass(frozen=True, slots=True, eq=False)
class Forecast:
    """The last plank's day as a spread.

    dates : for each of `parts` of the runs, the day by which so many have ended
    days : (runs,) working days from the first, with days lost; planned : the plan's own
    lost : mean of the days lost; spoilt : mean of the planks spoilt
    """

    parts: tuple[float, ...]
    dates: tuple[str, ...]
    days: Floats
    planned: float
    planned_date: str
    lost: float
    spoilt: float
    seed: int

    @property
    def late(self) -> float:
        """Give the part of the runs that end after the plan's own last day."""
        return float((np.ceil(self.days) > np.ceil(self.planned)).mean())

    @property
    def by(self) -> dict[float, str]:
        """Give the day by which a part of the runs has ended, by the part."""
        return dict(zip(self.parts, self.dates, strict=True))

    @property
    def without_mishap(self) -> str:
        """Say what the plan's own end is worth: it is no forecast, for nothing goes amiss in it."""
        lucky = "sooner than the luckiest tenth of the runs; " if self.lucky else ""
        return f"without any mishap: {lucky}{100 * self.late:.0f} of 100 runs end later"

    @property
    def lucky(self) -> bool:
        """Tell whether the plan ends sooner than even the luckiest tenth of the runs."""
        return self.planned_date < self.dates[0]


def forecast(
    work: Work,
    plan: WorkPlan,
    rules: WorkRules = WorkRules(),  # noqa: B008 - frozen
    *,
    runs: int = RUNS,
    seed: int = 0,
    errors: Mapping[str, float] | None = None,
    progress: Callable[[float, str], None] | None = None,
) -> Forecast:
    """Run the plan many times over.

    Parameters
    ----------
    errors : how far each operation's rate may be off, as a part (`work/learning.py`); the rule's
        where not said
    """
    rng = np.random.default_rng(seed)
    built = build(work, rules, len(plan.days.days))
    long, spoilt = _drawn(work, built, rules, runs, rng, errors or {})
    base = np.array([[part.end - part.begin] for part in built.parts], dtype=float)
    ends = _Yard(work, built, runs + 1, rules.held_part).worked(
        plan, np.hstack([long, base]), progress
    )
    ends = ends[:-1] * (plan.end / ends[-1] if ends[-1] else 1.0)  # without chance: as planned
    good = np.maximum(ends / plan.days.slots, 1e-9)
    lost = rng.negative_binomial(np.maximum(1, np.ceil(good)), 1 - rules.lost_days)
    days = np.asarray(good + lost, dtype=float)
    marks = np.quantile(days, PARTS)
    last = max(1, int(np.ceil(days.max())))
    calendar = days_of(work.begins, last, rules.week_days, rules.day_hours, rules.clock, work.off,
                       rules.dinner_hour)  # fmt: skip
    dates = tuple(calendar.days[max(0, int(np.ceil(mark)) - 1)] for mark in marks)
    planned = plan.end / plan.days.slots
    return Forecast(
        PARTS, dates, days, planned, plan.last_day, float(lost.mean()), float(spoilt.mean()), seed
    )


def _drawn(  # noqa: PLR0917 - all that chance has a hand in
    work: Work,
    built: Built,
    rules: WorkRules,
    runs: int,
    rng: np.random.Generator,
    errors: Mapping[str, float],
) -> tuple[Floats, Floats]:
    """Draw slots (parts, runs) of every step, and how many planks are spoilt in each run."""
    base = np.array([part.end - part.begin for part in built.parts], dtype=float)
    which = np.array([OPERATIONS.index(part.operation) for part in built.parts], dtype=int)
    scatter = np.array([scatter_of(op, work.rates) for op in OPERATIONS])
    off = np.array([errors.get(op, rules.rate_error) for op in OPERATIONS])
    off[OPERATIONS.index("steam")] = 0.0
    common = _about_one(off[:, None], (len(OPERATIONS), runs), rng)
    own = _about_one(scatter[which][:, None], (len(base), runs), rng)
    long = base[:, None] * own * common[which]
    again, count = _spoilt(built.parts, rules, runs, rng)
    return long * (1.0 + again), count


def _about_one(part: Floats, shape: tuple[int, int], rng: np.random.Generator) -> Floats:
    """Draw log-normal factors with mean one and a standard deviation of `part`."""
    spread = np.sqrt(np.log1p(part**2))
    return np.asarray(np.exp(rng.standard_normal(shape) * spread - spread**2 / 2))


def _spoilt(
    parts: tuple[Part, ...], rules: WorkRules, runs: int, rng: np.random.Generator
) -> tuple[Floats, Floats]:
    """Give 1 where a step is done again (parts, runs), and planks spoilt in each run."""
    planks = list(dict.fromkeys(part.plank for part in parts if part.operation == "get out"))
    bad = rng.random((len(planks), runs)) < rules.spoilt_part
    row = {plank: n for n, plank in enumerate(planks)}
    again = np.zeros((len(parts), runs))
    for n, part in enumerate(parts):
        if part.operation in SPOILT and part.plank in row:
            again[n] = bad[row[part.plank]]
    return again, bad.sum(axis=0).astype(float)


class _Yard:
    """Hands and gear in every run: the slot from which each is free."""

    def __init__(self, work: Work, built: Built, runs: int, held: float) -> None:
        self.built, self.crew, self.runs, self.held = built, work.crew, runs, held
        self.hands = np.zeros((len(work.crew), runs))
        self.gear = {item: np.zeros((work.gear.get(item, 0), runs)) for item in GEAR_ORDER}
        self.able = {
            op: np.array([n for n, hand in enumerate(work.crew) if op in hand.does], dtype=int)
            for op in OPERATIONS
        }
        days, week = built.days, 7 * built.days.slots
        self.present = _presences([_hours(hand, days) for hand in work.crew], week)
        self.gear_there = {g: _presences(_places(work, g, days), week) for g in self.gear}

    def worked(
        self, plan: WorkPlan, long: Floats, progress: Callable[[float, str], None] | None
    ) -> Floats:
        """Give the slot (runs,) at which the last step ends in each run."""
        tell = progress or (lambda _part, _words: None)
        start, end = np.zeros_like(long), np.zeros_like(long)
        before = self._before()
        order = _order(self.built, plan)
        for count, n in enumerate(order):
            begin = np.zeros(self.runs)
            for other, at_start in before[n]:
                np.maximum(begin, (start if at_start else end)[other], out=begin)
            start[n], end[n] = self._done(n, begin, long)
            if count % 200 == 0:
                tell(count / len(order), "running the plan over")
        return np.asarray(end.max(axis=0, initial=0.0))

    def _before(self) -> list[list[tuple[int, bool]]]:
        before: list[list[tuple[int, bool]]] = [[] for _ in self.built.parts]
        for wait in self.built.waits:
            before[wait.then].append((wait.first, wait.at_start))
        for n, part in enumerate(self.built.parts):
            if part.begin:
                before[n].append((n - 1, False))  # out of the box
        return before

    def _done(self, n: int, begin: Floats, long: Floats) -> tuple[Floats, Floats]:
        """Do a part as soon as hands and gear are free; gives its start and end."""
        part = self.built.parts[n]
        for item in part.gear:
            self.gear[item] = _there(self.gear[item], self.gear_there[item])
        pools = [(self.gear[item], 1) for item in part.gear]
        for pool, count in pools:
            begin = np.maximum(begin, _freed(pool, count))
        able = self.able[part.operation]
        hands = _there(self.hands[able], self.present[able]) if part.hands else self.hands[:0]
        if part.hands:
            begin = np.maximum(begin, _freed(hands, part.hands))
        if not part.begin and self.built.project.tasks[part.task].whole:
            begin = self._in_a_day(n, begin, long)
        end = begin + long[n]
        for pool, count in pools:
            _take(pool, count, begin, end)
        if part.hands:
            _take(hands, part.hands, begin, end)
            self.hands[able] = hands
        if part.begin and self.built.parts[n - 1].operation == "steam":
            # the box was kept until the hands were there
            _keep(self.gear["steam box"], begin)
        return begin, end

    def _in_a_day(self, n: int, begin: Floats, long: Floats) -> Floats:
        """Put off what is begun in one go to where it is cut by no night, nor hot by dinner."""
        parts, took = self.built.parts, np.zeros(self.runs)
        if parts[n].operation == "steam":
            begin = _not_over_dinner(begin, long[n] + long[n + 1], self.built.days)
        while parts[n].operation != "fasten":
            took, n = took + long[n], n + 1
        return _not_over_night(begin, took + self.held * long[n], self.built.days)


def _hours(hand: Hand, days: Days) -> Floats:
    """Give 1 for each slot in which a hand is there."""
    there = np.zeros((len(days.days), days.slots))
    first, last = days.hours_within(hand.clock)
    for n, day in enumerate(days.days):
        there[n, first:last] = hand.there(day, days.weekday(n))
    return there.reshape(-1)


def _places(work: Work, item: str, days: Days) -> list[Floats]:
    """Give for each of a thing 1 for each slot in which it is there, the last away first."""
    counts = np.repeat([work.gear_on(item, day) for day in days.days], days.slots)
    return [(counts > n).astype(float) for n in range(work.gear.get(item, 0))]


def _presences(there: Sequence[Floats], week: int) -> NDArray[np.int64]:
    """Give for each (k) and slot the next slot, itself included, in which it is there.

    The last is for all slots past the calendar: there, if it was in the last week.
    """
    found = np.zeros((len(there), len(there[0]) + 1 if there else 0), dtype=np.int64)
    for k, own in enumerate(there):
        still = np.append(own, own[-week:].max(initial=0.0)) > 0
        at = np.where(still, np.arange(len(still)), 10 * len(still))
        found[k] = np.minimum.accumulate(at[::-1])[::-1]
    return found


def _there(free: Floats, present: NDArray[np.int64]) -> Floats:
    """Give when each of a pool (k, runs) is free, put off to when it is there."""
    if not (present != np.arange(present.shape[1])).any():
        return free
    slot = np.minimum(free, present.shape[1] - 1).astype(int)
    then = np.take_along_axis(present, slot, axis=1)
    return np.where(then > slot, then, free)


def _order(built: Built, plan: WorkPlan) -> list[int]:
    """Give the parts in the order of the plan's starts; what others wait for first."""
    start = {(step.plank, step.operation): step.start for step in plan.steps}
    urgency = [float(start[part.plank, part.operation]) for part in built.parts]
    tasks = tuple(Task(part.operation, 0) for part in built.parts)
    links = tuple(Link(wait.first, wait.then, 0) for wait in built.waits)
    boxed = tuple(Link(n - 1, n, 0) for n, part in enumerate(built.parts) if part.begin)
    return order_of(Project(tasks, links + boxed, np.zeros((0, 1), dtype=np.int64)), urgency)


def _freed(pool: Floats, count: int) -> Floats:
    """Give when so many of a pool (k, runs) are free."""
    return np.asarray(np.partition(pool, count - 1, axis=0)[count - 1])


def _take(pool: Floats, count: int, begin: Floats, end: Floats) -> None:
    """Take so many that are free at `begin`, those who came free last."""
    key = np.where(pool <= begin + 1e-9, -pool, np.inf)
    chosen = np.argpartition(key, count - 1, axis=0)[:count]
    np.put_along_axis(pool, chosen, np.broadcast_to(end, chosen.shape), axis=0)


def _keep(box: Floats, until: Floats) -> None:
    """Keep the place in the box that came free last before `until` taken until then."""
    key = np.where(box <= until + 1e-9, -box, np.inf)
    chosen = np.argmin(key, axis=0)[None]
    np.put_along_axis(box, chosen, until[None], axis=0)


def _not_over_dinner(begin: Floats, took: Floats, days: Days) -> Floats:
    """Put off what would run on over dinner or the night, and fits in without."""
    slots, noon = days.slots, days.noon
    if not noon:
        return begin
    at, fits = begin % slots, took <= max(noon, slots - noon)
    over = fits & (at + took > np.where(at < noon, noon, slots))
    next_day = np.where(took <= noon, slots, slots + noon)
    then = np.where((at < noon) & (took <= slots - noon), noon, next_day)
    return np.where(over, begin - at + then, begin)


def _not_over_night(begin: Floats, took: Floats, days: Days) -> Floats:
    """Put off what would run on over the night, and fits into a day."""
    slots = days.slots
    over = (begin % slots + took > slots) & (took <= slots)
    return np.where(over, (begin // slots + 1) * slots, begin)
