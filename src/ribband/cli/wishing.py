"""Verbs for the lining and the butts: showing them, and setting or dropping a wish."""

from __future__ import annotations

from pathlib import Path

import click

from ribband.cli.progress import Progress
from ribband.cli.saying import say_answer, say_changed
from ribband.cli.top import JOB, SECONDS, ShowOrAct, cli, json_option, who_option

__all__: list[str] = []


@cli.group(cls=ShowOrAct, invoke_without_command=True)
@JOB
@json_option
@click.pass_context
def line(ctx: click.Context, job: Path, as_json: bool) -> None:
    """Line out: how many strakes and why, their widths, stealers, what binds, the next best.

    Wishes are lines of the form lining (lining.csv), or are set by a word. Its wishes: strakes,
    width, least, greatest, master, fix, taper, stealer, recorded. Two rows of it:

    \b
      wish,strake,frame,to_frame,value,weight,notes
      strakes,,,,17,,
      width,1,12,,0-8-0,,

    \b
    Examples:
      ribband line heron
      ribband line heron set strakes 17
      ribband line heron set width 0-8-0 --strake 1 --frame 12
      ribband line heron drop 1
    """
    ctx.obj = job
    if ctx.invoked_subcommand is None:
        from ribband.app.showing.plan import show_line

        with Progress() as tell:
            answer = show_line(job, tell=tell)
        say_answer(answer, as_json)


@line.command("set")
@click.argument("wish")
@click.argument("value", default="")
@click.option("--strake", default="", help="The strake, counted from the keel, or a group.")
@click.option("--frame", default="", help="The frame, stem or stern.")
@click.option("--to", "to_frame", default="", help="The last frame, where it holds over a stretch.")
@click.option("--weight", default="", help="How much it matters; 1 or more is held.")
@who_option
@json_option
@click.pass_obj
def set_line(
    job: Path, wish: str, value: str, strake: str, frame: str, to_frame: str, weight: str,
    who: str, as_json: bool,
) -> None:  # fmt: skip
    """Set WISH to VALUE on the form lining; a new revision.

    \b
    Examples:
      ribband line heron set strakes 17
      ribband line heron set stealer --strake 6 --frame 20
    """
    said = {
        "wish": wish, "strake": strake, "frame": frame, "to_frame": to_frame, "value": value,
        "weight": weight,
    }  # fmt: skip
    _set(job, "lining", said, who, as_json)


@line.command("drop")
@click.argument("number", type=click.IntRange(1))
@who_option
@json_option
@click.pass_obj
def drop_line(job: Path, number: int, who: str, as_json: bool) -> None:
    """Take wish NUMBER off the form lining, as "ribband line" numbers them.

    \b
    Example:
      ribband line heron drop 1
    """
    _drop(job, "lining", number, who, as_json)


@cli.group(cls=ShowOrAct, invoke_without_command=True)
@JOB
@SECONDS
@json_option
@click.pass_context
def butts(ctx: click.Context, job: Path, seconds: float | None, as_json: bool) -> None:
    """Lay out the butts by the rules in force; say how near the best, or what clashes.

    Butts that are fixed, and stretches where none may stand, are lines of the form butts
    (butts.csv), or are set by a word. Two rows of it:

    \b
      wish,strake,frame,to_frame,landing,reason,notes
      fix,5,12,,frame,the old butt is sound,
      forbid,4,25,28,,way of the engine beds,

    \b
    Examples:
      ribband butts heron --seconds 60
      ribband butts heron fix 5 12
      ribband butts heron forbid 4 25 28 --reason "way of the engine beds"
      ribband butts heron drop 2
    """
    ctx.obj = job
    if ctx.invoked_subcommand is None:
        from ribband.app.showing.plan import show_butts

        with Progress() as tell:
            answer = show_butts(job, seconds=seconds, tell=tell)
        say_answer(answer, as_json)


@butts.command()
@click.argument("strake")
@click.argument("frame")
@click.option("--block", is_flag=True, help="On a block in the bay aft of the frame.")
@click.option("--reason", default="", help="Why, for whoever reads the book.")
@who_option
@json_option
@click.pass_obj
def fix(
    job: Path, strake: str, frame: str, block: bool, reason: str, who: str, as_json: bool
) -> None:
    """Fix a butt of STRAKE on FRAME; a new revision.

    \b
    Example:
      ribband butts heron fix 5 12 --reason "the old butt is sound"
    """
    landing = "block" if block else "frame"
    said = {"wish": "fix", "strake": strake, "frame": frame, "landing": landing, "reason": reason}
    _set(job, "butts", said, who, as_json)


@butts.command()
@click.argument("strake")
@click.argument("frame")
@click.argument("to_frame", default="")
@click.option("--reason", default="", help="Why, for whoever reads the book.")
@who_option
@json_option
@click.pass_obj
def forbid(
    job: Path, strake: str, frame: str, to_frame: str, reason: str, who: str, as_json: bool
) -> None:
    """Let no butt of STRAKE stand from FRAME to TO_FRAME; a new revision. STRAKE may be "all".

    \b
    Examples:
      ribband butts heron forbid 4 25 28 --reason "way of the engine beds"
      ribband butts heron forbid all 14
    """
    which = "" if strake.lower() == "all" else strake
    said = {"wish": "forbid", "strake": which, "frame": frame, "to_frame": to_frame,
            "reason": reason}  # fmt: skip
    _set(job, "butts", said, who, as_json)


@butts.command("drop")
@click.argument("number", type=click.IntRange(1))
@who_option
@json_option
@click.pass_obj
def drop_butt(job: Path, number: int, who: str, as_json: bool) -> None:
    """Take wish NUMBER off the form butts, as "ribband butts" numbers them.

    \b
    Example:
      ribband butts heron drop 2
    """
    _drop(job, "butts", number, who, as_json)


def _set(job: Path, form: str, said: dict[str, str], who: str, as_json: bool) -> None:
    from ribband.app.entering.wish_use import set_wish

    taken = set_wish(job, form, said, who)
    say_changed(taken.job, taken.revision, as_json)


def _drop(job: Path, form: str, number: int, who: str, as_json: bool) -> None:
    from ribband.app.entering.wish_use import drop_wish

    taken = drop_wish(job, form, number, who)
    say_changed(taken.job, taken.revision, as_json)
