"""Cutting a placed scan at the frames: points as if they had been taken with a rule.

*Slab*: the hull's points close to a frame's plane. *Path*: a first run of the section from rabbet
to sheer, by angle about a middle at the height of the sheer. *Local fit*: about each place wanted
on the path, a surface of second order is laid through the slab's points, trusting the many, and
its value in the frame's plane is the point; so the slab's thickness and the hull's slope through
it do no harm, and what touches the hull (the head of a shore) is left out if the hull shows round
it. The rabbet and the sheer run through the shipwright's picks, in x, and are then brought onto
the surface.

Not checked here: that picks are on the rabbet or sheer; that the surface is fair.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from ribband.errors import InputError, Problem
from ribband.findings import Finding, Severity
from ribband.survey.model import FrameMark
from ribband.survey.rows import Form
from ribband.survey.scan_model import Cut, Floats, Placed
from ribband.units import UNITS, counted, format_bare, format_length

__all__ = ["cut_at_frames"]

Side = Literal["port", "starboard"]
Line = Callable[[float], Floats | None]
HEADER = ("frame", "side", "label", "x", "y", "z", "notes")
FEWEST = 14  # points a local fit needs
REACH_MM = 110.0  # of a local fit, along the section and through the slab
HOLE_MM = 60.0  # no point nearer than this: nothing was seen there
END_OFF_MM, SEEN_MM = 100.0, 1_000.0  # of a pick from points seen: doubtful from, looked for to
DOUBT_MM = 12.0  # spread of a local fit, rms, over which its point is marked doubtful


def cut_at_frames(
    placed: Placed,
    frames: Sequence[FrameMark],
    unit: str,
    points: int = 16,
    progress: Callable[[float, str], None] | None = None,
) -> Cut:
    """Cut a placed scan at each frame, both sides, into the form `points` in the job's unit.

    Parameters
    ----------
    points : spaces from rabbet to sheer on each section; one point more, less what was not seen

    Raises
    ------
    InputError : rabbet or sheer have too few picks, or no frame crosses the scan
    """
    _enough_picks(placed)
    tell = progress or (lambda share, words: None)
    scan = _Scan(placed)
    rows: list[tuple[str, ...]] = []
    tally = _Tally()
    for number, mark in enumerate(frames):
        tell(number / max(len(frames), 1), f"cutting at frame {mark.name}")
        for side in scan.sides:
            found, unseen = _section(scan, mark, side, points, tally)
            rows += [_row(mark.name, side, p.label, p.xyz, unit, p.rough) for p in found]
            if unseen:
                tally.unseen[f"frame {mark.name}, {side}"] = unseen
    if not rows:
        raise InputError(
            [Problem("frames", 0, "position", "no frame", "frames that cross the scan")]
        )
    for end in ("stem", "stern"):
        picks = _upward(getattr(placed, end))
        tally.end_off[end] = max((scan.away(pick) for pick in picks), default=0.0)
        rows += [_row("", "", end, pick, unit) for pick in picks]
    form = Form("points", HEADER, tuple(rows), "points.csv", tuple(range(2, len(rows) + 2)))
    return Cut(form, (*placed.findings, *tally.findings(unit, scan.sides)))


def _enough_picks(placed: Placed) -> None:
    problems = [
        Problem("placing", 0, name, f"{len(picks)} picks", "four or more, from bow to stern")
        for name, picks in (("rabbet", placed.rabbet), ("sheer", placed.sheer))
        if len(picks) < 4
    ]
    if problems:
        raise InputError(problems)


@dataclass(eq=False)
class _Tally:
    """What was not seen, what was doubtful, and how closely the picks lay to the surface."""

    unseen: dict[str, int]
    doubtful: int
    outside: list[str]
    pick_off: list[float]
    end_off: dict[str, float]  # of the picks of stem and stern, from the nearest point seen

    def __init__(self) -> None:
        self.unseen, self.doubtful, self.outside, self.pick_off = {}, 0, [], []
        self.end_off = {}

    def findings(self, unit: str, sides: Sequence[str]) -> list[Finding]:
        found = []
        if len(sides) == 1:
            found.append(_finding("S120", Severity.NOTE, "scan", f"only {sides[0]} was seen"))
        for where, count in self.unseen.items():
            says = (
                counted(count, "point was not seen and is", "points were not seen and are")
                + " left out"
            )
            found.append(_finding("S121", Severity.CAUTION, where, says))
        if self.outside:
            says = "not within the picks of rabbet, stem and sheer: not cut"
            found.append(
                _finding("S122", Severity.CAUTION, "frames " + ", ".join(self.outside), says)
            )
        if self.doubtful:
            left = counted(self.doubtful, "point is", "points are")
            says = f"{left} left out where something stands against the hull"
            found.append(_finding("S123", Severity.CAUTION, "scan", says))
        if self.pick_off and max(self.pick_off) > 15.0:
            most = format_length(max(self.pick_off), unit)
            says = f"picks of rabbet or sheer stand up to {most} off the hull's surface"
            found.append(_finding("S124", Severity.CAUTION, "picks", says))
        for end, off in self.end_off.items():
            if off > END_OFF_MM:
                far = f"{'over' if off >= SEEN_MM else 'up to'} {format_length(off, unit)}"
                says = f"picks of the {end} are {far} from any point that was seen"
                found.append(_finding("S124", Severity.CAUTION, f"picks of the {end}", says))
        return found


def _finding(code: str, severity: Severity, where: str, says: str) -> Finding:
    return Finding(code, severity, "survey", where, says)


class _Scan:
    """The placed points by side, in order of x, and the lines through the picks."""

    def __init__(self, placed: Placed) -> None:
        points = placed.points[np.argsort(placed.points[:, 0], kind="stable")]
        self.halves: dict[Side, Floats] = {
            "starboard": points[points[:, 1] > 0], "port": points[points[:, 1] < 0] * (1, -1, 1),
        }  # fmt: skip
        whole = max(len(half) for half in self.halves.values())
        self.sides: list[Side] = [s for s, half in self.halves.items() if len(half) > 0.2 * whole]
        self.rabbet = _through(placed.rabbet, 0)
        self.sheer = _through(placed.sheer, 0)
        self.stem = _through(placed.stem, 0)
        self.stern = _through(placed.stern, 0)

    def slab(self, side: Side, x: float, half: float) -> Floats:
        """Give the points within `half` of the plane x."""
        own = self.halves[side]
        first, last = np.searchsorted(own[:, 0], (x - half, x + half))
        return own[first:last]

    def away(self, pick: Floats) -> float:
        """Give how far the nearest point of either side is from a pick, up to `SEEN_MM`."""
        near = np.concatenate([self.slab(side, float(pick[0]), SEEN_MM) for side in self.halves])
        off = near - np.abs(pick) * (0, 1, 0) - pick * (1, 0, 1)
        return float(min(np.sqrt((off**2).sum(axis=1)).min(initial=SEEN_MM), SEEN_MM))

    def foot(self, x: float) -> tuple[Floats, str] | None:
        """Give where a section starts: on the rabbet, or on the stem or stern before it."""
        for line, label in ((self.rabbet, "rabbet"), (self.stem, ""), (self.stern, "")):
            at = line(x)
            if at is not None:
                return at, label
        return None


def _through(picks: Floats, axis: int) -> Line:
    """Give the smooth line through picks of either side as a function of x; None beyond them."""
    from scipy.interpolate import PchipInterpolator  # noqa: PLC0415 - heavy

    out = np.abs(picks) * (0, 1, 0) + picks * (1, 0, 1)
    out = out[np.argsort(out[:, axis], kind="stable")]
    if len(out) < 2:
        return lambda x: None
    out = out[np.concatenate([[True], np.diff(out[:, axis]) > 1.0])]
    if len(out) < 2:
        return lambda x: None
    low, high = out[0, axis], out[-1, axis]
    if len(out) >= 6:
        from scipy.interpolate import Akima1DInterpolator  # noqa: PLC0415 - heavy

        curve: Any = Akima1DInterpolator(out[:, axis], out)
    else:
        curve = PchipInterpolator(out[:, axis], out)
    return lambda x: np.asarray(curve(x), float) if low <= x <= high else None


@dataclass(frozen=True, slots=True, eq=False)
class _Point:
    """A point of a section: its label, place (3,), and whether it is doubtful."""

    label: str
    xyz: Floats
    rough: bool


def _section(
    scan: _Scan, mark: FrameMark, side: Side, count: int, tally: _Tally
) -> tuple[list[_Point], int]:
    """Give one side's points at a frame, from the rabbet up, and how many were not seen."""
    x = mark.x_mm
    foot, head = scan.foot(x), scan.sheer(x)
    if foot is None or head is None or head[2] - foot[0][2] < 50.0:
        if mark.name not in tally.outside:
            tally.outside.append(mark.name)
        return [], 0
    slab = scan.slab(side, x, REACH_MM)
    fit = _Local(slab, x)
    wanted = _spaced(_path(slab, foot[0], head, x), count)
    rows: list[_Point] = []
    unseen = 0
    for k, (place, way) in enumerate(wanted):
        label = {0: foot[1] or None, len(wanted) - 1: "sheer"}.get(k, "")
        if label is None:  # the section starts on the stem or stern, which has points of its own
            continue
        edge = k in {0, len(wanted) - 1}
        at = fit.point(place, way, edge)
        if not edge and (at is None or at[1]):
            unseen += at is None
            tally.doubtful += at is not None
            continue
        point, rough = at if at is not None else (place, True)
        if edge and at is not None:
            tally.pick_off.append(float(np.linalg.norm(point - place)))
        rows.append(_Point(label, np.array([x, *point]), rough))
    return rows, unseen


def _path(slab: Floats, foot: Floats, head: Floats, x: float) -> Floats:
    """Give a first run of the section (k, 2) in y, z from foot to head, smoothed."""
    middle = np.array([0.0, head[2]])
    close = slab[np.abs(slab[:, 0] - x) < REACH_MM / 2]
    away = close[:, 1:] - middle
    angle = np.arctan2(away[:, 0], -away[:, 1])
    ends = [np.arctan2(p[1] - middle[0], middle[1] - p[2]) for p in (foot, head)]
    inside = (angle > ends[0]) & (angle < ends[1])
    edges = np.linspace(ends[0], ends[1], 41)
    cell = np.clip(np.searchsorted(edges, angle[inside]) - 1, 0, 39)
    radius = np.hypot(*away[inside].T)
    mid, length = (edges[1:] + edges[:-1]) / 2, np.full(40, np.nan)
    for k in range(40):
        own = radius[cell == k]
        if len(own) >= 4:
            length[k] = np.median(own)
    length = _steady(length)
    seen = np.isfinite(length)
    run = middle + np.stack([np.sin(mid[seen]), -np.cos(mid[seen])], 1) * length[seen, None]
    return np.concatenate([[foot[1:]], run, [head[1:]]])


def _steady(length: Floats, half: int = 3) -> Floats:
    """Give the running median of a row with holes (NaN): what is narrow does not lead it astray."""
    padded = np.pad(length, half, constant_values=np.nan)
    window = np.lib.stride_tricks.sliding_window_view(padded, 2 * half + 1)
    steady = np.full_like(length, np.nan)
    known = np.isfinite(length)
    steady[known] = np.nanmedian(window[known], axis=1)
    off = np.abs(steady - length) > 0.04 * steady
    return np.where(off, steady, length)


def _spaced(path: Floats, count: int) -> list[tuple[Floats, Floats]]:
    """Give `count` + 1 places evenly along a path (k, 2), each with the direction along it."""
    run = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(path, axis=0), axis=1))])
    at = np.linspace(0.0, run[-1], count + 1)
    step = 0.06 * run[-1]
    take = [np.stack([np.interp(a, run, c) for c in path.T], 1)
            for a in (at, np.maximum(at - step, 0), np.minimum(at + step, run[-1]))]  # fmt: skip
    way = take[2] - take[1]
    way /= np.linalg.norm(way, axis=1, keepdims=True) + 1e-12
    return list(zip(take[0], way, strict=True))


class _Local:
    """Local fits to one slab."""

    def __init__(self, slab: Floats, x: float) -> None:
        from scipy.spatial import cKDTree  # noqa: PLC0415 - heavy

        self.slab, self.x = slab, x
        self.tree: Any = cKDTree(slab[:, 1:]) if len(slab) else None

    def point(self, place: Floats, way: Floats, edge: bool) -> tuple[Floats, bool] | None:
        """Give the hull's y, z square off `way` from a place, and if it is doubtful; None: unseen.

        At an edge points on one side are enough.
        """
        if self.tree is None:
            return None
        out = np.array([-way[1], way[0]])
        moved = np.asarray(place, float)
        found: tuple[float, float] | None = None
        for _ in range(3):
            near = self.slab[self.tree.query_ball_point(moved, REACH_MM)]
            step = near[:, 1:] - moved
            found = _fitted(step @ way, near[:, 0] - self.x, step @ out, edge)
            if found is None:
                return None
            moved = moved + found[0] * out
            if abs(found[0]) < 0.5:
                break
        return moved, bool(found is not None and found[1] > DOUBT_MM)


def _fitted(along: Floats, through: Floats, off: Floats, edge: bool) -> tuple[float, float] | None:
    """Fit the surface about a place: its height off it, and the spread of the points trusted.

    The points (n,) are given along the section, through the slab and off the path.
    """
    if len(along) < FEWEST:
        return None
    if not edge and (along.min() > -HOLE_MM / 2 or along.max() < HOLE_MM / 2):
        return None
    if np.min(np.hypot(along, through)) > HOLE_MM:
        return None
    t, d = along / REACH_MM, through / REACH_MM
    rows = np.stack([np.ones_like(t), t, d, t * t, t * d, d * d], axis=1)
    if edge:  # what bends beyond an edge is not known: a plane, and the bend along it only
        rows = rows[:, [0, 1, 2, 3]]
    weight = np.exp(-2.0 * (t * t + d * d))
    return _trusted(rows, off, weight)


def _trusted(rows: Floats, off: Floats, weight: Floats) -> tuple[float, float] | None:
    """Least squares that trusts the many: weights fall to nothing at some times the spread."""
    away = np.abs(off - np.median(off))
    trust: Floats = np.where(away < 6.0 * np.median(away) + 5.0, 1.0, 0.0)
    answer: Floats = np.zeros(rows.shape[1])
    size = 0.0
    for _ in range(8):
        root = np.sqrt(weight * trust)
        if np.count_nonzero(root > 1e-3) < FEWEST - 4:
            return None
        found = np.linalg.lstsq(rows * root[:, None], off * root, rcond=None)[0]
        answer = np.asarray(found, float)
        left = off - rows @ answer
        size = 1.4826 * float(_middle(np.abs(left), weight))
        trust = np.asarray(np.maximum(1.0 - (left / (4.5 * size + 1.0)) ** 2, 0.0) ** 2, float)
    return float(answer[0]), size


def _middle(values: Floats, weight: Floats) -> float:
    """Give the weighted median."""
    order: NDArray[np.intp] = np.argsort(values)
    total = np.cumsum(weight[order])
    return float(values[order[np.searchsorted(total, total[-1] / 2)]])


def _upward(picks: Floats) -> Floats:
    return picks[np.argsort(picks[:, 2], kind="stable")] if len(picks) else picks


def _row(  # noqa: PLR0917 - the columns of the form
    frame: str, side: str, label: str, point: Floats, unit: str, doubtful: bool = False
) -> tuple[str, ...]:
    """Write one row as a yard would type it; a doubtful point's y ends with ?."""
    x, y, z = (_typed(float(value), unit) for value in (point[0], abs(point[1]), point[2]))
    return frame, side, label, x, y + ("?" if doubtful else ""), z, ""


def _typed(mm: float, unit: str) -> str:
    """Write a length to the unit's step, or to a tenth of a millimetre in metric jobs.

    >>> _typed(1108.075, "m"), _typed(1108.075, "mm"), _typed(1108.075, "ft-in-8ths")
    ('1.1081', '1108.1', '3-7-5')
    """
    places = {"mm": 1, "cm": 2, "m": 4}
    if unit in places:
        return f"{mm / float(UNITS[unit].mm):.{places[unit]}f}"
    return format_bare(mm, unit)
