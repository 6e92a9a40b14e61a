"""Outlines in arcs: read back from DXF by another library, against the dense outline."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import ezdxf
import numpy as np
import pytest
from ezdxf.path import make_path
from shapely import LineString, Polygon, distance, points

from made_strips import cone_sector, cylinder_strip, many, plank_for
from ribband.drawing import dxf, patterns
from ribband.drawing.bench import Bench
from ribband.drawing.patterns.folder import ARCS_MM
from ribband.numerics.arcs import arcs_round, off_arc
from ribband.planks.shape_model import Shape

BENCH = Bench("Marl Heron", "mm", "Ebbmere Slip", "heron", "1936-04-02", "B")
WITHIN = 0.1
SHAPES = {
    "sector": cone_sector("3-1", 12_000.0, 200.0, 60_000.0),
    "strip": cylinder_strip(),
    "to a point": cylinder_strip("12-1", 5_200.0, 150.0, 1_200.0, 0.3, taper=0.97),
    "short": cylinder_strip("4-3", 700.0, 140.0, space=500.0),
}


def rounded_fore(shape: Shape, radius: float) -> Shape:
    """Round the fore end off, as along a curved rabbet: nine points on a circle."""
    low, high = shape.fore[0], shape.fore[-1]
    half = np.hypot(*(high - low)) / 2
    turn = np.linspace(-1.0, 1.0, len(shape.fore)) * math.asin(half / radius)
    off = radius * (np.cos(turn) - math.cos(turn[0]))
    along = (radius * np.sin(turn) + half) / (2 * half)
    way = (high - low) / (2 * half)
    round_ = low + along[:, None] * (high - low) + off[:, None] * np.array([-way[1], way[0]])
    return replace(shape, fore=round_)


SHAPES["a round hood end"] = rounded_fore(cylinder_strip("4-3", 900.0, 300.0), 786.0)


def read_back(path: Path) -> tuple[int, np.ndarray]:
    """How many arcs the outline has, and the outline flattened to a thousandth of a millimetre."""
    document = ezdxf.readfile(path)
    assert not document.audit().errors
    (outline,) = document.modelspace().query('LWPOLYLINE[layer=="OUTLINE"]')
    assert outline.closed
    flat = np.array([(v.x, v.y) for v in make_path(outline).flattening(0.001)])
    return len(outline), flat


def apart(a: np.ndarray, b: np.ndarray) -> float:
    """The greatest distance of either closed outline's points from the other, mm."""
    rings = [LineString(np.concatenate([ring, ring[:1]])) for ring in (a, b)]
    there = distance(points(a), rings[1]).max()
    return float(max(there, distance(points(b), rings[0]).max()))


@pytest.mark.parametrize("side", ["port", "starboard"])
@pytest.mark.parametrize("name", SHAPES)
def test_arcs_lie_within_a_tenth_of_the_outline(name: str, side: str, tmp_path: Path) -> None:
    shape = SHAPES[name]
    sheet = patterns.full_size(shape, plank_for(shape, side), BENCH)
    (ring,) = (np.array(i.points) for i in sheet.items if i.layer == "outline")
    count, flat = read_back(dxf.write(sheet, tmp_path / "a.dxf", ARCS_MM))
    assert apart(ring, flat) < WITHIN - 0.02  # the outline itself is within 0.02 of the fair edge
    assert count < len(ring) / 2
    off = abs(Polygon(flat).area - Polygon(ring).area)
    assert off < ARCS_MM * LineString(ring).length
    assert LineString(flat).is_simple or Polygon(flat).is_valid


def test_planks_of_a_hull_in_arcs_from_the_folder(tmp_path: Path) -> None:
    few = many(4)
    arcs = patterns.write_folder(few, BENCH, tmp_path, ("arcs",))
    chords = patterns.write_folder(few, BENCH, tmp_path, ("dxf",))
    assert [p.name for p in arcs] == [p.name.replace(".dxf", " arcs.dxf") for p in chords]
    for one, other in zip(arcs, chords, strict=True):
        assert apart(read_back(one)[1], read_back(other)[1]) < WITHIN - 0.02


def test_a_nibs_corner_stays_where_it_is() -> None:
    edge = np.linspace(0, 1000, 101)
    low = np.stack([edge, 2e-5 * (edge - 500) ** 2], axis=1)
    step = np.array([[1000.0, 60.0], [700.0, 60.0], [700.0, 90.0], [0.0, 90.0]])
    ring = np.concatenate([low, step])
    found = arcs_round(ring, 0.05, math.radians(3))
    for corner in (low[0], low[-1], *step):
        assert np.abs(found[:, :2] - corner).sum(axis=1).min() < 1e-9
    straight = found[np.all(np.isin(found[:, :2], step), axis=1)]
    assert np.all(straight[:, 2] == 0)


@pytest.mark.parametrize("way", [1.0, -1.0])
def test_a_circle_is_two_arcs_and_its_bulge_is_known(way: float) -> None:
    turn = way * np.linspace(0, 2 * np.pi, 720, endpoint=False)
    ring = 500.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    found = arcs_round(ring, 0.01, 0.2)
    assert len(found) <= 3
    assert np.all(np.sign(found[:2, 2]) == way)  # what is left over may be one chord
    quarter = math.tan(math.pi / 8)  # a bulge is the tangent of a quarter of the arc's angle
    here = off_arc(ring[:181], np.array([500.0, 0]), np.array([0, way * 500.0]), way * quarter)
    assert here.max() < 1e-9


def test_a_tighter_tolerance_takes_more_arcs() -> None:
    x = np.linspace(0, 3000, 601)
    ring = np.concatenate([np.stack([x, 40 * np.sin(x / 600)], axis=1), [[3000, 300], [0, 300]]])
    counts = [len(arcs_round(ring, within, 0.2)) for within in (0.5, 0.1, 0.02)]
    assert counts[0] < counts[1] < counts[2] < 200
