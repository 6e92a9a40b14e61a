"""The verb that takes a scan in place of a tape."""

from __future__ import annotations

from pathlib import Path
from shlex import quote

import click

from ribband.cli.progress import Progress
from ribband.cli.saying import say_answer
from ribband.cli.top import FOLDER, cli, json_option

__all__: list[str] = []

Pick = tuple[float, float, float]


def _direction(ctx: click.Context, param: click.Parameter, text: str) -> Pick | None:
    if not text:
        return None
    try:
        x, y, z = (float(part) for part in text.split(","))
    except ValueError:
        raise click.BadParameter('three numbers parted by commas, such as "0,0,1"') from None
    return x, y, z


@cli.command()
@click.argument("file", type=click.Path(path_type=Path))
@click.option("--frames", required=True, type=click.Path(path_type=Path),
              help="Forms or a job with the vessel and her frames.")  # fmt: skip
@click.option("--picks", required=True, type=click.Path(path_type=Path),
              help="A CSV of points read off the scan: line, x, y, z.")  # fmt: skip
@click.option("--out", required=True, type=FOLDER,
              help="The folder to write forms into.")  # fmt: skip
@click.option("--unit", default="m", show_default=True, help="The unit of the scan's numbers.")
@click.option("--up", default="", callback=_direction, help="Which way is up, as x,y,z.")
@click.option("--bow", default="", callback=_direction, help="Which way the bow is, as x,y,z.")
@click.option("--length", default="", help="Her length over all, to set the scan to scale.")
@click.option("--at", nargs=2, help="How far aft and how high the first level pick stands.")
@click.option("--no-floor", is_flag=True, help="No flat in the scan is a floor or a wall.")
@json_option
def scan(
    file: Path, frames: Path, picks: Path, out: Path, unit: str, up: Pick | None,
    bow: Pick | None, length: str, at: tuple[str, str] | None, no_floor: bool, as_json: bool,
) -> None:  # fmt: skip
    """Cut a scan of the hull at her frames into the form points.

    FILE is PLY, OBJ, STL or text of x y z, in any pose. PICKS are points of the lines rabbet and
    sheer (four or more each, from bow to stern), stem, stern, centreline or level (two), in the
    scan's own axes and unit; girths can be no better than the picks of rabbet and sheer. What the
    scan cannot tell is asked, with the option that answers it.

    \b
    Example:
      ribband scan heron.ply --frames heron-forms --picks picks.csv --out heron-scanned
    """
    from ribband.app.entering.scanning import Pose, cut_scan, scan_answer
    from ribband.app.plan.limits import held

    pose = Pose(unit, bow, up, length, at, not no_floor)
    with Progress() as tell, held():
        done = cut_scan(file, frames, picks, out, pose, tell=tell)
    say_answer(scan_answer(done), as_json)
    if not as_json:
        click.echo(f"Next: ribband new JOB {quote(str(out))}")
