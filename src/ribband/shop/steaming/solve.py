"""Steaming worked out: need, minutes, hot time, box and boiler.

A plank wants steam where its flat shape's grade says so, where nothing published lets it be bent
cold, or where it is twisted more than the rules allow cold; a thicker plank is strained the more
by the same bend and twist. Time is the longer of the yard's rule and heat-through. No limit of
bending has been read for any species: none is made up, and the planks it concerns are named.

Not reckoned: how well a species takes steam, grain, knots, and the wood's own spring back.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from importlib.resources import files

import numpy as np

from ribband.errors import InputError, Problem
from ribband.findings import Finding, Severity
from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape
from ribband.shop.planking import Planking
from ribband.shop.steaming.boxes import box_wanted, fit_box
from ribband.shop.steaming.heat import cooling_seconds, diffusivity, heat_capacity, heating_seconds
from ribband.shop.steaming.model import (
    Binds,
    Box,
    SteamedPlank,
    Steaming,
    YardBox,
    YardRule,
)
from ribband.shop.steaming.rules import SteamingRules
from ribband.units import INCH

__all__ = ["look_over_steaming", "steam", "yard_rules"]

WATER_KJ = 2257.0  # to boil a kilogram
BOARD_WALL = 0.12  # W/(m K), a softwood wall, by the conductivity formula at 12 %
STILL_AIR = 8.0  # W/(m2 K) outside the box
CAUTION = (
    "steam: vent the box and never seal it; gloves, face clear of the door; water in the boiler "
    "watched; a hot plank moves fast, agree the words first; follow local rules"
)


@cache
def yard_rules() -> dict[str, YardRule]:
    """Give the yards' rules of steaming time, by name.

    >>> yard_rules()["hour an inch"].minutes_per_inch
    60.0
    """
    text = files("ribband").joinpath("data", "steaming.csv").read_text("utf-8")
    return {
        row["rule"]: YardRule(
            row["rule"], float(row["minutes_per_inch"]), row["says"], row["source"]
        )
        for row in csv.DictReader(text.splitlines())
    }


def steam(
    planking: Planking,
    rules: SteamingRules = SteamingRules(),  # noqa: B008 - frozen
    boxes: Sequence[YardBox] = (),
) -> Steaming:
    """Work out the steaming of every plank of the list; `boxes` are those the yard has.

    Raises
    ------
    InputError : no such yard's rule, or temperatures that do not follow each other
    """
    look_over_steaming(rules)
    yard = _yard(rules)
    gravity = _gravity(planking, rules)
    spread = diffusivity(gravity, rules.moisture_percent)
    planks = tuple(_plank(planking, p, rules, yard, gravity) for p in planking.planks.planks)
    box = _box(planking, planks, rules)
    fits = tuple(fit_box(b, [p for p in planks if p.needed], rules) for b in boxes)
    made = Steaming(planks, yard, spread, box, (), fits)
    return replace(made, findings=tuple(_findings(made, planking, rules, gravity)))


def look_over_steaming(rules: SteamingRules) -> None:
    """Look whether the rules mean something.

    Raises
    ------
    InputError : no such yard's rule, or temperatures that do not follow each other
    """
    _yard(rules)
    if not rules.air_c < rules.workable_c < rules.hot_c < rules.steam_c:
        found = f"{rules.air_c:g}, {rules.workable_c:g}, {rules.hot_c:g}, {rules.steam_c:g}"
        wanted = "air, workable, hot and steam each hotter than the one before"
        raise InputError([Problem("rules", 0, "steaming", found, wanted, "15, 80, 95, 100")])


def _yard(rules: SteamingRules) -> YardRule:
    if rules.minutes_per_inch:
        said = f"{rules.minutes_per_inch:g} minutes an inch, the yard's own"
        return YardRule("the yard's own", rules.minutes_per_inch, said, "house")
    known = yard_rules()
    if rules.yard_rule not in known:
        wanted = "one of " + ", ".join(known)
        found = Problem("rules", 0, "steaming.yard_rule", rules.yard_rule, wanted, "hour an inch")
        raise InputError([found])
    return known[rules.yard_rule]


def _gravity(planking: Planking, rules: SteamingRules) -> float | None:
    species = planking.species
    return species.gravity(min(rules.moisture_percent, 30.0)) if species else None


def _plank(
    planking: Planking, plank: Plank, rules: SteamingRules, yard: YardRule, gravity: float | None
) -> SteamedPlank:
    shape = planking.shape(plank)
    thick, wide = plank.dressed_mm, plank.width_max_mm
    needed, why = _need(shape, thick, rules)
    strain = shape.fibre_strain if shape and shape.fibre_strain > 0 else None
    twist = _twist_strain(shape, thick) if shape and thick else None
    times = _times(thick, wide, rules, yard, gravity) if needed and thick > 0 else _Times()
    return SteamedPlank(
        plank.name, needed, why, thick, wide, plank.length_mm, strain, twist,
        times.rule, times.heat, times.longest, times.binds, times.hot,
    )  # fmt: skip


def _need(shape: Shape | None, thick: float, rules: SteamingRules) -> tuple[bool | None, str]:
    """Tell whether a plank wants steam, and why."""
    if shape is None:
        return None, "its bend is not known: only girths were measured"
    if thick <= 0:
        return None, "the dressed thickness is not known"
    twist = _twist_strain(shape, thick)
    twisted = (
        f"twist shears its faces by {100 * twist:.2f} %, cold up to {100 * rules.cold_twist:.2f} %"
    )
    if shape.grade != "cold":
        why = shape.why_grade or "no way of bending is known for it"
        return True, f"bend: {why}" + (f"; {twisted}" if twist > rules.cold_twist else "")
    if twist > rules.cold_twist:
        return True, twisted
    return False, f"hung cold: {shape.why_grade}"


def _twist_strain(shape: Shape, thick: float) -> float:
    """Give the greatest shear of the faces in twisting: twist a length, times the thickness."""
    return float(np.nanmax(np.abs(shape.twist_rad_per_m), initial=0.0)) * thick / 1000.0


class _Times:
    """Minutes by the yard's rule and by heat flow, the longer, which it is, and the hot time."""

    rule: float | None = None
    heat: float | None = None
    longest: float | None = None
    binds: Binds = ""
    hot: float | None = None


def _times(
    thick: float, wide: float, rules: SteamingRules, yard: YardRule, gravity: float | None
) -> _Times:
    found = _Times()
    spread = diffusivity(gravity, rules.moisture_percent)
    found.rule = yard.minutes_per_inch * thick / float(INCH)
    heat = heating_seconds(thick, wide, spread, rules.air_c, rules.steam_c, rules.hot_c)
    found.heat = heat / 60
    found.longest = max(found.rule, found.heat)
    found.binds = "heat flow" if found.heat > found.rule else "the yard's rule"
    hot = cooling_seconds(
        thick, wide, gravity, rules.moisture_percent, rules.hot_c, rules.air_c, rules.workable_c,
        rules.wind_ms,
    )  # fmt: skip
    found.hot = hot / 60 / rules.cooling_margin
    return found


def _box(planking: Planking, planks: tuple[SteamedPlank, ...], rules: SteamingRules) -> Box | None:
    """Size a box for so many of the thickest, widest and longest planks side by side on edge."""
    mine = [p for p in planks if p.needed and p.minutes is not None]
    if not mine:
        return None
    thick, wide, long = (
        max(getattr(p, f"{size}_mm") for p in mine) for size in ("thickness", "width", "length")
    )
    clear, count = rules.clear_mm, rules.at_once
    length, width = long + 2 * rules.end_clear_mm, count * thick + (count + 1) * clear
    height = wide + 2 * clear
    heat = _filling_mj(planking, mine, rules)
    if heat is None:
        return Box(count, length, width, height, None, None, None)
    kw = rules.boiler_margin * (_planks_kw(mine, heat) + _walls_kw(length, width, height, rules))
    water = kw * 60 * max(p.minutes or 0.0 for p in mine) / WATER_KJ
    return Box(count, length, width, height, heat, kw, water)


def _filling_mj(planking: Planking, mine: list[SteamedPlank], rules: SteamingRules) -> float | None:
    """Give the heat one filling of the heaviest planks takes, MJ."""
    weights = {p.name: p.dressed_kg for p in planking.planks.planks}
    kg = sorted((weights[p.plank] or 0.0 for p in mine), reverse=True)[: rules.at_once]
    if not all(kg):
        return None
    middle = 273.15 + (rules.air_c + rules.steam_c) / 2
    kj = heat_capacity(rules.moisture_percent, middle)
    return sum(kg) * kj * (rules.steam_c - rules.air_c) / 1000.0


def _planks_kw(mine: list[SteamedPlank], heat_mj: float) -> float:
    return 1000.0 * heat_mj / 60 / max(p.heat_min or 0.0 for p in mine)


def _walls_kw(length: float, width: float, height: float, rules: SteamingRules) -> float:
    area = 2 * (length * width + length * height + width * height) / 1e6
    through = 1 / (1 / STILL_AIR + rules.wall_mm / 1000.0 / BOARD_WALL)
    return area * through * (rules.steam_c - rules.air_c) / 1000.0


def _findings(
    made: Steaming, planking: Planking, rules: SteamingRules, gravity: float | None
) -> Iterator[Finding]:
    if not planking.planks.planks:
        return
    if all(p.needed is None for p in made.planks):
        yield _said("W001", Severity.CAUTION, "steaming", made.planks[0].why)
        return
    if not made.steamed:
        says = "no plank asks for steam by the rules; offer each up before trusting that"
        yield _said("W002", Severity.NOTE, "steaming", says)
        return
    yield _said("W003", Severity.CAUTION, "the steam box", CAUTION, "steam-box-pages")
    yield from _of_planks(made, planking, rules)
    yield from _of_boxes(made, rules)
    yield from _of_wood(made, rules, gravity)


def _of_planks(made: Steaming, planking: Planking, rules: SteamingRules) -> Iterator[Finding]:
    slow = [p.plank for p in made.steamed if p.binds == "heat flow"]
    if slow:
        says = f"{_list(slow)}: the yard's rule is too short to heat them through; heat flow binds"
        yield _said("W004", Severity.CAUTION, "steaming", says, "wood-handbook-2010-ch20")
    hard = [p for p in made.steamed if (p.strain or 0.0) > rules.strap_strain]
    if hard:
        says = (
            f"{_list([p.plank for p in hard])}: outer fibres strained over "
            f"{100 * rules.strap_strain:g} %: a strap, or two thinner layers; try a piece first"
        )
        yield _said("W005", Severity.CAUTION, "steaming", says, "memory")
    unsure = [p.plank for p in made.steamed if not _grade(planking, p.plank)]
    if unsure:
        says = f"{_list(unsure)}: no limit of steamed wood has been read: bend a trial piece first"
        yield _said("W006", Severity.CAUTION, "steaming", says)
    hot = min((p.hot_min for p in made.steamed if p.hot_min is not None), default=None)
    if hot is not None:
        says = (
            f"the shortest hot time is about {hot:.0f} min at {rules.air_c:g} C and "
            f"{rules.wind_ms:g} m/s of wind: an estimate, to be timed on the first plank"
        )
        yield _said("W007", Severity.CAUTION, "steaming", says, "house")


def _of_boxes(made: Steaming, rules: SteamingRules) -> Iterator[Finding]:
    if made.in_no_box:
        stuck = [p for p in made.steamed if p.plank in made.in_no_box]
        long, wide, high = box_wanted(stuck, rules)
        rows = ", ".join(f"row {fit.box.row}" for fit in made.boxes)
        says = (
            f"{_list([p.plank for p in stuck])}: too long, wide or thick for any box there is "
            f"(form gear, {rows}), with steam all round: a box of {long:.0f} mm by "
            f"{wide:.0f} mm by {high:.0f} mm inside, or more, takes each, or an end at a time, "
            "which is to be tried first. The plan of work has them steamed all the same"
        )
        yield _said("W011", Severity.CAUTION, "the steam box", says, "house")


def _of_wood(made: Steaming, rules: SteamingRules, gravity: float | None) -> Iterator[Finding]:
    severe = any((p.strain or 0.0) > rules.hard_strain for p in made.steamed)
    wanted = rules.hard_moisture if severe else rules.mild_moisture
    if rules.moisture_percent < wanted:
        says = (
            f"planks are taken to be at {rules.moisture_percent:g} % by the rule "
            "steaming.moisture_percent (the boards as tallied are not looked at), dry for these "
            f"bends: {wanted:g} % is wanted; "
            "over-dried stock never becomes as supple again"
        )
        yield _said("W008", Severity.CAUTION, "steaming", says, "wengert-moisture")
    if gravity is None:
        says = "the timber's weight is not known: heat flow is by the fit to five other timbers"
        yield _said("W009", Severity.NOTE, "steaming", says, "wood-handbook-2010-ch20")
    if made.box is not None:
        says = f"the box: {made.box.at_once} at once; sizes and boiler are estimates with margin"
        yield _said("W010", Severity.NOTE, "the steam box", says, "house")


def _grade(planking: Planking, name: str) -> str:
    plank = next(p for p in planking.planks.planks if p.name == name)
    shape = planking.shape(plank)
    return shape.grade if shape else ""


def _list(names: list[str], most: int = 6) -> str:
    shown = ", ".join(names[:most])
    return f"planks {shown}" + (f" and {len(names) - most} more" if len(names) > most else "")


def _said(code: str, severity: Severity, where: str, says: str, source: str = "") -> Finding:
    return Finding(code, severity, "shop", where, says, source=source)
