"""Taking forms in: read, then looked over as a whole before anything is stored.

Every form is read by what its columns want, the survey is put together, and the wishes, stock and
rules are read as the stages will read them. All problems of all forms are gathered and raised
together; only forms without one are ever stored.

Not checked here: whether wishes can be fulfilled; the stages say that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from pathlib import Path
from typing import Any, Literal

from ribband.app.entering.rules import in_force
from ribband.app.plan.making import rows_of
from ribband.app.plan.runner import job_unit
from ribband.errors import InputError, Problem
from ribband.survey.decimals import Decimal
from ribband.survey.rows import Form
from ribband.units import unit_named

__all__ = [
    "INPUTS_FOLDER", "blank_forms", "look_over", "look_over_given", "read_folder", "read_inputs",
]  # fmt: skip

INPUTS_FOLDER = "inputs"


def blank_forms(folder: Path, kind: Literal["csv", "xlsx"], unit: str) -> tuple[Path, ...]:
    """Write blank forms into `folder`, as CSV files or one workbook.

    Raises
    ------
    InputError : no such unit, or there are forms in the folder that would be written over
    """
    from ribband.survey import write_blank_forms
    from ribband.survey.columns import LAYOUTS

    try:
        key = unit_named(unit)
    except ValueError as wrong:
        raise InputError([Problem("forms", 0, "unit", unit, str(wrong), "mm")]) from wrong
    names = ["forms.xlsx"] if kind == "xlsx" else [f"{name}.csv" for name in LAYOUTS]
    there = [name for name in names if (folder / name).exists()]
    if there:
        wanted = "a folder without forms; these may be filled in already"
        found = there[0] if len(there) == 1 else f"{there[0]} and {len(there) - 1} more forms"
        raise InputError([Problem(str(folder), 0, "", found, wanted)])
    return tuple(write_blank_forms(folder, kind, key))


def read_inputs(path: Path, decimal: Decimal = "point") -> dict[str, Form]:
    """Read the forms of a folder, a workbook or a folder of open tables, and look them over.

    Raises
    ------
    InputError : every problem of every form
    """
    forms = read_folder(path, decimal)
    look_over_given(forms)
    return forms


def read_folder(path: Path, decimal: Decimal = "point") -> dict[str, Form]:
    """Read the forms of a folder, a workbook or a folder of open tables, cells as typed.

    Headings are spelt our way; the commas of figures are taken as decimals where that is said.

    Raises
    ------
    InputError : there is nothing, or what is there cannot be read
    """
    from ribband.app.entering.taking import spelt_our_way
    from ribband.survey import read_forms

    if not path.exists():
        wanted = "a folder of forms (CSV), or a workbook (XLSX)"
        raise InputError([Problem(str(path), 0, "", "nothing there", wanted)])
    inside = path / INPUTS_FOLDER
    forms = read_forms(inside if inside.is_dir() else path, decimal)
    return {name: spelt_our_way(form) for name, form in forms.items()}


def look_over(forms: Mapping[str, Form]) -> None:
    """Read everything as the stages will.

    Raises
    ------
    InputError : every problem found, each once
    """
    from ribband.app.entering.all_wrong import every_problem
    from ribband.app.entering.taking import vessel_says
    from ribband.survey.solve import problems_of

    unit = job_unit(forms)
    cells = problems_of(forms) if vessel_says(forms, "unit") else ()
    if problems := every_problem(forms, unit, cells, lambda own: _problems(own, unit)):
        raise InputError(problems)


def look_over_given(forms: Mapping[str, Form]) -> None:
    """Read everything as the stages will; many decimal commas are told once a file.

    Raises
    ------
    InputError : every problem found, each once
    """
    from ribband.survey.decimals import commas_once

    try:
        look_over(forms)
    except InputError as wrong:
        raise InputError(commas_once(forms, wrong.problems)) from None


def _problems(forms: Mapping[str, Form], unit: str) -> Iterator[Problem]:
    for look in _looks(forms, unit):
        try:
            look()
        except InputError as wrong:
            yield from wrong.problems


def _looks(forms: Mapping[str, Form], unit: str) -> Iterator[Callable[[], Any]]:
    from ribband import lining
    from ribband.app.entering import wishes
    from ribband.app.entering.record_forms import record_looks
    from ribband.app.plan.shop_steps import shop_looks
    from ribband.app.plan.timber_steps import boards_of
    from ribband.app.plan.timbers import timbers_of
    from ribband.app.plan.work_steps import work_looks
    from ribband.butts import forms as butts
    from ribband.survey import read_survey
    from ribband.survey.taped import enough
    from ribband.timber import OrderRules, classes_of, read_layings

    yield lambda: enough(read_survey(dict(forms)))
    yield lambda: lining.read_wishes(rows_of(forms, "lining", unit))
    yield lambda: wishes.lining_wishes(rows_of(forms, "lining", unit))
    yield lambda: butts.read_wishes(rows_of(forms, "butts", unit))
    yield lambda: wishes.butt_wishes(rows_of(forms, "butts", unit))
    yield lambda: butts.read_stock(rows_of(forms, "stock", unit))
    yield lambda: boards_of(forms, unit)
    yield lambda: read_layings(rows_of(forms, "layings", unit), _boards(forms))
    yield lambda: classes_of(
        rows_of(forms, "mill", unit), rows_of(forms, "stock", unit), 1.0, OrderRules(), unit
    )
    yield lambda: timbers_of(forms, unit)
    yield from shop_looks(forms, unit)
    yield from work_looks(forms, unit)
    yield from record_looks(forms, unit)
    yield lambda: rows_of(forms, "rules", unit)
    yield lambda: in_force(forms.get("rules"), unit)


def _boards(forms: Mapping[str, Form]) -> tuple[str, ...]:
    """Name the boards of the tally, whether the rest of their rows can be read or not."""
    from ribband.survey.typed import texts

    return texts(forms["boards"], "board") if "boards" in forms else ()
