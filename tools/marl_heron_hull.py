"""The hull of *Marl Heron*, an invented pilot launch, as one smooth polynomial patch.

A tensor-product Bezier patch over a net of 7 x 5 points: fair by construction, and not the
kind of surface Ribband fits, so that the example does not test the fit against itself.
x runs aft from the head of the stem rabbet, y out, z up from the underside of the keel, mm.
"""

# ruff: noqa: E501 - rows of the net stay whole
from __future__ import annotations

from math import comb

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["at_height", "at_station", "stem", "surface", "transom"]

Floats = NDArray[np.float64]

# Columns from the stem to the transom, each from the keel rabbet to the sheer.
NET: Floats = np.array(
    [
        [(2450, 45, 430), (1400, 45, 450), (800, 47, 1150), (330, 52, 2000), (0, 57, 2900)],
        [(4900, 70, 350), (4000, 620, 760), (2900, 1120, 1150), (2150, 1400, 1800), (1700, 1620, 2620)],
        [(7300, 75, 300), (6900, 1000, 560), (6000, 1720, 680), (5100, 1960, 1450), (4800, 2120, 2270)],
        [(9700, 75, 290), (9600, 1200, 500), (9300, 2600, 430), (8300, 2330, 1300), (7900, 2330, 2030)],
        [(12000, 75, 330), (12100, 1150, 560), (12000, 2430, 490), (11500, 2330, 1250), (11200, 2240, 1930)],
        [(14300, 65, 560), (14400, 900, 740), (14450, 2050, 720), (14300, 2150, 1300), (14200, 1990, 2010)],
        [(16350, 55, 950), (16380, 650, 1000), (16480, 1500, 1010), (16650, 1690, 1600), (16850, 1500, 2200)],
    ],
    dtype=float,
)  # fmt: skip


def surface(u: ArrayLike, v: ArrayLike) -> Floats:
    """Give the point (..., 3) at u (0 stem, 1 transom) and v (0 rabbet, 1 sheer)."""
    u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
    return np.einsum("i...,j...,ijk->...k", _bernstein(u, 6), _bernstein(v, 4), NET)


def stem(height: ArrayLike) -> Floats:
    """Give (x, half-siding) of the stem rabbet at a height, shape (..., 2)."""
    return _edge(0.0, height)


def transom(height: ArrayLike) -> Floats:
    """Give (x, half-breadth) of the transom's edge at a height, shape (..., 2)."""
    return _edge(1.0, height)


def at_station(x: float, points: int = 801) -> Floats:
    """Give the section at x as points (n, 3), from the rabbet of keel or stem to the sheer."""
    v = np.linspace(0.0, 1.0, points)
    v = v[surface(0.0, v)[:, 0] <= x] if x < surface(0.0, 0.0)[0] else v
    if len(v) < points:  # begins on the stem: find where
        low = _root(lambda a: x - surface(0.0, a)[..., 0], np.array(0.0), np.array(1.0))
        v = np.linspace(float(low), 1.0, points)
    if x > surface(1.0, 0.0)[0]:
        raise ValueError("the station crosses the transom")
    u = _root(lambda a: surface(a, v)[..., 0] - x, np.zeros(points), np.ones(points))
    return surface(u, v)


def at_height(section: Floats, z: float) -> float:
    """Give the half-breadth of a section at a height; NaN where it does not reach it."""
    return float(np.interp(z, section[:, 2], section[:, 1], left=np.nan, right=np.nan))


def _edge(u: float, height: ArrayLike) -> Floats:
    z = np.asarray(height, float)
    v = _root(lambda a: surface(u, a)[..., 2] - z, np.zeros(z.shape), np.ones(z.shape))
    return surface(u, v)[..., :2]


def _bernstein(t: Floats, degree: int) -> Floats:
    return np.stack([comb(degree, i) * t**i * (1 - t) ** (degree - i) for i in range(degree + 1)])


def _root(rising, low: Floats, high: Floats) -> Floats:  # type: ignore[no-untyped-def]
    for _ in range(60):
        mid = (low + high) / 2
        under = rising(mid) < 0
        low, high = np.where(under, mid, low), np.where(under, high, mid)
    return (low + high) / 2
