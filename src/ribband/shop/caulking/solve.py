"""Caulking worked out: seam lengths, strands, weights, paying, primer and bedding.

Every seam between strakes, the seam of the garboard with the keel, the hood ends, nibs and butts
are caulked; the sheer's upper edge is left to the deck. Lengths run along the strakes' lower
edges from frame to frame. The wedge is open by a part of the thickness at the face and tight in
its inner part. Strands go by thickness, from what surveyors and builders say.

Not reckoned: how hard a seam is driven; too much fibre springs planks off and breaks fastenings.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from functools import cache
from importlib.resources import files
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats, Hull
from ribband.lining.model import Lining, Strake
from ribband.planks.model import Plank
from ribband.shop.blocks.solve import Blocks
from ribband.shop.caulking.model import Caulking, Fill, Item, Seam
from ribband.shop.caulking.rules import CaulkingRules
from ribband.shop.fastenings.model import Fastenings
from ribband.shop.planking import Planking
from ribband.units import INCH

__all__ = ["caulk", "fills"]

MM = float(INCH)
FAR = 1.35  # a thickness further than this part from any row of the table is not answered


@cache
def fills() -> tuple[Fill, ...]:
    """Give the strands by thickness, thinnest first.

    >>> fills()[1].cotton
    1.0
    """
    text = files("ribband").joinpath("data", "caulking.csv").read_text("utf-8")
    return tuple(
        Fill(float(r["planking_in"]) * MM, float(r["cotton"]), float(r["oakum"]), r["says"],
             r["source"])
        for r in csv.DictReader(text.splitlines())
    )  # fmt: skip


def caulk(
    planking: Planking,
    rules: CaulkingRules = CaulkingRules(),  # noqa: B008 - frozen
    blocks: Blocks | None = None,
    fastenings: Fastenings | None = None,
) -> Caulking:
    """Work out what caulks the planking; blocks and fastenings give bedding and bungs."""
    seams = tuple(_seams(planking))
    total = sum(seam.length_mm for seam in seams)
    thick = _thickness(planking)
    fill = _fill(thick)
    cotton = rules.cotton_strands or (fill.cotton if fill else 0.0)
    oakum = rules.oakum_strands or (fill.oakum if fill else 0.0)
    opening, depth = rules.opening_part * thick, (1 - rules.tight_part) * thick
    items = (
        *_fibres(total, cotton, oakum, rules),
        *_paints(total, opening, depth, rules),
        *_bedding(planking, rules, blocks),
        *((Item("bungs", float(fastenings.bungs), "bungs", 10.0, "house"),) if fastenings else ()),
    )
    found = tuple(_findings(planking, rules, fill, thick, oakum))
    return Caulking(seams, total, opening, depth, fill, cotton, oakum, items, found)


def _thickness(planking: Planking) -> float:
    """Give the thickness of most of the planking."""
    by: dict[float, float] = {}
    for plank in planking.planks.planks:
        by[plank.dressed_mm] = by.get(plank.dressed_mm, 0.0) + plank.length_mm
    return max(by, key=lambda t: by[t], default=0.0)


def _fill(thick: float) -> Fill | None:
    if thick <= 0:
        return None
    near = min(fills(), key=lambda f: abs(f.planking_mm - thick))
    return near if 1 / FAR <= near.planking_mm / thick <= FAR else None


def _seams(planking: Planking) -> Iterator[Seam]:
    sides = list(dict.fromkeys(p.side for p in planking.planks.planks))
    for side in sides:
        lining = planking.lining_of(side)
        mine = [p for p in planking.planks.planks if p.side == side]
        every = [
            _halves([p for p in mine if p.strake == strake.name], lining, strake)
            for strake in lining.strakes
        ]
        for row, strake in enumerate(lining.strakes):
            if every[row]:
                length = _edge_mm(planking.hull, lining, row, every[row])
                yield Seam(side, f"strake {strake.name}", length)
            if old := _under_old(lining, row, every):
                length = _edge_mm(planking.hull, lining, row, old, upper=True)
                yield Seam(side, f"strake {strake.name}, upper edge", length)
        yield Seam(side, "hood ends", _ends(planking, mine, {"hood", "nib"}))
        yield Seam(side, "butts", _joints(planking, mine))


def _under_old(lining: Lining, row: int, every: Sequence[set[int]]) -> set[int]:
    """Name the half bays of a strake under an old plank: of a repair, that seam is opened too.

    What lies above is the next strake that runs over the bay; where one ends short of the last
    frame its end is known, and no width on the columns before it.
    """
    there = np.isfinite(lining.upper_girth_mm)

    def spans(own: NDArray[np.bool_], bay: int) -> bool:
        return bool(own[: bay + 1].any() and own[bay + 1 :].any())

    def old(half: int) -> bool:
        bay = half // 2
        above = (r for r in range(row + 1, len(every)) if spans(there[r], bay))
        over = next(above, None)
        return over is not None and half not in every[over]

    return {half for half in every[row] if old(half)}


def _halves(planks: list[Plank], lining: Lining, strake: Strake) -> set[int]:
    """Name the halves of the stretches between columns that planks of a strake cover, from forward.

    A joint on a block stands in the middle of its bay. The foremost and the aftmost plank reach
    as far as the strake's edge is known.
    """
    at = {name: column for column, name in enumerate(lining.columns)}
    found: set[int] = set()
    for plank in planks:
        fore = 2 * at[plank.fore] + (plank.fore_landing == "block")
        aft = 2 * at[plank.aft] + (plank.aft_landing == "block")
        last = 2 * (len(lining.columns) - 1)
        found |= set(
            range(0 if plank.fore == strake.first else fore,
                  last if plank.aft == strake.last else aft)
        )  # fmt: skip
    return found


def _edge_mm(
    hull: Hull, lining: Lining, row: int, halves: set[int], *, upper: bool = False
) -> float:
    """Measure an edge of a strake over some stretches: in space, or on the expansion."""
    xyz = lining.upper_xyz if upper else lining.lower_xyz
    if xyz is not None:
        return _run(xyz[row], halves)
    lines, frames = hull.lines, hull.frames
    at = np.concatenate([lines.x_mm[:1], frames.x_mm, lines.x_mm[-1:]])
    girths = lining.upper_girth_mm if upper else lining.lower_girth_mm
    return _run(np.column_stack([at, girths[row]]), halves)


def _run(points: Floats, halves: set[int]) -> float:
    """Add up the stretches covered; one over columns where nothing is known counts whole."""
    there = np.flatnonzero(np.isfinite(points).all(axis=1))
    total = 0.0
    for a, b in pairwise(there.tolist()):
        covered = len(halves & {2 * a, 2 * a + 1, 2 * b - 2, 2 * b - 1})
        part = covered / 2 if b == a + 1 else float(covered > 0)
        total += part * float(np.linalg.norm(points[b] - points[a]))
    return total


def _ends(planking: Planking, planks: list[Plank], which: set[str]) -> float:
    """Add up the widths of ends of a kind."""
    return sum(
        crossing.width_mm
        for plank in planks
        for crossing in planking.crossings(plank)
        if crossing.kind in which
    )


def _joints(planking: Planking, planks: list[Plank]) -> float:
    """Add up the widths of butts; one between two of the planks is one seam, as against an old."""
    widths = {
        (plank.strake, crossing.at, crossing.kind): crossing.width_mm
        for plank in planks
        for crossing in planking.crossings(plank)
        if crossing.kind in {"butt", "block"}
    }
    return sum(widths.values())


def _fibres(total: float, cotton: float, oakum: float, rules: CaulkingRules) -> tuple[Item, ...]:
    more, waste = (1 + rules.waste_part) * rules.gather, 100 * rules.waste_part
    strand = total / 1000 * more
    kg = strand * oakum * rules.oakum_g_per_m / 1000 if rules.oakum_g_per_m else None
    tucked = _tucked(rules.gather)
    return (
        Item("cotton strand", strand * cotton, "m", waste, "caulking-forum", tucked),
        Item("cotton", strand * cotton * rules.cotton_g_per_m / 1000, "kg", waste,
             "cotton-weight", tucked),
        Item("oakum strand", strand * oakum, "m", waste, "caulking-forum", tucked),
        Item("oakum", 0.0 if not oakum else kg, "kg", waste, "house", tucked),
    )  # fmt: skip


def _tucked(gather: float) -> str:
    """Say how much strand goes into a length of seam; nothing where it lies straight."""
    if gather == 1.0:
        return ""
    return f"{gather:g} of strand to 1 of seam, tucked in loops (caulking.gather, house)"


def _paints(total: float, opening: float, depth: float, rules: CaulkingRules) -> tuple[Item, ...]:
    waste = 1 + rules.waste_part
    paid = min(rules.paid_mm, depth)
    narrow = opening * (1 - paid / depth) if depth else 0.0
    compound = total * paid * (opening + narrow) / 2 / 1e6 * waste
    primer = 2 * depth * total / 1e6 / rules.primer_m2_per_l * rules.primer_coats * waste
    percent = 100 * rules.waste_part
    return (
        Item("paying: compound or pitch", compound, "l", percent, "caulking-steps"),
        Item("seam primer", primer, "l", percent, "house"),
    )


def _bedding(planking: Planking, rules: CaulkingRules, blocks: Blocks | None) -> tuple[Item, ...]:
    area = sum(b.length_mm * b.width_mm for b in blocks.blocks) if blocks else 0.0
    hoods = _ends(planking, list(planking.planks.planks), {"hood", "nib"})
    litres = (area + hoods * rules.rabbet_mm) * rules.bed_mm / 1e6 * (1 + rules.waste_part)
    return (Item("bedding", litres, "l", 100 * rules.waste_part, "common-practice"),)


def _findings(
    planking: Planking, rules: CaulkingRules, fill: Fill | None, thick: float, oakum: float
) -> Iterator[Finding]:
    if thick <= 0:
        yield _said("W061", Severity.CAUTION, "the planking has no thickness: lengths only")
        return
    if fill is None and not (rules.cotton_strands or rules.oakum_strands):
        says = f"nothing read says how many strands planking of {thick:.0f} mm takes: give them"
        yield _said("W062", Severity.CAUTION, says)
    elif fill is not None and not (rules.cotton_strands or rules.oakum_strands):
        says = f"strands by what is said of near planking ({fill.says}); the caulker judges"
        yield _said("W063", Severity.NOTE, says, fill.source)
    if oakum and not rules.oakum_g_per_m:
        says = "the weight of oakum has not been read: weigh a rolled metre and give it"
        yield _said("W064", Severity.CAUTION, says)
    if planking.lining.lower_xyz is None:
        says = "only girths are known: seams are as long as on the expansion, and really longer"
        yield _said("W065", Severity.CAUTION, says)
    says = (
        "common practice: prime, drive to bear and no harder, prime, pay when dry. Red lead, hot "
        "pitch and dust of old seams harm: masks, gloves, local rules"
    )
    yield _said("W066", Severity.CAUTION, says, "common-practice")


def _said(code: str, severity: Severity, says: str, source: str = "") -> Finding:
    return Finding(code, severity, "shop", "caulking", says, source=source)
