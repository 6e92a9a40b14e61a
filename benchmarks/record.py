"""The record: re-lining after one measured seam, and the repair of nine planks."""

from __future__ import annotations

import sys
import time
from importlib import import_module
from pathlib import Path
from typing import Any

from benchmarks.table import Row

TESTS = Path(__file__).parents[1] / "tests"
sys.path[:0] = [str(TESTS)]

__all__ = ["rows"]


def rows() -> list[Row]:
    made = import_module("made_hung")
    return [*_relining(made), *_shapes(made), *_repair(made)]


def _relining(made: Any) -> list[Row]:
    """Measure one seam at six frames: lining, butts and the list of planks."""
    from ribband import planks, record  # noqa: PLC0415

    plan = made.planned()
    stand, points = made.stood(plan, (1, 2, 3, 13, 14), (4,)), made.seam_off(plan, 3, 9.0)

    def whole() -> Any:
        got = record.reline(plan, stand, points)
        planks.list_planks(plan.hull, got.lining, got.ways, got.layout)
        return got

    took, got = _least(whole)
    faults = [f for f in record.check_relined(plan, got, record.RecordRules())
              if f.severity == "fault"]  # fmt: skip
    note = f"14 strakes, 36 frames, {len(points)} points; {len(faults)} faults found"
    off = max(
        abs(float(got.lining.upper_girth_mm[2, got.lining.columns.index(p.frame)]) - p.girth_mm)
        for p in points
    )
    return [
        Row("re-lining after one measured seam, with butts and planks", took, "s", 1.0, note),
        Row("hung seam off where it was measured", off, "mm", 1.0),
    ]


def _shapes(made: Any) -> list[Row]:
    from ribband import record  # noqa: PLC0415
    from ribband.planks import PlankRules, ShapeRules  # noqa: PLC0415
    from ribband.shop.work.forms import Logged  # noqa: PLC0415

    plan = made.planned()
    log = [Logged(p.name, "hung", "", ()) for p in plan.planks
           if p.side == "port" and p.strake in {"1", "2", "3"}]  # fmt: skip
    args = (plan, None, log, made.seam_off(plan, 3, 9.0), record.Stuff(PlankRules(), ShapeRules()))
    took, left = _least(lambda: record.what_is_left(*args, record.RecordRules()))
    count = len(left.of("port").shapes)
    return [Row("the same with flat shapes of all that is left", took, "s", 3.0, f"{count} planks")]


def _repair(made: Any) -> list[Row]:
    from ribband import record  # noqa: PLC0415
    from ribband.planks import PlankRules, ShapeRules  # noqa: PLC0415
    from ribband.record.forms import Bad  # noqa: PLC0415

    plan = made.planned()
    names = plan.ways.frames
    butts = plan.layout.butts
    recorded = record.Recorded(plan.hull, plan.lining, plan.ways,
                               {"port": butts, "starboard": butts})  # fmt: skip
    bads = [Bad("port", str(n), names[6 + 2 * (n % 5)], names[10 + 2 * (n % 5)])
            for n in range(3, 12)]  # fmt: skip
    stuff = record.Stuff(PlankRules(), ShapeRules())
    rules = record.RepairRules()
    took, repair = _least(lambda: record.plan_repair(recorded, bads, plan.butt_rules, rules, stuff))
    faults = sum(f.severity == "fault" for f in repair.findings)
    gap = 100.0 * (repair.length_mm - repair.bound_mm) / repair.length_mm
    return [
        Row("repair of nine stretches, with shapes", took, "s", 20.0, f"{faults} faults found"),
        Row("length renewed past the bound", gap, "%", 3.0),
    ]


def _least(work: Any) -> tuple[float, Any]:
    times, made = [], None
    for _ in range(3):
        began = time.process_time()
        made = work()
        times.append(time.process_time() - began)
    return min(times), made
