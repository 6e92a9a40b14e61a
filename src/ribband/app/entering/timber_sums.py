"""The timber summed up: lines for a summary, totals and what each search proved.

Nothing is made here; a line is there only if its step was.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

from ribband.app.plan.runner import Run
from ribband.app.showing.answers import Line
from ribband.units import counted, format_volume, format_weight, imperial

if TYPE_CHECKING:
    from ribband.timber.buying import Bought
    from ribband.timber.laid import Laid
    from ribband.timber.pile import Pile

__all__ = [
    "laying_lines",
    "order_lines",
    "tally_lines",
    "timber_lines",
    "timber_searches",
    "timber_totals",
]


LAYING = {"planks laid", "got out already", "boards cut into", "timber used"}


def timber_lines(done: Run, unit: str) -> tuple[Line, ...]:
    """Sum up in a few lines what the timber came to."""
    laid: Laid | None = done.result("laying")
    bought: Bought | None = done.result("order")
    lines = () if laid is None else laying_lines(laid, unit)
    lines = tuple(line for line in lines if line.what in LAYING)
    bill = () if bought is None else order_lines(bought, unit)
    short = bought is not None and bought.order is not None and not bought.order.sure_enough
    told = {"to buy", "no class holds", *(["sure to be enough"] if short else [])}
    return (*lines, *(line for line in bill if line.what in told))


def timber_totals(done: Run) -> dict[str, Any]:
    """Give the totals of pile, laying and order as plain values."""
    totals: dict[str, Any] = {}
    pile: Pile | None = done.result("boards")
    laid: Laid | None = done.result("laying")
    bought: Bought | None = done.result("order")
    if pile is not None and pile.boards:
        totals["boards"] = len(pile.boards)
        totals["boards_m3"] = pile.tally.volume_m3
    if laid is not None:
        totals["planks_laid"] = len(laid.laying.cuts)
        totals["planks_without_a_board"] = list(laid.laying.unlaid)
        totals["timber_used_m3"] = laid.laying.used_m3
    if bought is not None and bought.order is not None:
        totals["to_buy_m3"] = bought.order.volume_m3
        totals["planks_no_class_holds"] = list(bought.order.unmet)
    return totals


def timber_searches(done: Run) -> list[dict[str, Any]]:
    """Give what laying and ordering reached and proved; a bound of None is none proved."""
    found: list[dict[str, Any]] = []
    laid: Laid | None = done.result("laying")
    bought: Bought | None = done.result("order")
    if laid is not None:
        own = laid.laying
        bound = own.bound_m3 if own.bound_m3 and not own.unlaid else None
        found.append(_search("laying: timber used, m3", own.used_m3, bound, own.seconds))
    if bought is not None and bought.order is not None:
        order = bought.order
        bound = order.bound if math.isfinite(order.bound) else None
        found.append(_search("order: cost of the boards to cut", order.cost, bound, order.seconds))
    return found


def _search(name: str, value: float, bound: float | None, seconds: float) -> dict[str, Any]:
    gap = None if bound is None else value - bound
    return {
        "search": name, "value": value, "bound": bound, "gap": gap,
        "proved": gap is not None and gap <= 1e-9 * max(value, 1.0), "seconds": seconds,
    }  # fmt: skip


def tally_lines(pile: Pile, unit: str) -> tuple[Line, ...]:
    """Sum the pile up."""
    tally = pile.tally
    kg = "not known of every board" if tally.kg is None else format_weight(tally.kg, unit)
    practice = f"{tally.practice_board_feet} board feet by the practice of the trade"
    dresses = Counter(own.dressing.dresses if own.dressing else None for own in pile.dressings)
    lines = [
        Line("sound boards", f"{tally.sound} of {len(pile.boards)}"),
        Line("timber", format_volume(tally.volume_m3, unit), practice if imperial(unit) else ""),
        Line("weight", kg, "rough, at the moisture tallied; weigh one before lifting"),
        Line("will dress", str(dresses[True]), _wont(dresses)),
    ]
    if tally.price is not None:
        lines.append(Line("price", f"{tally.price:g}", "in the yard's money"))
    return tuple(lines)


NO_BOUND = "the least timber is proved for all planks together, and some have no board"


def laying_lines(laid: Laid, unit: str) -> tuple[Line, ...]:
    """Sum a laying up: timber used, the bound, the gap."""
    own = laid.laying
    boards = len({cut.board for cut in own.cuts})
    sound = sum(board.state == "sound" for board in laid.boards)
    without = f"{len(own.unlaid)} found no board" if own.unlaid else "all of them"
    lines = [
        Line("planks laid", str(len(own.cuts)), without),
        *([_out(laid.out, laid.gone)] if laid.out or laid.gone else []),
        Line("boards cut into", f"{boards} of {sound}", f"{counted(len(own.offcuts), 'end')} kept"),
        Line("timber used", format_volume(own.used_m3, unit), f"yield {own.yield_part:.0%}"),
    ]
    if own.cost is not None:
        least = "" if own.cost_bound is None or own.unlaid else f"; at least {own.cost_bound:.2f}"
        lines.append(Line("price of it", f"{own.cost:.2f}", f"in the yard's money{least}"))
    if own.bound_m3 and not own.unlaid:
        says = f"no laying can use less; {own.gap:.0%} above it: the bound is weak, see the docs"
        lines.append(Line("proved bound", format_volume(own.bound_m3, unit), says))
    elif own.unlaid:
        lines.append(Line("proved bound", "none", NO_BOUND))
    return tuple(lines)


def order_lines(bought: Bought, unit: str) -> tuple[Line, ...]:
    """Sum an order up; how sure it is comes first where that is less than was asked for."""
    from ribband.timber.order.words import how_least, how_sure

    if bought.order is None:
        return (Line("to buy", "nothing"), *([_out((), bought.gone)] if bought.gone else []))
    own = bought.order
    boards = sum(line.count for line in own.lines)
    lacking = sum(len(need.planks) for need in bought.needs)
    kg = "" if own.kg is None else format_weight(own.kg, unit)
    sure = Line("sure to be enough", f"{own.confidence:.0%}", how_sure(own, unit))
    lines = [] if own.sure_enough else [sure]
    lines += [
        Line("planks without a board", str(lacking)),
        *([_out((), bought.gone)] if bought.gone else []),
        Line(
            "to buy",
            f"{counted(boards, 'board')}, {format_volume(own.volume_m3, unit)}",
            how_least(own),
        ),
    ]
    lines += [Line("price", f"{own.price:.2f}", "in the yard's money")] if own.price else []
    packs = counted(len(own.packs), "pack") if kg else "packs not split for lifting: ask the mill"
    lines += [Line("weight", kg or "not known", packs)]
    lines += [sure] if own.sure_enough else []
    if own.unmet:
        lines.append(Line("no class holds", str(len(own.unmet)), ", ".join(own.unmet)))
    return tuple(lines)


def _out(lie: Sequence[str], gone: Sequence[str]) -> Line:
    """Say of planks got out already, by the log, where they count."""
    said = [
        f"{len(lie)} stay on their boards as they were sawn" if lie else "",
        f"of {len(gone)} the board is not known: no board is looked for, none is bought"
        if gone else "",
    ]  # fmt: skip
    return Line("got out already", str(len(lie) + len(gone)), "; ".join(filter(None, said)))


def _wont(dresses: Counter[bool | None]) -> str:
    said = [f"{dresses[False]} will not" if dresses[False] else "",
            f"{dresses[None]} cannot be told" if dresses[None] else ""]  # fmt: skip
    return ", ".join(part for part in said if part)
