"""From a lining to the butt problem: where each strake crosses each landing, and what is open.

Lengths run along the middle of the strake from its fore end. A bay's landing lies half-way
between its frames; a strake has a landing in a bay only where it crosses both frames.

*Rank* is the place of a strake among those present at a landing, counted from the keel: strakes
whose ranks differ by one touch there, so a stealer counts where it is and nowhere else.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from ribband.butts.model import Butt, ButtWish, Layout, Ways
from ribband.butts.rules import ButtRules
from ribband.errors import InputError, Problem
from ribband.hull.model import Floats, Hull
from ribband.lining.model import Lining

__all__ = [
    "TOUCH_MM",
    "closed_for",
    "greatest_mm",
    "landing_name",
    "other_side",
    "part_of",
    "stock_in_hand",
    "ways",
    "with_wishes",
]

TOUCH_MM = 0.1  # lengths closer than this count as equal: no tape reads finer
Stock = tuple[Floats, NDArray[np.int64]]


def ways(
    hull: Hull,
    lining: Lining,
    rules: ButtRules,
    wishes: Sequence[ButtWish] = (),
    stock: Stock | tuple[()] = (),
) -> Ways:
    """Set out the problem: landings along every strake, those closed, fixed butts, stock.

    Raises
    ------
    InputError : a wish names a strake or frame that is not on the vessel, or fixes a butt where
        the strake has no landing of that kind
    """
    names = tuple(s.name for s in lining.strakes)
    frames = lining.columns[1:-1]
    along = _at_landings(lining.along_mm[:, 1:-1])
    length = np.nanmax(lining.along_mm, axis=1)
    x_mm = np.asarray(hull.frames.x_mm, dtype=float)
    bare = Ways(
        strakes=names,
        frames=frames,
        x_mm=x_mm,
        along_mm=along,
        rank=_ranks(along),
        length_mm=length,
        open=_open(along, length, rules),
        stock_mm=stock[0] if stock else None,
        stock_count=stock[1] if stock else None,
        unit=hull.particulars.unit,
    )
    return with_wishes(bare, wishes)


def other_side(ways: Ways, rules: ButtRules, layout: Layout) -> Ways:
    """Give the problem of the second side when the sides are staggered.

    A strake's butts keep `side_spaces` from those of the same strake on the side already laid;
    garboard butts also keep `opposite_garboard_mm`. What is closed for it is a forbidden stretch
    with that reason.
    """
    if rules.sides != "staggered":
        return ways
    open_, why = ways.open.copy(), list(ways.why_closed)
    for butt in layout.butts:
        near = _opposite(ways, rules, butt)
        open_[butt.strake] &= ~near
        hit = np.flatnonzero(near)
        if hit.size:
            first, last = (ways.frames[int(i) // 2] for i in (hit[0], hit[-1]))
            why.append((ways.strakes[butt.strake], first, last, "too near the other side's butt"))
    return replace(ways, open=open_, fixed=(), why_closed=tuple(why))


def closed_for(
    ways: Ways, rules: ButtRules, eased: ButtRules, stretches: Sequence[tuple[str, str, str, str]]
) -> NDArray[np.bool_]:
    """Say what would be open under `eased` rules with only `stretches` forbidden.

    What was closed for neither rule nor stretch stays closed.
    """
    was = _open(ways.along_mm, ways.length_mm, rules) & ~_forbidden(ways, ways.why_closed)
    now = _open(ways.along_mm, ways.length_mm, eased) & ~_forbidden(ways, stretches)
    return np.asarray(now & (ways.open | ~was))


def part_of(ways: Ways, rows: tuple[int, ...]) -> Ways:
    """Take some strakes out of the problem; ranks stay those of the whole vessel."""
    pick, place = list(rows), {row: i for i, row in enumerate(rows)}
    kept = (b for b in ways.fixed if b.strake in place)
    names = tuple(ways.strakes[r] for r in pick)
    return replace(
        ways,
        strakes=names,
        along_mm=ways.along_mm[pick],
        rank=ways.rank[pick],
        length_mm=ways.length_mm[pick],
        open=ways.open[pick],
        fixed=tuple(Butt(place[b.strake], b.landing, b.fixed) for b in kept),
        why_closed=tuple(w for w in ways.why_closed if w[0] in {"", *names}),
    )


def greatest_mm(ways: Ways, rules: ButtRules) -> float:
    """Give the longest plank there may be: by rule, and by the longest board in stock."""
    if ways.stock_mm is None or not len(ways.stock_mm):
        return rules.greatest_plank_mm
    return min(rules.greatest_plank_mm, float(ways.stock_mm[-1]) - rules.trim_mm)


def stock_in_hand(ways: Ways, rules: ButtRules) -> tuple[Floats, Floats]:
    """Give plank lengths that each board can yield, and how many boards for this side.

    Counts are halved when there are two sides to plank; infinity where there is enough.
    """
    if ways.stock_mm is None or ways.stock_count is None or not len(ways.stock_mm):
        return np.zeros(0), np.zeros(0)
    share = 1 if rules.sides == "one" else 2
    count = np.where(ways.stock_count < 0, np.inf, ways.stock_count // share)
    return ways.stock_mm - rules.trim_mm, count.astype(float)


def landing_name(ways: Ways, landing: int) -> str:
    """Name a landing as it is said: "frame 12" or "the bay aft of frame 12"."""
    frame = ways.frames[landing // 2]
    return f"the bay aft of frame {frame}" if landing % 2 else f"frame {frame}"


def _at_landings(at_frames: Floats) -> Floats:
    strakes, frames = at_frames.shape
    along = np.full((strakes, 2 * frames - 1), np.nan)
    along[:, ::2] = at_frames
    along[:, 1::2] = (at_frames[:, :-1] + at_frames[:, 1:]) / 2
    return along


def _ranks(along: Floats) -> NDArray[np.int64]:
    here = np.isfinite(along)
    return np.where(here, np.cumsum(here, axis=0) - 1, -1).astype(np.int64)


def _open(along: Floats, length: Floats, rules: ButtRules) -> NDArray[np.bool_]:
    with np.errstate(invalid="ignore"):
        clear = (along >= rules.hood_mm - TOUCH_MM) & (
            along <= (length - rules.hood_mm)[:, None] + TOUCH_MM
        )
    inside = (along > TOUCH_MM) & (along < length[:, None] - TOUCH_MM)
    kind = np.zeros(along.shape[1], dtype=bool)
    kind[::2] = rules.landings in {"frames", "both"}
    kind[1::2] = rules.landings in {"blocks", "both"}
    return np.asarray(clear & inside & kind)


def with_wishes(ways: Ways, wishes: Sequence[ButtWish]) -> Ways:
    """Put wishes into a problem: stretches closed and butts fixed.

    Raises
    ------
    InputError : as `ways`
    """
    problems = [p for wish in wishes for p in _wrong(ways, wish)]
    if problems:
        raise InputError(problems)
    open_, why, fixed = ways.open.copy(), [], []
    for wish in wishes:
        if wish.kind == "forbid":
            first, last = _stretch(ways, wish)
            open_[list(_rows(ways, wish.strake)), 2 * first : 2 * last + 1] = False
            why.append((wish.strake, ways.frames[first], ways.frames[last], wish.reason))
        else:
            row, landing = _fixed_at(ways, wish)
            fixed.append(Butt(row, landing, fixed=True))
    return replace(ways, open=open_, why_closed=tuple(why), fixed=tuple(sorted(set(fixed))))


def _rows(ways: Ways, strake: str) -> Iterator[int]:
    return (i for i, name in enumerate(ways.strakes) if strake in {"", name})


def _stretch(ways: Ways, wish: ButtWish) -> tuple[int, int]:
    ends = [ways.frames.index(f) for f in (wish.frame, wish.to_frame or wish.frame)]
    return min(ends), max(ends)


def _forbidden(ways: Ways, stretches: Sequence[tuple[str, str, str, str]]) -> NDArray[np.bool_]:
    shut = np.zeros_like(ways.open)
    for strake, first, last, _ in stretches:
        begin, end = ways.frames.index(first), ways.frames.index(last)
        shut[list(_rows(ways, strake)), 2 * begin : 2 * end + 1] = True
    return shut


def _fixed_at(ways: Ways, wish: ButtWish) -> tuple[int, int]:
    landing = 2 * ways.frames.index(wish.frame) + (wish.landing == "block")
    return ways.strakes.index(wish.strake), landing


def _wrong(ways: Ways, wish: ButtWish) -> list[Problem]:
    wrong = []
    if wish.strake not in {*ways.strakes, *([""] if wish.kind == "forbid" else [])}:
        known = "a strake: " + ", ".join(ways.strakes)
        wrong.append(Problem("butts", 0, "strake", wish.strake, known))
    for column, frame in (("frame", wish.frame), ("to_frame", wish.to_frame or wish.frame)):
        if frame not in ways.frames:
            known = f"a frame from {ways.frames[0]} to {ways.frames[-1]}"
            wrong.append(Problem("butts", 0, column, frame, known))
    if not wrong and wish.kind == "fix":
        row, landing = _fixed_at(ways, wish)
        if landing >= ways.along_mm.shape[1] or np.isnan(ways.along_mm[row, landing]):
            wanted = f"a landing that strake {wish.strake} crosses"
            wrong.append(Problem("butts", 0, "frame", f"{wish.landing} {wish.frame}", wanted))
    return wrong


def _opposite(ways: Ways, rules: ButtRules, butt: Butt) -> NDArray[np.bool_]:
    places = np.arange(ways.along_mm.shape[1])
    near = np.abs(places - butt.landing) < 2 * rules.side_spaces
    if butt.strake == 0:
        apart = np.abs(ways.along_mm[0] - ways.along_mm[0, butt.landing])
        near |= apart < rules.opposite_garboard_mm - TOUCH_MM
    return np.asarray(near)
