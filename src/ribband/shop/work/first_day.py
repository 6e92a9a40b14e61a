"""Whether the day the yard says work begins on can be meant, against the day of asking.

Asked whenever a plan is looked at and never kept with it: a plan that was right when it was made
must not be doubted in its own file for growing old. Where the log is later than the yard's day,
work goes on from the log, and the day is not looked at.

The week and the three years are our own.
"""

from __future__ import annotations

from datetime import date

from ribband.findings import Finding, Severity
from ribband.shop.work.days import is_date
from ribband.units import counted

__all__ = ["first_day_doubted"]

LATE_DAYS = 7  # a yard may begin and write up its log at the end of the week
FAR_DAYS = 3 * 365


def first_day_doubted(said: str, begins: str, today: date) -> tuple[Finding, ...]:
    """Doubt the day `said` by the rule `work.begins` if it is long past, or years off.

    Parameters
    ----------
    begins : the day the plan goes on from; where it is another, the log has settled it

    >>> [f.says for f in first_day_doubted("2025-03-01", "2025-03-01", date(2025, 3, 11))]
    ['it is 1 Mar 2025, 10 days before 11 Mar 2025, and nothing is logged since: a slip?']
    >>> first_day_doubted("2025-03-01", "2025-03-01", date(2025, 3, 5))
    ()
    """
    if not is_date(said) or said != begins:
        return ()
    day = date.fromisoformat(said)
    ahead = (day - today).days
    if -LATE_DAYS <= ahead <= FAR_DAYS:
        return ()
    late = ahead < 0
    says = (
        f"it is {_day(day)}, {counted(abs(ahead), 'day')} {'before' if late else 'after'} "
        f"{_day(today)}"
        + (", and nothing is logged since: a slip?" if late else ", over three years off: a slip?")
    )
    why = "the plan, its diary and its forecast run from that day; set the rule work.begins"
    return (Finding("W532", Severity.CAUTION, "work", "work.begins", says, why, source="house"),)


def _day(day: date) -> str:
    return f"{day.day} {day:%b %Y}"
