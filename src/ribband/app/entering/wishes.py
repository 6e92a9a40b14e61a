"""Wishes for the lining and the butts: looked over, and found again when a stage refuses them.

A wish is a line on the form `lining` or `butts`. Which strakes there are is known only after
lining out, and which a frame is crossed by; so a stage may refuse a wish long after it was taken
in, and the line it stands on is then named.

Not checked here: whether wishes can be fulfilled; the stages say that.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace

from ribband.errors import InputError, Problem
from ribband.survey.rows import Row

__all__ = ["butt_wishes", "counted", "lining_wishes", "located", "spelt"]

ENDS = ("stem", "stern")
OF_ONE = {"width", "fix", "master", "stealer"}  # wishes that name one strake, no group


def spelt(rows: Sequence[Row], frames: Sequence[str]) -> tuple[Row, ...]:
    """Give the rows with their frames spelt as the hull spells them."""
    from ribband.survey.places import key_of

    known = {key_of(frame): frame for frame in (*ENDS, *frames)}
    return tuple(
        replace(row, values={**row.values, **{
            column: known.get(key_of(row.values[column]), row.values[column])
            for column in ("frame", "from_frame", "to_frame") if row.values.get(column)
        }})
        for row in rows
    )  # fmt: skip


def lining_wishes(rows: Sequence[Row]) -> None:
    """Refuse wishes for strakes and hood ends that no hull has.

    Raises
    ------
    InputError : every cell that is wrong
    """
    problems = []
    for row in rows:
        wish, strake = row.values["wish"], str(row.values.get("strake") or "")
        if wish in OF_ONE and strake and not counted(strake):
            problems.append(row.problem("strake", "one strake, counted from the keel", "4"))
        frame = str(row.values.get("frame") or "").lower()
        if wish == "taper" and frame not in {"", *ENDS}:
            problems.append(row.problem("frame", "stem, stern or blank, for a taper", "stem"))
    if problems:
        raise InputError(problems)


def butt_wishes(rows: Sequence[Row]) -> None:
    """Refuse butts of strakes that no hull has, and butts at stem and stern.

    Raises
    ------
    InputError : every cell that is wrong
    """
    problems = []
    for row in rows:
        strake = str(row.values.get("strake") or "")
        if strake and not counted(strake):
            problems.append(row.problem("strake", "a strake, counted from the keel", "4"))
        for column in ("frame", "to_frame"):
            if str(row.values.get(column) or "").lower() in ENDS:
                wanted = "a frame; no plank is butted at stem or stern"
                problems.append(row.problem(column, wanted, "12"))
    if problems:
        raise InputError(problems)


def counted(strake: str) -> bool:
    """Tell whether a strake is one that a hull may have.

    >>> counted("12s"), counted("topside")
    (True, False)
    """
    return bool(re.fullmatch(r"[1-9]\d?s*\d?", strake))


@contextmanager
def located(rows: Sequence[Row]) -> Iterator[None]:
    """Put file and row into what a stage says of wishes it was given by these rows."""
    try:
        yield
    except InputError as wrong:
        left = list(rows)
        raise InputError([_placed(problem, left) for problem in wrong.problems]) from wrong


def _placed(problem: Problem, left: list[Row]) -> Problem:
    """Find the first row left that the problem is about; it may be about no row at all."""
    if problem.row or problem.file not in {"lining", "butts"}:
        return problem
    row = next((row for row in left if _about(problem, row)), None)
    if row is None:
        return problem
    left.remove(row)
    column = "strake" if problem.column == "stealer" else problem.column
    return replace(problem, file=row.file, row=row.number, column=column)


def _about(problem: Problem, row: Row) -> bool:
    strake = str(row.values.get("strake") or "")
    if problem.column == "stealer":
        return row.values["wish"] == "stealer" and problem.found.startswith(f"{strake} ")
    text = str(row.values.get(problem.column) or "")
    if problem.found == text:
        return True
    landing = row.values.get("landing") or "frame"
    return problem.found == f"{landing} {text}" and f"strake {strake} " in problem.wanted
