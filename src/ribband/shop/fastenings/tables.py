"""The tables of fastenings: kinds, screws, widths, treenails; and reading the form.

Not checked here: whether a size suits your timber. Sizes recalled and not read say so.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from ribband.errors import InputError, Problem
from ribband.shop.fastenings.model import Choice
from ribband.survey.rows import Row
from ribband.units import INCH

__all__ = [
    "Kind",
    "Screw",
    "WidthRule",
    "how_many",
    "kinds",
    "planking_screw",
    "read_fastenings",
    "treenail_mm",
    "width_sets",
    "wood_screws",
]

MM = float(INCH)
HAIR_MM = 0.01  # a width that is a rule's limit but for rounding


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of fastening; ratios to the plank's thickness or its own diameter, None not known."""

    name: str
    says: str
    through: bool
    bunged: bool
    length_over_thickness: float | None
    diameter_over_thickness: float | None
    diameter_mm: float | None
    hole_over_diameter: float | None
    sources: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Screw:
    """A wood screw of a gauge; the root of its thread None where not read."""

    gauge: int
    diameter_mm: float
    root_mm: float | None
    source: str


@dataclass(frozen=True, slots=True)
class PlankingScrew:
    """A row of the scantling rule: screw, body hole and plug for a thickness of plank."""

    plank_mm: float
    gauge: int
    length_mm: float
    body_mm: float
    plug_mm: float
    source: str


@dataclass(frozen=True, slots=True)
class WidthRule:
    """From a width on, so many on one frame and so many on the next."""

    from_mm: float
    included: bool
    first: int
    second: int
    says: str
    source: str


def _rows(name: str) -> Iterator[dict[str, str]]:
    text = files("ribband").joinpath("data", name).read_text("utf-8")
    yield from csv.DictReader(text.splitlines())


@cache
def wood_screws() -> dict[int, Screw]:
    """Give wood screws by gauge.

    >>> round(wood_screws()[10].diameter_mm, 2)
    4.83
    """
    return {
        int(r["gauge"]): Screw(
            int(r["gauge"]),
            float(r["diameter_in"]) * MM,
            float(r["root_in"]) * MM if r["root_in"] else None,
            r["diameter_source"],
        )
        for r in _rows("wood_screws.csv")
    }


@cache
def _planking_screws() -> tuple[PlankingScrew, ...]:
    return tuple(
        PlankingScrew(
            *(float(r["plank_in"]) * MM, int(r["gauge"]), float(r["length_in"]) * MM),
            *(float(r["body_in"]) * MM, float(r["plug_in"]) * MM, r["source"]),
        )
        for r in _rows("planking_screws.csv")
    )


def planking_screw(thickness_mm: float) -> PlankingScrew | None:
    """Give the scantling rule's screw for a thickness; None beyond its table by a sixteenth.

    >>> planking_screw(38.0).gauge, planking_screw(75.0) is None
    (22, True)
    """
    table = _planking_screws()
    beyond = MM / 16
    if not table[0].plank_mm - beyond <= thickness_mm <= table[-1].plank_mm + beyond:
        return None
    return min(table, key=lambda s: (abs(s.plank_mm - thickness_mm), -s.plank_mm))


def planking_screw_of(gauge: int) -> PlankingScrew | None:
    """Give the scantling rule's row of a gauge: its hole and plug go by the screw, not the plank.

    >>> planking_screw_of(14).plug_mm, planking_screw_of(13) is None
    (12.7, True)
    """
    return next((s for s in _planking_screws() if s.gauge == gauge), None)


@cache
def kinds() -> dict[str, Kind]:
    """Give the kinds of fastening by name.

    >>> kinds()["rivet"].through
    True
    """
    return {r["kind"]: _kind(r) for r in _rows("fastenings.csv")}


def _kind(r: dict[str, str]) -> Kind:
    def number(name: str, times: float = 1.0) -> float | None:
        return float(r[name]) * times if r[name] else None

    return Kind(
        r["kind"], r["says"], r["through"] == "yes", r["bunged"] == "yes",
        number("length_over_thickness"), number("diameter_over_thickness"),
        number("diameter_in", MM), number("hole_over_diameter"),
        tuple(dict.fromkeys(v for k, v in r.items() if k.endswith("source") and v)),
    )  # fmt: skip


def treenail_mm(tons: float, where: str) -> tuple[float, str] | None:
    """Give the diameter of treenails of a vessel of so many tons, and the source; None unknown.

    `where` is "bottom" or "topsides".

    >>> treenail_mm(200.0, "bottom"), treenail_mm(0.0, "bottom") is None
    ((31.75, 'hedderwick-1830'), True)
    """
    for r in _rows("treenails.csv"):
        if float(r["over_tons"]) < tons <= float(r["to_tons"]) and r["where"] == where:
            return float(r["diameter_in"]) * MM, r["source"]
    return None


@cache
def width_sets() -> dict[str, tuple[WidthRule, ...]]:
    """Give the rules of how many by width, each from its narrowest on.

    >>> [r.first for r in width_sets()["lloyds-1891"]]
    [1, 2, 2]
    """
    found: dict[str, list[WidthRule]] = {}
    for r in _rows("fastening_widths.csv"):
        first, second = int(r["first"]), int(r["second"])
        start = float(r["from_in"]) * MM
        row = WidthRule(start, r["from_included"] == "yes", first, second, r["says"], r["source"])
        found.setdefault(r["set"], []).append(row)
    return {name: tuple(rows) for name, rows in found.items()}


def how_many(set_name: str, width_mm: float, place: int) -> int:
    """Give how many fastenings a plank has on a frame; `place` counts frames, for every second.

    Raises
    ------
    InputError : no such set

    >>> [how_many("lloyds-1891", w * 25.4, 0) for w in (8, 8.25, 11, 11.25)]
    [1, 2, 2, 2]
    >>> [how_many("lloyds-1891", w * 25.4, 1) for w in (8, 8.25, 11, 11.25)]
    [1, 1, 1, 2]
    """
    if set_name not in width_sets():
        wanted = "one of " + ", ".join(width_sets())
        raise InputError([Problem("rules", 0, "fastenings.set", set_name, wanted, "small craft")])
    chosen = width_sets()[set_name][0]
    for row in width_sets()[set_name]:
        over = width_mm - row.from_mm
        if over > HAIR_MM or (row.included and over > -HAIR_MM):
            chosen = row
    return chosen.second if place % 2 else chosen.first


def read_fastenings(rows: Sequence[Row]) -> tuple[Choice, ...]:
    """Read the form `fastenings`: what the yard has, with prices, hours and years of its own.

    Raises
    ------
    InputError : a kind that is not in the table, all of them
    """
    problems, found = [], []
    for row in rows:
        choice = _choice(row)
        if choice.kind not in kinds():
            wanted = "one of " + ", ".join(kinds())
            problems.append(Problem(row.file, row.number, "kind", choice.kind, wanted, "screw"))
        found.append(choice)
    if problems:
        raise InputError(problems)
    return tuple(found)


def _choice(row: Row) -> Choice:
    v = row.values
    return Choice(
        str(v.get("item") or ""), str(v.get("kind") or "screw").lower(),
        str(v.get("metal") or "").lower(), str(v.get("where") or ""), str(v.get("gauge") or ""),
        *(v.get(name) for name in ("length", "per_box", "price", "seconds", "years")),
    )  # fmt: skip
