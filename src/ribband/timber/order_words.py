"""The order and its delivery in words: what is sent to the mill, and what goes to the gate.

Not checked here: anything; `ribband.timber.order_check` does.
"""

from __future__ import annotations

from ribband.timber.order_delivery import LIFTING, NOT_SPLIT
from ribband.timber.order_model import MillClass, Order
from ribband.units import format_length, format_volume, format_weight

__all__ = ["OrderRow", "delivery_note", "order_rows"]

OrderRow = tuple[str, float, str, float | None, str]


def order_rows(order: Order, unit: str = "mm") -> tuple[OrderRow, ...]:
    """Give (item, quantity, unit, allowance in per cent, of what), as the table `order` has them.

    A line for each class, its allowance the spare boards over those to be cut; then each named
    allowance with its share of the planks' own rough volume; then the whole, m3.
    """
    lines: list[OrderRow] = [
        (
            _size(line.of, unit),
            float(line.count),
            "boards",
            100.0 * line.spare / line.boards if line.boards else None,
            "boards",
        )
        for line in order.lines
    ]
    lines += [
        (f"allowance: {allowance.name}", allowance.percent, "per cent", allowance.percent, "timber")
        for allowance in order.allowances
    ]
    if order.lines:
        lines.append(("boards in all", order.volume_m3, "m3", None, "timber"))
    return tuple(lines)


def delivery_note(order: Order, unit: str = "mm") -> tuple[str, ...]:
    """Give the packs of a delivery, a line each, then the whole and how to lift it.

    Boards of unknown weight are one pack a size, not split; that is said before the lifting.
    """
    if not order.packs:
        return ()
    lines = []
    for number, pack in enumerate(order.packs, start=1):
        held = ", ".join(f"{n} of {_size(order.lines[k].of, unit)}" for k, n in pack.boards)
        weight = "weight not known" if pack.kg is None else format_weight(pack.kg, unit)
        lines.append(f"pack {number}: {held}; {weight}")
    whole = "weight not known" if order.kg is None else format_weight(order.kg, unit)
    boards = sum(line.count for line in order.lines)
    lines.append(f"{boards} boards, {format_volume(order.volume_m3, unit)}, {whole}")
    if any(pack.kg is None for pack in order.packs):
        lines.append(f"{NOT_SPLIT[0].upper()}{NOT_SPLIT[1:]}.")
    return (*lines, f"Lifting: {LIFTING}.")


def _size(c: MillClass, unit: str) -> str:
    sizes = (c.length_mm, c.width_mm, c.thickness_mm)
    return " x ".join(format_length(size, unit) for size in sizes)
