"""The butt problem as arrays for the solvers: which planks can be, which butts clash.

Only landings where some strake may butt are kept, as *columns*. A *plank* is an arc from an
earlier column to a later one (or from the fore end, or to the after end); arcs are kept as a
band, by how many columns back they begin. Two butts *clash* when a rule of shift or of passing
strakes is broken between them.

The checker does not use this module.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ribband.butts.model import Ways
from ribband.butts.problem import TOUCH_MM, greatest_mm, stock_in_hand
from ribband.butts.rules import ButtRules
from ribband.hull.model import Floats

__all__ = ["Tables", "clash_kinds", "tables"]

Bools = NDArray[np.bool_]
Ints = NDArray[np.int64]
FAR = 10_000  # a rank difference that no rule reaches
KINDS = ("adjacent", "between", "passing")


@dataclass(frozen=True, slots=True, eq=False)
class Tables:
    """Arrays of the problem: S strakes, n columns, band of w, reach of D strakes.

    columns : (n,) landings kept
    open, must : (S, n) where a butt may, and has to, stand
    first, last : (S, n) whether a plank may run from the fore end, to the after end
    whole, whole_waste : (S,) whether one plank may be the whole strake, and what it wastes
    short : (S, n, n) whether two butts of the strake are too near for a plank
    back : (w,) how many columns back an arc begins; arc : (w, S, n) allowed
    length, waste : (w, S, n) of arcs; ends_length, ends_waste : (2, S, n) of first and last
    reach : (2 D,) strake offsets; clash : (S, 2 D, n, n) [strake, offset, its column, other's]
    near, tight : (S, 2 D, n, n) pairs that are no clash but are not wished: one strake between
        and nearer than the goal; adjacent with less than a frame space to spare
    """

    columns: Ints
    open: Bools
    must: Bools
    first: Bools
    last: Bools
    whole: Bools
    whole_waste: Floats
    short: Bools
    back: Ints
    arc: Bools
    length: Floats
    waste: Floats
    ends_length: Floats
    ends_waste: Floats
    reach: Ints
    clash: Bools
    near: Bools
    tight: Bools
    along: Floats
    strake_length: Floats


def tables(ways: Ways, rules: ButtRules) -> Tables:
    """Lay the problem out as arrays."""
    must_all = np.zeros_like(ways.open)
    for butt in ways.fixed:
        must_all[butt.strake, butt.landing] = True
    open_all = ways.open | must_all
    columns = np.flatnonzero(open_all.any(axis=0))
    columns = columns if columns.size else np.zeros(1, dtype=np.int64)  # one that none may use
    along = ways.along_mm[:, columns]
    must = must_all[:, columns]
    to_ends = np.minimum(*_end_spaces(ways, columns))
    open_ = open_all[:, columns] & ((to_ends >= rules.least_plank_spaces) | must)
    after = ways.length_mm[:, None] - along
    ends_length = np.stack([along, after])
    first, last = (
        open_ & _plank_ok(run, spaces, ways, rules, hood=True)
        for run, spaces in zip(ends_length, _end_spaces(ways, columns), strict=True)
    )
    so_far = np.cumsum(must, axis=1)
    first &= so_far - must == 0  # no plank may run past a fixed butt
    last &= so_far == so_far[:, -1:]
    back, arc, length = _arcs(along, columns, open_, ways, rules)
    for k, gap in enumerate(back):
        arc[k, :, gap:] &= (so_far - must)[:, gap:] == so_far[:, :-gap]
    reach, clash, near, tight = _clashes(ways, rules, columns, open_)
    longest = greatest_mm(ways, rules) + TOUCH_MM
    whole = (ways.length_mm <= longest) & ~must.any(axis=1)
    return Tables(
        columns, open_, must, first, last, whole, _waste(ways.length_mm, ways, rules),
        _short(along, columns, rules), back, arc, length, _waste(length, ways, rules),
        ends_length, _waste(ends_length, ways, rules), reach, clash, near, tight, along,
        ways.length_mm,
    )  # fmt: skip


def clash_kinds(ways: Ways, rules: ButtRules, columns: Ints, offset: int) -> dict[str, Bools]:
    """Say which rule is broken between a butt of strake s and one of s + offset.

    Returns, for each rule, (S, n, n): strake s, its column, the other's column.
    """
    count = len(ways.strakes)
    other = np.clip(np.arange(count) + offset, 0, count - 1)
    real = (np.arange(count) + offset >= 0) & (np.arange(count) + offset < count)
    rank, along = ways.rank[:, columns], ways.along_mm[:, columns]
    both = (rank >= 0) & (rank[other] >= 0)
    apart = np.where(both & real[:, None], np.abs(rank - rank[other]), FAR)
    near = np.minimum(apart[:, :, None], apart[:, None, :])
    spaces = np.abs(columns[:, None] - columns[None]) / 2
    own = np.abs(along[:, :, None] - along[:, None, :])
    mm = np.fmin(own, own[other])
    x = np.abs(_x_of(ways)[columns][:, None] - _x_of(ways)[columns][None])
    mm = np.where(np.isnan(mm), x, mm)
    return {
        "adjacent": (near == 1)
        & ((spaces < rules.adjacent_spaces) | (mm < rules.adjacent_mm - TOUCH_MM)),
        "between": (near == 2)
        & ((spaces < rules.between_spaces) | (mm < rules.between_mm - TOUCH_MM)),
        "passing": (near <= rules.passing) & (spaces == 0),
    }


def _x_of(ways: Ways) -> Floats:
    x = np.empty(2 * len(ways.x_mm) - 1)
    x[::2], x[1::2] = ways.x_mm, (ways.x_mm[:-1] + ways.x_mm[1:]) / 2
    return x


def _end_spaces(ways: Ways, columns: Ints) -> tuple[Floats, Floats]:
    here = np.isfinite(ways.along_mm)
    first = here.argmax(axis=1)
    last = here.shape[1] - 1 - here[:, ::-1].argmax(axis=1)
    return (columns[None] - first[:, None]) / 2, (last[:, None] - columns[None]) / 2


def _plank_ok(run: Floats, spaces: Floats, ways: Ways, rules: ButtRules, *, hood: bool) -> Bools:
    least = rules.hood_mm if hood else rules.least_plank_mm
    longest = greatest_mm(ways, rules)
    with np.errstate(invalid="ignore"):
        return np.asarray(
            (run >= least - TOUCH_MM)
            & (run <= longest + TOUCH_MM)
            & (spaces >= rules.least_plank_spaces)
        )


def _short(along: Floats, columns: Ints, rules: ButtRules) -> Bools:
    run = np.abs(along[:, :, None] - along[:, None, :])
    spaces = np.abs(columns[:, None] - columns[None]) / 2
    with np.errstate(invalid="ignore"):
        return np.asarray(
            (run < rules.least_plank_mm - TOUCH_MM) | (spaces < rules.least_plank_spaces)
        )


def _arcs(
    along: Floats, columns: Ints, open_: Bools, ways: Ways, rules: ButtRules
) -> tuple[Ints, Bools, Floats]:
    count, n = along.shape
    found, back = [], []
    for gap in range(1, n):
        run = np.full((count, n), np.nan)
        run[:, gap:] = along[:, gap:] - along[:, :-gap]
        spaces = np.full((1, n), 0.0)
        spaces[0, gap:] = (columns[gap:] - columns[:-gap]) / 2
        ok = _plank_ok(run, spaces, ways, rules, hood=False)
        ok[:, gap:] &= open_[:, gap:] & open_[:, :-gap]
        if ok.any():
            found.append((ok, run))
            back.append(gap)
    if not back:
        return np.ones(1, dtype=np.int64), np.zeros((1, count, n), bool), np.zeros((1, count, n))
    ok_all, run_all = (np.array(part) for part in zip(*found, strict=True))
    return np.array(back), ok_all, np.nan_to_num(run_all)


def _clashes(
    ways: Ways, rules: ButtRules, columns: Ints, open_: Bools
) -> tuple[Ints, Bools, Bools, Bools]:
    count, n = open_.shape
    partial = int((ways.rank < 0).any(axis=1).sum())
    furthest = min(count - 1, max(rules.passing, 2) + partial)
    wished = _wished(ways, rules)
    offsets, found = [], []
    for offset in [*range(-furthest, 0), *range(1, furthest + 1)]:
        other = np.clip(np.arange(count) + offset, 0, count - 1)
        both = open_[:, :, None] & open_[other][:, None, :]
        hit = both & np.logical_or.reduce(list(clash_kinds(ways, rules, columns, offset).values()))
        kinds = clash_kinds(ways, wished, columns, offset)
        near, tight = (both & ~hit & kinds[kind] for kind in ("between", "adjacent"))
        if hit.any() or near.any() or tight.any():
            offsets.append(offset)
            found.append((hit, near, tight))
    if not offsets:
        none = np.zeros((count, 0, n, n), bool)
        return np.zeros(0, dtype=np.int64), none, none, none
    clash, near, tight = (np.stack(kind, axis=1) for kind in zip(*found, strict=True))
    return np.array(offsets), clash, near, tight


def _wished(ways: Ways, rules: ButtRules) -> ButtRules:
    """Give the shifts as they are wished: where a rule asks for them, a frame space more."""
    space = float(np.median(np.diff(ways.x_mm)))
    asked = rules.between_spaces or rules.between_mm
    return replace(
        rules,
        adjacent_spaces=rules.adjacent_spaces + bool(rules.adjacent_spaces),
        adjacent_mm=rules.adjacent_mm + space * bool(rules.adjacent_mm),
        between_spaces=0 if asked else rules.between_wish_spaces,
        between_mm=0.0,
    )


def _waste(length: Floats, ways: Ways, rules: ButtRules) -> Floats:
    """Give the stock length left over when each plank is cut from the shortest board that does."""
    yields, _ = stock_in_hand(ways, rules)
    if not len(yields):
        return np.zeros_like(length)
    place = np.searchsorted(yields, np.nan_to_num(length) - TOUCH_MM)
    return np.asarray(yields[np.minimum(place, len(yields) - 1)] - np.nan_to_num(length))
