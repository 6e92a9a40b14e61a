"""All patterns that a plan cheaper than the one at hand could use.

At the prices of the settled programme every pattern costs its board less what it cuts is worth,
nothing or more. The sum of that over a plan is the plan's distance from the bound, so a plan that
is cheaper by any amount uses only patterns whose own is under the gap. They are found by a walk
over the items, cut short where not even the best of the rest brings a pattern under the gap.

Only full patterns are needed, where nothing more that is wanted fits: more than was asked for
does no harm.
"""

from __future__ import annotations

import time
from collections.abc import Iterator, Sequence

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.timber.order.lengths import Item, Stock

__all__ = ["patterns_within"]

_MOST = 20_000  # patterns, past which solving for them would take longer than it is worth
Found = list[tuple[int, NDArray[np.int64]]]


def patterns_within(
    items: Sequence[Item],
    stocks: Sequence[Stock],
    demand: NDArray[np.int64],
    *,
    prices: Floats,
    scarcity: dict[int, float],
    gap: float,
    seconds: float,
) -> Found | None:
    """Give every full pattern (its stock, and how many of each item) that costs under `gap`.

    None if there are too many, or the walk takes longer than `seconds`.

    >>> items = [Item(4, 2, (0,)), Item(3, 1, (0,))]
    >>> prices = np.array([0.5, 0.4])
    >>> found = patterns_within(items, [Stock(8, 1.0)], np.array([2, 1]), prices=prices,
    ...                         scarcity={}, gap=0.5, seconds=1.0)
    >>> [column.tolist() for _, column in found]
    [[2, 0], [1, 1]]
    """
    end = time.monotonic() + seconds
    found: Found = []
    for k, stock in enumerate(stocks):
        own = [i for i, item in enumerate(items) if k in item.stocks and demand[i]]
        own.sort(key=lambda i: -items[i].length)
        least = stock.cost + scarcity.get(k, 0.0) - gap
        walk = _Walk(items, own, demand=demand, prices=prices, length=stock.length, least=least)
        for cuts in walk.full(0, stock.length, 0.0):
            column = np.zeros(len(items), dtype=np.int64)
            column[own] = cuts
            found.append((k, column))
            if len(found) > _MOST or time.monotonic() > end:
                return None
        if time.monotonic() > end:
            return None
    return found


class _Walk:
    """A walk over the items of one stock, longest first."""

    def __init__(
        self,
        items: Sequence[Item],
        own: Sequence[int],
        *,
        demand: NDArray[np.int64],
        prices: Floats,
        length: int,
        least: float,
    ) -> None:
        self.lengths = [items[i].length for i in own]
        self.wanted = [int(demand[i]) for i in own]
        self.prices = [float(prices[i]) for i in own]
        self.least = least - 1e-9
        self.best = self._best_of_rest(length)
        self.cuts = [0] * len(own)

    def _best_of_rest(self, length: int) -> list[Floats]:
        """Give the most that items from each place on are worth on every length."""
        best = [np.zeros(length + 1)]
        for long, wanted, price in reversed(
            list(zip(self.lengths, self.wanted, self.prices, strict=True))
        ):
            now = best[-1].copy()
            for n in range(1, min(wanted, length // long) + 1):
                now[n * long :] = np.maximum(
                    now[n * long :], best[-1][: length + 1 - n * long] + n * price
                )
            best.append(now)
        return best[::-1]

    def full(self, at: int, room: int, worth: float) -> Iterator[list[int]]:
        """Give the cuts of every full pattern worth enough, from the item at `at` on."""
        if worth + self.best[at][room] < self.least:
            return
        if at == len(self.lengths):
            if self._is_full(room):
                yield self.cuts
            return
        most = min(self.wanted[at], room // self.lengths[at])
        for n in range(most, -1, -1):
            self.cuts[at] = n
            left = room - n * self.lengths[at]
            yield from self.full(at + 1, left, worth + n * self.prices[at])
        self.cuts[at] = 0

    def _is_full(self, room: int) -> bool:
        return not any(
            long <= room and n < wanted
            for long, n, wanted in zip(self.lengths, self.cuts, self.wanted, strict=True)
        )
