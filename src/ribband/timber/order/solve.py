"""The order: what to buy from a mill for the planks that have no board yet.

Planks follow each other end to end along boards of the classes a mill sells, at least cost (least
volume where nothing is priced), with spares for what is spoilt and for boards not fit to use.

Not checked here: whether two narrow planks could be ripped from one wide board; they are bought in
their own width. The laying on real boards, when they have come, uses them better.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial

import numpy as np

from ribband.errors import InputError, Problem
from ribband.numerics.profiles import Floats
from ribband.timber.model import Species
from ribband.timber.order.counted import boards_over, fewer_spares, joined_plans, left_of
from ribband.timber.order.cutting import CutPlan, Item, Stock, cut_stock
from ribband.timber.order.model import (
    BoardCut,
    MillClass,
    Need,
    Order,
)
from ribband.timber.order.rules import OrderRules
from ribband.timber.order.spares import (
    Holder,
    Lot,
    Pool,
    Size,
    Spares,
    boards_taken,
    chance_of,
    spares,
    spares_needed,
    sure_of_both,
)
from ribband.timber.order.summed import lines_of, summed, sure_enough
from ribband.timber.order.words import smallest_boards, why_not_held

__all__ = ["is_held", "order"]

Progress = Callable[[float, str], None] | None
SPARE = "spare"
SHARES = (0.75, 0.5, 0.25, 0.0)  # of the planks' part of the confidence, tried on a small mill
QUICK = 2.0  # s, for how many boards more would do
_OURS = OrderRules()


def order(
    needs: Sequence[Need],
    classes: Sequence[MillClass],
    rules: OrderRules = _OURS,
    *,
    species: Species | None = None,
    unit: str = "mm",
    progress: Progress = None,
) -> Order:
    """Order boards of `classes` for `needs`.

    Raises
    ------
    InputError : no classes, one without a size, or some priced and some not

    >>> needs = [Need(2900.0, 130.0, 45.0, ("P7-2", "S7-2")), Need(1900.0, 130.0, 45.0, ("P7-3",))]
    >>> mill = [MillClass(length, 152.4, 50.8) for length in (3048.0, 5486.4)]
    >>> sure = OrderRules(spoilt_part=0.0, defect_part=0.0)
    >>> [(line.of.length_mm, line.count) for line in order(needs, mill, sure).lines]
    [(3048.0, 1), (5486.4, 1)]
    """
    _refuse_bad(classes)
    held = [is_held(need, classes, rules) for need in needs]
    fits = [need for need, holds in zip(needs, held, strict=True) if holds]
    over = [need for need, holds in zip(needs, held, strict=True) if not holds]
    unmet = [name for need in over for name in need.planks]
    jobs, plan, more, again = _surest(fits, classes, rules, progress)
    unmet += [jobs[i].pieces[-1 - n][1] for i, short in plan.unmet for n in range(short)]
    cuts = _cuts(plan, jobs, classes)
    lines = lines_of(cuts, again, classes, species, rules)
    lacks = _boards_lacking(fits, classes, rules, sure_of_both(more, again), unit)
    return summed(
        lines=lines, cuts=cuts, plan=plan, over=(more, again), unmet=tuple(unmet), fits=fits,
        lacks=lacks,
        reasons=(*why_not_held(over, classes, rules, unit), *smallest_boards(over, rules, unit)),
        rules=rules, unit=unit,
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Job:
    """An item of the cutting, and the planks it is for in order: rough length and name."""

    item: Item
    pieces: tuple[tuple[float, str], ...]
    sizes: tuple[Size, ...] = ()


Cutting = tuple[list[_Job], CutPlan, Spares, Spares]


def _surest(
    fits: Sequence[Need], classes: Sequence[MillClass], rules: OrderRules, progress: Progress
) -> Cutting:
    """Cut planks with spares of planks and boards; the surest found where the mill has too few.

    Of few boards some are better left whole as spares than cut into spare planks.
    """
    sure = _each_part(rules)
    best = _cut_with_spares(fits, classes, rules, sure, progress)
    if not fits:
        return best
    if sure_enough(sure_of_both(*best[2:]), rules):
        return _cheaper_with_one_reserve(best, fits, classes, rules)
    if all(c.at_most is None for c in classes):
        return best
    quick = replace(rules, seconds=max(rules.seconds / 8, 0.1))
    for part in SHARES:
        if sure_enough(sure_of_both(*best[2:]), rules):
            break
        other = _cut_with_spares(fits, classes, quick, part * sure, None)
        if sure_of_both(*other[2:]) > sure_of_both(*best[2:]) + 1e-9:
            best = other
    return best


def _cheaper_with_one_reserve(
    best: Cutting, fits: Sequence[Need], classes: Sequence[MillClass], rules: OrderRules
) -> Cutting:
    """Give the order without spare planks where it is cheaper: spoilt ones from spare boards."""
    if not rules.spoilt_part or not any(pool.spare.count for pool in best[2].pools):
        return best
    jobs = _jobs(fits, Spares((), 1.0, ""), classes, rules)
    stocks = [_stock(c, rules) for c in classes]
    plan = cut_stock([job.item for job in jobs], stocks, rules.seconds)
    if plan.unmet:
        return best
    pools = _pools_without(best[2])
    none = Spares(pools, chance_of(pools, rules.spoilt_part), "none")
    again = _board_spares(fits, _cuts(plan, jobs, classes), classes, rules, none)
    other = jobs, plan, none, again
    sure = sure_enough(sure_of_both(none, again), rules)
    return other if sure and _whole_cost(other) < _whole_cost(best) - 1e-9 else best


def _pools_without(over: Spares) -> tuple[Pool, ...]:
    return tuple(replace(pool, spare=replace(pool.spare, count=0)) for pool in over.pools)


def _whole_cost(cutting: Cutting) -> float:
    """Give what the boards to cut and the spare ones cost."""
    _, plan, _, again = cutting
    return plan.cost + sum(pool.spare.count * pool.spare.cost for pool in again.pools)


def _cut_with_spares(
    fits: Sequence[Need],
    classes: Sequence[MillClass],
    rules: OrderRules,
    sure: float,
    progress: Progress,
) -> Cutting:
    """Cut planks and their spares; the planks first where the mill has not enough for both."""
    more = spares(_lots(fits), rules.spoilt_part, sure, _plank_holder(classes, rules))
    jobs = _jobs(fits, more, classes, rules)
    stocks = [_stock(c, rules) for c in classes]
    plan = cut_stock([job.item for job in jobs], stocks, rules.seconds, progress)
    if not plan.unmet or not any(pool.spare.count for pool in more.pools):
        return (
            jobs,
            plan,
            more,
            _board_spares(fits, _cuts(plan, jobs, classes), classes, rules, more),
        )
    jobs = _jobs(fits, Spares((), 1.0, ""), classes, rules)
    items = [job.item for job in jobs]
    first = cut_stock(items, stocks, rules.seconds / 2)
    extra = _jobs((), more, classes, rules)
    then = cut_stock([job.item for job in extra], left_of(stocks, first), rules.seconds / 4)
    short = dict(then.unmet)
    cut = Counter(size for i, job in enumerate(extra)
                  for size in job.sizes[: len(job.sizes) - short.get(i, 0)])  # fmt: skip
    plan = joined_plans(first, then, items)
    jobs += extra
    more = fewer_spares(more, cut, rules.spoilt_part)
    return jobs, plan, more, _board_spares(fits, _cuts(plan, jobs, classes), classes, rules, more)


def _board_spares(
    fits: Sequence[Need],
    cuts: Sequence[BoardCut],
    classes: Sequence[MillClass],
    rules: OrderRules,
    planks: Spares,
) -> Spares:
    """Give spare boards: as sure as is asked with the planks' own spares.

    Planks that those are too few for are got out of spare boards, each of the cheapest that holds
    it, where boards of such sizes are left. Else boards are to be as sure as what is asked wants
    beside the planks' own chance.
    """
    left = [c if c.at_most is None else replace(c, at_most=c.at_most - sum(b.of == c for b in cuts))
            for c in classes]  # fmt: skip
    both = _one_reserve(cuts, left, rules, planks) if cuts else None
    if both is not None:
        return both
    sure = _each_part(rules)
    if rules.defect_part and planks.chance > rules.confidence:
        sure = rules.confidence / planks.chance
    enough = spares_needed(len(cuts), rules.defect_part, sure)
    return spares(
        _board_lots(cuts), rules.defect_part, sure,
        partial(_class_lots, classes=left, enough=enough),
    )  # fmt: skip


def _one_reserve(
    cuts: Sequence[BoardCut], left: Sequence[MillClass], rules: OrderRules, planks: Spares
) -> Spares | None:
    """Give spare boards that planks lacking are got out of too; None where some find none."""
    taken = boards_taken(planks, rules.spoilt_part, rules.defect_part)
    of = {size: _cheapest_that_holds(size, left, rules) for size in taken}
    if any(c is None for c in of.values()):
        return None
    asked = {size: _class_lots(c.size, left, 1)[0].size
             for size, c in of.items() if c is not None}  # fmt: skip
    more: dict[Size, Floats] = {}
    for size, board in asked.items():
        own = taken[size]
        more[board] = np.convolve(more[board], own)[: len(own)] if board in more else own
    also = sum(round(float(own @ np.arange(len(own)))) for own in more.values())
    enough = spares_needed(len(cuts), rules.defect_part, rules.confidence) + also
    found = spares(
        _board_lots(cuts), rules.defect_part, rules.confidence,
        partial(_class_lots, classes=left, enough=enough), more,
    )  # fmt: skip
    return replace(found, for_planks=tuple(asked.items()))


def _cheapest_that_holds(
    size: Size, classes: Sequence[MillClass], rules: OrderRules
) -> MillClass | None:
    """Give the cheapest class with boards left that holds a plank of this rough size."""
    able = (c for c in classes if c.at_most != 0 and _holds(c, size, rules))
    return min(able, key=lambda c: c.cost, default=None)


def _boards_lacking(
    fits: Sequence[Need], classes: Sequence[MillClass], rules: OrderRules, sure: float, unit: str
) -> tuple[tuple[MillClass, int], ...]:
    """Give what boards over the mill's counts would make the order as sure as is asked."""
    if sure_enough(sure, rules) or all(c.at_most is None for c in classes):
        return ()
    free = [replace(c, at_most=None) for c in classes]
    quick = replace(rules, seconds=min(QUICK, rules.seconds))
    return boards_over(order(fits, free, quick, unit=unit).lines, classes)


def _refuse_bad(classes: Sequence[MillClass]) -> None:
    problems = []
    if not classes:
        problems.append(Problem("stock", 0, "length", "", "a length a mill sells", "18 ft"))
    if len({c.price_m3 is None for c in classes}) > 1:
        wanted = "a price for every class, or for none"
        problems.append(Problem("stock", 0, "price", "", wanted, "900"))
    for c in classes:
        if not all(size > 0 for size in c.size) or (c.price_m3 is not None and c.price_m3 <= 0):
            wanted = "sizes and a price over nothing"
            problems.append(Problem("stock", 0, "length", str(c.size), wanted))
    if problems:
        raise InputError(problems)


def _each_part(rules: OrderRules) -> float:
    """Give how sure planks and boards are to be, each, so that both together are as was asked.

    Where only one of them can fail, that one is to be as sure as the whole.
    """
    both = rules.spoilt_part and rules.defect_part
    return math.sqrt(rules.confidence) if both else rules.confidence


def _holds(c: MillClass, size: Size, rules: OrderRules) -> bool:
    """Tell whether a board of class `c` holds a plank of this rough size."""
    long, wide, thick = size
    return (
        _steps_of_board(c, rules) >= _steps_of_plank(long, rules)
        and c.width_mm >= wide + 2 * rules.edge_trim_mm - 1e-6
        and c.thickness_mm >= thick - 1e-6
    )


def is_held(need: Need, classes: Sequence[MillClass], rules: OrderRules) -> bool:
    """Tell whether a board of one of the classes holds a plank."""
    return any(_holds(c, need.size, rules) for c in classes)


def _steps_of_plank(length_mm: float, rules: OrderRules) -> int:
    return math.ceil((length_mm + rules.kerf_mm) / rules.step_mm - 1e-9)


def _steps_of_board(c: MillClass, rules: OrderRules) -> int:
    usable = c.length_mm - 2 * rules.end_trim_mm + rules.kerf_mm
    return max(math.floor(usable / rules.step_mm + 1e-9), 0)


def _stock(c: MillClass, rules: OrderRules) -> Stock:
    return Stock(_steps_of_board(c, rules), c.cost, c.at_most)


def _lots(needs: Sequence[Need]) -> list[Lot]:
    """Gather planks of about one size, within half a metre and 25 mm, for their spares."""
    counted: dict[tuple[int, int], list[Need]] = {}
    for need in needs:
        key = math.ceil(need.width_mm / 25.0), math.ceil(need.length_mm / 500.0)
        counted.setdefault(key, []).append(need)
    widest: dict[int, float] = {}
    for (band, _), own in counted.items():
        widest[band] = max([widest.get(band, 0.0), *(need.width_mm for need in own)])
    return [_lot(own, widest[band]) for (band, _), own in counted.items()]


def _lot(needs: Sequence[Need], width_mm: float) -> Lot:
    long = max(need.length_mm for need in needs)
    thick = max(need.thickness_mm for need in needs)
    count = sum(len(need.planks) for need in needs)
    return Lot((long, width_mm, thick), count, long * width_mm * thick)


def _plank_holder(classes: Sequence[MillClass], rules: OrderRules) -> Holder:
    def holder(size: Size) -> Sequence[Lot]:
        held = any(_holds(c, size, rules) for c in classes if c.at_most != 0)
        return (Lot(size, 1, size[0] * size[1] * size[2]),) if held else ()

    return holder


def _class_lots(size: Size, classes: Sequence[MillClass], enough: int) -> Sequence[Lot]:
    """Give the cheapest class at least as great as `size`, and one there are enough of."""
    great = [c for c in classes if all(a >= b - 1e-6 for a, b in zip(c.size, size, strict=True))]
    able = ([c for c in great if c.at_most is None or c.at_most >= n] for n in (1, enough))
    best = dict.fromkeys(min(own, key=lambda c: c.cost) for own in able if own)
    return [Lot(c.size, 1, c.cost, c.at_most) for c in best]


def _jobs(
    needs: Sequence[Need], over: Spares, classes: Sequence[MillClass], rules: OrderRules
) -> list[_Job]:
    """Gather planks and spares of one size in steps that the same classes hold."""
    named: dict[tuple[int, tuple[int, ...]], list[tuple[Size, str]]] = {}
    pieces = [(need.size, name) for need in needs for name in need.planks]
    pieces += [(pool.spare.size, SPARE) for pool in over.pools for _ in range(pool.spare.count)]
    for size, name in pieces:
        held = tuple(k for k, c in enumerate(classes) if _holds(c, size, rules))
        named.setdefault((_steps_of_plank(size[0], rules), held), []).append((size, name))
    return [
        _Job(
            Item(steps, len(own), held),
            tuple((size[0], name) for size, name in own),
            tuple(size for size, _ in own),
        )
        for (steps, held), own in named.items()
    ]


def _cuts(plan: CutPlan, jobs: Sequence[_Job], classes: Sequence[MillClass]) -> list[BoardCut]:
    """Give every board's pieces, with the names of the planks they are for."""
    left = [iter(job.pieces) for job in jobs]
    return [
        BoardCut(
            classes[pattern.stock],
            tuple(next(left[i]) for i, count in pattern.cuts for _ in range(count)),
        )
        for pattern in plan.patterns
        for _ in range(pattern.boards)
    ]


def _board_lots(cuts: Iterable[BoardCut]) -> list[Lot]:
    counted: dict[MillClass, int] = {}
    for cut in cuts:
        counted[cut.of] = counted.get(cut.of, 0) + 1
    return [Lot(c.size, n, c.cost) for c, n in counted.items()]
