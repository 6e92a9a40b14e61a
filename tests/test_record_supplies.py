"""What is used up and machines by the hour: sums by hand, and nothing where a price is wanting."""

from __future__ import annotations

from dataclasses import replace

import pytest

from made_shop import boat
from ribband.errors import InputError
from ribband.record import (
    Cost,
    Heating,
    Labour,
    Running,
    cost_sum,
    overheads_cost,
    supplies_cost,
    transport_cost,
)
from ribband.shop import Measure, Rate, Shop, ShopRules, Supply, read_supplies, work_shop
from ribband.shop.caulking.rules import CaulkingRules
from ribband.shop.work.rates import default_rates
from ribband.survey.rows import Row

PRICES = (
    Supply("cotton", 18.0, 1.0, "lb"),
    Supply("oakum", 12.0, 1.0, "kg"),
    Supply("compound", 9.8, 0.31, "litre"),
    Supply("bungs", 6.0, 100.0, "piece"),
    Supply("steam box", 4.0, 1.0, "hour"),
    Supply("planer", 3.0, 1.0, "hour"),
    Supply("sandpaper", 90.0, 1.0, "sum"),
)
PLANKS = (
    Measure("P1-1", "port", 6.0, 1.0, 12, 6.0, steam_min=90.0, kg=30.0),
    Measure("P1-2", "port", 3.0, 0.5, 6, 3.0, kg=90.0),
)
LENGTHS = {"P1-1": 6000.0, "P1-2": 3000.0}
RATES = [Rate("plane", "metre", 0.2, 2, 0.2), Rate("hang", "plank", 3.0, 3, 0.2)]
RUNNING = Running(PLANKS, RATES, 2, 60.0)


def shop(*prices: Supply, oakum: float = 0.0) -> Shop:
    rules = ShopRules(caulking=CaulkingRules(oakum_strands=1.0, oakum_g_per_m=oakum))
    return work_shop(boat(), rules, supplies=prices)


@pytest.fixture(scope="module")
def made() -> Shop:
    return shop(*PRICES)


def costs(made: Shop, prices: tuple[Supply, ...], **states: str) -> dict[str, Cost]:
    named = {name.replace("_", "-"): state for name, state in states.items()}
    found = supplies_cost(made, RUNNING, prices, named, LENGTHS, "mm")
    return {cost.what: cost for cost in found}


def test_what_is_used_up_is_its_quantity_at_the_yards_price(made: Shop) -> None:
    found = costs(made, PRICES, P1_1="caulked", P1_2="planed")
    kg = made.caulking.quantity("cotton")
    assert kg is not None
    assert found["cotton"].planned == pytest.approx(kg / 0.45359237 * 18.0)
    assert found["cotton"].real == pytest.approx(found["cotton"].planned * 6 / 9)
    litres = made.caulking.quantity("paying: compound or pitch")
    assert litres is not None
    assert found["compound"].planned == pytest.approx(litres / 0.31 * 9.8)
    assert found["bungs"].planned == pytest.approx(made.fastenings.bungs * 0.06)
    assert found["sandpaper"] == Cost(
        "sandpaper", 90.0, None, "a sum of the yard for the whole planking"
    )


def test_a_price_by_length_goes_by_the_strand(made: Shop) -> None:
    long = shop(Supply("cotton", 0.5, 100.0, "foot"))
    feet = (long.caulking.quantity("cotton strand") or 0.0) / 0.3048
    item = next(i for i in long.caulking.items if i.item == "cotton strand")
    assert item.price == pytest.approx(feet / 100 * 0.5)
    assert all(i.price is None for i in long.caulking.items if i.item != "cotton strand")


def test_oakum_nobody_weighed_costs_nothing_known_and_weighed_it_does(made: Shop) -> None:
    assert made.caulking.quantity("oakum") is None
    unknown = costs(made, PRICES)["oakum"]
    assert unknown.planned is None
    assert "caulking.oakum_g_per_m" in unknown.says
    weighed = shop(*PRICES, oakum=25.0)
    metres = weighed.caulking.quantity("oakum strand")
    assert metres is not None
    planned = costs(weighed, PRICES)["oakum"].planned
    assert planned == pytest.approx(metres * 0.025 * 12.0)


def test_machines_cost_the_hours_they_run(made: Shop) -> None:
    found = costs(made, PRICES, P1_1="steamed")
    assert found["steam box"].planned == pytest.approx(90 / 60 / 2 * 4.0)
    assert found["steam box"].real == found["steam box"].planned
    assert found["planer"].planned == pytest.approx((6 + 3) * 0.2 / 2 * 3.0)
    assert found["planer"].real == pytest.approx(6 * 0.2 / 2 * 3.0)
    assert found["crane"].planned is None  # one plank is too heavy, and no price is given
    assert "1.0 hours" in found["crane"].says
    assert costs(made, PRICES)["planer"].real is None  # nothing is logged


def test_the_box_burns_fuel_while_it_is_heated_up_once_each_day_it_is_lit(made: Shop) -> None:
    prices = (*PRICES, Supply("box fuel", 2.0, 1.0, "hour"))
    running = replace(RUNNING, heating=Heating(45.0, 6, 2))
    found = supplies_cost(made, running, prices, {"P1-1": "hung"}, LENGTHS, "mm")
    box, fuel = (next(c for c in found if c.what == name) for name in ("steam box", "box fuel"))
    assert fuel.planned == pytest.approx((90 / 60 / 2 + 6 * 45 / 60) * 2.0)
    assert fuel.real == pytest.approx((90 / 60 / 2 + 2 * 45 / 60) * 2.0)
    assert box.planned == pytest.approx((fuel.planned or 0.0) * 2)
    assert "6 times 45 min heating up" in fuel.says
    cold = costs(made, prices)["box fuel"]
    assert cold.planned == pytest.approx(90 / 60 / 2 * 2.0)
    assert "heating up not given: rule steaming.heat_up_minutes" in cold.says


def test_overheads_and_transport_are_the_yards_own_and_stay_unknown_without() -> None:
    labour = Labour(2000.0, None, 80.0, 10.0)
    assert overheads_cost([Supply("overheads", 30.0, 1.0, "percent")], labour).planned == 600.0
    by_hour = overheads_cost([Supply("overheads", 5.0, 1.0, "man-hour")], labour)
    assert (by_hour.planned, by_hour.real) == (400.0, 50.0)
    unpaid = replace(labour, wages=None)
    wanting = overheads_cost([Supply("overheads", 30.0, 1.0, "percent")], unpaid)
    assert (wanting.planned, wanting.real) == (None, None)
    assert "not known" in wanting.says
    by_sum = transport_cost([Supply("transport", 700.0, 1.0, "sum")])
    assert (by_sum.planned, by_sum.real) == (700.0, None)
    for bare in (overheads_cost([], labour), transport_cost([])):
        assert (bare.planned, bare.real, bare.says) == (
            None,
            None,
            "not given on the form supplies",
        )


def test_without_prices_nothing_is_known_and_the_sum_says_what_it_leaves_out() -> None:
    bare = shop()
    found = supplies_cost(bare, RUNNING, (), {}, LENGTHS, "mm")
    assert all(cost.planned is None and cost.real is None for cost in found)
    whole = cost_sum([Cost("timber", 900.0, 400.0), *found])
    assert (whole.planned, whole.real) == (900.0, 400.0)
    for name in ("cotton", "oakum", "compound", "steam box", "planer", "crane", "box fuel"):
        assert name in whole.says


def test_the_form_is_read_and_its_mistakes_told_together() -> None:
    def row(number: int, **values: object) -> Row:
        return Row({"amount": None, **values}, "supplies.csv", number)

    rows = [row(2, item="Steam  box", price=4.0, unit="hour"),
            row(3, item="sandpaper", price=90.0, unit="sum")]  # fmt: skip
    assert [own.item for own in read_supplies(rows)] == ["steam box", "sandpaper"]
    wrong = [*rows, row(4, item="cotton", price=1.0, unit="litre"),
             row(5, item="Sandpaper", price=1.0, unit="sum"),
             row(6, item="glue", price=1.0, unit="kg"),
             row(7, item="overheads", price=30.0, unit="hour")]  # fmt: skip
    with pytest.raises(InputError) as told:
        read_supplies(wrong)
    assert [(p.row, p.column) for p in told.value.problems] == [
        (4, "unit"), (5, "item"), (6, "unit"), (7, "unit"),
    ]  # fmt: skip


def test_our_own_rates_tell_the_planer_its_hours(made: Shop) -> None:
    running = Running(PLANKS, default_rates(), 2, 60.0)
    found = supplies_cost(made, running, PRICES, {}, LENGTHS, "mm")
    assert next(c for c in found if c.what == "planer").planned > 0  # type: ignore[operator]
