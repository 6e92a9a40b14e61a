"""What hanging does to a plank: twist, bend square to the hull, strain, and how to bend it.

Along each row of the grid the hull's normal turns as one goes aft: in the plank's length (the
bend, curvature k), and across it (the twist). The outer fibres of a plank of thickness t bent to
radius R are strained by t / 2 R.

*Grades* go by radius over thickness against `bending.csv`: cold where the radius is no less than
the safe published one times the rule's margin; steam down to the published one itself, at which
wood bends even unsteamed; sharper than that no limit has been read, and the grade is left open,
unless the yard gives limits of its own (`shapes.steamed_times`, `shapes.forced_times`).

Not checked: grain, species and moisture, on which bending hangs as much as on the radius.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np

from ribband.hull.model import Floats
from ribband.numerics.flattening import unit
from ribband.planks.opening import Opening
from ribband.planks.shape_model import Grade
from ribband.planks.shape_rules import ShapeRules

__all__ = ["Bend", "Limit", "bend_of", "bending_limits", "grade_of"]


MANY = 1000.0  # times the thickness: beyond it a radius is not worth a figure


@dataclass(frozen=True, eq=False)
class Bend:
    """On the grid (P, n, m): curvature along each row, and twist, rad/mm.

    Curvature is positive where the hull is round; twist where the outer face turns upward going
    aft.
    """

    curvature: Floats
    twist: Floats


@dataclass(frozen=True, slots=True)
class Limit:
    """A published limit: radius over thickness, the safer end of it, and its source key."""

    how: str
    radius: float | None
    safe: float | None
    says: str
    source: str


def bend_of(opening: Opening) -> Bend:
    """Give bend and twist from how points and normals change along the rows."""
    chord, turn = (_change(a) for a in (opening.xyz, opening.normal))
    length2 = np.maximum(np.einsum("pnmi,pnmi->pnm", chord, chord), 1e-6)
    across = opening.xyz[:, :, -1:] - opening.xyz[:, :, :1]
    ahead = unit(chord)
    rise = unit(np.cross(opening.normal, ahead))
    rise *= np.sign(np.einsum("pnmi,pnmi->pnm", rise, across + 0 * rise))[..., None]
    curvature = np.einsum("pnmi,pnmi->pnm", turn, chord) / length2
    twist = np.einsum("pnmi,pnmi->pnm", turn, rise) / np.sqrt(length2)
    return Bend(curvature, twist)


def _change(grid: Floats) -> Floats:
    """Give the change over two steps along (P, n, m, 3); over one step at the ends."""
    change = np.empty_like(grid)
    change[:, 1:-1] = grid[:, 2:] - grid[:, :-2]
    change[:, 0], change[:, -1] = grid[:, 1] - grid[:, 0], grid[:, -1] - grid[:, -2]
    return change


@cache
def bending_limits() -> dict[str, Limit]:
    """Give the published limits, by way of bending.

    >>> bending_limits()["cold"].safe
    30.0
    """
    text = files("ribband").joinpath("data", "bending.csv").read_text("utf-8")
    rows = csv.DictReader(text.splitlines())
    return {row["how"]: _limit(row) for row in rows}


def _limit(row: dict[str, str]) -> Limit:
    numbers = (row["radius_over_thickness"], row["radius_safe_over_thickness"])
    least, safe = (float(cell) if cell else None for cell in numbers)
    return Limit(row["how"], least, safe, row["says"], row["source"])


def grade_of(radius_mm: float, thickness_mm: float, rules: ShapeRules) -> tuple[Grade, str]:
    """Give how a plank is to be bent to a radius, and why.

    >>> grade_of(5000.0, 40.0, ShapeRules())[0], grade_of(600.0, 40.0, ShapeRules())[0]
    ('cold', '')
    """
    limits = bending_limits()
    cold = limits["cold"].safe
    if thickness_mm <= 0 or cold is None:
        return "", "the dressed thickness is not known"
    times = radius_mm / thickness_mm
    many = f"{times:.0f}" if times < MANY else f"over {MANY:.0f}"
    said = f"radius {many} times the thickness"
    if times >= cold * rules.cold_margin:
        return "cold", f"{said}; {cold * rules.cold_margin:.0f} or more"
    if times >= max(cold, rules.steamed_times):
        return "steam", f"{said}; bends unsteamed at {cold:.0f} at the sharpest, without margin"
    return _sharper(times, said, _steamed_limits(rules))


def _steamed_limits(rules: ShapeRules) -> dict[Grade, Limit]:
    """Give the limits of steamed wood that are known: the yard's own, else those published."""
    ways: tuple[tuple[Grade, float], ...] = (
        ("steam", rules.steamed_times), ("steam and force", rules.forced_times),
    )  # fmt: skip
    own = {
        way: Limit(way, times, None, f"{times:g} or more, the yard's own limit", "house")
        for way, times in ways
        if times
    }
    read = bending_limits()
    every = {way: own.get(way) or read[way] for way, _ in ways}
    return {way: limit for way, limit in every.items() if limit.radius is not None}


def _sharper(times: float, said: str, known: dict[Grade, Limit]) -> tuple[Grade, str]:
    """Grade by the limits of steamed wood that are known, the gentlest first."""
    for way, limit in known.items():
        if times >= (limit.radius or 0.0):
            return way, f"{said}; {limit.says}"
    if "steam and force" in known:
        least = min(limit.radius or 0.0 for limit in known.values())
        return "split or laminate", f"{said}; sharper than the limit of steamed wood, {least:g}"
    if known:
        return "", (
            f"{said}; sharper than steam alone is good for by the yard's own limit: no limit with "
            "force is known; try it on a piece of the timber"
        )
    return "", f"{said}; no limit of steamed wood has been read: try it on a piece of the timber"
