"""What is asked of a lining out, brought to one place: limits, held points, wanted widths.

Columns are the stem, the frames, the stern (C = F + 2). *Held* things are kept exactly; *wanted*
things pull with a weight. Every held thing knows which wish or rule it came from, so that the
solver can say which to give up.

Not checked: that the wishes agree with one another; the solver finds that out.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np

from ribband.errors import InputError, Problem
from ribband.hull.model import Floats, Hull
from ribband.lining.division import Division, Ints, strakes_of
from ribband.lining.groups import is_group, master_of, strakes_named
from ribband.lining.model import Wish
from ribband.lining.places import frame_named
from ribband.lining.rules import LiningRules, WidthLimits, limits_of
from ribband.survey.model import OldWidth

__all__ = ["Held", "Task", "Wanted", "columns_of", "say", "task_of"]

FIRM = 1.0  # a wish of this weight or more is held, below it pulls
PULL = 1000.0  # of a wanted width, against an evenness of 60


@dataclass(frozen=True, slots=True, eq=False)
class Held:
    """N seams (row, column) held at a girth, mm; or strakes at a width. `wish` (N,) its number."""

    at: Ints
    column: Ints
    value: Floats
    wish: Ints


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """N strakes (strake, column) pulled to a width, mm, with a weight."""

    strake: Ints
    column: Ints
    value: Floats
    weight: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Task:
    """Limits (S, C) in mm and what is held and wanted.

    `least_wish`, `greatest_wish` (S, C) hold the number of the wish a limit came from, -1 for
    the rules. `tapers` are (strake, column of the hood end, width there over width amidships,
    weight). `lowers` is how many strakes lie below the master line, 0 without one.
    """

    limits: WidthLimits
    least: Floats
    greatest: Floats
    least_wish: Ints
    greatest_wish: Ints
    girths: Held
    widths: Held
    wanted: Wanted
    tapers: tuple[tuple[int, int, float, float], ...]
    wishes: tuple[Wish, ...]
    lowers: int = 0


def columns_of(hull: Hull) -> tuple[str, ...]:
    """Give the columns of every table by frame."""
    return ("stem", *hull.frames.names, "stern")


def task_of(
    hull: Hull,
    rules: LiningRules,
    division: Division,
    wishes: Sequence[Wish] = (),
    old_widths: Sequence[OldWidth] = (),
) -> Task:
    """Gather what is asked, for one division.

    Raises
    ------
    InputError : a wish for a strake or frame that is not there
    """
    limits = limits_of(rules, hull.particulars)
    least, greatest = _limits(hull, rules, limits, division)
    names = _Names(hull, division, wishes)
    marks = np.full(least.shape, -1), np.full(least.shape, -1)
    asked = _Asked(names, old_widths)
    for number, wish in enumerate(wishes):
        if wish.kind in {"least", "greatest"}:
            low = wish.kind == "least"
            rows, columns = names.part(wish)
            alike = low or not is_group(wish.strake)
            wider = 1.0 if alike else _wider(rules, division.strakes)[rows]
            (least if low else greatest)[rows, columns] = wish.value * wider
            marks[0 if low else 1][rows, columns] = number
        else:
            asked.take(number, wish)
    names.refuse()
    return Task(
        limits, np.minimum(least, greatest), greatest, *marks, _held(asked.girths),
        _held(asked.widths), _wanted(asked.wanted), tuple(asked.tapers), tuple(wishes),
        names.lowers(),
    )  # fmt: skip


def say(wish: Wish) -> str:
    """Say a wish in words, without its value."""
    which = wish.strake if is_group(wish.strake) else f"strake {wish.strake}"
    strake = f" of {which}" if wish.strake else ""
    where = f" at {frame_named(wish.frame)}" if wish.frame else ""
    if wish.to_frame:
        where = f" from {frame_named(wish.frame)} to {frame_named(wish.to_frame)}"
    kind = {
        "strakes": "number of strakes",
        "width": "chosen width",
        "least": "least width",
        "greatest": "greatest width",
        "master": "master line above",
        "fix": "fixed seam above",
        "taper": "taper",
        "stealer": "stealer above",
        "recorded": "recorded widths",
    }[wish.kind]
    if kind.endswith("above"):
        strake = f" strake {wish.strake}"
    return f"{kind}{strake}{where}"


@dataclass(slots=True)
class _Asked:
    """What wishes other than limits ask: girths and widths held, widths and tapers wanted."""

    names: _Names
    old_widths: Sequence[OldWidth]
    girths: list[tuple[int, int, float, int]] = field(default_factory=list)
    widths: list[tuple[int, int, float, int]] = field(default_factory=list)
    wanted: list[tuple[int, int, float, float]] = field(default_factory=list)
    tapers: list[tuple[int, int, float, float]] = field(default_factory=list)

    def take(self, number: int, wish: Wish) -> None:
        """Put a wish where it belongs; `number` is its place in the form."""
        names, pull = self.names, PULL * wish.weight
        if wish.kind in {"fix", "master"}:
            self.girths.append((names.strake(wish) + 1, names.column(wish), wish.value, number))
        elif wish.kind == "width" and wish.weight >= FIRM:
            self.widths.append((names.strake(wish), names.column(wish), wish.value, number))
        elif wish.kind == "width":
            self.wanted.append((names.strake(wish), names.column(wish), wish.value, pull))
        elif wish.kind == "taper":
            ends = names.hood_ends(wish)
            self.tapers += [(k, end, wish.value, pull) for k in names.strakes(wish) for end in ends]
        elif wish.kind == "recorded":
            self.wanted.extend(names.recorded(self.old_widths, wish.value))


class _Names:
    """Find strakes and frames by name, and gather what was not found."""

    def __init__(self, hull: Hull, division: Division, wishes: Sequence[Wish]) -> None:
        self.all = strakes_of(division, hull)
        self.wishes = wishes
        self.strake_names = [s.name for s in self.all]
        ends = {"stem": 0 if hull.has_stem else 1}
        self.ends = ends | {"stern": len(hull.frames.names) + (1 if hull.has_stern else 0)}
        self.frames = list(columns_of(hull))
        self.problems: list[Problem] = []

    def strake(self, wish: Wish) -> int:
        return self._find(self.strake_names, wish.strake, "strake")

    def column(self, wish: Wish) -> int:
        return self._find(self.frames, wish.frame, "frame")

    def strakes(self, wish: Wish) -> list[int]:
        """Give the strakes a wish is for: one, a group, or all."""
        found = strakes_named(wish.strake, self.all, self.wishes)
        return list(found) if found else [self.strake(wish)]

    def lowers(self) -> int:
        """Give how many strakes lie below the master line; 0 without one."""
        name = master_of(self.wishes)
        return self.strake_names.index(name) + 1 if name in self.strake_names else 0

    def hood_ends(self, wish: Wish) -> list[int]:
        """Give the columns of the hood ends a taper is for; blank is both."""
        if not wish.frame:
            return list(self.ends.values())
        if wish.frame not in self.ends:
            wanted = "stem, stern or blank for a taper"
            self.problems.append(Problem("lining", 0, "frame", wish.frame, wanted, "stem"))
        return [self.ends.get(wish.frame, 0)]

    def part(self, wish: Wish) -> tuple[list[int], slice]:
        """Give the strakes and columns a limit is for; blank is all."""
        rows = self.strakes(wish)
        if not wish.frame:
            return rows, slice(None)
        first = self.column(wish)
        last = self._find(self.frames, wish.to_frame or wish.frame, "to_frame")
        return rows, slice(min(first, last), max(first, last) + 1)

    def recorded(
        self, old: Sequence[OldWidth], weight: float
    ) -> list[tuple[int, int, float, float]]:
        """Old widths of strakes and frames that are here; others say nothing."""
        return [
            (
                self.strake_names.index(w.strake),
                self.frames.index(w.frame),
                w.width_mm,
                PULL * weight,
            )
            for w in old
            if w.strake in self.strake_names and w.frame in self.frames
        ]

    def refuse(self) -> None:
        if self.problems:
            raise InputError(self.problems)

    def _find(self, names: list[str], name: str, column: str) -> int:
        if name in names:
            return names.index(name)
        wanted = (
            f"one of {names[0]} to {names[-1]}, or uppers, lowers, topside and so on for a "
            "taper or limit"
            if column == "strake"
            else "a frame of this hull"
        )
        self.problems.append(Problem("lining", 0, column, name, wanted, names[len(names) // 2]))
        return 0


def _limits(
    hull: Hull, rules: LiningRules, limits: WidthLimits, division: Division
) -> tuple[Floats, Floats]:
    """Least and greatest (S, C): hood-end limits ease into those amidships over a sixth."""
    first, last = hull.lines.x_mm[[0, -1]]
    x = np.concatenate([[first], hull.frames.x_mm, [last]])
    away = np.clip(np.minimum(x - first, last - x) / (0.16 * (last - first)), 0.0, 1.0)
    least = limits.least_hood + (limits.least - limits.least_hood) * away
    greatest = limits.greatest_hood + (limits.greatest - limits.greatest_hood) * away
    shape = (division.strakes, len(x))
    low, high = np.broadcast_to(least, shape).copy(), np.broadcast_to(greatest, shape).copy()
    high *= _wider(rules, division.strakes)
    low[0] *= away  # the garboard may end in a point
    for k, stealer in enumerate(division.stealers):
        if stealer is not None:
            low[k] = np.minimum(low[k], limits.nib)
            high[k + 1] += limits.nib  # the strake that takes the notch
    return low, high


def _wider(rules: LiningRules, strakes: int) -> Floats:
    """How much wider (S, 1) the garboard and broads may be."""
    wider = np.ones((strakes, 1))
    low = (rules.garboard, rules.first_broad, rules.second_broad)
    wider[: len(low), 0] = np.maximum(low, 1.0)[:strakes]
    return wider


def _held(rows: list[tuple[int, int, float, int]]) -> Held:
    a = np.array(rows, dtype=float).reshape(-1, 4)
    return Held(a[:, 0].astype(int), a[:, 1].astype(int), a[:, 2], a[:, 3].astype(int))


def _wanted(rows: list[tuple[int, int, float, float]]) -> Wanted:
    a = np.array(rows, dtype=float).reshape(-1, 4)
    return Wanted(a[:, 0].astype(int), a[:, 1].astype(int), a[:, 2], a[:, 3])
