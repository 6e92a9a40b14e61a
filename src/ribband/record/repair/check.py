"""Checking a repair apart from how it was chosen: plank by plank and butt by butt.

Codes: R040 what is bad is not all renewed; R041 a new butt too near another; R042 a new plank too
long or too short; R043 too short a piece of an old plank left; R044 an old butt that should stay
is gone; R045 openings side by side in one turn; R046 something that has no place; R047 note: what
is renewed beside what is bad.

Not checked: fastenings in old frames, or whether what is left sound is sound.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import combinations, pairwise
from math import isfinite

from ribband.butts.model import Ways
from ribband.butts.problem import landing_name
from ribband.butts.rules import ButtRules
from ribband.findings import Finding, Severity
from ribband.record.forms import Bad
from ribband.record.repair.model import Renewal, SideRepair
from ribband.record.repair.rules import RepairRules
from ribband.units import format_length

__all__ = ["check_repair"]

HAIR_MM = 0.5
INFINITE = float("inf")


def check_repair(side: SideRepair, butts: ButtRules, rules: RepairRules) -> tuple[Finding, ...]:
    """Check the renewals of one side."""
    return (
        *_covered(side, rules),
        *_butts(side, butts),
        *_planks(side, butts),
        *_left(side, rules),
        *_kept(side),
        *_turns(side, rules),
    )


def _covered(side: SideRepair, rules: RepairRules) -> Iterator[Finding]:
    ways = side.ways
    for r in side.renewals:
        for bad in r.bad:
            first, last = _landing(ways, bad.first), _landing(ways, bad.last)
            fore = 2 * rules.beyond_spaces if r.landings[0] in r.new else 0
            aft = 2 * rules.beyond_spaces if r.landings[-1] in r.new else 0
            if r.landings[0] + fore > first or r.landings[-1] - aft < last:
                yield _fault("R040", r, f"not all from {bad.first} to {bad.last} is renewed")


def _butts(side: SideRepair, rules: ButtRules) -> Iterator[Finding]:
    """Look at every pair of butts of which one is new; ends that are scarfed are no butts."""
    ways = side.ways
    new = {
        (ways.strakes.index(r.strake), n): r
        for r in side.renewals
        for n in r.new
        if r.joint == "butt" or n not in {r.landings[0], r.landings[-1]}
    }
    scarfed = {
        (ways.strakes.index(r.strake), n)
        for r in side.renewals
        if r.joint == "scarf"
        for n in (r.landings[0], r.landings[-1])
        if n in r.new
    }
    there = [(b.strake, b.landing) for b in side.layout.butts]
    seen = [place for place in there if place not in scarfed]
    for a, b in combinations(sorted(seen), 2):
        if (a in new or b in new) and (says := _too_near(ways, rules, a, b)):
            r = new.get(a) or new[b]
            old = "an old butt" if not (a in new and b in new) else "another new one"
            other = b if new.get(a) is r and a in new else a
            where = f"strake {ways.strakes[other[0]]}, {landing_name(ways, other[1])}"
            yield _fault("R041", r, f"a new butt is {says} {old}, {where}")


def _too_near(ways: Ways, rules: ButtRules, a: tuple[int, int], b: tuple[int, int]) -> str:
    """Say which rule two butts break; "" where they keep all of them."""
    ranks = [
        abs(int(ways.rank[a[0], n]) - int(ways.rank[b[0], n]))
        for n in (a[1], b[1])
        if ways.rank[a[0], n] >= 0 and ways.rank[b[0], n] >= 0
    ]
    if a[0] == b[0] or not ranks:
        return ""
    apart, shift, mm = min(ranks), abs(a[1] - b[1]) / 2, _mm_apart(ways, a, b)
    said = format_length(mm, ways.unit) if mm < INFINITE else ""
    broken = (
        (apart == 1 and shift < rules.adjacent_spaces,
         f"{shift:g} frame spaces, of {rules.adjacent_spaces}, from"),
        (apart == 2 and shift < rules.between_spaces,
         f"{shift:g} frame spaces, of {rules.between_spaces}, one strake off,"),
        (shift == 0 and apart <= rules.passing,
         f"{apart - 1} passing strakes, of {rules.passing}, from"),
        (apart == 1 and mm < rules.adjacent_mm - HAIR_MM, f"{said} from"),
        (apart == 2 and mm < rules.between_mm - HAIR_MM, f"{said}, one strake off,"),
    )  # fmt: skip
    return next((says for hit, says in broken if hit), "")


def _mm_apart(ways: Ways, a: tuple[int, int], b: tuple[int, int]) -> float:
    spans = [abs(float(ways.along_mm[r, a[1]] - ways.along_mm[r, b[1]])) for r in (a[0], b[0])]
    return min((mm for mm in spans if isfinite(mm)), default=INFINITE)


def _planks(side: SideRepair, rules: ButtRules) -> Iterator[Finding]:
    for r in side.renewals:
        olds = _old_joints(side, r.strake)
        for fore, aft in pairwise(r.landings):
            length = _along(side.ways, r.strake, aft) - _along(side.ways, r.strake, fore)
            said = format_length(length, side.ways.unit)
            if length > rules.greatest_plank_mm + HAIR_MM:
                yield _fault("R042", r, f"a new plank of {said} is longer than can be had")
            if length < rules.least_plank_mm - HAIR_MM and not {fore, aft} <= olds:
                yield _fault("R042", r, f"a new plank of {said} is too short")


def _left(side: SideRepair, rules: RepairRules) -> Iterator[Finding]:
    for r in side.renewals:
        joints = _old_joints(side, r.strake)
        joints |= {n for o in side.renewals if o.strake == r.strake for n in o.landings}
        for end, way in ((r.landings[0], -1), (r.landings[-1], 1)):
            if end not in r.new:
                continue
            beside = [n for n in joints if (n - end) * way > 0]
            if end in {n for o in side.renewals if o is not r and o.strake == r.strake
                       for n in (o.landings[0], o.landings[-1])}:  # fmt: skip
                continue
            near = min(beside, key=lambda n: abs(n - end))
            left = abs(_along(side.ways, r.strake, end) - _along(side.ways, r.strake, near))
            if left < rules.least_left_mm - HAIR_MM:
                said = format_length(left, side.ways.unit)
                yield _fault("R043", r, f"only {said} of the old plank is left beside it")


def _kept(side: SideRepair) -> Iterator[Finding]:
    there = {(b.strake, b.landing) for b in side.layout.butts}
    for butt in side.old:
        strake = side.ways.strakes[butt.strake]
        own = [r for r in side.renewals if r.strake == strake]
        inside = any(r.landings[0] < butt.landing < r.landings[-1] for r in own)
        if not inside and (butt.strake, butt.landing) not in there:
            where = f"{side.side}, strake {strake}, {landing_name(side.ways, butt.landing)}"
            yield Finding("R044", Severity.FAULT, "record", where, "an old butt is lost")


def _turns(side: SideRepair, rules: RepairRules) -> Iterator[Finding]:
    names = side.ways.strakes
    for a, b in combinations(side.renewals, 2):
        apart = abs(names.index(a.strake) - names.index(b.strake))
        gap = max(a.landings[0], b.landings[0]) - min(a.landings[-1], b.landings[-1])
        if a.turn == b.turn and apart <= rules.between_open and gap < 2 * rules.near_spaces:
            yield _fault("R045", a, f"open in turn {a.turn} together with strake {b.strake}")


def _old_joints(side: SideRepair, strake: str) -> set[int]:
    row, end = side.ways.strakes.index(strake), side.ways.along_mm.shape[1]
    return {-1, end} | {b.landing for b in side.old if b.strake == row}


def _along(ways: Ways, strake: str, landing: int) -> float:
    row = ways.strakes.index(strake)
    if landing < 0:
        return 0.0
    inside = landing < ways.along_mm.shape[1]
    return float(ways.along_mm[row, landing] if inside else ways.length_mm[row])


def _landing(ways: Ways, column: str) -> int:
    ends: dict[str, int] = {"stem": -1, "stern": ways.along_mm.shape[1]}
    return ends[column] if column in ends else 2 * ways.frames.index(column)


def _fault(code: str, r: Renewal, says: str) -> Finding:
    where = f"{r.side}, strake {r.strake}, {_span(r.bad)}"
    return Finding(code, Severity.FAULT, "record", where, says)


def _span(bad: Sequence[Bad]) -> str:
    return ", ".join(f"{b.first} to {b.last}" for b in bad)
