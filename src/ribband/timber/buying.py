"""What is bought for a job: the planks no board of the pile holds, as boards a mill sells.

*Bought boards* are named "buy 1", "buy 2" and so on, past marks that boards of the pile bear: those
the planks are to be cut from, then the spare ones. Where no flat shape is known (girths only) a
plank's own length and width stand for it, with the rule's breadth for sweep on top.

Not checked here: the order; `check_order` does that.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import count

from ribband.findings import Finding, Severity
from ribband.planks.model import Plank
from ribband.survey.rows import Row
from ribband.timber.board_model import MEASURED_MM, Piece, names_said
from ribband.timber.model import Species
from ribband.timber.moisture.dress import DressRules, rough_that_dresses
from ribband.timber.order.model import LessSure, MillClass, Need, Order
from ribband.timber.order.needs import (
    lacking,
    mill_classes,
    needs_of_pieces,
    needs_of_planks,
    read_mill,
)
from ribband.timber.order.rules import OrderRules
from ribband.timber.order.solve import order
from ribband.timber.order.words import size_said, smallest_boards
from ribband.units import BOARD_FEET_PER_M3, counted, format_length

__all__ = ["Bought", "BoughtBoard", "as_bought", "boards_for", "bought_boards", "buy", "classes_of",
           "lost_boards", "needs_of", "not_named", "thicker_bought", "with_less_sure"]  # fmt: skip

LESS_SURE = (0.8, 0.7)  # what being less sure would save is told of
QUICK = 2.0  # s, for each of these
Progress = Callable[[float, str], None] | None


@dataclass(frozen=True, slots=True)
class Bought:
    """The order for a job; `order` is None where nothing is lacking.

    `from_shapes` tells that the needs are of flat shapes, and not guessed from the plank list.
    `gone` are planks got out already, of boards not known: nothing is bought for them.
    `marks` are those of the pile's boards, which no board of the order is called by.
    """

    needs: tuple[Need, ...]
    classes: tuple[MillClass, ...]
    rules: OrderRules
    from_shapes: bool
    order: Order | None
    gone: tuple[str, ...] = ()
    marks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class BoughtBoard:
    """A board to be bought: its name, class, weight if known, and the planks to be cut from it."""

    name: str
    of: MillClass
    kg: float | None
    planks: tuple[str, ...]


def classes_of(  # noqa: PLR0917 - two forms, and what stands where they are blank
    mill: Sequence[Row],
    stock: Sequence[Row],
    thickness_mm: float,
    rules: OrderRules,
    unit: str,
    thickest_mm: float = 0.0,
) -> tuple[MillClass, ...]:
    """Give what can be bought: the form `mill`; else sized lines of `stock`; else the rules' own.

    thickness_mm : where none is told; thickest_mm : the most any plank wants, for thicker classes

    >>> len(classes_of((), (), 50.8, OrderRules(), "mm"))
    54
    """
    sized = [row for row in stock if row.values.get("width")]
    rows = list(mill) or sized
    if rows:
        return read_mill(rows, thickness_mm, rules, unit, thickest_mm)
    return mill_classes(thickness_mm, rules, thickest_mm=thickest_mm)


def as_bought(
    pieces: Sequence[Piece],
    thicknesses_mm: tuple[float, float],
    dressing: DressRules,
    rules: OrderRules,
    species: Species | None = None,
) -> tuple[Piece, ...]:
    """Give pieces as thick as they must be bought: what a hollowed plank is planed to, and rough.

    What drying and planing take is reckoned as for a board of the pile, from the moisture boards
    are bought at, but as no more than the yard's own rough stuff leaves: `thicknesses_mm`, dressed
    and rough, are taken at their word for a plank without hollow. Nothing is added where boards
    that will not dress are not to be barred.

    >>> import numpy as np
    >>> flat = Piece("7-2", np.zeros((3, 2)), ("P7-2",), 45.0, planed_mm=38.0)
    >>> two = as_bought([flat, replace(flat, planed_mm=43.0)], (38, 45), DressRules(), OrderRules())
    >>> [round(piece.thickness_mm, 2) for piece in two]
    [45.0, 48.95]
    """
    dressed, rough = thicknesses_mm
    if not dressing.bar or not dressed:
        return tuple(pieces)
    wanted = []
    for piece in pieces:
        by_sum = rough_that_dresses(piece.planed_mm, dressing, species, rules.moisture_percent)
        least = min(by_sum, piece.planed_mm + max(rough - dressed, 0.0))
        wanted.append(replace(piece, thickness_mm=max(piece.thickness_mm, least)))
    return tuple(wanted)


def thicker_bought(
    order: Order, needs: Sequence[Need], rough_mm: float, unit: str
) -> tuple[Finding, ...]:
    """Name the planks that are hollowed too deep for the rough stuff and bought thicker (T039)."""
    unmet = set(order.unmet)
    thicker = [need for need in needs if need.thickness_mm > rough_mm + MEASURED_MM]
    names = [name for need in thicker for name in need.planks if name not in unmet]
    if not rough_mm or not names:
        return ()
    most = max(need.thickness_mm for need in thicker)
    says = (
        f"{counted(len(names), 'plank')} bought thicker than the rough stuff, "
        f"{format_length(rough_mm, unit)}: to plane to thickness and hollow up to "
        f"{format_length(most, unit)} is wanted"
    )
    why = "narrower strakes there want less hollow, and thinner boards"
    where = f"planks {names_said(names)}"
    return (Finding("T039", Severity.NOTE, "timber", where, says, why),)


def not_named(
    order: Order, mill: Sequence[Row], stock: Sequence[Row], unit: str
) -> tuple[Finding, ...]:
    """Tell of lengths ordered that the form `stock` does not name, where `mill` is blank (T038)."""
    named = [float(row.values["length"]) for row in stock if row.values.get("length")]
    if mill or not named or any(row.values.get("width") for row in stock):
        return ()
    lengths = {line.of.length_mm for line in order.lines}
    strange = sorted(mm for mm in lengths if all(abs(mm - own) > 1.0 for own in named))
    if not strange:
        return ()
    says = (
        f"boards of {', '.join(format_length(mm, unit) for mm in strange)} are ordered, lengths "
        "the form stock does not name: the form mill is blank, so lengths and widths are those "
        "the rules say a mill sells"
    )
    why = "fill in the form mill with what yours sells"
    return (Finding("T038", Severity.CAUTION, "timber", "the order", says, why),)


def needs_of(
    pieces: Sequence[Piece],
    planks: Sequence[Plank],
    unlaid: Collection[str] | None,
    rules: OrderRules,
    lean_rad: float = 0.0,
) -> tuple[Need, ...]:
    """Give what must be bought; `unlaid` None is everything; `lean_rad` as for the laying.

    Planks without a flat shape are guessed by their own sizes.
    """
    short = tuple(pieces) if unlaid is None else lacking(pieces, unlaid)
    shaped = {name for piece in pieces for name in piece.planks}
    bare = [p for p in planks if p.name not in shaped and (unlaid is None or p.name in unlaid)]
    guessed = needs_of_planks(bare, rules.edge_mm, rules.end_mm, rules.sweep_mm)
    own = {p.name: p.rough_board_feet / BOARD_FEET_PER_M3 for p in planks}
    return tuple(
        replace(need, own_m3=sum(own.get(name, 0.0) for name in need.planks))
        for need in (*needs_of_pieces(short, lean_rad), *guessed)
    )


def buy(
    needs: Sequence[Need],
    classes: Sequence[MillClass],
    rules: OrderRules,
    *,
    species: Species | None = None,
    unit: str = "mm",
    from_shapes: bool = True,
    progress: Progress = None,
) -> Bought:
    """Order what is needed, if anything is.

    >>> buy((), (), OrderRules()).order is None
    True
    """
    found = None
    if needs:
        found = order(needs, classes, rules, species=species, unit=unit, progress=progress)
    return Bought(tuple(needs), tuple(classes), rules, from_shapes, found)


def with_less_sure(bought: Bought, unit: str) -> Bought:
    """Add what orders less sure would come to, each made out anew in a second or two.

    >>> need = Need(3000.0, 140.0, 45.0, tuple(f"P{n}-1" for n in range(30)))
    >>> rules = OrderRules()
    >>> some = buy([need], classes_of((), (), 50.8, rules, "mm"), rules)
    >>> with_less_sure(some, "mm").order.less[0].volume_m3 < some.order.volume_m3
    True
    """
    if bought.order is None or not bought.order.lines:
        return bought
    found = []
    for asked in LESS_SURE:
        if asked < bought.rules.confidence - 1e-9:
            rules = replace(
                bought.rules, confidence=asked, seconds=min(QUICK, bought.rules.seconds)
            )
            other = order(bought.needs, bought.classes, rules, unit=unit)
            found.append(LessSure(asked, other.volume_m3, other.price))
    return replace(bought, order=replace(bought.order, less=tuple(found)))


def boards_for(
    needs: Sequence[Need], classes: Sequence[MillClass], rules: OrderRules, unit: str
) -> str:
    """Say which boards would do for just these planks, spares not counted.

    >>> need = Need(3000.0, 140.0, 45.0, ("P7-2",))
    >>> boards_for([need], mill_classes(50.0), OrderRules(), "mm")
    '1 board of 3658 mm x 203 mm x 50 mm'
    """
    bare = replace(rules, spoilt_part=0.0, defect_part=0.0, seconds=min(QUICK, rules.seconds))
    made = order(needs, classes, bare, unit=unit)
    said = [f"{counted(line.boards, 'board')} of {size_said(line.of, unit)}" for line in made.lines]
    unmet = set(made.unmet)
    left = [need for need in needs if unmet & set(need.planks)]
    return ", ".join([*said, *smallest_boards(left, rules, unit)])


def lost_boards(planks: Sequence[str], boards: str) -> tuple[Finding, ...]:
    """Say what to buy for planks whose board turned bad and that found no other (T131)."""
    if not planks:
        return ()
    says = (
        f"lost {'its board' if len(planks) == 1 else 'their boards'} and found room on no other: "
        f"to go on, buy {boards}, no spares counted"
    )
    why = "the order counts them with all the other planks that have no board; buy for them once"
    where = f"plank{'s' if len(planks) > 1 else ''} {names_said(planks)}"
    return (Finding("T131", Severity.CAUTION, "timber", where, says, why),)


def bought_boards(bought: Bought | None) -> tuple[BoughtBoard, ...]:
    """Name every board of an order, those to be cut first, then the spare ones."""
    if bought is None or bought.order is None:
        return ()
    weight = {
        line.of: None if line.kg is None else line.kg / line.count for line in bought.order.lines
    }
    cut = [
        (board.of, tuple(name for _, name in board.pieces if name != "spare"))
        for board in bought.order.cuts
    ]
    spare = [(line.of, ()) for line in bought.order.lines for _ in range(line.spare)]
    return tuple(
        BoughtBoard(name, of, weight.get(of), planks)
        for name, (of, planks) in zip(_names(bought.marks), [*cut, *spare], strict=False)
    )


def _names(marks: Sequence[str]) -> Iterator[str]:
    """Name boards, past the marks that are taken however they are spelt."""
    taken = {" ".join(mark.lower().split()) for mark in marks}
    return (name for n in count(1) if (name := f"buy {n}") not in taken)
