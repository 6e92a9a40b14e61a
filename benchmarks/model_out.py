"""The planked hull as bodies in space: time to make and write about 170 planks.

The hull is faired from a made survey, the planking is even strakes with stepped butts. Processor
time, least of three runs.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time
from typing import Any

from benchmarks.table import Row
from ribband import hull, planks
from ribband.drawing.model3d import bodies, write_gltf, write_polyfaces

__all__ = ["rows"]

TESTS = str(Path(__file__).parents[1] / "tests")
STRAKES = 21


def planked() -> tuple[Any, ...]:
    """Give hull, lining, ways and plank list of a made vessel."""
    if TESTS not in sys.path:
        sys.path.append(TESTS)
    made = import_module("made_planking")
    survey, _ = import_module("made_surveys").surveyed(frames=60, noise=1.0)
    thick = replace(survey.particulars, planking_mm=38.0, rough_mm=44.0)
    fair = hull.fit(replace(survey, particulars=thick))
    lined = made.even_lining(fair, STRAKES)
    ways = made.ways_of(fair, lined)
    layout = made.stepped_layout(ways, every=17)
    return fair, lined, ways, planks.list_planks(fair, lined, ways, layout)


def least(run: Callable[[], Any], times: int = 3) -> tuple[Any, float]:
    """Give a result, and the least processor seconds of several runs."""
    spent, made = [], None
    for _ in range(times):
        start = process_time()
        made = run()
        spent.append(process_time() - start)
    return made, min(spent)


def rows() -> list[Row]:
    """Time the bodies and both files."""
    job = planked()
    made, making = least(lambda: bodies(*job))
    with TemporaryDirectory() as folder:
        _, gltf = least(lambda: write_gltf(made, Path(folder) / "a.glb"))
        _, dxf = least(lambda: write_polyfaces(made, Path(folder) / "a.dxf"))
    count = f"{len(made)} planks"
    return [
        Row("planked hull to glTF", making + gltf, "s", 1.0, count),
        Row("planked hull to DXF polyfaces", making + dxf, "s", None, count),
    ]
