"""The boards as the planking stands: changed planks laid again, spoilt ones' timber marked off.

The laying before is the last one kept. Planks the log has got out stay on their
boards; those of which no board is known are no more to be laid, nor bought for. Of a plank said to
be sawn from another board than the plan had it on it is not known where along that board it lay:
nothing is laid there any more.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ribband.app.plan.making import Bench
    from ribband.findings import Finding
    from ribband.shop.work.forms import Logged
    from ribband.timber import Board, Laid, LayWish
    from ribband.timber.board_model import Piece

__all__ = ["boards_as_left", "got_out_of", "laid_again", "sawn_elsewhere", "to_be_laid"]


def boards_as_left(
    bench: Bench, boards: Sequence[Board], elsewhere: Sequence[LayWish] = ()
) -> tuple[tuple[Board, ...], tuple[Finding, ...]]:
    """Give the boards with the places marked off where spoilt planks were got out.

    Those are barred of which something was sawn `elsewhere` than the plan had it.
    """
    from ribband.app.plan.log_keys import spoilt_got_out
    from ribband.timber.laid_changed import with_spoilt

    bad = {wish.board for wish in elsewhere}
    left = tuple(replace(b, state="barred") if b.state == "sound" and b.name in bad else b
                 for b in boards)  # fmt: skip
    said = tuple(_said_of(wish) for wish in elsewhere)
    spoilt = spoilt_got_out(_log(bench))
    if not spoilt:
        return left, said
    marked, found = with_spoilt(left, bench.before("laying"), spoilt)
    return marked, (*said, *found)


def sawn_elsewhere(bench: Bench, wishes: Sequence[LayWish]) -> tuple[LayWish, ...]:
    """Give the wishes that say a plank is sawn from a board the plan did not have it on."""
    before: Laid | None = bench.before("laying")
    lay = {(cut.plank.casefold(), cut.board) for cut in before.laying.cuts} if before else set()
    return tuple(
        wish
        for wish in wishes
        if wish.wish == "sawn" and (wish.plank.casefold(), wish.board) not in lay
    )


def _said_of(wish: LayWish) -> Finding:
    """Say that nothing is laid on a board of which it is not known what is left."""
    from ribband.findings import Finding, Severity

    says = (
        f"{wish.plank} was sawn from it, and not where the plan had it: nothing else is laid on "
        "it. Tally what is left as a board of its own, or take back the wish and pin the plank"
    )
    return Finding("T142", Severity.CAUTION, "timber", f"board {wish.board}", says)


def laid_again(
    bench: Bench,
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    wishes: Sequence[LayWish],
    elsewhere: Sequence[LayWish] = (),
) -> Laid | None:
    """Lay only planks that changed; None where all is to be laid, or wishes or rules changed.

    What was wished of planks sawn `elsewhere` than planned is no change.
    """
    from ribband.app.plan.log_keys import got_out, spoilt_got_out
    from ribband.timber.laid_changed import lay_changed

    before: Laid | None = bench.before("laying")
    log = _log(bench)
    stands = bench.made.get("stands")
    anew = stands is not None and stands.result.anew
    out = got_out(log)
    if before is None or not (anew or out or elsewhere or spoilt_got_out(log)):
        return None
    astray = {wish.plank.casefold() for wish in elsewhere}
    kept = [wish for wish in before.wishes if wish.plank.casefold() not in astray]
    if before.rules != bench.rules["laying"] or _words(kept) != _words(wishes):
        return None
    return lay_changed(
        before, pieces, boards, before.rules, kept, sorted(out), bench.seed,
        bench.hull.particulars.species,
    )  # fmt: skip


def got_out_of(bench: Bench) -> frozenset[str]:
    """Give the planks got out, or further, by the log."""
    from ribband.app.plan.log_keys import got_out

    return got_out(_log(bench))


def to_be_laid(
    bench: Bench,
    pieces: Sequence[Piece],
    wishes: Sequence[LayWish],
    elsewhere: Sequence[LayWish] = (),
) -> tuple[tuple[Piece, ...], tuple[str, ...]]:
    """Give the pieces less the planks got out of a board nobody knows, and their names.

    Nobody knows where on their boards those lay that were sawn `elsewhere` than planned.
    """
    from ribband.timber import lacking

    before: Laid | None = bench.before("laying")
    names = {plank for piece in pieces for plank in piece.planks}
    astray = {wish.plank.casefold() for wish in elsewhere}
    known = {cut.plank.casefold() for cut in before.laying.cuts} if before else set()
    known |= {wish.plank.casefold() for wish in wishes if wish.plank and wish.board}
    out = {plank for plank in got_out_of(bench) & names if plank.casefold() not in known}
    gone = out | {plank for plank in names if plank.casefold() in astray}
    return lacking(pieces, names - gone), tuple(sorted(gone))


def _words(wishes: Sequence[LayWish]) -> set[tuple[str, str, str]]:
    return {(wish.wish, wish.plank.casefold(), wish.board) for wish in wishes}


def _log(bench: Bench) -> tuple[Logged, ...]:
    from ribband.app.plan.making import rows_of
    from ribband.shop import read_log

    return read_log(rows_of(bench.forms, "log", bench.unit))
