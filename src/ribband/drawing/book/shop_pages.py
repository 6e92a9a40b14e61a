"""The shop in the book: steam box, fastenings, caulking and blocks, who lifts what.

Planks of both sides that are alike share a line. Not checked here: the figures; the shop's own
checks do that, and their findings are listed with the rest.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from ribband.drawing.book.flow import Box, Story, bullet, heading, say
from ribband.drawing.book.model import Book
from ribband.drawing.book.table import Col, Line, Sum, Table
from ribband.drawing.book.words import LEGEND, count, length, mark
from ribband.shop.fastenings.drills import DRILLS, hole_said
from ribband.units import (
    POUND,
    format_quantity,
    format_small,
    format_volume,
    format_weight,
    imperial,
    in_unit,
)

if TYPE_CHECKING:
    from ribband.shop.caulking.model import Item
    from ribband.shop.fastenings.model import Fastenings, Spec
    from ribband.shop.fastenings.model import Line as ToBuy
    from ribband.shop.handling.model import Handled
    from ribband.shop.steaming.model import SteamedPlank
    from ribband.shop.whole import Shop

__all__ = ["shop"]

CARE_OF_STEAM = (
    "Vent the box and never seal it. Gloves, face clear of the door, water in the boiler watched. "
    "A hot plank moves fast: agree the words first. Local rules come before this page."
)
CARE_OF_LIFTS = (
    "The lifting equation is a guide downward only. It does not hold for carrying, one hand, hot "
    "planks, staging, cramped or slippery places, and hanging a plank is most of these. Tackle, "
    "stands, enough people and one voice; the safety rules of the place come first."
)
NEWTON_LB = 4.4482216152605


def shop(book: Book) -> Story:
    """Set the shop's part: what is done to the planks between the saw and the paint."""
    story: Story = [heading("In the shop", "shop")]
    if book.shop is None:
        return [*story, say("Steaming, fastenings and caulking have not been worked out.")]
    return [
        *story,
        *_steaming(book, book.shop),
        *_fastenings(book, book.shop.fastenings),
        *_caulking(book, book.shop),
        *_handling(book, book.shop),
    ]


def _steaming(book: Book, made: Shop) -> Story:
    story: Story = [heading("Steaming", "steaming", 1)]
    own = made.steaming
    if all(p.needed is None for p in own.planks):
        return [*story, say("Not known: a plank’s bend wants a hull measured in space.")]
    if not own.steamed:
        return [*story, say("No plank asks for steam by the rules. Offer each up all the same.")]
    story += [say(_steam_lead(book, made)), Box([say(CARE_OF_STEAM, "boxed")], loud=True)]
    cols = [Col("planks"), Col("thick", "right"), Col("by rule", "right"),
            Col("by heat", "right"), Col("minutes", "right"), Col("hot", "right"),
            Col("why", share=1)]  # fmt: skip
    alike: dict[tuple[str, ...], list[str]] = {}
    for plank in own.steamed:
        alike.setdefault((_twin(plank.plank), *_steam_cells(plank, book.unit)), []).append(
            plank.plank
        )
    rows: list[Line] = [(", ".join(names), *cells[1:]) for cells, names in alike.items()]
    foot = f"Minutes. Rule {mark(own.rule.source)}; hot: an estimate ¶. {LEGEND}"
    return [*story, Table(cols, rows, fives=False, foot=foot)]


def _steam_lead(book: Book, made: Shop) -> str:
    own = made.steaming
    heat = sum(p.binds == "heat flow" for p in own.steamed)
    said = (
        f"{count(len(own.steamed), 'plank')} of {len(own.planks)} go into the box. The yard’s rule "
        f"is {own.rule.minutes_per_inch:g} minutes an inch; the time by heat flow is until a "
        f"plank’s middle is hot; the longer binds, {_for(heat)} heat flow. "
    )
    box = made.steaming.box
    if box is None or box.boiler_kw is None:
        return said
    sizes = (box.length_mm, box.width_mm, box.height_mm)
    inside = " × ".join(length(mm, book.unit) for mm in sizes)
    return said + (
        f"A box for {box.at_once} on edge is {inside} inside, the boiler about "
        f"{box.boiler_kw:.0f} kW: estimates with margin."
    )


def _for(number: int) -> str:
    return {0: "for none of them", 1: "for one of them"}.get(number, f"for {number} of them")


def _steam_cells(p: SteamedPlank, unit: str) -> tuple[str, ...]:
    times = (p.rule_min, p.heat_min, p.minutes, p.hot_min)
    rule, heat, longest, hot = ("–" if t is None else f"{t:.0f}" for t in times)
    return (length(p.thickness_mm, unit), rule, heat, longest, hot, p.why)


def _twin(name: str) -> str:
    """Name a plank without its side."""
    return name[1:] if name[:1] in {"P", "S"} else name


def _fastenings(book: Book, own: Fastenings) -> Story:
    story: Story = [heading("Fastenings", "fastenings", 1)]
    spec = own.specs[0] if own.specs else None
    story.append(say(_fastening_lead(own, spec, book.unit)))
    cols = [Col("where"), Col("fastening"), Col("long", "right"), Col("hole", "right"),
            Col("bung", "right"), Col("driven", "right"), Col("to buy", "right"),
            Col("boxes", "right"), Col("price", "right")]  # fmt: skip
    rows: list[Line] = [_order_row(line, book.unit) for line in own.lines]
    if rows:
        driven, bought = (sum(getattr(line, n) for line in own.lines) for n in ("count", "to_buy"))
        rows.append(Sum(("", "", "", "", "", str(driven), str(bought), "", "")))
        story.append(Table(cols, rows, fives=False, title="Sizes and numbers"))
    story += [_by_strake(book, own)]
    for pair in own.contacts:
        if pair.apart_mv > 0:
            text = f"{pair.one} by {pair.other}: {pair.apart_mv:.0f} mV apart in sea water; "
            story.append(bullet(text + f"{pair.wastes} wastes."))
    return story


def _fastening_lead(own: Fastenings, spec: Spec | None, unit: str) -> str:
    held = own.holding
    power = f"Holding power is not known: {held.says}."
    if held.withdrawal_n is not None:
        newtons = held.withdrawal_n
        force = f"{newtons / NEWTON_LB:.0f} lb" if imperial(unit) else f"{newtons:.0f} N"
        power = (
            f"One is drawn at about {force}, {in_unit(held.says, unit)}: an average, "
            "less in wet or worked wood and no rule of her strength, which is the surveyor’s."
        )
    pilots = ""
    if spec is not None and spec.pilot_soft_mm and spec.pilot_hard_mm:
        sizes = (hole_said(mm, unit) for mm in (spec.pilot_soft_mm, spec.pilot_hard_mm))
        pilots = f" Pilot {' in softwood to '.join(sizes)} in hardwood."
    return (
        f"{own.count} in all by the set of rules “{own.set_name}”, staggered on each frame clear "
        f"of edges and of each other; {own.bungs} bungs.{pilots} {power} {DRILLS}."
    )


def _order_row(line: ToBuy, unit: str) -> tuple[str, ...]:
    spec = line.spec
    name = " ".join(part for part in (spec.metal, spec.kind, spec.gauge) if part)
    long = "–" if spec.length_mm is None else length(spec.length_mm, unit)
    hole, bung = (hole_said(mm, unit) or "–" for mm in (spec.body_hole_mm, spec.counterbore_mm))
    boxes = "–" if line.boxes is None else str(line.boxes)
    price = "–" if line.price is None else f"{line.price:.2f}"
    return (line.where, name, long, hole, bung, str(line.count), str(line.to_buy), boxes, price)


def _by_strake(book: Book, own: Fastenings) -> Table:
    """Set how many a strake has on a frame, at its ends, and in all."""
    strake_of = {p.name: p.strake for p in book.planks.planks} if book.planks else {}
    cols = [Col("strake"), Col("on a frame"), Col("at a butt or block", "right"),
            Col("at a hood end", "right"), Col("in all", "right")]  # fmt: skip
    rows: list[Line] = []
    for strake in reversed(book.lining.strakes):
        mine = [r for r in own.rows if strake_of.get(r.plank) == strake.name]
        on = _span(r.count for r in mine if r.where == "frames")
        joints = _span(r.count for r in mine if r.where in {"butts", "blocks"})
        ends = _span(r.count for r in mine if r.where in {"hood ends", "nibs"})
        rows.append((strake.name, on, joints, ends, str(sum(r.count for r in mine))))
    return Table(cols, rows, fives=False, title="By strake, both sides; each plank's own end")


def _span(numbers: Iterable[int]) -> str:
    """Write the least and greatest of some numbers.

    >>> _span([3, 2, 3]), _span([4]), _span([])
    ('2 to 3', '4', '–')
    """
    found = sorted(set(numbers))
    if not found:
        return "–"
    return str(found[0]) if len(found) == 1 else f"{found[0]} to {found[-1]}"


def _caulking(book: Book, made: Shop) -> Story:
    own, unit = made.caulking, book.unit
    strands = [f"{n:g} of {what}" for n, what in
               ((own.cotton_strands, "cotton"), (own.oakum_strands, "oakum")) if n]  # fmt: skip
    why = f" ({own.fill.says})" if own.fill else ""
    lead = (
        f"{length(own.seam_mm, unit)} of seams, ends and butts, both sides, open "
        f"{format_small(own.opening_mm, unit)} at the face. Strands: "
        f"{' and '.join(strands) or 'not known'}{why}; the caulker judges. Prime, drive to bear "
        "and no harder, prime, pay."
    )
    cols = [Col("what"), Col("how much", "right"), Col("waste in it", "right"), Col("how reckoned"),
            Col("", ink="faint")]  # fmt: skip
    rows = [
        (i.item, _much(i, unit), f"{i.allowance_percent:.0f} %", i.says, mark(i.source))
        for i in own.items
        if i.quantity != 0
    ]
    story: Story = [heading("Caulking and bedding", "caulking", 1), say(lead)]
    story.append(Table(*_with_prices(cols, rows, own.items), fives=False, foot=LEGEND))
    return [*story, *_blocks(book, made)]


def _with_prices(
    cols: list[Col], rows: Sequence[tuple[str, ...]], items: Iterable[Item]
) -> tuple[list[Col], list[Line]]:
    """Put the prices before the last column; nothing where the yard gave none."""
    prices = [i.price for i in items if i.quantity != 0]
    if all(price is None for price in prices):
        return cols, list(rows)
    said = ["" if price is None else f"{price:.2f}" for price in prices]
    more: list[Line] = [(*row[:-1], price, row[-1]) for row, price in zip(rows, said, strict=True)]
    return [*cols[:-1], Col("price", "right"), cols[-1]], more


def _much(item: Item, unit: str) -> str:
    if item.quantity is None:
        return "weigh it"
    return format_quantity(item.quantity, item.unit, unit)


def _blocks(book: Book, made: Shop) -> Story:
    blocks = made.blocks
    if not blocks.blocks:
        return [say("Every butt lands on a frame: no butt blocks.")]
    lead = (
        f"{count(blocks.to_make, 'butt block')} with spares, "
        f"{format_volume(blocks.volume_m3, book.unit)} of {blocks.timber or 'timber'}, bedded and "
        "left clear of the frames for water. On a round bilge they are hollowed: thicker there."
    )
    cols = [Col("how many", "right"), Col("long", "right"), Col("wide", "right"),
            Col("thick", "right")]  # fmt: skip
    rows: list[Line] = [
        (str(s.count), *(length(mm, book.unit) for mm in (s.length_mm, s.width_mm, s.thickness_mm)))
        for s in blocks.sizes
    ]
    return [heading("Butt blocks", "blocks", 1), say(lead), Table(cols, rows, fives=False)]


def _handling(book: Book, made: Shop) -> Story:
    own, unit = made.handling, book.unit
    one, hot = (format_weight(kg, unit) for kg in (own.one_kg, own.hot_kg))
    lead = (
        f"The lifting equation recommends that one person lift no more than {one} from the pile "
        f"and {hot} to the hull, as the task is set by the rules: a recommendation, no law. "
        f"{_craned(own.planks)}"
    )
    story: Story = [heading("Lifting and the way to the hull", "handling", 1), say(lead)]
    story.append(Box([say(CARE_OF_LIFTS, "boxed")], loud=True))
    known = [h for h in own.planks if h.known]  # of the others the lead says to weigh one
    told = [h for h in known if not h.by_hand or max(h.rough_hands or 0, h.hung_hands or 0) > 4]
    if told:
        story.append(_lift_table(told, unit))
    for leg in own.legs:
        text = f"From {leg.leg.start} to {leg.leg.end}: {leg.minutes:.1f} min"
        if leg.longest_mm is not None:
            text += f"; round the corner {length(leg.longest_mm, unit)} at the longest"
        stuck = f"; {', '.join(leg.stuck)} do not get round" if leg.stuck else ""
        story.append(bullet(f"{text}{stuck}."))
    return story


def _craned(planks: Sequence[Handled]) -> str:
    """Say how many are not lifted by hand; a weight not known is never taken for a light one."""
    if not all(h.known for h in planks):
        return "Not every plank’s weight is known: weigh one before lifting many."
    heavy = sum(not h.by_hand for h in planks)
    if not heavy:
        return "No plank is too heavy for the most hands allowed."
    be = "is" if heavy == 1 else "are"
    return (
        f"{count(heavy, 'plank')} of {len(planks)} {be} not to be lifted by hand: crane or tackle."
    )


def _lift_table(planks: list[Handled], unit: str) -> Table:
    kilo = "lb" if imperial(unit) else "kg"
    cols = [Col("planks"), Col(f"rough, {kilo}", "right"), Col(f"hung, {kilo}", "right"),
            Col("lifted by", share=1)]  # fmt: skip
    alike: dict[tuple[str, ...], list[str]] = {}
    for h in planks:
        cells = (_twin(h.name), _kilo(h.rough_kg, unit), _kilo(h.hung_kg, unit), h.says)
        alike.setdefault(cells, []).append(h.name)
    rows: list[Line] = [(", ".join(names), *cells[1:]) for cells, names in alike.items()]
    return Table(cols, rows, title="Planks for a crane, or for more than four hands")


def _kilo(kg: float | None, unit: str) -> str:
    if kg is None:
        return "–"
    return f"{kg / float(POUND) if imperial(unit) else kg:.0f}"
