"""The hull against closed forms.

Wigley's parabolic hull y = (B/2)(1 - (2x/L)^2)(1 - (z/T)^2), after W. C. S. Wigley, "A comparison
of experiment and calculated wave-profiles and wave-resistances for a form having parabolic
waterlines", Proceedings of the Royal Society A 144, 1934. Half girth at x:
(T/2) sqrt(1 + k^2) + (T/2k) asinh k with k = B (1 - (2x/L)^2) / T; arcs of a quarter ellipse are
complete elliptic integrals of the second kind. Figures below are of those formulas, as printed
to the digits given.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from geomdl import BSpline as TheirSpline
from geomdl import utilities

from made_hulls import FormulaSurface
from ribband.hull import Hull, check, fit
from ribband.hull.surface import Inside
from ribband.survey.model import Cell, EndPoint, FrameMark, Particulars, Reading, Survey

L, B, T = 10_000.0, 1_000.0, 625.0
# x/L: half girth over L, for L 1, B 0.1, T 0.0625
WIGLEY = {0.0: 0.0833566, 0.1: 0.0819866, 0.2: 0.0780432, 0.3: 0.0721398, 0.4: 0.0658016}
WIGLEY_AREA = 7.439532  # m2, one side, at L 10 m
ELLIPSES = {
    (1.0, 0.5): 1.2110560,
    (2.0, 1.0): 2.4221121,
    (3.0, 1.0): 3.3412233,
    (1.5, 1.2): 2.1271251,
}


def survey_of(
    section: Callable[[float], np.ndarray], x: np.ndarray, ends: tuple[EndPoint, ...] = ()
) -> Survey:
    """Exact readings of sections (m, 2) from rabbet to sheer at stations x."""
    readings, marks = [], []
    for i, at in enumerate(x):
        name = str(i + 1)
        marks.append(FrameMark(name, float(at)))
        points = section(float(at))
        for j, (y, z) in enumerate(points):
            role = {0: "rabbet", len(points) - 1: "sheer"}.get(j, "surface")
            for kind in "yz" if role != "surface" else "p":
                readings.append(  # noqa: PERF401
                    Reading(
                        f"{role} {j} {kind} {name}", name, role, role, "both", float(at),  # type: ignore[arg-type]
                        float(y), float(z), kind if kind in "yz" else "xyz",  # type: ignore[arg-type]
                        float(z if kind == "z" else y), Cell("points", 2 + j, name), "",
                    )
                )  # fmt: skip
    return Survey(Particulars("closed form"), tuple(marks), readings=tuple(readings), ends=ends)


def wigley() -> Hull:
    z = np.linspace(-1, 0, 17)

    def section(x: float) -> np.ndarray:
        return np.stack([B / 2 * (1 - (2 * x / L) ** 2) * (1 - z**2), T * z], axis=-1)

    ends = tuple(
        EndPoint(f"{end} {k}", end, x, 0.0, float(T * h), Cell("ends", k + 2, "height"), "")  # type: ignore[arg-type]
        for end, x in (("stem", -L / 2), ("stern", L / 2))
        for k, h in enumerate(np.linspace(-1, 0, 9))
    )
    return fit(survey_of(section, np.linspace(-0.48 * L, 0.48 * L, 49), ends))


@pytest.fixture(scope="module")
def wigley_hull() -> Hull:
    return wigley()


@pytest.mark.parametrize("share", list(WIGLEY))
def test_girths_of_wigleys_hull(wigley_hull: Hull, share: float) -> None:
    frames = wigley_hull.frames
    for sign in (1, -1):
        at = int(np.argmin(np.abs(frames.x_mm - sign * share * L)))
        assert frames.x_mm[at] == pytest.approx(sign * share * L)
        assert frames.girth_mm[at] == pytest.approx(WIGLEY[share] * L, abs=0.1)


def area(hull: Hull, cells: int = 240) -> float:
    edge = np.linspace(0, 1, cells + 1)
    mid = (edge[1:] + edge[:-1]) / 2
    u, v = np.meshgrid(mid, mid, indexing="ij")
    by_u, by_v = hull.surface.tensor.many(u, v, ((1, 0), (0, 1)))
    return float(np.linalg.norm(np.cross(by_u, by_v), axis=-1).mean()) / 1e6


def test_area_of_wigleys_hull(wigley_hull: Hull) -> None:
    assert area(wigley_hull) == pytest.approx(WIGLEY_AREA, rel=1e-4)


@pytest.mark.parametrize(("axes", "arc"), list(ELLIPSES.items()))
def test_girth_of_a_quarter_ellipse(axes: tuple[float, float], arc: float) -> None:
    a, b = 1000.0 * axes[0], 1000.0 * axes[1]
    t = np.linspace(0, np.pi / 2, 25)
    run = np.stack([a * np.sin(t), b * (1 - np.cos(t))], axis=-1)
    hull = fit(survey_of(lambda x: run, np.linspace(0, 8000.0, 17)))
    assert hull.frames.girth_mm == pytest.approx(np.full(17, 1000 * arc), abs=0.1)


def test_planking_deducted_from_a_cylinder_is_exact() -> None:
    r, t = 1000.0, 38.0

    def shape(u, v):
        a = v * np.pi / 2
        return np.stack([9000 * u, r * np.sin(a) + 0 * u, -r * np.cos(a) + 0 * u], axis=-1)

    inside = Inside(FormulaSurface(shape), t)
    u, v = np.random.default_rng(0).random((2, 200)) * 0.98 + 0.01
    points = inside.point(u, v)
    assert np.hypot(points[:, 1], points[:, 2]) == pytest.approx(r - t, abs=1e-6)
    greater, less = inside.curvatures(u, v)
    assert greater == pytest.approx(1 / (r - t), rel=1e-5)
    assert less == pytest.approx(0.0, abs=1e-8)


def test_planking_deducted_from_a_cone_is_exact() -> None:
    beta, t = np.radians(20.0), 38.0  # apex at the origin, axis along x

    def shape(u, v):
        x, a = 2000 + 6000 * u, v * np.pi / 2
        radius = x * np.tan(beta)
        return np.stack([x + 0 * a, radius * np.sin(a), -radius * np.cos(a)], axis=-1)

    inside = Inside(FormulaSurface(shape), t)
    u, v = np.random.default_rng(1).random((2, 200)) * 0.98 + 0.01
    x, y, z = inside.point(u, v).T
    apex = t / np.sin(beta)  # the inner cone is the same, its apex this far along
    assert np.hypot(y, z) == pytest.approx((x - apex) * np.tan(beta), abs=1e-5)


def test_a_cylinder_measured_over_the_planking() -> None:
    r, t = 1000.0, 38.0
    a = np.linspace(0, np.pi / 2, 25)
    run = np.stack([r * np.sin(a), -r * np.cos(a)], axis=-1)
    survey = survey_of(lambda x: run, np.linspace(0, 8000.0, 17))
    over = Particulars("cylinder", planking_mm=t, measured_to="planking")
    survey = Survey(over, survey.frames, readings=survey.readings)
    hull = fit(survey)
    assert hull.frames.girth_mm == pytest.approx(np.full(17, (r - t) * np.pi / 2), abs=0.1)
    assert "H003" not in {f.code for f in check(hull, survey)}


def test_our_spline_agrees_with_another_library(wigley_hull: Hull) -> None:
    tensor = wigley_hull.surface.tensor
    theirs = TheirSpline.Surface()
    theirs.degree_u = theirs.degree_v = 3
    n, m = tensor.coefficients.shape[:2]
    theirs.set_ctrlpts(tensor.coefficients.reshape(-1, 3).tolist(), n, m)
    theirs.knotvector_u = tensor.along.knots.tolist()
    theirs.knotvector_v = tensor.across.knots.tolist()
    assert len(utilities.generate_knot_vector(3, n)) == len(tensor.along.knots)
    for u, v in ((0.0, 0.0), (0.11, 0.93), (0.5, 0.5), (0.83, 0.27)):
        assert tensor.at(u, v) == pytest.approx(theirs.evaluate_single((u, v)), abs=1e-6)
