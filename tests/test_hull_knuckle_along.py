"""A knuckle along her is found and told of, with how far out it leaves the surface."""

from __future__ import annotations

import re

import numpy as np
import pytest

from made_hulls import FormulaSurface, _cut
from made_odd import KNUCKLED, ODD
from made_surveys import surveyed
from ribband.findings import Finding
from ribband.hull import Hull, fit
from ribband.hull.cuts import cut_frames
from ribband.hull.knuckle import likeliest
from ribband.hull.model import Floats


def named(hull: Hull) -> list[Finding]:
    return [f for f in hull.findings if f.code == "H026"]


def out_at(hull: Hull, surface: FormulaSurface, x: float) -> float:
    """How far the true section lies off the drawn one, square to it, at the worst; edges apart."""
    u, v = _cut(surface, x)
    at, run = np.linspace(0.15, 0.9, 200), np.linspace(0, 1, len(u))
    true = surface.point(np.interp(at, run, u), np.interp(at, run, v))[:, 1:]
    tensor = hull.surface.tensor  # type: ignore[union-attr]
    _, _, u, v, _ = cut_frames(tensor, np.array([x]), 1025)
    drawn: Floats = tensor.at(u, v)[0, :, 1:]
    return float(np.linalg.norm(true[:, None] - drawn[None], axis=-1).min(axis=1).max())


@pytest.mark.parametrize(("name", "seed", "turn"), [("chine", 3, 45), ("flared", 3, 14)])
def test_a_knuckle_along_her_is_told_with_how_far_out_it_leaves_the_surface(
    name: str, seed: int, turn: float
) -> None:
    shape, x, share = KNUCKLED[name]
    survey = surveyed(24, seed=seed, shape=shape, x=x)[0]
    hull = fit(survey)
    (finding,) = named(hull)
    assert float(re.search(r"some (\d+)°", finding.says)[1]) == pytest.approx(turn, abs=4)
    out, station, y, z = re.search(
        r"much as ([\d.]+) mm \(station (\d+),.*half-breadth (\d+) mm, height (\d+) mm",
        finding.says,
    ).groups()
    at = next(m.x_mm for m in survey.frames if m.name == station)
    surface = FormulaSurface(shape)
    assert float(out) == pytest.approx(out_at(hull, surface, at), rel=0.3)
    u = np.linspace(0, 1, 4001)
    knuckle = surface.point(u, np.full(len(u), share))
    there = knuckle[np.abs(knuckle[:, 0] - at).argmin()]
    assert np.linalg.norm(there[1:] - (float(y), float(z))) < 40.0  # a third of a reading's space
    first, last = map(int, re.findall(r"\d+", finding.where))
    assert last - first >= 3


def test_a_round_bilge_is_no_knuckle() -> None:
    shape, x = ODD["spoon"]
    assert not named(fit(surveyed(24, seed=4, shape=shape, x=x)[0]))


def test_the_knuckle_of_two_arcs_is_where_they_meet() -> None:
    arc = np.linspace(0.0, 0.5, 7)
    below = 2000.0 * np.stack([np.sin(arc), 1 - np.cos(arc)], axis=1)
    way = np.array([np.cos(1.1), np.sin(1.1)])
    above = below[-1] + np.linspace(60.0, 900.0, 7)[:, None] * way
    found = likeliest(np.concatenate([below[:-1], above]), 5, 1.0)
    assert found is not None
    assert np.linalg.norm(np.array(found.corner) - below[-1]) < 8.0
    beside = 0.5 / 6  # the turn is from the last point of the one to the first of the other
    assert found.turn_rad == pytest.approx(0.6 + beside, abs=0.03)
    assert found.out_mm < 0.2 * found.sweep_mm
