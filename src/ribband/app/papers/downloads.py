"""What can be taken away from a job: book, drawings, tables, patterns, tickets, model, the job.

While a repair stands all papers are of its new planks alone.

Each is made from what is kept, aside from the server, and only where what it shows is up to date:
nobody is handed a stale book. Folders come as ZIP files whose dates are that of the revision.
"""

from __future__ import annotations

import tempfile
import zipfile
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from ribband.app.entering.taking import is_blank
from ribband.app.papers import bench as bench_papers
from ribband.app.papers import drawings as papers
from ribband.app.papers import tables
from ribband.app.papers import timber as saw_papers
from ribband.app.papers.drawings import Paper, named_after
from ribband.app.plan.as_kept import as_kept, copy_of, wanting
from ribband.app.plan.everything import PRINTED
from ribband.app.plan.planning import Planned
from ribband.app.plan.recorded import write_record_of
from ribband.app.plan.repair_steps import asked_to_renew
from ribband.app.plan.repairing import write_repair
from ribband.app.plan.steps import MAIN
from ribband.errors import InputError, Problem

__all__ = ["DOWNLOADS", "Download", "DrawingAsked", "Listed", "drawing_bytes", "listed", "made"]

UP_TO_BUTTS = MAIN[: MAIN.index("butts") + 1]


@dataclass(frozen=True, slots=True)
class Download:
    """Something to take away: its title, the ending of its file, what it needs kept.

    in_space : of a hull by girths alone it cannot be made
    asked : whether a job asks for it at all
    """

    title: str
    says: str
    suffix: str
    needs: tuple[str, ...]
    write: Callable[[Planned, Path], object]
    in_space: bool = False
    asked: Callable[[Path], bool] = lambda path: True


@dataclass(frozen=True, slots=True)
class DrawingAsked:
    """A drawing asked for: what, which kind of file, on what paper, at what scale, which sheet."""

    what: str
    kind: str
    paper: str = "A3"
    scale: str = "fit"
    sheet: int = 1


@dataclass(frozen=True, slots=True)
class Listed:
    """A download as a page lists it; `why_not` says in words what it waits for."""

    name: str
    title: str
    says: str
    file: str
    why_not: str


def listed(path: Path) -> tuple[Listed, ...]:
    """List the downloads the job asks for, ready or not."""
    items = [(name, download) for name, download in DOWNLOADS.items() if download.asked(path)]
    try:
        planned = as_kept(path, ("survey", "hull"))
    except InputError:
        return tuple(_listed(name, d, "heron", "nothing measured yet") for name, d in items)
    return tuple(_listed(name, d, _stem(planned), _why_not(planned, d, path)) for name, d in items)


def made(path: Path, name: str) -> tuple[str, bytes]:
    """Make a download; gives the name of its file and its bytes.

    Raises
    ------
    InputError : there is no such download, or what it needs is not up to date
    """
    if name not in DOWNLOADS:
        raise InputError([Problem("downloads", 0, "", name[:60], "one of " + ", ".join(DOWNLOADS))])
    download = DOWNLOADS[name]
    planned = as_kept(path)
    if missing := wanting(planned, _needed(path, download)):
        raise InputError([_stale(download, missing)])
    file = f"{_stem(planned)} {download.title.lower()}{download.suffix}"
    with tempfile.TemporaryDirectory(prefix="ribband-") as folder:
        into = Path(folder) / "it"
        if download.suffix == ".zip":
            into.mkdir()
            download.write(planned, into)
            return file, _zipped(into, planned.made.at)
        into = into.with_suffix(download.suffix)
        download.write(planned, into)
        return file, into.read_bytes()


def drawing_bytes(path: Path, asked: DrawingAsked) -> bytes:
    """Draw one drawing as it is kept: every sheet as PDF, or one sheet as SVG or DXF.

    Raises
    ------
    InputError : no such drawing, paper, scale or sheet, or the job has not come so far
    """
    if asked.what not in papers.DRAWINGS:
        wanted = "one of " + ", ".join(papers.DRAWINGS)
        raise InputError([Problem("drawing", 0, "", asked.what[:60], wanted)])
    on_boards = papers.DRAWINGS[asked.what].needs == "laying"
    planned = as_kept(path) if on_boards else as_kept(path, (*UP_TO_BUTTS, "planks", "repair"))
    with tempfile.TemporaryDirectory(prefix="ribband-") as folder:
        paper, kinds = Paper(asked.paper, asked.scale), (asked.kind,)
        drawn = sorted(papers.draw(planned, asked.what, Path(folder), paper, kinds))
        if not 1 <= asked.sheet <= len(drawn):
            found = str(asked.sheet)
            raise InputError([Problem("drawing", 0, "sheet", found, f"1 to {len(drawn)}")])
        return drawn[asked.sheet - 1].read_bytes()


def _listed(name: str, download: Download, stem: str, why_not: str) -> Listed:
    file = f"{stem} {download.title.lower()}{download.suffix}"
    return Listed(name, download.title, download.says, file, why_not)


def _why_not(planned: Planned, download: Download, path: Path) -> str:
    from ribband.store import JobFile

    with JobFile.open(path) as job:
        there = {result.key for result in job.results()}
    if any(planned.run.keys[step] not in there for step in _needed(path, download)):
        return "the plan is not up to date"
    hull = planned.run.result("hull")
    if download.in_space and hull is not None and not hull.in_space:
        return "needs a hull measured in space; of this one only girths are known"
    return ""


def _needed(path: Path, download: Download) -> tuple[str, ...]:
    """Give what a download waits for; of a repair's planks the repair with it."""
    own = download.needs
    return (*own, "repair") if own and asked_to_renew(path) else own


def _stale(download: Download, missing: Sequence[str]) -> Problem:
    wanted = "the plan brought up to date first: " + ", ".join(missing)
    return Problem(download.title, 0, "", "not up to date", wanted)


def _has_pile(path: Path) -> bool:
    """Tell whether a job has boards that planks may lie on."""
    from ribband.store import JobFile

    with JobFile.open(path) as job:
        form = job.forms().get("boards")
    return form is not None and not is_blank(form)


def _stem(planned: Planned) -> str:
    survey = planned.run.result("survey")
    return named_after(survey.particulars.vessel if survey else "", planned.job.stem)


def _zipped(folder: Path, at: str) -> bytes:
    file = folder.with_suffix(".zip")
    when = (max(int(at[:4]), 1980), int(at[5:7]), int(at[8:10]), 0, 0, 0)
    with zipfile.ZipFile(file, "w", zipfile.ZIP_DEFLATED) as packed:
        for own in sorted(p for p in folder.rglob("*") if p.is_file()):
            info = zipfile.ZipInfo(own.relative_to(folder).as_posix(), when)
            info.compress_type = zipfile.ZIP_DEFLATED
            packed.writestr(info, own.read_bytes())
    return file.read_bytes()


def _drawings(planned: Planned, folder: Path) -> None:
    for what in papers.can_be_drawn(planned):
        papers.draw(planned, what, folder, Paper(), PRINTED.get(what, papers.FORMATS))


DOWNLOADS: dict[str, Download] = {
    "book": Download(
        "Planking book", "everything on paper, for yard and surveyor", ".pdf", MAIN,
        lambda planned, path: papers.write_book(planned, path, Paper()),
    ),
    "drawings": Download(
        "Drawings", "expansion, widths, ticks, lines, body plan: PDF, most also SVG, DXF", ".zip",
        UP_TO_BUTTS, _drawings,
    ),
    "tables": Download(
        "Tables", "every figure as open tables, with the forms as typed", ".zip", MAIN,
        tables.write,
    ),
    "patterns": Download(
        "Patterns", "every plank at full size, for a plotter or a router (DXF)", ".zip", MAIN,
        bench_papers.write_patterns, in_space=True,
    ),
    "tickets": Download(
        "Tickets", "one for each plank, to pin to it", ".pdf", MAIN,
        bench_papers.write_tickets, in_space=True,
    ),
    "labels": Download(
        "Labels", "gummed, of 105 x 57 mm: one for each plank, as the saw takes them", ".pdf",
        (*MAIN, "laying"), saw_papers.write_labels, in_space=True, asked=_has_pile,
    ),
    "model": Download(
        "Planked hull", "in space, one body a plank (GLB)", ".glb", MAIN,
        bench_papers.write_model, in_space=True,
    ),
    "record": Download(
        "Record", "what was done, by whom, and as it hangs; for owner and surveyor", ".pdf",
        (*MAIN, "relined"), lambda planned, path: write_record_of(planned, path, Paper()),
    ),
    "repair": Download(
        "Papers of the repair", "of the new planks alone: all of these, and old planks' cut-backs",
        ".zip", (*MAIN, "repair"), lambda planned, folder: write_repair(planned.job, folder),
        asked=asked_to_renew,
    ),
    "job": Download(
        "Job", "the job file itself, to keep or to mail", ".ribband", (),
        lambda planned, path: copy_of(planned.job, path),
    ),
}  # fmt: skip
