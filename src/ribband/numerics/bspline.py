"""Cubic B-splines: a basis on chosen breaks, and tensor products of two of them.

*Breaks* are the points where the cubic pieces meet; both ends are clamped, so the first and last
coefficients are the values there. A basis of b breaks has b + 2 functions, four of them alive on
each piece. Each function is kept as polynomials on its pieces, so that values and derivatives of
many points come from one table.

Not checked: that points lie between the first and last break (the end pieces are carried on).
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

__all__ = ["Basis", "Tensor", "even_basis", "tensor_through"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class Basis:
    """The cubic B-splines on `breaks` (b,), increasing; n = b + 2 functions.

    >>> basis = even_basis(4)
    >>> basis.size
    7
    >>> float(basis.matrix([0.3]).sum())
    1.0
    """

    breaks: Floats

    @property
    def size(self) -> int:
        """How many functions there are."""
        return len(self.breaks) + 2

    @cached_property
    def knots(self) -> Floats:
        """The clamped knot vector, (b + 6,)."""
        first, last = self.breaks[0], self.breaks[-1]
        return np.concatenate([[first] * 3, self.breaks, [last] * 3])

    @cached_property
    def greville(self) -> Floats:
        """One abscissa to each function, (n,), where interpolation is well behaved."""
        k = self.knots
        return (k[1:-3] + k[2:-2] + k[3:-1]) / 3

    @cached_property
    def _pieces(self) -> Floats:
        """Polynomials (4 powers, b - 1, 4 functions) in the distance from a piece's start."""
        from scipy.interpolate import BSpline  # noqa: PLC0415 - heavy, and only here

        splines = BSpline(self.knots, np.eye(self.size), 3)
        low = self.breaks[:-1]
        alive = np.arange(len(low))[:, None] + np.arange(4)
        powers = [
            np.take_along_axis(splines(low, nu), alive, 1) / f for nu, f in enumerate((1, 1, 2, 6))
        ]
        return np.stack(powers)

    def alive(self, at: ArrayLike, derivative: int = 0) -> tuple[Ints, Floats]:
        """Give the first live function (m,) and the four values (m, 4) at points (m,)."""
        first, (values,) = self.alive_by(at, (derivative,))
        return first, values

    def alive_by(self, at: ArrayLike, derivatives: tuple[int, ...]) -> tuple[Ints, list[Floats]]:
        """Give the first live function (m,) and, for each derivative, four values (m, 4)."""
        at = np.asarray(at, float)
        first = np.clip(np.searchsorted(self.breaks, at, "right") - 1, 0, len(self.breaks) - 2)
        step = (at - self.breaks[first])[..., None]
        least = min(derivatives)  # lower powers are not needed
        p = [np.take(power, first, axis=0) if k >= least else power[:0]
             for k, power in enumerate(self._pieces)]  # fmt: skip
        return first, [_polynomial(p, step, derivative) for derivative in derivatives]

    def matrix(self, at: ArrayLike, derivative: int = 0) -> Floats:
        """Give values of all functions (m, n) at points (m,)."""
        first, values = self.alive(at, derivative)
        full = np.zeros((len(values), self.size))
        np.put_along_axis(full, first[:, None] + np.arange(4), values, 1)
        return full

    def gram(self, derivative: int, weight: Callable[[Floats], Floats] | None = None) -> Floats:
        """Give the integrals of products of derivatives, (n, n), exact; of `weight` times them."""
        nodes, weights = np.polynomial.legendre.leggauss(4)
        half = np.diff(self.breaks)[:, None] / 2
        at = (self.breaks[:-1, None] + half * (1 + nodes)).ravel()
        rows = self.matrix(at, derivative)
        share = (half * weights).ravel() * (1.0 if weight is None else weight(at))
        return np.asarray((rows * share[:, None]).T @ rows, float)

    @cached_property
    def _interpolator(self) -> Floats:
        return np.asarray(np.linalg.inv(self.matrix(self.greville)), float)

    def through(self, values: Floats) -> Floats:
        """Give coefficients (n, ...) of the spline through values (n, ...) at `greville`."""
        return np.tensordot(self._interpolator, values, axes=(1, 0))


def _polynomial(p: list[Floats], step: Floats, derivative: int) -> Floats:
    """Give the four functions (m, 4) of pieces, by powers p (m, 4), at steps (m, 1) into them."""
    if derivative == 0:
        return ((p[3] * step + p[2]) * step + p[1]) * step + p[0]
    if derivative == 1:
        return (3 * p[3] * step + 2 * p[2]) * step + p[1]
    if derivative == 2:
        return 6 * p[3] * step + 2 * p[2]
    return 6 * p[3] + 0 * step


def even_basis(pieces: int) -> Basis:
    """Give a basis on `pieces` even pieces of 0 to 1."""
    return Basis(np.linspace(0.0, 1.0, pieces + 1))


_AT_ONCE = 1500  # points whose shares of nodes stay near the processor


@dataclass(frozen=True, eq=False)
class Tensor:
    """A tensor-product spline: coefficients (n_u, n_v, d) on a basis each way.

    >>> u, v = even_basis(3), even_basis(2)
    >>> flat = Tensor(u, v, u.greville[:, None, None] + 0 * v.greville[None, :, None])
    >>> float(flat.at(0.25, 0.5)[0]), float(flat.at(0.25, 0.5, 1, 0)[0])
    (0.25, 1.0)
    """

    along: Basis
    across: Basis
    coefficients: Floats

    def at(self, u: ArrayLike, v: ArrayLike, by_u: int = 0, by_v: int = 0) -> Floats:
        """Give values (..., d), or derivatives, at u and v (broadcast together)."""
        return self.many(u, v, ((by_u, by_v),))[0]

    def many(
        self, u: ArrayLike, v: ArrayLike, derivatives: tuple[tuple[int, int], ...]
    ) -> list[Floats]:
        """Give several derivatives at once; cheaper than one by one."""
        u, v = np.broadcast_arrays(np.asarray(u, float), np.asarray(v, float))
        flat_u, flat_v, deep = u.ravel(), v.ravel(), self.coefficients.shape[2]
        found = np.empty((len(derivatives), u.size, deep))
        for first in range(0, u.size, _AT_ONCE):
            part = slice(first, first + _AT_ONCE)
            found[:, part] = self._some(flat_u[part], flat_v[part], derivatives)
        return list(found.reshape(len(derivatives), *u.shape, deep))

    def _some(self, u: Floats, v: Floats, derivatives: tuple[tuple[int, int], ...]) -> Floats:
        """Give derivatives (k, m, d) at as many points (m,) as the processor has at hand."""
        by_u, by_v = (tuple(dict.fromkeys(each)) for each in zip(*derivatives, strict=True))
        first_u, live_u = self.along.alive_by(u, by_u)
        first_v, live_v = self.across.alive_by(v, by_v)
        nodes = self.coefficients.reshape(-1, self.coefficients.shape[2])
        share = np.empty((len(derivatives), u.size, 4, 4))
        for k, (a, b) in enumerate(derivatives):
            np.multiply(
                live_u[by_u.index(a)][:, :, None], live_v[by_v.index(b)][:, None, :], out=share[k]
            )
        rows = self._rows(share, first_u, first_v)
        return np.asarray(rows @ nodes).reshape(len(derivatives), u.size, nodes.shape[1])

    def _rows(self, share: Floats, first_u: Ints, first_v: Ints) -> Any:
        """Give shares (k, m, 4, 4) of the nodes from `first` on as a sparse (k m, nodes)."""
        from scipy import sparse  # noqa: PLC0415 - heavy, and only here

        across = self.across.size
        ahead = (np.arange(4)[:, None] * across + np.arange(4)).ravel()
        node = ((first_u * across + first_v)[:, None] + ahead).astype(np.int32)
        columns = np.tile(node.ravel(), len(share))
        starts = np.arange(0, share.size + 1, 16, dtype=np.int32)
        shape = (share.size // 16, self.along.size * across)
        return sparse.csr_array((share.ravel(), columns, starts), shape=shape)

    def grid(self, u: Floats, v: Floats) -> Floats:
        """Give values (m_u, m_v, d) on a grid, by two matrix products."""
        half = np.tensordot(self.along.matrix(u), self.coefficients, axes=(1, 0))
        across = self.across.matrix(v)
        return np.asarray(np.einsum("vn,und->uvd", across, half, optimize=True), float)


def tensor_through(along: Basis, across: Basis, values: Floats) -> Tensor:
    """Give the spline through values (n_u, n_v, d) at the bases' Greville points."""
    half = along.through(values)
    full = np.swapaxes(across.through(np.swapaxes(half, 0, 1)), 0, 1)
    return Tensor(along, across, np.ascontiguousarray(full))
