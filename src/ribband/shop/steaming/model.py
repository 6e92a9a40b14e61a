"""Steaming: which planks go into the box, how long, and how long they stay workable out of it.

*Yard's rule*: so many minutes for each inch of thickness. *Heat-through*: when the middle of the
plank is as hot as the rules want, from heat flow. The longer of the two *binds*. *Hot time*: from
the box's door until the plank's mean temperature has fallen to where it stiffens; an estimate.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ribband.findings import Finding

__all__ = ["Box", "BoxFit", "SteamedPlank", "Steaming", "YardBox", "YardRule"]

Binds = Literal["", "the yard's rule", "heat flow"]


@dataclass(frozen=True, slots=True)
class YardRule:
    """A rule of steaming time and the key of its source."""

    name: str
    minutes_per_inch: float
    says: str
    source: str


@dataclass(frozen=True, slots=True)
class SteamedPlank:
    """One plank. `needed` is None where nothing says; times in minutes, None where not known.

    `strain` is of the outer fibres in bending, `twist_strain` the shear of its faces in twisting.
    """

    plank: str
    needed: bool | None
    why: str
    thickness_mm: float
    width_mm: float
    length_mm: float
    strain: float | None
    twist_strain: float | None
    rule_min: float | None
    heat_min: float | None
    minutes: float | None
    binds: Binds
    hot_min: float | None


@dataclass(frozen=True, slots=True)
class Box:
    """The box and steamer wanted; sizes inside, mm.

    heat_mj : to bring one filling to the steam's temperature
    boiler_kw : to do so in the heat-through time of the thickest, wall losses and margin included
    water_l : boiled away from cold in one filling's longest time
    """

    at_once: int
    length_mm: float
    width_mm: float
    height_mm: float
    heat_mj: float | None
    boiler_kw: float | None
    water_l: float | None


@dataclass(frozen=True, slots=True)
class YardBox:
    """Boxes of a kind the yard has; sizes inside, mm, None where not given; `row` of the form."""

    how_many: int
    length_mm: float | None = None
    width_mm: float | None = None
    height_mm: float | None = None
    row: int = 0

    @property
    def sized(self) -> bool:
        """Tell whether all three sizes are given."""
        return None not in {self.length_mm, self.width_mm, self.height_mm}


@dataclass(frozen=True, slots=True)
class BoxFit:
    """A box against the planks to be steamed: of the largest that go in, so many at once.

    stuck : planks that do not go in
    """

    box: YardBox
    at_once: int
    stuck: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Steaming:
    """The result: every plank of the list, in its order; `box` None where nothing is steamed.

    `boxes` are those the yard has, set against the planks.
    """

    planks: tuple[SteamedPlank, ...]
    rule: YardRule
    diffusivity: float
    box: Box | None
    findings: tuple[Finding, ...] = ()
    boxes: tuple[BoxFit, ...] = ()

    @property
    def steamed(self) -> tuple[SteamedPlank, ...]:
        """Those that go into the box."""
        return tuple(p for p in self.planks if p.needed)

    def of(self, plank: str) -> SteamedPlank | None:
        """Find a plank by its name."""
        return next((p for p in self.planks if p.plank == plank), None)

    @property
    def in_no_box(self) -> frozenset[str]:
        """Those to be steamed that go into no box of the yard's; none where one has no sizes."""
        if not self.boxes or not all(fit.box.sized for fit in self.boxes):
            return frozenset()
        return frozenset(self.boxes[0].stuck).intersection(*(fit.stuck for fit in self.boxes))
