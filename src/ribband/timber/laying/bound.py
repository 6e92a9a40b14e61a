"""The least timber any laying could use, proved.

Planks may here be shared out over boards in parts, and need not be nested: all that is asked is
that at every place along a board the breadths lying side by side, each with a kerf, find room
clear of its edges. That is asked plainly, and on several *scales* that no set of breadths within
a breadth can pass (a breadth over half counts as the whole, and so on: dual feasible functions),
which brings in that planks do not lie side by side in parts. A plank's share of a board is then
the least, over every place it could lie, of the board's face it takes up on that scale. Where a
plank crosses the middle of a board wherever it lies, the same is asked there. The programme's
optimum is a bound.

Not checked: nothing here knows of sweep, nor that ends too short for a plank are lost, so the bound
is far below what can be laid; it is true, not close.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.errors import NotConverged
from ribband.numerics.linear import least_cost
from ribband.numerics.profiles import Floats, columns, open_ring, ring_area, within
from ribband.timber.laying.ground import STEP, Kind, Plot, suits
from ribband.timber.laying.rules import LayingRules

__all__ = ["SCALES", "least_timber", "scale_half", "scale_steps"]

FINE = 50.0  # mm between the places a board is measured at
SPAN = 200.0  # mm, about the length of the pieces a plank is measured in
SHIFT = 200.0  # mm between first places tried; all between are covered

Scale = Callable[[Floats], Floats]


def scale_half(part: Floats) -> Floats:
    """Count over half as one, half as a half, less as nothing.

    >>> scale_half(np.array([0.4, 0.5, 0.6]))
    array([0. , 0.5, 1. ])
    """
    return np.where(part > 0.5 + 1e-9, 1.0, np.where(part >= 0.5 - 1e-9, 0.5, 0.0))


def scale_steps(k: int) -> Scale:
    """Count in k-ths: as many as whole (k + 1)-ths fit in, but a whole number of those as it is.

    >>> scale_steps(2)(np.array([0.3, 0.4, 0.7]))
    array([0. , 0.5, 1. ])
    """

    def scale(part: Floats) -> Floats:
        many = (k + 1) * np.minimum(part, 1.0)
        return np.where(np.abs(many - np.round(many)) < 1e-9, part, np.floor(many) / k)

    return scale


def scale_rim(rim: float) -> Scale:
    """Count less than the rim as nothing and more than all but the rim as all."""

    def scale(part: Floats) -> Floats:
        return np.where(part > 1 - rim + 1e-9, 1.0, np.where(part < rim - 1e-9, 0.0, part))

    return scale


SCALES: tuple[Scale, ...] = (scale_half, scale_steps(2), scale_steps(3), scale_rim(0.3))


@dataclass(frozen=True, slots=True, eq=False)
class _Slices:
    """A plank in pieces of one length: each one's least breadth with a kerf, and its area."""

    long: float
    breadth: Floats
    area: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Ground:
    """Boards near places `FINE` apart, (boards, places); past a board's end there is no room.

    room : most there; gross : least height; lost : least height for its room
    cells : (boards,) places on each
    """

    room: Floats
    gross: Floats
    lost: Floats
    cells: NDArray[np.int64]


def least_timber(kinds: Sequence[Kind], plots: Sequence[Plot], rules: LayingRules) -> float:
    """Give the bound, mm3 at the plots' rates; infinite where the planks cannot all find room."""
    fits, ground = suits(kinds, plots), _ground(plots, rules)
    found = [_shares(_slices(kind, rules), ground) for kind in kinds]
    share = np.stack([each[0] for each in found], axis=2)
    across = np.stack([each[1] for each in found], axis=2)
    share[0] = np.maximum(share[0], [kind.area_mm2 for kind in kinds])
    return _solved(kinds, plots, np.where(fits, share, np.inf), across)


def _slices(kind: Kind, rules: LayingRules) -> _Slices:
    """Cut a plank in pieces.

    A breadth is the least over the piece and as far beyond as leaning shifts it, whatever the
    lean: the distance between the edges, not the height over a place.
    """
    ring, lean = kind.rough, rules.greatest_turn_rad
    first, last = float(ring[:, 0].min()), float(ring[:, 0].max())
    pieces = max(1, round((last - first) / SPAN))
    nodes = np.linspace(first, last, pieces * 8 + 1)
    low, high = columns(ring, nodes)
    height = high - low
    slope = np.abs(np.gradient((high + low) / 2, nodes))
    slope[[0, 1, -2, -1]] = np.median(slope)
    breadth = height * np.cos(np.arctan(slope))
    beyond = 4 + int(np.ceil(height.max() * np.sin(lean + slope.max()) / (nodes[1] - nodes[0])))
    least = [breadth[max(0, 8 * j - beyond) : 8 * j + 9 + beyond].min() for j in range(pieces)]
    long = (last - first) / pieces * float(np.cos(lean))
    in_piece = (height[:-1] + height[1:]).reshape(pieces, 8).sum(axis=1)
    area = kind.area_mm2 * in_piece / in_piece.sum() + rules.kerf_mm * long
    return _Slices(long, np.array(least) + rules.kerf_mm, area * 0.999)


def _ground(plots: Sequence[Plot], rules: LayingRules) -> _Ground:
    """Measure the boards."""
    measured = [_measured(plot, rules) for plot in plots]
    cells = np.array([len(room) for room, _, _ in measured])
    spare = int(SHIFT / FINE) + 1  # places past the end that a first place rounded up may reach
    table = np.zeros((3, len(plots), int(cells.max()) + spare))
    table[0] = 1e-9
    for k, three in enumerate(measured):
        for row, values in zip(table, three, strict=True):
            row[k, : len(values) + spare] = np.pad(values, (0, spare), mode="edge")
    return _Ground(table[0], table[1], table[2], cells)


def _measured(plot: Plot, rules: LayingRules) -> tuple[Floats, Floats, Floats]:
    """Measure a board; heights least and room most over as far as a piece may lie from a place."""
    clear = (plot.roof - plot.floor).max(axis=1)
    for bar in plot.bars:
        clear[bar.first : bar.first + len(bar.low)] += rules.kerf_mm
    inner = within(open_ring(plot.board.outline), STEP, plot.left)
    gross = (inner.high - inner.low).min(axis=1)
    gross = np.pad(gross, (0, max(0, len(clear) - len(gross))), mode="edge")[: len(clear)]
    gross, clear = np.maximum(gross, 0.0), np.maximum(clear, 1e-9)
    ahead = int(np.ceil((SPAN * 1.5 + SHIFT) / FINE)) + 1

    def near(values: Floats) -> Floats:
        padded = np.pad(values, (1, ahead), mode="edge")
        return np.lib.stride_tricks.sliding_window_view(padded, ahead + 2)

    return near(clear).max(axis=1), near(gross).min(axis=1), near(gross / clear).min(axis=1)


def _shares(slices: _Slices, ground: _Ground) -> tuple[Floats, Floats]:
    """Give a plank's share of every board on every scale, mm2, and its part of their middles.

    Both are (scales, boards); a share is infinite where the plank does not fit.
    """
    long, breadth = slices.long, slices.breadth
    boards, places = ground.room.shape
    own = long * len(breadth)
    first = np.arange(0.0, max(places * FINE - own, 0.0) + SHIFT, SHIFT)
    at = ((first[:, None] + long * np.arange(len(breadth))) / FINE).astype(int)
    at = np.minimum(at, places - 1)
    room, weight, lost = ground.room[:, at], ground.gross[:, at] * long, ground.lost[:, at]
    shares = np.full((1 + len(SCALES), boards), np.inf)
    for way in (slice(None), slice(None, None, -1)):
        part = breadth[way] / room
        fits = (part.max(axis=2) <= 1.0) & (own <= (ground.cells[:, None] + 1) * FINE)
        sums = [slices.area[way] * lost, *(scale(part) * weight for scale in SCALES)]
        for s, each in enumerate(sums):
            least = np.where(fits, each.sum(axis=2), np.inf).min(axis=1)
            shares[s] = np.minimum(shares[s], least)
    middle = breadth.min() / ground.room[np.arange(boards), ground.cells // 2]
    crosses = ground.cells * FINE - own < own - 2 * SPAN  # wherever it lies
    across = np.stack([middle, *(scale(middle) for scale in SCALES)]) * crosses
    return shares, np.where(np.isfinite(shares), across, 0.0)


def _solved(kinds: Sequence[Kind], plots: Sequence[Plot], share: Floats, across: Floats) -> float:
    """Solve the programme: parts of planks to boards, the board's timber used up."""
    able = np.isfinite(share[0])
    if not able.any(axis=0).all():
        return float("inf")
    b, k = np.nonzero(able)
    pairs, boards, scales = len(b), len(plots), len(share)
    thick = np.array([plot.board.thickness_mm * plot.rate for plot in plots])
    area = np.array([ring_area(open_ring(plot.board.outline)) for plot in plots])
    pair, board = np.arange(pairs), np.arange(boards)
    parts = []
    for s in range(scales):
        parts += [
            (s * boards + b, pair, share[s, b, k] / area[b]),
            (s * boards + board, pairs + board, -np.ones(boards)),
            ((scales + s) * boards + b, pair, across[s, b, k]),
        ]
    parts.append((2 * scales * boards + k, pair, -np.ones(pairs)))
    rows, columns_, values = (np.concatenate(each) for each in zip(*parts, strict=True))
    counts = np.array([len(kind.planks) for kind in kinds])
    limit = np.repeat([0.0, 1.0], scales * boards)
    try:
        solved = least_cost(
            np.concatenate([np.zeros(pairs), area * thick]),
            (values, rows, columns_),
            np.concatenate([limit, -counts]),
            np.concatenate([np.full(pairs, np.inf), np.ones(boards)]),
        )
    except NotConverged:  # the planks' own timber is a bound too
        least = min(plot.rate for plot in plots)
        return least * sum(k.area_mm2 * len(k.planks) * k.piece.thickness_mm for k in kinds)
    return float("inf") if solved is None else solved.cost * (1 - 1e-6)
