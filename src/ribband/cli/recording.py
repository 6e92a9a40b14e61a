"""Verbs at the hull: what was done to a plank, seams as they hang, what is left, the record."""

from __future__ import annotations

from pathlib import Path

import click

from ribband.cli.progress import Progress
from ribband.cli.saying import say_answer, say_changed, say_wrote
from ribband.cli.top import FOLDER, JOB, cli, json_option, who_option

__all__: list[str] = []

STEPS = "patterned, got out, planed, bevelled, hollowed, steamed, hung, fastened, bunged, caulked"


@cli.command(epilog=f"Steps: {STEPS}; or spoilt.")
@JOB
@click.argument("plank")
@click.argument("step")
@click.option("--at", default="", help="When: a date, or a date and clock in quotes.")
@click.option("--by", default="", help="The hands, parted by ;")
@click.option("--note", default="", help="What is worth telling.")
@who_option
@json_option
def log(
    job: Path, plank: str, step: str, at: str, by: str, note: str, who: str, as_json: bool
) -> None:
    """Write down that PLANK has come to STEP: a line of the form log.

    \b
    Examples:
      ribband log heron P7-2 hung --at "2027-03-02 14:30" --by "Ann; Bo"
      ribband log heron P7-3 spoilt --note "split along the edge in bending"
    """
    from ribband.app.entering.record_use import log_step
    from ribband.app.showing.record import not_on_the_list

    said = {"plank": plank, "state": step, "at": at, "by": by, "note": note}
    taken = log_step(job, said, who)
    told, doubt = "That was written down already.", not_on_the_list(taken.job, plank)
    say_changed(taken.job, taken.revision, as_json, unchanged=told, more=doubt)


@cli.command("as-hung")
@JOB
@click.argument("side", type=click.Choice(["port", "starboard"]))
@click.argument("strake")
@click.argument("frame")
@click.argument("girth")
@click.option("--edge", type=click.Choice(["upper", "lower"]), default="upper", show_default=True)
@click.option("--at", default="", help="The day, or day and clock: planks cut later follow it.")
@click.option("--note", default="", help="What is worth telling.")
@who_option
@json_option
def as_hung(
    job: Path, side: str, strake: str, frame: str, girth: str, edge: str, at: str, note: str,
    who: str, as_json: bool,
) -> None:  # fmt: skip
    """Enter GIRTH, measured from the rabbet to the edge of STRAKE at FRAME: a line of as_hung.

    A seam measured again stands in place of the older figure. One further off its plan than half
    its strake is wide is told at once; a girth beyond the frame's own is refused. What is left is
    divided anew by "ribband left"; of a repair it is told only.

    \b
    Examples:
      ribband as-hung heron port 4 12 2-3-5
      ribband as-hung heron port 4 stern 712mm --edge lower --at 2027-03-02
    """
    from ribband.app.entering.record_use import measure_seam
    from ribband.app.screens.seam_off import seam_doubted

    said = {"side": side, "strake": strake, "edge": edge, "frame": frame, "girth": girth,
            "at": at, "notes": note}  # fmt: skip
    doubt = seam_doubted(job, said)
    taken = measure_seam(job, said, who)
    told = "That was measured already."
    say_changed(taken.job, taken.revision, as_json, unchanged=told, more=doubt)


@cli.command()
@JOB
@json_option
def left(job: Path, as_json: bool) -> None:
    """Show how far the planking has come, drift, and what is left, divided anew where it drifted.

    Planks that hang stay, planks that are cut keep their widths, and all others are divided fair
    with them. The last openings are told as measured, not as planned.

    \b
    Example:
      ribband left heron
    """
    from ribband.app.showing.record import show_left

    with Progress() as tell:
        answer = show_left(job, tell=tell)
    say_answer(answer, as_json)


@cli.command()
@JOB
@click.option(
    "--out",
    type=FOLDER,
    help="A folder: book, tables, drawings, patterns, tickets of the new planks alone.",
)
@json_option
def repair(job: Path, out: Path | None, as_json: bool) -> None:
    """Plan what the form renew says: the least that has to come out, its joints, turns, planks.

    Kept planks, seams and butts stay as recorded in old_strakes and old_butts. How much of her may
    be open at once is the surveyor's word; the turns here are a proposal. While the form renew asks
    for anything, boards, order, shop and work of every verb are of the new planks alone; with
    --whole they are of the whole hull.

    \b
      side,strake,from_frame,to_frame,joint,found,notes
      port,7,9,16,butt,rot behind the clamp,

    \b
    Examples:
      ribband repair heron
      ribband repair heron --out repair
    """
    from ribband.app.plan.repairing import show_repair, write_repair

    with Progress() as tell:
        answer = None if out else show_repair(job, tell=tell)
        paths = write_repair(job, out, tell=tell) if out else ()
    if answer is None:
        say_wrote(paths, as_json)
    else:
        say_answer(answer, as_json)


@cli.command()
@JOB
@click.argument("plank")
@click.argument("file")
@click.option("--at", default="", help="When: a date, or a date and clock in quotes.")
@click.option("--by", default="", help="Who took it.")
@click.option("--note", default="", help="What is to be seen on it.")
@click.option("--name-only", is_flag=True, help="Note the file's name; keep no picture.")
@who_option
@json_option
def photo(
    job: Path, plank: str, file: str, at: str, by: str, note: str, name_only: bool, who: str,
    as_json: bool,
) -> None:  # fmt: skip
    """Keep the picture FILE of PLANK in the job: JPEG, PNG or WebP, at most 12 MB.

    It becomes a part of the job file, without the place, the camera and whatever else was written
    beside the image. It is shown in the app and in the record.

    \b
    Examples:
      ribband photo heron P7-2 "frame 14.jpg" --at 2027-03-02 --by Ann --note "shake at the edge"
      ribband photo heron P7-2 "box 3, film 12" --name-only
    """
    from ribband.app.entering.pictures import take_picture_file
    from ribband.app.entering.record_use import note_photo

    said = {"plank": plank, "file": file, "at": at, "by": by, "notes": note}
    if name_only:
        taken = note_photo(job, said, who)
    else:
        taken = take_picture_file(job, said, Path(file), who)
    told = "That is kept already."
    say_changed(taken.job, taken.revision, as_json, more=taken.says, unchanged=told)


@cli.command()
@JOB
@click.option("--out", type=click.Path(path_type=Path), help="The PDF to write.")
@click.option("--paper", default="A4", show_default=True, help="A4 or letter.")
@json_option
def record(job: Path, out: Path | None, paper: str, as_json: bool) -> None:
    """Write the record of the planking, for owner, surveyor and archive, to one PDF.

    What was found and replaced, old against new, every plank with its board, days, hands and
    pictures, deviations, hours and costs. Its tables are written by "ribband tables".

    \b
    Example:
      ribband record heron --out "heron record.pdf"
    """
    from ribband.app.papers.drawings import Paper
    from ribband.app.plan.recorded import record_job

    with Progress() as tell:
        path = record_job(job, out, Paper(paper), tell=tell)
    say_wrote([path], as_json)
