"""The plan of work: what is to be done to each plank, by whom, when, and what is proved of it.

*Operation*: one thing done to a plank, from the pattern to the caulking of its lower seam.
*Rate*: man-hours a unit; *scatter*: the spread of the hours one plank takes about the rate, as a
part of it. *Step*: an operation of a plank in the plan, in slots of working time (`work/days.py`).
*Stint*: one hand at one step from slot to slot. Hands may be relieved in the middle of a step.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from ribband.findings import Finding
from ribband.shop.hanging.model import Hanging
from ribband.shop.work.days import SLOT_MINUTES, DayOff, Days

__all__ = [
    "GEAR",
    "HOT_OF_HANGING",
    "OPERATIONS",
    "STATES",
    "Hand",
    "Lack",
    "Measure",
    "Rate",
    "Step",
    "Stint",
    "Work",
    "WorkPlan",
]

HOT_OF_HANGING = (
    "Of hanging a steamed plank only the way from the box, bending it on and clamping it are hot "
    "work, in the minutes its ticket gives; fitting, trimming and fastening may follow cold, the "
    "clamps left on till then."
)
STATES = {
    "patterned": "pattern",
    "got out": "get out",
    "planed": "plane",
    "bevelled": "bevel",
    "hollowed": "hollow",
    "steamed": "steam",
    "hung": "hang",
    "fastened": "fasten",
    "bunged": "bung",
    "caulked": "caulk",
}
OPERATIONS = tuple(STATES.values())
GEAR = {"steam box": 1, "planer": 1, "crane": 1, "staging": 8}


@dataclass(frozen=True, slots=True)
class Rate:
    """Man-hours of an operation a `unit`: plank, metre, square metre, frame, seam metre ..."""

    operation: str
    unit: str
    hours: float
    hands: int
    scatter: float
    source: str = ""
    says: str = ""


@dataclass(frozen=True, slots=True)
class Hand:
    """One of the crew: the operations he or she can do, days of the week (Monday 0), from, to.

    `more` are further spans (from, to): back after a sickness, say. `clock` are the o'clocks from
    and to which he or she works in a day; None for the yard's own. `wage` is of an hour, in the
    yard's own money, None where it was not given.
    """

    name: str
    does: tuple[str, ...] = OPERATIONS
    days: tuple[int, ...] = (0, 1, 2, 3, 4, 5, 6)
    first: str = ""
    last: str = ""
    more: tuple[tuple[str, str], ...] = ()
    wage: float | None = None
    clock: tuple[float, float] | None = None

    @property
    def stays(self) -> bool:
        """Tell whether no last day is said."""
        return not self.last or any(not last for _, last in self.more)

    def there(self, day: str, weekday: int) -> bool:
        """Tell whether the hand works on a day.

        >>> Hand("Ann", last="2027-03-05").there("2027-03-08", 0)
        False
        """
        spans = ((self.first, self.last), *self.more)
        here = any(day >= first and (not last or day <= last) for first, last in spans)
        return here and weekday in self.days


@dataclass(frozen=True, slots=True)
class Lack:
    """So many of a thing that are not there from a day to a day ("" for no such day)."""

    item: str
    count: int
    first: str = ""
    last: str = ""

    def on(self, day: str) -> int:
        """Give how many are not there on a day.

        >>> Lack("planer", 1, "2027-03-09").on("2027-03-08")
        0
        """
        away = day >= self.first and (not self.last or day <= self.last)
        return self.count if away else 0


@dataclass(frozen=True, slots=True)
class Measure:
    """What a plank is to the rates: metres, square metres, frames crossed, metres of its seam.

    `steam_min` is None where the plank is hung cold; `kg` None where its weight is not known.
    `spiled` tells that its flat shape is not known: its pattern is taken off the opening, and
    whether it wants hollowing or steam is not known either.
    """

    plank: str
    side: str
    length_m: float
    area_m2: float
    frames: int
    seam_m: float
    hollow: bool = False
    steam_min: float | None = None
    kg: float | None = None
    spiled: bool = False


@dataclass(frozen=True, slots=True)
class Work:
    """What is to be planned. `done` are (plank, operation) that are logged as done.

    `gear` counts each thing of `GEAR`; the steam box in planks at once. `lacking` tells when there
    are fewer.
    """

    measures: tuple[Measure, ...]
    hanging: Hanging
    rates: tuple[Rate, ...]
    crew: tuple[Hand, ...]
    gear: Mapping[str, int] = field(default_factory=lambda: dict(GEAR))
    off: tuple[DayOff, ...] = ()
    done: tuple[tuple[str, str], ...] = ()
    begins: str = "2027-03-01"
    level: int = 2
    lacking: tuple[Lack, ...] = ()

    def gear_on(self, item: str, day: str) -> int:
        """Give how many of a thing are there on a day."""
        away = sum(lack.on(day) for lack in self.lacking if lack.item == item)
        return max(0, self.gear.get(item, 0) - away)


@dataclass(frozen=True, slots=True)
class Step:
    """An operation of a plank: slots, how many hands, and man-hours as the rates say."""

    plank: str
    operation: str
    start: int
    end: int
    hands: int
    hours: float


@dataclass(frozen=True, slots=True)
class Stint:
    """One hand at one step (its number in the plan) from slot to slot."""

    hand: str
    step: int
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class WorkPlan:
    """The result. `end` is the slot at which all is done; no plan could end before `bound`.

    steps : in order of their starts; stints : by hand and time
    hours : man-hours of all steps; gap : (end - bound) / bound
    overnight : planks that cannot be hung and held in one day
    """

    steps: tuple[Step, ...]
    stints: tuple[Stint, ...]
    days: Days
    end: int
    bound: int
    proved: bool
    seconds: float
    hours: float
    findings: tuple[Finding, ...] = ()
    overnight: tuple[str, ...] = ()

    @property
    def gap(self) -> float:
        """Give how far the end lies past the bound, as a part of it."""
        return (self.end - self.bound) / self.bound if self.bound else 0.0

    @property
    def clock_hours(self) -> float:
        """Give the hours of all hands by the clock: not quite `hours`: steps are whole slots."""
        return sum(s.end - s.start for s in self.stints) * SLOT_MINUTES / 60

    @property
    def by_operation(self) -> dict[str, int]:
        """Give the man-hours of each operation, whole, so that they add up to all of them."""
        hours: dict[str, float] = {}
        for step in self.steps:
            hours[step.operation] = hours.get(step.operation, 0.0) + step.hours
        found = {operation: int(own) for operation, own in hours.items()}
        short = round(self.hours) - sum(found.values())
        for operation in sorted(hours, key=lambda op: found[op] - hours[op])[:short]:
            found[operation] += 1
        return found

    @property
    def steams(self) -> bool:
        """Tell whether any plank of the plan comes hot out of the box."""
        return any(step.operation == "steam" for step in self.steps)

    @property
    def last_day(self) -> str:
        """Give the date of the last day of work, or of the first where nothing is left to do."""
        return self.days.at(max(self.end, 1), end=True).date().isoformat()

    def crew_of(self, step: int) -> tuple[str, ...]:
        """Give the hands at a step, in the order they come to it."""
        return tuple(dict.fromkeys(s.hand for s in self.stints if s.step == step))

    def crews(self) -> tuple[tuple[str, ...], ...]:
        """Give the hands at every step, each in the order they come to it."""
        found: dict[int, dict[str, None]] = {}
        for stint in self.stints:
            found.setdefault(stint.step, {})[stint.hand] = None
        return tuple(tuple(found.get(n, ())) for n in range(len(self.steps)))
