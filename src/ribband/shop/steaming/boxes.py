"""The steam boxes a yard has: how many planks go in at once, and which do not go in at all.

A plank lies on edge, or flat, on its own row of supports, with steam all round it by the same
clearances as a box to be built. *Row*: planks side by side across the box; where a box is high
enough for more than one row they lie above each other.

Not checked: whether the boiler keeps up with a box so full, or the supports bear them.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from ribband.shop.steaming.model import BoxFit, SteamedPlank, YardBox
from ribband.shop.steaming.rules import SteamingRules
from ribband.survey.rows import Row

__all__ = ["at_once_in", "box_wanted", "fit_box", "places_each", "places_of", "read_boxes"]


def read_boxes(rows: Iterable[Row]) -> tuple[YardBox, ...]:
    """Read the steam boxes of the form `gear`.

    >>> row = Row({"item": "steam box", "how_many": 1, "length": 6000.0}, "gear.csv", 2)
    >>> read_boxes([row])[0].sized
    False
    """
    return tuple(
        YardBox(
            int(row.values["how_many"]),
            _mm(row, "length"),
            _mm(row, "width"),
            _mm(row, "height"),
            row.number,
        )
        for row in rows
        if str(row.values.get("item") or "").strip().lower() == "steam box"
        and row.values.get("how_many")
    )


def _mm(row: Row, column: str) -> float | None:
    value: Any = row.values.get(column)
    return None if value is None else float(value)


def at_once_in(box: YardBox, plank: SteamedPlank, rules: SteamingRules) -> int:
    """Give how many planks of a size go into a box at once; none if one does not.

    Across: n thicknesses and n + 1 clearances; up: the same with widths; along: the length and
    the clearance at both ends. On edge or flat, whichever takes more.

    >>> plank = SteamedPlank("P1-1", True, "", 32.0, 200.0, 6000.0, *[None] * 5, "", None)
    >>> at_once_in(YardBox(1, 6400.0, 300.0, 320.0), plank, SteamingRules())
    3
    """
    if box.length_mm is None or box.width_mm is None or box.height_mm is None:
        return rules.at_once
    if plank.length_mm + 2 * rules.end_clear_mm > box.length_mm:
        return 0
    sides = box.width_mm, box.height_mm
    ways = (sides, sides[::-1])  # its width upright, or across
    return max(
        _rows(thin, plank.thickness_mm, rules.clear_mm)
        * _rows(wide, plank.width_mm, rules.clear_mm)
        for thin, wide in ways
    )


def _rows(room: float, each: float, clear: float) -> int:
    return max(0, int((room - clear) / (each + clear) + 1e-9))


def fit_box(box: YardBox, planks: Sequence[SteamedPlank], rules: SteamingRules) -> BoxFit:
    """Set a box against the planks to be steamed."""
    own = {plank.plank: at_once_in(box, plank, rules) for plank in planks}
    stuck = tuple(name for name, count in own.items() if not count)
    return BoxFit(box, min((n for n in own.values() if n), default=0), stuck)


def places_of(fits: Sequence[BoxFit], how_many: int, rules: SteamingRules) -> int:
    """Give the places in all boxes together; the rule's number each where sizes are not given.

    >>> places_of((), 2, SteamingRules())
    4
    """
    if not any(fit.box.sized for fit in fits):
        return how_many * rules.at_once
    return sum(places_each(fits))


def places_each(fits: Sequence[BoxFit]) -> tuple[int, ...]:
    """Give the places in the boxes of each row; where no box takes any plank, one a box.

    Planks that go into no box are planned all the same, and told (W011).

    >>> places_each([BoxFit(YardBox(2, 5000.0, 300.0, 300.0), 0, ("P1-1",))])
    (2,)
    """
    own = tuple(fit.box.how_many * fit.at_once for fit in fits)
    return own if any(own) else tuple(fit.box.how_many for fit in fits)


def box_wanted(planks: Sequence[SteamedPlank], rules: SteamingRules) -> tuple[float, float, float]:
    """Give the least length, width and height inside, mm, of a box that takes each plank alone.

    >>> plank = SteamedPlank("P1-1", True, "", 32.0, 200.0, 6000.0, *[None] * 5, "", None)
    >>> box_wanted([plank], SteamingRules())
    (6300.0, 132.0, 300.0)
    """
    return (
        max(plank.length_mm for plank in planks) + 2 * rules.end_clear_mm,
        max(plank.thickness_mm for plank in planks) + 2 * rules.clear_mm,
        max(plank.width_mm for plank in planks) + 2 * rules.clear_mm,
    )
