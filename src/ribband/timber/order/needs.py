"""What is needed of a mill, and what a mill sells, as the order takes them.

Not checked here: whether a mill near you saws these sizes; ask before ordering.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterable, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ribband.errors import InputError
from ribband.planks.model import Plank
from ribband.survey.rows import Row
from ribband.timber.board_model import Piece
from ribband.timber.order.model import MillClass, Need
from ribband.timber.order.rules import OrderRules
from ribband.units import BOARD_FEET_PER_M3, imperial

__all__ = ["lacking", "mill_classes", "needs_of_pieces", "needs_of_planks", "over_all",
           "read_mill", "size_over_all"]  # fmt: skip

Floats = NDArray[np.float64]
LEANS = 21  # looked at within the limit
_OURS = OrderRules()


def needs_of_pieces(pieces: Iterable[Piece], lean_rad: float = 0.0) -> tuple[Need, ...]:
    """Give what flat shapes need: their length and breadth over all, with their allowances.

    lean_rad : most a plank's batten line may lean from the board's length, as for the laying; of
        the leans within it the one that takes least board is reckoned with

    >>> import numpy as np
    >>> ring = np.array([[0.0, 0], [3000, 0], [3000, 150], [0, 150], [0, 0]])
    >>> needs_of_pieces([Piece("7-2", ring, ("P7-2", "S7-2"), 45.0, 4.0, 40.0)])[0]
    Need(length_mm=3080.0, width_mm=158.0, thickness_mm=45.0, planks=('P7-2', 'S7-2'), own_m3=0.0)
    """
    return tuple(
        Need(*size_over_all(piece, lean_rad), piece.thickness_mm, piece.planks) for piece in pieces
    )


def size_over_all(piece: Piece, lean_rad: float) -> tuple[float, float]:
    """Give the length and breadth of the smallest board for a plank, allowances included, mm.

    >>> import numpy as np
    >>> ring = np.array([[0.0, 0], [3000, 60], [3000, 210], [0, 150], [0, 0]])
    >>> one = Piece("7-2", ring, ("P7-2",), 45.0)
    >>> size_over_all(one, 0.0)[1], round(size_over_all(one, 0.05)[1], 1)
    (210.0, 150.0)
    """
    leans = np.linspace(-lean_rad, lean_rad, LEANS if lean_rad else 1)
    long, wide = over_all(piece.outline, leans)
    long += 2 * piece.end_allowance_mm
    wide += 2 * piece.allowance_mm
    wide += 2 * piece.end_allowance_mm * np.abs(np.sin(leans))
    least = int(np.argmin(long * wide))
    return float(long[least]), float(wide[least])


def over_all(outline: Floats, turns: Floats) -> tuple[Floats, Floats]:
    """Give the length and the breadth of an outline over all at each of several turns.

    >>> over_all(np.array([[0.0, 0], [300, 0], [300, 20]]), np.array([0.0, np.pi / 2]))[0].round(6)
    array([300.,  20.])
    """
    c, s = np.cos(turns)[:, None], np.sin(turns)[:, None]
    x, y = outline.T
    return np.ptp(c * x - s * y, axis=1), np.ptp(s * x + c * y, axis=1)


def needs_of_planks(
    planks: Iterable[Plank], edge_mm: float, end_mm: float, sweep_mm: float = 0.0
) -> tuple[Need, ...]:
    """Give what planks need where no flat shape is known: `sweep_mm` is added to every width."""
    return tuple(
        Need(
            plank.length_mm + 2 * end_mm,
            plank.width_max_mm + 2 * edge_mm + sweep_mm,
            plank.rough_mm,
            (plank.name,),
        )
        for plank in planks
    )


def lacking(pieces: Iterable[Piece], unlaid: Collection[str]) -> tuple[Piece, ...]:
    """Give the pieces the pile has no board for, each with the planks it lacks only."""
    short = [
        replace(piece, planks=tuple(name for name in piece.planks if name in unlaid))
        for piece in pieces
    ]
    return tuple(piece for piece in short if piece.planks)


def mill_classes(
    thickness_mm: float,
    rules: OrderRules = _OURS,
    price_m3: float | None = None,
    lengths_mm: Sequence[float] = (),
    thickest_mm: float = 0.0,
) -> tuple[MillClass, ...]:
    """Give every length and width a mill sells of a thickness; `lengths_mm` in place of the rules'.

    Thicker classes follow, a step of the rules each, till one is as thick as `thickest_mm`.

    >>> classes = mill_classes(50.8)
    >>> len(classes), classes[0].length_mm, classes[-1].width_mm
    (54, 2438.4, 406.4)
    """
    lengths = lengths_mm or _steps(rules.shortest_mm, rules.longest_mm, rules.length_step_mm)
    return tuple(
        MillClass(length, width, thick, price_m3)
        for thick in _thicknesses(thickness_mm, thickest_mm, rules)
        for width in _widths(rules)
        for length in lengths
    )


def read_mill(
    rows: Iterable[Row],
    thickness_mm: float,
    rules: OrderRules = _OURS,
    unit: str = "mm",
    thickest_mm: float = 0.0,
) -> tuple[MillClass, ...]:
    """Give the classes of the form `stock`: a blank width is every width of the rules.

    A blank thickness is `thickness_mm`, and every step of the rules over it till one is as thick
    as `thickest_mm`; of boards that are counted, the thickest only. A price is of a board foot in
    jobs of feet or inches, else of a cubic metre.

    Raises
    ------
    InputError : some rows have a price and others have none

    >>> row = Row({"length": 6000.0, "width": 250.0, "price": 4.0}, "stock.csv", 2)
    >>> read_mill([row], 50.8, unit="in")[0]
    MillClass(length_mm=6000.0, width_mm=250.0, thickness_mm=50.8, price_m3=1695.1, at_most=None)
    """
    rows = tuple(rows)
    _refuse_half_priced(rows)
    steps = _thicknesses(thickness_mm, thickest_mm, rules)
    a_metre = BOARD_FEET_PER_M3 if imperial(unit) else 1.0
    return tuple(one for row in rows for one in _classes_of_row(row, steps, rules, a_metre))


def _refuse_half_priced(rows: Sequence[Row]) -> None:
    """Name the rows without a price where others have one: an order goes by price, or by volume."""
    bare = [row for row in rows if row.values.get("price") is None]
    if bare and len(bare) < len(rows):
        wanted = "a price in this row too, or in none"
        priced = next(row for row in rows if row not in bare)
        example = priced.as_typed.get("price") or f"{priced.values['price']:g}"
        raise InputError([row.problem("price", wanted, example) for row in bare])


def _classes_of_row(
    row: Row, steps: Sequence[float], rules: OrderRules, a_metre: float
) -> Iterable[MillClass]:
    own = row.values
    price, count = own.get("price"), own.get("count")
    blank = steps if count is None else steps[-1:]
    for thick in [own["thickness"]] if own.get("thickness") else blank:
        for width in [own["width"]] if own.get("width") else _widths(rules):
            yield MillClass(
                float(own["length"]), float(width), float(thick),
                None if price is None else float(price) * a_metre, count,
            )  # fmt: skip


def _widths(rules: OrderRules) -> list[float]:
    return _steps(rules.narrowest_mm, rules.widest_mm, rules.width_step_mm)


def _thicknesses(least: float, most: float, rules: OrderRules) -> list[float]:
    """Give a thickness, and steps over it till one is as much as `most`."""
    over = math.ceil((most - least) / rules.thickness_step_mm - 1e-6)
    return [least + n * rules.thickness_step_mm for n in range(max(over, 0) + 1)]


def _steps(least: float, most: float, step: float) -> list[float]:
    return [least + n * step for n in range(int((most - least) / step + 1e-9) + 1)]
