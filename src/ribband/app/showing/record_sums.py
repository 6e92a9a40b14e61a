"""What the planking comes to, and the old planking beside the new, as a page shows them.

Not checked: whether prices are right; what the yard did not give is said to be wanting.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from ribband.app.showing.answers import Answer, Line, Listing
from ribband.units import format_bare

if TYPE_CHECKING:
    from ribband.record import Cost, CostSum, OldNew, Record

__all__ = ["sums_answer"]


def sums_answer(record: Record, old: Sequence[OldNew], unit: str) -> Answer:
    """Say what it all costs, planned and so far, and set old planks beside new ones."""
    whole = record.cost_sum
    known = whole.planned is not None or whole.real is not None
    return Answer(
        title="Costs, and old planking and new",
        lines=tuple(_lines(whole, record.costs)) if known else (),
        listings=(_costs(record), _wages(record), _places(old, unit), _strakes(old, unit)),
        notes=(whole.says,),
    )


def _lines(whole: CostSum, costs: Sequence[Cost]) -> Iterator[Line]:
    wanting = [cost.what for cost in costs if cost.planned is None]
    less = f"; not her price: {len(wanting)} of {len(costs)} are not known" if wanting else ""
    yield Line("what is known, by plan", _money(whole.planned), f"in the yard's own money{less}")
    yield Line("what is known, so far", _money(whole.real))


def _costs(record: Record) -> Listing:
    rows = tuple(
        (cost.what, _money(cost.planned), _money(cost.real), cost.says) for cost in record.costs
    )
    return Listing("Costs", ("cost of", "by plan", "real, so far", "of what"), rows)


def _wages(record: Record) -> Listing:
    if all(wage.wage is None for wage in record.wages):
        return Listing("Wages by operation", (), ())
    rows = tuple(
        (w.operation, f"{w.planned_hours:.0f}", _money(w.wage), _money(w.planned),
         f"{w.logged_hours:.1f}" if w.logged_hours else "",
         _money(w.real) if w.logged_hours else "")
        for w in record.wages
    )  # fmt: skip
    columns = ("operation", "hours, planned", "an hour, mean", "wages, planned", "hours, logged",
               "wages, real")  # fmt: skip
    return Listing("Wages by operation", columns, rows)


def _places(old: Sequence[OldNew], unit: str) -> Listing:
    rows = tuple(
        (o.side, o.strake, o.frame, format_bare(o.old_mm, unit), _new(o, unit), o.plank)
        for o in old
    )
    columns = ("side", "strake", "frame", "old width", "new width", "new plank")
    return Listing("Old widths and new", columns, rows)


def _new(place: OldNew, unit: str) -> str:
    if place.stays:
        return "stays"
    return "none there" if place.new_mm is None else format_bare(place.new_mm, unit)


def _strakes(old: Sequence[OldNew], unit: str) -> Listing:
    from ribband.record import old_by_strake

    def thick(ends: tuple[float, ...]) -> str:
        return " to ".join(format_bare(mm, unit) for mm in ends)

    rows = tuple(
        (s.side, s.strake, thick(s.old_thick_mm), thick(s.new_thick_mm), s.old_timber,
         s.new_timber, s.old_fastening, s.new_fastening, s.condition)
        for s in old_by_strake(old)
    )  # fmt: skip
    columns = ("side", "strake", "old thickness", "new thickness", "old timber", "new timber",
               "old fastening", "new fastening", "condition")  # fmt: skip
    return Listing("Thickness, timber, fastening and condition", columns, rows)


def _money(amount: float | None) -> str:
    return "not known" if amount is None else f"{amount:.2f}"
