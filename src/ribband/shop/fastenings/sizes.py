"""The size of a fastening for a thickness of plank: gauge, length, holes, bung, penetration.

Screws go by the scantling rule as far as it reaches; nails and spikes by common ratios, recalled
and marked so; rivets, bolts and treenails are as long as plank and frame together with enough to
head or trim. What nothing says is None.
"""

from __future__ import annotations

import re

from ribband.errors import InputError, Problem
from ribband.shop.fastenings.model import Choice, Spec
from ribband.shop.fastenings.rules import FasteningRules
from ribband.shop.fastenings.tables import (
    Kind,
    kinds,
    planking_screw,
    planking_screw_of,
    treenail_mm,
    wood_screws,
)

__all__ = ["PILOT_HARD", "PILOT_SOFT", "spec_for"]

PILOT_SOFT, PILOT_HARD = 0.7, 0.9  # of the root, wood-handbook-2010 ch. 8 as screw-pilots has it
ROOT_PART = 2 / 3  # of the shank, where the root has not been read; wood-handbook-2010-ch8
HEADING_DIAMETERS = 1.5  # of a rivet or bolt beyond the frame, to head or take a nut; house
TRIM_MM = 25.0  # of a treenail, cut off after wedging; house


def spec_for(
    choice: Choice, thickness_mm: float, moulded_mm: float | None, rules: FasteningRules
) -> Spec:
    """Give the size of `choice` for planking of a thickness on frames so deep.

    Raises
    ------
    InputError : a gauge of screw that is not in the table

    >>> spec_for(Choice("", "screw", "bronze"), 38.1, 110.0, FasteningRules()).gauge
    '22'
    """
    if choice.kind == "screw":
        return _screw(choice, thickness_mm, rules)
    kind = kinds()[choice.kind]
    bung = rules.bung_part * thickness_mm if kind.bunged else 0.0
    diameter, source = _diameter(choice, kind, thickness_mm, rules)
    length = choice.length_mm or _length(kind, thickness_mm, moulded_mm, diameter)
    hole = diameter * kind.hole_over_diameter if diameter and kind.hole_over_diameter else None
    depth = None if kind.through or length is None else length - (thickness_mm - bung)
    sources = (source, *kind.sources) if source else kind.sources
    return Spec(
        choice.kind, choice.metal, thickness_mm, choice.gauge, diameter, length, hole, None, None,
        None, bung, depth, tuple(dict.fromkeys(sources)),
    )  # fmt: skip


def _screw(choice: Choice, thick: float, rules: FasteningRules) -> Spec:
    table = planking_screw(thick)
    gauge = _gauge(choice) or (table.gauge if table else None)
    if gauge is None:
        return Spec(
            "screw", choice.metal, thick, "", None, choice.length_mm, None, None, None, None,
            rules.bung_part * thick, None, (),
        )  # fmt: skip
    screw = wood_screws()[gauge]
    length = choice.length_mm or (table.length_mm if table else None)
    own = planking_screw_of(gauge)
    bung = rules.bung_part * thick
    root = screw.root_mm or ROOT_PART * screw.diameter_mm
    rooted = () if screw.root_mm else ("wood-handbook-2010-ch8",)
    sources = (screw.source, *((own.source,) if own else ()), *rooted)
    return Spec(
        "screw", choice.metal, thick, str(gauge), screw.diameter_mm, length,
        own.body_mm if own else screw.diameter_mm,
        root * PILOT_SOFT, root * PILOT_HARD,
        own.plug_mm if own else None, bung, length - (thick - bung) if length else None, sources,
    )  # fmt: skip


def _gauge(choice: Choice) -> int | None:
    """Read a gauge such as "14" or "no. 14"; None where none is given."""
    found = re.search(r"\d+", choice.gauge)
    if not found:
        return None
    gauge = int(found[0])
    if gauge not in wood_screws():
        wanted = "a gauge of wood screw: " + ", ".join(map(str, wood_screws()))
        raise InputError([Problem("fastenings", 0, "gauge", choice.gauge, wanted, "14")])
    return gauge


def _diameter(
    choice: Choice, kind: Kind, thick: float, rules: FasteningRules
) -> tuple[float | None, str]:
    if choice.kind == "treenail" and (found := treenail_mm(rules.tons, "bottom")):
        return found
    if kind.diameter_mm is not None:
        return kind.diameter_mm, ""
    ratio = kind.diameter_over_thickness
    return (thick * ratio if ratio else None), ""


def _length(
    kind: Kind, thick: float, moulded: float | None, diameter: float | None
) -> float | None:
    if not kind.through:
        return thick * kind.length_over_thickness if kind.length_over_thickness else None
    if moulded is None:
        return None
    more = HEADING_DIAMETERS * (diameter or 0.0) if kind.bunged else TRIM_MM
    return thick + moulded + more
