"""The number of strakes against the published rule.

Rule: midship girth over the largest width chosen, rounded up; width at each station is the
girth there over the number of strakes (sharimj.com and ashleyriverboatworks, both read
second-hand). The small-boat source gives planks of 4 1/2 to 6 in.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import made_hulls
from ribband.lining import LiningRules, Wish, line_out
from ribband.lining.search import count_of
from ribband.units import parse_length


@pytest.mark.parametrize(
    ("girth", "width", "strakes"), [("6-0-0", "6in", 12), ("6-1-0", "6in", 13)]
)
def test_midship_girth_over_greatest_width_rounded_up(girth: str, width: str, strakes: int) -> None:
    hull = made_hulls.tape()
    mm = parse_length(girth, "ft-in-8ths")
    lines = replace(hull.lines, girth_mm=hull.lines.girth_mm * mm / hull.lines.girth_mm.max())
    hull = replace(hull, lines=lines, frames=lines)
    rules = LiningRules(greatest_width_mm=parse_length(width, "in"))
    assert count_of(hull, rules).by_girth == strakes


def test_width_is_girth_over_strakes_where_the_girth_does_not_change() -> None:
    hull = made_hulls.barrel()
    even = LiningRules(garboard=1.0, first_broad=1.0, second_broad=1.0, hollow_mm=50.0)
    lining = line_out(hull, even, [Wish("strakes", 11)])
    assert np.nanmax(np.abs(lining.width_mm - np.pi * 1000 / 2 / 11)) < 0.2
