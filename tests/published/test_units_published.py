"""Units against published conversion factors.

The inch of 25.4 mm and the pound of 0.45359237 kg are exact by definition. The board foot of
144 cubic inches is 0.002359737216 m3, and 1 m3 is 423.776 board feet; FAO gives 1000 board feet
as 2.36 m3 and as 83.33 cubic feet (read). Clark's table of offsets, *Amateur Work* vol. 4
(1904-05), prints feet and inches; its digits are entered here as printed.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from ribband.units import (
    BOARD_FEET_PER_M3,
    format_area,
    format_volume,
    format_weight,
    parse_exact,
    parse_length,
)


def test_inch_and_foot_by_definition() -> None:
    assert parse_exact("1in", "mm") == Fraction("25.4")
    assert parse_exact("1ft", "mm") == Fraction("304.8")
    assert parse_exact("1-0-0", "mm") == Fraction("304.8")


def test_pound_by_definition() -> None:
    assert format_weight(0.45359237, "ft") == "1.0 lb"
    assert format_weight(1000 * 0.45359237, "ft") == "1000.0 lb"
    assert float(format_weight(23.0, "ft").split()[0]) == pytest.approx(51, abs=0.5)  # NIOSH


def test_square_foot() -> None:
    assert format_area(1000 * 0.09290304, "ft") == "1000.0 ft²"


def test_board_foot() -> None:
    assert pytest.approx(0.002359737216, abs=1e-15) == 1 / BOARD_FEET_PER_M3
    assert pytest.approx(423.776, abs=5e-4) == BOARD_FEET_PER_M3
    assert format_volume(1.0, "ft") == "423.8 board feet"


def test_a_thousand_board_feet() -> None:
    assert pytest.approx(2.36, abs=0.005) == 1000 / BOARD_FEET_PER_M3
    assert pytest.approx(83.33 * 0.3048**3, rel=1e-4) == 1000 / BOARD_FEET_PER_M3


@pytest.mark.parametrize(
    ("printed", "millimetres"),
    [  # sheer heights and half-breadths that came through clear
        ("5' 0\"", 1524.0),
        ("4' 7 5/8\"", 1412.9),
        ("4' 4 1/8\"", 1324.0),
        ("4' 1 7/8\"", 1266.8),
        ("2' 10\"", 863.6),
        ("0' 11 3/8\"", 288.9),
    ],
)
def test_clark_1905(printed: str, millimetres: float) -> None:
    assert parse_length(printed, "ft-in-8ths") == pytest.approx(millimetres, abs=0.05)
