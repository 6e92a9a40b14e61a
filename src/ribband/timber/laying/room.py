"""Room for one plank on a board as it stands: every lie of it looked at, at every cell.

*Gap*: the greatest height clear between two things at one side of a cell, be they the board's
edges, flaws, or planks. Where a lie is somewhere higher than the gap it has no room, whatever else
lies there; that passes most places over. What is left is looked at to the last cell.

A lie rests on the lowest thing that leaves it room; higher places at the same cell are not told.

Not checked: leans between those looked at, and starts between the cells' sides.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

import numpy as np
from numpy.typing import NDArray

from ribband.numerics.profiles import Floats
from ribband.timber.laying.ground import STEP, Bar, Lies

__all__ = ["Room", "joined", "place_in", "room_of"]

FAR = 1.0e7
STRIDE = 6  # cells between those looked at first
AT_A_TIME = 64  # places looked at to the last cell at once
CLOSE = 1e-9
Ints = NDArray[np.int64]
Edge = TypeVar("Edge", Floats, NDArray[np.float32])
Laid = tuple[int, int, float]  # a lie, its first cell and its height


@dataclass(frozen=True, slots=True, eq=False)
class Room:
    """A board with what lies on it; edges are (cells, 2).

    lows, highs : (things, cells, 2) of what must be passed, far off beside it
    gaps : (cells, 2); span : first and last mm taken by planks, equal where there are none
    """

    floor: Floats
    roof: Floats
    lows: Floats
    highs: Floats
    gaps: Floats
    length: float
    span: tuple[float, float]


def room_of(
    floor: Floats, roof: Floats, flaws: Sequence[Bar], planks: Sequence[Bar], length: float
) -> Room:
    """Give the room of a board between its edges, past its flaws and the planks on it."""
    bars = [*flaws, *planks]
    lows = np.full((len(bars), *floor.shape), FAR)
    highs = np.full_like(lows, -FAR)
    for k, bar in enumerate(bars):
        first, last = max(bar.first, 0), min(bar.first + len(bar.low), len(floor))
        if first < last:
            part = slice(first - bar.first, last - bar.first)
            lows[k, first:last], highs[k, first:last] = bar.low[part], bar.high[part]
    ends = [STEP * at for bar in planks for at in (bar.first, bar.first + len(bar.low))]
    span = (max(min(ends), 0.0), min(max(ends), length)) if ends else (0.0, 0.0)
    return Room(floor, roof, lows, highs, _gaps(floor, roof, lows, highs), length, span)


def _gaps(floor: Floats, roof: Floats, lows: Floats, highs: Floats) -> Floats:
    """Give the greatest clear height at every side of every cell."""
    order = np.argsort(lows, axis=0, kind="stable")
    lows, highs = (np.take_along_axis(edge, order, axis=0) for edge in (lows, highs))
    under = np.maximum.accumulate(np.concatenate([floor[None], highs]), axis=0)
    over = np.concatenate([np.minimum(lows, roof), roof[None]])
    return np.asarray((over - under).max(axis=0))


def place_in(room: Room, lies: Lies) -> Laid | None:
    """Give a lie, a first cell and a height; None where no lie has room.

    Looked at first is what lengthens the part of the board taken least, on a bare board what is
    nearest to an end; of those looked at together the one with its top lowest is given.
    """
    lie, cell = _not_too_high(room, lies)
    order = _by_waste(room, lies, lie, cell)
    for k in range(0, len(order), AT_A_TIME):
        some = order[k : k + AT_A_TIME]
        some = some[_clear(room, lies, lie[some], cell[some])]
        if not len(some):
            continue
        y, fits, taken = _exactly(room, lies, lie[some], cell[some])
        if fits.any():
            best = int(np.where(fits, taken, np.inf).argmin())
            return int(lie[some[best]]), int(cell[some[best]]), float(y[best])
    return None


def _not_too_high(room: Room, lies: Lies) -> tuple[Ints, Ints]:
    """Give the lies and first cells at which no cell looked at is higher than the gap there."""
    height = (lies.high - lies.low)[:, ::STRIDE, 0]
    most = np.floor((room.length - lies.length) / STEP + CLOSE).astype(int)
    firsts = int(most.max()) + 1
    if firsts <= 0:
        return np.zeros(0, dtype=np.int64), np.zeros(0, dtype=np.int64)
    at = np.arange(firsts)[:, None] + STRIDE * np.arange(height.shape[1])
    gaps = room.gaps[np.minimum(at, len(room.gaps) - 1), 0]
    well = (height[:, None] <= gaps[None] + CLOSE).all(axis=2)
    well &= np.arange(firsts) <= most[:, None]
    lie, cell = np.nonzero(well)
    return lie, cell


def _by_waste(room: Room, lies: Lies, lie: Ints, cell: Ints) -> Ints:
    """Give the order in which places are looked at, those that leave the longest end first."""
    first, last = cell * STEP, cell * STEP + lies.length[lie]
    a, b = room.span
    if a < b:
        longer = np.maximum(a - first, 0.0) + np.maximum(last - b, 0.0)
    else:
        longer = np.minimum(first, room.length - last)
    return np.lexsort((cell, np.round(longer / STEP)))


def _clear(room: Room, lies: Lies, lie: Ints, cell: Ints) -> NDArray[np.bool_]:
    """Tell which lies are nowhere higher than the gap there, and fit the edges at some cells."""
    at = np.minimum(cell[:, None] + np.arange(lies.low.shape[1]), len(room.floor) - 1)
    low, high = lies.low[lie], lies.high[lie]
    well = (high - low <= room.gaps[at] + CLOSE).all(axis=(1, 2))
    some = at[:, ::STRIDE]
    y = (room.floor[some, 0] - low[:, ::STRIDE, 0]).max(axis=1)
    return np.asarray(well & (y <= (room.roof[some, 0] - high[:, ::STRIDE, 0]).min(axis=1) + CLOSE))


def _exactly(
    room: Room, lies: Lies, lie: Ints, cell: Ints
) -> tuple[Floats, NDArray[np.bool_], Floats]:
    """Lay lies down at their cells: height, whether it fits, and the area below their tops."""
    cells = lies.cells[lie]
    most = int(cells.max())
    at = np.minimum(cell[:, None] + np.arange(most), len(room.floor) - 1)
    below, over = lies.low[lie, :most], lies.high[lie, :most]
    floor = room.floor[at]
    y = (floor - below).max(axis=(1, 2))
    top = (room.roof[at] - over).min(axis=(1, 2))
    past = [
        ((high[at] - below).max(axis=(1, 2)), (low[at] - over).min(axis=(1, 2)))
        for low, high in zip(room.lows, room.highs, strict=True)
    ]
    for _ in past:
        before = y
        for overs, unders in past:
            y = np.where((y < overs) & (y > unders), overs, y)
        if np.array_equal(before, y):
            break
    real = (np.arange(most) < cells[:, None])[..., None]
    taken = np.where(real, y[:, None, None] + over - floor, 0.0).sum(axis=(1, 2))
    return y, y <= top + CLOSE, taken


def joined(own: Sequence[Lies]) -> Lies:
    """Give the lies of several kinds, made each by itself, as those of all of them in order."""
    cells = max(lies.low.shape[1] for lies in own)
    places = max(len(lies.low_at) for lies in own)
    low = np.concatenate([_wider(lies.low, 1, cells, FAR) for lies in own])
    high = np.concatenate([_wider(lies.high, 1, cells, -FAR) for lies in own])
    low_at = [_wider(lies.low_at, 0, places, FAR) for lies in own]
    high_at = [_wider(lies.high_at, 0, places, -FAR) for lies in own]
    return Lies(
        kind=np.repeat(np.arange(len(own)), [len(lies.kind) for lies in own]),
        flipped=np.concatenate([lies.flipped for lies in own]),
        turn=np.concatenate([lies.turn for lies in own]),
        start=np.concatenate([lies.start for lies in own]),
        length=np.concatenate([lies.length for lies in own]),
        cells=np.concatenate([lies.cells for lies in own]),
        low=low, high=high, low_over=-high, high_over=-low,
        low_at=np.concatenate(low_at, axis=1), high_at=np.concatenate(high_at, axis=1),
        area=np.concatenate([lies.area for lies in own]),
        core=np.concatenate([lies.core for lies in own]),
    )  # fmt: skip


def _wider(edge: Edge, axis: int, most: int, pad: float) -> Edge:
    """Give edges with as many cells or places as are wanted, far off past a plank's end."""
    more = [(0, most - edge.shape[axis]) if k == axis else (0, 0) for k in range(edge.ndim)]
    return np.pad(edge, more, constant_values=pad)
