"""What the plan of work has not got: planks planned as though their timber were here.

*Wanted*: the day on which the plan first saws a plank out of a board that no pile gives. The order
must be in the yard by then, its boards dry enough to be dressed.

Not checked here: how long the mill takes, or how dry its boards come.
"""

from __future__ import annotations

from collections.abc import Collection

from ribband.findings import Finding, Severity
from ribband.shop.work.model import WorkPlan
from ribband.units import counted

__all__ = ["timber_wanted"]

NAMED = 6  # planks named with their days before the rest are counted


def timber_wanted(plan: WorkPlan, lacking: Collection[str]) -> tuple[Finding, ...]:
    """Say how many planks to be got out have no board, which, and when their timber is wanted.

    Parameters
    ----------
    lacking : planks no board of the pile gives, as the laying found; all where nothing is laid
    """
    first: dict[str, int] = {}
    for step in plan.steps:
        if step.operation == "get out" and step.plank in set(lacking):
            first[step.plank] = min(step.start, first.get(step.plank, step.start))
    if not first:
        return ()
    order = sorted(first, key=lambda plank: (first[plank], plank))
    days = {plank: plan.days.at(first[plank]).date() for plank in order}
    named = ", ".join(f"{p} on {days[p].day} {days[p]:%b %Y}" for p in order[:NAMED])
    more = f" and {len(order) - NAMED} more later" if len(order) > NAMED else ""
    says = (
        counted(len(order), "plank has no board and is", "planks have no board and are")
        + f" planned as though {'its' if len(order) == 1 else 'their'} timber were here; "
        + f"wanted first: {named}{more}"
    )
    day = days[order[0]]
    why = f"the order must be here, and dry enough, by {day.day} {day:%b %Y}: ribband order"
    return (Finding("W507", Severity.CAUTION, "work", "timber", says, why),)
