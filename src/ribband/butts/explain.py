"""Why no layout fits, and the ways out.

A small group of neighbouring strakes that cannot be laid by itself is looked for: first strakes
that cannot be laid even alone, then two, three and more neighbours where the best attempt
clashes. For that group, what is asked for (rules, forbidden stretches, fixed butts) is taken away
one at a time and put back only if a layout then appears; what is left is a *least set*: give up
any one of it and the group can be laid. A way out eases one of the set as little as will do.

The whole vessel may need more than one group mended: the first found is told.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from time import monotonic

import numpy as np

from ribband.butts.check import clashes
from ribband.butts.model import Butt, Layout, Relief, Ways
from ribband.butts.problem import closed_for, greatest_mm, landing_name, part_of
from ribband.butts.proof import laid_somehow, must_butt
from ribband.butts.rules import ButtRules
from ribband.butts.search import fewest_alone
from ribband.butts.tables import tables
from ribband.rulebook import with_values
from ribband.units import counted, format_length

__all__ = ["Reasons", "group_that_fails", "reasons"]

WIDEST = 8  # strakes in the largest group tried


@dataclass(frozen=True, slots=True)
class Reasons:
    """Why a group cannot be laid, in plain words, and the ways out."""

    clashes: tuple[str, ...]
    reliefs: tuple[Relief, ...]


@dataclass(frozen=True, slots=True)
class Ask:
    """One thing asked for that may be given up: a rule, a forbidden stretch or a fixed butt."""

    kind: str  # a key of EASED, "stretch" or "fixed"
    index: int = 0


EASED: dict[str, dict[str, float]] = {
    "adjacent": {"adjacent_spaces": 0, "adjacent_mm": 0.0},
    "between": {"between_spaces": 0, "between_mm": 0.0},
    "passing": {"passing": 0},
    "shortest": {"least_plank_mm": 0.0, "least_plank_spaces": 0},
    "longest": {"greatest_plank_mm": 30_000.0},
    "hood": {"hood_mm": 0.0},
}


def group_that_fails(
    ways: Ways, rules: ButtRules, suspects: Sequence[int], until: float
) -> tuple[int, ...] | None:
    """Find a smallest run of strakes that cannot be laid by itself; None if none was proved.

    suspects : rows where the best attempt clashes; groups around them are tried first
    """
    if shut := _shut(ways):
        return (shut[0],)
    alone = fewest_alone(tables(ways, rules))
    if not np.isfinite(alone).all():
        return (int(np.flatnonzero(~np.isfinite(alone))[0]),)
    count = len(ways.strakes)
    for size in range(2, min(WIDEST, count) + 1):
        for first in range(count - size + 1):
            rows = tuple(range(first, first + size))
            if not set(rows) & set(suspects):
                continue
            if monotonic() > until:
                return None
            if _fits(part_of(ways, rows), rules, until) is False:
                return rows
    return None


def reasons(ways: Ways, rules: ButtRules, rows: tuple[int, ...], until: float) -> Reasons:
    """Say why the strakes `rows` cannot be laid and what would ease it least."""
    part = part_of(ways, rows)
    least = _least_set(part, rules, until)
    told = (_headline(part, rules, least), *(_says(part, rules, ask) for ask in least))
    return Reasons(told, tuple(_reliefs(part, rules, least, until)))


def _fits(ways: Ways, rules: ButtRules, until: float) -> tuple[Butt, ...] | bool | None:
    """Lay the strakes somehow; False if they cannot be laid, None where the time ran out."""
    t = tables(ways, rules)
    if not np.isfinite(fewest_alone(t)).all() or _shut(ways):
        return False
    laid = laid_somehow(t, greatest_mm(ways, rules), until)
    if laid is None or isinstance(laid, bool):
        return laid
    n = t.open.shape[1]
    return tuple(Butt(s, int(t.columns[j])) for s, row in enumerate(laid) for j in row if j < n)


def _shut(ways: Ways) -> list[int]:
    """Give the strakes with a butt fixed where none may stand."""
    return [b.strake for b in ways.fixed if not ways.open[b.strake, b.landing]]


def _asks(ways: Ways, rules: ButtRules) -> list[Ask]:
    """List what may be given up: what a shipwright would give up last comes first."""
    asked = {k: any(getattr(rules, n) != v for n, v in e.items()) for k, e in EASED.items()}
    return [
        *(Ask(kind) for kind, is_asked in asked.items() if is_asked),
        *(Ask("stretch", i) for i in range(len(ways.why_closed))),
        *(Ask("fixed", i) for i in range(len(ways.fixed))),
    ]


def _without(ways: Ways, rules: ButtRules, given_up: Iterable[Ask]) -> tuple[Ways, ButtRules]:
    """Take away what is given up."""
    values: dict[str, float] = {}
    stretches, fixed, stock = set(), set(), True
    for ask in given_up:
        if ask.kind == "stretch":
            stretches.add(ask.index)
        elif ask.kind == "fixed":
            fixed.add(ask.index)
        else:
            values |= EASED[ask.kind]
            stock = stock and ask.kind != "longest"
    eased = with_values(rules, values)
    kept = tuple(w for i, w in enumerate(ways.why_closed) if i not in stretches)
    return (
        replace(
            ways,
            open=closed_for(ways, rules, eased, kept),
            why_closed=kept,
            fixed=tuple(b for i, b in enumerate(ways.fixed) if i not in fixed),
            stock_mm=ways.stock_mm if stock else None,
            stock_count=ways.stock_count if stock else None,
        ),
        eased,
    )


def _least_set(ways: Ways, rules: ButtRules, until: float) -> list[Ask]:
    gone: list[Ask] = []
    asks = _asks(ways, rules)
    for ask in asks:
        if _fits(*_without(ways, rules, [*gone, ask]), until) is False:
            gone.append(ask)
    return [ask for ask in asks if ask not in gone]


def _headline(ways: Ways, rules: ButtRules, least: list[Ask]) -> str:
    names = _strakes(ways)
    t = tables(ways, rules)
    longest = greatest_mm(ways, rules)
    limit = f"no {'plank may be' if ways.stock_mm is None else 'board is'} longer than "
    limit += format_length(longest, ways.unit)
    pair = must_butt(t, longest)
    if pair is not None:
        s, u, first, last = pair
        begin, end = (_frame(ways, int(t.columns[j])) for j in (first, last))
        two = f"strakes {ways.strakes[s]} and {ways.strakes[u]}"
        if begin == end:
            return f"{two} must both butt at frame {begin}: {limit}"
        return f"{two} must both butt between frames {begin} and {end}: {limit}"
    gap = _gap(ways, rules) if len(ways.strakes) == 1 else None
    if gap and any(ask.kind == "longest" for ask in least):
        return f"{names} has no place to butt from {gap[0]} to {gap[1]}: {limit}"
    return f"{names} cannot be laid with all that is asked"


def _frame(ways: Ways, landing: int) -> str:
    return ways.frames[landing // 2]


def _strakes(ways: Ways) -> str:
    if len(ways.strakes) == 1:
        return f"strake {ways.strakes[0]}"
    return f"strakes {', '.join(ways.strakes[:-1])} and {ways.strakes[-1]}"


def _gap(ways: Ways, rules: ButtRules) -> tuple[str, str] | None:
    """Find two neighbouring places of a single strake further apart than the longest plank."""
    places = np.flatnonzero(ways.open[0])
    at = np.concatenate([[0.0], ways.along_mm[0, places], [ways.length_mm[0]]])
    wide = np.flatnonzero(np.diff(at) > greatest_mm(ways, rules))
    if not wide.size:
        return None
    names = ["its fore end", *(landing_name(ways, int(p)) for p in places), "its after end"]
    return names[wide[0]], names[wide[0] + 1]


def _says(ways: Ways, rules: ButtRules, ask: Ask) -> str:

    def length(mm: float) -> str:
        return format_length(mm, ways.unit)

    if ask.kind == "stretch":
        strake, first, last, reason = ways.why_closed[ask.index]
        whose = f"strake {strake}" if strake else "every strake"
        return f"asked: no butt of {whose} from frame {first} to {last}" + (
            f" ({reason})" if reason else ""
        )
    if ask.kind == "fixed":
        butt = ways.fixed[ask.index]
        at = landing_name(ways, butt.landing)
        return f"asked: strake {ways.strakes[butt.strake]} butts on {at} (fixed)"
    shift = [
        f"{getattr(rules, f'{ask.kind}_spaces')} frame spaces"
        if getattr(rules, f"{ask.kind}_spaces", 0)
        else "",
        length(getattr(rules, f"{ask.kind}_mm")) if getattr(rules, f"{ask.kind}_mm", 0) else "",
    ]
    return (
        "asked: "
        + {
            "adjacent": f"butts of adjacent strakes {' and '.join(filter(None, shift))} apart",
            "between": f"butts with a strake between {' and '.join(filter(None, shift))} apart",
            "passing": f"{counted(rules.passing, 'strake')} passing between butts on one landing",
            "shortest": f"no plank between butts shorter than {length(rules.least_plank_mm)}",
            "longest": f"no plank longer than {length(greatest_mm(ways, rules))}",
            "hood": f"no butt nearer than {length(rules.hood_mm)} to a strake's end",
        }[ask.kind]
    )


def _reliefs(ways: Ways, rules: ButtRules, least: list[Ask], until: float) -> Iterable[Relief]:
    """Ease each of the least set by itself, as little as will do."""
    for ask in least:
        if ask.kind in {"stretch", "fixed"}:
            what = _says(ways, rules, ask).removeprefix("asked: ")
            yield Relief(ask.kind, _strakes(ways), f"give up: {what}", 1)
            continue
        eased = next(_steps(ways, rules, ask, until), None)
        if eased is not None:
            yield eased


def _steps(ways: Ways, rules: ButtRules, ask: Ask, until: float) -> Iterator[Relief]:
    where = _strakes(ways)
    for value, name in _values(ways, rules, ask):
        easier = with_values(rules, {name: value})
        part = replace(ways, open=closed_for(ways, rules, easier, ways.why_closed))
        if ask.kind == "longest":
            part = replace(part, stock_mm=None, stock_count=None)
        laid = _fits(part, easier, until)
        if isinstance(laid, tuple):
            broken = clashes(ways, rules, Layout(laid, False, (), 0.0, 0))
            rule = name.removesuffix("_mm")
            yield Relief(rule, where, _easing(ask, name, value, ways.unit), len(broken))


def _values(ways: Ways, rules: ButtRules, ask: Ask) -> Iterable[tuple[float, str]]:
    """Give values of the rule, a little easier each time."""
    if ask.kind == "longest":
        longest = greatest_mm(ways, rules)
        space = float(np.median(np.diff(ways.x_mm))) / 2
        return ((longest + k * space, "greatest_plank_mm") for k in range(1, 60))
    names = [n for n in EASED[ask.kind] if getattr(rules, n)]
    name = names[0]
    now = getattr(rules, name)
    if isinstance(now, int):
        return ((k, name) for k in range(now - 1, -1, -1))
    return ((now * k / 10, name) for k in range(9, -1, -1))


def _easing(ask: Ask, name: str, value: float, unit_of_job: str) -> str:
    amount = format_length(value, unit_of_job) if name.endswith("_mm") else f"{value:g}"
    unit = "" if name.endswith("_mm") else (" strakes" if name == "passing" else " frame spaces")
    what = {
        "adjacent": "let butts of adjacent strakes come to",
        "between": "let butts with a strake between come to",
        "passing": "let butts on one landing have passing strakes of",
        "shortest": "let planks be as short as",
        "longest": "get boards for planks as long as",
        "hood": "let butts stand from the strake's end at",
    }[ask.kind]
    return f"{what} {amount}{unit} here"
