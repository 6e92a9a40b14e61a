"""Trying the surface without each reading, and telling which readings spoil it.

The surface near its answer is taken as a spline of offsets along its normals, so that leaving a
reading out is a rank-one step. *Pull* q is the share of its own value in its fit at weight one.
A reading is given up when it lies further out than its fellows do AND its neighbours fit better
without it: where the surface is too stiff for a real bend all neighbours agree, and stay.
Two blunders side by side hide each other, so near pairs are tried too.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.numerics.banded import Banded, upper_band
from ribband.numerics.smoothing import robust_spread

__all__ = ["LeaveOut", "halves", "neighbours"]

_NEAR = 8
_BESIDE = 4
_CHANCE = 1.5  # neighbours worse by more than this many times chance: it is a real bend
_CANNOT_TELL = 0.7


def halves(rows: Any, weights: Floats, stiffness: Any) -> Floats:
    """Give H (m, n) with H H' = Q = A (A' W A + stiffness)^-1 A', of sparse rows A (m, n)."""
    from scipy.linalg import solve_triangular  # noqa: PLC0415

    band = upper_band(rows.T @ rows.multiply(weights[:, None]).tocsr() + stiffness)
    band[-1] += 1e-10 * band[-1].mean()
    root, width, size = Banded(band).root(), len(band) - 1, band.shape[1]
    first = np.minimum.reduceat(rows.indices, rows.indptr[:-1])
    order = np.argsort(first, kind="stable")  # a reading's half begins at its first live function
    half = np.asarray(rows[order].toarray(), float)
    for low in range(0, size, width):
        here, before = slice(low, low + width), slice(max(low - width, 0), low)
        live = half[: np.searchsorted(first[order], low + width)]
        live[:, here] -= live[:, before] @ root[before, here]
        live[:, here] = solve_triangular(
            root[here, here], live[:, here].T, trans="T", check_finite=False
        ).T
    return half[np.argsort(order)]


@dataclass(eq=False)
class LeaveOut:
    """The state of the trial: changed as readings are given up, and by nothing else.

    off : (m,) reading less surface; half : (m, n), H H' is Q as it was at first
    use : (m,) weights, 0 = given up
    certain : (m,) True where the shipwright has spoken and the reading must stay
    weights : (m,) as the readings came, 0 only where the shipwright gave one up
    bent : readings put back because they show a real bend; they stay
    share : (m,) how much of an error in the way it was read shows square to the surface
    blind : with more pull than this on its own fit a reading has nothing to be judged by
    chance : how many times chance the neighbours may fit worse without a reading given up
    """

    off: Floats
    half: Floats
    use: Floats
    near: NDArray[np.intp]
    certain: NDArray[np.bool_]
    share: Floats
    weights: Floats
    chance: float = _CHANCE
    blind: float = _CANNOT_TELL
    bent: list[int] = field(default_factory=list)
    steps: list[tuple[float, Floats]] = field(default_factory=list)  # Q less H H', as outers

    def q(self, i: NDArray[np.intp], j: NDArray[np.intp]) -> Floats:
        """Give Q at rows i and columns j (broadcast together), as it is now."""
        now = np.einsum("...n,...n->...", self.half[i], self.half[j])
        for sign, column in self.steps:
            now = now + sign * column[i] * column[j]
        return np.asarray(now, float)

    def column(self, i: int) -> Floats:
        """Give one column of Q, (m,), as it is now."""
        now = self.half @ self.half[i]
        for sign, column in self.steps:
            now = now + sign * column * column[i]
        return np.asarray(now, float)

    @cached_property
    def _first_own(self) -> Floats:
        return np.asarray(np.einsum("mn,mn->m", self.half, self.half), float)

    @property
    def own(self) -> Floats:
        """Give the diagonal of Q, (m,)."""
        return self._first_own + sum(sign * column**2 for sign, column in self.steps)

    @property
    def pull(self) -> Floats:
        """Each reading's weight in its own fit."""
        return np.asarray(self.own * self.use, float)

    @property
    def without(self) -> Floats:
        """Each reading less the surface faired without it, square to the surface."""
        return np.asarray(self.off / np.maximum(1 - self.pull, 0.02), float)

    @property
    def size(self) -> Floats:
        """Errors brought to one scale: all would spread alike if none were a blunder.

        An error is made in the way a reading is taken, so one read aslant shows less of it.
        """
        inside = np.sqrt(np.where(self.use > 0, self.use, 1.0) / np.maximum(1 - self.pull, 0.02))
        outside = 1 / np.sqrt(1 + self.own)
        scale = np.where(self.use > 0, inside, outside) / self.seen
        return np.asarray(np.abs(self.off) * scale, float)

    @property
    def seen(self) -> Floats:
        """The share of an error that shows, no less than a half."""
        return np.maximum(self.share, 0.5)

    def spread(self) -> float:
        """Give the usual error of the readings in use."""
        return robust_spread(self.size[self.use > 0])

    def give_up(self, i: int) -> None:
        """Leave reading i out; everything else follows by a rank-one step."""
        column, weight = self.column(i), self.use[i]
        left = max(1 - weight * column[i], 1e-6)
        self.off = self.off + weight * column * self.off[i] / left
        self.steps.append((1.0, column * np.sqrt(weight / left)))
        self.use[i] = 0.0

    def worst(self, times: float, least_mm: float) -> tuple[int, ...]:
        """Give the reading, or the near pair, to give up next; empty when none."""
        limit = max(times * self.spread(), 1e-9)
        may = (self.use > 0) & ~self.certain & (self.pull < self.blind)
        out = may & (self.size > limit) & (np.abs(self.without) > least_mm * self.share)
        for i in np.argsort(-np.where(out, self.size, 0.0))[: int(out.sum())]:
            if self._neighbours_gain(int(i)):
                return (int(i),)
        return self._pair(limit, least_mm, may)

    def _neighbours_gain(self, *gone: int) -> bool:
        """Tell whether the neighbours fit no worse, beyond chance, once `gone` are given up."""
        around = np.setdiff1d(self.near[list(gone)].ravel(), gone)
        around = around[self.use[around] > 0]
        moves = self._moves(gone, around)
        before = self.off[around]
        gain = np.sum(self.use[around] * (before**2 - (before + moves) ** 2))
        shown = moves * self.seen[around]
        chance = 2 * self.spread() * np.sqrt(np.sum(self.use[around] * shown**2))
        return bool(gain > -self.chance * chance)

    def _moves(self, gone: tuple[int, ...], around: NDArray[np.intp]) -> Floats:
        """Tell how much more each of `around` lies out once `gone` are given up."""
        pick = np.array(gone, np.intp)
        left = np.eye(len(pick)) - self.q(pick[:, None], pick[None]) * self.use[pick]
        alone = np.linalg.solve(left, self.off[pick])
        reach: Floats = self.q(around[:, None], pick[None]) * self.use[pick]
        return np.asarray(reach @ alone, float)

    def _pair(self, limit: float, least_mm: float, may: NDArray[np.bool_]) -> tuple[int, ...]:
        """Find two near readings that hide each other: each far out once both are gone."""
        i = np.repeat(np.arange(len(self.off)), 4)
        j = self.near[:, :4].ravel()
        keep = may[i] & may[j] & (i < j) & (self.size[i] + self.size[j] > 0.6 * limit)
        i, j = i[keep], j[keep]
        if not len(i):
            return ()
        w = self.use
        own = self.own
        a, d = 1 - own[i] * w[i], 1 - own[j] * w[j]
        both = self.q(i, j)
        b, c = -both * w[j], -both * w[i]
        det = np.maximum(a * d - b * c, 0.02)
        first = (d * self.off[i] - b * self.off[j]) / det
        second = (a * self.off[j] - c * self.off[i]) / det
        free_i, free_j = np.sqrt(np.maximum(det / d, 0.02)), np.sqrt(np.maximum(det / a, 0.02))
        size = np.minimum(
            np.abs(first) * free_i / self.seen[i], np.abs(second) * free_j / self.seen[j]
        )
        size *= np.abs(
            np.minimum(np.abs(first) / self.share[i], np.abs(second) / self.share[j])
        ) > (least_mm)
        size *= np.minimum(det / d, det / a) > 1 - self.blind
        for k in np.argsort(-size)[:20]:
            if size[k] <= 1.15 * limit:
                return ()
            if self._neighbours_gain(int(i[k]), int(j[k])):
                return int(i[k]), int(j[k])
        return ()

    def take_back(self, times: float, least_mm: float) -> bool:
        """Use again what no longer lies out."""
        close = self.size < 0.85 * times * self.spread()
        close |= np.abs(self.off) < 0.85 * least_mm * self.share
        back = (self.use == 0) & (self.weights > 0) & close
        for i in np.flatnonzero(back).tolist():
            self.use_again(i)
        return bool(back.any())

    def use_again(self, i: int) -> None:
        """Take reading i back into use."""
        weight = float(self.weights[i])
        column = self.column(i)
        all_told = 1 + weight * column[i]
        self.off = self.off - weight * column * self.off[i] / all_told
        self.steps.append((-1.0, column * np.sqrt(weight / all_told)))
        self.use[i] = weight

    def _bends(self) -> list[int]:
        """Find three or more given up side by side, all out the same way: that is a real bend."""
        gone = set(np.flatnonzero((self.use == 0) & (self.weights > 0)).tolist())
        beside = self.near[:, :_BESIDE]
        found: list[int] = []
        while gone:
            group, edge = set(), {gone.pop()}
            while edge:
                i = edge.pop()
                group.add(i)
                around = [j for j in gone if j in beside[i] or i in beside[j]]
                alike = {j for j in around if self.off[j] * self.off[i] > 0}
                gone -= alike
                edge |= alike
            if len(group) >= 3:
                found += sorted(group)
        return found

    def search(self, times: float, least_mm: float) -> None:
        """Give up readings one after another (or in near pairs) until none is doubted."""
        for _ in range(max(len(self.off) // 6, 1)):
            gone = self.worst(times, least_mm)
            if not gone:
                break
            for i in gone:
                self.give_up(i)
        self.bent = self._bends()
        for i in self.bent:
            self.use_again(i)


def neighbours(points: Floats, count: int = _NEAR) -> NDArray[np.intp]:
    """Give the nearest readings of each, (m, count), nearest first."""
    from scipy.spatial import cKDTree  # noqa: PLC0415

    count = min(count, len(points) - 1)
    _, order = cKDTree(points).query(points, count + 1)
    return np.asarray(order, np.intp)[:, 1:]
