"""Frames' lines on flat planks: the frames' planes as they cross, leaning as they do."""

from __future__ import annotations

import numpy as np
import pytest

from made_hulls import barrel, launch
from made_planking import even_lining, stepped_layout, ways_of
from made_shapes import NO_BUTTS, cone, with_seams
from ribband.drawing.patterns.flat import laid
from ribband.planks import get_shapes


def test_on_a_barrel_they_are_straight_and_square_to_its_axis() -> None:
    hull = barrel(radius=1000.0, length=12000.0)
    slope = 0.5 * np.pi / 2 * 1000.0 / 12000.0
    lining, ways = with_seams(hull, lambda u: np.array([[0.1], [0.2], [0.3]]) + 0.5 * u, 2)
    shape = get_shapes(hull, lining, ways, NO_BUTTS).shapes[0]
    way = shape.frame_lines[3:-3, -1] - shape.frame_lines[3:-3, 0]
    lean = np.arctan2(way[:, 0], way[:, 1])
    assert np.abs(lean) == pytest.approx(np.arctan(slope), abs=1e-4)
    middle = shape.frame_lines[3:-3, 2]
    ends = (shape.frame_lines[3:-3, 0] + shape.frame_lines[3:-3, -1]) / 2
    assert middle == pytest.approx(ends, abs=0.01)


def test_on_a_cone_they_are_arcs_about_its_apex() -> None:
    hull = cone()
    sine = 1000.0 / np.hypot(12000.0, 1000.0)
    lining, ways = with_seams(hull, lambda u: np.array([[0.2], [0.5]]) + 0 * u, 1)
    (shape,) = get_shapes(hull, lining, ways, NO_BUTTS).shapes
    for name, line in zip(shape.frames[2:-2], shape.frame_lines[2:-2], strict=True):
        x = hull.frames.x_mm[hull.frames.names.index(name)]
        away = (500.0 + 1000.0 * x / 12000.0) / sine
        chord, middle = line[-1] - line[0], line[2] - (line[0] + line[-1]) / 2
        bow = abs(float(middle @ np.array([-chord[1], chord[0]]) / np.hypot(*chord)))
        half = np.pi / 2 * 0.3 * sine / 2
        assert np.hypot(*chord) == pytest.approx(2 * away * np.sin(half), rel=1e-4)
        assert bow == pytest.approx(away * (1 - np.cos(half)), abs=0.02)


def test_they_end_where_the_frames_cross_the_seams() -> None:
    """Along each edge, from frame to frame, as far as the seam runs on the hull."""
    hull = launch()
    lining = even_lining(hull, 16)
    ways = ways_of(hull, lining)
    u = np.linspace(0, 1, 20001)
    for shape in get_shapes(hull, lining, ways, stepped_layout(ways)).shapes[3::9]:
        x = [hull.frames.x_mm[hull.frames.names.index(f)] for f in shape.frames]
        for end, edge, row in ((0, shape.lower, shape.strake), (-1, shape.upper, shape.strake + 1)):
            seam = hull.surface.point(u, row / 16)
            on_hull = np.interp(x, seam[:, 0], run_of(seam))
            flat = [along(edge, line[end]) for line in shape.frame_lines]
            assert np.diff(flat)[1:-1] == pytest.approx(np.diff(on_hull)[1:-1], abs=0.1)


def run_of(points):
    return np.concatenate([[0.0], np.linalg.norm(np.diff(points, axis=0), axis=1).cumsum()])


def along(edge, point) -> float:
    """How far along an edge a point on it lies."""
    return float(np.interp(point[0], edge[:, 0], run_of(edge)))


def test_they_meet_the_batten_where_the_figure_says() -> None:
    hull = launch()
    lining = even_lining(hull, 16)
    ways = ways_of(hull, lining)
    leans = []
    for shape in get_shapes(hull, lining, ways, stepped_layout(ways)).shapes:
        for at, line in zip(shape.along_mm[1:-1], shape.frame_lines[1:-1], strict=True):
            if line[0, 1] < 0 < line[-1, 1]:
                assert np.interp(0.0, line[:, 1], line[:, 0]) == pytest.approx(at, abs=0.2)
                leans.append(abs(line[-1, 0] - line[0, 0]))
    assert max(leans) > 10.0  # they do lean


@pytest.mark.parametrize("side", ["port", "starboard"])
def test_the_drawing_has_them(side: str) -> None:
    hull = barrel(radius=1000.0, length=12000.0)
    lining, ways = with_seams(hull, lambda u: np.array([[0.1], [0.2], [0.3]]) + 0.5 * u, 2)
    shape = get_shapes(hull, lining, ways, NO_BUTTS).shapes[0]
    hand = 1 if side == "port" else -1
    assert laid(shape, side).lines * [hand, 1] == pytest.approx(shape.frame_lines)
