"""Showing a repair and writing what the bench needs for the renewed planks alone."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from ribband.app.papers.bench import write_patterns, write_tickets
from ribband.app.papers.tables import write
from ribband.app.papers.whole import into_folder
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.repair_steps import asked_to_renew, renewed_alone
from ribband.app.plan.runner import quiet
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.app.showing.plan import as_tables
from ribband.units import format_length, format_weight

if TYPE_CHECKING:
    from ribband.findings import Finding
    from ribband.record import Renewal, Repair, SideRepair

__all__ = ["repair_answer", "show_repair", "write_repair"]

CARE = (
    "Whether wood that stays is sound, frames behind it hold, and how she is shored is for the "
    "surveyor. Old planks spring when the last fastening is drawn; stand clear."
)


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
    planned = plan(path, "repair", tell=tell)
    repair: Repair | None = planned.run.result("repair")
    if repair is None:
        return Answer(title="The repair", notes=(planned.run.stopped,), good=False)
    findings = planned.run.bench.made["repair"].findings
    return replace(
        repair_answer(repair, planned.run.bench.unit, findings),
        findings=findings,
        data=as_tables(planned, "renewals", "cut_backs"),
        good=not any(f.severity == "fault" for f in findings),
    )


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
            Listing("New planks", ("plank", "length", "widest", "weight"), _planks(repair, unit)),
        ),
        notes=("", CARE),
        findings=repair.findings,
    )


def write_repair(path: Path, folder: Path, *, tell: Tell = quiet) -> tuple[Path, ...]:
    """Write tables, patterns and tickets of the renewed planks alone, and old planks' cut-backs.

    Boards, order, shop and plan of work in the tables are worked out for these alone.

    Raises
    ------
    InputError, JobFileError
    """
    planned = renewed_alone(path, "work", tell=tell)
    files = write(planned, folder / "tables")
    if planned.run.bench.hull.surface is None:
        return files
    patterns = write_patterns(planned, folder / "patterns")
    tickets = write_tickets(planned, folder / "tickets.pdf")
    return (*files, *patterns, tickets, *_write_cut_backs(planned, folder / "drawings"))


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
    gap = repair.length_mm - repair.bound_mm
    proved = (
        "the least there is by the rules"
        if gap < 1.0 * max(1, len(repair.renewals))
        else f"at least {format_length(repair.bound_mm, unit)} by the rules"
    )
    total = repair.planks.totals[0]
    turns = max((r.turn for r in repair.renewals), default=0)
    weight = "" if total.rough_kg is None else f"{format_weight(total.rough_kg, unit)} as bought"
    return (
        Line("bad", format_length(bad, unit), f"{len(repair.renewals)} stretches"),
        Line("renewed", format_length(repair.length_mm, unit), proved),
        Line("new planks", str(total.planks), weight),
        Line("turns", str(turns), "each hung and fastened before the next is opened"),
    )


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
         "" if p.dressed_kg is None else format_weight(p.dressed_kg, unit))
        for p in repair.planks.planks
    )  # fmt: skip
