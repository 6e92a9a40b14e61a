"""What is renewed: stretches of old strakes, their joints, and the order they are opened in."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ribband.butts.model import Butt, Layout, Ways
from ribband.findings import Finding
from ribband.lining.model import Lining
from ribband.planks.model import Plank, PlankList
from ribband.planks.shape_model import Shape
from ribband.record.forms import Bad

__all__ = ["Barred", "HeldEnd", "Renewal", "Repair", "SideRepair"]


@dataclass(frozen=True, slots=True)
class Barred:
    """Nearer places that a rule bars for a joint, and the butt it bars them for.

    rule, wanted : its name as on the form rules and what it asks; "" where no butt may stand
    butt : of another strake, or the old joint of its own; None where it is neither
    """

    rule: str
    wanted: str
    butt: Butt | None
    places: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class HeldEnd:
    """An end of a renewal: its landing, the places nearer to what is bad, what bars them all.

    Where `barred` is empty and places are nearer, one of them is free by itself.
    """

    end: Literal["fore", "after"]
    at: int
    nearer: tuple[int, ...]
    barred: tuple[Barred, ...]


@dataclass(frozen=True, slots=True)
class Renewal:
    """One stretch of a strake to be renewed.

    landings : fore end, joints between new planks, after end; -1 is the strake's fore end and
        2 F - 1 its after end (F frames)
    new : those of them that are new joints; the others are old butts or ends of the strake
    bad_mm, length_mm : length of what is bad, and of what is renewed for it
    turn : the turn it is opened in, from 1
    planks : names of its new planks
    held : what holds its two ends where they are
    """

    side: str
    strake: str
    landings: tuple[int, ...]
    new: tuple[int, ...]
    joint: Literal["butt", "scarf"]
    bad: tuple[Bad, ...]
    bad_mm: float
    length_mm: float
    turn: int = 0
    planks: tuple[str, ...] = ()
    held: tuple[HeldEnd, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class SideRepair:
    """One side: old butts, those there afterwards, renewals, shapes of the new planks."""

    side: str
    ways: Ways
    old: tuple[Butt, ...]
    layout: Layout
    renewals: tuple[Renewal, ...]
    shapes: tuple[Shape, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Repair:
    """The repair: the old lining, each side, and the list of new planks alone.

    length_mm, bound_mm : renewed in all, and the least that was proved possible by the rules
    scarf_mm : length of a scarf, where a joint is one
    proved : no choice of joints is worth more, one more joint counted at its worth
    around : every plank of the sides that have new ones, old and new, as she is closed again
    """

    lining: Lining
    sides: tuple[SideRepair, ...]
    planks: PlankList
    length_mm: float
    bound_mm: float
    findings: tuple[Finding, ...]
    scarf_mm: float = 0.0
    around: tuple[Plank, ...] = ()
    proved: bool = True

    @property
    def renewals(self) -> tuple[Renewal, ...]:
        """All renewals, port first."""
        return tuple(renewal for side in self.sides for renewal in side.renewals)
