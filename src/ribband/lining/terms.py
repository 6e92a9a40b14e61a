"""The terms a lining out is judged by, as blocks of residuals.

* sweep: geodesic curvature of each seam at each line, times the hull's length;
* fairness: its change from line to line, times the length squared;
* evenness: width over its share, neighbour to neighbour, against the mean width;
* wanted widths and tapers: off their mark, against the mean width.

Each is an integral along the hull, so that the number of lines hardly matters, and without
dimension, so that a hull twice the size is lined out alike.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats
from ribband.lining.cut import Cut
from ribband.lining.division import Division, Ints
from ribband.lining.ground import Ground, Spots
from ribband.lining.rules import LiningRules
from ribband.lining.task import Task
from ribband.numerics.near_squares import Block

__all__ = [
    "Curved",
    "evenness",
    "fair_seams",
    "run_of_lines",
    "seam_curvature",
    "seam_slopes",
    "taper_block",
    "wanted_block",
    "width_slopes",
    "widths_at",
]

_ENDS = 4.0  # times the evenness amidships
_ACROSS = 0.3  # of the pull between neighbours, where the master line divides them
_NUDGE = 1e-6  # of the girth, for slopes by difference; the points between are exact to first order


@dataclass(frozen=True, slots=True, eq=False)
class Curved:
    """Geodesic curvature and the run of each line (R, L - 2), its slopes (R, L - 2, 3)."""

    value: Floats
    slope: Floats
    run: Floats


def seam_curvature(spots: Spots) -> tuple[Floats, Floats]:
    """Geodesic curvature of seams at all lines but the end ones, 1/mm, and the run there, mm.

    From three neighbouring points: the change of direction within the tangent plane over the
    mean of the two chords. Positive turns towards the sheer.
    """
    p, n = spots.point, spots.normal
    return _curvature(p[:, :-2], p[:, 1:-1], p[:, 2:], n[:, 1:-1])


def fair_seams(ground: Ground, division: Division, spots: Spots, rules: LiningRules) -> list[Block]:
    """Give the sweep and fairness blocks of all seams between rabbet and sheer."""
    curved = seam_slopes(spots.rows(1, -1))
    own = division.present()[:-1]  # seam row i is there where the strake below it is
    index = division.unknown[1:-1]
    three = own[:, :-2] & own[:, 1:-1] & own[:, 2:]
    at_three = np.stack([index[:, :-2], index[:, 1:-1], index[:, 2:]], axis=-1)
    scale = np.sqrt(rules.weight_sweep * ground.length_mm * curved.run)
    sweep = _block(scale, curved.value, curved.slope, at_three, three)
    four = three[:, :-1] & three[:, 1:]
    gap = (curved.run[:, :-1] + curved.run[:, 1:]) / 2
    scale = np.sqrt(rules.weight_fairness * ground.length_mm**3 / gap)
    change = np.diff(curved.value, axis=1)
    slope = np.zeros((*change.shape, 4))
    slope[..., 1:] += curved.slope[:, 1:]
    slope[..., :3] -= curved.slope[:, :-1]
    at_four = np.concatenate([at_three[:, :-1], at_three[:, 1:, 2:]], axis=-1)
    return [sweep, _block(scale, change, slope, at_four, four)]


def widths_at(
    ground: Ground, fraction: Floats, spots: Spots, floor: float
) -> tuple[Floats, Floats]:
    """Width of every strake square across on every line, and the sine there: (S, L)."""
    from_here = np.gradient(spots.point, axis=1, edge_order=2)
    along = from_here[1:] + from_here[:-1]
    up = spots.across[1:] + spots.across[:-1]
    dot, one, other = (
        np.einsum("...i,...i->...", a, b) for a, b in ((along, up), (along, along), (up, up))
    )
    square = one * other
    least = ground.least_sine(floor)
    sine = np.sqrt(np.maximum(1.0 - dot**2 / (square + 1e-300), least**2))
    return np.diff(fraction, axis=0) * ground.girth * sine, sine


def evenness(  # noqa: PLR0917
    ground: Ground,
    division: Division,
    fraction: Floats,
    spots: Spots,
    rules: LiningRules,
    task: Task,
    widths: tuple[Floats, Floats],
) -> Block:
    """Give the block of neighbours' widths, each over its share and the room the bilge leaves."""
    width, sine = widths
    line, low, high = division.pairs.T
    mean = ground.girth / division.present().sum(axis=0)
    share = division.share * _bilge(ground, fraction, spots, mean, task.limits.hollow)
    run = run_of_lines(spots)
    scale = np.sqrt(rules.weight_evenness * _at_ends(ground) * run / ground.length_mm) / mean
    pull = scale[line] * np.where(low == task.lowers - 1, _ACROSS, 1.0)
    each = pull / share[high, line], pull / share[low, line]
    value = width[high, line] * each[0] - width[low, line] * each[1]
    rise = each[0] * ground.girth[line] * sine[high, line]
    fall = each[1] * ground.girth[line] * sine[low, line]
    rows = (low, low + 1, high, high + 1)
    index = np.stack([division.unknown[row, line] for row in rows], axis=-1)
    return Block(value, index, np.stack([fall, -fall, -rise, rise], axis=-1))


def width_slopes(division: Division, cut: Cut, strake: Ints, column: Ints) -> tuple[Ints, Floats]:
    """How the width of strakes at columns hangs on the unknowns: index, slope (N, 8)."""
    parts = []
    for row, sign in ((strake, -1.0), (strake + 1, 1.0)):
        source = cut.row[row, column]
        index = division.unknown[source[:, None], cut.index[row, column]]
        sine = cut.sine[strake, column]
        slope = sign * (sine * cut.by_fraction[row, column])[:, None] * cut.weight[row, column]
        parts.append((index, slope))
    return np.hstack([parts[0][0], parts[1][0]]), np.hstack([parts[0][1], parts[1][1]])


def wanted_block(ground: Ground, division: Division, cut: Cut, task: Task) -> Block:
    """Give the pull of wanted widths."""
    w = task.wanted
    stands = cut.there[w.strake, w.column]
    strake, column = w.strake[stands], w.column[stands]
    index, slope = width_slopes(division, cut, strake, column)
    mean = float(ground.girth.max()) / division.whole
    scale = np.sqrt(w.weight[stands] / cut.width.shape[1]) / mean
    value = (cut.width[strake, column] - w.value[stands]) * scale
    return Block(value, index, slope * scale[:, None])


def taper_block(ground: Ground, division: Division, cut: Cut, task: Task) -> Block:
    """Give the pull of tapers: width at the hood end against that amidships."""
    a = np.array(task.tapers, dtype=float).reshape(-1, 4)
    strake, end = a[:, 0].astype(int), a[:, 1].astype(int)
    middle = np.full(len(a), 1 + int(np.argmax(ground.frame_girth)))
    keep = cut.there[strake, end] & cut.there[strake, middle]
    a, strake, end, middle = a[keep], strake[keep], end[keep], middle[keep]
    mean = float(ground.girth.max()) / division.whole
    scale = np.sqrt(a[:, 3] / cut.width.shape[1]) / mean
    # the width amidships is taken as it stands: held for the step, so the band stays narrow
    index, slope = width_slopes(division, cut, strake, end)
    value = (cut.width[strake, end] - a[:, 2] * cut.width[strake, middle]) * scale
    return Block(value, index, slope * scale[:, None])


def _block(
    scale: Floats, value: Floats, slope: Floats, index: Ints, keep: NDArray[np.bool_]
) -> Block:
    return Block((scale * value)[keep], index[keep], (scale[..., None] * slope)[keep])


def run_of_lines(spots: Spots) -> Floats:
    """Give the run of the hull each line stands for (L,), mm: half of that to either neighbour."""
    gap = np.linalg.norm(np.diff(spots.point, axis=1), axis=-1).mean(axis=0)
    run: Floats = (np.append(gap, 0.0) + np.append(0.0, gap)) / 2
    return run


def _at_ends(ground: Ground) -> Floats:
    """How much more evenness counts towards the hood ends, (L,): equal hood ends are usual."""
    x = ground.hull.lines.x_mm
    part = (x - x[0]) / (x[-1] - x[0])
    away = np.clip(np.minimum(part, 1.0 - part) / 0.15, 0.0, 1.0)
    more: Floats = 1.0 + (_ENDS - 1.0) * (1.0 - away) ** 2
    return more


def _bilge(ground: Ground, fraction: Floats, spots: Spots, mean: Floats, hollow: float) -> Floats:
    """Give the share of the mean width the roundness leaves, (S, L), smoothed along."""
    arc = np.maximum(np.diff(fraction, axis=0) * ground.girth, 0.2 * mean)
    bend = np.abs(np.diff(spots.turn, axis=0)) / arc
    share = (1.0 + (mean**2 * bend / (8.0 * hollow)) ** 2) ** -0.25
    for _ in range(3):
        share[:, 1:-1] = (share[:, :-2] + 2 * share[:, 1:-1] + share[:, 2:]) / 4
    smooth: Floats = np.maximum(share, 0.4)
    return smooth


def seam_slopes(spots: Spots) -> Curved:
    """Give the curvature of all seams of `spots`, and how it hangs on the three lines about."""
    p, n = spots.point, spots.normal
    q, m = p + _NUDGE * spots.across, n + _NUDGE * spots.normal_slope
    fore, mid, aft, normal = p[:, :-2], p[:, 1:-1], p[:, 2:], n[:, 1:-1]
    value, run = _curvature(fore, mid, aft, normal)
    slope = np.stack(
        [
            _curvature(q[:, :-2], mid, aft, normal)[0] - value,
            _curvature(fore, q[:, 1:-1], aft, m[:, 1:-1])[0] - value,
            _curvature(fore, mid, q[:, 2:], normal)[0] - value,
        ],
        axis=-1,
    )
    return Curved(value, slope / _NUDGE, run)


def _curvature(fore: Floats, mid: Floats, aft: Floats, normal: Floats) -> tuple[Floats, Floats]:
    a, b = mid - fore, aft - mid
    la, lb = _length(a), _length(b)
    both = aft - fore
    whole = la + lb
    bend = b / lb[..., None] - a / la[..., None]
    out = np.cross(both, normal)
    turned = np.einsum("...i,...i->...", out, bend)
    return 2.0 * turned / (_length(both) * whole), whole / 2


def _length(vector: Floats) -> Floats:
    length: Floats = np.sqrt(np.einsum("...i,...i->...", vector, vector)) + 1e-300
    return length
