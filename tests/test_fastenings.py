"""Fastenings: numbers, sizes, places, holding power, metals, totals and a life compared."""

from __future__ import annotations

import csv
import math
from dataclasses import replace
from fractions import Fraction
from importlib.resources import files
from itertools import pairwise

import pytest

from made_hulls import barrel
from made_shop import boat, drum, planked, taped, thick
from ribband.errors import InputError
from ribband.rulebook import describe
from ribband.shop import Choice, FasteningRules, check_fastenings, fasten, read_fastenings
from ribband.shop.fastenings.drills import hole_said, nearest_drill
from ribband.shop.fastenings.metals import contacts, metal_named, metals
from ribband.shop.fastenings.pattern import spots
from ribband.shop.fastenings.sizes import spec_for
from ribband.shop.fastenings.strength import holding, nail_n, screw_n, screw_safe_n
from ribband.shop.fastenings.tables import how_many, kinds, width_sets, wood_screws
from ribband.sources import source
from ribband.survey.rows import Row as FormRow
from ribband.timber import species_named
from ribband.units import format_length

RULES = FasteningRules()
OAK = species_named("white oak")
BRONZE = Choice(
    "bronze", "screw", "silicon bronze", per_box=100, price=90.0, seconds=120, years=40.0
)
IRON = Choice("iron", "spike", "galvanised iron", per_box=50, price=20.0, seconds=60, years=15.0)


def test_a_drum_has_the_number_its_width_gives_at_every_frame() -> None:
    made = fasten(drum())
    on_frames = [row for row in made.rows if row.where == "frames"]
    assert all(row.width_mm == pytest.approx(math.pi / 2 * 125, rel=1e-5) for row in on_frames)
    assert {row.count for row in on_frames} == {3}  # 7 3/4 in, small craft
    butts = sum(p.aft_landing == "block" for p in drum().planks.planks)
    blocks = [row for row in made.rows if row.where == "blocks"]
    assert len(blocks) == 2 * butts
    assert {row.count for row in blocks} == {6}  # two rows of three


def test_butts_on_frames_are_fastened_by_both_planks() -> None:
    made = fasten(drum(blocks=False))
    butts = [row for row in made.rows if row.where == "butts"]
    assert butts
    assert all(row.count >= 2 for row in butts)
    by_place = {(row.at, row.plank.rsplit("-")[0]) for row in butts}
    assert len(butts) == 2 * len(by_place)


def test_double_and_single_alternate_from_frame_to_frame() -> None:
    wide = planked(thick(barrel(radius=1000.0, length=12000.0, frames=25), 38.0), 7, blocks=True)
    made = fasten(wide, FasteningRules(set="lloyds-1891"))  # 8.8 in: between 8 and 11
    row = [r.count for r in made.of("P1-1") if r.where == "frames"]
    assert set(row) == {1, 2}
    assert all(a != b for a, b in pairwise(row))


@pytest.mark.parametrize("name", width_sets())
def test_wider_planks_never_have_fewer(name: str) -> None:
    widths = [10.0 * k for k in range(1, 40)]
    for place in (0, 1):
        counts = [how_many(name, w, place) for w in widths]
        assert counts == sorted(counts)
        assert counts[0] >= 1


def test_a_set_a_kind_or_a_gauge_not_known_is_refused() -> None:
    with pytest.raises(InputError, match="lloyds-1891"):
        fasten(drum(), FasteningRules(set="by eye"))
    with pytest.raises(InputError, match="treenail"):
        fasten(drum(), FasteningRules(kind="glue"))
    with pytest.raises(InputError, match="gauge"):
        fasten(drum(), choices=(replace(BRONZE, gauge="13"),))


def test_screws_go_by_the_scantling_rule_and_no_further() -> None:
    spec = spec_for(BRONZE, 38.1, 110.0, RULES)
    assert (spec.gauge, spec.length_mm) == ("22", pytest.approx(2.75 * 25.4))
    assert spec.penetration_mm == pytest.approx(2.75 * 25.4 - 0.67 * 38.1, abs=0.1)
    assert spec.pilot_soft_mm < spec.pilot_hard_mm < spec.diameter_mm
    beyond = spec_for(BRONZE, 75.0, 110.0, RULES)
    assert beyond.diameter_mm is None
    assert "W022" in {f.code for f in fasten(boat(76.0)).findings}


def test_the_fastening_of_the_frames_stands_in_where_the_form_names_none_and_that_is_said() -> None:
    own = replace(BRONZE, where="frames", gauge="14", length_mm=76.0)
    made = fasten(boat(), RULES, (own,))
    assert {(spec.gauge, spec.length_mm) for spec in made.specs} == {("14", 76.0)}
    assert made.specs[0].counterbore_mm == pytest.approx(12.7)  # its plug, whatever the plank
    told = next(f for f in made.findings if f.code == "W036")
    assert "that of the frames" in told.says
    assert "hood ends" in told.says
    butts = fasten(boat(), RULES, (replace(own, where="butts"),))
    assert "our own" in next(f.says for f in butts.findings if f.code == "W036")
    assert "W036" not in {f.code for f in fasten(boat(), RULES, (BRONZE,)).findings}


def test_the_drill_for_a_hole_is_the_largest_of_the_rack_that_is_no_larger() -> None:
    for mm in (2.9, 4.05, 8.73125, 25.4, 31.0):
        name, _, inch = nearest_drill(mm, "in").rpartition(" ")
        size = float(sum(Fraction(part) for part in name.split())) * 25.4
        assert inch == "in"
        assert size <= mm + 0.01 < size + 25.4 / 32
        metric = float(nearest_drill(mm, "mm").removesuffix(" mm"))
        assert metric <= mm + 0.01 < metric + 0.5
    assert hole_said(25.4, "ft") == "1.00 in (1)"


def test_a_yards_own_gauge_and_length_are_taken() -> None:
    spec = spec_for(replace(BRONZE, gauge="no. 14", length_mm=60.0), 38.1, 110.0, RULES)
    assert spec.gauge == "14"
    assert spec.length_mm == 60.0
    assert spec.diameter_mm == pytest.approx(0.242 * 25.4)


def test_through_fastenings_are_as_long_as_plank_and_frame() -> None:
    rivet = spec_for(Choice("", "rivet", "copper"), 25.0, 60.0, RULES)
    assert rivet.length_mm == pytest.approx(25 + 60 + 1.5 * rivet.diameter_mm)
    assert rivet.penetration_mm is None
    assert spec_for(Choice("", "bolt", "copper"), 25.0, None, RULES).length_mm is None


def test_treenails_go_by_tonnage() -> None:
    small = spec_for(Choice("", "treenail", ""), 76.0, 200.0, FasteningRules(tons=250.0))
    large = spec_for(Choice("", "treenail", ""), 76.0, 200.0, FasteningRules(tons=450.0))
    assert (small.diameter_mm, large.diameter_mm) == (1.25 * 25.4, 1.375 * 25.4)
    assert small.length_mm == 76 + 200 + 25
    assert "W035" in {f.code for f in fasten(boat(), FasteningRules(kind="treenail")).findings}


@pytest.mark.parametrize("count", [1, 2, 3, 4])
def test_places_on_a_frame_stand_clear_of_edges_and_each_other(count: int) -> None:
    found, room = spots(220.0, count, "frames", 90.0, 8.0, RULES)
    assert room
    assert len(found) == count
    assert all(32.0 - 1e-9 <= s.up_mm <= 188.0 + 1e-9 for s in found) or count == 1
    assert all(abs(s.along_mm) <= 45.0 - 2.5 * 8 for s in found)
    if count > 1:
        assert found[0].along_mm == -found[1].along_mm  # staggered


def test_places_without_room_are_told() -> None:
    assert not spots(50.0, 3, "frames", 90.0, 8.0, RULES)[1]
    assert not spots(220.0, 2, "frames", 30.0, 8.0, RULES)[1]
    assert "W025" in {f.code for f in fasten(boat()).findings}


def test_on_a_block_rows_stand_away_from_the_butt() -> None:
    found, room = spots(200.0, 5, "blocks", None, 6.0, RULES)
    assert room
    assert sorted({round(s.along_mm, 6) for s in found}) == [48.0, 78.0]
    assert len(found) == 5


def test_at_a_butt_on_a_frame_each_plank_keeps_to_its_half() -> None:
    found, room = spots(200.0, 2, "butts", 100.0, 6.0, RULES)
    assert room
    assert {s.along_mm for s in found} == {25.0}


def test_holding_power_grows_with_gravity_diameter_and_depth() -> None:
    assert screw_n(0.7, 5.0, 30.0) == pytest.approx(4 * screw_n(0.35, 5.0, 30.0))
    assert nail_n(0.5, 4.0, 60.0) == pytest.approx(2 * nail_n(0.5, 4.0, 30.0))
    assert screw_safe_n(0.5, 5.0, 30.0) < screw_n(0.5, 5.0, 30.0) / 5
    assert screw_n(0.5, 5.0, 30.0) == pytest.approx(108.25 * 0.25 * 5 * 30, rel=1e-3)


def test_holding_power_needs_a_timber_of_known_weight() -> None:
    spec = spec_for(BRONZE, 38.1, 110.0, RULES)
    known = holding(spec, OAK, RULES)
    assert known.withdrawal_n > known.safe_n > 0
    assert holding(spec, None, RULES).withdrawal_n is None
    assert holding(spec, species_named("utile"), RULES).withdrawal_n is None
    fir = holding(spec, species_named("oregon pine"), RULES)
    assert fir.lateral_n == pytest.approx(
        3960 * 0.346**2 * 4.448 * min(1, 44.4 / (7 * 8.79)), rel=0.01
    )
    rivet = spec_for(Choice("", "rivet", "copper"), 25.0, 60.0, RULES)
    assert "through" in holding(rivet, OAK, RULES).says
    codes = {f.code for f in fasten(boat(), FasteningRules(frame_timber="marl wood")).findings}
    assert "W030" in codes


def test_a_screw_counts_only_its_thread() -> None:
    spec = replace(spec_for(BRONZE, 38.1, 110.0, RULES), penetration_mm=60.0)
    thread = 2 / 3 * spec.length_mm
    wanted = screw_n(OAK.gravity(12.0), spec.diameter_mm, thread)
    assert holding(spec, OAK, RULES).withdrawal_n == pytest.approx(wanted)


def test_bronze_by_iron_is_a_caution_and_bronze_by_gunmetal_is_not() -> None:
    made = fasten(boat(), FasteningRules(near_metals="galvanised iron, gunmetal"))
    said = [f.says for f in made.findings if f.code == "W027"]
    assert len(said) == 2  # iron by bronze, iron by gunmetal
    assert all("galvanised iron wastes" in text for text in said)
    assert contacts(["silicon bronze", "gunmetal"])[0].apart_mv < 20


def test_metals_not_read_say_so_and_brass_is_not_for_under_water() -> None:
    assert metal_named("monel").least_mv is None
    assert contacts(["monel", "copper"]) == ()
    monel = fasten(boat(), FasteningRules(metal="monel"))
    assert "W028" in {f.code for f in monel.findings}
    brass = fasten(boat(), FasteningRules(metal="brass"))
    assert "W029" in {f.code for f in brass.findings}


def test_totals_have_spares_boxes_and_price() -> None:
    made = fasten(drum(), choices=(BRONZE, IRON))
    driven = sum(row.count for row in made.rows)
    assert sum(line.count for line in made.lines) == driven
    for line in made.lines:
        assert line.to_buy == math.ceil(round(1.05 * line.count, 6))
        assert line.boxes == math.ceil(line.to_buy / 100)
        assert line.price == 90.0 * line.boxes
        assert line.hours == pytest.approx(line.count / 30)
    assert made.bungs == math.ceil(1.1 * driven)


def test_boxes_are_shared_by_all_the_places_a_fastening_goes_to() -> None:
    made = fasten(drum(), choices=(BRONZE,))
    assert [line.where for line in made.lines] == ["frames, blocks, hood ends"]
    assert made.lines[0].price == made.lives[0].cost


def test_another_fastening_may_be_named_for_the_blocks() -> None:
    bolt = Choice("block bolts", "bolt", "silicon bronze", where="blocks")
    made = fasten(drum(), choices=(BRONZE, bolt))
    assert {line.spec.kind for line in made.lines if "blocks" in line.where} == {"bolt"}
    assert {line.spec.kind for line in made.lines if "frames" in line.where} == {"screw"}


def test_two_fastenings_compared_over_forty_years() -> None:
    made = fasten(drum(), FasteningRules(hour_cost=30.0), (BRONZE, IRON))
    bronze, iron = made.lives
    driven = made.count
    assert bronze.refastenings == 0
    assert iron.refastenings == 2  # after 15 and 30 years
    assert iron.whole_hours == pytest.approx(3 * driven / 60)
    first = 20.0 * math.ceil(math.ceil(round(1.05 * driven, 6)) / 50)
    assert iron.whole_cost == pytest.approx(3 * (first + driven / 60 * 30.0))
    assert bronze.whole_cost == pytest.approx(bronze.cost + driven / 30 * 30.0)


def test_a_life_of_just_the_span_is_not_refastened_at_its_end() -> None:
    made = fasten(drum(), choices=(replace(IRON, years=20.0), replace(IRON, years=None)))
    assert [life.refastenings for life in made.lives] == [1, 0]


def form_row(**values) -> FormRow:
    return FormRow(values, "fastenings.csv", 2, {})


def test_the_form_is_read_and_a_strange_kind_is_refused() -> None:
    row = form_row(item="b", kind="Rivet", metal="Copper", length=90.0, per_box=50, years=50.0)
    assert read_fastenings([row])[0] == Choice(
        "b", "rivet", "copper", length_mm=90.0, per_box=50, years=50.0
    )
    with pytest.raises(InputError, match="boat nail"):
        read_fastenings([form_row(item="b", kind="staple")])


def test_girths_alone_are_fastened_too() -> None:
    made = fasten(taped())
    assert made.count > 0
    assert check_fastenings(taped(), RULES, made) == ()


def test_planking_of_no_thickness_has_numbers_and_no_sizes() -> None:
    bare = thick(barrel(), 0.0)
    made = fasten(planked(bare, 8))
    assert made.lines == ()
    assert made.count > 0
    assert "W021" in {f.code for f in made.findings}


def test_points_that_come_through_the_frame_are_told() -> None:
    made = fasten(boat(), choices=(replace(BRONZE, gauge="22", length_mm=200.0),))
    assert "W024" in {f.code for f in made.findings}


@pytest.mark.parametrize("name", ["lloyds-1891", "lloyds-1855", "small craft"])
def test_the_check_finds_nothing_on_good_work(name: str) -> None:
    rules = FasteningRules(set=name)
    for planking in (boat(), drum(blocks=False)):
        assert check_fastenings(planking, rules, fasten(planking, rules)) == ()


def test_the_check_finds_a_plank_left_out_a_wrong_number_and_a_wrong_sum() -> None:
    rules = FasteningRules(set="lloyds-1891")
    made = fasten(drum(), rules)
    codes = {f.code for f in check_fastenings(drum(), rules, replace(made, rows=made.rows[9:]))}
    assert {"W041", "W045"} <= codes
    at = next(k for k, row in enumerate(made.rows) if row.where == "frames")
    more = replace(made.rows[at], count=5)
    rows = (*made.rows[:at], more, *made.rows[at + 1 :])
    codes = {f.code for f in check_fastenings(drum(), rules, replace(made, rows=rows))}
    assert {"W042", "W043"} <= codes
    few = replace(made.lines[0], to_buy=1)
    codes = {f.code for f in check_fastenings(drum(), rules, replace(made, lines=(few,)))}
    assert "W046" in codes


def test_every_figure_has_a_source() -> None:
    assert all(source(r.source) for r in describe(RULES))
    for name in ("fastenings", "wood_screws", "planking_screws", "fastening_widths", "metals"):
        text = files("ribband").joinpath("data", f"{name}.csv").read_text("utf-8")
        for row in csv.DictReader(text.splitlines()):
            for key, value in row.items():
                if key.endswith("_source") and row.get(key.removesuffix("_source") + "_in"):
                    assert value
    assert all(m.source for m in metals() if m.least_mv is not None)
    assert set(kinds()) == {"screw", "boat nail", "spike", "rivet", "bolt", "treenail"}
    assert min(wood_screws()) == 6


def test_the_garboards_edge_in_the_rabbet_is_said_not_to_be_counted() -> None:
    (told,) = [f for f in fasten(drum()).findings if f.code == "W037"]
    long = sum(p.length_mm for p in drum().planks.planks if p.strake == "1")
    assert format_length(long, drum().unit) in told.says
    few = tuple(p for p in drum().planks.planks if p.strake != "1")  # a repair higher up
    made = fasten(replace(drum(), planks=replace(drum().planks, planks=few)))
    assert "W037" not in {f.code for f in made.findings}
