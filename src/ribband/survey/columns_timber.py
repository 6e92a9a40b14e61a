"""The forms of the timber: boards in the stack, outlines, wishes for laying, the mill, own figures.

`ribband.survey.columns` takes them among its own; the kinds of cells are its, so they are asked
for when the forms are made. How flaws and more widths are written is read by the tally.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ribband.survey.columns import Layout

__all__ = ["FLAW_EXAMPLE", "timber_layouts"]

FLAW_EXAMPLE = (
    "knot at {1828.8} up {127} size {25.4}; check at butt {228.6}; sap lower edge {25.4}; "
    "shake from {914.4} to {1219.2}"
)
_SAID_EDGES = {"live edges": "live", "one edge sawn": "one sawn", "square": "sawn"}
_SAID_CUTS = {"flat sawn": "flat", "plain": "flat", "quarter sawn": "quarter"}


def timber_layouts() -> tuple[Layout, ...]:
    """Give the layouts of the five forms."""
    from ribband.survey.columns import (  # noqa: PLC0415
        COUNT,
        LONG,
        NOTES,
        TEXT,
        THICKNESS,
        WIDTH,
        Column,
        Layout,
        _choice,
        _length,
        _number,
        _sum,
    )

    return (
        Layout(
            "boards",
            "Boards in the stack",
            (
                Column("board", TEXT, "the mark chalked on it", "A7", needed=True),
                Column("length", LONG, "sound length", 5486.4, needed=True),
                Column("width_butt", WIDTH, "at the butt end", 304.8, needed=True),
                Column("width_middle", WIDTH, "half way", 292.1),
                Column("width_top", WIDTH, "at the top end", 266.7, needed=True),
                Column("thickness", THICKNESS, "as sawn", 44.45, needed=True),
                Column("species", TEXT, "timber", "larch"),
                Column("moisture", _number(0, 200, "16"), "per cent of dry weight", "16"),
                Column(
                    "flaws",
                    TEXT,
                    "kind and place, parted by ;",
                    FLAW_EXAMPLE,
                ),
                Column(
                    "widths",
                    TEXT,
                    "more widths and where",
                    "{279.4} at {1219.2}; {254} at {2438.4}",
                ),
                Column(
                    "edges",
                    _choice("live", "one sawn", "sawn", said=_SAID_EDGES),
                    "live (both), one sawn (the lower one), or sawn",
                    "live",
                ),
                Column("cut", _choice("flat", "quarter", said=_SAID_CUTS), "of the grain", "flat"),
                Column("face", _choice("heart", "bark"), "the face the flaws are on", "heart"),
                Column("bow", _length(0, 1_000, 12.7), "hollow along its length", 12.7),
                Column("price", _sum(1e9, "120"), "of the board, in your money", "120"),
                Column("lies", TEXT, "where it lies", "rack 2, third from top"),
                Column("state", _choice("sound", "barred", "spoilt"), "sound if blank", "sound"),
                Column("log", TEXT, "the tree's log it was sawn from", "L3"),
                Column("leaf", TEXT, "its number in the log, as it came off the saw", "4"),
                NOTES,
            ),
            (
                "flaws: along the board from the butt, up from the lower edge, as",
                "knot at {1828.8} up {127} size {25.4} (by {50.8}); check at butt {228.6}; or top;",
                "sap lower edge {25.4} (from {914.4} to {1524}); or upper, or both;",
                "shake from {914.4} to {1219.2} (up {50.8} to {101.6})",
                "leaf: 1, 2, 3 ... with the marked face the one towards leaf 1; where it is the",
                "other one, turned after the number: 4 turned.",
            ),
        ),
        Layout(
            "outlines",
            "Outlines of boards, where widths do not tell their shape",
            (
                Column("board", TEXT, "its mark, as in the form boards", "A7", needed=True),
                Column("flaw", TEXT, "blank: the board itself; else kind and number", "knot 1"),
                Column("along", _length(0, 150_000, 1828.8), "from the butt", 1828.8, needed=True),
                Column(
                    "across",
                    _length(-5_000, 5_000, 127.0),
                    "from one line along",
                    127.0,
                    needed=True,
                ),
                NOTES,
            ),
            ("One row a point, in order round the ring.",),
        ),
        Layout(
            "layings",
            "Wishes for laying planks on boards",
            (
                Column("plank", TEXT, "its name; blank where a board is barred", "P7-2"),
                Column("board", TEXT, "its mark; blank for pair and book", "A7"),
                Column(
                    "wish",
                    _choice("pin", "bar", "sawn", "pair", "book"),
                    "see below",
                    "pin",
                    needed=True,
                ),
                NOTES,
            ),
            (
                "wish: pin the plank to the board; bar the board for every plank; sawn, the",
                "plank is got out of the board already and stays as it lies; pair, port and",
                "starboard out of one board; book, the two book-matched, out of boards sawn",
                "next to each other from one log. Of pair and book plank may be a whole strake.",
            ),
        ),
        Layout(
            "mill",
            "Boards that can be bought",
            (
                Column("length", LONG, "of a board", 5486.4, needed=True),
                Column("width", WIDTH, "of a board; blank is any the mill saws", 254.0),
                Column("thickness", THICKNESS, "rough; blank is as the planking wants", 50.8),
                Column("count", COUNT, "how many; blank is as many as wanted", "20"),
                Column("price", _sum(1e9, "900"), "of a cubic metre or a board foot", "900"),
                NOTES,
            ),
            ("price: of a board foot where the job is in feet or inches, else of a cubic metre.",),
        ),
        _timbers(),
    )


def _timbers() -> Layout:
    from ribband.survey.columns import (  # noqa: PLC0415
        NOTES,
        TEXT,
        Column,
        Layout,
        _choice,
        _number,
        _sum,
    )  # fmt: skip

    return Layout(
        "timbers",
        "The yard's own figures of a timber: its weight, and how it shrinks",
        (
            Column("timber", TEXT, "as on the form vessel or boards", "larch", needed=True),
            Column(
                "density", _sum(2_000, "610", least=1.0), "of a sample, water in it and all", "610"
            ),
            Column("unit", _choice("kg/m3", "lb/ft3"), "of the density; kg/m3 if blank", "kg/m3"),
            Column("at", _number(0, 30, "15"), "its moisture, per cent; 12 if blank", "15"),
            Column(
                "radial", _number(0.1, 25, "3.8"), "shrinkage across the rings, per cent", "3.8"
            ),
            Column("tangential", _number(0.1, 25, "8.1"), "along the rings, per cent", "8.1"),
            NOTES,
        ),
        (
            "A figure here stands in place of the table's; what is blank is the table's, if it",
            "knows the timber. Shrinkage: from green to oven-dry, of the green size.",
        ),
    )
