"""Making the step of a repair, and a plan that holds the renewed planks alone.

Nothing is made where the form `renew` is blank.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING

from ribband.app.entering.jobs import job_path
from ribband.app.plan.alone import new_planks_alone, repair_alone
from ribband.app.plan.log_keys import renews
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.runner import quiet
from ribband.errors import InputError, Problem
from ribband.store import JobFile

if TYPE_CHECKING:
    from ribband.app.plan.making import Bench
    from ribband.findings import Finding
    from ribband.record import Recorded, Repair, Stuff

__all__ = ["as_repair", "asked_to_renew", "plan_renewals", "renewed_alone", "renews"]


def plan_renewals(bench: Bench) -> tuple[Repair | None, tuple[Finding, ...]]:
    """Plan the renewals of the form `renew`; None where it is blank.

    Raises
    ------
    InputError : an old strake that cannot be
    """
    from ribband.app.entering.record_forms import placed_rows
    from ribband.app.plan.shop_boards import got_out_of
    from ribband.record import plan_repair, read_renew

    rows = placed_rows(bench.forms, "renew", bench.unit, bench.hull.frames.names)
    if not rows:
        return None, ()
    recorded, told = _recorded(bench)
    before: Repair | None = bench.before("repair")
    made = plan_repair(
        *(recorded, read_renew(rows), bench.rules["butts"], bench.rules["repair"], _stuff(bench)),
        before=before.renewals if before else (),
        out=sorted(got_out_of(bench)),
    )
    return made, (*told, *made.findings)


def _recorded(bench: Bench) -> tuple[Recorded, tuple[Finding, ...]]:
    from ribband import butts
    from ribband.record import Recorded, old_butts_of, record_seams

    survey, (planned_ways, layout, other) = bench.survey, bench.butts
    seams = record_seams(bench.hull, bench.lining, survey.old_widths, bench.rules["lining"])
    own = seams.lining is bench.lining
    ways = planned_ways if own else butts.ways(bench.hull, seams.lining, bench.rules["butts"])
    stand_in = {"port": layout.butts, "starboard": (other or layout).butts} if own else {}
    told = [*seams.findings]
    old = {}
    for side in ("port", "starboard"):
        old[side], found = old_butts_of(ways, survey.old_butts, side, stand_in.get(side, ()))
        told += found
    return Recorded(bench.hull, seams.lining, ways, old), tuple(told)


def _stuff(bench: Bench) -> Stuff:
    from ribband.app.plan.timbers import planking_timber
    from ribband.record import Stuff

    species = planking_timber(bench)
    return Stuff(bench.rules["planks"], bench.rules["shapes"], species)


def renewed_alone(
    path: Path, last: str | Sequence[str] = "planks", *, seconds: float | None = None,
    tell: Tell = quiet,
) -> Planned:  # fmt: skip
    """Bring a job up to date as far as `last`, of the new planks of its repair alone.

    Raises
    ------
    InputError : nothing is to be renewed
    """
    if not asked_to_renew(path):  # said before the whole vessel is planned
        raise _nothing("")
    wanted = (last,) if isinstance(last, str) else tuple(last)
    planned = plan(path, (*wanted, "repair"), seconds=seconds, tell=tell)
    if repair_alone(planned.run.bench) is None:
        raise _nothing(planned.run.stopped)
    return planned


def as_repair(planned: Planned) -> Planned:
    """Give a plan whose planks are the renewed ones; itself where there are none."""
    alone = new_planks_alone(planned.run.bench)
    if alone is None or alone is planned.run.bench:
        return planned
    return replace(planned, run=replace(planned.run, bench=alone))


def asked_to_renew(path: Path) -> bool:
    """Tell whether the form renew says anything."""
    with JobFile.open(job_path(path)) as file:
        return renews(file.forms())


def _nothing(stopped: str) -> InputError:
    wanted = stopped or "planks to renew: a row of the form renew that has a place"
    return InputError([Problem("renew", 0, "", "nothing to renew", wanted)])
