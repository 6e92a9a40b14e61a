"""Everything at once: from a folder of forms, or a job, to tables, drawings and the book."""

from __future__ import annotations

import pickle
from dataclasses import dataclass, replace
from functools import lru_cache
from importlib import import_module
from pathlib import Path

from ribband.app.entering.jobs import SUFFIX, Taken, job_path, new_job, take
from ribband.app.entering.taking import vessel_says
from ribband.app.papers.drawings import (
    FORMATS,
    Paper,
    book_name,
    can_be_drawn,
    draw,
    named_after,
    write_book,
)  # fmt: skip
from ribband.app.papers.hands import Hands, Piece
from ribband.app.papers.tables import write
from ribband.app.papers.work import work_papers
from ribband.app.plan.inputs import read_inputs
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.runner import quiet
from ribband.app.plan.status import status
from ribband.app.plan.steps import WHOLE
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.app.showing.plan import shown_plan
from ribband.store import JobFile
from ribband.survey.decimals import Decimal

__all__ = ["PRINTED", "Everything", "everything", "found", "is_job", "job_in", "told"]

HEAVY = (
    "scipy.interpolate",
    "ezdxf.filemanagement",
    "fontTools.subset",
    "ribband.drawing.book.press",
    "ribband.drawing.svg",
    "ribband.drawing.dxf",
)
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
    decimal: Decimal = "point",
    hands: int = 1,
    tell: Tell = quiet,
) -> Everything:
    """Plan `source` (forms or a job file) and write all there is to write into `out`.

    From forms, the job file is made in `out`, or the forms are taken into the one that is there
    (`replace_all`: in place of all it holds); `decimal` is what their figures have for decimals.
    A job file stays where it is. With more than one of `hands` the papers are written by as many
    processes, to the same bytes; a program that asks for them must keep its own work behind
    ``if __name__ == "__main__"``.

    Raises
    ------
    InputError, JobFileError
    """
    job, notes = _job_for(source, out, who, replace_all=replace_all, decimal=decimal)
    with Hands(hands, warm) as crew:
        planned = plan(
            job, WHOLE, seconds=seconds, tell=lambda part, words: tell(PLANNING * part, words)
        )
        tell(PLANNING, "writing the tables")
        write(planned, out / "tables")
        drawings, book = _papers(planned, out, paper, crew, tell)
    tell(1.0, "done")
    missing = () if book else (f"no book: {planned.run.stopped}",)
    return Everything(planned, out / "tables", drawings, book, (*notes, *missing))


def _job_for(
    source: Path, out: Path, who: str, *, replace_all: bool, decimal: Decimal
) -> tuple[Path, tuple[str, ...]]:
    if is_job(source):
        job = job_path(source)
        says = f"Made from the job file {job}, which stays there; none was written in {out}."
        return job, (says,)
    taken = job_in(source, out, who, replace_all=replace_all, decimal=decimal)
    return taken.job, taken.says


def job_in(
    source: Path, out: Path, who: str = "", *, replace_all: bool = False,
    decimal: Decimal = "point",
) -> Taken:  # fmt: skip
    """Make the job file of a folder of forms in `out`, or take the forms into the one there."""
    forms = read_inputs(source, decimal)
    out.mkdir(parents=True, exist_ok=True)
    name = named_after(vessel_says(forms, "vessel"), source.stem or "job")
    path = out / f"{name}{SUFFIX}"
    if path.exists():
        with JobFile.open(path):
            pass  # it is a job file, or says why not, before anything is taken in
        return take(path, source, who, replace=replace_all, decimal=decimal)
    return new_job(path, source, who, f"forms from {source.name}", decimal=decimal)


def warm() -> None:
    """Read the heavy libraries that papers need, before there is anything to draw."""
    for name in HEAVY:
        import_module(name)


def _papers(
    planned: Planned, out: Path, paper: Paper, crew: Hands, tell: Tell
) -> tuple[tuple[Path, ...], Path | None]:
    """Write the drawings and, if the job is lined out, the book; the longest pieces first."""
    told = pickle.dumps(replace(planned, run=replace(planned.run, bench=planned.run.bench.apart())))
    lined = planned.run.result("lining") is not None
    pieces = [Piece("writing the book", _book_in, (told, out, paper))] if lined else []
    pieces += [
        Piece(f"drawing the {name}", _drawn_in, (told, name, out, paper))
        for name in can_be_drawn(planned)
    ]
    pieces.append(Piece("drawing the plan of work", _work_in, (told, out, paper)))
    written = crew.do(pieces, lambda part, words: tell(0.65 + 0.35 * part, words))
    book: Path | None = written.pop(0) if lined else None
    return tuple(path for paths in written for path in paths), book


@lru_cache(maxsize=1)
def _untold(told: bytes) -> Planned:
    """Take up a plan that was sent; each process once."""
    planned: Planned = pickle.loads(told)  # noqa: S301 - this program's own, of a moment ago
    return planned


def _book_in(told: bytes, out: Path, paper: Paper) -> Path:
    planned = _untold(told)
    return write_book(planned, out / book_name(planned), paper)


def _drawn_in(told: bytes, name: str, out: Path, paper: Paper) -> tuple[Path, ...]:
    return draw(_untold(told), name, out / "drawings", paper, PRINTED.get(name, FORMATS))


def _work_in(told: bytes, out: Path, paper: Paper) -> tuple[Path, ...]:
    return work_papers(_untold(told), out, paper)
