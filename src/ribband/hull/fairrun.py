"""A fair curve through readings of an edge, and the readings it does not believe.

Half-breadth and height are faired against the length along the curve, so that it may stand
upright as well as lie level. Positions were set, not measured, and are held to.

Not checked: that the points are given in order along the curve.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ribband.hull.leaveout import LeaveOut
from ribband.hull.model import Floats
from ribband.hull.spikes import spike
from ribband.numerics.polyline import along
from ribband.numerics.smoothing import Smooth, batten_basis, smooth_lines

__all__ = ["FairRun", "Judge", "fair_run"]

_FINE = 801
_SET = 0.3  # mm: positions were set, not measured, and are held to
_BLIND = 0.5  # readings of an edge have fellows on two sides only
_GROSS = 15.0  # times the tolerance
_FEW = 8  # with fewer readings than this none can be doubted


@dataclass(frozen=True, slots=True)
class Judge:
    """When a reading of an edge is doubted: so many times the usual error, and so far off.

    sure : (station, 0 half-breadth or 1 height) the shipwright stands by. They are judged like the
        rest, lest one that is out make its fellows doubtful, and only said to stand against them;
        with `hold` the line is then drawn to them all the same.
    """

    times: float
    least_mm: float
    sure: frozenset[tuple[int, int]] = frozenset()
    hold: bool = False

    def by(self, sure: NDArray[np.bool_]) -> Judge:
        """Give the judge of readings of which the shipwright stands by those marked, (k, 2)."""
        pairs = zip(*np.nonzero(sure), strict=True)
        return replace(self, sure=frozenset((int(k), int(c)) for k, c in pairs))

    def stood_by(self, which: NDArray[np.intp]) -> NDArray[np.bool_]:
        """Mark the readings of rows from stations `which` (m,) that are stood by, (m, 2)."""
        return np.array([[(int(k), c) in self.sure for c in (0, 1)] for k in which]).reshape(-1, 2)


@dataclass(frozen=True, eq=False)
class FairRun:
    """A fair curve through readings.

    xyz : (k, 3) points closely spaced along it; at (m,) where the readings lie, as lengths
    lines : half-breadth and height against length
    use : (m, 2) weights of half-breadth and height in the end, 0 where doubted
    against : (m, 2) True where one the shipwright stands by lies off its fellows
    which : (m,) the station each reading came from, -1 for a point of stem or stern
    fine : (k,) where `xyz` lies on `lines`
    """

    xyz: Floats
    at: Floats
    lines: tuple[Smooth, Smooth]
    use: Floats
    which: NDArray[np.intp]
    fine: Floats
    against: NDArray[np.bool_]

    @property
    def length(self) -> Floats:
        """Length to each of `xyz`."""
        return along(self.xyz)


def fair_run(
    points: Floats,
    use: Floats,
    held: tuple[bool, bool] = (False, False),
    which: NDArray[np.intp] | None = None,
    judge: Judge | None = None,
) -> FairRun:
    """Fair a run of points (m, 3) in order; use (m, 2) weighs y and z, 0 leaves one out.

    `held` ends are passed through exactly. With a judge, doubted readings are left out.
    """
    which = np.full(len(points), -1) if which is None else which
    close = judge.least_mm if judge else 1.0
    given = use
    if judge is not None:
        use = _no_spikes(points, use, which < 0, judge)
    at, lines = _laid(points, use, held, close)
    against = np.zeros(use.shape, bool)
    if judge is not None:
        left = _judged(lines, use, which, judge)
        against = (left == 0) & (given > 0) & judge.stood_by(which)
        left = np.where(against & judge.hold, given, left)
        if not np.array_equal(left, use):
            use = left
            at, lines = _laid(points, use, held, close)
    fine = _fine(at)
    xyz = np.stack([line.at(fine) for line in lines], axis=-1)
    at = np.interp(at, fine, along(xyz))
    return FairRun(xyz, at, (lines[1], lines[2]), use, which, fine, against)


def _fine(at: Floats) -> Floats:
    return np.unique(np.concatenate([np.linspace(at[0], at[-1], _FINE), at]))


def _laid(
    points: Floats, use: Floats, held: tuple[bool, bool], close: float, rounds: int = 2
) -> tuple[Floats, list[Smooth]]:
    """Fair x, y and z against length, and the length again along the fair curve."""
    at = along(_patched(points, use))
    weights = (np.ones(len(points)), use[:, 0], use[:, 1])
    ends = [(p[0] if held[0] else None, p[-1] if held[1] else None) for p in points.T]
    ends[0] = (points[0, 0], points[-1, 0])  # positions were set, not measured
    grows = held[0] and bool(np.all(np.diff(points[:, 0]) > 0))
    lines: list[Smooth] = []
    for turn in range(rounds):
        basis = batten_basis(at)
        lines = smooth_lines(
            at, list(points.T), weights, basis, fixed=ends, close=(_SET, close, close)
        )
        if grows and lines[0].at(at[:1], 1)[0] < 0:  # it would bulge out past the stem
            lines[:1] = smooth_lines(
                at, [points[:, 0]], weights[:1], basis,
                fixed=ends[:1], close=(_SET,), level=(True,),
            )  # fmt: skip
        if turn < rounds - 1:
            fine = _fine(at)
            at = np.interp(at, fine, along(np.stack([f.at(fine) for f in lines], axis=-1)))
    return at, lines


def _no_spikes(points: Floats, use: Floats, certain: NDArray[np.bool_], judge: Judge) -> Floats:
    """Leave out half-breadths and heights so gross that lengths along the run would be led astray.

    Looked for only where positions grow along the run.
    """
    use = use.copy()
    if len(points) < _FEW or not np.all(np.diff(points[:, 0]) > 0):
        return use
    for column in (0, 1):
        for _ in range(len(points) // 5):
            gone = spike(
                points[:, 0], points[:, column + 1], use[:, column], certain,
                times=judge.times, least_mm=_GROSS * judge.least_mm,
            )  # fmt: skip
            if not gone:
                break
            use[list(gone), column] = 0.0
    return use


def _judged(lines: list[Smooth], use: Floats, which: NDArray[np.intp], judge: Judge) -> Floats:
    """Leave out the doubted half-breadths and heights; points of the ends stand."""
    if len(use) < _FEW:
        return use
    return np.stack(
        [_kept(line, use[:, k], which < 0, judge) for k, line in enumerate(lines[1:])], axis=-1
    )


def _kept(line: Smooth, use: Floats, certain: NDArray[np.bool_], judge: Judge) -> Floats:
    order = np.arange(len(use))
    near = np.argsort(np.abs(order[:, None] - order), axis=1, kind="stable")[:, 1:5]
    trial = LeaveOut(
        line.residual,
        line.half,
        use.copy(),
        near,
        certain,
        np.ones(len(use)),
        use,
        chance=0.0,
        blind=_BLIND,
    )
    trial.search(judge.times, judge.least_mm)
    return trial.use


def _patched(points: Floats, use: Floats) -> Floats:
    """Points with left-out coordinates bridged, so that lengths are not led astray."""
    clean = points.copy()
    order = np.arange(len(points), dtype=float)
    for k in (0, 1):
        good = use[:, k] > 0
        clean[:, k + 1] = np.interp(order, order[good], points[good, k + 1])
    return clean
