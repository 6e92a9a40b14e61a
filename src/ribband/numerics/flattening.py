"""Strips of a surface laid flat, all at once.

A *strip* is a grid of points on the surface with their unit normals, (P, n, m, 3): P strips, n
lines across, m rows along. Lengths on the surface come from chords corrected for curvature: with
the normals' change e over a chord d, turning through the angle f,

    length^2 = |d|^2 + (d . e)^2 ((f / |e|)^2 - 1) / |e|^2,   f = 2 asin(|e| / 2),

exact on cylinders (whatever the way) and spheres. The flat points are first rolled out along the
middle row by its turning, then moved so that a thin elastic sheet of the strip's own shape, laid
flat, holds the least energy:

    energy = sum over cells of area (E11^2 + E22^2 + 2 E12^2),

E being the strain from the flat cell to the surface's, taken on the cell's four sides and two
diagonals. Gauss-Newton; the equations of all strips lie in one band.

Not checked: that cells are neither crossed nor folded.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.errors import NotConverged

__all__ = ["Flat", "chord_lengths", "flatten", "unit"]

Floats = NDArray[np.float64]
ROUNDS = 5  # for the few strips that settle slowly, in a point
SETTLED_MM = 2e-3
_CORNERS = ((0, 0), (1, 0), (0, 1), (1, 1))
# sides and diagonals of a cell, from corner to corner: along twice, across twice, diagonals
_LINES = ((0, 1), (2, 3), (0, 2), (1, 3), (0, 3), (1, 2))
_TINY_MM2 = 1e-2


@dataclass(frozen=True, eq=False)
class Flat:
    """Strips laid flat.

    points : (P, n, m, 2), first along +x, rows rising to +y
    strain : (P, n - 1, m - 1, 3) left over in each cell: along, across, shear (half the angle)
    """

    points: Floats
    strain: Floats


def chord_lengths(p: Floats, q: Floats, p_normal: Floats, q_normal: Floats) -> Floats:
    """Give the lengths (...) on the surface between points (..., 3) with unit normals.

    >>> p, q = np.array([1.0, 0, 0]), np.array([0, 1.0, 0])  # a quarter of a unit circle
    >>> float(chord_lengths(p, q, p, q) * 2)
    3.14159265
    """
    d, e = q - p, q_normal - p_normal
    chord, size = _dot(d, d), _dot(e, e)
    # (f / |e|)^2 - 1 over |e|^2, with its series for near-parallel normals
    big = np.sqrt(np.minimum(np.maximum(size, 1e-3), 4.0))
    whole = ((2 * np.arcsin(big / 2) / big) ** 2 - 1) / big**2
    part = 1 / 12 + size / 90 + size**2 / 560
    bent = np.where(size < 1e-3, part, whole)
    return np.asarray(np.sqrt(chord + _dot(d, e) ** 2 * bent), float)


def flatten(xyz: Floats, normal: Floats, stretch: Floats | None = None) -> Flat:
    """Lay strips flat.

    `stretch` (P, n, m) lengthens the steps along by so much of themselves.
    """
    lines = _lines(xyz, normal, stretch)
    sheet = _sheet(lines)
    points, moved = _relaxed(_rolled_out(xyz, normal, lines), lines, sheet, 2)
    for _ in range(ROUNDS):
        loose = np.flatnonzero(moved > SETTLED_MM)
        if not len(loose):
            break
        part = lines[:, loose]
        points[loose], moved[loose] = _relaxed(points[loose], part, _sheet(part), 1)
    left = _strains(points, lines, sheet) / sheet.root_area
    return Flat(_straight(points), _mean_strain(left, points.shape))


def _relaxed(points: Floats, lines: Floats, sheet: _Sheet, steps: int) -> tuple[Floats, Floats]:
    """Take steps of Gauss and Newton on one set of slopes; give the last one's size too, (P,)."""
    slope = _slopes(points, sheet)
    stiff = _Stiff(slope, points.shape)
    for _ in range(steps):
        step = stiff.solve(slope, _strains(points, lines, sheet))
        points = points - step
    return points, np.abs(step).max(axis=(1, 2, 3))


def unit(vector: Floats) -> Floats:
    """Give unit vectors (..., d); nothing stays nothing."""
    return np.asarray(
        vector / np.maximum(np.linalg.norm(vector, axis=-1, keepdims=True), 1e-300), float
    )


def _dot(a: Floats, b: Floats) -> Floats:
    return np.asarray(np.einsum("...i,...i->...", a, b), float)


def _corner(grid: Floats, k: int) -> Floats:
    """Give corner k of every cell, (P, n - 1, m - 1, ...)."""
    i, j = _CORNERS[k]
    return grid[:, i : grid.shape[1] - 1 + i, j : grid.shape[2] - 1 + j]


def _lines(xyz: Floats, normal: Floats, stretch: Floats | None) -> Floats:
    """Give squared lengths (6, P, n - 1, m - 1) of the lines of every cell."""
    along = chord_lengths(xyz[:, :-1], xyz[:, 1:], normal[:, :-1], normal[:, 1:]) ** 2
    across = chord_lengths(xyz[:, :, :-1], xyz[:, :, 1:], normal[:, :, :-1], normal[:, :, 1:]) ** 2
    more = np.zeros_like(along)
    if stretch is not None:
        more = along * ((1 + (stretch[:, :-1] + stretch[:, 1:]) / 2) ** 2 - 1)
    crossed = [
        chord_lengths(*(_corner(a, k) for a in (xyz, normal) for k in ends)) ** 2
        + (more[:, :, :-1] + more[:, :, 1:]) / 2
        for ends in _LINES[4:]
    ]
    along = along + more
    return np.stack([along[:, :, :-1], along[:, :, 1:], across[:, :-1], across[:, 1:], *crossed])


@dataclass(frozen=True, eq=False)
class _Sheet:
    """How strains follow from changes of squared lengths: weigh (5, 6, N), N cells in a row."""

    weigh: Floats
    root_area: Floats


def _sheet(lines: Floats) -> _Sheet:
    """Strains E11 of both sides, E22 of both ends and E12, each by its share of the energy."""
    a0, a1, b0, b1, d1, d2 = lines.reshape(6, -1)
    aa = np.maximum((a0 + a1) / 2, _TINY_MM2)
    bb = np.maximum((b0 + b1) / 2, _TINY_MM2)
    ab = np.sqrt(aa * bb)
    cosine = np.clip((d1 - d2) / (4 * ab), -0.99, 0.99)
    sine2 = 1 - cosine**2
    root = np.sqrt(ab * np.sqrt(sine2))
    weigh = np.zeros((5, 6, len(aa)))
    half = np.sqrt(0.5)
    weigh[0, 0] = weigh[1, 1] = half / (2 * aa)
    weigh[2:4, :2] = half * cosine**2 / sine2 / (4 * aa)
    weigh[2, 2] = weigh[3, 3] = half / (2 * bb * sine2)
    weigh[2:4, 4] = -half * cosine / sine2 / (4 * ab)
    weigh[4, :2] = -np.sqrt(2) * cosine / np.sqrt(sine2) / (4 * aa)
    weigh[4, 4] = np.sqrt(2) / np.sqrt(sine2) / (8 * ab)
    weigh[2:, 5] = -weigh[2:, 4]
    return _Sheet(weigh * root, root)


def _ways(points: Floats) -> Floats:
    """Give the lines of every cell as vectors (6, 2, N)."""
    corner = [np.moveaxis(_corner(points, k), -1, 0).reshape(2, -1) for k in range(4)]
    return np.stack([corner[q] - corner[p] for p, q in _LINES])


def _strains(points: Floats, lines: Floats, sheet: _Sheet) -> Floats:
    """Give the weighted strains (5, N)."""
    ways = _ways(points)
    change = (ways**2).sum(axis=1) - lines.reshape(6, -1)
    return np.asarray(np.einsum("ken,en->kn", sheet.weigh, change), float)


def _slopes(points: Floats, sheet: _Sheet) -> Floats:
    """Give how strains change as corners move, (5, 8, N)."""
    ways = 2 * _ways(points)
    slope = np.zeros((5, 8, ways.shape[2]))
    for e, (p, q) in enumerate(_LINES):
        part = sheet.weigh[:, e, None] * ways[e]
        slope[:, 2 * q : 2 * q + 2] += part
        slope[:, 2 * p : 2 * p + 2] -= part
    return slope


class _Stiff:
    """The factored band of all strips; the middle point of each is held, and one end's height."""

    def __init__(self, slope: Floats, shape: tuple[int, ...]) -> None:
        from scipy.linalg import LinAlgError, cholesky_banded  # noqa: PLC0415

        self.shape = strips, n, m, _ = shape
        wide = 2 * (m + 1) + 2
        band = np.zeros((strips, 2 * n * m, wide))
        grid = band.reshape(strips, n, m, 2, wide)
        for p in range(8):
            for q in range(8):
                gap = self._place(q) - self._place(p)
                if gap >= 0:
                    both = np.einsum("kn,kn->n", slope[:, p], slope[:, q])
                    (i, j), c = _CORNERS[p // 2], p % 2
                    grid[:, i : n - 1 + i, j : m - 1 + j, c, gap] += both.reshape(
                        strips, n - 1, m - 1
                    )
        usual = band[..., 0].mean(axis=1)
        band[..., 0] += 1e-11 * usual[:, None]
        middle = grid[:, n // 2, m // 2, :, 0]
        middle += usual[:, None]
        grid[:, -1, m // 2, 1, 0] += usual
        try:
            self._factor = cholesky_banded(
                band.reshape(-1, wide).T, lower=True, check_finite=False, overwrite_ab=True
            )
        except LinAlgError as error:
            raise NotConverged("a plank's opening is crossed or folded") from error

    def _place(self, k: int) -> int:
        (i, j), c = _CORNERS[k // 2], k % 2
        return 2 * (i * self.shape[2] + j) + c

    def solve(self, slope: Floats, strain: Floats) -> Floats:
        """Give the Gauss-Newton step (P, n, m, 2) to be taken away."""
        from scipy.linalg import cho_solve_banded  # noqa: PLC0415

        strips, n, m, _ = self.shape
        right = np.zeros(self.shape)
        push = np.einsum("kqn,kn->qn", slope, strain)
        for k, (i, j) in enumerate(_CORNERS):
            part = push[2 * k : 2 * k + 2].reshape(2, strips, n - 1, m - 1)
            right[:, i : n - 1 + i, j : m - 1 + j] += np.moveaxis(part, 0, -1)
        step = cho_solve_banded((self._factor, True), right.reshape(-1), check_finite=False)
        return np.asarray(step.reshape(self.shape), float)


def _mean_strain(left: Floats, shape: tuple[int, ...]) -> Floats:
    """Give along, across and shear strain (P, n - 1, m - 1, 3) of each cell."""
    mean = [(left[0] + left[1]) / np.sqrt(2), (left[2] + left[3]) / np.sqrt(2)]
    strips, n, m, _ = shape
    return np.stack([*mean, left[4] / np.sqrt(2)], axis=-1).reshape(strips, n - 1, m - 1, 3)


def _rolled_out(xyz: Floats, normal: Floats, lines: Floats) -> Floats:
    """Roll the middle row out by its turning, and set the other rows off from it."""
    m = xyz.shape[2] // 2
    middle, square = xyz[:, :, m], normal[:, :, m]
    chord = np.diff(middle, axis=1)
    length = np.sqrt(lines[0][:, :, m])
    tangent = np.concatenate([chord[:, :1], chord[:, 1:] + chord[:, :-1], chord[:, -1:]], axis=1)
    tangent = unit(tangent - _dot(tangent, square)[..., None] * square)
    rise = np.cross(square, tangent)
    up = xyz[:, :, -1] - xyz[:, :, 0]
    rise *= np.sign(_dot(rise, up).sum(axis=1))[:, None, None]
    ahead = np.arctan2(_dot(chord, rise[:, :-1]), _dot(chord, tangent[:, :-1]))
    behind = np.arctan2(_dot(chord, rise[:, 1:]), _dot(chord, tangent[:, 1:]))
    # headings of the tangents: steps leave one at `ahead` and meet the next at `behind`
    heading = np.cumsum(np.pad(ahead - behind, ((0, 0), (1, 0))), axis=1)
    way = heading[:, :-1] + ahead
    step = length[..., None] * np.stack([np.cos(way), np.sin(way)], axis=-1)
    line = np.cumsum(np.pad(step, ((0, 0), (1, 0), (0, 0))), axis=1)
    off = xyz - middle[:, :, None]
    true = chord_lengths(middle[:, :, None], xyz, square[:, :, None], normal)
    flat = np.stack(
        [np.einsum("pnmi,pni->pnm", off, tangent), np.einsum("pnmi,pni->pnm", off, rise)], axis=-1
    )
    flat = unit(flat) * true[..., None]
    cos, sin = np.cos(heading)[:, :, None], np.sin(heading)[:, :, None]
    turned = np.stack(
        [cos * flat[..., 0] - sin * flat[..., 1], sin * flat[..., 0] + cos * flat[..., 1]], axis=-1
    )
    return np.asarray(line[:, :, None] + turned, float)


def _straight(points: Floats) -> Floats:
    """Turn each strip so that its middle row starts at 0 and ends on the x axis."""
    m = points.shape[2] // 2
    start = points[:, :1, m : m + 1]
    way = unit(points[:, -1, m] - points[:, 0, m])
    off = points - start
    c, s = way[:, 0, None, None], way[:, 1, None, None]
    return np.stack([c * off[..., 0] + s * off[..., 1], c * off[..., 1] - s * off[..., 0]], axis=-1)
