"""Wrong cells stood in for, so that what else is wrong on a form shows at the same look.

A cell that cannot be read hides whatever can only be looked over once its row is read. Here each
such cell is given a figure, a choice or a name that reads; *ways* to do it differ, so that what is
wrong in every way is wrong whatever the cell is meant to be.

Not checked here: what is still wrong then; `ribband.app.entering.all_wrong` looks it over.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import replace

from ribband.errors import Problem
from ribband.survey.columns import LAYOUTS, Kind, shown
from ribband.survey.rows import Form
from ribband.survey.typed import headings, kind_at, reads

__all__ = ["WAYS", "hangs_on", "stood_in", "without"]

WAYS = 3  # as many as a form's word ever has meanings that differ (pin, bar, sawn)
_TIMES = (1.0, 5.0, 0.2)  # of the example of a length


def stood_in(form: Form, wrong: Sequence[Problem], unit: str, way: int) -> Form:
    """Give the form with every wrong cell stood in for, in one of the `WAYS`.

    >>> form = Form("gear", ("item", "how_many", "from"), (("planer", "?", "1.3."),), "g", (2,))
    >>> stood_in(form, [Problem("g", 2, "how_many", "?", "")], "mm", 0).rows
    (('planer', '1', '1.3.'),)
    """
    names, bad = headings(form)[0], {(p.row, p.column) for p in wrong if p.file == form.file}
    rows = []
    for number, cells in zip(form.numbers, form.rows, strict=True):
        now = list(cells)
        for at in _in_turn(form, names):
            if at < len(now) and (number, names[at]) in bad:
                now[at] = _stand_in(kind_at(form, tuple(now), names[at]), unit, number, way)
        rows.append(tuple(now))
    return replace(form, rows=tuple(rows))


def without(form: Form, rows: Collection[int]) -> Form:
    """Give the form without some rows, by the numbers the spreadsheet counts them by."""
    kept = [at for at, number in enumerate(form.numbers) if number not in rows]
    return replace(
        form,
        rows=tuple(form.rows[at] for at in kept),
        numbers=tuple(form.numbers[at] for at in kept),
    )


def hangs_on(form: Form, column: str) -> bool:
    """Tell whether what a column holds hangs on the first cell of its row.

    >>> form = Form("lining", ("wish", "value"), (), "lining.csv", ())
    >>> hangs_on(form, "value"), hangs_on(form, "wish")
    (True, False)
    """
    layout = LAYOUTS[form.name]
    if form.name == "offsets":
        return column != "line"
    return any(one.name == column and one.by for one in layout.columns)


def _in_turn(form: Form, names: Sequence[str]) -> Iterator[int]:
    """Give the places of the columns, first the one that others hang on."""
    first = LAYOUTS[form.name].columns[0].name
    yield from sorted(range(len(names)), key=lambda at: names[at] != first)


def _stand_in(kind: Kind | None, unit: str, number: int, way: int) -> str:
    if kind is None:
        return ""
    if kind.choices:
        return kind.choices[way % len(kind.choices)]
    if isinstance(kind.example, str):
        return kind.example if reads(kind.example, kind, unit) else f"row {number}"
    mm, after = kind.example if isinstance(kind.example, tuple) else (kind.example, "")
    tries = (shown((mm * times, after), unit) for times in (_TIMES[way], 1.0))
    return next((text for text in tries if reads(text, kind, unit)), "")
