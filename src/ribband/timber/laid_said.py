"""What is to be said of a laying: what found no board, which wishes came to nothing, the boards.

Not checked: the laying itself; `check_laying` does that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

from ribband.findings import Finding, Severity
from ribband.timber.board_model import Board, Laying, Piece, names_said, thick_enough
from ribband.timber.laid_twins import MATCHED
from ribband.timber.laying.choice import chosen, said_of_boards
from ribband.timber.laying.rules import LayingRules
from ribband.timber.unlaid import too_small, why_unlaid

if TYPE_CHECKING:
    from ribband.timber.laid import LayWish

__all__ = ["said_of_laying"]


def said_of_laying(  # noqa: PLR0917 - a laying and what it was made from
    laying: Laying,
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    rules: LayingRules,
    wishes: Sequence[LayWish],
    timber: str = "",
) -> tuple[Finding, ...]:
    """Say what a laying lacks and why, what is said of its boards, which wishes came to nothing.

    Parameters
    ----------
    boards : of the pile, those barred, spoilt or left alone by the rules too
    """
    names = {plank for piece in pieces for plank in piece.planks}
    fit = chosen(boards, rules, timber)
    return (
        *_short(laying),
        *why_unlaid(pieces, boards, rules, laying, timber),
        *_too_hollow(pieces, fit, laying),
        *_of_wishes(laying, wishes, names),
        *(f for f in laying.findings if f.code == "T126"),
        *said_of_boards(boards, {cut.board for cut in laying.cuts}, rules, timber),
        *_too_thin(pieces, fit),
        *too_small(pieces, fit, rules),
    )


def _of_wishes(laying: Laying, wishes: Sequence[LayWish], names: set[str]) -> list[Finding]:
    mine = [w for w in wishes if w.wish in {"pin", "sawn"} and w.plank in names]
    return [*_strangers(wishes, names), *_unpinned(mine, laying)]


def _too_thin(pieces: Sequence[Piece], boards: Sequence[Board]) -> list[Finding]:
    """Name the boards left alone because every plank wants thicker stuff, though they may dress."""
    least = min((piece.thickness_mm for piece in pieces), default=0.0)
    says = (
        "left alone: rough it is thinner than every plank wants; if it dresses all the same, "
        "the rough thickness on the form vessel may be less"
    )
    return [
        Finding("T118", Severity.NOTE, "timber", f"board {board.name}", says)
        for board in boards
        if board.thickness_mm < least - 1e-9
    ]


def _too_hollow(pieces: Sequence[Piece], boards: Sequence[Board], laying: Laying) -> list[Finding]:
    """Name the planks without a board that none is thick enough for when it has been planed."""
    lacking = set(laying.unlaid)
    found = []
    for piece in pieces:
        planks = [plank for plank in piece.planks if plank in lacking]
        rough = [b for b in boards if b.thickness_mm >= piece.thickness_mm - 1e-9]
        if planks and rough and not any(thick_enough(b, piece) for b in rough):
            most = max(b.thickness_mm - b.lost_mm for b in rough)
            found.append((piece.planed_mm - most, planks))
    if not found:
        return []
    says = (
        f"to be backed out they are planed to {max(short for short, _ in found):.1f} mm more than "
        "any board of the pile will still have, dried and planed on both faces, at the worst"
    )
    why = "thicker stuff, or narrower strakes there; dressing.bar lays them all the same"
    where = f"planks {names_said(sorted(p for _, planks in found for p in planks))}"
    return [Finding("T130", Severity.CAUTION, "timber", where, says, why)]


def _short(laying: Laying) -> list[Finding]:
    """Say what the laying lacks; what found no board is for the order, no fault of the plan."""
    return [replace(f, severity=Severity.CAUTION) for f in laying.findings if f.code == "T117"]


def _strangers(wishes: Sequence[LayWish], names: set[str]) -> list[Finding]:
    places = {name[1:].casefold() for name in names}
    both = {*(n.casefold() for n in names), *places, *(p.rpartition("-")[0] for p in places)}
    lost = [w for w in wishes if w.wish in {"pin", "sawn"} and w.plank not in names]
    lost += [w for w in wishes if w.wish in MATCHED and w.plank.casefold() not in both]
    return [
        Finding(
            "T120", Severity.CAUTION, "timber", f"plank {w.plank}",
            f"no plank {'or strake ' if not w.board else ''}of that name is on the list any more: "
            "its line in layings says nothing",
        )
        for w in lost
    ]  # fmt: skip


def _unpinned(wishes: Sequence[LayWish], laying: Laying) -> list[Finding]:
    on = {cut.plank: cut.board for cut in laying.cuts}
    return [
        Finding(
            "T121", Severity.CAUTION, "timber", f"plank {w.plank}",
            f"is {'pinned to' if w.wish == 'pin' else 'said to be sawn from'} board {w.board}, "
            f"and lies {'on ' + on[w.plank] if w.plank in on else 'on none'}",
            "no place for it was found there, or the board is barred",
        )
        for w in wishes
        if on.get(w.plank) != w.board
    ]  # fmt: skip
