"""What lengths a pile can give, and the pile looked over: against boards done by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ribband.timber import (
    ClimateRules,
    DressRules,
    LayingRules,
    OrderRules,
    PileRules,
    SeamRules,
    Wanted,
    bought_boards,
    buy,
    classes_of,
    equilibrium_celsius,
    fit_boards,
    gather,
    in_climate,
)
from ribband.timber.board_model import Board, Flaw
from ribband.timber.board_runs import in_pairs, runs
from ribband.timber.laying.choice import chosen
from ribband.timber.order.model import Need

RULES = LayingRules(live_edge_mm=10.0, kerf_mm=5.0)


def board(name: str, long: float, wide: float, **more: object) -> Board:
    ring = np.array([[0.0, 0], [long, 0], [long, wide], [0, wide]])
    return Board(name, ring, 50.0, **more)


def ring(x: float, y: float, size: float) -> np.ndarray:
    return np.array([[x, y], [x + size, y], [x + size, y + size], [x, y + size]])


def test_a_knot_across_the_middle_halves_the_run() -> None:
    knot = Flaw("knot", ring(2000.0, 90.0, 40.0))
    assert runs([board("A", 6000.0, 220.0)], 200.0, RULES) == (6000.0,)
    (run,) = runs([board("A", 6000.0, 220.0, flaws=(knot,))], 200.0, RULES)
    assert run == pytest.approx(6000.0 - 2040.0, abs=50.0)
    assert runs([board("A", 6000.0, 220.0, flaws=(knot,))], 80.0, RULES)[0] == 6000.0


def test_wide_boards_give_two_and_live_edges_cost_their_width() -> None:
    assert len(runs([board("A", 5000.0, 405.0)], 200.0, RULES)) == 2
    assert len(runs([board("A", 5000.0, 405.0, live_edges=True)], 200.0, RULES)) == 1
    assert runs([board("A", 5000.0, 405.0, state="spoilt")], 200.0, RULES) == ()


def test_lengths_go_by_twos_and_never_up() -> None:
    pairs = dict(in_pairs([7010.0, 6990.0, 5030.0, 5020.0, 3000.0]))
    assert pairs == {6950.0: 2, 5000.0: 2}


def test_the_air_brings_timber_to_its_moisture() -> None:
    air = ClimateRules(yard_celsius=10.0, yard_humidity=80.0)
    dressing, seams = in_climate(air, DressRules(), SeamRules())
    assert dressing.planking_percent == pytest.approx(equilibrium_celsius(10.0, 80.0))
    assert seams.standing_percent == SeamRules().standing_percent


def test_seams_move_from_the_moisture_the_planks_are_dressed_at() -> None:
    wanted = Wanted("Douglas-fir, coast", 38.0, ("1", "2"), np.full((2, 3), 150.0))
    closes = []
    for hung in (12.0, 15.0, 20.0):
        seams = gather([board("A", 4000, 300)], wanted,
                       PileRules(dressing=DressRules(planking_percent=hung))).seams  # fmt: skip
        assert seams is not None
        closes.append(-float(seams.afloat_mm[0, 0]))
    assert closes[0] > closes[1] > closes[2] == 0.0  # afloat they take up to 20 %


def test_tally_and_laying_leave_the_same_boards_by_one_rule() -> None:
    boards = [board("A", 4000, 300, species="white oak"), board("B", 4000, 300),
              replace(board("D", 4000, 300), moisture_percent=30.0)]  # fmt: skip
    for rules in (
        LayingRules(),
        LayingRules(other_timber=True),
        LayingRules(wettest_percent=25.0),
        LayingRules(other_timber=True, wettest_percent=25.0),
    ):
        pile = gather(boards, Wanted("larch", 0.0), PileRules(laying=rules))
        left = {b.name for b in boards} - {b.name for b in chosen(fit_boards(pile), rules, "larch")}
        assert {name for name, _ in pile.unfit} == left
        assert left == ({"A"} if not rules.other_timber else set()) | (
            {"D"} if rules.wettest_percent else set()
        )
        assert "T012" in {f.code for f in pile.findings}


def test_only_what_will_not_dress_is_barred_for_the_laying() -> None:
    thin = replace(board("T", 4000, 300, species="white oak"), thickness_mm=36.0)
    pile = gather([thin, board("B", 4000, 300)], Wanted("white oak", 35.0))
    assert [b.state for b in fit_boards(pile)] == ["barred", "sound"]
    free = gather([thin], Wanted("white oak", 35.0), PileRules(dressing=DressRules(bar=False)))
    assert [b.state for b in fit_boards(free)] == ["sound"]


def test_what_is_bought_bears_a_name_and_its_planks() -> None:
    needs = [Need(2900.0, 130.0, 45.0, ("P1", "S1")), Need(1900.0, 130.0, 45.0, ("P2",))]
    rules = replace(OrderRules(), defect_part=0.2)
    bought = buy(needs, classes_of((), (), 50.8, rules, "mm"), rules)
    boards = bought_boards(bought)
    assert bought.order is not None
    assert len(boards) == sum(line.count for line in bought.order.lines)
    assert sorted(p for b in boards for p in b.planks) == ["P1", "P2", "S1"]
    assert [b.name for b in boards] == [f"buy {n}" for n in range(1, len(boards) + 1)]
    assert bought_boards(None) == ()
    again = [b.name for b in bought_boards(replace(bought, marks=("Buy  1", "A7", "buy 3")))]
    assert again[:2] == ["buy 2", "buy 4"]
    assert len(again) == len(boards)


def named(*species: str) -> list[Board]:
    ring = np.array([[0.0, 0], [4000, 0], [4000, 300], [0, 300]])
    return [Board(f"A{n}", ring, 60.0, kind, 15.0) for n, kind in enumerate(species)]


def test_a_timbers_name_is_known_however_its_words_are_parted() -> None:
    pile = gather(named("DOUGLAS FIR (coast)"), Wanted("Douglas-fir, coast", 38.0))
    assert not pile.unfit
    assert not {"T012", "T013"} & {f.code for f in pile.findings}


def test_boards_of_a_name_nobody_knows_are_told_the_names_most_like_it() -> None:
    boards = named("doug fir", "Douglas-fir, coast", "doug fir")
    found = gather(boards, Wanted("Douglas-fir, coast", 38.0)).findings
    (told,) = [f for f in found if f.code == "T013"]
    assert "A0" in told.where
    assert "A2" in told.where
    assert "A1" not in told.where
    assert "Douglas-fir" in told.why


def test_a_board_of_no_timber_told_is_planed_as_the_plankings() -> None:
    untold, told = fit_boards(gather(named("", "white oak"), Wanted("white oak", 38.0)))
    assert untold.lost_mm == told.lost_mm > 0.0
