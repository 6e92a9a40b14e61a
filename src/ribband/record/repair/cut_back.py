"""Where a plank that stays is cut back for a scarf to a new one.

*Joint*: the landing the scarf is centred on. Both planks taper over the scarf's whole length, half
of it on either side of the joint. The forward plank's tip lies outside and points aft: its after
end is cut on the inner face, the other plank's fore end on the outer face. *Tip*: where the plank
that stays now ends, half a scarf past the joint, within what is renewed; what lay beyond comes out.
*Full*: where it has its whole thickness again, as far on the other side of the joint. Between the
two it is planed away on one straight slope.

Lengths run along the strake, from its fore end aft.

Not checked: that the wood from the joint to `full` is sound, or that a frame behind the slope holds
its fastenings; the surveyor looks.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ribband.butts.model import Ways
from ribband.record.repair.model import Renewal, Repair, SideRepair

__all__ = ["CutBack", "cut_backs"]

BESIDE = 1  # frames told on either side of the slope


@dataclass(frozen=True, slots=True)
class CutBack:
    """An end of an old plank that is cut back.

    stays : whether the old plank lies "forward" or "aft" of what is renewed
    landing, joint_mm : what the scarf is centred on, and where that lies
    tip_mm, full_mm : where the old plank now ends, and where it has its whole thickness
    face : the face that is planed away
    length_mm, thickness_mm, slope : of the scarf
    width_mm : of the strake at the joint
    new : the plank it is joined to
    frames : names and places of the frames behind it, with one on either side
    """

    side: str
    strake: str
    stays: Literal["forward", "aft"]
    landing: int
    joint_mm: float
    tip_mm: float
    full_mm: float
    face: Literal["inner", "outer"]
    length_mm: float
    thickness_mm: float
    slope: float
    width_mm: float
    new: str
    frames: tuple[tuple[str, float], ...]

    def from_frame(self, at_mm: float) -> tuple[str, float]:
        """Give the frame nearest to a place, and how far aft of it the place lies (mm)."""
        name, there = min(self.frames, key=lambda frame: abs(frame[1] - at_mm))
        return name, at_mm - there


def cut_backs(repair: Repair) -> tuple[CutBack, ...]:
    """Give every old plank's end that is cut back, in the order the renewals are opened.

    None where two renewals meet in one scarf: both planks are new there.
    """
    found = [
        (renewal.turn, own)
        for side in repair.sides
        for renewal in side.renewals
        if renewal.joint == "scarf"
        for own in _of_renewal(repair, side, renewal)
    ]
    return tuple(own for _, own in sorted(found, key=lambda pair: pair[0]))


def _of_renewal(repair: Repair, side: SideRepair, own: Renewal) -> Iterator[CutBack]:
    others = {
        end
        for r in side.renewals
        if r is not own and r.strake == own.strake
        for end in (r.landings[0], r.landings[-1])
    }
    for end, stays, plank in ((0, "forward", 0), (-1, "aft", -1)):
        landing = own.landings[end]
        if landing in own.new and landing not in others and own.planks:
            name = own.planks[plank]
            yield _cut(repair, side, own, landing, name, forward=stays == "forward")


def _cut(
    repair: Repair, side: SideRepair, own: Renewal, landing: int, new: str, *, forward: bool
) -> CutBack:
    ways = side.ways
    row = ways.strakes.index(own.strake)
    long = repair.scarf_mm
    thick = next(p.dressed_mm for p in repair.planks.planks if p.name == new)
    joint = float(ways.along_mm[row, landing])
    way = 1.0 if forward else -1.0  # from full to tip, along the strake
    wide = repair.lining.width_mm[row, 1 + landing // 2]
    return CutBack(
        own.side, own.strake, "forward" if forward else "aft", landing, joint,
        joint + way * long / 2, joint - way * long / 2, "inner" if forward else "outer",
        long, thick, long / thick if thick else 0.0, float(wide), new,
        tuple(_frames(ways, row, joint, long / 2)),
    )  # fmt: skip


def _frames(ways: Ways, row: int, joint: float, half: float) -> Iterator[tuple[str, float]]:
    places = ways.along_mm[row, ::2]
    there = np.flatnonzero(np.isfinite(places))
    inside = there[np.abs(places[there] - joint) <= half]
    near = inside if len(inside) else there[[int(np.argmin(np.abs(places[there] - joint)))]]
    first, last = max(near[0] - BESIDE, there[0]), min(near[-1] + BESIDE, there[-1])
    for k in range(int(first), int(last) + 1):
        if np.isfinite(places[k]):
            yield ways.frames[k], float(places[k])
