"""When a search ends: by a clock, or by a count of trials.

*Trial*: one board filled once, or looked at once for room. Counted, a search looks at the same
things whatever else the machine has to do, so that two yards with the same forms get the same
list. A *cap* of the processor's time stands behind the count as a safety net: where it strikes, the
answer hangs on the machine after all, and whoever asked is told.

Not checked: that a trial is as dear on one pile as on another; see `usual_trials`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from time import process_time
from typing import Protocol

from ribband.findings import Finding, Severity

__all__ = [
    "LONG",
    "LONGEST",
    "PAIRING",
    "ByClock",
    "ByCount",
    "Pace",
    "said_of_cap",
    "usual_trials",
]

PAIRING, LONG = 0.005, 0.14  # s a board; searches as long pair halves, and look at finer leans
LONGEST = 60.0  # s of the processor, the cap of a counted search
MANY, IN_A_BIG_PILE = 150, 2.5  # boards; in bigger piles, trials a board
A_BOARD, ANYHOW = 1.0, 40  # trials a board of the pile, and so many more of any pile
TRIAL = 0.005  # s, about, of one trial


class Pace(Protocol):
    """How far a search has come.

    reach : s it is about to take in all; nodes : places looked at where whole numbers are chosen,
    at most, or None where that too goes by a clock
    """

    reach: float
    nodes: int | None

    def gone(self) -> float:
        """Give the part of the search that is gone; 1 or more where it is over."""

    def tried(self, many: float = 1.0) -> None:
        """Count trials."""


@dataclass(slots=True)
class ByClock:
    """So many seconds by a clock, from now on.

    >>> ticks = iter([0.0, 1.0, 3.0])
    >>> pace = ByClock(2.0, lambda: next(ticks))
    >>> pace.gone(), pace.gone()
    (0.5, 1.5)
    """

    reach: float
    clock: Callable[[], float]
    begun: float = field(init=False)
    nodes: int | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        self.begun = self.clock()

    def gone(self) -> float:
        """Give the part of the time that is gone."""
        spent = self.clock() - self.begun
        return spent / self.reach if self.reach > 0 else 1.0

    def tried(self, many: float = 1.0) -> None:
        """Count nothing: the clock does."""


@dataclass(slots=True)
class ByCount:
    """So many trials, whatever time they take, unless the processor's cap strikes.

    >>> pace = ByCount(4, clock=lambda: 0.0)
    >>> pace.tried(3)
    >>> pace.gone(), pace.struck
    (0.75, False)
    """

    trials: int
    longest: float = LONGEST
    clock: Callable[[], float] = process_time
    nodes: int | None = 60
    done: float = field(init=False, default=0.0)
    struck: bool = field(init=False, default=False)
    reach: float = field(init=False)
    begun: float = field(init=False)

    def __post_init__(self) -> None:
        self.begun, self.reach = self.clock(), self.trials * TRIAL

    def gone(self) -> float:
        """Give the part of the trials that is gone; 1 where the cap has struck."""
        if self.done >= self.trials:
            return 1.0
        self.struck = self.struck or self.clock() - self.begun > self.longest
        return 1.0 if self.struck else self.done / self.trials

    def tried(self, many: float = 1.0) -> None:
        """Count trials."""
        self.done += many


def usual_trials(boards: int) -> int:
    """Give the trials of a usual laying, of which about a third go to pairing what is known.

    >>> usual_trials(100), usual_trials(20)
    (140, 60)
    """
    return int(ANYHOW + (A_BOARD if boards <= MANY else IN_A_BIG_PILE) * boards)


def said_of_cap(pace: ByCount) -> list[Finding]:
    """Say where a counted search was cut short by the cap (T126)."""
    if not pace.struck:
        return []
    says = (
        f"the search was cut short at {pace.longest:.0f} s of the processor, with "
        f"{pace.done:.0f} of {pace.trials} trials made: from the same forms another machine may "
        "give another list"
    )
    why = "the list kept in this job stands: give the job file on, not the forms alone"
    return [Finding("T126", Severity.CAUTION, "timber", "the laying", says, why)]
