"""Saying things: answers in words or JSON, problems as a list, errors with their exit code.

Colour is never the only signal: every finding says its severity as a word. Not decided here:
what is said; the use cases do that.
"""

from __future__ import annotations

import json
import sys
import tempfile
import traceback
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import click

from ribband import __version__
from ribband.errors import (
    InputError,
    JobFileError,
    NotConverged,
    Problem,
    RibbandError,
    said_of_system,
)  # fmt: skip
from ribband.units import counted as many

if TYPE_CHECKING:
    from ribband.app.showing.answers import Answer, Listing
    from ribband.findings import Finding

__all__ = [
    "CODES",
    "FAULTS",
    "JSON_WANTED",
    "WRONG_INPUT",
    "explain",
    "many",
    "say",
    "say_answer",
    "say_changed",
    "say_wrote",
]

GOOD, FAULTS, USAGE, WRONG_INPUT, FILE_TROUBLE, INTERNAL = range(6)
CODES = {
    GOOD: "good",
    FAULTS: "done, but with faults found, or no answer keeps the rules",
    USAGE: "wrong use of the command",
    WRONG_INPUT: "wrong input: forms, rules or values",
    FILE_TROUBLE: "a job file or another file cannot be opened, read or written",
    INTERNAL: "an error of ours; the details are written to a file that is named",
}
JSON_WANTED = "ribband.json"


def say_answer(answer: Answer, as_json: bool, bad: int = FAULTS) -> None:
    """Print an answer and leave with its exit code, `bad` where the answer is not good."""
    from ribband.app.showing.answers import plain

    if as_json:
        body = {"good": answer.good, **plain(answer.data), "findings": plain(answer.findings)}
        _print_json(body | {"notes": list(answer.notes)})
    else:
        _print_answer(answer)
    if not answer.good:
        click.get_current_context().exit(bad)


def _print_json(body: object) -> None:
    click.echo(json.dumps(body, indent=2, ensure_ascii=False))


def _print_answer(answer: Answer) -> None:
    if answer.title:
        click.secho(answer.title, bold=True)
    wide = max((len(line.what) for line in answer.lines), default=0)
    for line in answer.lines:
        remark = f"  ({line.remark})" if line.remark else ""
        click.echo(f"  {line.what:<{wide}}  {line.value}{remark}")
    for listing in answer.listings:
        _print_listing(listing)
    for note in answer.notes:
        click.echo(f"  {note}")
    _print_findings(answer.findings)
    if answer.closing:
        _print_listing(answer.closing)


def _print_listing(listing: Listing) -> None:
    if not listing.rows:
        return
    click.secho(f"\n{listing.title}", bold=True)
    rows = [listing.columns, *listing.rows] if any(listing.columns) else list(listing.rows)
    wide = [max(len(row[c]) for row in rows) for c in range(len(listing.columns))]
    for row in rows:
        cells = (cell.ljust(width) for cell, width in zip(row, wide, strict=True))
        click.echo("  " + "  ".join(cells).rstrip())


SHOWN = 4  # findings of one kind that are shown; how many more there are is always said
COLOURS = {"fault": "red", "caution": "yellow", "note": None}


def _print_findings(findings: Sequence[Finding]) -> None:
    if not findings:
        return
    click.secho("\nFindings", bold=True)
    for severity in reversed(COLOURS):  # the faults last, where the eye is
        word = click.style(f"{severity.upper():<7}", fg=COLOURS[severity])
        by_code: dict[str, list[Finding]] = {}
        for finding in (f for f in findings if f.severity == severity):
            by_code.setdefault(finding.code, []).append(finding)
        for code, own in by_code.items():
            for finding in own[:SHOWN]:
                why = f" [{finding.why}]" if finding.why else ""
                click.echo(f"  {word} {code} {finding.where}: {finding.says}{why}")
            _print_more(word, code, len(own) - SHOWN)


def _print_more(word: str, code: str, more: int) -> None:
    if more > 0:
        click.echo(f"  {word} {code} and {more} more like it (all with --json, or in the tables)")


def explain(ctx: click.Context, error: Exception) -> int:
    """Say what went wrong and give the exit code."""
    code, lines = _in_words(error)
    if ctx.meta.get(JSON_WANTED):
        from ribband.app.showing.answers import plain

        problems = error.problems if isinstance(error, InputError) else ()
        _print_json({"good": False, "code": code, "says": lines, "problems": plain(problems)})
    else:
        for line in lines:
            click.echo(line, err=True)
    return code


def _in_words(error: Exception) -> tuple[int, list[str]]:
    if isinstance(error, InputError):
        return WRONG_INPUT, _problem_lines(error.problems)
    if isinstance(error, JobFileError):
        return FILE_TROUBLE, [str(error)]
    if isinstance(error, (NotConverged, MemoryError)):
        return FAULTS, [_left(error)]
    if isinstance(error, RibbandError):
        return WRONG_INPUT, [str(error)]
    if isinstance(error, OSError):
        name = f"{error.filename}: " if error.filename else ""
        return FILE_TROUBLE, [f"{name}{said_of_system(error)}"]
    where = _write_details(error)
    return INTERNAL, [
        f"Something went wrong in Ribband itself ({type(error).__name__}: {error}).",
        f"The details are in {where}; nothing in the job file was lost.",
    ]


def _left(error: NotConverged | MemoryError) -> str:
    from ribband.app.plan.limits import NO_MEMORY

    if isinstance(error, MemoryError):
        return f"It was left: {NO_MEMORY}. Nothing in the job file was lost."
    return f"It did not settle: {error}"


def _problem_lines(problems: Iterable[Problem]) -> list[str]:
    """List problems grouped by file, in the order they came."""
    by_file: dict[str, list[Problem]] = {}
    for problem in problems:
        by_file.setdefault(problem.file, []).append(problem)
    count = sum(map(len, by_file.values()))
    lines = [f"{count} problem{'s' * (count != 1)} to mend; nothing was changed."]
    for file, own in by_file.items():
        lines += ["", file or "input", *(f"  {_problem_line(problem)}" for problem in own)]
    return lines


def _problem_line(problem: Problem) -> str:
    at = ", ".join(
        part for part in (f"row {problem.row}" * bool(problem.row), problem.column) if part
    )
    example = f" (e.g. {problem.example})" if problem.example else ""
    found = f"found {problem.found!r}" if problem.found else "found nothing"
    return f"{at + ': ' if at else ''}{found}; wanted {problem.wanted}{example}"


def _write_details(error: Exception) -> str:
    text = "".join(traceback.format_exception(error))
    try:
        with tempfile.NamedTemporaryFile(
            "w", prefix="ribband-trouble-", suffix=".txt", delete=False, encoding="utf-8"
        ) as file:
            file.write(f"Ribband {__version__}, {' '.join(sys.argv)}\n{text}")
    except OSError:
        return "no file, for none could be written"
    return file.name


def say(as_json: bool, lines: Sequence[str], **data: Any) -> None:
    """Say a few lines, or the data in JSON."""
    from ribband.app.showing.answers import plain

    if as_json:
        _print_json({"good": True, **plain(data)})
    else:
        for text in lines:
            click.echo(text)


def say_wrote(paths: Iterable[Path], as_json: bool, *more: str) -> None:
    """Say which files were written."""
    paths = list(paths)
    say(as_json, [*(f"wrote {path}" for path in paths), *more], files=paths)


def say_changed(
    job: Path, revision: Any, as_json: bool, *, more: Sequence[str] = (),
    unchanged: str = "That is so already.", **data: Any,
) -> None:  # fmt: skip
    """Say whether a change made a revision, and if so what is stale and what to do next."""
    if revision is None:
        say(as_json, [unchanged, *more], job=job, revision=None, **data)
        return
    from ribband.app.entering.keeping import said_beside
    from ribband.app.plan.status import stale_and_next

    then, more = stale_and_next(job), [*more, *said_beside(job)]
    why = f", {revision.why}" if revision.kind != "new" else ""
    says = [f"Revision {revision.number} made{why}.", *more]
    says += [f"Stale: {then['stale']}.", f"Next: {then['next']}"]
    say(as_json, says, job=job, revision=revision, **then, **data)
