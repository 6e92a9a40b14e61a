"""The seams as smooth curves v(u): what marks on frames, planks and models are all taken from.

The solver knows a seam on its lines alone. Between lines it is one cubic spline, with more points
put between the first two lines and the last two: where keel and stem run into each other a seam
near them rises ever steeper in u towards the hood end; along its own length it runs fair, so there
it is taken by its length. A stealer's upper seam is a curve of its own over the lines it stands on.

Not checked: that seams run fair or do not cross.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats, Surface
from ribband.lining.model import Lining

__all__ = ["SeamCurves", "curves_of", "curves_through", "lines_of"]

Ints = NDArray[np.intp]
CLOSER = 8  # points of a seam in the solver's first space and last


@dataclass(frozen=True, slots=True, eq=False)
class SeamCurves:
    """Cubics of R seams over K knots.

    knots : (K,) of u; parts : (4, K - 1, R), powers of u from a knot, highest first
    first, last : (R,) the pieces a seam may be read on; beyond them the outermost is carried on
    """

    knots: Floats
    parts: Floats
    first: Ints
    last: Ints

    def at(self, row: Ints, u: Floats) -> Floats:
        """Give v, from 0 to 1, of seam `row` (...) at `u` (...)."""
        t, (a, b, c, d) = self._piece(row, u)
        return np.asarray(np.clip(((a * t + b) * t + c) * t + d, 0.0, 1.0), float)

    def with_slope(self, row: Ints, u: Floats) -> tuple[Floats, Floats]:
        """Give v of seam `row` (...) at `u` (...), not held within 0 and 1, and dv/du."""
        t, (a, b, c, d) = self._piece(row, u)
        return ((a * t + b) * t + c) * t + d, (3 * a * t + 2 * b) * t + c

    def _piece(self, row: Ints, u: Floats) -> tuple[Floats, Floats]:
        piece = np.searchsorted(self.knots, u, "right") - 1
        piece = np.clip(piece, self.first[row], self.last[row])
        return u - self.knots[piece], self.parts[:, piece, row]


def curves_of(surface: Surface, lining: Lining, rows: Ints | None = None) -> SeamCurves:
    """Put smooth curves through the seams of a lining, or through `rows` of them."""
    v = np.clip(lining.seam_v, 0.0, 1.0)
    near = np.arange(len(v)) if rows is None else rows
    stands = {k + 1: lines_of(lining, k) for k, s in enumerate(lining.strakes) if s.stealer}
    lines = slice(None, 4), slice(None, -5, -1)
    fore, aft = (
        surface.point(np.broadcast_to(lining.seam_u[some], (len(near), 4)), v[near, some])
        for some in lines
    )
    return curves_through(lining.seam_u, v, stands, (fore, aft), near)


def lines_of(lining: Lining, k: int) -> tuple[int, int]:
    """Give the first line and the last that a strake (row k) stands on."""
    on = np.flatnonzero(lining.present[k])
    return int(on[0]), int(on[-1])


def curves_through(
    u: Floats,
    v: Floats,
    stands: Mapping[int, tuple[int, int]],
    ends: tuple[Floats, Floats] | None,
    rows: Ints | None = None,
) -> SeamCurves:
    """Put smooth curves through seams.

    Parameters
    ----------
    u, v : (L,), (R, L) of the seams on the lines, L at least four
    stands : for seams that do not run over all lines (a stealer's upper one) the first line and
        the last it stands on
    ends : (R, 4, 3) each, where the seams lie on the first four lines, and on the last four from
        the end in; None with girths alone: no points are put between lines
    rows : the seams wanted, to which `ends` belong; the others stay nothing

    >>> u = np.linspace(0.0, 1.0, 6)
    >>> curves = curves_through(u, np.array([u**3]), {}, None)
    >>> float(curves.at(np.array([0]), np.array([0.5]))[0].round(6))
    0.125
    """
    near = np.arange(len(v)) if rows is None else rows
    knots, some = (u, v[near]) if ends is None else _closer_ends(u, v[near], *ends)
    parts = np.zeros((4, len(knots) - 1, len(v)))
    parts[..., near] = _cubics(knots, some)
    first, last = np.zeros(len(v), int), np.full(len(v), len(knots) - 2)
    for place, row in enumerate(near.tolist()):
        if row in stands:
            start, end = np.searchsorted(knots, u[list(stands[row])])
            own = slice(start, end + 1)
            parts[:, start:end, row] = _cubics(knots[own], some[place : place + 1, own])[..., 0]
            first[row], last[row] = start, end - 1
    return SeamCurves(knots, parts, first, last)


def _cubics(knots: Floats, values: Floats) -> Floats:
    """Give the cubics (4, K - 1, R) of splines through values (R, K) at knots (K,)."""
    return np.asarray(_cubics_of_each(knots.tobytes()) @ values.T, float)


@lru_cache(maxsize=64)
def _cubics_of_each(own: bytes) -> Floats:
    """Give what each value counts for in the cubics of a spline through it, (4, K - 1, K)."""
    from scipy.interpolate import CubicSpline  # noqa: PLC0415 - heavy

    knots = np.frombuffer(own)
    return np.asarray(CubicSpline(knots, np.eye(len(knots))).c, float)


def _closer_ends(u: Floats, v: Floats, fore: Floats, aft: Floats) -> tuple[Floats, Floats]:
    """Put more points on seams v (R, L) between their first two and last two lines."""
    part = np.linspace(0.0, 1.0, CLOSER + 1)[1:-1] ** 2
    first, last = u[0] + (u[1] - u[0]) * part, u[-1] - (u[-1] - u[-2]) * part
    head = _by_length(fore, u[:4], v[:, :4], first)
    tail = _by_length(aft, u[:-5:-1], v[:, :-5:-1], last)
    knots = np.concatenate([u[:1], first, u[1:-1], last[::-1], u[-1:]])
    inner = [v[:, :1], head, v[:, 1:-1], tail[:, ::-1], v[:, -1:]]
    return knots, np.concatenate(inner, axis=1)


def _by_length(xyz: Floats, u: Floats, v: Floats, at: Floats) -> Floats:
    """Give v (R, k) at u = `at` in the first space, by cubics in length through four points."""
    run = np.linalg.norm(np.diff(xyz, axis=1), axis=-1).cumsum(axis=1)
    run = np.concatenate([np.zeros((len(v), 1)), np.maximum(run, [1.0, 2.0, 3.0])], axis=1)
    fine = np.linspace(0.0, 1.0, 10 * CLOSER + 1) * run[:, 1:2]
    weight = np.ones((*fine.shape, 4))
    for i in range(4):
        for j in {0, 1, 2, 3} - {i}:
            weight[..., i] *= (fine - run[:, j : j + 1]) / (run[:, i] - run[:, j])[:, None]
    along, height = weight @ u, np.einsum("rfi,ri->rf", weight, v)
    turn = 1.0 if u[1] > u[0] else -1.0
    return np.array([np.interp(turn * at, turn * a, h) for a, h in zip(along, height, strict=True)])
