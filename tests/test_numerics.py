"""Splines, fairing lines, banded systems."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import sparse
from scipy.interpolate import BSpline

from ribband.errors import NotConverged
from ribband.numerics.banded import Banded, upper_band
from ribband.numerics.bspline import Basis, Tensor, even_basis, tensor_through
from ribband.numerics.normal import layout_of, pair_sums
from ribband.numerics.polyline import along, evened
from ribband.numerics.smoothing import robust_spread, smooth_line

UNEVEN = Basis(np.array([0.0, 0.1, 0.15, 0.4, 0.8, 1.0]))


@pytest.mark.parametrize("derivative", [0, 1, 2, 3])
def test_the_basis_agrees_with_another_library(derivative: int) -> None:
    at = np.linspace(0, 1, 57)[:-1]
    theirs = BSpline(UNEVEN.knots, np.eye(UNEVEN.size), 3)(at, derivative)
    assert UNEVEN.matrix(at, derivative) == pytest.approx(theirs, abs=1e-6)


def test_functions_sum_to_one() -> None:
    assert UNEVEN.matrix(np.linspace(0, 1, 33)).sum(axis=1) == pytest.approx(1.0)


def test_gram_is_the_integral() -> None:
    at = (np.arange(200_000) + 0.5) / 200_000
    rows = UNEVEN.matrix(at, 2)
    assert UNEVEN.gram(2) == pytest.approx(rows.T @ rows / len(at), rel=1e-3, abs=2.0)


def test_tensor_gives_a_cubic_back_with_derivatives() -> None:
    u, v = UNEVEN, even_basis(3)
    a, b = np.meshgrid(u.greville, v.greville, indexing="ij")
    cubic = tensor_through(u, v, (a**3 * b**2 + b**3)[..., None])
    x, y = np.array([0.07, 0.5, 1.0]), np.array([0.2, 0.9, 0.0])
    assert cubic.at(x, y)[:, 0] == pytest.approx(x**3 * y**2 + y**3)
    assert cubic.at(x, y, 2, 1)[:, 0] == pytest.approx(6 * x * 2 * y)
    assert cubic.grid(x, y)[1, 1, 0] == pytest.approx(cubic.at(0.5, 0.9)[0])


def test_tensor_broadcasts() -> None:
    u = even_basis(2)
    flat = Tensor(u, u, np.ones((5, 5, 3)))
    assert flat.at(np.zeros((5, 1)), np.zeros(7)).shape == (5, 7, 3)


def test_a_fair_line_finds_the_curve_under_the_noise() -> None:
    rng = np.random.default_rng(2)
    x = np.linspace(0, 10, 60)
    true = 100 * np.sin(x / 3)
    line = smooth_line(x, true + 3 * rng.standard_normal(60))
    assert np.sqrt(np.mean((line.at(x) - true) ** 2)) < 1.6


def test_left_out_is_what_fitting_without_would_give() -> None:
    rng = np.random.default_rng(3)
    x, y = np.linspace(0, 1, 30), rng.standard_normal(30)
    line = smooth_line(x, y)
    weights = np.ones(30)
    weights[11] = 0.0
    without = smooth_line(x, y, weights)
    if without.smoothing == line.smoothing:
        assert line.left_out[11] == pytest.approx(without.residual[11], rel=1e-6)
    ratio = line.half @ line.half.T @ (line.weights * y) + line.residual
    assert ratio == pytest.approx(y, abs=1e-6)


def test_held_ends_are_met() -> None:
    x = np.linspace(0, 1, 20)
    line = smooth_line(x, x**2 + 0.1, fixed=(0.0, 1.0))
    assert line.at([0.0, 1.0]) == pytest.approx([0.0, 1.0])


def test_few_readings_are_kept_close_to() -> None:
    x = np.arange(7.0)
    y = np.array([419.1, 330.2, 288.9, 266.7, 260.3, 285.8, 412.8])
    assert np.sqrt(np.mean(smooth_line(x, y, close=3.0).residual ** 2)) <= 3.0


def test_banded_solve_is_the_dense_one() -> None:
    rng = np.random.default_rng(0)
    rows = sparse.diags_array(
        [rng.random(40) + 2, rng.random(39), rng.random(38)], offsets=[0, 1, 2]
    )
    system = (rows.T @ rows).tocsr()
    right = rng.random(40)
    ours = Banded(upper_band(system)).solve(right)
    assert ours == pytest.approx(np.linalg.solve(system.toarray(), right))


def test_a_singular_system_says_so() -> None:
    with pytest.raises(NotConverged):
        Banded(np.array([[0.0, 2.0], [1.0, 1.0]]))


def test_lengths_along_a_circle() -> None:
    a = np.linspace(0, np.pi / 2, 2001)
    arc = np.stack([np.cos(a), np.sin(a)], axis=-1)
    assert along(arc)[-1] == pytest.approx(np.pi / 2, rel=1e-6)
    assert np.ptp(np.diff(along(evened(arc, 33)))) < 1e-6


def test_spread_is_not_moved_by_a_blunder() -> None:
    errors = np.random.default_rng(1).standard_normal(1001)
    errors[0] = 1e6
    assert robust_spread(errors) == pytest.approx(1.0, abs=0.08)


def test_pairs_laid_in_a_band_are_the_normal_equations() -> None:
    """Against the dense equations, summed reading by reading."""
    rng = np.random.default_rng(6)
    along, across = even_basis(5), even_basis(3)
    u, v = rng.random(40), rng.random(40)
    turn = rng.standard_normal((40, 3, 3))
    weigh = np.einsum("mij,mkj->mik", turn, turn)
    rows = np.einsum("mi,mj->mij", along.matrix(u), across.matrix(v)).reshape(40, -1)
    dense = np.einsum("mp,mq,mij->piqj", rows, rows, weigh).reshape(3 * rows.shape[1], -1)
    free = rng.random((along.size, across.size, 3)) < 0.8
    dense = dense[np.ix_(free.ravel(), free.ravel())]
    (first_u, live_u), (first_v, live_v) = along.alive(u), across.alive(v)
    values = (live_u[:, :, None] * live_v[:, None, :]).reshape(40, 16)
    pairs = pair_sums((along.size, across.size), (first_u, first_v), values, weigh)
    band = layout_of(free).band(pairs)
    width, size = len(band) - 1, band.shape[1]
    row, column = np.triu_indices(size)
    near = column - row <= width
    assert size == free.sum()
    assert band[width + (row - column)[near], column[near]] == pytest.approx(
        dense[row, column][near]
    )
    assert dense[row, column][~near] == pytest.approx(0.0)
