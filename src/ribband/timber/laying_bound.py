"""The least timber any laying could use, proved.

Planks may here be shared out over boards in parts, and need not be nested: all that is asked is
that at every place along a board the breadths lying side by side, each with a kerf, find room.
That is asked in several ways, each a *scale* that no set of breadths within a breadth can pass
(a breadth over half counts as the whole, and so on: dual feasible functions), which brings in
that planks do not lie side by side in parts. A plank's share of a board is then the least, over
every place it could lie, of the board's face it takes up on that scale. Where most planks are
longer than half a board the same is asked at single places. The programme's optimum is a bound.

Not checked: nothing here knows of sweep, so a curved pile is bounded more loosely than it is laid.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from ribband.numerics.profiles import Floats, columns
from ribband.timber.laying_ground import Kind, Plot, suits
from ribband.timber.laying_rules import LayingRules

__all__ = ["SCALES", "least_timber", "scale_half", "scale_steps"]

FINE = 50.0  # mm between the places a board is measured at
SPAN = 200.0  # mm, about the length of the pieces a plank is measured in
SHIFT = 100.0  # mm between first places tried; all between are covered

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


SCALES: tuple[Scale, ...] = (
    lambda part: np.minimum(part, 1.0),
    scale_half,
    scale_steps(2),
    scale_steps(3),
    scale_rim(0.25),
    scale_rim(0.35),
)


def least_timber(kinds: Sequence[Kind], plots: Sequence[Plot], rules: LayingRules) -> float:
    """Give the bound, mm3; infinite where the planks cannot all find room."""
    fits = suits(kinds, plots)
    slices = [_breadths(kind, rules) for kind in kinds]
    share = np.full((len(SCALES), len(plots), len(kinds)), np.inf)
    across = np.zeros((len(SCALES), len(plots), len(kinds)))
    for b, plot in enumerate(plots):
        room, gross = _room(plot, rules)
        for k in np.flatnonzero(fits[b]):
            share[:, b, k], across[:, b, k] = _shares(slices[k], room, gross)
            share[0, b, k] = max(share[0, b, k], kinds[k].area_mm2)
    return _solved(kinds, plots, share, across)


def _breadths(kind: Kind, rules: LayingRules) -> tuple[float, Floats]:
    """Give the length of a plank's pieces and the least breadth of each, a kerf included.

    Least over the piece and as far beyond as leaning shifts it, whatever the lean: the distance
    between the edges, not the height over a place.
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
    least = np.array(
        [breadth[max(0, 8 * j - beyond) : 8 * j + 9 + beyond].min() for j in range(pieces)]
    )
    return (last - first) / pieces * float(np.cos(lean)), least + rules.kerf_mm


def _room(plot: Plot, rules: LayingRules) -> tuple[Floats, Floats]:
    """Give most clear height, a kerf included, and least gross height near places `FINE` apart."""
    clear = (plot.roof - plot.floor).max(axis=1)
    for bar in plot.bars:
        clear[bar.first : bar.first + len(bar.low)] += rules.kerf_mm
    ahead = int(np.ceil((SPAN * 1.5 + SHIFT) / FINE)) + 1
    sliding = np.lib.stride_tricks.sliding_window_view
    most = sliding(np.pad(clear, (1, ahead), mode="edge"), ahead + 2).max(axis=1)
    gross = np.minimum(plot.height[1:], plot.height[:-1])
    least = sliding(np.pad(gross, (1, ahead), mode="edge"), ahead + 2).min(axis=1)
    return most[: len(clear)], least[: len(clear)]


def _shares(slices: tuple[float, Floats], room: Floats, gross: Floats) -> tuple[Floats, Floats]:
    """Give a plank's share of a board on every scale, mm2, and its part of the middle place."""
    long, breadth = slices
    spare = len(room) * FINE - long * len(breadth)
    if spare < -FINE or breadth.min() > room.max() + FINE:
        return np.full(len(SCALES), np.inf), np.zeros(len(SCALES))
    first = np.arange(0.0, max(spare, 0.0) + SHIFT, SHIFT)
    at = ((first[:, None] + long * np.arange(len(breadth))) / FINE).astype(int)
    at = np.minimum(at, len(room) - 1)
    both = np.stack([breadth, breadth[::-1]])[:, None]
    part = both / room[at]
    most_narrow = part.max(axis=2) <= 1.0
    weight = gross[at] * long
    sums = np.array([(scale(part) * weight).sum(axis=2) for scale in SCALES])
    sums[:, ~most_narrow] = np.inf
    middle = np.zeros(len(SCALES))
    if spare < long * len(breadth) - 2 * SPAN:  # it crosses the middle wherever it lies
        half = breadth.min() / room[len(room) // 2]
        middle = np.array([float(scale(np.array(half))) for scale in SCALES])
    return sums.min(axis=(1, 2)), middle


def _solved(kinds: Sequence[Kind], plots: Sequence[Plot], share: Floats, across: Floats) -> float:
    """Solve the programme: parts of planks to boards, the board's timber used up."""
    from scipy.optimize import linprog
    from scipy.sparse import coo_array

    able = np.isfinite(share[0])
    if not able.any(axis=0).all():
        return float("inf")
    b, k = np.nonzero(able)
    pairs, boards, scales = len(b), len(plots), len(SCALES)
    thick = np.array([plot.board.thickness_mm for plot in plots])
    area = np.array([float(plot.area_to[-1]) for plot in plots])
    rows, cols, values = [], [], []
    for s in range(scales):
        rows += [s * boards + b, s * boards + np.arange(boards)]
        cols += [np.arange(pairs), pairs + np.arange(boards)]
        values += [share[s, b, k] / area[b], -np.ones(boards)]
    for s in range(scales):
        rows.append((scales + s) * boards + b)
        cols.append(np.arange(pairs))
        values.append(across[s, b, k])
    rows.append(2 * scales * boards + k)
    cols.append(np.arange(pairs))
    values.append(-np.ones(pairs))
    limit = [np.zeros(scales * boards), np.ones(scales * boards)]
    counts = np.array([len(kind.planks) for kind in kinds])
    shape = (2 * scales * boards + len(kinds), pairs + boards)
    table = coo_array((np.concatenate(values), (np.concatenate(rows), np.concatenate(cols))), shape)
    result = linprog(
        np.concatenate([np.zeros(pairs), area * thick]),
        A_ub=table.tocsr(),
        b_ub=np.concatenate([*limit, -counts]),
        bounds=[(0, None)] * pairs + [(0, 1)] * boards,
        method="highs",
    )
    return float(result.fun) if result.status == 0 else float("inf")
