"""Cutting lengths: stocks cut into items at the least cost, its bound, and what fits nothing."""

from __future__ import annotations

import math
from collections import Counter
from dataclasses import replace

import numpy as np
import pytest

from ribband.timber.order.cutting import CutPlan, Item, Stock, cut_stock


def cut_of(plan: CutPlan, items: list[Item]) -> list[int]:
    """How many of each item a plan cuts."""
    counted = Counter(dict.fromkeys(range(len(items)), 0))
    for pattern in plan.patterns:
        for i, n in pattern.cuts:
            counted[i] += n * pattern.boards
    return [counted[i] for i in range(len(items))]


def assert_cuts(plan: CutPlan, items: list[Item], stocks: list[Stock]) -> None:
    assert cut_of(plan, items) == [item.count for item in items]
    used: Counter[int] = Counter()
    for pattern in plan.patterns:
        used[pattern.stock] += pattern.boards
        assert sum(items[i].length * n for i, n in pattern.cuts) <= stocks[pattern.stock].length
        assert all(pattern.stock in items[i].stocks for i, _ in pattern.cuts)
    assert all(s.at_most is None or used[k] <= s.at_most for k, s in enumerate(stocks))
    assert plan.cost == pytest.approx(sum(stocks[k].cost * n for k, n in used.items()))


def least_by_trying_all(items: list[Item], stocks: list[Stock]) -> float:
    """The least cost by trying every way, for a handful of pieces."""
    pieces = [item for item in items for _ in range(item.count)]
    best = [math.inf]

    def place(at: int, boards: list[tuple[int, int]], cost: float) -> None:
        if cost >= best[0]:
            return
        if at == len(pieces):
            best[0] = cost
            return
        item = pieces[at]
        for b, (k, room) in enumerate(boards):
            if room >= item.length and k in item.stocks:
                rest = [*boards[:b], (k, room - item.length), *boards[b + 1 :]]
                place(at + 1, rest, cost)
        for k in item.stocks:
            taken = sum(k == other for other, _ in boards)
            if stocks[k].length >= item.length and taken < (stocks[k].at_most or 99):
                place(at + 1, [*boards, (k, stocks[k].length - item.length)], cost + stocks[k].cost)

    place(0, [], 0.0)
    return best[0]


@pytest.mark.parametrize("seed", range(12))
def test_small_orders_are_as_cheap_as_trying_every_way(seed: int) -> None:
    rng = np.random.default_rng(seed)
    stocks = [Stock(int(n), float(c)) for n, c in zip(
        rng.integers(20, 40, 3), rng.integers(5, 12, 3), strict=True)]  # fmt: skip
    if seed % 3 == 0:
        stocks[0] = replace(stocks[0], cost=3.0, at_most=2)
    items = [
        Item(int(rng.integers(6, 20)), int(rng.integers(1, 4)), (0, 1, 2) if i % 2 else (0, 2))
        for i in range(4)
    ]
    plan = cut_stock(items, stocks)
    assert_cuts(plan, items, stocks)
    best = least_by_trying_all(items, stocks)
    assert plan.bound <= best + 1e-6
    assert plan.cost == pytest.approx(best)
    assert plan.gap == 0.0


def test_the_bound_holds_when_there_is_no_time_to_search() -> None:
    rng = np.random.default_rng(5)
    items = [Item(int(n), 3, (0, 1)) for n in rng.integers(150, 480, 15)]
    stocks = [Stock(1000, 1.0), Stock(700, 0.75)]
    hasty, slow = cut_stock(items, stocks, seconds=1e-6), cut_stock(items, stocks)
    assert_cuts(hasty, items, stocks)
    assert hasty.bound <= slow.bound + 1e-9
    assert slow.cost <= hasty.cost
    assert hasty.gap == pytest.approx(hasty.cost / hasty.bound - 1)


def test_what_fits_no_board_is_unmet_and_the_rest_is_cut() -> None:
    items = [Item(50, 2, (0,)), Item(150, 3, (0,))]
    plan = cut_stock(items, [Stock(100, 1.0)])
    assert plan.unmet == ((1, 3),)
    assert cut_of(plan, items) == [2, 0]
    assert plan.gap == math.inf


def test_a_stock_that_runs_out_leaves_items_unmet() -> None:
    items = [Item(60, 5, (0,))]
    plan = cut_stock(items, [Stock(100, 1.0, at_most=3)])
    assert plan.unmet == ((0, 2),)
    assert sum(p.boards for p in plan.patterns) == 3


def test_the_same_twice_and_nothing_at_all() -> None:
    items, stocks = [Item(30, 7, (0,)), Item(45, 6, (0,))], [Stock(100, 2.5)]
    first, second = (cut_stock(items, stocks) for _ in range(2))
    assert first.patterns == second.patterns
    assert cut_stock([], stocks).cost == 0.0
