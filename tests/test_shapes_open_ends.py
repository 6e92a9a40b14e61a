"""Where no hood end was measured, shapes end at the frame where the plank list ends."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import as_file, files

import numpy as np
import pytest

from made_hulls import launch
from made_planking import even_lining, ways_of
from made_shapes import NO_BUTTS
from ribband import butts, hull, lining, planks, survey
from ribband.planks.opening import openings


@pytest.mark.parametrize("end", ["fore", "aft"])
def test_an_open_end_lies_in_the_plane_of_the_last_frame(end: str) -> None:
    """The solver's own lines lean away from the frames; the planks' ends do not."""
    boat = launch()
    frame = {"fore": "10", "aft": "40"}[end]
    lined = even_lining(boat, 16)
    open_ended = [
        replace(s, first=frame) if end == "fore" else replace(s, last=frame) for s in lined.strakes
    ]
    opening = openings(boat, replace(lined, strakes=tuple(open_ended)), ways_of(boat, lined),
                       NO_BUTTS)  # fmt: skip
    k = 0 if end == "fore" else -1
    wanted = boat.frames.x_mm[boat.frames.names.index(frame)]
    assert opening.xyz[:, k, :, 0] == pytest.approx(wanted, abs=0.1)
    if end == "fore":
        assert np.ptp(opening.u[:, k, :]) > 1e-3  # not one of the solver's lines, which lean here
    assert opening.v[:, k, 2] == pytest.approx((np.arange(16) + 0.5) / 16, abs=1e-6)


def test_a_shape_is_as_long_as_its_plank_and_no_fault_is_found() -> None:
    with as_file(files("ribband") / "data" / "examples" / "launch_1905") as folder:
        measured = survey.read_survey(survey.read_forms(folder))
    fair = hull.fit(measured)
    assert not fair.has_stern
    rules = butts.rule_sets()["house"]
    lined = lining.line_out(fair)
    ways = butts.ways(fair, lined, rules)
    layout = butts.lay(ways, rules, seconds=5)
    made = planks.list_planks(fair, lined, ways, layout)
    flat = planks.get_shapes(fair, lined, ways, layout)
    assert planks.check_shapes(fair, lined, ways, layout, planks.ShapeRules(), flat) == ()
    shapes = {s.name: s for s in flat.shapes}
    for plank in made.planks:
        ends = shapes[f"{plank.strake}-{plank.number}"]
        middle = (ends.lower + ends.upper) / 2
        length = float(np.linalg.norm(np.diff(middle, axis=0), axis=1).sum())
        assert length == pytest.approx(plank.length_mm, rel=0.01), plank.name
    assert "P014" not in {f.code for f in planks.check(fair, lined, ways, layout, made)}
