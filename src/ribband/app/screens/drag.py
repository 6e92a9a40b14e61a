"""Dragging a seam: a lining held ready in a warm process, moved as fast as a hand moves.

`ready` holds the newest lining with the wishes as they are now, `moved` moves one seam on one
frame and settles the rest, `nib_moved` does the same with a stealer's squared end, `another`
lines out with another number of strakes for comparison. Each answers with seams in tenths of a
mm (`ribband.app.screens.expansion`), as JSON already, so that the server passes it on unread; the
planks beside the seam come with them where asked for. A *hold* is a name the page gives one drag
of one hand.

These functions are run in the process that stays warm (`ribband.web.aside`); what is held lives
there and nowhere else.

Where the limits of width cannot all be kept to begin with, they are eased by a little more than
they are passed by, so that the hand is not kept waiting; the plan afterwards keeps to the rules.

Not checked: whether another number of strakes would do better; the page holds the number seen.
"""

from __future__ import annotations

import json
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import reduce
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from ribband.app.screens.drag_hull import points_now, whole_now
from ribband.app.screens.drag_nib import clashes, nib_at, where_asked
from ribband.app.screens.drag_planks import planks_beside
from ribband.app.screens.expansion import in_short, named, seams
from ribband.app.screens.kept import Lying, lying, lying_still, wish_rows
from ribband.app.screens.line_out import figures, lining_parts
from ribband.errors import InputError, Problem
from ribband.units import format_length

if TYPE_CHECKING:
    from ribband.lining.lineout import Drag
    from ribband.lining.model import Wish
    from ribband.lining.rules import LiningRules
    from ribband.survey.model import Particulars

__all__ = [
    "another", "beside", "hull_now", "hull_points", "let_go", "moved", "nib_moved", "ready",
]  # fmt: skip

STEPS = ("survey", "hull", "lining", "butts")
MOST_HOLDS = 6
NEAR_MM = 1.0  # a point set down is written in the job's unit, to its last step


@dataclass(slots=True)
class Base:
    """A lining held under the wishes and rules of its key."""

    key: Any
    drag: Drag


_BASES: list[Base] = []
_HOLDS: dict[str, tuple[Any, Drag]] = {}


def ready(path: Path) -> bytes:
    """Hold the newest lining ready, and give its seams under the wishes as they are now.

    Raises
    ------
    InputError : nothing is lined out yet, or a wish cannot be used
    JobFileError : the job cannot be opened
    """
    on = lying(path, STEPS)
    return _said(on, _base(on), {})


def moved(
    path: Path,
    hold: str,
    strake: str,
    frame: str,
    girth_mm: float,
    *,
    planks: bool = False,
    rests: bool = True,
) -> bytes:
    """Move the seam above `strake` to `girth_mm` on `frame` and settle the rest.

    With `planks` the planks on both sides of the seam are laid flat as the seams come to lie.
    `rests` is False while the hand still moves and will ask again: a large lining is then answered
    before it lies quite still, with the planks on that frame alone.

    Raises
    ------
    InputError : there is no such strake or frame, or nothing is lined out yet
    JobFileError : the job cannot be opened
    """
    on = lying_still(path, STEPS)
    drag = _now(on, hold)
    row, column = _place(on, drag, strake, frame)
    drag = drag.move(strake, frame, girth_mm, rests=rests)
    _keep(on, hold, drag)
    girth = float(drag.settled.cut.girth[row + 1, column])
    more: dict[str, Any] = {"girth": round(girth, 1), "text": format_length(girth, on.unit)}
    if planks:
        more["planks"] = planks_beside(on, drag, strake, "" if rests else frame)
    return _said(on, drag, more)


def nib_moved(path: Path, hold: str, stealer: str, above: str, frame: str) -> bytes:
    """Move the squared end of `stealer` to `frame`, above the strake `above`, and settle the rest.

    `stealer` is its name before the drag. What cannot be is said in `clash`; where it cannot
    stand there at all, `stands` is False and the seams are as they were.

    Raises
    ------
    InputError : there is no such stealer, strake or frame, or nothing is lined out yet
    JobFileError : the job cannot be opened
    """
    on = lying_still(path, STEPS)
    assert on.hull is not None or on.lining is None  # noqa: S101 - a lining has its hull
    start = _base(on)
    which, wanted = where_asked(start, stealer, above, frame)
    says, stands = clashes(on, start, which, wanted)
    drag = _now(on, hold)
    if stands:
        others = (s for n, s in enumerate(start.stealers) if n != which)
        drag = drag.with_stealers([*others, wanted])
        _keep(on, hold, drag)
    over = drag.settled.over_mm
    if stands and over > start.settled.over_mm + NEAR_MM:
        says = [*says, f"a limit of width is passed by {format_length(float(over), on.unit)}"]
    more = nib_at(drag, wanted, stealer, stands=stands)
    more["planks"] = planks_beside(on, drag, more["stealer"])
    return _said(on, drag, {"clash": says, "stands": stands, **more})


def beside(path: Path, hold: str, strake: str) -> dict[str, Any]:
    """Lay the planks on both sides of the seam above `strake` flat, as the seams lie now.

    Raises
    ------
    InputError : there is no such strake, or nothing is lined out yet
    JobFileError : the job cannot be opened
    """
    on = lying_still(path, STEPS)
    drag = _now(on, hold)
    _place(on, drag, strake, "")
    return planks_beside(on, drag, strake)


def hull_now(path: Path, hold: str) -> bytes:
    """Give the planked hull in space as the seams lie now (`screens.drag_hull`).

    Raises
    ------
    InputError : there are no planks yet, or only girths are known
    JobFileError : the job cannot be opened
    """
    on = lying_still(path, STEPS)
    return whole_now(on, _now(on, hold))


def hull_points(path: Path, hold: str) -> bytes:
    """Give the points alone of what `hull_now` gives.

    Raises
    ------
    InputError, JobFileError : as `hull_now`
    """
    on = lying_still(path, STEPS)
    return points_now(on, _now(on, hold))


def let_go(hold: str) -> None:
    """Forget a drag that came to nothing."""
    _HOLDS.pop(hold, None)


def another(path: Path, count: int, *, stealers: bool) -> dict[str, Any]:
    """Line out with `count` strakes (stealers counted), as things are otherwise.

    Raises
    ------
    InputError : nothing is lined out yet, a wish cannot be used, or there can be no such number
    """
    from ribband.lining import Wish, line_out

    on = lying(path, STEPS)
    if on.hull is None:
        raise InputError([Problem("lining", 0, "", "no hull yet", "a fair hull first")])
    rules = on.rules("lining")
    wishes = tuple(w for w in _wishes(on) if w.kind not in {"strakes", "stealer"})
    if stealers:
        rules = replace(rules, least_strakes=count, most_strakes=count)
    else:
        wishes = (*wishes, Wish("strakes", float(count)))
    lining = line_out(on.hull, rules, wishes, _old(on))
    return {**lining_parts(lining), "figures": figures(lining, on.unit)}


# ---- what is held


def _now(on: Lying, hold: str) -> Drag:
    """Give a hand's drag where it has one of this lining, else what is held for all."""
    kept = _HOLDS.get(hold)
    return kept[1] if kept is not None and kept[0] == _key(on) else _base(on)


def _keep(on: Lying, hold: str, drag: Drag) -> None:
    """Keep a hand's drag, and let the oldest of others go."""
    _HOLDS.pop(hold, None)
    while len(_HOLDS) >= MOST_HOLDS:
        _HOLDS.pop(next(iter(_HOLDS)))
    _HOLDS[hold] = (_key(on), drag)


def _base(on: Lying) -> Drag:
    """Hold the lining under the present wishes; from a drag just set down where there is one."""
    key = _key(on)
    held = next((base.drag for base in _BASES if base.key == key), None)
    if held is not None:
        return held
    drag = _set_down(on, key) or _held(on)
    _BASES[:] = [Base(key, drag), *_BASES[:2]]
    return drag


def _held(on: Lying) -> Drag:
    from ribband.lining import hold
    from ribband.lining.model import KEPT_MM

    if on.hull is None or on.lining is None:
        raise InputError([Problem("lining", 0, "", "nothing lined out", "a lining out first")])
    rules, wishes, old = on.rules("lining"), _wishes(on), _old(on)
    drag = hold(on.lining, on.hull, rules, wishes, old).as_wished()
    if drag.settled.over_mm <= KEPT_MM:
        return drag
    eased = _eased(rules, on.hull.particulars, 2.0 * drag.settled.over_mm + 1.0)
    return hold(on.lining, on.hull, eased, wishes, old).as_wished()


def _eased(rules: LiningRules, particulars: Particulars, by_mm: float) -> LiningRules:
    """Ease the limits of width: where they cannot all be kept, every move would try them anew."""
    from ribband.lining import limits_of

    limits = limits_of(rules, particulars)
    return replace(
        rules,
        greatest_width_mm=limits.greatest + by_mm,
        greatest_hood_mm=limits.greatest_hood + by_mm,
        least_width_mm=max(limits.least - by_mm, 1.0),
        least_hood_mm=max(limits.least_hood - by_mm, 1.0),
    )


def _set_down(on: Lying, key: Any) -> Drag | None:
    """Find a drag whose moved points are now on the form, brought to the girths written there."""
    wanted = _by_place(_wishes(on))
    for (lining, rules, _), drag in _HOLDS.values():
        have = _by_place(drag.asked.wishes)
        if (lining, rules) != key[:2] or have.keys() != wanted.keys():
            continue
        if all(abs(have[k].value - wanted[k].value) <= NEAR_MM for k in wanted):
            off = [w for k, w in wanted.items() if w.value != have[k].value and w.kind == "fix"]
            there = reduce(lambda d, w: d.move(w.strake, w.frame, w.value), off, drag)
            return replace(there, asked=replace(there.asked, wishes=tuple(wanted.values())))
    return None


def _by_place(wishes: Sequence[Wish]) -> dict[tuple[str, str, str, str], Wish]:
    return {(w.kind, w.strake, w.frame, w.to_frame): w for w in wishes}


def _key(on: Lying) -> Any:
    """Give what a hold depends on: which lining, the rules, the wishes as typed."""
    form = on.forms.get("lining")
    lying_there = (on.marks["hull"], on.marks["lining"])
    return lying_there, on.rules("lining"), form.rows if form else ()


def _wishes(on: Lying) -> tuple[Wish, ...]:
    from ribband.lining import read_wishes

    return read_wishes(wish_rows(on, "lining"))


def _old(on: Lying) -> Any:
    survey = on.result("survey")
    return () if survey is None else survey.old_widths


def _place(on: Lying, drag: Drag, strake: str, frame: str) -> tuple[int, int]:
    """Find a seam's strake and a column; the stem for no frame."""
    assert on.lining is not None  # noqa: S101 - it is held
    names, columns = [s.name for s in drag.strakes], on.lining.columns
    problems = []
    if strake not in names[:-1]:
        wanted = f"a strake with a seam above it, {names[0]} to {names[-2]}"
        problems.append(Problem("lining", 0, "strake", strake, wanted))
    if frame and frame not in columns:
        wanted = f"stem, stern, or a frame from {columns[1]} to {columns[-2]}"
        problems.append(Problem("lining", 0, "frame", frame, wanted))
    if problems:
        raise InputError(problems)
    row, column = names.index(strake), columns.index(frame) if frame else 0
    if frame and not drag.settled.cut.there[row, column]:
        wanted = f"a frame that strake {strake} reaches"
        raise InputError([Problem("lining", 0, "frame", frame, wanted)])
    return row, column


def _passed(on: Lying, drag: Drag) -> str:
    """Say which strake passes a limit of width most, and where; nothing where none does."""
    from ribband.lining.model import KEPT_MM

    settled, width = drag.settled, drag.settled.cut.width
    wide = np.where(settled.cut.there, width - settled.greatest, 0.0)
    off = np.maximum(wide, np.where(settled.cut.there, settled.least - width, 0.0))
    if on.lining is None or off.max(initial=0.0) <= KEPT_MM:
        return ""
    row, column = np.unravel_index(int(np.argmax(off)), off.shape)
    kind = "too wide" if wide[row, column] > 0 else "too narrow"
    where = on.lining.columns[column]
    frame = where if where in {"stem", "stern"} else f"frame {where}"
    return f"strake {drag.strakes[row].name} is {kind} at {frame}"


def _said(on: Lying, drag: Drag, more: dict[str, Any]) -> bytes:
    """Write the seams as they lie now."""
    from ribband.lining.model import KEPT_MM

    cut, settled = drag.settled.cut, drag.settled
    lower, upper, width = (
        np.where(cut.there, values, np.nan) for values in (cut.girth[:-1], cut.girth[1:], cut.width)
    )
    says = {
        **in_short(seams(lower, upper, width)),
        "names": [s.name for s in drag.strakes],
        "strakes": named(drag.strakes),
        "feasible": bool(settled.over_mm <= KEPT_MM),
        "over": format_length(float(settled.over_mm), on.unit),
        "passed": _passed(on, drag),
        "cost": round(float(settled.cost), 4),
        "more": settled.broken_off,
        **more,
    }
    return json.dumps(says, separators=(",", ":")).encode()
