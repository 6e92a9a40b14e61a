"""What the open tables look like: columns with type, unit and meaning; keys; links between them.

This is the one truth for the heading of a CSV file and for its Table Schema in
``datapackage.json``. Tables that Ribband cannot fill yet are listed in `NOT_YET` with the reason,
and are not written: an empty table would claim that there is nothing to say.
"""

from __future__ import annotations

from dataclasses import replace

from ribband.store.table_model import Column, Link, Shape, schema
from ribband.store.table_model import must as _must
from ribband.store.table_model import number as _number
from ribband.store.table_model import text as _text
from ribband.store.table_model import yes as _yes
from ribband.store.table_record import RECORD_SHAPES
from ribband.store.table_shop import SHOP_SHAPES
from ribband.store.table_timber import TIMBER_SHAPES
from ribband.store.table_work import WORK_SHAPES

__all__ = ["NOT_YET", "SHAPES", "Column", "Link", "Shape", "schema"]

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
        "a strake at a frame or hood end it reaches, as the planking stands",
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
        "a strake, as the planking stands",
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
        "a butt, as the planking stands",
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
            _number("steam_min", "in the steam box; 0: hung cold, empty: not known"),
            _text("board", "the board it is got out of, or to be bought for it"),
            _text("state", "the furthest step logged, or to be got out; empty: not known"),
        ),
        ("plank",),
        (OF_STRAKE, Link("board", "boards", "board")),
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
            _number("lower_bevel_deg", "of the lower edge's opened outer part, from square"),
            _number("upper_bevel_deg", "of the upper edge's opened outer part, from square"),
            _number("hollow_mm", "backing out of the inner face"),
            _number("twist_deg_per_m", "along the plank"),
            _number("bend_radius_mm", "along the plank; empty where it is straight"),
            _number("lower_within_mm", "the lower edge, 95 of 100, by the survey; or empty"),
            _number("upper_within_mm", "the upper edge, likewise"),
            _number("lower_bevel_within_deg", "the lower bevel; empty too where it is given"),
            _number("upper_bevel_within_deg", "the upper bevel, likewise"),
            _number("lower_fit_deg", "of the lower edge's tight inner part, from square"),
            _number("upper_fit_deg", "of the upper edge's tight inner part, from square"),
        ),
        ("plank", "frame"),
        (Link("plank", "planks", "plank"),),
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

FIRST = ", as first planned: before a side was divided anew"


def _as_planned(shape: Shape) -> Shape:
    """Give the table that keeps what was first planned once another stands."""
    links = tuple(replace(k, table=f"planned_{k.table}") if k.table == "strakes" else k
                  for k in shape.links)  # fmt: skip
    return replace(shape, name=f"planned_{shape.name}", row=shape.row + FIRST, links=links)


_PLANNED = tuple(_as_planned(s) for s in _ALL if s.name in {"strake_edges", "strakes", "butts"})

SHAPES: dict[str, Shape] = {
    shape.name: shape
    for shape in (*_ALL, *_PLANNED, *TIMBER_SHAPES, *SHOP_SHAPES, *WORK_SHAPES, *RECORD_SHAPES)
}

NOT_YET: dict[str, str] = {}
