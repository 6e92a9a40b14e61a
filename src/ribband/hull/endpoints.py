"""The points of stem and stern looked over: one that its neighbours do not bear out is doubted.

An end is read as positions at set heights, so a position is judged against the two points above
and the two below it, as a lone reading of a line is (`ribband.hull.spikes`): where the end itself
turns sharply the neighbours are left at odds, and the point stands.

Not checked: the two highest and the two lowest points, ends of fewer than five, half sidings.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

import numpy as np

from ribband.hull.model import Doubt, Floats
from ribband.hull.rules import FEWER, HullRules
from ribband.hull.slips import explain
from ribband.hull.spikes import foretold, spike
from ribband.survey.model import Decision, EndPoint, Survey
from ribband.units import parse_length

__all__ = ["judged_ends"]

_FEWEST = 5
_LEAST = 5.0  # times the tolerance


def judged_ends(survey: Survey, rules: HullRules) -> tuple[Survey, tuple[Doubt, ...]]:
    """Give the survey without the end points that are doubted or given up, and the doubts."""
    said = {d.key: d for d in survey.decisions}
    ends = [_corrected(p, said) for p in survey.ends]
    gone: dict[str, float] = {}
    for end in ("stem", "stern"):
        gone |= _doubted([p for p in ends if p.end == end], said, rules)
    kept = tuple(p for p in ends if p.key not in gone)
    unit = survey.particulars.unit
    doubts = tuple(_doubt(p, gone[p.key], said, unit) for p in ends if p.key in gone)
    return replace(survey, ends=kept), doubts


def _corrected(point: EndPoint, said: Mapping[str, Decision]) -> EndPoint:
    d = said.get(point.key)
    if d is None or d.decision != "correct" or d.value_mm is None:
        return point
    return replace(point, x_mm=d.value_mm)


def _doubted(
    points: list[EndPoint], said: Mapping[str, Decision], rules: HullRules
) -> dict[str, float]:
    """Give by key how far each doubted or given up point of an end lies too far aft."""
    run = sorted(points, key=lambda p: p.z_mm)
    z, x = (np.array([getattr(p, c) for p in run], float) for c in ("z_mm", "x_mm"))
    use = np.array([0.0 if _says(p, said) == "accept" else 1.0 for p in run])
    certain = np.array([p.corner or bool(_says(p, said)) for p in run], bool)
    if len(run) >= _FEWEST and np.all(np.diff(z) > 1.0):
        least, times = _LEAST * rules.tolerance_mm, rules.doubt_times + FEWER
        for _ in range(len(run) // _FEWEST):
            found = spike(z, x, use, certain, times=times, least_mm=least)
            use[list(found)] = 0.0
    out = np.flatnonzero(use == 0)
    return {run[i].key: _off(z, x, use, int(i)) for i in out}


def _off(z: Floats, x: Floats, use: Floats, i: int) -> float:
    """Give how far point i lies aft of what those in use beside it foretell; 0 at the ends."""
    used = np.union1d(np.flatnonzero(use > 0), [i])
    return float(np.nan_to_num(foretold(z, x, used)[0][int(np.searchsorted(used, i))]))


def _says(point: EndPoint, said: Mapping[str, Decision]) -> str:
    return said[point.key].decision if point.key in said else ""


def _doubt(point: EndPoint, off: float, said: Mapping[str, Decision], unit: str) -> Doubt:
    line = point.key.partition(f"{point.end} ")[2] or "point"
    slip = explain(off, max(0.1 * abs(off), 6.0), point.as_typed, unit, parse_length)
    decision = said[point.key].decision if point.key in said else ""
    return Doubt(
        point.key, point.end, line, point.as_typed, point.x_mm, point.x_mm - off, off, slip,
        decision, point.cell.file, point.cell.row, point.cell.column, point.x_mm, point.end,
    )  # fmt: skip
