"""Handling: what each board and plank weighs, who lifts it, and whether it gets to the hull.

*Rough*: as it leaves the pile; *hung*: dressed, from the box to its place. *Leg*: a stretch of the
way from pile to planer, box and hull, with the passage it starts in and the one it turns into.
"""

from __future__ import annotations

from dataclasses import dataclass

from ribband.findings import Finding

__all__ = ["Handled", "Handling", "Leg", "LegPassed", "Load"]


@dataclass(frozen=True, slots=True)
class Load:
    """A board to be lifted: its mark, length and weight; None = not known."""

    name: str
    length_mm: float
    kg: float | None


@dataclass(frozen=True, slots=True)
class Leg:
    """A stretch of the way; a width None is open ground, `into_mm` None no turn."""

    start: str
    end: str
    distance_mm: float
    width_mm: float | None = None
    into_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Handled:
    """A plank or board. Hands None: not by hand; `known` False: the weight is not known.

    index : rough weight over what one person may lift; `hung_hands` None for boards
    bend_min : of a plank out of the box, from its door until it is bent on and clamped; hot_min :
        how long it stays workable; None where it is hung cold or not known
    """

    name: str
    length_mm: float
    rough_kg: float | None
    hung_kg: float | None
    rough_hands: int | None
    hung_hands: int | None
    index: float | None
    known: bool
    by_hand: bool
    bend_min: float | None = None
    hot_min: float | None = None

    @property
    def cools_first(self) -> bool:
        """Tell whether a plank out of the box stiffens before it is bent on."""
        return None not in {self.bend_min, self.hot_min} and self.bend_min > self.hot_min  # type: ignore[operator]

    @property
    def says(self) -> str:
        """Say who lifts it, in a few words."""
        if not self.known:
            return "weight not known: weigh it"
        if not self.by_hand:
            return "not by hand: crane or tackle"
        hands = max(self.rough_hands or 1, self.hung_hands or 1)
        return f"{hands} hands" if hands > 1 else "one hand may"


@dataclass(frozen=True, slots=True)
class LegPassed:
    """A leg with the longest plank that gets round, None if any does, and the planks that do not.

    minutes : to walk it with a plank
    """

    leg: Leg
    longest_mm: float | None
    stuck: tuple[str, ...]
    minutes: float


@dataclass(frozen=True, slots=True)
class Handling:
    """The result. `one_kg` and `hot_kg` are one person's limits, from the pile and at the hull.

    carry_min : from the box to the hull, None where the way is not given
    """

    planks: tuple[Handled, ...]
    boards: tuple[Handled, ...]
    one_kg: float
    hot_kg: float
    legs: tuple[LegPassed, ...]
    carry_min: float | None
    findings: tuple[Finding, ...] = ()

    def of(self, name: str) -> Handled | None:
        """Find a plank or board by its name."""
        return next((h for h in (*self.planks, *self.boards) if h.name == name), None)

    @property
    def craned(self) -> tuple[Handled, ...]:
        """Planks that are not to be lifted by hand."""
        return tuple(h for h in self.planks if h.known and not h.by_hand)
