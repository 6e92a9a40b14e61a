"""Costs, planned and real: sums by hand, and nothing where a price or a wage is wanting."""

from __future__ import annotations

from dataclasses import replace

import pytest

from made_shop import boat
from ribband.drawing.bench import Bench
from ribband.drawing.ticket import Facts
from ribband.drawing.ticket.words import cautions
from ribband.record import (
    cost_sum,
    fastenings_cost,
    timber_to_buy,
    wages_by_operation,
    wages_planned,
    wages_real,
)
from ribband.shop import Choice, Hand, Logged, Measure, Rate, ShopRules, work_shop
from ribband.shop.work.learning import hours_by_hand, hours_by_operation, learn
from ribband.shop.work.rates import default_rates
from ribband.shop.work.rules import WorkRules
from ribband.timber.order.model import MillClass, Order, OrderLine
from ribband.timber.order.spares import Spares


@pytest.fixture(scope="module")
def made():
    iron = Choice("iron", "spike", "galvanised iron", per_box=100, price=20.0)
    return work_shop(boat(), ShopRules(), (iron,)).fastenings


def test_fastenings_driven_are_priced_by_the_piece(made) -> None:
    every = {row.plank for row in made.rows}
    planned, all_fast = fastenings_cost(made, every)
    assert planned == pytest.approx(sum(line.price for line in made.lines))
    assert all_fast == pytest.approx(
        sum(line.price * line.count / line.to_buy for line in made.lines)
    )
    some = {name for name in every if name.startswith("P1-")}
    _, real = fastenings_cost(made, some)
    driven = sum(row.count for row in made.rows if row.plank in some)
    assert real == pytest.approx(all_fast * driven / made.count, rel=0.02)
    assert fastenings_cost(made, ()) == (planned, None)


def test_a_price_that_is_wanting_is_not_guessed(made) -> None:
    bare = replace(made, lines=(replace(made.lines[0], price=None), *made.lines[1:]))
    planned, _ = fastenings_cost(bare, {row.plank for row in made.rows})
    assert planned is None


def test_wages_want_the_wage_of_everybody_who_may_do_it() -> None:
    ann, bo = Hand("Ann", ("hang",), wage=20.0), Hand("Bo", ("hang", "caulk"), wage=30.0)
    assert wages_planned({"hang": 4.0, "caulk": 1.0}, [ann, bo]) == pytest.approx(130.0)
    assert wages_planned({"hang": 4.0}, [ann, replace(bo, wage=None)]) is None
    assert wages_planned({"hang": 4.0}, ()) is None
    assert wages_real({}, [ann]) is None
    assert wages_real({"ann": 3.0}, [ann]) == pytest.approx(60.0)


def test_wages_are_split_by_operation_and_add_up() -> None:
    ann, bo = Hand("Ann", ("hang", "plane"), wage=20.0), Hand("Bo", ("hang",), wage=30.0)
    hours = {"plane": 3.0, "hang": 4.0, "steam": 0.0}
    logged = {("plane", "Ann"): 2.0, ("hang", "Ann"): 1.0, ("hang", "Bo"): 1.5}
    plane, hang, steam = wages_by_operation(hours, logged, [ann, bo])
    assert (plane.wage, plane.planned, plane.logged_hours, plane.real) == (20.0, 60.0, 2.0, 40.0)
    assert (hang.wage, hang.planned, hang.logged_hours, hang.real) == (25.0, 100.0, 2.5, 65.0)
    assert (steam.wage, steam.planned, steam.logged_hours, steam.real) == (None, 0.0, 0.0, None)
    assert wages_planned(hours, [ann, bo]) == pytest.approx(160.0)
    by_hand = {"Ann": 3.0, "Bo": 1.5}
    assert wages_real(by_hand, [ann, bo]) == pytest.approx(plane.real + hang.real)
    assert wages_by_operation(hours, logged, [ann, replace(bo, wage=None)])[1].real is None


def test_the_hours_of_an_operation_are_those_between_lines_of_a_hand() -> None:
    plank = Measure("P1-1", "port", 9.0, 1.6, 20, 9.0)
    rates = [Rate("plane", "plank", 1.0, 1, 0.2), Rate("bevel", "plank", 3.0, 1, 0.2),
             Rate("hang", "plank", 2.0, 2, 0.2)]  # fmt: skip
    log = [
        Logged("P1-1", "planed", "2027-03-01 09:30", ("Ann",)),
        Logged("P1-1", "bevelled", "2027-03-01 09:30", ("Ann",)),  # at once: shared by the rates
        Logged("P1-1", "hung", "2027-03-01 11:00", ("Ann", "Bo")),
    ]
    other = Logged("P2-1", "planed", "2027-03-01 08:00", ("Ann",))  # not of the planks asked for
    assert hours_by_operation([other, *log], [plank], rates)["plane", "Ann"] == 0.375
    found = hours_by_operation(log, [plank], rates)
    assert found == pytest.approx(
        {("plane", "Ann"): 0.5, ("bevel", "Ann"): 1.5, ("hang", "Ann"): 1.5, ("hang", "Bo"): 3.5}
    )
    assert hours_by_hand(log, [plank], rates) == pytest.approx({"Ann": 3.5, "Bo": 3.5})


def test_a_step_without_a_rate_takes_its_own_time_and_not_the_next_one_s() -> None:
    plank = Measure("P1-1", "port", 9.0, 1.6, 20, 9.0, steam_min=90.0)
    rates = [Rate("plane", "plank", 1.0, 1, 0.2), Rate("hang", "plank", 2.0, 2, 0.2)]
    log = [
        Logged("P1-1", "planed", "2027-03-01 08:30", ("Ann",)),
        Logged("P1-1", "steamed", "2027-03-01 10:00", ("Ann",)),
        Logged("P1-1", "hung", "2027-03-01 11:00", ("Ann",)),
        Logged("P1-1", "steamed", "2027-03-02 09:00", ("Ann",)),  # and nothing after it that day
    ]
    assert hours_by_operation(log, [plank], rates) == pytest.approx(
        {("plane", "Ann"): 1.0, ("steam", "Ann"): 1.5 + 1.5, ("hang", "Ann"): 1.0}
    )
    hang = next(one for one in learn(log, [plank], rates) if one.operation == "hang")
    assert (hang.rated, hang.spent) == (2.0, 1.0)


def test_the_hours_of_a_hand_are_to_his_last_step_of_each_day() -> None:
    plank = Measure("P1-1", "port", 9.0, 1.6, 20, 9.0)
    log = [
        Logged("P1-1", "planed", "2027-03-01 09:30", ("Ann", "Bo")),
        Logged("P1-1", "bevelled", "2027-03-01 11:00", ("Ann",)),
        Logged("P1-1", "hung", "2027-03-02", ("Bo",)),  # a bare date is the whole day
        Logged("P9-9", "hung", "2027-03-03 09:30", ("Bo",)),  # of no plank there is
    ]
    rates: list[Rate] = list(default_rates())
    assert hours_by_hand(log, [plank], rates) == pytest.approx({"Ann": 3.5, "Bo": 2.0 + 8.0})


def test_a_ticket_warns_of_a_plank_that_cools_before_it_is_bent_on() -> None:
    plank = boat().planks.planks[0]
    shape, bench = boat().shape(plank), Bench("Marl Heron", "ft-in-8ths")
    told = cautions(shape, plank, bench, Facts(steam_min=90.0, hot_min=4.0, bend_min=6.0))
    assert any("Cold before it is bent on" in text for text in told)
    fine = cautions(shape, plank, bench, Facts(steam_min=90.0, hot_min=4.0))
    assert not any("Cold before it is bent on" in text for text in fine)


def test_timber_on_order_has_a_line_of_its_own_and_says_what_it_leaves_out() -> None:
    assert timber_to_buy(None) is None
    pine = MillClass(6000.0, 250.0, 50.0, 400.0)
    line = OrderLine(pine, 3, 2, 0.375, 159.0, None, 150.0)
    order = Order(
        (line,), (), (), (), 90.0, 90.0, 0.0, 0.9, 0.375, 159.0, None, 150.0, ("P9-1",),
        Spares((), 1.0, ""), Spares((), 1.0, ""), 0.1,
    )  # fmt: skip
    cost = timber_to_buy(order)
    assert cost is not None
    assert (cost.planned, cost.real) == (150.0, 0.0)
    assert cost.says.startswith("5 boards on the order")
    assert cost.says.endswith("not in it: 1 plank no board of the mill gives")
    free = timber_to_buy(replace(order, price=None))
    assert free is not None
    assert (free.planned, free.real) == (None, None)
    assert cost_sum((free,)).without == ("timber to buy",)
    none = timber_to_buy(replace(order, lines=(), price=0.0))
    assert none is not None
    assert (none.planned, none.real) == (None, None)
    assert none.says.startswith("1 plank no board of the mill gives")


def test_hours_of_a_half_days_hand_begin_with_his_own() -> None:
    """Bo comes at one: his first step took from then, not from half past seven."""
    plank, rates = (
        Measure("P1-1", "port", 9.144, 1.6, 20, 9.144),
        [Rate("plane", "plank", 1.0, 2, 0.2)],
    )
    crew = [Hand("Ann"), Hand("Bo", clock=(13.0, 16.0))]
    log = [Logged("P1-1", "planed", "2027-03-02 14:30", ("Ann", "Bo"))]
    given = hours_by_hand(log, [plank], rates, WorkRules(), crew)
    assert given == pytest.approx({"Ann": 7.0, "Bo": 1.5})
    (planed,) = [own for own in learn(log, [plank], rates, WorkRules(), crew) if own.logged]
    assert planed.spent == pytest.approx(8.5)
    bare = [Logged("P1-1", "planed", "2027-03-02", ("Bo",))]
    assert hours_by_hand(bare, [plank], rates, WorkRules(), crew) == pytest.approx({"Bo": 3.0})
    early = [Logged("P1-1", "planed", "2027-03-02 12:00", ("Bo",))]
    assert hours_by_hand(early, [plank], rates, WorkRules(), crew) == pytest.approx({"Bo": 4.5})
