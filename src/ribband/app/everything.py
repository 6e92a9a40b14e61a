"""Everything at once: from a folder of forms, or a job, to tables, drawings and the book."""

from __future__ import annotations

from dataclasses import dataclass, replace
from pathlib import Path

from ribband.app.answers import Answer, Line, Listing
from ribband.app.inputs import read_inputs
from ribband.app.jobs import SUFFIX, Taken, job_path, new_job, take
from ribband.app.making import Tell
from ribband.app.papers import (
    FORMATS,
    Paper,
    book_name,
    can_be_drawn,
    draw,
    named_after,
    write_book,
)  # fmt: skip
from ribband.app.planning import Planned, plan
from ribband.app.runner import quiet
from ribband.app.showing import shown_plan
from ribband.app.status import status
from ribband.app.steps import WHOLE
from ribband.app.tables import write
from ribband.app.taking import vessel_says
from ribband.app.work_papers import work_papers
from ribband.store import JobFile

__all__ = ["PRINTED", "Everything", "everything", "found", "is_job", "job_in", "told"]

PLANNING = 0.6  # of the time; the rest is paper
PRINTED = dict.fromkeys(("ticks", "boards", "milling"), ("pdf",))  # many sheets to print


@dataclass(frozen=True, slots=True)
class Everything:
    """What was made and where it lies; `notes` says what could not be made, and what was taken."""

    planned: Planned
    tables: Path
    drawings: tuple[Path, ...]
    book: Path | None
    notes: tuple[str, ...] = ()


def found(source: Path) -> Path:
    """Find what `source` names: forms that are there, else a job file with its ending left off."""
    if source.exists() or is_job(source):
        return source
    job = job_path(source)
    return job if job.exists() else source


def told(done: Everything) -> Answer:
    """Sum everything up, with what to open."""
    answer = shown_plan(done.planned)
    folders = sorted({path.parent for path in done.drawings})
    places = (
        *((Line("book", str(done.book)),) if done.book else ()),
        *(Line("drawings", str(folder)) for folder in folders),
        Line("tables", str(done.tables)),
        Line("job file", str(done.planned.job)),
    )
    then = ("then", status(done.planned.job).next)
    rows = (*((line.what, line.value) for line in places), then)
    return replace(
        answer,
        closing=Listing("To open", ("", ""), rows),
        notes=(*answer.notes, *done.notes),
        data=dict(answer.data) | {"files": {line.what: line.value for line in places}},
    )


def is_job(path: Path) -> bool:
    """Tell whether a path names a job file rather than forms."""
    return path.suffix == SUFFIX


def everything(
    source: Path,
    out: Path,
    *,
    paper: Paper = Paper(),  # noqa: B008 - frozen
    seconds: float | None = None,
    who: str = "",
    replace_all: bool = False,
    tell: Tell = quiet,
) -> Everything:
    """Plan `source` (forms or a job file) and write all there is to write into `out`.

    From forms, the job file is made in `out`, or the forms are taken into the one that is there
    (`replace_all`: in place of all it holds). A job file stays where it is.

    Raises
    ------
    InputError, JobFileError
    """
    job, notes = _job_for(source, out, who, replace_all=replace_all)
    planned = plan(
        job, WHOLE, seconds=seconds, tell=lambda part, words: tell(PLANNING * part, words)
    )
    tell(PLANNING, "writing the tables")
    write(planned, out / "tables")
    drawings = _drawings(planned, out / "drawings", paper, tell)
    drawings = (*drawings, *work_papers(planned, out, paper))
    tell(0.9, "writing the book")
    book, missing = _book(planned, out / book_name(planned), paper)
    tell(1.0, "done")
    return Everything(planned, out / "tables", drawings, book, (*notes, *missing))


def _job_for(
    source: Path, out: Path, who: str, *, replace_all: bool
) -> tuple[Path, tuple[str, ...]]:
    if is_job(source):
        job = job_path(source)
        says = f"Made from the job file {job}, which stays there; none was written in {out}."
        return job, (says,)
    taken = job_in(source, out, who, replace_all=replace_all)
    return taken.job, taken.says


def job_in(source: Path, out: Path, who: str = "", *, replace_all: bool = False) -> Taken:
    """Make the job file of a folder of forms in `out`, or take the forms into the one there."""
    forms = read_inputs(source)
    out.mkdir(parents=True, exist_ok=True)
    name = named_after(vessel_says(forms, "vessel"), source.stem or "job")
    path = out / f"{name}{SUFFIX}"
    if path.exists():
        with JobFile.open(path):
            pass  # it is a job file, or says why not, before anything is taken in
        return take(path, source, who, replace=replace_all)
    return new_job(path, source, who, f"forms from {source.name}")


def _drawings(planned: Planned, folder: Path, paper: Paper, tell: Tell) -> tuple[Path, ...]:
    names = can_be_drawn(planned)
    paths: list[Path] = []
    for n, name in enumerate(names):
        tell(PLANNING + 0.05 + 0.25 * n / len(names), f"drawing the {name}")
        paths += draw(planned, name, folder, paper, PRINTED.get(name, FORMATS))
    return tuple(paths)


def _book(planned: Planned, path: Path, paper: Paper) -> tuple[Path | None, tuple[str, ...]]:
    if planned.run.result("lining") is None:
        return None, (f"no book: {planned.run.stopped}",)
    return write_book(planned, path, paper), ()
