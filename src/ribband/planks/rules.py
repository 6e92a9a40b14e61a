"""Rules of the plank list: thicknesses, what is left on for trimming, classes of length.

A thickness of zero means "as the vessel form says". *Rough* is as bought, *dressed* as planed;
the *allowance* is timber left on the edges and ends of the flat shape until the plank is fitted.
"""

from __future__ import annotations

from dataclasses import dataclass

from ribband.errors import InputError, Problem
from ribband.rulebook import rule

__all__ = ["SIDES", "PlankRules"]

SIDES = ("both", "port", "starboard")


@dataclass(frozen=True, slots=True)
class PlankRules:
    """Rules of the plank list.

    Raises
    ------
    InputError : `sides` is not one of its words, or the rough stuff is thinner than the dressed

    >>> PlankRules().edge_allowance_mm
    4.0
    """

    dressed_mm: float = rule(
        0.0, 0.0, 300.0, "mm", "Dressed thickness; nothing: as the vessel form says.", "house"
    )
    rough_mm: float = rule(
        0.0, 0.0, 350.0, "mm", "Rough thickness; nothing: as the vessel form says.", "house"
    )
    rough_over_mm: float = rule(
        9.525, 0.0, 50.0, "mm", "Rough over dressed, where no rough thickness is given.",
        "common-practice",
    )  # fmt: skip
    edge_allowance_mm: float = rule(
        4.0, 0.0, 100.0, "mm",
        "Left on each edge of a plank until it is fitted, for list, weights and order. Not given, "
        "it is what the laying saws it with, laying.allowance.", "house",
    )  # fmt: skip
    end_allowance_mm: float = rule(
        44.0, 0.0, 1_000.0, "mm",
        "Left on each end of a plank until it is fitted, for list, weights and order. Not given, "
        "it is what the laying saws it with: laying.end_allowance, and laying.allowance over it.",
        "house",
    )  # fmt: skip
    yield_part: float = rule(
        0.6, 0.05, 1.0, "", "Part of the boards bought that ends in rough planks.",
        "common-practice",
    )  # fmt: skip
    moisture_percent: float = rule(
        15.0, 0.0, 30.0, "per cent", "Moisture content at which planks are weighed.", "fpl-r1606"
    )
    class_step_mm: float = rule(
        0.0,
        0.0,
        10_000.0,
        "mm",
        "Step of the classes of length; nothing: 2 ft, or 500 mm.",
        "house",
    )
    sides: str = rule("both", None, None, "", "Sides listed: both, port or starboard.", "house")

    def __post_init__(self) -> None:
        """Refuse a word that means nothing, and rough stuff thinner than the dressed."""
        problems = []
        if self.sides not in SIDES:
            wanted = "one of " + ", ".join(SIDES)
            problems.append(Problem("rules", 0, "planks.sides", self.sides, wanted, "both"))
        if 0 < self.rough_mm < self.dressed_mm:
            wanted = f"no less than the dressed thickness, {self.dressed_mm:g} mm"
            problems.append(Problem("rules", 0, "planks.rough", f"{self.rough_mm:g} mm", wanted))
        if problems:
            raise InputError(problems)
