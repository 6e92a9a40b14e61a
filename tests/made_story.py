"""Forty days at the slip: planks in an odd order, drift, a spoilt plank, a sick hand, shutters.

Both sides are planned, and then hung as it came; each side's seams drift its own way. Day n is the
nth working day from 1 March 2027. Planks are taken by strake from whatever stands that day.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from ribband.lining.model import Lining
from ribband.planks.model import Plank

__all__ = ["CREW", "DAYS", "ORDER", "SHUTTER", "SICK", "SPOILT_ON", "Day", "at_day", "some_days"]

FIRST = date(2027, 3, 1)
ORDER = (1, 12, 2, 3, 11, 4, 10, 5, 9, 6, 8)
SHUTTER = 7
OFF = {1: 4.0, 2: 6.0, 3: 10.0, 4: 7.0, 5: 4.0, 6: 6.0, 7: -4.0, 8: -5.0, 9: 5.0, 10: -6.0,
       11: 3.0}  # fmt: skip
PART = {"port": 1.0, "starboard": -0.6}
CREW = ("Ann", "Bo", "Cy")
SICK = range(11, 18)  # Ann is away
DAYS, SPOILT_ON = 40, 20


@dataclass(frozen=True, slots=True)
class Day:
    """What was written down on a day: rows of the forms `log` and `as_hung`."""

    at: str
    log: tuple[tuple[str, ...], ...]
    seams: tuple[tuple[str, ...], ...]


def some_days(
    planks: Sequence[Plank], lining: Lining, first: int, last: int, laid: Collection[str] = ()
) -> tuple[Day, ...]:
    """Tell what was done from one day to another, those included.

    Parameters
    ----------
    planks : as they stand when the first of these days begins
    lining : what was first planned; seams drift off it by a known amount
    laid : planks that lie on a board: one of them is spoilt
    """
    return tuple(_day(n, planks, lining, laid) for n in range(first, last + 1))


def _day(n: int, planks: Sequence[Plank], lining: Lining, laid: Collection[str]) -> Day:
    log: list[tuple[str, ...]] = []
    seams: list[tuple[str, ...]] = []
    crew = "; ".join(hand for hand in CREW if hand != "Ann" or n not in SICK)
    for place, strake in enumerate(ORDER):
        day = 1 + place * (DAYS - 2) // (len(ORDER) - 1)
        for side in PART:
            if day == n:
                for plank in (p for p in planks if p.side == side and p.strake == str(strake)):
                    _hung(log, plank, at_day(n), crew)
            if day + 1 == n:
                seams += _measured(lining, side, strake, "upper", strake, at_day(n))
                seams += _measured(lining, side, strake - 1, "lower", strake, at_day(n))
    if n == SPOILT_ON:
        own = [p.name for p in planks if p.side == "port" and p.strake == "6"]
        name = next((name for name in own if name in laid), own[0])
        log.append((name, "got out", f"{at_day(n - 1)} 09:00", "Bo", ""))
        log.append((name, "spoilt", f"{at_day(n)} 09:00", "Bo", "a shake opened in the box"))
    return Day(at_day(n), tuple(log), tuple(seams))


def _hung(log: list[tuple[str, ...]], plank: Plank, at: str, crew: str) -> None:
    log += [
        (plank.name, "patterned", f"{at} 08:30", crew.rsplit("; ", maxsplit=1)[-1], ""),
        (plank.name, "got out", f"{at} 10:00", crew.rsplit("; ", maxsplit=1)[-1], ""),
        (plank.name, "hung", f"{at} 14:30", crew, "tight" if plank.number == 1 else ""),
        (plank.name, "fastened", f"{at} 16:30", crew, ""),
    ]


def _measured(
    lining: Lining, side: str, seam: int, edge: str, strake: int, at: str
) -> list[tuple[str, ...]]:
    """Measure a seam every sixth frame; the drift dies out towards the ends."""
    if seam not in OFF:
        return []
    rows, count = [], len(lining.columns)
    for column in range(6, count - 6, 6):
        planned = float(lining.upper_girth_mm[seam - 1, column])
        part = 4.0 * PART[side] * (column / count) * (1.0 - column / count)
        girth = f"{planned + OFF[seam] * part:.1f} mm"
        rows.append((side, str(strake), edge, lining.columns[column], girth, at))
    return rows


def at_day(day: int) -> str:
    """Give the date of a working day.

    >>> at_day(6)
    '2027-03-08'
    """
    weeks, rest = divmod(day - 1, 5)
    return (FIRST + timedelta(days=7 * weeks + rest)).isoformat()
