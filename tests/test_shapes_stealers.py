"""Flat shapes where a stealer is let in: its nib, and the notch that takes it."""

from __future__ import annotations

import numpy as np
import pytest

from made_hulls import launch
from made_planking import ways_of
from made_shapes import NO_BUTTS, splined
from ribband.lining import LiningRules, line_out
from ribband.lining.model import Wish
from ribband.planks import ShapeRules, check_shapes, get_shapes


def run(edge) -> float:
    return float(np.linalg.norm(np.diff(edge, axis=0), axis=1).sum())


@pytest.fixture(scope="module", params=[("30", "stern"), ("14", "stem")])
def job(request):
    hull = splined(launch())
    lining = line_out(hull, LiningRules(), (Wish("stealer", 0.0, "6", *request.param),))
    return hull, lining, ways_of(hull, lining)


def test_the_notch_takes_the_nib(job) -> None:
    hull, lining, ways = job
    shapes = {s.name: s for s in get_shapes(hull, lining, ways, NO_BUTTS).shapes}
    stealer, above = shapes["6s-1"], shapes["7-1"]
    step = np.diff(above.lower, axis=0)
    k = int(np.abs(step[:, 1]).argmax())
    nib = stealer.fore if lining.strakes[6].first != "stem" else stealer.aft
    wide = float(np.linalg.norm(nib[-1] - nib[0]))
    assert 30.0 < wide < 80.0
    assert np.linalg.norm(step[k]) == pytest.approx(wide, abs=0.1)
    assert abs(step[k, 0]) < 0.1 * wide
    parts = above.lower[k + 1 :], above.lower[: k + 1]
    beside = parts[0] if lining.strakes[6].first != "stem" else parts[1]
    assert run(beside) == pytest.approx(run(stealer.upper), abs=0.5)
    assert (
        check_shapes(hull, lining, ways, NO_BUTTS, ShapeRules(), get_shapes(*job, NO_BUTTS)) == ()
    )


def test_batten_figures_follow_the_notch(job) -> None:
    hull, lining, ways = job
    above = next(s for s in get_shapes(hull, lining, ways, NO_BUTTS).shapes if s.name == "7-1")
    frames = [f for f in above.frames if f != lining.strakes[6].nib]
    at = [above.frames.index(f) for f in frames]
    column = [lining.columns.index(f) for f in frames]
    wide = (above.upper_mm - above.lower_mm)[at]
    assert wide[2:-2] == pytest.approx(lining.width_mm[7, column][2:-2], rel=0.03, abs=2.0)
