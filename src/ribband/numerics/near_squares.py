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
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

__all__ = ["Block", "Kept", "after", "least_push", "limited_step", "total"]

Floats = NDArray[np.float64]


@dataclass(slots=True)
class Kept:
    """What solving one problem leaves for the next, much like it; empty to begin with."""

    factor: _Factor | None = None


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


def limited_step(  # noqa: PLR0917
    blocks: Sequence[Block],
    limits: Block,
    n: int,
    ridge: float = 1e-9,
    stiff: float = 1e3,
    push: Floats | None = None,
    close: float = 1e-3,
    kept: Kept | None = None,
) -> tuple[Floats, Floats]:
    """Give the step (n,) that keeps value + slope . step <= 0 of `limits`, and the pushes (R,).

    A push is what the limit gains per unit of ease, half the fall of the sum of squares; `push`
    are those of a problem much like this one, to begin from. Limits are put in where they are
    passed most, in runs of neighbouring rows, until none is over by more than `close`; where
    they cannot all be kept the sum of the squares of what is left over is least. Where very many
    bind they are springs of stiffness `stiff` with a push that grows, and a little is left over.
    With `kept`, the factor kept there is used in place of this problem's own, if there is one, and
    what was used is kept: the step is then as near as the two problems are alike.

    >>> pull = Block(np.array([-3.0]), np.array([[0]]), np.ones((1, 1)))
    >>> wall = Block(np.array([-1.0]), np.array([[0]]), np.ones((1, 1)))  # step <= 1
    >>> step, push = limited_step([pull], wall, 1)
    >>> step.round(4), push.round(4)
    (array([1.]), array([2.]))
    """
    if push is None:
        push = np.zeros(len(limits.value))
    if n == 0:
        return np.zeros(0), push
    factor = kept.factor if kept else None
    if factor is None:
        factor = _Factor(_Sums.of(blocks, n, _reach(limits)), ridge)
    if kept is not None:
        kept.factor = factor
    free = factor.solved(_right(blocks, factor.size))
    step, held = free, _Held(factor, limits, after(limits, free))
    new = np.flatnonzero(push > 0)
    for _ in range(_ROUNDS):
        if len(new) + len(held.rows) > _MANY:
            return _sprung(blocks, limits, step, 0.0 * push, stiff, ridge, close)
        if len(new):
            held.add(new)
            step = held.pushed_back(free)
            if held.push.max() > stiff**2 * _HARDEST:
                return _sprung(blocks, limits, step, 0.0 * push, stiff, ridge, close)
        off = after(limits, step)
        off[held.rows] = 0.0
        new = _peaks(off, close)
        if not len(new):
            break
    return step, held.every()


_ROUNDS = 25
_MANY = 250
_UNMOVED = 1e-6  # of the most a limit gives: one that no unknown moves
_SOFT = 1e-7  # of the mean give of a limit: keeps what cannot be kept from dividing by nothing


def _some(block: Block, keep: NDArray[Any]) -> Block:
    return Block(block.value[keep], block.index[keep], block.slope[keep])


def _dense(block: Block, size: int) -> Floats:
    """Give the slopes of a block as columns (size, R)."""
    columns = np.zeros((size, len(block.value)))
    column = np.broadcast_to(np.arange(len(block.value))[:, None], block.index.shape)
    there = block.index >= 0
    np.add.at(columns, (block.index[there], column[there]), block.slope[there])
    return columns


def after(block: Block, step: Floats) -> Floats:
    """Give the residuals (R,) of a block after a step, to first order."""
    moved = np.append(step, 0.0)[block.index]  # -1, the last, is an unknown that is held
    value: Floats = block.value + np.einsum("rq,rq->r", block.slope, moved)
    return value


def _sprung(  # noqa: PLR0917
    blocks: Sequence[Block],
    limits: Block,
    step: Floats,
    push: Floats,
    stiff: float,
    ridge: float,
    close: float,
) -> tuple[Floats, Floats]:
    """Limits as springs that push one way, no harder than `stiff` squared times `_HARDEST`.

    For given pushes the pattern of those that are on is found by Newton steps, each gone along
    as far as it gains; then the pushes are what the springs bear, once more.
    """
    sums = _Sums.of(blocks, len(step), _reach(limits))
    hardest = stiff**2 * _HARDEST
    stiff *= _YIELDING
    for _ in range(_TIMES):
        push = np.minimum(push, hardest)
        step = _pattern(sums, limits, step, push, stiff, ridge)
        off = after(limits, step)
        push = np.maximum(push + stiff**2 * off, 0.0)
        if off.max() < close or push.max() > hardest:
            break
    return step, push


_TIMES, _PATTERNS = 4, 6
_YIELDING = 0.06  # of the stiffness, for springs that have to give
_HARDEST = 0.4  # mm: a limit that would push harder cannot be kept


def _pattern(  # noqa: PLR0917
    sums: _Sums, limits: Block, step: Floats, push: Floats, stiff: float, ridge: float
) -> Floats:
    """Give the least of half the squares and of the springs for set pushes."""
    on = np.zeros(len(push), bool)
    for _ in range(_PATTERNS):
        off = after(limits, step)
        before, on = on, push / stiff**2 + off > 0
        if np.array_equal(before, on):
            break
        some = _some(limits, on)
        springs = Block(stiff * some.value + push[on] / stiff, some.index, stiff * some.slope)
        both = sums.plus(springs)
        there = _Factor(both, ridge).solved(_right(both.blocks, both.size))
        step = step + _gained(sums, limits, step, there - step, push, stiff**2) * (there - step)
    return step


def _gained(  # noqa: PLR0917
    sums: _Sums, limits: Block, step: Floats, way: Floats, push: Floats, strong: float
) -> float:
    """How far (0 to 1) along a way there is something to gain: where the slope turns up."""
    off = push + strong * after(limits, step)
    turn = strong * (after(limits, way) - limits.value)
    flat, bend = 0.0, 0.0
    for block in sums.blocks:
        value, change = after(block, step), after(block, way) - block.value
        flat, bend = flat + float(value @ change), bend + float(change @ change)

    def slope(t: float) -> float:
        return flat + t * bend + float(np.maximum(off + t * turn, 0.0) @ turn) / strong

    if slope(1.0) <= 1e-6 * abs(slope(0.0)):
        return 1.0
    low, high = 0.0, 1.0
    for _ in range(12):
        middle = (low + high) / 2
        low, high = (middle, high) if slope(middle) < 0 else (low, middle)
    return high


def _peaks(off: Floats, close: float) -> NDArray[np.int64]:
    """Rows over by more than `close` and by no less than the rows on either side."""
    beside = np.concatenate([[-np.inf], off, [-np.inf]])
    return np.flatnonzero((off > close) & (off >= beside[:-2]) & (off > beside[2:]))


class _Held:
    """Limits that are held so far, and how each gives when another is pushed."""

    def __init__(self, factor: _Factor, limits: Block, off: Floats) -> None:
        self.factor, self.limits, self.off = factor, limits, off
        self.rows = np.zeros(0, int)
        self.half = np.zeros((factor.size, 0))  # the limits' slopes behind the lower factor
        self.give = np.zeros((0, 0))
        self.push = np.zeros(0)

    def add(self, new: NDArray[np.int64]) -> None:
        """Hold some more rows."""
        more = self.factor.forward(_dense(_some(self.limits, new), self.factor.size))
        cross, own = self.half.T @ more, more.T @ more
        own[np.diag_indices_from(own)] += _SOFT * self._gives(own.diagonal())
        self.give = np.block([[self.give, cross], [cross.T, own]])
        self.half = np.hstack([self.half, more])
        self.rows = np.concatenate([self.rows, new])
        self.push = np.concatenate([self.push, np.ones(len(new))])

    def _gives(self, own: Floats) -> Floats:
        """Give how much each limit gives by itself; one that nothing moves, the least of all."""
        most = max(float(own.max(initial=0.0)), float(self.give.max(initial=0.0)))
        return np.maximum(own, _UNMOVED * (most or 1.0))

    def pushed_back(self, free: Floats) -> Floats:
        """Push the free step back inside the limits held, by the least pushes that do it."""
        self.push = least_push(self.give, self.off[self.rows], self.push > 0)
        back = self.factor.backward((self.half @ self.push)[:, None])[:, 0]
        step: Floats = free - back[: len(free)]
        return step

    def every(self) -> Floats:
        """Give the pushes of all limits."""
        push = np.zeros(len(self.off))
        push[self.rows] = self.push
        return push


def least_push(
    give: Floats, off: Floats, on: NDArray[np.bool_] | None = None, rounds: int = 60
) -> Floats:
    """Solve push >= 0, give push - off >= 0, each row one or the other (positive definite give).

    Block principal pivoting from the rows `on`: all wrong signs change at once, one at a time
    when that stalls.

    >>> least_push(np.array([[2.0, 1.0], [1.0, 2.0]]), np.array([2.0, -1.0]))
    array([1., 0.])
    """
    on = off > 0 if on is None else on
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


@dataclass(frozen=True, slots=True, eq=False)
class _Sums:
    """The normal equations of blocks, gathered in panels (count, 32 + wide, 32).

    `n` unknowns; `size` is n rounded up to whole panels.
    """

    n: int
    panels: Floats
    blocks: tuple[Block, ...]

    @property
    def size(self) -> int:
        """How many rows the panels have between them."""
        return len(self.panels) * _WIDE

    @classmethod
    def of(cls, blocks: Sequence[Block], n: int, reach: int = 0) -> _Sums:
        """Gather blocks, with room for others that reach no further than `reach`."""
        reach = max([reach, *(_reach(block) for block in blocks)])
        count = -(-n // _WIDE)
        wide = _WIDE * max(-(-reach // _WIDE), 1)
        none = np.zeros((count, _WIDE + wide, _WIDE))
        return cls(n, none, ()).plus(*blocks)

    def plus(self, *blocks: Block) -> _Sums:
        """Add more blocks."""
        panels = _gathered(blocks, self.panels.shape)
        panels += self.panels
        return _Sums(self.n, panels, (*self.blocks, *blocks))


class _Factor:
    """Sums factored."""

    def __init__(self, sums: _Sums, ridge: float) -> None:
        self.n, self.size = sums.n, sums.size
        self.panels = panels = sums.panels.copy()
        steps = np.arange(_WIDE)
        panels[:, steps, steps] += ridge * panels[:, steps, steps].max() + 1e-300
        panels[-1, steps, steps] += np.arange(self.size - _WIDE, self.size) >= self.n
        self.inverses = _factored(panels)

    def solved(self, right: Floats) -> Floats:
        """Give the step (n,) that leaves the least sum of squares."""
        step: Floats = self.backward(self.forward(right[:, None].copy()))[: self.n, 0]
        return step

    def forward(self, right: Floats) -> Floats:
        """Solve with the lower factor in place, right (size, m), few columns at a time."""
        for first in range(0, right.shape[1], _WIDE):
            self._forward(right[:, first : first + _WIDE])
        return right

    def _forward(self, right: Floats) -> None:
        tall = self.panels.shape[1]
        for p, inverse in enumerate(self.inverses):
            here = slice(p * _WIDE, (p + 1) * _WIDE)
            right[here] = inverse @ right[here]
            below = right[(p + 1) * _WIDE : p * _WIDE + tall]
            below -= self.panels[p, _WIDE : _WIDE + len(below)] @ right[here]

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
    columns = np.ascontiguousarray(block.index.T)
    high = np.maximum.reduce(columns)
    low = np.minimum.reduce(np.where(columns < 0, np.iinfo(np.int64).max, columns))
    return int(np.max(np.where(high >= 0, high - low, 0)))


@lru_cache(maxsize=64)
def _pairs(columns: int) -> tuple[NDArray[Any], NDArray[Any]]:
    return np.triu_indices(columns)


def _gathered(blocks: Sequence[Block], shape: tuple[int, ...]) -> Floats:
    """Sum slope' slope of blocks into panels of `shape`."""
    wide = shape[1] - _WIDE
    at, product = [], []
    for block in blocks:
        free = block.index.T >= 0  # a column of the block to a row here: they lie together
        slope = np.where(free, block.slope.T, 0.0)
        index = np.where(free, block.index.T, 0)
        i, j = _pairs(len(index))
        a, b = index[i], index[j]
        squares = slope[i]
        squares *= slope[j]
        twice = a == b
        twice[i == j] = False
        squares[twice] *= 2.0  # the same unknown twice in a row
        low = np.minimum(a, b)
        panel = low // _WIDE
        at.append(((panel * (wide - 1) + np.maximum(a, b)) * _WIDE + low).ravel())
        product.append(squares.ravel())
    return _added(at, product, int(np.prod(shape))).reshape(shape)


def _right(blocks: Sequence[Block], size: int) -> Floats:
    """Sum -slope' value of blocks into a right-hand side (size,)."""
    row, pull = [np.zeros(0, int)], [np.zeros(0)]
    for block in blocks:
        free = block.index >= 0
        row.append(np.where(free, block.index, 0).ravel())
        pull.append((np.where(free, block.slope, 0.0) * block.value[:, None]).ravel())
    return -_added(row, pull, size)


def _added(at: list[NDArray[np.int64]], parts: list[Floats], size: int) -> Floats:
    none = np.zeros(0)
    total: Floats = np.bincount(
        np.concatenate([none.astype(int), *at]), np.concatenate([none, *parts]), size
    ).astype(float, copy=False)
    return total


def _factored(panels: Floats) -> Floats:
    """Factor panels (count, 32 + wide, 32) in place; give the inverses of their heads."""
    from scipy.linalg.lapack import dpotrf, dtrtri  # noqa: PLC0415 - heavy, loaded when needed

    count, tall, _ = panels.shape
    inverses = np.empty((count, _WIDE, _WIDE))
    for p in range(count):
        # the library stores by columns: our lower triangle is its upper
        upper, info = dpotrf(panels[p, :_WIDE].T, lower=0, clean=1)
        if info:
            raise np.linalg.LinAlgError("the sums are not positive definite")
        inverses[p] = inverse = dtrtri(upper, lower=0)[0].T
        below = panels[p, _WIDE:] = panels[p, _WIDE:] @ inverse.T
        for q in range(min((tall - _WIDE) // _WIDE, count - p - 1)):
            rest = below[q * _WIDE :]
            panels[p + 1 + q, : len(rest)] -= rest @ rest[:_WIDE].T
    return inverses
