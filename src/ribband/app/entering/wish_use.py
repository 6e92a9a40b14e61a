"""Wishes set by a word: a line put on the form `lining` or `butts` of a job, or taken off again.

Every change is a revision. Wishes are numbered as they stand on the form.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from pathlib import Path

from ribband.app.entering.jobs import Taken, change, job_path
from ribband.app.entering.taking import with_columns
from ribband.app.showing.answers import Listing
from ribband.errors import InputError, Problem
from ribband.store import JobFile
from ribband.survey.rows import Form
from ribband.survey.typed import headings

__all__ = ["drop_wish", "set_wish", "wishes_shown", "with_line"]

SAME = ("wish", "strake", "frame", "to_frame", "landing")  # what a line is known by
ONCE = {"strakes", "recorded"}  # wishes of which a form has one


def with_line(
    form: Form | None, name: str, said: Mapping[str, str], known: Sequence[str] = SAME
) -> Form:
    """Give the form with a wish on it, in place of one that is the same in the columns `known`.

    >>> form = with_line(None, "lining", {"wish": "strakes", "value": "16"})
    >>> with_line(form, "lining", {"wish": "strakes", "value": "17"}).rows
    (('strakes', '', '', '', '17', '', ''),)
    """
    from ribband.survey.columns import LAYOUTS

    header = tuple(column.name for column in LAYOUTS[name].columns)
    old = with_columns(form or Form(name, header, (), f"{name}.csv", ()),
                       [column for column, text in said.items() if text])  # fmt: skip
    heads = headings(old)[0]
    line = tuple(said.get(head, "") for head in heads)
    known = ("wish",) if said.get("wish") in ONCE else known
    wanted = tuple(said.get(column, "") for column in known)
    rows, numbers = list(old.rows), list(old.numbers)
    for at, row in enumerate(rows):
        cells = dict(zip(heads, (cell.strip() for cell in row), strict=True))
        if tuple(cells.get(column, "") for column in known) == wanted:
            rows[at] = line
            break
    else:
        rows.append(line)
        numbers.append(max((old.heading_row, *numbers, *(n for n, _ in old.notes))) + 1)
    return replace(old, rows=tuple(rows), numbers=tuple(numbers))


def set_wish(path: Path, name: str, said: Mapping[str, str], who: str = "") -> Taken:
    """Put one wish on the form `lining` or `butts` of a job, as a new revision.

    Raises
    ------
    InputError : a wish that cannot be
    JobFileError : the job cannot be opened or written
    """
    with JobFile.open(job_path(path)) as job:
        form = job.forms().get(name)
    why = f"{name}: " + " ".join(text for text in said.values() if text)
    return change(path, {name: with_line(form, name, said)}, who, why)


def drop_wish(path: Path, name: str, number: int, who: str = "") -> Taken:
    """Take wish `number`, counted from 1 on the form, off the form again.

    Raises
    ------
    InputError : there is no such wish
    JobFileError : the job cannot be opened or written
    """
    with JobFile.open(job_path(path)) as job:
        form = job.forms().get(name)
    count = len(form.rows) if form else 0
    if form is None or not 1 <= number <= count:
        wanted = f"a wish from 1 to {count}" if count else "no wish: there is none"
        raise InputError([Problem(form.file if form else name, 0, "", str(number), wanted)])
    at = number - 1
    gone = " ".join(cell.strip() for cell in form.rows[at] if cell.strip())
    rows = (*form.rows[:at], *form.rows[number:])
    numbers = (*form.numbers[:at], *form.numbers[number:])
    less = replace(form, rows=rows, numbers=numbers)
    return change(path, {name: less}, who, f"{name}: without {gone}")


def wishes_shown(forms: Mapping[str, Form], name: str) -> Listing:
    """List the wishes on a form as typed, numbered for `drop_wish`."""
    form = forms.get(name)
    if form is None:
        return Listing("", (), ())
    rows = tuple((str(n), *row) for n, row in enumerate(form.rows, 1))
    return Listing(f"Wishes (form {name})", ("", *form.header), rows)
