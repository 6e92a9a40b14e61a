"""The forms of the record: seams measured as hung, planks renewed, and photographs.

`ribband.survey.columns` takes them among its own; the kinds of cells are its, so they are asked
for when the forms are made.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ribband.survey.columns import Kind, Layout

__all__ = ["record_layouts"]


def record_layouts() -> tuple[Layout, ...]:
    """Give the layouts of the three forms."""
    return (_as_hung(), _renew(), _photos())


def _as_hung() -> Layout:
    from ribband.survey.columns import GIRTH, NOTES, TEXT, Column, Layout, _choice  # noqa: PLC0415

    return Layout(
        "as_hung",
        "Seams measured on planks that hang",
        (
            Column("side", _one_side(), "port or starboard", "port", needed=True),
            Column("strake", TEXT, "the plank's, counted from the keel", "4", needed=True),
            Column("edge", _choice("upper", "lower"), "upper if blank", "upper"),
            Column("frame", TEXT, "frame, stem or stern", "12", needed=True),
            Column("girth", GIRTH, "along the frame from the rabbet", 711.2, may_gap=True),
            Column("at", TEXT, "day it was measured, or day and clock", "2027-03-02"),
            NOTES,
        ),
        (
            "girth: tape held to the frame, from the rabbet to that edge of the hung plank.",
            "at: planks cut later follow it; blank: measured after all that is cut so far.",
        ),
    )


def _renew() -> Layout:
    from ribband.survey.columns import NOTES, TEXT, Column, Layout, _choice  # noqa: PLC0415

    return Layout(
        "renew",
        "Planking to be renewed on a hull as she is recorded",
        (
            Column("side", _one_side(), "port or starboard", "port", needed=True),
            Column("strake", TEXT, "counted from the keel", "7", needed=True),
            Column("from_frame", TEXT, "first frame of what is bad; or stem", "9", needed=True),
            Column("to_frame", TEXT, "last frame of it; or stern", "16", needed=True),
            Column("joint", _choice("butt", "scarf"), "butt if blank", "butt"),
            Column("found", TEXT, "what is wrong with it", "rot behind the clamp"),
            NOTES,
        ),
        ("The renewal may reach further: to an old butt, or to where a new one may stand.",),
    )


def _photos() -> Layout:
    from ribband.survey.columns import NOTES, TEXT, Column, Layout  # noqa: PLC0415

    return Layout(
        "photos",
        "Photographs of planks",
        (
            Column("plank", TEXT, "its name", "P7-2", needed=True),
            Column("file", TEXT, "the picture's file", "p7-2 frame 14.jpg", needed=True),
            Column("at", TEXT, "date, or date and clock", "2027-03-02"),
            Column("by", TEXT, "who took it", "Ann"),
            Column("picture", TEXT, "mark of the picture kept in the job; the program puts it"),
            NOTES,
        ),
        ("picture: leave it blank; without it only the file's name is known.",),
    )


def _one_side() -> Kind:
    from ribband.survey.columns import _SAID_SIDES, _choice  # noqa: PLC0415

    return _choice("port", "starboard", said=_SAID_SIDES)
