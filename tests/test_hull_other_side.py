"""A station out as a whole on one side, and what the other side's readings say of it."""

from __future__ import annotations

import numpy as np
import pytest

from ribband.hull.model import Doubt
from ribband.hull.other_side import borne_out_over_there
from ribband.survey.model import Cell, Reading


def section(side: str, by: float = 0.0, station: str = "1") -> list[Reading]:
    """Give a slanting section of points in space, each side's at heights of its own."""
    up = np.arange(0.0, 900.0, 100.0) + (13.0 if side == "port" else 0.0)
    return [
        Reading(f"{side} {n}", station, "", "surface", side, 300.0, 60.0 + 0.2 * z + by, float(z),
                "xyz", 0.0, Cell("points.csv", n, "y"), "")
        for n, z in enumerate(up)
    ]  # fmt: skip


def doubt(by: float, side: str = "starboard") -> Doubt:
    key, line = f"half-breadths of station 1 {side}", f"half-breadths to {side}, all"
    return Doubt(key, "1", line, "", 0.0, by, by, "", "", "points.csv", 2, "y", 300.0)


@pytest.mark.parametrize(
    ("by", "others", "borne"),
    [
        (0.0, (), {"1"}),  # both sides lie on one section
        (2.0, (), {"1"}),
        (-15.0, (), set()),  # one side was read off another staff
        (0.0, (doubt(-14.0, "port"),), set()),  # it stands out on both
    ],
)
def test_a_station_is_borne_out_where_the_sides_agree_and_one_alone_stands_out(
    by: float, others: tuple[Doubt, ...], borne: set[str]
) -> None:
    own, over = section("starboard", by), section("port")
    assert borne_out_over_there([doubt(-15.0)], others, own, over) == borne


def test_what_was_read_on_one_side_alone_or_at_another_station_says_nothing() -> None:
    own = section("starboard")
    assert borne_out_over_there([doubt(-15.0)], (), own, []) == set()
    assert borne_out_over_there([doubt(-15.0)], (), own, section("port", station="2")) == set()
