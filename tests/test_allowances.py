"""What is left on a plank: list, weights and order go by what it is sawn out of its board with."""

from __future__ import annotations

from pathlib import Path

import pytest

from made_kept import planned_copy
from ribband.app.entering.rules import in_force, with_rule
from ribband.app.plan.planning import plan
from ribband.numerics.polygons import enclosed_area
from ribband.planks import PlankRules
from ribband.timber.laying.ground import rough_ring


def left_on(*said: tuple[str, str]) -> tuple[float, float]:
    form = None
    for name, text in said:
        form = with_rule(form, name, text)
    rules = in_force(form, "mm")["planks"]
    return rules.edge_allowance_mm, rules.end_allowance_mm


def test_the_list_leaves_on_a_plank_what_the_laying_does_unless_the_yard_says() -> None:
    assert left_on() == (4.0, 44.0)
    assert left_on() == (PlankRules().edge_allowance_mm, PlankRules().end_allowance_mm)
    assert left_on(("laying.allowance", "9"), ("laying.end_allowance", "60")) == (9.0, 69.0)
    assert left_on(("laying.allowance", "9"), ("planks.end_allowance", "20")) == (9.0, 20.0)
    assert left_on(("planks.edge_allowance", "7")) == (7.0, 44.0)


def test_the_list_has_the_volume_of_the_planks_as_they_are_sawn(tmp_path: Path) -> None:
    """The rough outlines laid on the boards, by the list's thickness, against the list."""
    planned = plan(planned_copy(tmp_path / "heron.ribband", "laying"), "laying")
    laid, planks = planned.run.result("laying"), planned.run.bench.present.planks.planks
    rough = {name: enclosed_area(rough_ring(q)) for q in laid.pieces for name in q.planks}
    sawn = sum(rough[p.name] * p.rough_mm for p in planks) / 1e9
    listed = sum(p.rough_board_feet for p in planks) / 423.776
    assert listed == pytest.approx(sawn, rel=0.004)
