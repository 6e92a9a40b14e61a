"""Verbs for the timber: the tally, seams, laying planks on boards, the order, labels."""

from __future__ import annotations

from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

import click

from ribband.cli.progress import Progress
from ribband.cli.saying import say, say_answer, say_changed, say_wrote
from ribband.cli.top import JOB, WHOLE, ShowOrAct, cli, json_option, who_option

if TYPE_CHECKING:
    from ribband.app.entering.timber_use import Mended

__all__: list[str] = []


@cli.command()
@JOB
@json_option
def tally(job: Path, as_json: bool) -> None:
    """Tally the pile: every board's timber and weight, and whether it still dresses.

    Boards are lines of the form boards (boards.csv), by their mark; flaws are where they lie,
    from the butt and up from the lower edge. Two rows of it:

    \b
      board,length,width_butt,width_middle,width_top,thickness,species,moisture,flaws,notes
      A7,18-0-0,1-0-0,,0-10-4,0-1-7,larch,16,knot at 6-0-0 up 0-5-0 size 0-1-0,live edges
      A8,16-0-0,0-11-0,,0-10-0,0-1-7,larch,16,,

    What dries, what dresses and how wet the yard is are rules: climate, dressing, tally.

    \b
    Examples:
      ribband tally heron
      ribband rules heron set climate.yard_humidity 75
    """
    from ribband.app.showing.timber import show_tally

    say_answer(show_tally(job), as_json)


@cli.command()
@JOB
@json_option
def seams(job: Path, as_json: bool) -> None:
    """Show how far the seams open before launching and close afloat, strake by strake.

    A wide plank of a lively timber may crush its seam or gape. The moistures are rules: climate
    (from temperature and humidity) and seams.

    \b
    Examples:
      ribband seams heron
      ribband rules heron set climate.vessel_humidity 60
    """
    from ribband.app.showing.timber import show_seams

    with Progress() as tell:
        answer = show_seams(job, tell=tell)
    say_answer(answer, as_json)


@cli.group(cls=ShowOrAct, invoke_without_command=True)
@JOB
@click.option(
    "--seconds",
    type=click.FloatRange(0.1, 36000),
    help="Go on searching from the laying that is there for so long; the better is kept.",
)
@WHOLE
@json_option
@click.pass_context
def lay(
    ctx: click.Context, job: Path, seconds: float | None, aside: tuple[str, ...], as_json: bool
) -> None:
    """Lay the planks on the boards of the pile, so that least timber is used up.

    The first time it takes 5 seconds; --seconds goes on from there. A board that turns out bad is
    marked with spoil, and only what must change is laid again. Exit code 1 where planks are left
    without a board: see ribband order for what to buy, ribband lay JOB suit for butts that suit
    the boards.

    Wishes are lines of the form layings (layings.csv), or are set by a word. Three rows of it:

    \b
      plank,board,wish,notes
      P7-2,A7,pin,
      ,B3,bar,kept for the stem
      S4-1,A9,sawn,

    Port and starboard come out of one board, or book-matched out of two of one log (columns log and
    leaf of the form boards), with pair and book: see their own help.

    \b
    Examples:
      ribband lay heron --seconds 30
      ribband lay heron spoil A7
      ribband lay heron pin P7-2 A9
      ribband lay heron drop 1
    """
    ctx.obj = job
    if aside and seconds:
        raise click.UsageError("--seconds is for what is to be sawn: not with --whole")
    if ctx.invoked_subcommand is None:
        from ribband.app.entering.timber_use import lay_on
        from ribband.app.plan.limits import held
        from ribband.app.showing.timber import show_laying

        with Progress() as tell, held(seconds or 0.0):
            answer = (
                lay_on(job, seconds, tell=tell) if seconds else show_laying(job, aside, tell=tell)
            )
        say_answer(answer, as_json)


@lay.command()
@click.argument("board")
@who_option
@json_option
@click.pass_obj
def spoil(job: Path, board: str, who: str, as_json: bool) -> None:
    """Mark BOARD spoilt; its planks go elsewhere, at most three others move with them.

    \b
    Example:
      ribband lay heron spoil A7
    """
    from ribband.app.entering.timber_use import spoil_board

    _mend(partial(spoil_board, job, board, who), as_json)


@lay.command()
@click.argument("plank")
@click.argument("board")
@who_option
@json_option
@click.pass_obj
def pin(job: Path, plank: str, board: str, who: str, as_json: bool) -> None:
    """Get PLANK out of BOARD; what lies in its way goes elsewhere.

    \b
    Example:
      ribband lay heron pin P7-2 A9
    """
    from ribband.app.entering.timber_use import pin_plank

    _mend(partial(pin_plank, job, plank, board, who), as_json)


@lay.command()
@click.argument("plank")
@click.argument("board")
@who_option
@json_option
@click.pass_obj
def sawn(job: Path, plank: str, board: str, who: str, as_json: bool) -> None:
    """Say that PLANK is sawn out of BOARD: it stays as it lies, whatever comes.

    \b
    Example:
      ribband lay heron sawn P7-2 A9
    """
    from ribband.app.entering.timber_use import saw_plank

    _mend(partial(saw_plank, job, plank, board, who), as_json)


@lay.command()
@click.argument("board")
@who_option
@json_option
@click.pass_obj
def bar(job: Path, board: str, who: str, as_json: bool) -> None:
    """Keep BOARD out of the laying, for another use.

    \b
    Example:
      ribband lay heron bar B3
    """
    from ribband.app.entering.timber_use import bar_board

    _mend(partial(bar_board, job, board, who), as_json)


@lay.command()
@click.argument("plank")
@who_option
@json_option
@click.pass_obj
def pair(job: Path, plank: str, who: str, as_json: bool) -> None:
    """Get port and starboard of PLANK out of one board; PLANK may be a whole strake.

    For sides alike in colour, weight and behaviour.

    \b
    Examples:
      ribband lay heron pair P7-2
      ribband lay heron pair "sheer strake"
    """
    from ribband.app.entering.timber_use import match_sides

    _mend(partial(match_sides, job, "pair", plank, who), as_json)


@lay.command()
@click.argument("plank")
@who_option
@json_option
@click.pass_obj
def book(job: Path, plank: str, who: str, as_json: bool) -> None:
    """Get port and starboard of PLANK book-matched; PLANK may be a whole strake.

    Out of two boards sawn next to each other from one log, at one place of it. The form boards
    tells which those are by its columns log and leaf.

    \b
    Examples:
      ribband lay heron book P7-2
      ribband lay heron book 12
    """
    from ribband.app.entering.timber_use import match_sides

    _mend(partial(match_sides, job, "book", plank, who), as_json)


@lay.command()
@click.option("--seconds", type=click.FloatRange(5, 36000), default=60, show_default=True,
              help="How long to look for better butts.")  # fmt: skip
@click.option("--accept", is_flag=True, help="Fix the butts found last on the form butts.")
@who_option
@json_option
@click.pass_obj
def suit(job: Path, seconds: float, accept: bool, who: str, as_json: bool) -> None:
    """Look for butts that suit the boards, the rules kept, and show what they save.

    Nothing changes till they are accepted; then every butt is fixed on the form butts, as a
    revision that can be undone.

    \b
    Examples:
      ribband lay heron suit --seconds 120
      ribband lay heron suit --accept
    """
    from ribband.app.plan import timber_joint
    from ribband.app.plan.limits import held

    with Progress() as tell, held(seconds):
        if accept:
            done = timber_joint.accept_suited(job, who, tell=tell)
        else:
            answer = timber_joint.suit_answer(job, seconds, tell=tell)
    if accept:
        say_changed(done.taken.job, done.taken.revision, as_json)
    else:
        say_answer(answer, as_json)


@lay.command("drop")
@click.argument("number", type=click.IntRange(1))
@who_option
@json_option
@click.pass_obj
def drop_laying(job: Path, number: int, who: str, as_json: bool) -> None:
    """Take wish NUMBER off the form layings, as "ribband lay" numbers them.

    \b
    Example:
      ribband lay heron drop 1
    """
    from ribband.app.entering.wish_use import drop_wish

    taken = drop_wish(job, "layings", number, who)
    say_changed(taken.job, taken.revision, as_json)


@cli.command()
@JOB
@WHOLE
@json_option
def order(job: Path, aside: tuple[str, ...], as_json: bool) -> None:
    """Say what to buy for the planks no board of the pile gives, and how it is delivered.

    With no pile, that is all of them. What a mill sells are lines of the form mill (mill.csv);
    without it, sized lines of stock, else 8 to 24 ft by 6 to 16 in. A row of it, priced by the
    board foot (in metric jobs by the cubic metre):

    \b
      length,width,thickness,count,price,notes
      18-0-0,0-10-0,0-1-7,20,4.20,

    How sure it shall be, what is spoilt and what a pack may weigh are rules: order.

    \b
    Examples:
      ribband order heron
      ribband rules heron set order.confidence 0.95
    """
    from ribband.app.showing.timber import show_order

    with Progress() as tell:
        answer = show_order(job, aside, tell=tell)
    say_answer(answer, as_json)


@cli.command()
@JOB
@click.option("--out", type=click.Path(path_type=Path), help="The PDF to write.")
@click.option(
    "--size",
    default="105x57",
    show_default=True,
    help="Of one label, mm: 105x74, 105x57, 99x68, 70x42, 70x37 (A4), 102x51 (letter).",
)
@json_option
def labels(job: Path, out: Path | None, size: str, as_json: bool) -> None:
    """Write a label for every plank laid on a board, in the order of the milling list.

    Print at 100 %, and one sheet on plain paper first, held against the labels.

    \b
    Example:
      ribband labels heron --size 70x37
    """
    from ribband.app.papers.timber import labels_job

    with Progress() as tell:
        path = labels_job(job, out, size, tell=tell)
    say_wrote([path], as_json)


def _mend(act: Callable[..., Mended], as_json: bool) -> None:
    """Do what changes the laying, then say the revision and the laying after it."""
    with Progress() as tell:
        mended = act(tell=tell)
    if not as_json:
        made = mended.taken.revision
        said = "That is so already." if made is None else f"Revision {made.number}: {made.why}."
        say(False, [said])
    say_answer(mended.answer, as_json)
