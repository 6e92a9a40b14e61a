"""Rules of repairs: new joints beside old ones, and how much of her may be open at once.

None of them knows the vessel: her authority and her surveyor come first.
"""

from __future__ import annotations

from dataclasses import dataclass

from ribband.rulebook import rule

__all__ = ["RepairRules"]


@dataclass(frozen=True, slots=True)
class RepairRules:
    """Rules of repairs.

    >>> RepairRules().beyond_spaces
    1
    """

    beyond_spaces: int = rule(
        1, 0, 10, "frame spaces",
        "A new joint stands at least so far beyond what is bad, in sound wood.",
        "common-practice",
    )  # fmt: skip
    least_left_mm: float = rule(
        1219.2, 0.0, 10_000.0, "mm",
        "Shortest piece of an old plank that is left between a new joint and its old one.",
        "common-practice",
    )  # fmt: skip
    joint_mm: float = rule(
        150.0, 0.0, 5_000.0, "mm",
        "A joint more is worth so much plank: it is made where it saves more.", "house",
    )  # fmt: skip
    scarf_slope: float = rule(
        8.0, 4.0, 20.0, "", "Length of a scarf for its thickness.", "common-practice"
    )
    between_open: int = rule(
        2, 0, 20, "strakes",
        "Strakes that stay closed between two that are open side by side.", "common-practice",
    )  # fmt: skip
    open_a_side: int = rule(
        3, 1, 20, "renewals", "Renewals open on one side at the same time.", "house"
    )
    near_spaces: int = rule(
        2, 0, 20, "frame spaces",
        "Openings no further apart along her than this count as side by side.", "house",
    )  # fmt: skip
