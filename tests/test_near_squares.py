"""Steps of least squares within walls, against trying everything and a general solver."""

from __future__ import annotations

import numpy as np
import pytest

from ribband.numerics.near_squares import Block, least_push, limited_step


def test_least_push_against_trying_everything() -> None:
    rng = np.random.default_rng(3)
    for _ in range(30):
        a = rng.normal(size=(5, 7))
        give, off = a @ a.T + 0.1 * np.eye(5), rng.normal(size=5)
        push = least_push(give, off)
        best = min(
            (p for p in _all_patterns(give, off)), key=lambda p: 0.5 * p @ give @ p - off @ p
        )
        assert push == pytest.approx(best, abs=1e-8)


def _all_patterns(give: np.ndarray, off: np.ndarray) -> list[np.ndarray]:
    found = [np.zeros(len(off))]
    for number in range(1, 2 ** len(off)):
        on = np.array([number >> i & 1 for i in range(len(off))], bool)
        push = np.zeros(len(off))
        push[on] = np.linalg.solve(give[np.ix_(on, on)], off[on])
        if (push >= 0).all():
            found.append(push)
    return found


def test_limited_step_against_a_general_solver() -> None:
    from scipy.optimize import lsq_linear  # noqa: PLC0415

    rng = np.random.default_rng(5)
    n = 70
    index = np.stack([np.arange(n - 2), np.arange(1, n - 1), np.arange(2, n)], axis=1)
    block = Block(rng.normal(size=n - 2), index, rng.normal(size=(n - 2, 3)))
    tie = Block(rng.normal(size=n), np.arange(n)[:, None], np.full((n, 1), 0.3))
    walls = Block(np.full(n, -0.4), np.arange(n)[:, None], np.ones((n, 1)))
    step, _ = limited_step([block, tie], walls, n, 0.0)
    dense = np.zeros((2 * n - 2, n))
    np.put_along_axis(dense[: n - 2], index, block.slope, axis=1)
    dense[n - 2 :] = 0.3 * np.eye(n)
    right = -np.concatenate([block.value, tie.value])
    other = lsq_linear(dense, right, (-np.inf, 0.4), tol=1e-14)
    assert step == pytest.approx(other.x, abs=1e-5)


def test_very_many_limits_are_springs_that_come_to_the_same() -> None:
    from scipy.optimize import lsq_linear  # noqa: PLC0415

    rng = np.random.default_rng(8)
    n = 700
    pull = Block(rng.normal(-1.0, 0.6, size=n), np.arange(n)[:, None], np.ones((n, 1)))
    index = np.stack([np.arange(n - 1), np.arange(1, n)], axis=1)
    tie = Block(np.zeros(n - 1), index, np.tile([0.5, -0.5], (n - 1, 1)))
    walls = Block(np.full(n, -0.5), np.arange(n)[:, None], np.ones((n, 1)))
    step, push = limited_step([pull, tie], walls, n, 0.0)
    dense = np.zeros((2 * n - 1, n))
    dense[:n] = np.eye(n)
    np.put_along_axis(dense[n:], index, tie.slope, axis=1)
    right = -np.concatenate([pull.value, tie.value])
    other = lsq_linear(dense, right, (-np.inf, 0.5), tol=1e-14)
    assert (push > 0).sum() > 250
    assert step == pytest.approx(other.x, abs=2e-3)


def test_limits_that_nothing_moves_are_left_over_and_the_others_are_kept() -> None:
    """Two limits of no slope, side by side, that are passed: no number of pushes keeps them."""
    pull = Block(np.array([-3.0, -2.0]), np.array([[0], [1]]), np.ones((2, 1)))
    index = np.array([[-1], [-1], [0], [1]])
    walls = Block(np.array([5.0, 5.0, -1.0, -4.0]), index, np.array([[0.0], [0.0], [1.0], [1.0]]))
    step, push = limited_step([pull], walls, 2)
    assert np.all(np.isfinite(push))
    assert step == pytest.approx([1.0, 2.0], abs=0.05)
    alone, _ = limited_step([pull], Block(walls.value[:2], index[:2], walls.slope[:2]), 2)
    assert alone == pytest.approx([3.0, 2.0])
