"""Planks got out already, where butts are suited to the boards: they and their places stay.

*Held*: a plank got out of a board, or further, by the log, or said to be sawn on the form
`layings`. In its strake every butt from forward to its own aft end stands, and no other may come
between, since planks are numbered from forward and a plank got out keeps its name.

Not checked: that a plank got out has the shape the plan gave it; where seams were measured as
hung, shapes are of the planking divided anew, and butts are not suited to boards then.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ribband.butts.model import Butt, Layout, Ways
from ribband.errors import InputError, Problem

if TYPE_CHECKING:
    from ribband.app.plan.making import Bench
    from ribband.timber import Laid
    from ribband.timber.board_model import Board, Piece
    from ribband.timber.laid import LayWish

__all__ = ["bare_lengths", "held_boards", "held_pieces", "held_planks", "held_ways", "held_wishes",
           "refuse_anew"]  # fmt: skip


def refuse_anew(bench: Bench) -> None:
    """Refuse a job whose planking was divided anew: its planks are no more those of its butts.

    Raises
    ------
    InputError
    """
    stands = bench.made.get("stands")
    if stands is not None and stands.result.anew:
        wanted = "a planking not divided anew since: butts are suited to boards as lined out"
        raise InputError([Problem("as_hung", 0, "", "seams measured as hung", wanted)])


def held_planks(bench: Bench, laid: Laid) -> frozenset[str]:
    """Name the planks got out, by the log or by a wish, as the plank list spells them."""
    from ribband.app.plan.shop_boards import got_out_of

    sawn = {wish.plank.casefold() for wish in laid.wishes if wish.wish == "sawn"}
    sawn |= {plank.casefold() for plank in laid.gone}
    out = got_out_of(bench)
    names = (plank.name for plank in bench.made["planks"].result.planks)
    return frozenset(name for name in names if name in out or name.casefold() in sawn)


def held_ways(ways: Ways, layout: Layout, held: frozenset[str]) -> Ways:
    """Fix the butts of planks held and of those forward of them; let none come between.

    >>> import numpy as np
    >>> open_ = np.ones((1, 9), dtype=bool)
    >>> ways = Ways(("1",), tuple("abcde"), np.zeros(5), np.zeros((1, 9)), np.zeros((1, 9), int),
    ...             np.zeros(1), open_)
    >>> layout = Layout((Butt(0, 2), Butt(0, 5)), True, (), 0.0, 0)
    >>> after = held_ways(ways, layout, frozenset({"P1-1"}))
    >>> after.fixed, after.open[0].astype(int).tolist()
    ((Butt(strake=0, landing=2, fixed=True, joint=''),), [0, 0, 1, 1, 1, 1, 1, 1, 1])
    """
    open_, fixed = ways.open.copy(), set(ways.fixed)
    for row, last in _last_held(ways.strakes, held).items():
        butts = sorted(butt.landing for butt in layout.butts if butt.strake == row)
        end = butts[last - 1] if last <= len(butts) else open_.shape[1] - 1
        open_[row, : end + 1] = False
        stand = butts[:last]
        open_[row, stand] = True
        fixed = {b for b in fixed if (b.strake, b.landing) not in {(row, at) for at in stand}}
        fixed |= {replace(_at(layout, row, at), fixed=True) for at in stand}
    return replace(ways, open=open_, fixed=tuple(sorted(fixed)))


def _at(layout: Layout, row: int, landing: int) -> Butt:
    return next(b for b in layout.butts if (b.strake, b.landing) == (row, landing))


def _last_held(strakes: Sequence[str], held: frozenset[str]) -> dict[int, int]:
    """Give the number of the aftmost plank held of each strake that has one."""
    row_of = {name: row for row, name in enumerate(strakes)}
    last: dict[int, int] = {}
    for plank in held:
        strake, number = plank[1:].rsplit("-", 1)
        row = row_of[strake]
        last[row] = max(last.get(row, 0), int(number))
    return last


def held_pieces(pieces: Sequence[Piece], laid: Laid, held: frozenset[str]) -> tuple[Piece, ...]:
    """Give the pieces to be laid: those held as they were, and none of planks of no known board.

    A plank held was cut to the shape it had; the same seams and butts give it again but for what
    rounding does.
    """
    from ribband.timber import lacking

    was = {piece.name: piece for piece in laid.pieces if held & set(piece.planks)}
    names = {plank for piece in pieces for plank in piece.planks}
    left = lacking(pieces, names - set(laid.gone))
    return tuple(was.get(piece.name, piece) for piece in left)


def held_boards(bench: Bench, boards: Sequence[Board], laid: Laid) -> tuple[Board, ...]:
    """Give the boards with the places marked off where spoilt planks were got out.

    Those the laying left alone are left alone here too.
    """
    from ribband.app.plan.log_keys import spoilt_got_out
    from ribband.app.plan.making import rows_of
    from ribband.shop import read_log
    from ribband.timber.laid_changed import with_spoilt

    log = read_log(rows_of(bench.forms, "log", bench.unit))
    barred = {board.name for board in laid.boards if board.state == "barred"}
    left = [replace(b, state="barred") if b.state == "sound" and b.name in barred else b
            for b in boards]  # fmt: skip
    return with_spoilt(left, laid, spoilt_got_out(log))[0]


def held_wishes(laid: Laid, held: frozenset[str]) -> list[LayWish]:
    """Give the wishes that still say something: boards barred, what is said of planks held.

    And of port and starboard together, as far as there are planks so called.
    """
    kept = {"bar", "pair", "book"}
    return [w for w in laid.wishes if w.wish in kept or w.plank in held]


def bare_lengths(bench: Bench, laid: Laid, held: frozenset[str]) -> tuple[float, ...]:
    """Give the lengths of planks held that lie on no board of the pile, mm."""
    on = {cut.plank for cut in laid.laying.cuts}
    planks = bench.made["planks"].result.planks
    return tuple(p.length_mm for p in planks if p.name in held - on)
