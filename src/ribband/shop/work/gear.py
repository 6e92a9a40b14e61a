"""The gear there is: how many of each thing, and when some of it is not there.

*Row*: so many of a thing, from a day to a day; rows of a thing add up, and a thing that no row
names is there as our own count has it. *Lack*: so many fewer than the most there ever are.

Not checked here: whether a thing that is there is fit for use.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from ribband.shop.work.model import GEAR, Lack

__all__ = ["GearRow", "there_is"]

Span = tuple[str, str]


@dataclass(frozen=True, slots=True)
class GearRow:
    """So many of a thing, `first` and `last` day ("" for no such day); `row` of the form."""

    item: str
    count: int
    first: str = ""
    last: str = ""
    row: int = 0

    def there(self, day: str) -> bool:
        """Tell whether it is there on a day."""
        return day >= self.first and (not self.last or day <= self.last)


def there_is(rows: Iterable[GearRow]) -> tuple[dict[str, int], tuple[Lack, ...]]:
    """Give the most there ever are of each thing, and when there are fewer.

    >>> burst = [GearRow("planer", 1, last="2027-03-08"), GearRow("planer", 1, "2027-03-12")]
    >>> counts, lacks = there_is(burst)
    >>> counts["planer"], lacks
    (1, (Lack(item='planer', count=1, first='2027-03-09', last='2027-03-11'),))
    """
    own: dict[str, list[GearRow]] = {}
    for row in rows:
        own.setdefault(row.item, []).append(row)
    counts, lacks = dict(GEAR), []
    for item, each in own.items():
        by = _by_span(each)
        counts[item] = max(by.values())
        lacks += [
            Lack(item, counts[item] - count, *span)
            for span, count in by.items()
            if count < counts[item]
        ]
    return counts, tuple(lacks)


def _by_span(rows: Sequence[GearRow]) -> Mapping[Span, int]:
    """Count a thing from each day on which a row begins, or has ended, to the next such day."""
    edges = sorted({"", *(r.first for r in rows), *(_after(r.last) for r in rows if r.last)})
    ends = [*(_before(edge) for edge in edges[1:]), ""]
    return {
        (first, last): sum(row.count for row in rows if row.there(first))
        for first, last in zip(edges, ends, strict=True)
    }


def _after(day: str) -> str:
    return (date.fromisoformat(day) + timedelta(days=1)).isoformat()


def _before(day: str) -> str:
    return (date.fromisoformat(day) - timedelta(days=1)).isoformat()
