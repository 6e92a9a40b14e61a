"""The log looked over, and how far each side has come.

A plank *hangs* from the line "hung" on; it is *cut* from "patterned" on. "Spoilt" takes a plank
back to the beginning: its next one is got out anew. Lines count by their times, or in the order
they are written where one has no time.

Codes: R001 a plank that is not on the list; R002 a step told again or before an earlier one.

Not checked: who was there, or whether a date is a working day.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import numpy as np

from ribband.findings import Finding, Severity
from ribband.lining.model import Lining
from ribband.planks.model import Plank
from ribband.record.model import DONE, Stand, Standing, come_to
from ribband.shop.work.forms import Logged, in_time

__all__ = ["check_log", "columns_of", "reached", "standing"]


def reached(log: Sequence[Logged]) -> dict[str, str]:
    """Give the furthest step of every plank in the log; one that was spoilt last has none.

    Lines are taken by their times where every one has one.

    >>> reached([Logged("P1-1", "hung", "", ()), Logged("P1-1", "got out", "", ())])
    {'P1-1': 'hung'}
    """
    far: dict[str, int] = {}
    for line in in_time(log):
        if line.state == "spoilt":
            far.pop(line.plank, None)
        elif line.state in DONE:
            far[line.plank] = max(far.get(line.plank, 0), DONE.index(line.state))
    return {plank: DONE[step] for plank, step in far.items()}


def standing(
    side: str, planks: Sequence[Plank], lining: Lining, states: Mapping[str, str]
) -> Standing:
    """Say where on one side planks hang, and where they are cut.

    Parameters
    ----------
    planks : the plank list, of both sides or one
    states : furthest step of each plank, as `reached` gives it
    """
    rows = {strake.name: row for row, strake in enumerate(lining.strakes)}
    shape = lining.width_mm.shape
    held, cut = np.zeros(shape, dtype=bool), np.zeros(shape, dtype=bool)
    stands: dict[str, Stand] = {}
    for plank in planks:
        if plank.side != side:
            continue
        stand = stands[plank.name] = _stand(states.get(plank.name, ""))
        if stand == "free" or plank.strake not in rows:
            continue
        row = rows[plank.strake]
        there = np.isfinite(lining.width_mm[row]) & columns_of(plank, lining)
        (held if stand == "held" else cut)[row] |= there
    return Standing(side, held, cut & ~held, stands)


def check_log(
    log: Sequence[Logged], planks: Sequence[Plank], listed: str = "on the list"
) -> tuple[Finding, ...]:
    """Find lines of planks that are not `listed`, and steps told twice."""
    names = {plank.name for plank in planks}
    found: list[Finding] = []
    told: set[tuple[str, str]] = set()
    for line in log:
        where = f"{line.cell.file}, row {line.cell.row}" if line.cell else "the log"
        if line.plank not in names:
            says = f"plank {line.plank} is not {listed}; the line counts for nothing"
            found.append(Finding("R001", Severity.CAUTION, "record", where, says))
        elif (line.plank, line.state) in told and line.state != "spoilt":
            says = f"plank {line.plank} was told {line.state} before"
            found.append(Finding("R002", Severity.NOTE, "record", where, says))
        if line.state == "spoilt":
            told = {(plank, state) for plank, state in told if plank != line.plank}
        told.add((line.plank, line.state))
    return tuple(found)


def _stand(state: str) -> Stand:
    if not come_to(state, DONE[0]):
        return "free"
    return "held" if come_to(state, "hung") else "cut"


def columns_of(plank: Plank, lining: Lining) -> np.ndarray:
    """Mark the columns a plank crosses; one that ends on a block reaches into the bay only."""
    places = {name: column for column, name in enumerate(lining.columns)}
    first, last = places[plank.fore] + (plank.fore_landing == "block"), places[plank.aft]
    columns = np.arange(len(lining.columns))
    return (columns >= first) & (columns <= last)
