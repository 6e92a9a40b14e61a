"""The order: what is bought, how sure it is, packs, its words, and the check apart."""

from __future__ import annotations

import itertools
import re
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import ribband.timber
from made_timber import planks
from ribband.app.entering.timber_sums import order_lines
from ribband.rulebook import describe
from ribband.sources import sources
from ribband.timber import (
    MillClass,
    Need,
    OrderRules,
    check_order,
    lacking,
    mill_classes,
    needs_of_pieces,
    order,
    species_named,
    with_less_sure,
)
from ribband.timber.buying import Bought
from ribband.timber.order.delivery import pack
from ribband.timber.order.model import OrderLine
from ribband.timber.order.words import delivery_note, how_least, how_sure, order_rows
from ribband.units import counted

PLAIN = OrderRules(
    spoilt_part=0.0, defect_part=0.0, kerf_mm=0.0, end_trim_mm=0.0, edge_trim_mm=0.0, step_mm=1.0
)
FIR = species_named("douglas fir coast")


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


def test_of_few_great_planks_among_many_small_ones_the_spare_boards_are_of_both_sizes() -> None:
    """By throwing dice: what fails takes the smallest spare board that holds it."""
    needs = [Need(2900.0, 140.0, 45.0, tuple(f"P{n}" for n in range(54))),
             Need(5900.0, 290.0, 45.0, ("S1", "S2"))]  # fmt: skip
    small, great = MillClass(3050.0, 165.0, 50.0), MillClass(6050.0, 315.0, 50.0)
    found = order(needs, [small, great], OrderRules())
    assert check_order(found, needs, OrderRules()) == ()
    spare = {line.of: line.spare for line in found.lines}
    rng, enough, tries = np.random.default_rng(8), 0, 20000
    planks = sum(p.spare.count for p in found.plank_spares.pools)
    for _ in range(tries):
        left = {small: spare[small], great: spare[great]}
        spoilt = rng.binomial(54 + planks, 0.05)
        unfit = rng.binomial(2, 0.05), rng.binomial(54 + planks, 0.05)
        lacking = rng.binomial(2, 0.05), max(0, spoilt - planks)
        enough += (
            all(_taken(left, [great], 0.95, rng) for _ in range(unfit[0]))
            and all(_taken(left, [great], 0.95**2, rng) for _ in range(lacking[0]))
            and all(_taken(left, [small, great], 0.95, rng) for _ in range(unfit[1]))
            and all(_taken(left, [small, great], 0.95**2, rng) for _ in range(lacking[1]))
        )
    assert found.sure_enough
    assert enough / tries >= found.confidence - 0.006
    assert enough / tries == pytest.approx(found.confidence, abs=0.02)
    assert spare[great] <= 2 < spare[small]


def _taken(
    left: dict[MillClass, int], able: list[MillClass], good: float, rng: np.random.Generator
) -> bool:
    """Take boards till one is good; tell whether there was one."""
    for of in able:
        while left[of]:
            left[of] -= 1
            if rng.random() < good:
                return True
    return False


def test_long_planks_and_broad_ones_have_one_reserve_though_no_board_holds_both() -> None:
    needs = [Need(5000.0, 100.0, 45.0, tuple(f"P{n}" for n in range(30))),
             Need(2000.0, 250.0, 45.0, tuple(f"S{n}" for n in range(30)))]  # fmt: skip
    found = order(needs, [MillClass(5200.0, 130.0, 50.0), MillClass(2200.0, 290.0, 50.0)])
    assert found.sure_enough
    assert check_order(found, needs, OrderRules()) == ()
    assert "one reserve" in next(f.says for f in found.findings if f.code == "T035")


def test_where_no_board_is_left_for_some_planks_the_reserves_are_two_and_said_to_be() -> None:
    """The mill counts as many long boards as planks take, and no more."""
    needs = [Need(5000.0, 100.0, 45.0, tuple(f"P{n}" for n in range(4))),
             Need(2000.0, 250.0, 45.0, tuple(f"S{n}" for n in range(30)))]  # fmt: skip
    mill = [MillClass(5200.0, 130.0, 50.0, at_most=4), MillClass(2200.0, 290.0, 50.0)]
    two = order(needs, mill, OrderRules(confidence=0.5))
    assert check_order(two, needs, OrderRules(confidence=0.5)) == ()
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
