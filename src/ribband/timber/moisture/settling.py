"""Where moisture settles, and what it does to a board's width and thickness.

*Equilibrium moisture content*: per cent of dry weight at which wood left in air of a temperature
and humidity settles in the end. *Flat* cut: the face's width is tangential to the rings, the
thickness radial; *quarter*: the other way about. A cut that is not known is taken as moving
tangentially both ways, the most it can.

Wood shrinks in a straight line below fibre saturation (Wood Handbook 2010, eq. 4-7)::

    shrinkage at x % = S (1 - x / F)        S green to oven-dry, F fibre saturation, usually 30

Between 6 and 14 % the handbook's coefficients of Table 13-5 are used where they are known::

    change = dimension x C x (moisture then - moisture now)

Not checked here: the board itself. These are averages of species; boards differ by a third and
more, and moisture does not settle for weeks or months.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

from ribband.timber.model import FIBRE_SATURATION, Figure, Species

__all__ = [
    "Grain",
    "Movement",
    "change_by_coefficient",
    "change_by_shrinkage",
    "equilibrium_celsius",
    "movement",
    "partial_shrinkage",
]

Grain = Literal["flat", "quarter", ""]
COEFFICIENT_RANGE = (6.0, 14.0)  # per cent of moisture, Table 13-5
_DISAGREE = 1.10  # a coefficient livelier than the shrinkage by more than this is followed
# W, K, K1, K2 of eq. 4-5 as polynomials in the temperature, constant first
_CELSIUS = (
    (349.0, 1.29, 0.0135),
    (0.805, 0.000736, -0.00000273),
    (6.27, -0.00938, -0.000303),
    (1.91, 0.0407, -0.000293),
)


def equilibrium_celsius(celsius: float, humidity_percent: float) -> float:
    """Give the equilibrium moisture content, %, at -1.1 to 132.2 deg C and 5 to 95 % humidity.

    Wood Handbook 2010, eq. 4-5, within the range of its Table 4-2.

    Raises
    ------
    ValueError : temperature or humidity outside the range of the table

    >>> round(equilibrium_celsius(20, 65), 1)
    12.0
    """
    _refuse_outside("temperature", celsius, -1.2, 132.3, "degrees C")
    _refuse_outside("humidity", humidity_percent, 5.0, 95.0, "per cent")
    w, k, k1, k2 = (sum(c * celsius**n for n, c in enumerate(row)) for row in _CELSIUS)
    kh = k * humidity_percent / 100
    first = kh / (1 - kh)
    second = (k1 * kh + 2 * k1 * k2 * kh**2) / (1 + k1 * kh + k1 * k2 * kh**2)
    return 1800 / w * (first + second)


def partial_shrinkage(
    total_percent: float, moisture_percent: float, fibre_saturation: float = FIBRE_SATURATION
) -> float:
    """Give the shrinkage from green, %, of wood dried to a moisture content (eq. 4-7).

    At and above fibre saturation there is none.

    >>> partial_shrinkage(10.5, 15.0), partial_shrinkage(10.5, 40.0)
    (5.25, 0.0)
    """
    if moisture_percent < 0:
        raise ValueError(f"moisture content of 0 per cent or more, not {moisture_percent:g}")
    return total_percent * (1 - min(moisture_percent, fibre_saturation) / fibre_saturation)


def change_by_shrinkage(
    total_percent: float,
    moisture_from: float,
    moisture_to: float,
    fibre_saturation: float = FIBRE_SATURATION,
) -> float:
    """Give the change as a part of the dimension at `moisture_from`; growth is positive.

    The dimensions at the two moistures by eq. 4-7, one over the other, less one.

    >>> round(6 * change_by_shrinkage(7.6, 12.0, 20.0), 4)
    0.1274
    """
    before = 1 - partial_shrinkage(total_percent, moisture_from, fibre_saturation) / 100
    after = 1 - partial_shrinkage(total_percent, moisture_to, fibre_saturation) / 100
    return after / before - 1


def change_by_coefficient(coefficient: float, moisture_from: float, moisture_to: float) -> float:
    """Give the change as a part of the dimension, by Table 13-5; growth is positive.

    Raises
    ------
    ValueError : a moisture outside 6 to 14 %, for which the coefficients hold

    >>> round(5 * change_by_coefficient(0.00129, 6.0, 9.0), 3)
    0.019
    """
    for moisture in (moisture_from, moisture_to):
        _refuse_outside("moisture content", moisture, *COEFFICIENT_RANGE, "per cent")
    return coefficient * (moisture_to - moisture_from)


@dataclass(frozen=True, slots=True)
class Movement:
    """How much a board changes, as parts of its size, growth positive; None where not known.

    `source` is the key of the figures' source; `assumed` tells that the cut was not known and the
    tangential figure stands for both ways.
    """

    width: float | None
    thickness: float | None
    source: str
    assumed: bool


def movement(species: Species, cut: Grain, moisture_from: float, moisture_to: float) -> Movement:
    """Give the movement of a board between two moisture contents, each 0 % or more.

    Inside 6 to 14 % by the coefficient, else by shrinkage. Where the coefficient is livelier than
    the shrinkage tells by over a tenth, as in some imported timbers, it is followed throughout.

    >>> from ribband.timber.species import species_named
    >>> moved = movement(species_named("white oak"), "flat", 30.0, 15.0)
    >>> round(moved.width, 4), round(moved.thickness, 4)
    (-0.0525, -0.028)
    """
    tangential = _way(species, "tangential", moisture_from, moisture_to)
    radial = _way(species, "radial", moisture_from, moisture_to)
    width, thickness = {
        "flat": (tangential, radial), "quarter": (radial, tangential), "": (tangential, tangential)
    }[cut]  # fmt: skip
    return Movement(width.value, thickness.value, width.source or thickness.source, not cut)


def _way(
    species: Species, way: Literal["radial", "tangential"], before: float, after: float
) -> Figure:
    """Give the change one way of the grain, and the source of the figure it rests on."""
    shrinkage: Figure = getattr(species, way)
    coefficient: Figure = getattr(species, f"change_{way}")
    saturation = species.fibre_saturation.value or FIBRE_SATURATION
    low, high = COEFFICIENT_RANGE
    if coefficient.value is not None and low <= min(before, after) and max(before, after) <= high:
        return Figure(change_by_coefficient(coefficient.value, before, after), coefficient.source)
    total = _total(shrinkage, coefficient, saturation)
    if total.value is None:
        return total
    return Figure(change_by_shrinkage(total.value, before, after, saturation), total.source)


def _total(shrinkage: Figure, coefficient: Figure, saturation: float) -> Figure:
    """Give the shrinkage to go by: as tabled, or as the coefficient implies if that is livelier.

    The coefficient is the slope of eq. 4-7 at 10 %: C = 1 / (100 F / S - (F - 10)).
    """
    if coefficient.value is None:
        return shrinkage
    implied = 100 * saturation / (1 / coefficient.value + saturation - 10)
    if shrinkage.value is None or implied > _DISAGREE * shrinkage.value:
        return Figure(implied, coefficient.source)
    return shrinkage


def _refuse_outside(what: str, value: float, least: float, most: float, unit: str) -> None:
    if not (math.isfinite(value) and least <= value <= most):
        raise ValueError(f"{what} from {least:g} to {most:g} {unit}, not {value:g}")
