"""Moisture: where it settles, how a board moves, whether it dresses, and what seams do."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from ribband.rulebook import describe
from ribband.sources import source, sources
from ribband.timber import (
    DressRules,
    Figure,
    SeamRules,
    Species,
    check_dressing,
    equilibrium_celsius,
    move_seams,
    movement,
    partial_shrinkage,
    species,
    species_named,
    will_it_dress,
)
from ribband.timber.board_model import Board
from ribband.timber.moisture.settling import change_by_coefficient, change_by_shrinkage

INCH = 25.4
FIR = species_named("douglas fir coast")
OAK = species_named("white oak")


def changes(s: Species) -> list[tuple[Figure, Figure]]:
    return [(s.radial, s.change_radial), (s.tangential, s.change_tangential)]


# --- the table ---


def test_every_coefficient_has_a_source_and_every_gap_has_none() -> None:
    for s in species():
        for figure in (s.change_radial, s.change_tangential, s.fibre_saturation):
            assert (figure.value is None) == (figure.source == "")
            assert not figure.source or source(figure.source).mark


def test_coefficients_are_of_wood_and_tangential_moves_more() -> None:
    for s in species():
        if s.change_radial.value is not None:
            assert 0.0005 < s.change_radial.value < s.change_tangential.value < 0.005


def test_coefficients_and_shrinkages_agree_but_where_it_is_known_that_they_do_not() -> None:
    """Eq. 4-7's slope at 10 % against the coefficient; the two come from different tables."""
    apart = set()
    for s in species():
        for shrinkage, change in changes(s):
            if shrinkage.value is not None and change.value is not None:
                slope = change_by_shrinkage(
                    shrinkage.value, 10.0, 11.0, s.fibre_saturation.value or 30.0
                )
                if abs(slope / change.value - 1) > 0.10:
                    apart.add(s.name)
    known = {"Mahogany, African", "Mahogany, true", "Afrormosia", "Iroko", "Teak"}
    assert apart == known | {"European larch"}


def test_unknown_stays_unknown() -> None:
    moved = movement(species_named("utile"), "flat", 15.0, 20.0)
    assert (moved.width, moved.thickness, moved.source) == (None, None, "")


# --- equilibrium ---


def test_it_rises_with_humidity_and_falls_with_heat() -> None:
    rows = [[equilibrium_celsius(c, rh) for rh in range(5, 96, 5)] for c in (0.0, 20.0, 40.0)]
    for row in rows:
        assert row == sorted(row)
    assert rows[0] > rows[1] > rows[2]


@pytest.mark.parametrize(("t", "rh"), [(-2, 50), (133, 50), (20, 4), (20, 96), (math.nan, 50),
                                       (20, math.nan), (math.inf, 50)])  # fmt: skip
def test_outside_the_table_is_refused(t: float, rh: float) -> None:
    with pytest.raises(ValueError, match=r"from .* to"):
        equilibrium_celsius(t, rh)


# --- movement ---


def test_there_and_back_is_where_it_began() -> None:
    for low, high in ((15.0, 22.0), (4.0, 30.0), (12.0, 40.0)):
        there = change_by_shrinkage(7.6, low, high)
        back = change_by_shrinkage(7.6, high, low)
        assert (1 + there) * (1 + back) == pytest.approx(1.0)


def test_above_fibre_saturation_nothing_moves() -> None:
    assert movement(FIR, "flat", 60.0, 30.0).width == pytest.approx(0.0)
    assert partial_shrinkage(7.6, 30.0) == 0.0
    with pytest.raises(ValueError, match="0 per cent or more"):
        partial_shrinkage(7.6, -1.0)
    red = species_named("western redcedar")
    assert movement(red, "flat", 30.0, 22.0).width == pytest.approx(0.0)
    assert movement(red, "flat", 22.0, 21.0).width < 0


def test_quarter_and_flat_change_places_and_unknown_takes_the_livelier() -> None:
    flat, quarter = (movement(OAK, cut, 20.0, 12.0) for cut in ("flat", "quarter"))
    unknown = movement(OAK, "", 20.0, 12.0)
    assert (flat.width, flat.thickness) == (quarter.thickness, quarter.width)
    assert flat.width < quarter.width < 0
    assert unknown.width == unknown.thickness == flat.width
    assert unknown.assumed
    assert not flat.assumed


def test_the_coefficient_serves_inside_its_range_and_is_refused_outside() -> None:
    assert movement(FIR, "flat", 8.0, 12.0).width == pytest.approx(0.00267 * 4)
    assert movement(FIR, "flat", 8.0, 15.0).width == pytest.approx(
        change_by_shrinkage(7.6, 8.0, 15.0)
    )
    for moisture in (5.9, 14.1):
        with pytest.raises(ValueError, match="6 to 14"):
            change_by_coefficient(0.00267, 10.0, moisture)


def test_a_coefficient_livelier_than_the_shrinkage_is_followed() -> None:
    khaya = species_named("khaya")
    moved = movement(khaya, "flat", 15.0, 20.0)
    assert moved.width > 1.2 * change_by_shrinkage(4.5, 15.0, 20.0)
    assert moved.source == "memory"
    assert movement(FIR, "flat", 15.0, 20.0).source == "wood-handbook-2010"


# --- dressing ---


def test_the_sum_of_dressing_is_plain() -> None:
    done = will_it_dress(60.0, 50.0, OAK, "flat", moisture_from=30.0, moisture_to=15.0,
                         planing_mm=2.0, hollow_mm=3.0)  # fmt: skip
    assert done.dries_by_mm == pytest.approx(60.0 * 0.028)
    assert done.to_spare_mm == pytest.approx(60 - 1.68 - 4 - 3 - 50)
    assert done.dresses


def test_what_is_not_known_is_not_promised() -> None:
    done = will_it_dress(
        60.0, 50.0, species_named("utile"), "", moisture_from=30.0, moisture_to=15.0
    )
    assert done.dresses is None
    assert done.to_spare_mm is None


def test_boards_that_will_not_dress_are_named_with_what_is_short() -> None:
    ring = np.array([[0.0, 0], [4000, 0], [4000, 300], [0, 300]])
    good = Board("1", ring, 60.325, "white oak", 18.0, cut="quarter")
    thin = replace(good, name="2", thickness_mm=2 * INCH)
    green = replace(good, name="3", thickness_mm=2.25 * INCH + 0.5, moisture_percent=None)
    odd = replace(good, name="4", species="driftwood")
    barred = replace(thin, name="5", state="barred")
    found = check_dressing([good, thin, green, odd, barred], 50.8, DressRules(), "in")
    assert [(f.code, f.where) for f in found] == [
        ("T010", "board 2"), ("T010", "board 3"), ("T011", "board 4")]  # fmt: skip
    assert "2 in rough will not dress to 2 in" in found[0].says
    assert "taken as green" in found[1].why


def test_a_hundredth_short_is_tight_and_not_thrown_out() -> None:
    ring = np.array([[0.0, 0], [4000, 0], [4000, 300], [0, 300]])
    board = Board("1", ring, 60.325, "white oak", 18.0, cut="quarter")
    spare = will_it_dress(60.325, 50.8, OAK, "quarter", moisture_from=18.0, moisture_to=15.0)
    assert spare.to_spare_mm
    tight = replace(board, thickness_mm=60.325 - spare.to_spare_mm - 0.25)
    short = replace(board, name="9", thickness_mm=60.325 - spare.to_spare_mm - 1.0)
    pile = [tight, replace(tight, name="2"), board, short]
    found = check_dressing(pile, 50.8, DressRules(), "in")
    assert [(f.code, f.where, str(f.severity)) for f in found] == [
        ("T014", "boards 1, 2", "note"), ("T010", "board 9", "caution")]  # fmt: skip
    assert "barer by 0.01 in" in found[0].says
    strict = check_dressing(pile, 50.8, DressRules(barer_mm=0.0), "in")
    assert [f.code for f in strict] == ["T010", "T010"]


# --- seams ---


def test_a_seam_moves_by_half_of_each_neighbour() -> None:
    widths = np.array([[200.0, 180.0], [150.0, np.nan], [100.0, 120.0]])
    moved = move_seams(widths, ["1", "2", "3"], 50.8, FIR, "flat")
    rate = change_by_shrinkage(7.6, 15.0, 20.0)
    assert moved.afloat_mm.shape == (2, 2)
    assert moved.afloat_mm[0, 0] == pytest.approx(-175.0 * rate)
    assert moved.afloat_mm[1, 0] == pytest.approx(-125.0 * rate)
    assert np.isnan(moved.afloat_mm[:, 1]).all()
    assert moved.standing_mm[0, 0] > 0


def test_the_widest_plank_is_just_within_both_limits() -> None:
    rules = SeamRules()
    moved = move_seams(np.array([[100.0]]), ["1"], 38.1, FIR, "flat", rules=rules)
    for part, flagged in ((0.999, False), (1.001, True)):
        wide = np.array([[moved.widest_mm * part]])
        found = move_seams(wide, ["1"], 38.1, FIR, "flat", rules=rules).findings
        assert bool(found) is flagged


def test_wide_and_lively_is_warned_of_narrow_and_quarter_is_not() -> None:
    widths = np.array([[280.0, 260.0], [120.0, 110.0], [np.nan, np.nan]])
    lively = move_seams(widths, ["1", "2", "3"], 38.1, OAK, "flat", unit="in")
    by = {f.code: f for f in lively.findings}
    assert set(by) == {"T020", "T021"}
    assert by["T020"].where == by["T021"].where == "strake 1"
    assert "11 in wide" in by["T020"].says
    assert not move_seams(widths[1:], ["2", "3"], 38.1, OAK, "quarter").findings


def test_planks_hung_at_what_they_meet_do_not_move() -> None:
    rules, wide = SeamRules(standing_percent=16.0, afloat_percent=16.0), np.full((2, 1), 900.0)
    moved = move_seams(wide, ["1", "2"], 30.0, OAK, "flat", rules=rules, hung_percent=16.0)
    assert moved.afloat_mm == moved.standing_mm == pytest.approx(0.0)
    assert moved.widest_mm == math.inf
    assert not moved.findings


def test_unknown_timber_and_unknown_cut_are_said() -> None:
    widths = np.array([[100.0], [100.0]])
    unknown = move_seams(widths, ["1", "2"], 38.1, species_named("utile"))
    assert [f.code for f in unknown.findings] == ["T022"]
    assert unknown.widest_mm is None
    assert np.isnan(unknown.afloat_mm).all()
    assert [f.code for f in move_seams(widths, ["1", "2"], 38.1, FIR).findings] == ["T023"]


@pytest.mark.parametrize("rules", [DressRules(), SeamRules()])
def test_every_rule_has_a_known_source(rules: DressRules | SeamRules) -> None:
    assert {rule.source for rule in describe(rules)} <= {s.key for s in sources()}
