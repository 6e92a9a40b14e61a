"""Verbs for hanging: the order, the plan of work, bars, the diary, the forecast, what-ifs."""

from __future__ import annotations

from pathlib import Path

import click

from ribband.cli.progress import Progress
from ribband.cli.saying import say_answer, say_wrote
from ribband.cli.top import FOLDER, JOB, PAPER, WHOLE, cli, json_option

__all__: list[str] = []


@cli.command()
@JOB
@WHOLE
@json_option
def hanging(job: Path, aside: tuple[str, ...], as_json: bool) -> None:
    """List the planks in their order of hanging, with the shutter and why it was chosen.

    Garboard and sheer come first, both sides are kept level, and the shutter is hung last.

    \b
    Examples:
      ribband hanging heron
      ribband rules heron set hanging.level 1
    """
    from ribband.app.showing.work import show_hanging

    with Progress() as tell:
        answer = show_hanging(job, aside, tell=tell)
    say_answer(answer, as_json)


@cli.command()
@JOB
@click.option(
    "--seconds",
    type=click.FloatRange(0.1, 36000),
    help="Search again for so long; the better plan is kept.",
)
@WHOLE
@json_option
def work(job: Path, seconds: float | None, aside: tuple[str, ...], as_json: bool) -> None:
    """Plan the work: who does what to which plank, when, and when all is done.

    Rates, crew, gear, days off and what is done already are the forms rates, crew, gear, calendar
    and log. Without them: our rates, six hands for everything, Monday to Friday.

    \b
      name,skills,days,from,to,notes
      Ann,all but caulk,mon-thu,,,
      Bo,hang; fasten,,2027-03-15,,

    \b
    Examples:
      ribband work heron --seconds 30
      ribband rules heron set work.begins 2027-03-01
    """
    from ribband.app.showing.work import show_work

    with Progress() as tell:
        answer = show_work(job, seconds, aside, tell=tell)
    say_answer(answer, as_json)


@cli.command()
@JOB
@WHOLE
@json_option
def forecast(job: Path, aside: tuple[str, ...], as_json: bool) -> None:
    """Tell when the last plank will be done, as a spread from 2000 runs of the plan.

    \b
    Example:
      ribband forecast heron
    """
    from ribband.app.showing.work import show_forecast

    with Progress() as tell:
        answer = show_forecast(job, aside, tell=tell)
    say_answer(answer, as_json)


@cli.command("what-if")
@JOB
@click.option("--hands", type=click.IntRange(0, 100), default=0, help="So many hands more.")
@click.option("--box", type=click.IntRange(0, 100), default=0, help="Places more in the steam box.")
@click.option("--planer", type=click.IntRange(0, 20), default=0, help="Planers more.")
@click.option("--staging", type=click.IntRange(0, 100), default=0, help="Planks more at once.")
@click.option("--boards", default="", help="Boards up to this length, in the job's unit.")
@click.option("--lost", type=click.FloatRange(0, 90), help="Days lost in a hundred.")
@click.option("--seconds", type=click.FloatRange(0.1, 3600), default=2.0, show_default=True,
              help="How long each is searched.")  # fmt: skip
@json_option
def what_if(
    job: Path,
    hands: int,
    box: int,
    planer: int,
    staging: int,
    boards: str,
    lost: float | None,
    seconds: float,
    as_json: bool,
) -> None:
    """Compare the plan with one more hand, more gear, longer boards or bad weather.

    \b
    Example:
      ribband what-if heron --hands 1 --box 2 --lost 20
    """
    from ribband.app.plan.limits import held
    from ribband.app.showing.work import show_what_if

    gear = [(item, n) for item, n in (("steam box", box), ("planer", planer), ("staging", staging))
            if n]  # fmt: skip
    part = None if lost is None else lost / 100
    with Progress() as tell, held(4.0 * seconds):  # seven cases at most
        answer = show_what_if(job, hands, gear, boards, part, seconds, tell=tell)
    say_answer(answer, as_json)


@cli.command()
@JOB
@click.option("--out", type=FOLDER, default=Path("drawings"), show_default=True,
              help="The folder to write into.")  # fmt: skip
@PAPER
@click.option("--format", "formats", multiple=True, type=click.Choice(["pdf", "svg"]),
              default=["pdf"], show_default=True, help="May be given more than once.")  # fmt: skip
@json_option
def bars(job: Path, out: Path, paper: str, formats: tuple[str, ...], as_json: bool) -> None:
    """Draw the plan of work as bars: a row a plank, a column a day.

    \b
    Example:
      ribband bars heron --paper A2
    """
    from ribband.app.papers.drawings import Paper
    from ribband.app.papers.work import draw_bars

    with Progress() as tell:
        paths = draw_bars(job, out, Paper(paper), formats, tell=tell)
    say_wrote(paths, as_json)


@cli.command()
@JOB
@click.option("--hand", default="", help="Only what this hand is at.")
@click.option("--out", type=click.Path(path_type=Path), help="The .ics file to write.")
@json_option
def diary(job: Path, hand: str, out: Path | None, as_json: bool) -> None:
    """Write the plan of work as a calendar file (iCalendar) that any calendar opens.

    \b
    Example:
      ribband diary heron --out heron.ics
    """
    from ribband.app.papers.work import write_calendar

    with Progress() as tell:
        path = write_calendar(job, out, hand, tell=tell)
    say_wrote([path], as_json)
