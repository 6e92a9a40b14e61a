"""What goes into a planking book.

A `Book` is put together by the use case that has run the stages; nothing is computed here and
the drawings come already made. Stages that have not been run are None, and the book says so in
their place rather than leaving the page out.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal

from ribband.butts.model import Layout, Ways
from ribband.drawing.sheet import Sheet
from ribband.findings import Finding
from ribband.hull.model import Hull
from ribband.lining.model import Lining
from ribband.planks.model import Plank, PlankList
from ribband.planks.shape_model import Shape, Shapes
from ribband.record.model import Drift
from ribband.record.old import OldNew
from ribband.rulebook import Rule
from ribband.shop.hanging.model import Hanging
from ribband.shop.whole import Shop
from ribband.shop.work.whole import Worked
from ribband.survey.model import Survey
from ribband.timber.buying import Bought
from ribband.timber.laid import Laid
from ribband.timber.pile import Pile

__all__ = ["Book", "Proof"]


@dataclass(frozen=True, slots=True)
class Proof:
    """What a search proved: `value` reached, `bound` that no answer can beat; lower is better."""

    search: str
    value: float
    bound: float
    proved: bool
    seconds: float
    says: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Book:
    """Everything the book prints; lengths in mm, printed in the unit of the vessel.

    layout, starboard : the butts of both sides, or of port where `starboard` gives the other's
    shapes, starboard_shapes : flat shapes of both sides, or of port where the other gives the rest
    anew : the linings of sides that were divided anew once seams were measured, by side
    measured : what was measured of seams as hung, by side
    rules : by stage ("hull", "lining", "butts", "planks"), as `rulebook.describe` lists them
    shop : steaming, fastenings, caulking and handling of the planks
    hanging, worked : the order of hanging, and the plan of what is left to do
    butt_set : what the set of butt rules is called
    findings : of every stage and its check, all of them
    sheets : drawings by name; "lines", "body", "boards" and "expansion" go to their own sections,
        any other after the widths; a sheet larger than the book's page becomes a fold-out at full
        scale
    old : the old planking as recorded, beside what is there now
    alone : where it is of a repair's new planks alone, that it is, in words
    revision, when, who, why : of the inputs; `inputs` their hash, `version` of the program
    paper : of the text pages
    """

    survey: Survey
    hull: Hull
    lining: Lining
    ways: Ways | None = None
    layout: Layout | None = None
    planks: PlankList | None = None
    starboard: Layout | None = None
    shapes: Shapes | None = None
    starboard_shapes: Shapes | None = None
    anew: Mapping[str, Lining] = field(default_factory=dict)
    measured: Mapping[str, tuple[Drift, ...]] = field(default_factory=dict)
    shop: Shop | None = None
    hanging: Hanging | None = None
    worked: Worked | None = None
    pile: Pile | None = None
    laid: Laid | None = None
    bought: Bought | None = None
    rules: Mapping[str, tuple[Rule, ...]] = field(default_factory=dict)
    butt_set: str = ""
    findings: tuple[Finding, ...] = ()
    sheets: Mapping[str, Sheet | tuple[Sheet, ...]] = field(default_factory=dict)
    proofs: tuple[Proof, ...] = ()
    old: tuple[OldNew, ...] = ()
    alone: str = ""
    revision: int = 1
    when: str = ""
    who: str = ""
    why: str = ""
    inputs: str = ""
    version: str = ""
    paper: Literal["A4", "letter"] = "A4"

    @property
    def layouts(self) -> tuple[tuple[str, Layout], ...]:
        """Each layout with the side it is of, in words; "a side" where one stands for both."""
        if self.layout is None:
            return ()
        if self.starboard is None:
            return (("a side", self.layout),)
        return (("to port", self.layout), ("to starboard", self.starboard))

    def shape_of(self, plank: Plank) -> Shape | None:
        """Give the flat shape of a plank, or None where it is not known."""
        mine = self.starboard_shapes if plank.side == "starboard" else None
        chosen = mine or self.shapes
        name = f"{plank.strake}-{plank.number}"
        return next((s for s in chosen.shapes if s.name == name), None) if chosen else None

    @property
    def unit(self) -> str:
        """The vessel's own unit, a key of `ribband.units`."""
        return self.hull.particulars.unit

    @property
    def vessel(self) -> str:
        """The vessel's name."""
        return self.hull.particulars.vessel or "A vessel without a name"
