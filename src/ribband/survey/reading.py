"""Finding and reading forms: a folder, a workbook or one file.

In a folder each file is named as its form (``frames.csv``) or is a workbook with a sheet for each
form. One CSV alone may have any name: its form is told by its heading.

Not checked here: what the cells say, unless something else is wrong; then every problem that can
be seen is given at once.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

from ribband.errors import InputError, Problem
from ribband.survey.columns import LAYOUTS, heading, nearest
from ribband.survey.csv_forms import read_csv, write_csv
from ribband.survey.decimals import Decimal, commas_once, with_points
from ribband.survey.old_table import rows_of_table
from ribband.survey.rows import Form, Forms
from ribband.survey.typed import headings
from ribband.survey.workbook import Sheet, read_workbook

__all__ = ["read_forms", "write_forms"]

Source = Callable[[], tuple[Form, tuple[Problem, ...]]]

MOST_FILES = 200
_TEXTS = {".csv", ".txt", ".tsv"}
_OTHER_BOOKS = {".xls", ".ods", ".xlsm", ".xlsb", ".numbers"}
_WANTED = "a folder of forms, an XLSX workbook or a CSV file"


def read_forms(path: Path, decimal: Decimal = "point") -> dict[str, Form]:
    """Read every form found at `path`, as typed; with decimal commas, if so said, as points.

    Raises
    ------
    InputError : with every problem found, of files and of cells
    """
    path = path.resolve()  # so that even "." has a name to be shown
    forms: dict[str, Form] = {}
    problems: list[Problem] = []
    for source in _sources(path, problems, "," if decimal == "comma" else "."):
        try:
            form, wrong = source()
        except InputError as error:
            problems += error.problems
            continue
        except OSError as error:
            found = error.strerror or "it cannot be read"
            name = Path(str(error.filename or path)).name
            problems.append(Problem(name, 0, "", found, "a file that can be read"))
            continue
        problems += wrong
        if form.name in forms:
            other = forms[form.name].file
            problems.append(Problem(form.file, 0, "", f"{form.name} again", f"only {other}"))
        else:
            forms[form.name] = rows_of_table(form)
    if not forms and not problems:
        wanted = "at least one of " + ", ".join(LAYOUTS)
        problems.append(Problem(path.name, 0, "", "no form", wanted, "girths.csv"))
    if decimal == "comma":
        forms, wrong = with_points(forms)
        problems += wrong
    if problems:
        raise InputError([*problems, *_problems_within(forms)])
    return {name: forms[name] for name in LAYOUTS if name in forms}


def write_forms(forms: Forms, folder: Path) -> list[Path]:
    """Write forms as CSV exactly as typed; gives the files written."""
    folder.mkdir(parents=True, exist_ok=True)
    paths = []
    for name, form in forms.items():
        path = folder / f"{name}.csv"
        write_csv(form, path)
        paths.append(path)
    return paths


def _problems_within(forms: Forms) -> tuple[Problem, ...]:
    """Say what is wrong inside the forms that could be read, so that nothing is told late."""
    from ribband.survey.solve import problems_of  # noqa: PLC0415

    return commas_once(forms, problems_of(forms))


def _sources(path: Path, problems: list[Problem], point: str) -> Iterator[Source]:
    if path.is_dir():
        files = sorted(file for file in path.iterdir() if file.is_file())
        if len(files) > MOST_FILES:
            problems.append(
                Problem(path.name, 0, "", f"{len(files)} files", f"at most {MOST_FILES}")
            )
            return
        for file in files:
            yield from _in_folder(file, problems, point)
    elif not path.is_file():
        problems.append(Problem(path.name, 0, "", "nothing there", _WANTED))
    elif path.suffix.lower() == ".xlsx":
        yield from _in_book(path, problems, point)
    elif path.suffix.lower() in _TEXTS:
        yield lambda: _alone(path)
    else:
        problems.append(
            Problem(path.name, 0, "", path.suffix or "no ending", _WANTED, "girths.csv")
        )


def _in_folder(file: Path, problems: list[Problem], point: str) -> Iterator[Source]:
    kind = file.suffix.lower()
    if file.name.startswith((".", "~")):
        return
    if kind == ".xlsx":
        yield from _in_book(file, problems, point)
    elif kind == ".csv" or (kind in _TEXTS and heading(file.stem) in LAYOUTS):
        name = heading(file.stem)
        if name in LAYOUTS:
            yield lambda: read_csv(file, name)
        else:
            problems.append(_no_such_form(file.name, file.stem))
    elif kind in _OTHER_BOOKS:
        wanted = "an XLSX workbook or CSV; save it as one of these"
        problems.append(Problem(file.name, 0, "", f"a {kind} file", wanted))


def _in_book(path: Path, problems: list[Problem], point: str) -> Iterator[Source]:
    sheets, wrong = read_workbook(path, point)
    problems += wrong
    for sheet in sheets:
        name = heading(sheet.name)
        if name in LAYOUTS:
            yield lambda sheet=sheet, name=name: _of_sheet(sheet, name)  # type: ignore[misc]
        elif any(not cells[0].startswith("#") for _, cells in sheet.lines):
            problems.append(_no_such_form(sheet.file, sheet.name))


def _of_sheet(sheet: Sheet, name: str) -> tuple[Form, tuple[Problem, ...]]:
    return sheet.form(name)


def _no_such_form(file: str, name: str) -> Problem:
    near = nearest(heading(name), tuple(LAYOUTS))
    hint = f"; perhaps {near}" if near else ""
    wanted = f"a form named one of {', '.join(LAYOUTS)}{hint}"
    return Problem(file, 0, "", name, wanted, near or "girths")


def _alone(path: Path) -> tuple[Form, tuple[Problem, ...]]:
    """Read one CSV; its name tells the form, or else its heading does."""
    if heading(path.stem) in LAYOUTS:
        return read_csv(path, heading(path.stem))
    form, wrong = read_csv(path, "offsets")
    fits = [name for name in LAYOUTS if not headings(replace(form, name=name))[1]]
    if len(fits) > 1 and "offsets" in fits:
        fits.remove("offsets")
    if len(fits) != 1:
        raise InputError([_no_such_form(path.name, path.stem)])
    return replace(form, name=fits[0]), wrong
