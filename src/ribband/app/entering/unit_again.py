"""Bare figures that were written while the job had another unit, written again in the present one.

A length without a mark is read in the job's unit; where the unit is said, or said otherwise, after
figures were written, they would change what they mean, or cannot be read any more. Which unit they
were meant in nobody but the one who wrote them knows: he is asked, and what is proposed here is
the unit in force when they were written. Nothing is changed here; edits are proposed.

Not checked: whether the figures are likely lengths in either unit.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from ribband.app.entering.row_merge import Edit
from ribband.app.entering.rules import of_length as rule_of_length
from ribband.app.entering.taking import vessel_says
from ribband.app.plan.runner import job_unit
from ribband.store import JobFile
from ribband.survey.rows import Form
from ribband.survey.typed import headings, of_length
from ribband.units import UNITS, as_written, bare, format_bare, parse_exact

__all__ = ["Bare", "bare_figures"]

SHOWN = 3  # examples
MOST = 2000  # revisions looked back
LOST = 0.1  # part of a length that may be lost in writing it
_Key = tuple[str, str, int, str]  # form, first cell, column, text


@dataclass(frozen=True, slots=True)
class Bare:
    """Bare lengths older than the unit: how many, in which forms, and the edits that write them.

    `was` is the unit they are taken in, `now` the job's; `said` is False where none is said yet,
    `since` the revision the unit came with, 0 where it never changed. `examples` are pairs of a
    figure and as it would be written. `hand` is the unit every length is written in by its marks
    alone, "" where they do not tell.
    """

    was: str
    now: str
    said: bool
    hand: str
    since: int
    count: int
    forms: tuple[str, ...]
    examples: tuple[tuple[str, str], ...]
    edits: tuple[Edit, ...]


@dataclass(frozen=True, slots=True)
class _Cell:
    form: str
    row: int
    column: int
    text: str
    key: _Key


def bare_figures(path: Path, was: str = "") -> Bare:
    """Find the bare figures written while the job had another unit; `was` is what they are in.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        newest = job.newest()
        forms = job.forms(newest) if newest else {}
        spans = _spans(job, newest)
        written = _written_in(job, forms, spans)
    now = job_unit(forms)
    old = {cell: unit for cell, unit in written.items() if unit != now}
    if was not in UNITS:
        was = Counter(old.values()).most_common(1)[0][0] if old else now
        old = {cell: unit for cell, unit in old.items() if unit == was}
    again = {cell: said for cell in old if (said := _again(cell.text, was, now)) != cell.text}
    pairs = dict.fromkeys((cell.text, said) for cell, said in again.items())
    return Bare(
        was=was,
        now=now,
        said=bool(vessel_says(forms, "unit")),
        hand=_hand(forms),
        since=spans[1][1] + 1 if len(spans) > 1 else 0,
        count=len(again),
        forms=tuple(dict.fromkeys(cell.form for cell in again)),
        examples=tuple(pairs)[:SHOWN],
        edits=tuple(_edits(forms, again)),
    )


def _hand(forms: Mapping[str, Form]) -> str:
    """Tell the unit by how lengths are written: feet-inches-eighths where all of them are."""
    units = {as_written(cell.text.rstrip("? "), "") for cell in _lengths(forms, every=True)}
    return units.pop() if len(units) == 1 else ""


def _spans(job: JobFile, newest: int) -> list[tuple[str, int]]:
    """Give the units the job had, the newest first, each with its last revision."""
    spans: list[tuple[str, int]] = []
    seen: str | None = ""
    for number in range(newest, max(0, newest - MOST), -1):
        own = job.form_hashes(number).get("vessel")
        if own == seen:
            continue
        seen = own
        unit = job_unit({"vessel": job.form("vessel", number)} if own is not None else {})
        if not spans or spans[-1][0] != unit:
            spans.append((unit, number))
    return spans


def _written_in(
    job: JobFile, forms: Mapping[str, Form], spans: Sequence[tuple[str, int]]
) -> dict[_Cell, str]:
    """Tell of every bare length which unit was in force when it was written."""
    written: dict[_Cell, str] = {}
    if len(spans) < 2:  # it never changed
        return written
    left = list(_lengths(forms))
    for (unit, _), (_, last) in pairwise(spans):
        stood = _standing(job.forms(last))
        written |= {cell: unit for cell in left if cell.key not in stood}
        left = [cell for cell in left if cell.key in stood]
    return written | dict.fromkeys(left, spans[-1][0])


def _standing(forms: Mapping[str, Form]) -> set[_Key]:
    return {
        (name, _known(row), at, text)
        for name, form in forms.items()
        for row in form.rows
        for at, text in enumerate(row)
    }


def _lengths(forms: Mapping[str, Form], *, every: bool = False) -> Iterator[_Cell]:
    """Give the lengths that are written bare, or every one."""
    for name, form in forms.items():
        columns = headings(form)[0]
        for number, row in enumerate(form.rows):
            for at, (column, text) in enumerate(zip(columns, row, strict=False)):
                wanted = (
                    any(map(str.isdigit, text)) if every else bare(text.rstrip().removesuffix("?"))
                )
                if wanted and _long(form, row, column):
                    yield _Cell(name, number, at, text, (name, _known(row), at, text))


def _known(row: tuple[str, ...]) -> str:
    return row[0].strip().lower() if row else ""


def _long(form: Form, row: tuple[str, ...], column: str) -> bool:
    if form.name == "rules":
        rule = dict(zip(headings(form)[0], row, strict=False)).get("rule", "")
        return column == "value" and rule_of_length(rule.strip())
    return of_length(form, row, column)


def _again(text: str, was: str, now: str) -> str:
    """Write a figure again; as it stands where it could not be read before either.

    >>> _again("457 ?", "mm", "ft-in-8ths"), _again("1.5", "m", "mm"), _again("x", "m", "mm")
    ('1-6-0 ?', '1500', 'x')
    """
    plain = text.rstrip().removesuffix("?").rstrip()
    try:
        mm = float(parse_exact(plain, was))
    except ValueError:
        return text
    said = format_bare(mm, now)
    if abs(float(parse_exact(said, now)) - mm) > LOST * abs(mm):
        said = f"{mm:g} mm"
    return said + text.rstrip()[len(plain) :]


def _edits(forms: Mapping[str, Form], again: Mapping[_Cell, str]) -> Iterator[Edit]:
    rows: dict[tuple[str, int], list[str]] = {}
    for cell, said in again.items():
        here = rows.setdefault((cell.form, cell.row), list(forms[cell.form].rows[cell.row]))
        here[cell.column] = said
    for (name, number), cells in rows.items():
        yield Edit(name, forms[name].rows[number], tuple(cells), number)
