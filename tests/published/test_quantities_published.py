"""Volumes and weights against published figures, entered as printed."""

from __future__ import annotations

import pytest

from ribband.timber import species, species_named
from ribband.units import BOARD_FEET_PER_M3

POUND = 0.45359237  # kg, by definition


def pounds_per_board_foot(name: str, moisture: float) -> float:
    return species_named(name).density(moisture) / BOARD_FEET_PER_M3 / POUND


def test_a_thousand_board_feet() -> None:
    """FAO T0269E: 1000 board feet are 2.36 m3, or 83.33 cubic feet."""
    assert pytest.approx(2.36, abs=0.005) == 1000 / BOARD_FEET_PER_M3
    assert pytest.approx(83.33, abs=0.005) == 1000 / BOARD_FEET_PER_M3 / 0.3048**3


def test_a_cubic_metre_in_board_feet() -> None:
    """Common conversion tables: 1 m3 = 423.776 board feet; 1 board foot = 0.002359737216 m3."""
    assert pytest.approx(423.776, abs=5e-4) == BOARD_FEET_PER_M3
    assert pytest.approx(0.002359737216, abs=5e-13) == 1 / BOARD_FEET_PER_M3


def test_white_ash_weighs_as_the_wood_handbook_works_it_out() -> None:
    """Wood Handbook 2010, ch. 4, worked line: G 0.605 at 12 %, 678 kg/m3, 42.2 lb/ft3 (printed
    figures are rounded: 42.2 lb/ft3 is 676 kg/m3)."""
    density = species_named("white ash").density(12.0)
    assert density == pytest.approx(678, abs=0.5)
    assert density / POUND * 0.3048**3 == pytest.approx(42.2, abs=0.15)


def test_white_ash_at_12_from_its_green_gravity() -> None:
    """The same line gives G 0.55 green; by the volumetric shrinkage of Table 4-3 (13.3 %) it is
    within 2 % of the printed 0.605, which the handbook reached by its own relation."""
    ash = species_named("white ash")
    from_green = ash.gravity_green.value / (1 - 0.133 * (1 - 12 / 30))
    assert from_green == pytest.approx(0.605, rel=0.02)


def test_a_mahogany_like_timber_weighs_about_three_and_a_half_pounds_a_board_foot() -> None:
    """Common practice; no printed source: 3.5 lb a board foot for timber like sapele.

    True mahogany and khaya come out lighter, 2.6 to 2.9 lb: the rule of thumb is not for them.
    """
    assert pounds_per_board_foot("sapele", 15.0) == pytest.approx(3.5, abs=0.2)
    for lighter in ("mahogany, true", "khaya"):
        assert 2.5 < pounds_per_board_foot(lighter, 15.0) < 3.0


READ = {  # Wood Handbook 2010, Tables 4-3 and 4-4: radial, tangential, volumetric, per cent
    "White oak": (5.6, 10.5, 16.3),
    "Douglas-fir, coast": (4.8, 7.6, 12.4),
    "Alaska cedar": (2.8, 6.0, 9.2),
    "Port-Orford-cedar": (4.6, 6.9, 10.1),
    "Western redcedar": (2.4, 5.0, 6.8),
    "White ash": (4.9, 7.8, 13.3),
    "Mahogany, African": (2.5, 4.5, 8.8),
    "Mahogany, true": (3.0, 4.1, 7.8),
    "Angelique": (5.2, 8.8, 14.0),
}


@pytest.mark.parametrize("name", READ)
def test_shrinkages_stand_as_printed(name: str) -> None:
    s = next(s for s in species() if s.name == name)
    assert (s.radial.value, s.tangential.value, s.volumetric.value) == READ[name]
    assert s.radial.source == s.volumetric.source == "wood-handbook-2010"
