"""Verbs that keep a job safe: proving it whole, its copies, all of it as plain text."""

from __future__ import annotations

from pathlib import Path
from shlex import quote

import click

from ribband.cli.saying import say, say_answer, say_wrote
from ribband.cli.top import FOLDER, JOB, cli, json_option

__all__: list[str] = []


@cli.command()
@JOB
@json_option
def check(job: Path, as_json: bool) -> None:
    """Prove the job file JOB whole: structure, history, every form, every result.

    Says too what about its place can harm it: a share, a second state left by syncing, a full disk.
    Leaves with 0 where it is whole, 1 where something is damaged, 4 where it cannot be opened.

    \b
    Example:
      ribband check heron
    """
    from ribband.app.entering.keeping import checked_answer

    say_answer(checked_answer(job), as_json)


@cli.command()
@JOB
@click.argument("folder", type=FOLDER)
@json_option
def text(job: Path, folder: Path, as_json: bool) -> None:
    """Write the forms of JOB and its whole history into FOLDER as plain text.

    Nothing is made for it, so it works however stale the results are and whatever is wrong with
    the forms: FOLDER/forms holds the newest of each as CSV, FOLDER/history.txt every row that
    ever came or went.

    \b
    Example:
      ribband text heron heron-text
    """
    from ribband.app.papers.plain_text import write_text

    say_wrote(write_text(job, folder), as_json)


@cli.command()
@JOB
@click.argument("number", type=click.IntRange(1), required=False)
@click.option("--to", type=click.Path(path_type=Path), help="The job file to make of copy NUMBER.")
@json_option
def copies(job: Path, number: int | None, to: Path | None, as_json: bool) -> None:
    """List the dated copies of JOB, or make a job of copy NUMBER again.

    A copy is kept at the first change of a day, as JOB was before it, in the folder "JOB copies";
    ten are kept (RIBBAND_COPIES says otherwise, 0 none). A copy is a job file like any other. JOB
    itself is never written over.

    \b
    Examples:
      ribband copies heron
      ribband copies heron 3 --to heron-of-tuesday
    """
    from ribband.app.entering.keeping import copies_answer, take_copy

    if (number is None) != (to is None):
        raise click.UsageError("a copy is made a job with both NUMBER and --to")
    if number is None or to is None:
        say_answer(copies_answer(job), as_json)
        return
    made = take_copy(job, number, to)
    say(as_json, [f"Made {made}.", f"Look it over: ribband history {quote(str(made))}"], job=made)
