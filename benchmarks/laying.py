"""Laying planks on boards: how soon, how near the bound, and against a general nesting library.

Planks and boards are those of ``tests/made_timber.py``. Our time is the processor's of this
process. The nesting library (``python-libnest2d``, LGPL) is not needed by anything else here;
where it is absent the table goes without the row, and that is said. It knows box bins, fixed items
and convex items only, so every board is a box in which the wood that is not there and the flaws
are fixed items, and a plank is its hull; port planks are given as drawn, starboard turned over, at
six angles. Both layings are counted by the whole face of the boards cut into.
"""

from __future__ import annotations

import resource
import sys
from importlib import import_module
from importlib.util import find_spec
from pathlib import Path
from time import perf_counter, process_time
from typing import Any

import numpy as np
from scipy.spatial import ConvexHull

from benchmarks.table import Row
from ribband.numerics.polygons import enclosed_area
from ribband.numerics.profiles import columns, grown, open_ring
from ribband.timber import LayingRules, lay_planks, relay
from ribband.timber.board_model import Board, Laying, Piece
from ribband.timber.laying_ground import rough_ring

TESTS = Path(__file__).parents[1] / "tests"
RULES = LayingRules()
UNITS = 1000  # of the nesting library, to a mm


def made() -> Any:
    """Load the made planks and boards of the tests."""
    if str(TESTS) not in sys.path:
        sys.path.append(str(TESTS))
    return import_module("made_timber")


def rows() -> list[Row]:
    """Measure everything asked of laying planks on boards."""
    pieces, boards = made().planks(), made().boards()
    first = lay_planks(pieces, boards, RULES, seconds=0.0, clock=process_time)
    best = lay_planks(pieces, boards, RULES, seconds=30.0, clock=process_time)
    return [
        Row("laying 170 on 100, full answer", first.seconds, "s", 5.0, said(first)),
        Row("laying 170 on 100, 30 s, above the bound", 100 * best.gap, "%", 5.0, said(best)),
        *spoilt(best, pieces, boards),
        *growth(),
        *nesting(),
        Row("laying, most memory", resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024,
            "MB", 1000.0),
    ]  # fmt: skip


def said(laying: Laying) -> str:
    """Give a laying in words."""
    used = len({cut.board for cut in laying.cuts})
    return (
        f"yield {laying.yield_part:.3f} on {used} boards, {len(laying.unlaid)} unlaid, "
        f"{len(laying.offcuts)} ends kept"
    )


def spoilt(best: Laying, pieces: tuple[Piece, ...], boards: tuple[Board, ...]) -> list[Row]:
    """Spoil five boards, one at a time: the slowest mending, and the most planks moved."""
    names = sorted({cut.board for cut in best.cuts})[::16]
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
    ]


def growth() -> list[Row]:
    """400 planks on 240 boards: a full answer, and what 30 s make of it."""
    pieces, boards = made().planks(200), made().boards(240)
    first = lay_planks(pieces, boards, RULES, seconds=0.0, clock=process_time)
    best = lay_planks(pieces, boards, RULES, seconds=30.0, clock=process_time)
    return [
        Row("laying 400 on 240, full answer", first.seconds, "s", None, said(first)),
        Row("laying 400 on 240, 30 s, above the bound", 100 * best.gap, "%", None, said(best)),
    ]


def nesting(shapes: int = 20, count: int = 40) -> list[Row]:
    """Lay 40 planks on 40 boards with ours and with the nesting library, unhurried."""
    if find_spec("pynest2d") is None:
        print("laying: pynest2d is absent (python-libnest2d); the comparison is left out")
        return []
    pieces, boards = made().planks(shapes), made().boards(count)
    ours = lay_planks(pieces, boards, RULES, seconds=30.0, clock=process_time)
    names = {cut.board for cut in ours.cuts}
    mine = rough(pieces) / face([b for b in boards if b.name in names])
    begun = perf_counter()
    laid, used = nested(pieces, sorted(boards, key=lambda b: -enclosed_area(b.outline)))
    theirs = laid / face(used)
    note = (
        f"ours {mine:.3f}, libnest2d {theirs:.3f} in {perf_counter() - begun:.0f} s with "
        f"{laid / rough(pieces):.0%} of the planks' face laid, hulls for planks"
    )
    return [Row(f"laying {2 * shapes} on {count}, nesting's yield over ours", theirs / mine, "",
                1 / 1.2, note)]  # fmt: skip


def rough(pieces: tuple[Piece, ...]) -> float:
    """Give the rough face of all planks, mm2."""
    return sum(enclosed_area(rough_ring(p)) * len(p.planks) for p in pieces)


def face(boards: list[Board]) -> float:
    """Give the face of boards, mm2."""
    return sum(enclosed_area(b.outline) for b in boards)


def nested(pieces: tuple[Piece, ...], boards: list[Board]) -> tuple[float, list[Board]]:
    """Run the nesting library; give the face it laid on real boards, and those boards."""
    pynest2d = import_module("pynest2d")
    width = max(float(np.ptp(b.outline[:, 0])) for b in boards) + 20
    height = max(float(np.ptp(b.outline[:, 1])) for b in boards) + 20
    planks, areas = [], []
    for piece in pieces:
        hull = hull_of(grown(rough_ring(piece), RULES.kerf_mm / 2))
        for k in range(len(piece.planks)):
            planks.append(item(hull * [1, -1] if k % 2 else hull))
            areas.append(enclosed_area(rough_ring(piece)))
    fixed = []
    for k, board in enumerate(boards):
        for part in missing(board, width, height):
            fixed.append(item(hull_of(part)))
            fixed[-1].markAsFixedInBin(k)
    config, lean = pynest2d.NfpConfig(), RULES.greatest_turn_rad
    config.rotations = [turn + by for turn in (0.0, np.pi) for by in (0.0, lean, -lean)]
    config.alignment = pynest2d.Alignment.DONT_ALIGN
    config.starting_point = pynest2d.Alignment.BOTTOM_LEFT
    wide, high = int(width * UNITS), int(height * UNITS)
    box = pynest2d.Box(wide, high, pynest2d.Point(wide // 2, high // 2))
    pynest2d.nest(fixed + planks, box, 0, config)
    bins = [plank.binId() for plank in planks]
    real = sorted({b for b in bins if 0 <= b < len(boards)})
    laid = sum(a for a, b in zip(areas, bins, strict=True) if 0 <= b < len(boards))
    return laid, [boards[b] for b in real]


def missing(board: Board, width: float, height: float) -> list[Any]:
    """Give what of the box is not board, in convex parts, and the flaws."""
    ring, half = open_ring(board.outline), RULES.kerf_mm / 2
    down = np.array([0.0, ring[:, 1].min() - 10.0])
    x = np.unique(ring[:, 0])
    low, high = (y - down[1] for y in columns(ring, x))
    parts = [np.asarray(f.ring) - down for f in board.flaws]
    for a, b, l0, l1, h0, h1 in zip(x, x[1:], low, low[1:], high, high[1:], strict=False):
        parts.append(np.array([[a, -1], [b, -1], [b, l1 - half], [a, l0 - half]]))
        parts.append(np.array([[a, h0 + half], [b, h1 + half], [b, height + 1], [a, height + 1]]))
    end = x[-1] + half
    if end < width:
        far = width + 1
        parts.append(np.array([[end, -1], [far, -1], [far, height + 1], [end, height + 1]]))
    return parts


def hull_of(points: Any) -> Any:
    """Give the corners of a convex hull."""
    return points[ConvexHull(points).vertices]


def item(ring: Any) -> Any:
    """Hand a ring over as the library wants it: clockwise, its first corner again at the end."""
    pynest2d = import_module("pynest2d")
    clockwise = open_ring(ring)[::-1]
    corners = [*clockwise, clockwise[0]]
    return pynest2d.Item([pynest2d.Point(round(x * UNITS), round(y * UNITS)) for x, y in corners])
