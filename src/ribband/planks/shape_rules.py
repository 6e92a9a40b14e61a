"""Rules of the flat shapes: caulking bevel, limits of bending, what is worth a caution."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.errors import InputError, Problem
from ribband.rulebook import rule

__all__ = ["JOINS", "OUTGAUGE", "ShapeRules"]

OUTGAUGE = ("both", "upper", "lower")
JOINS = ("butt", "scarf")


@dataclass(frozen=True, slots=True)
class ShapeRules:
    """Rules of the flat shapes.

    Raises
    ------
    InputError : `outgauge_on` or `join` is not one of its words, limits out of order

    >>> ShapeRules().opening_part
    0.125
    """

    dressed_mm: float = rule(
        0.0, 0.0, 300.0, "mm", "Dressed thickness; nothing: as the vessel form says.", "house"
    )
    rough_mm: float = rule(
        0.0, 0.0, 350.0, "mm", "Rough thickness in hand; nothing: as the vessel form says.", "house"
    )
    neutral_part: float = rule(
        0.0, 0.0, 1.0, "of the thickness",
        "Where in the thickness a plank keeps its length: 0 the face on the frames.", "house",
    )  # fmt: skip
    opening_part: float = rule(
        0.125, 0.0, 0.5, "of the thickness", "Opening of a seam at the outer face.", "choptank"
    )
    tight_part: float = rule(
        1 / 3, 0.0, 0.9, "of the thickness", "Inner part of a seam left tight.", "choptank"
    )
    outgauge_on: str = rule(
        "both", None, None, "", "Edges the opening is cut from: both, upper or lower.", "house"
    )
    join: str = rule(
        "butt", None, None, "", "How planks of a strake are joined: butt or scarf.", "house"
    )
    scarf_slope: float = rule(
        8.0, 8.0, 20.0, "times the thickness", "Length of a scarf.", "choptank-scarf"
    )
    nib_part: float = rule(
        0.0, 0.0, 0.33, "of the thickness",
        "Nibs of a scarf: how much its ends are left thick; nothing: planed to nothing.", "memory",
    )  # fmt: skip
    least_strain: float = rule(
        0.001, 0.0, 0.05, "",
        "Left-over strain from which a plank should be narrower or steamed longer.", "house",
    )  # fmt: skip
    greatest_hollow_mm: float = rule(
        12.0, 0.0, 100.0, "mm", "Hollow from which a plank should be narrower.", "house"
    )
    greatest_runout_rad: float = rule(
        0.1, 0.0, 1.6, "rad", "Grain running out of the plank's edge worth a caution.", "house"
    )
    board_mm: float = rule(0.0, 0.0, 3000.0, "mm", "Widest board to be had; nothing: any.", "house")
    cold_margin: float = rule(
        2.0, 1.0, 20.0, "times", "Margin on the published radius for bending cold.", "house"
    )
    steamed_times: float = rule(
        0.0, 0.0, 200.0, "times the thickness",
        "The yard's own least radius of steamed wood; nothing: none was read.", "house",
    )  # fmt: skip
    forced_times: float = rule(
        0.0, 0.0, 200.0, "times the thickness",
        "The yard's own least radius of wood steamed and forced; nothing: none was read.", "house",
    )  # fmt: skip

    def __post_init__(self) -> None:
        """Refuse a word that means nothing, and a limit of forced wood gentler than of steamed."""
        words = (("outgauge_on", self.outgauge_on, OUTGAUGE), ("join", self.join, JOINS))
        if found := [
            Problem("rules", 0, f"shapes.{name}", word, "one of " + ", ".join(known), known[0])
            for name, word, known in words
            if word not in known
        ]:
            raise InputError(found)
        if self.steamed_times and self.forced_times > self.steamed_times:
            wanted = f"no more than shapes.steamed_times, {self.steamed_times:g}"
            typed = f"{self.forced_times:g}"
            raise InputError([Problem("rules", 0, "shapes.forced_times", typed, wanted)])
