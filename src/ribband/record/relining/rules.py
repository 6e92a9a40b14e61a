"""Rules of re-lining: when a plank is as it was, and how much each strake takes up of a drift."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.rulebook import rule

__all__ = ["ReliningRules"]


@dataclass(frozen=True, slots=True)
class ReliningRules:
    """Rules of re-lining.

    >>> ReliningRules().as_it_was_mm
    1.5875
    """

    as_it_was_mm: float = rule(
        1.5875, 0.0, 10.0, "mm",
        "A plank whose edges move nowhere by more keeps its pattern, ticket and shape.", "house",
    )  # fmt: skip
    takes_up_mm: float = rule(
        4.7625, 0.0, 50.0, "mm",
        "Each strake next to a drifted seam takes up about this of it before the next is touched; "
        "0 spreads it over all.",
        "house",
    )  # fmt: skip
