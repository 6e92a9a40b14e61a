"""Showing what is left: how far each side has come, drift, openings, and the planks that change."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from ribband.app.plan.as_kept import as_last_kept
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import plan
from ribband.app.plan.repair_steps import asked_to_renew
from ribband.app.plan.runner import quiet
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.app.showing.plan import as_tables
from ribband.app.showing.whose import headed
from ribband.units import counted, format_bare, format_length, format_off

if TYPE_CHECKING:
    from ribband.record import Drift, Left, Opening, SideLeft
    from ribband.record.model import Moved
    from ribband.shop.hanging.model import Hanging

__all__ = ["left_answer", "not_on_the_list", "show_left"]

MEASURE_FIRST = "Measure the last openings at the hull before the planks for them are cut."
PATTERNS = (
    "Planks that hang or are cut keep their patterns, and so do those that are as they were (the "
    "rule relining.as_it_was); patterns, tickets and spiling of the others follow the new lining."
)
OF_REPAIR = (
    "Seams are set against those she was recorded with; old planks stay where they are. What is "
    "left of a repair is not divided anew, and tickets do not follow seams as hung: spile the "
    "opening before a plank is cut for it."
)


def not_on_the_list(path: Path, plank: str) -> tuple[str, ...]:
    """Say that no plank has that name in the plan as it was last made; nothing where one has.

    Raises
    ------
    InputError, JobFileError
    """
    from ribband.planks.model import plank_name
    from ribband.record.repair.left import AMONG

    repair = asked_to_renew(path)
    need = "repair" if repair else "planks"
    run = as_last_kept(path, ("planks", "stands", need), need)[0].run
    listed, stands = run.result("planks"), run.result("stands")
    if listed is None:
        return ()
    later = (p for side in stands.sides for p in (*side.done, *side.planks)) if stands else ()
    plank = plank_name(plank)
    if plank in {p.name for p in (*listed.planks, *later)}:
        return ()
    listed_so = AMONG if repair else "on the list"
    return (f"No plank {plank} is {listed_so}; the line counts for nothing until one is.",)


def show_left(path: Path, *, tell: Tell = quiet) -> Answer:
    """Show what hangs, what drifted, and what is left by the lining as it is now.

    Raises
    ------
    InputError, JobFileError
    """
    last = ("relined",) if asked_to_renew(path) else ("relined", "hanging")
    planned = plan(path, last, tell=tell)
    left: Left | None = planned.run.result("relined")
    if left is None:
        return Answer(title="What is left", notes=(planned.run.stopped,), good=False)
    answer = replace(
        left_answer(left, planned.run.bench.unit, planned.run.result("hanging")),
        findings=planned.run.bench.made["relined"].findings,
        data=as_tables(planned, "drift", "openings", "relined_edges", "relined_planks"),
    )
    return headed(planned, answer, whole="")


def left_answer(left: Left, unit: str, hanging: Hanging | None = None) -> Answer:
    """Say the same of what is divided already, without tables; of shutters by `hanging`."""
    shutters = hanging.shutters if hanging is not None else ()
    more = (PATTERNS,) if any(one.relined for one in left.sides) else ()
    if any(one.standing.old is not None for one in left.sides):
        more = (OF_REPAIR,)
    return Answer(
        title="What is left",
        lines=tuple(line for one in left.sides for line in _lines(one, shutters, unit)),
        listings=tuple(listing for one in left.sides for listing in _listings(one, unit)),
        notes=("", MEASURE_FIRST, *more),
        findings=left.findings,
        good=not any(f.severity == "fault" for f in left.findings),
    )


def _lines(one: SideLeft, shutters: tuple[str, ...], unit: str) -> Iterator[Line]:
    from ribband.record import shutter_fit, shutters_of

    stands = Counter(one.standing.planks.values())
    says = f"{stands['held']} hang, {stands['cut']} cut, {stands['free']} to be got out"
    yield Line(one.side, counted(sum(stands.values()), "plank"), says)
    if one.relined is not None:
        new = one.relined
        of = counted(len(one.planks), "plank")
        many = "changes" if len(new.changed) == 1 else "change"
        says = f"{len(new.changed)} of {of} {many}; took {new.seconds:.1f} s"
        kept = "divided anew" if new.lining.feasible else "DIVIDED ANEW, A LIMIT IS BROKEN"
        yield Line(f"{one.side}, what is left", kept, says)
    if worst := max(one.drifts, key=lambda d: abs(d.drift_mm), default=None):
        where = f"above strake {worst.above}, frame {worst.frame}"
        yield Line(f"{one.side}, most drift", format_off(worst.drift_mm, unit), where)
    for plank in shutters_of(one, shutters):
        yield Line(f"{one.side}, the shutter", plank.name, shutter_fit(plank, one, unit))


def _listings(one: SideLeft, unit: str) -> Iterator[Listing]:
    if one.drifts:
        seams = ("seam above", "frame", "planned", "as hung", "off")
        yield Listing(f"{one.side}: seams as hung", seams, _drift_rows(one.drifts, unit))
    if one.openings:
        gaps = ("strake", "frame", "planned", "left", "off", "")
        yield Listing(f"{one.side}: openings", gaps, _opening_rows(one.openings, unit))
    if one.relined is not None:
        yield from _to_be_got_out(one, one.relined.moved, unit)


def _to_be_got_out(one: SideLeft, moved: Sequence[Moved], unit: str) -> Iterator[Listing]:
    """List the planks of a new shape, the most changed first, and then those as they were."""
    own = {p.name: p for p in one.planks}
    changed = sorted((m for m in moved if m.plank in own), key=lambda m: -abs(m.mm))
    sizes = {name: (format_length(p.length_mm, unit), format_length(p.width_max_mm, unit))
             for name, p in own.items()}  # fmt: skip
    new = tuple(
        (m.plank, *sizes[m.plank], format_off(m.mm, unit), f"{m.edge} edge, frame {m.frame}")
        for m in changed
    )
    if new:
        head = ("plank", "length", "widest", "its edge off", "")
        yield Listing(f"{one.side}: of a new shape, to be got out by it", head, new)
    same = [name for name in own if name not in {m.plank for m in changed}]
    if same:
        rows = tuple((name, *sizes[name]) for name in same)
        title = f"{one.side}: to be got out as they were"
        yield Listing(title, ("plank", "length", "widest"), rows, folded=True)


def _drift_rows(drifts: Sequence[Drift], unit: str) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (d.above or "rabbet", d.frame, *(format_bare(mm, unit) for mm in
         (d.planned_mm, d.measured_mm)), format_off(d.drift_mm, unit))
        for d in drifts
    )  # fmt: skip


def _opening_rows(openings: Sequence[Opening], unit: str) -> tuple[tuple[str, ...], ...]:
    return tuple(
        (o.strake, o.frame, format_bare(o.planned_mm, unit), format_bare(o.left_mm, unit),
         format_off(o.left_mm - o.planned_mm, unit, "wider", "narrower"),
         "measured" if o.measured else "not measured")
        for o in openings
    )  # fmt: skip
