"""The order: what to buy for a whole vessel, proved least, and instances with a known optimum."""

from __future__ import annotations

import sys
import time
from importlib import import_module
from pathlib import Path

from benchmarks.table import Row

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

__all__ = ["rows"]

LENGTHS = (1380, 1520, 1560, 1710, 1820, 1880, 1930, 2000, 2050, 2100, 2140, 2150, 2200)
COUNTS = (22, 25, 12, 14, 18, 18, 20, 10, 12, 14, 16, 18, 20)


def rows() -> list[Row]:
    made = import_module("made_timber")
    from ribband.timber import mill_classes, needs_of_pieces, order, species_named  # noqa: PLC0415
    from ribband.timber.order.cutting import Item, Stock, cut_stock  # noqa: PLC0415

    found = []
    for shapes in (85, 200):
        needs = needs_of_pieces(made.planks(shapes))
        start = time.perf_counter()
        bought = order(needs, mill_classes(50.8), species=species_named("douglas fir coast"))
        took = time.perf_counter() - start
        what = f"order, {2 * shapes} planks on 54 classes"
        found += [
            Row(what, took, "s"),
            Row(f"{what}, over the proved least", 100 * bought.gap, "%"),
        ]
    items = [Item(n, count, (0,)) for n, count in zip(LENGTHS, COUNTS, strict=True)]
    plan = cut_stock(items, [Stock(5600, 1.0)])
    found.append(Row("order, 13 lengths from 5600", plan.cost, "boards", 73, "optimum 73"))
    return found
