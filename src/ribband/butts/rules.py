"""Rules of butts, and the published sets of them.

A *set* is a named whole: the house rule, or what a text lays down, with Ribband's own values for
what the text leaves unsaid. The sets are rows of ``data/butt_rules.csv``; each row names its
source, the mark (read, read second-hand, common practice, house) and, where the words themselves
were seen, the quotation. A set is a start: `ribband.rulebook.with_values` changes any rule, and
`shown` then says which number is the text's and which the job's.

*Adjacent* strakes touch; *one strake between* is the next but one; *passing strakes* are whole
strakes between two butts on one landing (one frame, or one bay for butts on blocks).

Not checked here: whether a set suits the vessel. The rules of the vessel's own authority and
surveyor come before any of these.
"""

from __future__ import annotations

import csv
from dataclasses import dataclass, fields
from importlib.resources import files
from typing import Any

from ribband.errors import InputError, Problem
from ribband.rulebook import Rule, describe, rule
from ribband.units import parse_length

__all__ = ["ButtRules", "Stated", "rule_sets", "shown"]

LANDINGS = ("frames", "blocks", "both")
SIDES = ("mirrored", "staggered", "one")


@dataclass(frozen=True, slots=True)
class Stated:
    """One row of a set: the rule, its value inside (mm or a count), and where it comes from."""

    rule: str
    value: Any
    source: str
    mark: str
    says: str
    quote: str


@dataclass(frozen=True, slots=True)
class ButtRules:
    """Where butts may stand. Zero means the rule is not asked for.

    Raises
    ------
    InputError : `landings` or `sides` is not one of its words, or the longest plank is shorter
        than the shortest

    >>> ButtRules().adjacent_spaces, ButtRules().passing
    (4, 3)
    """

    adjacent_spaces: int = rule(
        4, 0, 20, "frame spaces",
        "Least shift of butts in adjacent strakes, counted in frame spaces; 0: not asked for.",
        "common-practice",
    )  # fmt: skip
    adjacent_mm: float = rule(
        0.0, 0.0, 10_000.0, "mm",
        "Least shift of butts in adjacent strakes, as a length along them; 0: not asked for. "
        "Where frame spaces are asked for too, both are kept.", "house",
    )  # fmt: skip
    between_spaces: int = rule(
        0, 0, 20, "frame spaces",
        "Least shift of butts with one strake between, counted in frame spaces; 0: not asked for.",
        "house",
    )  # fmt: skip
    between_mm: float = rule(
        0.0, 0.0, 10_000.0, "mm",
        "Least shift of butts with one strake between, as a length along them; 0: not asked for. "
        "Where frame spaces are asked for too, both are kept.", "house",
    )  # fmt: skip
    between_wish_spaces: int = rule(
        2, 0, 20, "frame spaces",
        "Goal: butts with one strake between no nearer than this, where no rule asks for more.",
        "common-practice",
    )  # fmt: skip
    passing: int = rule(
        3, 0, 20, "strakes", "Strakes that pass between two butts on one frame or bay.",
        "common-practice",
    )  # fmt: skip
    per_frame: int = rule(
        1, 1, 20, "butts", "Goal: no more butts than this on one frame or bay.", "common-practice"
    )
    landings: str = rule(
        "frames", None, None, "", "Where butts stand: frames, blocks in the bays, or both.",
        "house",
    )  # fmt: skip
    least_plank_mm: float = rule(
        1828.8, 0.0, 30_000.0, "mm", "Shortest plank between two butts, as a length.", "house"
    )
    least_plank_spaces: int = rule(
        0,
        0,
        40,
        "frame spaces",
        "Shortest plank between two butts, counted in frame spaces.",
        "house",
    )
    greatest_plank_mm: float = rule(
        7010.4, 300.0, 30_000.0, "mm",
        "Longest plank that can be had and hung: 23 ft, what a board of 24 ft gives less the trim "
        "of its ends, what is left on a plank until it is fitted, and the rake of its ends.",
        "house",
    )  # fmt: skip
    hood_mm: float = rule(
        1219.2, 0.0, 10_000.0, "mm", "Least distance of a butt from the end of its strake.", "house"
    )
    hood_wish_frames: int = rule(
        5, 0, 40, "frames",
        "Goal: no fewer frames under a hood plank than this, the one it butts on among them.",
        "common-practice",
    )  # fmt: skip
    trim_mm: float = rule(
        190.0, 0.0, 2_500.0, "mm",
        "What a stock board has over the length of a plank that comes out of it. Not given, it is "
        "what the order and the laying take: order.end_trim off both ends of a board, "
        "laying.end_allowance left on both ends of a plank, and one order.step lost in rounding.",
        "house",
    )  # fmt: skip
    sides: str = rule(
        "mirrored", None, None, "", "Port and starboard: mirrored, staggered, or one side only.",
        "house",
    )  # fmt: skip
    side_spaces: int = rule(
        2, 0, 20, "frame spaces", "Staggered: least shift of a strake's butts, port to starboard.",
        "house",
    )  # fmt: skip
    opposite_garboard_mm: float = rule(
        0.0, 0.0, 10_000.0, "mm", "Least shift of garboard butts from the opposite garboard's.",
        "house",
    )  # fmt: skip
    name: str = "house"
    stated: tuple[Stated, ...] = ()

    def __post_init__(self) -> None:
        """Refuse words that mean nothing and lengths that contradict each other."""
        problems = [
            Problem("rules", 0, f"butts.{name}", str(value), "one of " + ", ".join(words), words[0])
            for name, value, words in (
                ("landings", self.landings, LANDINGS),
                ("sides", self.sides, SIDES),
            )
            if value not in words
        ]
        if self.greatest_plank_mm < self.least_plank_mm:
            wanted = f"at least the shortest plank, {self.least_plank_mm:.0f} mm"
            found = f"{self.greatest_plank_mm:.0f} mm"
            problems.append(Problem("rules", 0, "butts.greatest_plank", found, wanted))
        if problems:
            raise InputError(problems)


def rule_sets() -> dict[str, ButtRules]:
    """Give every set by its name, the house rule first.

    >>> rule_sets()["lake-1866"].between_mm
    1219.2
    """
    by_set: dict[str, list[Stated]] = {}
    text = files("ribband").joinpath("data/butt_rules.csv").read_text("utf-8")
    for row in csv.DictReader(text.splitlines()):
        by_set.setdefault(row["set"], []).append(_stated(row))
    return {
        name: ButtRules(**{s.rule: s.value for s in stated}, name=name, stated=tuple(stated))
        for name, stated in by_set.items()
    }


def shown(rules: ButtRules) -> tuple[Rule, ...]:
    """List the rules for the paper, each with the source of the number in force.

    A number taken from the set carries the set's source and words; one changed for the job has
    source "" and says so; one that the set leaves unsaid is Ribband's own.

    >>> [r.source for r in shown(rule_sets()["lake-1866"]) if r.name == "between_mm"]
    ['lake-underwriters-1866']
    """
    stated = {s.rule: s for s in rules.stated}
    return tuple(_with_source(r, stated.get(r.name)) for r in describe(rules))


def _with_source(r: Rule, stated: Stated | None) -> Rule:
    of_set = stated.value if stated else r.default
    says, source = r.says, stated.source if stated else r.source
    if r.value != of_set:
        says, source = f"{says} Changed for this job.", ""
    return Rule(r.name, r.value, of_set, r.least, r.most, r.unit, says, source)


def _stated(row: dict[str, str]) -> Stated:
    value: Any = row["value"]
    kind = {f.name: f.type for f in fields(ButtRules)}[row["rule"]]
    if kind == "float":
        value = parse_length(value, row["unit"])
    elif kind == "int":
        value = int(value)
    return Stated(row["rule"], value, row["source"], row["mark"], row["says"], row["quote"])
