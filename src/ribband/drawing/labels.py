"""Lettering that does not run into other lettering.

`Labels` keeps the boxes already taken, in mm on the paper. A view offers a label with the places
it may stand, best first; the first free one is taken, or the label is left off and the caller
told so. `spread` moves a column of labels apart just enough. Lines may run under lettering (it
breaks them); lettering may not.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from ribband.drawing.lettering import width_mm
from ribband.drawing.sheet import Box, Point, Text

__all__ = ["Labels", "spread", "text_box"]

_CELL = 20.0  # mm, the squares the taken boxes are sorted into


def text_box(text: Text, at: Point | None = None) -> Box:
    """Give the box a line of lettering takes on the paper when it stands at `at`, mm."""
    x, y = at or text.at
    long, high = width_mm(text.text, text.height_mm, text.face), text.height_mm
    left = {"left": 0.0, "centre": -long / 2, "right": -long}[text.align]
    low = {"base": 0.0, "middle": -high / 2, "top": -high}[text.rest]
    c, s = math.cos(text.turn_rad), math.sin(text.turn_rad)
    corners = [(u * c - v * s, u * s + v * c)
               for u in (left, left + long) for v in (low - 0.2 * high, low + high)]  # fmt: skip
    xs, ys = zip(*corners, strict=True)
    return Box(x + min(xs), y + min(ys), x + max(xs), y + max(ys))


@dataclass(slots=True)
class Labels:
    """The boxes taken so far on one sheet."""

    air_mm: float = 0.5
    _squares: dict[tuple[int, int], list[Box]] = field(default_factory=dict)

    def free(self, box: Box) -> bool:
        """Tell whether nothing taken meets `box`."""
        return not any(
            box.meets(other) for key in _keys(box) for other in self._squares.get(key, ())
        )

    def take(self, box: Box) -> None:
        """Keep others out of `box`."""
        for key in _keys(box):
            self._squares.setdefault(key, []).append(box)

    def place(self, text: Text, places: Sequence[Point]) -> Text | None:
        """Stand `text` in the first free of `places` (paper mm) and take it; None if none is."""
        for at in places:
            box = text_box(text, at).grown(self.air_mm)
            if self.free(box):
                self.take(box)
                return replace(text, at=at)
        return None


def spread(wanted: Sequence[float], gap: float) -> list[float]:
    """Move heights apart so that neighbours stand `gap` or more from each other.

    `wanted` increases; the sum of squares of the moves is least (blocks of neighbours that touch
    stand round their mean).

    >>> spread([0.0, 1.0, 10.0], 3.0)
    [-1.0, 2.0, 10.0]
    """
    blocks: list[tuple[float, int]] = []  # mean of (wanted - place in block * gap), count
    for value in wanted:
        mean, count = float(value), 1
        while blocks and blocks[-1][0] + blocks[-1][1] * gap > mean:
            before, many = blocks.pop()
            total = before * many + (mean - many * gap) * count
            count += many
            mean = total / count
        blocks.append((mean, count))
    return [mean + k * gap for mean, count in blocks for k in range(count)]


def _keys(box: Box) -> list[tuple[int, int]]:
    columns = range(math.floor(box.left / _CELL), math.floor(box.right / _CELL) + 1)
    rows = range(math.floor(box.lower / _CELL), math.floor(box.upper / _CELL) + 1)
    return [(i, j) for i in columns for j in rows]
