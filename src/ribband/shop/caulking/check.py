"""Checking caulking apart from its solver: seam lengths by the planks, quantities done again.

*Lengths*: the lower edges of the flat planks together, or their middles where there are no
shapes, against the seams, within `PART`. *Quantities*: weight by the strands, paying by the
area of the wedge's mouth.

Not checked: how many strands a seam takes.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ribband.findings import Finding, Severity
from ribband.planks.model import Plank
from ribband.shop.caulking.model import Caulking
from ribband.shop.caulking.rules import CaulkingRules
from ribband.shop.planking import Planking

__all__ = ["check_caulking"]

PART, PART_OF_MIDDLES = 0.01, 0.08


def check_caulking(planking: Planking, rules: CaulkingRules, made: Caulking) -> tuple[Finding, ...]:
    """Look for seams left out and sums that do not agree. No finding: everything agreed."""
    says = [*_lengths(planking, made), *_sums(rules, made)]
    return tuple(Finding(c, Severity.FAULT, "shop", "caulking", text) for c, text in says)


def _lengths(planking: Planking, made: Caulking) -> Iterator[tuple[str, str]]:
    along = sum(s.length_mm for s in made.seams if s.of.startswith("strake"))
    planks = planking.planks.planks
    shapes = [planking.shape(p) for p in planks]
    known = all(shape is not None for shape in shapes)
    part = PART if known else PART_OF_MIDDLES
    flat = 0.0
    for plank, shape in zip(planks, shapes, strict=True):
        edges = (
            (_run(shape.lower), _run(shape.upper)) if shape and known else (plank.length_mm,) * 2
        )
        lapped = (plank.fore_scarf_mm + plank.aft_scarf_mm) / 2  # past its joints, on its fellows
        flat += edges[0] - lapped + (edges[1] - lapped) * _under_old(planking, plank)
    if abs(along - flat) > part * flat:
        yield "W071", f"seams are {along / 1000:.1f} m long, the planks' edges {flat / 1000:.1f} m"
    if abs(sum(s.length_mm for s in made.seams) - made.seam_mm) > 1.0:
        yield "W072", "the seams do not add up"


def _under_old(planking: Planking, plank: Plank) -> float:
    """Give the part of a plank over which no plank of the list lies: that seam is opened too."""
    lining = planking.lining_of(plank.side)
    names = [strake.name for strake in lining.strakes]
    higher = [
        _reach(planking, p)
        for p in planking.planks.planks
        if p.side == plank.side and names.index(p.strake) > names.index(plank.strake)
        and p.strake in _next_above(planking, plank)
    ]  # fmt: skip
    fore, aft = _reach(planking, plank)
    if not _next_above(planking, plank) or aft <= fore:
        return 0.0
    at = np.linspace(fore, aft, 200)
    covered = np.zeros(len(at), dtype=bool)
    for first, last in higher:
        covered |= (at >= first) & (at <= last)
    return float(1.0 - covered.mean())


def _next_above(planking: Planking, plank: Plank) -> set[str]:
    """Name the strakes that lie next above a plank: the next, and past a stealer its next too."""
    strakes = planking.lining_of(plank.side).strakes
    found: set[str] = set()
    for strake in strakes[[s.name for s in strakes].index(plank.strake) + 1 :]:
        found.add(strake.name)
        if not strake.stealer:
            break
    return found


def _reach(planking: Planking, plank: Plank) -> tuple[float, float]:
    """Give how far a plank reaches, in places along the hull."""
    lines, frames = planking.hull.lines, planking.hull.frames
    x = dict(zip(frames.names, frames.x_mm.tolist(), strict=True))
    every = {"stem": float(lines.x_mm[0])} | x | {"stern": float(lines.x_mm[-1])}
    names = list(every)

    def place(end: str, landing: str) -> float:
        after = names[min(names.index(end) + (landing == "block"), len(names) - 1)]
        return float(every[end] + every[after]) / 2

    fore, aft = place(plank.fore, plank.fore_landing), place(plank.aft, plank.aft_landing)
    return min(fore, aft), max(fore, aft)


def _run(points: np.ndarray) -> float:
    return float(np.hypot(*np.diff(points, axis=0).T).sum())


def _sums(rules: CaulkingRules, made: Caulking) -> Iterator[tuple[str, str]]:
    metres, kg = made.quantity("cotton strand") or 0.0, made.quantity("cotton") or 0.0
    if abs(1000 * kg - metres * rules.cotton_g_per_m) > 1.0:
        yield "W073", "the weight of cotton does not follow from its strands"
    if metres + 1e-6 < made.seam_mm / 1000 * made.cotton_strands:
        yield "W073", "there is less cotton than seam"
    paid = made.quantity("paying: compound or pitch") or 0.0
    most = made.seam_mm * min(rules.paid_mm, made.depth_mm) * made.opening_mm / 1e6
    if paid > most * (1 + rules.waste_part) + 1e-6 or (made.opening_mm and paid <= 0 < most):
        yield "W074", "there is more paying than the seams hold, or none"
