"""Laying again only planks that changed, and marking off the timber of those that were spoilt.

After a part of the planking was divided anew some planks have other shapes: these are laid again
in what room there is, and every other plank keeps its board and its place on it. A plank spoilt
after it was got out has used up its timber: where it lay stays on the board as a flaw.

Not checked here: the laying; `check_laying` does that.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats
from ribband.timber.board_model import Board, Cut, Flaw, Piece, same_piece
from ribband.timber.laid import (
    Laid,
    LayWish,
    as_sawn,
    lost_since,
    moved_since,
    others_now,
    same_board,
    twin_ground,
    twins_so,
)
from ribband.timber.laid_said import said_of_laying
from ribband.timber.laid_twins import lay_first, said_of_twins, twins_wished
from ribband.timber.laying.rules import LayingRules
from ribband.timber.laying.spoilt import relay

__all__ = ["lay_changed", "same_planks", "with_spoilt"]

SPOILT = "spoilt "  # the kind of flaw that a spoilt plank leaves begins so


def lay_changed(  # noqa: PLR0917 - what was, and what there is now
    before: Laid,
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    rules: LayingRules,
    wishes: Sequence[LayWish],
    got_out: Sequence[str] = (),
    seed: int = 0,
    timber: str = "",
) -> Laid:
    """Lay planks that are not as they were, or whose board is bad, and leave all others.

    Parameters
    ----------
    got_out : planks that are got out already; they stay on their boards, bad and changed ones too,
        as do those that a wish says are sawn from the board they lie on
    """
    bad = {board.name for board in boards if board.state != "sound"}
    bad |= {wish.board for wish in wishes if wish.wish == "bar"}
    there = tuple(replace(b, state="barred") if b.state == "sound" and b.name in bad else b
                  for b in boards)  # fmt: skip
    said = {(w.plank, w.board) for w in wishes if w.wish == "sawn"}
    sawn = {c.plank for c in before.laying.cuts if (c.plank, c.board) in said}
    out = set(got_out)
    pieces = as_sawn(before, pieces, out | sawn)
    stay = _staying(before, pieces, there, bad, out | sawn)
    names = {plank for piece in pieces for plank in piece.planks}
    mine = [w for w in wishes if w.wish in {"pin", "sawn"} and w.plank in names]
    twins, alone = twins_wished(wishes, pieces)
    ground = twin_ground(pieces, there, rules, mine, seed, timber)
    first = lay_first(twins, ground, stay, out | sawn)
    stay = first.cuts
    laying = replace(before.laying, cuts=stay)
    if others_now(before, pieces, there):
        laying = replace(laying, bound_m3=0.0, cost_bound=None, findings=())
    if names - {cut.plank for cut in stay} or set(stay) != set(before.laying.cuts):
        laying = relay(
            laying, pieces, there, rules, bad, sawn={cut.plank for cut in stay},
            pinned=tuple((w.plank, w.board) for w in mine), seed=seed, timber=timber,
        )  # fmt: skip
    moved = moved_since(before, laying)
    found = said_of_laying(laying, pieces, there, rules, wishes, timber)
    so = twins_so(twins, laying, ground)
    found += said_of_twins(first.apart, alone, so)
    return Laid(
        *(tuple(pieces), there, rules, tuple(wishes), laying, True, moved, found, timber),
        out=tuple(sorted(out & {cut.plank for cut in laying.cuts})),
        lost=lost_since(before, laying),
        twins=so,
    )


def _staying(
    before: Laid, pieces: Sequence[Piece], there: Sequence[Board], bad: set[str], out: set[str]
) -> tuple[Cut, ...]:
    """Give the cuts of planks as they were, got out already or on boards that are as they were."""
    same = same_planks(before.pieces, pieces)
    firm = {b.name for b in there if _as_it_was(b, before.boards)} - bad
    return tuple(
        cut
        for cut in before.laying.cuts
        if cut.plank in same
        and (cut.plank in out or cut.board in firm)
        and not _was_spoilt(cut, before.pieces, there)
    )


def _as_it_was(board: Board, before: Sequence[Board]) -> bool:
    """Tell whether a board is as it was but for its state and what was spoilt on it."""
    return same_board(_unspoilt(board), [_unspoilt(b) for b in before if b.name == board.name])


def _unspoilt(board: Board) -> Board:
    return replace(board, flaws=tuple(f for f in board.flaws if not f.kind.startswith(SPOILT)))


def same_planks(before: Sequence[Piece], now: Sequence[Piece]) -> set[str]:
    """Name the planks that are got out to the same shape and size as before."""
    then = {plank: piece for piece in before for plank in piece.planks}
    return {
        plank
        for piece in now
        for plank in piece.planks
        if plank in then and same_piece(then[plank], piece)
    }


def with_spoilt(
    boards: Sequence[Board], before: Laid | None, spoilt: Sequence[str]
) -> tuple[tuple[Board, ...], tuple[Finding, ...]]:
    """Mark off on the boards where planks lay that were spoilt after they were got out.

    Parameters
    ----------
    before : the laying in which they lay, or that has them marked already
    spoilt : planks, each as often as it was spoilt

    Returns
    -------
    the boards, and a finding (T141) for each whose place is not known
    """
    kinds = [f"{SPOILT}{plank} {spoilt[:n].count(plank) + 1}" for n, plank in enumerate(spoilt)]
    marked = dict(_marked(before, kinds)) if before else {}
    new = [kind for kind in kinds if kind not in {f.kind for fs in marked.values() for f in fs}]
    found = []
    for kind in new:
        place = _place(before, kind.removeprefix(SPOILT).rsplit(" ", maxsplit=1)[0])
        if place is None:
            found.append(_unknown(kind))
        else:
            marked[place[0]] = (*marked.get(place[0], ()), Flaw(kind, place[1]))
    own = tuple(
        replace(b, flaws=(*b.flaws, *marked[b.name])) if b.name in marked else b for b in boards
    )
    return own, tuple(found)


def _marked(before: Laid, kinds: Sequence[str]) -> Iterator[tuple[str, tuple[Flaw, ...]]]:
    for board in before.boards:
        flaws = tuple(flaw for flaw in board.flaws if flaw.kind in kinds)
        if flaws:
            yield board.name, flaws


def _place(before: Laid | None, plank: str) -> tuple[str, Floats] | None:
    """Give the board a plank lay on, and its outline there."""
    if before is None:
        return None
    cut = next((c for c in before.laying.cuts if c.plank == plank), None)
    piece = next((p for p in before.pieces if plank in p.planks), None)
    return None if cut is None or piece is None else (cut.board, _lain(piece.outline, cut))


def _lain(outline: Floats, cut: Cut) -> Floats:
    """Give a flat shape as it lies on its board: mirrored if flipped, turned, shifted."""
    x, y = outline[:, 0], -outline[:, 1] if cut.flipped else outline[:, 1]
    c, s = np.cos(cut.turn_rad), np.sin(cut.turn_rad)
    return np.column_stack([x * c - y * s + cut.x_mm, x * s + y * c + cut.y_mm])


def _was_spoilt(cut: Cut, pieces: Sequence[Piece], boards: Sequence[Board]) -> bool:
    """Tell whether a plank still lies where one of its name was spoilt."""
    board = next((b for b in boards if b.name == cut.board), None)
    kinds = [f for f in board.flaws if f.kind.startswith(f"{SPOILT}{cut.plank} ")] if board else []
    if not kinds:
        return False
    piece = next(p for p in pieces if cut.plank in p.planks)
    ring = _lain(piece.outline, cut)
    return any(f.ring.shape == ring.shape and np.allclose(f.ring, ring) for f in kinds)


def _unknown(kind: str) -> Finding:
    plank = kind.removeprefix(SPOILT).rsplit(" ", maxsplit=1)[0]
    says = (
        "was spoilt after it was got out, and where it lay is not known: its timber is counted "
        "as still there; mark the flaw, or the board as spoilt, in the tally"
    )
    return Finding("T141", Severity.CAUTION, "timber", f"plank {plank}", says)
