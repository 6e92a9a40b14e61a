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
    shapes = [planking.shape(p) for p in planking.planks.planks]
    if all(shape is not None for shape in shapes):
        flat = sum(_run(shape.lower) for shape in shapes if shape is not None)
        flat += sum(
            _run(shape.upper)
            for plank, shape in zip(planking.planks.planks, shapes, strict=True)
            if shape is not None and _under_old(planking, plank)
        )
        part = PART
    else:
        flat, part = sum(p.length_mm for p in planking.planks.planks), PART_OF_MIDDLES
        flat += sum(p.length_mm for p in planking.planks.planks if _under_old(planking, p))
    if abs(along - flat) > part * flat:
        yield "W071", f"seams are {along / 1000:.1f} m long, the planks' edges {flat / 1000:.1f} m"
    if abs(sum(s.length_mm for s in made.seams) - made.seam_mm) > 1.0:
        yield "W072", "the seams do not add up"


def _under_old(planking: Planking, plank: Plank) -> bool:
    """Tell whether no plank of the strake above is listed: its upper seam is opened as well."""
    names = [strake.name for strake in planking.lining.strakes]
    above = names[names.index(plank.strake) + 1 :][:1]
    there = {p.strake for p in planking.planks.planks if p.side == plank.side}
    return bool(above) and above[0] not in there


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
