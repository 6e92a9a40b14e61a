"""What is said of two sides that were both measured: how they differ, at every frame.

Not checked here: which side is right.
"""

from __future__ import annotations

from ribband.findings import Finding, Severity
from ribband.hull.model import SideDifference
from ribband.hull.rules import HullRules
from ribband.units import format_length

__all__ = ["side_findings"]


def side_findings(sides: tuple[SideDifference, ...], rules: HullRules, unit: str) -> list[Finding]:
    """Say how the sides differ at every frame, and caution where they do by more than allowed."""
    if not sides:
        return []
    says = "port less starboard in girth, and the greatest gap: " + "; ".join(
        f"{d.frame} {_signed(d.girth_mm, unit)}, {format_length(d.greatest_mm, unit)}"
        for d in sides
    )
    found = [Finding("H017", Severity.NOTE, "hull", "both sides", says)]
    far = [d for d in sides if d.greatest_mm > rules.sides_mm]
    if far:
        worst = max(far, key=lambda d: d.greatest_mm)
        by, most = (format_length(mm, unit) for mm in (worst.greatest_mm, rules.sides_mm))
        says = f"port and starboard differ by more than {most}; by {by} at frame {worst.frame},"
        says += f" {worst.at}"
        where = f"frame{'s' if len(far) > 1 else ''} {', '.join(d.frame for d in far)}"
        why = "the plan is made on the mean of the two sides"
        found.append(Finding("H016", Severity.CAUTION, "hull", where, says, why))
    return found


def _signed(mm: float, unit: str) -> str:
    """Print a difference with its sign, plus too."""
    said = format_length(abs(mm), unit)
    return said if said == format_length(0.0, unit) else f"{'+' if mm > 0 else '-'}{said}"
