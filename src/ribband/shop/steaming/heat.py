"""Heat into a plank in the steam box, and out of it again: slabs and rectangles of wood.

*Diffusivity*: how fast heat spreads, mm2/s; from specific gravity and moisture by the Wood
Handbook's formulas for conductivity and heat capacity (2010, ch. 4), both taken at 24 C, where the
first was measured. *Slab*: wide and long, heated through both faces; *rectangle*: the product of
two slabs (MacLean 1932, in ch. 20 of the same). In the box the faces are taken to be at the
steam's temperature at once, because steam condenses on them; outside, air and wind carry the heat
off by a coefficient of convection.

Not reckoned: heat along the plank to its ends, water boiling off a hot face, the heat of wetting,
and how the figures change with temperature. Times are estimates: a fifth either way is usual.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import lru_cache

import numpy as np

from ribband.hull.model import Floats

__all__ = [
    "TABLE_DIFFUSIVITY",
    "conductivity",
    "convection",
    "cooling_seconds",
    "diffusivity",
    "heat_capacity",
    "heating_seconds",
    "left_of_centre",
    "left_of_mean",
]

TABLE_DIFFUSIVITY = 0.147  # mm2/s, the best fit to Table 20-4, wood-handbook-2010-ch20
ROOM_K = 297.15
TERMS = 60
LEAST_FOURIER = 1e-4


def conductivity(gravity: float, moisture: float) -> float:
    """Give W/(m K) across the grain: G (0.1941 + 0.004064 x) + 0.01864.

    `gravity` is oven-dry weight over volume at the moisture; `moisture` 0 to 25 %, above which it
    is held at 25 (the formula ends there). Within a fifth, says the Wood Handbook 2010, ch. 4.

    >>> round(conductivity(0.5882, 10.0), 4)
    0.1567
    """
    return gravity * (0.1941 + 0.004064 * min(moisture, 25.0)) + 0.01864


def heat_capacity(moisture: float, kelvin: float = ROOM_K) -> float:
    """Give kJ/(kg K) of wood with its water, Wood Handbook 2010, ch. 4; below fibre saturation.

    >>> round(heat_capacity(12.0, 340.0), 4)
    1.9146
    """
    x = min(moisture, 25.0)
    dry = 0.1031 + 0.003867 * kelvin
    bound = x * (-0.06191 + 2.36e-4 * kelvin - 1.33e-4 * x)
    return (dry + 0.0418 * x) / (1 + x / 100) + bound


def diffusivity(gravity: float | None, moisture: float) -> float:
    """Give mm2/s across the grain; where the gravity is not known, the fit to Table 20-4.

    >>> round(diffusivity(0.48, 12.0), 3), diffusivity(None, 12.0)
    (0.153, 0.147)
    """
    if gravity is None:
        return TABLE_DIFFUSIVITY
    density = 1000.0 * gravity * (1 + moisture / 100)
    return 1e3 * conductivity(gravity, moisture) / (density * heat_capacity(moisture))


def left_of_centre(fourier: float) -> float:
    """Give the part of the difference left at a slab's middle; faces held at the new temperature.

    `fourier` is diffusivity x time / (half the thickness)^2.

    >>> round(left_of_centre(0.5), 4), left_of_centre(0.0)
    (0.3708, 1.0)
    """
    if fourier < LEAST_FOURIER:
        return 1.0
    n = 2 * np.arange(TERMS) + 1
    sign = np.where(n % 4 == 1, 1.0, -1.0)
    return float((4 / math.pi * sign / n * np.exp(-((n * math.pi / 2) ** 2) * fourier)).sum())


def heating_seconds(  # noqa: PLR0917 - sizes, wood and three temperatures
    thickness_mm: float, width_mm: float, spread: float, start_c: float, steam_c: float,
    wanted_c: float,
) -> float:  # fmt: skip
    """Give seconds until the middle of a rectangle in steam is at `wanted_c`.

    `spread` is the diffusivity, mm2/s; a width of infinity makes it a slab.

    Raises
    ------
    ValueError : the temperature wanted is not between the start and the steam, or no size

    >>> round(heating_seconds(50.8, float("inf"), 0.161, 20, 100, 95) / 60, 1)  # references 1.6
    81.6
    """
    if not start_c < wanted_c < steam_c:
        raise ValueError(f"a temperature between {start_c:g} and {steam_c:g} C, not {wanted_c:g}")
    part = (steam_c - wanted_c) / (steam_c - start_c)
    halves = _halves(thickness_mm, width_mm)
    return _when(lambda t: math.prod(left_of_centre(spread * t / half**2) for half in halves), part)


def left_of_mean(fourier: float, biot: float) -> float:
    """Give the part of the difference left in a slab's mean temperature, cooled by convection.

    `biot` is coefficient x half thickness / conductivity.

    >>> round(left_of_mean(1.0, 1.0), 3)
    0.47
    """
    root, weight = _terms(biot)
    return float((weight * np.exp(-(root**2) * fourier)).sum())


def cooling_seconds(  # noqa: PLR0917 - sizes, wood, three temperatures and the wind
    thickness_mm: float, width_mm: float, gravity: float | None, moisture: float,
    hot_c: float, air_c: float, wanted_c: float, wind_ms: float,
) -> float:  # fmt: skip
    """Give seconds until a hot plank's mean temperature has fallen to `wanted_c`.

    Raises
    ------
    ValueError : the temperature wanted is not between air and start, or no size

    >>> 100 < cooling_seconds(25.4, 200.0, 0.48, 20.0, 100, 15, 80, 2.0) < 400
    True
    """
    if not air_c < wanted_c < hot_c:
        raise ValueError(f"a temperature between {air_c:g} and {hot_c:g} C, not {wanted_c:g}")
    spread = diffusivity(gravity, moisture)
    k = conductivity(0.5 if gravity is None else gravity, moisture)
    part = (wanted_c - air_c) / (hot_c - air_c)
    h = convection(wind_ms)
    slabs = [(half, h * half / 1000.0 / k) for half in _halves(thickness_mm, width_mm)]
    return _when(
        lambda t: math.prod(left_of_mean(spread * t / half**2, bi) for half, bi in slabs), part
    )


def convection(wind_ms: float) -> float:
    """Give W/(m2 K) from a flat face to the air: 5.7 + 3.8 v, radiation within it; recalled.

    >>> convection(0.0), convection(5.0)
    (5.7, 24.7)
    """
    return 5.7 + 3.8 * max(wind_ms, 0.0)


def _halves(thickness_mm: float, width_mm: float) -> tuple[float, ...]:
    if not (thickness_mm > 0 and width_mm > 0):
        raise ValueError("a thickness and a width greater than nothing")
    return tuple(size / 2 for size in (thickness_mm, width_mm) if math.isfinite(size))


@lru_cache(maxsize=512)
def _terms(biot: float) -> tuple[Floats, Floats]:
    """Give the roots of b tan b = biot, one in each half turn, by halving, and their weights."""
    low = math.pi * np.arange(TERMS) + 1e-12
    high = low + math.pi / 2
    way = np.where(np.arange(TERMS) % 2, -1.0, 1.0)  # the sign of the cosine in that half turn
    for _ in range(60):
        b = (low + high) / 2
        under = way * (b * np.sin(b) - biot * np.cos(b)) < 0
        low, high = np.where(under, b, low), np.where(under, high, b)
    b = (low + high) / 2
    return b, 4 * np.sin(b) ** 2 / (b * (2 * b + np.sin(2 * b)))


def _when(left: Callable[[float], float], part: float) -> float:
    """Find when a falling part reaches `part`: doubling, then halving, to a hundred-thousandth."""
    late = 1.0
    while left(late) > part:
        late *= 2
    early = late / 2 if late > 1.0 else 0.0
    while late - early > 1e-5 * late:
        middle = (early + late) / 2
        early, late = (middle, late) if left(middle) > part else (early, middle)
    return (early + late) / 2
