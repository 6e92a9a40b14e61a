"""Flat shapes against closed forms.

Strakes on a sphere: a strip about latitude phi develops to an arc of radius R cot phi (spherical
trigonometry: the cone that touches the sphere along the parallel); the edges of a strip of
half-width b are shorter than its middle by 1 - cos(b / R), about w^2 / 8 R^2. Cylinder of radius
r, plank at helix angle a: bend cos^2 a / r, twist sin a cos a / r (Euler's and Bonnet's formulas).
Cone of half angle b: once round it opens to a sector of 360 sin b degrees.
The figures are those formulas worked out to six places.
"""

from __future__ import annotations

import numpy as np
import pytest

from ribband.numerics.flattening import flatten

SPHERE = 2000.0  # mm
RADII = {20: 5494.955, 30: 3464.102, 45: 2000.0, 60: 1154.701}
SAGITTAS = {20: 22.7954, 30: 36.2743, 45: 63.5083, 60: 113.8675}  # on a chord of 1 m
SECTORS = {10: 62.5133, 20: 123.1273, 30: 180.0}  # degrees
SHORTER = {50.0: 0.000312484, 100.0: 0.00124974, 150.0: 0.00281118, 200.0: 0.00499583}  # R 1 m


def band(radius: float, latitude: float, width: float, length: float):
    """A strip of `width` along a parallel, (1, 49, 5, 3), and its normals."""
    lon = np.linspace(0, length / radius / np.cos(latitude), 49)[:, None]
    lat = latitude + width / radius * np.linspace(-0.5, 0.5, 5)
    out = [np.cos(lat) * np.cos(lon), np.cos(lat) * np.sin(lon), np.sin(lat) + 0 * lon]
    normal = np.stack(out, axis=-1)[None]
    return radius * normal, normal


def circle(points) -> float:
    """Radius of the circle through points (n, 2), by least squares."""
    rows = np.column_stack([2 * points, np.ones(len(points))])
    x, y, c = np.linalg.lstsq(rows, (points**2).sum(axis=1), rcond=None)[0]
    return float(np.sqrt(c + x**2 + y**2))


@pytest.mark.parametrize("degrees", RADII)
def test_a_strake_on_a_sphere_develops_to_its_arc(degrees: int) -> None:
    found = flatten(*band(SPHERE, np.radians(degrees), 20.0, 1100.0)).points[0, :, 2]
    assert circle(found) == pytest.approx(RADII[degrees], rel=1e-4)


@pytest.mark.parametrize("degrees", SAGITTAS)
def test_its_sagitta_on_a_chord_of_a_metre(degrees: int) -> None:
    radius = RADII[degrees]
    arc = 2 * radius * np.arcsin(500.0 / radius)
    found = flatten(*band(SPHERE, np.radians(degrees), 20.0, arc)).points[0, :, 2]
    chord = found[-1] - found[0]
    assert np.hypot(*chord) == pytest.approx(1000.0, abs=0.02)
    assert np.abs(found[:, 1]).max() == pytest.approx(SAGITTAS[degrees], abs=0.02)


@pytest.mark.parametrize("degrees", SECTORS)
def test_a_strip_once_round_a_cone_opens_to_its_sector(degrees: int) -> None:
    half, away = np.radians(degrees), 3000.0 + 200.0 * np.linspace(-0.5, 0.5, 5)
    turn = np.linspace(0.0, 2 * np.pi, 97)[:, None]
    out = np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=-1)
    up = np.array([0, 0, 1.0])
    normal = np.cos(half) * out - np.sin(half) * up + np.zeros((97, 5, 3))
    xyz = away[:, None] * (np.sin(half) * out + np.cos(half) * up)
    ends = flatten(xyz[None], normal[None]).points[0, [0, -1]]
    way = np.diff(ends[:, [0, -1]], axis=1)[:, 0]
    angle = np.arctan2(np.linalg.det(way), way[0] @ way[1])
    assert abs(np.degrees(angle)) == pytest.approx(SECTORS[degrees], abs=0.001)


@pytest.mark.parametrize("width", SHORTER)
def test_edges_of_a_strip_along_the_equator_are_left_too_long(width: float) -> None:
    """Laid flat with no strain in its middle, an edge is longer than on the sphere by so much."""
    xyz, normal = band(1000.0, 0.0, width, 3000.0)
    found = flatten(xyz, normal).points[0, 12:37]  # away from the ends, which are free
    flat = np.linalg.norm(np.diff(found, axis=0), axis=-1).sum(axis=0)
    middle = flat[2] / 1500.0
    edge = flat[0] / (1500.0 * np.cos(width / 2 / 1000.0))
    assert 1 - middle / edge == pytest.approx(SHORTER[width], rel=0.01)


@pytest.mark.parametrize(
    ("degrees", "bend", "twist"),
    [(10, 0.969846, 0.171010), (30, 0.75, 0.433013), (45, 0.5, 0.5)],
)
def test_bend_and_twist_on_a_cylinder(degrees: int, bend: float, twist: float) -> None:
    from ribband.planks.bend import bend_of  # noqa: PLC0415
    from ribband.planks.opening import Opening  # noqa: PLC0415

    angle = np.radians(degrees)
    s, t = np.meshgrid(np.linspace(0, 2000.0, 49), np.linspace(-50.0, 50.0, 5), indexing="ij")
    round_ = (s * np.cos(angle) - t * np.sin(angle)) / 1000.0
    normal = np.stack([0 * s, np.sin(round_), -np.cos(round_)], axis=-1)
    ahead = (s * np.sin(angle) + t * np.cos(angle))[..., None] * np.array([1.0, 0, 0])
    xyz = (1000.0 * normal + ahead)[None]
    opening = Opening(("a plank",), (), xyz[..., 0], xyz[..., 1], xyz, normal[None], s[:1])
    found = bend_of(opening)
    assert 1000.0 * found.curvature == pytest.approx(bend, rel=2e-3)
    assert 1000.0 * np.abs(found.twist) == pytest.approx(twist, rel=2e-3)
