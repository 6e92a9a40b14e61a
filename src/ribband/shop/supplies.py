"""What the yard pays for what is used up and for machines by the hour, as on the form `supplies`.

*Supply*: an item with its price, of so many of a unit. Cotton and oakum are sold by weight or by
length, compound, primer and bedding by the litre or the gallon, bungs and butt blocks by the
piece; steam box, its fuel, planer and crane cost by the hour they run; *overheads* are so much of a
hundred of the wages or so much a man-hour, *transport* so much a delivery. Of any item a plain
*sum* may be given for the whole planking, and so of things that nothing here counts ("sandpaper").

No price is known to the program: what the yard does not give stays blank. Not checked: whether a
price is a fair one, or net of tax.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from ribband.errors import InputError, Problem
from ribband.shop.blocks.solve import Blocks
from ribband.shop.caulking.model import Caulking, Item
from ribband.survey.rows import Row
from ribband.units import POUND

__all__ = [
    "KNOWN", "MACHINES", "Supply", "price_of", "priced", "priced_blocks", "read_supplies",
]  # fmt: skip

KILO, LITRE, METRE = "kg", "l", "m"
US_GALLON, IMPERIAL_GALLON, FOOT = 3.785411784, 4.54609, 0.3048
# what one of a unit is in the unit it is reckoned in
UNITS: dict[str, tuple[str, float]] = {
    "kg": (KILO, 1.0),
    "lb": (KILO, float(POUND)),
    "metre": (METRE, 1.0),
    "foot": (METRE, FOOT),
    "litre": (LITRE, 1.0),
    "us gallon": (LITRE, US_GALLON),
    "imperial gallon": (LITRE, IMPERIAL_GALLON),
    "piece": ("piece", 1.0),
    "hour": ("hour", 1.0),
    "man-hour": ("man-hour", 1.0),
    "percent": ("percent", 1.0),
    "delivery": ("delivery", 1.0),
    "sum": ("sum", 1.0),
}
MANY = {"piece": "pieces", "hour": "hours", "man-hour": "man-hours", "delivery": "deliveries"}
MACHINES = ("steam box", "box fuel", "planer", "crane")
FIBRE, WET = (KILO, METRE), (LITRE,)
KNOWN: dict[str, tuple[str, ...]] = {
    "cotton": FIBRE,
    "oakum": FIBRE,
    "compound": WET,
    "primer": WET,
    "bedding": WET,
    "bungs": ("piece",),
    "butt blocks": ("piece",),
    **dict.fromkeys(MACHINES, ("hour",)),
    "overheads": ("percent", "man-hour"),
    "transport": ("delivery",),
}
# what an item of the caulking is here, and the unit it is reckoned in
OF_ITEM = {
    "cotton": ("cotton", KILO),
    "cotton strand": ("cotton", METRE),
    "oakum": ("oakum", KILO),
    "oakum strand": ("oakum", METRE),
    "paying: compound or pitch": ("compound", LITRE),
    "seam primer": ("primer", LITRE),
    "bedding": ("bedding", LITRE),
    "bungs": ("bungs", "piece"),
}


@dataclass(frozen=True, slots=True)
class Supply:
    """A price of the yard's own: of `amount` of `unit`, in its own money.

    expected, so_far : how many of the unit, of what nothing here counts; None where not said

    >>> Supply("cotton", 18.0, 1.0, "lb").each
    39.68...
    """

    item: str
    price: float
    amount: float
    unit: str
    expected: float | None = None
    so_far: float | None = None

    @property
    def of(self) -> str:
        """The unit it is reckoned in: kg, m, l, piece, hour, man-hour, percent, delivery or sum."""
        return UNITS[self.unit][0]

    @property
    def each(self) -> float:
        """The price of one of that unit."""
        return self.price / (self.amount * UNITS[self.unit][1])

    @property
    def says(self) -> str:
        """The price in words, as it was given.

        >>> Supply("compound", 21.0, 1.0, "litre").says, Supply("saws", 90.0, 1.0, "sum").says
        ('21.00 a litre', 'a sum of the yard')
        >>> Supply("bungs", 6.0, 100.0, "piece").says
        '6.00 for 100 pieces'
        >>> Supply("overheads", 35.0, 1.0, "percent").says
        '35 % of the wages'
        """
        if self.unit == "sum":
            return "a sum of the yard"
        if self.unit == "percent":
            return f"{self.each:g} % of the wages"
        unit = self.unit.replace("us ", "US ")
        if self.amount == 1.0:
            return f"{self.price:.2f} {'an' if unit == 'hour' else 'a'} {unit}"
        more = MANY.get(unit, unit)
        return f"{self.price:.2f} for {self.amount:g} {more if self.amount > 1 else unit}"


def read_supplies(rows: Sequence[Row]) -> tuple[Supply, ...]:
    """Read the form `supplies`.

    Raises
    ------
    InputError : an item twice, or a unit it is not sold by; all of them

    >>> row = Row({"item": "Oakum", "price": 9.0, "amount": None, "unit": "kg"}, "supplies", 2)
    >>> read_supplies([row])
    (Supply(item='oakum', price=9.0, amount=1.0, unit='kg', expected=None, so_far=None),)
    """
    problems: list[Problem] = []
    found: dict[str, Supply] = {}
    for row in rows:
        v = row.values
        item = " ".join(str(v["item"]).split())
        item = item.lower() if item.lower() in KNOWN else item
        own = Supply(
            item, float(v["price"]), float(v.get("amount") or 1.0), str(v["unit"]).lower(),
            v.get("expected"), v.get("so_far"),
        )  # fmt: skip
        units = [u for u, (of, _) in UNITS.items() if of in (*KNOWN.get(item, ()), "sum")]
        if own.unit not in units:
            wanted = f"{item} by one of: {', '.join(units)}"
            problems.append(Problem(row.file, row.number, "unit", own.unit, wanted, units[0]))
        if item.lower() in {name.lower() for name in found}:
            problems.append(Problem(row.file, row.number, "item", item, "each item once"))
        found[item] = own
    if problems:
        raise InputError(problems)
    return tuple(found.values())


def price_of(supplies: Iterable[Supply], item: str) -> Supply | None:
    """Give what the yard pays for an item; None where it did not say."""
    return next((own for own in supplies if own.item == item), None)


def priced(caulking: Caulking, supplies: Sequence[Supply]) -> Caulking:
    """Give the caulking with the price of every item that has one: what is to be bought of it."""
    items = tuple(_priced(item, _supply_of(item.item, supplies)) for item in caulking.items)
    return replace(caulking, items=items)


def priced_blocks(blocks: Blocks, supplies: Sequence[Supply]) -> Blocks:
    """Give the butt blocks with the price of all that are to be made, if the yard gave one."""
    own = price_of(supplies, "butt blocks")
    if own is None or not blocks.blocks:
        return blocks
    return replace(blocks, price=own.price if own.of == "sum" else blocks.to_make * own.each)


def _supply_of(call: str, supplies: Sequence[Supply]) -> Supply | None:
    """Find the price of an item of the caulking; a sum goes to the weight, not to the strand."""
    item, of = OF_ITEM.get(call, ("", ""))
    own = price_of(supplies, item)
    return own if own and (own.of == of or (own.of == "sum" and of != METRE)) else None


def _priced(item: Item, own: Supply | None) -> Item:
    if own is None or item.quantity == 0:
        return item
    if own.of == "sum":
        return replace(item, price=own.price)
    return item if item.quantity is None else replace(item, price=item.quantity * own.each)
