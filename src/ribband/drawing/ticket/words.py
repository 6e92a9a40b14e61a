"""What a ticket says of timber, hanging and care, in words, with the mark of each figure.

Marks as in the planking book: ‡ from memory, § common practice, † read second-hand, ¶ house, * the
yard's own.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ribband.drawing.bench import (
    Bench,
    caulking_bevel,
    degrees,
    leans_out,
    marked_minus,
    outside_mm,
)
from ribband.drawing.book.words import bare, joined, length, mark
from ribband.drawing.ticket.facts import Facts
from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape
from ribband.units import (
    INCH,
    UNITS,
    format_length,
    format_small,
    format_weight,
    imperial,
    rounded_up,
)

__all__ = ["LIFT_KG", "Pair", "cautions", "diagonals", "hanging", "steam", "timber", "within"]

STRAIGHT_MM = 1e6
POINT_MM = 1.0  # an end no wider runs out to a point
LIFT_KG = 23.0  # the load constant of the lifting equation, niosh-94-110
_LEAST_MM = {False: 0.05, True: float(INCH) / 32}  # of a hollow, what is printed as more than 0
_LIFT_SAID = {False: "23 kg", True: "51 lb"}  # as printed there


@dataclass(frozen=True, slots=True)
class Pair:
    """A label and what is said of it; `loud` where it must not be missed."""

    label: str
    says: str
    loud: bool = False


def timber(shape: Shape, plank: Plank, bench: Bench, facts: Facts) -> tuple[Pair, ...]:
    """Say what the plank is got out of."""
    unit = bench.unit
    blank = f"{length(shape.blank_length_mm, unit)} × {length(shape.blank_width_mm, unit)}"
    thin = 0.0 < plank.rough_mm < shape.thickness_mm - 0.05
    least = rounded_up(shape.thickness_mm, unit)  # as on the milling list and the label
    needed = f"{length(least, unit)}, to hollow inside and round outside"
    if thin:
        needed += f": the rough stuff is only {length(plank.rough_mm, unit)}"
    out = f"{length(shape.sweep_mm, unit)}, grain runs out {degrees(shape.runout_rad)}"
    stuff = f"{_thick(plank.rough_mm, unit)} rough, {_thick(plank.dressed_mm, unit)} dressed"
    return (
        Pair("least blank", f"{blank}, no trim on it"),
        Pair("sweep", out),
        Pair("thickness", stuff),
        Pair("needs", needed, thin),
        Pair("timber", _stuff(facts)),
        Pair("weight", _weight(plank, unit, facts), (_rough(plank, facts) or 0.0) > LIFT_KG),
        Pair("ends", _ends(shape, unit)),
        *(Pair("scarfs", said) for said in _scarfs(shape, unit)),
        Pair("fit", _fit(shape, unit)),
    )


def _stuff(facts: Facts) -> str:
    board = f"board {facts.board}" if facts.board else "no board yet: ________"
    mate = f"; {facts.mate}" if facts.mate else ""
    return f"{facts.species or 'not named'}, {board}{mate}"


def _ends(shape: Shape, unit: str) -> str:
    """Say how both ends are cut: how far the top lies off square across the plank there."""
    ends = [(end, shape.upper[at] - shape.lower[at]) for end, at in (("fore", 0), ("aft", -1))]
    said = [f"{end}, {_off_square(float(way[0]), float(way[1]), unit)}" for end, way in ends]
    return "; ".join(said)


def _off_square(along: float, wide: float, unit: str) -> str:
    """Say how far an end's top lies forward or aft of square to the batten.

    >>> _off_square(12.7, 152.4, "ft-in-8ths"), _off_square(0.1, 200.0, "mm")
    ('top 1/2 in aft of square', 'square')
    """
    off = _at_bench(abs(along), unit)
    if wide < POINT_MM:
        return "a point"
    way = "aft" if along > 0 else "forward"
    return "square" if off == _at_bench(0.0, unit) else f"top {off} {way} of square"


def diagonals(shape: Shape, unit: str) -> str:
    """Give both lengths from corner to corner, that a board was struck right by the figures."""
    down, up = (
        length(float(np.hypot(*(a - b))), unit)
        for a, b in ((shape.upper[0], shape.lower[-1]), (shape.lower[0], shape.upper[-1]))
    )
    return f"check, corner to corner: {down} falling aft, {up} rising aft"


def _at_bench(mm: float, unit: str) -> str:
    """Write a short length as a rule reads it: inches and sixteenths where the job is in feet."""
    return f"{bare(mm, 'in')} in" if imperial(unit) else length(mm, unit)


def _scarfs(shape: Shape, unit: str) -> tuple[str, ...]:
    """Say how long the scarfs are and which face is cut away; nothing where there are none."""
    ends = (("fore", shape.fore_scarf_mm, "outer"), ("aft", shape.aft_scarf_mm, "inner"))
    said = [f"{end} {length(mm, unit)} off the {face} face" for end, mm, face in ends if mm]
    nib = f", nibs {length(shape.nib_mm, unit)} thick" if shape.nib_mm else ""
    return ("; ".join(said) + nib + ", in the lengths here",) if said else ()


def _thick(mm: float, unit: str) -> str:
    return length(mm, unit) if mm else "not given"


def _rough(plank: Plank, facts: Facts) -> float | None:
    """Give what a plank weighs as it leaves the pile: of its board, where it is laid on one."""
    return plank.rough_kg if facts.rough_kg is None else facts.rough_kg


def _weight(plank: Plank, unit: str, facts: Facts) -> str:
    heavy = _rough(plank, facts)
    if heavy is None or plank.dressed_kg is None:
        return "not known: weigh it"
    at = f" at {facts.moisture_percent:g} %" if facts.moisture_percent is not None else ""
    rough, dressed = format_weight(heavy, unit), format_weight(plank.dressed_kg, unit)
    own = " as its board is" if facts.board and heavy != plank.rough_kg else ""
    return f"{rough} rough{own}, {dressed} dressed{at} {mark(facts.weight_source)}".rstrip()


def _fit(shape: Shape, unit: str) -> str:
    said = [_edge_set(shape, unit)]
    if shape.strain >= 5e-5:
        at = f" at {shape.strain_at}" if shape.strain_at else ""
        said.append(f"strain left {100 * shape.strain:.2f} %{at}")
    if shape.seam_error_mm >= 0.05:
        error = max(shape.seam_error_mm, 0.254 if imperial(unit) else 0.1)  # the least printed
        said.append(f"seams close within {format_small(error, unit)} as reckoned")
    return "; ".join(said)


def within(shape: Shape, unit: str) -> str:
    """Say how near edges and bevels are likely to be, by how the survey's readings scatter."""
    near = shape.within
    if near is None:
        return "not known: too few readings, or lined out anew"
    least = float(UNITS[unit].mm * UNITS[unit].step) / 2  # no nearer than the figures are printed
    said = f"edges {format_small(max(near.edges_mm, least), unit)}"
    if np.isfinite(near.bevels_rad):
        said += f", bevels {degrees(near.bevels_rad)}"
    return f"{said}, 95 in 100{_farthest(shape)}"


def _farthest(shape: Shape) -> str:
    """Say where a bevel is the least sure, if it is much less so than most."""
    near = shape.within
    if near is None or not len(shape.frames):
        return ""
    both = np.nan_to_num(np.stack([near.lower_bevel_rad, near.upper_bevel_rad]))
    row, at = np.unravel_index(both.argmax(), both.shape)
    if both[row, at] < 1.5 * np.nan_to_num(near.bevels_rad) or both[row, at] == 0:
        return ""
    edge = ("lower", "upper")[row]
    return f"; the {edge} bevel at frame {shape.frames[at]}: {degrees(both[row, at])}"


def _edge_set(shape: Shape, unit: str) -> str:
    """Say how far it must be sprung edgeways if the board has not its sweep."""
    said = f"edge set {length(shape.edge_set_mm, unit)} if got out straight"
    if shape.edge_set_mm < 1.0:
        return said
    return f"{said} (strain {100 * shape.edge_strain:.2f} %), less the board's sweep"


def hanging(shape: Shape, bench: Bench, facts: Facts, plank: Plank) -> tuple[Pair, ...]:
    """Say how the plank is bent and what it lies against."""
    near = facts.beside
    ends = [f"{name} {way}" for name, way in ((near.fore, "forward"), (near.aft, "aft")) if name]
    return (
        Pair("grade", _grade(shape, facts)),
        Pair("bend", _bend(shape, bench.unit)),
        Pair("twist", _twist(shape, bench.unit)),
        Pair("steam", steam(shape, plank, facts)),
        Pair("above", ", ".join(near.above) or _edge(near.below, "the sheer: no plank")),
        Pair(
            "below",
            ", ".join(near.below) or _edge(near.above, "the rabbet: no plank; fit the edge there"),
        ),
        Pair("ends on", joined(ends) or _edge((*near.above, *near.below), "no other plank")),
        Pair("order", facts.order or "not planned yet"),
        *(Pair("scarfed to", said) for said in facts.cut_backs),
        *((Pair("fastened", facts.fastenings),) if facts.fastenings else ()),
        *((Pair("lift", facts.hands, facts.not_by_hand),) if facts.hands else ()),
    )


def _edge(others: tuple[str, ...], says: str) -> str:
    """Say what a plank without a neighbour lies against; if none at all is known, nothing is."""
    return says if others else "none given"


def _grade(shape: Shape, facts: Facts) -> str:
    if shape.grade == "cold" and facts.steam_min:
        why = facts.steam_why or "the steaming asks for it"
        return f"steam: {why}; its bend alone is cold: {shape.why_grade}{_strain(shape)}"
    if not shape.grade:
        return "not graded: " + (shape.why_grade or "no limits are known for this timber")
    if shape.why_grade in {"", shape.grade}:
        return shape.grade
    return f"{shape.grade}: {shape.why_grade}{_strain(shape)}"


def _strain(shape: Shape) -> str:
    return f"; strain at most {100 * shape.fibre_strain:.2f} %" if shape.fibre_strain > 0 else ""


def _bend(shape: Shape, unit: str) -> str:
    if not len(shape.frames):
        return "no frame crossed"
    tight = _at_least(np.abs(shape.bend_radius_mm))
    radius = float(abs(shape.bend_radius_mm[tight]))
    if radius > STRAIGHT_MM:
        return "straight"
    return f"radius {length(radius, unit)} at frame {shape.frames[tight]}, its middle"


def _twist(shape: Shape, unit: str) -> str:
    if not len(shape.frames):
        return "no frame crossed"
    most = _at_least(-np.abs(shape.twist_rad_per_m))
    per, word = (0.3048, "ft") if imperial(unit) else (1.0, "m")
    twist = degrees(abs(float(shape.twist_rad_per_m[most])) * per)
    return "none" if twist == "0.0°" else f"{twist} per {word} at frame {shape.frames[most]}"


def _at_least(values: np.ndarray) -> int:
    return int(np.argmin(np.where(np.isnan(values), np.inf, values)))


def steam(shape: Shape, plank: Plank, facts: Facts) -> str:
    """Say how long in the box, or what the common rule would give.

    The rule of an hour to the inch is common practice, not a calculation.
    """
    if facts.steam_min == 0:
        return "none: hung cold"
    if facts.steam_min is not None:
        return f"{_hours(facts.steam_min)} {mark(facts.steam_source)}".rstrip() + _hot(facts)
    if shape.grade == "cold":
        return "none asked for by its grade"
    if not plank.dressed_mm:
        return "not computed yet; an hour to the inch of thickness §"
    rule = _hours(60.0 * plank.dressed_mm / float(INCH))
    return f"not computed yet; an hour to the inch gives {rule} §"


def _hot(facts: Facts) -> str:
    """Say how long it is hot, and what must be done in that time."""
    if not facts.hot_min:
        return ""
    takes = f", about {facts.bend_min:.0f} min by the rules of handling" if facts.bend_min else ""
    return (
        f"; hot about {facts.hot_min:.0f} min, an estimate ¶: carried, bent and clamped in that "
        f"time{takes}; fitted cold before, fastened after"
    )


def _hours(minutes: float) -> str:
    hours, rest = divmod(5 * round(minutes / 5), 60)
    return f"{hours} h {rest:02d} min" if hours else f"{rest} min"


def cautions(shape: Shape, plank: Plank, bench: Bench, facts: Facts) -> tuple[str, ...]:
    """Give the cautions that belong to this plank; local codes come before them all."""
    weighs = _rough(plank, facts)
    heavy = weighs is None or weighs > LIFT_KG or facts.not_by_hand
    said = [_lift(plank, bench.unit, facts)] if heavy else []
    if facts.steam_min or shape.grade not in {"cold", ""}:
        said.append(
            "Steam box vented, never sealed; gloves, face clear of its door; a hot plank moves "
            "fast: agree the words first. §"
        )
    if facts.bend_min and facts.hot_min and facts.bend_min > facts.hot_min:
        said.append(
            f"Cold before it is bent on: about {facts.bend_min:.0f} min from the box's door until "
            f"it is clamped, hot about {facts.hot_min:.0f}. More hands, the box nearer, or steam "
            "on the hull; a plank forced cold splits or springs back. ¶"
        )
    said += _of_cutting(shape, plank, bench)
    said.append(
        "Planks bind on the saw: guard and riving knife on, both ends held. Draw dust off, wear a "
        "mask: some timbers are sensitisers. §"
    )
    said.append(
        "Offer the plank up before the last cut: the hull is right, the paper is not. Local codes "
        "and the surveyor come first."
    )
    return tuple(said)


def _of_cutting(shape: Shape, plank: Plank, bench: Bench) -> Iterator[str]:
    """Say what is easily cut wrong: edges that lean out, the caulking bevel, a round inner face."""
    if leans_out(shape, plank, bench.unit):
        reach = format_length(outside_mm(shape, plank), bench.unit)
        much = f", up to {reach}" if plank.dressed_mm else ""
        yield (
            f"Bevel marked −: the outer face is the wider. Leave wood on outside the outline of "
            f"the inner face first{much}; then cut square; then plane in to that outline."
        )
    elif marked_minus(shape):
        yield (
            "Bevel marked −: the outer face is the wider by a hair. Cut outside the line, and "
            "plane to it on the inner face."
        )
    if opens := caulking_bevel(shape, plank, bench.unit):
        yield opens
    if np.nanmin([*shape.hollow_mm, 0.0]) < -_LEAST_MM[imperial(bench.unit)]:
        yield "Where the hollow is marked −, the inner face is rounded, not hollowed."


def _lift(plank: Plank, unit: str, facts: Facts) -> str:
    limit = _LIFT_SAID[imperial(unit)]
    for_whom = "not to be lifted by hand" if facts.not_by_hand else "no lift for one"
    heavy = _rough(plank, facts)
    weighs = (
        "Weight not known." if heavy is None else f"{format_weight(heavy, unit)} rough: {for_whom}."
    )
    return (
        f"{weighs} NIOSH starts from {limit} for one in the best posture, mostly much less: "
        "tackle, stands and people."
    )
