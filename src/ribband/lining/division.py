"""A division: which strakes there are, where each begins and ends, and how wide it should be.

*Row* i of S + 1 is a seam: 0 the rabbet, S the sheer; strake k lies between rows k and k + 1. A
*stealer* is a strake that stands only between its nib and an end (or between two nibs); forward
or aft of that its upper seam lies on its lower. Lines are numbered forward to aft; a stealer is
carried to one line beyond its nib, so that the nib on its frame lies between two lines.

Not checked: that two stealers do not lie one upon another.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats, Hull
from ribband.lining.model import Strake
from ribband.lining.rules import LiningRules

__all__ = ["Division", "Stealer", "division_of", "strakes_of"]

Ints = NDArray[np.int64]


@dataclass(frozen=True, slots=True, order=True)
class Stealer:
    """A stealer above the whole strake `above` (0 = garboard), between frames `fore` and `aft`.

    -1 for `fore` runs it to the stem, and the number of frames for `aft` to the stern.
    """

    above: int
    fore: int
    aft: int


@dataclass(frozen=True, slots=True, eq=False)
class Division:
    """S strakes on L lines and F frames.

    first, last : (S,) lines a strake is solved on; on_frame : (S, F) where it stands
    unknown : (S + 1, L) number of the unknown of each seam on each line, -1 where held
    share : (S, L) width wanted, against a bottom strake
    pairs : (P, 3) line, strake and the next strake present above it
    """

    whole: int
    stealers: tuple[Stealer | None, ...]
    first: Ints
    last: Ints
    on_frame: NDArray[np.bool_]
    unknown: Ints
    unknowns: int
    share: Floats
    pairs: Ints

    @property
    def strakes(self) -> int:
        """How many strakes, stealers with them."""
        return len(self.first)

    def present(self) -> NDArray[np.bool_]:
        """Tell (S, L) where each strake is solved for."""
        line = np.arange(self.unknown.shape[1])
        return (line >= self.first[:, None]) & (line <= self.last[:, None])


def division_of(
    hull: Hull, rules: LiningRules, whole: int, stealers: tuple[Stealer, ...], nib: float
) -> Division:
    """Lay out `whole` strakes and `stealers`; `nib` is the nib's width against a mean strake."""
    order = _order(whole, stealers)
    u = hull.lines.u[:, 0]
    places = [_place(hull, s, (i + 0.5) / len(order)) for i, s in enumerate(order)]
    first = np.array([np.searchsorted(u, p[0], "right") - 1 if p else 0 for p in places])
    last = np.array([np.searchsorted(u, p[1], "left") if p else len(u) - 1 for p in places])
    first, last = np.clip(first, 0, len(u) - 4), np.clip(last, 3, len(u) - 1)
    frame = np.arange(len(hull.frames.names))
    on_frame = np.array([(frame >= s.fore) & (frame <= s.aft) if s else frame >= 0 for s in order])
    line = np.arange(len(u))
    present = (line >= first[:, None]) & (line <= last[:, None])
    unknown, count = _number(present)
    share = _shares(rules, order) * np.ones((1, len(u)))
    for k, (stealer, place) in enumerate(zip(order, places, strict=True)):
        if stealer and place:
            _taper(share, k, hull.lines.x_mm, _at(hull, place), nib)
    return Division(whole, order, first, last, on_frame, unknown, count, share, _pairs(present))


def strakes_of(division: Division, hull: Hull) -> tuple[Strake, ...]:
    """Name the strakes, keel to sheer: "1", "2", ... and "6s" for a stealer above 6."""
    names = hull.frames.names
    head = "stem" if hull.has_stem else names[0]
    tail = "stern" if hull.has_stern else names[-1]
    found = []
    number = 0
    for k, stealer in enumerate(division.stealers):
        number += stealer is None
        called = _called(k, number - 1, division)
        if stealer is None:
            found.append(Strake(str(number), called, head, tail))
            continue
        fore = names[stealer.fore] if stealer.fore >= 0 else head
        aft = names[stealer.aft] if stealer.aft < len(names) else tail
        nib = fore if stealer.fore >= 0 else aft
        found.append(Strake(f"{number}s", called, fore, aft, True, nib))
    return tuple(found)


def _order(whole: int, stealers: tuple[Stealer, ...]) -> tuple[Stealer | None, ...]:
    order: list[Stealer | None] = []
    for k in range(whole):
        order.append(None)
        order.extend(s for s in sorted(stealers) if s.above == k)
    return tuple(order)


def _place(hull: Hull, stealer: Stealer | None, height: float) -> tuple[float, float] | None:
    """Where a stealer stands in u, at about `height` of the girth."""
    if stealer is None:
        return None
    at = round(height * (hull.frames.u.shape[1] - 1))
    frames = len(hull.frames.names)
    fore = hull.frames.u[stealer.fore, at] if stealer.fore >= 0 else -1.0
    aft = hull.frames.u[stealer.aft, at] if stealer.aft < frames else 2.0
    return float(fore), float(aft)


def _at(hull: Hull, place: tuple[float, float]) -> tuple[float, float]:
    """Turn u into x, far away for an end that is no nib."""
    u, x = hull.lines.u[:, 0], hull.lines.x_mm
    fore = float(np.interp(place[0], u, x)) if place[0] >= 0 else -np.inf
    aft = float(np.interp(place[1], u, x)) if place[1] <= 1 else np.inf
    return fore, aft


def _number(present: NDArray[np.bool_]) -> tuple[Ints, int]:
    """Give each unknown seam a number, line by line; an absent strake's lies on the one below."""
    strakes, lines = present.shape
    unknown = np.full((strakes + 1, lines), -1)
    count = 0
    for line in range(lines):
        for row in range(1, strakes):
            if not present[row - 1, line]:
                unknown[row, line] = unknown[row - 1, line]
            elif present[row:, line].any():
                unknown[row, line] = count
                count += 1
    return unknown, count


def _pairs(present: NDArray[np.bool_]) -> Ints:
    rows = []
    for line in range(present.shape[1]):
        here = np.flatnonzero(present[:, line])
        rows.append(np.stack([np.full(len(here) - 1, line), here[:-1], here[1:]], axis=1))
    return np.concatenate(rows)


def _shares(rules: LiningRules, order: tuple[Stealer | None, ...]) -> Floats:
    share = np.ones((len(order), 1))
    low = (rules.garboard, rules.first_broad, rules.second_broad)[: max(len(order) - 3, 1)]
    share[: len(low), 0] = low
    share[-1] = rules.sheer_strake
    return share


def _taper(share: Floats, k: int, x: Floats, place: tuple[float, float], nib: float) -> None:
    """Let the stealer grow from its nib, and the strake above begin wider by the nib."""
    run = 0.3 * min(place[1] - place[0], float(x[-1] - x[0]))
    inside = np.minimum(x - place[0], place[1] - x)
    grown = nib + (1.0 - nib) * _ease(np.maximum(inside, 0.0) / run)
    share[k] = np.where(inside >= 0, grown, nib)
    share[k + 1] *= np.where(inside < 0, 1.0 + nib * (1.0 - _ease(-inside / run)), 1.0)


def _ease(t: Floats) -> Floats:
    t = np.clip(t, 0.0, 1.0)
    eased: Floats = t * t * t * (10.0 - 15.0 * t + 6.0 * t * t)
    return eased


def _called(k: int, number: int, division: Division) -> str:
    """Say what the trade calls a strake, by its place; the turn of the bilge about the middle."""
    whole = division.whole
    if division.stealers[k] is not None:
        return "stealer"
    if number == whole - 1:
        return "sheer strake"
    low = ("garboard", "first broad", "second broad")
    if number < min(len(low), whole - 2):
        return low[number]
    part = (number + 0.5) / whole
    return "bottom" if part < 0.42 else "bilge" if part < 0.66 else "topside"
