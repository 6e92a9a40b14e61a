"""Making the step of a repair, and a plan that holds the renewed planks alone.

Nothing is made where the form `renew` is blank.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import replace
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband import __version__
from ribband.app.entering.jobs import job_path
from ribband.app.entering.taking import is_blank
from ribband.app.plan.making import Made, Tell, make
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.runner import Run, last_kept, quiet
from ribband.errors import InputError, JobFileError, Problem
from ribband.store import JobFile

if TYPE_CHECKING:
    from ribband.app.plan.making import Bench
    from ribband.findings import Finding
    from ribband.record import Recorded, Repair, Stuff
    from ribband.survey.rows import Form

__all__ = ["as_repair", "plan_renewals", "renewed_alone", "renews"]

LAYING = "laying of a repair"  # kept beside the steps' own results
AFTER = ("boards", "laying", "order", "shop", "hanging", "work")


def plan_renewals(bench: Bench) -> tuple[Repair | None, tuple[Finding, ...]]:
    """Plan the renewals of the form `renew`; None where it is blank.

    Raises
    ------
    InputError : an old strake that cannot be
    """
    from ribband.app.entering.record_forms import placed_rows
    from ribband.record import plan_repair, read_renew

    rows = placed_rows(bench.forms, "renew", bench.unit, bench.hull.frames.names)
    if not rows:
        return None, ()
    recorded, told = _recorded(bench)
    made = plan_repair(
        recorded, read_renew(rows), bench.rules["butts"], bench.rules["repair"], _stuff(bench)
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
    path: Path, last: str = "planks", *, seconds: float | None = None, tell: Tell = quiet
) -> Planned:
    """Give a plan in which the renewed planks are all there is, made as far as the step `last`.

    Boards, shop and work are then worked out for these alone by the same steps, and tables,
    patterns and tickets are written from it as from any plan.

    Raises
    ------
    InputError : nothing is to be renewed
    """
    if not asked_to_renew(path):  # said before the whole vessel is planned
        raise _nothing("")
    planned = plan(path, "repair", seconds=seconds, tell=lambda p, w: tell(0.6 * p, w))
    repair: Repair | None = planned.run.result("repair")
    if repair is None or not repair.planks.planks:
        raise _nothing(planned.run.stopped)
    bench = replace(planned.run.bench, made=dict(planned.run.bench.made))
    _put(bench, repair)
    bench.before = _laid_before(planned.job)
    steps = AFTER[: AFTER.index(last) + 1] if last in AFTER else ()
    for n, step in enumerate(steps):
        tell(0.6 + 0.4 * n / len(steps), step)
        bench.made[step] = _after(step, planned, bench, repair)
    return replace(planned, run=Run(bench, planned.run.keys, planned.run.seconds))


def _after(step: str, planned: Planned, bench: Bench, repair: Repair) -> Made:
    """Make a step for the new planks alone; they are hung turn by turn between old ones."""
    from ribband.record import check_turns_kept, hang_in_turns

    if step == "laying":
        return _laid(planned, bench)
    if step == "hanging":
        hanging = hang_in_turns(repair)
        return Made(hanging, check_turns_kept(repair, hanging))
    return make(step, bench, quiet)


def _laid_before(job: Path) -> Callable[[str], Any]:
    """Give what the last repair was laid on; the whole vessel's laying is of other planks."""
    with JobFile.open(job) as file:
        before = last_kept(file, LAYING)
    return lambda step: before if step == "laying" else None


def _laid(planned: Planned, bench: Bench) -> Made:
    """Lay the renewed planks, and keep that, so that what was got out and spoilt has its place."""
    own = f"{planned.run.keys['repair']} {planned.run.keys['laying']}"
    key = sha256(own.encode()).hexdigest()
    with JobFile.open(planned.job) as file:
        kept = file.kept(key)
    if kept is not None:
        return Made(*kept)
    made = make("laying", bench, quiet)
    if made.result is not None:
        with suppress(JobFileError), JobFile.open(planned.job, writing=True) as file:
            file.keep(key, LAYING, (made.result, made.findings), __version__, 0.0)
    return made


def as_repair(planned: Planned) -> Planned:
    """Give a plan whose planks are the renewed ones, for the record; itself where none are.

    What was worked out for the whole planking is left out: it is of other planks.
    """
    repair: Repair | None = planned.run.result("repair")
    made = planned.run.bench.made
    if repair is None or not repair.planks.planks or made["planks"].result is repair.planks:
        return planned
    bench = replace(planned.run.bench, made={n: m for n, m in made.items() if n not in AFTER})
    _put(bench, repair)
    if "relined" in made:
        bench.made["relined"] = made["relined"]
    return replace(planned, run=replace(planned.run, bench=bench))


def _put(bench: Bench, repair: Repair) -> None:
    from ribband.planks import Shapes

    port, starboard = (next(s for s in repair.sides if s.side == side)
                       for side in ("port", "starboard"))  # fmt: skip
    told = bench.made["repair"].findings
    bench.made["lining"] = Made(repair.lining)
    bench.made["butts"] = Made((port.ways, port.layout, starboard.layout))
    bench.made["planks"] = Made(repair.planks, told)
    bench.made["shapes"] = Made((Shapes(port.shapes), Shapes(starboard.shapes)))
    bench.made.pop("relined", None)
    bench.made.pop("stands", None)


def asked_to_renew(path: Path) -> bool:
    """Tell whether the form renew says anything."""
    with JobFile.open(job_path(path)) as file:
        return renews(file.forms())


def renews(forms: Mapping[str, Form]) -> bool:
    """Tell whether the form renew of these says anything."""
    form = forms.get("renew")
    return form is not None and not is_blank(form)


def _nothing(stopped: str) -> InputError:
    wanted = stopped or "planks to renew: a row of the form renew that has a place"
    return InputError([Problem("renew", 0, "", "nothing to renew", wanted)])
