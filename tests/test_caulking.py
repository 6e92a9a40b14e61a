"""Butt blocks, caulking and bedding: sizes, lengths, strands, weights."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from importlib.resources import files
from itertools import pairwise

import numpy as np
import pytest

from made_hulls import barrel, launch
from made_shop import boat, drum, planked, taped, thick
from ribband.rulebook import describe
from ribband.shop import (
    BlockRules,
    CaulkingRules,
    caulk,
    check_blocks,
    check_caulking,
    fasten,
    fills,
    size_blocks,
)
from ribband.sources import source

BLOCKS, RULES = BlockRules(), CaulkingRules()


def test_every_butt_in_a_bay_has_a_block_that_fits_it() -> None:
    made = size_blocks(drum())
    butts = [p for p in drum().planks.planks if p.aft_landing == "block"]
    assert len(made.blocks) == len(butts)
    bay = (12000.0 - 600.0) / 24 - 90.0
    for block in made.blocks:
        assert block.length_mm == pytest.approx(min(2 * 177.8, bay - 12.0))
        assert block.width_mm == pytest.approx(math.pi / 2 * 125 + 38.1, rel=1e-4)
        assert block.thickness_mm == 38.0


def test_butts_on_frames_want_no_block() -> None:
    assert size_blocks(drum(blocks=False)).blocks == ()
    assert size_blocks(drum(blocks=False)).findings == ()


def test_a_narrow_bay_is_told_and_an_unknown_one_too() -> None:
    close = planked(thick(launch(frames=90), 38.0, sided=100.0), 10, blocks=True)
    assert any(b.short for b in size_blocks(close).blocks)
    assert "W051" in {f.code for f in size_blocks(close).findings}
    unknown = planked(thick(launch(), 38.0, sided=None), 10, blocks=True)
    made = size_blocks(unknown)
    assert {b.length_mm for b in made.blocks} == {2 * 177.8}
    assert "W052" in {f.code for f in made.findings}


def test_the_timber_of_the_blocks_adds_up_with_spares() -> None:
    made = size_blocks(drum())
    net = sum(b.length_mm * b.width_mm * b.thickness_mm for b in made.blocks) / 1e9
    assert made.volume_m3 == pytest.approx(1.1 * net)
    assert made.to_make == math.ceil(1.1 * len(made.blocks))
    assert sum(s.count for s in made.sizes) == len(made.blocks)
    assert made.timber == "Douglas-fir, coast"
    assert size_blocks(drum(), BlockRules(timber="white oak")).timber == "white oak"


def test_the_check_of_blocks_finds_what_is_wrong() -> None:
    made = size_blocks(drum())
    assert check_blocks(drum(), BLOCKS, made) == ()
    long = replace(made.blocks[0], length_mm=900.0)
    wrong = replace(made, blocks=(long, *made.blocks[2:]))
    codes = {f.code for f in check_blocks(drum(), BLOCKS, wrong)}
    assert codes == {"W054", "W055", "W056"}


def test_seams_of_a_drum_are_as_long_as_it_is() -> None:
    made = caulk(drum())
    strakes = [s for s in made.seams if s.of.startswith("strake")]
    assert len(strakes) == 2 * 8
    for seam in strakes:
        assert seam.length_mm == pytest.approx(12000.0, rel=1e-6)
    butts = sum(s.length_mm for s in made.seams if s.of == "butts")
    count = sum(p.aft_landing == "block" for p in drum().planks.planks)
    assert butts == pytest.approx(count * math.pi / 2 * 125, rel=1e-4)


def test_seams_of_a_launch_are_as_long_as_her_planks_edges() -> None:
    made = caulk(boat())
    edges = 0.0
    for plank in boat().planks.planks:
        lower = boat().shape(plank).lower
        edges += sum(math.dist(a, b) for a, b in pairwise(lower))
    strakes = sum(s.length_mm for s in made.seams if s.of.startswith("strake"))
    assert strakes == pytest.approx(edges, rel=2e-3)


def test_seams_of_a_few_planks_end_in_the_middle_of_a_bay_where_their_butts_do() -> None:
    """Two planks renewed, from stem to block and from block to stern, their joints against old."""
    few = [p for p in drum().planks.planks if p.name in {"P1-1", "P3-2"}]
    assert [(p.aft, p.fore, p.aft_landing) for p in few] == [("9", "stem", "block"),
                                                             ("stern", "19", "hood")]  # fmt: skip
    few = replace(drum(), planks=replace(drum().planks, planks=tuple(few)))
    made = caulk(few)
    strakes = {s.of: s.length_mm for s in made.seams if s.of.startswith("strake")}
    fore, aft = 300.0 + 8.5 * 475.0, 12000.0 - (300.0 + 18.5 * 475.0)  # frames 475 mm apart
    assert strakes == pytest.approx(
        {"strake 1": fore, "strake 1, upper edge": fore,
         "strake 3": aft, "strake 3, upper edge": aft}, rel=1e-6
    )  # fmt: skip
    butts = sum(s.length_mm for s in made.seams if s.of == "butts")
    assert butts == pytest.approx(2 * math.pi / 2 * 125, rel=1e-4)
    assert check_caulking(few, RULES, made) == ()


def test_where_strakes_end_short_of_the_last_frame_the_new_one_above_is_what_lies_above() -> None:
    """Two whole strakes renewed: the seam between them is one, to their very ends."""
    whole = drum()
    low = [p for p in whole.planks.planks if p.side in {"port", "both"} and p.strake in {"1", "2"}]
    girth = whole.lining.upper_girth_mm.copy()
    girth[:3, -2] = np.nan  # the lowest strakes end forward of the last frame
    few = replace(
        whole,
        planks=replace(whole.planks, planks=tuple(low)),
        lining=replace(whole.lining, upper_girth_mm=girth),
    )
    opened = {seam.of for seam in caulk(few).seams}
    assert "strake 2, upper edge" in opened
    assert "strake 1, upper edge" not in opened


def test_a_seam_opens_a_sixteenth_for_each_half_inch() -> None:
    made = caulk(planked(thick(barrel(), 2 * 25.4), 8))
    assert made.opening_mm == pytest.approx(4 * 25.4 / 16)
    assert made.depth_mm == pytest.approx(2 * 25.4 * 2 / 3)


@pytest.mark.parametrize(
    ("inches", "cotton", "oakum"), [(7 / 8, 1, 0), (9 / 8, 2, 0), (2, 2, 1), (3, 2, 2)]
)
def test_strands_go_by_thickness(inches: float, cotton: float, oakum: float) -> None:
    made = caulk(planked(thick(barrel(), inches * 25.4), 8))
    assert (made.cotton_strands, made.oakum_strands) == (cotton, oakum)


def test_thickness_nothing_was_read_for_is_not_answered() -> None:
    made = caulk(planked(thick(barrel(), 130.0), 8))
    assert made.fill is None
    assert "W062" in {f.code for f in made.findings}
    own = caulk(planked(thick(barrel(), 130.0), 8), CaulkingRules(oakum_strands=4.0))
    assert own.oakum_strands == 4.0
    assert "W062" not in {f.code for f in own.findings}


def test_weights_follow_from_the_strands() -> None:
    made = caulk(drum())
    metres = made.seam_mm / 1000 * 2 * 1.25 * 1.1
    assert made.quantity("cotton strand") == pytest.approx(metres)
    assert made.quantity("cotton") == pytest.approx(metres / 64.008 * 0.45359237, rel=1e-3)
    heavy = planked(thick(barrel(), 50.8), 8)
    assert caulk(heavy).quantity("oakum") is None
    assert "W064" in {f.code for f in caulk(heavy).findings}
    weighed = caulk(heavy, CaulkingRules(oakum_g_per_m=60.0))
    assert weighed.quantity("oakum") == pytest.approx(0.06 * weighed.quantity("oakum strand"))


def test_strand_says_what_is_in_it_besides_the_waste() -> None:
    """Seam by strands by take-up by waste is the quantity, and the line says the take-up."""
    made = caulk(drum())
    line = next(i for i in made.items if i.item == "cotton strand")
    seam = made.seam_mm / 1000 * made.cotton_strands
    assert line.quantity == pytest.approx(seam * (1 + line.allowance_percent / 100) * 1.25)
    assert line.says.startswith("1.25 of strand to 1 of seam")
    straight = caulk(drum(), CaulkingRules(gather=1.0))
    line = next(i for i in straight.items if i.item == "cotton strand")
    assert line.quantity == pytest.approx(seam * (1 + line.allowance_percent / 100))
    assert not line.says


def test_paying_fills_the_mouth_of_the_wedge() -> None:
    made = caulk(drum(), CaulkingRules(waste_part=0.0))
    depth, opening = 38.0 * 2 / 3, 38.0 / 8
    mouth = 4.7625 * (opening + opening * (1 - 4.7625 / depth)) / 2
    wanted = made.seam_mm * mouth / 1e6
    assert made.quantity("paying: compound or pitch") == pytest.approx(wanted)


def test_blocks_and_fastenings_give_bedding_and_bungs() -> None:
    blocks, nails = size_blocks(drum()), fasten(drum())
    made = caulk(drum(), RULES, blocks, nails)
    assert made.quantity("bungs") == nails.bungs
    assert made.quantity("bedding") > caulk(drum()).quantity("bedding")


def test_girths_alone_say_that_seams_are_longer() -> None:
    made = caulk(taped())
    assert made.seam_mm > 0
    assert "W065" in {f.code for f in made.findings}
    assert check_caulking(taped(), RULES, made) == ()


def test_seams_by_girths_run_to_the_hood_ends_beyond_the_last_frames() -> None:
    planking = taped()
    hull, girth = planking.hull, planking.lining.lower_girth_mm.copy()
    x = hull.lines.x_mm.copy()
    x[0], x[-1] = hull.frames.x_mm[0] - 600.0, hull.frames.x_mm[-1] + 400.0
    girth[:, 0], girth[:, -1] = girth[:, 1], girth[:, -2]
    longer = replace(
        planking,
        hull=replace(hull, lines=replace(hull.lines, x_mm=x)),
        lining=replace(planking.lining, lower_girth_mm=girth),
    )
    for strake in ("strake 1", "strake 5"):
        length, before = (
            next(s.length_mm for s in caulk(p).seams if s.of == strake) for p in (longer, planking)
        )
        assert length == pytest.approx(before + 1000.0)


def test_planking_of_no_thickness_has_lengths_only() -> None:
    made = caulk(planked(thick(barrel(), 0.0), 8))
    assert made.seam_mm > 0
    assert [f.code for f in made.findings] == ["W061"]
    assert made.quantity("paying: compound or pitch") == 0.0


def test_the_check_finds_nothing_on_good_work_and_something_on_bad() -> None:
    for planking in (boat(), drum()):
        assert check_caulking(planking, RULES, caulk(planking)) == ()
    made = caulk(boat())
    short = replace(made, seams=made.seams[3:])
    assert {"W071", "W072"} <= {f.code for f in check_caulking(boat(), RULES, short)}
    light = tuple(replace(i, quantity=(i.quantity or 0.0) / 3) for i in made.items)
    codes = {f.code for f in check_caulking(boat(), RULES, replace(made, items=light))}
    assert "W073" in codes
    much = tuple(replace(i, quantity=1e3) for i in made.items if "paying" in i.item)
    codes = {f.code for f in check_caulking(boat(), RULES, replace(made, items=much))}
    assert "W074" in codes


def test_every_figure_has_a_source() -> None:
    assert all(source(r.source) for r in (*describe(BLOCKS), *describe(RULES)))
    assert all(source(f.source) for f in fills())
    text = files("ribband").joinpath("data", "caulking.csv").read_text("utf-8")
    assert all(row["source"] for row in csv.DictReader(text.splitlines()))
