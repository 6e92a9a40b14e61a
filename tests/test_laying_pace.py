"""How long planks are laid on boards, by a count or a clock, and what a longer search looks at."""

from __future__ import annotations

import math
import os
import sys
from collections.abc import Iterator
from subprocess import run

import numpy as np
import pytest

import made_timber
from ribband.timber import LayingRules, check_laying, lay_planks, relay
from ribband.timber.board_model import Board, Laying, Piece
from ribband.timber.laying.pace import LONG, PAIRING, ByCount, said_of_cap, usual_trials

RULES = LayingRules()


def plain(length: float, width: float, name: str = "A1") -> Board:
    ring = np.array([[0, 0], [length, 0], [length, width], [0, width]], float)
    return Board(name, ring, 50.0)


def straight(length: float, width: float, name: str, planks=None) -> Piece:
    ring = made_timber.plank_outline(length, width, 0.0, 0.0, 0.0)
    return Piece(name, ring, planks or (f"P{name}", f"S{name}"), 50.0, 4.0)


@pytest.fixture(scope="module")
def pile():
    return made_timber.planks(14, seed=5), made_timber.boards(22, seed=6)


@pytest.fixture(scope="module")
def laid(pile) -> Laying:
    return lay_planks(*pile, RULES, pace=ByCount(usual_trials(22)))


@pytest.mark.parametrize("boards", [1, 20, 100, 240, 2000])
def test_the_usual_count_is_long_enough_to_pair_halves_and_too_short_for_fine_leans(
    boards: int,
) -> None:
    assert PAIRING * boards <= ByCount(usual_trials(boards)).reach < max(LONG * boards, 0.31)


def test_the_usual_laying_uses_a_seventh_less_than_filling_board_by_board(pile, laid) -> None:
    """`ByCount(0)` fills every board once, the largest first."""
    filled = lay_planks(*pile, RULES, pace=ByCount(0))
    assert not laid.unlaid
    assert not filled.unlaid
    assert laid.used_m3 < 0.86 * filled.used_m3


def slow() -> Iterator[float]:
    """Give the time of a machine on which every look at the clock takes three seconds longer."""
    return (3.0 * n for n in range(10**6))


@pytest.mark.parametrize("trials", [40, 410])
def test_a_counted_laying_is_the_same_however_slow_the_machine(trials: int) -> None:
    """A short search and one long enough for pricing and diving."""
    pile = made_timber.planks(2, seed=9), made_timber.boards(4, seed=9)
    quick = lay_planks(*pile, RULES, pace=ByCount(trials, math.inf))
    late = slow()
    again = ByCount(trials, math.inf, lambda: next(late))
    assert lay_planks(*pile, RULES, pace=again).cuts == quick.cuts
    assert next(late) > 100.0
    assert not quick.unlaid


def test_a_counted_laying_cut_short_says_so() -> None:
    late = slow()
    pace = ByCount(200, 20.0, lambda: next(late))
    laying = lay_planks([straight(2600.0, 150.0, "1-1")], [plain(3000.0, 400.0)], RULES, pace=pace)
    assert not laying.unlaid
    assert [(f.code, "cut short at 20 s" in f.says) for f in said_of_cap(pace)] == [("T126", True)]


def test_a_spoilt_board_is_mended_the_same_however_slow_the_machine(pile, laid) -> None:
    spoilt, late = [laid.cuts[0].board], slow()
    quick = relay(laid, *pile, RULES, spoilt, longest=math.inf)
    again = relay(laid, *pile, RULES, spoilt, longest=math.inf, clock=lambda: next(late))
    assert again.cuts == quick.cuts
    cut_short = relay(laid, *pile, RULES, spoilt, longest=0.0, clock=lambda: next(late))
    assert "T126" in {f.code for f in cut_short.findings}


LISTED = """
import made_timber
from ribband.timber import LayingRules
from ribband.timber.laid import lay_pile
from ribband.timber.laying.spoilt import relay

pieces, boards = made_timber.planks(2, seed=9), made_timber.boards(5, seed=9)
laid = lay_pile(pieces, boards, LayingRules())
spoilt = laid.laying.cuts[0].board
print(laid.laying.cuts, relay(laid.laying, pieces, boards, LayingRules(), [spoilt]).cuts)
"""


def test_two_yards_with_the_same_forms_get_the_same_list() -> None:
    """In processes of their own, which shuffle names otherwise."""
    lists = {
        run([sys.executable, "-c", LISTED], check=True, capture_output=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONPATH": os.pathsep.join(sys.path)},
            ).stdout
        for seed in ("1", "2")
    }  # fmt: skip
    assert len(lists) == 1
    assert b"Cut(plank=" in lists.pop()


def test_a_long_search_looks_at_finer_leans_and_a_short_one_goes_on_from_it() -> None:
    """A plank along a slanting edge lies along it; a laying so found is not lost afterwards."""
    slant = np.array([[0, 0], [4000, 44.0], [4000, 244.0], [0, 200.0]])
    board = Board("A1", slant, 50.0)
    made = [straight(3800.0, 150.0, "1-1", ("P1-1",))]
    pace = ByCount(30)
    pace.reach = LONG
    fine = lay_planks(made, [board], RULES, pace=pace)
    assert not [f for f in check_laying(made, [board], RULES, fine) if f.severity == "fault"]
    [cut] = fine.cuts
    assert abs((cut.turn_rad + np.pi / 2) % np.pi - np.pi / 2 - 0.011) < 0.004
    again = lay_planks(made, [board], RULES, start=fine, pace=ByCount(0))
    assert again.cuts == fine.cuts
