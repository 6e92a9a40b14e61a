"""Cubic B-splines: a basis on chosen breaks, and tensor products of two of them.

*Breaks* are the points where the cubic pieces meet; both ends are clamped, so the first and last
coefficients are the values there. A basis of b breaks has b + 2 functions, four of them alive on
each piece. Each function is kept as polynomials on its pieces, so that values and derivatives of
many points come from one table.

Not checked: that points lie between the first and last break (the end pieces are carried on).
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

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
        """Polynomials (b - 1, 4 powers, 4 functions) in the distance from a piece's start."""
        from scipy.interpolate import BSpline  # noqa: PLC0415 - heavy, and only here

        splines = BSpline(self.knots, np.eye(self.size), 3)
        low = self.breaks[:-1]
        alive = np.arange(len(low))[:, None] + np.arange(4)
        powers = [
            np.take_along_axis(splines(low, nu), alive, 1) / f for nu, f in enumerate((1, 1, 2, 6))
        ]
        return np.stack(powers, axis=1)

    def alive(self, at: ArrayLike, derivative: int = 0) -> tuple[Ints, Floats]:
        """Give the first live function (m,) and the four values (m, 4) at points (m,)."""
        at = np.asarray(at, float)
        first = np.clip(np.searchsorted(self.breaks, at, "right") - 1, 0, len(self.breaks) - 2)
        step = (at - self.breaks[first])[..., None]
        p = self._pieces[first]
        if derivative == 0:
            values = ((p[..., 3, :] * step + p[..., 2, :]) * step + p[..., 1, :]) * step
            return first, values + p[..., 0, :]
        if derivative == 1:
            return first, (3 * p[..., 3, :] * step + 2 * p[..., 2, :]) * step + p[..., 1, :]
        if derivative == 2:
            return first, 6 * p[..., 3, :] * step + 2 * p[..., 2, :]
        return first, 6 * p[..., 3, :] + 0 * step

    def matrix(self, at: ArrayLike, derivative: int = 0) -> Floats:
        """Give values of all functions (m, n) at points (m,)."""
        first, values = self.alive(at, derivative)
        full = np.zeros((len(values), self.size))
        np.put_along_axis(full, first[:, None] + np.arange(4), values, 1)
        return full

    def gram(self, derivative: int) -> Floats:
        """Give the integrals of products of derivatives, (n, n), exact."""
        nodes, weights = np.polynomial.legendre.leggauss(4)
        half = np.diff(self.breaks)[:, None] / 2
        at = (self.breaks[:-1, None] + half * (1 + nodes)).ravel()
        rows = self.matrix(at, derivative)
        weighted: Floats = rows * (half * weights).ravel()[:, None]
        return np.asarray(weighted.T @ rows, float)

    @cached_property
    def _interpolator(self) -> Floats:
        return np.asarray(np.linalg.inv(self.matrix(self.greville)), float)

    def through(self, values: Floats) -> Floats:
        """Give coefficients (n, ...) of the spline through values (n, ...) at `greville`."""
        return np.tensordot(self._interpolator, values, axes=(1, 0))


def even_basis(pieces: int) -> Basis:
    """Give a basis on `pieces` even pieces of 0 to 1."""
    return Basis(np.linspace(0.0, 1.0, pieces + 1))


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
        flat_u, flat_v = u.ravel(), v.ravel()
        live_u = {d: self.along.alive(flat_u, d) for d in {d for d, _ in derivatives}}
        live_v = {d: self.across.alive(flat_v, d) for d in {d for _, d in derivatives}}
        first_u = next(iter(live_u.values()))[0]
        first_v = next(iter(live_v.values()))[0]
        rows = first_u[:, None] + np.arange(4)
        columns = first_v[:, None] + np.arange(4)
        patch = self.coefficients[rows[:, :, None], columns[:, None, :]]
        shape = (*u.shape, self.coefficients.shape[2])
        many = len(flat_u)
        half = {
            d: np.matmul(live[1][:, None, :], patch.reshape(many, 4, 4 * shape[-1]))
            for d, live in live_u.items()
        }
        return [
            np.matmul(live_v[b][1][:, None, :], half[a].reshape(many, 4, shape[-1])).reshape(shape)
            for a, b in derivatives
        ]

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
