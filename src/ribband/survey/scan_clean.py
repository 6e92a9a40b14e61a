"""The hull out of a scan: thinned, and without floor, shores, staging and people.

*Coarse cloud*: one mean point in each cube of a side a three-hundredth of the scan's length; what
is kept or dropped is decided on it. Three things are taken away: wide *flats* with all the rest on
one side of them (floors, walls); *posts*, points whose neighbours lie in a line; and *pieces* that
hang together with nothing large. What touches the hull closer than a cube is left to the fitting
of the sections, which trusts the many.

Not checked here: that what is left is a hull.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.survey.scan_model import Floats

__all__ = ["Cleaned", "clean", "thin"]

Mask = NDArray[np.bool_]
FINE_MM = 10.0
PARTS = 300  # cubes along the length of the coarse cloud
FLAT_SHARE, ONE_SIDE = 0.04, 0.985
POST = 0.16  # spread across over spread along, of squares
PIECE_SHARE = 0.3


@dataclass(frozen=True, slots=True, eq=False)
class Cleaned:
    """The hull's points, fine and coarse, and what was left out (points of the fine cloud).

    floors : normals (k, 3), pointing to the hull, of the flats found
    """

    fine: Floats
    coarse: Floats
    cube_mm: float
    floors: Floats
    in_flats: int
    in_posts: int
    in_pieces: int
    pieces: int


def thin(points: Floats, cube_mm: float) -> tuple[Floats, NDArray[np.int64]]:
    """Give the mean point of every cube (m, 3), and the cube of each point (n,).

    >>> thin(np.array([[0.0, 0, 0], [1, 1, 1], [20, 0, 0]]), 10.0)[0].tolist()
    [[0.5, 0.5, 0.5], [20.0, 0.0, 0.0]]
    """
    place = np.floor((points - points.min(axis=0)) / cube_mm).astype(np.int64)
    size = place.max(axis=0) + 1
    key = (place[:, 0] * size[1] + place[:, 1]) * size[2] + place[:, 2]
    _, which = np.unique(key, return_inverse=True)
    count = np.bincount(which)
    mean = np.stack([np.bincount(which, weights=c) / count for c in points.T], axis=1)
    return mean, which.astype(np.int64)


def clean(points: Floats, floor: bool = True) -> Cleaned:
    """Thin a cloud and leave out what is not the hull."""
    fine, _ = thin(points, _fine_cube(points))
    cube = _length(fine) / PARTS
    coarse, which = thin(fine, cube)
    keep, floors = _without_flats(coarse, cube) if floor else (np.ones(len(coarse), bool), [])
    count = np.bincount(which)
    in_flats = int(count[~keep].sum())
    cube = _length(coarse[keep]) / PARTS
    if cube < 0.8 * _length(fine) / PARTS:  # the floor was far longer than the hull
        fine = fine[keep[which]]
        coarse, which = thin(fine, cube)
        keep, count = np.ones(len(coarse), bool), np.bincount(which)
    posts = _posts(coarse, cube, keep)
    keep = keep & ~posts
    large, pieces = _large_pieces(coarse, cube, keep)
    return Cleaned(
        fine[large[which]], coarse[large], cube, np.array(floors).reshape(-1, 3), in_flats,
        int(count[posts].sum()), int(count[keep & ~large].sum()), pieces,
    )  # fmt: skip


def _length(points: Floats) -> float:
    """Give the length of the middle of a cloud along its longest way, mm."""
    away = points - points.mean(axis=0)
    _, axes = np.linalg.eigh(np.cov(away.T))
    along = away @ axes[:, -1]
    return float(np.quantile(along, 0.99) - np.quantile(along, 0.01)) + 1e-9


def _fine_cube(points: Floats) -> float:
    """Give the side of the fine cubes: 10 mm, more on a large vessel."""
    some = points[:: max(1, len(points) // 100_000)]
    return max(FINE_MM, _length(some) / 3000.0)


def _without_flats(coarse: Floats, cube: float) -> tuple[Mask, list[Floats]]:
    """Take away floors and walls, the largest first; give what is kept, and their normals."""
    keep = np.ones(len(coarse), bool)
    normals: list[Floats] = []
    rng = np.random.default_rng(0)
    for _ in range(5):
        found = _flat(coarse[keep], cube, rng)
        if found is None:
            break
        normal, height = found
        keep &= coarse @ normal - height > 1.3 * cube
        normals.append(normal)
    return keep, normals


def _flat(points: Floats, cube: float, rng: np.random.Generator) -> tuple[Floats, float] | None:
    """Find a wide flat with all the rest on one side: its normal towards the rest, and height."""
    some = points[rng.choice(len(points), min(len(points), 6000), replace=False)]
    corners = some[rng.integers(0, len(some), (600, 3))]
    normal = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    normal /= np.linalg.norm(normal, axis=1, keepdims=True) + 1e-9
    away = some @ normal.T - np.sum(corners[:, 0] * normal, axis=1)
    on = np.abs(away) < 0.6 * cube
    rest = np.maximum((~on).sum(axis=0), 1)
    side = np.maximum((away > 0.6 * cube).sum(axis=0), (away < -0.6 * cube).sum(axis=0)) / rest
    share = on.mean(axis=0)
    good = (share > FLAT_SHARE) & (side > ONE_SIDE)
    if not good.any():
        return None
    best = int(np.argmax(np.where(good, share, 0.0)))
    return _trued(points, normal[best], float(corners[best, 0] @ normal[best]), cube)


def _trued(
    points: Floats, normal: Floats, height: float, cube: float
) -> tuple[Floats, float] | None:
    """Fit a flat to all its points; None if it is not wide both ways."""
    for _ in range(3):
        own = points[np.abs(points @ normal - height) < 0.6 * cube]
        spread, axes = np.linalg.eigh(np.cov(own.T))
        normal, height = axes[:, 0], float(own.mean(axis=0) @ axes[:, 0])
    if np.sqrt(spread[1]) < 0.05 * _length(points):
        return None
    if np.median(points @ normal - height) < 0:
        normal, height = -normal, -height
    return normal, height


def _pairs(points: Floats, reach: float) -> NDArray[np.int64]:
    from scipy.spatial import cKDTree  # noqa: PLC0415 - heavy

    found: NDArray[np.int64] = cKDTree(points).query_pairs(reach, output_type="ndarray")
    return found


def _posts(coarse: Floats, cube: float, keep: Mask) -> Mask:
    """Mark the points whose neighbours lie in a line."""
    at = np.flatnonzero(keep)
    points = coarse[at]
    pairs = _pairs(points, 4.5 * cube)
    both = np.concatenate([pairs, pairs[:, ::-1]])
    step = points[both[:, 1]] - points[both[:, 0]]
    n = len(points)
    count = np.bincount(both[:, 0], minlength=n) + 1.0
    mean = np.stack([np.bincount(both[:, 0], s, n) for s in step.T], axis=1) / count[:, None]
    spread = np.empty((n, 3, 3))
    for i in range(3):
        for j in range(i, 3):
            product = np.bincount(both[:, 0], step[:, i] * step[:, j], n) / count
            spread[:, i, j] = spread[:, j, i] = product - mean[:, i] * mean[:, j]
    sizes = np.linalg.eigvalsh(spread)
    marked = np.zeros(len(coarse), bool)
    marked[at] = (sizes[:, 1] < POST * sizes[:, 2]) | (count < 5)
    return marked


def _large_pieces(coarse: Floats, cube: float, keep: Mask) -> tuple[Mask, int]:
    """Keep the largest piece, and those nearly as large; also count the pieces dropped."""
    from scipy.sparse import coo_array  # noqa: PLC0415 - heavy
    from scipy.sparse.csgraph import connected_components  # noqa: PLC0415

    at = np.flatnonzero(keep)
    pairs = _pairs(coarse[at], 2.2 * cube)
    links = coo_array((np.ones(len(pairs)), (pairs[:, 0], pairs[:, 1])), shape=(len(at), len(at)))
    total, piece = connected_components(links, directed=False)
    size = np.bincount(piece, minlength=total)
    large = size > PIECE_SHARE * size.max()
    kept = np.zeros(len(coarse), bool)
    kept[at] = large[piece]
    return kept, int(np.sum(~large & (size > 3)))
