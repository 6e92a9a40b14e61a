"""The corner between stem and keel rabbet: found, foretold between points, doubted, or given."""

from __future__ import annotations

import re
from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

from made_hulls import by_girth, wedge_shape
from made_odd import SHARP
from made_surveys import surveyed
from ribband.hull import fit
from ribband.hull.edges import Edges, fair_edges
from ribband.hull.fairrun import Judge
from ribband.hull.knuckle import turns
from ribband.hull.sections import edge_stations
from ribband.survey import Form, read_survey
from ribband.survey.model import Survey

FAST = by_girth(wedge_shape())
CORNER = np.array([0.0, 60.0, 450.0])  # of the fast launch, by her formula


def profile(turn_deg: float, fillet_mm: float, keel_deg: float = 5.0) -> np.ndarray:
    """The rabbet seen from the side, a point a mm: a round stem, a fillet, a keel nearly straight.

    The middle of the fillet lies at the origin; with none, the corner does.
    """
    stem = np.radians(keel_deg + turn_deg) + np.arange(2500)[::-1] / 4000.0
    round_ = np.linspace(turn_deg, 0.0, int(np.radians(turn_deg) * fillet_mm)) + keel_deg
    keel = np.radians(keel_deg) - np.arange(6000) / 40000.0
    way = np.concatenate([stem, np.radians(round_), keel])
    run = np.cumsum(np.stack([np.cos(way), -np.sin(way)], axis=-1), axis=0)
    return run - run[len(stem) + len(round_) // 2]


def measured(
    run: np.ndarray, up: float, aft: float, seed: int = 0, noise: float = 0.0, space=(250.0, 550.0)
) -> np.ndarray:
    """Points of it: the stem's from `up` mm above the corner, the keel's from `aft` mm abaft it."""
    middle = int(np.argmin(np.linalg.norm(run, axis=1)))
    stem = middle - (up + space[0] * np.arange(9)).astype(int)[::-1]
    keel = middle + (aft + space[1] * np.arange(9)).astype(int)
    rows = np.concatenate([stem, keel if aft else keel[1:]])
    points = run[rows]
    points[len(stem) :, 1] += noise * np.random.default_rng(seed).standard_normal(len(rows) - 9)
    return points


@pytest.mark.parametrize("turn", [18.0, 30.0, 60.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_corner_at_a_measured_point_is_taken_there(turn: float, seed: int) -> None:
    found = turns(measured(profile(turn, 0.0), 0.0, 0.0, seed, 3.0), 3.0)
    assert np.hypot(*found.corner) < 2.0
    assert found.before == found.after


@pytest.mark.parametrize("turn", [45.0, 65.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_corner_between_points_is_where_the_two_lines_cross(turn: float, seed: int) -> None:
    """Nearest points 125 and 275 mm away, read to 3 mm; the truth is at the origin."""
    found = turns(measured(profile(turn, 0.0), 125.0, 275.0, seed, 3.0), 3.0)
    assert found.before + 1 == found.after
    assert np.hypot(*found.corner) < 30.0
    assert np.hypot(*found.corner) < found.doubt_mm + 15.0
    # a fillet that touches both lines at the nearer point passes so far inside the corner
    assert found.doubt_mm == pytest.approx(125.0 * np.tan(np.radians(turn) / 4), rel=0.35)


@pytest.mark.parametrize("seed", range(1, 9))
def test_a_slight_corner_between_points_is_found_or_said_to_be_doubtful(seed: int) -> None:
    """Of 30 degrees, in the midst of 3 mm: one of the two, never a sweep that is called sure."""
    found = turns(measured(profile(30.0, 0.0), 125.0, 275.0, seed, 3.0), 3.0)
    if found.corner is None:
        assert found.rival is not None or found.out_mm > 15.0
    else:
        assert np.hypot(*found.corner) < 40.0


def test_exact_points_give_the_corner_between_them_exactly() -> None:
    """Two straight lines: crossing by hand at (0, 100)."""
    stem = [[-100.0 - 50.0 * k, 300.0 + 100.0 * k] for k in range(6)][::-1]
    keel = [[300.0 + 500.0 * k, 100.0] for k in range(6)]
    found = turns(np.array(stem + keel), 3.0)
    assert found.corner == pytest.approx((0.0, 100.0), abs=0.01)
    assert found.turn_rad == pytest.approx(np.arctan2(100.0, 50.0), abs=1e-4)


@pytest.mark.parametrize("radius", [2500.0, 4000.0])
@pytest.mark.parametrize("seed", [1, 2, 3])
def test_a_sweep_is_no_corner(radius: float, seed: int) -> None:
    found = turns(measured(profile(50.0, radius), 125.0, 275.0, seed, 3.0), 3.0)
    assert found is None or found.corner is None


def test_a_straight_rabbet_has_no_turn() -> None:
    assert turns(np.stack([np.arange(9) * 500.0, np.arange(9) * 20.0], axis=-1), 3.0) is None
    assert turns(np.zeros((2, 2)), 3.0) is None


@lru_cache
def survey_of(frames: int, seed: int) -> Survey:
    return surveyed(frames, seed=seed, shape=FAST, x=(300.0, 13700.0))[0]


def without_foot(survey: Survey, points: int = 1) -> Survey:
    """Leave out the stem's lowest points: the corner is then between two that were measured."""
    low = sorted((p.z_mm, p.key) for p in survey.ends if p.end == "stem")[:points]
    gone = {key for _, key in low}
    return replace(survey, ends=tuple(p for p in survey.ends if p.key not in gone))


def edges_of(survey: Survey) -> Edges:
    rabbet, sheer = (edge_stations(survey.readings, role, {}) for role in ("rabbet", "sheer"))
    return fair_edges(rabbet, sheer, survey.ends, Judge(4.0, 3.0))


@pytest.mark.parametrize(("frames", "seed"), [(24, 1), (60, 3)])
def test_the_fast_launch_has_her_corner_where_her_formula_has_it(frames: int, seed: int) -> None:
    """Her rabbet turns by 20 degrees there; it was taken some 120 mm up the stem."""
    edges = edges_of(survey_of(frames, seed))
    assert np.linalg.norm(edges.keel[0] - CORNER) < 3.0
    assert np.linalg.norm(edges.stem[0] - CORNER) < 3.0


def test_a_corner_not_measured_is_doubted_with_the_remedy() -> None:
    edges = edges_of(without_foot(survey_of(24, 1)))
    (found,) = [f for f in edges.findings if f.code == "H021"]
    assert found.where == "forefoot"
    assert "garboard" in found.says
    assert "closer points" in found.why
    assert "forefoot" in found.why


def test_the_shipwright_has_the_last_word() -> None:
    """Given as a point, the corner is there, and nothing about it is doubtful."""
    survey = without_foot(survey_of(24, 1))
    stem = next(p for p in survey.ends if p.end == "stem")
    x, y, z = CORNER.tolist()
    given = replace(stem, key="ends: forefoot", x_mm=x, y_mm=y, z_mm=z, corner=True)
    hull = fit(replace(survey, ends=(*survey.ends, given)))
    assert np.linalg.norm(hull.surface.point(0.0, 0.0) - CORNER) < 0.1
    (said,) = [f for f in hull.findings if f.where == "forefoot"]
    assert said.why == "as it was given"


def form(name: str, header: str, *rows: str) -> Form:
    cells = tuple(tuple(c.strip() for c in row.split(",")) for row in rows)
    names = tuple(c.strip() for c in header.split(","))
    return Form(name, names, cells, f"{name}.csv", tuple(range(2, len(rows) + 2)))


def test_the_forms_take_a_forefoot() -> None:
    ends = form(
        "ends", "end, height, position, half_siding, notes",
        "stem, 1500, -400, 40,", "stem, 900, -200, 40,", "forefoot, 450, 0, 60,",
        "stern, 300, 9000, 60,", "stern, 1500, 9200, 60,",
    )  # fmt: skip
    points = form(
        "points", "frame, side, label, x, y, z, notes",
        ", , Heel, 8900, 60, 200,", "1, , rabbet, 500, 60, 300,", "1, , , 500, 400, 700,",
    )  # fmt: skip
    frames = form("frames", "frame, position, notes", "1, 500,", "2, 4000,")
    vessel = form("vessel", "item, value, notes", "unit, mm,", "planking, 25,")
    forms = {f.name: f for f in (vessel, frames, ends, points)}
    read = read_survey(forms)
    corners = {(p.end, p.x_mm, p.z_mm) for p in read.ends if p.corner}
    assert corners == {("stem", 0.0, 450.0), ("stern", 8900.0, 200.0)}
    assert len([p for p in read.ends if p.end == "stem"]) == 3


def said_of_forefoot(edges: Edges) -> str:
    (found,) = [f for f in edges.findings if (f.code, f.where) == ("H021", "forefoot")]
    return found.says


def test_a_corner_taken_below_the_stems_lowest_point_is_doubted_as_far_as_that() -> None:
    """A keel that falls steeply from the stem between two stations: its corner was measured."""
    shape, x = SHARP["upright stem"]
    edges = edges_of(surveyed(24, seed=0, shape=shape, x=x)[0])
    off = np.linalg.norm(edges.keel[0] - shape(np.array(0.0), np.array(0.0)))
    told = [float(mm) for mm in re.findall(r"([\d.]+) mm", said_of_forefoot(edges))]
    assert off > 100.0
    assert max(told) == pytest.approx(off, abs=3.0)
    assert "lowest point of the stem" in said_of_forefoot(edges)


def bodily(survey: Survey, station: str, by: float) -> Survey:
    wide = [r.role == "surface" and r.station == station for r in survey.readings]
    return replace(
        survey,
        readings=tuple(
            replace(r, y_mm=r.y_mm + by, value_mm=r.value_mm + by) if w and r.measured == "y" else r
            for r, w in zip(survey.readings, wide, strict=True)
        ),
    )


@pytest.mark.parametrize("foot_measured", [True, False])
def test_beside_a_corner_that_may_be_far_off_no_station_is_said_to_stand_out(
    foot_measured: bool,
) -> None:
    """The surface is held to the rabbet: where its corner is wrong, good stations lie out."""
    survey = bodily(survey_of(24, 1), "2", 40.0)
    hull = fit(survey if foot_measured else without_foot(survey))
    named = [f.where for f in hull.findings if f.code in {"H018", "H019", "H023"}]
    assert named == (["station 2"] if foot_measured else [])
    if not foot_measured:
        assert "its corner may lie" in " ".join(f.says for f in hull.findings if f.code == "H021")
