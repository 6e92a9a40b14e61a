"""Fastenings worked out: sizes, numbers, places, holding power, totals and a life compared.

How many go by the width of the plank at each frame and the set of rules chosen; sizes by the
thickness of the plank. At butts, hood ends, nibs and blocks there are more. What the yard has, its
prices, hours and years are its own, from the form `fastenings`; where it says nothing, nothing is
made up.

Not reckoned: the strength of the vessel; that is the surveyor's and the rules' of her flag.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import partial

from ribband.errors import InputError, Problem
from ribband.shop.fastenings.metals import contacts
from ribband.shop.fastenings.model import Choice, Fastenings, Life, Line, Row, Spec
from ribband.shop.fastenings.pattern import spots
from ribband.shop.fastenings.rules import FasteningRules
from ribband.shop.fastenings.sizes import spec_for
from ribband.shop.fastenings.strength import holding
from ribband.shop.fastenings.tables import how_many, kinds
from ribband.shop.fastenings.words import said_of
from ribband.shop.planking import Crossing, Planking
from ribband.timber.species import species_named

__all__ = ["fasten", "look_over_fastenings"]

WHERE = {
    "frame": "frames", "butt": "butts", "block": "blocks", "hood": "hood ends", "nib": "nibs",
}  # fmt: skip


def fasten(
    planking: Planking,
    rules: FasteningRules = FasteningRules(),  # noqa: B008 - frozen
    choices: Sequence[Choice] = (),
) -> Fastenings:
    """Work out the fastenings of every plank.

    Raises
    ------
    InputError : no such set or kind, or a gauge of screw not in the table
    """
    look_over_fastenings(rules)
    chosen = _chosen(rules, choices)
    specs = _specs(planking, rules, chosen)
    rows = tuple(_rows(planking, rules, chosen, specs))
    lines = tuple(_lines(planking, rules, chosen, specs, rows))
    main = next(iter(specs.values()), None)
    frame = species_named(rules.frame_timber, planking.timbers) if rules.frame_timber else None
    bunged = sum(line.count for line in lines if kinds()[line.spec.kind].bunged)
    near = [part.strip() for part in rules.near_metals.split(",") if part.strip()]
    in_use = [line.spec.metal for line in lines]
    made = Fastenings(
        rules.set, rows, tuple(dict.fromkeys(specs.values())), lines,
        math.ceil(bunged * (1 + rules.bung_spares_part)),
        main.counterbore_mm if main else None,
        holding(main, frame, rules), contacts([*in_use, *near]),
        tuple(_life(choice, rules, rows) for choice in choices),
    )  # fmt: skip
    used = {row.where for row in rows}
    return said_of(made, planking, rules, frame, _not_named(choices, used), chosen)


def look_over_fastenings(rules: FasteningRules) -> None:
    """Look whether the words of the rules mean something.

    Raises
    ------
    InputError : no such set or kind
    """
    how_many(rules.set, 100.0, 0)
    if rules.kind not in kinds():
        wanted = "one of " + ", ".join(kinds())
        raise InputError([Problem("rules", 0, "fastenings.kind", rules.kind, wanted, "screw")])


def _chosen(rules: FasteningRules, choices: Sequence[Choice]) -> dict[str, Choice]:
    """Give the choice in use for each whereabouts.

    The first so named, else the first for all, else that of the frames, else the rules' own.
    """
    metal = "" if rules.kind == "treenail" else rules.metal.lower()
    usual = Choice("planking", rules.kind, metal)
    usual = next((c for c in choices if c.where == "frames"), usual)
    usual = next((c for c in choices if not c.where), usual)
    named = {c.where: c for c in reversed(choices) if c.where}
    return {where: named.get(where, usual) for where in WHERE.values()}


def _not_named(choices: Sequence[Choice], used: set[str]) -> tuple[str, ...]:
    """Name the places in use the form `fastenings` says nothing of, though it says something."""
    if not choices or any(not c.where for c in choices):
        return ()
    named = {c.where for c in choices}
    return tuple(where for where in WHERE.values() if where in used and where not in named)


def _specs(
    planking: Planking, rules: FasteningRules, chosen: dict[str, Choice]
) -> dict[tuple[str, float], Spec]:
    """Give the size for each whereabouts and thickness."""
    thicknesses = sorted({p.dressed_mm for p in planking.planks.planks if p.dressed_mm > 0})
    moulded = sorted(m.moulded_mm for m in planking.hull.marks if m.moulded_mm is not None)
    depth = moulded[len(moulded) // 2] if moulded else None
    return {
        (where, thick): spec_for(choice, thick, depth, rules)
        for where, choice in chosen.items()
        for thick in thicknesses
    }


def _rows(
    planking: Planking,
    rules: FasteningRules,
    chosen: dict[str, Choice],
    specs: dict[tuple[str, float], Spec],
) -> Iterator[Row]:
    place = {name: k for k, name in enumerate(planking.lining.columns)}
    sided = {mark.name: mark.sided_mm for mark in planking.hull.marks}
    for plank in planking.planks.planks:
        for crossing in planking.crossings(plank):
            where = WHERE[crossing.kind]
            spec = specs.get((where, plank.dressed_mm))
            count = _count(crossing, place[crossing.at], rules)
            diameter = (spec.diameter_mm if spec else None) or 0.0
            found, room = spots(
                crossing.width_mm, count, where, sided.get(crossing.at), diameter, rules
            )
            along = tuple(round(spot.along_mm, 2) for spot in found)
            up = tuple(round(spot.up_mm, 2) for spot in found)
            width = crossing.width_mm
            yield Row(plank.name, crossing.at, where, width, count, along, up, room)


def _count(crossing: Crossing, place: int, rules: FasteningRules) -> int:
    at = partial(how_many, rules.set, crossing.width_mm)
    match crossing.kind:
        case "frame":
            return at(place)
        case "butt":
            return max(at(0), rules.butt_least)
        case "block":
            return max(rules.block_rows * at(0), rules.block_least)
        case _:
            return at(0) + rules.hood_extra


def _lines(
    planking: Planking,
    rules: FasteningRules,
    chosen: dict[str, Choice],
    specs: dict[tuple[str, float], Spec],
    rows: tuple[Row, ...],
) -> Iterator[Line]:
    """Add up by fastening and size, so that boxes are shared by all the places it goes to."""
    thick = {p.name: p.dressed_mm for p in planking.planks.planks}
    counts: dict[tuple[Choice, Spec], dict[str, int]] = {}
    for row in sorted(rows, key=lambda row: list(WHERE.values()).index(row.where)):
        spec = specs.get((row.where, thick[row.plank]))
        if spec is not None:
            places = counts.setdefault((chosen[row.where], spec), {})
            places[row.where] = places.get(row.where, 0) + row.count
    for (choice, spec), places in counts.items():
        yield _line(choice, ", ".join(places), spec, sum(places.values()), rules)


def _line(choice: Choice, where: str, spec: Spec, count: int, rules: FasteningRules) -> Line:
    to_buy = math.ceil(round(count * (1 + rules.spares_part), 6))
    boxes = math.ceil(to_buy / choice.per_box) if choice.per_box else None
    price = boxes * choice.price if boxes is not None and choice.price is not None else None
    hours = count * choice.seconds / 3600 if choice.seconds is not None else None
    return Line(choice.item or choice.kind, where, spec, count, to_buy, boxes, price, hours)


def _life(choice: Choice, rules: FasteningRules, rows: tuple[Row, ...]) -> Life:
    """Fasten the whole planking with one choice, and again whenever its years are up."""
    count = sum(row.count for row in rows if choice.where in {"", row.where})
    to_buy = math.ceil(round(count * (1 + rules.spares_part), 6))
    boxes = math.ceil(to_buy / choice.per_box) if choice.per_box else None
    cost = boxes * choice.price if boxes is not None and choice.price is not None else None
    hours = count * choice.seconds / 3600 if choice.seconds is not None else None
    again = math.ceil(rules.life_years / choice.years) - 1 if choice.years else 0
    whole = None if cost is None else (1 + again) * (cost + (hours or 0.0) * rules.hour_cost)
    spent = None if hours is None else (1 + again) * hours
    return Life(choice.item or choice.kind, rules.life_years, cost, hours, again, whole, spent)
