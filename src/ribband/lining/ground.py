"""The hull made ready for lining out: any point of any line at once.

*Lines* are the solver's own (`hull.lines`), *frames* the shipwright's (`hull.frames`). Both are
taken from the hull's tables alone. Where only girths were measured the planking expansion
stands in for space: x along, girth up, and the normal out of the paper. `turn` is the angle the
hull turns through along a line from its lower end, rad; a strake that spans a turn t on a width
w is backed out by w t / 8. `doubled` is the Gaussian curvature K, 1/mm2: a strake of width w bent
on there is left with an edge strain of K w^2 / 8.

Not checked: that the tables are fair; that frames lie within the lines.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats, GirthLines, Hull
from ribband.numerics.local import EvenLines

__all__ = ["Ground", "Spots", "ground_of"]

_POINT, _PLACE = slice(0, 3), slice(7, 9)
_TURN, _V, _DOUBLED = 6, 7, 9


@dataclass(frozen=True, slots=True, eq=False)
class Spots:
    """Points of lines: position, slope by girth fraction, normal, turn, parameter v, doubled."""

    point: Floats
    across: Floats
    normal: Floats
    normal_slope: Floats
    turn: Floats
    v: Floats
    v_slope: Floats
    doubled: Floats

    def rows(self, first: int, last: int) -> Spots:
        """Give some of the rows."""
        part = slice(first, last)
        return Spots(*(getattr(self, name)[part] for name in Spots.__slots__))


@dataclass(frozen=True, slots=True, eq=False)
class Ground:
    """Lines and frames as splines; `u` (L,), `girth` (L,), `frame_girth` (F,), mm.

    `frame_points` gives x, y, z along the frames, `frame_places` v and u.
    """

    hull: Hull
    lines: EvenLines
    frame_points: EvenLines
    frame_places: EvenLines
    u: Floats
    girth: Floats
    frame_girth: Floats
    length_mm: float

    def on_lines(self, fraction: Floats) -> Spots:
        """Give points at `fraction` (R, L), one column a line."""
        line = np.broadcast_to(np.arange(len(self.u)), fraction.shape)
        return _spots(*self.lines.at(fraction, line))

    def least_sine(self, floor: float) -> float:
        """Give the least sine of strake and frame: 1 with girths alone, which tell no lean.

        On the flat expansion every upper seam falls as the girth does, though on the hull it may
        hardly lean: a plank got out so would be too narrow, and cannot be made wider.
        """
        return floor if self.hull.in_space else 1.0

    def on_frames(self, fraction: Floats, frame: NDArray[np.int64]) -> tuple[Floats, Floats]:
        """Give points (..., 3) at `fraction` (...) of `frame` (...), and their slopes."""
        return self.frame_points.at(fraction, frame)


def ground_of(hull: Hull) -> Ground:
    """Make the ground of a hull; about 3 ms for 60 lines."""
    lines = EvenLines.through(_samples(hull.lines))
    frames = lines if hull.frames is hull.lines else EvenLines.through(_samples(hull.frames))
    middle = hull.lines.xyz[:, hull.lines.v.shape[1] // 2] if hull.lines.xyz is not None else None
    if middle is None:
        length = float(hull.lines.x_mm[-1] - hull.lines.x_mm[0])
    else:
        length = float(np.linalg.norm(np.diff(middle, axis=0), axis=1).sum())
    own = hull.lines.u[:, 0], hull.lines.girth_mm, hull.frames.girth_mm
    return Ground(hull, lines, frames.some(_POINT), frames.some(_PLACE), *own, length)


def _samples(lines: GirthLines) -> Floats:
    """Everything along the lines side by side: xyz, normal, turn, v, u, doubled."""
    count, m = lines.v.shape
    if lines.xyz is None or lines.normal is None:
        up = lines.girth_mm[:, None] * np.linspace(0.0, 1.0, m)
        xyz = np.stack([np.repeat(lines.x_mm[:, None], m, 1), up, np.zeros_like(up)], axis=-1)
        normal = np.broadcast_to([0.0, 0.0, 1.0], xyz.shape)
    else:
        xyz, normal = lines.xyz, lines.normal
    bend = np.zeros((count, m)) if lines.curvature is None else np.abs(lines.curvature)
    step = lines.girth_mm[:, None] / (m - 1)
    turn = np.zeros((count, m))
    turn[:, 1:] = np.cumsum((bend[:, 1:] + bend[:, :-1]) / 2 * step, axis=1)
    extra = np.stack([turn, lines.v, lines.u, _doubled(xyz, normal)], axis=-1)
    return np.concatenate([xyz, normal, extra], axis=-1)


def _doubled(xyz: Floats, normal: Floats) -> Floats:
    """Give the Gaussian curvature (L, M): the area the normals turn over, by the area itself."""
    along, across = np.gradient(xyz, axis=0), np.gradient(xyz, axis=1)
    turned = np.cross(np.gradient(normal, axis=0), np.gradient(normal, axis=1))
    area = np.sum(np.cross(along, across) * normal, axis=-1)
    least = 0.05 * float(np.median(np.abs(area)))  # where lines run together it says nothing
    curved = np.sum(turned * normal, axis=-1)
    doubled: Floats = np.where(np.abs(area) > least, curved / np.where(area == 0, 1.0, area), 0.0)
    return doubled


def _spots(value: Floats, slope: Floats) -> Spots:
    return Spots(
        value[..., :3],
        slope[..., :3],
        value[..., 3:6],
        slope[..., 3:6],
        value[..., _TURN],
        value[..., _V],
        slope[..., _V],
        value[..., _DOUBLED],
    )
