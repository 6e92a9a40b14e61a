"""Bevels do not hang on the vessel's size: neighbours are found at a dinghy's and at a ship's."""

from __future__ import annotations

import numpy as np
import pytest

from made_hulls import by_girth, hull_of
from made_odd import ODD
from made_planking import even_lining, stepped_layout, ways_of
from ribband.planks import ShapeRules, get_shapes
from ribband.planks.bevels import neighbours
from ribband.planks.shape_model import Shape


def planks(size: float) -> tuple[Shape, ...]:
    """Planks of the full-bodied hull of 14 m, made so many times as large."""
    shape, x = ODD["full"]
    even = by_girth(shape)
    hull = hull_of(lambda u, v: size * even(u, v), size * np.linspace(*x, 24))
    lining = even_lining(hull, 8)
    ways = ways_of(hull, lining)
    rules = ShapeRules(opening_part=0.0)
    return get_shapes(hull, lining, ways, stepped_layout(ways), rules).shapes


@pytest.mark.parametrize("size", [0.5, 4.0])
def test_bevels_of_a_hull_are_those_of_its_model(size: float) -> None:
    for one, other in zip(planks(1.0), planks(size), strict=True):
        _, mine, theirs = np.intersect1d(one.frames, other.frames, return_indices=True)
        assert len(mine) >= len(one.frames) - 1  # a frame may touch an end within a millimetre
        for edge in ("lower_fit_rad", "upper_fit_rad"):
            wanted = getattr(one, edge)[mine]
            assert getattr(other, edge)[theirs] == pytest.approx(wanted, abs=1e-4)


@pytest.mark.parametrize("size", [0.2, 1.0, 5.0])  # a dinghy, the launch, a ship
def test_neighbours_are_told_by_the_planks_own_width(size: float) -> None:
    """Of three strakes the middle one, as wide as half of the others, is not at the second frame.

    Elsewhere seams are a tenth of a plank's width apart, as where a frame runs out over an end.
    """
    frame, rank = np.array([0, 0, 0, 1, 1]), np.array([0, 1, 2, 0, 2])
    low = size * np.array([0.0, 110.0, 170.0, 0.0, 160.0])
    high = size * np.array([100.0, 160.0, 270.0, 100.0, 260.0])
    lower, upper = (np.outer(z, [0.0, 0.6, 0.8]) for z in (low, high))
    assert neighbours(rank, frame, upper, lower).tolist() == [1, 2, -1, -1, -1]
    assert neighbours(-rank, frame, lower, upper).tolist() == [-1, 0, 1, -1, -1]
