"""The shop's tables: fastenings, seams, butt blocks, who lifts what; and its lines of the order.

Not checked here: the figures; the tables carry the findings beside them.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from ribband.store.table_model import Column, Link, Shape
from ribband.store.table_model import must as _must
from ribband.store.table_model import number as _number
from ribband.store.table_model import text as _text

if TYPE_CHECKING:
    from ribband.shop.steaming.model import SteamedPlank
    from ribband.shop.whole import Shop

__all__ = ["SHOP_SHAPES", "filled_shop", "order_of_shop", "steam_of"]

Values = tuple[Any, ...]
OF_PLANK = Link("plank", "planks", "plank")
WHERE = ("frames", "butts", "blocks", "hood ends", "nibs")

SHOP_SHAPES = (
    Shape(
        "steaming",
        "a plank, and whether it goes into the steam box",
        (
            _must("plank", "its name"),
            Column("needed", "boolean", "it asks for steam; empty where nothing says"),
            _text("why", "why it does or does not"),
            _number("rule_min", "by the yard's rule"),
            _number("heat_min", "until its middle is hot, by heat flow"),
            _number("steam_min", "the longer of the two; 0: hung cold, empty: not known"),
            _text("binds", "which it is", "the yard's rule", "heat flow"),
            _number("hot_min", "until it stiffens out of the box; an estimate"),
        ),
        ("plank",),
        (OF_PLANK,),
    ),
    Shape(
        "fastenings",
        "the fastenings of a plank at a frame, butt, block or hood end",
        (
            _must("plank", "its name"),
            _must("at", "the frame; stem or stern for a hood end; a block stands aft of it"),
            _must("where", "what it is fastened to", *WHERE),
            _number("width_mm", "of the plank there"),
            Column("count", "integer", "how many"),
            Column("room", "boolean", "they keep the rules of distances"),
        ),
        ("plank", "at", "where"),
        (OF_PLANK,),
    ),
    Shape(
        "butt_blocks",
        "a block behind a butt in a bay",
        (
            _must("side", "which side", "both", "port", "starboard"),
            _must("strake", "counted from the keel"),
            _must("frame", "it stands in the bay aft of it"),
            _number("length_mm", "along the hull"),
            _number("width_mm", "across the strake"),
            _number("thickness_mm", "as the plank's, unless ruled otherwise"),
            Column("short", "boolean", "the bay is too narrow for a good one"),
        ),
        ("side", "strake", "frame"),
    ),
    Shape(
        "seams",
        "a run of seam to be caulked",
        (
            _must("side", "which side", "both", "port", "starboard"),
            _must("of", "under which strake; or hood ends, butts"),
            _number("length_mm", "along it"),
        ),
        ("side", "of"),
    ),
    Shape(
        "handling",
        "a plank, and who lifts it",
        (
            _must("plank", "its name"),
            _number("rough_kg", "as it leaves the pile"),
            _number("hung_kg", "as it is hung"),
            Column("rough_hands", "integer", "from the pile; empty: not by hand, or not known"),
            Column("hung_hands", "integer", "to the hull; empty: not by hand, or not known"),
            Column("by_hand", "boolean", "it may be lifted by hand; empty where not known"),
            _text("says", "who lifts it, in words"),
        ),
        ("plank",),
        (OF_PLANK,),
    ),
)


def filled_shop(shop: Shop | None) -> dict[str, list[Values]]:
    """Give the rows of the shop's tables."""
    if shop is None:
        return {}
    tables: dict[str, list[Values]] = {
        "steaming": [
            (p.plank, p.needed, p.why, p.rule_min, p.heat_min, _in_box(p), p.binds or None,
             p.hot_min)
            for p in shop.steaming.planks
        ],
        "fastenings": [
            (r.plank, r.at, r.where, r.width_mm, r.count, r.room) for r in shop.fastenings.rows
        ],
        "seams": [(s.side, s.of, s.length_mm) for s in shop.caulking.seams],
        "handling": [
            (h.name, h.rough_kg, h.hung_kg, h.rough_hands, h.hung_hands,
             h.by_hand if h.known else None, h.says)
            for h in shop.handling.planks
        ],
    }  # fmt: skip
    if shop.blocks.blocks:
        tables["butt_blocks"] = [
            (b.side, b.strake, b.frame, b.length_mm, b.width_mm, b.thickness_mm, b.short)
            for b in shop.blocks.blocks
        ]
    return tables


def order_of_shop(shop: Shop | None) -> list[Values]:
    """Give the shop's lines of the table `order`, in its columns."""
    return [] if shop is None else list(_order(shop))


def steam_of(shop: Shop | None) -> dict[str, float | None]:
    """Give each plank's minutes in the steam box: nothing for one hung cold, None not known."""
    if shop is None:
        return {}
    return {p.plank: _in_box(p) for p in shop.steaming.planks}


def _in_box(plank: SteamedPlank) -> float | None:
    return 0.0 if plank.needed is False else plank.minutes


def _order(shop: Shop) -> Iterator[Values]:
    for line in shop.fastenings.lines:
        spec = line.spec
        size = " ".join(part for part in (spec.metal, spec.kind, spec.gauge) if part)
        over = 100.0 * (line.to_buy - line.count) / line.count if line.count else None
        yield _row(
            f"{size}, {line.where}", float(line.to_buy), "pieces", over, "fastenings",
            spec.length_mm, line.price,
        )  # fmt: skip
    for item in shop.caulking.items:
        if item.quantity:
            yield _row(
                item.item, item.quantity, item.unit, item.allowance_percent, "caulking", None,
                item.price,
            )  # fmt: skip
    blocks = shop.blocks
    if blocks.blocks:
        over = 100.0 * (blocks.to_make - len(blocks.blocks)) / len(blocks.blocks)
        name = f"butt blocks, {blocks.timber or 'timber not named'}"
        row = _row(name, float(blocks.to_make), "blocks", over, "butt blocks", None, blocks.price)
        yield (*row[:8], blocks.volume_m3, *row[9:])


def _row(  # noqa: PLR0917 - a line of the order
    item: str, quantity: float, unit: str, over: float | None, of: str,
    length: float | None = None, price: float | None = None,
) -> Values:  # fmt: skip
    more: Values = (length, None, None, None, None, price)
    return (item, quantity, unit, over, of, *more)
