"""The bibliography: where every rule, figure and example number comes from, cited by key.

A *source* is a row of ``data/sources.csv``. Its *mark* says how far it can be trusted: "read"
(the number was seen in the work itself), "read second-hand" (seen where another quotes it),
"calculated" (from figures that were read), "from memory" (recalled, unread), "common practice"
(said in every yard, written nowhere we can cite), "house" (Ribband's own) or "the yard's own"
(typed on its forms).

Not checked here: whether the source says what it is cited for; `tests/published` does that.

>>> cite("lake-underwriters-1866")
'Board of Lake Underwriters, Rules, Outside Plank, 1866, s. 9'
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, fields
from functools import cache
from importlib.resources import files
from typing import Literal, get_args

from ribband.errors import InputError, Problem

__all__ = ["MARKS", "Mark", "Source", "cite", "source", "sources"]

Mark = Literal[
    "read", "read second-hand", "calculated", "from memory", "common practice", "house",
    "the yard's own",
]  # fmt: skip
MARKS: tuple[Mark, ...] = get_args(Mark)
SAID = {"read", "common practice", "house", "the yard's own"}  # told by the title, or not at all
FILE = "sources.csv"


@dataclass(frozen=True, slots=True)
class Source:
    """A work: author, title, year and place in it as text; `mark` one of `MARKS`."""

    key: str
    author: str
    title: str
    year: str
    place: str
    mark: Mark

    def __str__(self) -> str:
        """Cite it in one line."""
        said = ", ".join(part for part in (self.author, self.title, self.year, self.place) if part)
        return said if self.mark in SAID else f"{said} ({self.mark})"


def sources() -> tuple[Source, ...]:
    """Give the whole bibliography, in the order of the table.

    Raises
    ------
    InputError : the table has a key twice, a mark of its own or a missing key
    """
    return tuple(_table().values())


def source(key: str) -> Source:
    """Find a source by its key.

    Raises
    ------
    InputError : no such key

    >>> source("house").mark
    'house'
    """
    try:
        return _table()[key]
    except KeyError:
        raise InputError([Problem(FILE, 0, "key", key, "a key of the bibliography")]) from None


def cite(key: str) -> str:
    """Cite a source in one line, for screen and paper; unread ones say so.

    >>> cite("memory")
    'Recalled and not read (from memory)'
    """
    return str(source(key))


@cache
def _table() -> dict[str, Source]:
    text = files("ribband").joinpath("data", FILE).read_text(encoding="utf-8")
    return _read(text)


def _read(text: str) -> dict[str, Source]:
    reader = csv.DictReader(text.splitlines())
    names = [f.name for f in fields(Source)]
    table: dict[str, Source] = {}
    problems = []
    for number, row in enumerate(reader, start=2):
        key, mark = row["key"], row["mark"]
        if not key or key in table:
            problems.append(Problem(FILE, number, "key", key, "a key, once", "wood-handbook-2010"))
        if mark not in MARKS:
            problems.append(Problem(FILE, number, "mark", mark, "one of " + ", ".join(MARKS)))
        table[key] = Source(**{name: row[name] for name in names})  # type: ignore[arg-type]
    if problems:
        raise InputError(problems)
    return table
