"""The facts of a book in words: what is at fault, what is in doubt, lengths, runs of frames.

Every length on paper passes through here and comes out in the vessel's own unit, also those that
stand inside a sentence. Marks: ‡ stands by whatever is recalled and was not read, § by common
practice, † by what was read second-hand, ¶ by Ribband's own figures.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np

from ribband.drawing.book.model import Book
from ribband.findings import Finding, Severity
from ribband.hull.model import Doubt
from ribband.lining.model import Lining
from ribband.rulebook import Rule
from ribband.sources import Source, source
from ribband.survey.model import place_of
from ribband.units import UNITS, format_bare, format_length, format_weight, imperial, in_unit
from ribband.units import counted as count

__all__ = [
    "LEGEND",
    "SIGNS",
    "Width",
    "at_stations",
    "bare",
    "blank_cells",
    "count",
    "decided",
    "far_between",
    "faults",
    "gaps",
    "in_unit",
    "joined",
    "length",
    "mark",
    "metric_or_feet",
    "named",
    "narrowest",
    "open_doubts",
    "out_by",
    "range_of",
    "ranges",
    "signs",
    "stations_of",
    "unit_words",
    "value_of",
    "weight_sign",
    "widest",
    "written",
]

_WELL = 0.75  # of the usual space between stations
SIGNS = {
    "read": "",
    "read second-hand": "†",
    "calculated": "",
    "from memory": "‡",
    "common practice": "§",
    "house": "¶",
    "the yard's own": "*",
}
LEGEND = (
    "†\u00a0read where another quotes it;  ‡\u00a0recalled and not read, check before relying "
    "on it;  §\u00a0common practice, no source;  ¶\u00a0Ribband’s own;  "
    "*\u00a0the yard’s own."
)
WEIGHED = "P005"  # the plank list's code for what it was weighed as
BLANKS = "S002"  # the survey's code for blank cells


def length(mm: float, unit: str) -> str:
    """Print a length with its mark; a dash where it is not known."""
    return format_length(mm, unit).replace("-", "−", int(mm < 0)) if np.isfinite(mm) else "–"


def bare(mm: float, unit: str) -> str:
    """Print a length for a column, with a true minus before what lies forward of nothing.

    >>> bare(-25.4, "ft-in-8ths"), bare(float("nan"), "mm")
    ('−0-1-0', '')
    """
    text = format_bare(mm, unit)
    return "−" + text[1:] if text.startswith("-") else text


def unit_words(unit: str) -> str:
    """Say what a bare figure of the book is in.

    >>> unit_words("ft-in-8ths")
    'feet-inches-eighths'
    """
    return UNITS[unit].says


def out_by(mm: float, unit: str) -> str:
    """Say by how much a reading is too great or too small.

    >>> out_by(-25.4, "ft-in-8ths")
    '0-1-0 too small'
    """
    return f"{format_length(abs(mm), unit)} too {'great' if mm > 0 else 'small'}"


def joined(parts: Sequence[str]) -> str:
    """Join with commas and an "and".

    >>> joined(["keel", "stem", "sheer"])
    'keel, stem and sheer'
    """
    return " and ".join([", ".join(parts[:-1]), parts[-1]]) if len(parts) > 1 else "".join(parts)


def ranges(names: Iterable[str], order: Sequence[str]) -> str:
    """Shorten a run of frames, in their order along the hull.

    >>> ranges(["2", "3", "4", "9"], [str(i) for i in range(12)])
    '2–4, 9'
    """
    at = sorted({order.index(name) for name in names if name in order})
    runs: list[list[int]] = []
    for i in at:
        if runs and i == runs[-1][-1] + 1:
            runs[-1].append(i)
        else:
            runs.append([i])
    said = [
        f"{order[r[0]]}–{order[r[-1]]}" if len(r) > 2 else ", ".join(order[i] for i in r)
        for r in runs
    ]
    return ", ".join(said)


def faults(book: Book) -> tuple[Finding, ...]:
    """Give what forbids building from the book: faults found, and results that broke a limit."""
    found = [f for f in book.findings if f.severity is Severity.FAULT]
    stages = {f.stage for f in found}
    for stage, wrong, says in (
        ("lining", not book.lining.feasible, "The lining out breaks a limit; see its section."),
        ("butts", any(not layout.feasible for _, layout in book.layouts),
         "No layout of butts keeps every rule; what is shown is the best attempt."),
    ):  # fmt: skip
        if wrong and stage not in stages:
            found.append(Finding("", Severity.FAULT, stage, "the whole side", says))
    return tuple(found)


def open_doubts(book: Book) -> tuple[Doubt, ...]:
    """Give the doubtful readings nobody has decided on, the worst first."""
    waiting = [d for d in book.hull.doubts if not d.decision]
    return tuple(sorted(waiting, key=lambda d: -abs(d.off_mm)))


def decided(doubt: Doubt) -> str:
    """Say what became of a doubtful reading."""
    said = {
        "": "open",
        "accept": "fair value taken",
        "correct": "corrected",
        "keep": "kept as read",
    }
    return said[doubt.decision]


def gaps(book: Book) -> tuple[str, ...]:
    """Name the frames at which nothing was measured; none where stations were measured instead."""
    lines = book.hull.frames
    between = tuple(n for n, b in zip(lines.names, lines.basis, strict=True) if b == "between")
    return () if at_stations(book) else between


def at_stations(book: Book) -> bool:
    """Tell whether she was measured at stations that are not her frames, whatever their names."""
    stations = stations_of(book)
    frames = book.hull.marks
    on = sum(place_of(name, x, frames).startswith("frame") for name, x in stations)
    return bool(stations) and on < len(stations) / 2


def stations_of(book: Book) -> list[tuple[str, float]]:
    """Give the stations at which readings were taken, with their positions, from forward."""
    found = {r.station: r.x_mm for r in book.survey.readings if r.station}
    return sorted(found.items(), key=lambda s: s[1])


def far_between(book: Book) -> tuple[float, tuple[str, ...]]:
    """Give how far a frame may well stand from the nearest station, mm, and the frames beyond it.

    That is three quarters of the usual space between stations: half lies in the middle.
    """
    x = np.array([at for _, at in stations_of(book)])
    if len(x) < 2:
        return 0.0, book.hull.frames.names
    most = _WELL * float(np.median(np.diff(x)))
    off = np.abs(book.hull.frames.x_mm[:, None] - x).min(axis=1)
    return most, tuple(n for n, a in zip(book.hull.frames.names, off, strict=True) if a > most)


def blank_cells(book: Book) -> tuple[Finding, ...]:
    """Give the findings that name blanks in the table; frames never taped are told as gaps."""
    if book.survey.girths_only:
        return ()
    return tuple(f for f in book.findings if f.code == BLANKS)


@dataclass(frozen=True, slots=True)
class Width:
    """A width with its place."""

    mm: float
    strake: str
    at: str


def widest(lining: Lining) -> Width:
    """Find the widest place of any strake."""
    return _extreme(lining, np.nanargmax(np.nan_to_num(lining.full_width_mm, nan=-1.0)))


def narrowest(lining: Lining) -> Width:
    """Find the narrowest whole place, leaving out strakes that end in a point (under 1 mm)."""
    full = lining.full_width_mm
    wide = np.where(np.isnan(full) | (full < 1.0), np.inf, full)
    return _extreme(lining, np.argmin(wide))


def _extreme(lining: Lining, at: np.intp) -> Width:
    row, column = np.unravel_index(at, lining.width_mm.shape)
    return Width(
        float(lining.width_mm[row, column]),
        lining.strakes[row].name,
        _place(lining.columns[column]),
    )


def _place(column: str) -> str:
    return f"the {column}" if column in {"stem", "stern"} else f"frame {column}"


# -- rules and sources ----------------------------------------------------------------------


def named(rule: Rule) -> str:
    """Give a rule's name as the form has it.

    >>> named(Rule("greatest_width_mm", 1, 1, 0, 2, "mm", "", "house"))
    'greatest width'
    """
    return re.sub(r"_(mm|rad)$", "", rule.name).replace("_", " ")


def value_of(value: object, rule_unit: str, unit: str) -> str:
    """Print a rule's value in the vessel's unit.

    >>> value_of(4, "frame spaces", "mm"), value_of(25.4, "mm", "in"), value_of(0.5, "rad", "mm")
    ('4 frame spaces', '1 in', '28.6°')
    """
    if value is None:
        return "–"
    if isinstance(value, bool):
        return "yes" if value else "no"
    if not isinstance(value, (int, float)):
        return str(value)
    if rule_unit == "mm":
        return format_length(float(value), unit) if value else "0"
    if rule_unit == "rad":
        return f"{np.degrees(value):.1f}°"
    one = rule_unit[:-1] if value == 1 and rule_unit.endswith("s") else rule_unit
    pounds = rule_unit == "kg" and imperial(unit)
    more = f" ({format_weight(float(value), unit)})" if pounds else ""
    return f"{value:g} {one}".rstrip() + more


def range_of(rule: Rule, unit: str) -> str:
    """Print the range a rule may be set in."""
    if rule.least is None and rule.most is None:
        return "–"
    kind = rule.unit if rule.unit in {"mm", "rad"} else ""
    least, most = (
        "" if v is None else value_of(v, kind, unit).removesuffix(f" {UNITS[unit].mark}")
        for v in (rule.least, rule.most)
    )
    if not most:
        return f"{least} or more"
    return f"{least} to {most}" if least not in {"", "0"} else f"up to {most}"


def mark(key: str) -> str:
    """Give the sign printed beside a figure from this source.

    >>> mark("memory"), mark("house"), mark("lake-underwriters-1866")
    ('‡', '¶', '')
    """
    return SIGNS[source(key).mark] if key else ""


def weight_sign(book: Book) -> str:
    """Give the sign of the figure all weights rest on: how the timber's weight was come by."""
    return next((mark(f.source) for f in book.findings if f.code == WEIGHED), "")


def written(source: Source) -> str:
    """Write a source for the list at the end, without its mark."""
    parts = (source.author, source.title, source.year, source.place)
    return ", ".join(part for part in parts if part)


def signs(rules: Iterable[Rule]) -> bool:
    """Tell whether any of the rules carries a sign, so that the legend is wanted."""
    return any(mark(rule.source) for rule in rules)


def metric_or_feet(unit: str) -> tuple[str, float]:
    """Give a round length to speak of, and its mm: ten feet, or three metres."""
    return ("10 ft", 3048.0) if imperial(unit) else ("3 m", 3000.0)
