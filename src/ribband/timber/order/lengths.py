"""What is cut end to end, from what, and the plan of it, in whole steps of length.

*Stock*: boards of one length and cost, as many as wanted or `at_most`. *Item*: a length wanted so
many times, with the stocks it may be cut from. *Pattern*: what is cut from one board.
"""

from __future__ import annotations

from dataclasses import dataclass

__all__ = ["CutPlan", "Item", "Pattern", "Stock"]


@dataclass(frozen=True, slots=True)
class Stock:
    """Boards of one kind: `length` in steps, `cost` of one, `at_most` or None for any number."""

    length: int
    cost: float
    at_most: int | None = None


@dataclass(frozen=True, slots=True)
class Item:
    """A length in steps, kerf included, wanted `count` times, cut from `stocks` (their places)."""

    length: int
    count: int
    stocks: tuple[int, ...]


@dataclass(frozen=True, slots=True)
class Pattern:
    """What is cut from one board of `stock`: how many of each item, and on how many boards."""

    stock: int
    cuts: tuple[tuple[int, int], ...]  # (place of the item, how many)
    boards: int = 1


@dataclass(frozen=True, slots=True)
class CutPlan:
    """The result: patterns, cost, a proved bound on any plan's cost and the gap between them.

    `unmet` are items (place, how many) no board was found for; then the bound is of the whole
    order and the gap infinite.
    """

    patterns: tuple[Pattern, ...]
    cost: float
    bound: float
    gap: float
    unmet: tuple[tuple[int, int], ...]
    seconds: float
