"""Metals in contact in sea water: how far apart in the galvanic series, and which one wastes.

Potentials in mV against silver and silver chloride. The lower wastes; the smaller it is against
the other, the faster. Not reckoned: areas, paint, oxygen, stray current, timber turned alkaline
round a protected fastening. A surveyor judges a real hull.
"""

from __future__ import annotations

import csv
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from itertools import combinations

from ribband.shop.fastenings.model import Contact

__all__ = ["Metal", "contacts", "metal_named", "metals"]


@dataclass(frozen=True, slots=True)
class Metal:
    """A metal: the span of its potential, mV, None where not read; whether zinc is in it."""

    name: str
    also: tuple[str, ...]
    least_mv: float | None
    most_mv: float | None
    zinc: bool
    source: str


@cache
def metals() -> tuple[Metal, ...]:
    """Give every metal of the table."""
    text = files("ribband").joinpath("data", "metals.csv").read_text("utf-8")
    return tuple(_metal(row) for row in csv.DictReader(text.splitlines()))


def _metal(row: dict[str, str]) -> Metal:
    least, most = (float(row[end]) if row[end] else None for end in ("least_mv", "most_mv"))
    also = tuple(part.strip().lower() for part in row["also"].split(";") if part.strip())
    return Metal(row["metal"], also, least, most, row["zinc_bearing"] == "yes", row["source"])


def metal_named(text: str) -> Metal | None:
    """Find a metal by a name it goes by; None if unknown.

    >>> metal_named("Galvanized Iron").name
    'galvanised iron'
    """
    said = " ".join(text.lower().split())
    return next((m for m in metals() if said in {m.name, *m.also}), None)


def contacts(names: Iterable[str]) -> tuple[Contact, ...]:
    """Compare every pair of the metals named, those whose potential was read.

    >>> contacts(["silicon bronze", "mild steel"])[0].wastes
    'mild steel'
    """
    known = [m for m in (metal_named(n) for n in dict.fromkeys(names)) if m]
    known = [m for m in dict.fromkeys(known) if m.least_mv is not None]
    return tuple(_contact(a, b) for a, b in combinations(known, 2))


def _contact(a: Metal, b: Metal) -> Contact:
    low, high = sorted((a, b), key=lambda m: (m.least_mv or 0.0) + (m.most_mv or 0.0))
    least = max(0.0, (high.least_mv or 0.0) - (low.most_mv or 0.0))
    most = (high.most_mv or 0.0) - (low.least_mv or 0.0)
    middles = [((m.least_mv or 0.0) + (m.most_mv or 0.0)) / 2 for m in (low, high)]
    return Contact(a.name, b.name, least, most, middles[1] - middles[0], low.name)
