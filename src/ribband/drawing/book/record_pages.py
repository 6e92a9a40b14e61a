"""The record as a book: what was found, what was put in, by whom and when, and what it came to.

Made for owner, surveyor and archive. What was not written down is blank, and that is said.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from reportlab.platypus import CondPageBreak, NextPageTemplate

from ribband.drawing.book import plank_pages
from ribband.drawing.book.flow import Pairs, Story, bullet, heading, say, space
from ribband.drawing.book.model import Book
from ribband.drawing.book.picture_rows import Numbered, picture_rows
from ribband.drawing.book.plates import plates
from ribband.drawing.book.press import Found, press
from ribband.drawing.book.record_front import Kept, cover, judged
from ribband.drawing.book.style import mm, text_width
from ribband.drawing.book.table import Col, Line, Loud, Sum, Table
from ribband.drawing.book.words import count, in_unit, unit_words
from ribband.drawing.unprinted import unprinted
from ribband.drawing.views.cut_backs import place_of
from ribband.findings import Severity
from ribband.units import format_bare, format_length, format_off

if TYPE_CHECKING:
    from ribband.record import Drift, Repair, SideLeft
    from ribband.record.keeping import HoursLine, PlankRecord, Record

__all__ = ["Kept", "write_record"]

BEGINS = 62 * mm  # a section begins higher than this from the foot of a page
ROW, ABOVE = 12.6, 96.0  # of the table of costs, points: a row, and words, head and foot
FEW = 8  # planks of which nothing is known are lines of the table; more are named in a sentence


def write_record(kept: Kept, path: Path) -> None:
    """Write the record to a PDF at `path`; the same record gives the same bytes."""

    def story(_book: Book, _before: Found) -> Story:
        return [*cover(kept), NextPageTemplate("text"), *_parts(kept)]

    press(kept.book, path, story, "Record of planking")


def _parts(kept: Kept) -> Story:
    """Set the sections; none begins where there is no room for its words and some of its table."""
    sections = (
        _repair(kept),
        plates(kept.book, "expansion", ("where", "Where on the hull")),
        plank_pages.old_planking(_as_lined(kept), _new_joints(kept.repaired)),
        _planks(kept),
        _pictures(kept),
        _notes(kept),
        _deviations(kept),
        _fastenings(kept),
        _hours(kept),
        _findings(kept),
        _signed(),
    )
    story: Story = []
    for part in sections:
        if part and hasattr(part[0], "entry"):
            story.append(CondPageBreak(BEGINS))
        story += part
    return story


def _as_lined(kept: Kept) -> Book:
    """Give the book with the linings and butts as they are, where a side was divided anew."""
    book = kept.book
    anew = {one.side: one.relined for one in kept.left.sides if one.relined}
    if not anew:
        return book
    port, other = anew.get("port"), anew.get("starboard")
    return replace(
        book,
        anew={side: own.lining for side, own in anew.items()},
        ways=next(iter(anew.values())).ways,
        layout=port.layout if port else book.layout,
        starboard=other.layout if other else book.starboard or book.layout,
    )


def _repair(kept: Kept) -> Story:
    if kept.repair is None:
        return []
    from ribband.record import joints_said, place_said  # noqa: PLC0415

    recorded = all(f.code != "R032" for f in kept.book.findings)
    own = [(r, side) for side in kept.repair.sides for r in side.renewals]
    rows: list[Line] = [
        (str(r.turn), r.side, r.strake, "; ".join(f"{b.first} to {b.last}" for b in r.bad),
         "; ".join(b.found for b in r.bad if b.found) or "not said",
         f"{place_said(side.ways, r.landings[0])} to {place_said(side.ways, r.landings[-1])}",
         joints_said(side.ways, r, recorded=recorded),
         format_bare(r.length_mm, kept.book.unit), ", ".join(r.planks))
        for r, side in sorted(own, key=lambda pair: pair[0].turn)
    ]  # fmt: skip
    cols = [Col("turn", "right"), Col("side"), Col("strake"), Col("bad at"), Col("found", share=1),
            Col("renewed", share=1), Col("joints", share=1), Col("length", "right"),
            Col("planks", share=0.7)]  # fmt: skip
    said = (
        "What was found bad, and what is renewed for it. Turns are a proposal: how much of her is "
        "open at once, and how she is shored, is the surveyor’s word."
    )
    story: Story = [heading("Found and renewed", "renewed"), say(said), Table(cols, rows)]
    return [*story, *_held(kept.repair), *_cut_backs(kept.repair, kept.book.unit)]


def _held(repair: Repair) -> Story:
    """Tell why no end of a renewal stands nearer to what is bad."""
    from ribband.record import held_said, place_said  # noqa: PLC0415

    rows: list[Line] = [
        (side.side, ", ".join(r.planks), end.end, place_said(side.ways, end.at), *said)
        for side in repair.sides for r in side.renewals for end in r.held
        for said in held_said(side.ways, end, side.old)
    ]  # fmt: skip
    if not rows:
        return []
    cols = [Col("side"), Col("planks", share=0.7), Col("end"), Col("stands at"),
            Col("not at", share=0.8), Col("for", share=2)]  # fmt: skip
    return [heading("Why so much is renewed", "held", 1), Table(cols, rows)]


def _new_joints(repair: Repair | None) -> dict[str, list[str]] | None:
    """Give the joints a repair puts in, by strake; None of a hull that is planked anew."""
    if repair is None:
        return None
    from ribband.record import place_said  # noqa: PLC0415

    new: dict[str, list[str]] = {}
    for side in repair.sides:
        for r in side.renewals:
            places = [place_said(side.ways, at).removeprefix("frame ") for at in r.new]
            new.setdefault(r.strake, []).extend(f"{place} ({r.side})" for place in places)
    return new


def _cut_backs(repair: Repair, unit: str) -> Story:
    """Tell where old planks are cut back for scarfs."""
    from ribband.record import cut_backs  # noqa: PLC0415

    rows: list[Line] = [
        (c.side, c.strake, c.stays, place_of(c, c.tip_mm, unit), place_of(c, c.full_mm, unit),
         c.face, f"1 in {c.slope:.3g}", c.new)
        for c in cut_backs(repair)
    ]  # fmt: skip
    if not rows:
        return []
    cols = [Col("side"), Col("strake"), Col("old plank"), Col("cut off", share=1),
            Col("full thickness", share=1), Col("face"), Col("slope"),
            Col("joined to")]  # fmt: skip
    foot = (
        "The old plank’s end is planed from its full thickness to nothing where it is cut off. The "
        "forward plank’s tip lies outside. Whether the wood there is sound the surveyor looks at."
    )
    return [space(6), Table(cols, rows, title="Old planks cut back for scarfs", foot=foot)]


def _planks(kept: Kept) -> Story:
    numbers = _numbered(kept)
    told = [own for own in kept.record.planks if own.lines or own.photos or own.got.board]
    begun = told if told and len(kept.record.planks) - len(told) > FEW else kept.record.planks
    rest = [own.plank.name for own in kept.record.planks if own not in begun]
    cells = [_plank_row(own, numbers) for own in begun]
    every = [Col("plank"), Col("state"), Col("board"), Col("timber"),
             Col("moisture,\n%", "right"), Col("from"), Col("to"), Col("hands", share=1),
             Col("pictures", share=0.5)]  # fmt: skip
    used = [k for k in range(len(every)) if any(row[k] for row in cells)]
    rows: list[Line] = [tuple(row[k] for k in used) for row in cells]
    cols = [every[k] for k in used]
    across = 2 if len(cols) < 5 and len(rows) > 12 else 1
    said = (
        "From and to are the first and last day anything was written down of a plank. A blank is "
        "what nobody wrote down."
    )
    story: Story = [heading("Plank by plank", "planks-kept"), say(said)]
    left = f"Nothing is known yet of {count(len(rest), 'plank')}: {', '.join(rest)}."
    return [*story, Table(cols, rows, across=across), *([say(left)] if rest else [])]


def _plank_row(own: PlankRecord, numbers: Mapping[str, list[Numbered]]) -> tuple[str, ...]:
    moist = "" if own.got.moisture_percent is None else f"{own.got.moisture_percent:g}"
    return (
        own.plank.name, own.state or "to be got out", own.got.board, own.got.species, moist,
        own.first, own.last, ", ".join(own.hands),
        ", ".join(str(one.number) for one in numbers.get(own.plank.name, ())),
    )  # fmt: skip


def _numbered(kept: Kept) -> dict[str, list[Numbered]]:
    """Give every picture its number, plank by plank."""
    found: dict[str, list[Numbered]] = {}
    number = 0
    for own in kept.record.planks:
        for photo in own.photos:
            number += 1
            told = ", ".join(part for part in (photo.at, photo.by) if part)
            says = "; ".join(part for part in (photo.note, told) if part) or photo.file
            found.setdefault(own.plank.name, []).append(Numbered(number, says, photo.picture))
    return found


def _pictures(kept: Kept) -> Story:
    """Show the pictures of every plank that has any, beside what became of it."""
    numbers, width = _numbered(kept), text_width(kept.book.paper)
    if not numbers:
        return []
    said = (
        "Pictures as taken at the bench and at the hull, made small; the job file has them whole. "
        "Where only a name was noted its frame is empty."
    )
    story: Story = [heading("Pictures", "pictures"), say(said)]
    for own in kept.record.planks:
        if mine := numbers.get(own.plank.name):
            story += picture_rows(own.plank.name, _facts(own), mine, kept.pictures, width)
    return story


def _facts(own: PlankRecord) -> list[str]:
    days = " to ".join(dict.fromkeys(day for day in (own.first, own.last) if day))
    return [
        text for text in
        (own.state or "to be got out", own.got.board and f"board {own.got.board}", days,
         ", ".join(own.hands), f"{own.spoilt} spoilt before it" if own.spoilt else "")
        if text
    ]  # fmt: skip


def _notes(kept: Kept) -> Story:
    """Set what was noted, and every plank spoilt, in the order of time."""
    lines = [(own, line) for own in kept.record.planks for line in own.lines]
    told = sorted(
        ((own, line) for own, line in lines if line.note or line.state == "spoilt"),
        key=lambda pair: (pair[1].at, pair[0].plank.name),
    )
    if not told:
        return []
    rows: list[Line] = []
    for own, line in told:
        cells = (line.at, own.plank.name, line.state, ", ".join(line.by), line.note or "no reason")
        rows.append(Loud(cells) if line.state == "spoilt" else cells)
    cols = [Col("when"), Col("plank"), Col("step"), Col("hands"), Col("note", share=1)]
    return [heading("Notes at the hull", "notes"), Table(cols, rows)]


def _deviations(kept: Kept) -> Story:
    unit = kept.book.unit
    rows: list[Line] = [row for one in kept.left.sides for row in _drift_rows(one, unit)]
    story: Story = [heading("Deviations from the plan", "deviations")]
    if not rows:
        return [*story, say("No seam was measured on hung planks; they are taken as planned.")]
    said = " ".join(("Girths from the rabbet to seams as they hang.", *judged(kept)))
    cols = [Col("side"), Col("seam above\nstrake"), Col("frame"), Col("planned", "right"),
            Col("as hung", "right"), Col("off", "right")]  # fmt: skip
    across = 2 if len(rows) > 12 else 1
    return [*story, say(said), Table(cols, rows, across=across,
                                     title=f"Seams, in {unit_words(unit)}")]  # fmt: skip


def _drift_rows(one: SideLeft, unit: str) -> list[Line]:
    """Give a line a seam and frame, from the keel and from forward; measured twice: the mean."""
    lining = one.relined.lining if one.relined else None
    at: dict[tuple[int, int], list[Drift]] = {}
    for d in one.drifts:
        column = lining.columns.index(d.frame) if lining else 0
        at.setdefault((d.seam, column), []).append(d)
    rows: list[Line] = []
    for _, its in sorted(at.items()):
        d, as_hung = its[0], sum(each.measured_mm for each in its) / len(its)
        off = format_off(as_hung - d.planned_mm, unit)
        rows.append((d.side, d.above or "rabbet", d.frame, format_bare(d.planned_mm, unit),
                     format_bare(as_hung, unit), off))  # fmt: skip
    return rows


def _fastenings(kept: Kept) -> Story:
    shop = kept.book.shop
    if shop is None:
        return []
    unit = kept.book.unit
    rows: list[Line] = [
        (line.where, line.item, line.spec.metal, line.spec.gauge,
         format_length(line.spec.length_mm, unit) if line.spec.length_mm else "",
         str(line.count))
        for line in shop.fastenings.lines
    ]  # fmt: skip
    cols = [Col("where", share=1), Col("what", share=1), Col("metal"), Col("gauge"),
            Col("length", "right"), Col("how many", "right")]  # fmt: skip
    said = "As planned; what was driven otherwise is in the notes at the hull, if it was written."
    doubts = [bullet(in_unit(f"{f.says[:1].upper()}{f.says[1:]}.", unit))
              for f in shop.fastenings.findings if f.severity is not Severity.NOTE]  # fmt: skip
    return [heading("Fastenings, new", "fastened"), say(said), Table(cols, rows), *doubts]


def _hours(kept: Kept) -> Story:
    record = kept.record
    rows: list[Line] = [_hours_row(line) for line in record.hours]
    sums = [sum(getattr(line, name) for line in record.hours)
            for name in ("planned", "rated", "spent")]  # fmt: skip
    logged = sum(line.logged for line in record.hours)
    rows.append(Sum(("all", f"{sums[0]:.0f}", str(logged), f"{sums[1]:.1f}", f"{sums[2]:.1f}", "")))
    cols = [Col("operation"), Col("all planks,\nplanned", "right"), Col("steps\nlogged", "right"),
            Col("these,\nplanned", "right"), Col("these,\nreal", "right"),
            Col("real over\nplanned", "right")]  # fmt: skip
    said = (
        "Man-hours. Real hours are known only of steps logged with hands and a clock; they are set "
        "against what the rates say of the same steps."
    )
    return [
        heading("Hours and costs", "hours"),
        say(said),
        Table(cols, rows),
        *_costs(record),
        *_wages(record),
    ]


def _costs(record: Record) -> Story:
    """Set planned and real costs; what wants a price or a wage nobody gave is said to be so."""
    rows: list[Line] = [
        (cost.what, _money(cost.planned), _money(cost.real), cost.says) for cost in record.costs
    ]
    whole = record.cost_sum
    rows.append(Sum(("what is known", _money(whole.planned), _money(whole.real), "")))
    cols = [Col("cost"), Col("planned", "right"), Col("real, so far", "right"),
            Col("of what", share=1)]  # fmt: skip
    said = (
        "Costs in the yard’s own money, by its own prices of boards, fastenings and supplies and "
        "the wages of its crew form. What it gave no price of is not known, and not in the sum."
    )
    high = min(ROW * len(rows) + ABOVE, BEGINS * 2)
    return [CondPageBreak(high), space(6), say(said), Table(cols, rows, foot=whole.says)]


def _wages(record: Record) -> Story:
    """Set wages by operation; nothing where no wage was given."""
    if all(line.wage is None for line in record.wages):
        return []
    rows: list[Line] = [
        (line.operation, f"{line.planned_hours:.0f}", _money(line.wage), _money(line.planned),
         f"{line.logged_hours:.1f}" if line.logged_hours else "",
         _money(line.real) if line.logged_hours else "")
        for line in record.wages
    ]  # fmt: skip
    whole = [c for c in record.costs if c.what == "wages"]
    hours = [sum(getattr(line, name) for line in record.wages)
             for name in ("planned_hours", "logged_hours")]  # fmt: skip
    money = (whole[0].planned, whole[0].real) if whole else (None, None)
    rows.append(Sum(("all", f"{hours[0]:.0f}", "", _money(money[0]), f"{hours[1]:.1f}",
                     _money(money[1]))))  # fmt: skip
    cols = [Col("operation"), Col("hours,\nplanned", "right"), Col("an hour,\nmean", "right"),
            Col("wages,\nplanned", "right"), Col("hours,\nlogged", "right"),
            Col("wages,\nreal", "right")]  # fmt: skip
    foot = (
        "Planned at the mean wage of those who may do it; real at the wages of those who were at "
        "it. Hours logged are those of steps with hands and a clock; the rest is not in them."
    )
    return [space(6), Table(cols, rows, title="Wages by operation", foot=foot)]


def _hours_row(line: HoursLine) -> Line:
    over = f"{line.spent / line.rated:.2f}" if line.rated else ""
    real = (f"{line.rated:.1f}", f"{line.spent:.1f}") if line.logged else ("", "")
    return (line.operation, f"{line.planned:.0f}", str(line.logged or ""), *real, over)


def _findings(kept: Kept) -> Story:
    own = [f for f in kept.book.findings if f.stage == "record" or f.severity == "fault"]
    own += unprinted(kept.book.hull.particulars)
    if not own:
        return []
    rows: list[Line] = []
    for f in own:
        cells = (f.code, str(f.severity), f.where, f.says)
        rows.append(Loud(cells) if f.severity == "fault" else cells)
    cols = [Col("code"), Col(""), Col("where", share=0.5), Col("what", share=1)]
    return [heading("Doubtful or wrong", "findings"), Table(cols, rows)]


def _signed() -> Story:
    lines = [(who, "_" * 34) for who in ("for the yard", "the owner", "the surveyor")]
    return [
        heading("Looked over", "signed"),
        say("Signed by whoever has read this record beside the vessel."),
        Pairs(lines, [("on", "_" * 20)] * len(lines), 30.0),
    ]


def _money(amount: float | None) -> str:
    return "not known" if amount is None else f"{amount:.2f}"
