"""Steaming: heat against closed forms and steps, need, times, box and cautions."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

from made_hulls import barrel
from made_shop import boat, drum, planked, taped, thick
from ribband.errors import InputError
from ribband.rulebook import describe, with_values
from ribband.shop import SteamingRules, check_steaming, steam, yard_rules
from ribband.shop.steaming.boxes import at_once_in, box_wanted, places_of, read_boxes
from ribband.shop.steaming.heat import (
    conductivity,
    convection,
    cooling_seconds,
    diffusivity,
    heating_seconds,
    left_of_centre,
    left_of_mean,
)
from ribband.shop.steaming.model import SteamedPlank, YardBox
from ribband.sources import source
from ribband.survey.rows import Row

CELLS = 80


def by_lines(fourier: float, biot: float) -> tuple[float, float]:
    """Middle and mean of a slab, by the method of lines; a Biot number of infinity holds faces."""
    dx = 1.0 / CELLS

    def rate(_: float, t: np.ndarray) -> np.ndarray:
        out = np.empty_like(t)
        out[0] = 2 * (t[1] - t[0])
        out[1:-1] = t[2:] - 2 * t[1:-1] + t[:-2]
        last = 0.0 if math.isinf(biot) else t[-2] - t[-1] - biot * dx * t[-1]
        out[-1] = 2 * last
        return out / dx**2

    start = np.ones(CELLS + 1)
    if math.isinf(biot):
        start[-1] = 0.0
    t = solve_ivp(rate, (0, fourier), start, method="LSODA", rtol=1e-7, atol=1e-9).y[:, -1]
    return float(t[0]), float(np.trapezoid(t, dx=dx))


@pytest.mark.parametrize("fourier", [0.05, 0.2, 0.5, 1.0, 2.0])
def test_the_slab_series_agrees_with_a_numerical_solution(fourier: float) -> None:
    assert left_of_centre(fourier) == pytest.approx(by_lines(fourier, math.inf)[0], abs=2e-4)


@pytest.mark.parametrize("biot", [0.2, 1.0, 3.0, 10.0])
@pytest.mark.parametrize("fourier", [0.1, 0.5, 1.5])
def test_the_cooling_series_agrees_with_a_numerical_solution(fourier: float, biot: float) -> None:
    assert left_of_mean(fourier, biot) == pytest.approx(by_lines(fourier, biot)[1], abs=5e-4)


@pytest.mark.parametrize(
    ("inches", "minutes"),
    [(0.75, 11.5), (1.0, 20.4), (1.25, 31.9), (1.5, 45.9), (2.0, 81.6), (3.0, 183.6)],
)
def test_a_slab_in_steam_from_20_to_95_degrees(inches: float, minutes: float) -> None:
    """Minutes worked out apart from this program: diffusivity 1.61e-7 m2/s, faces at 100 C."""
    seconds = heating_seconds(25.4 * inches, float("inf"), 0.161, 20, 100, 95)
    assert seconds / 60 == pytest.approx(minutes, abs=0.06)


def test_a_thin_slab_cools_as_a_lump() -> None:
    assert left_of_mean(20.0, 0.01) == pytest.approx(math.exp(-0.01 * 20.0), rel=4e-3)


def test_a_square_heats_in_less_time_than_a_slab_and_time_grows_with_the_square() -> None:
    slab = heating_seconds(50.0, math.inf, 0.15, 20, 100, 95)
    square = heating_seconds(50.0, 50.0, 0.15, 20, 100, 95)
    assert 0.5 * slab < square < 0.75 * slab
    assert heating_seconds(100.0, math.inf, 0.15, 20, 100, 95) == pytest.approx(4 * slab, rel=2e-3)


def test_wind_and_cold_shorten_the_hot_time() -> None:
    calm = cooling_seconds(38.0, 200.0, 0.48, 20.0, 95, 15, 80, 0.0)
    windy = cooling_seconds(38.0, 200.0, 0.48, 20.0, 95, 15, 80, 6.0)
    frosty = cooling_seconds(38.0, 200.0, 0.48, 20.0, 95, -10, 80, 0.0)
    assert windy < 0.4 * calm
    assert frosty < 0.9 * calm
    assert convection(6.0) > convection(0.0)


def test_wet_and_heavy_wood_carries_more_heat() -> None:
    assert conductivity(0.7, 12.0) > conductivity(0.4, 12.0)
    assert conductivity(0.5, 20.0) > conductivity(0.5, 10.0)
    assert conductivity(0.5, 40.0) == conductivity(0.5, 25.0)
    assert diffusivity(0.7, 12.0) < diffusivity(0.3, 12.0)


@pytest.mark.parametrize("wanted", [15.0, 100.0, 120.0])
def test_a_temperature_out_of_reach_is_refused(wanted: float) -> None:
    with pytest.raises(ValueError, match="between"):
        heating_seconds(25.0, 200.0, 0.15, 15.0, 100.0, wanted)
    with pytest.raises(ValueError, match="between"):
        cooling_seconds(25.0, 200.0, 0.5, 12.0, 100.0, 15.0, wanted, 1.0)


def test_no_size_is_refused() -> None:
    with pytest.raises(ValueError, match="greater than nothing"):
        heating_seconds(0.0, 200.0, 0.15, 15.0, 100.0, 95.0)


def test_twisted_planks_of_a_launch_are_steamed_and_flat_ones_not() -> None:
    made = steam(boat())
    assert 0 < len(made.steamed) < len(made.planks)
    assert all("twist" in p.why for p in made.steamed)
    cold = next(p for p in made.planks if p.needed is False)
    assert cold.minutes is None
    assert "hung cold" in cold.why


def test_thicker_planking_wants_more_steam() -> None:
    assert len(steam(boat(51.0)).steamed) > len(steam(boat(25.4)).steamed)


def test_the_longer_of_rule_and_heat_binds() -> None:
    thin = steam(boat())
    assert all(p.binds == "the yard's rule" and p.minutes == p.rule_min for p in thin.steamed)
    assert thin.steamed[0].rule_min == pytest.approx(60 * 38 / 25.4)
    heavy = steam(boat(102.0))
    assert all(p.binds == "heat flow" and p.minutes == p.heat_min for p in heavy.steamed)
    assert "W004" in {f.code for f in heavy.findings}


def test_a_yard_may_have_its_own_rule() -> None:
    own = steam(boat(), SteamingRules(minutes_per_inch=80.0))
    assert own.steamed[0].rule_min == pytest.approx(80 * 38 / 25.4)
    quick = steam(boat(), SteamingRules(yard_rule="three quarters an inch"))
    assert quick.steamed[0].rule_min == pytest.approx(45 * 38 / 25.4)
    with pytest.raises(InputError, match="hour an inch"):
        steam(boat(), SteamingRules(yard_rule="by the clock"))


def test_temperatures_that_do_not_follow_each_other_are_refused() -> None:
    with pytest.raises(InputError, match="hotter"):
        steam(boat(), SteamingRules(hot_c=75.0))


def test_a_drum_of_small_radius_has_planks_no_limit_was_read_for() -> None:
    small = planked(thick(barrel(radius=1000.0, length=12000.0), 38.0), 8)
    bent = replace(
        small.shapes.shapes[0], grade="", why_grade="no limit", fibre_strain=0.025, name="1-1"
    )
    shapes = replace(small.shapes, shapes=(bent, *small.shapes.shapes[1:]))
    made = steam(replace(small, shapes=shapes))
    codes = {f.code for f in made.findings}
    assert {"W005", "W006", "W008"} <= codes
    assert made.of("P1-1").needed


def test_girths_alone_say_nothing_of_bends() -> None:
    made = steam(taped())
    assert {p.needed for p in made.planks} == {None}
    assert made.box is None
    assert [f.code for f in made.findings] == ["W001"]


def test_straight_planking_needs_no_box() -> None:
    made = steam(drum())
    assert made.steamed == ()
    assert made.box is None
    assert [f.code for f in made.findings] == ["W002"]


def test_an_unknown_timber_is_heated_by_the_fit_to_the_table() -> None:
    made = steam(replace(boat(), species=None))
    assert made.diffusivity == pytest.approx(0.147)
    assert "W009" in {f.code for f in made.findings}


def test_the_box_holds_the_longest_and_widest_with_steam_all_round() -> None:
    rules = SteamingRules(at_once=3)
    made = steam(boat(), rules)
    box = made.box
    assert box.length_mm == pytest.approx(max(p.length_mm for p in made.steamed) + 300)
    assert box.width_mm == pytest.approx(3 * 38 + 4 * 50)
    assert box.heat_mj > steam(boat()).box.heat_mj
    walls_only = 2 * box.length_mm / 1000 * (box.width_mm + box.height_mm) / 1000 * 2.3 * 85 / 1000
    assert box.boiler_kw > walls_only


def test_the_caution_of_steam_is_shown_with_it() -> None:
    made = steam(boat())
    assert any("vent the box" in f.says and f.severity == "caution" for f in made.findings)


def test_the_check_finds_nothing_on_good_work_and_something_on_bad() -> None:
    rules = SteamingRules()
    made = steam(boat(), rules)
    assert check_steaming(boat(), rules, made) == ()
    late = replace(made.steamed[0], heat_min=2 * made.steamed[0].heat_min)
    wrong = tuple(late if p.plank == late.plank else p for p in made.planks)
    codes = {f.code for f in check_steaming(boat(), rules, replace(made, planks=wrong))}
    assert "W012" in codes or "W013" in codes
    short = replace(made, planks=made.planks[1:])
    assert "W014" in {f.code for f in check_steaming(boat(), rules, short)}
    slow = replace(made, diffusivity=made.diffusivity / 2)
    assert "W013" in {f.code for f in check_steaming(boat(), rules, slow)}


def test_every_rule_and_yards_rule_has_a_source() -> None:
    assert all(source(r.source) for r in describe(SteamingRules()))
    assert all(source(r.source) for r in yard_rules().values())
    with pytest.raises(InputError):
        with_values(SteamingRules(), {"wind_ms": 99.0})


# ---- the boxes a yard has


def row_of(**values: object) -> Row:
    return Row({"item": "steam box", **values}, "gear.csv", 2)


@pytest.mark.parametrize(
    ("sizes", "count"),
    [
        ((6300.0, 132.0, 300.0), 1),  # 50 + 32 + 50 across, 50 + 200 + 50 up, 150 + 6000 + 150
        ((6299.0, 500.0, 500.0), 0),
        ((6300.0, 131.0, 300.0), 0),
        ((6300.0, 132.0, 299.0), 0),
        ((9000.0, 296.0, 300.0), 3),
        ((9000.0, 296.0, 550.0), 6),  # two rows
        ((9000.0, 300.0, 132.0), 1),  # flat
    ],
)
def test_so_many_planks_go_into_a_box_with_steam_all_round(
    sizes: tuple[float, float, float], count: int
) -> None:
    plank = SteamedPlank("P1-1", True, "", 32.0, 200.0, 6000.0, *[None] * 5, "", None)
    assert at_once_in(YardBox(1, *sizes), plank, SteamingRules()) == count


def test_the_yard_s_boxes_are_read_and_set_against_the_planks() -> None:
    boxes = read_boxes([row_of(how_many=2, length=5000.0, width=400.0, height=400.0)])
    assert boxes == (YardBox(2, 5000.0, 400.0, 400.0, 2),)
    made = steam(boat(), SteamingRules(), boxes)
    (fit,) = made.boxes
    long = {p.plank for p in made.steamed if p.length_mm > 4700.0}
    assert set(fit.stuck) == long
    assert ("W011" in {f.code for f in made.findings}) == bool(long)
    assert places_of(made.boxes, 2, SteamingRules()) == 2 * fit.at_once
    unsized = read_boxes([row_of(how_many=2)])
    assert places_of(steam(boat(), SteamingRules(), unsized).boxes, 2, SteamingRules()) == 4


def test_a_box_that_takes_no_plank_has_a_place_all_the_same_and_the_box_wanted_is_told() -> None:
    boxes = read_boxes([row_of(how_many=1, length=1000.0, width=300.0, height=300.0)])
    made = steam(boat(), SteamingRules(), boxes)
    assert set(made.boxes[0].stuck) == made.in_no_box == {p.plank for p in made.steamed} != set()
    assert places_of(made.boxes, 1, SteamingRules()) == 1
    told = next(f.says for f in made.findings if f.code == "W011")
    assert "(form gear, row 2)" in told
    wanted = box_wanted(made.steamed, SteamingRules())
    assert f"a box of {wanted[0]:.0f} mm by {wanted[1]:.0f} mm by {wanted[2]:.0f} mm" in told
    assert all(at_once_in(YardBox(1, *wanted), p, SteamingRules()) for p in made.steamed)
