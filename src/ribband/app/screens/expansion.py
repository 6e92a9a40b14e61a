"""The expansion as a page draws it: the ground once, and the seams on it in tenths of a mm.

*Ground*: frames, hood ends and rabbet laid flat (`ribband.drawing.views.flat`), bow to the left.
*Seams*: girths along every column, whole tenths of a millimetre, -1 where a strake does not
reach; small enough to be sent while a seam is dragged.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from ribband.hull.model import Floats

if TYPE_CHECKING:
    from ribband.drawing.views.flat import Flat
    from ribband.hull.model import Hull
    from ribband.lining.model import Lining, Strake

__all__ = ["ground", "in_short", "named", "seams", "strakes", "tenths"]


def tenths(mm: Floats) -> list[Any]:
    """Give lengths as whole tenths of a mm, -1 where not known.

    >>> tenths(np.array([12.34, np.nan]))
    [123, -1]
    """
    whole: list[Any] = np.where(np.isfinite(mm), np.rint(10 * mm), -1).astype(int).tolist()
    return whole


def ground(hull: Hull) -> dict[str, Any]:
    """Give the ground of the expansion, mm, x growing aft and y upward."""
    from ribband.drawing.views.flat import laid_flat

    flat = laid_flat(hull, 1)
    double = {mark.name for mark in hull.marks if mark.double}
    frames = [
        {"name": name, "x": round(float(x), 1), "rise": round(float(rise), 1),
         "girth": round(float(girth), 1), "keel": keel, "double": name in double}
        for name, x, rise, girth, keel in zip(
            flat.names, flat.x_mm, flat.rise_mm, flat.girth_mm, flat.on_keel, strict=True)
    ]  # fmt: skip
    return {
        "frames": frames,
        "stem": _rounded(flat.stem),
        "stern": _rounded(flat.stern),
        "rabbet": _rounded(flat.rabbet),
        "sheer": _rounded(flat.sheer),
        "box": _box(flat),
        "in_space": hull.in_space,
        "open_doubts": sum(not doubt.decision for doubt in hull.doubts),
    }


def strakes(lining: Lining) -> list[dict[str, Any]]:
    """Name the strakes, keel to sheer."""
    return named(lining.strakes)


def named(those: Sequence[Strake]) -> list[dict[str, Any]]:
    """Give strakes as a page knows them."""
    return [
        {"name": s.name, "called": s.called, "first": s.first, "last": s.last,
         "stealer": s.stealer, "nib": s.nib}
        for s in those
    ]  # fmt: skip


def seams(lower: Floats, upper: Floats, width: Floats) -> dict[str, Any]:
    """Give the seams and widths, (S, C) each, in tenths."""
    return {"lower": tenths(lower), "upper": tenths(upper), "width": tenths(width)}


def in_short(of: dict[str, Any]) -> dict[str, Any]:
    """Leave out each lower edge that is the upper edge of the strake below, row for row.

    >>> in_short({"lower": [[0], [5]], "upper": [[5], [9]]})["lower"]
    [[0], []]
    """
    lower, upper = of["lower"], of["upper"]
    less = [[] if k and row == upper[k - 1] else row for k, row in enumerate(lower)]
    return of | {"lower": less}


def _rounded(points: Floats | None) -> list[Any] | None:
    if points is None:
        return None
    rounded: list[Any] = np.round(points, 1).tolist()
    return rounded


def _box(flat: Flat) -> list[float]:
    box = flat.box
    return [round(v, 1) for v in (box.left, box.lower, box.right, box.upper)]
