"""The new planks of a repair alone: a bench on which they are all the planks there are.

While the form `renew` asks for anything, boards, laying, order, shop, hanging and work are worked
out on such a bench, so that one name is one plank everywhere: a plank of the whole hull, as this
job would plank her, may bear the name of a new one.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from ribband.app.plan.log_keys import renews
from ribband.app.plan.making import Bench, Made

if TYPE_CHECKING:
    from ribband.record import Repair

__all__ = ["new_planks_alone", "repair_alone", "whole_left_out"]

WHOLE = ("lining", "butts", "planks", "shapes", "stands")  # what is of other planks


def new_planks_alone(bench: Bench) -> Bench | None:
    """Give a bench with the new planks of the repair alone; None where there are none."""
    made = bench.made.get("repair") if renews(bench.forms) else None
    repair: Repair | None = made.result if made else None
    if repair is None or not repair.planks.planks:
        return None
    if repair_alone(bench) is repair:
        return bench
    own = whole_left_out(bench)
    _put(own, repair)
    return own


def whole_left_out(bench: Bench) -> Bench:
    """Give a bench without the planks of the whole hull, never given for a repair's."""
    made = {step: its for step, its in bench.made.items() if step not in WHOLE}
    return replace(bench, made=made)


def repair_alone(bench: Bench) -> Repair | None:
    """Give the repair whose new planks are all the bench has; None for a whole hull."""
    made, planks = bench.made.get("repair"), bench.made.get("planks")
    repair: Repair | None = made.result if made and renews(bench.forms) else None
    if repair is None or planks is None:
        return None
    return repair if planks.result is repair.planks else None


def _put(bench: Bench, repair: Repair) -> None:
    from ribband.planks import Shapes

    port, starboard = (next(s for s in repair.sides if s.side == side)
                       for side in ("port", "starboard"))  # fmt: skip
    bench.made["lining"] = Made(repair.lining)
    bench.made["butts"] = Made((port.ways, port.layout, starboard.layout))
    bench.made["planks"] = Made(repair.planks, bench.made["repair"].findings)
    bench.made["shapes"] = Made((Shapes(port.shapes), Shapes(starboard.shapes)))
