"""The verb that compares many ways to plank one vessel."""

from __future__ import annotations

from pathlib import Path

import click

from ribband.cli.progress import Progress
from ribband.cli.saying import say_answer
from ribband.cli.top import FOLDER, JOB, PAPER, cli, json_option

__all__: list[str] = []


@cli.command()
@JOB
@click.option("--vary", multiple=True, metavar="KNOB=A,B,...", help="Values of one knob; each "
              "--vary is crossed with the others.")  # fmt: skip
@click.option("--list", "listing", type=click.Path(path_type=Path), help="A CSV file with an "
              "alternative a row, or a TOML file.")  # fmt: skip
@click.option("--to", "last", default="shapes", show_default=True, help="The step each is planned "
              "to: lining, butts, planks, shapes, laying, order, work ...")  # fmt: skip
@click.option("--seconds", type=click.FloatRange(0.1, 36000), default=10.0, show_default=True,
              help="How long the search for butts of each may take.")  # fmt: skip
@click.option("--cores", type=click.IntRange(0, 1024), default=0, help="Cores of this machine; all "
              "unless said.")  # fmt: skip
@click.option("--cluster", default="", metavar="ADDRESS", help="Plan on the workers of a cluster "
              "instead: its scheduler's address.")  # fmt: skip
@click.option("--plot", "plot", default="", metavar="A,B", help="The two measures set against "
              "each other; timber,butts unless said, sweep,narrowest or narrowest,butts where "
              "it stops before the planks.")  # fmt: skip
@click.option("--show", "show", default="", metavar="A,B,...", help="The measures in the table.")
@click.option("--keep", type=click.Path(path_type=Path), help="The study file; beside the job "
              "unless said.")  # fmt: skip
@click.option("--out", type=FOLDER, help="A folder for the table as CSV and "
              "the plot.")  # fmt: skip
@PAPER
@json_option
def study(
    job: Path, vary: tuple[str, ...], listing: Path | None, last: str, seconds: float, cores: int,
    cluster: str, plot: str, show: str, keep: Path | None, out: Path | None, paper: str,
    as_json: bool,
) -> None:  # fmt: skip
    """Plan many alternatives of JOB and compare them; the job itself is not changed.

    A knob is a rule by its name, or: strakes, stock, hands, seed, or form.NAME with a CSV file.
    What is done is kept beside the job as it comes: stopped with Ctrl+C, the same command goes on.

    \b
    Examples:
      ribband study heron --vary strakes=11,12,13 --vary butts.set=house,army-feet
      ribband study heron --list ways.csv --to work --plot hours,days --out study
      ribband study heron --vary seed=1,2,3,4 --cluster tcp://10.0.0.5:8786
    """
    from dataclasses import replace

    from ribband.app.papers.drawings import Paper
    from ribband.app.study.cases import crossed, listed, read_vary
    from ribband.app.study.showing import (
        draw_study,
        pair_for,
        pair_of,
        shown,
        study_answer,
        write_study_table,
    )
    from ribband.app.study.study import Asked
    from ribband.app.study.study import study as run_study

    pair, names = pair_of(plot or pair_for(last)), shown(show)
    own = crossed([read_vary(text) for text in vary]) if vary else ()
    own = (*own, *(listed(listing) if listing else ()))
    beside = listing.resolve().parent if listing else None
    asked = Asked(own, last, seconds, cores, cluster, keep, beside)
    with Progress() as tell:
        studied = run_study(job, asked, tell=tell)
    answer = study_answer(studied, pair, names)
    if out is not None and studied.outcomes:
        paths = [write_study_table(studied, pair, out / "study.csv")]
        paths += draw_study(studied, pair, out, Paper(paper), ("svg", "pdf"))
        told = tuple(f"wrote {path}" for path in paths)
        answer = replace(answer, notes=(*answer.notes, *told))
    say_answer(answer, as_json)
