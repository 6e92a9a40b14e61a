"""Cutting lengths out of boards end to end, at least cost.

Column generation (Gilmore and Gomory): the linear programme over patterns gives prices of items;
for every stock the best pattern at those prices is found exactly by dynamic programming; when
none pays, the programme's value is a bound no plan can beat. Whole numbers of boards are found by
diving (fix, price again, fill the rest) and by HiGHS over all patterns met. If a gap is left, all
patterns that a cheaper plan could use are counted up and solved for, which proves the least.

All lengths here are whole numbers of one step. Not checked here: anything across the board.
"""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.timber.order.lengths import CutPlan, Item, Pattern, Stock
from ribband.timber.order.proof import patterns_within

__all__ = ["CutPlan", "Item", "Pattern", "Stock", "cut_stock"]

Progress = Callable[[float, str], None] | None
_PAYS = 1e-7  # of a board's cost, from which a new pattern is worth taking in
_ROUNDS = 400
_NONE_CHEAPER = 2  # HiGHS: nothing satisfies the rules, one of which is to be cheaper
_SCARCE = 100.0  # times the dearest board: what leaving an item out costs


@dataclass(slots=True)
class _Book:
    """Every pattern met so far: items (n,) of each, its stock, kept once."""

    items: Sequence[Item]
    stocks: Sequence[Stock]
    columns: list[NDArray[np.int64]] = field(default_factory=list)
    stock_of: list[int] = field(default_factory=list)
    known: set[tuple[int, bytes]] = field(default_factory=set)

    def take(self, stock: int, column: NDArray[np.int64]) -> bool:
        """Take in a pattern; False if it was known or empty."""
        key = (stock, column.tobytes())
        if key in self.known or not column.any():
            return False
        self.known.add(key)
        self.columns.append(column)
        self.stock_of.append(stock)
        return True

    @property
    def costs(self) -> Floats:
        return np.array([self.stocks[k].cost for k in self.stock_of])

    @property
    def matrix(self) -> Floats:
        return np.array(self.columns, dtype=float).T


def cut_stock(
    items: Sequence[Item],
    stocks: Sequence[Stock],
    seconds: float = 20.0,
    progress: Progress = None,
) -> CutPlan:
    """Cut every item from the stocks at least cost.

    Parameters
    ----------
    items, stocks : what is wanted and what there is; lengths are whole steps, costs over nothing
    seconds : when to stop searching; the bound then is the best proved so far

    >>> items = [Item(34, 34, (0,)), Item(30, 13, (0,)), Item(27, 5, (0,))]
    >>> plan = cut_stock(items, [Stock(120, 1.0)])
    >>> sum(p.boards for p in plan.patterns), plan.bound, plan.gap
    (16, 16.0, 0.0)
    """
    began = time.monotonic()
    book = _Book(items, stocks)
    _start(book)
    demand = np.array([item.count for item in items], dtype=np.int64)
    possible = np.array([_fits(item, stocks) for item in items], dtype=bool)
    wanted = np.where(possible, demand, 0)
    end = began + seconds
    root = _price_out(book, wanted, end)
    bound = _rounded_up(root.bound, stocks)
    best = _dive(book, wanted, end)
    if progress:
        progress(0.5, "whole boards found; looking for fewer")
    best, bound = _better(book, wanted, chosen=best, bound=bound, root=root, end=end)
    return _plan(book, demand, best, bound, time.monotonic() - began)


def _fits(item: Item, stocks: Sequence[Stock]) -> bool:
    return any(stocks[k].length >= item.length for k in item.stocks)


def _start(book: _Book) -> None:
    """Take in one pattern for each item on each of its stocks: as many as fit."""
    for i, item in enumerate(book.items):
        for k in item.stocks:
            column = np.zeros(len(book.items), dtype=np.int64)
            column[i] = min(book.stocks[k].length // item.length, max(item.count, 1))
            book.take(k, column)


@dataclass(frozen=True, slots=True, eq=False)
class _Priced:
    """A proved bound on the cost of any plan, and the programme it rests on once none pays."""

    bound: float
    settled: _Relaxed | None = None


def _price_out(book: _Book, demand: NDArray[np.int64], end: float) -> _Priced:
    """Take in patterns until none pays; give a bound on the cost of any plan for `demand`."""
    bound = 0.0
    for _ in range(_ROUNDS if demand.any() else 0):
        now = _master(book, demand)
        paying, share = _paying_patterns(book, demand, now.prices, now.scarcity)
        bound = max(bound, share * float(now.prices @ demand))
        new = [book.take(k, column) for k, column in paying]
        if not any(new):
            return _Priced(now.value, now) if now.short < 1e-7 else _Priced(bound)
        if time.monotonic() > end:
            break
    return _Priced(bound)


def _dearest(book: _Book) -> float:
    """Give what a plan costs only if an item is left out."""
    return _SCARCE * max(stock.cost for stock in book.stocks)


@dataclass(frozen=True, slots=True, eq=False)
class _Relaxed:
    """The linear programme solved: boards of each pattern, cost, prices, and items left out."""

    used: Floats
    value: float
    prices: Floats
    scarcity: dict[int, float]
    short: float


def _master(book: _Book, demand: NDArray[np.int64]) -> _Relaxed:
    """Solve the linear programme over the patterns met; leaving an item out costs dear."""
    from scipy.optimize import linprog  # noqa: PLC0415

    n, of = len(demand), np.array(book.stock_of)
    costs = np.concatenate([book.costs, np.full(n, _dearest(book))])
    limits = [k for k, stock in enumerate(book.stocks) if stock.at_most is not None]
    counted = [np.append((of == k).astype(float), np.zeros(n))[None, :] for k in limits]
    rows = np.vstack([-np.hstack([book.matrix, np.eye(n)]), *counted])
    right = np.append(-demand, [float(book.stocks[k].at_most or 0) for k in limits])
    found: Any = linprog(costs, A_ub=rows, b_ub=right, method="highs")
    duals = -found.ineqlin.marginals
    return _Relaxed(
        used=found.x[: len(of)],
        value=float(found.fun),
        prices=np.maximum(duals[:n], 0.0),
        scarcity=dict(zip(limits, map(float, duals[n:]), strict=True)),
        short=float(found.x[len(of) :].sum()),
    )


def _paying_patterns(
    book: _Book, demand: NDArray[np.int64], prices: Floats, scarcity: dict[int, float]
) -> tuple[list[tuple[int, NDArray[np.int64]]], float]:
    """Give the best pattern of each stock that pays, and the part of the prices that is proved.

    Prices scaled down until no pattern is worth more than its board bound every plan (Farley).
    """
    paying, share = [], 1.0
    for group in _alike(book):
        worth, cut = _knapsack(book, demand, prices, group)
        for k in group:
            value, cost = float(worth[book.stocks[k].length]), book.stocks[k].cost
            if value > cost:
                share = min(share, cost / value)
            if value > (cost + scarcity.get(k, 0.0)) * (1 + _PAYS):
                paying.append((k, cut(book.stocks[k].length)))
    return paying, share


def _alike(book: _Book) -> list[list[int]]:
    """Gather stocks that take the same items: one programme serves them all."""
    groups: dict[tuple[int, ...], list[int]] = {}
    for k in range(len(book.stocks)):
        takes = tuple(i for i, item in enumerate(book.items) if k in item.stocks)
        groups.setdefault(takes, []).append(k)
    return [group for takes, group in groups.items() if takes]


def _knapsack(
    book: _Book, demand: NDArray[np.int64], prices: Floats, group: Sequence[int]
) -> tuple[Floats, Callable[[int], NDArray[np.int64]]]:
    """Give the most that can be cut from every length, and the cuts that reach it."""
    longest = max(book.stocks[k].length for k in group)
    worth = np.zeros(longest + 1)
    lots: list[tuple[int, int, int, NDArray[np.bool_]]] = []
    for i, item in enumerate(book.items):
        if group[0] in item.stocks and demand[i] and prices[i] > 0:
            for lot in _lots(min(int(demand[i]), longest // item.length)):
                size = lot * item.length
                with_lot = worth[: longest + 1 - size] + lot * prices[i]
                taken = np.zeros(longest + 1, dtype=bool)
                taken[size:] = with_lot > worth[size:] + 1e-12
                worth[size:] = np.where(taken[size:], with_lot, worth[size:])
                lots.append((i, lot, size, taken))

    def cut(length: int) -> NDArray[np.int64]:
        column = np.zeros(len(book.items), dtype=np.int64)
        for i, lot, size, taken in reversed(lots):
            if taken[length]:
                column[i] += lot
                length -= size
        return column

    return worth, cut


def _lots(most: int) -> list[int]:
    """Split up to `most` into lots whose sums reach every number up to it.

    >>> _lots(10)
    [1, 2, 4, 3]
    """
    lots, size = [], 1
    while most > 0:
        lots.append(min(size, most))
        most -= lots[-1]
        size *= 2
    return lots


def _rounded_up(value: float, stocks: Sequence[Stock]) -> float:
    """Raise a bound to the next cost that whole boards can have, where costs are whole numbers."""
    if not all(float(stock.cost).is_integer() for stock in stocks):
        return value
    step = math.gcd(*(int(stock.cost) for stock in stocks))
    return float(math.ceil(value / step - 1e-6) * step)


def _dive(book: _Book, demand: NDArray[np.int64], end: float) -> dict[int, int]:
    """Fix boards of the most used patterns, price the rest again, and so on till all is cut."""
    chosen: dict[int, int] = {}
    left = demand.copy()
    stocks = list(book.stocks)
    while left.any():
        rest = _over(book, stocks)
        if time.monotonic() < end:
            _price_out(rest, left, min(end, time.monotonic() + 2.0))
        used = _master(rest, left).used
        if used.max(initial=0.0) < 1e-6:
            return chosen  # nothing more can be cut: what is left is unmet
        for p, boards in _fixed(used):
            fits = _times(book.columns[p], left, boards)
            if fits:
                chosen[p] = chosen.get(p, 0) + fits
                left = np.maximum(left - fits * book.columns[p], 0)
                _use_up(stocks, book.stock_of[p], fits)
    return chosen


def _over(book: _Book, stocks: Sequence[Stock]) -> _Book:
    """Give the same book of patterns (shared) over what is left of the stocks."""
    return _Book(book.items, stocks, book.columns, book.stock_of, book.known)


def _fixed(used: Floats) -> list[tuple[int, int]]:
    """Give the patterns to fix: the whole parts, or the most used one where there are none."""
    whole = [(int(p), int(used[p] + 1e-6)) for p in np.argsort(-used) if used[p] >= 1 - 1e-6]
    return whole or [(int(np.argmax(used)), 1)]


def _times(column: NDArray[np.int64], left: NDArray[np.int64], boards: int) -> int:
    """Say how many boards of a pattern still cut something wanted from every one of them."""
    needed = -(-left // np.maximum(column, 1))
    return min(boards, int(np.where(column > 0, needed, 0).max()))


def _use_up(stocks: list[Stock], at: int, boards: int) -> None:
    most = stocks[at].at_most
    if most is not None:
        stocks[at] = replace(stocks[at], at_most=max(most - boards, 0))


def _better(
    book: _Book,
    demand: NDArray[np.int64],
    *,
    chosen: dict[int, int],
    bound: float,
    root: _Priced,
    end: float,
) -> tuple[dict[int, int], float]:
    """Give fewer or cheaper boards if they are found in time, and the bound, raised if it can be.

    First over the patterns met; then, if a gap is left, over all that a cheaper plan could use.
    """
    if not book.columns:
        return chosen, bound
    third = (end - time.monotonic()) / 3
    chosen, _ = _whole(book, demand, chosen, bound, third)
    gap = _cost(book, demand, chosen) - root.bound
    if root.settled is None or gap <= _least_step(bound):
        return chosen, bound
    more = patterns_within(
        book.items, book.stocks, demand, prices=root.settled.prices,
        scarcity=root.settled.scarcity, gap=gap, seconds=third,
    )  # fmt: skip
    if more is None:
        return chosen, bound
    for k, column in more:
        book.take(k, column)
    chosen, proved = _whole(book, demand, chosen, bound, end - time.monotonic())
    return chosen, max(bound, min(proved, _cost(book, demand, chosen)))


def _least_step(value: float) -> float:
    return 1e-9 * max(value, 1e-9)


def _whole(
    book: _Book, demand: NDArray[np.int64], chosen: dict[int, int], bound: float, seconds: float
) -> tuple[dict[int, int], float]:
    """Solve in whole boards over the patterns met: what is cheaper than `chosen`, if anything.

    The second is what HiGHS proved no plan of these patterns can beat.
    """
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415

    cost = _cost(book, demand, chosen)
    if cost <= bound + _least_step(bound) or seconds < 0.02:
        return chosen, bound
    n, m = len(demand), len(book.columns)
    costs = np.append(book.costs, np.full(n, _dearest(book)))
    rules = [LinearConstraint(np.hstack([book.matrix, np.eye(n)]), demand, np.inf)]
    rules += [LinearConstraint(costs[None, :], -np.inf, cost * (1 - 1e-7))]
    of = np.array(book.stock_of)
    for k, stock in enumerate(book.stocks):
        if stock.at_most is not None:
            row = np.append((of == k).astype(float), np.zeros(n))
            rules.append(LinearConstraint(row[None, :], 0, stock.at_most))
    found: Any = milp(
        costs,
        integrality=np.ones(n + m, dtype=np.int64),
        bounds=Bounds(0, np.inf),
        constraints=rules,
        options={"time_limit": seconds, "mip_rel_gap": 1e-9},
    )
    if found.status == _NONE_CHEAPER:
        return chosen, cost
    proved = bound if found.mip_dual_bound is None else float(found.mip_dual_bound)
    if found.x is None:
        return chosen, proved
    whole = {p: round(x) for p, x in enumerate(found.x[:m]) if x > 0.5}
    return (whole if _cost(book, demand, whole) < cost else chosen), proved


def _cost(book: _Book, demand: NDArray[np.int64], chosen: dict[int, int]) -> float:
    boards = sum(book.stocks[book.stock_of[p]].cost * n for p, n in chosen.items())
    return boards + _dearest(book) * int(_left(book, demand, chosen).sum())


def _left(book: _Book, demand: NDArray[np.int64], chosen: dict[int, int]) -> NDArray[np.int64]:
    left = demand.copy()
    for p, boards in chosen.items():
        left -= boards * book.columns[p]
    return np.maximum(left, 0)


def _plan(
    book: _Book,
    demand: NDArray[np.int64],
    chosen: dict[int, int],
    bound: float,
    seconds: float,
) -> CutPlan:
    patterns = _trimmed(book, demand, chosen)
    cost = sum(book.stocks[p.stock].cost * p.boards for p in patterns)
    left = _left(book, demand, chosen)
    unmet = tuple((int(i), int(left[i])) for i in np.flatnonzero(left))
    gap = math.inf if unmet else max(cost - bound, 0.0) / bound if bound > 0 else 0.0
    return CutPlan(patterns, cost, bound, gap if gap > 1e-9 else 0.0, unmet, seconds)


def _trimmed(book: _Book, demand: NDArray[np.int64], chosen: dict[int, int]) -> tuple[Pattern, ...]:
    """Leave out of the patterns what is not wanted, and put each on its cheapest board."""
    left = demand.copy()
    counted: dict[Pattern, int] = {}
    for p, boards in chosen.items():
        for _ in range(boards):
            cuts = np.minimum(book.columns[p], left)
            left = left - cuts
            if cuts.any():
                own = tuple((int(i), int(cuts[i])) for i in np.flatnonzero(cuts))
                pattern = Pattern(_cheapest(book, own, book.stock_of[p]), own)
                counted[pattern] = counted.get(pattern, 0) + 1
    return tuple(replace(pattern, boards=boards) for pattern, boards in counted.items())


def _cheapest(book: _Book, cuts: tuple[tuple[int, int], ...], present: int) -> int:
    """Give the cheapest stock of any number that holds these cuts; the present one if none."""
    long = sum(book.items[i].length * n for i, n in cuts)
    fit = [
        k
        for k, stock in enumerate(book.stocks)
        if stock.at_most is None
        and stock.length >= long
        and all(k in book.items[i].stocks for i, _ in cuts)
    ]
    return min([present, *fit], key=lambda k: book.stocks[k].cost)
