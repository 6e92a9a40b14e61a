"""What each plank is to the rates, from the plank list, the lining, flat shapes and the steaming.

A plank's seam is its lower edge, so every seam is counted once, the rabbet's too; the sheer's
upper edge has none. A plank without a flat shape is spiled from the opening and not known to want
hollowing.
"""

from __future__ import annotations

from ribband.planks.model import Plank
from ribband.shop.planking import Planking
from ribband.shop.steaming.model import Steaming
from ribband.shop.work.model import Measure
from ribband.shop.work.rules import WorkRules

__all__ = ["measures"]


def measures(
    planking: Planking, steaming: Steaming | None, rules: WorkRules
) -> tuple[Measure, ...]:
    """Give the measure of every plank of the list; without a steaming all are hung cold."""
    return tuple(_measure(planking, plank, steaming, rules) for plank in planking.planks.planks)


def _measure(
    planking: Planking, plank: Plank, steaming: Steaming | None, rules: WorkRules
) -> Measure:
    shape = planking.shape(plank)
    deep = 0.0 if shape is None else float(shape.hollow_mm.max(initial=0.0))
    steamed = None if steaming is None else steaming.of(plank.name)
    return Measure(
        plank.name,
        plank.side,
        plank.length_mm / 1000,
        plank.area_m2,
        len(planking.crossings(plank)),
        plank.length_mm / 1000,
        hollow=deep > rules.hollow_from_mm,
        steam_min=steamed.minutes if steamed is not None and steamed.needed else None,
        kg=plank.dressed_kg,
        spiled=shape is None,
    )
