"""The boards as the planking stands: changed planks laid again, spoilt ones' timber marked off.

The laying before is the last one kept. Planks the log has got out stay on their
boards; those of which no board is known are no more to be laid, nor bought for.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ribband.app.plan.making import Bench
    from ribband.findings import Finding
    from ribband.shop.work.forms import Logged
    from ribband.timber import Board, Laid, LayWish
    from ribband.timber.board_model import Piece

__all__ = ["boards_as_left", "got_out_of", "laid_again", "to_be_laid"]


def boards_as_left(
    bench: Bench, boards: Sequence[Board]
) -> tuple[tuple[Board, ...], tuple[Finding, ...]]:
    """Give the boards with the places marked off where spoilt planks were got out."""
    from ribband.app.plan.log_keys import spoilt_got_out
    from ribband.timber.laid_changed import with_spoilt

    spoilt = spoilt_got_out(_log(bench))
    if not spoilt:
        return tuple(boards), ()
    return with_spoilt(boards, bench.before("laying"), spoilt)


def laid_again(
    bench: Bench, pieces: Sequence[Piece], boards: Sequence[Board], wishes: Sequence[LayWish]
) -> Laid | None:
    """Lay only planks that changed; None where all is to be laid, or wishes or rules changed."""
    from ribband.app.plan.log_keys import got_out, spoilt_got_out
    from ribband.timber.laid_changed import lay_changed

    before: Laid | None = bench.before("laying")
    log = _log(bench)
    stands = bench.made.get("stands")
    anew = stands is not None and stands.result.anew
    out = got_out(log)
    if before is None or not (anew or out or spoilt_got_out(log)):
        return None
    if before.rules != bench.rules["laying"] or _words(before.wishes) != _words(wishes):
        return None
    return lay_changed(
        before, pieces, boards, before.rules, before.wishes, sorted(out), bench.seed,
        bench.hull.particulars.species,
    )  # fmt: skip


def got_out_of(bench: Bench) -> frozenset[str]:
    """Give the planks got out, or further, by the log."""
    from ribband.app.plan.log_keys import got_out

    return got_out(_log(bench))


def to_be_laid(
    bench: Bench, pieces: Sequence[Piece], wishes: Sequence[LayWish]
) -> tuple[tuple[Piece, ...], tuple[str, ...]]:
    """Give the pieces less the planks got out of a board nobody knows, and their names."""
    from ribband.timber import lacking

    before: Laid | None = bench.before("laying")
    names = {plank for piece in pieces for plank in piece.planks}
    known = {cut.plank.casefold() for cut in before.laying.cuts} if before else set()
    known |= {wish.plank.casefold() for wish in wishes if wish.plank and wish.board}
    gone = {plank for plank in got_out_of(bench) & names if plank.casefold() not in known}
    return lacking(pieces, names - gone), tuple(sorted(gone))


def _words(wishes: Sequence[LayWish]) -> set[tuple[str, str, str]]:
    return {(wish.wish, wish.plank.casefold(), wish.board) for wish in wishes}


def _log(bench: Bench) -> tuple[Logged, ...]:
    from ribband.app.plan.making import rows_of
    from ribband.shop import read_log

    return read_log(rows_of(bench.forms, "log", bench.unit))
