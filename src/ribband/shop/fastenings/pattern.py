"""Where fastenings stand on a crossing: staggered, clear of edges, ends and each other.

On a frame they go up the plank evenly, one forward of the frame's middle and the next aft of it,
so that neither plank nor frame is split along one line of grain. At a butt on a frame they keep to
the plank's own half of it; on a block they stand in rows from the butt.

Not checked: bolts and other fastenings already in the frame; look before boring.
"""

from __future__ import annotations

import math
from itertools import combinations

from ribband.shop.fastenings.model import Spot
from ribband.shop.fastenings.rules import FasteningRules

__all__ = ["spots"]


def spots(  # noqa: PLR0917 - a crossing, its fastenings and the rules
    width_mm: float, count: int, where: str, sided_mm: float | None, diameter_mm: float,
    rules: FasteningRules,
) -> tuple[tuple[Spot, ...], bool]:  # fmt: skip
    """Give the places of `count` fastenings, and whether there is room for them.

    >>> spots(200.0, 2, "frames", 90.0, 8.0, FasteningRules())[0]
    (Spot(along_mm=-22.5, up_mm=32.0), Spot(along_mm=22.5, up_mm=168.0))
    """
    edge = max(rules.edge_mm, rules.edge_diameters * diameter_mm)
    free = width_mm - 2 * edge
    if where == "blocks":
        found = _rows(count, width_mm, edge, diameter_mm, rules)
    else:
        along, free_along = _along(where, sided_mm, diameter_mm, rules)
        up = _evenly(count, width_mm, edge)
        turns = [along[k % 2] for k in range(count)]
        found = tuple(Spot(a, u) for a, u in zip(turns, up, strict=True))
        free = min(free, free_along)
    return found, free >= 0 and _apart(found) >= rules.apart_diameters * diameter_mm


def _evenly(count: int, width: float, edge: float) -> list[float]:
    if count == 1:
        return [width / 2]
    low = min(edge, width / 2)
    step = (width - 2 * low) / (count - 1)
    return [low + k * step for k in range(count)]


def _along(
    where: str, sided: float | None, diameter: float, rules: FasteningRules
) -> tuple[tuple[float, float], float]:
    """Give the two lines fastenings stand on, from the frame's middle, and how much is to spare."""
    if sided is None or where in {"hood ends", "nibs"}:
        half = rules.apart_diameters * diameter / 2
        return (-half, half), 0.0
    clear = rules.frame_edge_diameters * diameter
    if where == "butts":
        return (sided / 4, sided / 4), sided / 4 - clear
    half = max(0.0, min(sided / 4, sided / 2 - clear))
    return (-half, half), sided / 2 - clear


def _rows(
    count: int, width: float, edge: float, diameter: float, rules: FasteningRules
) -> tuple[Spot, ...]:
    """Set fastenings in rows from the butt, the rows staggered."""
    each = math.ceil(count / rules.block_rows)
    step = max(rules.apart_diameters * diameter, 1.0)
    found: list[Spot] = []
    for row in range(rules.block_rows):
        here = min(each, count - len(found))
        if here <= 0:
            break
        away = rules.end_diameters * diameter + row * step
        found += [Spot(away, u) for u in _evenly(here, width, edge)]
    return tuple(found)


def _apart(found: tuple[Spot, ...]) -> float:
    pairs = combinations(found, 2)
    return min(
        (math.hypot(a.along_mm - b.along_mm, a.up_mm - b.up_mm) for a, b in pairs),
        default=math.inf,
    )
