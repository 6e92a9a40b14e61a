"""Reading the forms `rates`, `crew`, `gear`, `calendar` and `log`.

*Skills*: "all", "all but caulk and bung", or operations parted by ; or commas. *Days*: "mon-fri",
"mon wed", blank for every day the yard works. *At*: a date, or a date and a clock, "2027-03-01
14:30".
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any, TypeVar

from ribband.errors import InputError, Problem
from ribband.shop.work.days import DayOff, is_date
from ribband.shop.work.gear import GearRow
from ribband.shop.work.model import GEAR, OPERATIONS, STATES, Hand, Rate
from ribband.shop.work.rates import UNITS, default_rates
from ribband.survey.model import Cell
from ribband.survey.rows import Row

__all__ = [
    "Logged",
    "days_said",
    "done_of",
    "hours_said",
    "in_time",
    "is_time",
    "read_calendar",
    "read_crew",
    "read_gear",
    "read_log",
    "read_rates",
    "skills_said",
    "when_said",
]

HOURS = re.compile(r"(\d{1,2})(?:[:.](\d\d))?\s*(?:-|\u2013|to)\s*(\d{1,2})(?:[:.](\d\d))?")
HOURS_WANTED = "two o'clocks of a day, from and to"
WEEK = ("mon", "tue", "wed", "thu", "fri", "sat", "sun")
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Logged:
    """A line of the log: a plank reached a state; `at` as said, `by` the hands, `cell` whence."""

    plank: str
    state: str
    at: str
    by: tuple[str, ...]
    note: str = ""
    cell: Cell | None = None


def skills_said(text: str) -> tuple[str, ...]:
    """Read what a hand can do.

    >>> skills_said("hang; fasten"), len(skills_said("all but caulk and bung"))
    (('hang', 'fasten'), 8)

    Raises
    ------
    ValueError : a word that is no operation
    """
    said = " ".join(text.lower().split())
    if said in {"", "all"}:
        return OPERATIONS
    but = said.removeprefix("all but ") if said.startswith("all but ") else ""
    words = [w.strip() for w in re.split(r"[;,]| and ", but or said) if w.strip()]
    wrong = [word for word in words if word not in OPERATIONS]
    if wrong:
        raise ValueError(f"all, all but ..., or some of {', '.join(OPERATIONS)}")
    return tuple(op for op in OPERATIONS if (op in words) != bool(but))


def days_said(text: str) -> tuple[int, ...]:
    """Read days of the week; blank is all seven.

    >>> days_said("mon-wed fri")
    (0, 1, 2, 4)

    Raises
    ------
    ValueError : a word that is no day
    """
    found: set[int] = set()
    for word in re.split(r"[;,\s]+", text.lower().strip()):
        first, _, last = word.partition("-")
        if not word:
            continue
        if first[:3] not in WEEK or (last and last[:3] not in WEEK):
            raise ValueError("days such as mon-fri, or mon wed fri")
        a = WEEK.index(first[:3])
        b = WEEK.index(last[:3]) if last else a
        found |= set(range(a, b + 1)) if a <= b else {*range(a, 7), *range(b + 1)}
    return tuple(sorted(found)) or tuple(range(7))


def hours_said(text: str) -> tuple[float, float] | None:
    """Read the hours of a hand, from and to by the clock; blank is None: the yard's own.

    >>> hours_said("7:30-12"), hours_said("")
    ((7.5, 12.0), None)

    Raises
    ------
    ValueError : no two o'clocks of a day, the later last
    """
    if not text.strip():
        return None
    found = HOURS.fullmatch(text.strip())
    if found is None:
        raise ValueError(HOURS_WANTED)
    begins, ends = (int(found[n]) + int(found[n + 1] or 0) / 60 for n in (1, 3))
    if not begins < ends <= 24 or max(found[2] or "", found[4] or "") >= "60":
        raise ValueError(HOURS_WANTED)
    return begins, ends


def read_rates(rows: Iterable[Row]) -> tuple[Rate, ...]:
    """Read the form `rates`; blank hands and scatter are as ours for the operation.

    Raises
    ------
    InputError : every cell that is wrong

    >>> row = Row({"operation": "caulk", "rate": 0.05, "unit": "seam foot"}, "rates.csv", 2)
    >>> read_rates([row])[0].hands
    1
    """
    return _read(rows, _rate)


def read_crew(rows: Iterable[Row]) -> tuple[Hand, ...]:
    """Read the form `crew`; a name again is a further span of days of the same hand.

    Raises
    ------
    InputError : every cell that is wrong, and skills, days or hours not as in the first row

    >>> rows = [Row({"name": "Ann", "to": "2027-03-05"}, "crew.csv", 2),
    ...         Row({"name": "Ann", "from": "2027-03-15"}, "crew.csv", 3)]
    >>> read_crew(rows)[0].more
    (('2027-03-15', ''),)
    """
    rows = tuple(rows)
    crew: dict[str, Hand] = {}
    problems: list[Problem] = []
    for row, hand in zip(rows, _read(rows, _hand), strict=True):
        known = crew.get(hand.name)
        if known is None:
            crew[hand.name] = hand
        elif (hand.does, hand.days, hand.clock) == (known.does, known.days, known.clock):
            crew[hand.name] = replace(known, more=(*known.more, (hand.first, hand.last)))
        else:
            wanted = "skills, days and hours as in the first row of this hand"
            problems.append(Problem(row.file, row.number, "skills", _said(row, "skills"), wanted))
    if problems:
        raise InputError(problems)
    return tuple(crew.values())


def read_gear(rows: Iterable[Row]) -> tuple[GearRow, ...]:
    """Read the form `gear`, in its order; `there_is` adds it up.

    Raises
    ------
    InputError : every cell that is wrong
    """
    return _read(rows, _item)


def read_calendar(rows: Iterable[Row]) -> tuple[DayOff, ...]:
    """Read the form `calendar`: days off, and days worked that else would not be.

    Raises
    ------
    InputError : every cell that is wrong
    """
    return _read(rows, _day_off)


def read_log(rows: Iterable[Row]) -> tuple[Logged, ...]:
    """Read the form `log`, in its order.

    Raises
    ------
    InputError : every cell that is wrong
    """
    return _read(rows, _logged)


def done_of(log: Sequence[Logged]) -> tuple[tuple[str, str], ...]:
    """Give (plank, operation) that are done; a spoilt plank begins again, its pattern kept.

    Lines are taken by their times where every one has one (a bare date is the day's end), else in
    the order they stand in.

    >>> log = [Logged("P1-1", s, "", ()) for s in ("patterned", "got out", "spoilt", "got out")]
    >>> done_of(log[:3]), done_of(log)
    ((('P1-1', 'pattern'),), (('P1-1', 'pattern'), ('P1-1', 'get out')))
    """
    done: dict[tuple[str, str], None] = {}
    for line in in_time(log):
        if line.state == "spoilt":
            gone = [key for key in done if key[0] == line.plank and key[1] != "pattern"]
            for key in gone:
                del done[key]
        else:
            done[line.plank, STATES[line.state]] = None
    return tuple(done)


def in_time(log: Sequence[Logged]) -> list[Logged]:
    """Give the lines by their times where every one has one, else in the order they stand in."""
    every = all(line.at for line in log)
    return sorted(log, key=lambda line: when_said(line.at)) if every else list(log)


def when_said(at: str) -> str:
    """Give a text that sorts as the times do; a bare date is the day's end.

    >>> when_said("2027-03-01T14:30") < when_said("2027-03-01") < when_said("2027-03-02 07:00")
    True
    """
    return at.replace("T", " ") if len(at) > len("2027-03-01") else f"{at} 24"


def _read(rows: Iterable[Row], one: Callable[[Row], T]) -> tuple[T, ...]:
    found: list[T] = []
    problems: list[Problem] = []
    for row in rows:
        try:
            found.append(one(row))
        except InputError as wrong:
            problems += wrong.problems
    if problems:
        raise InputError(problems)
    return tuple(found)


def _said(row: Row, column: str) -> str:
    value = row.values.get(column)
    return "" if value is None else " ".join(str(value).split())


def _refuse(row: Row, column: str, wanted: str, example: str = "") -> InputError:
    return InputError([Problem(row.file, row.number, column, _said(row, column), wanted, example)])


def _one_of(row: Row, column: str, words: Iterable[str]) -> str:
    said, words = _said(row, column).lower(), tuple(words)
    if said not in words:
        raise _refuse(row, column, "one of " + ", ".join(words), words[0])
    return said


def _date(row: Row, column: str) -> str:
    said = _said(row, column)
    if said and not is_date(said):
        raise _refuse(row, column, "a date, year first", "2027-03-01")
    return said


def _number(row: Row, column: str, least: float) -> float:
    value: Any = row.values.get(column)
    if not isinstance(value, (int, float)) or not value >= least:
        raise _refuse(row, column, f"a number, {least:g} or more")
    return float(value)


def _every(*reads: Callable[[], Any]) -> list[Any]:
    """Read every cell of a row, so that one wrong cell hides no other."""
    found: list[Any] = []
    problems: list[Problem] = []
    for read in reads:
        try:
            found.append(read())
        except InputError as wrong:
            problems += wrong.problems
    if problems:
        raise InputError(problems)
    return found


def _named(row: Row, column: str, wanted: str, example: str) -> str:
    said = _said(row, column)
    if not said:
        raise _refuse(row, column, wanted, example)
    return said


def _by(row: Row, column: str, read: Callable[[str], T], example: str) -> T:
    """Read a cell by a reader of words, which raises ValueError of what is wanted."""
    try:
        return read(_said(row, column))
    except ValueError as wrong:
        raise _refuse(row, column, str(wrong), example) from None


def _given(row: Row, column: str, least: float, else_: Any = None) -> Any:
    return else_ if row.values.get(column) is None else _number(row, column, least)


def _rate(row: Row) -> Rate:
    operation, unit, rate = _every(
        lambda: _one_of(row, "operation", OPERATIONS),
        lambda: _one_of(row, "unit", UNITS),
        lambda: _number(row, "rate", 0.0),
    )
    ours = [own for own in default_rates() if own.operation == operation]
    hands, scatter = _every(
        lambda: int(_given(row, "hands", 1, ours[0].hands if ours else 0)),
        lambda: _given(row, "scatter", 0.0, ours[0].scatter if ours else 0.2),
    )
    return Rate(operation, unit, rate, hands, scatter, "the yard", _said(row, "notes"))


def _hand(row: Row) -> Hand:
    name, does, days, clock, wage, first, last = _every(
        lambda: _named(row, "name", "a name", "Ann"),
        lambda: _by(row, "skills", skills_said, "all"),
        lambda: _by(row, "days", days_said, "mon-fri"),
        lambda: _by(row, "hours", hours_said, "7:30-12:00"),
        lambda: _given(row, "wage", 0.0),
        lambda: _date(row, "from"),
        lambda: _date(row, "to"),
    )
    return Hand(name, does, days, first, last, (), wage, clock)


def _item(row: Row) -> GearRow:
    item, count, first, last = _every(
        lambda: _one_of(row, "item", GEAR),
        lambda: int(_number(row, "how_many", 0)),
        lambda: _date(row, "from"),
        lambda: _date(row, "to"),
    )
    if last and last < first:
        raise _refuse(row, "to", f"{first} or later")
    return GearRow(item, count, first, last, row.number)


def _day_off(row: Row) -> DayOff:
    first, last = _every(lambda: _first_day(row), lambda: _date(row, "to_date"))
    if last and last < first:
        raise _refuse(row, "to_date", f"{first} or later")
    off: Mapping[str, Any] = row.values
    return DayOff(first, last or first, off.get("off") is not False)


def _first_day(row: Row) -> str:
    if not _said(row, "date"):
        raise _refuse(row, "date", "a date, year first", "2027-12-24")
    return _date(row, "date")


def _logged(row: Row) -> Logged:
    state, plank, at = _every(
        lambda: _one_of(row, "state", (*STATES, "spoilt")),
        lambda: _named(row, "plank", "a plank's name", "P7-2"),
        lambda: _at(row),
    )
    by = tuple(name.strip() for name in re.split(r"[;,]", _said(row, "by")) if name.strip())
    return Logged(plank, state, at, by, _said(row, "note"), row.cell("plank"))


def _at(row: Row) -> str:
    at = _said(row, "at")
    if at and not is_time(at):
        raise _refuse(row, "at", "a date, or a date and a clock", "2027-03-01 14:30")
    return at


def is_time(text: str) -> bool:
    """Tell whether a text is a date, or a date and a clock.

    >>> is_time("2027-03-02"), is_time("2027-03-02 14:30"), is_time("Tuesday")
    (True, True, False)
    """
    try:
        datetime.fromisoformat(text)
    except ValueError:
        return False
    return True
