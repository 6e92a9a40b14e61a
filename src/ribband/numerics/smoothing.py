"""Smoothing splines with the THIRD derivative held small, as a stiff batten would lie.

    minimise  sum w (y - f(x))^2 + smooth * integral (f''')^2

The *smoothing* is chosen by generalised cross-validation (Craven and Wahba, 1979) with the
degrees of freedom counted `COUNTED` times, against its known taste for wiggles. What each fitted
value owes to each reading is kept, so leaving one out is a rank-one step, not another fit.

Not checked: that x increases or that there are enough readings for a parabola.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ribband.numerics.bspline import Basis

__all__ = [
    "COUNTED",
    "Smooth",
    "batten_basis",
    "even_root",
    "robust_spread",
    "smooth_line",
    "smooth_lines",
]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
COUNTED = 1.3
_FEW = 12
_NEAR = 0.2  # of the usual gap; places nearer than this share a break
_EXACT = 0.5  # mm: readings this sure are passed through, however many
_FINEST = 0.02  # mm: no reading is better than this; of lines as good the stiffest is taken


@dataclass(frozen=True, eq=False)
class Smooth:
    """A fair line f, with what is needed to try it without each reading.

    half : (m, k), whose product with itself is what each fitted value owes to each reading of
        weight one
    residual : (m,), reading less fit; weights : (m,)
    root : (n, k), whose product with itself is how the coefficients spread, for readings of
        weight one that spread by 1 (as if the line had been drawn with that stiffness)
    """

    basis: Basis
    coefficients: Floats
    half: Floats
    residual: Floats
    weights: Floats
    smoothing: float
    root: Floats

    def at(self, x: ArrayLike, derivative: int = 0) -> Floats:
        """Give the line, or a derivative, at points (m,)."""
        rows = self.basis.matrix(np.atleast_1d(np.asarray(x, float)), derivative)
        return np.asarray(rows @ self.coefficients, float)

    @property
    def own(self) -> Floats:
        """What each fitted value owes to its own reading, of weight one, (m,)."""
        return np.asarray(np.sum(self.half**2, axis=1), float)

    @property
    def left_out(self) -> Floats:
        """Each reading less the line faired without it, (m,)."""
        return self.residual / np.maximum(1 - self.own * self.weights, 1e-9)


def batten_basis(x: Floats, finest: int = 120) -> Basis:
    """Give a basis with a break at each place, and one half-way in every gap.

    Places much nearer to each other than usual share a break: a piece far shorter than the rest
    is so stiff that it would set the scale of the whole fairing.

    >>> batten_basis(np.array([0.0, 1.0, 100.0, 200.0, 300.0])).breaks[:3].tolist()
    [0.0, 50.0, 100.0]
    """
    places = _apart(np.unique(x))
    breaks = np.sort(np.concatenate([places, (places[1:] + places[:-1]) / 2]))
    if len(breaks) > finest:
        breaks = np.interp(np.linspace(0, 1, finest), np.linspace(0, 1, len(breaks)), breaks)
    return Basis(breaks)


def _apart(places: Floats) -> Floats:
    """Leave out places nearer than a part of the usual gap to one kept; the ends are kept."""
    least = _NEAR * float(np.median(np.diff(places))) if len(places) > 2 else 0.0
    kept = [places[0]]
    for place in places[1:-1]:
        if place - kept[-1] >= least and places[-1] - place >= least:
            kept.append(place)
    return np.array([*kept, places[-1]])


def smooth_line(
    x: Floats,
    y: Floats,
    weights: Floats | None = None,
    basis: Basis | None = None,
    *,
    fixed: tuple[float | None, float | None] = (None, None),
    close: float = np.inf,
) -> Smooth:
    """Fair y over x.

    Parameters
    ----------
    x, y, weights : (m,); weight 0 leaves a reading out but still reports it
    basis : where the pieces meet; by default twice as fine as the readings
    fixed : values the line must have at the ends of the basis, or None
    close : with fewer than 12 readings, which cannot tell their own error, the line is no
        stiffer than brings it within this, rms

    >>> x = np.linspace(0, 1, 9)
    >>> line = smooth_line(x, 2 + 3 * x**2)
    >>> float(line.at(0.5)[0])
    2.75
    """
    basis = batten_basis(x) if basis is None else basis
    weights = np.ones(len(x)) if weights is None else weights
    return smooth_lines(x, (y,), (weights,), basis, fixed=(fixed,), close=(close,))[0]


def smooth_lines(
    x: Floats,
    values: Sequence[Floats],
    weights: Sequence[Floats],
    basis: Basis,
    *,
    fixed: Sequence[tuple[float | None, float | None]],
    close: Sequence[float],
    level: Sequence[bool] | None = None,
) -> list[Smooth]:
    """Fair several readings over the same x; those weighed alike share the hard work.

    A `level` line leaves its first, fixed, value without slope.
    """
    every, penalty = basis.matrix(x), basis.gram(3)
    known: list[tuple[Floats, Ints, _Modes]] = []
    lines = []
    level = (False,) * len(values) if level is None else level
    for y, w, ends, near, flat in zip(values, weights, fixed, close, level, strict=True):
        free, base = _held(basis, ends, level=flat)
        same = (m for v, f, m in known if np.array_equal(w, v) and np.array_equal(free, f))
        modes = next(same, None)
        if modes is None:
            modes = _Modes(every[:, free], penalty[np.ix_(free, free)], w)
            known.append((w, free, modes))
        aim, pull = y - every @ base, -penalty[free] @ base
        smoothing = modes.choose(aim, pull, near)
        full = base.copy()
        full[free] = modes.solve(aim, pull, smoothing)
        miss = y - every @ full
        root = np.zeros((basis.size, modes.shapes.shape[1]))
        root[free] = modes.root(smoothing)
        lines.append(Smooth(basis, full, modes.half(smoothing), miss, w, smoothing, root))
    return lines


class _Modes:
    """The fairing equations in the shapes that smoothing damps one by one.

    With V from the joint eigenproblem, V' (R'WR) V = 1 - m and V' P V = m, so that every
    smoothing is tried at the cost of a few products.
    """

    def __init__(self, rows: Floats, penalty: Floats, weights: Floats) -> None:
        normal = rows.T @ (weights[:, None] * rows)
        self.scale = float(np.trace(normal) / np.trace(penalty))
        both = normal + self.scale * penalty
        both += 1e-13 * np.trace(both) * np.eye(len(both))
        low = np.linalg.inv(np.linalg.cholesky(both))
        stiffness, turn = np.linalg.eigh(low @ (self.scale * penalty) @ low.T)
        self.stiffness = np.clip(stiffness, 0.0, 1.0)
        self.shapes = low.T @ turn
        self.rows = rows @ self.shapes
        self.weights = weights

    def damp(self, smoothing: float) -> Floats:
        s = smoothing / self.scale
        return np.asarray(1 / np.maximum(1 - self.stiffness + s * self.stiffness, 1e-15), float)

    def _parts(self, aim: Floats, pull: Floats, smoothing: float) -> Floats:
        right = self.rows.T @ (self.weights * aim) + smoothing * (self.shapes.T @ pull)
        return np.asarray(self.damp(smoothing) * right, float)

    def solve(self, aim: Floats, pull: Floats, smoothing: float) -> Floats:
        return np.asarray(self.shapes @ self._parts(aim, pull, smoothing), float)

    def half(self, smoothing: float) -> Floats:
        return np.asarray(self.rows * np.sqrt(self.damp(smoothing)), float)

    def root(self, smoothing: float) -> Floats:
        return np.asarray(self.shapes * np.sqrt(self.damp(smoothing)), float)

    def choose(self, aim: Floats, pull: Floats, close: float = np.inf) -> float:
        """Search the smoothing on a logarithmic scale, all tried at once.

        None is chosen that leaves no room, as a line through every reading does.
        """
        tried = 10.0 ** np.arange(-9.0, 7.0, 0.5)[:, None]
        damp = 1 / np.maximum((1 - self.stiffness) + tried * self.stiffness, 1e-15)
        used = int((self.weights > 0).sum())
        freedom = damp @ (self.weights @ self.rows**2)
        right = self.rows.T @ (self.weights * aim)
        parts = damp * (right + tried * self.scale * (self.shapes.T @ pull))
        miss = aim - parts @ self.rows.T
        room = used - COUNTED * freedom
        error = miss**2 @ self.weights + used * _FINEST**2
        score = error / np.maximum(room, 0.05 * used) ** 2
        score[room < 0.05 * used] = np.inf
        near = miss**2 @ self.weights <= close**2 * max(used, 1)
        if used < _FEW or close <= _EXACT:
            stiffest = np.where(near, -tried[:, 0], np.inf)
            score = np.where(near, score, np.inf) if np.isfinite(score[near]).any() else stiffest
        return float(self.scale * tried[int(np.argmin(score)), 0])


def _held(
    basis: Basis, fixed: tuple[float | None, float | None], *, level: bool = False
) -> tuple[Ints, Floats]:
    base = np.zeros(basis.size)
    held = []
    places = [(0, fixed[0]), (basis.size - 1, fixed[1]), *([(1, fixed[0])] if level else [])]
    for place, value in places:
        if value is not None:
            base[place] = value
            held.append(place)
    return np.setdiff1d(np.arange(basis.size), held), base


def even_root(root: Floats) -> Floats:
    """Give the one symmetric S (n, n) with S S = R R', of a root R (n, k).

    R itself may be turned over or round by rounding alone, and draws made with it come out other
    ones; S hangs on nothing but R R'.

    >>> turned = np.array([[0.0, 2.0], [-1.0, 0.0]])
    >>> even_root(turned).round(9).tolist()
    [[2.0, 0.0], [0.0, 1.0]]
    """
    sides, size, _ = np.linalg.svd(root, full_matrices=False)
    return np.asarray((sides * size) @ sides.T, float)


def robust_spread(errors: Floats) -> float:
    """Give the standard deviation of the bulk, from the median of the sizes.

    >>> round(robust_spread(np.array([-1.0, 1.0, -1.0, 1.0, 50.0])), 3)
    1.483
    """
    return float(1.4826 * np.median(np.abs(errors))) if len(errors) else 0.0
