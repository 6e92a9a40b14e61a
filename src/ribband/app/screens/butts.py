"""What the page of butts shows: the layout on the expansion, its clashes, wishes, rules, stock.

The problem is set up afresh from the forms as they are now, so that a rule changed or a stretch
forbidden shows its clashes at once, before anything is solved again. A butt pinned since the last
solve is shown where it is pinned: the nearest loose butt of its strake has gone there.

Not checked: strength. The rules of the vessel's authority and her surveyor come first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband.app.entering.rules import list_rules
from ribband.app.plan.making import rows_of
from ribband.app.screens.expansion import ground, seams, strakes, tenths
from ribband.app.screens.kept import Lying, lying, lying_still, wish_rows
from ribband.app.showing.answers import plain
from ribband.errors import InputError, Problem
from ribband.units import format_length

if TYPE_CHECKING:
    from ribband.butts.check import Broken
    from ribband.butts.model import Butt, ButtWish, Goal, Layout, Ways
    from ribband.butts.rules import ButtRules

__all__ = ["butts_view", "clashes_of"]

MOST_BUTTS = 3000
Laid = Sequence[tuple[int, int]]


@dataclass(frozen=True, slots=True)
class Side:
    """One side's problem and what is laid on it."""

    name: str
    ways: Ways
    layout: Layout | None


@dataclass(frozen=True, slots=True)
class Table:
    """Everything the butts are looked at with."""

    on: Lying
    rules: ButtRules
    sides: tuple[Side, ...]
    problems: tuple[Problem, ...]


def butts_view(path: Path) -> dict[str, Any]:
    """Give everything the page draws; lengths in tenths of a mm where said, else mm and text.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    on = lying(path)
    common = {"revision": on.revision, "unit": on.unit, "states": dict(on.states)}
    table = _table(path, on.tag)
    if table is None or on.hull is None or on.lining is None:
        return {**common, "there": False}
    first = table.sides[0].ways
    return {
        **common,
        "there": True,
        "ground": ground(on.hull),
        "strakes": strakes(on.lining),
        **seams(on.lining.lower_girth_mm, on.lining.upper_girth_mm, on.lining.width_mm),
        "along": tenths(first.along_mm),
        "length": tenths(first.length_mm),
        "sides": [_side_view(side, table) for side in table.sides],
        "stock": _stock_view(first, on.unit),
        "pile": _longest(on),
        "trim": table.rules.trim_mm,
        "rules": _rules_view(on),
        "sets": _sets_view(),
        "problems": plain(table.problems),
    }


def clashes_of(path: Path, side: int, laid: Laid) -> dict[str, Any]:
    """Give every rule that a layout breaks, in words and with the butts concerned.

    Raises
    ------
    InputError : there is no such side, strake or landing, or nothing is lined out yet
    """
    table = _table(path, lying_still(path).tag)
    if table is None:
        raise InputError([Problem("butts", 0, "", "nothing lined out", "a lining out first")])
    if not 0 <= side < len(table.sides):
        wanted = f"0 to {len(table.sides) - 1}"
        raise InputError([Problem("butts", 0, "side", str(side), wanted)])
    of = table.sides[side]
    return _clashes(table, replace(of, layout=_layout(of.ways, laid)))


# ---- the problem, set up once for a state of the job


def _table(path: Path, tag: str) -> Table | None:
    return _table_at(path, tag)


@lru_cache(maxsize=4)
def _table_at(path: Path, tag: str) -> Table | None:
    """Set the problem up for the state of the job that `tag` names."""
    on = lying(path)
    if on.hull is None or on.lining is None:
        return None
    rules = on.rules("butts")
    ways, problems = _ways(on, rules)
    kept = on.result("butts") or (None, None, None)
    layout = None if kept[1] is None else _with_pins(ways, kept[1])
    both = {"mirrored": "both sides alike", "staggered": "port", "one": "one side"}
    sides = [Side(both[rules.sides], ways, layout)]
    if rules.sides == "staggered" and layout is not None:
        sides.append(_beyond(ways, rules, layout, kept[2]))
    return Table(on, rules, tuple(sides), problems)


def _beyond(ways: Ways, rules: ButtRules, layout: Layout, other: Layout | None) -> Side:
    """Set up the other side, whose butts keep clear of this side's."""
    from ribband.butts import other_side

    beyond = other_side(ways, rules, layout)
    return Side("starboard", beyond, None if other is None else _with_pins(beyond, other))


def _ways(on: Lying, rules: ButtRules) -> tuple[Ways, tuple[Problem, ...]]:
    """Set up the problem; wishes and stock that cannot be read are left out and said."""
    from ribband import butts as stage

    assert on.hull is not None and on.lining is not None  # noqa: S101, PT018 - looked at before
    problems: list[Problem] = []
    wishes: tuple[ButtWish, ...] = ()
    stock: Any = ()
    try:
        wishes = stage.read_wishes(wish_rows(on, "butts"))
        stock = stage.read_stock(rows_of(on.forms, "stock", on.unit))
    except InputError as wrong:
        problems += wrong.problems
    try:
        return stage.ways(on.hull, on.lining, rules, wishes, stock), tuple(problems)
    except InputError as wrong:
        problems += wrong.problems
        return stage.ways(on.hull, on.lining, rules, (), stock), tuple(problems)


def _with_pins(ways: Ways, layout: Layout) -> Layout:
    """Give the layout with every pinned butt where it is pinned now."""
    from ribband.butts import Butt

    here = {(b.strake, b.landing) for b in layout.butts if _stands(ways, b)}
    pinned = {(b.strake, b.landing) for b in ways.fixed}
    for strake, landing in sorted(pinned - here):
        loose = [p for p in here - pinned if p[0] == strake]
        if loose:
            here.remove(min(loose, key=lambda p: (abs(p[1] - landing), p[1])))
        here.add((strake, landing))
    butts = tuple(Butt(s, j, fixed=(s, j) in pinned) for s, j in sorted(here))
    return replace(layout, butts=butts)


def _stands(ways: Ways, butt: Butt) -> bool:
    """Tell whether a butt of an older lining is still on this one."""
    rows, landings = ways.along_mm.shape
    there = 0 <= butt.strake < rows and 0 <= butt.landing < landings
    return there and bool(ways.rank[butt.strake, butt.landing] >= 0)


def _layout(ways: Ways, laid: Laid) -> Layout:
    """Make a layout of what a page sends.

    Raises
    ------
    InputError : a butt on no strake or landing of this vessel
    """
    from ribband.butts import Butt, Layout

    rows, landings = ways.along_mm.shape
    wrong = [pair for pair in laid if not (0 <= pair[0] < rows and 0 <= pair[1] < landings)]
    if wrong or len(laid) > MOST_BUTTS:
        wanted = f"strakes 0 to {rows - 1} and landings 0 to {landings - 1}"
        raise InputError([Problem("butts", 0, "butts", str(wrong[:3]), wanted)])
    pinned = {(b.strake, b.landing) for b in ways.fixed}
    butts = tuple(Butt(s, j, fixed=(s, j) in pinned) for s, j in sorted({*map(tuple, laid)}))
    return Layout(butts, feasible=True, goals=(), seconds=0.0, seed=0)


# ---- as it is shown


def _side_view(side: Side, table: Table) -> dict[str, Any]:
    ways, layout = side.ways, side.layout
    found = _clashes(table, side) if layout is not None else {"clashes": [], "notes": []}
    shut = [{"strake": s, "frame": a, "to_frame": b, "reason": why}
            for s, a, b, why in ways.why_closed]  # fmt: skip
    return {
        "name": side.name,
        "open": ["".join("01"[int(o)] for o in row) for row in ways.open],
        "shut": shut,
        "butts": [[b.strake, b.landing, b.fixed] for b in layout.butts] if layout else [],
        "solved": layout is not None,
        "feasible": layout.feasible if layout else False,
        "goals": [_goal_view(g, ways, table.on.unit) for g in layout.goals] if layout else [],
        "why_not": list(layout.clashes) if layout else [],
        "reliefs": [relief.says for relief in layout.reliefs] if layout else [],
        **found,
    }


def _goal_view(goal: Goal, ways: Ways, unit: str) -> dict[str, Any]:
    name, is_length = goal.name.removesuffix(", mm"), goal.name.endswith(", mm")
    value, bound, gap = (
        format_length(v, unit) if is_length else f"{v:g}"
        for v in (goal.value, goal.bound, goal.value - goal.bound)
    )
    if says := goal.instead(ways):
        return {"name": name, "value": says, "bound": "", "proved": False, "gap": ""}
    own = {"name": name, "value": value, "bound": bound, "proved": goal.proved}
    return {**own, "gap": "" if goal.proved else gap}


def _clashes(table: Table, side: Side) -> dict[str, Any]:
    from ribband.butts import check, clashes, in_words

    assert side.layout is not None  # noqa: S101 - looked at by the callers
    broken = clashes(side.ways, table.rules, side.layout)
    found = check(side.ways, table.rules, side.layout)
    own = {one.code for one in broken}
    more = [f for f in found if f.code not in own or f.code == "B014"]
    shown = [_clash_view(one, in_words(side.ways, table.rules, one)) for one in broken]
    return {
        "clashes": shown,
        "notes": [{"code": f.code, "severity": f.severity.value, "where": f.where,
                   "says": f.says, "why": f.why} for f in more],
        "too_short": any(f.code == "B014" for f in found),
    }  # fmt: skip


def _clash_view(broken: Broken, finding: Any) -> dict[str, Any]:
    return {
        "code": broken.code,
        "rule": f"butts.{broken.rule.removesuffix('_mm')}",
        "butts": [[b.strake, b.landing] for b in broken.butts],
        "strake": broken.strake,
        "where": finding.where,
        "says": finding.says,
        "why": finding.why,
        "source": finding.source,
    }


def _stock_view(ways: Ways, unit: str) -> list[dict[str, Any]]:
    if ways.stock_mm is None or ways.stock_count is None:
        return []
    return [
        {"length": float(mm), "text": format_length(float(mm), unit), "count": int(count)}
        for mm, count in zip(ways.stock_mm, ways.stock_count, strict=True)
    ]


def _longest(on: Lying) -> str:
    """Say how long the longest sound board of the tally is; nothing where there is none."""
    try:
        boards = rows_of(on.forms, "boards", on.unit)
    except InputError:
        return ""
    sound = (row.values for row in boards if row.values.get("state") in {None, "", "sound"})
    longest = max((own["length"] for own in sound if own.get("length")), default=0.0)
    return format_length(longest, on.unit) if longest else ""


def _rules_view(on: Lying) -> list[dict[str, Any]]:
    try:
        shown = list_rules(on.forms.get("rules"), on.unit)
    except InputError:
        shown = list_rules(None, on.unit)
    own: list[dict[str, Any]] = [plain(rule) for rule in shown if rule.name.startswith("butts.")]
    return own


def _sets_view() -> list[dict[str, Any]]:
    """Name the sets of rules, and what each states."""
    from ribband.butts import rule_sets

    return [
        {"name": name, "says": [s.says or s.quote for s in rules.stated if s.says or s.quote],
         "sources": sorted({s.source for s in rules.stated}),
         "marks": sorted({s.mark for s in rules.stated})}
        for name, rules in rule_sets().items()
    ]  # fmt: skip
