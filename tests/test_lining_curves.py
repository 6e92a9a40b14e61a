"""The seams' smooth curves: marks on frames and planks' edges are taken from the same ones."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from made_planking import stepped_layout, ways_of
from ribband.hull import fit
from ribband.hull.model import Hull
from ribband.lining import LiningRules, Wish, line_out
from ribband.lining.curves import curves_through
from ribband.lining.model import Lining
from ribband.planks import ShapeRules, check_shapes, get_shapes
from ribband.planks.shape_model import Shapes
from ribband.survey import read_forms, read_survey

HERON = Path(str(files("ribband.data") / "examples" / "marl_heron"))


@pytest.fixture(scope="module")
def heron() -> tuple[Hull, Lining]:
    """Marl Heron: her forefoot is a sweep, where seams rise ever steeper towards the stem."""
    hull = fit(read_survey(read_forms(HERON)))
    return hull, line_out(hull, LiningRules(), [Wish("strakes", 16)])


@pytest.fixture(scope="module")
def shaped(heron: tuple[Hull, Lining]):
    hull, lining = heron
    ways = ways_of(hull, lining)
    layout = stepped_layout(ways)
    return ways, layout, get_shapes(hull, lining, ways, layout)


def long(line: np.ndarray) -> float:
    return float(np.linalg.norm(np.diff(line, axis=0), axis=1).sum())


def test_a_cubic_seam_is_kept_between_lines_and_its_slope_told() -> None:
    u = np.linspace(0.0, 1.0, 9)
    curves = curves_through(u, np.array([u**3, 1.0 - u**2]), {}, None)
    at = np.linspace(0.0, 1.0, 37)
    v, slope = curves.with_slope(np.zeros(37, int), at)
    np.testing.assert_allclose(v, at**3, atol=1e-12)
    np.testing.assert_allclose(slope, 3 * at**2, atol=1e-11)


def test_a_stealers_seam_hangs_on_its_own_lines_alone() -> None:
    u = np.linspace(0.0, 1.0, 11)
    v = np.where(u < 0.45, u**2, 0.9)  # above the nib it lies on another seam
    curves = curves_through(u, v[None], {0: (0, 4)}, None)
    at = np.linspace(0.0, 0.4, 20)
    np.testing.assert_allclose(curves.at(np.zeros(20, int), at), at**2, atol=1e-12)


def test_a_plank_is_as_wide_along_every_frame_as_the_marks_set_off_on_it(heron, shaped) -> None:
    _, lining = heron
    _, _, shapes = shaped
    girth = lining.upper_girth_mm - lining.lower_girth_mm
    pieces: dict[tuple[int, str], list[float]] = {}
    for shape in shapes.shapes:
        for frame, line in zip(shape.frames, shape.frame_lines, strict=True):
            pieces.setdefault((shape.strake, frame), []).append(long(line))
    off = [
        parts[0] - girth[strake, lining.columns.index(frame)]
        for (strake, frame), parts in pieces.items()
        if len(parts) == 1  # a butt does not part it
    ]
    assert len(off) > 400
    assert np.percentile(np.abs(off), 99) < 0.05
    assert np.abs(off).max() < 0.6  # the garboard's hood end, between two lines of its grid


def test_a_plank_that_misses_its_marks_is_told(heron, shaped) -> None:
    hull, lining = heron
    ways, layout, shapes = shaped
    assert "P043" not in told(hull, lining, ways, layout, shapes)
    column = lining.columns.index(shapes.shapes[8].frames[3])
    moved = lining.upper_girth_mm.copy()
    moved[shapes.shapes[8].strake, column] += 6.0
    other = replace(lining, upper_girth_mm=moved)
    assert "P043" in told(hull, other, ways, layout, shapes)


def told(hull: Hull, lining: Lining, ways, layout, shapes: Shapes) -> set[str]:
    return {f.code for f in check_shapes(hull, lining, ways, layout, ShapeRules(), shapes)}
