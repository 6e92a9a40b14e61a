"""Flat shapes found in other ways: finite elements, another library, bending back."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import sparse
from scipy.interpolate import CubicSpline, RectBivariateSpline
from scipy.optimize import least_squares
from scipy.sparse.linalg import spsolve

from made_hulls import launch
from made_planking import even_lining, stepped_layout, ways_of
from made_shapes import apart, splined
from ribband.numerics.flattening import flatten
from ribband.planks import get_shapes
from ribband.planks.opening import openings

LINES, ROWS = 96, 8  # twice as fine as the planks' own grid


@pytest.fixture(scope="module")
def boat():
    hull = splined(launch())
    lining = even_lining(hull, 16)
    ways = ways_of(hull, lining)
    return hull, lining, ways, stepped_layout(ways)


def finer(opening, p: int):
    """u, v of a plank's opening on a grid twice as fine, (97, 9)."""
    s, t = np.arange(49.0), np.arange(5.0)
    fine = np.linspace(0, 48, LINES + 1), np.linspace(0, 4, ROWS + 1)
    return [np.clip(RectBivariateSpline(s, t, g[p])(*fine), 0, 1) for g in (opening.u, opening.v)]


def triangles() -> np.ndarray:
    at = np.arange((LINES + 1) * (ROWS + 1)).reshape(LINES + 1, ROWS + 1)
    a, b, c, d = at[:-1, :-1].ravel(), at[1:, :-1].ravel(), at[:-1, 1:].ravel(), at[1:, 1:].ravel()
    flip = (np.arange(LINES)[:, None] + np.arange(ROWS)).ravel() % 2 == 0
    first = np.where(flip[:, None], np.stack([a, b, d], 1), np.stack([a, b, c], 1))
    second = np.where(flip[:, None], np.stack([a, d, c], 1), np.stack([b, d, c], 1))
    return np.concatenate([first, second])


def run_lengths(surface, u, v, pairs) -> np.ndarray:
    """Lengths on the surface from point to point, along 8 short chords."""
    t = np.linspace(0, 1, 9)
    i, j = pairs.T
    path = surface.point(
        u[i, None] + (u[j] - u[i])[:, None] * t, v[i, None] + (v[j] - v[i])[:, None] * t
    )
    return np.linalg.norm(np.diff(path, axis=1), axis=-1).sum(axis=1)


def least_energy(lengths, faces, start) -> np.ndarray:
    """Flat points of least membrane energy: triangles strained from those of the three lengths.

    lengths : (T, 3) of sides 01, 12, 20
    """
    a, b, c = lengths.T
    x = (a**2 + c**2 - b**2) / (2 * a)
    y = np.sqrt(c**2 - x**2)
    rest = np.zeros((len(faces), 2, 2))
    rest[:, 0, 0], rest[:, 0, 1], rest[:, 1, 1] = a, x, y
    inverse = np.linalg.inv(rest)
    root = np.sqrt(a * y / 2)

    def strain(flat):
        p = flat.reshape(-1, 2)[faces]
        sides = np.stack([p[:, 1] - p[:, 0], p[:, 2] - p[:, 0]], axis=-1)
        return sides @ inverse

    def residual(flat):
        f = strain(flat)
        e = (np.einsum("tki,tkj->tij", f, f) - np.eye(2)) / 2
        return (root[:, None] * e.reshape(-1, 4)).ravel()

    def slope(flat):
        f = strain(flat)
        # d sides / d corner: columns of the inverse, and their negative sum at corner 0
        d = np.stack([-inverse.sum(axis=1), inverse[:, 0], inverse[:, 1]], axis=1)
        part = np.einsum("tai,tkj->tijak", d, f)
        part = root[:, None, None, None, None] * (part + part.swapaxes(1, 2)) / 2
        rows = np.arange(4 * len(faces)).reshape(-1, 2, 2, 1, 1) + np.zeros((1, 1, 1, 3, 2), int)
        columns = (2 * faces[:, :, None] + np.arange(2))[:, None, None] + np.zeros(
            (1, 2, 2, 1, 1), int
        )
        shape = (4 * len(faces), 2 * (faces.max() + 1))
        return sparse.csr_array((part.ravel(), (rows.ravel(), columns.ravel())), shape=shape)

    flat = start.ravel().copy()
    for _ in range(12):  # Gauss-Newton, three coordinates held
        j, r = slope(flat).tocsc(), residual(flat)
        free = np.ones(flat.size, bool)
        middle = (LINES // 2) * (ROWS + 1) + ROWS // 2
        free[[2 * middle, 2 * middle + 1, 2 * (ROWS // 2) + 1]] = False
        j = j[:, np.flatnonzero(free)]
        step = spsolve((j.T @ j).tocsc(), j.T @ r)
        flat[free] -= step
        if np.abs(step).max() < 1e-7:
            break
    found = least_squares(residual, flat, slope, method="trf", tr_solver="lsmr", max_nfev=2)
    assert np.abs(found.fun).sum() == pytest.approx(np.abs(residual(flat)).sum(), rel=1e-3)
    return flat.reshape(-1, 2)


def mesh(hull, opening, p):
    u, v = (g.ravel() for g in finer(opening, p))
    faces = triangles()
    sides = np.stack([faces, np.roll(faces, -1, axis=1)], axis=-1)
    lengths = run_lengths(hull.surface, u, v, sides.reshape(-1, 2)).reshape(-1, 3)
    return u, v, faces, lengths


@pytest.mark.parametrize("name", ["1-1", "2-2", "5-3", "8-1", "12-2", "16-2"])
def test_finite_elements_give_the_same_shape(boat, name: str) -> None:
    hull, *rest = boat
    opening = openings(hull, *rest)
    p = opening.name.index(name)
    *_, faces, lengths = mesh(hull, opening, p)
    ours = flatten(opening.xyz[[p]], opening.normal[[p]]).points[0]
    rough = interpolated(ours)
    other = least_energy(lengths, faces, rough + np.random.default_rng(1).normal(0, 1, rough.shape))
    other = other.reshape(LINES + 1, ROWS + 1, 2)[::2, ::2]
    assert apart(ours.reshape(-1, 2), other.reshape(-1, 2)) < 0.05


def interpolated(grid):
    fine = np.linspace(0, 48, LINES + 1), np.linspace(0, 4, ROWS + 1)
    parts = [
        RectBivariateSpline(np.arange(49.0), np.arange(5.0), grid[..., k])(*fine) for k in (0, 1)
    ]
    return np.stack(parts, axis=-1).reshape(-1, 2)


@pytest.mark.parametrize("name", ["2-2", "8-1", "16-2"])
def test_another_library_flattens_to_the_same_shape(boat, name: str) -> None:
    """As rigid as can be and conformal maps of the same triangles, by libigl, side by side."""
    igl = pytest.importorskip("igl", reason="libigl is not installed: not compared with it")
    hull, *rest = boat
    opening = openings(hull, *rest)
    p = opening.name.index(name)
    u, v, faces, _ = mesh(hull, opening, p)
    xyz = hull.surface.point(u, v)
    ours = flatten(opening.xyz[[p]], opening.normal[[p]]).points[0]
    start = np.ascontiguousarray(interpolated(ours))
    data = igl.ARAPData()
    held = np.array([LINES // 2 * (ROWS + 1) + ROWS // 2], np.int32)
    igl.arap_precomputation(xyz, faces, 2, held, data)
    rigid = start
    for _ in range(5):
        rigid = igl.arap_solve(start[held], data, rigid)
    ends = np.array([ROWS // 2, LINES * (ROWS + 1) + ROWS // 2])
    alike, _ = igl.lscm(xyz, faces, ends, start[ends])
    for other in (rigid, alike):
        grid = other.reshape(LINES + 1, ROWS + 1, 2)[::2, ::2].reshape(-1, 2)
        assert apart(grid, ours.reshape(-1, 2)) < 0.05


def footed(surface, u, v, wanted):
    """Slide u, v (m,) to the feet of points (m, 3)."""
    for _ in range(2):
        at, by_u, by_v = surface.tensor.many(u, v, ((0, 0), (1, 0), (0, 1)))
        sides = np.stack([by_u, by_v], axis=-1)
        step = np.linalg.solve(
            sides.swapaxes(1, 2) @ sides, sides.swapaxes(1, 2) @ (wanted - at)[..., None]
        )[..., 0]
        u, v = u + step[:, 0], v + step[:, 1]
    return u, v, surface.tensor.at(u, v)


def side_of(surface, u, v, ahead):
    normal = surface.normal(u, v)
    ahead = ahead - np.sum(ahead * normal, axis=-1, keepdims=True) * normal
    ahead = ahead / np.linalg.norm(ahead, axis=-1, keepdims=True)
    return ahead, np.cross(ahead, normal)


def walked(surface, u, v, ahead, turn, step):
    """Go one step along curves that turn by `turn` for each mm in the surface (midpoint rule)."""
    at = surface.tensor.at(u, v)
    ahead, side = side_of(surface, u, v, ahead)
    half = footed(surface, u, v, at + ahead * step[:, None] / 2)
    bent, side = side_of(surface, *half[:2], ahead + side * (turn * step / 2)[:, None])
    u, v, _ = footed(surface, u, v, at + bent * step[:, None])
    return u, v, side_of(surface, u, v, ahead + side * (turn * step)[:, None])[0]


def laid_back(surface, shapes, u, v, ahead):
    """Lay the planks' middles on the hull from starts (m,), given with their directions (m, 3).

    Gives u, v, direction at each point of the edges, (193, m, ...).
    """
    lines = [CubicSpline(np.arange(193), (s.lower + s.upper) / 2) for s in shapes]
    found = [(u, v, ahead)]
    for part in (np.arange(4 * 192) + 0.5) / 4:
        d, dd = (np.array([line(part, n) for line in lines]) for n in (1, 2))
        speed = np.linalg.norm(d, axis=1)
        turn = (d[:, 0] * dd[:, 1] - d[:, 1] * dd[:, 0]) / speed**3
        u, v, ahead = walked(surface, u, v, ahead, turn, speed / 4)
        found.append((u, v, ahead))
    return [np.stack(part) for part in zip(*found[::4], strict=True)]


def edge_misses(surface, shape, u, v, ahead) -> np.ndarray:
    """How far the edges, set off from a laid middle (193,), miss their seams, (2, 193)."""
    middle = (shape.lower + shape.upper) / 2
    way = np.gradient(middle, axis=0)
    way /= np.linalg.norm(way, axis=1, keepdims=True)
    now, side = side_of(surface, u, v, ahead)
    missed = []
    for edge, seam in ((shape.lower, shape.strake / 16), (shape.upper, (shape.strake + 1) / 16)):
        off = edge - middle
        far = np.linalg.norm(off, axis=1)
        on, up = np.sum(off * way, axis=1), off[:, 1] * way[:, 0] - off[:, 0] * way[:, 1]
        eu, ev, out = u, v, now * (on / far)[:, None] + side * (up / far)[:, None]
        for _ in range(10):
            eu, ev, out = walked(surface, eu, ev, out, 0 * far, far / 10)
        missed.append((ev - seam) * np.linalg.norm(surface.tensor.at(eu, ev, 0, 1), axis=-1))
    return np.array(missed)


def test_planks_bent_back_close_their_openings(boat) -> None:
    """Laid on the hull with the flat plank's own turning, and no strain, from its best start."""
    hull, *rest = boat
    names = ["2-2", "5-3", "9-2", "16-2"]
    shapes = [s for s in get_shapes(hull, *rest).shapes if s.name in names]
    opening = openings(hull, *rest)
    rows = [opening.name.index(s.name) for s in shapes]
    u, v = opening.u[rows, 0, 2], opening.v[rows, 0, 2]
    ahead = opening.xyz[rows, 1, 2] - opening.xyz[rows, 0, 2]
    ahead /= np.linalg.norm(ahead, axis=1, keepdims=True)
    poses = [(u, v, ahead), (u, v + 5e-4, ahead), (u, v, ahead + np.array([0, 0, 1e-3]))]
    u, v, ahead = (np.concatenate(a) for a in zip(*poses, strict=True))
    laid = laid_back(hull.surface, shapes * 3, u, v, ahead)
    for k, shape in enumerate(shapes):
        plain, moved, swung = (
            edge_misses(hull.surface, shape, *(a[:, k + len(shapes) * pose] for a in laid)).ravel()
            for pose in range(3)
        )
        ways = np.stack([moved - plain, swung - plain], axis=1)
        missed = plain + ways @ np.linalg.lstsq(ways, -plain, rcond=None)[0]
        assert np.abs(missed).max() < 0.05
