"""What the page of lining out shows: seams on the ground, widths, limits, reasons, wishes.

The seams shown are those of the newest lining kept; where the wishes are newer,
`ribband.app.screens.drag` settles them anew while the whole is planned again.

Not checked: fairness in the wood. Seams are proved with a ribband on the frames.
"""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ribband.app.screens.expansion import ground, seams, strakes
from ribband.app.screens.kept import Lying, lying
from ribband.errors import InputError, Problem
from ribband.hull.model import Floats
from ribband.units import format_area, format_length

if TYPE_CHECKING:
    from ribband.hull.model import GirthLines, Hull
    from ribband.lining.model import Lining

__all__ = ["line_out_view", "space_view"]

POINT_MM = 1.0  # narrower is an end in a point
STEPS = ("hull", "lining", "butts")


def line_out_view(path: Path) -> dict[str, Any]:
    """Give everything the page draws but the hull in space.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    on = lying(path, STEPS)
    common = {"revision": on.revision, "unit": on.unit, "states": dict(on.states)}
    if on.hull is None or on.lining is None:
        return {**common, "there": False}
    return {
        **common,
        "there": True,
        "ground": ground(on.hull),
        **lining_parts(on.lining),
        "limits": _limits(on),
        "figures": figures(on.lining, on.unit),
        "reasons": list(on.lining.reasons),
        "binds": [{"what": b.what, "where": b.where, "gain": b.gain} for b in on.lining.binds],
        "alternatives": [_alternative(one) for one in on.lining.alternatives],
        "findings": _findings(on),
    }


def lining_parts(lining: Lining) -> dict[str, Any]:
    """Give what is drawn of a lining."""
    return {
        "strakes": strakes(lining),
        **seams(lining.lower_girth_mm, lining.upper_girth_mm, lining.width_mm),
        "feasible": lining.feasible,
    }


def figures(lining: Lining, unit: str) -> list[dict[str, str]]:
    """Give the key figures of a lining in the job's unit, all of one kind for comparing."""
    from ribband.lining.words import Words

    width = lining.full_width_mm
    there = width[np.isfinite(width) & (width > POINT_MM)]
    stealers = sum(s.stealer for s in lining.strakes)
    rows = [
        ("strakes a side", str(len(lining.strakes) - stealers)),
        ("stealers a side", str(stealers)),
        ("widest", format_length(float(there.max()), unit)),
        ("narrowest", format_length(float(there.min()), unit)),
        ("sweep of seams, on the whole", Words(unit).sweep(lining.sweep_rms_per_m)),
        ("points against it, to compare linings", f"{100 * lining.cost:.1f}"),
    ]
    if lining.blank_m2:
        rows.append(("straight boards for a side, guessed", format_area(lining.blank_m2, unit)))
    return [{"what": what, "value": value} for what, value in rows]


def space_view(path: Path) -> dict[str, Any]:
    """Give the frames and hood ends in space, mm, for the body plan and for sighting.

    Raises
    ------
    InputError : only girths were measured, or no hull was made yet
    JobFileError : the job cannot be opened
    """
    hull = lying(path, STEPS).hull
    if hull is None or hull.frames.xyz is None or hull.lines.xyz is None:
        found = "no hull yet" if hull is None else "girths only"
        raise InputError([Problem("offsets", 0, "", found, "offsets, to see the hull in space")])
    return {
        "frames": _points(hull.frames.xyz),
        "stem": _points(hull.lines.xyz[0]) if hull.has_stem else None,
        "stern": _points(hull.lines.xyz[-1]) if hull.has_stern else None,
        "girths": {"stem": _girth(hull.lines, 0), "stern": _girth(hull.lines, -1)},
        "normals": _middle_normals(hull),
    }


def _girth(lines: GirthLines, at: int) -> float:
    return round(float(lines.girth_mm[at]), 1)


def _middle_normals(hull: Hull) -> list[Any]:
    """Give outward normals (F, M, 3) of the frames, two figures."""
    if hull.frames.normal is None:
        return []
    rounded: list[Any] = np.round(hull.frames.normal, 2).tolist()
    return rounded


def _points(xyz: Floats) -> list[Any]:
    rounded: list[Any] = np.round(xyz, 1).tolist()
    return rounded


def _limits(on: Lying) -> dict[str, Any]:
    """Give the limits of width in force, mm and as text."""
    from ribband.lining.rules import limits_of

    assert on.hull is not None  # noqa: S101 - looked at before
    limits = limits_of(on.rules("lining"), on.hull.particulars)
    own = {"greatest": limits.greatest, "least": limits.least, "hood_greatest":
           limits.greatest_hood, "hood_least": limits.least_hood}  # fmt: skip
    return {name: {"mm": mm, "text": format_length(mm, on.unit)} for name, mm in own.items()}


def _alternative(one: Any) -> dict[str, Any]:
    return {"strakes": one.strakes, "stealers": one.stealers, "says": one.says}


def _findings(on: Lying) -> list[dict[str, str]]:
    return [
        {"code": f.code, "severity": f.severity.value, "where": f.where, "says": f.says,
         "why": f.why}
        for f in on.made["lining"].findings
    ]  # fmt: skip
