"""Butts: where the planks of a strake meet.

*Landings.* With F frames there are 2 F - 1 landings, numbered forward to aft: landing 2 i is
frame i, landing 2 i + 1 the bay aft of it (a butt there stands on a block). Whether bays, frames
or both may be used is a rule.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding
from ribband.hull.model import Floats

__all__ = ["Butt", "ButtWish", "Goal", "Layout", "Relief", "Ways"]


@dataclass(frozen=True, slots=True, order=True)
class Butt:
    """A butt: row of the strake (0 = garboard), landing, and whether the shipwright fixed it.

    `joint` is how its two planks are joined where that is not as the rules of shapes say.
    """

    strake: int
    landing: int
    fixed: bool = False
    joint: Literal["", "butt", "scarf"] = ""


@dataclass(frozen=True, slots=True)
class ButtWish:
    """A wish from the `butts` form.

    "fix": a butt of `strake` at `frame` (landing "frame" or "block"); "forbid": none of `strake`
    (empty = every strake) from `frame` to `to_frame`, for `reason`.
    """

    kind: Literal["fix", "forbid"]
    strake: str
    frame: str
    to_frame: str = ""
    landing: Literal["frame", "block"] = "frame"
    reason: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Ways:
    """The problem: S strakes, F frames, 2 F - 1 landings.

    strakes : (S,) names, keel to sheer
    frames : (F,) names; x_mm : (F,) positions
    along_mm : (S, 2F-1) distance along the strake to each landing, NaN where it does not cross
    rank : (S, 2F-1) place of the strake among those present there, from the keel; -1 if absent
    length_mm : (S,) whole length of the strake, end to end
    open : (S, 2F-1) True where a butt may stand
    fixed : butts that must stand
    stock_mm : (n,) lengths of stock, increasing; empty = any; stock_count : (n,), -1 = enough
    why_closed : (strake or "", first frame, last frame, reason) of the forbidden stretches
    unit : the job's own unit, a key of `ribband.units`, for lengths said in words
    """

    strakes: tuple[str, ...]
    frames: tuple[str, ...]
    x_mm: Floats
    along_mm: Floats
    rank: NDArray[np.int64]
    length_mm: Floats
    open: NDArray[np.bool_]
    fixed: tuple[Butt, ...] = ()
    stock_mm: Floats | None = None
    stock_count: NDArray[np.int64] | None = None
    why_closed: tuple[tuple[str, str, str, str], ...] = ()
    unit: str = "mm"


@dataclass(frozen=True, slots=True)
class Goal:
    """One goal in its order: what was reached, the proved bound, and the gap between."""

    name: str
    value: float
    bound: float
    proved: bool

    def instead(self, ways: Ways) -> str:
        """Say what stands for nought where it is no result: of stock where none is entered."""
        stocked = ways.stock_mm is not None and len(ways.stock_mm) > 0
        idle = self.name.startswith("stock length") and not stocked and self.value == 0
        return "no stock lengths entered" if idle else ""


@dataclass(frozen=True, slots=True)
class Relief:
    """A way out when nothing fits: the rule to ease, where, and how many butts break it."""

    rule: str
    where: str
    says: str
    count: int


@dataclass(frozen=True, slots=True, eq=False)
class Layout:
    """The result; infeasible layouts hold the best attempt and `clashes` and `reliefs` say why."""

    butts: tuple[Butt, ...]
    feasible: bool
    goals: tuple[Goal, ...]
    seconds: float
    seed: int
    clashes: tuple[str, ...] = ()
    reliefs: tuple[Relief, ...] = ()
    findings: tuple[Finding, ...] = ()
