"""The plank list: strakes cut at their butts, measured, named and added up.

A plank is the stretch of a strake between two *cuts*: its hood ends or nib, and the butts. Its
length runs along the strake's middle, its widths are square across it at every frame and cut, and
its area is that of the hull between its seams, by facets; where only girths are known, the width
summed along the middle, straight from one frame to the next. Areas are of the face on the frames,
where the hull was measured; the outer face of a round hull is larger.

Volumes are exact: area by thickness, no rounding to whole board feet and no tally. The rough
volume has the allowances of the rules on edges and ends.

*Scarf*: both planks run on over the whole of it and each is planed from its whole thickness to
nothing, so that together they are one thickness. What is sawn out has it whole on both; what hangs
has it once, each plank by its taper.

Not checked here: whether a plank's flat shape fits a board of its width (its sweep is not in
these widths), and the rules of butts.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import NamedTuple

import numpy as np

from ribband.butts.model import Layout, Ways
from ribband.errors import InputError, Problem
from ribband.findings import Finding, Severity
from ribband.hull.model import Floats, Hull
from ribband.lining.model import Lining, Strake
from ribband.planks.model import LengthClass, Plank, PlankList, Timber, Total
from ribband.planks.opening import Opening, openings
from ribband.planks.rules import PlankRules
from ribband.sources import source
from ribband.units import (
    BOARD_FEET_PER_M3,
    format_length,
    format_volume,
    format_weight,
    imperial,
    in_unit,
)

__all__ = ["length_class", "list_planks", "only_these", "thicknesses"]

FEET_STEP_MM, METRIC_STEP_MM = 609.6, 500.0
HAIR_MM = 0.01  # rounding of a lining whose edges meet in a point
Areas = dict[tuple[int, int], tuple[float, float]]  # by strake's row and plank: face, taper, mm2
ONE_PERSON_KG = 23.0  # the load constant of the NIOSH lifting equation


class Cut(NamedTuple):
    """Where planks end: distance along the strake, the name there, and what they land on.

    `scarf_mm` is by how much the two planks overlap there.
    """

    along_mm: float
    at: str
    landing: str
    scarf_mm: float = 0.0


class Run(NamedTuple):
    """A strake of one side: distance along its middle (n,), increasing, and width (n,)."""

    side: str
    strake: str
    along_mm: Floats
    width_mm: Floats


@dataclass(frozen=True, slots=True)
class Stuff:
    """What every plank is got out of: thicknesses, allowances and density (kg/m3 or None)."""

    dressed_mm: float
    rough_mm: float
    edge_mm: float
    end_mm: float
    density: float | None


def list_planks(  # noqa: PLR0917 - the stage's inputs, in the order of the work
    hull: Hull,
    lining: Lining,
    ways: Ways,
    layout: Layout,
    rules: PlankRules | None = None,
    species: Timber | None = None,
    other: Layout | None = None,
    scarf_mm: float = 0.0,
    opened: tuple[Opening | None, Opening | None] = (None, None),
) -> PlankList:
    """List every plank of the vessel, from port garboard to starboard sheer, from forward.

    Parameters
    ----------
    layout : butts of both sides, or of port where `other` gives those of starboard
    species : None where the timber is not known; weights are then not known
    scarf_mm : by how much planks of a strake overlap where they are joined (`scarf_of`)
    opened : the openings of port and starboard, where they are known already

    Raises
    ------
    InputError : a strake of the butts is not one of the lining
    """
    rules = rules or PlankRules()
    stuff = _stuff(hull, rules, species)

    def areas_of(its: Layout, opening: Opening | None) -> Areas:
        if hull.surface is None:
            return {}
        return _areas(opening or openings(hull, lining, ways, its, scarf_mm=scarf_mm))

    port = areas_of(layout, opened[0])
    starboard = port if other is None else areas_of(other, opened[1])
    areas = {"port": port, "starboard": starboard}
    planks = tuple(
        plank
        for side, its in _sides(rules, layout, other)
        for plank in _of_side(side, lining, ways, its, stuff, areas[side], scarf_mm)
    )
    made = only_these(planks, rules, hull.particulars.unit)
    return replace(made, findings=tuple(_findings(made, hull, rules, stuff, species)))


def only_these(planks: Iterable[Plank], rules: PlankRules, unit: str) -> PlankList:
    """Add planks up: of a whole vessel, or only those that are renewed."""
    planks = tuple(planks)
    return PlankList(
        planks=planks,
        totals=(_total("the vessel", planks),),
        by_side=_by("side", planks),
        by_strake=_by("strake", planks),
        by_length=_by_length(planks, rules, unit),
    )


def thicknesses(hull: Hull, rules: PlankRules) -> tuple[float, float]:
    """Give dressed and rough thickness, mm: the rule's, else the vessel form's; 0 = not known."""
    dressed = rules.dressed_mm or hull.particulars.planking_mm
    rough = rules.rough_mm or hull.particulars.rough_mm
    if not rough and dressed:
        rough = dressed + rules.rough_over_mm
    return dressed, rough


def length_class(length_mm: float, step_mm: float) -> LengthClass:
    """Give the class a length falls in; a length on a boundary is in the class below.

    >>> length_class(3700.0, 600.0)
    LengthClass(over_mm=3600.0, to_mm=4200.0)
    >>> length_class(3600.0, 600.0).to_mm
    3600.0
    """
    steps = max(1, int(np.ceil(length_mm / step_mm - 1e-9)))
    return LengthClass((steps - 1) * step_mm, steps * step_mm)


def _stuff(hull: Hull, rules: PlankRules, species: Timber | None) -> Stuff:
    density = species.density(rules.moisture_percent) if species else None
    edge, end = rules.edge_allowance_mm, rules.end_allowance_mm
    return Stuff(*thicknesses(hull, rules), edge, end, density)


def _sides(rules: PlankRules, layout: Layout, other: Layout | None) -> list[tuple[str, Layout]]:
    both = [("port", layout), ("starboard", other or layout)]
    return [pair for pair in both if rules.sides in {"both", pair[0]}]


def _of_side(  # noqa: PLR0917 - one side's part of the stage's inputs
    side: str,
    lining: Lining,
    ways: Ways,
    layout: Layout,
    stuff: Stuff,
    areas: Areas,
    scarf_mm: float,
) -> Iterator[Plank]:
    rows = {strake.name: row for row, strake in enumerate(lining.strakes)}
    if missing := [name for name in ways.strakes if name not in rows]:
        wanted = "a strake of the lining out"
        raise InputError([Problem("butts", 0, "strake", name, wanted) for name in missing])
    for place, name in enumerate(ways.strakes):
        row = rows[name]
        run = _run(side, lining, row)
        cuts = _cuts(lining.strakes[row], ways, layout, place, scarf_mm)
        for number, (fore, aft) in enumerate(pairwise(cuts), start=1):
            yield _plank(run, number, fore, aft, stuff, areas.get((row, number)))


def _cuts(strake: Strake, ways: Ways, layout: Layout, place: int, scarf_mm: float) -> list[Cut]:
    """Give the ends of a strake and its joints, from forward."""
    butts = sorted((b for b in layout.butts if b.strake == place), key=lambda b: b.landing)
    inner = [
        Cut(
            float(ways.along_mm[place, butt.landing]),
            ways.frames[butt.landing // 2],
            "block" if butt.landing % 2 else "frame",
            0.0 if butt.joint == "butt" else scarf_mm,
        )
        for butt in butts
    ]
    fore = Cut(0.0, strake.first, _end_landing(strake, strake.first))
    aft = Cut(float(ways.length_mm[place]), strake.last, _end_landing(strake, strake.last))
    return [fore, *inner, aft]


def _end_landing(strake: Strake, at: str) -> str:
    if at in {"stem", "stern"}:
        return "hood"
    return "nib" if strake.stealer and strake.nib == at else "frame"


def _run(side: str, lining: Lining, row: int) -> Run:
    # where the stem cuts a corner off, the width left is no measure of the plank
    along, width = lining.along_mm[row], lining.full_width_mm[row]
    known = np.isfinite(along) & np.isfinite(width)
    order = np.argsort(along[known], kind="stable")
    return Run(side, lining.strakes[row].name, along[known][order], width[known][order])


def _areas(opening: Opening) -> Areas:
    """Give the area of every plank on the hull, by facets.

    A facet is flat and the hull round: each is spread by the ratio of arc to chord, both ways.
    """
    p, n = opening.xyz, opening.normal
    across = np.cross(p[:, 1:, 1:] - p[:, :-1, :-1], p[:, 1:, :-1] - p[:, :-1, 1:])
    facets = np.linalg.norm(across, axis=-1) / 2
    facets *= _arc_on_chord(n[:, 1:, :-1], n[:, :-1, :-1])
    facets *= _arc_on_chord(n[:, :-1, 1:], n[:, :-1, :-1])
    strips = facets.sum(axis=2)
    along = opening.along_mm
    scarfs = np.array([(piece.fore.scarf_mm, piece.aft.scarf_mm) for piece in opening.piece])
    from_fore, from_aft = along - along[:, :1], along[:, -1:] - along
    off = np.abs(np.diff(_taken(from_fore, scarfs[:, :1]), axis=1))
    off += np.abs(np.diff(_taken(from_aft, scarfs[:, 1:]), axis=1))
    taper = np.sum(strips * off / np.diff(along, axis=1), axis=1)
    names = ((piece.strake, piece.number) for piece in opening.piece)
    both = zip(strips.sum(axis=1).tolist(), taper.tolist(), strict=True)
    return dict(zip(names, both, strict=True))


def _taken(from_end: Floats, scarf_mm: Floats) -> Floats:
    """Give how much length a scarf's taper has taken off between the plank's end and here, mm.

    At the end it takes off the whole thickness, at its other end nothing; 0 for no scarf.
    """
    inside = np.minimum(from_end, scarf_mm)
    return np.asarray(inside - inside**2 / np.maximum(2.0 * scarf_mm, HAIR_MM), float)


def _arc_on_chord(normal: Floats, beside: Floats) -> Floats:
    """Give the length of an arc over its chord's, from the normals at its ends, (...,)."""
    half = np.arcsin(np.clip(np.linalg.norm(normal - beside, axis=-1) / 2, 0.0, 0.5))
    return np.asarray(1.0 + half**2 / 6.0)


def _plank(  # noqa: PLR0917 - all that makes a plank
    run: Run, number: int, fore: Cut, aft: Cut, stuff: Stuff, on_hull: tuple[float, float] | None
) -> Plank:
    start, end = fore.along_mm - fore.scarf_mm / 2, aft.along_mm + aft.scarf_mm / 2
    along, width = _stretch(run, start, end)
    length = end - start
    area, taper = on_hull or _by_widths(along, width, fore.scarf_mm, aft.scarf_mm)
    dressed = (area - taper) * stuff.dressed_mm / 1e9
    rough = _rough_area(area, length, float(width[0]), float(width[-1]), stuff) * stuff.rough_mm
    rough /= 1e9
    return Plank(
        name=f"{run.side[0].upper()}{run.strake}-{number}",
        side=run.side,
        strake=run.strake,
        number=number,
        fore=fore.at,
        fore_landing=fore.landing,
        aft=aft.at,
        aft_landing=aft.landing,
        length_mm=length,
        width_max_mm=float(width.max()),
        width_min_mm=_least(width),
        area_m2=area / 1e6,
        dressed_mm=stuff.dressed_mm,
        rough_mm=stuff.rough_mm,
        dressed_kg=_weight(dressed, stuff),
        rough_kg=_weight(rough, stuff),
        dressed_board_feet=dressed * BOARD_FEET_PER_M3,
        rough_board_feet=rough * BOARD_FEET_PER_M3,
        fore_scarf_mm=fore.scarf_mm,
        aft_scarf_mm=aft.scarf_mm,
        taper_m2=taper / 1e6,
    )


def _by_widths(along: Floats, width: Floats, fore_mm: float, aft_mm: float) -> tuple[float, float]:
    """Give a plank's area and what its scarfs take off by their taper, mm2, from its widths."""
    middle = (width[1:] + width[:-1]) / 2
    off = np.abs(np.diff(_taken(along - along[0], np.array(fore_mm))))
    off += np.abs(np.diff(_taken(along[-1] - along, np.array(aft_mm))))
    return float(np.trapezoid(width, along)), float(middle @ off)


def _least(width: Floats) -> float:
    """Give the least width; a hood end in a point is nothing wide, not a hair less."""
    least = float(width.min())
    return 0.0 if -HAIR_MM < least < 0 else least


def _stretch(run: Run, start: float, end: float) -> tuple[Floats, Floats]:
    """Cut a run to a stretch; widths at the cuts lie on the line between their neighbours."""
    inside = (run.along_mm > start) & (run.along_mm < end)
    at = np.concatenate([[start], run.along_mm[inside], [end]])
    return at, np.interp(at, run.along_mm, run.width_mm)


def _rough_area(area: float, length: float, fore: float, aft: float, stuff: Stuff) -> float:
    """Give the area with the allowances on, mm2: a strip on each edge and at each end."""
    edges = 2 * stuff.edge_mm * length
    ends = stuff.end_mm * (fore + aft + 4 * stuff.edge_mm)
    return area + edges + ends


def _weight(m3: float, stuff: Stuff) -> float | None:
    return m3 * stuff.density if stuff.density and stuff.dressed_mm else None


def _by(field: str, planks: tuple[Plank, ...]) -> tuple[Total, ...]:
    groups: dict[str, list[Plank]] = {}
    for plank in planks:
        groups.setdefault(getattr(plank, field), []).append(plank)
    return tuple(_total(of, group) for of, group in groups.items())


def _by_length(planks: tuple[Plank, ...], rules: PlankRules, unit: str) -> tuple[Total, ...]:
    step = rules.class_step_mm or (FEET_STEP_MM if imperial(unit) else METRIC_STEP_MM)
    groups: dict[LengthClass, list[Plank]] = {}
    for plank in planks:
        groups.setdefault(length_class(plank.length_mm, step), []).append(plank)
    return tuple(
        _total(f"over {format_length(c.over_mm, unit)} to {format_length(c.to_mm, unit)}", group)
        for c, group in sorted(groups.items(), key=lambda pair: pair[0].over_mm)
    )


def _total(of: str, planks: Iterable[Plank]) -> Total:
    planks = list(planks)
    weights = [p.rough_kg for p in planks if p.rough_kg is not None]
    feet = sum(p.rough_board_feet for p in planks)
    return Total(
        of=of,
        planks=len(planks),
        length_mm=sum(p.length_mm for p in planks),
        area_m2=sum(p.covers_m2 for p in planks),
        rough_board_feet=feet,
        rough_m3=feet / BOARD_FEET_PER_M3,
        rough_kg=sum(weights) if weights and len(weights) == len(planks) else None,
    )


def _findings(
    made: PlankList, hull: Hull, rules: PlankRules, stuff: Stuff, species: Timber | None
) -> Iterator[Finding]:
    unit = hull.particulars.unit
    if not stuff.dressed_mm:
        yield _finding("P001", Severity.CAUTION, "the planking has no thickness: no volumes")
        return
    if not hull.in_space:
        yield _short_lengths()
    yield _to_buy(made.totals[0], rules, unit)
    yield _weighed(rules, stuff, species, unit)
    if scarf := max((p.aft_scarf_mm for p in made.planks), default=0.0):
        yield _scarfed(scarf, unit)
    if heavy := _heaviest(made.planks):
        yield _heavy_lift(heavy, unit)


def _short_lengths() -> Finding:
    """Warn that girths alone do not tell how far the hull bends between frames."""
    says = (
        "only girths are known: lengths are along the strakes on the flat expansion, frames set "
        "out by their positions. The hull bends, so planks are longer than this, most of all "
        "towards the ends"
    )
    why = "take each length off the hull with a batten before a board is bought or cut"
    return _finding("P006", Severity.CAUTION, says, why)


def _to_buy(total: Total, rules: PlankRules, unit: str) -> Finding:
    bought = _about(total.rough_m3 / rules.yield_part, unit)
    says = (
        f"{format_volume(total.rough_m3, unit)} of rough planks; at the usual yield of "
        f"{rules.yield_part:.0%} about {bought} of boards to buy"
    )
    why = "a rule of thumb; where an order is worked out, buy by the order"
    return _finding("P003", Severity.NOTE, says, why, "common-practice")


def _about(m3: float, unit: str) -> str:
    """Write a volume that is only guessed to two figures.

    >>> _about(3.7748, "ft"), _about(3.7748, "mm")
    ('1600 board feet', '3.8 m³')
    """
    if imperial(unit):
        return f"{float(f'{m3 * BOARD_FEET_PER_M3:.2g}'):.0f} board feet"
    return f"{float(f'{m3:.2g}'):g} m³"


def _scarfed(scarf_mm: float, unit: str) -> Finding:
    says = (
        f"planks of a strake are joined by scarfs of {format_length(scarf_mm, unit)}: at a joint "
        "both planks are half of that longer than their landings are apart, and are so listed. "
        "Rough stuff has a scarf on both planks, as it is sawn; dressed weights have it once, each "
        "plank by its taper"
    )
    return _finding("P007", Severity.NOTE, says, "choose stock by these lengths")


def _weighed(rules: PlankRules, stuff: Stuff, species: Timber | None, unit: str) -> Finding:
    if species is None:
        return _finding(
            "P002",
            Severity.CAUTION,
            "no known species is named: no weights",
            "name it on the form vessel; one we do not know, on timbers too",
        )
    if stuff.density is None:
        says = f"the density of {species.name} is not known: no weights"
        return _finding("P002", Severity.CAUTION, says, "weigh a sample: form timbers")
    says = (
        f"weighed as {species.name} at {rules.moisture_percent:g} % moisture, "
        f"{in_unit(f'{stuff.density:.0f} kg/m³', unit)}; an average, single planks vary by a fifth"
    )
    mark = source(species.weight_source).mark
    severity = Severity.CAUTION if mark == "from memory" else Severity.NOTE
    why = "" if mark == "read" else f"the specific gravity is {mark}"
    return _finding("P005", severity, says, why, species.weight_source)


def _heaviest(planks: tuple[Plank, ...]) -> Plank | None:
    heavy = max(planks, key=lambda p: p.rough_kg or 0.0, default=None)
    return heavy if heavy and (heavy.rough_kg or 0.0) > ONE_PERSON_KG else None


def _heavy_lift(plank: Plank, unit: str) -> Finding:
    """Warn of the heaviest plank; lifting hurts people, so it is said beside the weights."""
    most = format_weight(ONE_PERSON_KG, unit)
    says = (
        f"the heaviest plank, {plank.name}, weighs about "
        f"{format_weight(plank.rough_kg or 0.0, unit)} rough: plan the lift; "
        f"{most} is the most for one person in the best posture, mostly much less"
    )
    why = "local safety rules come first"
    return _finding("P004", Severity.CAUTION, says, why, "niosh-94-110")


def _finding(code: str, severity: Severity, says: str, why: str = "", source: str = "") -> Finding:
    return Finding(code, severity, "planks", "the plank list", says, why, source)
