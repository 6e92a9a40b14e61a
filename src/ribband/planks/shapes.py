"""The flat shape of every plank, from the hull, the lining out and the butts.

The stages of it: the opening on the hull (`opening`), rolled out flat (`numerics.flattening`),
laid on its batten and cut by the frames (`laid`, `batten`), edges and faces (`bevels`), bending
(`bend`), and the blank (`blank`). One shape serves both sides of a mirrored hull; drawn as port.

*Left-over strain*: what a hull's double curvature leaves in the plank's plane when it is bent
into place; the greatest of the cells' principal strains. *Seam error*: the greatest difference,
for lower and upper edge, between the length of the flat edge and of its seam on the hull, or
across the plank between flat and hull.

Not checked here: the shapes themselves (`shape_check`), or whether boards are to be had.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ribband.butts.model import Layout, Ways
from ribband.findings import Finding, Severity
from ribband.hull.model import Floats, Hull
from ribband.lining.model import Lining
from ribband.numerics.flattening import chord_lengths, flatten
from ribband.numerics.rows import read
from ribband.planks.batten import lay_battens
from ribband.planks.bend import Bend, bend_of, grade_of
from ribband.planks.bevels import Bevels, bevels
from ribband.planks.blank import Blanks, plank_blanks
from ribband.planks.flat_plank import FlatPlank
from ribband.planks.laid import Crossings, Laid, Places, crossings, lay_flat, places
from ribband.planks.notches import cut_notches
from ribband.planks.opening import (
    Edges,
    Opening,
    Seams,
    openings,
    openings_beside,
    seams_of,
)
from ribband.planks.shape_model import Shape, Shapes
from ribband.planks.shape_rules import ShapeRules
from ribband.planks.shape_words import cautions

__all__ = ["flat_planks", "get_shapes", "scarf_of", "thickness_of"]

Ints = NDArray[np.intp]
STRAIGHT = 1e-9  # curvature, 1/mm, that counts as none
POINT_MM = 5.0  # an end no wider is a point


@dataclass(frozen=True, eq=False)
class _Strains:
    """Of P planks: greatest strain, its cell (line, row), and seam error, mm."""

    greatest: Floats
    line: Floats
    row: Floats
    error: Floats


def get_shapes(  # noqa: PLR0917 - the stage's inputs, in the order of the work
    hull: Hull,
    lining: Lining,
    ways: Ways,
    layout: Layout,
    rules: ShapeRules | None = None,
    progress: Callable[[float, str], None] | None = None,
    only: Collection[int] | None = None,
    opened: Opening | None = None,
) -> Shapes:
    """Give the flat shape of every plank, keel to sheer, forward to aft.

    With `only` (rows of strakes) just theirs, in less time: what a dragged seam needs. `opened`
    are the openings of all planks, where they are known already.
    A hull of which only girths are known has no shapes; a finding says so.

    Raises
    ------
    InputError : the butts name a strake that the lining has not
    NotConverged : an opening is crossed or folded
    """
    rules, tell = rules or ShapeRules(), progress or _silent
    if hull.surface is None:
        says = "flat shapes need a hull in space: give offsets or points; only girths are known"
        return Shapes((), (Finding("P021", Severity.NOTE, "planks", "whole side", says),))
    tell(0.0, "openings on the hull")
    dressed = thickness_of(hull, rules)
    every, beside, seams = _opened(hull, lining, ways, layout, rules, only, opened)
    crossed = places(every, hull.frames.x_mm)
    edges = bevels(every, crossed, dressed, rules, len(lining.strakes), beside)
    chosen = np.flatnonzero([only is None or k in only for k in every.strake])
    tell(0.3, "planks rolled out flat")
    part = _Part(every, every.of(chosen), crossed.of(chosen), seams)
    flat = _laid_flat(hull, lining, part, rules)
    batten = lay_battens(hull.surface, flat.opening, flat.laid)
    edges = edges.of(np.isin(crossed.plank, chosen))
    made = _Parts(hull, flat, edges, batten, dressed, rules)
    tell(0.9, "shapes gathered")
    figures = _figures(flat)
    shapes = tuple(_shape(made, figures, p) for p in range(len(chosen)))
    return Shapes(shapes, tuple(cautions(shapes, hull, rules)))


def flat_planks(  # noqa: PLR0917 - the stage's inputs, in the order of the work
    hull: Hull,
    lining: Lining,
    ways: Ways,
    layout: Layout,
    rules: ShapeRules,
    only: Collection[int],
    frame: int | None = None,
) -> tuple[FlatPlank, ...]:
    """Lay the planks of some strakes (rows) flat, and no more: what a dragged seam draws anew.

    Everything is as `get_shapes` has it, in half the time: no neighbours are opened for bevels,
    and no batten is laid on the hull. With `frame` only the planks that lie on it, but all where a
    stealer is near.

    Raises
    ------
    InputError : only girths are known, or the butts name a strake that the lining has not
    NotConverged : an opening is crossed or folded
    """
    whole = _whole_beside(lining, only)
    rows = only if whole else _with_neighbours(lining, only)
    few = frame if whole else None
    every = openings(hull, lining, ways, layout, rows, scarf_of(hull, rules), frame=few)
    chosen = np.flatnonzero(np.isin(every.strake, list(only)))
    opening, at = every.of(chosen), places(every, hull.frames.x_mm).of(chosen)
    made = _laid_flat(hull, lining, _Part(every, opening, at), rules)
    sweep = _sweep(made.laid.points[:, :, made.laid.points.shape[2] // 2])
    return tuple(_flat_plank(made, hull, sweep, p) for p in range(len(chosen)))


def thickness_of(hull: Hull, rules: ShapeRules) -> float:
    """Give the dressed thickness, mm: the rule's, else the vessel form's; 0 = not known."""
    return float(rules.dressed_mm or hull.particulars.planking_mm or 0.0)


def scarf_of(hull: Hull, rules: ShapeRules) -> float:
    """Give the length of a scarf, mm; nothing where planks are butted or no thickness is known."""
    return rules.scarf_slope * thickness_of(hull, rules) if rules.join == "scarf" else 0.0


@dataclass(frozen=True, eq=False)
class _Flat:
    """Planks laid flat on their battens, cut by the frames."""

    opening: Opening
    laid: Laid
    at: Crossings
    bend: Bend
    blanks: Blanks
    strains: _Strains


@dataclass(frozen=True, eq=False)
class _Parts:
    """All that shapes are put together from."""

    hull: Hull
    flat: _Flat
    edges: Bevels
    batten: Floats
    dressed: float
    rules: ShapeRules


@dataclass(frozen=True, eq=False)
class _Part:
    """The openings of every plank at hand, and of those wanted with their crossings."""

    every: Opening
    opening: Opening
    at: Places
    seams: Seams | None = None


def _laid_flat(hull: Hull, lining: Lining, part: _Part, rules: ShapeRules) -> _Flat:
    """Lay the planks flat on their battens, cut by the frames."""
    opening, dressed = part.opening, thickness_of(hull, rules)
    assert hull.surface is not None  # noqa: S101 - it was opened on it
    bend = bend_of(opening)
    flat = flatten(opening.xyz, opening.normal, bend.curvature * dressed * rules.neutral_part)
    laid = lay_flat(flat.points)
    at = crossings(part.at, laid)
    if any(strake.stealer for strake in lining.strakes):
        seams = part.seams or seams_of(hull.surface, lining, hull)
        laid, at = cut_notches(part.every, opening, seams, laid, at, hull.frames.names)
    blanks = plank_blanks(laid.lower, laid.upper)
    strains = _strains(opening, flat.strain, laid, rules, bend, dressed)
    return _Flat(opening, laid, at, bend, blanks, strains)


def _with_neighbours(lining: Lining, only: Collection[int] | None) -> Collection[int] | None:
    """Add the strakes that lie beside those of `only`, stealers between counted."""
    if only is None:
        return None
    rows = set(only)
    for step in (1, -1):
        for row in only:
            beside = row + step
            while 0 <= beside < len(lining.strakes):
                rows.add(beside)
                if not lining.strakes[beside].stealer:
                    break
                beside += step
    return rows


def _opened(  # noqa: PLR0917 - the inputs of the stage
    hull: Hull,
    lining: Lining,
    ways: Ways,
    layout: Layout,
    rules: ShapeRules,
    only: Collection[int] | None,
    opened: Opening | None,
) -> tuple[Opening, tuple[Edges, Places] | None, Seams | None]:
    """Open the planks, with the edges of those beside them where some alone are wanted.

    Where a stealer is near, all planks beside them are opened whole.
    """
    if opened is not None or hull.surface is None:
        return opened or openings(hull, lining, ways, layout), None, None
    scarf, rows = scarf_of(hull, rules), _with_neighbours(lining, only)
    seams = seams_of(hull.surface, lining, hull, rows)
    if only is None or not _whole_beside(lining, only):
        return openings(hull, lining, ways, layout, rows, scarf, seams), None, seams
    every, edges = openings_beside(hull, lining, ways, layout, only, seams, scarf)
    beside = (edges, places(edges, hull.frames.x_mm)) if len(edges.strake) else None
    return every, beside, seams


def _whole_beside(lining: Lining, only: Collection[int]) -> bool:
    """Tell whether no stealer lies among some strakes or those beside them."""
    near = {row + step for row in only for step in (-2, -1, 0, 1, 2)}
    return not any(s.stealer for row, s in enumerate(lining.strakes) if row in near)


def _silent(part: float, says: str) -> None:
    """Say nothing of how far the work is."""


def _strains(  # noqa: PLR0917
    opening: Opening, strain: Floats, laid: Laid, rules: ShapeRules, bend: Bend, dressed: float
) -> _Strains:
    along, across, shear = np.moveaxis(strain, -1, 0)
    size = np.abs((along + across) / 2) + np.hypot((along - across) / 2, shear)
    cells = size.reshape(len(size), -1)
    worst = cells.argmax(axis=1)
    line, row = np.unravel_index(worst, size.shape[1:])
    stretch = bend.curvature * dressed * rules.neutral_part
    error = np.maximum(_along_error(opening, laid, stretch), _across_error(opening, laid))
    return _Strains(cells.max(axis=1), line + 0.5, row + 0.5, error)


def _along_error(opening: Opening, laid: Laid, stretch: Floats) -> Floats:
    """Give the greater difference of both edges between seam and flat edge, (P,)."""
    xyz, normal = (a[:, :, [0, -1]] for a in (opening.xyz, opening.normal))
    on_hull = chord_lengths(xyz[:, :-1], xyz[:, 1:], normal[:, :-1], normal[:, 1:])
    longer = stretch[:, :, [0, -1]]
    on_hull = on_hull * (1 + (longer[:, :-1] + longer[:, 1:]) / 2)
    flat = np.linalg.norm(np.diff(laid.points[:, :, [0, -1]], axis=1), axis=-1)
    return np.asarray(np.abs((flat - on_hull).sum(axis=1)).max(axis=1), float)


def _across_error(opening: Opening, laid: Laid) -> Floats:
    xyz, normal = opening.xyz, opening.normal
    on_hull = chord_lengths(xyz[:, :, :-1], xyz[:, :, 1:], normal[:, :, :-1], normal[:, :, 1:])
    flat = np.linalg.norm(np.diff(laid.points, axis=2), axis=-1)
    return np.asarray(np.abs((flat - on_hull).sum(axis=2)).max(axis=1), float)


@dataclass(frozen=True, eq=False)
class _Figures:
    """Figures of P planks and Q crossings.

    sweep, curvature, runout : (P,) greatest, mm, 1/mm and rad; lean : (P, 2) of the ends, rad
    twist, radius : (Q,) rad/m, mm; first : (P + 1,) where a plank's crossings start
    """

    sweep: Floats
    curvature: Floats
    runout: Floats
    lean: Floats
    twist: Floats
    radius: Floats
    first: Ints


def _figures(made: _Flat) -> _Figures:
    middle = made.laid.points[:, :, made.laid.points.shape[2] // 2]
    step = np.diff(middle, axis=1)
    grain = np.arctan2(step[..., 1], step[..., 0]) - made.blanks.turn[:, None]
    bend = np.abs(_at_middle(made, made.bend.curvature))
    return _Figures(
        _sweep(middle),
        np.abs(made.bend.curvature).max(axis=(1, 2)),
        np.abs(grain).max(axis=1),
        np.stack([_lean(made.laid.points[:, k]) for k in (0, -1)], axis=1),
        1000.0 * _at_middle(made, made.bend.twist),
        np.where(bend > STRAIGHT, 1 / np.maximum(bend, STRAIGHT), np.inf),
        np.searchsorted(made.at.plank, np.arange(len(middle) + 1)),
    )


def _at_middle(made: _Flat, grid: Floats) -> Floats:
    """Read a grid (P, n, m) on the planks' middles at every crossing, (Q,)."""
    m = grid.shape[2] // 2
    place = np.clip(made.at.place[:, m], 0.0, grid.shape[1] - 1.0)
    return read(grid[:, :, m, None], made.at.plank, place)[:, 0]


def _lean(end: Floats) -> Floats:
    """Give the angles of ends (P, m, 2) from square to the batten, positive with their tops aft.

    Nothing for an end in a point.
    """
    way = end[:, -1] - end[:, 0]
    pointed = np.linalg.norm(way, axis=1) <= POINT_MM
    return np.where(pointed, 0.0, np.arctan2(way[:, 0], way[:, 1]))


def _sweep(middle: Floats) -> Floats:
    """Give how far planks' middles (P, n, 2) bow from the straight lines between their ends."""
    way = (middle[:, -1] - middle[:, 0])[:, None]
    off = middle - middle[:, :1]
    bow = np.abs(off[..., 1] * way[..., 0] - off[..., 0] * way[..., 1]).max(axis=1)
    return np.asarray(bow / np.linalg.norm(way[:, 0], axis=1), float)


def _shape(made: _Parts, figures: _Figures, p: int) -> Shape:
    """Put one plank's shape together."""
    laid, opening = made.flat.laid, made.flat.opening
    return Shape(
        name=opening.name[p],
        strake=opening.piece[p].strake,
        number=opening.piece[p].number,
        lower=laid.lower[p],
        upper=laid.upper[p],
        fore=laid.points[p, 0],
        aft=laid.points[p, -1],
        batten_xyz=made.batten[p],
        fore_angle_rad=float(figures.lean[p, 0]),
        aft_angle_rad=float(figures.lean[p, 1]),
        tight_mm=made.rules.tight_part * made.dressed,
        **_at_frames(made, figures, p),
        **_of_stuff(made, figures, p),
        **_of_bending(made, figures, p),
        **_of_scarfs(made, p),
    )


def _at_frames(made: _Parts, figures: _Figures, p: int) -> dict[str, Any]:
    """Give what a shape says at every frame its plank crosses."""
    edges, at, names = made.edges, made.flat.at, made.hull.frames.names
    q = slice(figures.first[p], figures.first[p + 1])
    return {
        "frames": tuple(names[f] for f in at.frame[q]),
        "frame_lines": at.line[q],
        "along_mm": at.along[q],
        "lower_mm": at.lower[q],
        "upper_mm": at.upper[q],
        "lower_bevel_rad": edges.lower[q],
        "upper_bevel_rad": edges.upper[q],
        "lower_fit_rad": edges.lower_fit[q],
        "upper_fit_rad": edges.upper_fit[q],
        "hollow_mm": edges.hollow[q],
        "round_mm": edges.round[q],
        "twist_rad_per_m": figures.twist[q],
        "bend_radius_mm": figures.radius[q],
    }


def _of_stuff(made: _Parts, figures: _Figures, p: int) -> dict[str, Any]:
    """Give the timber a plank is got out of, and what is left in it when it hangs."""
    strains, blanks = made.flat.strains, made.flat.blanks
    hollow = made.edges.hollow[figures.first[p] : figures.first[p + 1]]
    deepest = float(np.abs(hollow).max(initial=0.0))
    return {
        "strain": float(strains.greatest[p]),
        "strain_at": _place(made.flat, made.hull, p),
        "seam_error_mm": float(strains.error[p]),
        "edge_set_mm": float(figures.sweep[p]),
        "sweep_mm": float(figures.sweep[p]),
        "blank_length_mm": float(blanks.length[p]),
        "blank_width_mm": float(blanks.width[p]),
        "runout_rad": float(figures.runout[p]),
        "thickness_mm": made.dressed + deepest if made.dressed else 0.0,
    }


def _of_bending(made: _Parts, figures: _Figures, p: int) -> dict[str, Any]:
    """Give how a plank is bent to its sharpest radius."""
    curvature = float(figures.curvature[p])
    radius = 1 / curvature if curvature > STRAIGHT else float("inf")
    grade, why = grade_of(radius, made.dressed, made.rules)
    return {"fibre_strain": made.dressed * curvature / 2, "grade": grade, "why_grade": why}


def _of_scarfs(made: _Parts, p: int) -> dict[str, Any]:
    piece = made.flat.opening.piece[p]
    fore, aft = piece.fore.scarf_mm, piece.aft.scarf_mm
    nib = made.rules.nib_part * made.dressed if fore or aft else 0.0
    return {"fore_scarf_mm": fore, "aft_scarf_mm": aft, "nib_mm": nib}


def _flat_plank(made: _Flat, hull: Hull, sweep: Floats, p: int) -> FlatPlank:
    """Put what is drawn of one plank together."""
    q, piece = _crossings_of(made, p), made.opening.piece[p]
    return FlatPlank(
        name=made.opening.name[p],
        strake=piece.strake,
        number=piece.number,
        lower=made.laid.lower[p],
        upper=made.laid.upper[p],
        frames=tuple(hull.frames.names[f] for f in made.at.frame[q]),
        frame_lines=made.at.line[q],
        strain=float(made.strains.greatest[p]),
        strain_at=_place(made, hull, p),
        seam_error_mm=float(made.strains.error[p]),
        sweep_mm=float(sweep[p]),
        blank_length_mm=float(made.blanks.length[p]),
        blank_width_mm=float(made.blanks.width[p]),
    )


def _crossings_of(made: _Flat, p: int) -> slice:
    first, last = np.searchsorted(made.at.plank, [p, p + 1])
    return slice(int(first), int(last))


def _place(made: _Flat, hull: Hull, p: int) -> str:
    """Say where in a plank its strain is greatest: the nearest frame, and which part across."""
    row = made.strains.row[p] / (made.laid.points.shape[2] - 1)
    part = "lower edge" if row < 0.3 else "upper edge" if row > 0.7 else "middle"
    q = _crossings_of(made, p)
    frames = made.at.frame[q]
    if not len(frames):
        return part
    m = made.laid.points.shape[2] // 2
    nearest = np.abs(made.at.place[q, m] - made.strains.line[p]).argmin()
    return f"frame {hull.frames.names[frames[nearest]]}, {part}"
