"""Wishes for port and starboard kept: laid first, said of where they cannot be, named on papers.

*Held*: planks that may not move, being sawn. Twins that lie as wished stay; others are laid in the
room there is, else on boards cleared of all that may move.

Not checked: the laying; `check_laying` does that.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from ribband.findings import Finding, Severity
from ribband.timber.board_model import Board, Cut, Piece
from ribband.timber.laying.pairs import Twin, TwinGround, is_so, lay_twins, twins_of

if TYPE_CHECKING:
    from ribband.timber.laid import Laid, LayWish

__all__ = ["MATCHED", "TwinsLaid", "lay_first", "mate_words", "said_of_twins", "twins_wished"]

MATCHED = ("pair", "book")
Apart = tuple[tuple[Twin, str], ...]


@dataclass(frozen=True, slots=True)
class TwinsLaid:
    """What stands once twins are laid: its cuts, the planks of them that stay, those apart."""

    cuts: tuple[Cut, ...]
    firm: frozenset[str]
    apart: Apart = ()


def twins_wished(
    wishes: Sequence[LayWish], pieces: Sequence[Piece]
) -> tuple[tuple[Twin, ...], tuple[str, ...]]:
    """Give the twins wished for, and planks wished for that have none on the other side."""
    planks = [plank for piece in pieces for plank in piece.planks]
    return twins_of([(w.wish, w.plank) for w in wishes if w.wish in MATCHED], planks)


def lay_first(
    twins: Sequence[Twin], ground: TwinGround, stay: Sequence[Cut], held: Collection[str] = ()
) -> TwinsLaid:
    """Lay twins before all else, moving of what lies there only what must be.

    held : planks that may not move, on boards of any state
    """
    fit = {board.name for board in ground.boards}
    so = [t for t in twins if _stands(t, ground, stay, fit, held)]
    firm = {*held, *(plank for t in so for plank in t.planks)}
    rest = [t for t in twins if t not in so]
    lifted = {plank for t in rest for plank in t.planks} - set(held)
    there = [c for c in stay if c.plank not in lifted]
    new, apart = lay_twins(rest, ground, [c for c in there if c.board in fit or c.plank in held])
    if apart:
        standing = [*(c for c in there if c.plank in firm), *new]
        more, apart = lay_twins([t for t, _ in apart], ground, standing)
        cleared = {cut.board for cut in more}
        there = [c for c in there if c.plank in firm or c.board not in cleared]
        new = (*new, *more)
    taken = {cut.board for cut in new}
    back = [c for c in stay if c.plank in {p for t, _ in apart for p in t.planks} - set(held)
            and c.board not in taken]  # fmt: skip
    done = {plank for t in rest if t not in dict(apart) for plank in t.planks}
    return TwinsLaid((*there, *back, *new), frozenset(firm | done), apart)


def _stands(
    twin: Twin, ground: TwinGround, cuts: Sequence[Cut], fit: set[str], held: Collection[str]
) -> bool:
    own = [cut for cut in cuts if cut.plank in twin.planks]
    good = all(c.plank in held or (c.board in fit and _where_pinned(c, ground)) for c in own)
    return good and is_so(twin, own, ground.pile, ground.pieces)


def _where_pinned(cut: Cut, ground: TwinGround) -> bool:
    return ground.pins.get(cut.plank, cut.board) == cut.board


def said_of_twins(apart: Apart, alone: Sequence[str], so: Sequence[Twin]) -> tuple[Finding, ...]:
    """Say which twins are laid apart and why, and which planks have no other side (T132).

    so : those that lie as wished after all
    """
    found = [
        (f"planks {twin.port} and {twin.starboard}", f"are wished {_WISHED[twin.how]}: {why}")
        for twin, why in apart
        if twin not in so
    ]
    found += [
        (f"plank {plank}", "is wished with its other side, of which none is to be got out")
        for plank in alone
    ]
    why = "they are laid apart"
    return tuple(Finding("T132", Severity.CAUTION, "timber", *said, why) for said in found)


_WISHED = {"pair": "out of one board", "book": "book-matched"}


def mate_words(laid: Laid) -> dict[str, str]:
    """Say of every plank that lies as it was wished with its other side, what that is and whence.

    >>> cuts = (Cut("P7-2", "B3", False, 0.0, 0.0, 0.0), Cut("S7-2", "B3", True, 0.0, 0.0, 90.0))
    >>> _words(Twin("pair", "P7-2", "S7-2"), "P7-2", {c.plank: c for c in cuts}, {})
    'pair of S7-2, out of the same board: the same face outside'
    """
    on = {cut.plank: cut for cut in laid.laying.cuts}
    boards = {board.name: board for board in laid.boards}
    return {plank: _words(t, plank, on, boards) for t in laid.twins for plank in t.planks}


def _words(twin: Twin, plank: str, on: dict[str, Cut], boards: dict[str, Board]) -> str:
    mate = twin.starboard if plank == twin.port else twin.port
    if twin.how == "pair":
        same = on[twin.port].flipped != on[twin.starboard].flipped
        face = "the same face outside" if same else "one with the one face outside, one the other"
        return f"pair of {mate}, out of the same board: {face}"
    other = boards[on[mate].board]
    port, starboard = (boards[on[name].board] for name in twin.planks)
    side = "outside" if _faces_outside(on[twin.port], port, starboard) else "inside"
    return (
        f"pair of {mate}, from the next leaf of log {other.log}, board {other.name}: the faces "
        f"that lay together {side}"
    )


def _faces_outside(cut: Cut, port: Board, starboard: Board) -> bool:
    """Tell whether the faces that lay together in the log are the outer ones."""
    outer_towards_one = cut.flipped == port.turned
    return outer_towards_one == (starboard.leaf < port.leaf)
