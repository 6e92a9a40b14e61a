"""The parts an open table is described with: columns, links and shapes, and its Table Schema."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

__all__ = ["Column", "Link", "Shape", "must", "number", "schema", "text", "yes"]

Kind = Literal["string", "number", "integer", "boolean"]


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its name (the unit in it), what it holds and says; `one_of` limits its words."""

    name: str
    kind: Kind
    says: str
    one_of: tuple[str, ...] = ()
    needed: bool = False

    @property
    def unit(self) -> str:
        """The unit in the name, or empty.

        >>> Column("area_m2", "number", "").unit, Column("species", "string", "").unit
        ('m2', '')
        """
        ending = self.name.rpartition("_")[2]
        return ending if ending in {"mm", "deg", "kg", "min", "m2", "m3", "percent"} else ""


@dataclass(frozen=True, slots=True)
class Link:
    """A column whose values are found in a column of another table."""

    column: str
    table: str
    there: str


@dataclass(frozen=True, slots=True)
class Shape:
    """A table: what one row is, its columns, its key and its links."""

    name: str
    row: str
    columns: tuple[Column, ...]
    key: tuple[str, ...] = ()
    links: tuple[Link, ...] = ()


def schema(shape: Shape, present: frozenset[str]) -> dict[str, Any]:
    """Write a table's shape as a Table Schema; links only to tables that are `present`.

    >>> schema(Shape("frames", "a frame", (must("frame", ""),), ("frame",)), frozenset())
    ... # doctest: +ELLIPSIS
    {'fields': [{'name': 'frame', ...}], 'missingValues': [''], 'primaryKey': ['frame']}
    """
    links = [
        {"fields": [k.column], "reference": {"resource": k.table, "fields": [k.there]}}
        for k in shape.links
        if k.table in present
    ]
    own: dict[str, Any] = {"fields": [_field(c) for c in shape.columns], "missingValues": [""]}
    if shape.key:
        own["primaryKey"] = list(shape.key)
    if links:
        own["foreignKeys"] = links
    return own


def _field(column: Column) -> dict[str, Any]:
    own: dict[str, Any] = {
        "name": column.name,
        "type": column.kind,
        "description": column.says,
    }
    limits: dict[str, Any] = {}
    if column.kind == "boolean":
        own |= {"trueValues": ["true"], "falseValues": ["false"]}
    if column.unit:
        own["unit"] = column.unit
    if column.needed:
        limits["required"] = True
    if column.one_of:
        limits["enum"] = list(column.one_of)
    return own | ({"constraints": limits} if limits else {})


def text(name: str, says: str, *one_of: str) -> Column:
    """Make a column of text; `one_of` limits its words."""
    return Column(name, "string", says, one_of)


def must(name: str, says: str, *one_of: str) -> Column:
    """Make a column of text that is never empty."""
    return Column(name, "string", says, one_of, needed=True)


def number(name: str, says: str) -> Column:
    """Make a column of numbers, the unit in its name."""
    return Column(name, "number", says)


def yes(name: str, says: str) -> Column:
    """Make a column of true and false."""
    return Column(name, "boolean", says)
