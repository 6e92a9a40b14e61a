"""Fastenings: what holds each plank, how many and where, and what they come to.

*Kind*: screw, boat nail, spike, rivet, bolt, treenail. *Set*: a published rule of how many by the
width of the plank; ``first`` on one frame and ``second`` on the next. *Spec*: the size chosen for
one thickness of plank: gauge, length, holes, bung. *Penetration*: how deep the point is in the
frame. *Whereabouts*: "frames", "butts" (on a frame), "blocks", "hood ends" and "nibs".
"""

from __future__ import annotations

from dataclasses import dataclass

from ribband.findings import Finding
from ribband.units import format_length

__all__ = ["Choice", "Contact", "Fastenings", "Holding", "Life", "Line", "Row", "Spec", "Spot"]


@dataclass(frozen=True, slots=True)
class Choice:
    """A fastening the yard has or thinks of, as on the form `fastenings`; None = not said.

    price : of a box, in the yard's money; seconds : to drive one, hole and bung included
    years : until the planking is refastened, as the yard reckons
    """

    item: str
    kind: str
    metal: str
    where: str = ""
    gauge: str = ""
    length_mm: float | None = None
    per_box: int | None = None
    price: float | None = None
    seconds: float | None = None
    years: float | None = None


@dataclass(frozen=True, slots=True)
class Spec:
    """The size for a thickness of plank; mm; None where nothing says. `sources` are keys."""

    kind: str
    metal: str
    thickness_mm: float
    gauge: str
    diameter_mm: float | None
    length_mm: float | None
    body_hole_mm: float | None
    pilot_soft_mm: float | None
    pilot_hard_mm: float | None
    counterbore_mm: float | None
    bung_depth_mm: float
    penetration_mm: float | None
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Spot:
    """A fastening's middle on a crossing, along and up from the lower edge.

    Aft of the middle of the frame; at a butt on a block, from the butt.
    """

    along_mm: float
    up_mm: float


@dataclass(frozen=True, slots=True)
class Row:
    """The fastenings of a plank at one crossing: `along_mm`, `up_mm` their places as in `Spot`.

    `room` is False where they stand too close.
    """

    plank: str
    at: str
    where: str
    width_mm: float
    count: int
    along_mm: tuple[float, ...]
    up_mm: tuple[float, ...]
    room: bool

    @property
    def spots(self) -> tuple[Spot, ...]:
        """Their places, one by one."""
        return tuple(Spot(a, u) for a, u in zip(self.along_mm, self.up_mm, strict=True))


@dataclass(frozen=True, slots=True)
class Holding:
    """Holding power of one fastening in the frame's side grain, newtons; None where no formula.

    withdrawal_n : at which it is drawn, on average; safe_n : the older allowable load
    lateral_n : allowable across the fastening
    """

    withdrawal_n: float | None
    safe_n: float | None
    lateral_n: float | None
    says: str
    source: str


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the order: how many, with spares, boxes and price where the yard gave them.

    `where` names all the places it goes to, parted by commas.
    """

    item: str
    where: str
    spec: Spec
    count: int
    to_buy: int
    boxes: int | None
    price: float | None
    hours: float | None


@dataclass(frozen=True, slots=True)
class Contact:
    """Two metals near each other: mV apart at least, at most, by their middles; which wastes."""

    one: str
    other: str
    least_mv: float
    most_mv: float
    apart_mv: float
    wastes: str


@dataclass(frozen=True, slots=True)
class Life:
    """A fastening over a span of years: first cost and hours, times refastened, and the whole."""

    item: str
    years: float
    cost: float | None
    hours: float | None
    refastenings: int
    whole_cost: float | None
    whole_hours: float | None


@dataclass(frozen=True, slots=True)
class Fastenings:
    """The result. `rows` are in the order of the planks; `bungs` with spares."""

    set_name: str
    rows: tuple[Row, ...]
    specs: tuple[Spec, ...]
    lines: tuple[Line, ...]
    bungs: int
    bung_mm: float | None
    holding: Holding
    contacts: tuple[Contact, ...]
    lives: tuple[Life, ...]
    findings: tuple[Finding, ...] = ()

    def of(self, plank: str) -> tuple[Row, ...]:
        """Give the rows of a plank."""
        return tuple(row for row in self.rows if row.plank == plank)

    def sized(self, unit: str) -> str:
        """Say the size most planks have; empty where none is known."""
        spec = self.specs[0] if self.specs else None
        if spec is None:
            return ""
        long = format_length(spec.length_mm, unit) if spec.length_mm else ""
        size = " ".join(part for part in (spec.metal, spec.kind, spec.gauge) if part)
        unread = "" if spec.gauge or spec.length_mm else "size not known"
        return ", ".join(part for part in (size, long, unread) if part)

    def says(self, plank: str, unit: str) -> str:
        """Say how a plank is fastened, in a few words; empty where it is not.

        The size is the first of the whole, which most planks have.
        """
        rows = self.of(plank)
        if not rows:
            return ""
        each = sorted({row.count for row in rows if row.where == "frames"})
        a_frame = " or ".join(map(str, each))
        parts = (f"{sum(row.count for row in rows)} in all", f"{a_frame} a frame" if each else "")
        return ", ".join(part for part in (self.sized(unit), *parts) if part)

    @property
    def size_source(self) -> str:
        """Give the key of the source of the size most planks have; a recalled one before others."""
        sources = self.specs[0].sources if self.specs else ()
        return "memory" if "memory" in sources else sources[-1] if sources else ""

    @property
    def count(self) -> int:
        """Give how many are driven."""
        return sum(row.count for row in self.rows)
