"""The run of the rabbet seen from the side: down the stem, along the keel, up the sternpost.

*Sharp* end: its points stay near the centreline. Stations whose rabbet lies on the stem or the
post are read into one run with its points. The corner of the patch is the point given as forefoot
or heel; where none was given, the run's knuckle (`ribband.hull.knuckle`), at a measured point or
between two; on a smooth sweep, where it is as steep as it is level, or where the end's own points
begin if it rakes so far that it is nowhere so steep.
*Blunt* end (a transom): its points stand out from the centreline, and the lowest is the corner.
A station beyond it begins on the end's edge, and its rabbet is a point of that edge.

Not checked: that the end reaches the sheer.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding, Severity
from ribband.hull.fairrun import FairRun, Judge, fair_run
from ribband.hull.knuckle import Turn, turns
from ribband.hull.model import Floats
from ribband.hull.sections import EdgeStations
from ribband.units import format_length, format_small

__all__ = ["Profile", "profile"]

_SHARP = 0.2  # an end that widens by less than this share of its height is sharp
_ON_MM = 1.0  # a point nearer than this to the one before it says nothing new
_DOUBT = 5.0  # times the tolerance: a corner surer than this is not called doubtful
_ASTRAY = 10.0  # times the tolerance: so far from its end's foot a corner leads stations astray
_CLOSE_MM = 1.0  # tolerance where nothing is judged


@dataclass(frozen=True, eq=False)
class Profile:
    """stem, stern (k, 3) from the keel up, None where not measured; keel (k, 3) fore to aft.

    `runs` are the fair curves with readings of the rabbet in them; `astray` are the positions from
    and to which a corner is so doubtful that readings beside it may lie out for its sake.
    """

    stem: Floats | None
    keel: Floats
    stern: Floats | None
    runs: tuple[FairRun, ...]
    findings: tuple[Finding, ...]
    astray: tuple[tuple[float, float], ...] = ()


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

    def with_point(self, before: int, x: float, z: float) -> _Chain:
        """Put a point after row `before`, its half-breadth as far between its neighbours'."""
        fore, aft = self.points[before], self.points[before + 1]
        away = [float(np.hypot(x - p[0], z - p[2])) for p in (fore, aft)]
        y = (fore[1] * away[1] + aft[1] * away[0]) / max(sum(away), 1e-9)
        one = _own(np.array([[x, y, z]]))
        return _joined(self.part(slice(0, before + 1)), one, self.part(slice(before + 1, None)))

    def faired(self, held: tuple[bool, bool], judge: Judge | None) -> FairRun:
        rows = [k for k, hold in zip((0, -1), held, strict=True) if hold]
        chain = self.held_at(*rows).filled()
        return fair_run(chain.points, chain.use, held, chain.which, judge)


@dataclass(frozen=True, eq=False)
class _Seen:
    """What was seen of a corner: the turn, and the points (3,) between which it is; or given.

    foot : (3,) the lowest point measured of stem or post, if it is one of these two
    """

    turn: Turn | None = None
    fore: Floats = field(default_factory=lambda: np.zeros(3))
    aft: Floats = field(default_factory=lambda: np.zeros(3))
    foot: Floats | None = None
    given: bool = False
    raking: bool = False  # a sweep that is nowhere as steep as it is level

    def doubt_mm(self, corner: Floats) -> float:
        """Give how doubtful the corner (3,) is.

        One taken between two points may as well be at the foot of the end, if that is one of
        them, and the keel fall from there in a curve of which nothing was measured.
        """
        if self.turn is None:
            return 0.0
        between = self.turn.corner is not None and self.turn.before != self.turn.after
        foot = self.foot_mm(corner) if between else 0.0
        return max(self.turn.doubt_mm, self.turn.out_mm if not between else 0.0, foot)

    def foot_mm(self, corner: Floats) -> float:
        """Give how far the foot of the end lies from the corner (3,) taken; 0 where it has none."""
        return 0.0 if self.foot is None else float(np.hypot(*(corner - self.foot)[[0, 2]]))

    @property
    def why(self) -> str:
        """Say why the corner is where it is."""
        if self.given:
            return "as it was given"
        if self.raking:
            return "at the lowest point of the end, which is nowhere as steep as it is level"
        if self.turn is None or self.turn.corner is None:
            return "where the sweep is as steep as it is level"
        if self.turn.before == self.turn.after:
            return "at the knuckle of the profile"
        return "where the rabbets of end and keel, run on from the points measured, cross"


def profile(
    rabbet: EdgeStations,
    stem: Floats,
    stern: Floats,
    judge: Judge | None,
    unit: str,
    *,
    corners: tuple[Floats | None, Floats | None] = (None, None),
) -> Profile:
    """Part the profile into stem, keel and stern; ends (k, 3) from the keel up, or empty.

    corners : (3,) the forefoot and the heel where they were given, points of stem and stern
    """
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
    close = judge.least_mm if judge else _CLOSE_MM
    chain, knees, seen = _with_knees(chain, halves, sharp, corners, close)
    keel_run, up = _parted(chain, knees, known, judge)
    keel = keel_run.xyz
    for k, run in enumerate(up):
        if run is not None:
            edges[k] = run.xyz
        elif sharp[k]:
            seen[k], at = _on_sweep(keel, k, (stem, stern)[k], seen[k])
            edges[k], keel = _swept(keel, k, at)
    findings, astray = _doubts(keel, seen, sharp, close, unit)
    runs = [keel_run, *runs, *(run for run in up if run is not None)]
    return Profile(edges[0], keel, edges[1], tuple(runs), findings, astray)


def _doubts(
    keel: Floats, seen: list[_Seen], sharp: list[bool], close: float, unit: str
) -> tuple[tuple[Finding, ...], tuple[tuple[float, float], ...]]:
    """Say where the corners were taken, and from and to where one leads its fellows astray."""
    own = [k for k in (0, 1) if sharp[k]]
    findings = [f for k in own for f in _corner(keel[-k], k, seen[k], _DOUBT * close, unit)]
    astray = [
        (float(seen[k].fore[0]), float(seen[k].aft[0]))
        for k in own
        if seen[k].foot_mm(keel[-k]) > _ASTRAY * close
    ]
    return tuple(findings), tuple(astray)


def _with_knees(
    chain: _Chain,
    halves: tuple[slice, slice],
    sharp: list[bool],
    corners: tuple[Floats | None, Floats | None],
    close: float,
) -> tuple[_Chain, list[int | None], list[_Seen]]:
    """Find the corner in each half; give the chain with it as a point, its rows, what was seen."""
    knees: list[int | None] = [None, None]
    seen = [_Seen(), _Seen()]
    for k in (1, 0):  # the stern first: a point put in moves the rows after it
        if not sharp[k]:
            continue
        given = corners[k]
        if given is not None:
            knees[k] = int(np.argmin(np.linalg.norm(chain.points - given, axis=1)))
            seen[k] = _Seen(given=True)
            continue
        rows = np.arange(len(chain.points))[halves[k]]
        rows = rows[np.all(chain.use[rows] > 0, axis=1)]
        own = np.flatnonzero(chain.which[rows] < 0)
        foot = int(own[-1 if k == 0 else 0]) if len(own) else -1
        turn = turns(chain.points[rows][:, [0, 2]], close, foot)
        if turn is None:
            continue
        before, after = int(rows[turn.before]), int(rows[turn.after])
        seen[k] = _Seen(turn, *_reach(chain, rows, turn), _foot(chain, rows, turn, foot))
        if turn.corner and after > before:
            chain = chain.with_point(before, *turn.corner)
            knees[k] = before + 1
            if k == 0 and knees[1] is not None:
                knees[1] += 1
        elif turn.corner:
            knees[k] = before
    return chain, knees, seen


def _reach(chain: _Chain, rows: NDArray[np.intp], turn: Turn) -> tuple[Floats, Floats]:
    """Give the measured points between which the rabbet turns."""
    inner = turn.before == turn.after
    ends = (turn.before - inner, turn.after + inner)
    fore, aft = (int(rows[np.clip(end, 0, len(rows) - 1)]) for end in ends)
    return chain.points[fore], chain.points[aft]


def _foot(chain: _Chain, rows: NDArray[np.intp], turn: Turn, foot: int) -> Floats | None:
    """Give the lowest point of the end (3,), where the turn is next to it and not at it."""
    beside = foot >= 0 and turn.before - 1 <= foot <= turn.after + 1
    at_it = turn.corner is not None and turn.before == turn.after == foot
    return chain.points[rows[foot]] if beside and not at_it else None


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


def _on_sweep(keel: Floats, which: int, end: Floats, seen: _Seen) -> tuple[_Seen, int]:
    """Give the row of a smooth sweep at which it is parted, and why there."""
    at = _level_as_steep(keel, which)
    if at is not None:
        return seen, at
    return replace(seen, raking=True), _nearest(keel, end[0])


def _swept(keel: Floats, end: int, at: int) -> tuple[Floats, Floats]:
    """Part a smooth sweep at row `at`: the end from the keel up, and the keel.

    `end` is 0 for the stem, 1 for the stern.
    """
    return (keel[at::-1], keel[at:]) if end == 0 else (keel[at:], keel[: at + 1])


def _nearest(line: Floats, point: Floats) -> int:
    """Give the row of a line nearest to a point, but not its first or last."""
    return 1 + int(np.argmin(np.linalg.norm(line[1:-1] - point, axis=1)))


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


def _level_as_steep(keel: Floats, end: int) -> int | None:
    """Give the row where the run, from an end on, is first as level as it is steep.

    None where it is so from the very end, or nowhere.
    """
    step = np.diff(keel, axis=0) if end == 0 else np.diff(keel[::-1], axis=0) * (-1.0, 1.0, 1.0)
    level = np.flatnonzero(step[:, 0] > -step[:, 2])
    if not len(level) or level[0] == 0:
        return None
    return int(level[0]) if end == 0 else len(keel) - 1 - int(level[0])


def _corner(corner: Floats, end: int, seen: _Seen, doubt: float, unit: str) -> Iterator[Finding]:
    """Say where the corner was taken and why, and how doubtful it is."""
    name, foot = (("stem", "forefoot"), ("stern", "heel"))[end]
    place, height = (format_length(float(a), unit) for a in (corner[0], corner[2]))
    says = (
        f"the corner between {name} and keel rabbet is taken at position {place}, height {height}"
    )
    yield Finding("H012", Severity.NOTE, "hull", foot, says, seen.why)
    turn = seen.turn
    if turn is None or not (turn.rival or max(seen.doubt_mm(corner), turn.out_mm) > doubt):
        return
    between = " and ".join(format_length(float(p[0]), unit) for p in (seen.fore, seen.aft))
    says = _doubtful(seen, corner, name, ("fore", "after")[end], unit)
    why = (
        f"measure the rabbet at closer points between positions {between}, or give its corner as"
        f" {foot} in the form ends"
    )
    yield Finding("H021", Severity.CAUTION, "hull", foot, says, why)


def _doubtful(seen: _Seen, corner: Floats, name: str, which: str, unit: str) -> str:
    """Say what is doubtful of a turn; `which` end of the garboard hangs on it."""
    turn = seen.turn
    if turn is None:
        return ""
    angle = f"the rabbet turns {np.degrees(turn.turn_rad):.0f}° here"
    doubt, foot = seen.doubt_mm(corner), seen.foot_mm(corner)
    if turn.corner and doubt > 0:
        lowest = f", at the lowest point of the {name} that was measured" if doubt == foot else ""
        return (
            f"{angle} between points too far apart to say just where: its corner may lie up to"
            f" {format_small(doubt, unit)} from where it is taken{lowest}, and with it the {which}"
            " end of the garboard"
        )
    off = format_small(turn.out_mm, unit)
    or_foot = ""
    if foot > turn.out_mm:
        or_foot = (
            f", and {format_small(foot, unit)} out if the corner is at the lowest point of the"
            f" {name} that was measured"
        )
    if turn.rival:
        at = "position {}, height {}".format(*(format_length(c, unit) for c in turn.rival))
        return (
            f"{angle}: a corner at {at} would suit the points somewhat better than the sweep that"
            f" is drawn, not so much better that it can be told; the {which} end of the garboard"
            " would be there"
        )
    return (
        f"{angle}: each point about it lies some {off} off a fair line through the others, so that"
        f" between them it may run otherwise; the {which} end of the garboard is as doubtful"
        f"{or_foot}"
    )
