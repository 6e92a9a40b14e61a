"""Planks laid flat: ours against general maps of triangles (libigl), on the same grids.

Two of the library's ways: *as rigid as can be* (ARAP, begun from its conformal map, ten rounds) and
*conformal* (LSCM, two points held). Each gets every plank's grid of 49 x 5 points as triangles, as
ours does. On a cylinder and a cone the true shape is known. On the made launch the lengths of the
seams are, measured along the hull's own surface in short steps: what a flat edge is off them is
the *seam error*. Errors under a micrometre count as one. Processor time, the least of three runs
where they are short.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from importlib import import_module
from importlib.util import find_spec
from time import process_time
from typing import Any

import numpy as np

from benchmarks.shapes import job, strip
from benchmarks.table import Row, compared, made
from ribband.numerics.flattening import flatten
from ribband.planks.opening import openings

__all__ = ["rows"]

STRAKES = (15, 20, 25)
ANGLES = np.radians([0.0, 20.0, 45.0, 70.0, 90.0])
ROUNDS = 10
NO_MATTER = 1e-3  # mm; less is no use to a yard
SHORT = 0.3  # s


def rows() -> Iterator[Row]:
    """Compare on closed forms, then on a hull."""
    if find_spec("igl") is None:
        print("libigl is absent; nothing to compare with")
        return
    grids = [(flat, *on_cylinder(flat, angle)) for flat in (plank(),) for angle in ANGLES]
    ways = {"as rigid as can be": rigid, "conformal": conformal}
    ours = [off(flat, flatten(xyz[None], up[None]).points[0]) for flat, xyz, up in grids]
    for name, way in ways.items():
        theirs = [off(flat, way(xyz)) for flat, xyz, _ in grids]
        yield compared(f"plank of 12 m on a cylinder, {name}, error", ours, theirs, "mm")
    yield from on_hulls(ways)


def plank() -> Any:
    """Give a swept plank of 12 m in the plane, (49, 5, 2)."""
    return strip(12000.0, 180.0, 300.0)


def on_cylinder(flat: Any, angle: float) -> tuple[Any, Any]:
    """Wrap a flat plank round a cylinder of 1 m, turned by an angle: points and normals."""
    around, along = (
        flat[..., 0] * np.cos(angle + turn) + flat[..., 1] * np.sin(angle + turn)
        for turn in (0.0, np.pi / 2)
    )
    up = np.stack([0 * around, np.sin(around / 1000.0), -np.cos(around / 1000.0)], axis=-1)
    return 1000.0 * up + along[..., None] * np.eye(3)[0], up


def off(flat: Any, found: Any) -> float:
    """Give the greatest distance of a shape from the true one, either way up, mm."""
    apart = made("made_shapes").apart
    wanted = flat.reshape(-1, 2)
    least = min(apart(found.reshape(-1, 2) * [1, side], wanted) for side in (1, -1))
    return max(float(least), NO_MATTER)


def on_hulls(ways: Mapping[str, Callable[[Any], Any]]) -> Iterator[Row]:
    """Compare seam errors and times on the made launch, lined out with more and more strakes."""
    jobs = [job(strakes, 7) for strakes in STRAKES]
    opened = [openings(*own) for own in jobs]
    true = [seams(own[0], one) for own, one in zip(jobs, opened, strict=True)]
    flat, spent = zip(
        *(timed(lambda o=o: flatten(o.xyz, o.normal).points) for o in opened), strict=True
    )
    ours = [worst(points, lengths) for points, lengths in zip(flat, true, strict=True)]
    for name, way in ways.items():
        theirs, took = [], []
        for one, lengths in zip(opened, true, strict=True):
            points, seconds = timed(each, one, way)
            theirs.append(worst(points, lengths))
            took.append(seconds)
        yield compared(f"planks of a launch, {name}, worst seam error", ours, theirs, "mm")
        yield compared(f"planks of a launch, {name}, time", spent, took, "s")


def ours_flat(opening: Any) -> Any:
    """Lay every plank flat at once, our way; (P, n, m, 2)."""
    return flatten(opening.xyz, opening.normal).points


def each(opening: Any, way: Callable[[Any], Any]) -> Any:
    """Lay every plank flat, one after another; (P, n, m, 2)."""
    return np.stack([way(xyz) for xyz in opening.xyz])


def timed(run: Callable[..., Any], *given: Any) -> tuple[Any, float]:
    """Give what a run gives, and the least processor seconds of three if it is a short one."""
    spent: list[float] = []
    found = None
    while len(spent) < 3 and (not spent or min(spent) < SHORT):
        begun = process_time()
        found = run(*given)
        spent.append(process_time() - begun)
    return found, min(spent)


def seams(hull: Any, opening: Any) -> Any:
    """Give the true lengths of both edges of every plank, (P, 2), along the surface, mm.

    Between two points of the grid the surface is followed in eight steps of girth and length.
    """
    found = []
    for edge in (0, -1):
        u, v = (part[:, :, edge] for part in (opening.u, opening.v))
        fine = np.linspace(0, u.shape[1] - 1, 8 * (u.shape[1] - 1) + 1)
        at = [
            np.stack([np.interp(fine, np.arange(u.shape[1]), row) for row in part])
            for part in (u, v)
        ]
        xyz = hull.surface.point(*at)
        found.append(np.linalg.norm(np.diff(xyz, axis=1), axis=-1).sum(axis=1))
    return np.stack(found, axis=1)


def worst(points: Any, lengths: Any) -> float:
    """Give the greatest difference in length between a flat edge and its seam, mm."""
    edges = points[:, :, [0, -1]]
    flat = np.linalg.norm(np.diff(edges, axis=1), axis=-1).sum(axis=1)
    return float(np.abs(flat - lengths).max())


def rigid(xyz: Any) -> Any:
    """Lay a grid (n, m, 3) flat as rigidly as can be, by the library; (n, m, 2)."""
    igl = import_module("igl")
    corners, faces = triangles(xyz)
    start = np.ascontiguousarray(conformal(xyz).reshape(-1, 2))
    held = np.array([len(corners) // 2], np.int32)
    data = igl.ARAPData()
    igl.arap_precomputation(corners, faces, 2, held, data)
    found = start
    for _ in range(ROUNDS):
        found = igl.arap_solve(start[held], data, found)
    return found.reshape(*xyz.shape[:2], 2)


def conformal(xyz: Any) -> Any:
    """Lay a grid (n, m, 3) flat conformally, by the library; (n, m, 2)."""
    igl = import_module("igl")
    corners, faces = triangles(xyz)
    middle = xyz[:, xyz.shape[1] // 2]
    long = float(np.linalg.norm(np.diff(middle, axis=0), axis=-1).sum())
    ends = np.array([xyz.shape[1] // 2, len(corners) - 1 - xyz.shape[1] // 2])
    found, _ = igl.lscm(corners, faces, ends, np.array([[0.0, 0.0], [long, 0.0]]))
    return found.reshape(*xyz.shape[:2], 2)


def triangles(xyz: Any) -> tuple[Any, Any]:
    """Cut a grid into triangles: corners (n m, 3) and faces (2 (n - 1)(m - 1), 3)."""
    rows, columns = xyz.shape[:2]
    at = np.arange(rows * columns).reshape(rows, columns)
    a, b, c, d = at[:-1, :-1], at[1:, :-1], at[1:, 1:], at[:-1, 1:]
    faces = np.concatenate([np.stack(f, axis=-1).reshape(-1, 3) for f in ((a, b, c), (a, c, d))])
    return np.ascontiguousarray(xyz.reshape(-1, 3)), np.ascontiguousarray(faces)
