"""The planks of the strakes beside a seam, laid flat as the seams lie now, held or in a hand.

Only the strakes on both sides of the seam are laid flat (`ribband.planks.shapes.flat_planks`), by
the butts there are; a butt that its strake does not reach any more is left out. What
can be said of them only after the whole is planned again (boards, weights, findings) is not here.

Points of outlines are whole tenths of a mm; figures are in the job's unit.

Not checked: the shapes (`planks.check_shapes` does that when the whole is planned).
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, Any

import numpy as np

from ribband.app.screens.kept import Lying
from ribband.errors import NotConverged
from ribband.hull.model import Floats
from ribband.units import format_length, format_small

if TYPE_CHECKING:
    from ribband.butts.model import Butt, Layout, Ways
    from ribband.lining.lineout import Drag
    from ribband.lining.model import Lining
    from ribband.planks.flat_plank import FlatPlank

__all__ = ["as_dragged", "butts_on", "planks_beside", "why_none"]

EVERY = 4  # points of an edge left out of so many: a screen shows no more
NOTCHED = 1  # none where a nib is let in, or its corner is cut off


def planks_beside(on: Lying, drag: Drag, strake: str, frame: str = "") -> dict[str, Any]:
    """Give the flat planks of `strake` and of what lies above it, as the seams lie in `drag`.

    `why` says in words why there are none; `butts` is the state of the butts they are cut by. With
    `frame` those on it alone are laid flat, and `part` says so: a hand that moves sees no others.
    """
    from ribband.planks.shapes import flat_planks

    none: dict[str, Any] = {
        "strakes": [], "planks": [], "why": why_none(on, drag), "butts": on.states["butts"],
        "part": bool(frame),
    }  # fmt: skip
    kept = on.result("butts")
    if none["why"] or on.hull is None or kept is None:
        return none
    lining = as_dragged(on, drag)
    rows = beside(lining, strake)
    ways, layout = butts_on(lining, drag, kept)
    try:
        at = on.hull.frames.names.index(frame) if frame in on.hull.frames.names else None
        made = flat_planks(on.hull, lining, ways, layout, on.rules("shapes"), rows, at)
    except NotConverged as error:
        return none | {"why": f"these planks cannot be laid flat: {error}"}
    names = [lining.strakes[row].name for row in rows]
    planks = [_plank(shape, lining, on.unit) for shape in made]
    return none | {"strakes": names, "planks": planks}


def why_none(on: Lying, drag: Drag) -> str:
    """Say why no plank can be laid flat yet; nothing where they can."""
    if on.hull is None or not on.hull.in_space:
        return "flat shapes need a hull in space: only girths are known"
    kept = on.result("butts")
    if kept is None or kept[1] is None:
        return "the planks follow when the butts are laid"
    whole = sum(not name.endswith("s") for name in kept[0].strakes)
    if whole != drag.settled.division.whole:
        return (
            "the butts are those of another number of strakes: planks follow when the plan is "
            "brought up to date"
        )
    return ""


def as_dragged(on: Lying, drag: Drag) -> Lining:
    """Give the lining with the seams, and the strakes, as they lie in `drag`.

    Only what openings and flat shapes are made from is of now.
    """
    from ribband.lining.division import strakes_of

    assert on.lining is not None and on.hull is not None  # noqa: S101, PT018 - it is held
    division = drag.settled.division
    return replace(
        on.lining,
        strakes=strakes_of(division, on.hull),
        seam_u=drag.asked.ground.u,
        seam_v=drag.settled.fraction,
        present=division.present().astype(float),
    )


def beside(lining: Lining, strake: str) -> list[int]:
    """Give the rows of `strake` and of the strakes that lie on the seam above it."""
    rows = [[s.name for s in lining.strakes].index(strake)]
    for row in range(rows[0] + 1, len(lining.strakes)):
        rows.append(row)
        if not lining.strakes[row].stealer:
            break
    return rows


def butts_on(
    lining: Lining, drag: Drag, kept: tuple[Ways, Layout, Layout | None]
) -> tuple[Ways, Layout]:
    """Give the butts there are on these strakes: by name, and no further than a strake runs."""
    ways, layout, _ = kept
    old = {name: row for row, name in enumerate(ways.strakes)}
    names = tuple(s.name for s in lining.strakes)
    rows = np.array([old.get(name, -1) for name in names])
    new = {int(row): at for at, row in enumerate(rows) if row >= 0}
    butts = (replace(b, strake=new[b.strake]) for b in layout.butts if b.strake in new)
    there = drag.settled.cut.there[:, 1:-1]
    clear = there.copy()  # and the frames beside it too
    clear[:, 1:] &= there[:, :-1]
    clear[:, :-1] &= there[:, 1:]
    kept_butts = tuple(b for b in butts if _reached(b, clear))
    if names != ways.strakes:
        known = (rows >= 0)[:, None]
        ways = replace(
            ways, strakes=names, fixed=(),
            along_mm=np.where(known, ways.along_mm[rows], np.nan),
            rank=np.where(known, ways.rank[rows], -1),
            length_mm=np.where(rows >= 0, ways.length_mm[rows], np.nan),
            open=known & ways.open[rows],
        )  # fmt: skip
    return ways, replace(layout, butts=kept_butts)


def _reached(butt: Butt, clear: Any) -> bool:
    """Tell whether a strake runs on beyond the frames its butt stands on or between."""
    fore, aft = butt.landing // 2, (butt.landing + 1) // 2
    return bool(clear[butt.strake, fore] and clear[butt.strake, aft])


def _plank(shape: FlatPlank, lining: Lining, unit: str) -> dict[str, Any]:
    """Give one plank: its outline, its frames' lines and its figures in words."""
    strake = lining.strakes[shape.strake]
    step = NOTCHED if any(s.stealer for s in lining.strakes) else EVERY
    lines = zip(shape.frames, shape.frame_lines[:, [0, -1]], strict=True)
    return {
        "name": shape.name,
        "strake": strake.name,
        "number": shape.number,
        "lower": _flat(shape.lower[::step]),
        "upper": _flat(shape.upper[::step]),
        "lines": [[name, *_flat(line)] for name, line in lines],
        "length": format_length(shape.blank_length_mm, unit),
        "width": format_length(shape.blank_width_mm, unit),
        "sweep": format_small(shape.sweep_mm, unit),
        "strain": f"{1000 * shape.strain:.2f}",
        "where": shape.strain_at,
    }


def _flat(points: Floats) -> list[int]:
    """Give points (n, 2) as x, y, x, y, ... in whole tenths of a mm.

    >>> _flat(np.array([[1.0, 2.04], [-3.0, 4.0]]))
    [10, 20, -30, 40]
    """
    whole: list[int] = np.rint(10.0 * points).astype(int).ravel().tolist()
    return whole
