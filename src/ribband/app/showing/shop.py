"""Showing the shop: steaming, fastenings, caulking and blocks, handling.

Each answer also carries the same facts as plain data, in the columns of the open tables.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from ribband.app.plan.making import Tell
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.runner import quiet
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.app.showing.plan import as_tables
from ribband.app.showing.whose import headed
from ribband.sources import cite
from ribband.units import (
    counted,
    format_length,
    format_quantity,
    format_small,
    format_volume,
    format_weight,
    imperial,
    in_unit,
)

if TYPE_CHECKING:
    from ribband.findings import Finding
    from ribband.shop.caulking.model import Item
    from ribband.shop.fastenings.model import Fastenings, Life, Spec
    from ribband.shop.handling.model import Handled, Handling
    from ribband.shop.steaming.model import Box, BoxFit, SteamedPlank, Steaming
    from ribband.shop.whole import Shop

__all__ = [
    "caulking_answer",
    "fastenings_answer",
    "handling_answer",
    "show_caulking",
    "show_fastenings",
    "show_handling",
    "show_steaming",
    "steaming_answer",
]

RECOMMENDED = "recommended weight limit"
LIFTING = (
    "A recommended weight limit is what the revised lifting equation gives for this task as the "
    "rules set it (reach, height, turning, how often, grip): what nearly all healthy hands may "
    "lift so without more danger to the back. It is a recommendation and no law, and no leave to "
    "lift so much: the safety rules of the place come first."
)
MILE_AN_HOUR = 0.44704  # m/s
NEWTON_LB = 4.4482216152605
CODES = {
    "steaming": range(1, 20), "fastenings": range(21, 50), "caulking": range(51, 80),
    "handling": range(81, 100),
}  # fmt: skip


def show_steaming(path: Path, aside: Sequence[str] = (), *, tell: Tell = quiet) -> Answer:
    """Show which planks go into the steam box, how long, and how long they stay hot."""
    return _shown(steaming_answer, path, aside, tell, "steaming")


def steaming_answer(planned: Planned, shop: Shop) -> Answer:
    """Say the same of what is worked out already, without tables."""
    own, unit = shop.steaming, planned.run.bench.unit
    rules = planned.run.bench.rules["steaming"]
    lines = (
        Line("to be steamed", f"{len(own.steamed)} of {len(own.planks)} planks"),
        Line("the yard's rule", f"{own.rule.minutes_per_inch:g} min an inch", own.rule.says),
        Line(
            "heat-through",
            f"middle at {_heat(rules.hot_c, unit)} in steam of {_heat(rules.steam_c, unit)}",
        ),
        Line(
            "weather",
            f"air {_heat(rules.air_c, unit)}, wind {_wind(rules.wind_ms, unit)}",
            "for the hot time",
        ),
        *_box_lines(own.box, unit),
        *(_own_box(fit, unit) for fit in own.boxes if fit.box.sized),
    )
    return Answer(
        title="Steaming", lines=lines, listings=(_steamed(own, unit),),
        notes=("", f"Time by the yard: {cite(own.rule.source)}."),
        findings=_of(shop, "steaming"),
    )  # fmt: skip


def show_fastenings(path: Path, aside: Sequence[str] = (), *, tell: Tell = quiet) -> Answer:
    """Show sizes, numbers, holding power, what to buy, and fastenings compared over a life."""
    return _shown(fastenings_answer, path, aside, tell, "fastenings", "order")


def fastenings_answer(planned: Planned, shop: Shop) -> Answer:
    """Say the same of what is worked out already, without tables."""
    own, unit = shop.fastenings, planned.run.bench.unit
    return Answer(
        title="Fastenings",
        lines=(
            Line("rule by width", own.set_name, "see: ribband rules"),
            Line("driven", str(own.count), f"{own.bungs} bungs with spares"),
            *_holding_lines(own, unit),
        ),
        listings=(_sizes(own, unit), _to_buy(own), _contacts(own), _lives(own)),
        findings=_of(shop, "fastenings"),
    )


def show_caulking(path: Path, aside: Sequence[str] = (), *, tell: Tell = quiet) -> Answer:
    """Show seams, strands, what to buy for them, and the butt blocks."""
    return _shown(caulking_answer, path, aside, tell, "seams", "butt_blocks")


def caulking_answer(planned: Planned, shop: Shop) -> Answer:
    """Say the same of what is worked out already, without tables."""
    own, unit = shop.caulking, planned.run.bench.unit
    lines = (
        Line("seams, ends and butts", format_length(own.seam_mm, unit), "both sides"),
        Line("open at the face", format_small(own.opening_mm, unit)),
        Line("to be driven", _strands(own.cotton_strands, own.oakum_strands)),
        Line("butt blocks", str(shop.blocks.to_make), _timber(shop, unit)),
    )
    return Answer(
        title="Caulking and butt blocks", lines=lines,
        listings=(_items(shop, unit), _blocks(shop, unit)),
        findings=_of(shop, "caulking"),
    )  # fmt: skip


def show_handling(path: Path, aside: Sequence[str] = (), *, tell: Tell = quiet) -> Answer:
    """Show who lifts every plank, what goes by crane, and whether it gets round the corners."""
    return _shown(handling_answer, path, aside, tell, "handling", last=("shop", "laying"))


def handling_answer(planned: Planned, shop: Shop) -> Answer:
    """Say the same of what is worked out already, without tables."""
    own, unit = shop.handling, planned.run.bench.unit
    lines = (
        Line("one person, from the pile", format_weight(own.one_kg, unit), RECOMMENDED),
        Line("one person, hot to the hull", format_weight(own.hot_kg, unit), RECOMMENDED),
        _craned(own),
    )
    return Answer(
        title="Handling", lines=lines, listings=(_lifted(own, unit), _way(own, unit)),
        notes=("", f"{LIFTING} Source: {cite('niosh-94-110')}."),
        findings=_of(shop, "handling"),
    )  # fmt: skip


def _shown(
    say: Callable[[Planned, Shop], Answer],
    path: Path,
    aside: Sequence[str],
    tell: Tell,
    *tables: str,
    last: tuple[str, ...] = ("shop",),
) -> Answer:
    planned = plan(path, last, aside=aside, tell=tell)
    shop: Shop | None = planned.run.result("shop")
    if shop is None:
        return _stopped(planned)
    data = as_tables(planned, *tables)
    return replace(headed(planned, say(planned, shop)), data=data, good=planned.good)


def _stopped(planned: Planned) -> Answer:
    return Answer(notes=(planned.run.stopped,), findings=planned.run.findings, good=False)


def _of(shop: Shop, part: str) -> tuple[Finding, ...]:
    return tuple(f for f in shop.findings if int(f.code[1:]) in CODES[part])


def _heat(celsius: float, unit: str) -> str:
    return f"{1.8 * celsius + 32:.0f} F ({celsius:g} C)" if imperial(unit) else f"{celsius:g} C"


def _wind(ms: float, unit: str) -> str:
    return f"{ms / MILE_AN_HOUR:.1f} miles an hour" if imperial(unit) else f"{ms:g} m/s"


def _minutes(minutes: float | None) -> str:
    return "" if minutes is None else f"{minutes:.0f}"


def _box_lines(box: Box | None, unit: str) -> tuple[Line, ...]:
    if box is None:
        return ()
    sizes = (box.length_mm, box.width_mm, box.height_mm)
    inside = " x ".join(format_length(mm, unit) for mm in sizes)
    first = Line("box inside", inside, f"{box.at_once} at once, on edge; an estimate")
    if box.boiler_kw is None or box.water_l is None:
        return (first,)
    says = f"{format_quantity(box.water_l, 'l', unit)} of water a filling; an estimate"
    return (first, Line("boiler", f"{box.boiler_kw:.0f} kW", says))


def _own_box(fit: BoxFit, unit: str) -> Line:
    sizes = (fit.box.length_mm, fit.box.width_mm, fit.box.height_mm)
    inside = " x ".join(format_length(mm or 0.0, unit) for mm in sizes)
    stuck = f"; {counted(len(fit.stuck), 'plank')} too large for it: {', '.join(fit.stuck[:6])}"
    says = f"{fit.at_once} of the largest that go in at once{stuck if fit.stuck else ''}"
    return Line("a box there is" if fit.box.how_many == 1 else "boxes there are", inside, says)


def _steamed(own: Steaming, unit: str) -> Listing:
    columns = ("plank", "thick", "by rule, min", "by heat, min", "minutes", "binds", "hot, min",
               "why")  # fmt: skip
    rows = tuple(_steamed_row(p, unit) for p in own.steamed)
    return Listing("Into the box", columns, rows)


def _steamed_row(p: SteamedPlank, unit: str) -> tuple[str, ...]:
    times = (p.rule_min, p.heat_min, p.minutes)
    thick = format_length(p.thickness_mm, unit)
    return (p.plank, thick, *map(_minutes, times), p.binds, _minutes(p.hot_min), p.why)


def _holding_lines(own: Fastenings, unit: str) -> tuple[Line, ...]:
    held = own.holding
    if held.withdrawal_n is None:
        return (Line("holding power", "not known", held.says),)
    drawn = _force(held.withdrawal_n, unit)
    lines = [Line("drawn at, on average", drawn, in_unit(held.says, unit))]
    if held.safe_n is not None:
        lines.append(Line("older allowable load", _force(held.safe_n, unit)))
    return tuple(lines)


def _force(newtons: float, unit: str) -> str:
    return f"{newtons / NEWTON_LB:.0f} lb" if imperial(unit) else f"{newtons:.0f} N"


def _sizes(own: Fastenings, unit: str) -> Listing:
    columns = ("fastening", "plank", "long", "hole", "pilot, soft to hard", "bung", "in the frame")
    from ribband.shop.fastenings.drills import DRILLS

    title = f"Sizes. {DRILLS}"
    return Listing(title, columns, tuple(_size(spec, unit) for spec in own.specs))


def _size(spec: Spec, unit: str) -> tuple[str, ...]:
    from ribband.shop.fastenings.drills import hole_said

    pilots = " to ".join(
        hole_said(mm, unit) for mm in (spec.pilot_soft_mm, spec.pilot_hard_mm) if mm
    )
    name = " ".join(part for part in (spec.metal, spec.kind, spec.gauge) if part)
    lengths = (spec.thickness_mm, spec.length_mm)
    thick, long = ("" if mm is None else format_length(mm, unit) for mm in lengths)
    depth = "" if spec.penetration_mm is None else format_small(spec.penetration_mm, unit)
    hole, bung = hole_said(spec.body_hole_mm, unit), hole_said(spec.counterbore_mm, unit)
    return (name, thick, long, hole, pilots, bung, depth)


def _to_buy(own: Fastenings) -> Listing:
    rows = tuple(
        (line.where, str(line.count), str(line.to_buy), _whole(line.boxes), _money(line.price),
         "" if line.hours is None else f"{line.hours:.1f}")
        for line in own.lines
    )  # fmt: skip
    return Listing("To buy", ("where", "driven", "with spares", "boxes", "price", "hours"), rows)


def _whole(number: int | None) -> str:
    return "" if number is None else str(number)


def _money(price: float | None) -> str:
    return "" if price is None else f"{price:.2f}"


def _contacts(own: Fastenings) -> Listing:
    rows = tuple(
        (pair.one, pair.other, f"{pair.apart_mv:.0f}", pair.wastes) for pair in own.contacts
    )
    return Listing("Metals near each other, in sea water", ("one", "other", "mV apart", "wastes"),
                   rows)  # fmt: skip


def _lives(own: Fastenings) -> Listing:
    if len(own.lives) < 2:
        return Listing("Compared", (), ())
    columns = ("fastening", "cost", "hours", "refastened", "whole cost", "whole hours")
    rows = tuple(_life(life) for life in own.lives)
    return Listing(f"Compared over {own.lives[0].years:g} years", columns, rows)


def _life(life: Life) -> tuple[str, ...]:
    def hours(value: float | None) -> str:
        return "" if value is None else f"{value:.0f}"

    return (
        life.item, _money(life.cost), hours(life.hours), f"{life.refastenings} times",
        _money(life.whole_cost), hours(life.whole_hours),
    )  # fmt: skip


def _strands(cotton: float, oakum: float) -> str:
    said = [f"{n:g} of {what}" for n, what in ((cotton, "cotton"), (oakum, "oakum")) if n]
    return ", ".join(said) + " strands" if said else "not known"


def _timber(shop: Shop, unit: str) -> str:
    blocks = shop.blocks
    if not blocks.blocks:
        return "no butt stands in a bay"
    return f"{format_volume(blocks.volume_m3, unit)} of {blocks.timber or 'timber'}, with spares"


def _items(shop: Shop, unit: str) -> Listing:
    rows = tuple(
        (item.item, _much(item, unit), f"{item.allowance_percent:.0f} %", item.says,
         _money(item.price))
        for item in shop.caulking.items
        if item.quantity != 0
    )  # fmt: skip
    return Listing("To buy", ("what", "how much", "waste in it", "how reckoned", "price"), rows)


def _much(item: Item, unit: str) -> str:
    if item.quantity is None:
        return "not known"
    return format_quantity(item.quantity, item.unit, unit)


def _blocks(shop: Shop, unit: str) -> Listing:
    rows = tuple(
        (str(s.count), *(format_length(mm, unit) for mm in (s.length_mm, s.width_mm,
                                                            s.thickness_mm)))
        for s in shop.blocks.sizes
    )  # fmt: skip
    return Listing("Butt blocks", ("how many", "long", "wide", "thick"), rows)


def _lifted(own: Handling, unit: str) -> Listing:
    rows = tuple(_hands(h, unit) for h in own.planks)
    return Listing("Planks", ("plank", "rough", "hung", "from the pile", "to the hull", ""), rows)


def _craned(own: Handling) -> Line:
    unknown = sum(not h.known for h in own.planks)
    if unknown == len(own.planks):
        return Line("not by hand", "not known", "the weights are not: weigh a plank")
    more = f"; {unknown} not known" if unknown else ""
    says = f"{len(own.craned)} of {len(own.planks)} planks{more}"
    return Line("not by hand", says, "crane or tackle")


def _hands(h: Handled, unit: str) -> tuple[str, ...]:
    def who(hands: int | None) -> str:
        return "" if not h.known else "crane" if hands is None else str(hands)

    weights = ("" if kg is None else format_weight(kg, unit) for kg in (h.rough_kg, h.hung_kg))
    return (h.name, *weights, who(h.rough_hands), who(h.hung_hands), h.says)


def _way(own: Handling, unit: str) -> Listing:
    rows: tuple[tuple[str, ...], ...] = tuple(
        (f"{p.leg.start} to {p.leg.end}", format_length(p.leg.distance_mm, unit),
         f"{p.minutes:.1f} min", _longest(p.longest_mm, unit), ", ".join(p.stuck[:6]))
        for p in own.legs
    )  # fmt: skip
    return Listing(
        "The way", ("leg", "far", "walked", "longest round it", "do not get round"), rows
    )


def _longest(mm: float | None, unit: str) -> str:
    return "any" if mm is None else format_length(mm, unit)
