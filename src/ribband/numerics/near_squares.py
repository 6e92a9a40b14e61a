"""Least squares whose unknowns only touch their near neighbours.

A *block* is a set of alike residuals: R rows, each depending on q unknowns. The normal
equations of many blocks are gathered in one band and solved by Cholesky. An index of -1 marks
an unknown that is held; the same unknown may stand twice in a row. Not checked: that indices
are in range.

The band is kept in *panels* of 32 columns and factored with products so small that the library
underneath does not share them among threads: on a busy machine that is fifty times faster than
its own banded Cholesky.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Block", "after", "banded_step", "least_push", "limited_step", "total"]

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Block:
    """Residuals `value` (R,), each with slopes (R, q) against unknowns `index` (R, q)."""

    value: Floats
    index: NDArray[np.int64]
    slope: Floats


def total(blocks: Sequence[Block]) -> float:
    """Give the sum of the squares of all residuals.

    >>> total([Block(np.array([3.0, 4.0]), np.zeros((2, 1), int), np.ones((2, 1)))])
    25.0
    """
    return float(sum(np.dot(block.value, block.value) for block in blocks))


def banded_step(blocks: Sequence[Block], n: int, ridge: float = 1e-9) -> Floats:
    """Give the Gauss-Newton step (n,): the least-squares solution of slope . step = -value.

    `ridge` is added to the diagonal, in parts of its greatest entry, so that an unknown nothing
    pulls at stays where it is.

    >>> pull = Block(np.array([-1.0, -3.0]), np.array([[0], [1]]), np.ones((2, 1)))
    >>> tie = Block(np.array([0.0]), np.array([[0, 1]]), np.array([[1.0, -1.0]]))
    >>> banded_step([pull, tie], 2)
    array([1.667, 2.333])
    """
    none = Block(np.zeros(0), np.zeros((0, 1), int), np.zeros((0, 1)))
    return limited_step(blocks, none, n, ridge)[0]


def limited_step(  # noqa: PLR0917
    blocks: Sequence[Block],
    limits: Block,
    n: int,
    ridge: float = 1e-9,
    margin: float = 0.05,
    stiff: float = 1e3,
) -> tuple[Floats, Floats]:
    """Give the step (n,) that keeps value + slope . step <= 0 of `limits`, and the pushes (R,).

    A push is what the limit gains per unit of ease, half the fall of the sum of squares.
    Limits nearer than `margin` to binding are put in together; where they cannot all be kept
    the sum of the squares of what is left over is least. Where very many bind (as when they
    cannot be kept) they are springs of stiffness `stiff` instead, and a little is left over.

    >>> pull = Block(np.array([-3.0]), np.array([[0]]), np.ones((1, 1)))
    >>> wall = Block(np.array([-1.0]), np.array([[0]]), np.ones((1, 1)))  # step <= 1
    >>> step, push = limited_step([pull], wall, 1)
    >>> step.round(4), push.round(4)
    (array([1.]), array([2.]))
    """
    push = np.zeros(len(limits.value))
    if n == 0:
        return np.zeros(0), push
    factor = _Factor(blocks, n, ridge)
    free = factor.solved(n)
    step, held = free, np.zeros(len(push), bool)
    for _ in range(_ROUNDS):
        off = after(limits, step)
        new = ~held & (off > (-margin if not held.any() else 1e-6))
        if not (new & (off > 0)).any() and not (held.any() and new.any()):
            break
        held |= new
        if held.sum() > _MANY:
            return _sprung(factor, limits, n, ridge, stiff, off)
        step, push[held] = _pushed_back(factor, _some(limits, held), free, n)
    return step, push


_ROUNDS = 6
_MANY = 250
_SOFT = 1e-7  # of the mean give of a limit: keeps what cannot be kept from dividing by nothing


def _some(block: Block, keep: NDArray[np.bool_]) -> Block:
    return Block(block.value[keep], block.index[keep], block.slope[keep])


def after(block: Block, step: Floats) -> Floats:
    """Give the residuals (R,) of a block after a step, to first order."""
    there = block.index >= 0
    value: Floats = block.value + np.sum(
        np.where(there, block.slope * step[block.index], 0.0), axis=1
    )
    return value


def _sprung(  # noqa: PLR0917
    factor: _Factor, limits: Block, n: int, ridge: float, stiff: float, off: Floats
) -> tuple[Floats, Floats]:
    """Limits as springs that push one way: the pattern of those that push is found by trying."""
    step = np.zeros(n)
    for _ in range(3):
        some = _some(limits, off > 0)
        spring = Block(stiff * some.value, some.index, stiff * some.slope)
        step = _Factor([spring], n, ridge, factor).solved(n)
        before, off = off, after(limits, step)
        if np.array_equal(before > 0, off > 0):
            break
    return step, stiff**2 * np.maximum(off, 0.0)


def _pushed_back(factor: _Factor, limits: Block, free: Floats, n: int) -> tuple[Floats, Floats]:
    """Push the free step back inside the limits, by the least pushes that do it."""
    rows = np.zeros((factor.size, len(limits.value)))
    column = np.broadcast_to(np.arange(len(limits.value))[:, None], limits.index.shape)
    there = limits.index >= 0
    np.add.at(rows, (limits.index[there], column[there]), limits.slope[there])
    rows = factor.forward(rows)
    give = rows.T @ rows
    give[np.diag_indices_from(give)] += _SOFT * np.mean(np.diag(give)) + 1e-300
    push = least_push(give, after(limits, free))
    return free - factor.backward((rows @ push)[:, None])[:n, 0], push


def least_push(give: Floats, off: Floats, rounds: int = 60) -> Floats:
    """Solve push >= 0, give push - off >= 0, each row one or the other (positive definite give).

    Block principal pivoting: all wrong signs change at once, one at a time when that stalls.

    >>> least_push(np.array([[2.0, 1.0], [1.0, 2.0]]), np.array([2.0, -1.0]))
    array([1., 0.])
    """
    on = off > 0
    push = np.zeros(len(off))
    fewest, tries = len(off) + 1, 3
    tiny = 1e-10 * float(np.abs(off).max(initial=0.0))
    for _ in range(rounds + len(off)):
        push[:] = 0.0
        push[on] = np.linalg.solve(give[np.ix_(on, on)], off[on])
        left = give @ push - off
        wrong = np.where(on, push < 0, left < -tiny)
        count = int(wrong.sum())
        if count == 0:
            break
        if count < fewest:
            fewest, tries = count, 3
        elif tries > 0:
            tries -= 1
        else:
            wrong[: int(np.flatnonzero(wrong)[-1])] = False
        on = on ^ wrong
    return np.maximum(push, 0.0)


class _Factor:
    """The normal equations of blocks as panels, factored; `right` (size,), `size` >= n.

    `base` is a factor of other blocks whose sums are taken over instead of adding them anew.
    """

    sums: Floats
    right: Floats
    blocks: Sequence[Block]

    def __init__(
        self, blocks: Sequence[Block], n: int, ridge: float, base: _Factor | None = None
    ) -> None:
        reach = max((_reach(block) for block in blocks), default=0)
        wide = _WIDE * max(-(-reach // _WIDE), 1)
        count = -(-n // _WIDE)
        self.size = count * _WIDE
        if base is not None and base.sums.shape[1] >= _WIDE + wide:
            wide = base.sums.shape[1] - _WIDE
            self.sums, self.right = base.sums.copy(), base.right.copy()
        else:
            blocks = [*(base.blocks if base else ()), *blocks]
            self.sums, self.right = np.zeros((count, _WIDE + wide, _WIDE)), np.zeros(self.size)
        self.blocks = blocks
        flat = self.sums.reshape(-1)
        for block in blocks:
            _gather(block, wide, flat, self.right)
        self.panels = self.sums.copy()
        steps = np.arange(_WIDE)
        self.panels[:, steps, steps] += ridge * self.panels[:, steps, steps].max() + 1e-300
        self.panels[-1, steps, steps] += np.arange(self.size - _WIDE, self.size) >= n
        self.inverses = _factored(self.panels)

    def solved(self, n: int) -> Floats:
        """Give the step (n,) that leaves the least sum of squares."""
        step: Floats = self.backward(self.forward(self.right[:, None].copy()))[:n, 0]
        return step

    def forward(self, right: Floats) -> Floats:
        """Solve with the lower factor in place, right (size, m)."""
        tall = self.panels.shape[1]
        for p, inverse in enumerate(self.inverses):
            here = slice(p * _WIDE, (p + 1) * _WIDE)
            right[here] = inverse @ right[here]
            below = right[(p + 1) * _WIDE : p * _WIDE + tall]
            below -= self.panels[p, _WIDE : _WIDE + len(below)] @ right[here]
        return right

    def backward(self, right: Floats) -> Floats:
        """Solve with the upper factor in place, right (size, m)."""
        tall = self.panels.shape[1]
        for p in range(len(self.inverses) - 1, -1, -1):
            here = slice(p * _WIDE, (p + 1) * _WIDE)
            below = right[(p + 1) * _WIDE : p * _WIDE + tall]
            part = right[here] - self.panels[p, _WIDE : _WIDE + len(below)].T @ below
            right[here] = self.inverses[p].T @ part
        return right


_WIDE = 32


def _reach(block: Block) -> int:
    """How far apart the unknowns of one row stand."""
    if block.index.size == 0:
        return 0
    high = block.index.max(axis=1)
    low = np.where(block.index < 0, np.iinfo(np.int64).max, block.index).min(axis=1)
    return int(np.max(np.where(high >= 0, high - low, 0)))


def _gather(block: Block, wide: int, panels: Floats, right: Floats) -> None:
    """Add slope' slope into the panels and -slope' value to the right-hand side."""
    free = block.index >= 0
    slope = np.where(free, block.slope, 0.0)
    index = np.where(free, block.index, 0)
    right -= np.bincount(index.ravel(), (slope * block.value[:, None]).ravel(), right.size)
    i, j = np.triu_indices(index.shape[1])
    a, b = index[:, i], index[:, j]
    product = slope[:, i] * slope[:, j]
    product[:, i != j] *= 1.0 + (a == b)[:, i != j]
    low, high = np.minimum(a, b), np.maximum(a, b)
    panel = low // _WIDE
    at = (panel * wide + high) * _WIDE + low - panel * _WIDE
    keep = product != 0.0
    panels += np.bincount(at[keep], product[keep], panels.size)


def _factored(panels: Floats) -> Floats:
    """Factor panels (count, 32 + wide, 32) in place; give the inverses of their heads."""
    from scipy.linalg.lapack import dtrtri  # noqa: PLC0415 - heavy, loaded when needed

    count, tall, _ = panels.shape
    inverses = np.empty((count, _WIDE, _WIDE))
    for p in range(count):
        lower = np.linalg.cholesky(panels[p, :_WIDE])
        inverses[p] = inverse = dtrtri(lower, lower=1)[0]
        below = panels[p, _WIDE:] = panels[p, _WIDE:] @ inverse.T
        for q in range(min((tall - _WIDE) // _WIDE, count - p - 1)):
            rest = below[q * _WIDE :]
            panels[p + 1 + q, : len(rest)] -= rest @ rest[:_WIDE].T
    return inverses
