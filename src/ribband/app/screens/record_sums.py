"""The record page's sums: costs planned and so far, and the old planking beside the new.

They are of the last plan there was whole, of one revision; of which is said where it is not the
newest. Of a repair they are of the new planks alone. Nothing is made here.
"""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

from ribband.app.plan.as_kept import EVERY, as_last_kept
from ribband.app.screens.record import LeftPart, said_part
from ribband.errors import InputError

MONEY = {"Costs", "Wages by operation"}
ON_PAPER = "What a repair costs is worked out for its planks alone, in the record on paper."

__all__ = ["record_sums"]


def record_sums(path: Path) -> LeftPart:
    """Give costs and old against new; empty where the plan has not come so far.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    from ribband.app.plan.old_new import old_of
    from ribband.app.plan.recorded import record_of
    from ribband.app.plan.repair_steps import as_repair
    from ribband.app.showing.record_sums import sums_answer

    nothing = LeftPart("not made", (), (), (), ())
    try:
        planned, before = as_last_kept(path, EVERY, "relined")
        if "relined" not in planned.run.bench.made:
            return nothing
        alone = as_repair(planned)
        answer = sums_answer(record_of(alone), old_of(alone), planned.run.bench.unit)
        if alone is not planned:
            own = tuple(one for one in answer.listings if one.title not in MONEY)
            answer = replace(answer, lines=(), listings=own, notes=(ON_PAPER,))
    except InputError:
        return nothing  # a form that cannot be read: its own page says so
    part = said_part("stale" if before else "good", answer)
    return replace(part, notes=(before, *part.notes)) if before else part
