"""Verbs for the bench: spiling, full-size patterns, tickets, and the planked hull in space."""

from __future__ import annotations

from pathlib import Path

import click

from ribband.cli.progress import Progress
from ribband.cli.saying import say_answer, say_wrote
from ribband.cli.top import FOLDER, JOB, cli, json_option

PLANKS = click.argument("planks", nargs=-1)


@cli.command()
@JOB
@PLANKS
@json_option
def spiling(job: Path, planks: tuple[str, ...], as_json: bool) -> None:
    """Give the spiling of PLANKS: at every frame, along the batten and square off it.

    Lay the batten line on the board, set off the distances square to it, and spring a batten
    through the marks; the corners give the ends. The lines are those of the plank's ticket. No
    plank named is every plank.

    \b
    Examples:
      ribband spiling heron P7-2
      ribband spiling heron 1-1 1-2
    """
    from ribband.app.papers.bench import spiling_answer

    with Progress() as tell:
        answer = spiling_answer(job, planks, tell=tell)
    say_answer(answer, as_json)


@cli.command()
@JOB
@PLANKS
@click.option("--out", type=FOLDER, default=Path("patterns"),
              show_default=True, help="The folder to write into.")  # fmt: skip
@click.option("--as", "kinds", multiple=True, default=["dxf"], show_default=True,
              type=click.Choice(["dxf", "arcs", "svg", "roll", "A4", "A3", "letter"]),
              help="DXF, DXF with the outline in arcs, SVG, or a PDF on a roll or on sheets;"
              " may be given again.")  # fmt: skip
@click.option("--roll", default="",
              help="How wide the roll is, in the job's unit; else 36 in.")  # fmt: skip
@json_option
def patterns(
    job: Path,
    planks: tuple[str, ...],
    out: Path,
    kinds: tuple[str, ...],
    roll: str,
    as_json: bool,
) -> None:
    """Write full-size patterns of PLANKS, a file each.

    Measure the check bar on every print before a board is cut by it.

    \b
    Examples:
      ribband patterns heron P7-2 --as A3
      ribband patterns heron P7-2 --as roll --roll 24in
      ribband patterns heron --as arcs --out for-the-saw
    """
    from ribband.app.entering.record_use import done_said
    from ribband.app.papers.bench import patterns_job

    with Progress() as tell:
        paths = patterns_job(job, out, planks, kinds, roll, tell=tell)
    say_wrote(paths, as_json, *([] if planks else done_said(job)))


@cli.command()
@JOB
@PLANKS
@click.option("--out", type=click.Path(path_type=Path), help="The PDF to write.")
@click.option("--paper", default="A4", show_default=True, help="A4 or letter.")
@click.option("--app", "base", default="",
              help="Address of the running app, for the code: http://HOST:PORT.")  # fmt: skip
@json_option
def tickets(
    job: Path, planks: tuple[str, ...], out: Path | None, paper: str, base: str, as_json: bool
) -> None:
    """Write a ticket for each of PLANKS: one page for the bench.

    \b
    Examples:
      ribband tickets heron --out tickets.pdf
      ribband tickets heron S7-2 --app http://bench:8000
    """
    from ribband.app.entering.record_use import done_said
    from ribband.app.papers.bench import tickets_job

    with Progress() as tell:
        path = tickets_job(job, out, planks, paper, base, tell=tell)
    say_wrote([path], as_json, *([] if planks else done_said(job)))


@cli.command()
@JOB
@click.option("--out", type=click.Path(path_type=Path), default=Path("hull.glb"),
              show_default=True, help="A .glb (glTF) or .dxf (polyfaces) file.")  # fmt: skip
@json_option
def model(job: Path, out: Path, as_json: bool) -> None:
    """Write the planked hull in space, one body a plank, named.

    \b
    Examples:
      ribband model heron --out heron.glb
      ribband model heron --out heron.dxf
    """
    from ribband.app.papers.bench import model_job

    with Progress() as tell:
        path = model_job(job, out, tell=tell)
    say_wrote([path], as_json)
