"""Laying planks on boards: how soon, how near the bound, on three piles; a board spoilt.

Planks and boards are those of ``tests/made_timber.py``. Time is the processor's of this process.
General nesting libraries have a subject of their own, ``laying_nesting``.
"""

from __future__ import annotations

import resource
import sys
from importlib import import_module
from pathlib import Path
from time import process_time
from typing import Any

from benchmarks.table import Row
from ribband.timber import LayingRules, lay_planks, relay
from ribband.timber.board_model import Board, Laying, Piece
from ribband.timber.laying.pace import ByCount, usual_trials

TESTS = Path(__file__).parents[1] / "tests"
RULES = LayingRules()


def made() -> Any:
    """Load the made planks and boards of the tests."""
    if str(TESTS) not in sys.path:
        sys.path.append(str(TESTS))
    return import_module("made_timber")


def rows() -> list[Row]:
    """Measure everything asked of laying planks on boards."""
    pieces, boards = made().planks(), made().boards()
    first = usual(pieces, boards)
    best = lay_planks(pieces, boards, RULES, seconds=30.0, clock=process_time)
    return [
        Row("laying 170 on 100, full answer", first.seconds, "s", 5.0, said(first)),
        Row("laying 170 on 100, 30 s, above the bound", 100 * best.gap, "%", 5.0, said(best)),
        *spoilt(best, pieces, boards),
        *growth(),
        *other_piles(),
        Row("laying, most memory", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
            "MB", 1000.0),
    ]  # fmt: skip


def usual(pieces: tuple[Piece, ...], boards: tuple[Board, ...]) -> Laying:
    """Lay a pile as `lay_pile` does, by the usual count of trials."""
    return lay_planks(pieces, boards, RULES, pace=ByCount(usual_trials(len(boards))))


def said(laying: Laying) -> str:
    """Give a laying in words."""
    used = len({cut.board for cut in laying.cuts})
    return (
        f"yield {laying.yield_part:.3f} on {used} boards, {len(laying.unlaid)} unlaid, "
        f"{len(laying.offcuts)} ends kept"
    )


def spoilt(best: Laying, pieces: tuple[Piece, ...], boards: tuple[Board, ...]) -> list[Row]:
    """Spoil every fourth board, one at a time: the slowest mending, and the most planks moved."""
    names = sorted({cut.board for cut in best.cuts})[::4]
    spent, moved, unlaid = [], [], 0
    for name in names:
        begun = process_time()
        mended = relay(best, pieces, boards, RULES, [name])
        spent.append(process_time() - begun)
        where = {cut.plank: cut for cut in mended.cuts}
        unlaid += len(mended.unlaid) - len(best.unlaid)
        moved.append(sum(c != where.get(c.plank) for c in best.cuts if c.board != name))
    note = f"{len(names)} boards tried, {unlaid} planks left without a board"
    return [
        Row("laying, a board spoilt, slowest", max(spent), "s", 2.0, note),
        Row("laying, a board spoilt, other planks moved", max(moved), "planks", 3.0),
        Row("laying, a board spoilt, planks left without a board", unlaid, "planks", 0.0),
    ]


def other_piles() -> list[Row]:
    """Two more piles made otherwise, and one that cannot do: 60 boards for 170 planks."""
    found = []
    for seed in (11, 21):
        pieces, boards = made().planks(seed=seed), made().boards(seed=seed + 1)
        laying = lay_planks(pieces, boards, RULES, seconds=10.0, clock=process_time)
        what = f"laying 170 on 100, pile {seed}, 10 s, above the bound"
        found.append(Row(what, 100 * laying.gap, "%", 5.0, said(laying)))
    short = lay_planks(made().planks(), made().boards(60), RULES, seconds=10.0, clock=process_time)
    what = "laying 170 on 60 boards, which cannot do, planks left, 10 s"
    return [*found, Row(what, len(short.unlaid), "planks", None, said(short))]


def growth() -> list[Row]:
    """400 planks on 240 boards: a full answer, and what 15 s make of it."""
    pieces, boards = made().planks(200), made().boards(240)
    first = usual(pieces, boards)
    best = lay_planks(pieces, boards, RULES, seconds=15.0, clock=process_time)
    return [
        Row("laying 400 on 240, full answer", first.seconds, "s", None, said(first)),
        Row("laying 400 on 240, 15 s, above the bound", 100 * best.gap, "%", None, said(best)),
    ]
