"""What planks weigh on the boards they are sawn from, and who lifts them then."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from made_kept import planned_copy
from ribband.app.plan.planning import plan
from ribband.timber.weights import rough_on_boards


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return planned_copy(tmp_path_factory.mktemp("weights") / "heron.ribband", "all")


def test_a_plank_weighs_as_its_board_is_thick_and_wet(laid: Path) -> None:
    planned = plan(laid, ("laying", "shop"))
    run = planned.run
    planks, cuts = run.present.planks.planks, run.result("laying").laying.cuts
    tally = run.result("boards").tally.boards
    weights = rough_on_boards(planks, cuts, tally)
    assert weights
    cut = next(c for c in cuts if c.plank in weights)
    board = next(line for line in tally if line.board == cut.board)
    plank = next(p for p in planks if p.name == cut.plank)
    by_hand = plank.rough_board_feet * 0.002359737216 / (plank.rough_mm / board.thickness_mm)
    assert weights[cut.plank] == pytest.approx(by_hand * board.kg / board.volume_m3)
    heavier = [replace(b, thickness_mm=2 * b.thickness_mm) for b in tally]
    twice = rough_on_boards(planks, cuts, heavier)
    assert twice[cut.plank] == pytest.approx(2 * weights[cut.plank])
    handled = run.result("shop").handling.of(cut.plank)
    assert handled.rough_kg == pytest.approx(weights[cut.plank])


def test_a_board_of_unknown_weight_tells_nothing(laid: Path) -> None:
    run = plan(laid, "laying").run
    planks, cuts = run.present.planks.planks, run.result("laying").laying.cuts
    unknown = [replace(b, kg=None) for b in run.result("boards").tally.boards]
    assert rough_on_boards(planks, cuts, unknown) == {}


def test_a_job_of_no_boards_has_its_shop_as_the_list_weighs_it(tmp_path: Path) -> None:
    """Nothing is laid: who lifts a plank is asked of the plank list."""
    path = planned_copy(tmp_path / "heron.ribband", "shop")
    planned = plan(path, "shop")
    planks = {p.name: p.rough_kg for p in planned.run.present.planks.planks}
    assert {h.name: h.rough_kg for h in planned.run.result("shop").handling.planks} == planks
