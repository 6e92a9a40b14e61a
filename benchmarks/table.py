"""One row of the benchmark table; every `benchmarks/<subject>.py` gives `rows()`.

A row holds a figure measured beside its target. `compared` makes a row of ours against another
way to do the same: the ratio, how it spreads over several seeds, and both in figures. `peak_mb`
is the most memory a process of this machine has held, `made` loads what the tests make.
"""

from __future__ import annotations

import resource
import sys
from collections.abc import Sequence
from dataclasses import dataclass
from importlib import import_module
from pathlib import Path
from statistics import median
from typing import Any

__all__ = ["Row", "compared", "line", "made", "peak_mb"]

TESTS = Path(__file__).parents[1] / "tests"
NOTHING = float("inf")


@dataclass(frozen=True, slots=True)
class Row:
    """A measured figure beside its target: the most it may be, or the least if `at_least`."""

    what: str
    value: float
    unit: str
    target: float | None = None
    note: str = ""
    at_least: bool = False

    @property
    def held(self) -> bool | None:
        """Tell whether the target was held; None where none was set."""
        if self.target is None:
            return None
        return self.value >= self.target if self.at_least else self.value <= self.target


def line(row: Row) -> str:
    """Set a row as one line of the page's table.

    >>> line(Row("fit", 0.5, "s", 0.7))
    '| fit | 0.5 s | at most 0.7 s | yes |  |'
    """
    bound = "at least" if row.at_least else "at most"
    target = "" if row.target is None else f"{bound} {row.target:g} {row.unit}".rstrip()
    held = {None: "", True: "yes", False: "**no**"}[row.held]
    figure = "nothing found" if row.value == NOTHING else f"{row.value:.4g} {row.unit}".rstrip()
    return f"| {row.what} | {figure} | {target} | {held} | {row.note} |"


def compared(
    what: str, ours: Sequence[float], theirs: Sequence[float], unit: str, *, note: str = ""
) -> Row:
    """Set another way beside ours over the same cases: the ratio theirs / ours, with its spread.

    More than 1 means that ours is the better, where less is better. A way that found nothing in a
    case is given as infinity there; its ratio counts as the greatest.

    >>> compared("butts", [70.0, 72.0], [77.0, 72.0], "").note
    'times ours; from 1 to 1.1, over 2; ours 70 to 72, theirs 72 to 77'
    """
    ratios = sorted(_ratio(a, b) for a, b in zip(ours, theirs, strict=True))
    words = [
        f"times ours; from {_said(ratios[0])} to {_said(ratios[-1])}, over {len(ratios)}",
        f"ours {_span(ours, unit)}, theirs {_span(theirs, unit)}",
        *([note] if note else []),
    ]
    return Row(what, median(ratios), "", None, "; ".join(words))


def _ratio(ours: float, theirs: float) -> float:
    """Give theirs over ours; 1 where neither found anything, 0 where only theirs did."""
    if ours == NOTHING:
        return 1.0 if theirs == NOTHING else 0.0
    return theirs / ours if ours else NOTHING


def _said(figure: float) -> str:
    """Say a figure, or that there is none."""
    return "nothing found" if figure == NOTHING else f"{figure:.4g}"


def _span(values: Sequence[float], unit: str) -> str:
    """Say a spread of values, and how many are missing."""
    there = sorted(value for value in values if value != NOTHING)
    if not there:
        return "found nothing"
    low, high, missing = _said(there[0]), _said(there[-1]), len(values) - len(there)
    span = f"{low if low == high else f'{low} to {high}'} {unit}".rstrip()
    return f"{span} ({missing} of {len(values)} found nothing)" if missing else span


def peak_mb() -> float:
    """Give the most memory this process or any it waited for has held, MB."""
    most = max(
        resource.getrusage(who).ru_maxrss
        for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)
    )
    return most / (1024 * 1024 if sys.platform == "darwin" else 1024)


def made(name: str) -> Any:
    """Load one of the tests' modules of made hulls, planks, vessels or work."""
    for folder in (TESTS, TESTS / "published"):
        if str(folder) not in sys.path:
            sys.path.append(str(folder))
    return import_module(name)
