"""What is said of the flat shapes.

Where a plank should be narrower, steamed or got out of wider stuff, and the usual cautions.
Not checked: the shapes themselves.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.model import Hull
from ribband.planks.shape_model import Shape
from ribband.planks.shape_rules import ShapeRules
from ribband.units import format_length, format_small

__all__ = ["cautions"]

_HAIR_MM = 0.05  # of thickness, less than a plane takes off


def cautions(shapes: Iterable[Shape], hull: Hull, rules: ShapeRules) -> Iterator[Finding]:
    """Say what deserves a look before timber is cut."""
    shapes = tuple(shapes)
    unit = hull.particulars.unit
    rough = rules.rough_mm or hull.particulars.rough_mm or 0.0
    for shape in shapes:
        yield from _of_form(shape, unit, rules)
        yield from _of_stuff(shape, unit, rules, rough)
    yield from _of_bending(shapes)
    yield from _of_length(shapes, hull, rules)
    yield from _of_scarfs(shapes, hull, rules)
    if not (rules.dressed_mm or hull.particulars.planking_mm):
        says = "the dressed thickness is not known: no round, fibre strain or way of bending"
        yield _said("P027", Severity.NOTE, "whole side", says)


def _said(code: str, severity: Severity, where: str, says: str, source: str = "") -> Finding:
    return Finding(code, severity, "planks", where, says, source=source)


def _of_form(shape: Shape, unit: str, rules: ShapeRules) -> Iterator[Finding]:
    if shape.strain > rules.least_strain:
        part = float(np.sqrt(rules.least_strain / shape.strain))
        says = (
            f"{100 * shape.strain:.2f} % of strain is left in its plane at {shape.strain_at}: make "
            f"it narrower (to about {part:.0%} of its width) or steam it longer"
        )
        yield _said("P022", Severity.CAUTION, f"plank {shape.name}", says)
    hollow = float(np.abs(shape.hollow_mm).max(initial=0.0))
    if hollow > rules.greatest_hollow_mm:
        says = f"must be hollowed {format_length(hollow, unit)}: a narrower plank needs less"
        yield _said("P023", Severity.CAUTION, f"plank {shape.name}", says)
    outside = _outside(shape)
    if outside is not None:
        says = (
            f"its batten leaves the plank from frame {outside[0]} to {outside[1]}; the figures hold"
        )
        yield _said("P024", Severity.NOTE, f"plank {shape.name}", says)


def _outside(shape: Shape) -> tuple[str, str] | None:
    """Give the first and last frame at which the batten lies beside the plank."""
    off = np.flatnonzero((shape.lower_mm > 0) | (shape.upper_mm < 0))
    return (shape.frames[off[0]], shape.frames[off[-1]]) if len(off) else None


def _of_stuff(shape: Shape, unit: str, rules: ShapeRules, rough: float) -> Iterator[Finding]:
    where = f"plank {shape.name}"
    short = shape.thickness_mm - rough
    if rough and short > _HAIR_MM:
        lack, have = format_small(short, unit), format_length(rough, unit)
        says = f"its hollow and round need {lack} more than the rough stuff, {have}"
        yield _said("P025", Severity.CAUTION, where, says)
    if shape.runout_rad > rules.greatest_runout_rad:
        says = (
            f"grain runs out at {np.degrees(shape.runout_rad):.0f} degrees in a straight board: "
            f"look for a board with a sweep of {format_length(shape.sweep_mm, unit)}"
        )
        yield _said("P026", Severity.CAUTION, where, says)
    if rules.board_mm and shape.blank_width_mm > rules.board_mm:
        need = format_length(shape.blank_width_mm, unit)
        says = f"needs a blank {need} wide; spring it edgeways, shorten it, or scarf it"
        yield _said("P028", Severity.CAUTION, where, says)


def _of_bending(shapes: tuple[Shape, ...]) -> Iterator[Finding]:
    steamed = [s.name for s in shapes if s.grade.startswith("steam")]
    sharp = {"", "split or laminate"}
    unsure = [s.name for s in shapes if s.grade in sharp and s.fibre_strain > 0]
    if steamed:
        says = (
            f"{_list(steamed)}: steam. Vent the box and never seal it; wear gloves, keep the face "
            "clear of the door; follow local rules and those who know the work"
        )
        yield _said("P029", Severity.CAUTION, "steaming", says, source="steam-box-pages")
    for shape in shapes:
        if shape.name in unsure:
            yield _said("P030", Severity.CAUTION, f"plank {shape.name}", shape.why_grade, "wengert")


def _of_length(shapes: tuple[Shape, ...], hull: Hull, rules: ShapeRules) -> Iterator[Finding]:
    """Say how much longer planks are at half their thickness, if figures are of another face."""
    dressed = rules.dressed_mm or hull.particulars.planking_mm or 0.0
    longest = max(shapes, key=_turn, default=None)
    if longest is None or rules.neutral_part >= 0.5 or not dressed:
        return
    more = (0.5 - rules.neutral_part) * dressed * _turn(longest)
    if more > 1.0:
        says = (
            "lengths are of the face on the frames; a plank keeps its length nearer its middle: "
            f"leave {format_length(more, hull.particulars.unit)} more on the ends until fitted"
        )
        yield _said("P031", Severity.NOTE, f"plank {longest.name}", says)


def _of_scarfs(shapes: tuple[Shape, ...], hull: Hull, rules: ShapeRules) -> Iterator[Finding]:
    """Say how long scarfs are, and that the butts' lengths are without them."""
    if rules.join != "scarf":
        return
    scarf = max((max(s.fore_scarf_mm, s.aft_scarf_mm) for s in shapes), default=0.0)
    if not scarf:
        says = "scarfs are asked for, but the dressed thickness is not known: planks are butted"
        yield _said("P032", Severity.CAUTION, "scarfs", says)
        return
    long = format_length(scarf, hull.particulars.unit)
    nib = max(s.nib_mm for s in shapes)
    ends = f", nibbed {format_length(nib, hull.particulars.unit)} thick at both ends" if nib else ""
    says = (
        f"scarfs are {long}, {rules.scarf_slope:g} times the thickness{ends}: a plank is half of "
        "that longer at each joined end than the butts have it, so look for stock so much longer. "
        "The fore plank's tip lies outside. Glue and fastening are for the surveyor or the rules "
        "she is under"
    )
    yield _said("P032", Severity.NOTE, "scarfs", says, "choptank-scarf")


def _turn(shape: Shape) -> float:
    """Give the angle a plank bends through from frame to frame."""
    if len(shape.along_mm) < 2:
        return 0.0
    return float(np.trapezoid(1 / shape.bend_radius_mm, shape.along_mm))


def _list(names: list[str], most: int = 6) -> str:
    shown = ", ".join(names[:most])
    return f"planks {shown}" + (f" and {len(names) - most} more" if len(names) > most else "")
