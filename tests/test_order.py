"""The order: cutting lengths, spares, packs, and the check apart."""

from __future__ import annotations

import itertools
import math
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import ribband.timber
from made_timber import planks
from ribband.app.entering.rules import in_force
from ribband.app.entering.timber_sums import order_lines
from ribband.butts import ButtRules
from ribband.errors import InputError
from ribband.rulebook import describe
from ribband.sources import sources
from ribband.survey import typed
from ribband.survey.rows import Form, Row
from ribband.timber import (
    DressRules,
    LayingRules,
    MillClass,
    Need,
    OrderRules,
    as_bought,
    check_order,
    classes_of,
    lacking,
    mill_classes,
    needs_of_pieces,
    not_named,
    order,
    species_named,
    thicker_bought,
    will_it_dress,
    with_less_sure,
)
from ribband.timber.board_model import Piece
from ribband.timber.buying import Bought
from ribband.timber.order.cutting import CutPlan, Item, Stock, cut_stock
from ribband.timber.order.delivery import pack
from ribband.timber.order.model import OrderLine
from ribband.timber.order.needs import read_mill
from ribband.timber.order.solve import is_held
from ribband.timber.order.words import delivery_note, how_least, how_sure, order_rows
from ribband.units import counted

PLAIN = OrderRules(
    spoilt_part=0.0, defect_part=0.0, kerf_mm=0.0, end_trim_mm=0.0, edge_trim_mm=0.0, step_mm=1.0
)
FIR = species_named("douglas fir coast")


def cut_of(plan: CutPlan, items: list[Item]) -> list[int]:
    """How many of each item a plan cuts."""
    counted = Counter(dict.fromkeys(range(len(items)), 0))
    for pattern in plan.patterns:
        for i, n in pattern.cuts:
            counted[i] += n * pattern.boards
    return [counted[i] for i in range(len(items))]


def assert_cuts(plan: CutPlan, items: list[Item], stocks: list[Stock]) -> None:
    assert cut_of(plan, items) == [item.count for item in items]
    used: Counter[int] = Counter()
    for pattern in plan.patterns:
        used[pattern.stock] += pattern.boards
        assert sum(items[i].length * n for i, n in pattern.cuts) <= stocks[pattern.stock].length
        assert all(pattern.stock in items[i].stocks for i, _ in pattern.cuts)
    assert all(s.at_most is None or used[k] <= s.at_most for k, s in enumerate(stocks))
    assert plan.cost == pytest.approx(sum(stocks[k].cost * n for k, n in used.items()))


def least_by_trying_all(items: list[Item], stocks: list[Stock]) -> float:
    """The least cost by trying every way, for a handful of pieces."""
    pieces = [item for item in items for _ in range(item.count)]
    best = [math.inf]

    def place(at: int, boards: list[tuple[int, int]], cost: float) -> None:
        if cost >= best[0]:
            return
        if at == len(pieces):
            best[0] = cost
            return
        item = pieces[at]
        for b, (k, room) in enumerate(boards):
            if room >= item.length and k in item.stocks:
                rest = [*boards[:b], (k, room - item.length), *boards[b + 1 :]]
                place(at + 1, rest, cost)
        for k in item.stocks:
            taken = sum(k == other for other, _ in boards)
            if stocks[k].length >= item.length and taken < (stocks[k].at_most or 99):
                place(at + 1, [*boards, (k, stocks[k].length - item.length)], cost + stocks[k].cost)

    place(0, [], 0.0)
    return best[0]


# --- cutting ---


@pytest.mark.parametrize("seed", range(12))
def test_small_orders_are_as_cheap_as_trying_every_way(seed: int) -> None:
    rng = np.random.default_rng(seed)
    stocks = [Stock(int(n), float(c)) for n, c in zip(
        rng.integers(20, 40, 3), rng.integers(5, 12, 3), strict=True)]  # fmt: skip
    if seed % 3 == 0:
        stocks[0] = replace(stocks[0], cost=3.0, at_most=2)
    items = [
        Item(int(rng.integers(6, 20)), int(rng.integers(1, 4)), (0, 1, 2) if i % 2 else (0, 2))
        for i in range(4)
    ]
    plan = cut_stock(items, stocks)
    assert_cuts(plan, items, stocks)
    best = least_by_trying_all(items, stocks)
    assert plan.bound <= best + 1e-6
    assert plan.cost == pytest.approx(best)
    assert plan.gap == 0.0


def test_the_bound_holds_when_there_is_no_time_to_search() -> None:
    rng = np.random.default_rng(5)
    items = [Item(int(n), 3, (0, 1)) for n in rng.integers(150, 480, 15)]
    stocks = [Stock(1000, 1.0), Stock(700, 0.75)]
    hasty, slow = cut_stock(items, stocks, seconds=1e-6), cut_stock(items, stocks)
    assert_cuts(hasty, items, stocks)
    assert hasty.bound <= slow.bound + 1e-9
    assert slow.cost <= hasty.cost
    assert hasty.gap == pytest.approx(hasty.cost / hasty.bound - 1)


def test_what_fits_no_board_is_unmet_and_the_rest_is_cut() -> None:
    items = [Item(50, 2, (0,)), Item(150, 3, (0,))]
    plan = cut_stock(items, [Stock(100, 1.0)])
    assert plan.unmet == ((1, 3),)
    assert cut_of(plan, items) == [2, 0]
    assert plan.gap == math.inf


def test_a_stock_that_runs_out_leaves_items_unmet() -> None:
    items = [Item(60, 5, (0,))]
    plan = cut_stock(items, [Stock(100, 1.0, at_most=3)])
    assert plan.unmet == ((0, 2),)
    assert sum(p.boards for p in plan.patterns) == 3


def test_the_same_twice_and_nothing_at_all() -> None:
    items, stocks = [Item(30, 7, (0,)), Item(45, 6, (0,))], [Stock(100, 2.5)]
    first, second = (cut_stock(items, stocks) for _ in range(2))
    assert first.patterns == second.patterns
    assert cut_stock([], stocks).cost == 0.0


# --- the order ---


def made(shapes: int = 20, rules: OrderRules = OrderRules(), **more: object):  # noqa: B008
    needs = needs_of_pieces(planks(shapes))
    return needs, order(needs, mill_classes(50.8, rules), rules, species=FIR, **more)


def test_a_whole_order_passes_the_check_apart() -> None:
    rules = OrderRules()
    needs, bought = made(20, rules)
    assert check_order(bought, needs, rules) == ()
    assert bought.confidence >= rules.confidence
    assert not bought.unmet
    assert bought.gap < 0.02
    assert bought.kg == pytest.approx(bought.volume_m3 * FIR.density(20.0))
    assert {f.code for f in bought.findings} <= {"T031", "T033", "T035"}
    assert "T033" in {f.code for f in bought.findings}


def test_allowances_add_up_to_what_is_bought() -> None:
    needs, bought = made(20)
    own = sum(n.length_mm * n.width_mm * n.thickness_mm * len(n.planks) for n in needs) / 1e9
    over = sum(allowance.percent for allowance in bought.allowances)
    assert own * (1 + over / 100) == pytest.approx(bought.volume_m3)
    assert all(allowance.percent >= 0 for allowance in bought.allowances)


def test_allowances_are_of_the_planks_own_timber_their_shape_being_one() -> None:
    """As the plank list has it: what length by breadth over all is more, is told by name."""
    boxed = needs_of_pieces(planks(6))
    size = [n.length_mm * n.width_mm * n.thickness_mm * len(n.planks) / 1e9 for n in boxed]
    needs = [replace(n, own_m3=0.7 * m3) for n, m3 in zip(boxed, size, strict=True)]
    bought = order(needs, mill_classes(50.8))
    own = sum(need.own_m3 for need in needs)
    parts = {allowance.name: allowance.percent for allowance in bought.allowances}
    assert parts["shape"] == pytest.approx(100 * 0.3 / 0.7)
    assert own * (1 + sum(parts.values()) / 100) == pytest.approx(bought.volume_m3)


def test_where_no_class_holds_anything_nothing_is_called_the_least() -> None:
    thick = [Need(3000.0, 140.0, 42.0, ("P1-1", "S1-1"))]
    none = order(thick, mill_classes(38.0))
    assert (
        how_least(none) == "nothing can be bought: no class of the mill holds any of these planks"
    )
    some = order([*thick, Need(3000.0, 140.0, 35.0, ("P2-1",))], mill_classes(38.0))
    assert "can be bought, proved" in how_least(some)


def test_surer_costs_more_and_certain_wood_needs_no_spares() -> None:
    volumes = [made(10, OrderRules(confidence=sure))[1].volume_m3 for sure in (0.6, 0.95)]
    _, bare = made(10, replace(OrderRules(), spoilt_part=0.0, defect_part=0.0))
    assert bare.volume_m3 < volumes[0] < volumes[1]
    assert bare.confidence == 1.0
    assert all(line.spare == 0 for line in bare.lines)


def test_price_decides_where_there_is_one() -> None:
    needs = [Need(1000.0, 140.0, 45.0, tuple(f"P{n}" for n in range(8)))]
    long, short = MillClass(4000.0, 150.0, 50.0, 2000.0), MillClass(2000.0, 150.0, 50.0, 900.0)
    bought = order(needs, [long, short], PLAIN)
    assert [(line.of, line.count) for line in bought.lines] == [(short, 4)]
    assert bought.price == pytest.approx(4 * 2.0 * 0.15 * 0.05 * 900.0)
    assert bought.cost == pytest.approx(bought.price)
    dear = order(needs, [long, replace(short, price_m3=2100.0)], PLAIN)
    assert [(line.of, line.count) for line in dear.lines] == [(long, 2)]


def test_a_plank_goes_on_a_board_as_wide_and_thick_or_more() -> None:
    needs = [Need(1000.0, 160.0, 45.0, ("P1",)), Need(1000.0, 140.0, 55.0, ("P2",))]
    classes = [MillClass(1000.0, w, t) for w in (150.0, 175.0) for t in (50.0, 60.0)]
    bought = order(needs, classes, PLAIN)
    assert {(line.of.width_mm, line.of.thickness_mm) for line in bought.lines} == {
        (175.0, 50.0), (150.0, 60.0)}  # fmt: skip
    assert check_order(bought, needs, PLAIN) == ()


def test_kerf_and_trim_are_kept() -> None:
    needs = [Need(1000.0, 140.0, 45.0, ("P1", "P2"))]
    rules = replace(PLAIN, kerf_mm=5.0, end_trim_mm=50.0)
    for length, boards in ((2105.0, 1), (2104.0, 2)):
        bought = order(needs, [MillClass(length, 150.0, 50.0)], rules)
        assert sum(line.boards for line in bought.lines) == boards


def test_a_plank_too_long_is_named_and_the_rest_is_ordered() -> None:
    needs = [Need(9000.0, 140.0, 45.0, ("P1", "S1")), Need(3000.0, 140.0, 45.0, ("P2",))]
    bought = order(needs, mill_classes(50.8), OrderRules(), unit="ft-in-8ths")
    assert bought.unmet == ("P1", "S1")
    assert "of the planks that can be bought: 2 planks cannot" in how_sure(bought, "mm")
    sure = next(f for f in bought.findings if f.code == "T035")
    assert "2 planks cannot, and for them it is not enough" in sure.says
    short = next(f for f in bought.findings if f.code == "T030")
    assert "P1, S1" in short.says
    assert "too long: P1, S1; 29-6-" in short.why
    assert "wide" not in short.why
    assert check_order(bought, needs, OrderRules()) == ()


def test_a_plank_too_wide_with_its_sweep_is_not_called_too_long() -> None:
    needs = [Need(5000.0, 540.0, 31.0, ("P14-1", "S14-1"))]
    bought = order(needs, mill_classes(31.0), OrderRules())
    short = next(f for f in bought.findings if f.code == "T030")
    assert short.why.startswith("too wide: P14-1, S14-1; 540 mm is wanted and the widest board")
    assert "narrower strakes" in short.why
    assert "too long" not in short.why


def test_spares_that_cannot_be_had_are_said() -> None:
    needs = [Need(3000.0, 140.0, 45.0, tuple(f"P{n}" for n in range(40)))]
    classes = [MillClass(3200.0, 175.0, 50.0, at_most=45)]
    bought = order(needs, classes, OrderRules())
    assert "T036" in {f.code for f in bought.findings}
    assert 0.3 < bought.confidence < 0.9
    assert sum(line.count for line in bought.lines) == 45
    assert not bought.unmet
    assert check_order(bought, needs, OrderRules()) == ()
    none = [replace(classes[0], at_most=40)]
    assert order(needs, none, OrderRules()).confidence == pytest.approx(0.95**80)


def test_what_the_mill_counts_is_enough_for_spares_if_it_counts_enough() -> None:
    """As sure as was asked where there are boards for it; else how many more would make it so."""
    needs = [Need(3000.0, 140.0, 45.0, tuple(f"P{n}" for n in range(40)))]
    short = order(needs, [MillClass(3200.0, 175.0, 50.0, at_most=45)], OrderRules())
    ((of, more),) = short.lacks
    enough = order(needs, [replace(of, at_most=45 + more)], OrderRules())
    assert enough.sure_enough
    assert not enough.lacks
    assert check_order(enough, needs, OrderRules()) == ()
    assert not order(needs, [replace(of, at_most=43 + more)], OrderRules()).sure_enough


def test_spares_take_no_plank_s_board_where_the_mill_has_few() -> None:
    """Boards for planks of two widths and few besides: every plank is cut, wide ones too."""
    needs = [
        Need(3000.0, 140.0, 45.0, tuple(f"P{n}" for n in range(20))),
        Need(3000.0, 190.0, 45.0, tuple(f"S{n}" for n in range(20))),
    ]
    small, great = (MillClass(3200.0, w, 50.0, at_most=n) for w, n in ((175.0, 20), (225.0, 23)))
    bought = order(needs, [small, great], OrderRules())
    assert not bought.unmet
    assert check_order(bought, needs, OrderRules()) == ()
    assert {line.of.width_mm: line.count for line in bought.lines} == {175.0: 20, 225.0: 23}
    assert bought.confidence > 2 * 0.95**80


def test_the_least_is_said_of_the_needs_and_not_of_what_is_safe() -> None:
    needs = [Need(3000.0, 140.0, 45.0, tuple(f"P{n}" for n in range(40)))]
    short = order(needs, [MillClass(3200.0, 175.0, 50.0, at_most=45)], OrderRules())
    first, *rest = order_lines(Bought(tuple(needs), (), OrderRules(), True, short), "mm")
    assert first.what == "sure to be enough"
    assert "NOT SAFE TO ORDER: 90% is asked for" in first.remark
    assert "boards more than the mill counts would do" in first.remark
    assert all(line.what != first.what for line in rest)
    sure = order(needs, mill_classes(50.8), OrderRules())
    lines = order_lines(Bought(tuple(needs), (), OrderRules(), True, sure), "mm")
    assert [line.what for line in lines][-1] == "sure to be enough"
    assert "the needs as counted" in next(line.remark for line in lines if line.what == "to buy")


@pytest.mark.parametrize("few", [2, 40])
def test_a_spoilt_plank_comes_out_of_a_spare_board_and_the_chance_is_that_of_both(few: int) -> None:
    """By throwing dice: boards of one size that give one plank each, spare planks among them."""
    needs = [Need(3000.0, 140.0, 45.0, tuple(f"P{n}" for n in range(few)))]
    sure = order(needs, [MillClass(3200.0, 175.0, 50.0)], OrderRules())
    planks, boards = (sum(p.spare.count for p in over.pools)
                      for over in (sure.plank_spares, sure.board_spares))  # fmt: skip
    assert boards > 0
    assert sure.confidence >= 0.9
    said = {a.name: a.says for a in sure.allowances}
    assert said["spare boards"].startswith(f"{counted(boards, 'board')}, left whole")
    assert "and for planks spoilt" in said["spare boards"]
    assert "one reserve" in next(f.says for f in sure.findings if f.code == "T035")
    rng, enough, tries = np.random.default_rng(5), 0, 20000
    for _ in range(tries):
        good = rng.random((few + planks + boards, 2)) > 0.05
        enough += int(good.all(axis=1).sum()) >= few
    assert enough / tries >= sure.confidence - 0.006  # never less sure than said
    if not planks:  # and no surer, where nothing else can be handed out
        assert enough / tries == pytest.approx(sure.confidence, abs=0.01)
    assert check_order(sure, needs, OrderRules()) == ()
    bare = order(needs, [MillClass(3200.0, 175.0, 50.0)], OrderRules(spoilt_part=0.0))
    assert {a.name: a.says for a in bare.allowances}["spare planks"] == "none"


def test_where_no_spare_board_holds_every_plank_the_reserves_are_two_and_said_to_be() -> None:
    """Long narrow planks and short broad ones, and no class that is both long and broad."""
    needs = [Need(5000.0, 100.0, 45.0, tuple(f"P{n}" for n in range(30))),
             Need(2000.0, 250.0, 45.0, tuple(f"S{n}" for n in range(30)))]  # fmt: skip
    two = order(needs, [MillClass(5200.0, 130.0, 50.0), MillClass(2200.0, 290.0, 50.0)])
    assert two.sure_enough
    assert check_order(two, needs, OrderRules()) == ()
    told = next(f.says for f in two.findings if f.code == "T035")
    assert "two reserves" in told
    assert "neither is counted on for the other" in told


def test_what_being_less_sure_would_save_is_what_such_an_order_comes_to() -> None:
    needs = needs_of_pieces(planks(12))
    rules = OrderRules()
    classes = mill_classes(50.8, rules, price_m3=800.0)
    bought = with_less_sure(Bought(tuple(needs), classes, rules, True, order(needs, classes)), "mm")
    assert [one.asked for one in bought.order.less] == [0.8, 0.7]
    other = order(needs, classes, replace(rules, confidence=0.8))
    assert other.sure_enough
    saved = bought.order.price - bought.order.less[0].price
    assert saved == pytest.approx(bought.order.price - other.price, rel=0.02)
    said = how_sure(bought.order, "mm")
    part = (bought.order.volume_m3 - bought.order.less[0].volume_m3) / bought.order.volume_m3
    assert "80% would save" in said
    assert f"({part:.0%}) and {saved:.2f} of its price" in said
    plain = replace(rules, confidence=0.7)
    least = with_less_sure(replace(bought, rules=plain, order=order(needs, classes, plain)), "mm")
    assert least.order.less == ()


def test_unknown_weight_is_said_and_a_board_too_heavy_is_a_fault() -> None:
    needs = [Need(3000.0, 140.0, 45.0, ("P1",))]
    classes = [MillClass(3200.0, 175.0, 50.0)]
    unknown = order(needs, classes, PLAIN, species=species_named("utile"))
    assert "T032" in {f.code for f in unknown.findings}
    assert unknown.kg is None
    note = delivery_note(unknown)
    assert "weight not known" in note[0]
    assert "not split into packs" in note[-2]
    assert "before anything is lifted" in note[-2]
    heavy = order(
        needs, classes, replace(PLAIN, lift_kg=20.0), species=species_named("purpleheart")
    )
    assert "T034" in {f.code for f in heavy.findings if f.severity == "fault"}


@pytest.mark.parametrize(
    "classes",
    [[], [MillClass(3000.0, 150.0, 50.0, 9.0), MillClass(4000.0, 150.0, 50.0)],
     [MillClass(0.0, 150.0, 50.0)], [MillClass(3000.0, 150.0, 50.0, 0.0)]],
)  # fmt: skip
def test_a_mill_that_sells_nonsense_is_refused(classes: list[MillClass]) -> None:
    with pytest.raises(InputError):
        order([Need(1000.0, 100.0, 40.0, ("P1",))], classes)


def test_nothing_needed_is_nothing_bought() -> None:
    bought = order([], mill_classes(50.8))
    assert (bought.lines, bought.packs, bought.volume_m3, bought.findings) == ((), (), 0, ())


def test_only_what_the_pile_lacks_is_ordered() -> None:
    short = lacking(planks(5), {"P1-1", "S1-3"})
    assert [piece.planks for piece in short] == [("P1-1",), ("S1-3",)]


def test_packs_hold_every_board_within_the_lift() -> None:
    lines = [
        OrderLine(MillClass(1000.0 * n, 150.0, 50.0), n, 2, 0.0, 0.0, 37.0 * (n + 2), None)
        for n in (3, 7, 5, 40)
    ]
    packs = pack(lines, 300.0)
    counted: Counter[int] = Counter()
    for one in packs:
        assert one.kg <= 300.0
        assert one.length_mm == max(lines[k].of.length_mm for k, _ in one.boards)
        counted.update(dict(one.boards))
    assert counted == {k: line.count for k, line in enumerate(lines)}


# --- the check sees what is wrong ---


def test_the_check_finds_each_thing_spoilt() -> None:
    rules = OrderRules()
    needs, bought = made(10, rules)
    at = next(k for k, cut in enumerate(bought.cuts) if cut.pieces[0][1] != "spare")
    first = bought.cuts[at]
    rest = bought.cuts[:at] + bought.cuts[at + 1 :]
    long, name = first.pieces[0]

    def with_first(*pieces: tuple[float, str]) -> object:
        return replace(bought, cuts=(replace(first, pieces=pieces), *rest))

    wrong = {
        "T040": with_first(*first.pieces[1:]),
        "T041": with_first((long - 50.0, name), *first.pieces[1:]),
        "T042": replace(bought, cuts=(replace(first, of=replace(first.of, width_mm=90.0)), *rest)),
        "T043": replace(bought, packs=bought.packs[1:]),
        "T044": replace(bought, confidence=0.999),
    }
    for code, order_ in wrong.items():
        assert code in {f.code for f in check_order(order_, needs, rules)}
    crowded = with_first(*first.pieces, (first.of.length_mm, "spare"))
    assert "T041" in {f.code for f in check_order(crowded, needs, rules)}
    heavier = replace(bought, volume_m3=bought.volume_m3 * 1.01)
    assert "T043" in {f.code for f in check_order(heavier, needs, rules)}


def test_the_longest_plank_the_butts_may_lay_comes_out_of_a_board_a_mill_sells() -> None:
    """By the rules as they stand: end allowances, trim, and ends that rake 100 mm, all together."""
    allowed = LayingRules()
    ring = np.array([[0.0, 0], [100, 150], [ButtRules().greatest_plank_mm + 100, 150]])
    piece = Piece("1-1", ring, ("P1-1",), 45.0, end_allowance_mm=allowed.end_allowance_mm)
    (need,) = needs_of_pieces([piece], 0.0)
    assert is_held(need, mill_classes(45.0), OrderRules())
    longer = replace(piece, outline=ring * np.array([1.04, 1.0]))
    assert not is_held(needs_of_pieces([longer], 0.0)[0], mill_classes(45.0), OrderRules())


@pytest.mark.parametrize("said", [(), (("order.end_trim", "120 mm"), ("order.step", "25 mm")),
                                  (("laying.end_allowance", "15 mm"),)])  # fmt: skip
def test_what_the_butts_take_out_of_a_board_in_stock_the_order_takes_too(said) -> None:
    """One meaning of what a board must have over a plank, whichever of its rules a yard changes."""
    form = Form("rules", ("rule", "value"), said, "rules.csv", tuple(range(2, 2 + len(said))))
    rules = in_force(form, "mm")
    trim, left_on = rules["butts"].trim_mm, rules["laying"].end_allowance_mm
    for stock in np.arange(3600.0, 3700.0, 3.7):
        sold = (MillClass(float(stock), 300.0, 50.0),)

        def held(long_mm: float, sold: tuple[MillClass, ...] = sold) -> bool:
            ring = np.array([[0.0, 0], [long_mm, 0], [long_mm, 150], [0, 150]])
            piece = Piece("1-2", ring, ("P1-2",), 45.0, 4.0, left_on)
            return is_held(needs_of_pieces([piece], 0.0)[0], sold, rules["order"])

        assert held(stock - trim)
        assert not held(
            stock - trim + 2 * rules["order"].step_mm
        )  # no more is given away than need be


def test_a_trim_that_is_given_is_kept() -> None:
    form = Form("rules", ("rule", "value"), (("butts.trim", "100 mm"),), "rules.csv", (2,))
    assert in_force(form, "mm")["butts"].trim_mm == 100.0
    assert in_force(None, "mm")["butts"].trim_mm == ButtRules().trim_mm


def test_every_rule_of_the_order_has_a_known_source() -> None:
    assert {rule.source for rule in describe(OrderRules())} <= {s.key for s in sources()}


def test_every_finding_of_tally_moisture_and_order_is_on_the_page() -> None:
    room = Path(ribband.timber.__file__).parent
    page = (Path(__file__).parents[1] / "docs" / "timber.md").read_text("utf-8")
    for path in itertools.chain.from_iterable(
        room.glob(f"{name}*.py") for name in ("tally", "measure", "moisture", "order")
    ):
        for code in re.findall(r'"(T\d{3})"', path.read_text("utf-8")):
            assert f"| {code} " in page or "T040" <= code <= "T044"


def test_the_form_stock_tells_what_the_mill_sells() -> None:
    header = ("length", "count", "width", "thickness", "price")
    cells = (("18ft", "", "10 in", "2 in", "4.5"), ("20ft", "3", "", "", "5"))
    rows, problems = typed(Form("stock", header, cells, "stock.csv", (2, 3)), "ft-in-8ths")
    assert not problems
    classes = read_mill(rows, 55.0, unit="ft-in-8ths")
    assert classes[0] == MillClass(5486.4, 254.0, 50.8, pytest.approx(4.5 * 423.776), None)
    assert [c.width_mm for c in classes[1:]] == pytest.approx([152.4 + 50.8 * n for n in range(6)])
    assert {(c.thickness_mm, c.at_most) for c in classes[1:]} == {(55.0, 3)}
    metric = read_mill(rows, 55.0, unit="mm")
    assert metric[0].price_m3 == 4.5


def test_the_order_in_words_names_every_board_and_how_to_lift() -> None:
    _, bought = made(10)
    rows = order_rows(bought, "ft-in-8ths")
    boards = [row for row in rows if row[2] == "boards"]
    assert sum(row[1] for row in boards) == sum(line.count for line in bought.lines)
    assert all("0-2-0" in row[0] for row in boards)
    named = sum(row[1] for row in rows if row[0].startswith("allowance"))
    assert named == pytest.approx(sum(allowance.percent for allowance in bought.allowances))
    note = delivery_note(bought, "ft-in-8ths")
    assert len(note) == len(bought.packs) + 2
    assert note[0].startswith("pack 1: ")
    assert note[0].endswith(" lb")
    assert "plate" in note[-1]
    assert not any("not split" in line for line in note)
    nothing = order([], mill_classes(50.8))
    assert order_rows(nothing) == delivery_note(nothing) == ()


def test_boards_ordered_plane_to_a_plank_s_thickness_and_its_hollow() -> None:
    """Of 1 7/8 in rough for 1 1/2 in, deeper hollows go on thicker boards, and only those."""
    ring = np.array([[0.0, 0], [3000, 0], [3000, 150], [0, 150], [0, 0]])
    flat = Piece("1-1", ring, ("P1-1", "S1-1"), 47.625, planed_mm=38.1)
    pieces = [flat] + [
        replace(flat, name=f"{n}-1", planks=(f"P{n}-1",), planed_mm=38.1 + hollow)
        for n, hollow in ((2, 1.0), (3, 6.0), (4, 11.0))
    ]
    rules, dressing = OrderRules(), DressRules()
    bought = as_bought(pieces, (38.1, 47.625), dressing, rules, FIR)
    needs = needs_of_pieces(bought)
    classes = classes_of((), (), 47.625, rules, "in", max(n.thickness_mm for n in needs))
    made_out = order(needs, classes, rules, species=FIR)
    assert not made_out.unmet
    planed = {name: piece.planed_mm for piece in pieces for name in piece.planks}
    for board in made_out.cuts:
        for _, name in board.pieces:
            if name in planed:
                assert will_it_dress(
                    board.of.thickness_mm, planed[name], FIR, "", barer_mm=dressing.barer_mm,
                    moisture_from=rules.moisture_percent, moisture_to=dressing.planking_percent,
                ).dresses  # fmt: skip
    assert [need.thickness_mm > 47.625 for need in needs] == [False, False, True, True]
    (told,) = thicker_bought(made_out, needs, 47.625, "in")
    assert told.code == "T039"
    assert "P3-1" in told.where
    assert "P2-1" not in told.where
    assert not thicker_bought(made_out, needs_of_pieces(pieces[:2]), 47.625, "in")


def test_a_yard_s_own_rough_stuff_is_taken_at_its_word_for_planks_without_hollow() -> None:
    """1 5/8 in for 1 1/2 in would not dress by the sum: flat planks are ordered of it all the same.

    Where boards that will not dress are not barred nothing is added for a hollow either.
    """
    flat = Piece("1-1", np.zeros((3, 2)), ("P1-1",), 41.275, planed_mm=38.1)
    hollow = replace(flat, planed_mm=43.0)
    rules = OrderRules()
    one, two = as_bought([flat, hollow], (38.1, 41.275), DressRules(), rules, FIR)
    assert one.thickness_mm == 41.275
    assert two.thickness_mm == pytest.approx(43.0 + 41.275 - 38.1)
    assert as_bought([hollow], (38.1, 41.275), DressRules(bar=False), rules, FIR) == (hollow,)


def test_boards_counted_of_no_told_thickness_are_of_one() -> None:
    """The mill's count is not of every thickness it might saw."""
    rows = [Row({"length": 6000.0, "width": 250.0, "count": 4}, "mill.csv", 2)]
    assert [c.thickness_mm for c in read_mill(rows, 40.0, thickest_mm=48.0)] == [52.7]
    free = [Row({"length": 6000.0, "width": 250.0}, "mill.csv", 2)]
    thick = [c.thickness_mm for c in read_mill(free, 40.0, thickest_mm=48.0)]
    assert thick == pytest.approx([40.0, 46.35, 52.7])


def test_lengths_the_stock_does_not_name_are_told_where_no_mill_is() -> None:
    needs = (Need(3500.0, 150.0, 50.0, ("P1-1", "S1-1")),)
    stock = [Row({"length": 3000.0}, "stock.csv", 2)]
    bought = order(needs, classes_of((), stock, 50.0, OrderRules(), "mm"), OrderRules())
    (found,) = not_named(bought, (), stock, "mm")
    assert found.code == "T038"
    assert all(str(round(line.of.length_mm)) in found.says for line in bought.lines)
    mill = [Row({"length": 4000.0}, "mill.csv", 2)]
    assert not_named(bought, mill, stock, "mm") == ()
    own = [Row({"length": line.of.length_mm}, "stock.csv", 2) for line in bought.lines]
    assert not_named(bought, (), own, "mm") == ()
