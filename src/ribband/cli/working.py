"""Verbs for the work: the demo, planning, planks, papers, tables, sources."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ribband.cli.opening import open_in_browser
from ribband.cli.progress import Progress
from ribband.cli.saying import say_answer, say_wrote
from ribband.cli.top import (
    DECIMAL,
    FOLDER,
    JOB,
    PAPER,
    SCALE,
    SECONDS,
    WHOLE,
    cli,
    json_option,
    who_option,
)

if TYPE_CHECKING:
    from ribband.app.plan.everything import Everything

__all__: list[str] = []


@cli.command()
@click.option(
    "--out",
    type=FOLDER,
    default=Path("marl-heron"),
    show_default=True,
    help="The folder to write into.",
)
@click.option("--no-open", is_flag=True, help="Do not open the book when it is done.")
@click.option("--serve", is_flag=True, help="Then open the job in the browser, not the book.")
@json_option
def demo(out: Path, no_open: bool, serve: bool, as_json: bool) -> None:
    """Plank Marl Heron, an invented pilot launch, from the yard's forms to the book.

    \b
    Examples:
      ribband demo --out heron-demo
      ribband demo --serve
    """
    from ribband.app.demo import demo as run_demo
    from ribband.app.papers.hands import spare_hands

    with Progress() as tell:
        done = run_demo(out, hands=spare_hands(), tell=tell)
    if not serve:
        _told_everything(done, as_json, opened=not no_open)
        return
    with suppress(click.exceptions.Exit):  # faults found in it are shown on its pages too
        _told_everything(done, as_json, opened=False)
    open_in_browser(done.planned.job, opened=not no_open, as_json=as_json)


@cli.command()
@click.argument("source", metavar="FOLDER_OR_JOB", type=click.Path(path_type=Path))
@click.option(
    "--out",
    type=FOLDER,
    help="Write the job file, tables, drawings and the book here.",
)
@PAPER
@SCALE
@SECONDS
@click.option(
    "--replace",
    "replace_all",
    is_flag=True,
    help="With --out over a job: these forms in place of all it holds.",
)
@DECIMAL
@who_option
@WHOLE
@json_option
def plan(
    source: Path,
    out: Path | None,
    paper: str,
    scale: str,
    seconds: float | None,
    replace_all: bool,
    decimal: Any,
    who: str,
    aside: tuple[str, ...],
    as_json: bool,
) -> None:
    """Plan everything: fair the hull, line out, lay butts, list planks; check each.

    From a folder of forms straight to the book with --out; from a job file, what is stale is made
    again and kept in it, and --out writes everything but a job file.

    \b
    Examples:
      ribband plan heron-forms --out heron-plan
      ribband plan heron
    """
    from ribband.app.papers.drawings import Paper
    from ribband.app.papers.hands import spare_hands
    from ribband.app.plan import everything as all_of_it
    from ribband.app.showing.plan import show_plan

    source = all_of_it.found(source)
    if replace_all and (out is None or all_of_it.is_job(source)):
        raise click.UsageError("--replace is for forms, over a job made of them with --out DIR")
    if aside and out is not None:
        raise click.UsageError("--whole is for the screen: papers are of the repair")
    with Progress() as tell:
        if out is None:
            if not all_of_it.is_job(source):
                raise click.UsageError("from forms, say where to write with --out DIR")
            answer = show_plan(source, seconds=seconds, aside=aside, tell=tell)
        else:
            sheet = Paper(paper, scale)
            done = all_of_it.everything(
                source,
                out,
                paper=sheet,
                seconds=seconds,
                who=who,
                replace_all=replace_all,
                decimal=decimal,
                hands=spare_hands(),
                tell=tell,
            )
    if out is None:
        say_answer(answer, as_json)
    else:
        _told_everything(done, as_json, opened=False)


@cli.command()
@JOB
@WHOLE
@json_option
def planks(job: Path, aside: tuple[str, ...], as_json: bool) -> None:
    """List every plank with its length, widths and area, and the totals.

    \b
    Example:
      ribband planks heron
    """
    from ribband.app.showing.plan import show_planks

    with Progress() as tell:
        answer = show_planks(job, aside, tell=tell)
    say_answer(answer, as_json)


@cli.command()
@JOB
@click.argument(
    "what",
    type=click.Choice(
        ["expansion", "widths", "ticks", "lines", "body", "girths", "boards", "milling", "all"]
    ),
)
@click.option(
    "--out",
    type=FOLDER,
    default=Path("drawings"),
    show_default=True,
    help="The folder to write into.",
)
@PAPER
@SCALE
@click.option(
    "--format",
    "formats",
    multiple=True,
    type=click.Choice(["pdf", "svg", "dxf"]),
    default=["pdf"],
    show_default=True,
    help="May be given more than once.",
)
@json_option
def draw(
    job: Path, what: str, out: Path, paper: str, scale: str, formats: tuple[str, ...], as_json: bool
) -> None:
    """Draw WHAT of JOB: expansion, widths, tick strips, lines, body plan, girths, boards, or all.

    The boards sheets show every board with its planks and cuts, milling is the list for the saw.

    Tick strips are always full size and the widths a table: no scale can be asked for them.
    Check the bar on every printed sheet with a rule before a size is taken from it.

    \b
    Examples:
      ribband draw heron expansion --paper A1 --scale 1:20
      ribband draw heron ticks --format pdf --format dxf
    """
    from ribband.app.papers.drawings import Paper, draw_job

    with Progress() as tell:
        paths = draw_job(job, what, out, Paper(paper, scale), formats, tell=tell)
    say_wrote(paths, as_json)


@cli.command()
@JOB
@click.option("--out", type=click.Path(path_type=Path), help="The PDF to write.")
@PAPER
@json_option
def book(job: Path, out: Path | None, paper: str, as_json: bool) -> None:
    """Write the planking book of JOB, one PDF.

    \b
    Example:
      ribband book heron --out heron.pdf
    """
    from ribband.app.papers.drawings import Paper, book_job

    with Progress() as tell:
        path = book_job(job, out, Paper(paper), tell=tell)
    say_wrote([path], as_json)


@cli.command()
@JOB
@click.argument("folder", type=FOLDER)
@json_option
def tables(job: Path, folder: Path, as_json: bool) -> None:
    """Write the open tables of JOB into FOLDER, with the forms as typed in FOLDER/inputs.

    \b
    Example:
      ribband tables heron heron-tables
    """
    from ribband.app.papers.tables import tables as write_tables

    with Progress() as tell:
        written = write_tables(job, folder, tell=tell)
    say_wrote(written.files, as_json)


@cli.command()
@json_option
def sources(as_json: bool) -> None:
    """List the sources of every rule and figure, and how far each can be trusted.

    \b
    Example:
      ribband sources
    """
    from ribband.app.entering.rule_use import sources_answer

    say_answer(sources_answer(), as_json)


def _told_everything(done: Everything, as_json: bool, *, opened: bool) -> None:
    from ribband.app.plan.everything import told

    say_answer(told(done), as_json)
    if opened and done.book and not as_json:
        click.launch(str(done.book))
