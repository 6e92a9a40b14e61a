"""Showing a repair and writing what the bench needs for the renewed planks alone."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from ribband.app.papers.bench import write_patterns, write_tickets
from ribband.app.papers.tables import write
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import plan
from ribband.app.plan.repair_steps import asked_to_renew, renewed_alone
from ribband.app.plan.runner import quiet
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.app.showing.plan import as_tables
from ribband.units import format_length, format_weight

if TYPE_CHECKING:
    from ribband.record import Renewal, Repair, SideRepair

__all__ = ["repair_answer", "show_repair", "write_repair"]

CARE = (
    "Whether wood that stays is sound, frames behind it hold, and how she is shored is for the "
    "surveyor. Old planks spring when the last fastening is drawn; stand clear."
)


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
        repair_answer(repair, planned.run.bench.unit),
        findings=findings,
        data=as_tables(planned, "renewals"),
        good=not any(f.severity == "fault" for f in findings),
    )


def repair_answer(repair: Repair, unit: str) -> Answer:
    """Say the same of a repair planned already, without tables."""
    rows = tuple(row for side in repair.sides for row in _rows(side, unit))
    head = ("turn", "side", "strake", "bad", "renewed", "length", "joints", "planks", "found")
    return Answer(
        title="The repair",
        lines=_lines(repair, unit),
        listings=(
            Listing("What is renewed, in the order it is opened", head, tuple(sorted(rows))),
            Listing("New planks", ("plank", "length", "widest", "weight"), _planks(repair, unit)),
        ),
        notes=("", CARE),
        findings=repair.findings,
    )


def write_repair(path: Path, folder: Path, *, tell: Tell = quiet) -> tuple[Path, ...]:
    """Write tables, patterns and tickets of the renewed planks alone into `folder`.

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
    return (*files, *patterns, write_tickets(planned, folder / "tickets.pdf"))


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


def _rows(side: SideRepair, unit: str) -> Iterator[tuple[str, ...]]:
    for r in side.renewals:
        yield (
            str(r.turn), r.side, r.strake,
            "; ".join(f"{b.first} to {b.last}" for b in r.bad),
            f"{_at(side, r, 0)} to {_at(side, r, -1)}",
            format_length(r.length_mm, unit), _joints(side, r), ", ".join(r.planks),
            "; ".join(b.found for b in r.bad if b.found),
        )  # fmt: skip


def _at(side: SideRepair, r: Renewal, n: int) -> str:
    from ribband.record import place_said

    return place_said(side.ways, r.landings[n])


def _joints(side: SideRepair, r: Renewal) -> str:
    from ribband.record import place_said

    ends = {r.landings[0], r.landings[-1]}
    said = [f"{r.joint if n in ends else 'butt'} {place_said(side.ways, n)}" for n in r.new]
    return ", ".join(said) or "old joints"


def _planks(repair: Repair, unit: str) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (p.name, format_length(p.length_mm, unit), format_length(p.width_max_mm, unit),
         "" if p.dressed_kg is None else format_weight(p.dressed_kg, unit))
        for p in repair.planks.planks
    )  # fmt: skip
