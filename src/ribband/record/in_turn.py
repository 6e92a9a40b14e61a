"""Lining after lining: a plank is cut by the lining that was in force on the day it was cut.

Each time planks are cut after seams were measured, what was left had been divided anew by then;
those planks have the shape of that division, and it is kept. So measurements and cuts are gone
through in the order of their days: *moment* is the day, or day and clock, on which a plank was
cut. A bare date is the day's end. A measurement without a day counts as made after everything
that is cut; a cut without a day as made by the first plan that has a plank of that name.

A plank that a re-lining moves by no more than the rule `relining.as_it_was`, counted from the
lining its shape is of, keeps that shape, and so its pattern and ticket.

Not checked here: the linings; `check_relined` looks the last one over.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from hashlib import sha256

from ribband.lining.model import Lining
from ribband.planks import PlankRules, ShapeRules, get_shapes, list_planks, scarf_of
from ribband.planks.model import Plank, Timber
from ribband.planks.shape_model import Shape
from ribband.record.hung import drifts
from ribband.record.log import reached, standing
from ribband.record.model import HungPoint, Moved, Relined, Standing
from ribband.record.relining.rules import ReliningRules
from ribband.record.relining.solve import Planned, most_moved, reline
from ribband.shop.work.forms import Logged, in_time, when_said

__all__ = ["InTurn", "Stuff", "Turn", "divided_in_turn", "named_anew"]

Ends = tuple[str, str, str, str, str]
MOST = 4  # rounds in which planks of the newest lining, cut without a day, are taken up


@dataclass(frozen=True, slots=True, eq=False)
class Stuff:
    """What planks are got out by: rules of the list and of the shapes, the timber if known."""

    planks: PlankRules
    shapes: ShapeRules
    species: Timber | None = None
    relining: ReliningRules = ReliningRules()  # noqa: RUF009 - frozen


@dataclass(frozen=True, slots=True, eq=False)
class InTurn:
    """One side after all that was measured and cut.

    before : what was in force before the last re-lining, which holds what is cut as it was cut
    relined : the last re-lining; planks, shapes : still to be got out, by it
    done : planks that hang or are cut, as they were cut; done_shapes : of those cut by a
        re-lining, named with number as in `done`
    """

    before: Planned
    standing: Standing
    relined: Relined
    planks: tuple[Plank, ...]
    shapes: tuple[Shape, ...]
    done: tuple[Plank, ...]
    done_shapes: tuple[Shape, ...]
    turns: tuple[Turn, ...]


@dataclass(frozen=True, slots=True, eq=False)
class Turn:
    """A re-lining with its planks still to be got out: their names, and the names they list by.

    key : a hash of all it was made from, so that the next time it need not be made again
    as_it_was : those of the planks that keep the shape they had
    """

    key: str
    relined: Relined
    planks: tuple[Plank, ...]
    listed: dict[str, str]
    as_it_was: tuple[str, ...] = ()


def divided_in_turn(  # noqa: PLR0917 - the plan, what was written at the hull, and the rules
    planned: Planned,
    side: str,
    log: Sequence[Logged],
    points: Sequence[HungPoint],
    stuff: Stuff,
    before: Sequence[Turn] = (),
) -> InTurn:
    """Divide a side anew as often as planks were cut after seams were measured, and at the last.

    Parameters
    ----------
    planned : as first planned, with that side's butts
    log, points : everything written down; the other side's is left out
    before : turns made at another time, taken where they are of the same
    """
    plan, made, known = planned, list[Turn](), 0
    points = [point for point in points if point.side == side]
    kept = {turn.key: turn for turn in before}
    by = {plank.name: planned.lining for plank in planned.planks}
    key = _first_key(planned, stuff)
    for moment in _moments(planned, side, log):
        seen = [p for p in points if p.at and when_said(p.at) < moment]
        count = len(drifts(side, seen, planned.lining))
        if count > known:
            known = count
            stand = _stood(plan, side, _until(log, moment))
            key = _next_key(key, stand, seen)
            made.append(kept.get(key) or _divided(key, plan, stand, seen, stuff, by))
            plan = _in_force(plan, stand, made[-1])
            by |= _shaped_by(made[-1])
    while True:
        stand = _stood(plan, side, log)
        key = _next_key(key, stand, points)
        last = kept.get(key) or _divided(key, plan, stand, points, stuff, by)
        new = {p.name for p in last.planks} - {p.name for p in plan.planks}
        if not new & set(reached(log)) or len(made) > len(log) + MOST:
            break
        made.append(last)
        plan = _in_force(plan, stand, last)
        by |= _shaped_by(last)
    return _told(planned, plan, stand, made, last, stuff)


def _shaped_by(turn: Turn) -> dict[str, Lining]:
    """Give the lining that planks of a turn have their shape of; those as they were left out."""
    return {p.name: turn.relined.lining for p in turn.planks if p.name not in turn.as_it_was}


def _moments(planned: Planned, side: str, log: Sequence[Logged]) -> list[str]:
    """Give the times at which a plank of a side was cut; of one spoilt, when it was cut again."""
    found: set[str] = set()
    cut: set[str] = set()
    for line in in_time(log):
        if line.plank[:1].lower() != side[0]:
            continue
        if line.state == "spoilt":
            cut.discard(line.plank)
        elif line.plank not in cut:
            cut.add(line.plank)
            if line.at:
                found.add(when_said(line.at))
    return sorted(found)


def _until(log: Sequence[Logged], moment: str) -> list[Logged]:
    return [line for line in log if not line.at or when_said(line.at) < moment]


def _stood(plan: Planned, side: str, log: Sequence[Logged]) -> Standing:
    return standing(side, plan.planks, plan.lining, reached(log))


def _first_key(planned: Planned, stuff: Stuff) -> str:
    """Hash a plan and the rules it is divided by."""
    lining = planned.lining
    said = repr((planned.layout.butts, planned.lining_rules, planned.butt_rules, planned.wishes,
                 stuff, lining.columns, lining.strakes))  # fmt: skip
    arrays = (lining.lower_girth_mm, lining.upper_girth_mm, lining.width_mm)
    return sha256(said.encode() + b"".join(a.tobytes() for a in arrays)).hexdigest()


def _next_key(key: str, stand: Standing, points: Sequence[HungPoint]) -> str:
    """Hash what a turn is made from: all before it, what stands, what was measured."""
    measured = [(p.strake, p.edge, p.frame, p.girth_mm) for p in points]
    return sha256(repr((key, sorted(stand.planks.items()), measured)).encode()).hexdigest()


def _divided(  # noqa: PLR0917 - what was in force, and what was written at the hull
    key: str,
    plan: Planned,
    stand: Standing,
    points: Sequence[HungPoint],
    stuff: Stuff,
    by: Mapping[str, Lining],
) -> Turn:
    anew = reline(plan, stand, points, stuff.relining, by)
    rules = replace(stuff.planks, sides=anew.side)
    scarf = scarf_of(plan.hull, stuff.shapes)
    listed = list_planks(
        *(plan.hull, anew.lining, anew.ways, anew.layout), rules, stuff.species, None, scarf
    ).planks
    numbers = named_anew(plan, anew, listed)
    was = {plank.name: plank for plank in plan.planks}
    planks, named, same = [], {}, set[str]()
    for plank in listed:
        if plank.name in numbers:
            number = numbers[plank.name]
            name = f"{plank.name[0]}{plank.strake}-{number}"
            old = was.get(name)
            if old is not None and _ends(old) == _ends(plank) and name not in anew.changed:
                same.add(name)
            planks.append(old if name in same and old else replace(plank, number=number, name=name))
            named[name] = f"{plank.strake}-{plank.number}"
    return Turn(key, anew, tuple(planks), named, tuple(sorted(same)))


def named_anew(planned: Planned, anew: Relined, listed: Sequence[Plank]) -> dict[str, int]:
    """Give the numbers of the new planks, by the name they are listed with; done ones left out."""
    old = {_ends(plank): plank for plank in planned.planks if plank.side == anew.side}
    done = {name for name, stand in anew.standing.planks.items() if stand != "free"}
    kept = {plank.name: old[_ends(plank)] for plank in listed if _ends(plank) in old}
    taken = {plank.name for plank in kept.values()} | done
    numbers = {}
    for plank in listed:
        if plank.name in kept:
            if kept[plank.name].name not in done:
                numbers[plank.name] = kept[plank.name].number
            continue
        stem = f"{plank.name[0]}{plank.strake}-"
        number = next(n for n in range(1, 1000) if f"{stem}{n}" not in taken)
        taken.add(f"{stem}{number}")
        numbers[plank.name] = number
    return numbers


def _ends(plank: Plank) -> Ends:
    return (plank.strake, plank.fore, plank.fore_landing, plank.aft, plank.aft_landing)


def _in_force(plan: Planned, stand: Standing, made: Turn) -> Planned:
    """Give the plan as a re-lining leaves it: what is done as it was, the rest anew."""
    anew = made.relined
    done = tuple(p for p in plan.planks if stand.planks.get(p.name, "free") != "free")
    others = tuple(p for p in plan.planks if p.side != anew.side)
    return replace(
        plan, lining=anew.lining, ways=anew.ways, layout=anew.layout,
        planks=(*others, *done, *made.planks),
    )  # fmt: skip


def _told(  # noqa: PLR0917 - the way from the first plan to the last
    first: Planned,
    plan: Planned,
    stand: Standing,
    made: Sequence[Turn],
    last: Turn,
    stuff: Stuff,
) -> InTurn:
    done = tuple(p for p in plan.planks if stand.planks.get(p.name, "free") != "free")
    turns = (*made, last)
    shapes, free = (
        tuple(
            shape
            for n, one in enumerate(turns)
            for shape in _shapes(first, one, {p for p, by in shaped.items() if by == n}, stuff)
        )
        for shaped in (_shaped_in(done, made), _shaped_in(last.planks, turns))
    )
    seconds = last.relined.seconds + sum(one.relined.seconds for one in made)
    moved = _moved(first, last, turns)
    changed = tuple(one.plank for one in moved)
    relined = replace(last.relined, changed=changed, moved=moved, seconds=seconds)
    return InTurn(plan, stand, relined, last.planks, free, done, shapes, turns)


def _shaped_in(planks: Sequence[Plank], turns: Sequence[Turn]) -> dict[str, int]:
    """Say which re-lining planks have their shape of; those of the first plan are left out."""
    return {
        plank.name: n
        for plank in planks
        for n, one in enumerate(turns)
        if plank.name not in one.as_it_was and any(plank.name == p.name for p in one.planks)
    }


def _shapes(plan: Planned, one: Turn, names: set[str], stuff: Stuff) -> Iterator[Shape]:
    """Give the flat shapes of planks of a re-lining, named as the planks are."""
    if plan.hull.surface is None or not names:
        return
    anew = one.relined
    rows = {strake.name: row for row, strake in enumerate(anew.lining.strakes)}
    own = [plank for plank in one.planks if plank.name in names]
    only = {rows[plank.strake] for plank in own}
    made = get_shapes(*(plan.hull, anew.lining, anew.ways, anew.layout), stuff.shapes, only=only)
    by = {shape.name: shape for shape in made.shapes}
    for plank in own:
        shape = by.get(one.listed[plank.name])
        if shape is not None:
            yield replace(shape, name=f"{plank.strake}-{plank.number}", number=plank.number)


def _moved(first: Planned, last: Turn, turns: Sequence[Turn]) -> tuple[Moved, ...]:
    """Give the planks still to be got out that have their shape of a re-lining."""
    shaped = _shaped_in(last.planks, turns)
    return tuple(
        most_moved(plank, first.lining, turns[shaped[plank.name]].relined.lining)
        for plank in last.planks
        if plank.name in shaped
    )
