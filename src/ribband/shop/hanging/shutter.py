"""Choosing the shutter: straight, little bent or twisted, in reach, and square to drive.

Points are counted against every plank that may close the planking: its sweep over its length, its
twist, the strain of its outer fibres, how far it is from the best height, how far its face looks
down, and a hood end, each over what the rules call sharp. The fewest points wins. What is not
known counts nothing and is said.

Not checked: whether the place is in reach in your shed; go and look before it is left open.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ribband.hull.model import Hull
from ribband.lining.model import Lining
from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape
from ribband.shop.hanging.model import Look, Seat
from ribband.shop.hanging.rules import HangingRules
from ribband.shop.hanging.seats import lapped

__all__ = ["look_at", "may_shut", "places_in_space"]


def may_shut(own: Sequence[Seat], rules: HangingRules, stealers: Sequence[int] = ()) -> list[Seat]:
    """Give the seats whose planks may be the shutter: clear of keel, sheer and stealers.

    Where strakes are too few for that, every row between garboard and sheer may; else every row.
    A plank that another is scarfed over cannot go in last: it goes in before that one.
    """
    rows = sorted({seat.row for seat in own})
    whole = [row for row in rows if row not in set(stealers)] or rows
    inner = whole[rules.from_keel : len(whole) - rules.from_sheer]
    chosen = set(inner or whole[1:-1] or whole)
    under = lapped(own)
    return [seat for seat in own if seat.row in chosen and seat.plank not in under]


def look_at(
    plank: Plank, seat: Seat, shape: Shape | None, at: tuple[float, float] | None, r: HangingRules
) -> Look:
    """Count the points against a plank; `at` is (height mm, looking down rad), None: not known."""
    hood = "hood" in {plank.fore_landing, plank.aft_landing}
    sweep = None if shape is None else shape.sweep_mm / max(shape.blank_length_mm, 1.0)
    twist = None if shape is None else float(np.abs(shape.twist_rad_per_m).max(initial=0.0))
    strain = None if shape is None else shape.fibre_strain
    height, overhead = at or (None, None)
    parts = (
        _part(sweep, r.sharp_sweep),
        _part(twist, r.sharp_twist_rad),
        _part(strain, r.sharp_strain),
        _part(None if height is None else abs(height - r.reach_mm), r.sharp_height_mm),
        _part(overhead, r.sharp_overhead_rad),
        r.hood_points * hood,
    )
    says = _words(sweep, twist, height, overhead, hood=hood)
    return Look(plank.name, sum(parts), sweep, twist, strain, height, overhead, hood, says)


def _part(value: float | None, sharp: float) -> float:
    return 0.0 if value is None else value / sharp


def _words(
    sweep: float | None,
    twist: float | None,
    height: float | None,
    overhead: float | None,
    *,
    hood: bool,
) -> str:
    said = []
    if sweep is not None:
        said.append(f"sweep 1 in {1 / sweep:.0f}" if sweep > 1e-4 else "straight")
    if twist is not None:
        said.append(f"twist at most {np.degrees(twist):.1f} degrees in a metre")
    if height is not None:
        said.append(f"{round(height, -1):.0f} mm above the rabbet's lowest")
    if overhead is not None:
        down = np.degrees(overhead)
        said.append(f"face looks {down:.0f} degrees down" if down > 0.5 else "driven level or down")
    said.append("a hood end to fit" if hood else "butts at both ends")
    return "; ".join(said)


def places_in_space(
    own: Sequence[Seat], lining: Lining, hull: Hull
) -> Mapping[str, tuple[float, float]]:
    """Give (height over the lowest of the rabbet, how far the face looks down) of each plank.

    Taken half way along and across the plank, from the lining's edges. Empty with girths only.
    """
    lower, upper, frames = lining.lower_xyz, lining.upper_xyz, hull.frames
    if lower is None or upper is None or frames.xyz is None or frames.normal is None:
        return {}
    lowest = float(np.nanmin(frames.xyz[..., 2]))
    found = {}
    for seat in own:
        column = int(np.clip((seat.fore + seat.aft) // 4, 1, len(lining.columns) - 2))
        middle = (lower[seat.row, column] + upper[seat.row, column]) / 2
        if np.isfinite(middle).all():
            line = column - 1
            near = int(np.linalg.norm(frames.xyz[line] - middle, axis=1).argmin())
            down = float(np.arcsin(np.clip(-frames.normal[line, near, 2], 0.0, 1.0)))
            found[seat.plank] = (float(middle[2]) - lowest, down)
    return found
