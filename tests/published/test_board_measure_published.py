"""Board measure against published examples, entered as printed."""

from __future__ import annotations

import numpy as np
import pytest

from ribband.timber import board_feet, practice_board_feet, volume_m3
from ribband.timber.board_model import Board
from ribband.timber.measure import Alternately, surface_measure

INCH, FOOT = 25.4, 304.8


def board(thick_in: float, wide_in: float, long_ft: float) -> Board:
    long, wide = long_ft * FOOT, wide_in * INCH
    ring = np.array([[0.0, 0], [long, 0], [long, wide], [0, wide]])
    return Board("1", ring, thick_in * INCH)


@pytest.mark.parametrize(
    ("wide_in", "long_ft", "feet"), [(6.25, 8, 4), (6.5, 8, 4), (8, 12, 8), (10, 13, 11)]
)
def test_surface_measure(wide_in: float, long_ft: float, feet: int) -> None:
    """American Hardwood Export Council, measurement of sawn hardwood (after the NHLA's rules)."""
    assert surface_measure(wide_in, long_ft) == feet


def test_a_two_inch_board() -> None:
    """The same page: 2 in thick, 6 1/4 in wide, 8 ft long: surface measure 4 ft, 8 board feet."""
    assert practice_board_feet([board(2, 6.25, 8)]) == (8,)
    assert board_feet(board(2, 6.25, 8)) == pytest.approx(2 * 6.25 * 8 / 12)


def test_a_half_goes_alternately_up_and_down() -> None:
    """The same page: what is exactly on the half is alternately rounded up or down."""
    nearest = Alternately()
    assert [nearest(6.5) for _ in range(4)] == [7, 6, 7, 6]


def test_less_than_an_inch_counts_as_an_inch() -> None:
    """US Navy training manual (tpub.com, engbas 6-3)."""
    assert practice_board_feet([board(0.75, 12, 10)]) == practice_board_feet([board(1, 12, 10)])


def test_a_board_foot_is_144_cubic_inches() -> None:
    """1 board foot = 144 cubic inches = 1/12 cubic foot = 0.002359737216 m3."""
    one = board(1, 12, 1)
    assert board_feet(one) == pytest.approx(1.0, rel=1e-12)
    assert volume_m3(one) == pytest.approx(0.002359737216, abs=5e-13)
