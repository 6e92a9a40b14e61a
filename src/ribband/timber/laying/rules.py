"""Rules of laying planks on boards: saw, allowances, grain, what is kept."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.rulebook import rule

__all__ = ["LayingRules"]


@dataclass(frozen=True, slots=True)
class LayingRules:
    """Rules of laying planks on boards.

    >>> LayingRules().kerf_mm
    5.0
    """

    kerf_mm: float = rule(
        5.0, 0.0, 30.0, "mm", "Width of the saw's cut, kept between planks.", "house"
    )
    allowance_mm: float = rule(
        4.0, 0.0, 60.0, "mm", "Left on both edges of a plank for fitting.", "house"
    )
    end_allowance_mm: float = rule(
        40.0, 0.0, 600.0, "mm", "Left on each end of a plank for fitting.", "house"
    )
    greatest_turn_rad: float = rule(
        0.05, 0.0, 0.3, "rad", "Most a plank's batten line may lean from the board's length.",
        "house",
    )  # fmt: skip
    live_edge_mm: float = rule(
        10.0, 0.0, 150.0, "mm", "Kept off the edges and ends of a board with live edges.", "house"
    )
    sap_allowed: bool = rule(False, None, None, "", "Whether a plank may have sap in it.", "house")
    may_flip: bool = rule(
        True, None, None, "",
        "Whether either face of a board may be the inner face of a plank.", "house",
    )  # fmt: skip
    offcut_length_mm: float = rule(
        2000.0, 200.0, 20000.0, "mm",
        "Shortest end of a board, sawn square off, that is kept for another plank.", "house",
    )  # fmt: skip
    offcut_width_mm: float = rule(
        150.0, 10.0, 2000.0, "mm", "Least width of an end that is kept.", "house"
    )
    other_timber: bool = rule(
        False, None, None, "",
        "Whether a board of another timber than the planking's may be cut into.", "house",
    )  # fmt: skip
    wettest_percent: float = rule(
        0.0, 0.0, 200.0, "%", "Wettest a board may be to be cut into; 0 is any.", "house"
    )
    bow_mm: float = rule(
        40.0, 0.0, 500.0, "mm", "Bow of a board from which there is a caution.", "house"
    )
