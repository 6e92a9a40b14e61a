"""How many over: spare planks for those spoilt, spare boards for those not fit to use.

With a rate of failures p, the chance that n good ones come before more than k have failed is the
sum of C(n - 1 + j, j) (1 - p)^n p^j for j from 0 to k (exact, no normal curve). Every one of a lot
fails or not by itself. *Pool*: lots that share their spares, each as great as the greatest of them.

Not checked here: a bad log, which spoils many boards together; order again in time.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import accumulate, product

__all__ = ["Lot", "Pool", "Spares", "chance", "how_good", "spares", "spares_needed"]

_MOST = 10_000  # spares of a lot, past which the rate makes no sense
Size = tuple[float, float, float]
Holder = Callable[[Size], "Lot | None"]
Way = tuple[str, Callable[[Size], Size]]
_MOST_BANDS = 7  # distinct widths past which only some ways of banding them are tried


@dataclass(frozen=True, slots=True)
class Lot:
    """So many of one size (length, width, thickness); `cost` is of one.

    at_most : how many can be had; None for any number
    """

    size: Size
    count: int
    cost: float
    at_most: int | None = None


@dataclass(frozen=True, slots=True)
class Pool:
    """`count` wanted, and what is spare to serve them: `spare.count` of its size."""

    count: int
    spare: Lot


@dataclass(frozen=True, slots=True)
class Spares:
    """Pools, the chance that all of them are enough, and how they are pooled, in words."""

    pools: tuple[Pool, ...]
    chance: float
    pooled: str


def chance(count: int, spare: int, rate: float) -> float:
    """Give the chance that `count` good ones are among `count + spare` at a rate of failures.

    >>> round(chance(10, 0, 0.05), 4), round(chance(10, 2, 0.05), 4)
    (0.5987, 0.9804)
    """
    term = (1 - rate) ** count
    whole = term
    for j in range(1, spare + 1):
        term *= (count - 1 + j) / j * rate
        whole += term
    return min(whole, 1.0)


def spares_needed(count: int, rate: float, confidence: float) -> int:
    """Give the fewest spares whose chance of being enough reaches `confidence`.

    Raises
    ------
    ValueError : a rate not from 0 to 0.9, or a confidence not from 0 to under 1

    >>> [spares_needed(n, 0.05, 0.95) for n in (1, 10, 170)]
    [0, 2, 14]
    """
    if not 0 <= rate <= 0.9 or not 0 <= confidence < 1:
        raise ValueError(f"a rate from 0 to 0.9 and a confidence under 1, not {rate}, {confidence}")
    if not count or not rate:
        return 0
    return next(k for k in range(_MOST) if chance(count, k, rate) >= confidence)


def spares(lots: Sequence[Lot], rate: float, confidence: float, holder: Holder) -> Spares:
    """Give the cheapest spares found that are enough for all lots together, at a confidence.

    Ways tried: spares of each size, and of the longest in each band of widths, for all bands there
    can be (one for each width to one for all; past seven widths the two ends only).
    `holder` gives what can be had that holds a size (one of it, with its cost), or None. Where not
    enough can be had for the confidence, the surest found are given.

    >>> lots = [Lot((4.0, 0.2, 1.0), 40, 0.8), Lot((5.0, 0.2, 1.0), 40, 1.0)]
    >>> found = spares(lots, 0.05, 0.95, lambda size: Lot(size, 1, size[0] * size[1]))
    >>> found.pools[0].spare.count, found.pooled
    (8, 'one size for all')
    """
    if not lots:
        return Spares((), 1.0, "none")
    tried = [_pooled(lots, way, rate, confidence, holder) for way in _ways(lots)]
    found = [way for way in tried if way is not None]
    if not found:
        return Spares((), _product([chance(lot.count, 0, rate) for lot in lots]), "none")
    return min(found, key=lambda way: how_good(way, confidence))


def how_good(way: Spares, confidence: float) -> tuple[float, float]:
    """Give how far spares are from sure enough, then their cost; less is better."""
    short = max(0.0, confidence - 1e-9 - way.chance)
    return short, sum(pool.spare.count * pool.spare.cost for pool in way.pools)


def _ways(lots: Sequence[Lot]) -> Iterator[Way]:
    """Give the ways of pooling: what lots share a pool, as a key of their size."""
    yield "of each size", lambda size: size
    widths = sorted({lot.size[1] for lot in lots})
    few = len(widths) <= _MOST_BANDS
    for cuts in product((0, 1), repeat=len(widths) - 1) if few else ():
        yield _banded(widths, cuts)
    if not few:
        yield _banded(widths, (0,) * (len(widths) - 1))
        yield _banded(widths, (1,) * (len(widths) - 1))


def _banded(widths: Sequence[float], cuts: Sequence[int]) -> Way:
    band = dict(zip(widths, accumulate((0, *cuts)), strict=True))
    bands = 1 + sum(cuts)
    says = "one size for all" if bands == 1 else f"of {bands} bands of width, each its longest"
    return says, lambda size: (0.0, float(band[size[1]]), 0.0)


def _pooled(
    lots: Sequence[Lot], way: Way, rate: float, confidence: float, holder: Holder
) -> Spares | None:
    """Give the spares with lots pooled one way, or None where nothing holds any pool's greatest."""
    together: dict[Size, list[Lot]] = {}
    for lot in lots:
        together.setdefault(way[1](lot.size), []).append(lot)
    pools = []
    for own in together.values():
        held = holder(_greatest(own)) or Lot(_greatest(own), 0, 1.0, at_most=0)
        pools.append(Pool(sum(lot.count for lot in own), replace(held, count=0)))
    if all(pool.spare.at_most == 0 for pool in pools):
        return None
    taken, sure = _together(pools, rate, confidence)
    return Spares(tuple(taken), sure, way[0])


def _greatest(lots: Sequence[Lot]) -> Size:
    long, wide, thick = (max(lot.size[way] for lot in lots) for way in range(3))
    return long, wide, thick


def _together(pools: Sequence[Pool], rate: float, confidence: float) -> tuple[list[Pool], float]:
    """Add the spare that helps most for its cost until all are sure enough, or no more is had."""
    left = {pool.spare.size: pool.spare.at_most for pool in pools}
    taken = [_had(left, pool, spares_needed(pool.count, rate, confidence)) for pool in pools]
    sure = [chance(pool.count, k, rate) for pool, k in zip(pools, taken, strict=True)]
    while _product(sure) < confidence:
        more = [chance(pool.count, k + 1, rate) for pool, k in zip(pools, taken, strict=True)]
        gains = [
            0.0 if left[pool.spare.size] == 0 else (after / before - 1) / pool.spare.cost
            for pool, before, after in zip(pools, sure, more, strict=True)
        ]
        best = gains.index(max(gains))
        if not gains[best] > 0:
            break
        taken[best] += _had(left, pools[best], 1)
        sure[best] = more[best]
    filled = [
        replace(pool, spare=replace(pool.spare, count=k))
        for pool, k in zip(pools, taken, strict=True)
    ]
    return filled, _product(sure)


def _had(left: dict[Size, int | None], pool: Pool, wanted: int) -> int:
    """Take as many as are wanted and can be had, and give how many."""
    size = pool.spare.size
    there = left[size]
    if there is None:
        return wanted
    left[size] = there - min(there, wanted)
    return min(there, wanted)


def _product(parts: Sequence[float]) -> float:
    whole = 1.0
    for part in parts:
        whole *= part
    return whole
