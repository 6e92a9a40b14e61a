"""The order and its delivery in words: what is sent to the mill, and what goes to the gate.

Not checked here: anything; `ribband.timber.order.check` does.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from ribband.timber.order.delivery import LIFTING, NOT_SPLIT
from ribband.timber.order.model import MillClass, Need, Order
from ribband.timber.order.rules import OrderRules
from ribband.timber.order.spares import Spares
from ribband.units import counted, format_length, format_volume, format_weight

__all__ = [
    "OrderRow",
    "boards_lacking",
    "delivery_note",
    "how_least",
    "how_sure",
    "less_saves",
    "of_those_held",
    "order_rows",
    "said_of_reserve",
    "said_of_spares",
    "size_said",
    "smallest_boards",
    "why_not_held",
]

OrderRow = tuple[str, float, str, float | None, str]


_NAMED = 6  # planks named before the rest are counted
_SIZES = (
    ("long", "longest", " after trimming", "shorter planks (butts.greatest_plank)"),
    ("wide", "widest", " after trimming", "shorter planks (the sweep counts) or narrower strakes"),
    ("thick", "thickest", "", "thinner rough stuff (planks.rough)"),
)


def order_rows(order: Order, unit: str = "mm") -> tuple[OrderRow, ...]:
    """Give (item, quantity, unit, allowance in per cent, of what), as the table `order` has them.

    A line for each class, its allowance the spare boards over those to be cut; then each named
    allowance with its share of the planks' own rough volume; then the whole, m3.
    """
    lines: list[OrderRow] = [
        (
            size_said(line.of, unit),
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
        held = ", ".join(f"{n} of {size_said(order.lines[k].of, unit)}" for k, n in pack.boards)
        weight = "weight not known" if pack.kg is None else format_weight(pack.kg, unit)
        lines.append(f"pack {number}: {held}; {weight}")
    whole = "weight not known" if order.kg is None else format_weight(order.kg, unit)
    boards = sum(line.count for line in order.lines)
    lines.append(f"{counted(boards, 'board')}, {format_volume(order.volume_m3, unit)}, {whole}")
    if any(pack.kg is None for pack in order.packs):
        lines.append(f"{NOT_SPLIT[0].upper()}{NOT_SPLIT[1:]}.")
    return (*lines, f"Lifting: {LIFTING}.")


def how_least(order: Order) -> str:
    """Say how near the least an order is; of the needs as counted, which is not to be safe."""
    if order.unmet and not order.lines:
        return "nothing can be bought: no class of the mill holds any of these planks"
    if order.gap <= 0:
        of = " and can be bought" if order.unmet else ""
        return f"the least there can be for the needs as counted{of}, proved"
    if math.isinf(order.gap):
        return "not all that is needed can be had"
    return f"at most {order.gap:.1%} over the least for the needs as counted"


def how_sure(order: Order, unit: str) -> str:
    """Say what an order's sureness is of, and what it lacks."""
    held = of_those_held(len(order.unmet))
    if order.sure_enough:
        asked = f"{order.asked:.0%} was asked for" if order.asked else ""
        return "; ".join(part for part in (held, asked, less_saves(order, unit)) if part)
    lacks = boards_lacking(order.lacks, unit) or "no class of the mill holds the spares"
    return "; ".join(
        part for part in (f"NOT SAFE TO ORDER: {order.asked:.0%} is asked for", lacks, held) if part
    )


def said_of_spares(planks: Spares, boards: Spares) -> tuple[str, str]:
    """Say what the spare planks are for, then the spare boards.

    >>> from ribband.timber.order.spares import Lot, Pool
    >>> two = Spares((Pool(9, Lot((3.0, 0.2, 0.05), 2, 1.0)),), 0.95, "one size for all")
    >>> said_of_spares(two, Spares((), 1.0, "none"))[0]
    '2 planks, cut with the others, for planks spoilt in the yard; one size for all'
    >>> said_of_spares(two, Spares((), 1.0, "none"))[1]
    'none'
    """
    many, whole = (sum(p.spare.count for p in over.pools) for over in (planks, boards))
    cut = f"{counted(many, 'plank')}, cut with the others, for planks spoilt in the yard"
    left = f"{counted(whole, 'board')}, left whole, for boards that turn out bad at the planer"
    also = " and for planks spoilt" + (" beyond the spare ones" if many else "")
    left += also if boards.for_planks else ", not counted on for planks spoilt"
    return (
        f"{cut}; {planks.pooled}" if many else "none",
        f"{left}; {boards.pooled}" if whole else "none",
    )


def said_of_reserve(planks: Spares, boards: Spares) -> str:
    """Say whether spares are one reserve or two, and how sure; nothing where none is wanted."""
    many, whole = (sum(p.spare.count for p in over.pools) for over in (planks, boards))
    if boards.for_planks and whole:
        beyond = "what is spoilt beyond the spare planks" if many else "a plank that is spoilt"
        return f"one reserve: {beyond} comes out of the spare boards"
    if not (many and whole):
        return ""
    return (
        f"two reserves: spare planks, {planks.chance:.1%} sure to be enough for those spoilt, and "
        f"spare boards, {boards.chance:.1%} for those that turn out bad; neither is counted on for "
        "the other, for no spare board is left that holds some of the planks"
    )


def less_saves(order: Order, unit: str) -> str:
    """Say what being less sure would save, in timber and, where it is priced, in money.

    An order sure to 90 % of 2 m3, and one of 80 % with 1.9, says:
    "80 % would save 0.1 m3 (5 %)".
    """
    said = []
    for other in order.less:
        saved = order.volume_m3 - other.volume_m3
        if saved > 0:
            part = f"{format_volume(saved, unit)} ({saved / order.volume_m3:.0%})"
            money = ""
            if order.price is not None and other.price is not None:
                money = f" and {order.price - other.price:.2f} of its price"
            said.append(f"{other.asked:.0%} would save {part}{money}")
    return ", ".join(said)


def of_those_held(unmet: int) -> str:
    """Say that a chance is of those planks only that can be bought; nothing where all can.

    >>> of_those_held(0), of_those_held(4)
    ('', 'of the planks that can be bought: 4 planks cannot, and for them it is not enough')
    """
    if not unmet:
        return ""
    rest = counted(unmet, "plank")
    it = "it" if unmet == 1 else "them"
    return f"of the planks that can be bought: {rest} cannot, and for {it} it is not enough"


def boards_lacking(lacks: Sequence[tuple[MillClass, int]], unit: str) -> str:
    """Say how many boards more than the mill counts would do.

    >>> boards_lacking([(MillClass(3000.0, 200.0, 50.0, at_most=4), 3)], "mm")
    '3 boards more than the mill counts would do: 3 of 3000 mm x 200 mm x 50 mm'
    """
    if not lacks:
        return ""
    many = sum(n for _, n in lacks)
    named = ", ".join(f"{n} of {size_said(c, unit)}" for c, n in lacks)
    return f"{counted(many, 'board')} more than the mill counts would do: {named}"


def size_said(c: MillClass, unit: str) -> str:
    """Give a class by its length, width and thickness.

    >>> size_said(MillClass(3000.0, 200.0, 50.0), "mm")
    '3000 mm x 200 mm x 50 mm'
    """
    return " x ".join(format_length(size, unit) for size in c.size)


def smallest_boards(needs: Sequence[Need], rules: OrderRules, unit: str) -> tuple[str, ...]:
    """Name for each of the planks the smallest board that would do, in the steps mills sell by.

    >>> need = Need(3000.0, 450.0, 45.0, ("P1-1",))
    >>> smallest_boards([need], OrderRules(), "mm")
    ('P1-1 wants a board of 3658 mm x 508 mm x 45 mm',)
    """
    lengths = rules.shortest_mm, rules.length_step_mm, rules.end_trim_mm
    widths = rules.narrowest_mm, rules.width_step_mm, rules.edge_trim_mm
    return tuple(
        f"{' and '.join(need.planks)} want{'s' if len(need.planks) == 1 else ''} a board of "
        f"{format_length(_up(need.length_mm, *lengths), unit)} x "
        f"{format_length(_up(need.width_mm, *widths), unit)} x "
        f"{format_length(need.thickness_mm, unit)}"
        for need in needs
    )


def _up(size_mm: float, least: float, step: float, trim: float) -> float:
    """Round a size with its trims up to one that a mill sells."""
    steps = math.ceil((size_mm + 2 * trim - least) / step - 1e-9)
    return least + max(steps, 0) * step


def why_not_held(
    needs: Sequence[Need], classes: Sequence[MillClass], rules: OrderRules, unit: str
) -> tuple[str, ...]:
    """Say of planks no board holds whether they are too long, wide or thick, and what helps.

    >>> need = Need(3000.0, 450.0, 45.0, ("P1-1",))
    >>> why_not_held([need], [MillClass(3600.0, 400.0, 50.0)], OrderRules(), "mm")[0][:58]
    'too wide: P1-1; 450 mm is wanted and the widest board give'
    """
    if not classes:
        return ("the mill sells nothing: fill in the form mill",)
    told = []
    for size, (word, most, trim, helps) in enumerate(_SIZES):
        room = (
            max(c.size[size] for c in classes)
            - 2 * (rules.end_trim_mm, rules.edge_trim_mm, 0.0)[size]
        )
        over = [n for n in needs if n.size[size] > room + 1e-6]
        if over:
            names = [name for need in over for name in need.planks]
            most_wanted = max(n.size[size] for n in over)
            more = f" and {len(names) - _NAMED} more" if len(names) > _NAMED else ""
            told.append(
                f"too {word}: {', '.join(names[:_NAMED])}{more}; "
                f"{format_length(most_wanted, unit)} is wanted and the {most} board gives "
                f"{format_length(room, unit)}{trim}: {helps}, or name such boards in the form mill"
            )
    return tuple(told)
