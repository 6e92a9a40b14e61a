"""Nibbed scarfs: what the bench is told, what is checked, and two bodies that fill the joint."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import trimesh

from made_hulls import barrel
from made_shapes import with_seams
from ribband.butts.model import Butt, Layout
from ribband.drawing.bench import Bench
from ribband.drawing.model3d import bodies
from ribband.drawing.patterns import full_size
from ribband.drawing.patterns.scarfs import scarfs_said
from ribband.drawing.sheet import Text
from ribband.drawing.ticket import ticket
from ribband.errors import InputError
from ribband.planks import ShapeRules, check_shapes, get_shapes, list_planks, scarf_of
from ribband.rulebook import with_values

THICK, JOINT, PART = 38.0, 20, 0.25
PLAIN = ShapeRules(join="scarf", scarf_slope=10.0)
NIBBED = replace(PLAIN, nib_part=PART)


@pytest.fixture(scope="module")
def boat():
    """Two strakes along a cylinder; the lower is of two planks."""
    hull = barrel(radius=1000.0, length=12000.0)
    lining, ways = with_seams(hull, lambda u: np.array([[0.1], [0.2], [0.3]]) + 0 * u, 2)
    layout = Layout((Butt(0, 2 * JOINT),), feasible=True, goals=(), seconds=0.0, seed=0)
    return hull, lining, ways, layout


@pytest.fixture(scope="module")
def shapes(boat):
    return get_shapes(*boat, NIBBED)


@pytest.fixture(scope="module")
def listed(boat):
    return list_planks(*boat, scarf_mm=scarf_of(boat[0], NIBBED))


def test_nibs_leave_the_flat_outline_as_it_is(boat, shapes) -> None:
    for one, other in zip(shapes.shapes, get_shapes(*boat, PLAIN).shapes, strict=True):
        assert np.array_equal(one.lower, other.lower)
        assert one.blank_length_mm == other.blank_length_mm
        scarfed = bool(one.fore_scarf_mm + one.aft_scarf_mm)
        assert (one.nib_mm, other.nib_mm) == (PART * THICK * scarfed, 0.0)


def test_the_check_measures_the_nibs(boat, shapes) -> None:
    assert not [f for f in check_shapes(*boat, NIBBED, shapes) if f.code == "P047"]
    assert [f.code for f in check_shapes(*boat, PLAIN, shapes)].count("P047") == 1
    assert ShapeRules().nib_part == 0.0
    with pytest.raises(InputError, match="nib_part"):
        with_values(PLAIN, {"nib_part": 0.5})


def test_pattern_ticket_and_findings_say_the_nib(boat, shapes, listed) -> None:
    shape, plank = shapes.shapes[0], next(p for p in listed.planks if p.side == "port")
    bench = Bench("Marl Heron")
    (said,) = scarfs_said(shape, "mm")
    assert "cut a step 9.5 mm deep" in said or "cut a step 10 mm deep" in said
    assert "to nothing" not in said
    texts = [i.text for i in full_size(shape, plank, bench).items if isinstance(i, Text)]
    assert any("inner face off, nibbed" in t for t in texts)
    (page,) = ticket(shape, plank, bench)
    words = " ".join(i.text for i in page.paper if isinstance(i, Text))
    assert "nibs" in words
    (found,) = [f for f in shapes.findings if f.code == "P032"]
    assert "nibbed" in found.says


def port(made):
    return [trimesh.Trimesh(b.points, b.triangles, process=False) for b in made if b.side == "port"]


@pytest.mark.parametrize("part", [0.1, PART])
def test_two_nibbed_bodies_fill_the_joint(boat, listed, part) -> None:
    """Closed, of one thickness together, the nib as thick as was asked for, the step as deep."""
    solids = port(bodies(*boat[:3], listed, nib_part=part))
    plain = port(bodies(*boat[:3], listed))
    for solid in solids:
        assert solid.is_watertight
        assert solid.is_winding_consistent
        assert solid.volume > 0
    fore, aft = solids[:2]
    whole = plain[0].volume + plain[1].volume
    # between the nib and the step is left what a step takes up, 0.02 mm
    assert fore.volume + aft.volume == pytest.approx(whole, rel=1e-5)
    # what a plank keeps in its nib it loses in its step, but for the round of the planking
    assert fore.volume == pytest.approx(plain[0].volume, rel=1e-4)
    for solid, tip, step in ((fore, 1, -1), (aft, -1, 1)):
        x = solid.vertices[:, 0]
        end = x.max() if tip > 0 else x.min()
        depth = np.hypot(*solid.vertices[np.abs(x - end) < 0.001][:, 1:].T - [[0.0], [1000.0]])
        assert np.ptp(depth) == pytest.approx(part * THICK, abs=0.05)
        root = end - tip * scarf_of(boat[0], NIBBED)
        on = np.hypot(*solid.vertices[np.abs(x - root) < 0.001][:, 1:].T - [[0.0], [1000.0]])
        assert np.ptp(on) == pytest.approx((1 - part) * THICK, abs=0.05), step
