"""Wishes that name strakes by number, when the number of strakes changes.

A strake is named by its number from the keel. With 18 whole strakes in place of 16 the seventh is
another plank of the hull. A wish that names a strake is then moved to the one that lies nearest
where the old one lay, taken in parts of all whole strakes: the garboard stays the garboard, the
sheer strake the sheer strake, and a seam halfway up stays halfway up. Groups ("topside", "uppers")
and wishes for every strake need nothing.

Vocabulary: *whole* strakes run from end to end; stealers are let in besides and count no number.

Not checked: that the wish can be kept where it comes to lie; planning says that.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from ribband.app.screens.kept import lying
from ribband.survey.rows import Form
from ribband.survey.typed import headings

__all__ = ["Renamed", "Renumbering", "renumbering"]

FORMS = ("lining", "butts")
OF_SEAM = {"fix", "master", "stealer"}  # of the form `lining`: the seam above the strake
NUMBERED = re.compile(r"([1-9]\d?)(s*\d?)")
Cells = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Renamed:
    """A wish that names a strake: its row as it is and as it would be, None where it has to go."""

    form: str
    at: int
    was: Cells
    now: Cells | None
    strake: str
    to: str


@dataclass(frozen=True, slots=True)
class Renumbering:
    """What a new number of whole strakes does to the wishes; `before` is 0 where none is known."""

    before: int
    after: int
    wishes: tuple[Renamed, ...]


def renumbering(path: Path, whole: int) -> Renumbering:
    """Say which wishes would be of other planks with `whole` strakes from end to end.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    on = lying(path, ("hull", "lining"))
    given = _whole_wished(on.forms.get("lining"))
    drawn = 0 if on.lining is None else sum(not s.stealer for s in on.lining.strakes)
    before = given or drawn
    if before in {0, whole}:
        return Renumbering(before, whole, ())
    return Renumbering(before, whole, tuple(_moved(on.forms, before, whole)))


def nearest(number: int, before: int, after: int, *, seam: bool) -> int:
    """Give the strake that lies where strake `number` of `before` lay, of `after`.

    Of a seam the one nearest by its place, never the sheer; of a strake the one over its middle.

    >>> nearest(7, 16, 18, seam=False), nearest(7, 16, 18, seam=True)
    (8, 8)
    >>> [nearest(n, 16, 18, seam=False) for n in (1, 16)], nearest(15, 16, 8, seam=True)
    ([1, 18], 7)
    """
    if number > before:
        return number
    if seam:
        return min(max(round(number * after / before), 1), max(after - 1, 1))
    if number in {1, before}:
        return 1 if number == 1 else after
    return min(int((number - 0.5) / before * after) + 1, after)


def _whole_wished(form: Form | None) -> int:
    """Give the number of whole strakes a form wishes, 0 where it wishes none."""
    rows = [] if form is None else [_said(form, row) for row in form.rows]
    stealers = sum(row.get("wish", "").lower() == "stealer" for row in rows)
    given = [r.get("value", "") for r in rows if r.get("wish", "").lower() == "strakes"]
    return int(given[-1]) - stealers if given and given[-1].isdecimal() else 0


def _said(form: Form, row: Cells) -> dict[str, str]:
    """Give a row's cells by their columns."""
    names = headings(form)[0]
    return {name: cell.strip() for name, cell in zip(names, row, strict=False)}


def _moved(forms: Mapping[str, Form], before: int, after: int) -> Iterator[Renamed]:
    for name in FORMS:
        form = forms.get(name)
        names = headings(form)[0] if form else ()
        if form is None or "strake" not in names:
            continue
        column, taken = names.index("strake"), set[Cells]()
        for at, row in enumerate(form.rows):
            said = _said(form, row)
            own = NUMBERED.fullmatch(said.get("strake", ""))
            if own is None:
                continue
            seam = name == "lining" and said.get("wish", "").lower() in OF_SEAM
            to = f"{nearest(int(own[1]), before, after, seam=seam)}{own[2]}"
            now = (*row[:column], to, *row[column + 1 :])
            place = (to, *(said.get(c, "") for c in ("wish", "frame", "to_frame")))
            if to != said["strake"] or place in taken:
                yield Renamed(name, at, row, None if place in taken else now, said["strake"], to)
            taken.add(place)
