"""What the planks will ask of the timber: strain left over, backing out, and the width of blanks.

Terms of the lining out, each an integral along the hull without dimension, and each switched off
by a weight of 0:

* strain: K w^2 / 8, left in the edges of a plank of width w where the hull is round both ways
  (Gaussian curvature K), against 1 in 1000;
* hollow: w t / 8 for a turn t across the strake, against the most that may be backed out;
* board: what a blank is wider than the widest boards. A plank's *blank* is as wide as the plank
  and the sagitta of its sweep k over a usual length l, k l^2 / 8.

Not checked: where the butts will come; the planks' own shapes are found when they are laid out.
"""

from __future__ import annotations

import math

import numpy as np

from ribband.hull.model import Floats
from ribband.lining.division import Division
from ribband.lining.ground import Ground, Spots
from ribband.lining.rules import LiningRules
from ribband.lining.terms import run_of_lines, seam_curvature, seam_slopes, widths_at
from ribband.numerics.near_squares import Block

__all__ = ["blank_area_m2", "plank_terms"]

STRAIN = 1e-3  # left over, that a plank takes without trouble


def plank_terms(  # noqa: PLR0917
    ground: Ground,
    division: Division,
    spots: Spots,
    rules: LiningRules,
    hollow_mm: float,
    widths: tuple[Floats, Floats],
) -> list[Block]:
    """Give the terms that are switched on and known: with girths only, the board's alone."""
    width, sine = widths
    each = np.sqrt(run_of_lines(spots) / ground.length_mm)  # the part each line stands for
    blocks = []
    if ground.hull.in_space and rules.weight_strain > 0:
        middle = np.abs(spots.doubled[1:] + spots.doubled[:-1]) / 2
        part = middle * width / (8.0 * STRAIN)
        blocks.append(
            _squared(ground, division, width, sine, part, each * math.sqrt(rules.weight_strain))
        )
    if ground.hull.in_space and rules.weight_hollow > 0:
        part = np.abs(np.diff(spots.turn, axis=0)) / (8.0 * hollow_mm) * sine
        blocks.append(
            _squared(ground, division, width, sine, part, each * math.sqrt(rules.weight_hollow))
        )
    if rules.board_width_mm > 0 and rules.weight_board > 0:
        blocks.append(_too_wide(ground, division, width, sine, spots, rules, each))
    return blocks


def blank_area_m2(ground: Ground, fraction: Floats, spots: Spots, rules: LiningRules) -> float:
    """Estimate the area of the blanks of one side, m2: planks of the usual length, end to end."""
    width, _ = widths_at(ground, fraction, spots, rules.sine_floor)
    sweep = _sweep(spots)
    middle = (spots.point[1:] + spots.point[:-1]) / 2
    step = np.linalg.norm(np.diff(middle, axis=1), axis=-1)
    total = 0.0
    for k in range(len(width)):
        run = np.concatenate([[0.0], np.cumsum(step[k])])
        total += _strake_area(run, width[k], sweep[k], rules.plank_length_mm)
    return float(total) / 1e6


def _strake_area(run: Floats, width: Floats, sweep: Floats, usual: float) -> float:
    """Give the area of a strake's blanks, mm2, cut into planks of even length near the usual."""
    stands = width > 1.0
    if not stands.any():
        return 0.0
    first, last = run[stands][[0, -1]]
    count = max(round((last - first) / usual), 1)
    length = (last - first) / count
    area = 0.0
    for i in range(count):
        here = stands & (run >= first + i * length - 1.0) & (run <= first + (i + 1) * length + 1.0)
        if here.any():
            area += length * float(width[here].max() + abs(sweep[here].mean()) * length**2 / 8.0)
    return area


def _squared(  # noqa: PLR0917
    ground: Ground, division: Division, width: Floats, sine: Floats, part: Floats, each: Floats
) -> Block:
    """Residuals width * part, where part grows as the width does: slope twice the part."""
    strake, line = np.nonzero(division.present())
    scale = each[line]
    value = scale * (width * part)[strake, line]
    slope = scale * (2.0 * part * ground.girth * sine)[strake, line]
    index = np.stack([division.unknown[strake, line], division.unknown[strake + 1, line]], axis=-1)
    return Block(value, index, np.stack([-slope, slope], axis=-1))


def _sweep(spots: Spots) -> Floats:
    """Sweep of each strake's middle (S, L), 1/mm; at the hood ends that of the next line."""
    value, _ = seam_curvature(spots)
    middle = (value[1:] + value[:-1]) / 2
    return np.concatenate([middle[:, :1], middle, middle[:, -1:]], axis=1)


def _too_wide(  # noqa: PLR0917
    ground: Ground,
    division: Division,
    width: Floats,
    sine: Floats,
    spots: Spots,
    rules: LiningRules,
    each: Floats,
) -> Block:
    """Give what blanks are wider than the boards, at all lines but the ends."""
    curved = seam_slopes(spots)
    sag = rules.plank_length_mm**2 / 8.0
    sweep = (curved.value[1:] + curved.value[:-1]) / 2
    over = width[:, 1:-1] + sag * np.abs(sweep) - rules.board_width_mm
    present = division.present()
    strake, line = np.nonzero((over > 0) & present[:, 1:-1] & present[:, 2:] & present[:, :-2])
    scale = each[line + 1] * math.sqrt(rules.weight_board) / rules.board_width_mm
    turn = sag / 2.0 * np.sign(sweep[strake, line])
    grow = (ground.girth * sine)[strake, line + 1]
    index, slope = [], []
    for row, sign in ((strake, -1.0), (strake + 1, 1.0)):
        index.append(division.unknown[row[:, None], line[:, None] + np.arange(3)])
        own = turn[:, None] * curved.slope[row, line]
        own[:, 1] += sign * grow
        slope.append(scale[:, None] * own)
    return Block(scale * over[strake, line], np.hstack(index), np.hstack(slope))
