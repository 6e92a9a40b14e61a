"""Answers: what a use case has to say, ready to be printed, shown on a page or read by a program.

*Line*: one figure with its name and a remark. *Listing*: a small table of texts in the job's unit.
*Data*: the same facts as plain values in millimetres and so on, named as in the open tables.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, fields, is_dataclass
from enum import Enum
from pathlib import Path
from typing import Any

from ribband.findings import Finding

__all__ = ["Answer", "Line", "Listing", "plain"]


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a summary: what, how much in the job's unit, and a remark."""

    what: str
    value: str
    remark: str = ""


@dataclass(frozen=True, slots=True)
class Listing:
    """A table of texts under its heading; a page shows a `folded` one by its heading alone."""

    title: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    folded: bool = False


@dataclass(frozen=True, slots=True)
class Answer:
    """An answer; `good` is False where a fault was found or no answer keeps the rules.

    `closing` is said last, after the findings: what to do with it all.
    """

    title: str = ""
    lines: tuple[Line, ...] = ()
    listings: tuple[Listing, ...] = ()
    notes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    data: Mapping[str, Any] = field(default_factory=dict)
    good: bool = True
    closing: Listing | None = None


def plain(value: Any) -> Any:
    """Turn records, paths and words of ours into what JSON can hold; not-a-number becomes null.

    >>> plain(Line("planks", "40"))
    {'what': 'planks', 'value': '40', 'remark': ''}
    """
    if isinstance(value, Enum):
        return value.value
    if value is None or isinstance(value, (str, int)):
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if is_dataclass(value) and not isinstance(value, type):
        return {f.name: plain(getattr(value, f.name)) for f in fields(value)}
    return _group(value)


def _group(value: Any) -> Any:
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if isinstance(value, (tuple, list)):
        return [plain(item) for item in value]
    if isinstance(value, Path):
        return str(value)
    return plain(value.tolist()) if hasattr(value, "tolist") else str(value)
