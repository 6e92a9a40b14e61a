"""Putting one hand's edits into a form that another hand has changed meanwhile.

A row is found by what its author saw (`was`), the nearest to where it stood. If it reads
otherwise now, it is followed from the form its author saw (the *base*) to the present one, and
the three are merged cell by cell. A row `at` -1 is the heading: columns are moved by name, or
renamed where there are as many as before.

Some forms know their rows by certain cells (`KNOWN_BY`): a second row for the same rule or the
same seam and frame, put in by another hand meanwhile, is the same thing and asks.

Not checked here: what the cells say.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from difflib import SequenceMatcher

from ribband.errors import InputError, Problem
from ribband.survey.columns import LAYOUTS
from ribband.survey.rows import Form
from ribband.units import counted

__all__ = ["HEADING", "CellClash", "Edit", "RowClash", "blank_form", "put_in"]

Cells = tuple[str, ...]
HEADING = -1
KNOWN_BY = {
    "vessel": ("item",),
    "frames": ("frame",),
    "girths": ("frame", "side"),
    "rules": ("rule",),
    "doubts": ("reading",),
    "lining": ("wish", "strake", "frame"),
    "butts": ("wish", "strake", "frame", "landing"),
    "boards": ("board",),
    "layings": ("plank", "board", "wish"),
}


@dataclass(frozen=True, slots=True)
class Edit:
    """One row: put in (`was` is None), changed, or taken out (`now` is None); `at` from 0."""

    form: str
    was: Cells | None
    now: Cells | None
    at: int


@dataclass(frozen=True, slots=True)
class CellClash:
    """One cell that two hands changed."""

    column: str
    was: str
    mine: str
    theirs: str


@dataclass(frozen=True, slots=True)
class RowClash:
    """What each hand wants of one row; None is taking it out. `edit` counts in the change.

    `both` is their row with the clashing cells as mine: what to send if mine is to stand.
    """

    edit: int
    form: str
    at: int
    header: Cells
    was: Cells | None
    mine: Cells | None
    theirs: Cells | None
    both: Cells | None
    cells: tuple[CellClash, ...]


def put_in(
    forms: Mapping[str, Form], base: Mapping[str, Form], edits: Sequence[Edit]
) -> tuple[dict[str, Form], tuple[Edit, ...], tuple[RowClash, ...]]:
    """Put `edits` into `forms`; `base` is what their author saw.

    Gives the forms changed, the edits as they fell out, and every clash; with any clash, none of
    it is to be kept.

    Raises
    ------
    InputError : no such form, or a row wider than its form
    """
    after, done, clashes = dict(forms), [], []
    for number, edit in enumerate(edits):
        form = after.get(edit.form) or blank_form(edit.form)
        empty = replace(form, rows=(), numbers=())
        seen, stored = base.get(edit.form, empty), forms.get(edit.form, empty)
        fit = _Fit(form, seen, stored, number, _squared(edit, form))
        fell = fit.heading() if edit.at == HEADING else fit.row()
        if isinstance(fell, RowClash):
            clashes.append(fell)
            continue
        after[edit.form], made = fell
        done += [made] if made else []
    return after, tuple(done), tuple(clashes)


def blank_form(name: str) -> Form:
    """Give a form that nothing was filled in on.

    >>> blank_form("rules").header
    ('rule', 'value', 'notes')
    """
    if name not in LAYOUTS:
        wanted = "a form: " + ", ".join(LAYOUTS)
        raise InputError([Problem("forms", 0, "form", name[:60], wanted)])
    header = tuple(column.name for column in LAYOUTS[name].columns)
    return Form(name, header, (), f"{name}.csv", ())


def _squared(edit: Edit, form: Form) -> Edit:
    """Make rows as long as the heading; trailing blanks do not matter."""
    if edit.at == HEADING:
        return edit
    return replace(edit, was=_padded(edit.was, form), now=_padded(edit.now, form))


def _padded(cells: Cells | None, form: Form) -> Cells | None:
    if cells is None:
        return None
    wide = len(form.header)
    if any(cell.strip() for cell in cells[wide:]):
        wanted = f"at most {counted(wide, 'cell')}, as the heading has"
        raise InputError([Problem(form.file, 0, "", counted(len(cells), "cell"), wanted)])
    return (*cells[:wide], *[""] * (wide - len(cells)))


@dataclass(frozen=True, slots=True)
class _Fit:
    """One edit being fitted into the form as it stands.

    `base` is what its author saw, `stored` what the job held before this change began.
    """

    form: Form
    base: Form
    stored: Form
    number: int
    edit: Edit

    def row(self) -> tuple[Form, Edit | None] | RowClash:
        if self.edit.was is None:
            return self._added()
        at = _nearest(self.form.rows, self.edit.was, self.edit.at)
        if at is None:
            at = self._followed()
        if at is None:
            return self._clash(None, self.edit.at, ())
        return self._changed(at)

    def heading(self) -> tuple[Form, Edit | None] | RowClash:
        was, now = self.edit.was, self.edit.now
        if not now or was is None:
            raise InputError([Problem(self.form.file, 0, "", "no heading", "a heading, both ways")])
        if was != self.form.header:
            return self._clash(self.form.header, HEADING, ())
        return _with_heading(self.form, now), self.edit

    def _added(self) -> tuple[Form, Edit | None] | RowClash:
        now = self.edit.now
        if now is None:
            return self.form, None
        if (there := self._same_thing(now)) is not None:
            theirs = self.form.rows[there]
            if theirs == now:
                return self.form, None
            return self._clash(theirs, there, _cells(self.form.header, ("",) * len(now), now,
                                                     theirs))  # fmt: skip
        at = max(0, min(self.edit.at, len(self.form.rows)))
        return _inserted(self.form, at, now), replace(self.edit, at=at)

    def _same_thing(self, now: Cells) -> int | None:
        """Find a row for the same thing that another hand put in since."""
        key = _key(self.form, now)
        if key is None:
            return None
        if key in {_key(self.base, row) for row in self.base.rows}:
            return None
        same = next((row for row in self.stored.rows if _key(self.stored, row) == key), None)
        return _nearest(self.form.rows, same, self.edit.at)

    def _followed(self) -> int | None:
        """Follow the row its author saw to where it stands now; None if it was taken out."""
        was, rows = self.edit.was, self.base.rows
        start = _nearest(rows, was, self.edit.at) if was else None
        if start is None:
            return None
        if (key := _key(self.base, rows[start])) is not None:
            same = [n for n, row in enumerate(self.form.rows) if _key(self.form, row) == key]
            if same:
                return min(same, key=lambda n: abs(n - start))
        return _aligned(rows, self.form.rows, start)

    def _changed(self, at: int) -> tuple[Form, Edit | None] | RowClash:
        was, mine, theirs = self.edit.was, self.edit.now, self.form.rows[at]
        if was is None:
            return self.form, None
        if mine is None:
            if theirs != was:
                return self._clash(theirs, at, ())
            return _removed(self.form, at), replace(self.edit, at=at)
        merged, clashing = _merged(was, mine, theirs)
        if clashing:
            return self._clash(theirs, at, _cells(self.form.header, was, mine, theirs))
        if merged == theirs:
            return self.form, None
        rows = (*self.form.rows[:at], merged, *self.form.rows[at + 1 :])
        return replace(self.form, rows=rows), Edit(self.edit.form, theirs, merged, at)

    def _clash(self, theirs: Cells | None, at: int, cells: tuple[CellClash, ...]) -> RowClash:
        was, mine = self.edit.was, self.edit.now
        both = mine
        if was and mine and theirs and at != HEADING:
            both = tuple(t if m == w else m for w, m, t in zip(was, mine, theirs, strict=True))
        return RowClash(
            self.number, self.form.name, at, self.form.header, was, mine, theirs, both, cells
        )


def _nearest(rows: Sequence[Cells], wanted: Cells | None, at: int) -> int | None:
    same = [n for n, row in enumerate(rows) if row == wanted]
    return min(same, key=lambda n: abs(n - at), default=None)


def _aligned(old: Sequence[Cells], new: Sequence[Cells], at: int) -> int | None:
    """Tell where row `at` of `old` stands in `new`, by what surrounds it."""
    for tag, a, b, c, d in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if a <= at < b:
            if tag == "equal" or (tag == "replace" and b - a == d - c):
                return c + at - a
            alike = [(_alike(old[at], new[n]), n) for n in range(c, d)]
            best = max(alike, default=(0.0, -1))
            return best[1] if best[0] >= 0.5 else None
    return None


def _alike(one: Cells, two: Cells) -> float:
    filled = [(a, b) for a, b in zip(one, two, strict=False) if a or b]
    return sum(a == b for a, b in filled) / len(filled) if filled else 0.0


def _merged(was: Cells, mine: Cells, theirs: Cells) -> tuple[Cells, bool]:
    cells, clashing = [], False
    for w, m, t in zip(was, mine, theirs, strict=True):
        clashing |= m not in {w, t} and t != w
        cells.append(t if m == w else m)
    return tuple(cells), clashing


def _cells(header: Cells, was: Cells, mine: Cells, theirs: Cells) -> tuple[CellClash, ...]:
    four = zip(header, was, mine, theirs, strict=True)
    return tuple(CellClash(c, w, m, t) for c, w, m, t in four if m not in {w, t} and t != w)


def _key(form: Form, row: Cells) -> Cells | None:
    """Give the cells a row is known by; None where the form has none, or they are blank."""
    header = [text.strip().lower().replace(" ", "_") for text in form.header]
    known = [header.index(name) for name in KNOWN_BY.get(form.name, ()) if name in header]
    key = tuple(" ".join(row[n].lower().split()) for n in known)
    return key if any(key) else None


def _inserted(form: Form, at: int, now: Cells) -> Form:
    """Put a row in; rows and notes below it move down only as far as they must."""
    number = (form.numbers[at - 1] if at else form.heading_row) + 1
    numbers, notes = form.numbers[at:], form.notes
    taken = {*numbers, *(n for n, _ in notes)}
    if number in taken:
        numbers = tuple(n + 1 for n in numbers)
        notes = tuple((n + (n >= number), text) for n, text in notes)
    return replace(
        form,
        rows=(*form.rows[:at], now, *form.rows[at:]),
        numbers=(*form.numbers[:at], number, *numbers),
        notes=notes,
    )


def _removed(form: Form, at: int) -> Form:
    return replace(
        form,
        rows=(*form.rows[:at], *form.rows[at + 1 :]),
        numbers=(*form.numbers[:at], *form.numbers[at + 1 :]),
    )


def _with_heading(form: Form, now: Cells) -> Form:
    if len(now) == len(form.header):
        return replace(form, header=now)
    places = [form.header.index(name) if name in form.header else None for name in now]
    rows = tuple(tuple("" if n is None else row[n] for n in places) for row in form.rows)
    return replace(form, header=now, rows=rows)
