"""Checking fastenings apart from their solver: numbers, places and sums, done again.

*Numbers* are read off the published sets written out here a second time for two of them, and by
the table for the rest; every plank is fastened at every frame its strake crosses between its ends.
*Places* lie on the plank, clear of edges and each other where there is said to be room. *Sums*
agree with the rows.

Not checked: sizes, holding power, metals.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence

import numpy as np

from ribband.findings import Finding, Severity
from ribband.planks.model import Plank
from ribband.shop.fastenings.model import Fastenings, Row
from ribband.shop.fastenings.rules import FasteningRules
from ribband.shop.planking import Planking

__all__ = ["check_fastenings"]

INCH = 25.4


def check_fastenings(
    planking: Planking, rules: FasteningRules, made: Fastenings
) -> tuple[Finding, ...]:
    """Look for planks not fastened and sums that do not agree. No finding: everything agreed."""
    return (
        *_everywhere(planking, made),
        *_numbers(planking, rules, made),
        *_places(rules, made),
        *_sums(made),
    )


def _fault(code: str, where: str, says: str) -> Finding:
    return Finding(code, Severity.FAULT, "shop", where, says)


def _everywhere(planking: Planking, made: Fastenings) -> Iterator[Finding]:
    """Every frame a plank crosses is met by one plank of its strake, or by two at a butt.

    Where no plank is listed nothing is to be fastened: of a repair only the new ones are.
    """
    names = [s.name for s in planking.lining.strakes]
    of = {p.name: (p.side, p.strake) for p in planking.planks.planks}
    met = Counter((*of[row.plank], row.at) for row in made.rows if row.where != "blocks")
    sides = {p.side for p in planking.planks.planks}
    there = {
        (p.side, p.strake, column)
        for p in planking.planks.planks
        for column in _columns(p, planking.lining.columns)
    }
    for side in sorted(sides):
        width = planking.lining_of(side).width_mm
        for row, name in enumerate(names):
            for column, at in enumerate(planking.lining.columns):
                if not np.isfinite(width[row, column]) or width[row, column] <= 1.0:
                    continue
                if (side, name, column) not in there:
                    continue
                if met[side, name, at] not in {1, 2}:
                    says = f"is fastened {met[side, name, at]} times at {at}"
                    yield _fault("W041", f"{side}, strake {name}", says)


def _columns(plank: Plank, columns: Sequence[str]) -> range:
    """Give the columns a plank crosses; a butt in a bay leaves the frame forward of it out."""
    fore, aft = columns.index(plank.fore), columns.index(plank.aft)
    return range(fore + (plank.fore_landing == "block"), aft + 1)


def _numbers(planking: Planking, rules: FasteningRules, made: Fastenings) -> Iterator[Finding]:
    places = {at: k for k, at in enumerate(planking.lining.columns)}
    for row in made.rows:
        wanted = _by_width(rules.set, row.width_mm / INCH, places[row.at])
        if row.where == "frames" and wanted is not None and row.count != wanted:
            yield _fault("W042", f"plank {row.plank}", f"{row.count} at {row.at}, not {wanted}")


def _by_width(name: str, inches: float, place: int) -> int | None:
    """Write two of the published sets out once more; None for the rest."""
    limits = {"lloyds-1891": (8.0, 11.0), "lloyds-1855": (9.0, 12.0)}.get(name)
    if limits is None or min(abs(inches - limit) for limit in limits) < 0.01:
        return None
    if inches > limits[1]:
        return 2
    return 2 - place % 2 if inches > limits[0] else 1


def _places(rules: FasteningRules, made: Fastenings) -> Iterator[Finding]:
    for row in made.rows:
        if len(row.spots) != row.count or not _on_plank(row):
            yield _fault("W043", f"plank {row.plank}", f"a fastening at {row.at} is off the plank")
        elif row.room and _nearest_edge(row) < rules.edge_mm - 0.01:
            yield _fault("W044", f"plank {row.plank}", f"a fastening at {row.at} is by the edge")


def _on_plank(row: Row) -> bool:
    return all(0 <= spot.up_mm <= row.width_mm for spot in row.spots)


def _nearest_edge(row: Row) -> float:
    edges = (min(s.up_mm, row.width_mm - s.up_mm) for s in row.spots)
    return min(edges, default=math.inf)


def _sums(made: Fastenings) -> Iterator[Finding]:
    if made.lines and sum(line.count for line in made.lines) != made.count:
        yield _fault("W045", "fastenings", "the lines do not add up to the planks")
    for line in made.lines:
        if line.to_buy < line.count or (line.boxes is not None and line.boxes <= 0):
            yield _fault("W046", f"fastenings, {line.where}", "fewer are bought than driven")
