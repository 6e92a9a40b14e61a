"""The open tables of a job, with a summary and the forms exactly as they were typed."""

from __future__ import annotations

import platform
from collections import Counter
from dataclasses import dataclass, replace
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband import __version__
from ribband.app.entering.pictures import PICTURES, picture_files
from ribband.app.entering.timber_sums import timber_searches, timber_totals
from ribband.app.papers.whole import into_folder
from ribband.app.plan.inputs import INPUTS_FOLDER
from ribband.app.plan.making import Tell, rows_of
from ribband.app.plan.old_new import old_of
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.runner import Run, quiet
from ribband.app.plan.steps import WHOLE
from ribband.app.showing.answers import plain
from ribband.store import Known, table_files, write_tables

if TYPE_CHECKING:
    from ribband.butts.model import Goal, Layout
    from ribband.record import Photo

__all__ = ["Written", "known_of", "tables", "write", "written_summary"]

COUNTED_ON = ("numpy", "scipy", "ortools")


@dataclass(frozen=True, slots=True)
class Written:
    """What was written: the folder, its files, and the plan they came from."""

    folder: Path
    files: tuple[Path, ...]
    planned: Planned


def tables(path: Path, folder: Path, *, tell: Tell = quiet) -> Written:
    """Bring a job up to date and write its tables into `folder`.

    Raises
    ------
    InputError, JobFileError
    """
    planned = plan(path, WHOLE, tell=tell)
    return Written(folder, write(planned, folder), planned)


def write(planned: Planned, folder: Path) -> tuple[Path, ...]:
    """Write the tables of a plan, and its forms in ``inputs``."""
    from ribband.app.plan.recorded import record_of
    from ribband.survey import write_forms

    known = replace(known_of(planned.run), photos=_photos(planned), old=old_of(planned))
    if planned.run.result("relined"):
        known = replace(known, record=record_of(planned))
    vessel = planned.run.bench.survey.particulars.vessel
    ours = [*table_files(), *(f"{INPUTS_FOLDER}/{name}.csv" for name in _form_names())]

    def fill(into: Path) -> tuple[Path, ...]:
        forms = write_forms(planned.run.bench.forms, into / INPUTS_FOLDER)
        pictures = dict(picture_files(planned.job, known.photos, into / PICTURES))
        names = {key: file.relative_to(into).as_posix() for key, file in pictures.items()}
        own = replace(known, picture_files=names)
        written = write_tables(into, own, vessel, written_summary(planned))
        return (*forms, *pictures.values(), *written)

    return into_folder(folder, fill, ours)


def _photos(planned: Planned) -> tuple[Photo, ...]:
    from ribband.record import read_photos

    return read_photos(rows_of(planned.run.bench.forms, "photos", planned.run.bench.unit))


def known_of(done: Run) -> Known:
    """Gather what a run made for the tables."""
    ways, layout, other = done.result("butts") or (None, None, None)
    now = done.present
    return Known(
        survey=done.result("survey"),
        hull=done.result("hull"),
        lining=done.result("lining"),
        ways=ways,
        layout=layout,
        other=other,
        present=now,
        planks=now.planks if now else done.result("planks"),
        shapes=now.shapes if now else None,
        starboard=now.starboard_shapes if now else None,
        pile=done.result("boards"),
        laid=done.result("laying"),
        bought=done.result("order"),
        shop=done.result("shop"),
        hanging=done.result("hanging"),
        worked=done.result("work"),
        left=done.result("relined"),
        repair=done.result("repair"),
        findings=done.findings,
    )


def written_summary(planned: Planned) -> dict[str, Any]:
    """Give what ``summary.json`` says: totals, what was proved, versions, where it came from."""
    done = planned.run
    found: dict[str, Any] = {
        "vessel": done.bench.survey.particulars.vessel,
        "revision": planned.revision,
        "inputs_hash": planned.inputs_hash,
        "unit_of_the_job": done.bench.unit,
        "divided_anew": sorted(done.present.anew) if done.present else [],
        "totals": _totals(done),
        "searches": _searches(done),
        "findings": dict(Counter(str(finding.severity) for finding in done.findings)),
        "not_settled": done.stopped,
        "versions": _versions(),
    }
    return found


def _form_names() -> tuple[str, ...]:
    from ribband.survey.columns import LAYOUTS

    return tuple(LAYOUTS)


def _totals(done: Run) -> dict[str, Any]:
    totals: dict[str, Any] = {}
    if hull := done.result("hull"):
        totals["frames"] = len(hull.frames.names)
        totals["doubts_open"] = sum(not doubt.decision for doubt in hull.doubts)
        totals["fit_rms_mm"] = hull.rms_mm
    if lining := done.result("lining"):
        totals["strakes"] = sum(not strake.stealer for strake in lining.strakes)
        totals["stealers"] = sum(strake.stealer for strake in lining.strakes)
    if butts := done.result("butts"):
        totals["butts"] = sum(len(layout.butts) for layout in butts[1:] if layout)
    if planks := done.result("planks"):
        totals["planks"] = plain(planks.totals)
    totals |= timber_totals(done)
    return dict(plain(totals))


def _searches(done: Run) -> list[dict[str, Any]]:
    """Give what each search reached and proved; a gap of 0 with `proved` is the best there is."""
    found: list[dict[str, Any]] = []
    if lining := done.result("lining"):
        found.append(
            {"search": "lining out: strakes and stealers", "value": lining.cost, "bound": None,
             "gap": None, "proved": False, "feasible": lining.feasible,
             "says": "the best of the divisions compared; no bound is proved"}
        )  # fmt: skip
    layouts = [layout for layout in (done.result("butts") or ())[1:] if layout]
    found += [_goal(layout, goal) for layout in layouts for goal in layout.goals]
    return list(plain([*found, *timber_searches(done)]))


def _goal(layout: Layout, goal: Goal) -> dict[str, Any]:
    return {
        "search": f"butts: {goal.name}",
        "value": goal.value,
        "bound": goal.bound,
        "gap": goal.value - goal.bound,
        "proved": goal.proved,
        "feasible": layout.feasible,
        "seconds": layout.seconds,
    }


def _versions() -> dict[str, str]:
    found = {"ribband": __version__, "python": platform.python_version()}
    for name in COUNTED_ON:
        try:
            found[name] = version(name)
        except PackageNotFoundError:
            found[name] = "not there"
    return found
