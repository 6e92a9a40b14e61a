"""Reading the forms `butts` and `stock`: wishes of the shipwright, and lengths to be had.

Strakes and frames are only names here; `ribband.butts.ways` looks them up on the vessel.
"""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from ribband.butts.model import ButtWish
from ribband.errors import InputError, Problem
from ribband.hull.model import Floats
from ribband.survey.rows import Row

__all__ = ["read_stock", "read_wishes"]


def read_wishes(rows: Sequence[Row]) -> tuple[ButtWish, ...]:
    """Read the form `butts`.

    Raises
    ------
    InputError : every cell that is wrong

    >>> row = Row({"wish": "forbid", "frame": "3", "to_frame": "5"}, "butts.csv", 2)
    >>> read_wishes([row])[0].kind
    'forbid'
    """
    problems = [p for row in rows for p in _wrong_wish(row)]
    if problems:
        raise InputError(problems)
    return tuple(
        ButtWish(
            kind=row.values["wish"],
            strake=row.text("strake"),
            frame=row.text("frame"),
            to_frame=row.text("to_frame"),
            landing="block" if row.text("landing") == "block" else "frame",
            reason=row.text("reason"),
        )
        for row in rows
    )


def read_stock(rows: Sequence[Row]) -> tuple[Floats, NDArray[np.int64]]:
    """Read the form `stock`: lengths (n,) in mm, increasing, and counts (n,), -1 = enough.

    Rows of the same length are added up. Counts are boards for the whole vessel.

    Raises
    ------
    InputError : every cell that is wrong

    >>> read_stock([Row({"length": 5000.0, "count": None}, "stock.csv", 2)])
    (array([5000.]), array([-1]))
    """
    problems = [p for row in rows for p in _wrong_stock(row)]
    if problems:
        raise InputError(problems)
    have: dict[float, int] = {}
    for row in rows:
        length, count = float(row.values["length"]), row.values.get("count")
        old = have.get(length, 0)
        have[length] = -1 if count is None or old < 0 else old + int(count)
    lengths = sorted(have)
    return np.array(lengths, dtype=float), np.array([have[x] for x in lengths], dtype=np.int64)


def _wrong_wish(row: Row) -> list[Problem]:
    kind, wrong = row.text("wish"), []

    def say(column: str, wanted: str, example: str) -> None:
        wrong.append(row.problem(column, wanted, example))

    if kind not in {"fix", "forbid"}:
        say("wish", "fix or forbid", "fix")
    if not row.text("frame"):
        say("frame", "a frame's number", "12")
    if kind == "fix" and not row.text("strake"):
        say("strake", "the strake whose butt is fixed", "7")
    if row.text("landing") not in {"", "frame", "block"}:
        say("landing", "frame or block", "frame")
    return wrong


def _wrong_stock(row: Row) -> list[Problem]:
    length, count, wrong = row.values.get("length"), row.values.get("count"), []
    if length is None or not length > 0:
        wrong.append(row.problem("length", "a length", "18-0-0"))
    if count is not None and not (count >= 0 and count == int(count)):
        wrong.append(row.problem("count", "a whole number", "12"))
    return wrong
