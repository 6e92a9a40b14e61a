"""A stage's rules as a table: value in force, our default, range, and where the value is from."""

from __future__ import annotations

from collections.abc import Sequence

from ribband.drawing.book.table import Col, Line, Table
from ribband.drawing.book.words import LEGEND, in_unit, mark, named, range_of, signs, value_of
from ribband.rulebook import Rule
from ribband.sources import source

__all__ = ["COLUMNS", "rule_rows", "rule_table"]

COLUMNS = (
    Col("rule"),
    Col("what it says", share=1.9),
    Col("in force", "right"),
    Col("", ink="faint"),
    Col("default", "right", ink="faint"),
    Col("may be", ink="faint"),
    Col("source", share=1.2, ink="faint"),
)


def rule_rows(rules: Sequence[Rule], unit: str) -> list[Line]:
    """Set each rule as a row; one that is not at its default is said to be changed."""
    return [
        (
            named(r),
            in_unit(r.says, unit),
            value_of(r.value, r.unit, unit),
            mark(r.source),
            value_of(r.default, r.unit, unit) if r.default != r.value else "same",
            range_of(r, unit),
            short_source(r.source),
        )
        for r in rules
    ]


def short_source(key: str) -> str:
    """Name a source in a few words; the list at the end has it in full.

    >>> short_source("lake-underwriters-1866"), short_source("house"), short_source("")
    ('Board of Lake Underwriters 1866', 'house', 'this job')
    """
    if not key:
        return "this job"
    found = source(key)
    if found.mark in {"house", "common practice", "the yard's own"}:
        return found.mark
    if key == "memory":
        return "from memory"
    return " ".join(
        part for part in (found.author or found.title.split(",")[0], found.year) if part
    )


def rule_table(rules: Sequence[Rule], unit: str, title: str, foot: str = "") -> Table:
    """Set one stage's rules, with the legend of the signs under it."""
    under = LEGEND if signs(rules) else ""
    rows = rule_rows(rules, unit)
    return Table(COLUMNS, rows, fives=False, title=title, foot=under + foot, size=8.2)
