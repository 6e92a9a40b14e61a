"""Where planks lie among each other: their seats on the lining, and which of them share a seam.

Not checked here: that planks of a strake meet; `ribband.planks.check` does that.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from ribband.lining.model import Lining
from ribband.planks.model import Plank
from ribband.shop.hanging.model import Seat

__all__ = ["Against", "against", "lapped", "seams", "seats"]


@dataclass(frozen=True, slots=True)
class Against:
    """Names of the planks that touch one; empty at the sheer, the rabbet and the hood ends."""

    above: tuple[str, ...]
    below: tuple[str, ...]
    fore: str
    aft: str


def seats(planks: Iterable[Plank], lining: Lining) -> tuple[Seat, ...]:
    """Give the seat of every plank.

    A bay butt lies half a step aft of its frame; a nib lies at its frame.
    """
    column = {name: 2 * k for k, name in enumerate(lining.columns)}
    row = {strake.name: k for k, strake in enumerate(lining.strakes)}
    return tuple(
        Seat(
            plank.name,
            plank.side,
            row[plank.strake],
            _at(plank.fore, plank.fore_landing, column),
            _at(plank.aft, plank.aft_landing, column),
            plank.aft_scarf_mm > 0,
        )
        for plank in planks
    )


def lapped(own: Iterable[Seat]) -> frozenset[str]:
    """Name the planks that the after end of another of these is scarfed over.

    >>> a, b = Seat("P1-1", "port", 0, 0, 6, over=True), Seat("P1-2", "port", 0, 6, 9)
    >>> sorted(lapped([a, b])), sorted(lapped([b]))
    (['P1-2'], [])
    """
    own = tuple(own)
    ends = {(seat.side, seat.row, seat.aft) for seat in own if seat.over}
    return frozenset(seat.plank for seat in own if (seat.side, seat.row, seat.fore) in ends)


def _at(end: str, landing: str, column: dict[str, int]) -> int:
    return column[end] + (landing == "block")


def seams(own: Sequence[Seat]) -> tuple[tuple[str, str], ...]:
    """Give every pair (lower plank, upper plank) that lies edge to edge, each once.

    >>> a, b = Seat("P1-1", "port", 0, 0, 6), Seat("P2-1", "port", 1, 0, 4)
    >>> c = Seat("P3-1", "port", 2, 0, 6)
    >>> seams([a, b, c])
    (('P1-1', 'P2-1'), ('P2-1', 'P3-1'), ('P1-1', 'P3-1'))
    """
    found: dict[tuple[str, str], None] = {}
    for side in dict.fromkeys(seat.side for seat in own):
        its = sorted((s for s in own if s.side == side), key=lambda s: s.row)
        for half in range(min(s.fore for s in its), max(s.aft for s in its)):
            there = [seat.plank for seat in its if seat.fore <= half < seat.aft]
            found |= dict.fromkeys(pairwise(there))
    return tuple(found)


def against(own: Sequence[Seat]) -> dict[str, Against]:
    """Give what every plank lies against, each side apart, from forward.

    >>> a, b = Seat("P1-1", "port", 0, 0, 4), Seat("P1-2", "port", 0, 4, 6)
    >>> c = Seat("P2-1", "port", 1, 0, 6)
    >>> against([a, b, c])["P2-1"].below, against([a, b, c])["P1-2"].fore
    (('P1-1', 'P1-2'), 'P1-1')
    """
    above, below = defaultdict(list), defaultdict(list)
    for low, high in seams(own):
        above[low].append(high)
        below[high].append(low)
    rows = defaultdict(list)
    for seat in sorted(own, key=lambda s: s.fore):
        rows[seat.side, seat.row].append(seat.plank)
    beside = {pair[0]: pair[1] for names in rows.values() for pair in pairwise(names)}
    before = {aft: fore for fore, aft in beside.items()}
    return {
        seat.plank: Against(
            tuple(above[seat.plank]), tuple(below[seat.plank]),
            before.get(seat.plank, ""), beside.get(seat.plank, ""),
        )
        for seat in own
    }  # fmt: skip
