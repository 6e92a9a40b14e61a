"""Numbers at the heads of sections in a body plan, spread where the heads crowd.

Where they crowd so that the spread numbers would run off the drawing, some are left off.
"""

from __future__ import annotations

from collections.abc import Sequence

from ribband.drawing.board import Board
from ribband.drawing.labels import spread
from ribband.drawing.lettering import width_mm
from ribband.drawing.sheet import Point, Polyline, Text

__all__ = ["number_heads"]

_CAP = 1.8
_BEYOND = 12.0  # mm, how far numbers may stand beyond the outermost heads


def number_heads(board: Board, heads: Sequence[tuple[str, Point]]) -> None:
    """Write the numbers of one body over its heads (full size), with leaders where moved."""
    if not heads:
        return
    gap = max(width_mm(name, _CAP) for name, _ in heads) + 1.2
    told = _thinned(sorted((*board.paper(head), name) for name, head in heads), gap)
    for (x, y, name), at in zip(told, spread([x for x, *_ in told], gap), strict=True):
        moved = abs(at - x) > 0.8
        low = y + (4.6 if moved else 1.4)
        text = Text("frame numbers", (0, 0), name, _CAP, "centre")
        if board.place(text, [(at, low), (at, low + 2.8)]) and moved:
            ends = ((x, y + 0.6), (at, low - 0.7))
            board.draw(Polyline("leaders", tuple(map(board.full, ends))))


def _thinned(told: list[tuple[float, float, str]], gap: float) -> list[tuple[float, float, str]]:
    """Leave off numbers where heads stand closest, until all keep to the drawing when spread."""
    told = list(told)
    low, high = told[0][0] - _BEYOND, told[-1][0] + _BEYOND
    while len(told) > 2:
        stands = spread([x for x, *_ in told], gap)
        if stands[0] >= low and stands[-1] <= high:
            break
        closest = min(range(1, len(told) - 1), key=lambda i: told[i + 1][0] - told[i - 1][0])
        del told[closest]
    return told
