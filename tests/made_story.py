"""Forty days at the slip: planks in an odd order, drift, a spoilt board, a sick hand, a shutter.

The side is planned, and then hung as it came. Day n is the nth working day from 1 March 2027.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from ribband.lining.model import Lining
from ribband.planks.model import Plank

__all__ = ["Day", "forty_days"]

FIRST = date(2027, 3, 1)
ORDER = (1, 16, 2, 3, 15, 4, 14, 5, 13, 6, 12, 7, 8, 11, 9)  # the shutter, 10, is left open
OFF = {2: 6.0, 3: 11.0, 4: 8.0, 5: 4.0, 7: -7.0, 8: -5.0, 12: 5.0, 14: -6.0, 15: 3.0, 9: -4.0,
       10: 6.0}  # fmt: skip
CREW = ("Ann", "Bo", "Cy")
SICK = range(11, 18)  # Ann is away


@dataclass(frozen=True, slots=True)
class Day:
    """What was written down on a day: rows of the forms `log` and `as_hung`."""

    at: str
    log: tuple[tuple[str, ...], ...]
    seams: tuple[tuple[str, ...], ...]


def forty_days(planks: tuple[Plank, ...], lining: Lining, side: str = "port") -> tuple[Day, ...]:
    """Hang all of a side but its shutter in forty days; `lining` is what was first planned."""
    days: dict[int, tuple[list[tuple[str, ...]], list[tuple[str, ...]]]] = {
        n: ([], []) for n in range(1, 41)
    }
    for place, strake in enumerate(ORDER):
        day = 1 + place * 38 // (len(ORDER) - 1)
        crew = "; ".join(hand for hand in CREW if hand != "Ann" or day not in SICK)
        for plank in (p for p in planks if p.side == side and p.strake == str(strake)):
            _hung(days[day][0], plank, _at(day), crew)
        for seam, edge, row in ((strake, "upper", strake), (strake - 1, "lower", strake)):
            days[day + 1][1].extend(_measured(lining, side, seam, edge, row))
    spoilt = next(p.name for p in planks if p.side == side and p.strake == "6")
    days[20][0].insert(0, (spoilt, "got out", _at(19), "Bo", ""))
    days[20][0].insert(1, (spoilt, "spoilt", _at(20), "Bo", "shake opened along it in the box"))
    return tuple(Day(_at(n), tuple(log), tuple(seams)) for n, (log, seams) in days.items())


def _hung(log: list[tuple[str, ...]], plank: Plank, at: str, crew: str) -> None:
    log += [
        (plank.name, "patterned", f"{at} 08:30", crew.rsplit("; ", maxsplit=1)[-1], ""),
        (plank.name, "got out", f"{at} 10:00", crew.rsplit("; ", maxsplit=1)[-1], ""),
        (plank.name, "hung", f"{at} 14:30", crew, "tight" if plank.number == 1 else ""),
        (plank.name, "fastened", f"{at} 16:30", crew, ""),
    ]


def _measured(
    lining: Lining, side: str, seam: int, edge: str, strake: int
) -> list[tuple[str, ...]]:
    """Measure a seam every sixth frame; the drift dies out towards the ends."""
    if seam not in OFF:
        return []
    rows, count = [], len(lining.columns)
    for column in range(6, count - 6, 6):
        planned = float(lining.upper_girth_mm[seam - 1, column])
        part = 4.0 * (column / count) * (1.0 - column / count)
        girth = f"{planned + OFF[seam] * part:.1f} mm"
        rows.append((side, str(strake), edge, lining.columns[column], girth, ""))
    return rows


def _at(day: int) -> str:
    weeks, rest = divmod(day - 1, 5)
    return (FIRST + timedelta(days=7 * weeks + rest)).isoformat()
