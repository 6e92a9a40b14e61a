"""Normal equations of a tensor spline in space, summed straight into a band.

A *node* is one of the n_u n_v coefficients; each has three coordinates. A reading touches the 16
nodes alive at its foot, so it adds to the *pairs* of nodes at most three apart each way. Of each
pair only the later node is kept: 25 *steps* from a node to itself or one after it. Errors weigh
by direction, so a pair holds the six numbers of a symmetric 3 x 3 matrix: xx xy xz yy yz zz.

Not checked: that the equations can be solved.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

__all__ = ["Layout", "Pairs", "layout_of", "pair_sums"]

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Pairs = Floats  # (n_u n_v, 25, 6)

_STEPS = [(0, dv) for dv in range(4)] + [(du, dv) for du in (1, 2, 3) for dv in range(-3, 4)]
_LIVE = [(i, j) for i in range(4) for j in range(4)]
_EARLIER, _LATER = (
    np.array(each, np.intp)
    for each in zip(*[(a, b) for a in range(16) for b in range(a, 16)], strict=True)
)
_STEP = np.array(
    [
        _STEPS.index((_LIVE[b][0] - _LIVE[a][0], _LIVE[b][1] - _LIVE[a][1]))
        for a, b in zip(_EARLIER, _LATER, strict=True)
    ],
    np.intp,
)
_PART = np.array([[0, 1, 2], [1, 3, 4], [2, 4, 5]], np.intp)
_UPPER = (np.array([0, 0, 0, 1, 1, 2]), np.array([0, 1, 2, 1, 2, 2]))


def pair_sums(
    nodes: tuple[int, int], first: tuple[Ints, Ints], values: Floats, weigh: Floats
) -> Pairs:
    """Sum readings into pairs: weigh (m, 3, 3) times products of the basis' values.

    Parameters
    ----------
    nodes : n_u, n_v
    first : the first live node each way, (m,) and (m,)
    values : (m, 16) of the tensor basis, the live functions across running fastest

    >>> at = np.zeros(1, np.intp)
    >>> pairs = pair_sums((4, 4), (at, at), np.ones((1, 16)), np.eye(3)[None])
    >>> pairs.shape, float(pairs.sum())
    ((16, 25, 6), 408.0)
    """
    across = nodes[1]
    ahead = np.array([i * across + j for i, j in _LIVE], np.intp)
    node = (first[0] * across + first[1])[:, None] + ahead[_EARLIER]
    place = (node * len(_STEPS) + _STEP).ravel()
    product = values[:, _EARLIER] * values[:, _LATER]
    size = nodes[0] * across * len(_STEPS)
    parts = weigh[:, _UPPER[0], _UPPER[1]]
    sums = [np.bincount(place, (product * part[:, None]).ravel(), size) for part in parts.T]
    return np.asarray(np.stack(sums, axis=-1).reshape(-1, len(_STEPS), 6), float)


@dataclass(frozen=True, eq=False)
class Layout:
    """Where pairs stand in the upper band (width + 1, size) of the free unknowns."""

    width: int
    size: int
    taken: Ints
    put: Ints

    def band(self, pairs: Pairs) -> Floats:
        """Lay pairs out as LAPACK keeps an upper band."""
        band = np.zeros((self.width + 1) * self.size)
        band[self.put] = pairs.ravel()[self.taken]
        return band.reshape(self.width + 1, self.size)


def layout_of(free: NDArray[np.bool_]) -> Layout:
    """Find where everything goes; free (n_u, n_v, 3) is True where readings decide.

    >>> layout_of(np.ones((4, 4, 3), bool)).width
    47
    """
    n_u, n_v = free.shape[:2]
    place = np.where(free, np.cumsum(free).reshape(free.shape) - 1, -1)
    padded = np.full((n_u + 3, n_v + 6, 3), -1, np.intp)
    padded[:n_u, 3 : n_v + 3] = place
    later = np.stack([padded[du : du + n_u, 3 + dv : 3 + dv + n_v] for du, dv in _STEPS], axis=2)
    row, column = (
        a.reshape(n_u * n_v, len(_STEPS), 3, 3)
        for a in np.broadcast_arrays(place[:, :, None, :, None], later[:, :, :, None, :])
    )
    node, step, i, j = np.nonzero((row >= 0) & (column >= row))
    row, column = row[node, step, i, j], column[node, step, i, j]
    width, size = int((column - row).max(initial=0)), int(free.sum())
    taken = (node * len(_STEPS) + step) * 6 + _PART[i, j]
    return Layout(width, size, taken, (width + row - column) * size + column)
