"""The old planking beside the new: width, thickness, timber and fastening, place by place.

*Place*: where an old strake was measured, at a frame. What is new there is of the plank that
crosses it now; where none does, the old plank stays, or no strake of that number reaches so far.
A side recorded as both is set against port. Nothing is guessed: what was not recorded is blank.

Not checked: whether the same number is the same place on the frame; where the number of strakes
has changed it is not.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from ribband.lining.model import Lining
from ribband.planks.model import Plank
from ribband.record.keeping import Got
from ribband.record.log import columns_of
from ribband.survey.model import OldWidth

__all__ = ["OldNew", "StrakeOldNew", "old_and_new", "old_by_strake"]


@dataclass(frozen=True, slots=True)
class OldNew:
    """A place of the old planking; mm, None or blank where not recorded or not known.

    plank : the new plank there; blank where there is none
    """

    side: str
    strake: str
    frame: str
    old_mm: float
    new_mm: float | None
    old_thick_mm: float | None
    new_thick_mm: float | None
    old_timber: str
    new_timber: str
    old_fastening: str
    new_fastening: str
    condition: str
    plank: str

    @property
    def stays(self) -> bool:
        """Tell whether the old plank stays there."""
        return self.new_mm is not None and not self.plank


@dataclass(frozen=True, slots=True)
class StrakeOldNew:
    """A strake's timber, thickness and fastening, old and new: all that differs, with its places.

    old_thick_mm, new_thick_mm : least and greatest; empty where not known
    new_timber, new_fastening : "stays" where the old planks do, all of them
    """

    side: str
    strake: str
    old_thick_mm: tuple[float, ...]
    new_thick_mm: tuple[float, ...]
    old_timber: str
    new_timber: str
    old_fastening: str
    new_fastening: str
    condition: str


def old_and_new(
    old: Sequence[OldWidth],
    linings: Mapping[str, Lining],
    planks: Sequence[Plank],
    got: Mapping[str, Got],
) -> tuple[OldNew, ...]:
    """Set every recorded place beside what is there now, in the order it was recorded.

    Parameters
    ----------
    linings : by side, port and starboard, as they are now
    planks : the new ones, of both sides or of port where they stand for both
    got : what each is got out of; it must answer for every plank
    """
    return tuple(_place(one, linings, planks, got) for one in old)


def _place(
    one: OldWidth, linings: Mapping[str, Lining], planks: Sequence[Plank], got: Mapping[str, Got]
) -> OldNew:
    side = "port" if one.side == "both" else one.side
    lining = linings[side]
    plank = _plank_at(one, side, lining, planks)
    own = got[plank.name] if plank else Got()
    return OldNew(
        one.side, one.strake, one.frame, one.width_mm, _width(lining, one),
        one.thickness_mm, (plank.dressed_mm or None) if plank else None,
        one.timber, own.species, one.fastening, own.fastening, one.condition,
        plank.name if plank else "",
    )  # fmt: skip


def _plank_at(one: OldWidth, side: str, lining: Lining, planks: Sequence[Plank]) -> Plank | None:
    """Find the plank that crosses the place; of two that meet there, the forward one."""
    if one.frame not in lining.columns:
        return None
    column = lining.columns.index(one.frame)
    there = (
        plank
        for plank in planks
        if plank.strake == one.strake
        and plank.side in {side, "both"}
        and columns_of(plank, lining)[column]
    )
    return min(there, key=lambda plank: plank.number, default=None)


def _width(lining: Lining, one: OldWidth) -> float | None:
    names = [strake.name for strake in lining.strakes]
    if one.strake not in names or one.frame not in lining.columns:
        return None
    row, column = names.index(one.strake), lining.columns.index(one.frame)
    width = float(lining.width_mm[row, column])
    return width if math.isfinite(width) else None


def old_by_strake(rows: Iterable[OldNew]) -> tuple[StrakeOldNew, ...]:
    """Gather places by strake, the lowest first; nothing where only widths were recorded."""
    found: dict[tuple[str, str], list[OldNew]] = {}
    for row in rows:
        found.setdefault((row.side, row.strake), []).append(row)
    told = any(
        row.old_timber or row.old_fastening or row.condition or row.old_thick_mm
        for own in found.values()
        for row in own
    )
    return tuple(_strake(own) for own in found.values()) if told else ()


def _strake(own: Sequence[OldNew]) -> StrakeOldNew:
    def said(name: str) -> str:
        return _words([(row.frame, str(getattr(row, name))) for row in own])

    def new(name: str) -> str:
        if all(row.stays for row in own):
            return "stays"
        return said(name) + (" where renewed" if any(row.stays for row in own) else "")

    return StrakeOldNew(
        own[0].side, own[0].strake,
        _ends(row.old_thick_mm for row in own), _ends(row.new_thick_mm for row in own),
        said("old_timber"), new("new_timber"), said("old_fastening"), new("new_fastening"),
        said("condition"),
    )  # fmt: skip


def _ends(values: Iterable[float | None]) -> tuple[float, ...]:
    known = [value for value in values if value is not None]
    return tuple(dict.fromkeys((min(known), max(known)))) if known else ()


def _words(told: Sequence[tuple[str, str]]) -> str:
    """Say what was recorded once, or with its frames where it differs from place to place.

    >>> _words([("2", "larch"), ("4", ""), ("6", "larch")])
    'larch'
    >>> _words([("2", "sound"), ("4", "soft at the lower edge"), ("6", "sound")])
    'sound (2, 6); soft at the lower edge (4)'
    """
    at: dict[str, list[str]] = {}
    for frame, words in told:
        if words:
            at.setdefault(words, []).append(frame)
    if len(at) < 2:
        return next(iter(at), "")
    return "; ".join(f"{words} ({', '.join(frames)})" for words, frames in at.items())
