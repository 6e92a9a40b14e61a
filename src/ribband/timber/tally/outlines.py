"""Outlines of boards and flaws as drawn: the form `outlines`, and what is wrong with its rings.

A *ring* is its corners in order. A board may be forked, or undercut at an end: where a line square
across meets wood more than once, what lies between is a *gap* and counts as a flaw, so that no
plank is laid over it.

Not checked here: whether the ring is the board's; it is held against the length that was tallied.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import pairwise

import numpy as np

from ribband.errors import Problem
from ribband.hull.model import Floats
from ribband.numerics.polygons import clipped, crosses_itself
from ribband.numerics.profiles import ring_area
from ribband.survey.rows import Row
from ribband.timber.board_model import Flaw
from ribband.timber.tally.flaws import KINDS
from ribband.units import format_length

__all__ = ["Rings", "drawn_flaws", "gaps", "key_of", "off_the_tally", "outline_of", "rings_of"]

Rings = dict[str, dict[str, list[Row]]]
LEAST_MM2 = 1.0  # of a ring's area
LONGER, BROADER = 1 / 3, 0.5  # parts by which an outline may differ from what was tallied


def rings_of(outlines: Sequence[Row]) -> Rings:
    """Sort the points of the form `outlines` by board and ring; "" is the board's own."""
    rings: Rings = {}
    for row in outlines:
        board = rings.setdefault(key_of(row, "board"), {})
        board.setdefault(key_of(row, "flaw"), []).append(row)
    return rings


def outline_of(rows: Sequence[Row], problems: list[Problem]) -> Floats | None:
    """Give a ring anticlockwise, or None where there is none; what is wrong goes to `problems`."""
    if not rows:
        return None
    ring = np.array([(row.values["along"], row.values["across"]) for row in rows], dtype=float)
    wanted = ""
    if crosses_itself(ring):
        wanted = "points in order round the ring, which crosses itself as they stand"
    elif len(ring) < 3 or abs(ring_area(ring)) < LEAST_MM2:
        wanted = "three points or more, in order round the ring"
    if wanted:
        problems.append(Problem(rows[0].file, rows[0].number, "along", f"{len(ring)}", wanted))
        return None
    return ring if ring_area(ring) > 0 else ring[::-1]


def drawn_flaws(
    rings: Mapping[str, list[Row]], board: Floats, problems: list[Problem]
) -> tuple[Flaw, ...]:
    """Give the flaws drawn on a board of the outline `board`."""
    first, last = float(board[:, 0].min()), float(board[:, 0].max())
    flaws = []
    for name, rows in rings.items():
        kind = name.split(" ")[0]
        if name and kind not in KINDS:
            wanted = "a kind of flaw and its number, one of " + ", ".join(KINDS)
            problems.append(rows[0].problem("flaw", wanted, "knot 1"))
        elif name and (ring := outline_of(rows, problems)) is not None:
            if len(clipped(ring, first, last)) < 3:
                problems.append(rows[0].problem("along", "a place on the board", ""))
            flaws.append(Flaw(kind, ring))
    return tuple(flaws)


def off_the_tally(
    row: Row, rows: Sequence[Row], ring: Floats, broadest_mm: float, unit: str
) -> list[Problem]:
    """Find where an outline is not that of the board tallied, which is likely another's.

    row : of the form `boards`; rows, ring : of the outline; broadest_mm : of the widths tallied
    """
    long = float(np.ptp(ring[:, 0]))
    tallied = float(row.values["length"])
    broad = float(np.ptp(ring[:, 1]))
    found = []
    if abs(long - tallied) > LONGER * tallied:
        found.append(("along", long, "an outline about as long as the board, {}", tallied))
    if broad < broadest_mm * (1 - BROADER):
        found.append(("across", broad, "an outline about as broad as the board, {}", broadest_mm))
    return [
        Problem(rows[0].file, rows[0].number, column, format_length(is_so, unit),
                wanted.format(format_length(told, unit)))
        for column, is_so, wanted, told in found
    ]  # fmt: skip


def gaps(ring: Floats) -> tuple[Flaw, ...]:
    """Give what lies between wood and wood across a board that is forked or undercut, as flaws.

    Of several gaps at one place the wood between them goes with them.

    >>> fork = [[0, 0], [4, 0], [4, 1], [2, 1], [2, 2], [4, 2], [4, 3], [0, 3.0]]
    >>> [flaw.ring.tolist() for flaw in gaps(np.array(fork))]
    [[[2.0, 1.0], [4.0, 1.0], [4.0, 2.0], [2.0, 2.0]]]
    """
    a, b = ring, np.roll(ring, -1, axis=0)
    nodes = np.unique(ring[:, 0])
    pieces: list[list[Floats]] = []
    last = -np.inf
    for x0, x1 in pairwise(nodes.tolist()):
        over = (np.minimum(a[:, 0], b[:, 0]) <= x0) & (np.maximum(a[:, 0], b[:, 0]) >= x1)
        if over.sum() < 4:
            continue
        ends = np.stack([_heights(a[over], b[over], x) for x in (x0, x1)])
        order = np.argsort(ends.sum(axis=0))
        low, high = ends[:, order[1]], ends[:, order[-2]]
        piece = np.array([[x0, low[0]], [x1, low[1]], [x1, high[1]], [x0, high[0]]])
        pieces = [*pieces[:-1], [*pieces[-1], piece]] if x0 == last else [*pieces, [piece]]
        last = x1
    return tuple(Flaw("gap", _joined(some)) for some in pieces)


def _heights(a: Floats, b: Floats, x: float) -> Floats:
    part = (x - a[:, 0]) / (b[:, 0] - a[:, 0])
    return np.asarray(a[:, 1] + part * (b[:, 1] - a[:, 1]))


def _joined(pieces: Sequence[Floats]) -> Floats:
    """Give one ring of pieces that follow each other: out along their lower sides and back."""
    lower = [piece[:2] for piece in pieces]
    upper = [piece[2:] for piece in reversed(pieces)]
    ring = np.concatenate([*lower, *upper])
    same = np.all(ring == np.roll(ring, 1, axis=0), axis=1)
    return np.asarray(ring[~same])


def key_of(row: Row, column: str) -> str:
    """Give what a row names a board or flaw by, whatever its case and blanks."""
    return " ".join(str(row.values.get(column) or "").split()).lower()
