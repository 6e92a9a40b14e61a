"""Every wrong cell of all forms at one look, those too that a wrong cell beside them hides.

*Looks*: readings of the forms as the stages will read them, each of which stops at forms with a
cell that cannot be read at all. So such cells are stood in for, in several ways: what is wrong in
a row of theirs whatever they may turn out to be is told with them, and so is what is wrong in
other rows whether such rows are there or not. What only may be wrong waits until they are mended.

Not checked here: what a wrong cell was meant to say.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from ribband.errors import Problem
from ribband.survey.rows import Form
from ribband.survey.stand_in import WAYS, hangs_on, stood_in, without

__all__ = ["every_problem"]

Forms = Mapping[str, Form]
Look = Callable[[Forms], Iterable[Problem]]


def every_problem(
    forms: Forms, unit: str, cells: Sequence[Problem], look: Look
) -> tuple[Problem, ...]:
    """Give what is wrong: `cells` that cannot be read, and whatever `look` finds beyond them.

    `look` gives the problems of forms whose cells can all be read. Where a heading or a file is
    wrong nothing is stood in for.
    """
    if not cells:
        return tuple(dict.fromkeys(look(forms)))
    if not all(_in_a_row(problem, forms) for problem in cells):
        return tuple(dict.fromkeys([*cells, *look(forms)]))
    spoilt = {(problem.file, problem.row) for problem in cells}
    left = look({name: _left(form, spoilt) for name, form in forms.items()})
    ways = [
        tuple(look({name: stood_in(form, cells, unit, way) for name, form in forms.items()}))
        for way in range(WAYS)
    ]
    sure = [p for p in ways[0] if all(p in other for other in ways[1:])]
    whole = set(left)
    more = [
        p for p in sure if (_hidden(p, cells, forms) if (p.file, p.row) in spoilt else p in whole)
    ]
    return tuple(dict.fromkeys([*cells, *more]))


def _in_a_row(problem: Problem, forms: Forms) -> bool:
    return any(form.file == problem.file and problem.row in form.numbers for form in forms.values())


def _left(form: Form, spoilt: set[tuple[str, int]]) -> Form:
    return without(form, {row for file, row in spoilt if file == form.file})


def _hidden(problem: Problem, cells: Sequence[Problem], forms: Forms) -> bool:
    """Tell whether it is of a cell of its own, and of none whose meaning a wrong cell decides."""
    wrong = {p.column for p in cells if (p.file, p.row) == (problem.file, problem.row)}
    form = next(form for form in forms.values() if form.file == problem.file)
    return problem.column not in wrong and not (
        hangs_on(form, problem.column) and any(not hangs_on(form, c) for c in wrong)
    )
