"""Holding power by the Wood Handbook's formulas, within their limits.

Withdrawal from side grain of seasoned, dry wood: wood screws 108.25 G^2 D L, nails 54.12 G^2.5 D L
(newtons, mm; 15,700 and 7,850 in pounds and inches), G oven-dry weight over volume at 12 %, L in
the wood: for a screw its thread. These are loads at which they are drawn, on average; single ones
differ by half. The older allowable load of a screw is 2,850 G^2 D pounds an inch; across the
screw, C D^2 pounds by group of species.

Not reckoned: wet wood, decay, end grain (take nothing there), the head pulling through, and the
working of a hull. None of it replaces a surveyor's word on a vessel's strength.
"""

from __future__ import annotations

from ribband.shop.fastenings.model import Holding, Spec
from ribband.shop.fastenings.rules import FasteningRules
from ribband.timber.model import Species

__all__ = ["holding", "nail_n", "screw_lateral_n", "screw_n", "screw_safe_n"]

POUND_N = 4.4482216152605
MM = 25.4
LATERAL = {"Douglas-fir, coast": 3960.0, "Longleaf pine": 3960.0}  # group II, structural-handbook
LATERAL_DIAMETERS = 7.0  # a screw must be so deep in the wood for its whole lateral load


def screw_n(gravity: float, diameter_mm: float, thread_mm: float) -> float:
    """Give the load that draws a wood screw from side grain, newtons: 15,700 G^2 D L lb, in.

    >>> round(screw_n(0.70, 0.164 * 25.4, 25.4) / POUND_N)  # pounds, gauge 8, an inch of thread
    1262
    """
    return 15700.0 * gravity**2 * (diameter_mm / MM) * (thread_mm / MM) * POUND_N


def screw_safe_n(gravity: float, diameter_mm: float, thread_mm: float) -> float:
    """Give the older allowable load of a wood screw in withdrawal: 2,850 G^2 D L lb, in.

    >>> round(screw_safe_n(0.45, 0.190 * 25.4, 25.4) / POUND_N, 1)
    109.7
    """
    return 2850.0 * gravity**2 * (diameter_mm / MM) * (thread_mm / MM) * POUND_N


def nail_n(gravity: float, diameter_mm: float, depth_mm: float) -> float:
    """Give the load that draws a smooth nail from side grain, newtons: 54.12 G^2.5 D L.

    >>> round(nail_n(0.48, 0.131 * 25.4, 25.4) / POUND_N)
    164
    """
    return float(54.12 * gravity**2.5 * diameter_mm * depth_mm)


def screw_lateral_n(species: Species, diameter_mm: float, depth_mm: float) -> float | None:
    """Give the allowable load across a screw, C D^2 lb, less in proportion where it is shallow.

    None for a species whose group has not been read.
    """
    constant = LATERAL.get(species.name)
    if constant is None:
        return None
    deep = min(1.0, depth_mm / (LATERAL_DIAMETERS * diameter_mm))
    return constant * (diameter_mm / MM) ** 2 * POUND_N * deep


def holding(spec: Spec | None, frame: Species | None, rules: FasteningRules) -> Holding:
    """Give the holding power of a fastening in the timber of the frames."""
    if spec is None or spec.diameter_mm is None:
        return Holding(None, None, None, "the size is not known", "")
    gravity = frame.gravity(12.0) if frame else None
    if frame is None or gravity is None:
        return Holding(
            None, None, None, "the timber of the frames, or its weight, is not known", ""
        )
    if spec.penetration_mm is None:
        return Holding(None, None, None, "through-fastened: the head or the wood gives first", "")
    if spec.kind == "screw":
        return _screw(spec, frame, gravity, spec.penetration_mm, rules)
    drawn = nail_n(gravity, spec.diameter_mm, spec.penetration_mm)
    says = f"smooth shank, side grain of dry {frame.name}"
    return Holding(drawn, None, None, says, "wood-handbook-nails")


def _screw(
    spec: Spec, frame: Species, gravity: float, depth: float, rules: FasteningRules
) -> Holding:
    diameter = spec.diameter_mm or 0.0
    thread = min(depth, rules.thread_part * (spec.length_mm or 0.0))
    return Holding(
        screw_n(gravity, diameter, thread),
        screw_safe_n(gravity, diameter, thread),
        screw_lateral_n(frame, diameter, depth),
        f"thread in side grain of dry {frame.name}, {thread:.0f} mm of it",
        "wood-handbook-screws",
    )
