"""A station close by the corner of stem and keel must not spoil the rabbet."""

from __future__ import annotations

import numpy as np
import pytest

import made_hulls
import made_surveys
from ribband import hull


@pytest.mark.parametrize("frames", [38, 41, 44, 47])
def test_girths_hold_wherever_the_stations_fall(frames: int) -> None:
    survey, _ = made_surveys.surveyed(frames=frames, noise=0.0)
    fitted = hull.fit(survey)
    shape = made_hulls.by_girth(made_hulls.launch_shape())
    x = np.array([frame.x_mm for frame in survey.frames])
    true = dict(
        zip(
            (f.name for f in survey.frames),
            made_hulls.hull_of(shape, x, 21).frames.girth_mm,
            strict=True,
        )
    )
    off = [g - true[n] for n, g in zip(fitted.frames.names, fitted.frames.girth_mm, strict=True)]
    assert np.abs(off).max() < 2.0
    assert not fitted.doubts
