"""Numbers at the heads of sections in a body plan, spread where the heads crowd."""

from __future__ import annotations

from collections.abc import Sequence

from ribband.drawing.board import Board
from ribband.drawing.labels import spread
from ribband.drawing.lettering import width_mm
from ribband.drawing.sheet import Point, Polyline, Text

__all__ = ["number_heads"]

_CAP = 1.8


def number_heads(board: Board, heads: Sequence[tuple[str, Point]]) -> None:
    """Write the numbers of one body over its heads (full size), with leaders where moved."""
    if not heads:
        return
    told = sorted((*board.paper(head), name) for name, head in heads)
    gap = max(width_mm(name, _CAP) for *_, name in told) + 1.2
    for (x, y, name), at in zip(told, spread([x for x, *_ in told], gap), strict=True):
        moved = abs(at - x) > 0.8
        low = y + (4.6 if moved else 1.4)
        text = Text("frame numbers", (0, 0), name, _CAP, "centre")
        if board.place(text, [(at, low), (at, low + 2.8)]) and moved:
            ends = ((x, y + 0.6), (at, low - 0.7))
            board.draw(Polyline("leaders", tuple(map(board.full, ends))))
