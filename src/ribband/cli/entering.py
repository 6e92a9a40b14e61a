"""Verbs for what is entered: forms, the job file, doubtful readings, rules, history."""

from __future__ import annotations

from pathlib import Path
from shlex import quote
from typing import Any

import click

from ribband.cli.progress import Progress
from ribband.cli.saying import many, say, say_answer, say_changed, say_wrote
from ribband.cli.top import DECIMAL, JOB, ShowOrAct, cli, json_option, who_option

__all__: list[str] = []


@cli.command()
@click.argument("folder", type=click.Path(path_type=Path))
@click.option("--xlsx", is_flag=True, help="One workbook instead of CSV files.")
@click.option("--unit", show_default="mm",
              help="The yard's unit: mm, cm, m, in, ft (decimal feet) or, for feet-inches-eighths "
              "off a tape or a table, ft-in-8ths.")  # fmt: skip
@click.option("--example", metavar="NAME",
              help="The forms of an example, filled in: marl_heron, marl_heron_girths, packet_1825 "
              "or launch_1905.")  # fmt: skip
@json_option
def forms(folder: Path, xlsx: bool, unit: str | None, example: str | None, as_json: bool) -> None:
    """Write blank forms into FOLDER, with notes and an example row in each.

    Only the vessel, the frames and either girths, offsets or points are needed; leave out the rest.

    \b
    Examples:
      ribband forms heron-forms --unit ft-in-8ths
      ribband forms packet --example packet_1825
    """
    from ribband.app.plan.inputs import blank_forms

    if example:
        _example_forms(example, folder, xlsx, unit, as_json)
        return
    paths = blank_forms(folder, "xlsx" if xlsx else "csv", unit or "mm")
    feet = "They are for millimetres; for feet, inches and eighths give --unit ft-in-8ths."
    then = f"Fill in what you have, then: ribband new JOB {quote(str(folder))}"
    say_wrote(paths, as_json, *([] if unit else [feet]), then)


def _example_forms(name: str, folder: Path, xlsx: bool, unit: str | None, as_json: bool) -> None:
    from ribband.app.demo import copy_example

    if xlsx or unit:
        raise click.UsageError("an example comes as it was filled in: leave out --xlsx and --unit")
    copy_example(name, folder)
    then = f"To plan it: ribband new JOB {quote(str(folder))}"
    say_wrote(sorted(folder.glob("*.csv")), as_json, then)


@cli.command()
@JOB
@click.argument("folder", type=click.Path(path_type=Path), required=False)
@DECIMAL
@who_option
@json_option
def new(job: Path, folder: Path | None, decimal: Any, who: str, as_json: bool) -> None:
    """Make the job file JOB.ribband, with the forms of FOLDER if given.

    FOLDER is a folder of CSV forms, a workbook, or a folder of tables with its inputs.

    \b
    Example:
      ribband new heron heron-forms --who "Ada"
    """
    from ribband.app.entering.jobs import new_job

    taken = new_job(job, folder, who, decimal=decimal)
    say(
        as_json,
        [f"Made {taken.job} with {many(len(taken.forms), 'form')}.",
         f"Next: ribband status {quote(str(taken.job))}"],
        job=taken.job, forms=taken.forms, revision=taken.revision,
    )  # fmt: skip


@cli.command()
@JOB
@click.argument("folder", type=click.Path(path_type=Path))
@who_option
@click.option("--why", default="", help="Why, for the history.")
@click.option("--replace", is_flag=True,
              help="FOLDER in place of all stored: blank and missing forms are meant.")  # fmt: skip
@DECIMAL
@json_option
def take(
    job: Path, folder: Path, who: str, why: str, replace: bool, decimal: Any, as_json: bool
) -> None:
    """Take the forms of FOLDER into JOB as a new revision.

    Every form is looked over first; if anything is wrong, nothing is changed. Forms that FOLDER
    does not have, or that are blank, stay as they were, and forms of another vessel are refused,
    unless --replace is given. What a form drops of rules, decisions and wishes is said. FOLDER may
    be tables written by "ribband tables".

    \b
    Examples:
      ribband take heron heron-forms --why "girths of 12 and 13 taken again"
      ribband take heron heron-forms --replace
      ribband take heron heron-forms --decimal comma     girths such as 1587,5
    """
    from ribband.app.entering.jobs import take as take_in

    taken = take_in(job, folder, who, why, replace=replace, decimal=decimal)
    say_changed(
        taken.job, taken.revision, as_json, more=taken.says,
        unchanged="Nothing new in it; no revision was made.",
        forms=taken.forms, kept_as_stored=taken.kept, drops=taken.drops,
    )  # fmt: skip


@cli.command()
@JOB
@json_option
def status(job: Path, as_json: bool) -> None:
    """Tell what JOB holds, what is stale, what is doubtful, and what to do next.

    \b
    Example:
      ribband status heron
    """
    from ribband.app.plan.status import status_answer

    say_answer(status_answer(job), as_json)


@cli.group(cls=ShowOrAct, invoke_without_command=True)
@JOB
@json_option
@click.pass_context
def doubts(ctx: click.Context, job: Path, as_json: bool) -> None:
    """List the readings of JOB that do not lie fair, or decide one.

    A doubtful reading is left out of the fairing until you decide; none is ever dropped.
    WHICH is its number in the list as it stands, or its place as written there: each decision may
    change the list.

    \b
    Examples:
      ribband doubts heron
      ribband doubts heron correct "station F, waterline 4-6-0" 5-3-5
      ribband doubts heron accept 1               take the fair value
      ribband doubts heron correct 2 7-3-2        it was misread; this is right
      ribband doubts heron keep 3                 the hull is like that
    """
    ctx.obj = job
    if ctx.invoked_subcommand is None:
        from ribband.app.entering.doubts import doubts_answer

        with Progress() as tell:
            answer = doubts_answer(job, tell)
        say_answer(answer, as_json)


@doubts.command()
@click.argument("which")
@who_option
@click.option("--note", default="", help="A note beside the decision.")
@json_option
@click.pass_obj
def accept(job: Path, which: str, who: str, note: str, as_json: bool) -> None:
    """Take the fair value for reading WHICH.

    \b
    Example:
      ribband doubts heron accept 1
    """
    _decide(job, which, "accept", "", who=who, note=note, as_json=as_json)


@doubts.command(context_settings={"ignore_unknown_options": True})
@click.argument("which")
@click.argument("value")
@who_option
@click.option("--note", default="", help="A note beside the decision.")
@json_option
@click.pass_obj
def correct(job: Path, which: str, value: str, who: str, note: str, as_json: bool) -> None:
    """Put VALUE in place of reading WHICH, doubted or not.

    \b
    Examples:
      ribband doubts heron correct 2 7-3-2 --note "taped again"
      ribband doubts heron correct "station 9, waterline 4-6-0" 4-0-7
    """
    _decide(job, which, "correct", value, who=who, note=note, as_json=as_json)


@doubts.command()
@click.argument("which")
@who_option
@click.option("--note", default="", help="A note beside the decision.")
@json_option
@click.pass_obj
def keep(job: Path, which: str, who: str, note: str, as_json: bool) -> None:
    """Keep reading WHICH as it was measured.

    \b
    Example:
      ribband doubts heron keep 3 --note "an old repair, seen"
    """
    _decide(job, which, "keep", "", who=who, note=note, as_json=as_json)


@cli.group(cls=ShowOrAct, invoke_without_command=True)
@click.argument("job", type=click.Path(path_type=Path), required=False)
@json_option
@click.pass_context
def rules(ctx: click.Context, job: Path | None, as_json: bool) -> None:
    """List every rule with its value, range, default and source, or set one for JOB.

    \b
    Examples:
      ribband rules
      ribband rules heron
      ribband rules heron set butts.set lake-1866
      ribband rules heron set lining.greatest_width 0-7-4
    """
    ctx.obj = job
    if ctx.invoked_subcommand is None:
        from ribband.app.entering.rule_use import rules_answer

        say_answer(rules_answer(job), as_json)


@rules.command("set", context_settings={"ignore_unknown_options": True})
@click.argument("rule")
@click.argument("value")
@who_option
@json_option
@click.pass_obj
def set_rule(job: Path, rule: str, value: str, who: str, as_json: bool) -> None:
    """Set RULE to VALUE for this job; a new revision.

    \b
    Example:
      ribband rules heron set butts.adjacent_spaces 3
    """
    from ribband.app.entering.rule_use import set_rule as set_it

    taken = set_it(job, rule, value, who)
    say_changed(taken.job, taken.revision, as_json)


@cli.command()
@JOB
@click.option("--last", default=100, show_default=True, type=click.IntRange(1), help="How many.")
@click.option("--before", type=click.IntRange(1), help="Only those before this revision.")
@json_option
def history(job: Path, last: int, before: int | None, as_json: bool) -> None:
    """List the revisions of the inputs, oldest first: when, who, why.

    \b
    Examples:
      ribband history heron
      ribband history heron --last 1000 --before 4000
    """
    from ribband.app.plan.status import history_answer

    say_answer(history_answer(job, before, last), as_json)


@cli.command()
@JOB
@click.argument("first", type=click.IntRange(1), required=False)
@click.argument("second", type=click.IntRange(1), required=False)
@json_option
def compare(job: Path, first: int | None, second: int | None, as_json: bool) -> None:
    """Tell every cell that differs between two revisions; by default the last two.

    \b
    Example:
      ribband compare heron 1 3
    """
    from ribband.app.entering.compare import compare as compare_them

    say_answer(compare_them(job, first, second), as_json)


@cli.command()
@JOB
@who_option
@json_option
def undo(job: Path, who: str, as_json: bool) -> None:
    """Go back to what was entered before, as a new revision; nothing is lost.

    \b
    Example:
      ribband undo heron
    """
    from ribband.app.entering.jobs import undo as go_back

    _stepped(job, go_back(job, who), "undo", as_json)


@cli.command()
@JOB
@who_option
@json_option
def redo(job: Path, who: str, as_json: bool) -> None:
    """Bring back what was undone, as a new revision.

    \b
    Example:
      ribband redo heron
    """
    from ribband.app.entering.jobs import redo as go_forward

    _stepped(job, go_forward(job, who), "redo", as_json)


def _decide(
    job: Path, which: str, choice: Any, value: str, *, who: str, note: str, as_json: bool
) -> None:
    from ribband.app.entering.doubts import decide

    taken = decide(job, which, choice, value, who=who, note=note)
    said = [f"Decided: {taken.revision.why}."] if taken.revision else []
    say_changed(taken.job, taken.revision, as_json, more=said)


def _stepped(job: Path, revision: Any, word: str, as_json: bool) -> None:
    if revision is None:
        raise click.UsageError(f"there is nothing to {word}")
    from ribband.app.entering.jobs import job_path

    say_changed(job_path(job), revision, as_json)
