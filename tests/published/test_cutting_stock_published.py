"""Cutting stock with a known optimum through the solver of the order, entered as printed."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from ribband.timber import MillClass, Need, OrderRules, order
from ribband.timber.order.cutting import Item, Stock, cut_stock

T60 = Path(__file__).with_name("t60_00.txt")
FRAMES = {
    1380: 22, 1520: 25, 1560: 12, 1710: 14, 1820: 18, 1880: 18, 1930: 20, 2000: 10, 2050: 12,
    2100: 14, 2140: 16, 2150: 18, 2200: 20,
}  # fmt: skip


def boards(stock: int, items: dict[int, int]) -> tuple[int, float]:
    plan = cut_stock([Item(n, count, (0,)) for n, count in items.items()], [Stock(stock, 1.0)])
    assert not plan.unmet
    cut: dict[int, int] = {}
    lengths = list(items)
    for pattern in plan.patterns:
        assert sum(lengths[i] * n for i, n in pattern.cuts) <= stock
        for i, n in pattern.cuts:
            cut[lengths[i]] = cut.get(lengths[i], 0) + n * pattern.boards
    assert cut == items
    return sum(pattern.boards for pattern in plan.patterns), plan.bound


def test_three_lengths_from_twelve_metres() -> None:
    """The example in the README of cutting-stock 0.1.3: 12; 3.4 x 34, 3.0 x 13, 2.7 x 5.
    Optimum 16 (the linear programme 15.625)."""
    assert boards(120, {34: 34, 30: 13, 27: 5}) == (16, 16.0)


def test_thirteen_lengths_from_5600() -> None:
    """The instance well known from textbooks (recalled, not read), optimum 73 (the linear
    programme 72.917, worked out apart by column generation)."""
    assert boards(5600, FRAMES) == (73, 73.0)


def test_thirteen_lengths_through_the_whole_order() -> None:
    """The same instance as planks to order, with nothing trimmed, spoilt or defective."""
    plain = OrderRules(
        spoilt_part=0.0, defect_part=0.0, kerf_mm=0.0, end_trim_mm=0.0, edge_trim_mm=0.0,
        step_mm=10.0,
    )  # fmt: skip
    needs = [
        Need(float(n), 150.0, 50.0, tuple(f"{n}/{k}" for k in range(count)))
        for n, count in FRAMES.items()
    ]
    bought = order(needs, [MillClass(5600.0, 150.0, 50.0)], plain)
    assert [line.count for line in bought.lines] == [73]


@pytest.mark.parametrize("seed", [pytest.param(0, marks=pytest.mark.slow), 1, 2])
def test_triplets_that_fill_every_board(seed: int) -> None:
    """Made as Falkenauer's triplets were: 60 lengths of a quarter to a half, cut from 20 boards of
    1000 with nothing left; the optimum is 20 by construction."""
    rng = np.random.default_rng(seed)
    items: dict[int, int] = {}
    for _ in range(20):
        first = int(rng.integers(380, 490))
        second = int(rng.integers(250, (1000 - first) // 2))
        for length in (first, second, 1000 - first - second):
            items[length] = items.get(length, 0) + 1
    assert boards(1000, items) == (20, 20.0)


def test_falkenauer_t60_00() -> None:
    """Falkenauer, t60_00: capacity 100, 60 items, optimum 20 bins (ESICUP datasets, CC0).

    Its file (how many, capacity, one length a line) is read if it stands beside this test.
    """
    if not T60.exists():
        pytest.skip(f"no {T60.name} beside this test; lengths of its kind are tested just above")
    count, capacity, *lengths = (round(10 * float(word)) for word in T60.read_text().split())
    assert count == 10 * len(lengths)
    items = {length: lengths.count(length) for length in lengths}
    assert boards(capacity, items) == (20, 20.0)
