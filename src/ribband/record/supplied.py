"""What is used up and what machines cost, planned and real, by the prices of the form `supplies`.

*Planned*: what the shop says is to be bought, with its waste, at the yard's price; machines by
the hours they run: the steam box by the minutes of the planks it takes, so many at once; the
planer by the hours of planing, the crane by those of hanging what is too heavy, as long as they
take with the hands of the rates. *Real*: the part of it for planks that have come so far by the
log, by their length; steamed, planed and hung planks by the hours planned for them.

Nothing is made up: without a price, or a quantity, a cost is None, and says which is wanting.
Not in it: heating the box up, setting machines, and what is bought in whole packs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from ribband.record.costs import Cost
from ribband.record.model import come_to
from ribband.shop.caulking.model import Item
from ribband.shop.supplies import KNOWN, MACHINES, OF_ITEM, Supply, price_of
from ribband.shop.whole import Shop
from ribband.shop.work.model import Measure, Rate
from ribband.shop.work.rates import hands_of, hours_of
from ribband.units import format_quantity

__all__ = ["Running", "supplies_cost"]

NO_PRICE = "no price on the form supplies"
# the step after which an item is used up
USED = {"bedding": "hung", "butt blocks": "hung", "bungs": "bunged"}


@dataclass(frozen=True, slots=True)
class Running:
    """What tells how long machines run: planks measured, rates, planks in a box, crane's weight."""

    measures: Sequence[Measure]
    rates: Sequence[Rate]
    at_once: int
    crane_kg: float


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
            every = sum(hours.values())
            done = {p for p, s in states.items() if come_to(s, state)}
            part = sum(h for p, h in hours.items() if p in done) / every if every else 0.0
            yield _run(name, own, every, part if states else None, state)


def _run(name: str, own: Supply | None, hours: float, part: float | None, state: str) -> Cost:
    said = f"{hours:.1f} hours"
    if own is None:
        return Cost(name, None, None, f"{said}: {NO_PRICE}")
    price = own.price if own.of == "sum" else hours * own.each
    words = own.says if own.of == "sum" else f"{said} at {own.says}"
    real = None if part is None else part * price
    return Cost(name, price, real, f"{words}; real: of planks {state}, by the hours planned")


def _hours(name: str, running: Running) -> tuple[dict[str, float] | None, str]:
    """Give the hours a machine runs for each plank that wants it, and the step; None: not known."""
    planks = running.measures
    if name == "steam box":
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
