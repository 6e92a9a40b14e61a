"""Rules of handling: how planks are lifted and carried in this yard."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.errors import InputError, Problem
from ribband.rulebook import rule

__all__ = ["HandlingRules"]

GRIPS, CARRIED = ("good", "fair", "poor"), ("on edge", "flat")
SPELLS = ("eight hours", "two hours", "hour")


@dataclass(frozen=True, slots=True)
class HandlingRules:
    """Rules of handling.

    Raises
    ------
    InputError : `grip`, `hot_grip`, `carried` or `spell` is not one of its words

    >>> HandlingRules().most_hands
    6
    """

    out_mm: float = rule(
        300.0, 250.0, 630.0, "mm", "From between the ankles to the hands.", "house"
    )
    pile_mm: float = rule(400.0, 0.0, 1750.0, "mm", "Height boards are lifted from.", "house")
    carry_mm: float = rule(800.0, 0.0, 1750.0, "mm", "Height planks are carried at.", "house")
    hang_mm: float = rule(1400.0, 0.0, 1750.0, "mm", "Height planks are lifted to.", "house")
    turn_deg: float = rule(30.0, 0.0, 135.0, "deg", "How far a lifter turns.", "house")
    a_minute: float = rule(0.2, 0.0, 15.0, "a minute", "Lifts.", "niosh-tables")
    spell: str = rule(
        "eight hours", None, None, "",
        "How long lifting goes on in a day: hour, two hours or eight hours. One who planks all day "
        "may lift less than one who lifts for an hour and rests.", "niosh-frequency",
    )  # fmt: skip
    grip: str = rule("fair", None, None, "", "Hold on a board: good, fair or poor.", "house")
    hot_grip: str = rule(
        "poor", None, None, "", "Hold on a hot plank, in gloves: good, fair or poor.",
        "niosh-tables",
    )  # fmt: skip
    most_hands: int = rule(
        6,
        1,
        12,
        "hands",
        "Most in one lift of a long plank; beyond it a crane or tackle.",
        "house",
    )
    two_over_mm: float = rule(
        3000.0, 0.0, 20_000.0, "mm", "Longer planks want two hands whatever they weigh.", "house"
    )
    carried: str = rule("on edge", None, None, "", "Planks are carried on edge or flat.", "house")
    walk_ms: float = rule(0.7, 0.1, 2.0, "m/s", "Walking with a plank.", "house")
    hang_min: float = rule(
        3.0, 0.0, 60.0, "min", "From the hull's side until a hot plank is bent and clamped, at "
        "the least.", "house",
    )  # fmt: skip
    bend_s: float = rule(
        10.0, 0.0, 600.0, "s", "To bend a hot plank on to one frame and clamp it there.", "house"
    )

    def __post_init__(self) -> None:
        """Refuse words that mean nothing."""
        problems = [
            Problem("rules", 0, f"handling.{name}", value, "one of " + ", ".join(words), words[0])
            for name, value, words in (
                ("grip", self.grip, GRIPS),
                ("hot_grip", self.hot_grip, GRIPS),
                ("carried", self.carried, CARRIED),
                ("spell", self.spell, SPELLS),
            )
            if value not in words
        ]
        if problems:
            raise InputError(problems)
