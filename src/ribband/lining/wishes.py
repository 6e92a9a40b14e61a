"""Reading the `lining` form: what the shipwright wants of the lining out.

Columns: wish, strake, frame, to_frame, value, weight, notes. Lengths may be written in any unit
(`ribband.units`); "strakes", "taper" and "recorded" take a pure number. Not checked here:
whether a strake or frame of that name is there, which only the hull can tell.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import get_args, get_type_hints

from ribband.errors import InputError, Problem
from ribband.lining.model import Wish
from ribband.survey.rows import Row
from ribband.units import parse_length

__all__ = ["read_wishes"]

KINDS: tuple[str, ...] = get_args(get_type_hints(Wish)["kind"])
PURE = {"strakes", "taper", "recorded"}
# kind -> what it cannot do without
NEEDS = {
    "strakes": ("value",),
    "width": ("strake", "frame", "value"),
    "least": ("value",),
    "greatest": ("value",),
    "master": ("strake", "frame", "value"),
    "fix": ("strake", "frame", "value"),
    "taper": ("value",),
    "stealer": ("strake", "frame"),
    "recorded": ("value",),
}
EXAMPLE = {"value": "150", "strake": "4", "frame": "12"}


def read_wishes(rows: Sequence[Row], unit: str = "mm") -> tuple[Wish, ...]:
    """Read the rows of the `lining` form; bare lengths still in text are taken in `unit`.

    Raises
    ------
    InputError : every cell that cannot be used, all at once

    >>> read_wishes([Row({"wish": "strakes", "value": "16"}, "lining.csv", 2)])[0].value
    16.0
    """
    problems: list[Problem] = []
    wishes = [_read(row, unit, problems) for row in rows]
    if problems:
        raise InputError(problems)
    return tuple(wish for wish in wishes if wish is not None)


def _read(row: Row, unit: str, problems: list[Problem]) -> Wish | None:
    kind = row.text("wish").lower()
    if kind not in KINDS:
        problems.append(row.problem("wish", "one of " + ", ".join(KINDS), "width"))
        return None
    missing = [name for name in NEEDS[kind] if not row.text(name)]
    problems += [
        row.problem(name, f"a {name} for the wish {kind!r}", EXAMPLE[name]) for name in missing
    ]
    value = _value(row, kind, unit, problems) if "value" not in missing else 0.0
    weight = _pure(row, "weight", problems) if row.text("weight") else 1.0
    if missing or value is None or weight is None:
        return None
    return Wish(
        kind,  # type: ignore[arg-type]
        value,
        row.text("strake"),
        row.text("frame"),
        row.text("to_frame"),
        weight,
        row.text("notes"),
    )


def _value(row: Row, kind: str, unit: str, problems: list[Problem]) -> float | None:
    found = row.values.get("value")
    if kind == "stealer":
        return 0.0
    if kind in PURE:
        return _in_range(row, kind, _pure(row, "value", problems), problems)
    if isinstance(found, int | float):
        return float(found)
    try:
        length = parse_length(str(found), unit)
    except ValueError as error:
        problems.append(row.problem("value", f"a length ({error})", "150 mm"))
        return None
    if length < 0:
        problems.append(row.problem("value", "a length of 0 or more", "150 mm"))
        return None
    return length


def _in_range(row: Row, kind: str, value: float | None, problems: list[Problem]) -> float | None:
    most = {"strakes": 80.0, "taper": 3.0, "recorded": 1.0}[kind]
    least = {"strakes": 3.0, "taper": 0.05, "recorded": 0.0}[kind]
    if value is None or least <= value <= most:
        return value
    problems.append(
        row.problem("value", f"{least:g} to {most:g} for the wish {kind!r}", f"{most:g}")
    )
    return None


def _pure(row: Row, column: str, problems: list[Problem]) -> float | None:
    try:
        value = float(str(row.values.get(column)))
    except ValueError:
        problems.append(row.problem(column, "a plain number", "1"))
        return None
    if not 0 <= value < 1e6:
        problems.append(row.problem(column, "a plain number of 0 or more", "1"))
        return None
    return value
