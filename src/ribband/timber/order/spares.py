"""How many over: spare planks for those spoilt, spare boards for those not fit to use.

With a rate of failures p, the chance that n good ones come before more than k have failed is the
sum of C(n - 1 + j, j) (1 - p)^n p^j for j from 0 to k (exact, no normal curve). Every one of a lot
fails or not by itself.

*Pool*: what wants one size of spare, with the spares of that size. When they are gone it goes on
with those of the pool that *serves* it, of a size as great or greater, and so on: so pools stand
as trees, and what a pool lacks is passed up. The chance that nothing is lacking at the top is
exact for this way of handing spares out, and so the least for any other.

Not checked here: a bad log, which spoils many boards together; order again in time.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Collection, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

__all__ = [
    "Holder",
    "Lot",
    "Pool",
    "Spares",
    "boards_taken",
    "chance",
    "chance_of",
    "spares",
    "spares_needed",
    "sure_of_both",
]

_MOST = 10_000  # spares of a lot, past which the rate makes no sense
_MOST_TAKEN = 60  # boards for planks lacking, past which no order would go
_ROUNDS = 6  # of looking for cheaper spares
_STARTS = 5  # of which the cheapest are made cheaper
_FEW = 6  # sizes, to which two spares at a time are looked at, and one of each begun with
Size = tuple[float, float, float]
Holder = Callable[[Size], "Sequence[Lot]"]
Floats = NDArray[np.float64]
Taken = dict[Size, Floats]  # of spares of a size, the chances of 0, 1, 2 ... being taken besides


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
    """`count` wanted, and what is spare for them: `spare.count` of its size.

    serves : place of the pool whose spares serve when its own are gone; None for the last
    """

    count: int
    spare: Lot
    serves: int | None = None


@dataclass(frozen=True, slots=True)
class Spares:
    """Pools, those served before those that serve them; the chance that all of them are enough.

    `pooled` says in words how they are shared. `for_planks` : they are boards that planks lacking
    are got out of too, the size of such planks with that of the boards asked first; the chance is
    then that of boards and planks together.
    """

    pools: tuple[Pool, ...]
    chance: float
    pooled: str
    for_planks: tuple[tuple[Size, Size], ...] = ()


def sure_of_both(planks: Spares, boards: Spares) -> float:
    """Give the chance that planks and boards are enough, both together."""
    return boards.chance if boards.for_planks else planks.chance * boards.chance


def chance(count: int, spare: int, rate: float) -> float:
    """Give the chance that `count` good ones are among `count + spare` at a rate of failures.

    >>> round(chance(10, 0, 0.05), 4), round(chance(10, 2, 0.05), 4)
    (0.5987, 0.9804)
    """
    return min(float(_failures(count, spare, rate).sum()), 1.0)


def _failures(count: int, most: int, rate: float) -> Floats:
    """Give the chances of 0, 1, ... `most` failures before `count` good ones."""
    if not count:
        return np.array([1.0])
    j = np.arange(1, most + 1)
    return (1 - rate) ** count * np.cumprod(np.append(1.0, (count - 1 + j) / j * rate))


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


def chance_of(pools: Sequence[Pool], rate: float, more: Taken | None = None) -> float:
    """Give the chance that all pools have spares enough, the greater serving for the smaller.

    more : what is taken of pools beside what they and their own want, by the size of their spares

    >>> small = Pool(10, Lot((3.0, 0.2, 0.05), 1, 1.0), serves=1)
    >>> great = Pool(10, Lot((6.0, 0.3, 0.05), 2, 3.0))
    >>> apart = chance_of([replace(small, serves=None), great], 0.05)
    >>> round(apart, 3), round(chance_of([small, great], 0.05), 3)
    (0.881, 0.964)
    """
    spare = [pool.spare.count for pool in pools]
    return _Tree(pools, rate, spare, sum(spare), more).chance


def boards_taken(planks: Spares, spoilt: float, unfit: float) -> Taken:
    """Give the chances of 0, 1, 2 ... boards being taken for planks lacking, by the planks' size.

    What planks lack when their own spares are gone, and those of every greater size that serve
    them, is got out of spare boards, a board for each; those spoilt a second time are among them.
    Such a board may be unfit: then another is taken.

    >>> alone = Spares((Pool(2, Lot((3.0, 0.2, 0.05), 0, 1.0)),), 0.0, "none")
    >>> [round(float(p), 4) for p in boards_taken(alone, 0.1, 0.0)[3.0, 0.2, 0.05][:3]]
    [0.81, 0.162, 0.0243]
    """
    pools = _till_none_serves(planks.pools)
    spare = [pool.spare.count for pool in pools]
    tree = _Tree(pools, spoilt, spare, sum(spare) + _MOST_TAKEN)
    return {
        pool.spare.size: _boards_for(tree.lacks[place], unfit)
        for place, pool in enumerate(pools)
        if pool.serves is None and tree.wants[place][0] < 1
    }


def _till_none_serves(pools: Sequence[Pool]) -> list[Pool]:
    """Give pools that hand nothing on to sizes of which there is no spare, nor of any greater."""
    serving = [False] * len(pools)
    for place in range(len(pools) - 1, -1, -1):
        by = pools[place].serves
        serving[place] = by is not None and bool(pools[by].spare.count or serving[by])
    return [
        pool if serves else replace(pool, serves=None)
        for pool, serves in zip(pools, serving, strict=True)
    ]


def _boards_for(lacking: Floats, unfit: float) -> Floats:
    """Give the chances of so many boards being taken by those of so many planks lacking."""
    taken = np.zeros(_MOST_TAKEN)
    for many in range(min(_MOST_TAKEN, len(lacking))):
        taken[many:] += lacking[many] * _failures_alone(many, _MOST_TAKEN - many, unfit)
    return taken


def _failures_alone(many: int, most: int, rate: float) -> Floats:
    """Give the chances of 0 to `most` - 1 failures before so many good ones."""
    return _padded(_failures(many, most - 1, rate), most - 1)


class _Tree:
    """Pools with so many spares of each, and what each lacks after those it serves.

    pools : those served before those that serve them; most : how much lacking is looked at
    more : what is taken of pools besides, by the size of their spares
    """

    def __init__(
        self,
        pools: Sequence[Pool],
        rate: float,
        spare: Sequence[int],
        most: int,
        more: Taken | None = None,
    ) -> None:
        self.pools = pools
        self.most = most
        self.fails = [_padded(_failures(pool.count, most, rate), most) for pool in pools]
        for place, pool in enumerate(pools):
            besides = (more or {}).get(pool.spare.size)
            if besides is not None:
                self.fails[place] = self._joined(self.fails[place], besides)
        self.served: list[list[int]] = [[] for _ in pools]
        for place, pool in enumerate(pools):
            if pool.serves is not None:
                self.served[pool.serves].append(place)
        self.take(spare)

    @property
    def cost(self) -> float:
        """Give what all the spares cost."""
        return sum(pool.spare.cost * k for pool, k in zip(self.pools, self.spare, strict=True))

    def take(self, spare: Sequence[int]) -> None:
        """Take so many of each: what is wanted of every pool, what it lacks, and the chance."""
        self.spare = list(spare)
        self.wants: list[Floats] = []
        self.lacks: list[Floats] = []
        for place, under in enumerate(self.served):
            wanted = self.fails[place]
            for child in under:
                wanted = self._joined(wanted, self.lacks[child])
            self.wants.append(wanted)
            self.lacks.append(_padded(_left(wanted, self.spare[place]), self.most))
        tops = [place for place, pool in enumerate(self.pools) if pool.serves is None]
        self.chance = min(math.prod(float(self.lacks[place][0]) for place in tops), 1.0)

    def with_one_more(self) -> Floats:
        """Give the chance with one spare more of each size, each by itself; nothing is taken.

        The chance goes straight by what any one pool lacks: so much for each number lacking, which
        is handed down from the pools that serve to those they serve.
        """
        by_lack: list[Floats] = [np.zeros(0)] * len(self.pools)
        more = np.zeros(len(self.pools))
        for place in range(len(self.pools) - 1, -1, -1):
            if self.pools[place].serves is None:
                own = float(self.lacks[place][0])
                by_lack[place] = np.zeros(self.most + 1)
                by_lack[place][0] = self.chance / own if own else 0.0
            for child in self.served[place]:
                beside = self.fails[place]
                for other in self.served[place]:
                    if other != child:
                        beside = self._joined(beside, self.lacks[other])
                wanted = _by_wanted(by_lack[place], self.spare[place])
                full = np.append(wanted, np.zeros(self.most))
                by_lack[child] = np.correlate(full, beside, "valid")
            more[place] = self.wants[place] @ _by_wanted(by_lack[place], self.spare[place] + 1)
        return np.minimum(more, 1.0)

    def _joined(self, one: Floats, two: Floats) -> Floats:
        return np.convolve(one, two)[: self.most + 1]


def _padded(part: Floats, most: int) -> Floats:
    whole = np.zeros(most + 1)
    whole[: len(part)] = part
    return whole


def _left(wanted: Floats, spare: int) -> Floats:
    """Give the chances of what is lacking, where so many spares are there."""
    return np.append(wanted[: spare + 1].sum(), wanted[spare + 1 :])


def _by_wanted(by_lack: Floats, spare: int) -> Floats:
    """Give the same by how many are wanted, where so many spares are there."""
    at = np.maximum(np.arange(len(by_lack)) - spare, 0)
    return by_lack[at]


def spares(
    lots: Sequence[Lot],
    rate: float,
    confidence: float,
    holder: Holder,
    more: Taken | None = None,
) -> Spares:
    """Give the cheapest spares found that are enough for all lots together, at a confidence.

    `holder` gives what can be had that holds a size (one of each, with its cost), what a lot is
    served by first before the others; none where nothing holds it. A spare of the greatest size is
    thought of too. Spares are added where they help most for their cost, then those that fewer or
    smaller ones can stand for are taken away again. Where not enough can be had for the
    confidence, the surest found are given. `more` : as for `chance_of`, by the size of a spare that
    can be had; the chance is then that of all together.

    >>> lots = [Lot((4.0, 0.2, 1.0), 40, 0.8), Lot((5.0, 0.2, 1.0), 40, 1.0)]
    >>> found = spares(lots, 0.05, 0.95, lambda size: [Lot(size, 1, size[0] * size[1])])
    >>> [pool.spare.count for pool in found.pools], found.pooled
    ([3, 5], '2 sizes, a greater one serves for a smaller')
    """
    if not lots:
        return Spares((), 1.0, "none")
    spares_needed(1, rate, confidence)  # refuses what makes no sense
    pools = _pools([*lots, *(Lot(size, 0, 0.0) for size in more or ())], holder)
    great = _of_the_greatest(pools, rate, confidence)
    great[-1] += sum(
        int(np.searchsorted(np.cumsum(own), confidence)) for own in (more or {}).values()
    )
    great = _had(pools, great)
    most = 2 * max(great) + sum(great) + 8
    tree = _Tree(pools, rate, great, most, more)
    few = range(len(pools) if len(pools) <= _FEW else 0)
    one_of_each = [[int(k == place) for k in range(len(pools))] for place in few]
    found = set()
    for start in ([0] * len(pools), great, *map(partial(_had, pools), one_of_each)):
        tree.take(start)
        _fill(tree, confidence)
        found.add(_how_good(tree, confidence))
    for *_, cheap in sorted(found)[:_STARTS]:
        tree.take(cheap)
        _cheapen(tree, confidence)
        found.add(_how_good(tree, confidence))
    *_, best = min(found)
    filled = tuple(
        replace(pool, spare=replace(pool.spare, count=k))
        for pool, k in zip(pools, best, strict=True)
    )
    sure = chance_of(filled, rate, more)
    return Spares(filled, sure, _pooled(best))


def _how_good(tree: _Tree, confidence: float) -> tuple[float, float, tuple[int, ...]]:
    """Give how far spares are from sure enough, then their cost, and the spares; less is better."""
    return max(0.0, confidence - 1e-9 - tree.chance), tree.cost, tuple(tree.spare)


def _pooled(spare: Sequence[int]) -> str:
    sizes = sum(k > 0 for k in spare)
    if sizes < 2:
        return "one size for all" if sizes else "none"
    return f"{sizes} sizes, a greater one serves for a smaller"


def _pools(lots: Sequence[Lot], holder: Holder) -> list[Pool]:
    """Give a pool for each size that can be had, the smallest first, each served by a greater."""
    kinds: dict[Size, Lot] = {}
    count: dict[Size, int] = {}
    for lot in lots:
        held = list(holder(lot.size)) or [Lot(lot.size, 0, lot.cost, at_most=0)]
        kinds.update((kind.size, kind) for kind in held)
        count[held[0].size] = count.get(held[0].size, 0) + lot.count
    kinds.update((kind.size, kind) for kind in holder(_greatest(lots)))
    order = sorted(kinds.values(), key=lambda kind: (_volume(kind.size), kind.size))
    return [
        Pool(count.get(kind.size, 0), replace(kind, count=0), _server(place, order))
        for place, kind in enumerate(order)
    ]


def _server(place: int, order: Sequence[Lot]) -> int | None:
    """Give the cheapest of the greater sizes that hold one."""
    own = order[place].size
    able = [
        k
        for k in range(place + 1, len(order))
        if all(great >= small for great, small in zip(order[k].size, own, strict=True))
    ]
    return min(able, key=lambda k: order[k].cost, default=None)


def _volume(size: Size) -> float:
    return size[0] * size[1] * size[2]


def _greatest(lots: Sequence[Lot]) -> Size:
    long, wide, thick = (max(lot.size[way] for lot in lots) for way in range(3))
    return long, wide, thick


def _of_the_greatest(pools: Sequence[Pool], rate: float, confidence: float) -> list[int]:
    """Give spares of the last size only, as many as all together want."""
    spare = [0] * len(pools)
    spare[-1] = spares_needed(sum(pool.count for pool in pools), rate, confidence)
    return _had(pools, spare)


def _had(pools: Sequence[Pool], spare: Iterable[int]) -> list[int]:
    """Give as many of each as are wanted and can be had."""
    return [
        k if pool.spare.at_most is None else min(k, pool.spare.at_most)
        for pool, k in zip(pools, spare, strict=True)
    ]


def _fill(
    tree: _Tree, confidence: float, barred: Collection[int] = (), under: float = math.inf
) -> None:
    """Add the spare that helps most for its cost until it is sure enough, or no more is had.

    None of the barred sizes is added; it is given up once it costs as much as `under`.
    """
    had = [pool.spare.at_most for pool in tree.pools]
    while tree.chance < confidence and tree.cost < under:
        more = tree.with_one_more()
        able = [
            place
            for place, most in enumerate(had)
            if place not in barred and (most is None or tree.spare[place] < most)
        ]
        best = max(
            able, key=lambda k: _gain(float(more[k]), tree, confidence) / tree.pools[k].spare.cost,
            default=None,
        )  # fmt: skip
        if best is None or more[best] <= tree.chance * (1 + 1e-12) or sum(tree.spare) > _MOST:
            return
        tree.take([k + (place == best) for place, k in enumerate(tree.spare)])


def _gain(after: float, tree: _Tree, confidence: float) -> float:
    """Give how much nearer the confidence it comes; past it nothing counts."""
    return math.log(min(after, confidence) / tree.chance)


def _cheapen(tree: _Tree, confidence: float) -> None:
    """Take one or two spares away, and add others that help most, as long as that is cheaper."""
    best, cost = tree.spare, tree.cost
    if tree.chance < confidence:
        return
    for _ in range(_ROUNDS):
        was = cost
        for fewer in _taken_away(best):
            left = [k - fewer.get(place, 0) for place, k in enumerate(best)]
            if min(left) < 0:
                continue
            for barred in (fewer, ()):
                tree.take(left)
                _fill(tree, confidence, barred, cost * (1 - 1e-9))
                if tree.chance >= confidence and tree.cost < cost * (1 - 1e-9):
                    best, cost = tree.spare, tree.cost
                    break
        if cost >= was * (1 - 1e-9):
            break
    tree.take(best)


def _taken_away(spare: Sequence[int]) -> list[dict[int, int]]:
    """Give one spare of each size there is, the greatest first; of few sizes then any two."""
    there = [place for place in range(len(spare) - 1, -1, -1) if spare[place]]
    if len(there) > _FEW:
        return [{place: 1} for place in there]
    two = [{a: 1, b: 1} if a != b else {a: 2} for a in there for b in there if b <= a]
    return [*({place: 1} for place in there), *two]
