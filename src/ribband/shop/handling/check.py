"""Checking handling apart from its solver: the equation in inches and pounds, corners by turning.

*Limits* are worked out once more by the customary form of the equation, which differs from the
metric one by a part in a hundred. *Hands* must suffice and one fewer must not. *Corners*: a plank
as long as said is turned through by small steps and must clear; one longer by a hundredth must
not.

Not checked: weights, which are the plank list's.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from ribband.findings import Finding, Severity
from ribband.shop.handling.model import Handled, Handling
from ribband.shop.handling.rules import HandlingRules
from ribband.shop.planking import Planking

__all__ = ["check_handling"]

POUND_KG, INCH = 0.45359237, 25.4
STEPS = 4000


def check_handling(planking: Planking, rules: HandlingRules, made: Handling) -> tuple[Finding, ...]:
    """Look for planks left out, teams too small and corners misjudged. No finding: agreed."""
    says = [*_complete(planking, made), *_hands(rules, made), *_limits(rules, made)]
    says += list(_corners(planking, rules, made))
    return tuple(Finding(c, Severity.FAULT, "shop", where, text) for c, where, text in says)


Said = Iterator[tuple[str, str, str]]


def _complete(planking: Planking, made: Handling) -> Said:
    if [p.name for p in planking.planks.planks] != [h.name for h in made.planks]:
        yield "W091", "handling", "not every plank of the list is there once, in order"


def _hands(rules: HandlingRules, made: Handling) -> Said:
    for h in (*made.planks, *made.boards):
        for kg, hands, one in (
            (h.rough_kg, h.rough_hands, made.one_kg), (h.hung_kg, h.hung_hands, made.hot_kg)
        ):  # fmt: skip
            if kg is not None and h.known and not _enough(h, kg, hands, one, rules):
                yield "W092", f"plank {h.name}", f"{hands} hands for {kg:.1f} kg"


def _enough(h: Handled, kg: float, hands: int | None, one: float, rules: HandlingRules) -> bool:
    sums = {n: one * n * (1.0 if n == 1 else 2 / 3 if n == 2 else 0.5) for n in range(1, 13)}
    if hands is None:
        return all(sums[n] < kg for n in range(1, rules.most_hands + 1))
    least = 2 if h.length_mm > rules.two_over_mm else 1
    return sums[hands] >= kg and (hands == least or sums[hands - 1] < kg)


def _limits(rules: HandlingRules, made: Handling) -> Said:
    for one, start, end, grip in (
        (made.one_kg, rules.pile_mm, rules.carry_mm, rules.grip),
        (made.hot_kg, rules.carry_mm, rules.hang_mm, rules.hot_grip),
    ):
        if rules.a_minute > 0.2:
            continue  # the table of frequencies is not read twice
        pounds = min(_pounds(rules, start, end, at, grip) for at in (start, end))
        if abs(pounds * POUND_KG - one) > 0.03 * one + 0.05:
            yield "W093", "handling", f"one may lift {one:.1f} kg, by the pounds {pounds:.1f} lb"


def _pounds(rules: HandlingRules, start: float, end: float, at: float, grip: str) -> float:
    out, height, travel = rules.out_mm / INCH, at / INCH, abs(end - start) / INCH
    hold = {"good": 1.0, "fair": 1.0 if at >= 750 else 0.95, "poor": 0.9}[grip]
    return (
        51.0
        * (10.0 / max(out, 10.0))
        * (1 - 0.0075 * abs(height - 30.0))
        * (0.82 + 1.8 / max(travel, 10.0))
        * (1 - 0.0032 * rules.turn_deg)
        * {"hour": 1.0, "two hours": 0.95, "eight hours": 0.85}[rules.spell]
        * hold
    )


def _corners(planking: Planking, rules: HandlingRules, made: Handling) -> Said:
    widest = max(
        (p.rough_mm if rules.carried == "on edge" else p.width_max_mm)
        for p in planking.planks.planks
    ) if planking.planks.planks else 0.0  # fmt: skip
    for passed in made.legs:
        leg, longest = passed.leg, passed.longest_mm
        if longest is None or leg.width_mm is None or leg.into_mm is None:
            continue
        size = (leg.width_mm, leg.into_mm, widest)
        if not _clears(0.9999 * longest, *size) or _clears(1.01 * longest + 1.0, *size):
            yield "W094", f"from {leg.start} to {leg.end}", "the longest plank is misjudged"


def _clears(length: float, one: float, other: float, wide: float) -> bool:
    """Turn a rectangle, its outer side on both outer walls; look where the inner corner lies."""
    for k in range(1, STEPS):
        t = math.pi / 2 * k / STEPS
        end_x, end_y = length * math.cos(t), length * math.sin(t)
        # the outer side runs from (end_x, 0) to (0, end_y); the inner corner is (other, one)
        away = (other * end_y + one * end_x - end_x * end_y) / math.hypot(end_x, end_y)
        if away < wide:
            return False
    return True
