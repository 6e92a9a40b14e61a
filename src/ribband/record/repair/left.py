"""What is left of a repair: its new planks, set against the seams she was recorded with.

Old planks stay and hang where they were recorded; they are on no list, and no line of the log is
theirs. What is left of a repair is not divided anew: a new plank has the width of the opening that
was recorded for it, and where a seam beside it hangs otherwise its opening is told, to be spiled.

Not known here: whether an old seam lies where it was recorded, unless it was measured again.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.model import Hull
from ribband.lining.model import Lining
from ribband.planks.model import Plank
from ribband.record.hung import check_hung, drifts, hung_seams
from ribband.record.log import check_log, columns_of, reached, standing
from ribband.record.model import Drift, HungPoint, Masks, Opening, Standing
from ribband.record.relining.solve import openings_left
from ribband.record.repair.model import Repair
from ribband.record.rules import RecordRules
from ribband.record.whole import Left, SideLeft
from ribband.shop.work.forms import Logged

__all__ = ["AMONG", "left_of_repair"]

AMONG = "among the new planks of the repair"


def left_of_repair(
    hull: Hull,
    repair: Repair,
    log: Sequence[Logged],
    points: Sequence[HungPoint],
    rules: RecordRules,
) -> Left:
    """Give how far the new planks of each side have come, and what was measured of their seams."""
    new = repair.planks.planks
    names = {plank.name for plank in new}
    states = {plank: state for plank, state in reached(log).items() if plank in names}
    sides = tuple(
        _side(hull, repair, side, states, points)
        for side in dict.fromkeys(plank.side for plank in new)
    )
    stands = [one.standing for one in sides if one.drifts]
    told = (
        *check_log(log, new, AMONG),
        *_of_no_side(points, {one.side for one in sides}),
        *check_hung(points, repair.lining, stands, rules, hull.particulars.unit),
    )
    return Left(sides, states, tuple(dict.fromkeys(told)))


def _of_no_side(points: Sequence[HungPoint], sides: set[str]) -> Iterator[Finding]:
    """Tell of what was measured on a side where nothing is renewed."""
    for point in points:
        if point.side not in sides:
            where = f"{point.cell.file}, row {point.cell.row}" if point.cell else "as hung"
            says = f"nothing is renewed to {point.side}; the line counts for nothing"
            yield Finding("R010", Severity.CAUTION, "record", where, says)


def _side(
    hull: Hull, repair: Repair, side: str, states: dict[str, str], points: Sequence[HungPoint]
) -> SideLeft:
    lining = repair.lining
    own = [plank for plank in repair.planks.planks if plank.side == side]
    stand = standing(side, own, lining, states)
    stand = replace(stand, old=_old(repair, side, lining))
    free = tuple(plank for plank in own if stand.planks[plank.name] == "free")
    done = tuple(plank for plank in own if stand.planks[plank.name] != "free")
    found = drifts(side, points, lining)
    return SideLeft(side, stand, found, _openings(hull, lining, stand, found), None, free, (), done)


def _old(repair: Repair, side: str, lining: Lining) -> Masks:
    """Mark where (S, C) old planks of a side stay, and no new one crosses."""
    new = repair.planks.planks
    names = {plank.name for plank in new}
    old = [plank for plank in repair.around if plank.name not in names]
    stays = _crossed(old, side, lining) & ~_crossed(new, side, lining)
    return stays & np.isfinite(lining.width_mm)


def _crossed(planks: Sequence[Plank], side: str, lining: Lining) -> Masks:
    """Mark where (S, C) planks of a side cross; at a joint on a frame two do."""
    rows = {strake.name: row for row, strake in enumerate(lining.strakes)}
    found = np.zeros(lining.width_mm.shape, dtype=bool)
    for plank in planks:
        if plank.side == side:
            found[rows[plank.strake]] |= columns_of(plank, lining)
    return found


def _openings(
    hull: Hull, lining: Lining, stand: Standing, found: Sequence[Drift]
) -> tuple[Opening, ...]:
    """Give the openings of planks still to be hung, where a seam beside them was measured."""
    seen = {(drift.seam, drift.frame) for drift in found}
    rows = {strake.name: row for row, strake in enumerate(lining.strakes)}
    held = hung_seams(hull, lining, stand, found)
    return tuple(
        opening
        for opening in openings_left(lining, held, stand, seen)
        if seen & {(rows[opening.strake] + edge, opening.frame) for edge in (0, 1)}
    )
