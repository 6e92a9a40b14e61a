"""How a rule is written down: a value with its default, range, unit, words and source.

A stage's `rules.py` is a frozen dataclass whose fields are made by `rule`. The same declaration
feeds the solver, the checker, the paper and the form, so there is one truth for each number.

>>> from dataclasses import dataclass
>>> @dataclass(frozen=True)
... class Rules:
...     spaces: int = rule(4, 1, 12, "frame spaces", "Adjacent strakes.", "common-practice")
>>> describe(Rules())[0].says
'Adjacent strakes.'
>>> with_values(Rules(), {"spaces": 3}).spaces
3
>>> with_values(Rules(), {"spaces": 40})
Traceback (most recent call last):
    ...
ribband.errors.InputError: rules, spaces: found '40'; wanted 1 to 12 frame spaces (e.g. 4)
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import MISSING, Field, dataclass, field, fields, replace
from typing import TYPE_CHECKING, Any, ClassVar, Protocol, TypeVar

from ribband.errors import InputError, Problem

__all__ = ["Rule", "describe", "rule", "with_values"]

if TYPE_CHECKING:

    class _Rules(Protocol):
        __dataclass_fields__: ClassVar[dict[str, Field[Any]]]


R = TypeVar("R", bound="_Rules")


@dataclass(frozen=True, slots=True)
class Rule:
    """A rule as it is shown: `value` is in force, `default` is ours."""

    name: str
    value: Any
    default: Any
    least: Any
    most: Any
    unit: str
    says: str
    source: str


def rule(  # noqa: PLR0917 - read as a line of a table
    default: Any, least: Any, most: Any, unit: str, says: str, source: str
) -> Any:
    """Declare a rule as a dataclass field.

    Parameters
    ----------
    default, least, most : the value and its closed range; None for no limit on that side
    unit : "mm", "rad", "" for a pure number, or a trade word such as "frame spaces"
    says : one sentence for the paper
    source : key of the bibliography (`common-practice`, `house`, `memory` are keys too)
    """
    meta = {"least": least, "most": most, "unit": unit, "says": says, "source": source}
    return field(default=default, metadata=meta)


def describe(rules: _Rules) -> tuple[Rule, ...]:
    """List the rules of a stage in the order they are declared."""
    return tuple(_shown(rules, f) for f in fields(rules) if "says" in f.metadata)


def with_values(rules: R, values: Mapping[str, Any], file: str = "rules") -> R:
    """Return `rules` with `values` put in; names and ranges are checked, all problems at once.

    Raises
    ------
    InputError : an unknown name, or a value outside its range
    """
    known = {f.name: f for f in fields(rules) if "says" in f.metadata}
    problems = [
        problem
        for name, value in values.items()
        if (problem := _problem(known.get(name), name, value, sorted(known), file))
    ]
    if problems:
        raise InputError(problems)
    return replace(rules, **values)


def _shown(rules: _Rules, f: Field[Any]) -> Rule:
    default = None if f.default is MISSING else f.default
    return Rule(name=f.name, value=getattr(rules, f.name), default=default, **f.metadata)


def _problem(
    f: Field[Any] | None, name: str, value: Any, known: list[str], file: str
) -> Problem | None:
    if f is None:
        return Problem(file, 0, "rule", name, "one of " + ", ".join(known))
    least, most, unit = (f.metadata[key] for key in ("least", "most", "unit"))
    if value is None or isinstance(value, str):
        return None
    if (least is not None and not value >= least) or (most is not None and not value <= most):
        span = f"{least} to {most}" if most is not None else f"{least} or more"
        return Problem(file, 0, name, str(value), f"{span} {unit}".strip(), str(f.default))
    return None
