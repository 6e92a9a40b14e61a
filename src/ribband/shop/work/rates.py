"""Rates of work: man-hours of each operation for each plank, by its length, width and grade.

The rates of ``data/rates.csv`` stand where the yard gives none of its own. Their source told only
the pace of a whole crew; how the hours share out over the operations is the house's, set so that
together they give that pace. A yard's own rows for an operation take the place of all of ours.

Rates know length, width (through the area), frames crossed and steaming. They do not know the
thickness, the timber or the weather: a yard's own log does (`work/learning.py`).
"""

from __future__ import annotations

import csv
from collections.abc import Sequence
from functools import cache
from importlib.resources import files

from ribband.shop.work.model import OPERATIONS, Measure, Rate

__all__ = ["UNITS", "default_rates", "hands_of", "hours_of", "scatter_of", "wanted", "with_own"]

FOOT = 0.3048
UNITS: dict[str, tuple[str, float]] = {  # unit: what is counted, and how many of it one unit is
    "plank": ("plank", 1.0),
    "steamed plank": ("steamed plank", 1.0),
    "frame": ("frame", 1.0),
    "metre": ("metre", 1.0),
    "foot": ("metre", FOOT),
    "square metre": ("square metre", 1.0),
    "square foot": ("square metre", FOOT**2),
    "seam metre": ("seam metre", 1.0),
    "seam foot": ("seam metre", FOOT),
}


@cache
def default_rates() -> tuple[Rate, ...]:
    """Give the rates of the table.

    >>> default_rates()[0].operation
    'pattern'
    """
    text = files("ribband").joinpath("data", "rates.csv").read_text(encoding="utf-8")
    return tuple(
        Rate(
            row["operation"],
            row["unit"],
            float(row["hours"]),
            int(row["hands"]),
            float(row["scatter"]),
            row["source"],
            row["says"],
        )
        for row in csv.DictReader(text.splitlines())
    )


def with_own(own: Sequence[Rate]) -> tuple[Rate, ...]:
    """Give the default rates with every operation the yard has rates of put in their place.

    >>> len(with_own([Rate("caulk", "seam foot", 0.05, 1, 0.2)])) == len(default_rates())
    True
    """
    said = {rate.operation for rate in own}
    return (*(rate for rate in default_rates() if rate.operation not in said), *own)


def wanted(measure: Measure) -> tuple[str, ...]:
    """Give the operations a plank wants: no hollowing where it is flat, no steam where cold."""
    without = {"hollow"} if not measure.hollow else set()
    without |= {"steam"} if measure.steam_min is None else set()
    return tuple(operation for operation in OPERATIONS if operation not in without)


def hours_of(operation: str, measure: Measure, rates: Sequence[Rate]) -> float:
    """Give the man-hours of an operation on a plank.

    >>> plank = Measure("P1-1", "port", 9.144, 1.6, 20, 9.144)
    >>> round(sum(hours_of(op, plank, default_rates()) for op in wanted(plank)), 1)
    11.8
    """
    counted = {
        "plank": 1.0,
        "steamed plank": float(measure.steam_min is not None),
        "frame": float(measure.frames),
        "metre": measure.length_m,
        "square metre": measure.area_m2,
        "seam metre": measure.seam_m,
    }
    return sum(
        rate.hours * counted[UNITS[rate.unit][0]] / UNITS[rate.unit][1]
        for rate in rates
        if rate.operation == operation
    )


def hands_of(operation: str, rates: Sequence[Rate]) -> int:
    """Give how many hands an operation takes; none for one that goes on by itself.

    >>> hands_of("hang", default_rates()), hands_of("steam", default_rates())
    (3, 0)
    """
    return max((rate.hands for rate in rates if rate.operation == operation), default=0)


def scatter_of(operation: str, rates: Sequence[Rate]) -> float:
    """Give the scatter of an operation's hours from plank to plank, as a part of them."""
    return max((rate.scatter for rate in rates if rate.operation == operation), default=0.0)
