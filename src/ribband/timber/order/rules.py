"""Rules of the order: sizes a mill sells, what is lost, how sure, what can be lifted."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.rulebook import rule

__all__ = ["OrderRules"]


@dataclass(frozen=True, slots=True)
class OrderRules:
    """Rules of the order.

    >>> OrderRules().confidence
    0.9
    """

    confidence: float = rule(
        0.9, 0.5, 0.999, "", "How sure the order shall be to be enough.", "house"
    )
    spoilt_part: float = rule(
        0.05, 0.0, 0.5, "", "Part of the planks spoilt in the getting out or the hanging.", "house"
    )
    defect_part: float = rule(
        0.05, 0.0, 0.5, "", "Part of the boards bought that turn out not fit for planks.", "house"
    )
    kerf_mm: float = rule(5.0, 0.0, 30.0, "mm", "Width of the saw's cut between planks.", "house")
    end_trim_mm: float = rule(
        50.0, 0.0, 600.0, "mm", "Cut off each end of a board bought, for checks.", "house"
    )
    edge_trim_mm: float = rule(
        10.0, 0.0, 150.0, "mm", "Cut off each edge of a board bought, for sap and wane.", "house"
    )
    step_mm: float = rule(
        10.0, 1.0, 100.0, "mm", "Step lengths are rounded to: planks up, boards down.", "house"
    )
    shortest_mm: float = rule(
        2438.4, 500.0, 10_000.0, "mm", "Shortest board a mill sells: 8 ft.", "common-practice"
    )
    longest_mm: float = rule(
        7315.2, 1_000.0, 20_000.0, "mm", "Longest board a mill sells: 24 ft.", "common-practice"
    )
    length_step_mm: float = rule(
        609.6, 100.0, 2_000.0, "mm", "Step of the lengths: 2 ft.", "common-practice"
    )
    narrowest_mm: float = rule(
        152.4, 25.0, 600.0, "mm", "Narrowest board a mill sells: 6 in.", "common-practice"
    )
    widest_mm: float = rule(
        406.4, 100.0, 1_500.0, "mm", "Widest board a mill sells: 16 in.", "common-practice"
    )
    width_step_mm: float = rule(
        50.8, 5.0, 200.0, "mm", "Step of the widths: 2 in.", "common-practice"
    )
    thickness_step_mm: float = rule(
        6.35, 1.0, 50.0, "mm",
        "Step of the thicknesses sold over the rough one, for planks to be hollowed deeper: 1/4 "
        "in.", "common-practice",
    )  # fmt: skip
    moisture_percent: float = rule(
        20.0, 0.0, 30.0, "per cent", "Moisture at which the boards bought are weighed.", "house"
    )
    edge_mm: float = rule(
        4.0, 0.0, 60.0, "mm",
        "Left on both edges of a plank whose flat shape is not known.", "house",
    )  # fmt: skip
    end_mm: float = rule(
        40.0, 0.0, 600.0, "mm", "Left on each end of a plank whose flat shape is not known.",
        "house",
    )  # fmt: skip
    sweep_mm: float = rule(
        50.0, 0.0, 600.0, "mm",
        "Added to the width of a plank whose flat shape is not known, for its sweep.", "house",
    )  # fmt: skip
    lift_kg: float = rule(
        900.0, 20.0, 10_000.0, "kg", "Heaviest pack the yard's forklift or crane takes.", "house"
    )
    seconds: float = rule(20.0, 0.1, 600.0, "s", "How long to look for fewer boards.", "house")
