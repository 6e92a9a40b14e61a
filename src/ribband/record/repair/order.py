"""The turns in which renewals are opened, so that the hull keeps its shape.

In a turn no two openings lie side by side with fewer strakes closed between them than the rule
says, and no side has more open than it says. Every turn is hung and fastened before the next is
opened. The longest are placed first, each in the first turn that takes it: an easy way that need
not give the fewest turns.

Not known here: what moulds, shores and cradle hold. The surveyor's word comes first.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from ribband.record.repair.model import Renewal
from ribband.record.repair.rules import RepairRules

__all__ = ["in_turns", "side_by_side"]


def in_turns(
    renewals: Sequence[Renewal], strakes: Sequence[str], rules: RepairRules
) -> tuple[Renewal, ...]:
    """Give the renewals of one side with the turns they are opened in, in the order given.

    Parameters
    ----------
    strakes : names from the keel
    """
    turns: list[list[Renewal]] = []
    turn_of: dict[int, int] = {}
    for n in sorted(range(len(renewals)), key=lambda n: -renewals[n].length_mm):
        own = renewals[n]
        fits = (
            t for t, its in enumerate(turns)
            if len(its) < rules.open_a_side
            and not any(side_by_side(own, other, strakes, rules) for other in its)
        )  # fmt: skip
        turn = next(fits, len(turns))
        if turn == len(turns):
            turns.append([])
        turns[turn].append(own)
        turn_of[n] = turn + 1
    return tuple(replace(own, turn=turn_of[n]) for n, own in enumerate(renewals))


def side_by_side(a: Renewal, b: Renewal, strakes: Sequence[str], rules: RepairRules) -> bool:
    """Tell whether two openings are too near to be open together."""
    apart = abs(strakes.index(a.strake) - strakes.index(b.strake))
    near = 2 * rules.near_spaces
    overlap = a.landings[0] - near < b.landings[-1] and b.landings[0] - near < a.landings[-1]
    return overlap and apart <= rules.between_open
