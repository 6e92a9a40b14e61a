"""Planks logged as hung with nothing to hang from: a slip of the finger, or a strange order.

A plank hangs from all it lies on, down to the rabbet, or from all it lies under, up to the sheer.
One of which neither hangs is told; nothing is undone, for the log is what was done.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from ribband.findings import Finding, Severity
from ribband.lining.model import Lining
from ribband.planks.model import Plank
from ribband.record.model import come_to
from ribband.shop import against, seats

__all__ = ["hung_in_the_air"]

SHOWN = 4


def hung_in_the_air(
    planks: Sequence[Plank], lining: Lining, states: Mapping[str, str]
) -> tuple[Finding, ...]:
    """Name the planks that hang while neither all below nor all above them do (R003).

    Parameters
    ----------
    planks : every plank as first planned, of one side or both
    states : furthest step of each plank, as `reached` gives it
    """
    hung = {p.name for p in planks if come_to(states.get(p.name, ""), "hung")}
    found = []
    for plank, own in against(seats(planks, lining)).items():
        lacking = [
            [name for name in beside if name not in hung] for beside in (own.below, own.above)
        ]
        if plank in hung and all(lacking):
            names = ", ".join(lacking[0][:SHOWN])
            says = f"logged as hung, but {names} below it and {lacking[1][0]} above it do not hang"
            why = "a slip of the finger? else what lies between two hung strakes must fit as it is"
            found.append(Finding("R003", Severity.CAUTION, "record", f"plank {plank}", says, why))
    return tuple(found)
