"""Lining out: 25 strakes by 60 frames, a bow that needs stealers, and the packet of 1825."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from importlib import import_module
from importlib.resources import files
from pathlib import Path

from benchmarks.table import Row
from ribband.hull.model import Hull

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
    wedge, few = made_hulls.wedge(60, 61), LiningRules(hollow_mm=10.0, least_hood_mm=122.0)
    packet, tight = _packet(), LiningRules(greatest_width_mm=254.0)
    return [
        Row("lining, count given", _ms(lambda: line_out(hull, LiningRules(), given)), "ms", 100),
        Row(
            "lining, strakes and stealers searched", _ms(lambda: line_out(hull, rules)), "ms", 1000
        ),
        Row(
            "lining, again after a seam is moved", _ms(lambda: drag.move("10", "30", to)), "ms", 50
        ),
        Row(
            "lining, stealers needed",
            _ms(lambda: line_out(wedge, few), 2),
            "ms",
            1000,
            "13 strakes, 60 frames, none will do without",
        ),
        Row(
            "lining, the packet of 1825",
            _ms(lambda: line_out(packet, tight), 2),
            "ms",
            3000,
            "33 strakes, 50 frames, no width to spare",
        ),
        Row("lining, sweep of seams", lining.sweep_rms_per_m, "1/m", None, "rms, made launch"),
    ]


def _packet() -> Hull:
    from ribband.hull import fit  # noqa: PLC0415
    from ribband.survey import read_forms, read_survey  # noqa: PLC0415

    folder = Path(str(files("ribband"))) / "data" / "examples" / "packet_1825"
    return fit(read_survey(read_forms(folder)))


def _ms(task: Callable[[], object], times: int = 5) -> float:
    best = float("inf")
    for _ in range(times):
        start = time.perf_counter()
        task()
        best = min(best, time.perf_counter() - start)
    return 1000.0 * best
