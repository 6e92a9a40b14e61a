"""Orders from a mill that sells so many boards and no more: planks first, then spares of the rest.

Where the boards do for planks and their spares together, they are cut together. Where not, the
planks are cut first, and spares from what boards are left, so that no spare takes a plank's board.
What confidence is reached then is reckoned again from the spares there are.

Not checked: whether the mill counts right.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

from ribband.timber.order.lengths import CutPlan, Item, Pattern, Stock
from ribband.timber.order.model import MillClass, OrderLine
from ribband.timber.order.spares import Size, Spares, chance_of

__all__ = ["boards_over", "fewer_spares", "joined_plans", "left_of"]


def left_of(stocks: Sequence[Stock], plan: CutPlan) -> list[Stock]:
    """Give the stocks less what a plan cuts; one used up has none.

    >>> used = CutPlan((Pattern(0, ((0, 1),), 2),), 2.0, 2.0, 0.0, (), 0.0)
    >>> left_of([Stock(8, 1.0, 3), Stock(8, 1.0)], used)
    [Stock(length=8, cost=1.0, at_most=1), Stock(length=8, cost=1.0, at_most=None)]
    """
    gone: Counter[int] = Counter()
    for pattern in plan.patterns:
        gone[pattern.stock] += pattern.boards
    return [
        s if s.at_most is None else replace(s, at_most=s.at_most - gone[k])
        for k, s in enumerate(stocks)
    ]


def joined_plans(first: CutPlan, then: CutPlan, items: Sequence[Item]) -> CutPlan:
    """Give both plans as one, the second's items numbered after `items`, the first's.

    Its bound is the first's: whatever spares cost, planks cost that.
    """
    moved = tuple(
        Pattern(p.stock, tuple((len(items) + i, n) for i, n in p.cuts), p.boards)
        for p in then.patterns
    )
    cost = first.cost + then.cost
    gap = (cost - first.bound) / first.bound if first.bound > 0 else 0.0
    return CutPlan(
        (*first.patterns, *moved), cost, first.bound, math.inf if first.unmet else gap,
        first.unmet, first.seconds + then.seconds,
    )  # fmt: skip


def fewer_spares(meant: Spares, cut: Counter[Size], rate: float) -> Spares:
    """Give spares with no more of each size than could be cut, and their chance."""
    left, pools = Counter(cut), []
    for pool in meant.pools:
        size = pool.spare.size
        there = min(pool.spare.count, left[size])
        left[size] -= there
        pools.append(replace(pool, spare=replace(pool.spare, count=there)))
    return Spares(tuple(pools), chance_of(pools, rate), meant.pooled)


def boards_over(
    wanted: Sequence[OrderLine], classes: Sequence[MillClass]
) -> tuple[tuple[MillClass, int], ...]:
    """Give how many boards more than the mill counts an order without counts would take.

    >>> mill = MillClass(3000.0, 200.0, 50.0, at_most=4)
    >>> line = OrderLine(replace(mill, at_most=None), 5, 2, 0.2, 90.0, None, None)
    >>> boards_over([line], [mill])[0][1]
    3
    """
    count = {line.of: line.count for line in wanted}
    over = [(c, count.get(replace(c, at_most=None), 0) - (c.at_most or 0))
            for c in dict.fromkeys(classes) if c.at_most is not None]  # fmt: skip
    return tuple((c, n) for c, n in over if n > 0)
