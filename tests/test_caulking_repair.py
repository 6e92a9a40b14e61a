"""Seams of whole strakes renewed one above the other: each is one seam, to the very hood ends."""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest

from made_hung import planned
from ribband.butts import ButtRules
from ribband.planks import PlankRules, ShapeRules, Shapes
from ribband.record import Bad, Recorded, RepairRules, Stuff, plan_repair
from ribband.shop import CaulkingRules, caulk, check_caulking
from ribband.shop.planking import Planking

LOW = ("1", "2", "3")


@lru_cache(maxsize=1)
def renewed() -> Planking:
    """The three lowest strakes of the launch, renewed to port from stem to stern."""
    own = planned()
    butts = {"port": own.layout.butts, "starboard": own.layout.butts}
    recorded = Recorded(own.hull, own.lining, own.ways, butts)
    bads = [Bad("port", strake, "stem", "stern", "butt") for strake in LOW]
    stuff = Stuff(PlankRules(), ShapeRules())
    repair = plan_repair(recorded, bads, ButtRules(), RepairRules(), stuff)
    shapes = next(side.shapes for side in repair.sides if side.side == "port")
    return Planking(own.hull, repair.lining, repair.planks, Shapes(shapes))


def test_seams_of_strakes_renewed_whole_are_as_long_as_their_planks_edges() -> None:
    there = np.isfinite(renewed().lining.upper_girth_mm[: len(LOW)])
    assert not there.all()  # some end short of the last frame, as strakes on a raked stem do
    made = caulk(renewed())
    own = {seam.of: seam.length_mm for seam in made.seams if seam.of.startswith("strake")}
    assert set(own) == {*(f"strake {name}" for name in LOW), "strake 3, upper edge"}
    assert own["strake 3, upper edge"] == pytest.approx(own["strake 3"], rel=0.1)
    assert check_caulking(renewed(), CaulkingRules(), made) == ()
