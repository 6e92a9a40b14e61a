"""Hood planks so short that few frames hold them.

A hood plank is the first or last of a strake that runs out to stem, sternpost or transom, or to the
last frame where nothing was measured beyond it. That is where planking is bent and twisted most; a
plank that lies on three or four frames there is levered round by its own end, and sprung or steamed
it is held by the fastenings of that end and little else. How many frames are enough is common
practice, with no source.

Not checked: how much the plank is in fact bent or twisted, which its flat shape tells; fastenings.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ribband.butts.model import Layout, Ways
from ribband.butts.problem import TOUCH_MM
from ribband.butts.rules import ButtRules
from ribband.findings import Finding, Severity
from ribband.units import counted

__all__ = ["short_hoods"]


def short_hoods(ways: Ways, rules: ButtRules, layout: Layout) -> tuple[Finding, ...]:
    """Name, once for a side, the hood planks on fewer frames than is wished (B017)."""
    wish = rules.hood_wish_frames
    short = [(name, on) for name, on in _hood_planks(ways, layout) if on < wish]
    if not short:
        return ()
    named = ", ".join(f"{name} (on {on})" for name, on in short)
    where = f"{'plank' if len(short) == 1 else 'planks'} {named}"
    says = (
        f"hood planks on fewer than {counted(wish, 'frame')}: bent or twisted there, steamed or "
        "not, such a plank is held by little but the fastenings of its end, and springs: a first "
        "butt farther from the end, or got out to its shape"
    )
    why = "a goal, not a rule: butts.hood holds butts farther off"
    return (Finding("B017", Severity.CAUTION, "butts", where, says, why, source="common-practice"),)


def _hood_planks(ways: Ways, layout: Layout) -> Iterator[tuple[str, int]]:
    """Give every hood plank that butts on another, with the frames it lies on, its butt's too."""
    for row, strake in enumerate(ways.strakes):
        butts = sorted(butt.landing for butt in layout.butts if butt.strake == row)
        at = ways.along_mm[row, ::2]  # frames alone
        crossed = np.flatnonzero(np.isfinite(at))
        if not butts or not len(crossed):
            continue
        fore, aft = at[crossed[0]], ways.length_mm[row] - at[crossed[-1]]
        if fore > TOUCH_MM or crossed[0] == 0:  # else it begins on a frame amidships, at a nib
            yield f"{strake}-1", int((2 * crossed <= butts[0]).sum())
        if aft > TOUCH_MM or crossed[-1] == len(at) - 1:
            yield f"{strake}-{len(butts) + 1}", int((2 * crossed >= butts[-1]).sum())
