"""Where the seams lie before they are settled: divided by shares, or taken from seams near by.

Seams settled for one division begin another (more strakes, a stealer more) on the same lines, or
the same division on other lines. Not checked: that the two are anything alike.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats, GirthLines, Hull
from ribband.lining.division import Division
from ribband.lining.ground import Ground

__all__ = ["on_other_lines", "shared_out", "start_from_shares", "with_fewer_lines"]

_ENOUGH = 45  # lines; with fewer none is left out


def start_from_shares(ground: Ground, division: Division) -> Floats:
    """Divide every line by the shares wanted: (R, L) girth fractions."""
    return _by_shares(division) * np.ones_like(ground.u)


def shared_out(fraction: Floats, settled: Division, division: Division) -> Floats:
    """Begin a division from seams (R, L) settled for another: where the shares fall on them."""
    old, new = _by_shares(settled), _by_shares(division)
    return np.stack(
        [np.interp(new[:, i], old[:, i], fraction[:, i]) for i in range(fraction.shape[1])], axis=1
    )


def on_other_lines(fraction: Floats, u: Floats, ground: Ground, division: Division) -> Floats:
    """Begin on the lines of `ground` from seams (R, len(u)) settled on the lines at `u`."""
    seams = np.array([np.interp(ground.u, u, row) for row in fraction])
    for k, here in enumerate(division.present()):
        seams[k + 1] = np.where(here, seams[k + 1], seams[k])
    return seams


def with_fewer_lines(hull: Hull) -> Hull:
    """Give the hull with every second line, where it has many; frames stay as they are."""
    if hull.lines is hull.frames or len(hull.lines.x_mm) < _ENOUGH:
        return hull
    count = len(hull.lines.x_mm)
    keep = np.unique(np.linspace(0, count - 1, count // 2 + 1).round().astype(int))
    return replace(hull, lines=_some(hull.lines, keep))


def _some(lines: GirthLines, keep: NDArray[np.int64]) -> GirthLines:
    def rows(table: Floats | None) -> Floats | None:
        return None if table is None else table[keep]

    return replace(
        lines,
        names=tuple(lines.names[i] for i in keep),
        starts=tuple(lines.starts[i] for i in keep),
        basis=tuple(lines.basis[i] for i in keep),
        x_mm=lines.x_mm[keep],
        girth_mm=lines.girth_mm[keep],
        u=lines.u[keep],
        v=lines.v[keep],
        xyz=rows(lines.xyz),
        normal=rows(lines.normal),
        curvature=rows(lines.curvature),
    )


def _by_shares(division: Division) -> Floats:
    share = np.where(division.present(), division.share, 0.0)
    upper = np.cumsum(share, axis=0) / share.sum(axis=0)
    return np.vstack([np.zeros((1, share.shape[1])), upper])
