"""Caulking: seams by length, what goes into them, paying, priming and bedding.

*Seam*: between two strakes, or between garboard and keel. *Strand*: a thread of cotton or rolled
oakum, driven side by side or over each other. *Paying*: filling over the fibres, with seam
compound or pitch.
"""

from __future__ import annotations

from dataclasses import dataclass

from ribband.findings import Finding

__all__ = ["Caulking", "Fill", "Item", "Seam"]


@dataclass(frozen=True, slots=True)
class Fill:
    """Strands for a thickness of planking, from a row of the table; None where none is near."""

    planking_mm: float
    cotton: float
    oakum: float
    says: str
    source: str


@dataclass(frozen=True, slots=True)
class Seam:
    """A run of seam: `below` which strake ("keel" under the garboard), or "hood ends", "butts"."""

    side: str
    of: str
    length_mm: float


@dataclass(frozen=True, slots=True)
class Item:
    """A thing to buy: `quantity` with waste; None where not known. `source` of its figure.

    says : what else is in the quantity besides the waste, with its source
    price : of all of it, in the yard's own money; None where the yard gave none
    """

    item: str
    quantity: float | None
    unit: str
    allowance_percent: float
    source: str
    says: str = ""
    price: float | None = None


@dataclass(frozen=True, slots=True)
class Caulking:
    """The result; lengths mm, of every side listed."""

    seams: tuple[Seam, ...]
    seam_mm: float
    opening_mm: float
    depth_mm: float
    fill: Fill | None
    cotton_strands: float
    oakum_strands: float
    items: tuple[Item, ...]
    findings: tuple[Finding, ...] = ()

    def quantity(self, item: str) -> float | None:
        """Give how much of an item, or None."""
        return next((i.quantity for i in self.items if i.item == item), None)
