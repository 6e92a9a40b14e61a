"""The order of hanging: nothing in the air, sides level, the shutter last and well chosen."""

from __future__ import annotations

from dataclasses import replace

import pytest

import made_hulls
from made_planking import even_lining, stepped_layout, ways_of
from ribband.lining.model import Lining
from ribband.planks import PlankRules, get_shapes, list_planks
from ribband.planks.model import Plank
from ribband.shop.hanging.check import check_hanging
from ribband.shop.hanging.model import Hanging, Look, Seat
from ribband.shop.hanging.rules import HangingRules
from ribband.shop.hanging.seats import seams, seats
from ribband.shop.hanging.solve import in_order, order_hanging, shapes_by_plank

RULES = HangingRules()


@pytest.fixture(scope="module")
def launch():
    hull = made_hulls.launch()
    lining = even_lining(hull, 12)
    ways = ways_of(hull, lining)
    layout = stepped_layout(ways)
    planks = list_planks(hull, lining, ways, layout, PlankRules(), None).planks
    shapes = shapes_by_plank(planks, get_shapes(hull, lining, ways, layout).shapes)
    return hull, lining, planks, shapes, order_hanging(hull, lining, planks, shapes)


def swapped(hanging: Hanging, first: str, second: str) -> Hanging:
    at = {p.plank: p.place for p in hanging.places}
    change = {first: at[second], second: at[first]}
    places = tuple(replace(p, place=change.get(p.plank, p.place)) for p in hanging.places)
    return replace(hanging, places=tuple(sorted(places, key=lambda p: p.place)))


def codes(lining: Lining, planks: tuple[Plank, ...], hanging: Hanging) -> set[str]:
    return {finding.code for finding in check_hanging(lining, planks, hanging, RULES)}


def test_the_order_passes_its_check(launch) -> None:
    _, lining, planks, _, hanging = launch
    assert codes(lining, planks, hanging) == set()
    assert hanging.findings == ()
    assert hanging.ahead == 1


def test_garboards_and_sheer_strakes_come_first(launch) -> None:
    first = launch[-1].places[:4]
    assert {(p.side, p.face) for p in first} == {
        (side, face) for side in ("port", "starboard") for face in ("lower", "upper")
    }
    assert {p.plank[1:].split("-")[0] for p in first} == {"1", "12"}
    assert not any(p.needs for p in first)


def test_every_need_hangs_before(launch) -> None:
    hanging = launch[-1]
    at = {p.plank: p.place for p in hanging.places}
    assert all(at[need] < p.place for p in hanging.places for need in p.needs)


def test_the_shutter_is_the_least_awkward_and_the_same_on_both_sides(launch) -> None:
    hanging = launch[-1]
    port, starboard = hanging.shutters
    assert port[1:] == starboard[1:]
    best = min((look for look in hanging.looks if look.plank[0] == "P"), key=lambda x: x.points)
    assert best.plank == port
    assert not best.hood
    assert "butts at both ends" in best.says
    assert {p.plank for p in hanging.places[-2:]} == set(hanging.shutters)


def test_a_plank_out_of_turn_is_found(launch) -> None:
    _, lining, planks, _, hanging = launch
    assert "W412" in codes(lining, planks, swapped(hanging, "P2-1", "P5-1"))


def test_a_shutter_hung_early_is_found(launch) -> None:
    _, lining, planks, _, hanging = launch
    early = swapped(hanging, hanging.shutters[0], hanging.places[10].plank)
    assert {"W412", "W415"} <= codes(lining, planks, early)


def test_a_lost_plank_is_found(launch) -> None:
    _, lining, planks, _, hanging = launch
    assert codes(lining, planks, replace(hanging, places=hanging.places[1:])) == {"W411"}


def test_one_side_first_is_not_level(launch) -> None:
    _, lining, planks, _, hanging = launch
    sides = sorted(hanging.places, key=lambda p: (p.side, p.place))
    places = tuple(replace(p, place=n + 1) for n, p in enumerate(sides))
    assert "W414" in codes(lining, planks, replace(hanging, places=places))


def test_a_plank_fitted_between_others_is_found(launch) -> None:
    _, lining, planks, _, hanging = launch
    assert "W413" in codes(lining, planks, swapped(hanging, "P1-2", "P1-3"))


def test_seams_join_neighbours_only(launch) -> None:
    _, lining, planks, _, hanging = launch
    own = {seat.plank: seat for seat in seats(planks, lining)}
    assert all(own[high].row - own[low].row == 1 for low, high in hanging.seams)
    assert all(own[a].side == own[b].side for a, b in hanging.seams)
    count = sum(
        max(a.fore, b.fore) < min(a.aft, b.aft)
        for a in own.values()
        for b in own.values()
        if a.side == b.side and b.row == a.row + 1
    )
    assert len(hanging.seams) == count


def test_a_stealer_lies_between_its_neighbours() -> None:
    own = [
        Seat("P1-1", "port", 0, 0, 20),
        Seat("P1s-1", "port", 1, 10, 20),
        Seat("P2-1", "port", 2, 0, 20),
    ]
    assert set(seams(own)) == {("P1-1", "P2-1"), ("P1-1", "P1s-1"), ("P1s-1", "P2-1")}


def test_a_worse_plank_is_not_the_shutter() -> None:
    own = [Seat(f"P{r + 1}-{n + 1}", "port", r, 4 * n, 4 * n + 4) for r in range(5) for n in (0, 1)]
    looks = [
        Look("P3-1", 2.0, None, None, None, None, None, hood=True, says=""),
        Look("P3-2", 1.0, None, None, None, None, None, hood=False, says=""),
    ]
    hanging = in_order(own, looks)
    assert hanging.shutters == ("P3-2",)
    assert hanging.places[-1].plank == "P3-2"
    assert {f.code for f in hanging.findings} == {"W402"}


def test_without_looks_the_middle_is_left_and_it_is_said() -> None:
    own = [Seat(f"P{r + 1}-1", "port", r, 0, 8) for r in range(5)]
    hanging = in_order(own, [])
    assert hanging.shutters == ("P3-1",)
    assert {f.code for f in hanging.findings} == {"W401"}


def test_a_scarfed_strake_is_hung_from_aft_so_that_no_tip_is_in_the_way(launch) -> None:
    hull, lining, planks, shapes, _ = launch
    last = {(p.side, p.strake): p.name for p in planks}
    scarfed = [
        replace(p, aft_scarf_mm=0.0 if p.name == last[p.side, p.strake] else 304.0) for p in planks
    ]
    hanging = order_hanging(hull, lining, scarfed, shapes)
    assert codes(lining, scarfed, hanging) == set()
    place = {p.plank: p.place for p in hanging.places}
    strake = [p.name for p in planks if p.side == "port" and p.strake == "4"]
    assert [place[name] for name in strake] == sorted((place[n] for n in strake), reverse=True)
    assert all(next(p for p in planks if p.name == s).number == 1 for s in hanging.shutters)
    says = next(p.says for p in hanging.places if p.plank == "P4-1")
    assert "is scarfed over" in says
    assert says.endswith("P4-2")
    assert "W416" in codes(lining, scarfed, swapped(hanging, "P4-1", "P4-2"))
    begun = order_hanging(hull, lining, scarfed, shapes, hung=["P1-1", *strake[:1]])
    assert begun.places[1].plank == "P4-1"  # the tip is in the way: it was done, and is not undone


def test_girths_only_have_an_order_too() -> None:
    hull = made_hulls.tape()
    lining = even_lining(hull, 9)
    ways = ways_of(hull, lining)
    planks = list_planks(hull, lining, ways, stepped_layout(ways), PlankRules(), None).planks
    hanging = order_hanging(hull, lining, planks, {})
    assert codes(lining, planks, hanging) == set()
    assert {f.code for f in hanging.findings} == {"W402"}


def test_sides_with_their_own_butts_stay_level() -> None:
    own = [
        Seat(f"{side[0].upper()}{r + 1}-{n + 1}", side, r, long * n, long * (n + 1))
        for side, long, count in (("port", 4, 5), ("starboard", 5, 4))
        for r in range(6)
        for n in range(count)
    ]
    hanging = in_order(own, [])
    assert hanging.ahead == 1
    assert len(hanging.places) == 54
