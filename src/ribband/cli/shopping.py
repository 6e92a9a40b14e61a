"""Verbs for the shop: steaming, fastenings, caulking and blocks, handling."""

from __future__ import annotations

from pathlib import Path

from ribband.cli.progress import Progress
from ribband.cli.saying import say_answer
from ribband.cli.top import JOB, WHOLE, cli, json_option

__all__: list[str] = []


@cli.command()
@JOB
@WHOLE
@json_option
def steaming(job: Path, aside: tuple[str, ...], as_json: bool) -> None:
    """Show which planks want steam and why, how long in the box, how long hot out of it.

    The yard's rule stands beside the time by heat flow, and the longer binds. Hot time, box and
    boiler are estimates. The yard's rule, moisture, air and wind are rules: steaming.

    \b
    Examples:
      ribband steaming heron
      ribband rules heron set steaming.wind_ms 4
    """
    from ribband.app.showing.shop import show_steaming

    with Progress() as tell:
        answer = show_steaming(job, aside, tell=tell)
    say_answer(answer, as_json)


@cli.command()
@JOB
@WHOLE
@json_option
def fastenings(job: Path, aside: tuple[str, ...], as_json: bool) -> None:
    """Show how many fastenings by the width of each plank, their sizes, and what to buy.

    What the yard has, with its prices and years, is the form fastenings (fastenings.csv); the
    first row for a place is used, further ones are compared over the years. Two rows of it:

    \b
      item,kind,metal,where,gauge,length,per_box,price,seconds,years,notes
      bronze,screw,silicon bronze,,22,0-2-6,100,145,120,45,
      iron,spike,galvanised iron,,,0-3-0,100,38,60,15,

    How many by width is a rule: fastenings.set, one of the published ones.

    \b
    Examples:
      ribband fastenings heron
      ribband rules heron set fastenings.set lloyds-1891
    """
    from ribband.app.showing.shop import show_fastenings

    with Progress() as tell:
        answer = show_fastenings(job, aside, tell=tell)
    say_answer(answer, as_json)


@cli.command()
@JOB
@WHOLE
@json_option
def caulking(job: Path, aside: tuple[str, ...], as_json: bool) -> None:
    """Show the seams, strands of cotton and oakum, paying, primer, bedding and butt blocks.

    \b
    Examples:
      ribband caulking heron
      ribband rules heron set caulking.oakum_g_per_m 55
    """
    from ribband.app.showing.shop import show_caulking

    with Progress() as tell:
        answer = show_caulking(job, aside, tell=tell)
    say_answer(answer, as_json)


@cli.command()
@JOB
@WHOLE
@json_option
def handling(job: Path, aside: tuple[str, ...], as_json: bool) -> None:
    """Show who lifts every plank, which go by crane, and whether they get round the corners.

    By the lifting equation of NIOSH, a guide downward only: the safety rules of the place come
    first. The way from pile to hull is the form path (path.csv). Two rows of it:

    \b
      from,to,distance,width,into,notes
      pile,planer,40-0-0,8-0-0,7-0-0,round the end of the shed
      steam box,hull,65-0-0,,,

    \b
    Example:
      ribband handling heron
    """
    from ribband.app.showing.shop import show_handling

    with Progress() as tell:
        answer = show_handling(job, aside, tell=tell)
    say_answer(answer, as_json)
