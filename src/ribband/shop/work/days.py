"""Days of work: which there are, and what o'clock a slot of work is.

*Slot*: five minutes of working time. Slots are counted through working days only, one day's last
followed by the next day's first; breaks in the day are not reckoned. Dates are texts, year first.

Not checked here: feast days; they come from the form `calendar`.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta

__all__ = ["SLOT_MINUTES", "DayOff", "Days", "days_of", "is_date", "next_monday"]

SLOT_MINUTES = 5
FAR = 40  # years looked ahead at most


@dataclass(frozen=True, slots=True)
class DayOff:
    """Days the yard is closed, from one to the other; `off` False: worked though not otherwise."""

    first: str
    last: str
    off: bool = True


@dataclass(frozen=True, slots=True)
class Days:
    """The working days in order, slots in each, and the hour they begin at."""

    days: tuple[str, ...]
    slots: int
    clock: float

    def at(self, slot: int, *, end: bool = False) -> datetime:
        """Give the date and time of a slot; as an end, the evening rather than the next morning.

        >>> days = Days(("2027-03-01", "2027-03-02"), 96, 7.5)
        >>> str(days.at(96)), str(days.at(96, end=True))
        ('2027-03-02 07:30:00', '2027-03-01 15:30:00')
        """
        day, part = divmod(slot - end, self.slots)
        began = datetime.combine(date.fromisoformat(self.days[day]), time())
        return began + timedelta(hours=self.clock, minutes=SLOT_MINUTES * (part + end))

    def breaks(self) -> tuple[int, ...]:
        """Give the slots at which a day ends."""
        return tuple(self.slots * (n + 1) for n in range(len(self.days)))

    def weekday(self, day: int) -> int:
        """Give the day of the week of a working day, Monday 0."""
        return date.fromisoformat(self.days[day]).weekday()


def days_of(  # noqa: PLR0917 - a calendar is told by all of these
    begins: str, count: int, week_days: int, day_hours: float, clock: float, off: Iterable[DayOff]
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
    return Days(tuple(found), round(day_hours * 60 / SLOT_MINUTES), clock)


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
