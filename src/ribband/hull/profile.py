"""The run of the rabbet seen from the side: down the stem, along the keel, up the sternpost.

*Sharp* end: its points stay near the centreline. Stations whose rabbet lies on the stem or the
post are read into one run with its points, and the corner of the patch is put where that run
has a knuckle; on a smooth sweep, where it is as steep as it is level.
*Blunt* end (a transom): its points stand out from the centreline, and the lowest is the corner.
A station beyond it begins on the end's edge, and its rabbet is a point of that edge.

Not checked: that the end reaches the sheer.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding, Severity
from ribband.hull.fairrun import FairRun, Judge, fair_run
from ribband.hull.model import Floats
from ribband.hull.sections import EdgeStations
from ribband.units import format_length

__all__ = ["Profile", "profile"]

_KNUCKLE = np.radians(40.0)
_SHARP = 0.2  # an end that widens by less than this share of its height is sharp
_ON_MM = 1.0  # a point nearer than this to the one before it says nothing new


@dataclass(frozen=True, eq=False)
class Profile:
    """stem, stern (k, 3) from the keel up, None where not measured; keel (k, 3) fore to aft.

    `runs` are the fair curves with readings of the rabbet in them.
    """

    stem: Floats | None
    keel: Floats
    stern: Floats | None
    runs: tuple[FairRun, ...]
    findings: tuple[Finding, ...]


@dataclass(frozen=True, eq=False)
class _Chain:
    """Points (m, 3) in order, weights (m, 2), and the station of each or -1 for an end's own."""

    points: Floats
    use: Floats
    which: NDArray[np.intp]

    def part(self, rows: slice | NDArray[np.intp]) -> _Chain:
        return _Chain(self.points[rows], self.use[rows], self.which[rows])

    def filled(self) -> _Chain:
        """Put two points between where there are two only: a straight line is then sure."""
        if len(self.points) != 2:
            return self
        share = np.linspace(0, 1, 4)[:, None]
        points = (1 - share) * self.points[0] + share * self.points[1]
        which = np.array([self.which[0], -1, -1, self.which[1]], np.intp)
        return _Chain(points, np.ones((4, 2)), which)

    def held_at(self, *rows: int) -> _Chain:
        """Take the points at `rows` as they stand, beyond doubt."""
        use, which = self.use.copy(), self.which.copy()
        for row in rows:
            use[row], which[row] = 1.0, -1
        return _Chain(self.points, use, which)

    def faired(self, held: tuple[bool, bool], judge: Judge | None) -> FairRun:
        rows = [k for k, hold in zip((0, -1), held, strict=True) if hold]
        chain = self.held_at(*rows).filled()
        return fair_run(chain.points, chain.use, held, chain.which, judge)


def profile(
    rabbet: EdgeStations, stem: Floats, stern: Floats, judge: Judge | None, unit: str
) -> Profile:
    """Part the profile into stem, keel and stern; ends (k, 3) from the keel up, or empty."""
    middle = _Chain(rabbet.xyz, rabbet.use, np.arange(len(rabbet.xyz)))
    sharp = [bool(len(end)) and _is_sharp(end) for end in (stem, stern)]
    edges: list[Floats | None] = [None, None]
    runs: list[FairRun] = []
    for k, (end, side) in enumerate(((stem, -1.0), (stern, 1.0))):
        if len(end) and not sharp[k]:
            middle, edge = _blunt(middle, end, side)
            runs.append(edge.faired((True, True), judge))
            edges[k] = runs[-1].xyz
    chain, halves = _chained(middle, stem, stern, sharp)
    known = (len(stem) > 0, len(stern) > 0)
    knees = [
        _knuckle(chain, half) if is_sharp else None
        for half, is_sharp in zip(halves, sharp, strict=True)
    ]
    keel_run, up = _parted(chain, knees, known, judge)
    keel = keel_run.xyz
    for k, run in enumerate(up):
        if run is not None:
            edges[k] = run.xyz
        elif sharp[k]:
            edges[k], keel = _swept(keel, k)
    findings = [
        _corner(keel[-k], ("stem", "stern")[k], unit, smooth=knees[k] is None)
        for k in (0, 1)
        if sharp[k]
    ]
    runs = [keel_run, *runs, *(run for run in up if run is not None)]
    return Profile(edges[0], keel, edges[1], tuple(runs), tuple(findings))


def _parted(
    chain: _Chain, knees: list[int | None], known: tuple[bool, bool], judge: Judge | None
) -> tuple[FairRun, list[FairRun | None]]:
    """Fair the keel between the knuckles, and what runs up from each knuckle by itself."""
    last = len(chain.points) - 1
    lo, hi = (end if at is None else at for at, end in zip(knees, (0, last), strict=True))
    held = [end or at is not None for end, at in zip(known, knees, strict=True)]
    keel = chain.part(slice(lo, hi + 1)).faired((held[0], held[1]), judge)
    rows = (np.arange(lo, -1, -1), np.arange(hi, last + 1))
    up = [
        None if at is None else chain.part(part).faired((True, True), judge)
        for at, part in zip(knees, rows, strict=True)
    ]
    return keel, up


def _swept(keel: Floats, end: int) -> tuple[Floats, Floats]:
    """Part a smooth sweep where it is as steep as it is level: the end from the keel up; the keel.

    `end` is 0 for the stem, 1 for the stern.
    """
    if end == 0:
        at = _level_as_steep(keel)
        return keel[at::-1], keel[at:]
    at = len(keel) - 1 - _level_as_steep(keel[::-1] * (-1.0, 1.0, 1.0))
    return keel[at:], keel[: at + 1]


def _is_sharp(end: Floats) -> bool:
    return bool(np.ptp(end[:, 1]) <= _SHARP * np.ptp(end[:, 2]))


def _blunt(chain: _Chain, end: Floats, side: float) -> tuple[_Chain, _Chain]:
    """Part the stations that begin on a blunt end's edge from the rest; give both chains.

    The rest ends in the lowest point of the end.
    """
    beyond = side * (chain.points[:, 0] - end[0, 0]) > _ON_MM
    on, rest = np.flatnonzero(beyond), np.flatnonzero(~beyond)
    edge = _joined(_own(end), chain.part(on))
    up = np.argsort(edge.points[:, 1] + edge.points[:, 2], kind="stable")
    pieces = (chain.part(rest), _own(end[:1]))
    middle = _joined(*(pieces if side > 0 else pieces[::-1]))
    return middle, _apart(edge.part(up))


def _chained(
    middle: _Chain, stem: Floats, stern: Floats, sharp: list[bool]
) -> tuple[_Chain, tuple[slice, slice]]:
    """Join sharp ends to the keel in one run from stem head to stern head; also its halves."""
    half_way = (middle.points[0, 0] + middle.points[-1, 0]) / 2
    halves = []
    for is_fore, end, is_sharp in ((True, stem, sharp[0]), (False, stern, sharp[1])):
        rows = np.flatnonzero((middle.points[:, 0] < half_way) == is_fore)
        half = middle.part(rows)
        if is_sharp:
            half = _joined(half, _own(end))
            rise = -half.points[:, 2] if is_fore else half.points[:, 2]
            half = half.part(np.argsort(half.points[:, 0] + rise, kind="stable"))
        halves.append(half)
    fore = _apart(halves[0])
    chain = _joined(fore, _apart(halves[1]))
    count = len(fore.points)
    return chain, (slice(0, count + 1), slice(max(count - 1, 0), None))


def _own(points: Floats) -> _Chain:
    return _Chain(points, np.ones((len(points), 2)), np.full(len(points), -1, np.intp))


def _joined(*chains: _Chain) -> _Chain:
    return _Chain(
        np.concatenate([c.points for c in chains]),
        np.concatenate([c.use for c in chains]),
        np.concatenate([c.which for c in chains]),
    )


def _apart(chain: _Chain) -> _Chain:
    """Leave out points that fall on the one before them; the ends' own stand."""
    step = np.linalg.norm(np.diff(chain.points, axis=0), axis=1)
    lone = np.concatenate([[True], step > _ON_MM])
    lone[[0, -1]] = True
    if len(step) and step[-1] <= _ON_MM:
        lone[-2] = len(step) == 1
    return chain.part(np.flatnonzero(lone))


def _knuckle(chain: _Chain, rows: slice) -> int | None:
    """Find a sharp turn of the profile in one half, far sharper than those beside it."""
    points = chain.points[rows]
    if len(points) < 3:
        return None
    step = np.diff(points[:, [0, 2]], axis=0)
    turn = np.abs(np.diff(np.unwrap(np.arctan2(step[:, 1], step[:, 0]))))
    at = int(np.argmax(turn))
    beside = turn[max(at - 1, 0) : at].sum() + turn[at + 1 : at + 2].sum()
    sharp = turn[at] > _KNUCKLE and turn[at] > 1.5 * beside
    plain = turn[at] > _KNUCKLE / 4 and turn[at] > 2.5 * beside
    return rows.start + at + 1 if sharp or plain else None


def _level_as_steep(xyz: Floats) -> int:
    step = np.diff(xyz, axis=0)
    level = np.flatnonzero(step[:, 0] > -step[:, 2])
    return int(level[0]) if len(level) else len(xyz) // 2


def _corner(corner: Floats, end: str, unit: str, *, smooth: bool) -> Finding:
    place, height = (format_length(float(a), unit) for a in (corner[0], corner[2]))
    why = (
        "where the sweep is as steep as it is level" if smooth else "at the knuckle of the profile"
    )
    return Finding(
        "H012", Severity.NOTE, "hull", "forefoot" if end == "stem" else "heel",
        f"the corner between {end} and keel rabbet is taken at position {place}, height {height}",
        why,
    )  # fmt: skip
