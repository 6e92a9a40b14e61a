"""Where no hood end was measured, shapes end at the frame where the plank list ends."""

from __future__ import annotations

from importlib.resources import as_file, files

import numpy as np
import pytest

from ribband import butts, hull, lining, planks, survey


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
