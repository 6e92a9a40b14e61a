"""Keeping a job: proving it whole, watching it, what lies about it, its dated copies."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

from ribband.app.entering.jobs import check_file, job_path
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.errors import InputError, JobFileError, Problem
from ribband.store import (
    Copy,
    JobFile,
    NotTheJob,
    Watch,
    copies_of,
    folder_of,
    said_of_place,
    verify,
)  # fmt: skip

__all__ = ["NotTheJob", "Watch", "checked_answer", "copies_answer", "said_beside", "take_copy"]


def checked_answer(path: Path) -> Answer:
    """Check the whole job file and say what was looked at and found.

    Raises
    ------
    JobFileError : it cannot be opened
    """
    wrong = check_file(path)
    path = job_path(path)
    title = "The job file is whole." if not wrong else "The job file is damaged:"
    lines = () if wrong else _looked_at(path)
    last = copies_of(path)
    if wrong and last:
        wrong = (*wrong, f"The newest copy is {last[-1].path}; see: ribband copies")
    place = (*said_of_place(path), *(() if wrong else _past(path)))
    data = {"troubles": list(wrong), "place": list(place)}
    return Answer(title=title, lines=lines, notes=(*wrong, *place), data=data, good=not wrong)


def _past(path: Path) -> tuple[str, ...]:
    """Say where there is no revision, or one is dated before the one before it."""
    with JobFile.open(path) as job:
        past = job.history()
    if not past:
        return ("It holds nothing: no form was ever taken in. If one was, this is no whole copy.",)
    back = [new.number for old, new in pairwise(past) if new.at < old.at]
    if not back:
        return ()
    which = f"Revision {back[0]} is"
    if len(back) > 1:
        which = f"{len(back)} revisions, from {back[0]} on, are"
    return (f"{which} dated before the one before: a clock was wrong. The numbers are the order.",)


def said_beside(path: Path) -> tuple[str, ...]:
    """Say which files beside a job look like another state of it; nothing where none do."""
    return said_of_place(path, beside=True)


def _looked_at(path: Path) -> tuple[Line, ...]:
    with JobFile.open(path) as job:
        past, forms, results = job.history(), job.form_hashes(), job.results()
    newest = f"newest by {past[-1].who}, {past[-1].at[:16].replace('T', ' ')}" if past else ""
    return (
        Line("revisions", str(len(past)), newest),
        Line("forms", str(len(forms)), "in the newest"),
        Line("results kept", str(len(results))),
        Line("dated copies", str(len(copies_of(path))), folder_of(path).name),
    )


def copies_answer(path: Path) -> Answer:
    """List the copies beside a job; also where the job itself is gone or damaged.

    Raises
    ------
    JobFileError : there is neither a job nor a copy of one
    """
    path = job_path(path)
    found = copies_of(path)
    if not found and not path.exists():
        raise JobFileError(f"there is no job file {path}, and no copy of one beside it")
    rows = tuple(
        (str(n), own.day, str(own.revision), _why(own), _state(own))
        for n, own in enumerate(found, 1)
    )
    columns = ("number", "day", "revision", "made", "state")
    return Answer(
        title=f"{len(found)} copies in {folder_of(path)}" if found else "No copies yet.",
        listings=(Listing("Copies, the lowest revision first", columns, rows),),
        notes=("" if found else "The first is made at the first change of another day.",),
        data={"copies": [{"number": n, "file": str(own.path), "day": own.day,
                          "revision": own.revision, "before_form": own.form}
                         for n, own in enumerate(found, 1)]},
    )  # fmt: skip


def take_copy(path: Path, number: int, to: Path) -> Path:
    """Make a job of its own from copy `number` of a job; gives its file.

    Raises
    ------
    InputError : there is no copy of that number
    JobFileError : something is there already, or it cannot be written
    """
    found = copies_of(job_path(path))
    if not 1 <= number <= len(found):
        wanted = f"a number from 1 to {len(found)}" if found else "a job with copies"
        raise InputError([Problem(folder_of(path).name, 0, "number", str(number), wanted)])
    with JobFile.open(found[number - 1].path) as copy:
        return copy.copy_into(job_path(to))


def _why(own: Copy) -> str:
    return "at the first change of the day" if own.form is None else f"before form {own.form + 1}"


def _state(own: Copy) -> str:
    try:
        return "damaged" if verify(own.path) else "whole"
    except JobFileError:
        return "damaged"
