"""Scans made of a hull from a formula: noise, a pose, a floor, shores, staging and a bystander."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from made_hulls import FormulaSurface, Shape, by_girth, launch_shape


@dataclass(frozen=True)
class Scan:
    """Points (n, 3) in the scanner's axes; scanner = turn @ hull + shift."""

    points: np.ndarray
    turn: np.ndarray
    shift: np.ndarray
    clutter: int
    surface: FormulaSurface

    def seen(self, points) -> tuple[tuple[float, float, float], ...]:
        """Hull points as picks."""
        at = np.atleast_2d(points) @ self.turn.T + self.shift
        return tuple(tuple(map(float, p)) for p in at)


def any_turn(rng) -> np.ndarray:
    q, r = np.linalg.qr(rng.standard_normal((3, 3)))
    q = q * np.sign(np.diag(r))
    return q if np.linalg.det(q) > 0 else q * [1, 1, -1]


def scanned(
    count: int = 300_000, noise: float = 2.0, seed: int = 0, clutter: bool = True,
    shape: Shape | None = None, sides: tuple[int, ...] = (1, -1),
) -> Scan:  # fmt: skip
    rng = np.random.default_rng(seed)
    surface = FormulaSurface(shape or by_girth(launch_shape()))
    hull = even_points(surface, count, rng)
    hull[:, 1] *= rng.choice(sides, count)
    parts = [hull + noise * rng.standard_normal(hull.shape)]
    if clutter:
        parts += about(surface, rng, count)
    points = np.concatenate(parts)
    points = points[rng.permutation(len(points))]
    pose = np.random.default_rng([seed, 1])  # the same whatever is scanned in it
    turn, shift = any_turn(pose), pose.uniform(-20_000, 20_000, 3)
    return Scan(points @ turn.T + shift, turn, shift, len(points) - count, surface)


def even_points(surface: FormulaSurface, count: int, rng) -> np.ndarray:
    u0, v0 = np.linspace(0, 1, 300), np.linspace(0, 1, 80)
    net = surface.point(*np.meshgrid(u0, v0, indexing="ij"))
    a, b = net[1:, 1:] - net[:-1, :-1], net[1:, :-1] - net[:-1, 1:]
    area = np.linalg.norm(np.cross(a, b), axis=-1)
    cell = rng.choice(area.size, count, p=area.ravel() / area.sum())
    i, j = np.unravel_index(cell, area.shape)
    s, t = rng.random((2, count))
    return surface.point(u0[i] + s * u0[1], v0[j] + t * v0[1])


def about(surface: FormulaSurface, rng, count: int) -> list[np.ndarray]:
    """A floor under her, six shores that touch her, two staging planks and somebody looking on."""
    part = count // 300_000 or 1
    floor = np.column_stack([
        rng.uniform(-3000, 19000, 60_000 * part), rng.uniform(-4500, 4500, 60_000 * part),
        rng.normal(-600.0, 3.0, 60_000 * part),
    ])  # fmt: skip
    found = [floor]
    for k, u in enumerate((0.3, 0.5, 0.7)):
        for side in (1, -1):
            top = surface.point(u, 0.8) * [1, side, 1]
            foot = top * [1, 0, 0] + [0, side * 3400.0, -600.0]
            found.append(rod(top, foot, 55.0, 2500, rng))
            if k < 2:
                along = np.array([2500.0, 0, 0])
                mid = np.array([top[0], side * 3300.0, 700.0])
                found.append(rod(mid - along, mid + along, 120.0, 4000, rng))
    found.append(
        rod(np.array([6000.0, 3600, -600]), np.array([6000.0, 3600, 1150]), 220.0, 5000, rng)
    )
    return found


def rod(a, b, radius, count, rng) -> np.ndarray:
    t, angle = rng.random(count), rng.uniform(0, 2 * np.pi, count)
    axis = (b - a) / np.linalg.norm(b - a)
    p, q = np.linalg.svd(axis[None])[2][1:]
    ring = radius * (np.cos(angle)[:, None] * p + np.sin(angle)[:, None] * q)
    return a + t[:, None] * (b - a) + ring + rng.normal(0, 2.0, (count, 3))


def picks(scan: Scan, rng=None, noise: float = 0.0) -> dict:
    """Picks of rabbet, sheer, stem and stern on alternate sides, and level picks and a datum."""
    s = scan.surface
    u = 0.5 - 0.5 * np.cos(np.linspace(0, np.pi, 25))
    v = np.linspace(0, 1, 9)
    alternate = np.where(np.arange(25) % 2 == 0, 1.0, -1.0)[:, None] * [0, 1, 0] + [1, 0, 1]
    lines = {
        "rabbet": s.point(u, 0.0 * u) * alternate, "sheer": s.point(u, 0.0 * u + 1.0) * alternate,
        "stem": s.point(0.0 * v, v), "stern": s.point(0.0 * v + 1.0, v),
    }  # fmt: skip
    rng = rng or np.random.default_rng(5)
    lines = {k: scan.seen(p + noise * rng.standard_normal(p.shape)) for k, p in lines.items()}
    base = np.array([[1000.0, 0, 0], [15000.0, 0, 0]])
    level = scan.seen(base)
    return lines | {"level": level, "datum": level[0]}
