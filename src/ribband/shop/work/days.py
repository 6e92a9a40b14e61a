"""Days of work: which there are, and what o'clock a slot of work is.

*Slot*: five minutes of working time. Slots are counted through working days only, one day's last
followed by the next day's first; no slot is of the dinner hour. Dates are texts, year first.

Not checked here: feast days; they come from the form `calendar`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from math import ceil

__all__ = ["SLOT_MINUTES", "DayOff", "Days", "Dinner", "days_of", "is_date", "next_monday"]

SLOT_MINUTES = 5
NEARLY = 1e-6
FAR = 40  # years looked ahead at most


@dataclass(frozen=True, slots=True)
class DayOff:
    """Days the yard is closed, from one to the other; `off` False: worked though not otherwise."""

    first: str
    last: str
    off: bool = True


@dataclass(frozen=True, slots=True)
class Dinner:
    """The break in the day: o'clock it begins at, and its minutes; none where there are none."""

    clock: float = 12.0
    minutes: float = 0.0

    def worked(self, began: float, clock: float) -> float:
        """Give the hours worked from one o'clock to another.

        >>> noon = Dinner(12.0, 30.0)
        >>> noon.worked(7.5, 11.0), noon.worked(7.5, 12.25), noon.worked(7.5, 13.0)
        (3.5, 4.5, 5.0)
        """
        over = max(0.0, min(clock, self.clock + self.minutes / 60) - max(began, self.clock))
        return clock - began - over


@dataclass(frozen=True, slots=True)
class Days:
    """The working days in order, slots in each, the hour they begin at, and the dinner hour."""

    days: tuple[str, ...]
    slots: int
    clock: float
    dinner: Dinner = Dinner()

    def at(self, slot: int, *, end: bool = False) -> datetime:
        """Give the date and time of a slot; as an end, the evening rather than the next morning.

        >>> days = Days(("2027-03-01", "2027-03-02"), 96, 7.5)
        >>> str(days.at(96)), str(days.at(96, end=True))
        ('2027-03-02 07:30:00', '2027-03-01 15:30:00')
        >>> days = Days(("2027-03-01",), 96, 7.5, Dinner(12.0, 30.0))
        >>> str(days.at(54))[11:16], str(days.at(54, end=True))[11:16], str(days.at(96, end=True))
        ('12:30', '12:00', '2027-03-01 16:00:00')
        """
        day, part = divmod(slot - end, self.slots)
        began = datetime.combine(date.fromisoformat(self.days[day]), time())
        rest = self.dinner.minutes if self.noon and part >= self.noon else 0.0
        return began + timedelta(hours=self.clock, minutes=SLOT_MINUTES * (part + end) + rest)

    @property
    def noon(self) -> int:
        """The slot of a day at which it stops for dinner; 0 where it does not."""
        at = round((self.dinner.clock - self.clock) * 60 / SLOT_MINUTES)
        return at if self.dinner.minutes > 0 and 0 < at < self.slots else 0

    def hours_within(self, clock: tuple[float, float] | None) -> tuple[int, int]:
        """Give from which slot of a day to which lie within two o'clocks; None: all of it.

        >>> Days((), 96, 7.5, Dinner(12.0, 30.0)).hours_within((7.0, 13.0))
        (0, 60)
        """
        if clock is None:
            return 0, self.slots
        dinner = self.dinner if self.noon else Dinner()
        began, done = (
            dinner.worked(self.clock, max(at, self.clock)) * 60 / SLOT_MINUTES for at in clock
        )
        return min(self.slots, ceil(began - NEARLY)), min(self.slots, int(done + NEARLY))

    def breaks(self) -> tuple[int, ...]:
        """Give the slots at which a day ends."""
        return tuple(self.slots * (n + 1) for n in range(len(self.days)))

    def pauses(self) -> tuple[int, ...]:
        """Give the slots at which a day stops for dinner."""
        noon = self.noon
        return tuple(self.slots * n + noon for n in range(len(self.days))) if noon else ()

    def weekday(self, day: int) -> int:
        """Give the day of the week of a working day, Monday 0."""
        return date.fromisoformat(self.days[day]).weekday()


def days_of(  # noqa: PLR0917 - a calendar is told by all of these
    begins: str,
    count: int,
    week_days: int,
    day_hours: float,
    clock: float,
    off: Iterable[DayOff],
    dinner: Dinner = Dinner(),
) -> Days:
    """Give `count` working days from a date on.

    >>> days_of("2027-03-05", 2, 5, 8.0, 7.5, [DayOff("2027-03-08", "2027-03-08")]).days
    ('2027-03-05', '2027-03-09')
    """
    spans = [(date.fromisoformat(d.first), date.fromisoformat(d.last), d.off) for d in off]
    day = date.fromisoformat(begins)
    last = day + timedelta(days=366 * FAR)
    found: list[str] = []
    while len(found) < count and day < last:
        said = [closed for a, b, closed in spans if a <= day <= b]
        if (not said[-1]) if said else day.weekday() < week_days:
            found.append(day.isoformat())
        day += timedelta(days=1)
    return Days(tuple(found), round(day_hours * 60 / SLOT_MINUTES), clock, dinner)


def is_date(text: str) -> bool:
    """Tell whether a text is a date, year first.

    >>> is_date("2027-03-01"), is_date("1 March")
    (True, False)
    """
    try:
        date.fromisoformat(text)
    except ValueError:
        return False
    return True


def next_monday(day: date) -> str:
    """Give the first Monday on or after a day.

    >>> next_monday(date(2027, 3, 3))
    '2027-03-08'
    """
    return (day + timedelta(days=-day.weekday() % 7)).isoformat()
