"""What hangs, what is cut and what is left, side by side, with the planks still to be got out.

A side is divided anew once a seam of it was measured; until then its plan stands. Planks that
hang or are cut keep their names and figures, of the lining they were cut by (`in_turn`); a plank
of the new lining that is not one of them takes the planned name of the same ends, or the next
number of its strake that is free. Patterns, tickets and shapes of these alone are made again.

Not checked here: the re-lining, which `check_relined` looks over.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from ribband.butts.model import Layout
from ribband.findings import Finding
from ribband.hull.model import Floats
from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape
from ribband.record.hung import check_hung, drifts, hung_seams
from ribband.record.in_turn import InTurn, Stuff, Turn, divided_in_turn
from ribband.record.log import check_log, reached, standing
from ribband.record.model import Drift, HungPoint, Opening, Relined, Standing
from ribband.record.relining.check import check_relined
from ribband.record.relining.solve import Planned, openings_left
from ribband.record.rules import RecordRules
from ribband.shop.work.forms import Logged

__all__ = ["Left", "SideLeft", "Stuff", "left_told", "sides_left", "what_is_left"]


@dataclass(frozen=True, slots=True, eq=False)
class SideLeft:
    """One side: where it stands, drift, openings; `relined` once a seam of it was measured.

    planks : the planks still to be got out, by the new lining where there is one
    shapes : their flat shapes by the new lining, named with number as in `planks`; none without
    done : planks that hang or are cut, as they were cut
    done_shapes : of those that were not cut by the first plan
    turns : every re-lining up to now, so that they need not be made again
    as_cut : (S, C) widths in force before the last re-lining: what is cut is so wide; None without
    """

    side: str
    standing: Standing
    drifts: tuple[Drift, ...]
    openings: tuple[Opening, ...]
    relined: Relined | None
    planks: tuple[Plank, ...]
    shapes: tuple[Shape, ...]
    done: tuple[Plank, ...] = ()
    done_shapes: tuple[Shape, ...] = ()
    as_cut: Floats | None = None
    turns: tuple[Turn, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Left:
    """What is left of the whole vessel; `states` is the furthest step of every plank logged."""

    sides: tuple[SideLeft, ...]
    states: Mapping[str, str]
    findings: tuple[Finding, ...]

    def of(self, side: str) -> SideLeft | None:
        """Give one side, or None where it is not planked."""
        return next((one for one in self.sides if one.side == side), None)


def what_is_left(  # noqa: PLR0917 - the plan, what was written at the hull, and the rules
    planned: Planned,
    other: Layout | None,
    log: Sequence[Logged],
    points: Sequence[HungPoint],
    stuff: Stuff,
    rules: RecordRules,
) -> Left:
    """Give what is left of each side, divided anew where seams were measured, and look it over.

    Parameters
    ----------
    planned : with port's butts and the planks of both sides
    other : starboard's own butts where they are not port's
    """
    sides = sides_left(planned, other, log, points, stuff)
    return left_told(planned, sides, log, points, rules)


def sides_left(  # noqa: PLR0917 - the plan, what was written at the hull, and the rules
    planned: Planned,
    other: Layout | None,
    log: Sequence[Logged],
    points: Sequence[HungPoint],
    stuff: Stuff,
    before: Sequence[SideLeft] = (),
) -> tuple[SideLeft, ...]:
    """Give what is left of each side, not looked over; parameters as for `what_is_left`.

    `before` is what was found at another time; of it, re-linings of the same are taken.
    """
    turns = {one.side: one.turns for one in before}
    return tuple(
        _side(
            replace(planned, layout=other) if other and side == "starboard" else planned,
            *(side, log, points, stuff, turns.get(side, ())),
        )
        for side in dict.fromkeys(plank.side for plank in planned.planks)
    )


def left_told(
    planned: Planned,
    sides: Sequence[SideLeft],
    log: Sequence[Logged],
    points: Sequence[HungPoint],
    rules: RecordRules,
) -> Left:
    """Look over what is left and say what the log and the measurements tell of it."""
    known = (*planned.planks, *(plank for one in sides for plank in (*one.done, *one.planks)))
    found = [*check_log(log, known)]
    for one in sides:
        if one.relined is not None:
            as_cut = _as_cut(planned, one)
            found += [*one.relined.findings, *check_relined(as_cut, one.relined, rules)]
    stands = [one.standing for one in sides if one.drifts]
    told = check_hung(points, planned.lining, stands, rules, planned.hull.particulars.unit)
    return Left(tuple(sides), reached(log), tuple(dict.fromkeys((*found, *told))))


def _side(  # noqa: PLR0917 - as for the whole
    planned: Planned,
    side: str,
    log: Sequence[Logged],
    points: Sequence[HungPoint],
    stuff: Stuff,
    before: Sequence[Turn],
) -> SideLeft:
    found = drifts(side, points, planned.lining)
    if not found:
        return _as_planned(planned, standing(side, planned.planks, planned.lining, reached(log)))
    made = divided_in_turn(planned, side, log, points, stuff, before)
    return SideLeft(
        *(side, made.standing, found, _openings(planned, made), made.relined),
        *(made.planks, made.shapes, made.done, made.done_shapes),
        None if made.before is planned else made.before.lining.width_mm,
        made.turns,
    )


def _as_cut(planned: Planned, one: SideLeft) -> Planned:
    """Give the plan with the widths what is done was cut by."""
    if one.as_cut is None:
        return planned
    return replace(planned, lining=replace(planned.lining, width_mm=one.as_cut))


def _as_planned(planned: Planned, stand: Standing) -> SideLeft:
    own = [plank for plank in planned.planks if plank.side == stand.side]
    free = tuple(p for p in own if stand.planks.get(p.name) == "free")
    done = tuple(p for p in own if stand.planks.get(p.name) != "free")
    held = hung_seams(planned.hull, planned.lining, stand, ())
    openings = openings_left(planned.lining, held, stand, set()) if stand.held.any() else ()
    return SideLeft(stand.side, stand, (), openings, None, free, (), done)


def _openings(planned: Planned, made: InTurn) -> tuple[Opening, ...]:
    """Set the openings against the first plan."""
    rows = {strake.name: row for row, strake in enumerate(planned.lining.strakes)}
    columns = {name: column for column, name in enumerate(planned.lining.columns)}
    width = planned.lining.width_mm
    return tuple(
        replace(o, planned_mm=float(width[rows[o.strake], columns[o.frame]]))
        for o in made.relined.openings
    )
