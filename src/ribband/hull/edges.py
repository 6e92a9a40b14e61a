"""The four edges of the planking, faired on their own before the surface.

*Profile* is the run of the rabbet seen from the side: down the stem, round the forefoot, along
the keel. Where it has a knuckle the corner between stem and keel is put there; where it is a
smooth sweep, at the place where it is as steep as it is level. The surface is held hard to the
edges. An end that was not measured is no edge: the planking is then known only to the first or
last station, whose section is free to be faired in its own plane.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding, Severity
from ribband.hull.leaveout import LeaveOut
from ribband.hull.model import Floats
from ribband.hull.sections import EdgeStations
from ribband.numerics.polyline import along, fill
from ribband.numerics.smoothing import (
    Smooth,
    batten_basis,
    smooth_lines,
)
from ribband.survey.model import EndPoint

__all__ = ["Edges", "FairRun", "Judge", "fair_edges", "fair_run"]

_KNUCKLE = np.radians(40.0)
_FINE = 801
_SET = 0.3  # mm: positions were set, not measured, and are held to
_BLIND = 0.5  # readings of an edge have fellows on two sides only
_FEW = 8  # with fewer readings than this none can be doubted


@dataclass(frozen=True, slots=True)
class Judge:
    """When a reading of an edge is doubted: so many times the usual error, and so far off."""

    times: float
    least_mm: float


@dataclass(frozen=True, eq=False)
class FairRun:
    """A fair curve through readings.

    xyz : (k, 3) points closely spaced along it; at (m,) where the readings lie, as lengths
    lines : half-breadth and height against length
    use : (m, 2) weights of half-breadth and height in the end, 0 where doubted
    which : (m,) the station each reading came from, -1 for a point of stem or stern
    """

    xyz: Floats
    at: Floats
    lines: tuple[Smooth, Smooth]
    use: Floats
    which: NDArray[np.intp]

    @property
    def length(self) -> Floats:
        """Length to each of `xyz`."""
        return along(self.xyz)

    def by_x(self, x: Floats) -> Floats:
        """Give the points (m, 3) where the curve crosses positions x; x must grow along it."""
        reach = np.maximum.accumulate(self.xyz[:, 0])
        return fill(x, reach + 1e-9 * np.arange(len(reach)), self.xyz)


@dataclass(frozen=True, eq=False)
class Edges:
    """Keel rabbet and sheer, fore to aft; stem and stern, keel to sheer; each (k, 3), closely.

    `stem` or `stern` is a straight line between keel and sheer where that end is free.
    `keel_run`, `sheer_run` tell how the readings lay.
    """

    keel: Floats
    sheer: Floats
    stem: Floats
    stern: Floats
    has_stem: bool
    has_stern: bool
    keel_run: FairRun
    sheer_run: FairRun
    findings: tuple[Finding, ...]


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
    at, lines = _laid(points, use, held, close)
    if judge is not None:
        left = _judged(lines, use, which, judge)
        if not np.array_equal(left, use):
            use = left
            at, lines = _laid(points, use, held, close)
    fine = _fine(at)
    xyz = np.stack([line.at(fine) for line in lines], axis=-1)
    return FairRun(xyz, np.interp(at, fine, along(xyz)), (lines[1], lines[2]), use, which)


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
        line.share,
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


def fair_edges(
    rabbet: EdgeStations,
    sheer: EdgeStations,
    ends: tuple[EndPoint, ...],
    judge: Judge | None = None,
) -> Edges:
    """Fair the edges from the readings of rabbet and sheer and the points of stem and stern."""
    stem = _end(ends, "stem")
    stern = _end(ends, "stern")
    findings: list[Finding] = []
    has_stem = _reaches(stem, rabbet.xyz[0], sheer.xyz[0], "stem", findings)
    has_stern = _reaches(stern, rabbet.xyz[-1], sheer.xyz[-1], "stern", findings)
    stem, stern = stem if has_stem else stem[:0], stern if has_stern else stern[:0]
    sheer_run = _sheer(sheer, stem, stern, judge)
    stem_line, keel_line, keel_run = _profile(rabbet, stem, stern, judge, findings)
    sheer_line = sheer_run.xyz
    if not has_stem:
        stem_line = np.stack([keel_line[0], sheer_line[0]])
    stern_line = np.stack([keel_line[-1], sheer_line[-1]])
    if has_stern:
        run = fair_run(stern, np.ones((len(stern), 2)), (True, True))
        stern_line = _joined_ends(run.xyz, keel_line[-1], sheer_line[-1])
    if has_stem:
        stem_line = _joined_ends(stem_line, keel_line[0], sheer_line[0])
    return Edges(
        keel_line, sheer_line, stem_line, stern_line, has_stem, has_stern,
        keel_run, sheer_run, tuple(findings),
    )  # fmt: skip


def _end(ends: tuple[EndPoint, ...], which: str) -> Floats:
    """Points of an end from the keel up, (k, 3)."""
    found = [(p.x_mm, p.y_mm, p.z_mm) for p in ends if p.end == which]
    return np.array(sorted(found, key=lambda p: p[2]), float).reshape(-1, 3)


def _reaches(
    end: Floats, rabbet: Floats, sheer: Floats, which: str, findings: list[Finding]
) -> bool:
    """Tell whether the points of an end reach the sheer, and say so if they do not."""
    place = "first" if which == "stem" else "last"
    if len(end) == 0:
        findings.append(
            Finding(
                "H010", Severity.CAUTION, "hull", which,
                f"the {which} rabbet was not measured; the planking is known only to the"
                f" {place} station, and nothing beyond it is made up",
            )
        )  # fmt: skip
        return False
    short = sheer[2] - end[-1, 2]
    if len(end) >= 2 and short < 0.12 * (sheer[2] - rabbet[2]):
        return True
    findings.append(
        Finding(
            "H011", Severity.CAUTION, "hull", which,
            f"the points of the {which} stop {short:.0f} mm short of the sheer; the planking is"
            f" taken only to the {place} station",
        )
    )  # fmt: skip
    return False


def _sheer(sheer: EdgeStations, stem: Floats, stern: Floats, judge: Judge | None) -> FairRun:
    own = np.arange(len(sheer.xyz))
    return _with_ends(sheer.xyz, sheer.use, own, fore=stem[-1:], aft=stern[-1:], judge=judge)


def _with_ends(
    points: Floats,
    use: Floats,
    which: NDArray[np.intp],
    *,
    fore: Floats,
    aft: Floats,
    judge: Judge | None,
) -> FairRun:
    """Fair a run with an end point, held, put before and after it where there is one."""
    return fair_run(
        np.concatenate([fore, points, aft]),
        np.concatenate([np.ones((len(fore), 2)), use, np.ones((len(aft), 2))]),
        (len(fore) > 0, len(aft) > 0),
        np.concatenate([np.full(len(fore), -1), which, np.full(len(aft), -1)]),
        judge,
    )


def _profile(
    rabbet: EdgeStations,
    stem: Floats,
    stern: Floats,
    judge: Judge | None,
    findings: list[Finding],
) -> tuple[Floats, Floats, FairRun]:
    """Give the stem (keel to sheer), the keel line, and how the rabbet's readings lay."""
    if len(stem) == 0:
        own = np.arange(len(rabbet.xyz))
        run = _with_ends(rabbet.xyz, rabbet.use, own, fore=stem, aft=stern[:1], judge=judge)
        return stem, run.xyz, run
    points, use, which = _chain(rabbet, stem)
    at = _knuckle(points)
    if at is not None:
        corner = points[at]
        _say_corner(corner, "at the knuckle of the profile", findings)
        up = fair_run(points[at::-1], use[at::-1], (True, True))
        aft = slice(at + 1, None)
        run = _with_ends(
            points[aft], use[aft], which[aft], fore=points[[at]], aft=stern[:1], judge=judge
        )
        return up.xyz, run.xyz, run
    run = _with_ends(points[1:], use[1:], which[1:], fore=points[:1], aft=stern[:1], judge=judge)
    corner_at = _level_as_steep(run.xyz)
    _say_corner(run.xyz[corner_at], "where the sweep is as steep as it is level", findings)
    return run.xyz[corner_at::-1], run.xyz[corner_at:], run


def _chain(rabbet: EdgeStations, stem: Floats) -> tuple[Floats, Floats, NDArray[np.intp]]:
    """Stem and rabbet as one run from the stem head aft, with the stations they came from."""
    points = np.concatenate([stem[::-1], rabbet.xyz])
    use = np.concatenate([np.ones((len(stem), 2)), rabbet.use])
    which = np.concatenate([np.full(len(stem), -1), np.arange(len(rabbet.xyz))])
    order = np.argsort(points[:, 0] - points[:, 2], kind="stable")
    points, use, which = points[order], use[order], which[order]
    apart = np.concatenate([[True], np.linalg.norm(np.diff(points, axis=0), axis=1) > 1.0])
    return points[apart], use[apart], which[apart]


def _knuckle(points: Floats) -> int | None:
    """Find a sharp turn of the profile, far sharper than those beside it."""
    step = np.diff(points[:, [0, 2]], axis=0)
    turn = np.abs(np.diff(np.unwrap(np.arctan2(step[:, 1], step[:, 0]))))
    at = int(np.argmax(turn))
    beside = turn[max(at - 1, 0) : at].sum() + turn[at + 1 : at + 2].sum()
    sharp = turn[at] > _KNUCKLE and turn[at] > 1.5 * beside
    plain = turn[at] > _KNUCKLE / 4 and turn[at] > 2.5 * beside
    return at + 1 if sharp or plain else None


def _level_as_steep(xyz: Floats) -> int:
    step = np.diff(xyz, axis=0)
    level = np.flatnonzero(step[:, 0] > -step[:, 2])
    return int(level[0]) if len(level) else len(xyz) // 2


def _say_corner(corner: Floats, why: str, findings: list[Finding]) -> None:
    findings.append(
        Finding(
            "H012", Severity.NOTE, "hull", "forefoot",
            f"the corner between stem and keel rabbet is taken at position {corner[0]:.0f} mm,"
            f" height {corner[2]:.0f} mm", why,
        )
    )  # fmt: skip


def _joined_ends(line: Floats, first: Floats, last: Floats) -> Floats:
    """Shift a line, growing along it, so that it meets its corners exactly."""
    t = (along(line) / along(line)[-1])[:, None]
    return np.asarray(line + (1 - t) * (first - line[0]) + t * (last - line[-1]), float)
