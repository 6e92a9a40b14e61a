"""Looking an order of hanging over, apart from what made it.

Who lies on whom is found anew, from girths: at each frame both planks cross, the upper edge of
the one is the lower edge of the other. Checked: every plank once; no plank hung in the air (all
it lies on, or all it lies under, hang already); none fitted between two butts but the last of its
strake; sides level; the shutters last; no plank scarfed over another before that one. Of what hangs
already nothing is said: it is so.

Not checked here: whether the shutter was well chosen.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding, Severity
from ribband.lining.model import Lining
from ribband.planks.model import Plank
from ribband.shop.hanging.model import Hanging
from ribband.shop.hanging.rules import HangingRules

__all__ = ["check_hanging"]

SAME_MM = 0.5


def check_hanging(
    lining: Lining, planks: Sequence[Plank], hanging: Hanging, rules: HangingRules
) -> tuple[Finding, ...]:
    """Look for planks forgotten, hung in the air or between others, and sides not level."""
    place = {p.plank: p.place for p in hanging.places}
    names = [p.plank for p in hanging.places]
    if sorted(names) != sorted(plank.name for plank in planks):
        return (_fault("W411", "order", "planks are missing from the order, or in it twice"),)
    below = {plank.name: _lies_on(plank, planks, lining) for plank in planks}
    above: dict[str, list[str]] = {plank.name: [] for plank in planks}
    for name, own in below.items():
        for low in own:
            above[low].append(name)
    return (
        *_in_the_air(place, below, above, set(hanging.hung)),
        *_between(place, planks, set(hanging.hung)),
        *_scarfed(place, planks, set(hanging.hung)),
        *_unlevel(hanging, planks, rules),
        *_shut(place, planks, hanging),
    )


def _span(plank: Plank, lining: Lining) -> tuple[int, int]:
    """Give the first and last column a plank covers, whole."""
    at = {name: k for k, name in enumerate(lining.columns)}
    fore = at[plank.fore] + (plank.fore_landing == "block")
    return fore, at[plank.aft]


def _lies_on(plank: Plank, planks: Sequence[Plank], lining: Lining) -> list[str]:
    row = {strake.name: k for k, strake in enumerate(lining.strakes)}
    own, (fore, aft) = row[plank.strake], _span(plank, lining)
    found = []
    for other in planks:
        if other.side != plank.side or row[other.strake] >= own:
            continue
        first, last = _span(other, lining)
        shared = slice(max(fore, first), min(aft, last) + 1)
        if shared.stop - shared.start < 2:
            continue
        gap = lining.lower_girth_mm[own, shared] - lining.upper_girth_mm[row[other.strake], shared]
        wide = _wide(lining, own)[shared] & _wide(lining, row[other.strake])[shared]
        if np.count_nonzero((np.abs(gap) < SAME_MM) & wide) > 1:
            found.append(other.name)
    return found


def _wide(lining: Lining, row: int) -> NDArray[np.bool_]:
    width = lining.upper_girth_mm[row] - lining.lower_girth_mm[row]
    return np.asarray(np.nan_to_num(width) > SAME_MM)


def _in_the_air(
    place: Mapping[str, int],
    below: Mapping[str, list[str]],
    above: Mapping[str, list[str]],
    hung: set[str],
) -> Iterator[Finding]:
    for name, own in place.items():
        if name in hung:
            continue
        on = all(place[other] < own for other in below[name])
        under = all(place[other] < own for other in above[name])
        if not (on or under):
            yield _fault("W412", name, "hung before all it lies on, or all it lies under, hangs")


def _between(
    place: Mapping[str, int], planks: Sequence[Plank], hung: set[str]
) -> Iterator[Finding]:
    rows: dict[tuple[str, str], list[str]] = {}
    for plank in planks:
        rows.setdefault((plank.side, plank.strake), []).append(plank.name)
    for names in rows.values():
        when = [place[name] for name in names]
        for n in range(1, len(names) - 1):
            last = when[n] == max(when) or names[n] in hung
            last = last or {names[n - 1], names[n + 1]} <= hung
            if when[n - 1] < when[n] > when[n + 1] and not last:
                yield _fault("W413", names[n], "fitted between two planks before its strake's last")


def _scarfed(
    place: Mapping[str, int], planks: Sequence[Plank], hung: set[str]
) -> Iterator[Finding]:
    """Look for a tip that is fast over where the next plank of its strake has still to go in."""
    begins = {(p.side, p.strake, p.fore, p.fore_landing): p.name for p in planks}
    for plank in planks:
        under = begins.get((plank.side, plank.strake, plank.aft, plank.aft_landing))
        if plank.aft_scarf_mm <= 0 or under is None or {plank.name, under} <= hung:
            continue
        if place[plank.name] < place[under]:
            yield _fault("W416", plank.name, f"hung before {under}, which its scarf lies over")


def _unlevel(hanging: Hanging, planks: Sequence[Plank], rules: HangingRules) -> Iterator[Finding]:
    left = {side: sum(p.side == side for p in planks) for side in {p.side for p in planks}}
    hung = dict.fromkeys(left, 0)
    most = rules.level
    for place in sorted(hanging.places, key=lambda p: p.place):
        hung[place.side] += 1
        left[place.side] -= 1
        ahead = max(hung.values()) - min(hung.values())
        if place.plank in hanging.hung:
            most = max(rules.level, ahead)
        elif all(left.values()) and ahead > most:
            yield _fault("W414", place.plank, "one side is further ahead than the rule allows")


def _shut(place: Mapping[str, int], planks: Sequence[Plank], hanging: Hanging) -> Iterator[Finding]:
    for side in {plank.side for plank in planks}:
        last = max((p.name for p in planks if p.side == side), key=lambda name: place[name])
        if last not in hanging.shutters:
            yield _fault("W415", last, "hung last, but it is not the shutter")


def _fault(code: str, where: str, says: str) -> Finding:
    return Finding(code, Severity.FAULT, "hanging", where, says)
