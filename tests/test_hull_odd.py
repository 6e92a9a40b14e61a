"""Strange but buildable hulls, 24 frames read at 16 points to 3 mm: faired, planked near truth."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_hulls import by_girth, hull_of
from made_odd import ODD
from made_planking import even_lining, stepped_layout, ways_of
from made_shapes import bevels_apart, edges_apart, same_seams
from made_surveys import surveyed
from ribband.hull import fit
from ribband.hull.edges import Edges, fair_edges
from ribband.hull.fairrun import Judge
from ribband.hull.sections import edge_stations
from ribband.planks import get_shapes


def edges_of(name: str) -> Edges:
    shape, x = ODD[name]
    survey = surveyed(24, seed=3, shape=shape, x=x)[0]
    rabbet, sheer = (edge_stations(survey.readings, role, {}) for role in ("rabbet", "sheer"))
    return fair_edges(rabbet, sheer, survey.ends, Judge(4.0, 3.0))


def test_planks_of_a_hull_with_flat_floors_and_hard_bilges_lie_near_the_truth() -> None:
    shape, x = ODD["full"]
    even = by_girth(shape)
    true, fair = hull_of(even, np.linspace(*x, 24)), fit(surveyed(24, seed=3, shape=even, x=x)[0])
    assert {"stem", "keel", "stern"} == set(fair.frames.starts)
    lining = even_lining(true, 16)
    ways = ways_of(true, lining)
    layout = stepped_layout(ways, every=8, step=3)
    wanted = get_shapes(true, lining, ways, layout).shapes
    found = get_shapes(fair, same_seams(true, fair, lining), ways, layout).shapes
    pairs = list(zip(found, wanted, strict=True))
    assert np.concatenate([edges_apart(a, b) for a, b in pairs]).max() < 5.0  # mm
    assert np.percentile(np.concatenate([bevels_apart(a, b) for a, b in pairs]), 99) < 0.9


@pytest.mark.parametrize("name", ["full", "raking", "spoon"])
def test_corners_are_where_they_are_however_far_the_ends_rake(name: str) -> None:
    edges, shape = edges_of(name), ODD[name][0]
    for u, found in ((0.0, edges.keel[0]), (1.0, edges.keel[-1])):
        assert np.linalg.norm(found - shape(np.array(u), np.array(0.0))) < 12.0


def test_a_stem_nowhere_as_steep_as_level_says_where_its_corner_was_taken() -> None:
    said = next(f for f in edges_of("spoon").findings if (f.code, f.where) == ("H012", "forefoot"))
    assert "nowhere as steep as it is level" in said.why


def test_a_measured_point_that_the_line_leaves_is_told_and_kept_if_named_the_corner() -> None:
    shape, x = ODD["spoon"]
    survey = surveyed(24, seed=4, shape=shape, x=x)[0]
    rabbet, sheer = (edge_stations(survey.readings, role, {}) for role in ("rabbet", "sheer"))
    edges = fair_edges(rabbet, sheer, survey.ends, Judge(4.0, 3.0))
    said = [f for f in edges.findings if f.code == "H027"]
    off = float(np.linalg.norm(edges.keel - shape(np.array(0.0), np.array(0.0)), axis=1).min())
    assert off > 6.0
    (stem,) = (f for f in said if f.where == "stem")
    said_mm = float(stem.says.split(" mm")[0].split()[-1])
    assert said_mm == pytest.approx(off, abs=0.2)
    assert "height 800 mm" in stem.says
    lowest = min((e for e in survey.ends if e.end == "stem"), key=lambda e: e.z_mm)
    named = tuple(replace(e, corner=e is lowest) for e in survey.ends)
    kept = fair_edges(rabbet, sheer, named, Judge(4.0, 3.0))
    assert np.linalg.norm(kept.keel[0] - shape(np.array(0.0), np.array(0.0))) < 0.1
    assert not [f for f in kept.findings if (f.code, f.where) == ("H027", "stem")]
