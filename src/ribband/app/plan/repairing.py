"""Showing a repair, and writing the papers of its new planks alone.

What is bought and when it is done are told with it, as far as that could be worked out.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from ribband.app.entering.timber_sums import timber_lines
from ribband.app.papers.bench import write_patterns, write_tickets
from ribband.app.papers.drawings import Paper, book_name, can_be_drawn, draw, write_book
from ribband.app.papers.tables import write
from ribband.app.papers.whole import into_folder
from ribband.app.papers.work import work_papers
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.repair_steps import asked_to_renew, renewed_alone
from ribband.app.plan.runner import quiet
from ribband.app.plan.steps import WHOLE
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.app.showing.plan import as_tables
from ribband.app.showing.work import work_lines
from ribband.units import format_length, format_weight

if TYPE_CHECKING:
    from ribband.findings import Finding
    from ribband.record import Renewal, Repair, SideRepair

__all__ = ["repair_answer", "show_repair", "with_faults", "write_repair"]

PLANNING = 0.7  # of the time; the rest is paper
DRAWN = ("expansion", "boards", "milling")
CARE = (
    "Whether wood that stays is sound, frames behind it hold, and how she is shored is for the "
    "surveyor. Old planks spring when the last fastening is drawn; stand clear."
)


NEW = ("plank", "length", "widest", "as bought", "dressed")
HELD = ("side", "planks", "end", "stands at", "not at", "for")
CUTS = ("side", "strake", "old plank", "cut off", "full thickness", "face", "slope", "joined to")


def show_repair(path: Path, *, tell: Tell = quiet) -> Answer:
    """Show what is renewed, its joints, and in which turns it is opened.

    Raises
    ------
    InputError, JobFileError
    """
    if not asked_to_renew(path):
        return Answer(title="The repair", notes=("The form renew is blank: nothing is renewed.",))
    planned = plan(path, WHOLE, tell=tell)
    repair: Repair | None = planned.run.result("repair")
    if repair is None:
        return Answer(title="The repair", notes=(planned.run.stopped,), good=False)
    findings = with_faults(planned.run.bench.made["repair"].findings, planned.run.faults)
    answer = repair_answer(repair, planned.run.bench.unit, findings)
    return replace(
        answer,
        lines=(*answer.lines, *more_lines(planned)),
        findings=findings,
        data=as_tables(planned, "renewals", "cut_backs"),
        good=not any(f.severity == "fault" for f in findings),
    )


def with_faults(own: Sequence[Finding], faults: Sequence[Finding]) -> tuple[Finding, ...]:
    """Give a repair's findings with every fault its papers are stamped with, of whatever step."""
    return tuple(dict.fromkeys((*own, *faults)))


def more_lines(planned: Planned) -> tuple[Line, ...]:
    """Say what boards a repair takes, what is to be bought for it, and when it is done."""
    worked = planned.run.result("work")
    timber = timber_lines(planned.run, planned.run.bench.unit)
    return (*timber, *(work_lines(worked) if worked else ()))


def repair_answer(repair: Repair, unit: str, findings: Sequence[Finding] = ()) -> Answer:
    """Say the same of a repair planned already, without tables; `findings` are of its step."""
    recorded = all(f.code != "R032" for f in (*repair.findings, *findings))
    rows = tuple(row for side in repair.sides for row in _rows(side, unit, recorded=recorded))
    head = ("turn", "side", "strake", "bad", "renewed", "length", "joints", "planks", "found")
    return Answer(
        title="The repair",
        lines=_lines(repair, unit),
        listings=(
            Listing("What is renewed, in the order it is opened", head, tuple(sorted(rows))),
            Listing("What holds each end where it is", HELD, _held(repair)),
            Listing("Old planks cut back for scarfs", CUTS, _cuts(repair, unit)),
            Listing("New planks", NEW, _planks(repair, unit)),
        ),
        notes=("", CARE),
        findings=repair.findings,
    )


def write_repair(path: Path, folder: Path, *, tell: Tell = quiet) -> tuple[Path, ...]:
    """Write all papers of the renewed planks alone, and old planks' cut-backs.

    Tables, book, where they are, board sheets and milling list, the plan of work, patterns and
    tickets; the last two of a hull measured in space.

    Raises
    ------
    InputError, JobFileError
    """
    planned = renewed_alone(path, WHOLE, tell=lambda part, words: tell(PLANNING * part, words))
    tell(PLANNING, "writing the papers")
    files = (*write(planned, folder / "tables"), *_to_read(planned, folder))
    if planned.run.bench.hull.surface is None:
        return files
    patterns = write_patterns(planned, folder / "patterns")
    tickets = write_tickets(planned, folder / "tickets.pdf")
    return (*files, *patterns, tickets, *_write_cut_backs(planned, folder / "drawings"))


def _to_read(planned: Planned, folder: Path) -> tuple[Path, ...]:
    """Write the book, the drawings the repair is done by, and the bars of the plan of work."""
    paper = Paper()
    book = write_book(planned, folder / book_name(planned), paper)
    drawn = (
        path
        for name in can_be_drawn(planned)
        if name in DRAWN
        for path in draw(planned, name, folder / "drawings", paper, ("pdf",))
    )
    return (book, *drawn, *work_papers(planned, folder, paper))


def _write_cut_backs(planned: Planned, folder: Path) -> tuple[Path, ...]:
    """Draw where old planks are cut back, as PDF, SVG and DXF; nothing where none is."""
    from ribband.drawing import dxf, pdf, svg
    from ribband.drawing.board import Setting
    from ribband.drawing.sheet import Page
    from ribband.drawing.views.cut_backs import cut_back_sheets
    from ribband.record import cut_backs

    repair: Repair | None = planned.run.result("repair")
    cuts = cut_backs(repair) if repair else ()
    if not cuts:
        return ()
    at, revision = planned.made.at[:10], str(planned.revision)
    setting = Setting(Page.of("A4"), date=at, revision=revision)
    sheets = cut_back_sheets(planned.run.bench.hull, cuts, setting=setting)

    def fill(into: Path) -> list[Path]:
        paths = [pdf.write(sheets, into / "cut-backs.pdf")]
        for n, sheet in enumerate(sheets, 1):
            paths += [svg.write(sheet, into / f"cut-back-{n}.svg"),
                      dxf.write(sheet, into / f"cut-back-{n}.dxf")]  # fmt: skip
        return paths

    return into_folder(folder, fill)


def _lines(repair: Repair, unit: str) -> tuple[Line, ...]:
    bad = sum(r.bad_mm for r in repair.renewals)
    total = repair.planks.totals[0]
    turns = max((r.turn for r in repair.renewals), default=0)
    weight = "" if total.rough_kg is None else f"{format_weight(total.rough_kg, unit)} as bought"
    return (
        Line("bad", format_length(bad, unit), f"{len(repair.renewals)} stretches"),
        Line("renewed", format_length(repair.length_mm, unit), _proved(repair, unit)),
        Line("new planks", str(total.planks), weight),
        Line("turns", str(turns), "each hung and fastened before the next is opened"),
    )


def _proved(repair: Repair, unit: str) -> str:
    """Say whether it is proved the least; of a search that ran out of time, what is."""
    if repair.proved:
        return "proved the least by the rules, each joint counted at its worth"
    gap = repair.length_mm - repair.bound_mm
    if gap < 1.0 * max(1, len(repair.renewals)):
        return "no shorter by the rules; that there are no fewer joints is not proved"
    return f"NOT PROVED THE LEAST: at least {format_length(repair.bound_mm, unit)} by the rules"


def _rows(side: SideRepair, unit: str, *, recorded: bool) -> Iterator[tuple[str, ...]]:
    from ribband.record import joints_said

    for r in side.renewals:
        yield (
            str(r.turn), r.side, r.strake,
            "; ".join(f"{b.first} to {b.last}" for b in r.bad),
            f"{_at(side, r, 0)} to {_at(side, r, -1)}",
            format_length(r.length_mm, unit), joints_said(side.ways, r, recorded=recorded),
            ", ".join(r.planks),
            "; ".join(b.found for b in r.bad if b.found),
        )  # fmt: skip


def _held(repair: Repair) -> tuple[tuple[str, ...], ...]:
    """Say of every end of a renewal what holds it; nothing of ends as near as a joint may be."""
    from ribband.record import held_said, place_said

    return tuple(
        (side.side, ", ".join(r.planks), end.end, place_said(side.ways, end.at), *said)
        if n == 0
        else ("", "", "", "", *said)
        for side in repair.sides
        for r in side.renewals
        for end in r.held
        for n, said in enumerate(held_said(side.ways, end, side.old))
    )


def _at(side: SideRepair, r: Renewal, n: int) -> str:
    from ribband.record import place_said

    return place_said(side.ways, r.landings[n])


def _cuts(repair: Repair, unit: str) -> tuple[tuple[str, ...], ...]:
    from ribband.drawing.views.cut_backs import place_of
    from ribband.record import cut_backs

    return tuple(
        (c.side, c.strake, c.stays, place_of(c, c.tip_mm, unit), place_of(c, c.full_mm, unit),
         c.face, f"1 in {c.slope:.3g}", c.new)
        for c in cut_backs(repair)
    )  # fmt: skip


def _planks(repair: Repair, unit: str) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (p.name, format_length(p.length_mm, unit), format_length(p.width_max_mm, unit),
         *("" if kg is None else format_weight(kg, unit) for kg in (p.rough_kg, p.dressed_kg)))
        for p in repair.planks.planks
    )  # fmt: skip
