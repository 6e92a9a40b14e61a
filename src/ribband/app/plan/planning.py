"""Planning: from the forms in a job to the plank list, keeping every result.

What is kept and still good is not made again. The summary says what came of it in the words and
units of the yard.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from ribband.app.entering.jobs import job_path
from ribband.app.entering.timber_sums import timber_lines
from ribband.app.plan.making import Tell
from ribband.app.plan.runner import Run, Shelf, quiet, run
from ribband.app.showing.answers import Line
from ribband.errors import InputError, JobFileError, Problem
from ribband.findings import Severity
from ribband.store import JobFile, Revision, inputs_hash
from ribband.units import (
    counted,
    format_area,
    format_length,
    format_small,
    format_volume,
    format_weight,
)

if TYPE_CHECKING:
    from ribband.butts.model import Goal, Layout
    from ribband.hull.model import Hull
    from ribband.lining.model import Lining
    from ribband.planks.model import PlankList

__all__ = ["Planned", "plan", "summary"]

T = TypeVar("T")
POINT_MM = 1.0  # narrower is a strake that ends in a point


@dataclass(frozen=True, slots=True)
class Planned:
    """A plan: the run, and the revision of the inputs it was made from, less forms left `aside`."""

    job: Path
    made: Revision
    inputs_hash: str
    run: Run
    aside: tuple[str, ...] = ()

    @property
    def revision(self) -> int:
        """The number of the revision."""
        return self.made.number

    @property
    def good(self) -> bool:
        """True where everything was made and no fault was found."""
        return not self.run.faults and not self.run.stopped


def plan(
    path: Path,
    last: str | Sequence[str] = "shapes",
    *,
    seconds: float | None = None,
    aside: Sequence[str] = (),
    tell: Tell = quiet,
) -> Planned:
    """Bring a job up to date as far as the step `last`, or as every step it names.

    `seconds` is what a search for butts may take; where it is given and what is kept was not
    proved the best, it is searched again and the better kept. Forms named `aside` are not read:
    without `renew` the plan is of the whole hull, where it would be of a repair.

    Raises
    ------
    InputError : the input cannot be used, or there is none yet
    JobFileError : the job cannot be opened or written
    """
    path = job_path(path)
    with _job_to_plan(path) as (job, shelf):
        forms, hashes = _without(aside, job.forms()), _without(aside, job.form_hashes())
        if not forms:
            wanted = "forms taken in first: ribband take JOB FOLDER"
            raise InputError([Problem(str(path), 0, "", "a job without forms", wanted)])
        done = run(forms, hashes, shelf, last, seconds=seconds, tell=tell)
        left = tuple(name for name in aside if name in job.form_hashes())
        return Planned(path, job.history()[-1], inputs_hash(forms), done, left)


def _without(aside: Sequence[str], its: Mapping[str, T]) -> dict[str, T]:
    """Leave out what belongs to the forms named."""
    return {name: one for name, one in its.items() if name not in aside}


class _job_to_plan:  # noqa: N801 - it reads as a verb where it is used
    """Open a job for planning: to write if it may be written, else keep results in memory."""

    def __init__(self, path: Path) -> None:
        self.path = path

    def __enter__(self) -> tuple[JobFile, Shelf]:
        try:
            self.job = JobFile.open(self.path, writing=True)
        except JobFileError as wrong:
            if "cannot be written" not in str(wrong):
                raise
            self.job = JobFile.open(self.path)
            return self.job, _Beside(self.job)
        return self.job, self.job

    def __exit__(self, *_: object) -> None:
        self.job.close()


class _Beside:
    """A shelf over a job that may only be read: takes from it, keeps nothing."""

    def __init__(self, job: JobFile) -> None:
        self.job = job

    def kept(self, key: str) -> Any | None:
        return self.job.kept(key)

    def keep(self, key: str, stage: str, record: object, version: str, seconds: float) -> None:
        return None

    def forget(self, keys: Sequence[str]) -> None:
        return None


def summary(done: Run) -> tuple[Line, ...]:
    """Say in a few lines what a run came to.

    Each line is there only if its step was made.
    """
    unit = done.bench.unit
    lines: list[Line] = []
    if hull := done.result("hull"):
        lines += _hull_lines(hull, unit)
    if lining := done.result("lining"):
        lines += _lining_lines(lining, unit)
    if butts := done.result("butts"):
        lines += [line for layout in butts[1:] if layout for line in _butt_lines(layout)]
    if planks := done.result("planks"):
        lines += _plank_lines(planks, unit)
    lines += timber_lines(done, unit)
    return (*lines, _findings_line(done))


def _hull_lines(hull: Hull, unit: str) -> list[Line]:
    frames = hull.frames
    kind = "fair surface" if hull.in_space else "girths only"
    open_doubts = [doubt for doubt in hull.doubts if not doubt.decision]
    lines = [
        Line("frames", str(len(frames.names)), kind),
        Line("greatest girth", format_length(float(max(frames.girth_mm)), unit)),
        Line("doubtful readings", str(len(open_doubts)), "to be decided" if open_doubts else ""),
    ]
    if hull.in_space:
        remark = "how far readings lie off the surface, root mean square"
        lines.append(Line("fairing", format_small(hull.rms_mm, unit), remark))
    return lines


def _lining_lines(lining: Lining, unit: str) -> list[Line]:
    import numpy as np

    width = lining.full_width_mm[np.isfinite(lining.full_width_mm)]
    stealers = sum(strake.stealer for strake in lining.strakes)
    remark = "" if lining.feasible else "a limit had to be broken: see the findings"
    across = "along the frame" if lining.upper_xyz is None else "square across the strake"
    return [
        Line("strakes a side", str(len(lining.strakes) - stealers), remark),
        Line("stealers a side", str(stealers)),
        Line("widest", format_length(float(width.max()), unit), across),
        Line(
            "narrowest",
            format_length(float(width[width > POINT_MM].min()), unit),
            "hood ends and nibs included; ends that run out to a point left out",
        ),
    ]


def _butt_lines(layout: Layout) -> list[Line]:
    remark = next((_proved(goal) for goal in layout.goals if goal.name == "butts"), "")
    if not layout.feasible:
        remark = _none_fits(layout)
    return [Line("butts a side", str(len(layout.butts)), remark)]


def _none_fits(layout: Layout) -> str:
    """Say that the rules are broken, and only where it was proved that no layout keeps them."""
    shown = any(goal.name == "rules relaxed" and goal.bound > 0 for goal in layout.goals)
    said = (
        "NO LAYOUT FITS THE RULES"
        if shown
        else "NO LAYOUT WAS FOUND THAT KEEPS THE RULES, and it is not proved that there is none"
    )
    return f"{said}; the best attempt is shown; why, and what helps: ribband butts"


def _proved(goal: Goal) -> str:
    if goal.proved:
        return "proved the fewest"
    return f"at least {goal.bound:g} are needed; the gap of {goal.value - goal.bound:g} is open"


def _plank_lines(planks: PlankList, unit: str) -> list[Line]:
    total = planks.totals[0]
    kg = "" if total.rough_kg is None else f"{format_weight(total.rough_kg, unit)} as bought"
    return [
        Line("planks", str(total.planks)),
        Line("area", format_area(total.area_m2, unit), "net, the face on the frames"),
        Line("timber", format_volume(total.rough_m3, unit), "with allowances, rough thickness"),
        *([Line("weight", kg, "not counting waste")] if kg else []),
    ]


def _findings_line(done: Run) -> Line:
    by_kind = {s: sum(f.severity is s for f in done.findings) for s in Severity}
    words = ", ".join(counted(n, str(s)) for s, n in reversed(by_kind.items()) if n)
    return Line("findings", words or "none")
