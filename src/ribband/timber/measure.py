"""Board measure: exact, and as timber is tallied for sale.

*Board foot*: 144 cubic inches. *Surface measure*: square feet of a board's face, in whole feet.
*Practice*: surface measure is width (in) x length (ft) / 12 to the nearest whole foot, an exact
half alternately up and down; board feet are surface measure x thickness, and less than an inch
thick counts as an inch. Lengths fall to the whole foot. The width of a board that tapers is taken a
third of its length from the narrow end.

Not checked here: the grade. A buyer and a seller may have agreed on another practice.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass

from ribband.hull.model import Floats
from ribband.timber.board_model import Board
from ribband.timber.tally.edges import edges_of_outline
from ribband.units import BOARD_FEET_PER_M3

__all__ = [
    "Alternately",
    "area_m2",
    "board_feet",
    "practice_board_feet",
    "surface_measure",
    "volume_m3",
    "width_for_tally_mm",
]

INCH, FOOT = 25.4, 304.8  # mm, by definition
_EXACT = 1e-6  # an exact half, within what arithmetic in mm loses


@dataclass(slots=True)
class Alternately:
    """Rounds to the nearest whole number, an exact half up, the next one down, and so on.

    One is made for each tally; it keeps which way the last half went.

    >>> nearest = Alternately()
    >>> [nearest(x) for x in (5.25, 5.5, 6.5, 7.5, 7.75)]
    [5, 6, 6, 8, 8]
    """

    up: bool = True

    def __call__(self, value: float) -> int:
        """Round one value."""
        if abs(value - math.floor(value) - 0.5) > _EXACT:
            return math.floor(value + 0.5)
        self.up = not self.up
        return math.floor(value) + (0 if self.up else 1)


def area_m2(board: Board) -> float:
    """Give the area of a board's face as tallied.

    >>> import numpy as np
    >>> plank = Board("A", np.array([[0.0, 0], [4000, 0], [4000, 250], [0, 300]]), 50.0)
    >>> area_m2(plank)
    1.1
    """
    x, y = board.outline[:, 0], board.outline[:, 1]
    return abs(float(_turned(x) @ y - _turned(y) @ x)) / 2e6


def volume_m3(board: Board) -> float:
    """Give the volume of a rough board, from its outline and thickness."""
    return area_m2(board) * board.thickness_mm / 1000


def board_feet(board: Board) -> float:
    """Give the exact board feet of a rough board, to no rounding at all."""
    return volume_m3(board) * BOARD_FEET_PER_M3


def width_for_tally_mm(board: Board) -> float:
    """Give the width that is tallied: a third of the length from the narrow end (from memory).

    >>> import numpy as np
    >>> width_for_tally_mm(Board("A", np.array([[0.0, 0], [3000, 0], [3000, 240], [0, 300]]), 50.0))
    260.0
    """
    edges = edges_of_outline(board.outline)
    start, long = float(edges.x[0]), edges.length_mm
    third = (long - start) / 3
    top_is_narrow = edges.width_at(long) < edges.width_at(start)
    return edges.width_at(long - third if top_is_narrow else start + third)


def surface_measure(
    width_in: float, length_ft: float, nearest: Callable[[float], int] | None = None
) -> int:
    """Give the surface measure: width x whole feet of length / 12, to the nearest whole foot.

    `nearest` settles exact halves over a whole tally; alone, a half goes up.

    >>> surface_measure(6.25, 8), surface_measure(10, 13), surface_measure(6.5, 8)
    (4, 11, 4)
    """
    return (nearest or Alternately())(width_in * _whole(length_ft) / 12)


def practice_board_feet(boards: Iterable[Board]) -> tuple[int, ...]:
    """Tally boards in the order they are passed over: surface measure x thickness, in whole feet.

    Thickness is as tallied, an inch at least. Halves of surface measure and of board feet go
    alternately up and down, each in its own turn.
    """
    surface, feet = Alternately(), Alternately()
    return tuple(_practice(board, surface, feet) for board in boards)


def _practice(board: Board, surface: Alternately, feet: Alternately) -> int:
    x = board.outline[:, 0]
    length_ft = float(x.max() - x.min()) / FOOT
    face = surface_measure(width_for_tally_mm(board) / INCH, length_ft, surface)
    return feet(face * max(board.thickness_mm / INCH, 1.0))


def _whole(feet: float) -> int:
    return math.floor(feet + _EXACT)


def _turned(values: Floats) -> Floats:
    return values[[-1, *range(len(values) - 1)]]
