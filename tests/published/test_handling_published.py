"""Lifting and turning against published figures; each source is named beside its test."""

from __future__ import annotations

import math

import pytest

from ribband.shop.handling.lift import Lift, limit, team_kg
from ribband.shop.handling.turn import longest_turn

POUND_KG, INCH = 0.45359237, 25.4


def lift(out: float, start: float, end: float, **how) -> Lift:
    """A lift measured in inches, taken to the metric form's own sizes (25 cm for 10 in)."""
    return Lift(25.0 * out, 25.0 * start, 25.0 * end, **how)


@pytest.mark.parametrize(
    ("degrees", "printed"),
    [(0, 1.00), (15, 0.95), (30, 0.90), (45, 0.86), (60, 0.81), (75, 0.76), (90, 0.71),
     (105, 0.66), (120, 0.62), (135, 0.57)],
)  # fmt: skip
def test_the_table_of_turning(degrees: float, printed: float) -> None:
    """NIOSH 94-110, Table 4, as printed at what-when-how.com (Environmentally Conscious...)."""
    made = limit(Lift(250, 750, 1000, turn_deg=degrees, grip="good")).turn
    assert made == pytest.approx(printed, abs=0.0051)
    assert limit(Lift(250, 750, 1000, turn_deg=136.0)).turn == 0.0


def test_a_worked_example_of_the_equation() -> None:
    """wizedu.com 203981: H 20, V 6 to 22, D 16 in, fair: .50 .82 .93 1 .95, limit 18.4 lb.

    The page leaves frequency out of its product, rounds .9325 to .93 and cuts 18.47 to 18.4.
    """
    made = limit(lift(20, 6, 22))
    assert (made.out, made.turn, made.grip) == (0.5, 1.0, 0.95)
    assert made.height == pytest.approx(0.82)
    assert made.travel == pytest.approx(0.93, abs=0.0051)
    assert made.kg / 23 * 51 == pytest.approx(18.4, abs=0.13)


def test_package_inspection_of_the_manual() -> None:
    """NIOSH 94-110, example 4, figure 14, as given in a public method specification.

    51 x 1.0 x .94 x .87 x 1.0 x .88 x .95 = 34.9 lb; 34.8 where nothing is rounded on the way.
    """
    made = limit(lift(10, 22, 59, a_minute=3.0))
    printed = (1.0, 0.94, 0.87, 1.0, 0.88, 0.95)
    parts = (made.out, made.height, made.travel, made.turn, made.often, made.grip)
    assert parts == pytest.approx(printed, abs=0.0051)
    assert made.kg / 23 * 51 == pytest.approx(34.8, abs=0.06)
    assert limit(lift(10, 22, 59, a_minute=3.0), at_end=True).grip == 1.0


def test_a_hard_posture_worked_out_apart() -> None:
    """H 40, V 30, D 100 cm, A 45 degrees, no frequency or grip: 9.21 kg."""
    made = limit(Lift(400, 300, 1300, turn_deg=45.0, grip="good"))
    assert made.kg == pytest.approx(9.21, abs=0.005)


def test_frequency_between_two_rows_as_the_manual_does_it() -> None:
    """NIOSH 94-110, pp. 7 and 56: straight between the two nearest rows (2.4 a minute)."""
    made = limit(Lift(250, 750, 1000, a_minute=2.4)).often
    assert made == pytest.approx(0.91 + 0.4 * (0.88 - 0.91))


def test_teams_as_the_guidance_has_them() -> None:
    """HSE as quoted: two lift two thirds of the sum, three half; by a railway's page 26.6 of 20."""
    assert team_kg(20.0, 2) == pytest.approx(26.6, abs=0.1)
    assert team_kg(50.0, 3) == 75.0


def test_the_ladder_between_passages_of_two_and_three() -> None:
    """J. Loy, The moving ladder problem: 7.0234824."""
    assert longest_turn(2.0, 3.0) == pytest.approx(7.0234824, abs=5e-7)


def test_the_ladder_between_passages_of_one() -> None:
    """The moving ladder constant, twice the root of two."""
    assert longest_turn(1.0, 1.0) == pytest.approx(2 * math.sqrt(2))
