"""The verb that says why a figure is what it is."""

from __future__ import annotations

from pathlib import Path

import click

from ribband.cli.progress import Progress
from ribband.cli.saying import WRONG_INPUT, say_answer
from ribband.cli.top import JOB, cli, json_option

__all__: list[str] = []


@cli.command()
@JOB
@click.argument("thing", nargs=-1, required=True)
@json_option
def why(job: Path, thing: tuple[str, ...], as_json: bool) -> None:
    """Say why a figure of JOB is what it is: what was typed, rules with sources, method, revision.

    THING is a plank, a strake or seam, a butt, a frame, a board, a rule, a finding's code or a
    column of the open tables, with or without what is asked of it. Of one that is not there
    that is said, and the exit code is 3.

    \b
    Examples:
      ribband why heron P7-2 width at 12
      ribband why heron butt 7 at 12
      ribband why heron steam P3-1
      ribband why heron planks.sweep_mm P7-2
      ribband why heron lining.greatest_width
      ribband why heron date
    """
    from ribband.app.why.showing import show_why

    with Progress() as tell:
        answer = show_why(job, " ".join(thing), tell=tell)
    say_answer(answer, as_json, WRONG_INPUT)
