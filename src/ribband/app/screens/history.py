"""History as its page shows it: every revision, and two of them side by side."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from difflib import SequenceMatcher
from pathlib import Path

from ribband.app.entering.compare import kept_figures
from ribband.errors import InputError, Problem
from ribband.store import JobFile, Revision
from ribband.survey.columns import LAYOUTS
from ribband.survey.rows import Form

__all__ = ["MOST", "PAGE", "Compared", "Figure", "FormPair", "Past", "RowPair", "compared", "past"]

Cells = tuple[str, ...]
PAGE = 100  # revisions, where nobody says how many
MOST = 1000


@dataclass(frozen=True, slots=True)
class RowPair:
    """A row that differs: as it was, as it is; None where it is not there."""

    was: Cells | None
    now: Cells | None
    was_at: int | None
    now_at: int | None


@dataclass(frozen=True, slots=True)
class FormPair:
    """A form that differs between two revisions, with the rows that do."""

    name: str
    title: str
    was_header: Cells
    now_header: Cells
    rows: tuple[RowPair, ...]


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure of both revisions; "" where nothing was kept of it."""

    what: str
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Past:
    """A stretch of the history, oldest first; `older` is how many revisions there are before it."""

    revisions: tuple[Revision, ...]
    newest: int
    older: int


@dataclass(frozen=True, slots=True)
class Compared:
    """Two revisions side by side."""

    a: Revision
    b: Revision
    forms: tuple[FormPair, ...]
    figures: tuple[Figure, ...]


def past(path: Path, before: int | None = None, limit: int = PAGE) -> Past:
    """List the last `limit` revisions, or the last of those `before` a number.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        newest = job.newest()
        last = newest if before is None else min(before - 1, newest)
        after = max(0, last - limit)
        return Past(job.history(after, last), newest, after)


def compared(path: Path, a: int, b: int) -> Compared:
    """Put two revisions side by side.

    Raises
    ------
    InputError : there is no such revision
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        newest = job.newest()
        for number in (a, b):
            if not 1 <= number <= newest:
                wanted = f"a revision from 1 to {newest}"
                raise InputError([Problem(path.name, 0, "revision", str(number), wanted)])
        pairs = tuple(_form_pairs(job.forms(a), job.forms(b)))
        one, two = kept_figures(job, a), kept_figures(job, b)
        (first,), (second,) = job.history(a - 1, a), job.history(b - 1, b)
    figures = tuple(Figure(n, one.get(n, ""), two.get(n, "")) for n in one | two)
    return Compared(first, second, pairs, figures)


def _form_pairs(before: Mapping[str, Form], after: Mapping[str, Form]) -> Iterator[FormPair]:
    for name in sorted({*before, *after}):
        old, new = before.get(name), after.get(name)
        rows = tuple(_row_pairs(old.rows if old else (), new.rows if new else ()))
        headers = old.header if old else (), new.header if new else ()
        if rows or (old and new and headers[0] != headers[1]):
            title = LAYOUTS[name].says if name in LAYOUTS else name
            yield FormPair(name, title, *headers, rows)


def _row_pairs(old: tuple[Cells, ...], new: tuple[Cells, ...]) -> Iterator[RowPair]:
    """Pair rows that differ; those between the same neighbours are taken for the same row."""
    for tag, a, b, c, d in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if tag == "equal":
            continue
        for n in range(max(b - a, d - c)):
            was, now = (a + n if a + n < b else None), (c + n if c + n < d else None)
            yield RowPair(
                None if was is None else old[was], None if now is None else new[now], was, now
            )
