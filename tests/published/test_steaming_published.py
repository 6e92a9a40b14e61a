"""Heating of wood against published figures.

Wood Handbook, FPL-GTR-190 (2010): ch. 4, thermal properties; ch. 20, Table 20-4 (minutes for the
middle of green timbers in five species columns to go from 60 to 133 F in saturated air of 157 F),
after MacLean 1932. The columns' order is garbled in the copy read, so each row is taken as a span.
"""

from __future__ import annotations

import pytest

from ribband.shop.steaming.heat import (
    TABLE_DIFFUSIVITY,
    conductivity,
    heat_capacity,
    heating_seconds,
)

TABLE_20_4 = {
    (1.0, 6.0): (14, 13, 14, 12, 13),
    (1.5, 6.0): (29, 28, 26, 26, 29),
    (2.0, 6.0): (50, 48, 49, 46, 50),
    (3.0, 3.0): (59, 58, 57, 51, 61),
    (4.0, 4.0): (115, 107, 109, 100, 113),
    (6.0, 6.0): (265, 255, 252, 226, 243),
}


def celsius(fahrenheit: float) -> float:
    return (fahrenheit - 32) / 1.8


@pytest.mark.parametrize("section", TABLE_20_4)
def test_heating_times_lie_by_the_table(section: tuple[float, float]) -> None:
    thick, wide = (25.4 * size for size in section)
    seconds = heating_seconds(
        thick, wide, TABLE_DIFFUSIVITY, celsius(60), celsius(157), celsius(133)
    )
    minutes = TABLE_20_4[section]
    assert 0.96 * min(minutes) <= seconds / 60 <= 1.04 * max(minutes)


def test_thermal_properties_of_the_chapter_s_formulas() -> None:
    """The two examples of an open package that carries the formulas (chemics 24.1)."""
    gravity = 0.54 / (1 - 0.123 * (1 - 10 / 30))  # basic 0.54, shrinkage 12.3 %, at 10 %
    assert conductivity(gravity, 10.0) == pytest.approx(0.1567, abs=5e-5)
    assert heat_capacity(12.0, 340.0) == pytest.approx(1.9146, abs=5e-5)
