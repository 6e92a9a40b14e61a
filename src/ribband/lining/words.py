"""How the lining out speaks of figures: in the vessel's own unit.

Lengths print as the shipwright's tape reads; what is off by little, finer. A sweep is said as a
straight edge would show it: the round of so much of a seam. Not checked: that the unit is known.
"""

from __future__ import annotations

from dataclasses import dataclass

from ribband.units import format_length, format_small, imperial

__all__ = ["Words"]


@dataclass(frozen=True, slots=True)
class Words:
    """Figures in words, for a vessel measured in `unit`.

    >>> feet, metres = Words("ft-in-8ths"), Words("mm")
    >>> feet.length(304.8), feet.small(2.54), feet.ease, metres.ease
    ('1-0-0', '0.10 in', '1/4 in', '5 mm')
    >>> feet.sweep(0.012), metres.sweep(0.012)
    ('0.55 in over 10 ft', '13.5 mm over 3 m')
    """

    unit: str

    def length(self, mm: float) -> str:
        """Say a width or girth."""
        return format_length(mm, self.unit)

    def small(self, mm: float) -> str:
        """Say by how much something is off."""
        return format_small(mm, self.unit)

    def sweep(self, per_m: float) -> str:
        """Say a curvature, 1/m, as the round a seam shows over a length one can picture."""
        over, says = (3048.0, "10 ft") if imperial(self.unit) else (3000.0, "3 m")
        return f"{self.small(over**2 * per_m / 8000.0)} over {says}"

    @property
    def ease_mm(self) -> float:
        """How much a limit is eased by when its worth is told, mm."""
        return 6.35 if imperial(self.unit) else 5.0

    @property
    def ease(self) -> str:
        """Say that much."""
        return "1/4 in" if imperial(self.unit) else "5 mm"
