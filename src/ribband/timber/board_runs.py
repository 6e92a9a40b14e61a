"""What lengths the boards of a pile can give at a breadth: stock for the butts.

A *run* is the longest stretch of a board over which a strip of the breadth finds room clear of
edges and flaws. A board wide enough gives two strips or more side by side, each of its own run.

Not checked here: sweep and twist of the edges within a run; laying does. A run is a guess to lay
butts by, no promise.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ribband.hull.model import Floats
from ribband.numerics.profiles import columns, open_ring
from ribband.timber.board_model import Board
from ribband.timber.laying.rules import LayingRules

__all__ = ["in_pairs", "runs"]

STEP = 50.0  # mm along the board


def runs(boards: Sequence[Board], breadth_mm: float, rules: LayingRules) -> tuple[float, ...]:
    """Give the runs of all sound boards at a breadth, mm, longest first, ends trimmed.

    >>> ring = np.array([[0.0, 0], [6000, 0], [6000, 410], [0, 410]])
    >>> runs([Board("A7", ring, 50.0)], 200.0, LayingRules())
    (6000.0, 6000.0)
    """
    found = [run for b in boards if b.state == "sound" for run in _of_board(b, breadth_mm, rules)]
    return tuple(sorted((run for run in found if run > 0), reverse=True))


def in_pairs(lengths: Sequence[float], step_mm: float = 50.0) -> tuple[tuple[float, int], ...]:
    """Give (length, how many) by twos, for planks that are wanted port and starboard alike.

    Two neighbours in the order of length count as two of the shorter, rounded down to a step.

    >>> in_pairs([6030.0, 6010.0, 5000.0, 4000.0])
    ((4000.0, 2), (6000.0, 2))
    """
    ordered = sorted(lengths, reverse=True)
    counts: dict[float, int] = {}
    for _, second in zip(ordered[::2], ordered[1::2], strict=False):
        length = float(np.floor(second / step_mm) * step_mm)
        counts[length] = counts.get(length, 0) + 2
    return tuple(sorted(counts.items()))


def _of_board(board: Board, breadth_mm: float, rules: LayingRules) -> list[float]:
    room = _room(board, rules)
    side_by_side = int((float(np.median(room)) + rules.kerf_mm) // (breadth_mm + rules.kerf_mm))
    each = [n * breadth_mm + (n - 1) * rules.kerf_mm for n in range(1, max(side_by_side, 1) + 1)]
    return [_longest(room >= wide - 1e-6) * STEP for wide in each]


def _room(board: Board, rules: LayingRules) -> Floats:
    """Give the widest clear strip over every place along a board, mm."""
    ring = open_ring(board.outline)
    x = np.arange(ring[:, 0].min() + STEP / 2, ring[:, 0].max(), STEP)
    low, high = columns(ring, x)
    off = rules.live_edge_mm if board.live_edges else 0.0
    low, high = low + off, high - off
    flaws = [f for f in board.flaws if not (f.kind == "sap" and rules.sap_allowed)]
    if not flaws:
        return np.asarray(high - low)
    bars = [columns(open_ring(flaw.ring), x) for flaw in flaws]
    return np.array(
        [_clear(low[i], high[i], [(a[i], b[i]) for a, b in bars]) for i in range(len(x))]
    )


def _clear(low: float, high: float, bars: list[tuple[float, float]]) -> float:
    """Give the widest gap between two edges that bars leave."""
    best, at = 0.0, low
    for first, last in sorted(bar for bar in bars if np.isfinite(bar[0])):
        best, at = max(best, min(first, high) - at), max(at, last)
    return max(best, high - at)


def _longest(good: np.ndarray) -> int:
    """Give the length of the longest run of true."""
    edges = np.flatnonzero(np.diff(np.concatenate([[False], good, [False]]).astype(int)))
    return int((edges[1::2] - edges[::2]).max(initial=0))
