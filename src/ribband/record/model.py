"""What really happened at the hull: steps done on planks, seams measured, and the re-lining.

*As hung*: the girth from the rabbet to a seam of a hung plank, measured at a frame. *Drift*: by how
much a hung seam lies above where it was planned. *Held* is a plank that hangs; *cut* one whose
pattern or timber is cut but which does not hang yet; all others are *free*. The log, from which
that is known, is the shop's.

Seams are counted from the keel: seam r is the upper edge of strake row r - 1 and the lower edge
of row r, so seam 0 is the rabbet and seam S the sheer.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ribband.butts.model import Layout, Ways
from ribband.findings import Finding
from ribband.hull.model import Floats
from ribband.lining.model import Lining
from ribband.survey.model import Cell

__all__ = [
    "DONE", "Drift", "HungPoint", "Moved", "Opening", "Relined", "Stand", "Standing", "come_to",
]  # fmt: skip

DONE = (
    "patterned", "got out", "planed", "bevelled", "hollowed", "steamed", "hung", "fastened",
    "bunged", "caulked",
)  # fmt: skip
Stand = Literal["free", "cut", "held"]
Masks = NDArray[np.bool_]


def come_to(state: str, step: str) -> bool:
    """Tell whether a plank whose furthest step is `state` has come to `step`; "" to none.

    >>> come_to("fastened", "hung"), come_to("planed", "hung"), come_to("", "patterned")
    (True, False, False)
    """
    return state in DONE and DONE.index(state) >= DONE.index(step)


@dataclass(frozen=True, slots=True)
class HungPoint:
    """A measured seam: the girth to the `edge` of a hung strake at a column of the lining.

    `at` is the day it was measured, a date or a date and a clock; blank where not said.
    """

    side: str
    strake: str
    edge: Literal["lower", "upper"]
    frame: str
    girth_mm: float
    cell: Cell | None = None
    at: str = ""


@dataclass(frozen=True, slots=True)
class Drift:
    """A measured seam against the plan: `drift_mm` is above it where positive."""

    side: str
    seam: int
    above: str
    frame: str
    planned_mm: float
    measured_mm: float

    @property
    def drift_mm(self) -> float:
        """Give how far above its planned place the seam hangs."""
        return self.measured_mm - self.planned_mm


@dataclass(frozen=True, slots=True)
class Opening:
    """A strake's opening between hung neighbours at a column, against what was planned for it."""

    strake: str
    frame: str
    planned_mm: float
    left_mm: float
    measured: bool


@dataclass(frozen=True, slots=True, eq=False)
class Standing:
    """How far one side's planking has come, over strakes (S) and columns (C) of the lining.

    held, cut : (S, C) where a plank hangs, and where one is cut; never both
    planks : stand of each plank by name
    old : (S, C) where an old plank stays, of a repair; it hangs where it was recorded
    """

    side: str
    held: Masks
    cut: Masks
    planks: dict[str, Stand]
    old: Masks | None = None

    @property
    def fast(self) -> Masks:
        """Mark (S, C) where any plank hangs, new or old."""
        return self.held if self.old is None else self.held | self.old


@dataclass(frozen=True, slots=True)
class Moved:
    """Where an edge of a plank moved most as what is left was divided anew.

    mm : along the frame, up positive
    """

    plank: str
    mm: float
    edge: str
    frame: str


@dataclass(frozen=True, slots=True, eq=False)
class Relined:
    """One side divided anew round what hangs.

    seam_held : (S + 1, C) girths the hung seams were held at, NaN where a seam is free
    drifts : every measured seam against the plan
    openings : strakes with both neighbours hung
    changed : planks still to be got out that are not as they were, by the rules of re-lining
    seconds : what it took
    moved : of each of these, by how much an edge moved at most, and where
    """

    side: str
    standing: Standing
    lining: Lining
    ways: Ways
    layout: Layout
    seam_held: Floats
    drifts: tuple[Drift, ...]
    openings: tuple[Opening, ...]
    changed: tuple[str, ...]
    findings: tuple[Finding, ...]
    seconds: float
    moved: tuple[Moved, ...] = ()
