"""Surveys made by measuring hulls made from formulas, with errors and blunders put in."""

from __future__ import annotations

import numpy as np

from made_hulls import FormulaSurface, Shape, _cut, by_girth, launch_shape
from ribband.hull.sections import moved
from ribband.survey.model import Cell, EndPoint, FrameMark, Girth, Particulars, Reading, Survey


def surveyed(
    frames: int = 60,
    points: int = 16,
    noise: float = 3.0,
    seed: int = 0,
    blunders: int = 0,
    size: float = 15.0,
    shape: Shape | None = None,
    x: tuple[float, float] = (-700.0, 16700.0),
    *,
    ends: bool = True,
    over_mm: float = 0.0,
    side: str = "both",
) -> tuple[Survey, dict[str, float]]:
    """A survey of a hull, and the blunders in it by key.

    `over_mm` is the planking it was measured over.
    """
    rng = np.random.default_rng(seed)
    surface = FormulaSurface(shape or by_girth(launch_shape()))
    marks = tuple(FrameMark(str(i + 1), float(a)) for i, a in enumerate(np.linspace(*x, frames)))
    readings = [
        reading for mark in marks
        for reading in _station(surface, mark, points, noise, rng, over_mm, side)
    ]  # fmt: skip
    bad = {}
    inner = [i for i, r in enumerate(readings) if r.role == "surface"]
    for i in rng.choice(inner, blunders, replace=False):
        by = size * rng.choice([-1, 1])
        readings[i] = moved(readings[i], readings[i].value_mm + by)
        bad[readings[i].key] = by
    to = "planking" if over_mm else "frame"
    particulars = Particulars("a made survey", "mm", over_mm, measured_to=to)
    return Survey(particulars, marks, readings=tuple(readings), ends=_ends(surface, ends)), bad


def _ends(surface: FormulaSurface, wanted: bool) -> tuple[EndPoint, ...]:
    v = np.linspace(0, 1, 13)
    return tuple(
        EndPoint(f"{end} {k}", end, *map(float, p), Cell("ends", k + 2, "height"), "")
        for end, u in (("stem", 0.0), ("stern", 1.0)) if wanted
        for k, p in enumerate(surface.point(u, v))
    )  # fmt: skip


def _station(surface, mark, points, noise, rng, over, side):
    u, v = _cut(surface, mark.x_mm)
    at, run = np.linspace(0, 1, points + 1), np.linspace(0, 1, len(u))
    k = np.interp(at, run, u), np.interp(at, run, v)
    normal = surface.normal(*k)
    xyz = surface.point(*k) + over * normal
    xyz[:, 0] = mark.x_mm if not over else xyz[:, 0]
    for j, ((x, y, z), n) in enumerate(zip(xyz, normal, strict=True)):
        e = noise * rng.standard_normal(2)
        role = {0: "rabbet", points: "sheer"}.get(j, "surface")
        if role == "rabbet" and v[0] > 1e-6:
            continue
        if role == "surface":
            which = "y" if abs(n[1]) > abs(n[2]) else "z"
            read = (x, y + e[0], z) if which == "y" else (x, y, z + e[0])
            yield _reading(mark, f"line {j}", role, side, read, which if not over else "xyz")
        else:
            read = (x, y + (e[0] if role == "sheer" else 0.0), z + e[1])
            for which in "yz":
                yield _reading(mark, f"{role} {which}", role, side, read, which)


def _reading(mark, line, role, side, point, measured) -> Reading:
    x, y, z = map(float, point)
    value = z if measured == "z" else y
    cell = Cell("offsets", 2, mark.name)
    key = f"{line} at {mark.name} {side}"
    text = f"{value:.1f}"
    return Reading(key, mark.name, line, role, side, x, y, z, measured, value, cell, text)


def taped(frames: int = 36, noise: float = 0.0, seed: int = 0) -> Survey:
    """Girths only, of a canoe-like hull."""
    rng = np.random.default_rng(seed)
    x = np.arange(frames) * 350.0
    girth = 2300.0 * (1 - 0.45 * np.abs(np.linspace(-1, 1, frames) + 0.1) ** 2.4)
    girth = girth + noise * rng.standard_normal(frames)
    marks = tuple(FrameMark(str(i + 1), float(a)) for i, a in enumerate(x))
    girths = tuple(
        Girth(f"girth at {m.name}", m.name, m.x_mm, float(g), "both",
              Cell("girths", i + 2, "girth"), f"{g:.0f}")
        for i, (m, g) in enumerate(zip(marks, girth, strict=True))
    )  # fmt: skip
    return Survey(Particulars("a taped survey"), marks, girths=girths)
