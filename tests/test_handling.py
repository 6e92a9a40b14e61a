"""Handling: the lifting equation, teams, corners, and the way from pile to hull."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from importlib.resources import files

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_shop import boat, drum, taped
from ribband.errors import InputError
from ribband.rulebook import describe
from ribband.shop import (
    HandlingRules,
    Leg,
    Lift,
    Load,
    check_handling,
    handle,
    limit,
    longest_turn,
    read_path,
    steam,
)
from ribband.shop.handling.lift import hands_for, team_kg
from ribband.shop.handling.solve import one_lift
from ribband.sources import source
from ribband.survey.rows import Row

RULES = HandlingRules()
BEST = Lift(250.0, 750.0, 1000.0, grip="good")
WAY = (
    Leg("pile", "planer", 12_000.0, 2400.0, 2000.0),
    Leg("planer", "steam box", 9_000.0),
    Leg("steam box", "hull", 21_000.0, 3000.0, 3000.0),
)


def test_the_best_lift_is_the_load_constant() -> None:
    assert limit(BEST).kg == pytest.approx(23.0)
    assert limit(BEST, at_end=True).kg == pytest.approx(23.0 * (1 - 0.003 * 25))


@pytest.mark.parametrize(
    "worse",
    [
        {"out_mm": 400.0}, {"from_mm": 300.0}, {"to_mm": 1600.0}, {"turn_deg": 60.0},
        {"a_minute": 5.0}, {"a_minute": 5.0, "spell": "two hours"}, {"grip": "poor"},
    ],
)  # fmt: skip
def test_anything_worse_lowers_the_limit(worse: dict) -> None:
    assert limit(replace(BEST, **worse)).kg < 23.0 - 0.1


@pytest.mark.parametrize(
    "beyond",
    [{"out_mm": 640.0}, {"from_mm": 1800.0}, {"turn_deg": 140.0}, {"a_minute": 15.5}],
)
def test_beyond_the_equation_s_range_nothing_may_be_lifted(beyond: dict) -> None:
    assert limit(replace(BEST, **beyond)).kg == 0.0


def test_a_measure_below_nothing_is_refused() -> None:
    with pytest.raises(ValueError, match="below nothing"):
        limit(replace(BEST, turn_deg=-1.0))
    with pytest.raises(ValueError, match="below nothing"):
        longest_turn(-1.0, 1000.0)


def test_frequencies_between_rows_lie_between_them() -> None:
    often = limit(replace(BEST, a_minute=2.5)).often
    assert often == pytest.approx((0.91 + 0.88) / 2)
    assert limit(replace(BEST, a_minute=12.0, from_mm=400.0, spell="two hours")).often == 0.0
    assert limit(replace(BEST, a_minute=12.0, spell="two hours")).often == pytest.approx(0.21)


def test_a_team_lifts_less_than_the_sum_of_its_members() -> None:
    sums = [team_kg(12.0, n) for n in range(1, 7)]
    assert sums == sorted(sums)
    assert all(total < 12.0 * n for n, total in enumerate(sums[1:], start=2))
    assert hands_for(12.0, 12.0, 6) == 1
    assert hands_for(12.0, 12.0, 6, least=2) == 2
    assert hands_for(37.0, 12.0, 6) is None


@settings(max_examples=60, deadline=None)
@given(st.floats(1.0, 200.0), st.floats(2.0, 23.0), st.integers(1, 8))
def test_the_fewest_hands_suffice_and_one_fewer_do_not(kg: float, one: float, most: int) -> None:
    hands = hands_for(kg, one, most)
    if hands is None:
        assert all(team_kg(one, n) < kg for n in range(1, most + 1))
    else:
        assert team_kg(one, hands) >= kg
        assert hands == 1 or team_kg(one, hands - 1) < kg


@settings(max_examples=60, deadline=None)
@given(st.floats(800.0, 5000.0), st.floats(800.0, 5000.0))
def test_a_thin_plank_turns_as_the_moving_ladder(a: float, b: float) -> None:
    wanted = (a ** (2 / 3) + b ** (2 / 3)) ** 1.5
    assert longest_turn(a, b) == pytest.approx(wanted, rel=1e-6)


@settings(max_examples=30, deadline=None)
@given(st.floats(900.0, 4000.0), st.floats(900.0, 4000.0), st.floats(10.0, 400.0))
def test_a_wider_plank_must_be_shorter(a: float, b: float, wide: float) -> None:
    assert longest_turn(a, b, wide) < longest_turn(a, b)
    assert longest_turn(a, b, wide) == pytest.approx(longest_turn(b, a, wide), rel=1e-6)


def test_between_equal_passages_the_closed_form_holds() -> None:
    """At 45 degrees: twice the root of two times the passage, less twice the width."""
    assert longest_turn(2000.0, 2000.0, 150.0) == pytest.approx(2 * math.sqrt(2) * 2000 - 300)


def test_nothing_goes_through_a_passage_no_wider_than_itself() -> None:
    assert longest_turn(150.0, 3000.0, 200.0) == 0.0


def test_heavy_planks_go_to_the_crane_and_light_ones_to_hands() -> None:
    made = handle(boat(51.0))
    assert made.craned
    assert all(h.rough_hands is None or h.hung_hands is None for h in made.craned)
    light = min(made.planks, key=lambda h: h.rough_kg)
    assert light.by_hand
    heavy = max(made.planks, key=lambda h: h.rough_kg)
    assert heavy.says == "not by hand: crane or tackle"
    assert made.of(heavy.name) is heavy
    assert "W082" in {f.code for f in made.findings}


def test_a_long_plank_wants_two_hands_whatever_it_weighs() -> None:
    made = handle(boat(12.0))
    long = [h for h in made.planks if h.length_mm > 3000.0]
    assert all(h.rough_hands is None or h.rough_hands >= 2 for h in long)


def test_a_hot_plank_allows_less_than_a_board_from_the_pile() -> None:
    made = handle(boat())
    assert made.hot_kg < made.one_kg < 23.0


def test_the_limits_of_the_equation_are_said_with_its_numbers() -> None:
    said = [f for f in handle(boat()).findings if f.code == "W084"]
    assert len(said) == 1
    assert "does not hold for" in said[0].says
    assert said[0].source == "niosh-94-110"


def test_large_teams_are_told() -> None:
    made = handle(boat())
    large = [h for h in made.planks if max(h.rough_hands or 0, h.hung_hands or 0) > 4]
    assert bool(large) == ("W088" in {f.code for f in made.findings})
    assert handle(boat(), HandlingRules(most_hands=4)).craned != ()


def test_unknown_weights_are_told_and_never_guessed() -> None:
    unknown = replace(
        boat(),
        planks=replace(
            boat().planks,
            planks=tuple(replace(p, rough_kg=None, dressed_kg=None) for p in boat().planks.planks),
        ),
    )
    made = handle(unknown)
    assert not any(h.known or h.by_hand for h in made.planks)
    assert made.craned == ()
    assert "W081" in {f.code for f in made.findings}
    assert made.planks[0].says == "weight not known: weigh it"


def test_boards_are_weighed_too() -> None:
    boards = (Load("A1", 5000.0, 20.0), Load("A2", 6000.0, 160.0), Load("A3", 4000.0, None))
    made = handle(drum(), RULES, boards)
    assert [b.by_hand for b in made.boards] == [True, False, False]
    assert "A2" in next(f.says for f in made.findings if f.code == "W085")


def test_the_way_tells_which_planks_do_not_get_round() -> None:
    made = handle(boat(), RULES, path=WAY)
    first = made.legs[0]
    assert first.stuck
    long = {p.name: p.length_mm for p in boat().planks.planks}
    room = longest_turn(2400.0, 2000.0, boat().planks.planks[0].rough_mm)
    assert set(first.stuck) == {n for n, mm in long.items() if mm > room}
    assert made.legs[1].longest_mm is None
    assert "W086" in {f.code for f in made.findings}
    flat = handle(boat(), HandlingRules(carried="flat"), path=WAY)
    assert len(flat.legs[0].stuck) > len(first.stuck)


def test_the_way_is_walked_against_the_hot_time() -> None:
    made = handle(boat(), RULES, path=WAY, steaming=steam(boat()))
    assert made.carry_min == pytest.approx(21.0 / 0.7 / 60)
    assert "W087" not in {f.code for f in made.findings}
    far = (*WAY[:2], replace(WAY[2], distance_mm=150_000.0))
    late = handle(boat(), RULES, path=far, steaming=steam(boat()))
    assert "W087" in {f.code for f in late.findings}
    assert handle(boat()).carry_min is None


def test_the_form_of_the_way_is_read() -> None:
    row = Row({"from": "box", "to": "hull", "distance": 9000.0, "width": 2000.0}, "path.csv", 2, {})
    assert read_path([row]) == (Leg("box", "hull", 9000.0, 2000.0, None),)


def test_one_who_lifts_all_day_may_lift_less_than_one_who_rests_after_an_hour() -> None:
    day, hour = (one_lift(HandlingRules(spell=s), hot=False) for s in ("eight hours", "hour"))
    assert day == pytest.approx(0.85 * hour)
    assert one_lift(HandlingRules(), hot=False) == day
    said = next(f for f in handle(boat()).findings if f.code == "W084")
    assert "all day (rule handling.spell)" in said.says
    with pytest.raises(InputError, match="eight hours"):
        HandlingRules(spell="a week")


def test_of_planks_nobody_weighed_none_is_called_the_heaviest() -> None:
    planking = boat()
    planks = (replace(p, rough_kg=None, dressed_kg=None) for p in planking.planks.planks)
    unknown = replace(planking, planks=replace(planking.planks, planks=tuple(planks)))
    codes = {f.code for f in handle(unknown).findings}
    assert "W081" in codes
    assert "W083" not in codes


def test_words_that_mean_nothing_are_refused() -> None:
    with pytest.raises(InputError, match="on edge"):
        HandlingRules(carried="on the head")
    with pytest.raises(InputError, match="good, fair, poor"):
        HandlingRules(grip="slippery")


@pytest.mark.parametrize("planking", [boat, drum, taped])
def test_the_check_finds_nothing_on_good_work(planking) -> None:
    rules = HandlingRules()
    made = handle(planking(), rules, (Load("A1", 5000.0, 40.0),), WAY)
    assert check_handling(planking(), rules, made) == ()


def test_the_check_finds_a_team_too_small_a_limit_and_a_corner_misjudged() -> None:
    made = handle(boat(), RULES, path=WAY)
    heavy = max((h for h in made.planks if h.by_hand), key=lambda h: h.rough_kg)
    small = replace(heavy, rough_hands=1)
    planks = tuple(small if h.name == heavy.name else h for h in made.planks)
    codes = {f.code for f in check_handling(boat(), RULES, replace(made, planks=planks))}
    assert "W092" in codes
    codes = {f.code for f in check_handling(boat(), RULES, replace(made, one_kg=30.0))}
    assert "W093" in codes
    long = replace(made.legs[0], longest_mm=1.05 * made.legs[0].longest_mm)
    codes = {f.code for f in check_handling(boat(), RULES, replace(made, legs=(long,)))}
    assert "W094" in codes
    codes = {f.code for f in check_handling(boat(), RULES, replace(made, planks=planks[1:]))}
    assert "W091" in codes


def test_every_figure_has_a_source() -> None:
    assert all(source(r.source) for r in describe(RULES))
    text = files("ribband").joinpath("data", "lifting.csv").read_text("utf-8")
    assert all(source(row["source"]) for row in csv.DictReader(text.splitlines()))


def test_a_plank_that_is_cold_before_it_is_bent_on_is_named() -> None:
    planking = boat()
    steaming = steam(planking)
    slow = handle(planking, HandlingRules(bend_s=600.0), steaming=steaming)
    quick = handle(planking, HandlingRules(bend_s=0.0, hang_min=0.0), steaming=steaming)
    frames = {p.name: len(planking.crossings(p)) for p in planking.planks.planks}
    hot = {p.plank for p in steaming.steamed}
    assert hot
    for h in (h for h in slow.planks if h.name in hot):
        assert h.cools_first
        assert h.bend_min == pytest.approx(10.0 * frames[h.name])
    assert "W087" in {f.code for f in slow.findings}
    assert not [h for h in quick.planks if h.cools_first]
    assert "W087" not in {f.code for f in quick.findings}
    cold = handle(planking, HandlingRules())
    assert all(h.bend_min is None and not h.cools_first for h in cold.planks)
