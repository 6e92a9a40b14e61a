"""Flat planks that are known exactly: strips of a cylinder and of a cone.

The cylinder's strip is straight; the cone's is part of a ring. What the frames cross, the hollow,
the twist and the bend are the formulae of those surfaces. Bevels are those of radial edges with a
caulking opening of one in sixteen a side.
"""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np

from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape

OPENING = math.atan(1 / 16)


def cylinder_strip(
    name: str = "7-2",
    long: float = 12_000.0,
    wide: float = 180.0,
    radius: float = 1_900.0,
    lean: float = 0.12,
    space: float = 400.0,
    taper: float = 0.0,
) -> Shape:
    """A strip that leans `lean` from the cylinder's axis; `taper` of its width is lost forward."""
    x = np.linspace(0.0, long, 49)
    half = wide / 2 * (1 - taper * (1 - x / long) ** 2)
    at = np.arange(space / 2, long - 1.0, space)
    here = np.interp(at, x, half)
    across, k = math.cos(lean) ** 2 / radius, len(at)
    return _shape(
        name,
        np.column_stack([x, -half]),
        np.column_stack([x, half]),
        at,
        -here,
        here,
        hollow=(2 * here) ** 2 / 8 * across,
        bevels=OPENING - here * across,
        twist=np.full(k, math.sin(lean) * math.cos(lean) / radius * 1000),
        bend=np.full(k, radius / math.sin(lean) ** 2 if lean else math.inf),
        blank=(long, wide, 0.0),
    )


def cone_sector(
    name: str = "3-1",
    long: float = 12_000.0,
    wide: float = 200.0,
    radius: float = 60_000.0,
    slope: float = 0.3,
    space: float = 400.0,
    points: int = 49,
) -> Shape:
    """A ring's part: the lower edge of `radius` + wide/2 and the upper of `radius` - wide/2.

    The batten lies straight, from the middle of the fore end to that of the aft.
    """
    half = long / 2 / radius
    t = np.linspace(-half, half, points)
    base, out = radius * math.cos(half), radius * math.sin(half)

    def arc(r: float) -> np.ndarray:
        return np.column_stack([r * np.sin(t) + out, base - r * np.cos(t)])

    at = np.arange(space / 2, 2 * out, space)
    low, high = (
        base - np.sqrt(r**2 - (at - out) ** 2) for r in (radius + wide / 2, radius - wide / 2)
    )
    k, across = len(at), 1 / (radius * math.tan(slope))
    sweep = (radius - wide / 2) * (1 - math.cos(half))
    return _shape(
        name, arc(radius + wide / 2), arc(radius - wide / 2), at, low, high,
        hollow=np.full(k, wide**2 / 8 * across),
        bevels=np.full(k, OPENING - wide / 2 * across),
        twist=np.zeros(k),
        bend=np.full(k, radius * math.tan(slope)),
        blank=(2 * (radius + wide / 2) * math.sin(half), wide + sweep, sweep),
    )  # fmt: skip


def _shape(name, lower, upper, at, low, high, *, hollow, bevels, twist, bend, blank) -> Shape:
    strake, number = name.split("-")
    ends = [np.linspace(lower[i], upper[i], 9) for i in (0, -1)]
    angles = [math.atan2(-(e[-1] - e[0])[0], (e[-1] - e[0])[1]) for e in ends]
    return Shape(
        name=name, strake=int(strake.rstrip("abc")) - 1, number=int(number),
        lower=lower, upper=upper, fore=ends[0], aft=ends[1],
        frames=tuple(str(i + 4) for i in range(len(at))),
        along_mm=at, lower_mm=low, upper_mm=high, lower_bevel_rad=bevels,
        upper_bevel_rad=bevels * 0.8, lower_fit_rad=bevels - OPENING,
        upper_fit_rad=bevels * 0.8 - OPENING, tight_mm=16.0, hollow_mm=hollow, round_mm=hollow,
        twist_rad_per_m=twist,
        bend_radius_mm=bend, batten_xyz=np.zeros((2, 3)), fore_angle_rad=angles[0],
        aft_angle_rad=angles[1], strain=0.0, strain_at="", seam_error_mm=0.0,
        edge_set_mm=blank[2], blank_length_mm=blank[0], blank_width_mm=blank[1],
        sweep_mm=blank[2], runout_rad=2 * blank[2] / blank[0],
        thickness_mm=48.0 + 2 * float(hollow.max()),
        fibre_strain=float(np.max(48.0 / 2 / bend)), grade="cold", why_grade="bends cold",
    )  # fmt: skip


def plank_for(shape: Shape, side: str = "port", **more) -> Plank:
    """The plank-list row of a shape, as of 48 mm stuff at 560 kg/m3."""
    strake, number = shape.name.split("-")
    wide = shape.upper_mm - shape.lower_mm
    long = float(shape.blank_length_mm)
    m3 = long * float(wide.mean()) * 48.0 / 1e9
    plank = Plank(
        f"{side[0].upper()}{strake}-{number}", side, strake, int(number), "4", "frame",
        shape.frames[-1], "block", long, float(wide.max()), float(wide.min()), m3 / 0.048, 48.0,
        58.0, m3 * 560, m3 * 560 * 1.35, m3 * 423.8, m3 * 423.8 * 1.35,
    )  # fmt: skip
    return replace(plank, **more)


def many(count: int = 175) -> list[tuple[Plank, Shape]]:
    """Planks of a whole vessel's number, swept and straight, lengths from 4 to 9 m."""
    out = []
    for i in range(count):
        name, long = f"{i // 5 + 1}-{i % 5 + 1}", 4_000.0 + 5_000.0 * (i % 7) / 6
        shape = cone_sector(name, long, 150 + i % 60) if i % 2 else cylinder_strip(name, long)
        out.append((plank_for(shape), shape))
    return out
