"""Rules of the order of hanging: how level the sides are kept, and what makes a good shutter."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.rulebook import rule

__all__ = ["HangingRules"]


@dataclass(frozen=True, slots=True)
class HangingRules:
    """Rules of the order of hanging; each `sharp_...` counts one point against a shutter.

    >>> HangingRules().level
    2
    """

    level: int = rule(
        2, 1, 50, "planks", "The most one side may be ahead of the other.", "common-practice"
    )
    from_keel: int = rule(
        2, 0, 20, "strakes", "Strakes next to the keel that are not the shutter's.", "house"
    )
    from_sheer: int = rule(
        2, 0, 20, "strakes", "Strakes next to the sheer that are not the shutter's.", "house"
    )
    reach_mm: float = rule(
        700.0, 0.0, 5_000.0, "mm",
        "Height over the lowest of the rabbet at which a plank is driven best.", "house",
    )  # fmt: skip
    sharp_height_mm: float = rule(
        500.0, 50.0, 5_000.0, "mm", "A shutter so far above or below the best height.", "house"
    )
    sharp_sweep: float = rule(
        0.01, 0.0005, 1.0, "", "A shutter with so much sweep in its length.", "house"
    )
    sharp_twist_rad: float = rule(
        0.06, 0.001, 2.0, "rad", "A shutter with so much twist in a metre.", "house"
    )
    sharp_strain: float = rule(
        0.006, 0.0005, 0.1, "", "A shutter so strained in its outer fibres by bending.", "house"
    )
    sharp_overhead_rad: float = rule(
        0.6, 0.05, 1.6, "rad", "A shutter whose face looks down so far.", "house"
    )
    hood_points: float = rule(
        1.0, 0.0, 20.0, "", "Points against a shutter with a hood end.", "house"
    )
