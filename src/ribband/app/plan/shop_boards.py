"""The boards as the planking stands: changed planks laid again, spoilt ones' timber marked off.

The laying before is the last one kept. Planks the log has got out stay on their boards.
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

__all__ = ["boards_as_left", "laid_again"]


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
    from ribband.app.plan.log_keys import spoilt_got_out
    from ribband.record.log import reached
    from ribband.record.model import DONE
    from ribband.timber.laid_changed import lay_changed

    before: Laid | None = bench.before("laying")
    log = _log(bench)
    stands = bench.made.get("stands")
    anew = stands is not None and stands.result.anew
    if before is None or not (anew or spoilt_got_out(log)):
        return None
    if before.rules != bench.rules["laying"] or _words(before.wishes) != _words(wishes):
        return None
    out = DONE.index("got out")
    got_out = [plank for plank, state in reached(log).items() if DONE.index(state) >= out]
    return lay_changed(
        before, pieces, boards, before.rules, before.wishes, got_out, bench.seed,
        bench.hull.particulars.species,
    )  # fmt: skip


def _words(wishes: Sequence[LayWish]) -> set[tuple[str, str, str]]:
    return {(wish.wish, wish.plank.casefold(), wish.board) for wish in wishes}


def _log(bench: Bench) -> tuple[Logged, ...]:
    from ribband.app.plan.making import rows_of
    from ribband.shop import read_log

    return read_log(rows_of(bench.forms, "log", bench.unit))
