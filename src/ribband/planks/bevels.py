"""Bevels of the edges, hollow of the inner face and round of the outer, at the frames.

*Inner face* of a plank at a frame: the plane through its edge, along the seam, and straight
across to its other edge, as a straight-edge held over the hollow lies. Where two planks meet,
the angle between their inner faces is shared, half to each, so that both their inner and their
outer faces meet. A bevel is measured from square to the inner face; positive where it leaves the
outer face the narrower. On a round hull the shared bevel is therefore negative.

*Fit*: that shared bevel alone. The edge is planed to it right across, and so it stays for its inner
part, where the seam is tight.

*Outgauge*: the caulking bevel. The seam opens at the outer face by a part of the thickness; its
inner part stays tight. A bevel is the angle of the opened part: the fit and the edge's share of the
opening. Seams in the rabbet are opened on the plank alone; the sheer edge is square.

Sagittas across: hollow of the hull between the plank's edges; round of the outer face, a
thickness further out. Where no neighbour stands at a frame, the plank's own turn is taken as its
share.

Not checked: that the rabbet is cut to the garboard's edge.
"""

from __future__ import annotations

from dataclasses import dataclass, fields

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.numerics.flattening import unit
from ribband.numerics.rows import read
from ribband.planks.laid import Places
from ribband.planks.opening import Edges, Opening
from ribband.planks.shape_rules import ShapeRules

__all__ = ["Bevels", "bevels", "neighbours", "opening_angle"]

Ints = NDArray[np.intp]
SAME = 0.15  # of the wider plank: edges nearer than this are one seam
HAIR = 1e-2  # of a grid step


@dataclass(frozen=True, eq=False)
class Bevels:
    """At Q crossings: bevels, rad, of the opened part and of the tight; hollow and round, mm."""

    lower: Floats
    upper: Floats
    lower_fit: Floats
    upper_fit: Floats
    hollow: Floats
    round: Floats

    def of(self, chosen: NDArray[np.bool_]) -> Bevels:
        """Give those of some crossings (Q,)."""
        return Bevels(*(getattr(self, field.name)[chosen] for field in fields(self)))


@dataclass(frozen=True, eq=False)
class _Faces:
    """Inner faces at one edge: seam point, way out of the plank, normal of face and of hull."""

    point: Floats
    away: Floats
    face: Floats
    hull: Floats

    def and_of(self, others: _Faces) -> _Faces:
        """Give these faces and then others'."""
        mine, theirs = ((f.point, f.away, f.face, f.hull) for f in (self, others))
        return _Faces(*(np.concatenate(both) for both in zip(mine, theirs, strict=True)))


def bevels(  # noqa: PLR0917 - planks, where frames cross them, and what is beside them
    opening: Opening,
    at: Places,
    dressed_mm: float,
    rules: ShapeRules,
    strakes: int,
    beside: tuple[Edges, Places] | None = None,
) -> Bevels:
    """Give bevels, hollow and round at the crossings; `strakes` is how many there are in all.

    `beside` are the edges of planks that lie beside these, where those are not opened whole.
    """
    lower, upper = (_faces(opening, at, k) for k in (0, -1))
    strake = opening.strake[at.plank]
    every, frame, low, high = strake, at.frame, lower, upper
    if beside is not None:
        edges, theirs = beside
        low, high = (a.and_of(_faces(edges, theirs, k)) for a, k in ((lower, 0), (upper, -1)))
        every = np.concatenate([strake, edges.strake[theirs.plank]])
        frame = np.concatenate([frame, theirs.frame])
    above = neighbours(every, frame, high.point, low.point)[: len(strake)]
    below = neighbours(-every, frame, low.point, high.point)[: len(strake)]
    top, bottom = strake == strakes - 1, strake == 0
    shares = {"both": (0.5, 0.5), "lower": (1.0, 0.0), "upper": (0.0, 1.0)}[rules.outgauge_on]
    whole = opening_angle(rules)
    up = np.where(top, 0.0, -_share(upper, low, above))
    down = np.where(bottom, 0.0, -_share(lower, high, below))
    opened_up = np.where(top, 0.0, whole * shares[1])
    opened_down = np.where(bottom, whole, whole * shares[0])
    hollow, outer = _sagittas(opening, at, dressed_mm)
    return Bevels(down + opened_down, up + opened_up, down, up, hollow, outer)


def opening_angle(rules: ShapeRules) -> float:
    """Give the whole angle a seam is opened by, rad.

    >>> round(float(np.degrees(opening_angle(ShapeRules()))), 2)
    10.62
    """
    return float(np.arctan2(rules.opening_part, 1.0 - rules.tight_part))


def _faces(opening: Opening | Edges, at: Places, k: int) -> _Faces:
    """Give the inner faces at edge k (0 lower, -1 upper) of each crossing.

    Of edges alone the hull's normal is not known: that of the face stands for it.
    """
    lines = np.moveaxis(opening.xyz, 2, 1)
    m = lines.shape[1]
    rows = lines.reshape(-1, lines.shape[2], 3)
    last = lines.shape[2] - 1
    place = np.clip(at.place[:, k], 0.0, float(last))
    base = at.plank * m
    edge, other = base + k % m, base + (-1 - k) % m
    point = read(rows, edge, place)
    ahead = unit(read(rows, edge, place + HAIR) - read(rows, edge, place - HAIR))
    across = read(rows, other, place) - point
    face = unit(np.cross(ahead, across)) * (1.0 if k else -1.0)
    hull = face
    if isinstance(opening, Opening):
        normals = np.moveaxis(opening.normal, 2, 1).reshape(rows.shape)
        hull = unit(read(normals, edge, place))
    face = face * np.where(np.sum(face * hull, axis=-1) < 0, -1.0, 1.0)[:, None]
    away = np.sum(across * ahead, axis=-1)[:, None] * ahead - across
    return _Faces(point, unit(away), face, hull)


def neighbours(rank: Ints, frame: Ints, edge: Floats, other: Floats) -> Ints:
    """Give the crossing of higher rank whose `other` edge lies on each one's `edge`; -1 for none.

    At a joint, where two planks of the strake stand, one of them: their faces are alike.

    >>> low, high = np.array([[0.0, 0, 0], [0, 0, 50]]), np.array([[0.0, 0, 48], [0, 0, 90]])
    >>> neighbours(np.array([0, 1]), np.array([0, 0]), high, low).tolist()
    [1, -1]
    """
    width = np.linalg.norm(edge - other, axis=-1)
    here = _by_frame(frame)
    known = here >= 0
    gap = np.linalg.norm(edge[here][:, :, None] - other[here][:, None], axis=-1)
    gap[(rank[here][:, :, None] >= rank[here][:, None]) | ~known[:, None]] = np.inf
    near = gap.argmin(axis=2)
    wider = np.maximum(width[here], np.take_along_axis(width[here], near, 1))
    close = known & (np.take_along_axis(gap, near[..., None], 2)[..., 0] < SAME * wider)
    found = np.full(len(rank), -1)
    found[here[close]] = np.take_along_axis(here, near, 1)[close]
    return found


def _by_frame(frame: Ints) -> Ints:
    """Give the crossings of each frame in a row, (F, most); -1 where a row has no more."""
    order = np.argsort(frame, kind="stable")
    count = np.bincount(frame)
    start = np.concatenate([[0], np.cumsum(count)[:-1]])
    rows = np.full((len(count), int(count.max(initial=0))), -1)
    rows[frame[order], np.arange(len(frame)) - start[frame[order]]] = order
    return rows


def _share(own: _Faces, other: _Faces, neighbour: Ints) -> Floats:
    """Give half the angle from face to face; positive where the hull is round."""
    known = neighbour >= 0
    theirs = np.where(known[:, None], other.face[np.where(known, neighbour, 0)], own.hull)
    turn = np.arctan2(np.sum(theirs * own.away, axis=-1), np.sum(theirs * own.face, axis=-1))
    return np.asarray(np.where(known, turn / 2, turn), float)


def _sagittas(opening: Opening, at: Places, dressed_mm: float) -> tuple[Floats, Floats]:
    """Give hollow and round (Q,) on the line across at each crossing's middle."""
    n, m = opening.xyz.shape[1:3]
    place = np.clip(at.place[:, m // 2], 0.0, n - 1.0)
    lines = opening.xyz.reshape(len(opening.xyz), n, -1)
    square = opening.normal.reshape(lines.shape)
    inner = read(lines, at.plank, place).reshape(-1, m, 3)
    normal = unit(read(square, at.plank, place).reshape(-1, m, 3))
    return _bow(inner, normal), _bow(inner + dressed_mm * normal, normal)


def _bow(line: Floats, normal: Floats) -> Floats:
    """Give the greatest distance of a line across from its chord, positive outward."""
    across = unit(line[:, -1] - line[:, 0])
    out = normal.mean(axis=1)
    out = unit(out - np.sum(out * across, axis=-1)[:, None] * across)
    height = np.einsum("qmi,qi->qm", line - line[:, :1], out)
    return np.asarray(np.take_along_axis(height, np.abs(height).argmax(1)[:, None], 1)[:, 0], float)
