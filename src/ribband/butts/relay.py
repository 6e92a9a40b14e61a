"""Laying strakes again, each the cheapest way against prices: exact, many strakes at once.

A strake's layout is a path fore end -> butt -> ... -> after end over allowed planks. With k
butts its least cost is found in k stages; each stage is one minimum over a band of planks, for
all strakes of the group and all columns together.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.lib.stride_tricks import as_strided
from numpy.typing import NDArray

from ribband.butts.tables import Tables
from ribband.hull.model import Floats

__all__ = ["Costs", "Relay"]

Ints = NDArray[np.int64]


class Costs(NamedTuple):
    """Costs of planks: between butts (w, S, n), the first (S, n) and the last (S, n)."""

    arc: Floats
    first: Floats
    last: Floats


class Relay:
    """A group of strakes with room for their sums.

    group : (B,) rows of the strakes; most : greatest number of butts in one strake
    costs : of planks; infinite where not allowed
    """

    def __init__(self, t: Tables, group: Ints, most: int, costs: Costs) -> None:
        self.group, self.most = group, most
        self.rows, self.back = np.arange(len(group)), t.back
        self.margin = int(t.back.max())
        count, n, band = len(group), t.open.shape[1], int(t.back[-1] - t.back[0]) + 1
        self.sums = np.full((most, count, self.margin + n), np.inf)
        self.shifted = [self._shift(s, int(t.back[0]), band, n) for s in self.sums]
        self.work = np.empty((band, count, n))
        self.whole = np.where(t.whole[group], 0.0, np.inf)
        self.price(costs)

    def price(self, costs: Costs) -> None:
        """Put in new costs of planks."""
        band = np.full((len(self.work), *costs.arc.shape[1:]), np.inf)
        band[self.back - self.back[0]] = costs.arc
        self.arc = np.ascontiguousarray(band[:, self.group])
        self.first, self.last = costs.first[self.group], costs.last[self.group]

    def lay(self, price: Floats) -> Ints:
        """Lay every strake of the group its cheapest way; price (B, n) of a butt at a column.

        Returns (B, most) columns, increasing, filled up with n. A strake that cannot be laid
        has none.
        """
        totals = [self.whole]
        best = self.first + price
        for k in range(self.most):
            if k:
                np.add(self.shifted[k - 1], self.arc, out=self.work)
                best = self.work.min(axis=0)
                best += price
            self.sums[k][:, self.margin :] = best
            totals.append((best + self.last).min(axis=1))
        return self._walk_back(np.array(totals), price.shape[1])

    def least(self) -> Floats:
        """Give (B,) the least cost of each strake alone."""
        count, n = len(self.group), self.first.shape[1]
        self.lay(np.zeros((count, n)))
        ends = [(s[:, self.margin :] + self.last).min(axis=1) for s in self.sums]
        return np.asarray(np.minimum(self.whole, np.min(ends, axis=0)))

    def _walk_back(self, totals: Floats, n: int) -> Ints:
        butts = totals.argmin(axis=0)
        out = np.full((len(self.group), self.most), n)
        at = np.zeros(len(self.group), dtype=np.int64)
        for k in range(int(butts.max()), 0, -1):
            begins = butts == k
            if begins.any():
                ends = (self.sums[k - 1][:, self.margin :] + self.last).argmin(axis=1)
                at = np.where(begins, ends, at)
            live = butts >= k
            out[live, k - 1] = at[live]
            if k > 1:
                ways_here = self.shifted[k - 2][:, self.rows, at] + self.arc[:, self.rows, at]
                at = np.maximum(at - self.back[0] - ways_here.argmin(axis=0), 0)
        return out

    def _shift(self, sums: Floats, nearest: int, band: int, n: int) -> Floats:
        """View sums (B, margin + n) as (band, B, n): entry [w, b, j] is that of column j - back."""
        down, along = sums.strides
        start = sums[:, self.margin - nearest :]
        return as_strided(start, shape=(band, len(sums), n), strides=(-along, down, along))
