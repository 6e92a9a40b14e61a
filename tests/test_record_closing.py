"""Whether the shutter fits, in words: its opening not closed, closed, and measured."""

from __future__ import annotations

from dataclasses import replace

from made_hung import planned
from ribband.planks.model import Plank
from ribband.record import DONE, Opening, SideLeft, Standing, shutter_fit, shutters_of
from ribband.record.model import come_to


def plank() -> Plank:
    return next(p for p in planned().planks if p.side == "port" and p.strake == "4")


def side(*openings: Opening, state: str = "free") -> SideLeft:
    shape = planned().lining.width_mm != planned().lining.width_mm
    stands = Standing("port", shape, shape, {plank().name: state})  # type: ignore[dict-item]
    return SideLeft("port", stands, (), openings, None, (plank(),), ())


def opening(frame: str, off: float, *, measured: bool) -> Opening:
    return Opening("4", frame, 150.0, 150.0 + off, measured)


def test_the_opening_is_said_as_it_stands() -> None:
    assert next(state for state in DONE if come_to(state, "hung")) == "hung"
    wide = f"planned {plank().width_max_mm:.0f} mm at the widest"
    assert shutter_fit(plank(), side(), "mm") == f"opening not closed yet; {wide}"
    closed = side(
        opening("4", 0.0, measured=False), replace(opening("5", 3.0, measured=True), strake="9")
    )
    assert shutter_fit(plank(), closed, "mm").startswith(
        "opening closed, not measured yet; planned"
    )
    part = side(opening("4", 9.0, measured=False), opening("5", -3.0, measured=True))
    said = shutter_fit(plank(), part, "mm")
    assert said == f"opening measured at 1 of 2 frames: 3 mm narrower, at frame 5 most; {wide}"
    whole = side(opening("4", 9.0, measured=True), opening("5", -3.0, measured=True))
    assert shutter_fit(plank(), whole, "mm").startswith("opening measured: 9 mm wider, at frame 4")
    assert shutter_fit(plank(), side(state="held"), "mm").startswith("hangs")


def test_only_the_sides_own_shutter_is_told() -> None:
    assert shutters_of(side(), (plank().name, "S4-1")) == (plank(),)
    assert shutters_of(side(), ("P9-9",)) == ()
