"""What drying takes of the breadth of planks got out of wet boards, held against the allowance."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import made_timber
from ribband.app.demo import copy_example
from ribband.app.plan.planning import plan
from ribband.cli import cli
from ribband.timber import Laid, LayingRules, lay_pile
from ribband.timber.board_model import Board, Piece
from ribband.timber.moisture.dress import DressRules
from ribband.timber.narrowing import narrowed, said_of_breadths

RULES, DRESS = LayingRules(), DressRules()
PLANK = Piece("1-2", made_timber.plank_outline(2600.0, 234.0, 60.0, 0.0, 0.0), ("S1-2",), 45.0, 4.0)
RING = np.array([[0.0, 0], [4000, 0], [4000, 600], [0, 600]])


def laid(moisture: float | None, timber: str = "white oak", cut: str = "") -> Laid:
    board = Board("L49", RING, 60.0, timber, moisture, cut=cut)  # type: ignore[arg-type]
    return lay_pile((PLANK,), [board], RULES, timber=timber)


def by_hand(rough: float, total: float, wet: float, dry: float) -> float:
    """Eq. 4-7 of the Wood Handbook, one dimension over the other."""
    here, there = (1.0 - total / 100 * (1.0 - at / 30.0) for at in (wet, dry))
    return rough * (1.0 - there / here)


@pytest.mark.parametrize(("cut", "total"), [("flat", 10.5), ("quarter", 5.6), ("", 10.5)])
def test_the_breadth_lost_goes_by_the_cut_and_the_livelier_where_it_is_not_known(
    cut: str, total: float
) -> None:
    (one,) = narrowed(laid(28.0, cut=cut), 15.0)
    assert (one.plank, one.board, one.left_mm, one.assumed) == ("S1-2", "L49", 8.0, not cut)
    assert one.loses_mm == pytest.approx(by_hand(242.0, total, 28.0, 15.0), abs=0.05)


def test_sweep_is_no_breadth() -> None:
    swept = replace(PLANK, outline=made_timber.plank_outline(2600.0, 234.0, 0.0, 0.0, 0.0))
    board = Board("L49", RING, 60.0, "white oak", 28.0)
    (straight,) = narrowed(lay_pile((swept,), [board], RULES), 15.0)
    (one,) = narrowed(laid(28.0), 15.0)
    assert one.loses_mm == pytest.approx(straight.loses_mm, rel=0.02)


@pytest.mark.parametrize(
    ("moisture", "said"), [(15.0, False), (17.0, False), (20.0, True), (28.0, True)]
)
def test_it_is_said_from_half_of_the_allowance_on(moisture: float, said: bool) -> None:
    """White oak, 242 mm: at 20 % it loses 4.4 of the 8 mm left on both edges, at 17 1.8."""
    found = said_of_breadths(laid(moisture, cut="flat"), DRESS)
    assert [f.code for f in found] == (["T145"] if said else [])
    if moisture == 28.0:
        lost = by_hand(242.0, 10.5, 28.0, 15.0)
        assert found[0].where == "plank S1-2"
        assert f"S1-2, out of L49 at 28 %, {lost:.1f} mm of 8.0 mm" in found[0].says
        assert f"{lost - 8:.1f} mm more than that" in found[0].says
        assert "L49" not in found[0].why
        (inches,) = said_of_breadths(laid(moisture, cut="flat"), DRESS, "ft-in-8ths")
        assert f"{lost / 25.4:.2f} in of 0.31 in" in inches.says
        assert "L49 the cut is not known" in said_of_breadths(laid(moisture), DRESS)[0].why


@pytest.mark.parametrize(("moisture", "timber"), [(None, "white oak"), (28.0, "ironbark of ours")])
def test_what_cannot_be_told_is_said(moisture: float | None, timber: str) -> None:
    (found,) = said_of_breadths(laid(moisture, timber), DRESS)
    assert found.code == "T146"
    assert (found.where, "L49" in found.says) == ("plank S1-2", True)


def test_a_board_dry_enough_is_not_asked_after_whatever_its_timber() -> None:
    assert said_of_breadths(laid(14.0, "ironbark of ours"), DRESS) == ()


def test_the_plan_says_it_of_the_pile(tmp_path: Path) -> None:
    """The demo's boards at 28 % but for a few: planks on those of them that are cut into."""
    forms = copy_example("marl_heron", tmp_path / "forms")
    text = (forms / "boards.csv").read_text("utf-8")
    (forms / "boards.csv").write_text(text.replace('coast",14', 'coast",28'), "utf-8")
    job = tmp_path / "heron"
    assert CliRunner().invoke(cli, ["new", str(job), str(forms)]).exit_code == 0
    found = plan(job.with_suffix(".ribband"), "laying").run.bench.made["laying"].findings
    (one,) = [f for f in found if f.code == "T145"]
    assert " in of 0.31 in" in one.says
