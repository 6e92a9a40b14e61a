"""The forms of the plan of work: rates, crew, gear, calendar, supplies and the log.

`ribband.survey.columns` takes them among its own; the kinds of cells are its, so they are asked
for when the forms are made. What the words mean (skills, days, dates) is read by the shop.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ribband.survey.columns import Layout

__all__ = ["work_layouts"]

OPERATIONS = (
    "pattern", "get out", "plane", "bevel", "hollow", "steam", "hang", "fasten", "bung", "caulk",
)  # fmt: skip
UNITS = (
    "plank", "steamed plank", "frame", "metre", "foot", "square metre", "square foot",
    "seam metre", "seam foot",
)  # fmt: skip
STATES = (
    "patterned", "got out", "planed", "bevelled", "hollowed", "steamed", "hung", "fastened",
    "bunged", "caulked", "spoilt",
)  # fmt: skip
SOLD_BY = (
    "kg", "lb", "metre", "foot", "litre", "us gallon", "imperial gallon", "piece", "hour",
    "man-hour", "percent", "delivery", "sum",
)  # fmt: skip
GEAR = ("steam box", "planer", "crane", "staging")


def work_layouts() -> tuple[Layout, ...]:
    """Give the layouts of the six forms."""
    return (_rates(), _crew(), _gear(), _calendar(), _supplies(), _log())


def _rates() -> Layout:
    from ribband.survey.columns import NOTES, Column, Layout, _choice, _number  # noqa: PLC0415

    return Layout(
        "rates",
        "The yard's own hours of work",
        (
            Column("operation", _choice(*OPERATIONS), "what is done", "caulk", needed=True),
            Column("rate", _number(0, 10_000, "0.07"), "man-hours a unit", "0.07", needed=True),
            Column("unit", _choice(*UNITS), "what the rate is of", "seam foot", needed=True),
            Column("hands", _number(1, 50, "1", whole=True), "at it at once", "1"),
            Column("scatter", _number(0, 5, "0.25"), "from plank to plank, as a part", "0.25"),
            NOTES,
        ),
        (
            "Any row of an operation stands in place of all of our rates of it; rows add up.",
            "unit: one of " + ", ".join(UNITS),
        ),
    )


def _crew() -> Layout:
    from ribband.survey.columns import NOTES, TEXT, Column, Layout, _sum  # noqa: PLC0415

    return Layout(
        "crew",
        "The hands, and what each can do",
        (
            Column("name", TEXT, "as the yard calls them", "Ann", needed=True),
            Column("skills", TEXT, "all, all but ..., or some, parted by ;", "all but caulk"),
            Column("days", TEXT, "blank is every day worked", "mon-thu"),
            Column("from", TEXT, "first day, year first", "2027-03-01"),
            Column("to", TEXT, "last day", "2027-06-30"),
            Column("hours", TEXT, "by the clock; blank is the whole day", "7:30-12:00"),
            Column("wage", _sum(1e6, "24"), "an hour, in your money", "24"),
            NOTES,
        ),
        (
            "skills: of " + ", ".join(OPERATIONS),
            "A name again is the same hand on other days: back after a sickness, say.",
        ),
    )


def _gear() -> Layout:
    from ribband.survey.columns import (  # noqa: PLC0415
        NOTES,
        TEXT,
        Column,
        Layout,
        _choice,
        _length,
        _number,
    )  # fmt: skip

    return Layout(
        "gear",
        "What there is to work with",
        (
            Column("item", _choice(*GEAR), "what it is", "steam box", needed=True),
            Column(
                "how_many",
                _number(0, 1_000, "1", whole=True),
                "boxes, machines; staging: planks worked on at once",
                "1",
                needed=True,
            ),
            Column("length", _length(500, 40_000, 9_753.6), "of a steam box, inside", 9_753.6),
            Column("width", _length(50, 3_000, 304.8), "of it, inside", 304.8),
            Column("height", _length(50, 3_000, 457.2), "of it, inside", 457.2),
            Column("from", TEXT, "first day it is there, year first", "2027-03-01"),
            Column("to", TEXT, "last day", "2027-06-30"),
            NOTES,
        ),
        (
            "A steam box with its three sizes tells how many planks go in at once.",
            "Rows of an item add up. Out of order for some days: a row to the day before, and one",
            "from the day it is back.",
        ),
    )


def _calendar() -> Layout:
    from ribband.survey.columns import NOTES, TEXT, YES_NO, Column, Layout  # noqa: PLC0415

    return Layout(
        "calendar",
        "Days off, and days worked that else would not be",
        (
            Column("date", TEXT, "year first", "2027-12-24", needed=True),
            Column("to_date", TEXT, "last day, where it is more than one", "2028-01-02"),
            Column("off", YES_NO, "no: worked all the same; yes if blank", "yes"),
            NOTES,
        ),
    )


def _supplies() -> Layout:
    from ribband.survey.columns import (  # noqa: PLC0415
        NOTES,
        TEXT,
        Column,
        Layout,
        _choice,
        _sum,
    )  # fmt: skip

    return Layout(
        "supplies",
        "The yard's prices of what is used up, machines, overheads and transport",
        (
            Column("item", TEXT, "see below, or a word of your own", "cotton", needed=True),
            Column("price", _sum(1e9, "18"), "in your money", "18", needed=True),
            Column("amount", _sum(1e6, "1", least=0.001), "what is had for it; 1 if blank", "1"),
            Column("unit", _choice(*SOLD_BY), "of the amount", "lb", needed=True),
            Column("expected", _sum(1e6, "4"), "deliveries, for all of her", "4"),
            Column("so_far", _sum(1e6, "1"), "deliveries that came", "1"),
            NOTES,
        ),
        (
            "item: cotton or oakum by weight or length; compound, primer or bedding by measure;",
            "bungs or butt blocks by the piece; steam box, box fuel, planer or crane by the hour;",
            "overheads by the percent (of the wages) or the man-hour; transport by the delivery.",
            "A sum stands for all of an item; of your own words (sandpaper) only a sum can be.",
        ),
    )


def _log() -> Layout:
    from ribband.survey.columns import NOTES, TEXT, Column, Layout, _choice  # noqa: PLC0415

    return Layout(
        "log",
        "What has been done to which plank",
        (
            Column("plank", TEXT, "its name", "P7-2", needed=True),
            Column("state", _choice(*STATES), "what it has come to", "hung", needed=True),
            Column("at", TEXT, "date, or date and clock", "2027-03-02 14:30"),
            Column("by", TEXT, "the hands, parted by ;", "Ann; Bo"),
            Column("note", TEXT, "what is worth telling", "seam tight forward"),
            NOTES,
        ),
        ("spoilt: the plank begins again; its pattern is kept.",),
    )
