"""The first page of the record: what a surveyor asks first, each in a line or two.

Which vessel, who and when; how much of her; timber and fastening, old and new; what was found;
how far it lies off the plan and what that comes to; and what is not known. Everything stands
again, whole, on the pages after.

*Judged*: a measured seam is as planned while it lies no further off than the rule
`record.drift`; a plank's width as hung is told from both its seams where both were measured.
Whether a deviation matters to the vessel is never judged here: that is the surveyor's.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING

from ribband.drawing.book.flow import Box, Story, say, space
from ribband.drawing.book.model import Book
from ribband.drawing.book.style import cover_style
from ribband.drawing.book.table import Col, Line, Loud, Table
from ribband.drawing.book.words import count
from ribband.record.model import Drift, come_to
from ribband.record.rules import RecordRules
from ribband.units import format_length

if TYPE_CHECKING:
    from ribband.record import Left, Repair
    from ribband.record.keeping import PlankRecord, Record

__all__ = ["Kept", "cover", "judged"]

MANY = 6  # names are listed up to so many
ONLY_WRITTEN = (
    "This is what was written down. It does not say that work is sound: fastenings, frames behind "
    "the planks and the wood itself are for the surveyor to look at."
)


@dataclass(frozen=True, slots=True, eq=False)
class Kept:
    """What the record prints: the book it belongs to, the record, what is left, the repair.

    pictures : small, as JPEG, by the hash the job keeps them under
    rules : by which a seam is as planned
    """

    book: Book
    record: Record
    left: Left
    repair: Repair | None = None
    pictures: Mapping[str, bytes] = field(default_factory=dict)
    rules: RecordRules = RecordRules()  # noqa: RUF009 - frozen

    @property
    def repaired(self) -> Repair | None:
        """The repair, where the planks of the record are its new ones."""
        return self.repair if self.repair is not None and self.repair.planks.planks else None

    @property
    def hung(self) -> tuple[PlankRecord, ...]:
        """Planks that hang."""
        return tuple(own for own in self.record.planks if come_to(own.state, "hung"))


def cover(kept: Kept) -> Story:
    """Set the first page."""
    p = kept.book.hull.particulars
    sizes = [f"{label} {text}" for label, text in p.more if label in {"length", "beam"}]
    parts = (f"built {p.built}" if p.built else "", p.yard, *sizes)
    said = ", ".join(part for part in parts if part)
    rows: list[Line] = [row for row in _rows(kept) if row[1]]
    faults = [f for f in kept.book.findings if f.severity == "fault"]
    if faults:
        first = f"{count(len(faults), 'fault')}; the first: {faults[0].where}: {faults[0].says}"
        rows.append(Loud(("at fault", first)))
    return [
        space(4),
        say("Record of planking", "kicker"),
        say(kept.book.vessel, cover_style(kept.book.vessel)),
        say(said, "under") if said else space(4),
        space(10),
        Table([Col(""), Col("in short", share=1)], rows, fives=False),
        space(12),
        Box([say(ONLY_WRITTEN, "boxed")], loud=True),
    ]


def _rows(kept: Kept) -> Iterator[tuple[str, str]]:
    yield "measured", _measured(kept.book)
    yield "extent", _extent(kept)
    yield "when, by whom", _when(kept)
    yield "timber", _timber(kept)
    yield "fastened", _fastened(kept)
    yield "old planking", _old(kept.book)
    yield "found", _found(kept)
    yield "off the plan", " ".join(judged(kept))
    yield "not known", "; ".join(_not_known(kept)) + "."


def _measured(book: Book) -> str:
    p = book.hull.particulars
    parts = ("by " + p.measured_by if p.measured_by else "", p.measured_on)
    return " ".join(part for part in parts if part) or "by whom and when was not written down"


def _extent(kept: Kept) -> str:
    planks, unit = kept.record.planks, kept.book.unit
    sides = " and ".join(dict.fromkeys(own.plank.side for own in planks))
    states = Counter(stand(own) for own in planks)
    so_far = ", ".join(f"{states[word]} {says}" for word, says in
                       (("hangs", "hang"), ("cut", "cut, not hung"),
                        ("to be got out", "to be got out")) if states[word])  # fmt: skip
    repair = kept.repaired
    if repair is None:
        return f"{count(len(planks), 'plank')}, {sides}: {so_far}."
    turns = max((r.turn for r in repair.renewals), default=0)
    long = format_length(repair.length_mm, unit)
    return (
        f"a repair: {count(len(planks), 'plank')} new, {sides}, {long} of planking in "
        f"{count(len(repair.renewals), 'stretch', 'stretches')}, opened in "
        f"{count(turns, 'turn')}; {so_far}. All other planks stay."
    )


def _when(kept: Kept) -> str:
    planks = kept.record.planks
    days = sorted(day for own in planks for day in (own.first, own.last) if day)
    hands = dict.fromkeys(hand for own in planks for hand in own.hands)
    logged = f"logged from {days[0]} to {days[-1]}" if days else "nothing is logged"
    return f"{logged}; hands: {', '.join(hands) or 'none written down'}."


def _timber(kept: Kept) -> str:
    book = kept.book
    kinds = Counter(own.got.species for own in kept.record.planks if own.got.species)
    told = " and ".join(kinds) or book.hull.particulars.species or "not told"
    thick = book.hull.particulars.planking_mm
    moist = [own.got.moisture_percent for own in kept.record.planks
             if own.got.moisture_percent is not None]  # fmt: skip
    span = dict.fromkeys(f"{part:g}" for part in (min(moist), max(moist))) if moist else {}
    dry = f", boards tallied at {' to '.join(span)} % moisture" if span else ""
    size = f", {format_length(thick, book.unit)} dressed" if thick else ""
    return f"{told}{size}{dry}."


def _fastened(kept: Kept) -> str:
    shop = kept.book.shop
    if shop is None:
        return "not worked out"
    unit, own = kept.book.unit, shop.fastenings
    sizes = dict.fromkeys(
        f"{line.spec.metal} {line.spec.kind} {line.spec.gauge}".strip()
        + (f", {format_length(line.spec.length_mm, unit)}" if line.spec.length_mm else "")
        + ("" if line.spec.gauge or line.spec.length_mm else ", size not known")
        for line in own.lines
    )
    return f"{'; '.join(sizes) or 'not known'}; {own.count} in all, as planned."


def _old(book: Book) -> str:
    timbers = dict.fromkeys(row.old_timber for row in book.old if row.old_timber)
    held = dict.fromkeys(row.old_fastening for row in book.old if row.old_fastening)
    kinds = dict.fromkeys(f.kind for f in book.survey.old_fastenings)
    strakes = len({butt.strake for butt in book.survey.old_butts})
    parts = (
        ", ".join(timbers) or ("timber not recorded" if book.old else ""),
        f"joints of {count(strakes, 'strake')} recorded" if strakes else "",
        "fastened with " + ", ".join(held or kinds) if held or kinds else "",
    )
    said = "; ".join(part for part in parts if part) or "nothing of it was recorded"
    made_up = any(f.code == "R032" for f in book.findings)
    return f"{said}; old joints on this paper are the plan’s own, not hers" if made_up else said


def _found(kept: Kept) -> str:
    words: dict[str, list[str]] = {}
    for r in kept.repair.renewals if kept.repair else ():
        for bad in r.bad:
            if bad.found:
                words.setdefault(bad.found, []).append(f"{r.side} {r.strake}")
    for row in kept.book.old:
        if row.condition.casefold() not in {"", "sound", "good"}:
            side = "" if row.side == "both" else f"{row.side} "
            words.setdefault(row.condition, []).append(f"{side}{row.strake}")
    spoilt = sum(own.spoilt for own in kept.record.planks)
    told = [f"{what} (strake {_few(dict.fromkeys(at))})" for what, at in words.items()]
    more = [f"and {len(told) - MANY} more, on the pages after"] if len(told) > MANY else []
    lost = [f"{count(spoilt, 'plank')} spoilt in the work"] if spoilt else []
    said = "; ".join([*told[:MANY], *more, *lost])
    return f"{said}." if said else "nothing was written down of what was found."


def judged(kept: Kept) -> list[str]:
    """Say how far what hangs lies off the plan, by the rule, and what became of it."""
    drifts = [d for one in kept.left.sides for d in one.drifts]
    if not drifts:
        return ["No seam was measured on hung planks: whether they hang as planned is not known."]
    unit, limit = kept.book.unit, kept.rules.drift_mm
    past = [d for d in drifts if abs(d.drift_mm) > limit]
    worst = max(drifts, key=lambda d: abs(d.drift_mm))
    most = format_length(abs(worst.drift_mm), unit)
    way = "high" if worst.drift_mm > 0 else "low"
    where = f"{worst.side}, frame {worst.frame}, above strake {worst.above or 'none (the rabbet)'}"
    measured = (
        f"Of {count(len(drifts), 'place')} measured {len(drifts) - len(past)} lie within "
        f"{format_length(limit, unit)} of the plan; the worst hangs {most} {way}, {where}."
    )
    said = [measured]
    if width := _widest_off(drifts):
        mm, what = width
        said.append(f"A hung plank is at most {format_length(abs(mm), unit)} "
                    f"{'wider' if mm > 0 else 'narrower'} than planned ({what}).")  # fmt: skip
    anew = [one.relined for one in kept.left.sides if one.relined is not None]
    if anew:
        said.append(f"What was left was divided anew round it; {_what_changes(kept.left)}.")
    said.append("Whether that matters to her is the surveyor’s to say.")
    return said


def _what_changes(left: Left) -> str:
    """Say which planks are cut by the lining divided anew."""
    changed = sum(len(one.relined.changed) for one in left.sides if one.relined is not None)
    if changed:
        takes = "takes a new shape" if changed == 1 else "take new shapes"
        return f"{count(changed, 'plank')} still to be got out {takes} for it"
    if any(one.planks for one in left.sides):
        return "what is still to be got out keeps its shape"
    return "planks got out after that are of the new division"


def _widest_off(drifts: Sequence[Drift]) -> tuple[float, str] | None:
    """Give by how much a plank's width as hung is off most, where both its seams were measured."""
    at: dict[tuple[str, int, str], list[float]] = {}
    for d in drifts:
        at.setdefault((d.side, d.seam, d.frame), []).append(d.drift_mm)
    mean = {key: sum(its) / len(its) for key, its in at.items()}
    named = {(d.side, d.seam): d.above for d in drifts}
    found = [
        (off - mean[side, seam - 1, frame], f"{side}, strake {named[side, seam]}, frame {frame}")
        for (side, seam, frame), off in mean.items()
        if (side, seam - 1, frame) in mean
    ]
    return max(found, key=lambda pair: abs(pair[0]), default=None)


def _not_known(kept: Kept) -> Iterator[str]:
    hung, record = kept.hung, kept.record
    bare = [own.plank.name for own in hung if not _told(own)]
    if bare:
        yield f"day or hands of hanging, of {_planks(bare)}"
    boards = [own.plank.name for own in hung if not own.got.board]
    if boards:
        yield f"the board {_planks(boards)} came out of"
    wet = [own.plank.name for own in hung if own.got.board and own.got.moisture_percent is None]
    if wet:
        yield f"the moisture of {_planks(wet)}"
    seams = [f.where for f in kept.left.findings if f.code in {"R013", "R014"}]
    if seams:
        sides = " and ".join(f"to {at}" for at in dict.fromkeys(w.split(",")[0] for w in seams))
        yield f"how some seams hang {sides}: they were not measured"
    if not any(own.photos for own in record.planks):
        yield "how it looked: there are no pictures"
    costs = record.cost_sum.without
    if costs:
        yield f"the cost of {', '.join(costs)}"
    if any(not row.old_timber for row in kept.book.old) or not kept.book.old:
        yield "what timber old planks were of" + (", of some" if any(
            row.old_timber for row in kept.book.old) else "")  # fmt: skip
    yield "what lies behind the planks"


def _told(own: PlankRecord) -> bool:
    """Tell whether day and hands of its hanging were written down."""
    return any(line.state == "hung" and line.at and line.by for line in own.lines)


def stand(own: PlankRecord) -> str:
    """Say where a plank stands: it hangs, is cut, or is to be got out."""
    if not own.state:
        return "to be got out"
    return "hangs" if come_to(own.state, "hung") else "cut"


def _planks(names: Sequence[str]) -> str:
    return ", ".join(names) if len(names) <= MANY else count(len(names), "plank")


def _few(names: Mapping[str, None]) -> str:
    every = list(names)
    more = f" and {len(every) - MANY} more" if len(every) > MANY else ""
    return ", ".join(every[:MANY]) + more
