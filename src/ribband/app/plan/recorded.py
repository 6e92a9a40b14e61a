"""The record of a job: put together from plan, log and pictures, and printed."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from ribband.app.papers.drawings import Paper, book_of, named_after
from ribband.app.papers.whole import into_file
from ribband.app.plan.making import Tell, rows_of
from ribband.app.plan.old_new import got_out_of
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.repair_steps import as_repair
from ribband.app.plan.runner import quiet
from ribband.app.plan.steps import WHOLE
from ribband.errors import InputError, Problem

if TYPE_CHECKING:
    from ribband.butts.model import Layout
    from ribband.drawing.sheet import Sheet
    from ribband.record import Cost, Left, Record, Repair, Wage
    from ribband.shop.whole import Shop

__all__ = ["record_job", "record_of", "write_record_of"]


def record_job(job: Path, path: Path | None, paper: Paper, *, tell: Tell = quiet) -> Path:
    """Bring a job up to date and write its record to a PDF; of a repair, of the new planks alone.

    Raises
    ------
    InputError, JobFileError
    """
    planned = plan(job, WHOLE, tell=tell)
    vessel = named_after(planned.run.bench.survey.particulars.vessel, planned.job.stem)
    return write_record_of(planned, path or planned.job.with_name(f"{vessel} record.pdf"), paper)


def write_record_of(planned: Planned, out: Path, paper: Paper) -> Path:
    """Write the record of a plan made already to a PDF.

    Raises
    ------
    InputError : the job has not come as far as planks
    """
    from ribband.app.entering.pictures import small_pictures
    from ribband.drawing.book.record_pages import Kept, write_record

    planned = as_repair(planned)
    record = record_of(planned)
    book = book_of(planned, paper, sheets=False)
    book = replace(
        book, findings=(*book.findings, *record.findings),
        sheets={"expansion": _where(planned, record, paper)},
    )  # fmt: skip
    left: Left = planned.run.bench.made["relined"].result
    photos = [photo for own in record.planks for photo in own.photos]
    pictures = small_pictures(planned.job, photos)
    rules = planned.run.bench.rules["record"]
    kept = Kept(book, record, left, planned.run.result("repair"), pictures, rules)
    return into_file(out, lambda part: write_record(kept, part))


Side = Literal["port", "starboard"]
SIDES: tuple[Side, ...] = ("port", "starboard")
WASH = {"hangs": "#b7cdb4", "cut, not hung": "#e9d9a8", "renewed": "#e2b8ab"}


def _where(planned: Planned, record: Record, paper: Paper) -> tuple[Sheet, ...]:
    """Draw each side with what hangs and what is cut, or what is renewed, washed in colour."""
    from ribband.drawing.board import Setting
    from ribband.drawing.sheet import Page
    from ribband.drawing.views.expansion import expansion

    bench, now = planned.run.bench, planned.run.present
    _, layout, other = planned.run.result("butts") or (None, None, None)
    if now is None or layout is None:
        return ()
    stands = _stands(planned, record)
    tints = {plank: WASH[word] for plank, word in stands.items()}
    meanings = {WASH[word]: word for word in WASH if word in stands.values()}
    layouts: dict[Side, Layout] = {"port": layout, "starboard": other or layout}
    for side in SIDES:
        if side in now.laid:
            layouts[side] = now.laid[side][1]
    size = "tabloid" if paper.size.lower() == "letter" else "A3"
    setting = Setting(Page.of(size), date=planned.made.at[:10], revision=str(planned.revision))
    return tuple(
        sheet
        for side in layouts
        if any(p.side in {side, "both"} and p.name in tints for p in now.planks.planks)
        for sheet in expansion(
            bench.hull, now.anew.get(side, bench.lining), layouts[side], now.planks,
            setting=replace(setting, side=side), tints=tints, meanings=meanings,
        )
    )  # fmt: skip


def _stands(planned: Planned, record: Record) -> dict[str, str]:
    """Say of planks what they are washed for; those to be got out are left white."""
    from ribband.record.model import come_to

    repair: Repair | None = planned.run.result("repair")
    if repair is not None and repair.planks.planks:
        return {plank.name: "renewed" for plank in repair.planks.planks}
    return {
        own.plank.name: "hangs" if come_to(own.state, "hung") else "cut, not hung"
        for own in record.planks
        if own.state
    }


def record_of(planned: Planned) -> Record:
    """Put the record together from a whole plan.

    Raises
    ------
    InputError : the job has not come as far as planks
    """
    from ribband.record import keep_record, read_photos
    from ribband.shop import read_log

    done = planned.run
    left: Left | None = done.result("relined")
    if left is None:
        raise InputError([Problem("record", 0, "", "no planks yet", done.stopped or "a plan")])
    forms, unit = done.bench.forms, done.bench.unit
    worked, laid = done.result("work"), done.result("laying")
    return keep_record(
        done.bench.present.planks.planks,
        read_log(rows_of(forms, "log", unit)),
        read_photos(rows_of(forms, "photos", unit)),
        left,
        got_out_of(planned),
        laid.boards if laid else (),
        _hours(planned),
        worked.learned if worked else (),
        _costs(planned, left),
        _wages(planned),
    )


def _costs(planned: Planned, left: Left) -> tuple[Cost, ...]:
    """Give what all but the timber costs, planned and real, as far as prices were given."""
    from ribband.app.plan.shop_steps import shop_typed
    from ribband.app.plan.work_steps import yard_of
    from ribband.record import (
        Cost,
        Labour,
        fastenings_cost,
        overheads_cost,
        timber_to_buy,
        transport_cost,
        wages_planned,
        wages_real,
    )
    from ribband.record.model import come_to

    bench, shop, worked = planned.run.bench, planned.run.result("shop"), planned.run.result("work")
    fast = {p for p, state in left.states.items() if come_to(state, "fastened")}
    planned_cost, real = fastenings_cost(shop.fastenings, fast) if shop else (None, None)
    bought = planned.run.result("order")
    to_buy = timber_to_buy(bought.order if bought else None)
    found = [to_buy] if to_buy else []
    found.append(Cost("fastenings", planned_cost, real, "real: those in planks that are fast"))
    labour = None
    if worked is not None:
        yard, hours = yard_of(bench.forms, bench.unit), _hours(planned)
        spent: dict[str, float] = defaultdict(float)
        for (_, hand), logged in _logged(planned).items():
            spent[hand] += logged
        labour = Labour(
            wages_planned(hours, yard.crew), wages_real(spent, yard.crew),
            sum(hours.values()), sum(spent.values()),
        )  # fmt: skip
        says = "real: of the hours logged with hands and a clock"
        found.append(Cost("wages", labour.wages, labour.wages_real, says))
    supplies = shop_typed(bench.forms, bench.unit).supplies
    own = (overheads_cost(supplies, labour), transport_cost(supplies))
    return (*found, *(_supplied(planned, shop, left) if shop else ()), *own)


def _supplied(planned: Planned, shop: Shop, left: Left) -> tuple[Cost, ...]:
    """Give what is used up and what machines cost, by the form `supplies`."""
    from ribband.app.plan.shop_steps import shop_typed
    from ribband.app.plan.work_steps import yard_of
    from ribband.record import Running, heating_of, supplies_cost
    from ribband.shop.work.rates import with_own

    bench, worked = planned.run.bench, planned.run.result("work")
    running = None
    if worked is not None:
        yard = yard_of(bench.forms, bench.unit)
        at_once = worked.work.gear["steam box"] // max(1, yard.gear["steam box"])
        crane_kg = bench.rules["work"].crane_kg
        heating = heating_of(bench.rules["steaming"].heat_up_minutes, yard.log, worked.plan)
        running = Running(worked.work.measures, with_own(yard.rates), at_once, crane_kg, heating)
    lengths = {plank.name: plank.length_mm for plank in bench.present.planks.planks}
    supplies = shop_typed(bench.forms, bench.unit).supplies
    return supplies_cost(shop, running, supplies, left.states, lengths, bench.unit)


def _wages(planned: Planned) -> tuple[Wage, ...]:
    """Give hours and wages of each operation; nothing where no work is planned."""
    from ribband.app.plan.work_steps import yard_of
    from ribband.record import wages_by_operation

    bench = planned.run.bench
    crew = yard_of(bench.forms, bench.unit).crew
    return wages_by_operation(_hours(planned), _logged(planned), crew)


def _logged(planned: Planned) -> Mapping[tuple[str, str], float]:
    """Give the hours logged, by operation and hand."""
    from ribband.app.plan.work_steps import yard_of
    from ribband.shop.work.learning import hours_by_operation
    from ribband.shop.work.rates import with_own

    bench, worked = planned.run.bench, planned.run.result("work")
    if worked is None:
        return {}
    yard = yard_of(bench.forms, bench.unit)
    return hours_by_operation(
        yard.log, worked.work.measures, with_own(yard.rates), bench.rules["work"], yard.crew
    )


def _hours(planned: Planned) -> dict[str, float]:
    """Give the man-hours of each operation for all planks that want it, by the yard's rates."""
    from ribband.app.plan.work_steps import yard_of
    from ribband.shop.work.model import OPERATIONS
    from ribband.shop.work.rates import hours_of, wanted, with_own

    worked = planned.run.result("work")
    if worked is None:
        return {}
    rates = with_own(yard_of(planned.run.bench.forms, planned.run.bench.unit).rates)
    every = worked.work.measures
    return {
        op: sum(hours_of(op, plank, rates) for plank in every if op in wanted(plank))
        for op in OPERATIONS
    }
