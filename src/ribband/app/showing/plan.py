"""Showing results to the shipwright: the lining out, the butts, the planks, all in the job's unit.

Each answer also carries the same facts as plain data, in the columns of the open tables.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ribband.app.entering.wish_use import wishes_shown
from ribband.app.papers.tables import known_of, written_summary
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import Planned, plan, summary
from ribband.app.plan.repair_steps import asked_to_renew
from ribband.app.plan.runner import quiet
from ribband.app.plan.steps import WHOLE
from ribband.app.showing.answers import Answer, Line, Listing, plain
from ribband.app.showing.whose import headed, of_whole_hull
from ribband.findings import Finding
from ribband.store.table_rows import filled
from ribband.store.table_shapes import SHAPES
from ribband.units import format_area, format_length, format_volume

if TYPE_CHECKING:
    from ribband.butts.model import Layout, Ways
    from ribband.lining.model import Lining
    from ribband.planks.model import PlankList, Total

__all__ = ["as_tables", "show_butts", "show_line", "show_plan", "show_planks", "shown_plan"]

UNSAID = "and ours for what it leaves unsaid; see: ribband rules"


def show_plan(
    path: Path, *, seconds: float | None = None, aside: Sequence[str] = (), tell: Tell = quiet
) -> Answer:
    """Bring a job up to date and sum it up."""
    return shown_plan(plan(path, WHOLE, seconds=seconds, aside=aside, tell=tell))


def shown_plan(planned: Planned) -> Answer:
    """Sum a plan up: figures, what stopped it, and every finding."""
    vessel = planned.run.bench.survey.particulars.vessel
    said = Answer(
        title=f"{vessel or planned.job.stem}, revision {planned.revision}",
        lines=summary(planned.run),
        notes=(planned.run.stopped,) if planned.run.stopped else (),
        findings=planned.run.findings,
        data={"job": plain(planned.job), **written_summary(planned)},
        good=planned.good,
    )
    return headed(planned, said)


def show_line(path: Path, *, tell: Tell = quiet) -> Answer:
    """Show the lining out: every strake, why so many, what binds, and the next best."""
    planned = plan(path, "lining", tell=tell)
    lining = planned.run.result("lining")
    if lining is None:
        return _stopped(planned)
    unit = planned.run.bench.unit
    return Answer(
        title="Lining out",
        lines=(*of_whole_hull(planned), *summary(planned.run)[:-1]),
        listings=(
            *(_strakes(lining, unit), _binds(lining), _alternatives(lining, unit)),
            wishes_shown(planned.run.bench.forms, "lining"),
        ),
        notes=lining.reasons,
        findings=_of(planned, "hull", "lining"),
        data=as_tables(planned, "strakes", "strake_edges") | {"reasons": list(lining.reasons)},
        good=planned.good and lining.feasible,
    )


def show_butts(path: Path, *, seconds: float | None = None, tell: Tell = quiet) -> Answer:
    """Show the butts: where they stand, how near the best that is, what clashes."""
    planned = plan(path, "butts", seconds=seconds, tell=tell)
    butts = planned.run.result("butts")
    if butts is None:
        return _stopped(planned)
    ways, *layouts = butts
    laid = [layout for layout in layouts if layout]
    sides = [""] if len(laid) == 1 else [", port", ", starboard"]
    listings = [
        listing
        for side, layout in zip(sides, laid, strict=True)
        for listing in (
            _goals(ways, layout, side, planned.run.bench.unit),
            _butts(ways, layout, side),
            _reliefs(layout, side),
        )
    ]
    return Answer(
        title="Butts",
        lines=(
            *of_whole_hull(planned),
            Line("rules", planned.run.bench.rules["butts"].name, UNSAID),
        ),
        listings=(*listings, wishes_shown(planned.run.bench.forms, "butts")),
        notes=tuple(clash for layout in laid for clash in layout.clashes),
        findings=_of(planned, "butts"),
        data=as_tables(planned, "butts") | {"searches": written_summary(planned)["searches"]},
        good=planned.good and all(layout.feasible for layout in laid),
    )


def show_planks(path: Path, aside: Sequence[str] = (), *, tell: Tell = quiet) -> Answer:
    """Show the plank list and its totals; of a repair the new planks alone."""
    last = ("shapes", "repair") if asked_to_renew(path) else ("shapes",)
    planned = plan(path, last, aside=aside, tell=tell)
    planks = planned.run.result("planks")
    if planks is None:
        return _stopped(planned)
    unit = planned.run.bench.unit
    totals = (*planks.totals, *planks.by_side, *planks.by_strake, *planks.by_length)
    said = Answer(
        title="Plank list",
        listings=(_planks(planks, unit), _totals(totals, unit)),
        findings=_of(planned, "planks"),
        data=as_tables(planned, "planks") | {"totals": plain(totals)},
        good=planned.good,
    )
    return headed(planned, said)


def _stopped(planned: Planned) -> Answer:
    return Answer(notes=(planned.run.stopped,), findings=planned.run.findings, good=False)


def _of(planned: Planned, *steps: str) -> tuple[Finding, ...]:
    made = planned.run.bench.made
    return tuple(f for step in steps if step in made for f in made[step].findings)


def as_tables(planned: Planned, *names: str) -> dict[str, Any]:
    """Give open tables of a plan as plain rows by column; none of those that cannot be filled."""
    tables = filled(known_of(planned.run))
    return {
        name: [
            dict(zip((c.name for c in SHAPES[name].columns), map(plain, row), strict=True))
            for row in tables[name]
        ]
        for name in names
        if name in tables
    }


def _strakes(lining: Lining, unit: str) -> Listing:
    rows = []
    for strake, widths in zip(lining.strakes, lining.full_width_mm, strict=True):
        known = widths[np.isfinite(widths)]
        most, least = (format_length(float(w), unit) for w in (known.max(), known.min()))
        nib = f"nib on {strake.nib}" if strake.nib else ""
        rows.append((strake.name, strake.called, strake.first, strake.last, most, least, nib))
    columns = ("strake", "called", "from", "to", "widest", "narrowest", "")
    return Listing("Strakes, from the keel", columns, tuple(reversed(rows)))


def _binds(lining: Lining) -> Listing:
    rows = tuple((bind.what, bind.where, bind.gain) for bind in lining.binds)
    return Listing("What binds", ("limit", "where", "easing it would gain"), rows)


def _alternatives(lining: Lining, unit: str) -> Listing:
    rows = tuple(
        (
            *(str(a.strakes), str(a.stealers), f"{a.cost:.3g}"),
            *(format_length(a.widest_mm, unit), format_length(a.narrowest_mm, unit), a.says),
        )
        for a in lining.alternatives
    )
    columns = ("strakes", "stealers", "cost (lower is better)", "widest", "narrowest", "")
    return Listing(f"Next best (this one: cost {lining.cost:.3g})", columns, rows)


def _goals(ways: Ways, layout: Layout, side: str, unit: str) -> Listing:
    """List every goal, its bound and the gap between; those in mm in the job's unit."""
    rows = []
    for goal in layout.goals:
        name, mm, _ = goal.name.partition(", mm")
        if says := goal.instead(ways):
            rows.append([name, says, "", "", ""])
            continue
        figures = (goal.value, goal.bound, goal.value - goal.bound)
        said = (format_length(f, unit) if mm else f"{f:g}" for f in figures)
        rows.append([name, *said, "proved" if goal.proved else "not proved"])
    columns = ("goal", "reached", "no less than", "gap", "")
    title = f"Goals in their order, each after the one above, {layout.seconds:.1f} s{side}"
    return Listing(title, columns, tuple(map(tuple, rows)))


def _butts(ways: Ways, layout: Layout, side: str) -> Listing:
    rows = []
    for s, strake in enumerate(ways.strakes):
        own = sorted(butt for butt in layout.butts if butt.strake == s)
        rows.append((strake, ", ".join(_landing(ways, b.landing, b.fixed) for b in own) or "none"))
    columns = ("strake", "butts on frame (+ = on a block aft of it, ! = fixed)")
    return Listing(f"Butts{side}, from the keel", columns, tuple(reversed(rows)))


def _landing(ways: Ways, landing: int, fixed: bool) -> str:
    frame, block = divmod(landing, 2)
    return ways.frames[frame] + "+" * block + "!" * fixed


def _reliefs(layout: Layout, side: str) -> Listing:
    rows = tuple((r.rule, r.where, r.says, str(r.count)) for r in layout.reliefs)
    return Listing(f"Ways out{side}", ("rule to ease", "where", "how", "butts"), rows)


def _planks(planks: PlankList, unit: str) -> Listing:
    rows = tuple(
        (
            *(p.name, f"{p.fore} to {p.aft}", format_length(p.length_mm, unit)),
            *(format_length(p.width_max_mm, unit), format_length(p.width_min_mm, unit)),
            *(format_area(p.area_m2, unit), f"{p.rough_board_feet:.1f}"),
        )
        for p in planks.planks
    )
    columns = ("plank", "from, to", "length", "widest", "narrowest", "area", "board feet rough")
    return Listing("Planks", columns, rows)


def _totals(totals: Iterable[Total], unit: str) -> Listing:
    rows = tuple(
        (
            *(t.of, str(t.planks), format_length(t.length_mm, unit)),
            *(format_area(t.area_m2, unit), format_volume(t.rough_m3, unit)),
        )
        for t in totals
    )
    return Listing("Totals", ("of", "planks", "length", "area", "rough timber, net"), rows)
