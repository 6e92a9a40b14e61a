"""Butts that fall together round her, though no rule between two of them is broken.

With strakes of two long planks each, the fewest butts fall near the middle of every strake. That
keeps every rule between butts and is still a belt of weakness no shipwright would choose. A *belt*
is `BELT` of her length between the first and the last landing a butt may stand on.

*Opposite garboards*: where the sides mirror each other, both garboards butt on the same landings
unless a rule parts them.

Not checked: strength. The rules of the vessel's authority and her surveyor come first.
"""

from __future__ import annotations

import numpy as np

from ribband.butts.model import Layout, Ways
from ribband.butts.problem import landing_name
from ribband.butts.rules import ButtRules
from ribband.findings import Finding, Severity
from ribband.units import counted

__all__ = ["in_one_belt", "opposite_garboards"]

BELT = 1 / 6  # of the length; ours, as is how many butts are too many
TOO_MANY = 0.6  # of a side's butts
FEWEST = 8  # butts a side, below which nothing is said


def in_one_belt(ways: Ways, layout: Layout) -> tuple[Finding, ...]:
    """Say where more than three fifths of a side's butts lie in one belt (B015)."""
    landings = np.sort([butt.landing for butt in layout.butts])
    if len(landings) < FEWEST:
        return ()
    x = np.interp(landings / 2.0, np.arange(len(ways.frames)), ways.x_mm)
    crossed = ways.x_mm[np.flatnonzero(ways.open.any(axis=0))[[0, -1]] // 2]
    last = np.searchsorted(x, x + BELT * abs(float(np.diff(crossed)[0])), side="right")
    within = last - np.arange(len(x))
    most = int(within.argmax())
    if within[most] <= TOO_MANY * len(x):
        return ()
    fore, aft = (landing_name(ways, int(landings[n])) for n in (most, last[most] - 1))
    says = (
        f"{within[most]} of the {len(x)} butts of a side lie in one belt round her, a sixth of her "
        "length, though no rule between two of them is broken"
    )
    why = "a shorter longest plank (butts.greatest_plank) spreads them, for more butts"
    return (
        Finding("B015", Severity.CAUTION, "butts", f"{fore} to {aft}", says, why, source="house"),
    )


def opposite_garboards(ways: Ways, rules: ButtRules, layout: Layout) -> tuple[Finding, ...]:
    """Say where both garboards butt on the same landings, no rule having been asked for (B016)."""
    at = sorted(butt.landing for butt in layout.butts if butt.strake == 0)
    if not at or rules.sides != "mirrored" or rules.opposite_garboard_mm:
        return ()
    where = ", ".join(landing_name(ways, landing) for landing in at)
    says = (
        f"port and starboard mirror each other, so that both garboards butt on the same "
        f"{counted(len(at), 'landing')}: no shipwright would lay them so"
    )
    why = "butts.sides = staggered, with butts.opposite_garboard, shifts them"
    return (
        Finding("B016", Severity.CAUTION, "butts", f"garboards, {where}", says, why,
                source="common-practice"),
    )  # fmt: skip
