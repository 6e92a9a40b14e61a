"""Sections that turn further between two readings than they show: told where, and only there."""

from __future__ import annotations

import re
from functools import lru_cache

import numpy as np
import pytest

from made_hulls import by_girth
from made_odd import ODD, SHARP
from made_surveys import surveyed
from ribband.findings import Finding
from ribband.hull import Hull, fit
from ribband.hull.between import span_turns


@lru_cache
def hull_of(name: str, points: int) -> Hull:
    shape, x = {**ODD, **SHARP}[name]
    return fit(surveyed(24, points, seed=3, shape=by_girth(shape), x=x)[0])


def told(hull: Hull) -> list[Finding]:
    return [f for f in hull.findings if f.code == "H024"]


def stations(found: list[Finding]) -> set[int]:
    return {int(name) for f in found for name in re.findall(r"\d+", f.where)}


def test_floors_flat_to_the_very_stem_are_told_of_at_both_ends() -> None:
    """Only the station beside it tells that the floor is flat where the rabbet leaves off."""
    found = told(hull_of("flat to the stem", 16))
    assert stations(found) <= {2, 3, 4, 21, 22, 23}
    assert {3, 23} <= stations(found)
    for one in found:
        assert "between the rabbet and line 1" in one.says or "and line 2" in one.says
        assert "closer together" in one.why


def test_a_hard_bilge_between_two_points_is_told_of_where_it_is() -> None:
    found = told(hull_of("hard bilge", 8))
    assert {8, 9, 10, 13, 14} <= stations(found)
    assert all("rabbet" not in f.says and "sheer" not in f.says for f in found)


@pytest.mark.parametrize(("name", "points"), [("full", 16), ("wineglass", 8)])
def test_round_and_hollow_sections_are_not_told_of(name: str, points: int) -> None:
    assert told(hull_of(name, points)) == []


def test_a_corner_is_in_the_span_it_is_in() -> None:
    """Straight, a right angle in the middle of the fourth span, and straight again."""
    floor = [(100.0 * k, 0.0) for k in range(4)]
    side = [(350.0, 50.0 + 100.0 * k) for k in range(4)]
    turn, error = span_turns(np.array(floor + side), 0.0)
    assert np.degrees(turn[3]) == pytest.approx(90.0, abs=0.01)
    assert np.abs(np.degrees(np.delete(turn, 3))).max() < 30.0
    assert (error == 0).all()


def test_what_a_turn_may_be_out_is_what_readings_scatter_by() -> None:
    """Against two thousand draws: twice the error told is between 1.5 and 3 times the true one."""
    chance = np.random.default_rng(1)
    around = np.radians(np.arange(0.0, 91.0, 10.0))
    points = 1000 * np.stack([np.sin(around), -np.cos(around)], axis=1)
    drawn = [
        span_turns(points + 3.0 * chance.standard_normal(points.shape), 3.0)[0] for _ in range(2000)
    ]
    ratio = span_turns(points, 3.0)[1] / np.std(drawn, axis=0)
    assert ratio.min() > 1.5
    assert ratio.max() < 3.0


def unjudged(hull: Hull) -> list[Finding]:
    return [f for f in hull.findings if f.code == "H025"]


def test_readings_no_fellow_can_judge_are_counted_and_their_stations_named() -> None:
    shape, x = SHARP["flat to the stem"]
    few = fit(surveyed(12, 10, 0.3, 3, shape=by_girth(shape), x=x)[0])
    (found,) = unjudged(few)
    alone, every = map(int, re.findall(r"(\d+) of (\d+) readings", found.says)[0])
    assert every / 10 < alone < every
    assert len(stations([found])) > 3
    assert unjudged(hull_of("full", 16)) == []
