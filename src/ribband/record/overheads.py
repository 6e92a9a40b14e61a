"""What a yard pays besides timber, stuff and hands: overheads, and bringing things to the yard.

*Overheads*: rent, light, insurance, tools and office, as the yard reckons them itself: so much of a
hundred of the wages, or so much a man-hour. *Transport*: by the delivery; how many are expected,
and how many came so far, the yard says too, for nothing here counts them. Of either a plain sum
may be given for the whole planking.

No figure of either is known to the program: what the yard does not give is not known, and is
shown so. Not checked: whether wages or prices have them in already.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ribband.record.costs import Cost
from ribband.shop.supplies import Supply, price_of

__all__ = ["Labour", "overheads_cost", "transport_cost"]

NOT_GIVEN = "not given on the form supplies"


@dataclass(frozen=True, slots=True)
class Labour:
    """Wages and man-hours, by the rates and as logged; None where not known."""

    wages: float | None
    wages_real: float | None
    hours: float
    hours_logged: float


def overheads_cost(supplies: Sequence[Supply], labour: Labour | None) -> Cost:
    """Give overheads on the wages or on the man-hours; `labour` None where no work is planned.

    >>> labour = Labour(1000.0, 250.0, 50.0, 12.0)
    >>> overheads_cost([Supply("overheads", 35.0, 1.0, "percent")], labour)
    Cost(what='overheads', planned=350.0, real=87.5, says='35 % of the wages')
    >>> overheads_cost([Supply("overheads", 4.0, 1.0, "man-hour")], labour).planned
    200.0
    >>> overheads_cost([], labour).planned is None
    True
    """
    own = price_of(supplies, "overheads")
    if own is None:
        return Cost("overheads", None, None, NOT_GIVEN)
    if own.of == "sum":
        return Cost("overheads", own.price, None, own.says)
    if labour is None:
        return Cost("overheads", None, None, f"{own.says}, but no work is planned")
    if own.of == "man-hour":
        said = f"{own.says}: {labour.hours:.1f} by the rates, {labour.hours_logged:.1f} logged"
        real = own.each * labour.hours_logged if labour.hours_logged else None
        return Cost("overheads", own.each * labour.hours, real, said)
    paid = (labour.wages, labour.wages_real)
    planned, real = (None if one is None else own.each * one / 100 for one in paid)
    wanting = ", which are not known" if planned is None else ""
    return Cost("overheads", planned, real, f"{own.says}{wanting}")


def transport_cost(supplies: Sequence[Supply]) -> Cost:
    """Give what the deliveries cost that the yard expects, and those that came.

    >>> transport_cost([Supply("transport", 85.0, 1.0, "delivery", expected=4.0, so_far=1.0)])
    Cost(what='transport', planned=340.0, real=85.0, says='85.00 a delivery: 4 expected, 1 so far')
    >>> transport_cost([Supply("transport", 85.0, 1.0, "delivery")]).says
    '85.00 a delivery: how many are expected is not said, how many came is not said'
    """
    own = price_of(supplies, "transport")
    if own is None:
        return Cost("transport", None, None, NOT_GIVEN)
    if own.of == "sum":
        return Cost("transport", own.price, None, own.says)
    planned, real = (
        None if many is None else own.each * many for many in (own.expected, own.so_far)
    )
    told = (
        "how many are expected is not said"
        if own.expected is None
        else f"{own.expected:g} expected",
        "how many came is not said" if own.so_far is None else f"{own.so_far:g} so far",
    )
    return Cost("transport", planned, real, f"{own.says}: {', '.join(told)}")
