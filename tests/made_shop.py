"""Plankings for the shop's tests: made hulls, planked by formula, with their flat shapes."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from made_hulls import barrel, launch, tape
from made_planking import even_lining, stepped_layout, ways_of
from ribband.hull.model import Hull
from ribband.planks import PlankRules, ShapeRules, get_shapes, list_planks
from ribband.shop.planking import Planking
from ribband.survey.model import FrameMark
from ribband.timber import species_named


def thick(hull: Hull, mm: float, sided: float | None = 90.0) -> Hull:
    """The same hull planked so thick, its frames so wide."""
    particulars = replace(hull.particulars, planking_mm=mm, rough_mm=mm + 9.5)
    frames = zip(hull.frames.names, hull.frames.x_mm.tolist(), strict=True)
    marks = tuple(FrameMark(name, x, sided, 110.0) for name, x in frames)
    return replace(hull, particulars=particulars, marks=marks)


def planked(hull: Hull, strakes: int, timber: str = "Douglas-fir, coast", **how) -> Planking:
    """Plank a hull with even strakes and stepped butts."""
    lining = even_lining(hull, strakes)
    ways = ways_of(hull, lining)
    layout = stepped_layout(ways, **how)
    species = species_named(timber)
    planks = list_planks(hull, lining, ways, layout, PlankRules(), species)
    shapes = get_shapes(hull, lining, ways, layout, ShapeRules()) if hull.in_space else None
    return Planking(hull, lining, planks, shapes, None, species)


@cache
def boat(mm: float = 38.0, blocks: bool = True) -> Planking:
    """A launch of 17 m, sixteen strakes a side."""
    return planked(thick(launch(), mm), 16, blocks=blocks)


@cache
def drum(blocks: bool = True) -> Planking:
    """A barrel of 1 m radius: every width the same and known."""
    return planked(thick(barrel(radius=1000.0, length=12000.0, frames=25), 38.0), 8, blocks=blocks)


@cache
def taped() -> Planking:
    """A hull known by girths alone."""
    return planked(thick(tape(), 25.4), 10)
