"""Rings on cells: what holds a ring and what it holds, looked over with another library."""

from __future__ import annotations

import numpy as np
from shapely import Polygon
from shapely.ops import unary_union

import made_timber
from ribband.numerics.profiles import around, arounds, grown, open_ring, turned, within


def test_profiles_hold_the_ring_and_are_held() -> None:
    ring = open_ring(made_timber.plank_outline(3000, 150, 80, 0.4, 0.1, 10.0))
    for turn in (-0.05, 0.0, 0.03, np.pi + 0.02):
        for cells, kept in ((around, True), (within, False)):
            lies = turned(grown(ring, 4.0), turn)
            profile = cells(lies, 50.0)
            x = profile.left + 50.0 * np.arange(len(profile.low) + 1)
            parts = [
                Polygon([(a, lo[0]), (b, lo[1]), (b, hi[1]), (a, hi[0])])
                for a, b, lo, hi in zip(x[:-1], x[1:], profile.low, profile.high, strict=True)
            ]
            whole = Polygon(lies).buffer(1e-3)
            if kept:
                assert unary_union([p.buffer(1e-3) for p in parts]).contains(Polygon(lies))
            else:
                assert all(whole.contains(part) for part in parts[1:-1])
    assert Polygon(grown(ring, 4.0)).buffer(1e-6).contains(Polygon(ring).buffer(4.0, quad_segs=32))


def test_many_profiles_at_once_are_those_of_each() -> None:
    ring = open_ring(made_timber.plank_outline(3000, 150, 80, 0.4, 0.1, 10.0))
    rings = np.stack([turned(grown(ring, 4.0), turn) for turn in (-0.05, 0.0, 0.03, np.pi)])
    for own, one in zip(arounds(rings, 50.0), rings, strict=True):
        known = around(one, 50.0)
        assert (own.left, own.right) == (known.left, known.right)
        assert np.array_equal(own.low, known.low)
        assert np.array_equal(own.high, known.high)
