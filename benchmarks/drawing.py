"""Drawing: sheets of the made launch, 16 strakes by 44 frames, and their files."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from functools import partial
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from time import process_time
from typing import Any

from benchmarks.table import Row
from ribband.drawing import Sheet, body_plan, dxf, expansion, lines_drawing, pdf, svg, tick_strips

TESTS = Path(__file__).parents[1] / "tests"


def made(name: str) -> Any:
    """Load a module of the tests."""
    if str(TESTS) not in sys.path:
        sys.path.append(str(TESTS))
    return import_module(name)


def least(run: Callable[[], Any], times: int = 3) -> float:
    """Give the least processor seconds of several runs."""
    spent = []
    for _ in range(times):
        begun = process_time()
        run()
        spent.append(process_time() - begun)
    return min(spent)


def rows() -> list[Row]:
    """Measure drawing and writing."""
    hull = made("made_hulls").launch()
    lining = made("drawing_helper").equal_lining(hull)
    layout = made("drawing_helper").stepped_layout(lining)
    views: dict[str, Callable[[], Sequence[Sheet]]] = {
        "expansion": lambda: expansion(hull, lining, layout),
        "lines": lambda: lines_drawing(hull),
        "body plan": lambda: body_plan(hull, lining),
        "tick strips, A3": lambda: tick_strips(hull, lining),
    }
    out = [Row(f"drawing: {name}", least(view), "s") for name, view in views.items()]
    sheets = views["expansion"]()
    with TemporaryDirectory() as folder:
        for kind, write in (("svg", svg.write), ("dxf", dxf.write)):
            spent = least(partial(write, sheets[0], Path(folder) / f"a.{kind}"))
            out.append(Row(f"drawing: expansion to {kind}", spent, "s"))
        spent = least(lambda: pdf.write(sheets, Path(folder) / "a.pdf"))
        out.append(Row("drawing: expansion to pdf", spent, "s"))
    return out
