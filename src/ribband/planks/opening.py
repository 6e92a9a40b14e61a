"""The opening a plank must fill, as a grid of points on the hull; all planks at once.

A plank's *opening* lies between its two seams and its two ends. Along its middle (half-way
between the seams in girth fraction) points are evenly spaced; *lines across* run square to the
middle, save near a hood end, where they swing over to the rabbet. *Butts* and *nibs* are cut by
the plane square to the middle, so that they lie straight and square in the flat plank; where no
hood end was measured, the plank is cut by the plane of the last frame. Joined by a *scarf*, both
planks run on past the landing by half of its length, and are cut square there.

Strakes' middles are measured first, on many close points (`Middles`); places on them are lengths
from the fore end.

Where a stealer's nib is let into the plank above, the edge of the grid runs from one seam over
to the other within a short way; the notch is put in afterwards (`notches`).

Not checked: that seams run fair or do not cross.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from typing import Literal, NamedTuple

import numpy as np
from numpy.typing import NDArray

from ribband.butts.model import Layout, Ways
from ribband.errors import InputError, Problem
from ribband.hull.model import Floats, Hull, Surface
from ribband.hull.surface import points_and_normals
from ribband.lining.curves import SeamCurves, curves_of, lines_of
from ribband.lining.model import Lining
from ribband.numerics.flattening import unit

__all__ = [
    "ACROSS", "ALONG", "Edges", "Opening", "Seams", "openings", "openings_beside", "seams_of",
]  # fmt: skip

ALONG, ACROSS = 48, 4  # cells of a plank's grid
CLOSE = 192  # steps along a strake's middle
RAMP = 2.0  # of the lines' spacing, over which a grid runs over a nib
LEAST_RATE = 0.3  # of the vessel's length to the plank's, where a frame cuts it
Ints = NDArray[np.intp]


Cut = Literal["rabbet", "square", "frame"]


class End(NamedTuple):
    """An end of a plank: the length along the strake's middle, and how it is cut.

    `scarf_mm` is the length of the scarf it is joined by, half of it on either side of the
    landing; nothing for a butt and where no other plank is joined.
    """

    along_mm: float
    cut: Cut
    at: str
    landing: str
    scarf_mm: float = 0.0


class Piece(NamedTuple):
    """A plank: row of its strake, its number from forward, its ends."""

    strake: int
    number: int
    fore: End
    aft: End


@dataclass(frozen=True, eq=False)
class Opening:
    """P openings on grids of n lines across by m rows along, lower edge first.

    name : (P,); piece : (P,); u, v : (P, n, m) on the surface; xyz, normal : (P, n, m, 3)
    along_mm : (P, n) of the middle along the strake from its fore end
    """

    name: tuple[str, ...]
    piece: tuple[Piece, ...]
    u: Floats
    v: Floats
    xyz: Floats
    normal: Floats
    along_mm: Floats

    @property
    def strake(self) -> Ints:
        """Give the row of each plank's strake, (P,)."""
        return np.array([piece.strake for piece in self.piece])

    def of(self, planks: Ints) -> Opening:
        """Give the openings of some planks (rows)."""
        some = (a[planks] for a in (self.u, self.v, self.xyz, self.normal, self.along_mm))
        names = tuple(self.name[p] for p in planks)
        return Opening(names, tuple(self.piece[p] for p in planks), *some)


@dataclass(frozen=True, eq=False)
class Edges:
    """Openings as far as strakes beside need them: lower edge, middle and upper edge, P planks.

    strake : (P,) rows; xyz : (P, n, 3, 3) on the same lines across as the whole opening
    """

    strake: Ints
    xyz: Floats


@dataclass(frozen=True, eq=False)
class Seams:
    """The edges of every strake as smooth curves v(u), S strakes between S + 1 seams.

    Where the strake below is a stealer that does not stand, a strake's lower edge is that
    stealer's lower one: `under` (S,) is its seam, and from `shift` (S, 2) to which u the stealer
    stands.
    """

    curves: SeamCurves
    under: Ints
    shift: Floats
    ramp: float

    def seam(self, row: Ints, u: Floats) -> Floats:
        """Give v of seam `row` (...) at u (...)."""
        return self.curves.at(row, u)

    def edges(self, strake: Ints, u: Floats) -> tuple[Floats, Floats]:
        """Give v of the lower and upper edge of `strake` (...) at u (...)."""
        lower = self.seam(strake, u)
        notched = self.under[strake] >= 0
        if notched.any():
            below = self.seam(np.maximum(self.under[strake], 0), u)
            start, end = self.shift[strake, 0], self.shift[strake, 1]
            inside = np.minimum(u - start, end - u) / self.ramp + 0.5
            t = np.clip(inside, 0.0, 1.0)
            lower = np.where(notched, below + (lower - below) * t * t * (3 - 2 * t), lower)
        return lower, self.seam(strake + 1, u)


@dataclass(frozen=True, eq=False)
class Middles:
    """The middles of the S strakes: u, length along and position at close points.

    u, along_mm, lean_mm : (S, c); xyz : (S, c, 3); lean is how far the line u = const runs aft
    from the lower edge to the upper, measured along the middle
    """

    u: Floats
    along_mm: Floats
    lean_mm: Floats
    xyz: Floats

    def at(self, values: Floats, strake: Ints, along: Floats) -> Floats:
        """Read values (S, c) of `strake` (...) at lengths `along` (...)."""
        far = 10.0 * (self.along_mm.max() + 1.0)
        shift = far * np.arange(len(self.u))
        row = strake * np.ones(along.shape, int)
        inside = np.clip(along, 0.0, self.along_mm[row, -1])
        known = (self.along_mm + shift[:, None]).ravel()
        found = np.interp((inside + shift[row]).ravel(), known, values.ravel())
        return np.asarray(found, float).reshape(along.shape)


def openings(  # noqa: PLR0917 - the inputs of the stage
    hull: Hull,
    lining: Lining,
    ways: Ways,
    layout: Layout,
    rows: Collection[int] | None = None,
    scarf_mm: float = 0.0,
    seams: Seams | None = None,
    frame: int | None = None,
) -> Opening:
    """Cut the strakes, or those of some `rows`, into planks and give their openings.

    With `scarf_mm` planks of a strake overlap by so much where they are joined, but for joints
    that are said to be butts. `seams` are theirs, where they are known already. With `frame` only
    the planks that lie on that frame are opened (all, where none does).

    Raises
    ------
    InputError : there is no surface, or the butts name a strake the lining has not
    """
    surface = hull.surface
    if surface is None:
        wanted = "offsets or points, for a hull in space"
        raise InputError([Problem("girths", 0, "", "girths only", wanted)])
    seams = seams or seams_of(surface, lining, hull, rows)
    chosen = range(len(lining.strakes)) if rows is None else rows
    middles = middles_of(surface, seams, lining, sorted(chosen))
    pieces = _pieces(hull, lining, ways, layout, middles, chosen, scarf_mm)
    if frame is not None:
        pieces = _on_frame(_crossings(hull, middles)[:, frame], pieces) or pieces
    return _grids(surface, seams, middles, pieces, lining)


def _on_frame(crossing: Floats, pieces: list[Piece]) -> list[Piece]:
    """Give the planks that lie on a frame, which the strakes cross at lengths `crossing` (S,)."""
    at = [float(crossing[p.strake]) for p in pieces]
    return [p for p, x in zip(pieces, at, strict=True) if p.fore.along_mm <= x <= p.aft.along_mm]


def openings_beside(  # noqa: PLR0917 - the inputs of the stage
    hull: Hull,
    lining: Lining,
    ways: Ways,
    layout: Layout,
    rows: Collection[int],
    seams: Seams,
    scarf_mm: float = 0.0,
) -> tuple[Opening, Edges]:
    """Give the openings of the strakes of `rows`, and the edges of those of the strakes beside.

    For whole strakes: none of them is a stealer or has one beside it.
    """
    surface, wanted = hull.surface, set(rows)
    assert surface is not None  # noqa: S101 - the caller has looked
    chosen = {r + step for r in wanted for step in (-1, 0, 1)} & {*range(len(lining.strakes))}
    middles = middles_of(surface, seams, lining, sorted(chosen))
    pieces = _pieces(hull, lining, ways, layout, middles, chosen, scarf_mm)
    along, shift = _lines_across(surface, seams, middles, pieces)
    own = np.array([p.strake in wanted for p in pieces])
    mine = [p for p in pieces if p.strake in wanted]
    opening = _on_lines(surface, seams, middles, mine, lining, along[own], shift[own])
    strake, few = np.array([p.strake for p in pieces])[~own], [0, ACROSS // 2, ACROSS]
    u, v = _set_out(seams, middles, strake, along[~own], shift[~own][..., few])
    return opening, Edges(strake, surface.point(u, v))


def seams_of(
    surface: Surface, lining: Lining, hull: Hull, rows: Collection[int] | None = None
) -> Seams:
    """Put smooth curves through the seams, each over the lines it stands on.

    With `rows` of strakes only through the seams they and the strakes beside them lie between.
    """
    under = np.full(len(lining.strakes), -1)
    shift = np.full((len(lining.strakes), 2), [-2.0, 3.0])
    for k, strake in enumerate(lining.strakes[:-1]):
        if strake.stealer:
            under[k + 1] = k
            shift[k + 1] = _stand(hull, lining, k)
    curves = curves_of(surface, lining, _near_seams(lining, rows))
    spacing = float(lining.seam_u[1] - lining.seam_u[0])
    return Seams(curves, under, shift, RAMP * spacing)


def _near_seams(lining: Lining, rows: Collection[int] | None) -> Ints:
    """Give the seams of some strakes, of those next to them, and of stealers between and theirs."""
    count = len(lining.seam_v)
    if rows is None:
        return np.arange(count)
    wanted = {row + step for row in rows for step in (-1, 0, 1, 2)}
    for row, strake in enumerate(lining.strakes):
        if strake.stealer and wanted & {row - 1, row, row + 1, row + 2}:
            wanted |= {row - 1, row, row + 1, row + 2}
    return np.array(sorted(row for row in wanted if 0 <= row < count))


def _stand(hull: Hull, lining: Lining, k: int) -> tuple[float, float]:
    """Give from which u to which a stealer stands, at the height of its lower seam."""
    ends = []
    for at, far in ((lining.strakes[k].first, -2.0), (lining.strakes[k].last, 3.0)):
        if at in hull.frames.names:
            line = hull.frames.names.index(at)
            height = float(np.interp(hull.frames.u[line].mean(), lining.seam_u, lining.seam_v[k]))
            ends.append(float(np.interp(height, hull.frames.v[line], hull.frames.u[line])))
        else:
            ends.append(far)
    return ends[0], ends[1]


def middles_of(surface: Surface, seams: Seams, lining: Lining, rows: list[int]) -> Middles:
    """Measure the middles of the strakes of `rows`; those of others stay nothing."""
    count = len(rows)
    reach = np.array([_past_nib(seams, lining, k) for k in rows])
    step = np.linspace(0.0, 1.0, CLOSE + 1)
    u = reach[:, :1] + (reach[:, 1:] - reach[:, :1]) * step
    lower, upper = seams.edges(np.array(rows)[:, None], u)
    v = np.stack([lower, (lower + upper) / 2, upper])
    low, middle, high = surface.point(np.broadcast_to(u, v.shape), v)
    run = np.linalg.norm(np.diff(middle, axis=1), axis=-1)
    along = np.concatenate([np.zeros((count, 1)), np.cumsum(run, axis=1)], axis=1)
    ahead = unit(np.gradient(middle, axis=1))
    lean = np.sum((high - low) * ahead, axis=-1)
    whole = [np.zeros((len(lining.strakes), *a.shape[1:])) for a in (u, along, lean, middle)]
    for every, some in zip(whole, (u, along, lean, middle), strict=True):
        every[rows] = some
    return Middles(*whole)


def _reach(lining: Lining, k: int) -> tuple[float, float]:
    """Give the u a strake is known between."""
    if not lining.strakes[k].stealer:
        return float(lining.seam_u[0]), float(lining.seam_u[-1])
    first, last = lines_of(lining, k)
    return float(lining.seam_u[first]), float(lining.seam_u[last])


def _past_nib(seams: Seams, lining: Lining, k: int) -> tuple[float, float]:
    """Give the u a strake's middle is measured between; a stealer's, on beyond its nib.

    The nib stands on a frame; the solver's lines, which lean, may have it between two of them.
    """
    start, end = _reach(lining, k)
    if not lining.strakes[k].stealer or k + 1 >= len(lining.strakes):
        return start, end
    nib, last = seams.shift[k + 1]
    beyond = seams.ramp / RAMP
    if nib >= 0.0:
        start = float(np.clip(nib - beyond, 0.0, start))
    if last <= 1.0:
        end = float(np.clip(last + beyond, end, 1.0))
    return start, end


def _pieces(  # noqa: PLR0917 - the inputs of the stage
    hull: Hull,
    lining: Lining,
    ways: Ways,
    layout: Layout,
    middles: Middles,
    chosen: Collection[int],
    scarf_mm: float,
) -> list[Piece]:
    rows = {strake.name: row for row, strake in enumerate(lining.strakes)}
    if missing := [name for name in ways.strakes if name not in rows]:
        wanted = "a strake of the lining out"
        raise InputError([Problem("butts", 0, "strake", name, wanted) for name in missing])
    crossing = _crossings(hull, middles)
    pieces = []
    for place, name in enumerate(ways.strakes):
        row = rows[name]
        if row not in chosen:
            continue
        butts = sorted((b for b in layout.butts if b.strake == place), key=lambda b: b.landing)
        joints = [_butt(ways, crossing[row], place, butt.landing) for butt in butts]
        laps = [0.0 if butt.joint == "butt" else scarf_mm for butt in butts]
        fore = _end(lining, middles, crossing, row, fore=True)
        aft = _end(lining, middles, crossing, row, fore=False)
        both_laps = list(zip(joints, laps, strict=True))
        starts = [fore, *(_lapped(joint, -lap) for joint, lap in both_laps)]
        stops = [*(_lapped(joint, lap) for joint, lap in both_laps), aft]
        both = zip(starts, stops, strict=True)
        pieces += [Piece(row, number, *ends) for number, ends in enumerate(both, start=1)]
    return pieces


def _lapped(joint: End, scarf_mm: float) -> End:
    """Carry an end on by half a scarf, aft where it is positive."""
    return joint._replace(along_mm=joint.along_mm + scarf_mm / 2, scarf_mm=abs(scarf_mm))


def _crossings(hull: Hull, middles: Middles) -> Floats:
    """Give the length along each strake's middle where it crosses each frame, (S, F)."""
    x = hull.frames.x_mm
    rows = [
        np.interp(x, np.maximum.accumulate(p[:, 0]), s, left=np.nan, right=np.nan)
        for p, s in zip(middles.xyz, middles.along_mm, strict=True)
    ]
    return np.array(rows)


def _end(lining: Lining, middles: Middles, crossing: Floats, row: int, *, fore: bool) -> End:
    """Give an end of a strake: hood end, nib, or the outermost frame measured."""
    strake = lining.strakes[row]
    at = strake.first if fore else strake.last
    tip = 0.0 if fore else float(middles.along_mm[row, -1])
    if at in {"stem", "stern"}:
        return End(tip, "rabbet", at, "hood")
    if strake.stealer and at == strake.nib:
        here = float(crossing[row, lining.columns.index(at) - 1])
        return End(here if np.isfinite(here) else tip, "square", at, "nib")
    if at in lining.columns[1:-1]:  # no hood end was measured: the list of planks ends there too
        here = float(crossing[row, lining.columns.index(at) - 1])
        tip = here if np.isfinite(here) else tip
    return End(tip, "frame", at, "frame")


def _butt(ways: Ways, crossing: Floats, place: int, landing: int) -> End:
    frame = landing // 2
    here = float(crossing[frame])
    if landing % 2 == 0:
        return End(here, "square", ways.frames[frame], "frame")
    three = ways.along_mm[place, landing - 1 : landing + 2]
    part = (three[1] - three[0]) / (three[2] - three[0])
    part = part if np.isfinite(part) else 0.5
    along = here + part * (float(crossing[frame + 1]) - here)
    return End(along, "square", ways.frames[frame], "block")


def _grids(
    surface: Surface, seams: Seams, middles: Middles, pieces: list[Piece], lining: Lining
) -> Opening:
    along, shift = _lines_across(surface, seams, middles, pieces)
    return _on_lines(surface, seams, middles, pieces, lining, along, shift)


def _lines_across(
    surface: Surface, seams: Seams, middles: Middles, pieces: list[Piece]
) -> tuple[Floats, Floats]:
    """Give the lines across: where they cross the middle (P, n), and how far points lie aft."""
    strake = np.array([p.strake for p in pieces])[:, None]
    ends = np.array([(p.fore.along_mm, p.aft.along_mm) for p in pieces])
    step = np.linspace(0.0, 1.0, ALONG + 1)
    along = ends[:, :1] + (ends[:, 1:] - ends[:, :1]) * step
    t = np.linspace(0.0, 1.0, ACROSS + 1)
    shift = -middles.at(middles.lean_mm, strake, along)[..., None] * (t - 0.5)
    cuts = np.array([(p.fore.cut, p.aft.cut) for p in pieces])
    cut = _cut(surface, seams, middles, strake, ends, shift[:, [0, -1]], cuts == "frame")
    wanted = np.where(cuts[..., None] == "rabbet", 0.0, cut)
    for k, fore in ((0, True), (-1, False)):
        shift = shift + _swing(along, shift[:, k], wanted[:, k], fore=fore)
    return along, shift


def _on_lines(  # noqa: PLR0917 - planks and their lines
    surface: Surface,
    seams: Seams,
    middles: Middles,
    pieces: list[Piece],
    lining: Lining,
    along: Floats,
    shift: Floats,
) -> Opening:
    u, v = _set_out(seams, middles, np.array([p.strake for p in pieces]), along, shift)
    name = tuple(f"{lining.strakes[p.strake].name}-{p.number}" for p in pieces)
    return Opening(name, tuple(pieces), u, v, *points_and_normals(surface, u, v), along)


def _set_out(
    seams: Seams, middles: Middles, strake: Ints, along: Floats, shift: Floats
) -> tuple[Floats, Floats]:
    """Give u, v (P, n, m) of points on the lines across, evenly from edge to edge."""
    row = strake[:, None, None]
    u = middles.at(middles.u, row, along[..., None] + shift)
    lower, upper = seams.edges(row + np.zeros(u.shape, int), u)
    return u, lower + (upper - lower) * np.linspace(0.0, 1.0, u.shape[2])


def _cut(  # noqa: PLR0917 - what a cut is made of
    surface: Surface,
    seams: Seams,
    middles: Middles,
    strake: Ints,
    along: Floats,
    shift: Floats,
    on_frame: NDArray[np.bool_],
) -> Floats:
    """Shift the points of both end lines (P, 2, m) along the middle onto the planes of their cuts.

    A plane is square to the middle, or to the vessel's length `on_frame` (P, 2).
    """
    planks, ends, m = shift.shape
    strake = np.repeat(strake, ends, axis=0)
    along, on_frame, shift = along.ravel(), on_frame.ravel(), shift.reshape(-1, m)
    t = np.linspace(0.0, 1.0, m)
    hair = 1e-3 * (middles.along_mm[strake[:, 0], -1] + 1.0)
    middle = np.stack([along - hair, along, along + hair], axis=-1)
    whole = strake + np.zeros((1, 3), int)
    places = _points(surface, seams, middles, whole, middle, np.full(3, 0.5))
    ahead = unit(places[:, 2] - places[:, 0])
    square = np.where(on_frame[:, None], [1.0, 0.0, 0.0], ahead)
    rate = np.maximum(np.einsum("pi,pi->p", ahead, square), LEAST_RATE)[:, None]
    row = strake + np.zeros((1, len(t)), int)
    for _ in range(3):
        point = _points(surface, seams, middles, row, along[:, None] + shift, t)
        off = np.einsum("pmi,pi->pm", point - places[:, 1:2], square)
        shift = shift - off / rate
    return shift.reshape(planks, ends, m)


def _points(  # noqa: PLR0917 - where on which strake
    surface: Surface, seams: Seams, middles: Middles, strake: Ints, along: Floats, t: Floats
) -> Floats:
    u = middles.at(middles.u, strake, along)
    lower, upper = seams.edges(strake, u)
    return surface.point(u, lower + (upper - lower) * t)


def _swing(along: Floats, there: Floats, wanted: Floats, *, fore: bool) -> Floats:
    """Swing the lines across over from what they are at an end (P, m) to what is wanted."""
    change = wanted - there
    run = np.abs(along - along[:, :1] if fore else along - along[:, -1:])
    reach = np.maximum(2.5 * np.abs(change).max(axis=1), 3.0 * (along[:, 1] - along[:, 0]))
    x = np.clip(run / np.minimum(reach, 0.5 * run.max(axis=1))[:, None], 0.0, 1.0)
    return np.asarray(((1 - x) ** 2 * (1 + 2 * x))[..., None] * change[:, None], float)
