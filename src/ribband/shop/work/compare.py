"""What if: one more hand, a second box, longer boards, bad weather, each planned and forecast.

All are searched for the same time and run over with the same chances, so that what differs is
the change. *Longer boards*: every strake is cut anew into the fewest planks of equal length no
longer than wanted, frames and area shared out by length; butts and bevels are not laid out again,
so it is an estimate of hours, not a layout.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from ribband.shop.hanging.model import Look, Seat
from ribband.shop.hanging.solve import in_order
from ribband.shop.work.forecast import Forecast, forecast
from ribband.shop.work.model import Hand, Measure, Work, WorkPlan
from ribband.shop.work.plan import plan_work
from ribband.shop.work.rules import WorkRules

__all__ = ["Case", "Outcome", "bad_weather", "compare", "longer_boards", "more_gear", "more_hands"]

ALONG = 1000  # half steps of a strake cut anew
NEAR = 0.02


@dataclass(frozen=True, slots=True)
class Case:
    """A way the work might go: its name, the work and the rules."""

    name: str
    work: Work
    rules: WorkRules


@dataclass(frozen=True, slots=True)
class Outcome:
    """What came of a case; `gained` working days against the first."""

    case: str
    planks: int
    hours: float
    plan: WorkPlan
    forecast: Forecast
    gained: float


def compare(
    cases: Sequence[Case],
    *,
    seconds: float = 2.0,
    runs: int = 500,
    seed: int = 0,
    progress: Callable[[float, str], None] | None = None,
) -> tuple[Outcome, ...]:
    """Plan and forecast each case; the first is what the others are measured by."""
    tell = progress or (lambda _part, _words: None)
    found: list[Outcome] = []
    for n, case in enumerate(cases):
        tell(n / len(cases), case.name)
        plan = plan_work(case.work, case.rules, seconds=seconds, near=NEAR, seed=seed)
        spread = forecast(case.work, plan, case.rules, runs=runs, seed=seed)
        middle = spread.days.mean() if len(spread.days) else 0.0
        gained = found[0].forecast.days.mean() - middle if found else 0.0
        planks = len({step.plank for step in plan.steps})
        found.append(Outcome(case.name, planks, plan.hours, plan, spread, float(gained)))
    return tuple(found)


def more_hands(base: Case, count: int = 1) -> Case:
    """Give the case with hands more who can do everything, every day."""
    fresh = tuple(Hand(f"another hand {n + 1}") for n in range(count))
    name = "one more hand" if count == 1 else f"{count} more hands"
    return Case(name, replace(base.work, crew=(*base.work.crew, *fresh)), base.rules)


def more_gear(base: Case, item: str, count: int) -> Case:
    """Give the case with so much more of a thing; the steam box counts planks at once."""
    gear = dict(base.work.gear)
    gear[item] = gear.get(item, 0) + count
    return Case(f"{item}: {gear[item]} in place of {gear[item] - count}",
                replace(base.work, gear=gear), base.rules)  # fmt: skip


def bad_weather(base: Case, lost_days: float) -> Case:
    """Give the case with that part of all days lost."""
    name = f"{100 * lost_days:.0f} days in a hundred lost"
    return Case(name, base.work, replace(base.rules, lost_days=lost_days))


def longer_boards(base: Case, longest_m: float) -> Case:
    """Give the case with the hull in fewer, longer planks; what is hung already stays hung.

    Strakes with a plank that is begun are left as they are.
    """
    begun = {plank for plank, _ in base.work.done}
    strakes: dict[tuple[str, int], list[Measure]] = defaultdict(list)
    by_name = {m.plank: m for m in base.work.measures}
    rows = _rows(base.work)
    for name, key in rows.items():
        strakes[key].append(by_name[name])
    seats: list[Seat] = []
    measures: list[Measure] = []
    for (side, row), own in strakes.items():
        kept = any(m.plank in begun for m in own)
        cut = own if kept else _cut_anew(own, longest_m)
        measures += cut
        seats += _seated(cut, side, row)
    hanging = in_order(seats, _looks(base.work, seats))
    work = replace(base.work, measures=tuple(measures), hanging=hanging)
    return Case(f"planks up to {longest_m:.1f} m", work, base.rules)


def _rows(work: Work) -> dict[str, tuple[str, int]]:
    """Give the side and row of every plank, rows by the strake's place in the name's order."""
    sides = {place.plank: place.side for place in work.hanging.places}
    names = [m.plank for m in work.measures]
    rows: dict[tuple[str, str], int] = {}
    for name in names:
        rows.setdefault((sides[name], _strake(name)), len(rows))
    return {name: (sides[name], rows[sides[name], _strake(name)]) for name in names}


def _strake(plank: str) -> str:
    return plank[1:].rpartition("-")[0]


def _cut_anew(own: Sequence[Measure], longest_m: float) -> list[Measure]:
    """Share a strake out over the fewest planks of equal length."""
    whole = sum(m.length_m for m in own)
    count = max(1, -(-whole // longest_m))
    if count >= len(own):
        return list(own)
    share = 1.0 / count
    side_strake = own[0].plank.rpartition("-")[0]
    found = []
    for n in range(int(count)):
        near = own[min(len(own) - 1, int((n + 0.5) * share * len(own)))]
        found.append(
            replace(
                near,
                plank=f"{side_strake}-{n + 1}",
                length_m=whole * share,
                area_m2=sum(m.area_m2 for m in own) * share,
                frames=round(sum(m.frames for m in own) * share),
                seam_m=sum(m.seam_m for m in own) * share,
                kg=None if near.kg is None else sum(m.kg or 0.0 for m in own) * share,
            )
        )
    return found


def _seated(own: Sequence[Measure], side: str, row: int) -> list[Seat]:
    whole = sum(m.length_m for m in own)
    edges, at = [0], 0.0
    for measure in own:
        at += measure.length_m
        edges.append(round(ALONG * at / whole))
    return [Seat(m.plank, side, row, edges[n], edges[n + 1]) for n, m in enumerate(own)]


def _looks(work: Work, seats: Sequence[Seat]) -> list[Look]:
    """Keep the shutter strakes: their middle planks may be the shutter again."""
    strakes = {shutter[:1] + _strake(shutter) for shutter in work.hanging.shutters}
    there = [s for s in seats if s.plank[:1] + _strake(s.plank) in strakes]
    hoods = {0, ALONG}
    return [
        Look(s.plank, float(bool({s.fore, s.aft} & hoods)), None, None, None, 0.0, None,
             hood=bool({s.fore, s.aft} & hoods), says="of the shutter strake")
        for s in there
    ]  # fmt: skip
