"""Rules of the plan of work: the week, the day, and how far the bench may run ahead of the hull."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.errors import InputError, Problem
from ribband.rulebook import rule
from ribband.shop.work.days import Dinner, is_date

__all__ = ["WorkRules"]


@dataclass(frozen=True, slots=True)
class WorkRules:
    """Rules of the plan of work.

    Raises
    ------
    InputError : `begins` is no date

    >>> WorkRules().hands
    6
    """

    begins: str = rule(
        "", None, None, "", "First day of work, as 2027-03-01; nothing: the next Monday.", "house"
    )
    clock: float = rule(7.5, 0.0, 16.0, "o'clock", "When the day begins.", "house")
    day_hours: float = rule(
        8.0, 1.0, 16.0, "hours", "Hours worked in a day, the dinner hour not counted.",
        "common-practice",
    )  # fmt: skip
    dinner: float = rule(12.0, 0.0, 23.0, "o'clock", "When the day stops for dinner.", "house")
    dinner_minutes: float = rule(
        0.0, 0.0, 180.0, "min", "How long the day stops for dinner; 0: it does not.", "house"
    )
    week_days: int = rule(5, 1, 7, "days", "Days worked in a week, from Monday.", "common-practice")
    hands: int = rule(
        6, 1, 200, "hands", "Hands who can do everything, where no crew is named.", "crew-pace"
    )
    ahead: int = rule(
        24, 2, 1_000, "planks", "Planks begun ahead of the one being hung, at most.", "house"
    )
    hollow_from_mm: float = rule(
        1.0, 0.0, 50.0, "mm", "Hollow from which a plank is backed out.", "house"
    )
    crane_kg: float = rule(
        60.0, 1.0, 5_000.0, "kg", "Planks heavier than this are hung with the crane.", "house"
    )
    held_part: float = rule(
        0.33, 0.0, 1.0, "",
        "Part of its fastening that holds a plank over a night; before that it is not left.",
        "house",
    )  # fmt: skip
    rate_error: float = rule(
        0.15, 0.0, 1.0, "", "How far a yard's rate may itself be out, as a part of it.", "house"
    )
    lost_days: float = rule(
        0.05, 0.0, 0.9, "", "Part of the days lost to weather and the like, in the forecast.",
        "house",
    )  # fmt: skip
    spoilt_part: float = rule(
        0.05, 0.0, 0.5, "", "Part of the planks spoilt and got out again, in the forecast.",
        "house",
    )  # fmt: skip
    seconds: float = rule(2.0, 0.2, 3_600.0, "s", "How long to search for a closer plan.", "house")

    @property
    def dinner_hour(self) -> Dinner:
        """The break in the day."""
        return Dinner(self.dinner, self.dinner_minutes)

    def __post_init__(self) -> None:
        """Refuse a date that is none."""
        if self.begins and not is_date(self.begins):
            wanted = "a date, year first"
            raise InputError(
                [Problem("rules", 0, "work.begins", self.begins, wanted, "2027-03-01")]
            )
