"""What is used up and what machines cost, planned and real, by the prices of the form `supplies`.

*Planned*: what the shop says is to be bought, with its waste, at the yard's price; machines by
the hours they run: the steam box by the minutes of the planks it takes, so many at once; the
planer by the hours of planing, the crane by those of hanging what is too heavy, as long as they
take with the hands of the rates. The box, and its fuel, run while it is heated up too, once on
every day it is lit: days with steaming in the log, and in the plan of what is left. *Real*: the
part of it for planks that have come so far by the log, by their length; steamed, planed and hung
planks by the hours planned for them, and the days logged.

Nothing is made up: without a price, or a quantity, a cost is None, and says which is wanting.
Not in it: setting machines, and what is bought in whole packs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from ribband.record.costs import Cost
from ribband.record.model import come_to
from ribband.shop.caulking.model import Item
from ribband.shop.supplies import KNOWN, MACHINES, OF_ITEM, Supply, price_of
from ribband.shop.whole import Shop
from ribband.shop.work.forms import Logged
from ribband.shop.work.model import Measure, Rate, WorkPlan
from ribband.shop.work.rates import hands_of, hours_of
from ribband.units import format_quantity

__all__ = ["Heating", "Running", "heating_of", "supplies_cost"]

NO_PRICE = "no price on the form supplies"
# the step after which an item is used up
USED = {"bedding": "hung", "butt blocks": "hung", "bungs": "bunged"}


BOX = ("steam box", "box fuel")  # what runs while the box is heated up


@dataclass(frozen=True, slots=True)
class Heating:
    """The box heated up: minutes each time (0: not given), days it is lit in all, and so far.

    Of planks logged as steamed without a day, the day is in neither.
    """

    minutes: float = 0.0
    days: int = 0
    days_logged: int = 0


@dataclass(frozen=True, slots=True)
class Running:
    """What tells how long machines run: planks measured, rates, planks in a box, crane's weight."""

    measures: Sequence[Measure]
    rates: Sequence[Rate]
    at_once: int
    crane_kg: float
    heating: Heating = Heating()


def heating_of(minutes: float, log: Sequence[Logged], left: WorkPlan | None) -> Heating:
    """Count the days the box is lit: those logged with steaming, and those of the plan of the rest.

    >>> log = [Logged("P1-1", "steamed", "2027-03-01 09:00", ()), Logged("P2-1", "steamed", "", ())]
    >>> heating_of(45.0, log, None)
    Heating(minutes=45.0, days=1, days_logged=1)
    """
    logged = {line.at[:10] for line in log if line.state == "steamed" and line.at}
    steps = left.steps if left is not None else ()
    coming = {left.days.at(s.start).date() for s in steps if left and s.operation == "steam"}
    return Heating(minutes, len(logged) + len(coming), len(logged))


def supplies_cost(  # noqa: PLR0917 - what is used, what runs, the prices, and how far it has come
    shop: Shop,
    running: Running | None,
    supplies: Sequence[Supply],
    states: Mapping[str, str],
    lengths: Mapping[str, float],
    unit: str,
) -> tuple[Cost, ...]:
    """Give the cost of everything used up and of machines by the hour.

    Parameters
    ----------
    running : None where no work is planned
    states : the furthest step of every plank logged
    lengths : of every plank, of one unit whatever it is
    unit : of the job, for the words
    """

    def part(state: str) -> float | None:
        done = {p for p, s in states.items() if come_to(s, state)}
        every = sum(lengths.values())
        return sum(lengths.get(p, 0.0) for p in done) / every if states and every else None

    return (
        *_used_up(shop, supplies, part, unit),
        *_machines(running, supplies, states),
        *(
            Cost(own.item, own.price, None, "a sum of the yard for the whole planking")
            for own in supplies
            if own.item not in KNOWN
        ),
    )


Part = Callable[[str], float | None]


def _used_up(shop: Shop, supplies: Sequence[Supply], part: Part, unit: str) -> Iterator[Cost]:
    calls: dict[str, list[Item]] = {}
    for item in shop.caulking.items:
        if item.quantity != 0:
            calls.setdefault(OF_ITEM[item.item][0], []).append(item)
    for name, items in calls.items():
        bought = next((item for item in items if item.price is not None), items[-1])
        much = "" if bought.quantity is None else format_quantity(
            bought.quantity, bought.unit, unit
        )  # fmt: skip
        yield _cost(name, bought.price, much, price_of(supplies, name), part)
    blocks = shop.blocks
    if blocks.blocks:
        own = price_of(supplies, "butt blocks")
        yield _cost("butt blocks", blocks.price, str(blocks.to_make), own, part)


def _cost(name: str, price: float | None, much: str, own: Supply | None, part: Part) -> Cost:
    """Give the cost of an item used up by the step it is used up in."""
    state = USED.get(name, "caulked")
    if own is None or price is None:
        weigh = "; its weight is not known: rule caulking.oakum_g_per_m" if name == "oakum" else ""
        wanting = NO_PRICE if own is None else f"{own.says}, but how much is not known{weigh}"
        return Cost(name, None, None, f"{much}: {wanting}" if much and own is None else wanting)
    done = part(state)
    said = own.says if own.of == "sum" else f"{much} at {own.says}"
    return Cost(name, price, None if done is None else done * price,
                f"{said}; real: by the length {state}")  # fmt: skip


def _machines(
    running: Running | None, supplies: Sequence[Supply], states: Mapping[str, str]
) -> Iterator[Cost]:
    for name in MACHINES:
        own = price_of(supplies, name)
        if running is None:
            if own is not None:
                yield Cost(name, None, None, f"{own.says}, but no work is planned")
            continue
        hours, state = _hours(name, running)
        if hours is None:
            yield Cost(name, None, None, "the weight of planks is not known")
        elif hours:
            done = [h for p, h in hours.items() if come_to(states.get(p, ""), state)]
            heating = running.heating if name in BOX else None
            run = _Run(sum(hours.values()), sum(done) if states else None, state, heating)
            yield _run(name, own, run)


@dataclass(frozen=True, slots=True)
class _Run:
    """How long a machine runs at planks, in all and for those come to a step, and its heating."""

    planks: float
    planks_done: float | None
    state: str
    heating: Heating | None

    @property
    def hours(self) -> float:
        """All hours it runs."""
        return self.planks + (self.heating.minutes * self.heating.days / 60 if self.heating else 0)

    @property
    def hours_done(self) -> float | None:
        """Those so far, None where nothing is logged."""
        if self.planks_done is None:
            return None
        lit = self.heating.minutes * self.heating.days_logged / 60 if self.heating else 0.0
        return self.planks_done + lit

    @property
    def says(self) -> str:
        """Say the hours, and what heating up is in them."""
        if self.heating is None:
            return f"{self.hours:.1f} hours"
        if not self.heating.minutes:
            return f"{self.hours:.1f} hours, heating up not given: rule steaming.heat_up_minutes"
        much = f"{self.heating.days} times {self.heating.minutes:g} min heating up"
        return f"{self.hours:.1f} hours, of them {much}"


def _run(name: str, own: Supply | None, run: _Run) -> Cost:
    if own is None:
        return Cost(name, None, None, f"{run.says}: {NO_PRICE}")
    summed = own.of == "sum"
    price = own.price if summed else run.hours * own.each
    words = own.says if summed else f"{run.says}, at {own.says}"
    done = run.hours_done
    real = None if done is None else price * done / run.hours if summed else done * own.each
    return Cost(name, price, real, f"{words}; real: of planks {run.state}, by the hours planned")


def _hours(name: str, running: Running) -> tuple[dict[str, float] | None, str]:
    """Give the hours a machine runs for each plank that wants it, and the step; None: not known."""
    planks = running.measures
    if name in BOX:
        minutes = {m.plank: m.steam_min for m in planks if m.steam_min is not None}
        return {p: own / 60 / max(1, running.at_once) for p, own in minutes.items()}, "steamed"
    if name == "planer":
        return _by_rates("plane", planks, running.rates), "planed"
    if any(m.kg is None for m in planks):
        return None, "hung"
    heavy = [m for m in planks if (m.kg or 0.0) > running.crane_kg]
    return _by_rates("hang", heavy, running.rates), "hung"


def _by_rates(operation: str, planks: Sequence[Measure], rates: Sequence[Rate]) -> dict[str, float]:
    hands = max(1, hands_of(operation, rates))
    return {m.plank: hours_of(operation, m, rates) / hands for m in planks}
