"""The overview: the state of the job on one sheet, from what is kept.

Key figures are those of the present forms only; a stale figure is not shown as if it held.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

from ribband.app.papers.downloads import Listed, listed
from ribband.app.papers.drawings import DRAWINGS, can_be_drawn
from ribband.app.plan.as_kept import as_kept, as_last_kept, kept_keys
from ribband.app.plan.planning import summary
from ribband.app.plan.repair_steps import asked_to_renew
from ribband.app.plan.steps import STEPS
from ribband.app.screens.job import JobView, job_view
from ribband.app.showing.answers import Line
from ribband.app.showing.whose import whose
from ribband.errors import InputError
from ribband.findings import Finding, Severity
from ribband.store import Revision

__all__ = ["FindingGroup", "Overview", "drawing_key", "overview"]

CHANGES = 8
READ = ("survey", "hull", "lining", "butts", "planks", "repair")  # what the figures need
RANK = {Severity.FAULT: 0, Severity.CAUTION: 1, Severity.NOTE: 2}


@dataclass(frozen=True, slots=True)
class FindingGroup:
    """Findings of one kind, the first of them shown."""

    code: str
    severity: str
    page: str
    count: int
    first: Finding
    more: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Drawable:
    """A drawing that can be shown, by name and in words."""

    name: str
    says: str


@dataclass(frozen=True, slots=True)
class Overview:
    """All the overview shows beside the job at a glance.

    `as_of` says of which revision the figures are, where that is not the newest; `alone` that they
    are of the new planks of a repair, where one stands.
    """

    job: JobView
    figures: tuple[Line, ...]
    findings: tuple[FindingGroup, ...]
    counts: dict[str, int]
    changes: tuple[Revision, ...]
    drawings: tuple[Drawable, ...]
    downloads: tuple[Listed, ...]
    as_of: str
    alone: str = ""


def overview(path: Path) -> Overview:
    """Put the overview together; nothing is made.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    from ribband.app.entering.jobs import history

    view = job_view(path)
    figures, drawings, as_of, alone = _kept(path, kept_keys(path, READ))
    return Overview(
        job=view,
        figures=figures,
        findings=_grouped(view),
        counts=_counts(view),
        changes=tuple(reversed(history(path, view.revision - CHANGES))),
        drawings=drawings,
        downloads=listed(path),
        as_of=as_of,
        alone=alone,
    )


def drawing_key(path: Path) -> str:
    """Give one word that changes whenever a drawing of the job would."""
    return kept_keys(path, READ)


@lru_cache(maxsize=4)
def _kept(path: Path, _key: str) -> tuple[tuple[Line, ...], tuple[Drawable, ...], str, str]:
    """Read the figures once for what is kept; the findings are counted apart."""
    try:
        need = "repair" if asked_to_renew(path) else "planks"
        before, as_of = as_last_kept(path, READ, need)
        planned = as_kept(path, READ) if as_of else before
    except (InputError, ValueError):
        return (), (), "", ""
    lines = tuple(line for line in summary(before.run) if line.what != "findings")
    names = () if planned.run.result("survey") is None else can_be_drawn(planned)
    own = tuple(Drawable(name, DRAWINGS[name].says) for name in names)
    return lines, own, as_of, whose(before)


def _counts(view: JobView) -> dict[str, int]:
    every = dict.fromkeys(f for step in view.steps for f in step.findings)
    counted = Counter(str(finding.severity) for finding in every)
    return {str(severity): counted.get(str(severity), 0) for severity in RANK}


def _grouped(view: JobView) -> tuple[FindingGroup, ...]:
    """Group findings by code, the gravest first."""
    pages = {f: step.page for step in reversed(view.steps) for f in step.findings}
    by_code: dict[str, list[Finding]] = {}
    for finding in pages:
        by_code.setdefault(finding.code, []).append(finding)
    groups = [
        FindingGroup(
            code, str(own[0].severity), pages[own[0]], len(own), own[0],
            tuple(f"{f.where}: {f.says}" for f in own[1:40]),
        )
        for code, own in by_code.items()
    ]  # fmt: skip
    stages = [step.name for step in STEPS]
    return tuple(
        sorted(
            groups,
            key=lambda g: (
                RANK[Severity(g.severity)],
                stages.index(g.first.stage) if g.first.stage in stages else 99,
                g.code,
            ),
        )
    )
