"""Checking steaming apart from its solver: heat by finite differences, sums done again.

*Heat-through* of the thickest plank is stepped through on a grid over a quarter of its section;
it must agree within `HEAT_PART`. *Cooling* is stepped through a slab, which cools no faster than
the plank. Every plank of the list is there once; times are the longer of their two.

Not checked: whether a bend wants steam; the limits for that are not read.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats
from ribband.shop.planking import Planking
from ribband.shop.steaming.model import SteamedPlank, Steaming
from ribband.shop.steaming.rules import SteamingRules

__all__ = ["check_steaming"]

HEAT_PART = 0.02
CELLS = 24


def check_steaming(planking: Planking, rules: SteamingRules, made: Steaming) -> tuple[Finding, ...]:
    """Look for planks missing and times that do not agree. No finding: everything agreed."""
    return (*_complete(planking, made), *_sums(made), *_heat(rules, made))


def _fault(code: str, where: str, says: str) -> Finding:
    return Finding(code, Severity.FAULT, "shop", where, says)


def _complete(planking: Planking, made: Steaming) -> Iterator[Finding]:
    wanted = [p.name for p in planking.planks.planks]
    if wanted != [p.plank for p in made.planks]:
        yield _fault("W014", "steaming", "not every plank of the list is there once, in order")


def _sums(made: Steaming) -> Iterator[Finding]:
    for p in made.steamed:
        if p.rule_min is None or p.heat_min is None or p.minutes is None:
            continue
        by_rule = made.rule.minutes_per_inch * p.thickness_mm / 25.4
        if abs(p.rule_min - by_rule) > 0.01 or p.minutes < max(by_rule, p.heat_min) - 0.01:
            yield _fault("W012", f"plank {p.plank}", "its steaming time is not the longer of two")


def _heat(rules: SteamingRules, made: Steaming) -> Iterator[Finding]:
    timed = [p for p in made.steamed if p.heat_min is not None]
    if not timed:
        return
    thickest = max(timed, key=lambda p: p.thickness_mm)
    minutes = _stepped(thickest, rules, made.diffusivity)
    if abs(minutes - (thickest.heat_min or 0.0)) > HEAT_PART * minutes + 0.1:
        says = f"heats through in {thickest.heat_min:.1f} min, by steps in {minutes:.1f} min"
        yield _fault("W013", f"plank {thickest.plank}", says)


def _stepped(plank: SteamedPlank, rules: SteamingRules, spread: float) -> float:
    """Step heat through a quarter of the section until its middle is hot; give minutes."""
    dx, dy = plank.thickness_mm / 2 / CELLS, plank.width_mm / 2 / CELLS
    step = 0.4 / (spread * (1 / dx**2 + 1 / dy**2))
    heat = np.full((CELLS + 1, CELLS + 1), rules.air_c)
    heat[-1, :] = heat[:, -1] = rules.steam_c
    seconds = 0.0
    while heat[0, 0] < rules.hot_c:
        heat = _next(heat, spread * step / dx**2, spread * step / dy**2)
        seconds += step
    return seconds / 60


def _next(heat: Floats, across: float, along: float) -> Floats:
    """Give the grid a step later; row and column 0 are the middle, the last are held."""
    wide = np.pad(heat, ((1, 0), (1, 0)), mode="reflect")
    inner = wide[1:-1, 1:-1]
    after = heat.copy()
    after[:-1, :-1] = (
        inner
        + across * (wide[2:, 1:-1] - 2 * inner + wide[:-2, 1:-1])
        + along * (wide[1:-1, 2:] - 2 * inner + wide[1:-1, :-2])
    )
    return after
