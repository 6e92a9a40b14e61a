"""Symmetric banded systems from sparse parts.

Not checked: that the matrix is positive definite; the factor raises `NotConverged` if not.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

from ribband.errors import NotConverged

__all__ = ["Banded", "upper_band"]

Floats = NDArray[np.float64]


def upper_band(matrix: Any, width: int = 0) -> Floats:
    """Give the upper band (width + 1, n) of a symmetric sparse matrix, as LAPACK keeps it.

    It is made as wide as the matrix needs, and no less than `width`.
    """
    entries = matrix.tocoo()
    up = entries.col >= entries.row
    row, column, value = entries.row[up], entries.col[up], entries.data[up]
    width = max(int((column - row).max(initial=0)), width)
    band = np.zeros((width + 1, matrix.shape[0]))
    np.add.at(band, (width + row - column, column), value)
    return band


class Banded:
    """The Cholesky factor of a banded matrix given by its upper band.

    >>> float(Banded(np.array([[0.0, 1.0], [2.0, 2.0]])).solve(np.array([3.0, 3.0]))[0])
    1.0
    """

    def __init__(self, band: Floats) -> None:
        from scipy.linalg import LinAlgError, cholesky_banded  # noqa: PLC0415

        try:
            self._factor = cholesky_banded(band, check_finite=False)
        except LinAlgError as error:
            raise NotConverged("the fairing equations have no single answer") from error

    def root(self) -> Floats:
        """Give the factor in full: U (n, n), zero below the diagonal, with U' U the matrix.

        >>> Banded(np.array([[0.0, 2.0], [4.0, 5.0]])).root().tolist()
        [[2.0, 1.0], [0.0, 2.0]]
        """
        width, size = self._factor.shape[0] - 1, self._factor.shape[1]
        full = np.zeros((size, size))
        for up, row in enumerate(self._factor[::-1][: min(width + 1, size)]):
            full.ravel()[up :: size + 1][: size - up] = row[up:]
        return full

    def drawn(self, even: Floats) -> Floats:
        """Turn even draws (n, k), of no pull and spread 1, into draws that spread as A^-1 does.

        >>> float(Banded(np.array([[0.0, 0.0], [4.0, 4.0]])).drawn(np.ones((2, 1)))[0, 0])
        0.5
        """
        from scipy.linalg.lapack import dtbtrs  # noqa: PLC0415

        found, _ = dtbtrs(self._factor, even, uplo="U")
        return np.asarray(found, float)

    def solve(self, right: Floats) -> Floats:
        """Solve for right-hand sides (n,) or (n, k)."""
        from scipy.linalg import cho_solve_banded  # noqa: PLC0415

        return np.asarray(cho_solve_banded((self._factor, False), right, check_finite=False))
