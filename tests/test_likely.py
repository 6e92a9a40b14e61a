"""How near planks are likely to be: against the truth, against a rolling out anew, and on paper."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from made_hulls import by_girth, hull_of, launch_shape, tape
from made_planking import even_lining, stepped_layout, ways_of
from made_shapes import bevels_apart, edges_apart, same_seams, splined
from made_surveys import surveyed
from ribband.drawing.ticket.words import within
from ribband.hull import HullRules, Likely, fit
from ribband.hull.surface import SplineSurface
from ribband.numerics.bspline import even_basis, tensor_through
from ribband.planks import get_shapes, with_likely
from ribband.planks.opening import openings
from ribband.survey import Survey

SLIM = by_girth(launch_shape(beam=3000.0))
SEEDS = (3, 4)


@pytest.fixture(scope="module")
def true():
    hull = splined(hull_of(SLIM, np.linspace(-700.0, 16700.0, 24), 41))
    lining = even_lining(hull, 12)
    ways = ways_of(hull, lining)
    return hull, lining, ways, stepped_layout(ways, every=8, step=3)


@pytest.fixture(scope="module")
def measured(true):
    """Hulls fitted to surveys of the true one, with their planks and how near they say they are."""
    hull, lining, ways, layout = true
    found = []
    for seed in SEEDS:
        fitted = fit(surveyed(24, seed=seed, shape=SLIM)[0])
        carried = same_seams(hull, fitted, lining)
        opening = openings(fitted, carried, ways, layout)
        shapes = get_shapes(fitted, carried, ways, layout, opened=opening)
        found.append((fitted, carried, opening, with_likely(fitted, opening, shapes)))
    return found


def test_95_of_100_true_errors_lie_within(true, measured) -> None:
    """90 to 98 of 100 edges; bevels are told with caution, by half again at most."""
    wanted = get_shapes(*true).shapes
    edges, bevels, told = [], [], []
    for _, _, _, shapes in measured:
        for one, other in zip(shapes.shapes, wanted, strict=True):
            edges += (edges_apart(one, other) <= one.within.edges_mm).tolist()
            said = np.degrees(
                np.concatenate([one.within.lower_bevel_rad, one.within.upper_bevel_rad])
            )
            known = np.isfinite(said)
            bevels += bevels_apart(one, other)[known].tolist()
            told += said[known].tolist()
    assert 0.90 <= np.mean(edges) <= 0.98
    bevels, told = np.array(bevels), np.array(told)
    assert np.mean(bevels <= told) >= 0.95
    assert np.sqrt(np.mean((told / 1.96) ** 2)) < 1.5 * np.sqrt(np.mean(bevels**2))


def test_what_a_draw_does_to_a_plank_is_what_rolling_out_anew_gives(true) -> None:
    """One way of being out, a smooth wave of 8 mm, against the flat shapes of the moved hull."""
    hull, lining, ways, layout = true
    lines = hull.lines
    wave = 8.0 * np.sin(2 * np.pi * 3 * lines.u) * np.sin(2 * np.pi * lines.v) ** 2
    none = np.zeros((1, len(lines.u), 3), np.float32)
    out = Likely(wave[None].astype(np.float32), none, none, 8.0)
    opening = openings(hull, lining, ways, layout)
    shapes = get_shapes(hull, lining, ways, layout, opened=opening)
    said = with_likely(replace(hull, likely=out), opening, shapes).shapes
    u, v = even_basis(80), even_basis(20)
    at = np.meshgrid(u.greville, v.greville, indexing="ij")
    square = 8.0 * np.sin(2 * np.pi * 3 * at[0]) * np.sin(2 * np.pi * at[1]) ** 2
    points = hull.surface.point(*at) + square[..., None] * hull.surface.normal(*at)
    moved = replace(hull, surface=SplineSurface(tensor_through(u, v, points)))
    anew = get_shapes(moved, same_seams(hull, moved, lining), ways, layout).shapes
    edges, foretold, bevels, leans = [], [], [], []
    for one, other in zip(said, anew, strict=True):
        edges.append(np.percentile(edges_apart(one, other), 95))
        foretold.append(one.within.edges_mm)
        lean = np.degrees(np.r_[one.within.lower_bevel_rad, one.within.upper_bevel_rad]) / 1.96
        known = np.isfinite(lean)
        bevels.append(bevels_apart(one, other)[known])
        leans.append(lean[known])
    big = np.array(edges) > 0.1
    assert big.sum() > 15, edges
    ratio = (np.array(foretold) / np.array(edges))[big]
    assert np.median(ratio) == pytest.approx(1.0, abs=0.1)
    assert ratio.min() > 0.6
    assert ratio.max() < 1.5
    assert np.corrcoef(foretold, edges)[0, 1] > 0.95
    bevels, leans = np.concatenate(bevels), np.concatenate(leans)
    assert np.corrcoef(bevels, leans)[0, 1] > 0.97
    assert np.sqrt(np.mean((bevels - leans) ** 2)) < 0.15 * np.sqrt(np.mean(bevels**2))


def test_more_scatter_says_less_sure(true, measured) -> None:
    hull, lining, ways, layout = true
    rough = fit(surveyed(24, seed=3, noise=6.0, shape=SLIM)[0])
    carried = same_seams(hull, rough, lining)
    opening = openings(rough, carried, ways, layout)
    twice = with_likely(rough, opening, get_shapes(rough, carried, ways, layout, opened=opening))
    assert rough.likely.usual_mm == pytest.approx(2 * measured[0][0].likely.usual_mm, rel=0.15)
    ratio = [
        a.within.edges_mm / b.within.edges_mm
        for a, b in zip(twice.shapes, measured[0][3].shapes, strict=True)
    ]
    assert 1.3 < np.median(ratio) < 2.2


def test_the_usual_error_is_that_of_the_readings(measured) -> None:
    for fitted, *_ in measured:
        assert fitted.likely.usual_mm == pytest.approx(3.0 * 0.92, rel=0.15)


def test_in_the_rabbet_and_at_the_sheer_bevels_have_no_figure(measured) -> None:
    shapes = measured[0][3].shapes
    top = max(s.strake for s in shapes)
    for s in shapes:
        assert np.isnan(s.within.lower_bevel_rad).all() == (s.strake == 0)
        assert np.isnan(s.within.upper_bevel_rad).all() == (s.strake == top)
        assert (s.within.lower_mm > 0).all()


def test_where_it_is_not_known_nothing_is_made_up(measured) -> None:
    fitted, _, opening, shapes = measured[0]
    bare = replace(shapes, shapes=tuple(replace(s, within=None) for s in shapes.shapes))
    same = with_likely(replace(fitted, likely=None), opening, bare)
    assert all(s.within is None for s in same.shapes)
    assert all(s.within is None for s in with_likely(fitted, None, bare).shapes)
    assert "not known" in within(same.shapes[0], "mm")
    assert tape().likely is None
    few = fit(surveyed(9, points=6, seed=1, noise=1.0)[0], HullRules())
    assert few.likely is None


def test_the_ticket_says_it_in_the_unit_of_the_job(measured) -> None:
    shape = measured[0][3].shapes[4]
    said = within(shape, "mm")
    assert f"edges {max(shape.within.edges_mm, 0.5):.1f} mm" in said  # no nearer than it is printed
    assert f"bevels {np.degrees(shape.within.bevels_rad):.1f}°" in said
    assert " in, bevels" in within(shape, "ft-in-8ths")


def moved(survey: Survey, by: float) -> Survey:
    """The survey with positions counted from another mark."""

    def at(one):
        return replace(one, x_mm=one.x_mm + by)

    return replace(
        survey,
        frames=tuple(at(m) for m in survey.frames),
        readings=tuple(at(r) for r in survey.readings),
        ends=tuple(at(e) for e in survey.ends),
    )


def test_it_does_not_hang_on_where_positions_are_counted_from(measured) -> None:
    """Ways of being out were drawn another way round once rounding turned an eigenvector over."""
    said = measured[0][0].likely
    elsewhere = fit(moved(surveyed(24, seed=SEEDS[0], shape=SLIM)[0], 10_000.0)).likely
    for name in ("square", "rabbet", "sheer"):
        assert np.abs(getattr(elsewhere, name) - getattr(said, name)).max() < 0.01  # mm


def test_a_hull_twice_as_large_is_told_of_twice_as_much(measured) -> None:
    """No figure is lost: what counts as one seam grows with her planks."""
    fitted, _, opening, shapes = measured[0]
    likely = fitted.likely
    twice = replace(
        likely, square=2 * likely.square, rabbet=2 * likely.rabbet, sheer=2 * likely.sheer
    )
    frames = replace(fitted.frames, x_mm=2 * fitted.frames.x_mm)
    larger = replace(fitted, likely=twice, frames=frames)
    opened = replace(opening, xyz=2 * opening.xyz)
    flat = tuple(replace(s, lower=2 * s.lower, upper=2 * s.upper) for s in shapes.shapes)
    told = with_likely(larger, opened, replace(shapes, shapes=flat)).shapes
    for one, other in zip(told, shapes.shapes, strict=True):
        assert one.within.edges_mm == pytest.approx(2 * other.within.edges_mm, rel=1e-6)
        assert one.within.upper_bevel_rad == pytest.approx(
            other.within.upper_bevel_rad, rel=1e-6, nan_ok=True
        )
