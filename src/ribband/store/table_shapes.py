"""What the open tables look like: columns with type, unit and meaning; keys; links between them.

This is the one truth for the heading of a CSV file and for its Table Schema in
``datapackage.json``. Tables that Ribband cannot fill yet are listed in `NOT_YET` with the reason,
and are not written: an empty table would claim that there is nothing to say.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, Literal

__all__ = ["NOT_YET", "SHAPES", "Column", "Link", "Shape", "schema"]

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

    >>> schema(SHAPES["frames"], frozenset())["primaryKey"]
    ['frame']
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


def _text(name: str, says: str, *one_of: str) -> Column:
    return Column(name, "string", says, one_of)


def _must(name: str, says: str, *one_of: str) -> Column:
    return Column(name, "string", says, one_of, needed=True)


def _number(name: str, says: str) -> Column:
    return Column(name, "number", says)


def _yes(name: str, says: str) -> Column:
    return Column(name, "boolean", says)


SIDE = _must("side", "which side; both = mirrored", "both", "port", "starboard")
STRAKE = _must("strake", "counted from the keel; 6s = a stealer above strake 6")
OF_STRAKE = Link("strake", "strakes", "strake")

_ALL = (
    Shape(
        "frames",
        "a frame",
        (
            _must("frame", "its number as the yard says it"),
            _number("x_mm", "position, from forward to aft"),
            _number("girth_mm", "along the frame, rabbet to sheer"),
            _text("basis", "how the girth is known", "measured", "faired", "between"),
        ),
        ("frame",),
    ),
    Shape(
        "strake_edges",
        "a strake at a frame or hood end it reaches",
        (
            SIDE,
            STRAKE,
            _must("frame", "a frame, or stem or stern for the hood ends"),
            _number("lower_girth_mm", "along the frame from the rabbet to its lower edge"),
            _number("upper_girth_mm", "along the frame from the rabbet to its upper edge"),
            *(
                _number(f"{edge}_{axis}_mm", f"{axis} of the {edge} edge, frame face")
                for edge in ("lower", "upper")
                for axis in "xyz"
            ),
            _number("recorded_width_mm", "width of the old strake of this number, as recorded"),
        ),
        ("side", "strake", "frame"),
        (OF_STRAKE,),
    ),
    Shape(
        "strakes",
        "a strake",
        (
            SIDE,
            STRAKE,
            _text("called", "what it is called"),
            _text("first_frame", "foremost frame or hood end it reaches"),
            _text("last_frame", "aftermost frame or hood end it reaches"),
            _yes("stealer", "it does not run the whole length"),
            _number("width_max_mm", "greatest width square across it"),
            _number("width_min_mm", "least width square across it, its ends included"),
            Column("planks", "integer", "planks in it, one side"),
        ),
        ("side", "strake"),
    ),
    Shape(
        "butts",
        "a butt",
        (
            SIDE,
            STRAKE,
            _must("frame", "the frame it lands on; with block, it stands in the bay aft of it"),
            _must("landing", "what it lands on", "frame", "block"),
            _yes("fixed", "the shipwright fixed it"),
        ),
        ("side", "strake", "frame", "landing"),
        (OF_STRAKE, Link("frame", "frames", "frame")),
    ),
    Shape(
        "planks",
        "a plank",
        (
            _must("plank", "its name: side, strake, number from forward"),
            SIDE,
            STRAKE,
            _text("fore", "a frame, stem or stern"),
            _text("aft", "a frame, stem or stern"),
            _number("length_mm", "along its middle"),
            _number("width_max_mm", "greatest width square across it"),
            _number("width_min_mm", "least width square across it"),
            _number("dressed_mm", "thickness as planed"),
            _number("rough_mm", "thickness as bought"),
            _number("blank_length_mm", "length of the smallest blank it can be got out of"),
            _number("blank_width_mm", "width of the smallest blank"),
            _number("sweep_mm", "bow of its flat shape, the grain following it"),
            _number("area_m2", "of its face"),
            _number("weight_kg", "dressed"),
            _number("steam_min", "time in the steam box; not known yet"),
            _text("board", "the board it is got out of; not known yet"),
            _text("state", "how far it is; not known yet"),
        ),
        ("plank",),
        (OF_STRAKE,),
    ),
    Shape(
        "shapes",
        "a point of a plank's flat outline, in order round it",
        (
            _must("plank", "its name"),
            _must("edge", "round the plank", "lower", "aft", "upper", "fore"),
            Column("point", "integer", "counted along the edge"),
            _number("x_mm", "along the spiling batten from the fore end"),
            _number("y_mm", "square to it, towards the upper edge, of the face on the frames"),
        ),
        ("plank", "edge", "point"),
        (Link("plank", "planks", "plank"),),
    ),
    Shape(
        "spiling",
        "a plank at a frame it crosses",
        (
            _must("plank", "its name"),
            _must("frame", "the frame"),
            _number("along_mm", "along the batten from the fore end to the frame's line"),
            _number("lower_mm", "square off the batten to the lower edge, downward negative"),
            _number("upper_mm", "square off the batten to the upper edge"),
            _number("lower_bevel_deg", "of the lower edge from square to the inner face"),
            _number("upper_bevel_deg", "of the upper edge from square to the inner face"),
            _number("hollow_mm", "backing out of the inner face"),
            _number("twist_deg_per_m", "along the plank"),
            _number("bend_radius_mm", "along the plank; empty where it is straight"),
        ),
        ("plank", "frame"),
        (Link("plank", "planks", "plank"),),
    ),
    Shape(
        "boards",
        "a board of the stack, as tallied",
        (
            _must("board", "its mark"),
            _number("length_mm", "as tallied"),
            _number("width_mm", "mean of the widths tallied: ends once, middle twice"),
            _number("thickness_mm", "as tallied"),
            _text("species", "as tallied"),
            _number("moisture_percent", "water as % of oven-dry weight, as tallied"),
            _number("volume_m3", "length x width x thickness, flaws not deducted"),
            _number("weight_kg", "not known yet"),
            _text("use", "not known yet", "planks", "spare", "bought"),
        ),
        ("board",),
    ),
    Shape(
        "findings",
        "what the program doubts or refuses",
        (
            _must("code", "stage letter and number"),
            _must("severity", "how much it matters", "note", "caution", "fault"),
            _must("stage", "the stage that found it"),
            _text("where", "in the shipwright's words"),
            _text("says", "what was found"),
            _text("source", "key of the bibliography"),
        ),
    ),
)

SHAPES: dict[str, Shape] = {shape.name: shape for shape in _ALL}

NOT_YET: dict[str, str] = {
    "board_outlines": "outlines of boards are not taken in yet",
    "cuts": "planks are not laid on boards yet",
    "order": "the order is not worked out yet",
    "sequence": "the order of work is not worked out yet",
    "log": "no log is kept yet",
}
