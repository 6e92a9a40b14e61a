"""A form as a page shows it: rows as typed, what each column holds, and what is to be mended."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

from ribband.app.entering.row_merge import blank_form
from ribband.app.screens.job import problems_at, unit_of
from ribband.store import JobFile
from ribband.survey.columns import LAYOUTS, OFFSET_LINES, Column, Layout, shown
from ribband.survey.rows import Form
from ribband.survey.typed import headings

__all__ = ["CellProblem", "ColumnView", "FormName", "FormView", "form_names", "form_view"]


@dataclass(frozen=True, slots=True)
class FormName:
    """A form there is."""

    name: str
    title: str


@dataclass(frozen=True, slots=True)
class ColumnView:
    """A column: its heading, what it says, what may stand in it, an example in the job's unit.

    `choices` is empty where anything may be typed; `by` gives choices that hang on the row's
    first cell, `examples` examples that do. `known` are names to choose from where others may be
    typed too, by the row's first cell, "" for every row.
    """

    name: str
    says: str
    needed: bool
    choices: tuple[str, ...]
    example: str
    by: dict[str, tuple[str, ...]]
    examples: dict[str, str]
    known: dict[str, tuple[str, ...]] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class CellProblem:
    """What is wrong with a cell; `at` is the row from 0, -1 the heading, None the whole form."""

    at: int | None
    column: str
    found: str
    wanted: str
    example: str


@dataclass(frozen=True, slots=True)
class FormView:
    """A form at a revision; `there` is False where the job has none yet and it is blank.

    `numbers` and `heading_row` are the rows as a spreadsheet counts them, and `file` what they are
    called in: by these a problem of the job is found again on its form. `more` are columns it may
    have and has not.
    """

    name: str
    title: str
    file: str
    heading_row: int
    notes: tuple[str, ...]
    revision: int
    unit: str
    there: bool
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    numbers: tuple[int, ...]
    columns: tuple[ColumnView, ...]
    more: tuple[ColumnView, ...]
    problems: tuple[CellProblem, ...]


def form_names() -> tuple[FormName, ...]:
    """List every form there is."""
    return tuple(FormName(layout.name, layout.says) for layout in LAYOUTS.values())


def form_view(path: Path, name: str) -> FormView:
    """Show one form as it stands.

    Raises
    ------
    InputError : there is no such form
    JobFileError : the job cannot be opened
    """
    with JobFile.open(path) as job:
        revision = job.newest()  # first: what is written meanwhile is told of as a patch
        forms = job.forms(revision) if revision else job.forms()
    form, unit = forms.get(name) or blank_form(name), unit_of(forms)
    layout = LAYOUTS[name]
    return FormView(
        name=name,
        title=layout.says,
        file=form.file,
        heading_row=form.heading_row,
        notes=tuple(shown(note, unit) for note in layout.notes),
        revision=revision,
        unit=unit,
        there=name in forms,
        header=form.header,
        rows=form.rows,
        numbers=form.numbers,
        columns=tuple(
            _with_known(_column(layout, text, unit), name, forms) for text in form.header
        ),
        more=tuple(_lacking(form, unit, forms)),
        problems=tuple(_problems(path, form, revision)),
    )


def _lacking(form: Form, unit: str, forms: Mapping[str, Form]) -> Iterator[ColumnView]:
    """Give the columns a form may have and has not; of a table of offsets those are stations."""
    there, layout = headings(form)[0], LAYOUTS[form.name]
    for column in () if form.name == "offsets" else layout.columns:
        if column.name not in there:
            yield _with_known(_column(layout, column.name, unit), form.name, forms)


def _column(layout: Layout, text: str, unit: str) -> ColumnView:
    name = text.strip().lower().replace(" ", "_")
    column = next((c for c in layout.columns if c.name == name), None)
    if column is None:
        says = "a station" if layout.name == "offsets" else "kept as typed"
        return ColumnView(text, says, needed=False, choices=(), example="", by={}, examples={})
    return ColumnView(
        name=text,
        says=column.says,
        needed=column.needed,
        choices=_choices(layout, column),
        example=shown(column.example or column.kind.example, unit),
        by={word: kind.choices for word, kind in column.by.items() if kind.choices},
        examples={word: shown(kind.example, unit) for word, kind in column.by.items()},
    )


def _with_known(column: ColumnView, form: str, forms: Mapping[str, Form]) -> ColumnView:
    """Put the timbers there are to a column that names one: the yard's own, then the table's."""
    row = "species" if (form, column.name) == ("vessel", "value") else ""
    if not row and (column.name != "species" or form == "timbers"):
        return column
    from ribband.timber.species import species

    own = (line[0].strip() for line in (forms["timbers"].rows if "timbers" in forms else ()))
    names = dict.fromkeys([*filter(None, own), *(one.name for one in species())])
    return replace(column, known={row: tuple(names)})


def _choices(layout: Layout, column: Column) -> tuple[str, ...]:
    if layout.name == "offsets" and column.name == "line":
        return tuple(OFFSET_LINES)
    return column.kind.choices


def _problems(path: Path, form: Form, revision: int) -> Iterator[CellProblem]:
    places = {number: at for at, number in enumerate(form.numbers)}
    places[form.heading_row] = -1
    for problem in problems_at(path, revision) if revision else ():
        if problem.file == form.file:
            at = places.get(problem.row)
            yield CellProblem(at, problem.column, problem.found, problem.wanted, problem.example)
