"""Checking a layout against the words of the rules, apart from the solver.

`clashes` is the quick look, every pair of butts at once, for a screen while a butt is dragged;
`check` says the same in words. Between two butts, *how many strakes apart* is counted at
whichever of their two landings it is less, and only where both strakes are present; *how far
apart* is measured along whichever of the two strakes it is less (along the frames' positions
where neither strake reaches both).

Codes: B001 adjacent strakes; B002 one strake between; B003 passing strakes; B004 plank too short;
B005 plank too long; B006 butt too near the strake's end; B007 butt where none may stand; B008
fixed butt not kept; B009 no board in stock; B010 (note) more butts on a frame than is wished;
B011 plank short in frame spaces; B012 opposite garboards; B013 (caution) butts nearer than is
wished with one strake between, where no rule was asked for it; B014 vessel too short for the rules
between butts, said once for all of them; B015 (caution) most butts of a side in one belt;
B016 (caution) both garboards butt on the same frames; B017 (caution) hood planks on few frames.

Not checked: strength. The rules of the vessel's authority and her surveyor come first.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from ribband.butts.belt import in_one_belt, opposite_garboards
from ribband.butts.model import Butt, Layout, Ways
from ribband.butts.problem import TOUCH_MM, landing_name
from ribband.butts.rules import ButtRules, shown
from ribband.butts.short_hoods import short_hoods
from ribband.butts.short_stock import handed_out, more_stock
from ribband.findings import Finding, Severity
from ribband.hull.model import Floats
from ribband.units import counted, format_length

__all__ = ["Broken", "check", "check_sides", "clashes", "in_words"]

Ints = NDArray[np.int64]
PAIRED = frozenset({"B001", "B002", "B003"})  # rules between two butts
LANDINGS_TOLD = 8  # of those with more butts than wished; beyond that only the fullest


@dataclass(frozen=True, slots=True)
class Broken:
    """A rule broken: its code and name, the butts concerned, and what was found (mm or count)."""

    code: str
    rule: str
    butts: tuple[Butt, ...]
    found: float
    strake: int


def clashes(ways: Ways, rules: ButtRules, layout: Layout) -> tuple[Broken, ...]:
    """Give every rule that `layout` breaks; under a millisecond for 25 strakes x 60 frames."""
    butts = sorted(layout.butts)
    strake = np.array([b.strake for b in butts], dtype=np.int64)
    landing = np.array([b.landing for b in butts], dtype=np.int64)
    return (
        *_pairs(ways, rules, butts, strake, landing),
        *_planks(ways, rules, butts, strake, landing),
        *_places(ways, butts, strake, landing),
    )


def in_words(ways: Ways, rules: ButtRules, broken: Broken) -> Finding:
    """Say one broken rule in words, with the source of the rule."""
    source = next((r.source for r in shown(rules) if r.name == broken.rule), "")
    return _finding(ways, rules, broken, source)


def check(ways: Ways, rules: ButtRules, layout: Layout) -> tuple[Finding, ...]:
    """Say in words every rule that `layout` breaks, every fault before any note."""
    source = {r.name: r.source for r in shown(rules)}
    broken = [*clashes(ways, rules, layout), *_stock(ways, rules, layout)]
    short = _too_short(ways, rules, broken, source)
    if short:
        broken = [b for b in broken if b.code not in PAIRED]
    faults = [*short, *(_finding(ways, rules, b, source.get(b.rule, "")) for b in broken)]
    more = more_stock(ways, rules, [b.found for b in broken if b.rule == "stock"])
    faults = [replace(f, why=more) if f.code == "B009" else f for f in faults]
    crowded = _crowded(ways, rules, layout, source["per_frame"])
    near = _one_between(ways, rules, layout, source["between_wish_spaces"])
    round_her = (
        *opposite_garboards(ways, rules, layout),
        *in_one_belt(ways, layout),
        *short_hoods(ways, rules, layout),
    )
    return (*faults, *near, *round_her, *crowded)


def check_sides(ways: Ways, rules: ButtRules, layout: Layout, other: Layout) -> tuple[Finding, ...]:
    """Check one side's garboard butts against the opposite garboard's (B012)."""
    if not rules.opposite_garboard_mm:
        return ()
    source = {r.name: r.source for r in shown(rules)}["opposite_garboard_mm"]
    ours, theirs = ([b for b in x.butts if b.strake == 0] for x in (layout, other))
    found = []
    for a in ours:
        for b in theirs:
            apart = abs(ways.along_mm[0, a.landing] - ways.along_mm[0, b.landing])
            if apart < rules.opposite_garboard_mm - TOUCH_MM:
                where = f"garboards, {landing_name(ways, a.landing)}"
                says = (
                    f"{_length(ways, apart)} from the opposite garboard's butt on "
                    f"{landing_name(ways, b.landing)}; "
                    f"{_length(ways, rules.opposite_garboard_mm)} or more is wanted"
                )
                found.append(Finding("B012", Severity.FAULT, "butts", where, says, source=source))
    return tuple(found)


def _pairs(
    ways: Ways, rules: ButtRules, butts: list[Butt], strake: Ints, landing: Ints
) -> list[Broken]:
    if len(butts) < 2:
        return []
    gap = np.abs(landing[:, None] - landing[None])
    near = _strakes_apart(ways.rank[strake][:, landing])
    mm = _mm_apart(ways, strake, landing)
    different = np.triu(strake[:, None] != strake[None], 1)
    broken = []
    for code, name, hit, found in (
        ("B001", "adjacent_spaces", (near == 1) & (gap < 2 * rules.adjacent_spaces), gap / 2),
        ("B001", "adjacent_mm", (near == 1) & (mm < rules.adjacent_mm - TOUCH_MM), mm),
        ("B002", "between_spaces", (near == 2) & (gap < 2 * rules.between_spaces), gap / 2),
        ("B002", "between_mm", (near == 2) & (mm < rules.between_mm - TOUCH_MM), mm),
        ("B003", "passing", (gap == 0) & (near <= rules.passing), near - 1.0),
    ):
        for i, j in np.argwhere(hit & different):
            pair = (butts[i], butts[j])
            broken.append(Broken(code, name, pair, float(found[i, j]), butts[i].strake))
    return broken


def _strakes_apart(rank: Ints) -> Ints:
    """Count strakes apart, (n, n); rank [i, j] is that of butt i's strake at butt j's landing."""
    own = np.diag(rank)
    here = np.where(rank >= 0, np.abs(rank - own[None]), 10_000)
    return np.asarray(np.minimum(here, here.T))


def _mm_apart(ways: Ways, strake: Ints, landing: Ints) -> Floats:
    along = ways.along_mm[strake][:, landing]
    own = np.abs(along - np.diag(along)[:, None])
    mm = np.fmin(own, own.T)
    if np.isnan(mm).any():
        x = np.interp(landing / 2, np.arange(len(ways.x_mm)), ways.x_mm)
        mm = np.where(np.isnan(mm), np.abs(x[:, None] - x[None]), mm)
    return np.asarray(mm)


def _planks(
    ways: Ways, rules: ButtRules, butts: list[Butt], strake: Ints, landing: Ints
) -> list[Broken]:
    rows = np.arange(len(ways.strakes))
    order = np.lexsort((landing, strake))
    along = ways.along_mm[strake[order], landing[order]]
    # every strake's fore end, butts and after end, one after another
    owner = np.concatenate([rows, strake[order], rows])
    place = np.concatenate([np.zeros(len(rows)), along, ways.length_mm])
    kind = np.concatenate([np.full(len(rows), -1), order, np.full(len(rows), -2)])
    sort = np.lexsort((np.where(kind == -2, 1, np.where(kind == -1, -1, 0)), owner))
    owner, place, kind = owner[sort], place[sort], kind[sort]
    same = owner[1:] == owner[:-1]
    run, fore, aft, whose = np.diff(place)[same], kind[:-1][same], kind[1:][same], owner[1:][same]
    ends = (fore < 0) | (aft < 0)
    spaces = _spaces(ways, landing, fore, aft, whose)
    longest = rules.greatest_plank_mm
    wrong = (
        ("B005", "greatest_plank_mm", run > longest + TOUCH_MM, run),
        ("B004", "least_plank_mm", ~ends & (run < rules.least_plank_mm - TOUCH_MM), run),
        ("B006", "hood_mm", (fore < 0) != (aft < 0), run),
        ("B011", "least_plank_spaces", spaces < rules.least_plank_spaces, spaces),
    )
    broken = []
    for code, name, hit, found in wrong:
        short = (run < rules.hood_mm - TOUCH_MM) if code == "B006" else hit
        for i in np.flatnonzero(hit & short & ~((fore < 0) & (aft < 0) & (code != "B005"))):
            pair = tuple(butts[k] for k in (fore[i], aft[i]) if k >= 0)
            broken.append(Broken(code, name, pair, float(found[i]), int(whose[i])))
    return broken


def _spaces(ways: Ways, landing: Ints, fore: Ints, aft: Ints, whose: Ints) -> Floats:
    """Count the frame spaces of each plank; an end plank's from the last frame it reaches."""
    here = ways.rank >= 0
    first = here.argmax(axis=1)[whose]
    last = (here.shape[1] - 1 - here[:, ::-1].argmax(axis=1))[whose]
    at = np.append(landing, [0, 0])  # so that -1 and -2, the ends, may be looked up
    begins = np.where(fore >= 0, at[fore], first)
    ends = np.where(aft >= 0, at[aft], last)
    return np.asarray((ends - begins) / 2)


def _places(ways: Ways, butts: list[Butt], strake: Ints, landing: Ints) -> list[Broken]:
    broken = [
        Broken("B007", "landings", (butts[i],), 0.0, butts[i].strake)
        for i in np.flatnonzero(~ways.open[strake, landing])
    ]
    stand = {(b.strake, b.landing) for b in butts}
    return broken + [
        Broken("B008", "fixed", (b,), 0.0, b.strake)
        for b in ways.fixed
        if (b.strake, b.landing) not in stand
    ]


def _stock(ways: Ways, rules: ButtRules, layout: Layout) -> list[Broken]:
    """Name the planks that no board of the stock is left for, the longest first."""
    planks = sorted(_lengths(ways, layout), key=lambda p: -p[1])
    has = handed_out(ways, rules, [length for _, length in planks])
    return [
        Broken("B009", "stock", (), length, strake)
        for (strake, length), held in zip(planks, has, strict=True)
        if not held
    ]


def _lengths(ways: Ways, layout: Layout) -> list[tuple[int, float]]:
    planks = []
    for s in range(len(ways.strakes)):
        at = sorted(float(ways.along_mm[s, b.landing]) for b in layout.butts if b.strake == s)
        ends = [0.0, *at, float(ways.length_mm[s])]
        planks += [(s, b - a) for a, b in pairwise(ends)]
    return planks


def _too_short(
    ways: Ways, rules: ButtRules, broken: list[Broken], source: dict[str, str]
) -> tuple[Finding, ...]:
    """Say once that no two neighbours can both be butted, all the places being too near."""
    places = np.flatnonzero(ways.open.any(axis=0))
    pairs = [b for b in broken if b.code in PAIRED]
    if not pairs or (places[-1] - places[0]) / 2 >= rules.adjacent_spaces:
        return ()
    first, last = landing_name(ways, int(places[0])), landing_name(ways, int(places[-1]))
    only = first if first == last else f"from {first} to {last}"
    says = (
        f"she is too short to shift her butts by the rule: they may stand only {only}, and those "
        f"of adjacent strakes are to be {counted(rules.adjacent_spaces, 'frame space')} apart; "
        f"{counted(len(pairs), 'pair of butts breaks', 'pairs of butts break')} it"
    )
    longest = _length(ways, float(ways.length_mm.max()))
    why = (
        f"plank her in whole lengths (butts.greatest_plank of {longest}, if such planks can be "
        "had), or ease butts.adjacent_spaces, or let butts nearer the ends: butts.hood"
    )
    where, rule = "the whole vessel", source["adjacent_spaces"]
    return (Finding("B014", Severity.FAULT, "butts", where, says, why, rule),)


def _one_between(ways: Ways, rules: ButtRules, layout: Layout, source: str) -> tuple[Finding, ...]:
    """Warn of butts nearer than is wished with one strake between, if no rule forbids it."""
    wish = rules.between_wish_spaces
    if not wish or rules.between_spaces or rules.between_mm:
        return ()
    asked = replace(rules, between_spaces=wish, adjacent_spaces=0, adjacent_mm=0.0, passing=0)
    near = [b for b in clashes(ways, asked, layout) if b.code == "B002"]
    if not near:
        return ()
    first = near[0]
    strakes = " and ".join(ways.strakes[b.strake] for b in first.butts)
    places = " and ".join(landing_name(ways, b.landing) for b in first.butts)
    stand = f"{len(near)} pairs of butts stand" if len(near) > 1 else "one pair of butts stands"
    says = (
        f"{stand} less than {wish} frame spaces apart with one strake between, "
        f"such as strakes {strakes} at {places}"
    )
    why = "a goal, not a rule: butts.between_spaces makes it one"
    where = "one strake between"
    return (Finding("B013", Severity.CAUTION, "butts", where, says, why, source),)


def _crowded(ways: Ways, rules: ButtRules, layout: Layout, source: str) -> tuple[Finding, ...]:
    landings = [b.landing for b in layout.butts]
    shared = {x: landings.count(x) for x in sorted(set(landings))}
    many = {x: n for x, n in shared.items() if n > rules.per_frame}
    if not many:
        return ()
    where = f"{len(many)} of {len(shared)} landings with butts"
    told = many if len(many) <= LANDINGS_TOLD else dict(_fullest(many))
    listed = ", ".join(f"{landing_name(ways, x)} ({n})" for x, n in told.items())
    more = f" and {len(many) - len(told)} more" if len(told) < len(many) else ""
    says = f"more than {rules.per_frame} butt there: {listed}{more}"
    return (Finding("B010", Severity.NOTE, "butts", where, says, "a goal, not a rule", source),)


def _fullest(many: dict[int, int]) -> list[tuple[int, int]]:
    """Give the landings with most butts, so many as are told, in their order along the hull."""
    return sorted(sorted(many.items(), key=lambda one: -one[1])[:LANDINGS_TOLD])


def _length(ways: Ways, mm: float) -> str:
    return format_length(mm, ways.unit)


def _finding(ways: Ways, rules: ButtRules, broken: Broken, source: str) -> Finding:
    names = " and ".join(dict.fromkeys(ways.strakes[b.strake] for b in broken.butts))
    several = " and " in names
    strakes = f"strakes {names}" if several else f"strake {names or ways.strakes[broken.strake]}"
    places = " and ".join(dict.fromkeys(landing_name(ways, b.landing) for b in broken.butts))
    where = f"{strakes}, {places}" if places else strakes
    says, why = _words(ways, rules, broken)
    return Finding(broken.code, Severity.FAULT, "butts", where, says, why, source)


def _words(ways: Ways, rules: ButtRules, broken: Broken) -> tuple[str, str]:
    name, found = broken.rule, broken.found
    if name == "fixed":
        return "the butt fixed here is missing", ""
    if name == "stock":
        return f"no board left in stock for a plank of {_length(ways, found)}", ""
    if name == "landings":
        return "no butt may stand here", _why_closed(ways, rules, broken.butts[0])
    wanted = getattr(rules, name)
    if name.endswith("_mm"):
        limit, reached = _length(ways, wanted), _length(ways, found)
    else:
        limit, reached = _counted(name, wanted), _counted(name, found)
    side = "at most" if broken.code == "B005" else "or more"
    want = f"{side} {limit}" if side == "at most" else f"{limit} {side}"
    return f"{_THINGS[broken.code]} {reached}; {want} is wanted", ""


def _counted(name: str, many: float) -> str:
    what, rest = ("strake", " passing") if name == "passing" else ("frame space", "")
    return f"{many:g} {what}{'' if many == 1 else 's'}{rest}"


_THINGS = {
    "B001": "butts of adjacent strakes stand apart",
    "B002": "butts with one strake between stand apart",
    "B003": "butts on one landing have",
    "B004": "plank between butts is",
    "B005": "plank is",
    "B006": "butt stands from the end of its strake",
    "B011": "plank spans",
}


def _why_closed(ways: Ways, rules: ButtRules, butt: Butt) -> str:
    frame = butt.landing // 2
    for strake, first, last, reason in ways.why_closed:
        begin, end = ways.frames.index(first), ways.frames.index(last)
        if strake in {"", ways.strakes[butt.strake]} and begin <= frame <= end:
            return f"forbidden from frame {first} to {last}: {reason or 'no reason given'}"
    if np.isnan(ways.along_mm[butt.strake, butt.landing]):
        return "the strake does not reach it"
    kind = "blocks" if butt.landing % 2 else "frames"
    if rules.landings not in {kind, "both"}:
        return f"butts stand on {rules.landings}"
    return "too near the end of the strake"
