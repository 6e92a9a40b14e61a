"""What an order comes to: its lines and sums, what is bought over the planks, what is in doubt.

*Allowance*: something bought over the planks' own rough timber, by name.

Not checked here: anything; `ribband.timber.order.check` does.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

from ribband.findings import Finding, Severity
from ribband.timber.model import Species
from ribband.timber.order.delivery import pack, packing_findings
from ribband.timber.order.lengths import CutPlan
from ribband.timber.order.model import Allowance, BoardCut, MillClass, Need, Order, OrderLine
from ribband.timber.order.rules import OrderRules
from ribband.timber.order.spares import Size, Spares, sure_of_both
from ribband.timber.order.words import (
    boards_lacking,
    of_those_held,
    said_of_reserve,
    said_of_spares,
)
from ribband.units import BOARD_FEET_PER_M3, counted

__all__ = ["lines_of", "summed", "sure_enough"]


def sure_enough(sure: float, rules: OrderRules) -> bool:
    """Tell whether a chance is what the rules ask for.

    >>> sure_enough(0.91, OrderRules()), sure_enough(0.8, OrderRules())
    (True, False)
    """
    return sure >= rules.confidence - 1e-9


def lines_of(
    cuts: Sequence[BoardCut],
    again: Spares,
    classes: Sequence[MillClass],
    species: Species | None,
    rules: OrderRules,
) -> tuple[OrderLine, ...]:
    """Give the lines of the order, in the order of the classes."""
    boards = {c: sum(cut.of == c for cut in cuts) for c in classes}
    spare = dict.fromkeys(classes, 0)
    for pool in again.pools:
        if pool.spare.count:
            holding = [c for c in classes if c.size == pool.spare.size]
            spare[min(holding, key=lambda c: c.cost)] += pool.spare.count
    density = None if species is None else species.density(rules.moisture_percent)
    return tuple(
        _line(c, boards[c], spare[c], density)
        for c in dict.fromkeys(classes)
        if boards[c] + spare[c]
    )


def _line(c: MillClass, boards: int, spare: int, density: float | None) -> OrderLine:
    volume = c.volume_m3 * (boards + spare)
    return OrderLine(
        of=c,
        boards=boards,
        spare=spare,
        volume_m3=volume,
        board_feet=volume * BOARD_FEET_PER_M3,
        kg=None if density is None else volume * density,
        price=None if c.price_m3 is None else volume * c.price_m3,
    )


def summed(
    *,
    lines: tuple[OrderLine, ...],
    cuts: Sequence[BoardCut],
    plan: CutPlan,
    over: tuple[Spares, Spares],
    unmet: tuple[str, ...],
    fits: Sequence[Need],
    lacks: tuple[tuple[MillClass, int], ...],
    reasons: tuple[str, ...],
    rules: OrderRules,
    unit: str,
) -> Order:
    """Give the order of these lines: its sums, allowances and packs, and what is to be said of it.

    over : spare planks, spare boards; fits : what is needed and held; lacks : boards over the
    mill's counts that would make it as sure as is asked; reasons : why some planks are not held
    """
    volume = sum(line.volume_m3 for line in lines)
    packs = pack(lines, rules.lift_kg)
    sure = sure_of_both(*over)
    return Order(
        lines=lines,
        cuts=tuple(cuts),
        packs=packs,
        allowances=_allowances(lines, cuts, over, fits),
        cost=plan.cost,
        bound=plan.bound,
        gap=plan.gap,
        confidence=sure,
        volume_m3=volume,
        board_feet=volume * BOARD_FEET_PER_M3,
        kg=_sum_if_known([line.kg for line in lines]),
        price=_sum_if_known([line.price for line in lines]),
        unmet=unmet,
        plank_spares=over[0],
        board_spares=over[1],
        seconds=plan.seconds,
        findings=(*_findings(plan, unmet, over, rules, fits, reasons),
                  *_too_unsure(sure, lacks, rules, unit),
                  *packing_findings(packs, rules.lift_kg, unit)),
        asked=rules.confidence,
        lacks=lacks,
    )  # fmt: skip


def _sum_if_known(values: Sequence[float | None]) -> float | None:
    known = [value for value in values if value is not None]
    return sum(known) if known and len(known) == len(values) else None


def _allowances(
    lines: Sequence[OrderLine],
    cuts: Sequence[BoardCut],
    over: tuple[Spares, Spares],
    fits: Sequence[Need],
) -> tuple[Allowance, ...]:
    """Name everything bought over the planks' own rough volume, as a part of it; they add up.

    Where that is not told of every plank, their length by breadth over all stands for it.
    """
    boxes = sum(_volume(need.size) * len(need.planks) for need in fits)
    if not boxes:
        return ()
    told = all(need.own_m3 > 0 for need in fits)
    own = sum(need.own_m3 for need in fits) if told else boxes
    spare = sum(_volume(p.spare.size) * p.spare.count for p in over[0].pools)
    sawn = sum(long * c.of.width_mm * c.of.thickness_mm / 1e9 for c in cuts for long, _ in c.pieces)
    whole = sum(cut.of.volume_m3 for cut in cuts)
    extra = sum(line.of.volume_m3 * line.spare for line in lines)
    said = said_of_spares(*over)
    shape = ("shape", boxes - own, "sweep, taper and hollow: length by breadth over all")
    named = (
        *([shape] if told else []),
        ("spare planks", spare, said[0]),
        (
            "width and thickness",
            sawn - boxes - spare,
            "planks narrower and thinner than their boards",
        ),
        ("length", whole - sawn, "trimmed ends, kerfs and what is left at the end of boards"),
        ("spare boards", extra, said[1]),
    )
    return tuple(Allowance(name, 100 * volume / own, says) for name, volume, says in named)


def _volume(size: Size) -> float:
    return size[0] * size[1] * size[2] / 1e9


def _findings(  # noqa: PLR0917 - one line for each thing that may be said
    plan: CutPlan,
    unmet: Sequence[str],
    over: tuple[Spares, Spares],
    rules: OrderRules,
    fits: Sequence[Need],
    reasons: Sequence[str],
) -> Iterable[Finding]:
    if unmet:
        says = f"no class of the mill holds {counted(len(unmet), 'plank')}: {', '.join(unmet[:12])}"
        why = "; ".join(reasons) or "too few boards of the lengths and widths that would hold them"
        yield Finding("T030", Severity.CAUTION, "timber", "order", says, why)
    if plan.gap > 0 and math.isfinite(plan.gap):
        says = f"at most {100 * plan.gap:.1f} % over the least there can be; longer may find less"
        yield Finding("T031", Severity.NOTE, "timber", "order", says)
    if fits:
        sure = sure_of_both(*over)
        says = (
            f"{100 * sure:.0f} % sure to be enough, if {100 * rules.spoilt_part:g} % of planks are "
            f"spoilt and {100 * rules.defect_part:g} % of boards not fit, each by itself"
        )
        held = of_those_held(len(unmet))
        says = "; ".join(part for part in (says, said_of_reserve(*over), held) if part)
        why = "the rates are the yard's own to set; a bad log spoils many boards together"
        yield Finding("T035", Severity.NOTE, "timber", "order", says, why, "house")


def _too_unsure(
    sure: float, lacks: Sequence[tuple[MillClass, int]], rules: OrderRules, unit: str
) -> Iterable[Finding]:
    """Say that an order is not as sure as was asked, and what would make it so."""
    if not sure_enough(sure, rules):
        says = (
            f"{100 * sure:.0f} % sure to be enough is all there is, and "
            f"{100 * rules.confidence:.0f} % is asked for: the mill has not all the spares"
        )
        why = boards_lacking(lacks, unit) or "no class of the mill holds the spares"
        yield Finding("T036", Severity.CAUTION, "timber", "order", says, why)
