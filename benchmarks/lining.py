"""Lining out: 25 strakes by 60 frames."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from importlib import import_module
from pathlib import Path

from benchmarks.table import Row

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

__all__ = ["rows"]


def rows() -> list[Row]:
    made_hulls = import_module("made_hulls")
    from ribband.lining import LiningRules, Wish, hold, line_out  # noqa: PLC0415

    hull = made_hulls.launch(60, 61)
    given = [Wish("strakes", 25)]
    lining = line_out(hull, LiningRules(), given)
    drag = hold(lining, hull, LiningRules())
    to = float(lining.upper_girth_mm[9, 30]) + 6.0
    rules = LiningRules(greatest_width_mm=137.0)
    return [
        Row("lining, count given", _ms(lambda: line_out(hull, LiningRules(), given)), "ms", 100),
        Row(
            "lining, strakes and stealers searched", _ms(lambda: line_out(hull, rules)), "ms", 1000
        ),
        Row(
            "lining, again after a seam is moved", _ms(lambda: drag.move("10", "30", to)), "ms", 50
        ),
        Row("lining, sweep of seams", lining.sweep_rms_per_m, "1/m", None, "rms, made launch"),
    ]


def _ms(task: Callable[[], object], times: int = 5) -> float:
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        task()
        best = min(best, time.perf_counter() - start)
    return 1000.0 * best
