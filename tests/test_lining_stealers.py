"""Stealers: where one ends, what takes its notch, when a bow asks for one."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import made_hulls
import made_lining
from made_lining import PLAIN, faults
from ribband.hull.model import Hull
from ribband.lining import LiningRules, Wish, check, limits_of, line_out
from ribband.lining.division import Stealer, division_of


@pytest.fixture(scope="module")
def launch() -> Hull:
    return made_lining.launch()


def test_a_stealer_ends_in_a_nib_on_its_frame(launch: Hull) -> None:
    wishes = [Wish("strakes", 18), Wish("stealer", 0.0, "7", "10", "stern")]
    lining = line_out(launch, LiningRules(), wishes)
    k = [s.name for s in lining.strakes].index("7s")
    c = lining.columns.index("10")
    limits = limits_of(LiningRules(), launch.particulars)
    assert lining.strakes[k].nib == "10"
    assert len(lining.strakes) == 18
    assert np.isnan(lining.width_mm[k, :c]).all()
    assert np.isfinite(lining.width_mm[k, c:]).all()
    assert lining.width_mm[k, c] >= limits.nib - 0.1
    above = lining.width_mm[k + 1]
    assert above[c - 1] - above[c] > 0.7 * limits.nib  # the neighbour takes the notch
    assert faults(launch, LiningRules(), wishes, lining) == []


def test_seams_of_a_stealer_lie_together_where_it_is_absent(launch: Hull) -> None:
    wishes = [Wish("strakes", 18), Wish("stealer", 0.0, "7", "10", "stern")]
    lining = line_out(launch, LiningRules(), wishes)
    k = [s.name for s in lining.strakes].index("7s")
    absent = lining.present[k] == 0
    assert np.array_equal(lining.seam_v[k, absent], lining.seam_v[k + 1, absent])


def test_a_stealer_needs_no_more_than_its_unknowns() -> None:
    hull = made_hulls.launch(30, 41)
    plain = division_of(hull, PLAIN, 16, (), 0.4)
    with_one = division_of(hull, PLAIN, 16, (Stealer(6, 15, 30),), 0.4)
    assert plain.unknowns == 15 * 41
    assert plain.unknowns < with_one.unknowns < 16 * 41


@pytest.fixture(scope="module")
def wedge() -> Hull:
    return made_hulls.wedge(32, 49)


def test_a_bow_too_narrow_for_the_strakes_gets_a_stealer(wedge: Hull) -> None:
    rules = LiningRules(hollow_mm=10.0, least_hood_mm=122.0)
    plain = line_out(wedge, replace(rules, stealers=0))
    assert not plain.feasible
    lining = line_out(wedge, rules)
    assert lining.feasible
    assert faults(wedge, rules, [], lining) == []
    assert not [f for f in check(wedge, rules, [], lining) if f.code == "L007"]  # fair seams
    k = next(i for i, s in enumerate(lining.strakes) if s.stealer)
    c = lining.columns.index(lining.strakes[k].nib)
    assert np.isfinite(lining.width_mm[k, c:]).all()  # from its nib to the transom
    assert lining.width_mm[k + 1, c - 1] - lining.width_mm[k + 1, c] > 30.0  # the notch
    assert np.nanmin(lining.full_width_mm[1:, 0]) >= 121.9
    assert "Without stealers" in " ".join(lining.reasons)


def test_two_stealers_stand_at_different_heights(wedge: Hull) -> None:
    rules = LiningRules(hollow_mm=10.0, least_hood_mm=134.0, weight_stealer=0.01)
    lining = line_out(wedge, rules)
    places = [i for i, s in enumerate(lining.strakes) if s.stealer]
    assert lining.feasible
    assert len(places) == 2
    assert places[1] - places[0] >= 3
    assert faults(wedge, rules, [], lining) == []


def test_where_limits_cannot_be_kept_the_seams_stay_fair(wedge: Hull) -> None:
    rules = LiningRules(hollow_mm=10.0, least_hood_mm=150.0, stealers=0)
    lining = line_out(wedge, rules, [Wish("strakes", 13)])
    assert not lining.feasible
    assert lining.cost < 1.0
    assert faults(wedge, rules, [Wish("strakes", 13)], lining) == []
