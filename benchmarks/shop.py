"""The shop: steaming, fastenings, caulking and handling of a whole vessel, against a second."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from importlib import import_module
from pathlib import Path

from benchmarks.table import Row

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

__all__ = ["rows"]

RUNS = 5
WORST = 1.0


def rows() -> list[Row]:
    made = import_module("made_shop")
    from ribband.shop import (  # noqa: PLC0415
        Leg,
        caulk,
        check_steaming,
        fasten,
        handle,
        size_blocks,
        steam,
    )
    from ribband.shop.steaming.heat import TABLE_DIFFUSIVITY, heating_seconds  # noqa: PLC0415
    from ribband.shop.steaming.rules import SteamingRules  # noqa: PLC0415

    boat = made.planked(made.thick(import_module("made_hulls").launch(), 51.0), 24, blocks=True)
    count = len(boat.planks.planks)
    way = (Leg("pile", "box", 20_000.0, 2400.0, 2000.0), Leg("box", "hull", 15_000.0))
    steamed = steam(boat)
    works: dict[str, Callable[[], object]] = {
        "steaming": lambda: steam(boat),
        "steaming, checked by steps": lambda: check_steaming(boat, SteamingRules(), steamed),
        "fastenings": lambda: fasten(boat),
        "caulking and blocks": lambda: (size_blocks(boat), caulk(boat)),
        "handling": lambda: handle(boat, path=way),
    }
    found = [
        Row(f"{name}, {count} planks", _least(work), "s", WORST) for name, work in works.items()
    ]
    worst = max(_off(a, b, minutes, heating_seconds, TABLE_DIFFUSIVITY) for a, b, minutes in TABLE)
    found.append(
        Row("heating times off the handbook's table", 100 * worst, "%", 5.0, "of its span")
    )
    return found


TABLE = (
    (1.0, 6.0, (12, 14)), (1.5, 6.0, (26, 29)), (2.0, 6.0, (46, 50)), (3.0, 3.0, (51, 61)),
    (4.0, 4.0, (100, 115)), (6.0, 6.0, (226, 265)),
)  # fmt: skip


def _off(
    a: float, b: float, span: tuple[int, int], heat: Callable[..., float], spread: float
) -> float:
    """Give how far a heating time lies outside the span of the table's five timbers, as a part."""
    start, steam, wanted = ((f - 32) / 1.8 for f in (60.0, 157.0, 133.0))
    minutes = heat(25.4 * a, 25.4 * b, spread, start, steam, wanted) / 60
    return max(span[0] / minutes - 1, minutes / span[1] - 1, 0.0)


def _least(work: Callable[[], object]) -> float:
    times = []
    for _ in range(RUNS):
        start = time.process_time()
        work()
        times.append(time.process_time() - start)
    return min(times)
