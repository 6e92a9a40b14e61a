"""Fastenings against published figures; each source is named beside its test."""

from __future__ import annotations

import pytest

from ribband.shop.fastenings.metals import metal_named
from ribband.shop.fastenings.strength import nail_n, screw_n, screw_safe_n
from ribband.shop.fastenings.tables import how_many, planking_screw, treenail_mm, wood_screws

POUND_N = 4.4482216152605
INCH = 25.4


@pytest.mark.parametrize(
    ("gauge", "inches"),
    [(6, ".138"), (8, ".164"), (10, ".190"), (12, ".216"),
     (14, ".242"), (16, ".268"), (18, ".294"), (20, ".320")],
)  # fmt: skip
def test_screw_diameters_of_the_standard(gauge: int, inches: str) -> None:
    """ASME B18.6.1, D = 0.060 + 0.013 N in, as sellers' pages give it (finescrews.com)."""
    assert wood_screws()[gauge].diameter_mm / INCH == pytest.approx(float(inches), abs=5e-4)
    assert wood_screws()[gauge].diameter_mm / INCH == pytest.approx(0.060 + 0.013 * gauge)


def test_every_gauge_of_the_table_follows_the_standard() -> None:
    for gauge, screw in wood_screws().items():
        assert screw.diameter_mm / INCH == pytest.approx(0.060 + 0.013 * gauge, abs=1e-9)


@pytest.mark.parametrize(
    ("plank", "gauge", "length"),
    [(3 / 8, 6, 3 / 4), (5 / 8, 10, 1.25), (1.0, 16, 2.0), (1.5, 22, 2.75), (2.0, 26, 3.5)],
)
def test_planking_screws_of_the_scantling_rule(plank: float, gauge: int, length: float) -> None:
    """A scantling rule as printed at fairwindfasteners.com."""
    screw = planking_screw(plank * INCH)
    assert (screw.gauge, screw.length_mm / INCH) == (gauge, pytest.approx(length))


def test_withdrawal_of_a_number_ten_screw() -> None:
    """engineeringtoolbox.com d_1815: spruce 0.45, no. 10: 109 lb an inch, allowable.

    The page cuts 109.65 off at the point.
    """
    assert int(screw_safe_n(0.45, 0.190 * INCH, INCH) / POUND_N) == 109


def test_withdrawal_by_the_two_forms_of_the_handbook_s_formulas() -> None:
    """Wood Handbook ch. 8: pounds and inches against newtons and millimetres, as printed.

    7,850 and 54.12 for nails (eq. 8-1), 15,700 and 108.25 for wood screws.
    """
    gravity, diameter, length = 0.59, 0.162, 1.75
    nail_lb = 7850 * gravity**2.5 * diameter * length
    screw_lb = 15700 * gravity**2 * diameter * length
    size = (diameter * INCH, length * INCH)
    assert nail_n(gravity, *size) == pytest.approx(nail_lb * POUND_N, rel=2e-4)
    assert screw_n(gravity, *size) == pytest.approx(
        108.25 * gravity**2 * size[0] * size[1], rel=2e-4
    )
    assert screw_n(gravity, *size) == pytest.approx(screw_lb * POUND_N)


def test_nails_hold_as_the_laboratory_s_older_note_says_within_its_change_of_constant() -> None:
    """FPL Technical Note 236 (1958): p = 6,900 G^2.5 D lb an inch; the handbook now has 7,850."""
    gravity, diameter = 0.48, 0.131
    older = 6900 * gravity**2.5 * diameter
    assert nail_n(gravity, diameter * INCH, INCH) / POUND_N == pytest.approx(
        older * 7850 / 6900, rel=2e-4
    )


@pytest.mark.parametrize(
    ("name", "inches", "first", "second"),
    [
        # Lloyd's Register, Rules, 1891, section 46, 2
        ("lloyds-1891", 11.5, 2, 2), ("lloyds-1891", 11.0, 2, 1), ("lloyds-1891", 8.5, 2, 1),
        ("lloyds-1891", 8.0, 1, 1), ("lloyds-1891", 6.0, 1, 1),
        # Section 46 as amended in 1855
        ("lloyds-1855", 12.5, 2, 2), ("lloyds-1855", 12.0, 2, 1), ("lloyds-1855", 9.0, 1, 1),
        # Lloyd's composite vessels, 1891: 10 in and above double, 8 1/2 to 10 both, under single
        ("lloyds-composite-1891", 10.0, 2, 2), ("lloyds-composite-1891", 9.9, 2, 1),
        ("lloyds-composite-1891", 8.5, 2, 1), ("lloyds-composite-1891", 8.4, 1, 1),
        # Desmond 1919, p. 97
        ("desmond-1919", 11.5, 2, 2), ("desmond-1919", 11.0, 2, 1), ("desmond-1919", 7.9, 1, 1),
        # Hedderwick 1830: exceeding 10 in double, all narrow strakes double and single
        ("hedderwick-1830", 10.5, 2, 2), ("hedderwick-1830", 10.0, 2, 1),
        ("hedderwick-1830", 5.0, 2, 1),
        # Board of Lake Underwriters 1866: sides, three spikes and one through bolt
        ("lake-underwriters-1866", 6.0, 4, 4),
    ],
)  # fmt: skip
def test_published_rules_of_fastening_by_width(
    name: str, inches: float, first: int, second: int
) -> None:
    assert how_many(name, inches * INCH, 0) == first
    assert how_many(name, inches * INCH, 1) == second


@pytest.mark.parametrize(
    ("tons", "where", "inches"),
    [(100, "bottom", 1.25), (300, "topsides", 1.125), (450, "bottom", 1.375),
     (500, "topsides", 1.25)],
)  # fmt: skip
def test_treenails_by_tonnage(tons: float, where: str, inches: float) -> None:
    """Hedderwick 1830: augers for vessels of 100 to 300 and of 400 to 500 tons."""
    assert treenail_mm(tons, where)[0] == pytest.approx(inches * INCH)


def test_the_order_of_the_galvanic_series() -> None:
    """Two charts of metals in sea water (kiwiprops.co.nz, docslib.org 8174925)."""
    order = [
        "galvanised iron",
        "zinc",
        "aluminium",
        "mild steel",
        "stainless 304",
        "silicon bronze",
    ]
    middles = [(m.least_mv + m.most_mv) / 2 for m in map(metal_named, order)]
    assert middles == sorted(middles)
