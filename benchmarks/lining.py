"""Lining out: 25 strakes by 60 frames, a bow that needs stealers, and the packet of 1825.

A drag is timed as a hand makes it, every move from the one before, by the processor's clock of
this process; beside it the same moves with every step worked out anew, in turn with it.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable
from dataclasses import replace
from importlib import import_module
from importlib.resources import files
from pathlib import Path
from time import process_time
from typing import Any

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
    rules = LiningRules(greatest_width_mm=137.0)
    wedge, few = made_hulls.wedge(60, 61), LiningRules(hollow_mm=10.0, least_hood_mm=122.0)
    packet, tight = _packet(), LiningRules(greatest_width_mm=254.0)
    return [
        Row("lining, count given", _ms(lambda: line_out(hull, LiningRules(), given)), "ms", 100),
        Row(
            "lining, strakes and stealers searched", _ms(lambda: line_out(hull, rules)), "ms", 1000
        ),
        *_dragged(drag, "10", "30", float(lining.upper_girth_mm[9, 30])),
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


def _dragged(drag: Any, strake: str, frame: str, girth_mm: float) -> list[Row]:
    """Drag one seam to and fro; what is settled anew is the same within a hundredth of a mm."""
    moves: list[float] = []
    anew: list[float] = []
    for n in range(16):
        before = drag
        begun = process_time()
        drag = before.move(strake, frame, girth_mm + 6.0 + 3.0 * (n % 4))
        moves.append(process_time() - begun)
        begun = process_time()
        _anew(before, drag)
        anew.append(process_time() - begun)
    return [
        Row("lining, again after a seam is moved", 1000 * min(moves[1:]), "ms", 50, "process time"),
        Row("lining, its steps worked out anew, in times of that", min(anew[1:]) / min(moves[1:]),
            "", None, "the same within 0.01 mm, in the same run"),
    ]  # fmt: skip


def _anew(before: Any, after: Any) -> None:
    """Settle a move with nothing taken over but the seams and what pushes on them."""
    from ribband.lining.solve import DRAGGED, settle  # noqa: PLC0415
    from ribband.lining.task import task_of  # noqa: PLC0415

    asked, was = after.asked, before.settled
    task = task_of(asked.ground.hull, asked.rules, was.division, asked.wishes)
    settle(
        asked.ground, was.division, task, asked.rules, was.fraction, was.forces.for_task(task),
        replace(DRAGGED, near=False),
    )  # fmt: skip


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
