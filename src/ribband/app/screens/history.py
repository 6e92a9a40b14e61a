"""History as its page shows it: every revision, and two of them side by side."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher
from itertools import zip_longest
from pathlib import Path

from ribband.app.entering.compare import kept_figures
from ribband.errors import InputError, Problem
from ribband.store import JobFile, Revision
from ribband.survey.columns import LAYOUTS
from ribband.survey.rows import Form

__all__ = [
    "MOST", "PAGE", "Compared", "Figure", "FormPair", "Past", "RowPair", "Touched", "compared",
    "past",
]  # fmt: skip

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
class Touched:
    """What a revision changed where it changed one form only: `form` is "" where it did not.

    cells : how many cells read otherwise; rows : the first cells of their rows; columns : theirs
    first : the heading of the first column
    """

    number: int
    form: str = ""
    cells: int = 0
    rows: Cells = ()
    columns: Cells = ()
    first: str = ""


@dataclass(frozen=True, slots=True)
class Past:
    """A stretch of the history, oldest first; `older` is how many revisions there are before it.

    touched : one for each of the revisions, so that cells typed one by one can be shown together
    """

    revisions: tuple[Revision, ...]
    newest: int
    older: int
    touched: tuple[Touched, ...]


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
        revisions = job.history(after, last)
        return Past(revisions, newest, after, tuple(_touched(job, revisions)))


def _touched(job: JobFile, revisions: Sequence[Revision]) -> Iterator[Touched]:
    """Say of every revision which one form it changed, and which cells of it."""
    held: dict[str, Form] = {}  # of the revision before, where it was read for that one
    first = revisions[0].number if revisions else 1
    before = job.form_hashes(first - 1) if first > 1 else {}
    for revision in revisions:
        now = job.form_hashes(revision.number)
        names = [n for n in {**before, **now} if before.get(n) != now.get(n)]
        if len(names) == 1 and names[0] in now:
            name = names[0]
            new = job.form(name, revision.number)
            old = held.get(name) or _before(job, new, revision.number - 1, there=name in before)
            held = {name: new}
            yield _cells_of(revision.number, old, new)
        else:
            held = {}
            yield Touched(revision.number)
        before = now


def _before(job: JobFile, new: Form, number: int, *, there: bool) -> Form:
    """Give a form as it was; where there was none yet, without rows."""
    return job.form(new.name, number) if there else replace(new, rows=(), numbers=())


def _cells_of(number: int, old: Form, new: Form) -> Touched:
    """Count the cells that read otherwise; a row put in or taken out counts what stands in it."""
    if old.header != new.header or not new.header:
        return Touched(number, new.name)
    cells, rows, columns = 0, dict[str, None](), dict[str, None]()
    for was, now in _differing(old.rows, new.rows):
        empty = ("",) * len(new.header)
        for name, a, b in zip(new.header, was or empty, now or empty, strict=False):
            if a != b:
                cells, columns[name] = cells + 1, None
        rows[(now or was or empty)[0]] = None
    return Touched(number, new.name, cells, tuple(rows), tuple(columns), new.header[0])


def _differing(
    old: Sequence[Cells], new: Sequence[Cells]
) -> Iterator[tuple[Cells | None, Cells | None]]:
    """Pair the rows that differ, those alike at either end left off: quick, for one cell typed."""
    top, least = 0, min(len(old), len(new))
    while top < least and old[top] == new[top]:
        top += 1
    foot = 0
    while foot < least - top and old[-1 - foot] == new[-1 - foot]:
        foot += 1
    yield from (
        (a, b)
        for a, b in zip_longest(old[top : len(old) - foot], new[top : len(new) - foot])
        if a != b
    )


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
