"""Lining out that knows the planks: their strain, hollow and boards weigh in."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest

import made_hulls
import made_lining
from made_lining import PLAIN, faults
from ribband.hull.model import Hull
from ribband.lining import LiningRules, Wish, check, line_out
from ribband.lining.ground import ground_of
from ribband.lining.model import Lining


@pytest.fixture(scope="module")
def launch() -> Hull:
    return made_lining.launch()


@pytest.fixture(scope="module")
def lined() -> Lining:
    return made_lining.lined_launch()


def test_gaussian_curvature_of_a_ball_and_a_barrel() -> None:
    def ball(u: np.ndarray, v: np.ndarray) -> np.ndarray:
        a, b = 0.8 + 1.5 * u, 1.2 * v
        part = [-np.cos(a), np.sin(a) * np.cos(b - 1.0), np.sin(a) * np.sin(b - 1.0)]
        return 3000.0 * np.stack(np.broadcast_arrays(*part), axis=-1)

    hull = made_hulls.hull_of(ball, np.linspace(-1500.0, 1500.0, 20), 41)
    fraction = np.linspace(0.1, 0.9, 5)[:, None] * np.ones((1, 41))
    curved = ground_of(hull).on_lines(fraction).doubled[:, 2:-2]
    assert curved == pytest.approx(3000.0**-2, rel=0.02)
    flat = ground_of(made_hulls.barrel()).on_lines(fraction).doubled
    assert np.abs(flat).max() < 1e-4 * 1000.0**-2


def test_planks_weigh_in_and_can_be_switched_off(launch: Hull, lined: Lining) -> None:
    """Heavy weights bring down what they weigh; a weight of 0 leaves the seams as they were."""
    wishes = [Wish("strakes", 17)]
    off = LiningRules(weight_strain=0.0, weight_hollow=0.0, weight_board=0.0)
    plain = line_out(launch, off, wishes)
    hollow = line_out(launch, replace(off, weight_hollow=5.0), wishes)
    strain = line_out(launch, replace(off, weight_strain=5.0), wishes)
    assert np.nanmax(np.abs(plain.width_mm - hollow.width_mm)) > 2.0
    assert _most_hollow(launch, hollow) < 0.97 * _most_hollow(launch, plain)
    assert np.nanmax(np.abs(plain.width_mm - strain.width_mm)) > 1.0
    board = LiningRules(board_width_mm=0.0, weight_board=1000.0)
    assert np.array_equal(line_out(launch, board, wishes).width_mm, lined.width_mm, equal_nan=True)


def _most_hollow(hull: Hull, lining: Lining) -> float:
    """Mean of the squares of w^2 k / 8 at the frames, with k the frame's bend at mid strake."""
    middle = (lining.lower_girth_mm + lining.upper_girth_mm)[:, 1:-1] / 2 / hull.frames.girth_mm
    at = np.linspace(0.0, 1.0, hull.frames.v.shape[1])
    bend = np.array(
        [np.interp(middle[:, f], at, k) for f, k in enumerate(np.abs(hull.frames.curvature))]
    ).T
    return float(np.nanmean((lining.width_mm[:, 1:-1] ** 2 * bend / 8.0) ** 2))


def test_narrow_boards_ask_for_less_sweep(launch: Hull, lined: Lining) -> None:
    rules = LiningRules(board_width_mm=240.0, plank_length_mm=7000.0)
    wishes = [Wish("strakes", 17)]
    lining = line_out(launch, rules, wishes)

    def widest(one: Lining) -> float:
        says = [f.says for f in check(launch, rules, wishes, one) if f.code == "L013"]
        return max(float(re.findall(r"about (\d+) mm", text)[0]) for text in says)

    assert widest(lined) > widest(lining) + 20.0
    assert lining.feasible
    assert faults(launch, rules, wishes, lining) == []


def test_timber_is_estimated_from_the_blanks(launch: Hull, lined: Lining) -> None:
    """No less than the side's own area; equal to it for straight strakes of even width."""
    assert (
        lined.blank_m2
        > np.nansum(
            np.trapezoid(np.nan_to_num(lined.width_mm), np.nan_to_num(lined.along_mm), axis=1)
        )
        / 1e6
    )
    barrel = line_out(made_hulls.barrel(), PLAIN, [Wish("strakes", 10)])
    assert barrel.blank_m2 == pytest.approx(12.0 * np.pi / 2, rel=1e-3)
    other = line_out(launch).alternatives[0]
    assert other.blank_m2 > 0
    assert "timber" in other.says or abs(other.saved_m2) < 0.003 * other.blank_m2
