"""The lifting equation: what one person may lift by hand, by NIOSH, and what a team may.

*Limit*: the recommended weight for one lift: 23 kg times six multipliers, for how far out, how
high, how far up, how far round, how often and how well held. *Index*: weight over limit; above 1
some are hurt, above 3 nearly all are at risk. A team lifts less than its members one by one: two
hands two thirds of the sum, three or four half of it; more than four seldom work together (HSE).

It does not hold for one hand, for carrying, in a cramped place, kneeling, hot or slippery, nor for
a load that shifts: a plank hot from the box, bending on a staging is all of these. Local rules and
whoever answers for safety in the yard come first.
"""

from __future__ import annotations

import csv
import math
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Literal

__all__ = ["LOAD_KG", "Grip", "Lift", "Limit", "Spell", "hands_for", "limit", "team_kg"]

LOAD_KG = 23.0  # the load constant
GOOD_HEIGHT_MM = 750.0
Grip = Literal["good", "fair", "poor"]
Spell = Literal["hour", "two hours", "eight hours"]
COUPLING = {"good": (1.0, 1.0), "fair": (0.95, 1.0), "poor": (0.9, 0.9)}  # below, from 750 mm up
TEAM = {1: 1.0, 2: 2 / 3}
LARGE_TEAM = 0.5


@dataclass(frozen=True, slots=True)
class Lift:
    """One lift. `out_mm` from between the ankles to the hands; heights of the hands over the floor.

    turn_deg : from straight ahead; a_minute : lifts; spell : how long it goes on, rests between
    """

    out_mm: float
    from_mm: float
    to_mm: float
    turn_deg: float = 0.0
    a_minute: float = 0.2
    spell: Spell = "hour"
    grip: Grip = "fair"


@dataclass(frozen=True, slots=True)
class Limit:
    """The recommended limit and the multipliers it is made of."""

    kg: float
    out: float
    height: float
    travel: float
    turn: float
    often: float
    grip: float


def limit(lift: Lift, *, at_end: bool = False) -> Limit:
    """Give the recommended weight limit where the lift begins, or where it ends.

    Out of the equation's range (hands over 630 mm out or 1750 mm high, more than 135 degrees
    round, too often) the limit is nothing.

    Raises
    ------
    ValueError : a measure below nothing

    >>> round(limit(Lift(250, 750, 1000, grip="good")).kg, 1)
    23.0
    """
    if min(lift.out_mm, lift.from_mm, lift.to_mm, lift.turn_deg, lift.a_minute) < 0:
        raise ValueError("a lift has no measure below nothing")
    height = lift.to_mm if at_end else lift.from_mm
    parts = (
        _out(lift.out_mm),
        _height(height),
        _travel(abs(lift.to_mm - lift.from_mm)),
        1 - 0.0032 * lift.turn_deg if lift.turn_deg <= 135 else 0.0,
        _often(lift.a_minute, lift.spell, lift.from_mm),
        COUPLING[lift.grip][height >= GOOD_HEIGHT_MM],
    )
    return Limit(LOAD_KG * math.prod(parts), *parts)


def _out(mm: float) -> float:
    return 250.0 / max(mm, 250.0) if mm <= 630.0 else 0.0


def _height(mm: float) -> float:
    return 1 - 0.0003 * abs(mm - GOOD_HEIGHT_MM) if mm <= 1750.0 else 0.0


def _travel(mm: float) -> float:
    return 0.82 + 45.0 / max(mm, 250.0) if mm <= 1750.0 else 0.0


@cache
def _table() -> tuple[dict[str, float], ...]:
    text = files("ribband").joinpath("data", "lifting.csv").read_text("utf-8")
    return tuple(
        {k: float(v) for k, v in row.items() if k != "source"}
        for row in csv.DictReader(text.splitlines())
    )


def _often(a_minute: float, spell: Spell, from_mm: float) -> float:
    """Give the multiplier of frequency, straight between the rows of the table."""
    column = f"{spell.replace(' ', '_')}_{'high' if from_mm >= GOOD_HEIGHT_MM else 'low'}"
    rows = _table()
    often = max(a_minute, rows[0]["lifts_a_minute"])
    if often > rows[-1]["lifts_a_minute"]:
        return 0.0
    after = next(k for k, row in enumerate(rows) if row["lifts_a_minute"] >= often)
    if after == 0:
        return rows[0][column]
    one, other = rows[after - 1], rows[after]
    part = (often - one["lifts_a_minute"]) / (other["lifts_a_minute"] - one["lifts_a_minute"])
    return one[column] + part * (other[column] - one[column])


def team_kg(one_kg: float, hands: int) -> float:
    """Give what a team may lift of which each alone may lift `one_kg`.

    >>> team_kg(20.0, 1), round(team_kg(20.0, 2), 1), team_kg(20.0, 3), team_kg(20.0, 4)
    (20.0, 26.7, 30.0, 40.0)
    """
    return one_kg * hands * TEAM.get(hands, LARGE_TEAM)


def hands_for(kg: float, one_kg: float, most: int, least: int = 1) -> int | None:
    """Give the fewest hands that may lift a weight; None where a crane or tackle must.

    >>> hands_for(15.0, 14.0, 4), hands_for(25.0, 14.0, 4), hands_for(60.0, 14.0, 4) is None
    (2, 4, True)
    """
    return next((n for n in range(least, most + 1) if team_kg(one_kg, n) >= kg), None)
