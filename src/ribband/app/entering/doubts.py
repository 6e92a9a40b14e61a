"""Doubtful readings: listing them, and the shipwright's decision on each.

A decision is a line on the form `doubts` and so a new revision; the reading itself is never
changed. "accept" takes the fair value, "correct" another, "keep" the reading as it stands.
A reading nobody doubts can be corrected or kept too, by its name.
"""

from __future__ import annotations

from dataclasses import dataclass
from difflib import get_close_matches
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from ribband.app.entering.jobs import Taken, change, job_path
from ribband.app.entering.taking import with_columns
from ribband.app.plan.making import Tell
from ribband.app.plan.planning import plan
from ribband.app.plan.runner import job_unit, quiet
from ribband.app.showing.answers import Answer, Listing, plain
from ribband.errors import InputError, Problem
from ribband.store import JobFile
from ribband.survey.rows import Form
from ribband.survey.typed import headings
from ribband.units import counted, format_length, parse_length

if TYPE_CHECKING:
    from ribband.hull.model import Doubt

__all__ = ["Choice", "ShownDoubt", "decide", "doubts_answer", "list_doubts"]

Choice = Literal["accept", "correct", "keep"]
HEADER = ("reading", "decision", "value", "notes")
LEFT_OUT = "Open doubts are left out of the fairing. Decide each: accept, correct or keep."
ANEW = "After each decision the list is numbered anew: name a reading as it is written here."


@dataclass(frozen=True, slots=True)
class ShownDoubt:
    """A doubtful reading in the job's unit; `number` counts from 1 in the order of the hull."""

    number: int
    key: str
    frame: str
    line: str
    as_typed: str
    reads: str
    fair: str
    off: str
    explains: str
    decision: str
    file: str
    row: int
    column: str
    place: str = ""


def list_doubts(path: Path, tell: Tell = quiet) -> tuple[ShownDoubt, ...]:
    """List every doubtful reading of a job, decided or not, bringing the hull up to date first.

    Raises
    ------
    InputError, NotConverged, JobFileError
    """
    done = plan(path, "hull", tell=tell)
    hull, unit = done.run.bench.hull, done.run.bench.unit
    return tuple(_shown(number, doubt, unit) for number, doubt in enumerate(hull.doubts, 1))


def doubts_answer(path: Path, tell: Tell = quiet) -> Answer:
    """Show every doubtful reading, decided or not, with what would explain it."""
    doubts = list_doubts(path, tell)
    rows = tuple(
        (
            str(d.number),
            _place(d),
            d.as_typed,
            d.reads,
            d.fair,
            d.off,
            d.explains,
            d.decision or "-",
        )
        for d in doubts
    )
    columns = ("", "reading", "typed", "reads", "fair", "off by", "perhaps", "decided")
    decided = _decided(path)
    open_ones = sum(not doubt.decision for doubt in doubts)
    notes = (LEFT_OUT, *([ANEW] if open_ones > 1 else [])) if open_ones else ()
    return Answer(
        title=f"{counted(len(doubts), 'doubtful reading')}, {open_ones} open",
        listings=(
            Listing("Doubtful readings", columns, rows),
            Listing("Decisions", ("reading", "decision", "value", "note"), decided),
        ),
        notes=notes,
        data={"doubts": plain(doubts), "decisions": [list(row) for row in decided]},
    )


def decide(
    path: Path, which: str, choice: Choice, value: str = "", *, who: str = "", note: str = ""
) -> Taken:
    """Write down a decision on a reading; `which` is its doubt's number, its key or its place.

    Raises
    ------
    InputError : no such reading, one to accept that is not doubted, or `value` is not a length
    JobFileError : the job cannot be opened or written
    """
    key = _key_of(path, which, choice)
    with JobFile.open(job_path(path)) as job:
        forms = job.forms()
    if choice == "correct":
        _checked(value, job_unit(forms))
    form = with_decision(forms.get("doubts"), key, choice, value, note)
    why = f"{choice} {key}" + (f" as {value}" if value else "")
    return change(path, {"doubts": form}, who, why)


def with_decision(
    form: Form | None, key: str, choice: Choice, value: str = "", note: str = ""
) -> Form:
    """Give the form with one decision on `key`, in place of any before it.

    >>> with_decision(None, "girths/12/girth", "keep").rows
    (('girths/12/girth', 'keep', '', ''),)
    """
    said = {"reading": key, "decision": choice, "value": value, "notes": note}
    old = with_columns(form or Form("doubts", HEADER, (), "doubts.csv", ()),
                       [column for column, text in said.items() if text])  # fmt: skip
    names = headings(old)[0]
    at = names.index("reading")
    line = tuple(said.get(column, "") for column in names)
    rest = [(r, n) for r, n in zip(old.rows, old.numbers, strict=True) if r[at].strip() != key]
    numbers = (*(n for _, n in rest), max(old.numbers, default=1) + 1)
    rows = (*(row for row, _ in rest), line)
    return Form("doubts", old.header, rows, old.file, numbers, old.notes, old.heading_row)


def _shown(number: int, doubt: Doubt, unit: str) -> ShownDoubt:
    return ShownDoubt(
        number=number,
        key=doubt.key,
        frame=doubt.frame,
        line=doubt.line,
        as_typed=doubt.as_typed,
        reads="as typed" if doubt.whole else format_length(doubt.value_mm, unit),
        fair=_fair(doubt, unit),
        off=format_length(doubt.off_mm, unit),
        explains=doubt.explains,
        decision=doubt.decision,
        file=doubt.file,
        row=doubt.row,
        column=doubt.column,
        place=doubt.where,
    )


def _fair(doubt: Doubt, unit: str) -> str:
    """Give the value that would lie fair; of a whole column, what is to be taken off or added."""
    if not doubt.whole:
        return format_length(doubt.fair_mm, unit)
    return f"{format_length(abs(doubt.fair_mm), unit)} {'less' if doubt.fair_mm > 0 else 'more'}"


def _decided(path: Path) -> tuple[tuple[str, ...], ...]:
    """Give the lines of the form `doubts`."""
    with JobFile.open(job_path(path)) as job:
        form = job.forms().get("doubts")
    if form is None:
        return ()
    lines = [dict(zip(form.header, row, strict=True)) for row in form.rows]
    return tuple(tuple(line.get(column, "") for column in HEADER) for line in lines)


def _place(doubt: ShownDoubt) -> str:
    return f"{_named(doubt)} ({doubt.file} row {doubt.row}, {doubt.column})"


def _named(doubt: ShownDoubt) -> str:
    return ", ".join(part for part in (doubt.place, doubt.line) if part)


def _key_of(path: Path, which: str, choice: Choice) -> str:
    """Give the key of the reading named, doubted or not."""
    doubts = list_doubts(path)
    for doubt in doubts:
        if which in {doubt.key, str(doubt.number), _named(doubt), _place(doubt)}:
            return doubt.key
    names = _readings(path)
    keys = names.get(_plain(which), ())
    if len(keys) == 1 and choice != "accept":
        return keys[0]
    raise InputError([Problem("doubts", 0, "reading", which, _wanted(doubts, names, which, keys))])


def _readings(path: Path) -> dict[str, tuple[str, ...]]:
    """Give the keys of all readings by every name they go by, plainly written."""
    survey = plan(path, "survey").run.bench.survey
    named = [(r.key, f"station {r.station}, {r.line}") for r in survey.readings]
    named += [(g.key, f"frame {g.frame}, girth") for g in survey.girths]
    named += [(end.key, end.key) for end in survey.ends]
    found: dict[str, dict[str, None]] = {}
    for key, name in named:
        for own in (key, name):
            found.setdefault(_plain(own), {})[key] = None
    return {name: tuple(keys) for name, keys in found.items()}


def _plain(name: str) -> str:
    return " ".join(name.casefold().split())


def _wanted(
    doubts: tuple[ShownDoubt, ...], names: dict[str, tuple[str, ...]], which: str,
    keys: tuple[str, ...],
) -> str:  # fmt: skip
    """Say how a reading is named; one not doubted has no fair value to accept."""
    if len(keys) > 1:
        return "one of them: " + "; ".join(keys)
    if keys:
        return "a doubtful reading: of this one no other value is known; correct it"
    if _plain(which).isdigit():
        span = f"1 to {len(doubts)}" if doubts[1:] else "1, there being one"
        return f"the number of a doubt, {span}" if doubts else "no decision: none is doubtful"
    near = get_close_matches(_plain(which), names, 3, 0.5)
    like = "; ".join(dict.fromkeys(key for name in near for key in names[name]))
    return "the number of a doubt, or a reading by its name" + (f", such as {like}" if like else "")


def _checked(value: str, unit: str) -> None:
    try:
        parse_length(value, unit)
    except ValueError as wrong:
        raise InputError([Problem("doubts", 0, "value", value, f"a length ({wrong})")]) from wrong
