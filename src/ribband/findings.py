"""Findings: what the program doubts or refuses, in numbered plain words.

Every `check` returns findings, all at once. A code is a stage's letter and a number that never
changes its meaning: S survey, H hull, L lining, B butts, P planks, T timber, W shop, R record. What
each means, which rules it comes from and which page tells more stands in ``data/findings.csv``.

Not checked here: that a code is in that table; its tests go over the whole tree.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from importlib.resources import files

__all__ = ["Finding", "Meaning", "Severity", "meanings"]


class Severity(StrEnum):
    """How much a finding matters."""

    NOTE = "note"  # worth knowing
    CAUTION = "caution"  # look before relying on it
    FAULT = "fault"  # a rule broken or a result not to be built from


@dataclass(frozen=True, slots=True)
class Finding:
    """One doubt or refusal.

    `where` is in the shipwright's words ("frame 12, strake 7"); `source` is a key of the
    bibliography, or empty.

    >>> print(Finding("L001", Severity.CAUTION, "lining", "strake 7, frame 12", "7-1 in wide"))
    caution L001 (lining) strake 7, frame 12: 7-1 in wide
    """

    code: str
    severity: Severity
    stage: str
    where: str
    says: str
    why: str = ""
    source: str = ""

    def __str__(self) -> str:
        """Say it in one line."""
        why = f" [{self.why}]" if self.why else ""
        return f"{self.severity} {self.code} ({self.stage}) {self.where}: {self.says}{why}"


@dataclass(frozen=True, slots=True)
class Meaning:
    """What a code means, the step that says it, the rules it comes from, the handbook's page.

    `step` is empty where no step of the plan says it (a scan being cut, the record being kept).
    """

    code: str
    means: str
    step: str
    rules: tuple[str, ...]
    page: str


@cache
def meanings() -> dict[str, Meaning]:
    """Give what every code means, in the order of the work.

    >>> meanings()["B003"].rules
    ('butts.passing',)
    """
    text = files("ribband").joinpath("data", "findings.csv").read_text("utf-8")
    return {
        code: Meaning(code, means, step, tuple(rules.split()), page)
        for code, means, step, rules, page in list(csv.reader(text.splitlines()))[1:]
    }
