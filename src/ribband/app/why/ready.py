"""The plan held ready for questions, in the process that answers them.

To say why a figure is what it is, everything kept of the plan is read. A page asks often, and of
one state of the job: what was read last is held, and read anew once the job has changed. These
functions are run in the process that stays warm (`ribband.web.aside`); nothing is held elsewhere.

Not checked: that there is room for it; one plan is held and no more.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Any

from ribband.app.papers.tables import known_of
from ribband.app.plan.as_kept import EVERY, hull_and_repair, kept_keys
from ribband.app.plan.planning import Planned
from ribband.errors import InputError
from ribband.store.table_rows import filled

__all__ = ["kept_ready", "ready", "tables_ready"]

Tables = dict[str, list[tuple[Any, ...]]]


@dataclass(slots=True)
class _Held:
    """A plan as kept, of one state of a job, and its open tables once they were asked for."""

    key: tuple[Path, str]
    planned: Planned
    tables: Tables | None = None


_HELD: list[_Held] = []


def kept_ready(path: Path) -> Planned:
    """Give the plan as it is kept, from memory where the job has not changed since.

    Raises
    ------
    InputError : there are no forms, or rules that cannot be read
    JobFileError : the job cannot be opened
    """
    key = path, kept_keys(path, EVERY)
    if not _HELD or _HELD[0].key != key:
        _HELD[:] = [_Held(key, hull_and_repair(path))]
    return _HELD[0].planned


def tables_ready(planned: Planned) -> Tables:
    """Give the open tables of a plan, filled once where it is the one held."""
    held = next((own for own in _HELD if own.planned is planned), None)
    if held is None:
        return filled(known_of(planned.run))
    if held.tables is None:
        held.tables = filled(known_of(planned.run))
    return held.tables


def ready(path: Path) -> None:
    """Hold the plan and its tables ready, where there is one.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    try:
        tables_ready(kept_ready(path))
    except InputError:
        _HELD.clear()  # no forms yet, or some to be mended: every page says so
