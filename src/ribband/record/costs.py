"""What the planking costs, planned and real, as far as the yard gave prices and wages.

*Planned wages*: the hours of every operation by the rates, at the mean wage of those of the crew
who can do it. *Real wages*: the hours logged of each hand at that hand's wage. *Real fastenings*:
of what was planned, the part driven in planks that are fast. Nothing is made up: where a price or
a wage is missing that is wanted for a sum, the sum is None.

What is used up and machines are in `ribband.record.supplied`, overheads and transport in
`ribband.record.overheads`. Not in any of it: hand tools, and hours nobody logged.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass

from ribband.shop.fastenings.model import Fastenings, Line
from ribband.shop.work.model import Hand
from ribband.timber.order.model import Order
from ribband.units import counted

__all__ = [
    "Cost", "CostSum", "Wage", "cost_sum", "fastenings_cost", "timber_to_buy",
    "wages_by_operation", "wages_planned", "wages_real",
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Cost:
    """A sum of money in the yard's own, planned and real; None where it is not known."""

    what: str
    planned: float | None
    real: float | None
    says: str = ""


@dataclass(frozen=True, slots=True)
class CostSum:
    """The sum of what is known, None where nothing is, and the names of what it leaves out."""

    planned: float | None
    real: float | None
    without: tuple[str, ...]
    without_real: tuple[str, ...]

    @property
    def says(self) -> str:
        """Say aloud what the sums leave out."""
        if self.planned is None and self.real is None:
            return (
                "Nothing is known: no price stands on the forms boards, fastenings or supplies for "
                "all that is wanted, and no wage on the form crew."
            )
        planned = f"planned without {', '.join(self.without)}" if self.without else ""
        real = f"real without {', '.join(self.without_real)}" if self.without_real else ""
        left_out = "; ".join(part for part in (planned, real) if part)
        never = "In neither: hand tools, and hours nobody logged."
        return f"{left_out[:1].upper()}{left_out[1:]}. {never}" if left_out else never


def cost_sum(costs: Sequence[Cost]) -> CostSum:
    """Add up what is known.

    >>> costs = [Cost("timber", 100.0, 40.0), Cost("cotton", 8.0, 2.0), Cost("oakum", None, None)]
    >>> made = cost_sum(costs)
    >>> made.planned, made.real
    (108.0, 42.0)
    >>> made.says.partition(". ")[0]
    'Planned without oakum; real without oakum'
    """
    planned = [cost.planned for cost in costs if cost.planned is not None]
    real = [cost.real for cost in costs if cost.real is not None]
    return CostSum(
        sum(planned) if planned else None,
        sum(real) if real else None,
        tuple(cost.what for cost in costs if cost.planned is None),
        tuple(cost.what for cost in costs if cost.real is None),
    )


def timber_to_buy(order: Order | None) -> Cost | None:
    """Give what the timber on order costs; nothing where none is: it is tallied when it comes."""
    if order is None or not (order.lines or order.unmet):
        return None
    if not order.lines:
        says = f"{counted(len(order.unmet), 'plank')} no board of the mill gives: ask for timber"
        return Cost("timber to buy", None, None, says)
    says = f"{counted(sum(line.count for line in order.lines), 'board')} on the order, spare boards"
    says += " with them; real: none of it before it is tallied"
    if order.price is None:
        says += "; one has no price on the form mill"
    if order.unmet:
        says += f"; not in it: {counted(len(order.unmet), 'plank')} no board of the mill gives"
    return Cost("timber to buy", order.price, None if order.price is None else 0.0, says)


def wages_planned(hours: Mapping[str, float], crew: Sequence[Hand]) -> float | None:
    """Give the wages of all hours planned; None where the wage of one who may do them is wanting.

    >>> crew = [Hand("Ann", ("hang",), wage=20.0), Hand("Bo", ("hang", "caulk"), wage=30.0)]
    >>> wages_planned({"hang": 10.0, "caulk": 2.0, "steam": 0.0}, crew)
    310.0
    >>> wages_planned({"hang": 10.0}, [Hand("Ann")]) is None
    True
    """
    total = 0.0
    for operation, spent in hours.items():
        wages = [hand.wage for hand in crew if operation in hand.does]
        known = [wage for wage in wages if wage is not None]
        if spent and (not known or len(known) < len(wages)):
            return None
        total += spent * sum(known) / len(known) if spent else 0.0
    return total if hours and crew else None


def wages_real(hours: Mapping[str, float], crew: Iterable[Hand]) -> float | None:
    """Give the wages of the hours logged; None where nothing is, or a hand's wage is wanting.

    >>> wages_real({"Ann": 2.0, "Bo": 1.0}, [Hand("Ann", wage=20.0), Hand("Bo", wage=30.0)])
    70.0
    >>> wages_real({"Ann": 2.0, "Zed": 1.0}, [Hand("Ann", wage=20.0)]) is None
    True
    """
    wage = {hand.name.casefold(): hand.wage for hand in crew}
    each = [(wage.get(name.casefold()), spent) for name, spent in hours.items()]
    if not each or any(own is None for own, _ in each):
        return None
    return sum(own * spent for own, spent in each if own is not None)


@dataclass(frozen=True, slots=True)
class Wage:
    """An operation's hours and wages; None where a wage is wanting or nothing is logged.

    wage : an hour's, the mean of those of the crew who may do it
    logged_hours : that the log tells, of those who were at it; real : at their own wages
    """

    operation: str
    planned_hours: float
    wage: float | None
    planned: float | None
    logged_hours: float
    real: float | None


def wages_by_operation(
    hours: Mapping[str, float], logged: Mapping[tuple[str, str], float], crew: Sequence[Hand]
) -> tuple[Wage, ...]:
    """Split the wages by operation; the columns add up to `wages_planned` and `wages_real`.

    Parameters
    ----------
    hours : planned, by operation
    logged : hours by operation and hand

    >>> crew = [Hand("Ann", ("hang",), wage=20.0), Hand("Bo", ("hang",), wage=30.0)]
    >>> wages_by_operation({"hang": 4.0}, {("hang", "Bo"): 2.0}, crew)[0]
    Wage(operation='hang', planned_hours=4.0, wage=25.0, planned=100.0, logged_hours=2.0, real=60.0)
    """
    found = []
    for operation, planned in hours.items():
        own = {hand: spent for (what, hand), spent in logged.items() if what == operation}
        found.append(
            Wage(operation, planned, wages_planned({operation: 1.0}, crew),
                 wages_planned({operation: planned}, crew), sum(own.values()),
                 wages_real(own, crew))
        )  # fmt: skip
    return tuple(found)


def fastenings_cost(made: Fastenings, fast: Collection[str]) -> tuple[float | None, float | None]:
    """Give what the fastenings cost, all that are planned and those in planks that are fast.

    None for a sum that wants a price nobody gave; so many are priced as are driven, not whole
    boxes, in the second.
    """
    if not made.lines or any(line.price is None for line in made.lines):
        planned = None
    else:
        planned = sum(line.price or 0.0 for line in made.lines)
    parts = [(line, _driven(made, line, fast)) for line in made.lines]
    if not fast or any(line.price is None for line, part in parts if part):
        return planned, None
    return planned, sum((line.price or 0.0) * part / line.to_buy for line, part in parts if part)


def _driven(made: Fastenings, line: Line, fast: Collection[str]) -> int:
    """Count those of a line that are driven in planks that are fast."""
    places = {place.strip() for place in line.where.split(",")}
    rows = [row for row in made.rows if row.where in places]
    every = sum(row.count for row in rows)
    driven = sum(row.count for row in rows if row.plank in fast)
    return round(driven * line.count / every) if every else 0
