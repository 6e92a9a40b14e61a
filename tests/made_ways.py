"""Butt problems from formulas: a vessel of so many strakes and frames, planks by the yard.

The fore ends rake like a stem rabbet (low strakes begin further aft), the after ends like a
sternpost, and strakes at the bilge run a little longer for the hull's round. `stealers` puts
short strakes in the after body. `VESSELS` are the three of the benchmark table.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ribband.butts.model import Ways
from ribband.butts.problem import _open, _ranks
from ribband.butts.rules import ButtRules


@dataclass(frozen=True)
class Vessel:
    strakes: int
    frames: int
    space_mm: float
    greatest_mm: float


VESSELS = {
    "12 x 35": Vessel(12, 35, 450.0, 7315.2),
    "25 x 60": Vessel(25, 60, 400.0, 7315.2),
    "42 x 120": Vessel(42, 120, 450.0, 9753.6),
}


def rules_for(vessel: Vessel, **changes: object) -> ButtRules:
    return ButtRules(greatest_plank_mm=vessel.greatest_mm, **changes)  # type: ignore[arg-type]


def made_ways(
    vessel: Vessel, rules: ButtRules, stealers: int = 0, rake: float = 0.06, **more: object
) -> Ways:
    x = np.arange(vessel.frames) * vessel.space_mm
    height = np.linspace(0.0, 1.0, vessel.strakes)
    span = x[-1] + 2 * 0.6 * vessel.space_mm
    fore = -0.6 * vessel.space_mm + rake * span * (1 - height) ** 2
    aft = x[-1] + 0.6 * vessel.space_mm - 0.5 * rake * span * (1 - height) ** 2
    stretch = 1.0 + 0.02 * np.sin(np.pi * height)
    along = (x[None] - fore[:, None]) * stretch[:, None]
    length = (aft - fore) * stretch
    names = [str(i + 1) for i in range(vessel.strakes)]
    for k in range(stealers):  # a short strake above strake 3 + 4 k, from 60 % of the length aft
        at = min(3 + 5 * k, len(names))
        nib = x[int(vessel.frames * 0.55)]
        along = np.insert(along, at, x - nib, axis=0)
        length = np.insert(length, at, x[-1] + 0.5 * vessel.space_mm - nib)
        names.insert(at, names[at - 1] + "s")
    along[(along < 0) | (along > length[:, None])] = np.nan
    both = np.full((len(names), 2 * vessel.frames - 1), np.nan)
    both[:, ::2], both[:, 1::2] = along, (along[:, :-1] + along[:, 1:]) / 2
    return Ways(
        tuple(names),
        tuple(str(i + 1) for i in range(vessel.frames)),
        x,
        both,
        _ranks(both),
        length,
        _open(both, length, rules),
        **more,  # type: ignore[arg-type]
    )
