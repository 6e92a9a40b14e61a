"""What taking forms in does to a job: blank forms wipe nothing, what is dropped is said.

*Blank*: a form in which nothing was filled in; a yard copies the whole set and fills in three.
*Drops*: decisions and wishes that were in the job and are not on the form now taken, so that
nobody loses them without being told. Forms of another vessel are refused. With `replace` the
folder stands in place of everything stored: blank forms, and forms it lacks, are meant.

Not checked here: what the cells say; `ribband.app.plan.inputs` looks everything over.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ribband.errors import InputError, Problem
from ribband.survey.columns import LAYOUTS, heading
from ribband.survey.rows import Form
from ribband.survey.typed import headings, texts
from ribband.units import counted

__all__ = ["Merged", "is_blank", "merged", "spelt_our_way", "vessel_says", "with_columns"]

# form -> one of its rows, several of them, and the columns by which a row is known (all if none)
TOLD = {
    "rules": ("rule", "rules", ("rule",)),
    "doubts": ("decision", "decisions", ("reading",)),
    "lining": ("lining wish", "lining wishes", ()),
    "butts": ("butt wish", "butt wishes", ()),
    "layings": ("laying wish", "laying wishes", ()),
}
SHOWN = 6
PUT_ON = frozenset({  # forms on which pages and verbs put rows of their own
    "as_hung", "butts", "doubts", "layings", "lining", "log", "photos", "renew", "rules",
})  # fmt: skip


@dataclass(frozen=True, slots=True)
class Merged:
    """The forms of a job after taking some in.

    `kept` names forms that came blank and were left as stored; `drops` says in words what is gone.
    """

    forms: dict[str, Form]
    kept: tuple[str, ...] = ()
    drops: tuple[str, ...] = ()


def merged(
    stored: Mapping[str, Form], given: Mapping[str, Form], *, replace: bool = False
) -> Merged:
    """Put `given` into `stored`, or in place of it.

    Raises
    ------
    InputError : without `replace`, forms of another vessel, or a blank vessel form whose unit is
        not the job's
    """
    if replace:
        return Merged(dict(given), (), _drops(stored, given))
    _same_vessel(stored, given)
    blank = {name for name, form in given.items() if stored and is_blank(form)}
    blank -= {name for name, form in stored.items() if is_blank(form)}
    after = dict(stored) | {name: form for name, form in given.items() if name not in blank}
    kept = tuple(name for name in given if name in blank and name in stored)
    return Merged(after, kept, _drops(stored, after))


def is_blank(form: Form) -> bool:
    """Tell whether nothing was filled in, apart from what a blank form comes with.

    >>> is_blank(Form("vessel", ("item", "value"), (("vessel", ""), ("unit", "mm")), "", (2, 3)))
    True
    """
    begun = {"vessel": "item", "offsets": "line"}.get(form.name, "")  # comes filled in
    given = [n for n, text in enumerate(form.header) if heading(text) != begun]
    rows = zip(form.rows, texts(form, begun), strict=True)
    return not any(row[n].strip() for row, own in rows if own.lower() != "unit" for n in given)


def vessel_says(forms: Mapping[str, Form], item: str) -> str:
    """Give what the vessel's form says of an item; "" where it is blank or not there."""
    form = forms.get("vessel")
    told = zip(texts(form, "item"), texts(form, "value"), strict=True) if form else ()
    return next((value for own, value in told if own.lower() == item), "")


def with_columns(form: Form, columns: Sequence[str]) -> Form:
    """Give the form with these columns, those it lacks put in before its notes.

    >>> form = Form("butts", ("Wish", "frame", "notes"), (("forbid", "3", "tank"),), "b.csv", (2,))
    >>> with_columns(form, ("wish", "to_frame")).rows
    (('forbid', '3', '', 'tank'),)
    """
    names = headings(form)[0]
    new = [column for column in columns if column not in names]
    at = len(names) - (names[-1:] == ("notes",))
    return replace(
        form,
        header=(*form.header[:at], *new, *form.header[at:]),
        rows=tuple((*row[:at], *[""] * len(new), *row[at:]) for row in form.rows),
    )


def spelt_our_way(form: Form) -> Form:
    """Give the form with its headings as ours, and a place for all that the program may put on it.

    >>> spelt_our_way(Form("rules", (" Rule", "VALUE"), (("a.b", "1"),), "r.csv", (2,))).rows
    (('a.b', '1', ''),)
    """
    names, wrong = headings(form)
    if wrong:
        return form
    own = [column.name for column in LAYOUTS[form.name].columns] if form.name in PUT_ON else []
    return with_columns(replace(form, header=names), own)


def _same_vessel(stored: Mapping[str, Form], given: Mapping[str, Form]) -> None:
    items = ["vessel"]
    if "vessel" in given and is_blank(given["vessel"]) and "vessel" in stored:
        items = ["unit"]  # it is left as stored, and bare numbers would be read in another unit
    for item in items:
        old, new = vessel_says(stored, item), vessel_says(given, item)
        if old and new and old.casefold() != new.casefold():
            wanted = (
                f"{old}, as in this job; to rename her, or to take these forms in place of all"
                " that is stored, say --replace"
                if item == "vessel"
                else f"{old}, the unit of this job, or the vessel's form filled in"
            )
            raise InputError([_cell(given["vessel"], item, new, wanted, old)])


def _cell(form: Form, item: str, found: str, wanted: str, example: str) -> Problem:
    at = next(n for n, own in enumerate(texts(form, "item")) if own.lower() == item)
    return Problem(form.file, form.numbers[at], "value", found, wanted, example)


def _drops(stored: Mapping[str, Form], after: Mapping[str, Form]) -> tuple[str, ...]:
    told = []
    for name, form in stored.items():
        if name in TOLD:
            told += _dropped_rows(form, after.get(name))
        elif not is_blank(form) and (name not in after or is_blank(after[name])):
            told.append(f"drops the form {name} ({counted(len(form.rows), 'row')})")
    return tuple(told)


def _dropped_rows(old: Form, new: Form | None) -> list[str]:
    one, several, columns = TOLD[old.name]
    still = set() if new is None else {_known_by(new, row, columns) for row in new.rows}
    gone = [row for row in old.rows if _known_by(old, row, columns) not in still]
    if not gone:
        return []
    words = [" ".join(cell for cell in _cells(old, row).values() if cell) for row in gone]
    more = f" and {len(gone) - SHOWN} more" if len(gone) > SHOWN else ""
    count = counted(len(gone), one, several)
    return [f"drops {count}: {', '.join(words[:SHOWN])}{more}"]


def _known_by(form: Form, row: tuple[str, ...], columns: tuple[str, ...]) -> tuple[str, ...]:
    cells = _cells(form, row)
    known = columns or tuple(sorted(name for name in cells if cells[name]))
    return tuple(f"{name} {cells.get(name, '')}".casefold() for name in known)


def _cells(form: Form, row: tuple[str, ...]) -> dict[str, str]:
    """Give a row's cells by heading, without its notes."""
    pairs = zip(form.header, row, strict=True)
    cells = {name.strip().lower().replace(" ", "_"): " ".join(text.split()) for name, text in pairs}
    cells.pop("notes", None)
    return cells
