"""Reading the forms `renew` and `photos`; `as_hung` is read by `hung`, the log by the shop."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from ribband.survey.model import Cell
from ribband.survey.rows import Row

__all__ = ["Bad", "Photo", "read_photos", "read_renew"]


@dataclass(frozen=True, slots=True)
class Bad:
    """What is bad of a strake: `first` and `last` are columns of the lining, stem to stern."""

    side: str
    strake: str
    first: str
    last: str
    joint: Literal["butt", "scarf"] = "butt"
    found: str = ""
    cell: Cell | None = None


@dataclass(frozen=True, slots=True)
class Photo:
    """A picture of a plank, by its file's name; `picture` its hash where the job keeps it."""

    plank: str
    file: str
    at: str = ""
    by: str = ""
    note: str = ""
    picture: str = ""


def read_renew(rows: Sequence[Row]) -> tuple[Bad, ...]:
    """Read the form `renew`, whose cells were looked over when it was taken in.

    >>> row = Row({"side": "port", "strake": "7", "from_frame": "9", "to_frame": "16"}, "r.csv", 2)
    >>> read_renew([row])[0].joint
    'butt'
    """
    return tuple(
        Bad(
            str(row.values["side"]), str(row.values["strake"]), str(row.values["from_frame"]),
            str(row.values["to_frame"]),
            "scarf" if row.values.get("joint") == "scarf" else "butt",
            _said(row, "found"), row.cell("strake"),
        )
        for row in rows
    )  # fmt: skip


def read_photos(rows: Sequence[Row]) -> tuple[Photo, ...]:
    """Read the form `photos`.

    >>> read_photos([Row({"plank": "P7-2", "file": "a.jpg"}, "photos.csv", 2)])[0].file
    'a.jpg'
    """
    return tuple(
        Photo(
            str(row.values["plank"]), str(row.values["file"]),
            *(_said(row, column) for column in ("at", "by", "notes", "picture")),
        )
        for row in rows
    )  # fmt: skip


def _said(row: Row, column: str) -> str:
    value = row.values.get(column)
    return "" if value is None else " ".join(str(value).split())
