"""The pull of readings on each other, from the equations of the fairing."""

from __future__ import annotations

import numpy as np
import pytest

from made_surveys import surveyed
from ribband.hull.leaveout import halves
from ribband.hull.patch import frame_of, live, sparse_rows
from ribband.hull.side import edge_stations, fair_edges, points_of
from ribband.numerics.bspline import even_basis


@pytest.mark.parametrize(("along", "across"), [(5, 4), (16, 10)])
def test_halves_give_the_readings_pull_on_each_other(along: int, across: int) -> None:
    readings = surveyed(6, seed=4)[0].readings
    rabbet, sheer = (edge_stations(readings, role, {}) for role in ("rabbet", "sheer"))
    count = len(points_of(readings, {}).readings)
    frame = frame_of(fair_edges(rabbet, sheer, ()), even_basis(along), even_basis(across))
    rng = np.random.default_rng(2)
    bases = frame.start.along, frame.start.across
    free = np.flatnonzero(frame.free[..., 1].ravel())
    rows = sparse_rows(*bases, *live(*bases, *rng.random((2, count))))[:, free]
    weights = np.where(rng.random(count) < 0.2, 0.0, rng.random(count))
    stiff = 0.01 * frame.penalty[free][:, free]
    half = halves(rows, weights, stiff)
    full = rows.toarray()
    system = full.T @ (weights[:, None] * full) + stiff.toarray()
    system += np.eye(len(system)) * 1e-10 * np.trace(system) / len(system)
    assert np.allclose(half @ half.T, full @ np.linalg.solve(system, full.T), rtol=1e-7, atol=1e-9)


@pytest.mark.parametrize(
    ("u_power", "v_power", "lean", "wanted"),
    # the weights are 1/a, 3, 3 a and a^2; the integrals are over 0 to 1
    [(3, 0, 2.0, 36.0 / 2), (2, 1, 2.0, 3 * 4.0), (1, 2, 2.0, 3 * 4.0 * 2), (0, 3, 2.0, 36.0 * 4)],
)
def test_the_penalty_of_a_cubic_is_its_integral(
    u_power: int, v_power: int, lean: float, wanted: float
) -> None:
    readings = surveyed(6, seed=4)[0].readings
    rabbet, sheer = (edge_stations(readings, role, {}) for role in ("rabbet", "sheer"))
    frame = frame_of(fair_edges(rabbet, sheer, ()), even_basis(6), even_basis(5))
    powers = ((frame.start.along, u_power), (frame.start.across, v_power))
    u, v = (b.matrix(np.linspace(0, 1, b.size)) for b, _ in powers)
    u, v = (
        np.linalg.solve(rows, np.linspace(0, 1, len(rows)) ** power)
        for rows, (_, power) in zip((u, v), powers, strict=True)
    )
    monomial = np.outer(u, v).ravel()
    found = monomial @ (frame.leaning(lean, 1.0).penalty @ monomial)
    assert found == pytest.approx(wanted, rel=1e-6)
