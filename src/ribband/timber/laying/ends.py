"""What is sound of the ends and strips a board leaves: the parts between flaws that cross it.

*Sound breadth*: the broadest part of a board across at a place that no flaw is in: two strips on
either side of a shake are two, not one. *Broken*: a stretch of a
board where flaws leave less sound breadth than an end must have to be kept; an end is sawn off
on this side of it, and what lies beyond is an end of its own.

Not checked: how deep a flaw goes, or whether timber near it is sound; look at the board.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import numpy as np

from ribband.numerics.polygons import clipped
from ribband.numerics.profiles import Floats, columns, open_ring
from ribband.timber.board_model import Board, Flaw

__all__ = ["Spans", "broken", "hard_flaws", "sound_rings", "sound_spans"]

Spans = tuple[tuple[float, float], ...]
STEP = 10.0  # mm between the places looked at, besides the corners of flaws
NEAR = 1e-3  # mm on either side of a corner


def hard_flaws(board: Board, sap_allowed: bool) -> tuple[Flaw, ...]:
    """Give the flaws no plank may have in it."""
    return tuple(f for f in board.flaws if not (f.kind == "sap" and sap_allowed))


@lru_cache(maxsize=1024)
def broken(board: Board, breadth_mm: float, sap_allowed: bool = False) -> Spans:
    """Give the stretches along a board where flaws leave less sound breadth than `breadth_mm`.

    >>> ring = np.array([[0, 0], [5000, 0], [5000, 300], [0, 300.0]])
    >>> shake = Flaw("shake", np.array([[900, 0], [1400, 0], [1400, 300], [900, 300.0]]))
    >>> found = broken(Board("8", ring, 50.0, flaws=(shake,)), 150.0)
    >>> [tuple(round(x) for x in span) for span in found]
    [(900, 1400)]
    """
    spans: list[tuple[float, float]] = []
    flaws = hard_flaws(board, sap_allowed)
    for x in _stretches(flaws):
        narrow = _sound_breadth(board, flaws, x) < breadth_mm - 1e-6
        for first, last in _runs(narrow):  # as far as the last place on either side that will do
            spans.append((float(x[max(first - 1, 0)]), float(x[min(last + 1, len(x) - 1)])))
    return tuple(spans)


def sound_spans(first: float, last: float, bad: Spans) -> Spans:
    """Give what is left of a stretch between those that are broken.

    >>> sound_spans(0.0, 5000.0, ((900.0, 1400.0),))
    ((0.0, 900.0), (1400.0, 5000.0))
    """
    parts, begin = [], first
    for low, high in sorted(bad):
        if high <= first or low >= last:
            continue
        parts.append((begin, low))
        begin = max(begin, high)
    parts.append((begin, last))
    return tuple((a, b) for a, b in parts if b > a)


def sound_rings(
    board: Board, ring: Floats, least: tuple[float, float], sap_allowed: bool = False
) -> list[Floats]:
    """Give the parts of a board's part that are long enough between flaws that cross it.

    Parameters
    ----------
    ring : (n, 2) the part, on the board's axes, with the board's flaws
    least : length and sound breadth it must have, mm
    """
    long, breadth = least
    part = Board(board.name, ring, board.thickness_mm, flaws=board.flaws)
    bad = broken(part, breadth, sap_allowed)
    if not bad:
        return [ring]
    spans = sound_spans(float(ring[:, 0].min()), float(ring[:, 0].max()), bad)
    return [clipped(ring, a, b) for a, b in spans if b - a >= long]


def _stretches(flaws: Sequence[Flaw]) -> list[Floats]:
    """Give the places along to look at, those of flaws that reach over each other together."""
    spans = sorted((float(f.ring[:, 0].min()), float(f.ring[:, 0].max())) for f in flaws)
    joined: list[list[float]] = []
    for low, high in spans:
        if joined and low <= joined[-1][1]:
            joined[-1][1] = max(joined[-1][1], high)
        else:
            joined.append([low, high])
    corners = np.concatenate([f.ring[:, 0] for f in flaws]) if flaws else np.zeros(0)
    every = []
    for low, high in joined:
        at = corners[(corners >= low) & (corners <= high)]
        grid = np.linspace(low, high, max(2, int((high - low) / STEP) + 1))
        x = np.unique(np.concatenate([grid, at, at - NEAR, at + NEAR]))
        every.append(x[(x >= low) & (x <= high)])
    return every


def _sound_breadth(board: Board, flaws: Sequence[Flaw], x: Floats) -> Floats:
    """Give the broadest sound part (n,) of a board at places along it, between edges and flaws."""
    ring = open_ring(board.outline)
    low, high = columns(ring, np.clip(x, ring[:, 0].min(), ring[:, 0].max()))
    covers = [_across(flaw, x) for flaw in flaws]
    inner = np.sort(np.clip(np.concatenate(covers), low, high), axis=0)
    edges = np.concatenate([low[None], inner, high[None]])
    middle = (edges[1:] + edges[:-1]) / 2
    hit = np.zeros(middle.shape, dtype=bool)
    for below, above in covers:
        hit |= (middle > below) & (middle < above)
    run = broadest = np.zeros(len(x))
    for part, covered in zip(np.diff(edges, axis=0), hit, strict=True):
        run = np.where(covered, 0.0, run + part)
        broadest = np.maximum(broadest, run)
    return np.asarray(broadest)


def _across(flaw: Flaw, x: Floats) -> Floats:
    """Give the lower and upper edge of a flaw (2, n); nothing high where it does not reach."""
    ring = open_ring(flaw.ring)
    there = (x >= ring[:, 0].min()) & (x <= ring[:, 0].max())
    low, high = columns(ring, np.clip(x, ring[:, 0].min(), ring[:, 0].max()))
    return np.stack([np.where(there, low, 0.0), np.where(there, high, 0.0)])


def _runs(marked: np.ndarray) -> list[tuple[int, int]]:
    """Give the first and last place of every run of marked ones."""
    edge = np.flatnonzero(np.diff(np.concatenate([[0], marked.astype(int), [0]])))
    return [(int(a), int(b) - 1) for a, b in edge.reshape(-1, 2)]
