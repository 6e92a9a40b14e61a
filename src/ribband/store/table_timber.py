"""The timber tables: boards and their outlines, where planks lie on them, off-cuts, the order.

A row of `cuts` says where the flat shape of the table `shapes` lies on its board: mirror it in its
x axis if flipped, turn it, then shift it. Kerf and allowances stand beside it, so that a laying
can be looked over from the tables alone.

Not checked here: the laying; the tables carry the findings beside them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any

from ribband.store.table_model import Column, Link, Shape
from ribband.store.table_model import must as _must
from ribband.store.table_model import number as _number
from ribband.store.table_model import text as _text

if TYPE_CHECKING:
    from ribband.timber.board_model import Board
    from ribband.timber.buying import Bought, BoughtBoard
    from ribband.timber.laid import Laid
    from ribband.timber.order.model import Order
    from ribband.timber.pile import Pile
    from ribband.timber.tally.count import Counted

__all__ = ["TIMBER_SHAPES", "board_of_planks", "filled_timber"]

Values = tuple[Any, ...]
OF_BOARD = Link("board", "boards", "board")


TIMBER_SHAPES = (
    Shape(
        "boards",
        "a board of the pile as tallied, or one to be bought",
        (
            _must("board", "its mark; buy 1, buy 2 ... for those of the order"),
            _number("length_mm", "over all"),
            _number("width_mm", "mean: its face over its length"),
            _number("thickness_mm", "rough, as tallied or as sold"),
            _text("species", "as tallied"),
            _number("moisture_percent", "water as % of oven-dry weight, as tallied"),
            _number("volume_m3", "flaws not deducted"),
            _number("weight_kg", "rough, with its water; an average of the species"),
            _text("use", "planks are cut from it, it is spare, or bought", "planks", "spare",
                  "bought"),
            _text("state", "as tallied", "sound", "barred", "spoilt"),
            _number("board_feet", "exact"),
            Column("practice_board_feet", "integer", "by the practice of the trade"),
            _number("price", "of the board, in the yard's own money"),
            Column("dresses", "boolean", "it planes to the planking once it has dried"),
            _number("to_spare_mm", "over the dressed thickness then"),
            _text("why_not", "why it is kept out of the laying"),
            _text("lies", "where it lies"),
            _text("log", "the tree's log it was sawn from, as tallied"),
            Column("leaf", "integer", "its number in the log, as it came off the saw"),
            Column("turned", "boolean", "its marked face is the one away from leaf 1"),
        ),
        ("board",),
    ),
    Shape(
        "board_outlines",
        "a point of a board or of a flaw in it, in order round it",
        (
            _must("board", "its mark"),
            _must("ring", "outline, or flaw and its number"),
            Column("point", "integer", "counted round the ring"),
            _number("x_mm", "along the board from its butt"),
            _number("y_mm", "across it"),
            _text("kind", "of the flaw"),
            Column("live", "boolean", "the board has live edges"),
        ),
        ("board", "ring", "point"),
        (OF_BOARD,),
    ),
    Shape(
        "cuts",
        "where a plank lies on its board",
        (
            _must("plank", "its name"),
            _must("board", "the board's mark"),
            Column("flipped", "boolean", "mirror the flat shape in its x axis first"),
            _number("turn_deg", "then turn it"),
            _number("x_mm", "then shift it along the board"),
            _number("y_mm", "and across"),
            _number("kerf_mm", "kept between planks, over their allowances"),
            _number("edge_mm", "allowance left on both edges of the plank"),
            _number("end_mm", "allowance left on each of its ends"),
            _number("live_edge_mm", "kept off the edge of a board with live edges"),
            _number("turn_most_deg", "most it may lean from the board's length"),
            Column("sap_allowed", "boolean", "a plank may have sap in it"),
            Column("got_out", "boolean", "it is got out already, and stays as it lies"),
            _text("with_plank", "the other side's plank it is got out with, as was wished"),
            _text("with_as", "pair: out of one board; book: book-matched", "pair", "book"),
        ),
        ("plank",),
        (Link("plank", "planks", "plank"), OF_BOARD),
    ),
    Shape(
        "offcuts",
        "an end of a board, sawn square off, kept for another plank",
        (
            _must("offcut", "its mark, as what is left is tallied again: the board's and a letter"),
            _must("board", "the board it is of"),
            _number("from_mm", "where it begins, from the butt"),
            _number("to_mm", "where it ends"),
            _number("thickness_mm", "as the board's"),
            _number("volume_m3", "flaws not deducted"),
        ),
        ("offcut",),
        (OF_BOARD,),
    ),
    Shape(
        "order",
        "a line of the order",
        (
            _must("item", "what it is; boards by their size in the job's unit"),
            _number("quantity", "how many or how much"),
            _must("unit", "of the quantity"),
            _number("allowance_percent", "what of it is allowance, over what is needed"),
            _text("of", "what it is part of"),
            _number("length_mm", "of each board"),
            _number("width_mm", "of each board"),
            _number("thickness_mm", "of each board"),
            _number("volume_m3", "of the line"),
            _number("weight_kg", "of the line"),
            _number("price", "of the line, in the yard's own money"),
        ),
    ),
)  # fmt: skip


def filled_timber(
    pile: Pile | None, laid: Laid | None, bought: Bought | None, species: str, unit: str
) -> dict[str, list[Values]]:
    """Give the rows of the timber tables that there is anything to say in."""
    tables: dict[str, list[Values]] = {}
    buys = _bought(bought)
    if (pile is not None and pile.boards) or buys:
        tables["boards"] = [*_boards(pile, laid), *_bought_rows(buys, bought, species)]
    if pile is not None and pile.boards:
        tables["board_outlines"] = list(_outlines(pile))
    if laid is not None:
        tables["cuts"] = list(_cuts(laid))
        if laid.laying.offcuts:
            tables["offcuts"] = list(_offcuts(laid))
    if bought is not None and bought.order is not None:
        tables["order"] = list(_order(bought.order, unit))
    return tables


def board_of_planks(laid: Laid | None, bought: Bought | None) -> dict[str, str]:
    """Give the board each plank is got out of, of the pile or to be bought."""
    found = {plank: board.name for board in _bought(bought) for plank in board.planks}
    if laid is not None:
        found |= {cut.plank: cut.board for cut in laid.laying.cuts}
    return found


def _bought(bought: Bought | None) -> tuple[BoughtBoard, ...]:
    if bought is None or bought.order is None:
        return ()
    from ribband.timber.buying import bought_boards  # noqa: PLC0415 - heavy

    return bought_boards(bought)


def _boards(pile: Pile | None, laid: Laid | None) -> Iterator[Values]:
    if pile is None:
        return
    cut_into = set() if laid is None else {cut.board for cut in laid.laying.cuts}
    unfit = dict(pile.unfit)
    sums = {own.board: own.dressing for own in pile.dressings}
    for board, counted in zip(pile.boards, pile.tally.boards, strict=True):
        sum_ = sums[board.name]
        use = "planks" if board.name in cut_into else "spare" if board.state == "sound" else None
        yield (
            *_sizes(board, counted),
            *(use, board.state, counted.board_feet, counted.practice_board_feet, board.price),
            *((sum_.dresses, sum_.to_spare_mm) if sum_ else (None, None)),
            *(unfit.get(board.name), board.lies or None),
            *((board.log, board.leaf, board.turned) if board.leaf else (None, None, None)),
        )


def _sizes(board: Board, counted: Counted) -> Values:
    return (
        *(board.name, counted.length_mm, counted.mean_width_mm, counted.thickness_mm),
        *(board.species or None, counted.moisture_percent, counted.volume_m3, counted.kg),
    )


def _bought_rows(
    buys: tuple[BoughtBoard, ...], bought: Bought | None, species: str
) -> Iterator[Values]:
    for board in buys:
        of = board.of
        price = None if of.price_m3 is None else of.price_m3 * of.volume_m3
        moisture = bought.rules.moisture_percent if bought else None
        yield (
            *(board.name, of.length_mm, of.width_mm, of.thickness_mm, species or None),
            *(moisture, of.volume_m3, board.kg, "bought", None, None, None, price),
            *(None, None, None, None, None, None, None),
        )


def _outlines(pile: Pile) -> Iterator[Values]:
    for board in pile.boards:
        flaws = [(f"flaw {n}", flaw.kind, flaw.ring) for n, flaw in enumerate(board.flaws, 1)]
        for name, kind, ring in (("outline", None, board.outline), *flaws):
            for n, (x, y) in enumerate(ring.tolist(), 1):
                yield (board.name, name, n, x, y, kind, board.live_edges)


def _cuts(laid: Laid) -> Iterator[Values]:
    from ribband.timber.laid import sawn_planks  # noqa: PLC0415 - heavy

    piece_of = {plank: piece for piece in laid.pieces for plank in piece.planks}
    rules, sawn = laid.rules, sawn_planks(laid)
    mates = {t.port: (t.starboard, t.how) for t in laid.twins}
    mates |= {t.starboard: (t.port, t.how) for t in laid.twins}
    for cut in laid.laying.cuts:
        piece = piece_of[cut.plank]
        yield (
            *(cut.plank, cut.board, cut.flipped, math.degrees(cut.turn_rad), cut.x_mm, cut.y_mm),
            *(rules.kerf_mm, piece.allowance_mm, piece.end_allowance_mm, rules.live_edge_mm),
            *(math.degrees(rules.greatest_turn_rad), rules.sap_allowed, cut.plank in sawn),
            *mates.get(cut.plank, (None, None)),
        )


def _offcuts(laid: Laid) -> Iterator[Values]:
    from ribband.timber.laying.cuts import marked_ends  # noqa: PLC0415 - heavy
    from ribband.timber.measure import volume_m3  # noqa: PLC0415 - heavy

    for board, part in marked_ends(laid.laying, laid.pieces, laid.boards, laid.rules):
        x = part.outline[:, 0]
        yield (
            *(part.name, board, float(x.min()), float(x.max())),
            *(part.thickness_mm, volume_m3(part)),
        )


def _order(own: Order, unit: str) -> Iterator[Values]:
    from ribband.timber.order.words import order_rows  # noqa: PLC0415 - heavy

    sized: Mapping[int, Any] = dict(enumerate(own.lines))
    for n, row in enumerate(order_rows(own, unit)):
        line = sized.get(n)
        more: Values = (None,) * 6
        if line is not None:
            size = (line.of.length_mm, line.of.width_mm, line.of.thickness_mm)
            more = (*size, line.volume_m3, line.kg, line.price)
        elif row[2] == "m3":
            more = (None, None, None, own.volume_m3, own.kg, own.price)
        yield (*row, *more)
