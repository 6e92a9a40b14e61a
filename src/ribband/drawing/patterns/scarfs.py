"""Scarfs on a pattern: where they begin, and which face is cut away.

*Scarf*: both planks tapered over the same length, each to nothing at its end, so that together
they are one thickness. The fore plank's tip lies outside and points aft: its after end is cut on
the inner face, the fore end of the plank behind it on the outer face. The line across is where the
taper begins; it is square to the plank's middle, as the other plank's end is.
*Nib*: the end is left so thick instead, and square; the other plank has a step of that depth
where its taper begins, and the nib butts against it.

Not checked: that the scarf is shorter than the plank.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ribband.drawing.patterns.flat import Flat, as_points
from ribband.drawing.sheet import Item, Polyline, Text
from ribband.hull.model import Floats
from ribband.planks.shape_model import Shape
from ribband.units import format_length

__all__ = ["scarf_line", "scarf_marks", "scarfs_said"]

FACES = {"fore": "outer", "aft": "inner"}


def scarf_line(shape: Shape, end: str) -> Floats:
    """Give the line (2, 2) across a shape where the scarf of its "fore" or "aft" end begins."""
    long = shape.fore_scarf_mm if end == "fore" else shape.aft_scarf_mm
    way = 1 if end == "fore" else -1
    lower, upper = shape.lower[::way], shape.upper[::way]
    middle = (lower + upper) / 2
    run = np.concatenate([[0.0], np.linalg.norm(np.diff(middle, axis=0), axis=1).cumsum()])
    at = np.array([np.interp(long, run, middle[:, k]) for k in (0, 1)])
    ahead = np.array([np.interp(long, run, np.gradient(middle[:, k], run)) for k in (0, 1)])
    square = np.array([-ahead[1], ahead[0]]) * way
    off = [(edge - at) @ np.stack([ahead, square], axis=1) for edge in (lower, upper)]
    return np.array([at + square * np.interp(0.0, o[:, 0], o[:, 1]) for o in off])


def scarf_marks(shape: Shape, flat: Flat) -> Iterator[Item]:
    """Draw the line where each scarf begins, and letter which face is cut away."""
    for end, long in (("fore", shape.fore_scarf_mm), ("aft", shape.aft_scarf_mm)):
        if not long:
            continue
        line = scarf_line(shape, end) * [-flat.fore, 1.0]
        yield Polyline("scarfs", as_points(line))
        right = (end == "fore") == (flat.fore > 0)  # the end lies to the right of the line
        (x, low), (_, high) = line
        size = float(np.clip((high - low) / 16.0, 1.8, 3.5))
        at = (float(x) + (3.0 if right else -3.0), float(low + 0.3 * (high - low)))
        says = f"scarf: {FACES[end]} face off" + (", nibbed" if shape.nib_mm else "")
        yield Text("signs", at, says, size, "left" if right else "right", face="Sans-Italic")


def scarfs_said(shape: Shape, unit: str) -> tuple[str, ...]:
    """Say how the scarfs are cut; nothing where there are none."""
    ends = (("fore", shape.fore_scarf_mm), ("aft", shape.aft_scarf_mm))
    cut = [
        f"{end} end {format_length(long, unit)}, off the {FACES[end].upper()} face"
        for end, long in ends
        if long
    ]
    if not cut:
        return ()
    return (f"Scarfs: {'; '.join(cut)}. {_planed(shape, unit)} The outline has it whole.",)


def _planed(shape: Shape, unit: str) -> str:
    """Say how a scarf is planed, to nothing or to its nib."""
    if not shape.nib_mm:
        return "Plane from the whole thickness at the dashed line to nothing at the end."
    nib = format_length(shape.nib_mm, unit)
    return (
        f"Nibbed: at the dashed line cut a step {nib} deep square across that face, and plane from "
        f"its foot until {nib} is left at the end, cut square."
    )
