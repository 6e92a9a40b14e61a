"""Rules of the record: how much drift is told, and which planks a re-lining leaves alone."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.rulebook import rule

__all__ = ["RecordRules"]


@dataclass(frozen=True, slots=True)
class RecordRules:
    """Rules of the record.

    >>> RecordRules().drift_mm
    3.175
    """

    drift_mm: float = rule(
        3.175, 0.0, 100.0, "mm", "A seam that hangs further from the plan is told.", "house"
    )
    apart_mm: float = rule(
        3.175, 0.0, 50.0, "mm",
        "Two measurements of one seam may differ by this before it is told.", "house",
    )  # fmt: skip
    plane_off_mm: float = rule(
        6.35, 0.0, 50.0, "mm",
        "A cut plank may be planed narrower by this to fit its opening.", "house",
    )  # fmt: skip
