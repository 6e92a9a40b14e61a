"""Every plank as a body in space, as it lies on the frames.

*Inner face*: on the frames, between the plank's two seams. *Outer face*: the inner one moved out
square to the surface by the dressed thickness, so that the edges of two neighbours touch over
their whole depth. *Station*: a line across the plank from seam to seam; square to the plank's
middle and so at its butts, along the rabbet at a hood end (along the last frame where she was not
measured as far) and along the hull's own line at a nib and its notch, easing from one to the other
within two widths. *Middle*: the line half way, by girth fraction, between the two seams.

*Scarf*: both planks have the same stations over the whole of it, half on either side of the
landing, and between them one face, from the inner side of the planking to the outer. The fore
plank ends on its outer face in a feather edge, the plank behind it begins on its inner face, as
they are cut (`ribband.planks`). Nibbed, both ends are left so thick and square, and the other plank
has a step of that depth. The two bodies share that face, facet by facet.

The axes are the hull's, made right-handed by taking starboard as positive: x aft, y to starboard,
z up; millimetres.

Not checked here: that the lining and the butts are good; caulking seams and rabbets are not cut.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from itertools import groupby

import numpy as np
from numpy.typing import NDArray

from ribband.butts.model import Ways
from ribband.errors import InputError, Problem
from ribband.hull.model import Floats, Hull, Surface
from ribband.lining.curves import SeamCurves, curves_of
from ribband.lining.model import Lining
from ribband.planks.model import Plank, PlankList

__all__ = ["Body", "bodies", "net"]

Ints = NDArray[np.int64]
STATION_MM = 125.0
FEWEST, FINE = 7, 601
_TURNED = (0, 3, 2, 1)  # seen from the other side, split on the same diagonal
_TURNED_THREE = (1, 0, 2, 3)
AT_END_MM = 1e-3  # a plank that ends nearer to its strake's end ends there
NOTCH_MM = 0.02  # half the length in which a notch steps
FEATHER = 1e-6  # of the thickness, which counts as none


@dataclass(frozen=True, slots=True, eq=False)
class Body:
    """A closed body of flat facets.

    name, side, strake : as in the plank list ("P7-2", "port", "7")
    points : (n, 3) mm; quads : (q, 4) their corners, anticlockwise seen from outside; where a
        facet has three its last corner stands twice
    """

    name: str
    side: str
    strake: str
    thickness_mm: float
    points: Floats
    quads: Ints

    @property
    def triangles(self) -> Ints:
        """Give the facets as triangles (t, 3)."""
        a, b, c, d = self.quads.T
        four = c != d
        return np.concatenate([np.stack([a, b, c], 1), np.stack([a, c, d], 1)[four]])


def bodies(
    hull: Hull,
    lining: Lining,
    ways: Ways,
    planks: PlankList,
    *,
    across: int = 4,
    station_mm: float = STATION_MM,
    nib_part: float = 0.0,
) -> tuple[Body, ...]:
    """Make a body of every plank of the list, in its order.

    Parameters
    ----------
    across : facets across a plank's face
    station_mm : greatest distance between stations
    nib_part : how much a scarf's ends are left thick, of the thickness (`ShapeRules`)

    Raises
    ------
    InputError : only girths are known, or the planking has no thickness
    """
    surface = _surface(hull, planks)
    curves = curves_of(surface, lining)
    places = {name: row for row, name in enumerate(ways.strakes)}
    rows = {strake.name: row for row, strake in enumerate(lining.strakes)}
    made: dict[tuple[object, ...], _Face] = {}
    found = []
    for strake, group in groupby(planks.planks, key=lambda p: p.strake):
        run = _run(surface, curves, hull, lining, rows[strake])
        for plank in group:
            cut = _cuts(plank, ways, places[strake])
            key = (strake, *(f"{c:.3f}" for c in cut), plank.fore_scarf_mm, plank.aft_scarf_mm)
            if key not in made:
                made[key] = _face(surface, run, plank, cut, _Fine(across, station_mm, nib_part))
            found.append(_body(plank, made[key]))
    return tuple(found)


@dataclass(frozen=True, eq=False)
class _Face:
    """A plank's stations: points and normals (n, m, 3) on the frames, and what stands on them.

    low, high : (n,) how far out the body's inner and outer faces lie there, of the thickness
    """

    inner: Floats
    normal: Floats
    low: Floats
    high: Floats


def _face(
    surface: Surface, run: _Run, plank: Plank, cut: tuple[float, float], fine: _Fine
) -> _Face:
    """Lay a plank's stations, and taper its scarfs: aft from within, forward from without."""
    arc = _stations(run, cut, plank, fine.station_mm, fine.nib)
    u, v = _grid(surface, run, plank, arc, fine)
    start, end = np.interp(cut, *run.along_of)
    high = _taper(arc - start, plank.fore_scarf_mm, fine.nib) if plank.fore_scarf_mm else 1.0
    low = _taper(arc - end, plank.aft_scarf_mm, fine.nib) if plank.aft_scarf_mm else 0.0
    point, normal = surface.point(u, v), surface.normal(u, v)
    return _Face(point, normal, low + np.zeros(len(arc)), high + np.zeros(len(arc)))


def _taper(beyond: Floats, long_mm: float, nib: float) -> Floats:
    """Give how far out a scarf's face lies, of the thickness, so far aft of its landing (n,) mm.

    From the nib's thickness at its fore end to as much less than the whole at its after end, where
    it steps to the whole; forward of it, to nothing.
    """
    half = long_mm / 2
    inside = nib + (1.0 - 2.0 * nib) * np.clip(beyond / long_mm + 0.5, 0.0, 1.0)
    aft, fore = (np.clip((far - half) / NOTCH_MM, 0.0, 1.0) for far in (beyond, -beyond))
    return np.asarray(inside + nib * (aft - fore), float)


def _surface(hull: Hull, planks: PlankList) -> Surface:
    problems = []
    if hull.surface is None:
        wanted = "points or offsets; with girths alone there is no shape in space"
        problems.append(Problem("girths", 0, "", "girths only", wanted))
    if any(p.dressed_mm <= 0 for p in planks.planks):
        wanted = "the planking's thickness, to give the planks a body"
        problems.append(Problem("vessel", 0, "planking", "", wanted, "38"))
    if hull.surface is None or problems:
        raise InputError(problems)
    return hull.surface


def _cuts(plank: Plank, ways: Ways, place: int) -> tuple[float, float]:
    """Give the distances along the strake at which a plank begins and ends."""
    end = float(ways.length_mm[place])
    fore = _landing(plank.fore, plank.fore_landing, ways, place, 0.0)
    aft = _landing(plank.aft, plank.aft_landing, ways, place, end)
    return fore, aft


def _landing(at: str, landing: str, ways: Ways, place: int, end: float) -> float:
    if landing not in {"frame", "block"} or at not in ways.frames:
        return end
    along = float(ways.along_mm[place, 2 * ways.frames.index(at) + (landing == "block")])
    return along if np.isfinite(along) else end


@dataclass(frozen=True, eq=False)
class _Run:
    """A strake on the surface.

    lower : stretches of its lower edge (u from, u to, seam); upper : the seam of its upper edge
    u, arc : its middle, finely; along_of : the lining's distances along it, and ours
    """

    curves: SeamCurves
    lower: tuple[tuple[float, float, int], ...]
    upper: int
    u: Floats
    arc: Floats
    along_of: tuple[Floats, Floats]

    def edges(self, u: Floats, beside: Floats) -> tuple[Floats, Floats]:
        """Give the girth fractions of the lower and upper edge at u.

        `beside` says which side of a notch each place is on; it has the shape of u.
        """
        low = np.empty_like(u)
        for start, end, seam in self.lower:
            here = (beside >= start) & (beside < end)
            low[here] = self._seam(seam, u[here])
        return low, np.maximum(self._seam(self.upper, u), low)

    def _seam(self, seam: int, u: Floats) -> Floats:
        return self.curves.at(np.full(u.shape, seam), u)

    def middle(self, surface: Surface, u: Floats, beside: Floats) -> Floats:
        """Give points (n, 3) of the strake's middle."""
        low, high = self.edges(u, beside)
        return surface.point(u, (low + high) / 2)

    def notches(self) -> Floats:
        """Give u where the lower edge steps, at the nib of a stealer below."""
        return np.array([end for _, end, *_ in self.lower[:-1]])


def _reach(hull: Hull, lining: Lining, row: int) -> tuple[float, float]:
    """Give u at the two ends of a strake."""
    strake = lining.strakes[row]
    ends = []
    for at, end in ((strake.first, 0.0), (strake.last, 1.0)):
        inner = strake.stealer and at not in {"stem", "stern"}
        ends.append(_u_at(hull, lining, row, at) if inner else end)
    return ends[0], ends[1]


def _u_at(hull: Hull, lining: Lining, row: int, frame: str) -> float:
    """Give u where the middle of a strake crosses a frame, by the girth it was set off at."""
    column = lining.columns.index(frame)
    girth = (lining.lower_girth_mm[row, column] + lining.upper_girth_mm[row, column]) / 2
    cut = hull.frames.names.index(frame)
    part = np.linspace(0.0, hull.frames.girth_mm[cut], hull.frames.u.shape[1])
    return float(np.interp(girth, part, hull.frames.u[cut]))


def _lower(hull: Hull, lining: Lining, row: int) -> tuple[tuple[float, float, int], ...]:
    """Give the stretches of a strake's lower edge: a stealer below is there on its own only."""
    below = row
    while below > 0 and lining.strakes[below - 1].stealer:
        below -= 1
    if below == row:
        return ((-np.inf, np.inf, row),)
    start, end = _reach(hull, lining, row - 1)
    parts = (-np.inf, start, below), (start, end, row), (end, np.inf, below)
    return tuple(p for p in parts if p[1] > 0.0 and p[0] < 1.0)


def _run(surface: Surface, curves: SeamCurves, hull: Hull, lining: Lining, row: int) -> _Run:
    lower = _lower(hull, lining, row)
    u = np.linspace(*_reach(hull, lining, row), FINE)
    bare = _Run(curves, lower, row + 1, u, u, (u, u))
    middle = bare.middle(surface, u, u)
    arc = np.concatenate([[0.0], np.cumsum(np.linalg.norm(np.diff(middle, axis=0), axis=1))])
    return _Run(curves, lower, row + 1, u, arc, _beside(hull, lining, row, middle[:, 0], arc))


def _beside(hull: Hull, lining: Lining, row: int, x: Floats, arc: Floats) -> tuple[Floats, Floats]:
    """Give the lining's distances along the strake at its columns, and ours at the same frames."""
    along = lining.along_mm[row]
    at = np.full(len(along), np.nan)
    at[0], at[-1] = 0.0, arc[-1]
    at[1:-1] = np.interp(hull.frames.x_mm, np.maximum.accumulate(x), arc)
    known = np.isfinite(along)
    ours, theirs = at[known], along[known]
    if lining.strakes[row].stealer:
        ours[0], ours[-1] = 0.0, arc[-1]
    order = np.argsort(theirs, kind="stable")
    return theirs[order], np.maximum.accumulate(ours[order])


@dataclass(frozen=True, slots=True)
class _Fine:
    """How finely a body is made: facets across, mm between stations; and nibs, of the thickness."""

    across: int
    station_mm: float
    nib: float


def _grid(
    surface: Surface, run: _Run, plank: Plank, arc: Floats, fine: _Fine
) -> tuple[Floats, Floats]:
    """Give u and v (n, across + 1) of a plank's stations at `arc` (n,)."""
    at = np.interp(arc, run.arc, run.u)
    part = np.linspace(0.0, 1.0, fine.across + 1)
    beside = np.repeat(at[:, None], len(part), axis=1)
    point = run.middle(surface, at, at)
    along, rate = _way(surface, run, at)
    rate = rate * _ease(surface, run, plank, arc, at)
    u = beside.copy()
    for _ in range(4):
        off = np.einsum(
            "nmx,nx->nm", _points(surface, run, u, beside, part) - point[:, None], along
        )
        u = np.clip(u - off * rate[:, None], run.u[0], run.u[-1])
    low, high = run.edges(u, beside)
    return u, low + part * (high - low)


def _points(surface: Surface, run: _Run, u: Floats, beside: Floats, part: Floats) -> Floats:
    low, high = run.edges(u, beside)
    return surface.point(u, low + part * (high - low))


def _way(surface: Surface, run: _Run, at: Floats, step: float = 1e-3) -> tuple[Floats, Floats]:
    """Give the unit tangent (n, 3) of the middle, and u gained for a mm along it (n,)."""
    ahead, behind = np.minimum(at + step, 1.0), np.maximum(at - step, 0.0)
    chord = run.middle(surface, ahead, at) - run.middle(surface, behind, at)
    length = np.linalg.norm(chord, axis=1)
    return chord / length[:, None], (ahead - behind) / length


def _ease(surface: Surface, run: _Run, plank: Plank, arc: Floats, at: Floats) -> Floats:
    """Give 1 where a station is square to the plank, less towards a hood end, nib or notch."""
    low, high = run.edges(at, at)
    width = np.linalg.norm(surface.point(at, high) - surface.point(at, low), axis=1)
    ends = ((plank.fore_landing, arc[0], run.arc[0]), (plank.aft_landing, arc[-1], run.arc[-1]))
    held = [
        end
        for landing, end, last in ends
        if landing not in {"frame", "block"} or abs(end - last) < AT_END_MM
    ]
    ease = np.ones_like(arc)
    for place in (*held, *np.interp(run.notches(), run.u, run.arc)):
        ease *= np.clip(np.abs(arc - place) / (2.0 * np.maximum(width, 1.0)), 0.0, 1.0)
    return ease


def _stations(
    run: _Run, cut: tuple[float, float], plank: Plank, station_mm: float, nib: float
) -> Floats:
    """Give distances along our middle: evenly from cut to cut, and two close at each notch.

    Over a scarf they stand evenly by themselves, so that the plank beyond has the same.
    """
    start, end = np.interp(cut, *run.along_of)
    half = plank.fore_scarf_mm / 2, plank.aft_scarf_mm / 2
    parts = [_even(start + half[0], end - half[1], station_mm, FEWEST)]
    if half[0]:
        parts.insert(0, _even(start - half[0], start + half[0], station_mm))
    if half[1]:
        parts.append(_even(end - half[1], end + half[1], station_mm))
    if nib and half[0]:
        parts.append(np.array([start + half[0] + NOTCH_MM]))
    if nib and half[1]:
        parts.append(np.array([end - half[1] - NOTCH_MM]))
    notch = np.interp(run.notches(), run.u, run.arc)
    notch = notch[(notch > start - half[0] + 1.0) & (notch < end + half[1] - 1.0)]
    return np.unique(np.concatenate([*parts, notch - NOTCH_MM, notch + NOTCH_MM]))


def _even(start: float, end: float, step: float, fewest: int = 2) -> Floats:
    """Give places from start to end, no further apart than `step`."""
    return np.linspace(start, end, max(fewest, int(np.ceil((end - start) / step)) + 1))


def _body(plank: Plank, face: _Face) -> Body:
    """Close a plank's faces to a body; port is the mirror of what was made.

    A station without thickness is a feather edge: there inner and outer points are one.
    """
    out = plank.dressed_mm * np.stack([face.low, face.high], axis=1)[:, None, :, None]
    points = (face.inner[:, :, None] + out * face.normal[:, :, None]).reshape(-1, 3)
    fore, aft = (bool(face.high[end] - face.low[end] < FEATHER) for end in (0, -1))
    kept, quads = _quads(*face.inner.shape[:2], fore, aft)
    points = points[kept]
    if plank.side == "port":
        points, quads = points * (1.0, -1.0, 1.0), _turned(quads)
    return Body(plank.name, plank.side, plank.strake, plank.dressed_mm, points, quads)


def _turned(quads: Ints) -> Ints:
    """Turn facets over; one of three corners keeps its last corner twice."""
    four = (quads[:, 2] != quads[:, 3])[:, None]
    return np.where(four, quads[:, _TURNED], quads[:, _TURNED_THREE])


@lru_cache(maxsize=256)
def _quads(n: int, m: int, fore: bool, aft: bool) -> tuple[Ints, Ints]:
    """Give the facets of a closed body of n stations of m points, inner and outer in turn.

    `fore`, `aft`: that end is a feather edge, where inner points stand for the outer too. Gives
    which points are kept, and the facets by their new numbers.
    """
    at = np.arange(n * m * 2).reshape(n, m, 2)
    for end, feather in ((0, fore), (-1, aft)):
        if feather:
            at[end, :, 1] = at[end, :, 0]
    inner, outer, low, high = at[..., 0], at[..., 1], at[:, 0], at[:, -1]
    faces = [net(inner), net(outer)[:, _TURNED], net(low)[:, _TURNED], net(high)]
    faces += [] if fore else [net(at[0])]
    faces += [] if aft else [net(at[-1])[:, _TURNED]]
    kept, quads = np.unique(np.concatenate(faces), return_inverse=True)
    return kept, np.array([_threes(q) for q in quads.reshape(-1, 4).tolist()])


def _threes(corners: list[int]) -> list[int]:
    """Put a corner that stands twice in a facet last.

    >>> _threes([0, 1, 2, 3]), _threes([0, 0, 2, 3]), _threes([0, 1, 2, 0])
    ([0, 1, 2, 3], [2, 3, 0, 0], [1, 2, 0, 0])
    """
    for k in range(4):
        if corners[k] == corners[k - 1]:
            return [corners[(k + j) % 4] for j in (1, 2)] + [corners[k]] * 2
    return corners


def net(at: Ints) -> Ints:
    """Give the quads of a net of corners (p, q)."""
    corners = (at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:])
    return np.stack([c.ravel() for c in corners], axis=1)
