"""Where the planes of the frames meet the surface, and the girth along each.

A frame forward of the forefoot, or abaft the heel of a raking post or transom, starts on that
edge instead of the keel. Lengths are of runs of 257 chords: short by 0.001 % on a round bilge.

Not checked: that x grows along every line of constant v (a hull folded back on itself).
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from ribband.hull.model import Floats, GirthLines
from ribband.hull.surface import SplineSurface, along_curvature
from ribband.numerics.bspline import Tensor
from ribband.numerics.polyline import along

__all__ = ["Start", "cut_frames", "girth_lines", "own_lines"]

Start = Literal["keel", "stem", "stern"]
Basis = Literal["measured", "faired", "between"]
_FINE = 257
_SLACK = 1.0  # mm: a frame this close outside an end is taken on it


@dataclass(frozen=True, eq=False)
class _Run:
    """One frame's cut before it is evened out: fine u, v from its start to the sheer."""

    u: Floats
    v: Floats
    start: Start


def cut_frames(
    tensor: Tensor, x_mm: Floats, samples: int
) -> tuple[list[int], list[Start], Floats, Floats, Floats]:
    """Cut the surface at positions x (f,).

    Returns
    -------
    which : indices of the positions whose plane meets the planking from an edge to the sheer
    starts : where each starts
    u, v : (k, samples) at even girth fractions
    girth : (k,) mm
    """
    only_x = Tensor(tensor.along, tensor.across, tensor.coefficients[..., :1])
    fine = np.linspace(0, 1, 513)
    ends = only_x.at(0.0, fine)[:, 0], only_x.at(1.0, fine)[:, 0]
    runs = {i: run for i, x in enumerate(x_mm) if (run := _start(fine, *ends, float(x)))}
    which = list(runs)
    if not which:
        return [], [], np.empty((0, samples)), np.empty((0, samples)), np.empty(0)
    v = np.stack([runs[i].v for i in which])
    u = _solve(only_x, x_mm[which], v)
    u[:, 0] = [_edge_u(runs[i], u[k, 0]) for k, i in enumerate(which)]
    arc = along(tensor.at(u, v))
    u, v = _evened(only_x, x_mm[which], u, v, arc=arc, samples=samples)
    return which, [runs[i].start for i in which], u, v, arc[:, -1]


def _edge_u(run: _Run, u: float) -> float:
    return {"keel": u, "stem": 0.0, "stern": 1.0}[run.start]


def _start(fine: Floats, fore: Floats, aft: Floats, x: float) -> _Run | None:
    """Find where a frame starts, from x of both ends at v `fine`; None if it meets no sheer."""
    if x < fore[-1] - _SLACK or x > aft[-1] + _SLACK:
        return None
    even = np.linspace(0, 1, _FINE)
    if x < fore[0] - _SLACK:
        low = _crossing(fine, fore - x)
        return _Run(even, low + (1 - low) * even**2, "stem")
    if x > aft[0] + _SLACK:
        low = _crossing(fine, x - aft)
        return _Run(even, low + (1 - low) * even**2, "stern")
    return _Run(even, even, "keel")


def _crossing(v: Floats, above: Floats) -> float:
    """Give the last v at which `above` falls through zero."""
    k = int(np.flatnonzero(above > 0)[-1])
    k = min(k, len(v) - 2)
    share = above[k] / (above[k] - above[k + 1])
    return float(v[k] + share * (v[k + 1] - v[k]))


def _solve(only_x: Tensor, x_mm: Floats, v: Floats) -> Floats:
    """Find u (k, m) with x(u, v) = x, from a coarse table and Newton's method within brackets."""
    coarse = np.linspace(0, 1, 129)
    table_v = np.linspace(0, 1, 129)
    table = np.maximum.accumulate(only_x.grid(coarse, table_v)[..., 0], axis=0)
    table = table + 1e-7 * np.arange(len(coarse))[:, None]
    place = np.clip(v * 128, 0, 128)
    low = np.minimum(place.astype(int), 127)
    share = place - low
    guesses = np.stack([np.interp(x_mm, table[:, j], coarse) for j in range(129)], axis=-1)
    rows = np.arange(len(x_mm))[:, None]
    u = guesses[rows, low] * (1 - share) + guesses[rows, low + 1] * share
    for _ in range(6):
        value, slope = only_x.many(u, v, ((0, 0), (1, 0)))
        step = (x_mm[:, None] - value[..., 0]) / np.maximum(slope[..., 0], 1e-3 * _span(table))
        u = np.clip(u + np.clip(step, -0.02, 0.02), 0.0, 1.0)
        if np.abs(step).max() < 1e-7:  # the next would be the square of it
            break
    return np.asarray(u, float)


def _span(table: Floats) -> float:
    return float(table.max() - table.min())


def _evened(
    only_x: Tensor, x_mm: Floats, u: Floats, v: Floats, *, arc: Floats, samples: int
) -> tuple[Floats, Floats]:
    even = np.linspace(0, 1, samples)
    at_v = np.stack([np.interp(even * a[-1], a, row) for a, row in zip(arc, v, strict=True)])
    at_u = np.stack([np.interp(even * a[-1], a, row) for a, row in zip(arc, u, strict=True)])
    for _ in range(2):
        value, slope = only_x.many(at_u, at_v, ((0, 0), (1, 0)))
        step = (x_mm[:, None] - value[..., 0]) / np.where(
            np.abs(slope[..., 0]) > 1.0, slope[..., 0], np.inf
        )
        inside = (np.arange(samples) > 0)[None]
        at_u = np.clip(at_u + np.where(inside, np.clip(step, -0.01, 0.01), 0.0), 0.0, 1.0)
    return at_u, at_v


def girth_lines(
    tensor: Tensor,
    names: tuple[str, ...],
    x_mm: Floats,
    feet: tuple[Floats, Floats],
    *,
    girth: Floats,
    starts: tuple[Start, ...],
    basis: tuple[Basis, ...],
) -> GirthLines:
    """Put points, normals and curvatures to lines of samples u, v (L, M)."""
    surface = SplineSurface(tensor)
    u, v = feet
    return GirthLines(
        names, x_mm, girth, starts, u, v, surface.point(u, v), surface.normal(u, v),
        along_curvature(surface, u, v), basis,
    )  # fmt: skip


def own_lines(tensor: Tensor, lines: int, samples: int) -> GirthLines:
    """Give the solver's lines: u even from 0 to 1, v the girth fraction."""
    u, v = np.linspace(0, 1, lines), np.linspace(0, 1, samples)
    girth = along(tensor.grid(u, np.linspace(0, 1, _FINE)))[:, -1]
    full_u, full_v = (np.ascontiguousarray(a) for a in np.broadcast_arrays(u[:, None], v[None]))
    x = tensor.grid(u, v)[..., 0].mean(axis=1)
    keel: list[Start] = ["keel"] * lines
    between: list[Basis] = ["between"] * lines
    return girth_lines(
        tensor, ("",) * lines, x, (full_u, full_v),
        girth=girth, starts=tuple(keel), basis=tuple(between),
    )  # fmt: skip
