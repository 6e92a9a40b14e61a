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

__all__ = ["record_sums"]


def record_sums(path: Path) -> LeftPart:
    """Give costs and old against new; empty where the plan has not come so far.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    from ribband.app.plan.old_new import old_of
    from ribband.app.plan.recorded import record_of
    from ribband.app.showing.record_sums import sums_answer

    nothing = LeftPart("not made", (), (), (), ())
    try:
        planned, before = as_last_kept(path, EVERY, "relined")
        if "relined" not in planned.run.bench.made:
            return nothing
        answer = sums_answer(record_of(planned), old_of(planned), planned.run.bench.unit)
    except InputError:
        return nothing  # a form that cannot be read: its own page says so
    part = said_part("stale" if before else "good", answer)
    return replace(part, notes=(before, *part.notes)) if before else part
