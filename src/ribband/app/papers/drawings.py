"""Papers: the drawings and the planking book of a job.

*What* may be drawn: the planking expansion, the table of widths, tick strips at full size, the
lines, the body plan and the line of girths. A drawing that needs the hull's surface is refused in
words where only girths were measured. The date on a drawing is that of the revision of the
inputs, so that the same inputs give the same paper.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband import __version__
from ribband.app.entering.dropped import RESERVED
from ribband.app.entering.jobs import job_path
from ribband.app.entering.rules import shown_rules
from ribband.app.papers.rule_words import butt_rule_words
from ribband.app.papers.whole import into_file, into_folder
from ribband.app.plan.alone import repair_alone
from ribband.app.plan.log_keys import was_measured
from ribband.app.plan.making import Tell
from ribband.app.plan.old_new import old_of
from ribband.app.plan.planning import Planned, plan
from ribband.app.plan.repair_steps import asked_to_renew
from ribband.app.plan.runner import quiet
from ribband.app.plan.steps import WHOLE
from ribband.errors import InputError, Problem
from ribband.store import JobFile
from ribband.units import counted

if TYPE_CHECKING:
    from ribband.drawing.board import Setting
    from ribband.drawing.book import Book, Proof
    from ribband.drawing.sheet import Sheet

__all__ = [
    "DRAWINGS",
    "FORMATS",
    "Paper",
    "book_job",
    "book_name",
    "book_of",
    "can_be_drawn",
    "draw",
    "draw_job",
    "named_after",
    "sheets_of",
    "write_book",
]

FORMATS = ("pdf", "svg", "dxf")
LONGEST_NAME = 80


@dataclass(frozen=True, slots=True)
class Paper:
    """What a drawing is put on: a size such as A3, and a scale such as 1:20 or "fit"."""

    size: str = "A3"
    scale: str = "fit"


@dataclass(frozen=True, slots=True)
class Drawing:
    """A drawing that can be asked for, how it is made, and what it needs."""

    says: str
    made: Callable[[Planned, Setting], Sequence[Sheet]]
    needs: str = "lining"
    in_space: bool = False
    only: str = ""  # where a scale cannot be asked for: what it is drawn at


def draw(
    planned: Planned, what: str, folder: Path, paper: Paper, formats: Sequence[str] = FORMATS
) -> tuple[Path, ...]:
    """Draw one drawing into `folder`, in each of `formats`.

    Raises
    ------
    InputError : the paper or scale is not known, or the job has not come so far
    """
    sheets = sheets_of(planned, what, paper)
    return into_folder(
        folder, lambda into: [p for kind in formats for p in _WRITERS[kind](sheets, into, what)]
    )


def draw_job(
    job: Path,
    what: str,
    folder: Path,
    paper: Paper,
    formats: Sequence[str] = FORMATS,
    *,
    tell: Tell = quiet,
) -> tuple[Path, ...]:
    """Bring a job up to date and draw `what`, or with "all" everything that can be drawn.

    Raises
    ------
    InputError, JobFileError
    """
    if what != "all":
        _scale_may_be_asked(what, paper.scale)
    planned = plan(job, _as_far_as(job, what), tell=tell)
    names = can_be_drawn(planned) if what == "all" else (what,)
    return tuple(path for name in names for path in draw(planned, name, folder, paper, formats))


def _as_far_as(job: Path, what: str) -> str:
    """Name the step that a drawing is made from; what was measured as hung divides sides anew.

    While a repair stands it is of the old planking with the new planks in it.
    """
    needs = "laying" if what == "all" else DRAWINGS[what].needs
    if needs != "lining":
        return needs
    if asked_to_renew(job):
        return "repair"
    with JobFile.open(job_path(job)) as own:
        if was_measured(own.forms().get("as_hung")):
            return "stands"
    return "shapes" if what == "expansion" else needs


def book_job(job: Path, path: Path | None, paper: Paper, *, tell: Tell = quiet) -> Path:
    """Bring a job up to date and write its book, beside it unless `path` says where.

    Raises
    ------
    InputError, JobFileError
    """
    planned = plan(job, WHOLE, tell=tell)
    return write_book(planned, path or planned.job.with_name(book_name(planned)), paper)


def book_name(planned: Planned) -> str:
    """Name the book after the vessel."""
    vessel = planned.run.bench.survey.particulars.vessel
    return f"{named_after(vessel, planned.job.stem)} planking book.pdf"


def named_after(vessel: str, otherwise: str) -> str:
    """Name a file after the vessel.

    >>> named_after("Marl Heron / II", "forms")
    'Marl Heron II'
    """
    kept = "".join(c if c.isalnum() or c in " -_" else " " for c in vessel)
    name = " ".join(kept.split())[:LONGEST_NAME].strip()
    return otherwise if name.upper() in RESERVED else name or otherwise


def sheets_of(planned: Planned, what: str, paper: Paper) -> tuple[Sheet, ...]:
    """Make the sheets of a drawing.

    Raises
    ------
    InputError : the paper or scale is not known, or the job has not come so far
    """
    drawing = DRAWINGS[what]
    if why := _why_not(planned, drawing):
        raise InputError([Problem("drawing", 0, "", what, why)])
    try:
        own = replace(paper, scale="fit") if drawing.only else paper
        return tuple(drawing.made(planned, _setting(planned, own)))
    except ValueError as wrong:
        if isinstance(wrong, InputError):
            raise
        said = f"{paper.size}, {paper.scale}"
        raise InputError([Problem("drawing", 0, "paper, scale", said, str(wrong), "A3")]) from wrong


def can_be_drawn(planned: Planned) -> tuple[str, ...]:
    """List what can be drawn of a plan."""
    return tuple(name for name, drawing in DRAWINGS.items() if not _why_not(planned, drawing))


def write_book(planned: Planned, path: Path, paper: Paper) -> Path:
    """Write the planking book.

    Raises
    ------
    InputError : the job has not come as far as a lining out
    """
    from ribband.drawing import book

    if planned.run.result("lining") is None:
        wanted = "a job that is lined out: " + (planned.run.stopped or "ribband plan JOB")
        raise InputError([Problem("book", 0, "", "no lining out", wanted)])
    return into_file(path, lambda part: book.write(book_of(planned, paper), part))


def _scale_may_be_asked(what: str, scale: str) -> None:
    """Refuse a scale for what has its own."""
    only = DRAWINGS[what].only
    if only and scale != "fit" and not (only == "full size" and scale in {"1:1", "1"}):
        wanted = f"no scale: {what} is always {only}"
        raise InputError([Problem("drawing", 0, "scale", scale, wanted)])


def _why_not(planned: Planned, drawing: Drawing) -> str:
    result = planned.run.result(drawing.needs)
    if result is None:
        return f"a job that has come as far as {drawing.needs}. {planned.run.stopped}".strip()
    if drawing.needs == "laying" and not result.laying.cuts:
        return "a job with planks laid on boards; none is: ribband lay JOB"
    if drawing.in_space and not planned.run.bench.hull.in_space:
        return "a hull measured in space; of this one only girths are known"
    return ""


def _setting(planned: Planned, paper: Paper, **more: Any) -> Setting:
    from ribband.drawing.board import Setting
    from ribband.drawing.sheet import Page

    return Setting(
        page=Page.of(paper.size),
        scale=paper.scale,
        date=planned.made.at[:10],
        revision=str(planned.revision),
        **more,
    )


def _expansion(planned: Planned, setting: Setting) -> Sequence[Sheet]:
    from ribband.drawing.views.expansion import expansion

    bench, now = planned.run.bench, planned.run.present
    words = butt_rule_words(bench.rules["butts"], bench.survey.particulars.unit)
    _, layout, other = planned.run.result("butts") or (None, None, None)
    planks = now.planks if now else planned.run.result("planks")
    side = partial(expansion, bench.hull, planks=planks, rule_words=(words,))
    if now is not None and now.anew:
        lining = {"starboard": bench.lining, "port": bench.lining} | dict(now.anew)
        laid = {"starboard": other or layout, "port": layout}
        laid |= {name: own for name, (_, own) in now.laid.items()}
        return tuple(
            sheet
            for name in ("starboard", "port")
            for sheet in side(lining[name], laid[name], setting=replace(setting, side=name))
        )
    sheets = side(bench.lining, other or layout, setting=setting)
    if other is None:
        return sheets
    return (*sheets, *side(bench.lining, layout, setting=replace(setting, side="port")))


def _girths(planned: Planned, setting: Setting) -> Sequence[Sheet]:
    from ribband.drawing.views.girths import girth_curve

    return girth_curve(planned.run.bench.hull, planned.run.bench.survey, setting=setting)


def _widths(planned: Planned, setting: Setting) -> Sequence[Sheet]:
    from ribband.drawing.views.widths import widths_table

    return _each_side(widths_table, planned, setting)


def _ticks(planned: Planned, setting: Setting) -> Sequence[Sheet]:
    from ribband.drawing.views.ticks import tick_strips

    return _each_side(tick_strips, planned, setting)


def _each_side(
    view: Callable[..., Sequence[Sheet]], planned: Planned, setting: Setting
) -> tuple[Sheet, ...]:
    """Draw what is alike to both sides once; of sides divided anew, each by its own lining."""
    bench, now = planned.run.bench, planned.run.present
    if now is None or not now.anew:
        return tuple(view(bench.hull, bench.lining, setting=setting))
    linings = {"port": bench.lining, "starboard": bench.lining} | dict(now.anew)
    said = {side: "divided anew" if side in now.anew else "as planned" for side in linings}
    return tuple(
        sheet
        for side, lining in linings.items()
        for sheet in view(bench.hull, lining, setting=setting, alike=f"{side}, {said[side]}")
    )


def _lines(planned: Planned, setting: Setting) -> Sequence[Sheet]:
    from ribband.drawing.views.lines import lines_drawing

    return lines_drawing(planned.run.bench.hull, planned.run.bench.survey, setting=setting)


def _body(planned: Planned, setting: Setting) -> Sequence[Sheet]:
    from ribband.drawing.views.body import body_plan

    return _each_side(body_plan, planned, setting)


def _boards(planned: Planned, setting: Setting) -> Sequence[Sheet]:
    from ribband.app.papers.timber import board_sheets_of

    return board_sheets_of(planned, setting)


def _milling(planned: Planned, setting: Setting) -> Sequence[Sheet]:
    from ribband.app.papers.timber import milling_sheets_of

    return milling_sheets_of(planned, setting)


DRAWINGS: dict[str, Drawing] = {
    "expansion": Drawing("planking expansion: frames, seams, butts, plank names", _expansion),
    "widths": Drawing("table of widths to set off on every frame", _widths, only="a table"),
    "ticks": Drawing("tick strips at full size", _ticks, only="full size"),
    "lines": Drawing("lines drawing with the measured points", _lines, "hull", in_space=True),
    "body": Drawing("body plan with the seams", _body, in_space=True),
    "girths": Drawing("girth at every frame, with those measured", _girths, "hull"),
    "boards": Drawing("board sheets: every board with its planks", _boards, "laying"),
    "milling": Drawing("milling list", _milling, "laying", only="a table"),
}


def _as_pdf(sheets: Sequence[Sheet], folder: Path, what: str) -> list[Path]:
    from ribband.drawing import pdf

    return [pdf.write(sheets, folder / f"{what}.pdf")]


def _as_svg(sheets: Sequence[Sheet], folder: Path, what: str) -> list[Path]:
    from ribband.drawing import svg

    return [svg.write(s, folder / f"{n}.svg") for s, n in _numbered(sheets, what)]


def _as_dxf(sheets: Sequence[Sheet], folder: Path, what: str) -> list[Path]:
    from ribband.drawing import dxf

    return [dxf.write(s, folder / f"{n}.dxf") for s, n in _numbered(sheets, what)]


_WRITERS = {"pdf": _as_pdf, "svg": _as_svg, "dxf": _as_dxf}


def _numbered(sheets: Sequence[Sheet], what: str) -> list[tuple[Sheet, str]]:
    if len(sheets) == 1:
        return [(sheets[0], what)]
    wide = len(str(len(sheets)))
    return [(sheet, f"{what}-{n:0{wide}d}") for n, sheet in enumerate(sheets, 1)]


def book_of(planned: Planned, paper: Paper, *, sheets: bool = True) -> Book:
    """Gather what a book prints; without `sheets` no drawing is made for it."""
    from ribband.drawing.book import Book

    done = planned.run
    ways, layout, other = done.result("butts") or (None, None, None)
    now, left = done.present, done.result("relined")
    return Book(
        survey=done.bench.survey,
        hull=done.bench.hull,
        lining=done.bench.lining,
        ways=ways,
        layout=layout,
        starboard=other,
        planks=now.planks if now else done.result("planks"),
        shapes=now.shapes if now else None,
        starboard_shapes=now.starboard_shapes if now else None,
        anew=now.anew if now else {},
        measured={one.side: one.drifts for one in left.sides} if left else {},
        shop=done.result("shop"),
        hanging=done.result("hanging"),
        worked=done.result("work"),
        pile=done.result("boards"),
        laid=done.result("laying"),
        bought=done.result("order"),
        rules=shown_rules(done.bench.rules),
        butt_set=done.bench.rules["butts"].name,
        findings=done.findings,
        sheets=_book_sheets(planned, paper) if sheets else {},
        proofs=_proofs(planned),
        old=old_of(planned),
        alone=_alone(planned),
        revision=planned.revision,
        when=planned.made.at[:10],
        who=planned.made.who,
        why=planned.made.why,
        inputs=planned.inputs_hash,
        version=__version__,
        paper="letter" if paper.size.lower() == "letter" else "A4",
    )


def _alone(planned: Planned) -> str:
    """Say that a book is of a repair, where it is."""
    repair = repair_alone(planned.run.bench)
    new = counted(len(repair.planks.planks), "new plank") if repair else ""
    return f"of the repair, {new} alone" if new else ""


def _book_sheets(planned: Planned, paper: Paper) -> dict[str, tuple[Sheet, ...]]:
    wanted = (
        {"expansion", "lines", "body", "boards"}
        if planned.run.bench.hull.in_space
        else {"expansion", "girths"}
    )
    names = [name for name in can_be_drawn(planned) if name in wanted]
    return {name: sheets_of(planned, name, paper) for name in names}


def _proofs(planned: Planned) -> tuple[Proof, ...]:
    from ribband.drawing.book import Proof

    _, layout, other = planned.run.result("butts") or (None, None, None)
    return tuple(
        Proof(f"butts: {goal.name}", goal.value, goal.bound, goal.proved, its.seconds)
        for its in (layout, other)
        if its
        for goal in its.goals
    )
