"""What hangs, what is cut and what is left, side by side, with the planks still to be got out.

A side is divided anew once a seam of it was measured; until then its plan stands. Planks that
hang or are cut keep their names and figures; a plank of the new lining that is not one of them
takes the planned name of the same ends, or the next number of its strake that is free. Patterns,
tickets and shapes of these alone are made again.

Not checked here: the re-lining, which `check_relined` looks over.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from ribband.butts.model import Layout
from ribband.findings import Finding
from ribband.planks import PlankRules, ShapeRules, get_shapes, list_planks, scarf_of
from ribband.planks.model import Plank, Timber
from ribband.planks.shape_model import Shape
from ribband.record.hung import check_hung, drifts, hung_seams
from ribband.record.log import check_log, reached, standing
from ribband.record.model import Drift, HungPoint, Opening, Relined, Standing
from ribband.record.relining import Planned, openings_left, reline
from ribband.record.relining_check import check_relined
from ribband.record.rules import RecordRules
from ribband.shop.work_forms import Logged

__all__ = ["Left", "SideLeft", "Stuff", "what_is_left"]

Ends = tuple[str, str, str, str, str]


@dataclass(frozen=True, slots=True, eq=False)
class Stuff:
    """What planks are got out by: rules of the list and of the shapes, the timber if known."""

    planks: PlankRules
    shapes: ShapeRules
    species: Timber | None = None


@dataclass(frozen=True, slots=True, eq=False)
class SideLeft:
    """One side: where it stands, drift, openings; `relined` once a seam of it was measured.

    planks : the planks still to be got out, by the new lining where there is one
    shapes : their flat shapes by the new lining, named with number as in `planks`; none without
    """

    side: str
    standing: Standing
    drifts: tuple[Drift, ...]
    openings: tuple[Opening, ...]
    relined: Relined | None
    planks: tuple[Plank, ...]
    shapes: tuple[Shape, ...]


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
    """Give what is left of each side, divided anew where seams were measured.

    Parameters
    ----------
    planned : with port's butts and the planks of both sides
    other : starboard's own butts where they are not port's
    """
    states = reached(log)
    sides = []
    found = [*check_log(log, planned.planks)]
    for side in dict.fromkeys(plank.side for plank in planned.planks):
        own = replace(planned, layout=other) if other and side == "starboard" else planned
        left = _side(own, standing(side, own.planks, own.lining, states), points, stuff)
        sides.append(left)
        if left.relined is not None:
            found += [*left.relined.findings, *check_relined(own, left.relined, rules)]
    stands = [left.standing for left in sides if left.drifts]
    unit = planned.hull.particulars.unit
    told = check_hung(points, planned.lining, stands, rules, unit)
    return Left(tuple(sides), states, tuple(dict.fromkeys((*found, *told))))


def _side(planned: Planned, stand: Standing, points: Sequence[HungPoint], stuff: Stuff) -> SideLeft:
    found = drifts(stand.side, points, planned.lining)
    if not found:
        held = hung_seams(planned.hull, planned.lining, stand, ())
        free = tuple(p for p in planned.planks if stand.planks.get(p.name) == "free")
        openings = openings_left(planned.lining, held, stand, set()) if stand.held.any() else ()
        return SideLeft(stand.side, stand, (), openings, None, free, ())
    anew = reline(planned, stand, points)
    pairs = tuple(_got_out(planned, anew, stuff))
    return SideLeft(
        *(stand.side, stand, found, anew.openings, anew),
        tuple(plank for plank, _ in pairs),
        tuple(shape for _, shape in pairs if shape is not None),
    )


def _got_out(planned: Planned, anew: Relined, stuff: Stuff) -> Iterator[tuple[Plank, Shape | None]]:
    """Give the planks still to be got out by the new lining, with their flat shapes."""
    scarf = scarf_of(planned.hull, stuff.shapes)
    rules = replace(stuff.planks, sides=anew.side)
    listed = list_planks(
        *(planned.hull, anew.lining, anew.ways, anew.layout), rules, stuff.species, None, scarf
    ).planks
    names = _named(planned, anew, listed)
    rows = {strake.name: row for row, strake in enumerate(anew.lining.strakes)}
    only = {rows[plank.strake] for plank in listed if plank.name in names}
    shapes = _shapes(planned, anew, stuff, only)
    for plank in listed:
        if plank.name in names:
            number = names[plank.name]
            made = shapes.get(f"{plank.strake}-{plank.number}")
            own = f"{plank.strake}-{number}"
            named = replace(plank, number=number, name=plank.name[0] + own)
            yield named, made and replace(made, name=own, number=number)


def _shapes(planned: Planned, anew: Relined, stuff: Stuff, only: set[int]) -> dict[str, Shape]:
    if planned.hull.surface is None or not only:
        return {}
    made = get_shapes(*(planned.hull, anew.lining, anew.ways, anew.layout), stuff.shapes, only=only)
    return {shape.name: shape for shape in made.shapes}


def _named(planned: Planned, anew: Relined, listed: Sequence[Plank]) -> dict[str, int]:
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
