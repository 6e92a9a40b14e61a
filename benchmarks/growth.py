"""How cost grows: the whole way on vessels of 12 strakes x 35 frames to 60 x 140.

Each size runs in a process of its own, by the processor's clock, so that its peak memory is its
own. The made launch, surveyed at so many frames with 1 mm of noise, is faired and lined out to the
count given; butts are laid on a formula's vessel of that size, until the first layout that keeps
every rule; planks are listed and rolled out, butted every 17 frames; the work on five planks of
every strake is planned once, without a search. The last rows say by what power of strakes x frames
each cost grew from the smallest to the largest.
"""

from __future__ import annotations

import json
import subprocess
import sys
from collections.abc import Iterator
from contextlib import suppress
from dataclasses import replace
from math import log
from time import process_time
from typing import Any

from benchmarks.table import Row, made, peak_mb

__all__ = ["rows"]

SIZES = ((12, 35), (25, 60), (42, 120), (60, 140))
LONGEST_MM = 8000.0  # a plank
LAYING = "laying the butts"  # what is told until the first layout is there
PATIENCE = 60.0  # s for the first layout of butts
PARTS = ("fairing", "lining out", "butts, first layout", "planks and shapes", "work, first plan")


def rows() -> Iterator[Row]:
    """Run every size; then say how each part grew."""
    found: dict[tuple[int, int], dict[str, float]] = {}
    for size in SIZES:
        words = [sys.executable, "-m", "benchmarks.growth", *map(str, size)]
        done = subprocess.run(words, check=True, capture_output=True, text=True)
        found[size] = json.loads(done.stdout)
        name = f"{size[0]} x {size[1]}"
        for part in PARTS:
            yield Row(f"{name}, {part}", found[size][part], "s")
        planks = f"{found[size]['planks']:.0f} planks of one side"
        yield Row(f"{name}, all of it", sum(found[size][p] for p in PARTS), "s", None, planks)
        yield Row(f"{name}, peak memory", found[size]["peak"], "MB", 1000.0)
    yield from powers(found[SIZES[0]], found[SIZES[-1]])


def powers(small: dict[str, float], large: dict[str, float]) -> Iterator[Row]:
    """Say by what power of strakes x frames each part grew."""
    grew = SIZES[-1][0] * SIZES[-1][1] / (SIZES[0][0] * SIZES[0][1])
    for part in (*PARTS, "peak"):
        power = log(large[part] / small[part]) / log(grew)
        yield Row(f"{part} grows with strakes x frames to the power", power, "")


def once(strakes: int, frames: int) -> dict[str, float]:
    """Go the whole way once; seconds of every part, planks, and the peak memory in MB."""
    from ribband import planks  # noqa: PLC0415
    from ribband.butts.solve import lay  # noqa: PLC0415 - loads what it needs, before the clock
    from ribband.hull import fit  # noqa: PLC0415
    from ribband.lining import LiningRules, Wish, line_out  # noqa: PLC0415
    from ribband.shop import plan_work  # noqa: PLC0415

    vessels, planking = made("made_ways"), made("made_planking")
    survey, work = surveyed(frames), made("made_work").work_of(strakes, 5)
    vessel = vessels.Vessel(strakes, frames, 450.0, LONGEST_MM)
    rules = vessels.rules_for(vessel)
    problem = vessels.made_ways(vessel, rules)
    clock = Clock()
    hull = fit(survey)
    clock.stop("fairing")
    lining = line_out(hull, LiningRules(most_strakes=80), (Wish("strakes", strakes),))
    clock.stop("lining out")
    with suppress(Laid):
        lay(problem, rules, seconds=PATIENCE, progress=until_laid)
    clock.stop("butts, first layout")
    places = planking.ways_of(hull, lining)
    layout = planking.stepped_layout(places, every=17)
    got = planks.list_planks(hull, lining, places, layout)
    planks.get_shapes(hull, lining, places, layout)
    clock.stop("planks and shapes")
    plan_work(work, seconds=0.0)
    clock.stop("work, first plan")
    return clock.spent | {"planks": len(got.planks) / 2, "peak": peak_mb()}


class Laid(Exception):  # noqa: N818 - no error: the first layout is there
    """The first layout is there."""


def until_laid(_: float, words: str) -> None:
    """End the laying of butts when something else than laying them begins."""
    if words != LAYING:
        raise Laid


def surveyed(frames: int) -> Any:
    """Survey the made launch at so many frames; planked 38 mm."""
    survey, _ = made("made_surveys").surveyed(frames, noise=1.0)
    thick = replace(survey.particulars, planking_mm=38.0, rough_mm=44.0)
    return replace(survey, particulars=thick)


class Clock:
    """The processor's clock, read between parts."""

    def __init__(self) -> None:
        """Begin with nothing spent."""
        self.spent: dict[str, float] = {}
        self.begun = process_time()

    def stop(self, part: str) -> None:
        """End a part, and begin the next."""
        now = process_time()
        self.spent[part], self.begun = now - self.begun, now


if __name__ == "__main__":
    print(json.dumps(once(*map(int, sys.argv[1:3]))))
