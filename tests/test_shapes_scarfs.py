"""Scarfs: planks of a strake that overlap by the rule's length, from flat shape to paper."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_hulls import barrel, launch, tape
from made_planking import even_lining, stepped_layout, ways_of
from made_shapes import with_seams
from ribband.butts.model import Butt, Layout
from ribband.drawing.bench import Bench, pairs
from ribband.drawing.patterns import full_size
from ribband.drawing.patterns.scarfs import scarf_line
from ribband.drawing.sheet import Polyline, Text
from ribband.drawing.ticket import ticket
from ribband.errors import InputError
from ribband.planks import (
    PlankRules,
    ShapeRules,
    check,
    check_shapes,
    get_shapes,
    list_planks,
    only_these,
    scarf_of,
)
from ribband.timber import species_named

RULES = ShapeRules(join="scarf", scarf_slope=12.0)
OAK = species_named("white oak")


@pytest.fixture(scope="module")
def boat():
    hull = launch()
    lining = even_lining(hull, 16)
    ways = ways_of(hull, lining)
    return hull, lining, ways, stepped_layout(ways)


@pytest.fixture(scope="module")
def shapes(boat):
    return get_shapes(*boat, RULES)


def test_the_rule_is_a_slope_of_the_dressed_thickness(boat) -> None:
    hull = boat[0]
    assert scarf_of(hull, RULES) == pytest.approx(12.0 * 38.0)
    assert scarf_of(hull, ShapeRules()) == 0.0
    assert scarf_of(hull, ShapeRules(join="scarf", dressed_mm=30.0)) == pytest.approx(240.0)
    with pytest.raises(InputError, match=r"shapes\.join"):
        ShapeRules(join="dovetail")


def test_scarfed_planks_of_a_barrel_overlap_by_the_scarf() -> None:
    """Round a cylinder's girth everything is known: the butt's place and the half scarf."""
    hull = barrel(radius=1000.0, length=12000.0)
    lining, ways = with_seams(hull, lambda u: np.array([[0.1], [0.2], [0.3]]) + 0 * u, 2)
    joint = 20
    layout = Layout((Butt(0, 2 * joint),), feasible=True, goals=(), seconds=0.0, seed=0)
    fore, aft = (s for s in get_shapes(hull, lining, ways, layout, RULES).shapes if s.strake == 0)
    x = float(hull.frames.x_mm[joint])
    assert fore.lower[-1, 0] - fore.lower[0, 0] == pytest.approx(x + 228.0, abs=0.01)
    assert aft.lower[-1, 0] - aft.lower[0, 0] == pytest.approx(12000.0 - x + 228.0, abs=0.01)
    assert (fore.fore_scarf_mm, fore.aft_scarf_mm) == (0.0, 456.0)
    assert (aft.fore_scarf_mm, aft.aft_scarf_mm) == (456.0, 0.0)
    assert fore.frames[-1] in aft.frames
    begins = scarf_line(fore, "aft")
    assert begins[:, 0] == pytest.approx(fore.lower[-1, 0] - 456.0, abs=0.01)
    assert begins[1, 1] - begins[0, 1] == pytest.approx(50 * np.pi, abs=0.01)


def test_the_checks_find_nothing_wrong(boat, shapes) -> None:
    scarf = scarf_of(boat[0], RULES)
    assert check_shapes(*boat, RULES, shapes) == ()
    listed = list_planks(*boat, scarf_mm=scarf)
    assert check(*boat, listed, scarf_mm=scarf) == ()


def test_the_checks_catch_scarfs_that_are_wrong(boat, shapes) -> None:
    def found(rules, made) -> set[str]:
        return {f.code for f in check_shapes(*boat, rules, made)}

    butted = get_shapes(*boat)
    assert {"P042", "P047"} <= found(RULES, butted)
    assert {"P042", "P047"} <= found(ShapeRules(), shapes)
    shorter = get_shapes(*boat, ShapeRules(join="scarf", scarf_slope=10.0))
    liar = [replace(s, fore_scarf_mm=t.fore_scarf_mm, aft_scarf_mm=t.aft_scarf_mm)
            for s, t in zip(shorter.shapes, shapes.shapes, strict=True)]  # fmt: skip
    assert "P042" in found(RULES, replace(shapes, shapes=tuple(liar)))
    bent = list(shapes.shapes)
    at = next(k for k, s in enumerate(bent) if s.fore_scarf_mm)
    edge = bent[at].lower.copy()
    edge[:4, 1] -= 3.0
    bent[at] = replace(bent[at], lower=edge)
    assert "P047" in found(RULES, replace(shapes, shapes=tuple(bent)))
    scarf = scarf_of(boat[0], RULES)
    assert {"P012"} == {f.code for f in check(*boat, list_planks(*boat), scarf_mm=scarf)}


def test_the_list_and_the_shapes_agree_on_lengths(boat, shapes) -> None:
    listed = list_planks(*boat, scarf_mm=scarf_of(boat[0], RULES))
    assert [f.code for f in listed.findings if "456 mm" in f.says] == ["P007"]
    planks, plain = listed.planks, list_planks(*boat).planks
    for (plank, shape), butted in zip(pairs(planks, shapes.shapes), plain, strict=False):
        middle = (shape.lower + shape.upper) / 2
        flat = np.linalg.norm(np.diff(middle, axis=0), axis=1).sum()
        assert flat == pytest.approx(plank.length_mm, rel=0.002)
        ends = (plank.fore_scarf_mm, plank.aft_scarf_mm)
        assert ends == (shape.fore_scarf_mm, shape.aft_scarf_mm)
        assert plank.length_mm - butted.length_mm == pytest.approx(sum(ends) / 2)
        assert plank.area_m2 > butted.area_m2


def test_the_slope_is_said_with_its_source(shapes) -> None:
    (said,) = [f for f in shapes.findings if f.code == "P032"]
    assert "456 mm" in said.says
    assert "12 times" in said.says
    assert said.source == "choptank-scarf"


def test_without_a_thickness_planks_are_butted_and_it_is_said(boat) -> None:
    hull, *rest = boat
    bare = replace(hull, particulars=replace(hull.particulars, planking_mm=None))
    made = get_shapes(bare, *rest, RULES)
    assert not any(s.fore_scarf_mm for s in made.shapes)
    assert any(f.code == "P032" and "butted" in f.says for f in made.findings)


@pytest.mark.parametrize("side", ["port", "starboard"])
def test_pattern_and_ticket_say_how_the_scarf_is_cut(boat, shapes, side) -> None:
    planks = list_planks(*boat, scarf_mm=scarf_of(boat[0], RULES)).planks
    plank, shape = next(
        (p, s) for p, s in pairs(planks, shapes.shapes)
        if p.side == side and s.fore_scarf_mm and s.aft_scarf_mm
    )  # fmt: skip
    bench = Bench("Marl Heron")
    sheet = full_size(shape, plank, bench)
    lines = [i for i in sheet.items if isinstance(i, Polyline) and i.layer == "scarfs"]
    assert len(lines) == 2
    hand = 1 if side == "port" else -1
    for line, end, outline_end in zip(lines, ("fore", "aft"), (shape.fore, shape.aft), strict=True):
        drawn = np.array(line.points) * [hand, 1]
        far = np.linalg.norm(drawn.mean(axis=0) - (outline_end[0] + outline_end[-1]) / 2)
        assert far == pytest.approx(456.0, abs=1.0), end
    texts = [i.text for i in (*sheet.items, *sheet.paper) if isinstance(i, Text)]
    assert any("outer face off" in t for t in texts)
    assert any("inner face off" in t for t in texts)
    assert any("456 mm" in t and "OUTER" in t for t in texts)
    (page,) = ticket(shape, plank, bench)
    words = " ".join(i.text for i in page.paper if isinstance(i, Text))
    assert "a scarf on frame" in words
    assert "off the outer face" in words


def test_a_swept_scarf_is_longer_on_one_edge_and_no_fault() -> None:
    hull = barrel(radius=1000.0, length=12000.0)

    def swept(u):
        return np.linspace(0.1, 0.6, 6)[:, None] + 0.25 * np.sin(2.6 * u)

    lining, ways = with_seams(hull, swept, 5)
    butts = tuple(Butt(row, 2 * frame) for row in range(5) for frame in (8 + row, 16 + row))
    layout = Layout(butts, feasible=True, goals=(), seconds=0.0, seed=0)
    shapes = get_shapes(hull, lining, ways, layout, RULES)
    assert max(s.sweep_mm for s in shapes.shapes) > 50.0
    faults = check_shapes(hull, lining, ways, layout, RULES, shapes)
    assert [f for f in faults if f.code in {"P042", "P047"}] == []


def test_a_scarf_is_sawn_twice_and_hangs_once(boat) -> None:
    """Both planks have it whole as rough stuff; together they weigh as one thickness of it."""
    scarf = scarf_of(boat[0], RULES)
    listed = list_planks(*boat, PlankRules(), OAK, scarf_mm=scarf)
    butted = list_planks(*boat, PlankRules(), OAK)
    hung, plain = ({t.of: t for t in made.by_strake} for made in (listed, butted))
    for strake, total in hung.items():
        assert total.area_m2 == pytest.approx(plain[strake].area_m2, rel=2e-5)
        assert total.rough_kg > plain[strake].rough_kg + 1.0
    weights = [sum(p.dressed_kg for p in made.planks) for made in (listed, butted)]
    assert weights[0] == pytest.approx(weights[1], rel=2e-5)
    sawn = sum(p.area_m2 for p in listed.planks) - sum(p.area_m2 for p in butted.planks)
    assert sum(p.taper_m2 for p in listed.planks) == pytest.approx(sawn, rel=0.002)
    assert all((p.taper_m2 > 0) == bool(p.fore_scarf_mm + p.aft_scarf_mm) for p in listed.planks)


def test_on_a_cylinder_a_scarfed_plank_weighs_as_if_cut_at_its_landing() -> None:
    """Of even width, what one plank loses aft of the butt is what it gains forward of it."""
    hull = barrel(radius=1000.0, length=12000.0)
    lining, ways = with_seams(hull, lambda u: np.array([[0.1], [0.2], [0.3]]) + 0 * u, 2)
    joint = 20
    layout = Layout((Butt(0, 2 * joint),), feasible=True, goals=(), seconds=0.0, seed=0)
    rules = PlankRules(sides="port")
    fore, aft = list_planks(hull, lining, ways, layout, rules, OAK, scarf_mm=456.0).planks[:2]
    wide, x = 0.05 * np.pi, float(hull.frames.x_mm[joint]) / 1000
    assert fore.area_m2 == pytest.approx(wide * (x + 0.228), rel=1e-5)
    assert fore.taper_m2 == pytest.approx(wide * 0.456 / 2, rel=2e-3)
    for plank, long in ((fore, x), (aft, 12.0 - x)):
        assert plank.covers_m2 == pytest.approx(wide * long, rel=1e-4)
        assert plank.dressed_kg == pytest.approx(wide * long * 0.038 * OAK.density(15.0), rel=1e-4)


def test_girths_alone_weigh_a_scarf_once_too() -> None:
    hull = tape()
    lining = even_lining(hull, 9)
    ways = ways_of(hull, lining)
    layout = stepped_layout(ways)
    listed, butted = (
        list_planks(hull, lining, ways, layout, PlankRules(), OAK, scarf_mm=scarf)
        for scarf in (384.0, 0.0)
    )
    weights = [sum(p.dressed_kg for p in made.planks) for made in (listed, butted)]
    assert weights[0] == pytest.approx(weights[1], rel=2e-4)
    assert check(hull, lining, ways, layout, listed, scarf_mm=384.0) == ()


def test_the_check_catches_a_scarf_weighed_whole(boat) -> None:
    scarf = scarf_of(boat[0], RULES)
    listed = list_planks(*boat, scarf_mm=scarf)
    whole = tuple(
        replace(p, taper_m2=0.0, dressed_board_feet=p.dressed_board_feet * p.area_m2 / p.covers_m2)
        for p in listed.planks
    )
    found = check(*boat, only_these(whole, PlankRules(), "mm"), scarf_mm=scarf)
    assert {"P014", "P015"} == {f.code for f in found}
