"""Comparing two revisions of a job: every cell that differs, and what became of the planking."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from pathlib import Path

from ribband.app.entering.jobs import job_path
from ribband.app.plan.making import Made
from ribband.app.plan.steps import keys
from ribband.app.showing.answers import Answer, Listing
from ribband.errors import InputError, Problem
from ribband.store import JobFile
from ribband.survey.rows import Form

__all__ = ["changed_cells", "compare", "kept_figures"]

Change = tuple[str, str, str, str, str]


def compare(path: Path, first: int | None = None, second: int | None = None) -> Answer:
    """Compare two revisions; by default the newest with the one before it.

    Raises
    ------
    InputError : there is no such revision
    JobFileError : the job cannot be opened
    """
    with JobFile.open(job_path(path)) as job:
        newest = job.newest()
        b = newest if second is None else second
        a = b - 1 if first is None else first
        for number in (a, b):
            if not 1 <= number <= newest:
                wanted = f"a revision from 1 to {newest}"
                raise InputError([Problem(path.name, 0, "revision", str(number), wanted)])
        cells = tuple(changed_cells(job.forms(a), job.forms(b)))
        figures = _figures(job, a, b)
    said = (str(a), str(b))
    return Answer(
        title=f"Revision {a} and revision {b}",
        listings=(
            Listing("What was entered", ("form", "row", "column", *said), cells),
            Listing("What was kept of it", ("figure", *said), figures),
        ),
        notes=() if cells else ("The two say the same.",),
        data={"revisions": [a, b], "cells": [list(cell) for cell in cells]},
    )


def changed_cells(before: Mapping[str, Form], after: Mapping[str, Form]) -> Iterator[Change]:
    """Give every cell that differs: form, row from 1, column, before, after."""
    for name in sorted({*before, *after}):
        old, new = _cells(before.get(name)), _cells(after.get(name))
        for at in sorted({*old, *new}):
            if old.get(at, "") != new.get(at, ""):
                row, _, column = at
                yield (name, str(row), column, old.get(at, ""), new.get(at, ""))


def _cells(form: Form | None) -> dict[tuple[int, int, str], str]:
    if form is None:
        return {}
    return {
        (r, c, column): text
        for r, row in enumerate(form.rows, 1)
        for c, (column, text) in enumerate(zip(form.header, row, strict=True))
    }


def _figures(job: JobFile, a: int, b: int) -> tuple[tuple[str, str, str], ...]:
    one, two = (kept_figures(job, number) for number in (a, b))
    return tuple((name, one.get(name, ""), two.get(name, "")) for name in one | two)


def kept_figures(job: JobFile, revision: int) -> dict[str, str]:
    """Give the figures of what is kept of a revision; empty where nothing is."""
    own = keys(job.forms(revision), job.form_hashes(revision))
    found = {name: Made(*kept).result for name, key in own.items() if (kept := job.kept(key))}
    figures = {}
    if "lining" in found:
        strakes = found["lining"].strakes
        figures["strakes"] = str(sum(not strake.stealer for strake in strakes))
        figures["stealers"] = str(sum(strake.stealer for strake in strakes))
    if "butts" in found:
        figures["butts"] = str(sum(len(layout.butts) for layout in found["butts"][1:] if layout))
    if "planks" in found:
        figures["planks"] = str(len(found["planks"].planks))
    return figures
