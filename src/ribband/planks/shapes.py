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

from collections.abc import Callable
from dataclasses import dataclass

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
from ribband.planks.blank import Blanks, smallest_blanks
from ribband.planks.laid import Crossings, Laid, crossings, lay_flat
from ribband.planks.opening import Opening, openings
from ribband.planks.shape_model import Shape, Shapes
from ribband.planks.shape_rules import ShapeRules
from ribband.planks.shape_words import cautions

__all__ = ["get_shapes", "thickness_of"]

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
) -> Shapes:
    """Give the flat shape of every plank, keel to sheer, forward to aft.

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
    opening = openings(hull, lining, ways, layout)
    dressed = thickness_of(hull, rules)
    bend = bend_of(opening)
    tell(0.3, "planks rolled out flat")
    flat = flatten(opening.xyz, opening.normal, bend.curvature * dressed * rules.neutral_part)
    laid = lay_flat(flat.points)
    at = crossings(opening, laid, hull.frames.x_mm)
    tell(0.7, "battens and bevels")
    batten = lay_battens(hull.surface, opening, laid)
    edges = bevels(opening, at, dressed, rules)
    blanks = smallest_blanks(np.concatenate([laid.lower, laid.upper], axis=1))
    strains = _strains(opening, flat.strain, laid, rules, bend, dressed)
    tell(0.9, "shapes gathered")
    made = _Parts(hull, opening, laid, at, bend, edges, blanks, batten, strains, dressed, rules)
    shapes = tuple(_shape(made, p) for p in range(len(opening.name)))
    return Shapes(shapes, tuple(cautions(shapes, hull, rules)))


def thickness_of(hull: Hull, rules: ShapeRules) -> float:
    """Give the dressed thickness, mm: the rule's, else the vessel form's; 0 = not known."""
    return float(rules.dressed_mm or hull.particulars.planking_mm or 0.0)


@dataclass(frozen=True, eq=False)
class _Parts:
    """All that shapes are put together from."""

    hull: Hull
    opening: Opening
    laid: Laid
    at: Crossings
    bend: Bend
    edges: Bevels
    blanks: Blanks
    batten: Floats
    strains: _Strains
    dressed: float
    rules: ShapeRules


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


def _shape(made: _Parts, p: int) -> Shape:
    """Put one plank's shape together."""
    opening, laid, blanks = made.opening, made.laid, made.blanks
    piece, q = opening.piece[p], np.flatnonzero(made.at.plank == p)
    middle = laid.points[p, :, laid.points.shape[2] // 2]
    names = made.hull.frames.names
    curvature = np.abs(made.bend.curvature[p]).max()
    radius = 1 / curvature if curvature > STRAIGHT else float("inf")
    grade, why = grade_of(radius, made.dressed, made.rules)
    sweep = _sweep(middle)
    hollow = made.edges.hollow[q]
    return Shape(
        name=opening.name[p],
        strake=piece.strake,
        number=piece.number,
        lower=laid.lower[p],
        upper=laid.upper[p],
        fore=laid.points[p, 0],
        aft=laid.points[p, -1],
        frames=tuple(names[f] for f in made.at.frame[q]),
        along_mm=made.at.along[q],
        lower_mm=made.at.lower[q],
        upper_mm=made.at.upper[q],
        lower_bevel_rad=made.edges.lower[q],
        upper_bevel_rad=made.edges.upper[q],
        hollow_mm=hollow,
        round_mm=made.edges.round[q],
        twist_rad_per_m=1000.0 * _at_middle(made, made.bend.twist, q),
        bend_radius_mm=_radius(_at_middle(made, made.bend.curvature, q)),
        batten_xyz=made.batten[p],
        fore_angle_rad=_lean(laid.points[p, 0]),
        aft_angle_rad=_lean(laid.points[p, -1]),
        strain=float(made.strains.greatest[p]),
        strain_at=_place(made, p, q),
        seam_error_mm=float(made.strains.error[p]),
        edge_set_mm=sweep,
        blank_length_mm=float(blanks.length[p]),
        blank_width_mm=float(blanks.width[p]),
        sweep_mm=sweep,
        runout_rad=_runout(middle, float(blanks.turn[p])),
        thickness_mm=made.dressed + float(np.abs(hollow).max(initial=0.0)) if made.dressed else 0.0,
        fibre_strain=made.dressed * float(curvature) / 2,
        grade=grade,
        why_grade=why,
    )


def _at_middle(made: _Parts, grid: Floats, q: Ints) -> Floats:
    """Read a grid (P, n, m) on the middle at crossings q."""
    m = grid.shape[2] // 2
    place = np.clip(made.at.place[q, m], 0.0, grid.shape[1] - 1.0)
    return read(grid[:, :, m, None], made.at.plank[q], place)[:, 0]


def _radius(curvature: Floats) -> Floats:
    size = np.abs(curvature)
    return np.where(size > STRAIGHT, 1 / np.maximum(size, STRAIGHT), np.inf)


def _lean(end: Floats) -> float:
    """Give the angle of an end from square to the batten, positive with its top aft.

    Nothing for an end in a point.
    """
    way = end[-1] - end[0]
    return float(np.arctan2(way[0], way[1])) if np.hypot(*way) > POINT_MM else 0.0


def _sweep(middle: Floats) -> float:
    """Give how far a plank's middle (n, 2) bows from the straight line between its ends."""
    way = middle[-1] - middle[0]
    off = middle - middle[0]
    return float(np.abs(off[:, 1] * way[0] - off[:, 0] * way[1]).max() / np.hypot(*way))


def _runout(middle: Floats, turn: float) -> float:
    """Give the greatest angle between a plank's middle and the blank's grain."""
    step = np.diff(middle, axis=0)
    return float(np.abs(np.arctan2(step[:, 1], step[:, 0]) - turn).max())


def _place(made: _Parts, p: int, q: Ints) -> str:
    """Say where in a plank its strain is greatest: the nearest frame, and which part across."""
    row = made.strains.row[p] / (made.laid.points.shape[2] - 1)
    part = "lower edge" if row < 0.3 else "upper edge" if row > 0.7 else "middle"
    if not len(q):
        return part
    m = made.laid.points.shape[2] // 2
    nearest = np.abs(made.at.place[q, m] - made.strains.line[p]).argmin()
    return f"frame {made.hull.frames.names[made.at.frame[q][nearest]]}, {part}"
