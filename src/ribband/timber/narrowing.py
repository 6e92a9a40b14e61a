"""Planks got out of boards wetter than they are hung: what drying takes of their breadth.

By the same moistures, figures and cut as what it takes of the thickness (`moisture/dress.py`): flat
sawn the breadth moves tangentially, on the quarter radially; where the cut is not known the
livelier is taken. It is held against `laying.allowance` on both edges, for a plank that has lost
that comes out narrower than it is to be.

Not checked here: cup, crook and checks, which come of drying too; and what a plank loses in length,
which is a tenth of a per cent and less of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ribband.findings import Finding, Severity
from ribband.numerics.profiles import columns, open_ring
from ribband.timber.board_model import Board, Piece, names_said
from ribband.timber.laid import Laid, sawn_planks
from ribband.timber.model import Species
from ribband.timber.moisture.dress import DressRules
from ribband.timber.moisture.settling import movement
from ribband.timber.species import species_named
from ribband.units import format_length, format_small

__all__ = ["Narrowed", "narrowed", "said_of_breadths"]

MUCH = 0.5  # of the allowance on both edges, from which it is said
PLACES = 65  # along a plank at which its breadth is looked at
NAMED = 6  # planks that are told with their figures


@dataclass(frozen=True, slots=True)
class Narrowed:
    """What drying takes of a plank's breadth at its broadest, edges' allowance included, mm.

    `loses_mm` is None where it cannot be told; `assumed` where the board's cut is not known.
    """

    plank: str
    board: str
    moisture_percent: float | None
    left_mm: float
    loses_mm: float | None
    assumed: bool = False


def narrowed(
    laid: Laid, hung_percent: float, timbers: Sequence[Species] = ()
) -> tuple[Narrowed, ...]:
    """Give every plank still to be got out of a board that is not known to be dry enough.

    hung_percent : moisture planks are planed and hung at; timbers : the yard's own figures
    """
    boards = {board.name: board for board in laid.boards}
    piece_of = {plank: piece for piece in laid.pieces for plank in piece.planks}
    out = sawn_planks(laid)
    return tuple(
        _of(cut.plank, piece_of[cut.plank], board, _kind(board, laid.timber, timbers), hung_percent)
        for cut in laid.laying.cuts
        if cut.plank not in out and not _dry(board := boards[cut.board], hung_percent)
    )


def said_of_breadths(
    laid: Laid, rules: DressRules, unit: str = "mm", timbers: Sequence[Species] = ()
) -> tuple[Finding, ...]:
    """Say which planks lose half of the allowance on their edges or more, and which nobody knows.

    T145 with the planks, boards and figures, those first that lose most; T146 where the timber's
    movement or the board's moisture is not known.
    """
    every = narrowed(laid, rules.planking_percent, timbers)
    much = [one for one in every if one.loses_mm is not None and _is_much(one)]
    untold = [one for one in every if one.loses_mm is None]
    return (*_much(much, rules.planking_percent, unit), *_untold(untold))


def _is_much(one: Narrowed) -> bool:
    return (one.loses_mm or 0.0) >= MUCH * one.left_mm


def _dry(board: Board, hung_percent: float) -> bool:
    return board.moisture_percent is not None and board.moisture_percent <= hung_percent


def _kind(board: Board, timber: str, timbers: Sequence[Species]) -> Species | None:
    return species_named(board.species.strip() or timber, timbers)


def _of(
    plank: str, piece: Piece, board: Board, kind: Species | None, hung_percent: float
) -> Narrowed:
    wet, left = board.moisture_percent, 2 * piece.allowance_mm
    moved = None
    if kind is not None and wet is not None:
        moved = movement(kind, board.cut, wet, hung_percent)
    if moved is None or moved.width is None:
        return Narrowed(plank, board.name, wet, left, None)
    loses = -moved.width * (_breadth(piece) + left)
    return Narrowed(plank, board.name, wet, left, loses, moved.assumed)


def _breadth(piece: Piece) -> float:
    """Give a plank's breadth at its broadest, square to its batten line; its sweep is no wood."""
    ring = open_ring(piece.outline)
    first, last = float(ring[:, 0].min()), float(ring[:, 0].max())
    low, high = columns(ring, np.linspace(first + 1e-6, last - 1e-6, PLACES))
    return float(np.nanmax(high - low))


def _much(much: Sequence[Narrowed], hung_percent: float, unit: str) -> tuple[Finding, ...]:
    if not much:
        return ()
    worst = sorted(much, key=lambda one: one.left_mm - (one.loses_mm or 0.0))
    more = f"; and {len(worst) - NAMED} more" if len(worst) > NAMED else ""
    says = (
        f"dried to {hung_percent:g} % they lose half or more of the breadth left on their edges "
        f"(laying.allowance, {format_length(worst[0].left_mm / 2, unit)} an edge): "
        + "; ".join(_one(one, unit) for one in worst[:NAMED])
        + more
    )
    boards = list(dict.fromkeys(one.board for one in worst if one.assumed))
    why = "dry these boards first and tally them again, or leave more on the edges" + (
        f"; of {_boards(boards)} the cut is not known and the livelier way was taken"
        if boards
        else ""
    )
    where = f"plank{'s' if len(worst) > 1 else ''} {names_said([one.plank for one in worst])}"
    return (Finding("T145", Severity.CAUTION, "timber", where, says, why),)


def _one(one: Narrowed, unit: str) -> str:
    """Say what one plank loses of what is left on it."""
    loses = one.loses_mm or 0.0
    over = loses - one.left_mm
    left = f"{format_small(over, unit)} more than that" if over > 0.0 else (
        f"leaves {format_small(-over, unit)}"
    )  # fmt: skip
    return (
        f"{one.plank}, out of {one.board} at {one.moisture_percent:g} %, "
        f"{format_small(loses, unit)} of {format_small(one.left_mm, unit)}, {left}"
    )


def _untold(untold: Sequence[Narrowed]) -> tuple[Finding, ...]:
    if not untold:
        return ()
    boards = list(dict.fromkeys(one.board for one in untold))
    says = (
        f"how much breadth they lose in drying cannot be told: of {_boards(boards)} the moisture "
        "is not tallied, or how the timber moves is not known"
    )
    where = f"plank{'s' if len(untold) > 1 else ''} {names_said([one.plank for one in untold])}"
    why = "measure the moisture; give the timber's shrinkage on the form timbers"
    return (Finding("T146", Severity.CAUTION, "timber", where, says, why),)


def _boards(names: Sequence[str]) -> str:
    return f"board{'s' if len(names) > 1 else ''} {names_said(names)}"
