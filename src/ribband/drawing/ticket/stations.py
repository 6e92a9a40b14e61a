"""Where figures are given besides the frames, so that a plank lays out from its figures alone.

Whoever lays a plank out springs a batten through the marks. Where frames are few, as at a bluff
bow, or an edge turns fast, as the garboard's at the forefoot, the batten would run wide of the edge
between them: *stations* are put where it is farthest off, one after another, until it is nowhere
off by more than `OFF_MM`. Where an edge has a corner, as at the notch a stealer's nib is let into,
the batten is sprung anew, and the corner is given.

The batten is a cubic spline with free ends. Not checked: that a real one is as limber.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ribband.drawing.patterns.flat import fair_runs
from ribband.hull.model import Floats
from ribband.planks.shape_model import Shape

__all__ = ["OFF_MM", "Corner", "corners", "stations"]

OFF_MM = 1.5  # about a sixteenth of an inch, to which a tape is read
NEAR_MM = 25.0  # marks nearer than this to a corner tell the batten nothing
MOST = 12  # more lines would not be laid out


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner within an edge, "lower" or "upper": along the batten, and square off it, mm."""

    edge: str
    along_mm: float
    off_mm: float


def corners(shape: Shape) -> tuple[Corner, ...]:
    """Give the corners of both edges between their ends, from forward."""
    found = [
        Corner(name, float(run[-1, 0]), float(run[-1, 1]))
        for name, edge in (("lower", shape.lower), ("upper", shape.upper))
        for run in fair_runs(edge)[:-1]
    ]
    return tuple(sorted(found, key=lambda corner: corner.along_mm))


def stations(shape: Shape) -> tuple[tuple[float, float, float], ...]:
    """Give (along, lower, upper) of the stations wanted, from forward, mm; often none."""
    runs = {name: _running(edge) for name, edge in (("lower", shape.lower), ("upper", shape.upper))}
    every = [run for own in runs.values() for run in own]
    frames = [float(x) for x in shape.along_mm]
    put: list[float] = []
    while every and len(put) < MOST:
        off, at = max(_farthest(run, [*frames, *put]) for run in every)
        if off <= OFF_MM:
            break
        put.append(at)
    return tuple((x, _read(runs["lower"], x), _read(runs["upper"], x)) for x in sorted(put))


def _running(edge: Floats) -> list[Floats]:
    """Give the runs of an edge that go along the plank; a notch's own step is none."""
    return [run for run in fair_runs(edge) if run[-1, 0] - run[0, 0] > NEAR_MM]


def _farthest(run: Floats, marks: list[float]) -> tuple[float, float]:
    """Give how far a batten sprung through its marks is off a run (n, 2) at most, and where."""
    from scipy.interpolate import CubicSpline  # noqa: PLC0415 - heavy, only when printing

    first, last = float(run[0, 0]), float(run[-1, 0])
    inside = {x for x in marks if first + NEAR_MM < x < last - NEAR_MM}
    x = np.array([first, *sorted(inside), last])
    y = np.interp(x, run[:, 0], run[:, 1])
    sprung = CubicSpline(x, y, bc_type="natural")(run[:, 0]) if len(x) > 2 else _straight(run)
    leans = np.gradient(run[:, 1], run[:, 0], edge_order=1)
    off = np.abs(sprung - run[:, 1]) / np.hypot(1.0, leans)
    worst = int(off.argmax())
    return float(off[worst]), float(run[worst, 0])


def _straight(run: Floats) -> Floats:
    return np.interp(run[:, 0], run[[0, -1], 0], run[[0, -1], 1])


def _read(runs: list[Floats], at: float) -> float:
    """Read an edge at a place along the batten; NaN past its ends."""
    for run in runs:
        if run[0, 0] <= at <= run[-1, 0]:
            return float(np.interp(at, run[:, 0], run[:, 1]))
    return float("nan")
