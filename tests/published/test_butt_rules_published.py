"""Each published set of butt rules, from its text: a layout just allowed and one just broken.

Sources beside each test; keys are those of the bibliography. Lengths are entered as printed.
Two strakes (or five, for passing strakes) lie side by side on frames one or two feet apart.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ribband.butts import Butt, ButtRules, Layout, Ways, check, check_sides, rule_sets, shown
from ribband.sources import sources
from ribband.units import parse_length


def feet(text: str) -> float:
    return parse_length(text, "ft")


def side(strakes: int, frames: int, space_ft: str) -> Ways:
    """Strakes of equal length on even frames; the ends lie on the first and last frame."""
    x = np.arange(frames) * feet(space_ft)
    landings = np.interp(np.arange(2 * frames - 1) / 2, np.arange(frames), x)
    along = np.repeat(landings[None], strakes, 0)

    rank = np.repeat(np.arange(strakes)[:, None], 2 * frames - 1, 1)
    names = tuple(str(i + 1) for i in range(strakes))
    marks = tuple(str(i + 1) for i in range(frames))
    return Ways(names, marks, x, along, rank, np.full(strakes, x[-1]), np.ones_like(rank, bool))


def codes(ways: Ways, rules: ButtRules, *at: tuple[int, int]) -> set[str]:
    """Check butts given as (strake from 0, landing); only faults."""
    layout = Layout(tuple(Butt(*b) for b in at), True, (), 0.0, 0)
    free = replace(rules, greatest_plank_mm=30_000.0)
    return {f.code for f in check(ways, free, layout) if f.severity == "fault"}


def frame(number: int) -> int:
    return 2 * (number - 1)


def bay(aft_of: int) -> int:
    return 2 * (aft_of - 1) + 1


def test_house_rule() -> None:
    # common practice: four frame spaces in adjacent strakes, three passing strakes on a frame
    ways, rules = side(5, 30, "1.25"), rule_sets()["house"]
    assert not codes(ways, rules, (0, frame(12)), (1, frame(16)))
    assert codes(ways, rules, (0, frame(12)), (1, frame(15))) == {"B001"}
    assert not codes(ways, rules, (0, frame(12)), (4, frame(12)))
    assert codes(ways, rules, (0, frame(12)), (3, frame(12))) == {"B003"}


def test_army_in_frame_spaces() -> None:
    # US Army TB 55-1900-201-45/1, s. 2-12, 2-13: at least three frame spaces in adjacent strakes,
    # three solid strakes between butts in one bay; six frame spaces the shortest plank, five feet
    # the hard lower limit; butts between frames on blocks
    ways, rules = side(5, 40, "1"), rule_sets()["army-spaces"]
    assert not codes(ways, rules, (0, bay(12)), (1, bay(15)))
    assert codes(ways, rules, (0, bay(12)), (1, bay(14))) == {"B001"}
    assert not codes(ways, rules, (0, bay(12)), (4, bay(12)))
    assert codes(ways, rules, (0, bay(12)), (3, bay(12))) == {"B003"}
    assert not codes(ways, rules, (0, bay(12)), (0, bay(18)))
    assert codes(ways, rules, (0, bay(12)), (0, bay(17))) == {"B011"}
    close = side(2, 60, "0.75")  # six spaces of nine inches are 4 ft 6 in: too short all the same
    assert codes(close, rules, (0, bay(12)), (0, bay(18))) == {"B004"}
    assert not codes(close, rules, (0, bay(12)), (0, bay(19)))


def test_army_in_feet() -> None:
    # the same text's alternative: five feet between butts in adjacent strakes
    ways, rules = side(5, 40, "1"), rule_sets()["army-feet"]
    assert not codes(ways, rules, (0, bay(12)), (1, bay(17)))
    assert codes(ways, rules, (0, bay(12)), (1, bay(16))) == {"B001"}


def test_lake_underwriters_1866() -> None:
    # Board of Lake Underwriters, Rules 1866, Outside Plank: no butts nearer than 5 ft unless a
    # strake between, then 4 ft; no butts on the same timber unless three strakes between
    ways, rules = side(5, 40, "1"), rule_sets()["lake-1866"]
    assert not codes(ways, rules, (0, frame(12)), (1, frame(17)))
    assert codes(ways, rules, (0, frame(12)), (1, frame(16))) == {"B001"}
    assert not codes(ways, rules, (0, frame(12)), (2, frame(16)))
    assert codes(ways, rules, (0, frame(12)), (2, frame(15))) == {"B002"}
    assert not codes(ways, rules, (0, frame(12)), (4, frame(12)))
    assert codes(ways, rules, (0, frame(12)), (3, frame(12))) == {"B003"}


def test_revenue_cutter_1838() -> None:
    # Chatterton 1912, app. V: "Plank to work 16 feet long with 6 feet shifts, and two strakes
    # between each Butt"
    ways, rules = side(5, 50, "1"), rule_sets()["revenue-cutter-1838"]
    assert not codes(ways, rules, (0, frame(18)), (1, frame(24)))
    assert codes(ways, rules, (0, frame(18)), (1, frame(23))) == {"B001"}
    assert not codes(ways, rules, (0, frame(18)), (3, frame(18)))
    assert codes(ways, rules, (0, frame(18)), (2, frame(18))) == {"B003"}
    assert not codes(ways, rules, (0, frame(18)), (0, frame(34)))
    assert codes(ways, rules, (0, frame(18)), (0, frame(33))) == {"B004"}


def test_lloyds_composite_1891() -> None:
    # Lloyd's 1891, composite, s. 7: garboard butts 4 ft 6 in or more from the opposite garboard's
    ways, rules = side(2, 40, "0.75"), rule_sets()["lloyds-composite-1891"]
    port = Layout((Butt(0, frame(12)),), True, (), 0.0, 0)
    just = Layout((Butt(0, frame(18)),), True, (), 0.0, 0)
    near = Layout((Butt(0, frame(17)),), True, (), 0.0, 0)
    assert check_sides(ways, rules, port, just) == ()
    assert [f.code for f in check_sides(ways, rules, port, near)] == ["B012"]
    assert rules.sides == "staggered"


def test_small_craft() -> None:
    # a builder's page of 2017, read second-hand: two frame spaces or more in adjacent planks, two
    # planks or more between butt blocks in one bay
    ways, rules = side(5, 30, "1"), rule_sets()["small-craft"]
    assert not codes(ways, rules, (0, bay(12)), (1, bay(14)))
    assert codes(ways, rules, (0, bay(12)), (1, bay(13))) == {"B001"}
    assert not codes(ways, rules, (0, bay(12)), (3, bay(12)))
    assert codes(ways, rules, (0, bay(12)), (2, bay(12))) == {"B003"}


@pytest.mark.parametrize("name", rule_sets())
def test_every_number_has_a_source_in_the_bibliography(name: str) -> None:
    known = {s.key for s in sources()}
    assert {r.source for r in shown(rule_sets()[name])} <= known
