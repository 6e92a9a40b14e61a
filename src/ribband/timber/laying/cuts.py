"""A board's cuts in the order a saw takes them, and what is left of it, tallied again.

*Crosscut*: square through the whole of what is on the bench, wherever it clears every plank.
*Rip*: one straight cut along, that clears every plank. *Line*: where no straight cut goes, along
the upper edge of the lowest plank and square out at its ends, as a band saw can. Crosscuts come
first, then a rip, then crosscuts in what that freed, and so on, till each plank lies on its own;
it is then sawn to its lines. *Strip*: what is left along an edge of a board, long and wide enough
to be kept; it is not counted as unused timber, for an end is all that `timber_used` takes off. A
flaw that crosses an end or a strip parts it, as `laying/ends.py` says.

Not checked: that the saw's table bears the board, or that what is sawn off is held. Guards,
supports and a second hand at a long board are the sawyer's care and the law's where you are.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Literal

import numpy as np

from ribband.numerics.polygons import clipped
from ribband.numerics.profiles import Floats, columns, open_ring
from ribband.timber.board_model import Board, Cut, Flaw, Laying, Piece
from ribband.timber.laying.ends import sound_rings
from ribband.timber.laying.ground import as_lain
from ribband.timber.laying.rules import LayingRules

__all__ = ["SawCut", "marked_ends", "retallied", "saw_order"]

SLOPES = np.linspace(-0.3, 0.3, 121)  # of straight rips tried
_Ends = tuple[tuple[float, float], tuple[float, float]]
ACROSS = 20.0  # mm between the places edges are looked at


@dataclass(frozen=True, slots=True)
class SawCut:
    """One pass of the saw on a board: `number` is its turn, from 1.

    x_mm, y_mm : its two ends on the board's axes, or those of the plank whose edge it follows
    frees : planks that lie on the butt's side of a crosscut, or below a rip or a line; sides
        without a plank are off-cut
    """

    number: int
    board: str
    kind: Literal["crosscut", "rip", "line", "plank"]
    x_mm: tuple[float, float]
    y_mm: tuple[float, float]
    frees: tuple[str, ...]


@dataclass(frozen=True, slots=True, eq=False)
class _Lain:
    """A plank as it lies: its ends along the board and its edges over `x`."""

    plank: str
    first: float
    last: float
    x: Floats
    low: Floats
    high: Floats


def saw_order(
    board: Board, cuts: Sequence[Cut], pieces: Sequence[Piece], rules: LayingRules
) -> tuple[SawCut, ...]:
    """Give the cuts of a board in order; `cuts` of other boards are passed over.

    The first and last crosscuts take off the ends of the board beyond its planks.
    """
    lain = _lain(board, cuts, pieces)
    if not lain:
        return ()
    found: list[SawCut] = []
    ring = open_ring(board.outline)
    half = rules.kerf_mm / 2
    for x, freed in (
        (min(p.first for p in lain) - half, ()),
        (max(p.last for p in lain) + half, tuple(p.plank for p in lain)),
    ):
        if ring[:, 0].min() + half < x < ring[:, 0].max() - half:
            _add(found, board, "crosscut", ((x, x), _edges_at(ring, x)), freed)
    _part(found, board, lain, rules)
    return tuple(found)


def _lain(board: Board, cuts: Sequence[Cut], pieces: Sequence[Piece]) -> list[_Lain]:
    """Lay the rough planks of a board out."""
    piece_of = {plank: piece for piece in pieces for plank in piece.planks}
    found = []
    for cut in cuts:
        if cut.board != board.name:
            continue
        ring = open_ring(as_lain(piece_of[cut.plank], cut))
        first, last = float(ring[:, 0].min()), float(ring[:, 0].max())
        x = np.linspace(first, last, max(3, int((last - first) / ACROSS)))
        low, high = columns(ring, x)
        found.append(_Lain(cut.plank, first, last, x, low, high))
    return sorted(found, key=lambda p: p.first)


def _add(
    found: list[SawCut],
    board: Board,
    kind: Literal["crosscut", "rip", "line", "plank"],
    ends: _Ends,
    frees: tuple[str, ...],
) -> None:
    found.append(SawCut(len(found) + 1, board.name, kind, *ends, frees))


def _part(found: list[SawCut], board: Board, lain: list[_Lain], rules: LayingRules) -> None:
    """Part what lies together: across where that clears, else along, else by a plank's line."""
    if len(lain) == 1:
        only = lain[0]
        ends = (only.first, only.last), (float(only.low[0]), float(only.low[-1]))
        _add(found, board, "plank", ends, (only.plank,))
        return
    lengths = _lengths(lain, rules.kerf_mm)
    if len(lengths) > 1:
        for before, after in pairwise(lengths):
            x = (max(p.last for p in before) + min(p.first for p in after)) / 2
            y = _span(before + after)
            _add(found, board, "crosscut", ((x, x), y), tuple(p.plank for p in before))
        for part in lengths:
            _part(found, board, part, rules)
        return
    below, above = _along(found, board, lain, rules)
    _part(found, board, below, rules)
    _part(found, board, above, rules)


def _lengths(lain: list[_Lain], kerf: float) -> list[list[_Lain]]:
    """Part planks, in order of their first ends, where a crosscut goes between."""
    parts = [[lain[0]]]
    for plank in lain[1:]:
        if plank.first - max(p.last for p in parts[-1]) >= kerf * 0.99:
            parts.append([plank])
        else:
            parts[-1].append(plank)
    return parts


def _along(
    found: list[SawCut], board: Board, lain: list[_Lain], rules: LayingRules
) -> tuple[list[_Lain], list[_Lain]]:
    """Part planks by a straight rip, as many below as above if it can be, else by a line."""
    order = _upwards(lain)
    first, last = min(p.first for p in lain), max(p.last for p in lain)
    middle = len(order) / 2
    for many in sorted(range(1, len(order)), key=lambda n: abs(n - middle)):
        below, above = order[:many], order[many:]
        rip = _straight(below, above, rules.kerf_mm)
        if rip is not None:
            at, slope = rip
            ends = (first, last), (at + slope * first, at + slope * last)
            _add(found, board, "rip", ends, tuple(p.plank for p in below))
            return _by_first(below), _by_first(above)
    lowest = order[0]
    ends = (lowest.first, lowest.last), (float(lowest.high[0]), float(lowest.high[-1]))
    _add(found, board, "line", ends, (lowest.plank,))
    return [lowest], _by_first(order[1:])


def _by_first(lain: list[_Lain]) -> list[_Lain]:
    return sorted(lain, key=lambda p: p.first)


def _upwards(lain: list[_Lain]) -> list[_Lain]:
    """Order planks so that none lies over one that comes after it."""
    rest, order = list(lain), []
    while rest:
        free = [p for p in rest if not any(_over(p, q) for q in rest if q is not p)]
        order.append(min(free or rest, key=lambda p: float(p.low.mean())))
        rest.remove(order[-1])
    return order


def _over(one: _Lain, two: _Lain) -> bool:
    """Tell whether a plank lies over another somewhere."""
    first, last = max(one.first, two.first), min(one.last, two.last)
    if last <= first:
        return False
    x = np.linspace(first, last, 9)
    return bool(np.mean(np.interp(x, one.x, one.low) - np.interp(x, two.x, two.low)) > 0)


def _straight(below: list[_Lain], above: list[_Lain], kerf: float) -> tuple[float, float] | None:
    """Give height at 0 and slope of a straight rip with a kerf clear, or None."""
    low_x, low_y = (np.concatenate([getattr(p, n) for p in below]) for n in ("x", "high"))
    high_x, high_y = (np.concatenate([getattr(p, n) for p in above]) for n in ("x", "low"))
    under = (low_y - SLOPES[:, None] * low_x).max(axis=1)
    over = (high_y - SLOPES[:, None] * high_x).min(axis=1)
    best = int(np.argmax(over - under))
    if over[best] - under[best] < kerf * 0.99:
        return None
    return float((under[best] + over[best]) / 2), float(SLOPES[best])


def _span(lain: list[_Lain]) -> tuple[float, float]:
    return min(float(p.low.min()) for p in lain), max(float(p.high.max()) for p in lain)


def _edges_at(ring: Floats, x: float) -> tuple[float, float]:
    low, high = columns(ring, np.array([x]))
    return float(low[0]), float(high[0])


def retallied(
    laying: Laying, pieces: Sequence[Piece], boards: Sequence[Board], rules: LayingRules
) -> tuple[Board, ...]:
    """Tally what is left of the boards cut into: ends, then strips, "A7a", "A7b" of "A7".

    Each lies in the axes of its board and has its thickness, species, moisture and flaws; a price
    goes by its part of the board's face. A letter that the pile already has is passed over.
    """
    left = _left_over(laying, pieces, boards, rules)
    return tuple(_cut_from(board, name, ring) for board, name, ring, _ in left)


def marked_ends(
    laying: Laying, pieces: Sequence[Piece], boards: Sequence[Board], rules: LayingRules
) -> tuple[tuple[str, Board], ...]:
    """Give the ends kept, each with its board's name before it, called as `retallied` calls it."""
    left = _left_over(laying, pieces, boards, rules)
    return tuple(
        (board.name, _cut_from(board, name, ring)) for board, name, ring, end in left if end
    )


def _left_over(
    laying: Laying, pieces: Sequence[Piece], boards: Sequence[Board], rules: LayingRules
) -> Iterator[tuple[Board, str, Floats, bool]]:
    """Give what is left of each board: the board, the part's name, its ring, whether an end."""
    taken = {board.name for board in boards}
    for board in boards:
        ends = [part for part in laying.offcuts if part.name.rpartition("/")[0] == board.name]
        least = (rules.offcut_length_mm, rules.offcut_width_mm)
        strips = [
            part
            for strip in _strips(board, laying.cuts, pieces, rules)
            for part in sound_rings(board, strip, least, rules.sap_allowed)
        ]
        parts = [*(part.outline for part in ends), *strips]
        for at, ring in enumerate(parts):
            name = next(n for n in _lettered(board.name) if n not in taken)
            taken.add(name)
            yield board, name, ring, at < len(ends)


def _lettered(name: str) -> list[str]:
    letters = [chr(ord("a") + k) for k in range(26)]
    return [name + a for a in letters] + [name + a + b for a in letters for b in letters]


def _cut_from(board: Board, name: str, ring: Floats) -> Board:
    """Give a part of a board as a board."""
    first, last = float(ring[:, 0].min()), float(ring[:, 0].max())
    flaws = [Flaw(f.kind, clipped(f.ring, first, last)) for f in board.flaws]
    within = [f for f in flaws if len(f.ring) > 2 and _beside(f.ring, ring)]
    price = None if board.price is None else board.price * _area(ring) / _area(board.outline)
    return replace(board, name=name, outline=ring, flaws=tuple(within), price=price)


def _beside(flaw: Floats, ring: Floats) -> bool:
    """Tell whether a flaw reaches into a ring's height where it lies."""
    x = np.linspace(flaw[:, 0].min(), flaw[:, 0].max(), 7)
    low, high = columns(open_ring(ring), x)
    return bool(np.nanmin(low) <= flaw[:, 1].max() and np.nanmax(high) >= flaw[:, 1].min())


def _area(ring: Floats) -> float:
    x, y = ring.T
    return float(abs(np.sum(x * np.roll(y, -1) - y * np.roll(x, -1)) / 2))


def _strips(
    board: Board, cuts: Sequence[Cut], pieces: Sequence[Piece], rules: LayingRules
) -> list[Floats]:
    """Give the strips along both edges of a board, beside its planks, that are worth keeping."""
    lain = _lain(board, cuts, pieces)
    found = []
    for part in _lengths(lain, rules.kerf_mm) if lain else []:
        first, last = min(p.first for p in part), max(p.last for p in part)
        if last - first < rules.offcut_length_mm:
            continue
        x = np.linspace(first, last, max(3, int((last - first) / ACROSS)))
        inside = np.clip(x, board.outline[:, 0].min(), board.outline[:, 0].max())
        floor, roof = columns(open_ring(board.outline), inside)
        top = np.full(len(x), -np.inf)
        bottom = np.full(len(x), np.inf)
        for p in part:
            top = np.maximum(top, np.interp(x, p.x, p.high, left=-np.inf, right=-np.inf))
            bottom = np.minimum(bottom, np.interp(x, p.x, p.low, left=np.inf, right=np.inf))
        top = _filled(x, top) + rules.kerf_mm
        bottom = _filled(x, bottom) - rules.kerf_mm
        for low, high in ((floor, bottom), (top, roof)):
            if float((high - low).min()) >= rules.offcut_width_mm:
                lower, upper = (np.stack([x, y], axis=1) for y in (low, high))
                found.append(np.concatenate([lower, upper[::-1]]))
    return found


def _filled(x: Floats, y: Floats) -> Floats:
    """Carry an edge on over places without a plank."""
    known = np.isfinite(y)
    return np.asarray(np.interp(x, x[known], y[known]))
