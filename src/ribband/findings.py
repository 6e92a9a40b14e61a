"""Findings: what the program doubts or refuses, in numbered plain words.

Every `check` returns findings, all at once. A code is a stage's letter and a number that never
changes its meaning: S survey, H hull, L lining, B butts, P planks, T timber, W shop, R record.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

__all__ = ["Finding", "Severity"]


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
