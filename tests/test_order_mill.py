"""What a mill sells, and boards of it: thick enough, long enough, and of a size that is told."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ribband.app.entering.rules import in_force
from ribband.app.plan.inputs import look_over
from ribband.butts import ButtRules
from ribband.errors import InputError
from ribband.survey import typed
from ribband.survey.rows import Form, Row
from ribband.timber import (
    DressRules,
    LayingRules,
    MillClass,
    Need,
    OrderRules,
    as_bought,
    classes_of,
    mill_classes,
    needs_of_pieces,
    not_named,
    order,
    species_named,
    thicker_bought,
    will_it_dress,
)
from ribband.timber.board_model import Piece
from ribband.timber.order.needs import read_mill
from ribband.timber.order.solve import is_held

FIR = species_named("douglas fir coast")


@pytest.mark.parametrize(
    "classes",
    [[], [MillClass(3000.0, 150.0, 50.0, 9.0), MillClass(4000.0, 150.0, 50.0)],
     [MillClass(0.0, 150.0, 50.0)], [MillClass(3000.0, 150.0, 50.0, 0.0)]],
)  # fmt: skip
def test_a_mill_that_sells_nonsense_is_refused(classes: list[MillClass]) -> None:
    with pytest.raises(InputError):
        order([Need(1000.0, 100.0, 40.0, ("P1",))], classes)


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


def test_rows_without_a_price_beside_others_are_named_in_their_own_form() -> None:
    header = ("length", "width", "price")
    cells = (("24-0-0", "1-8-0", "6.5"), ("20-0-0", "1-0-0", ""))
    form = Form("mill", header, cells, "mill.csv", (2, 3))
    rows, _ = typed(form, "ft-in-8ths")
    with pytest.raises(InputError) as wrong:
        classes_of(rows, (), 50.8, OrderRules(), "ft-in-8ths")
    assert [(p.file, p.row, p.column) for p in wrong.value.problems] == [("mill.csv", 3, "price")]
    vessel = Form("vessel", ("item", "value"), (("unit", "ft-in-8ths"),), "vessel.csv", (2,))
    with pytest.raises(InputError) as taken:
        look_over({"vessel": vessel, "mill": form})
    assert ("mill.csv", 3, "price") in [(p.file, p.row, p.column) for p in taken.value.problems]


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
