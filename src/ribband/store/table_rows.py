"""Filling the open tables from the stages' results.

Each function gives the rows of one table as plain values in the order of its columns; None is a
cell that is not known. Numbers are as computed, in millimetres and so on, rounded only in the
file. Not checked here: the results; the tables carry the findings beside them.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ribband.store.table_record import (
    filled_kept,
    filled_old,
    filled_photos,
    filled_record,
    filled_repair,
)
from ribband.store.table_shop import filled_shop, order_of_shop, steam_of
from ribband.store.table_timber import board_of_planks, filled_timber
from ribband.store.table_work import filled_work

if TYPE_CHECKING:  # only their shapes are needed here, and the stages are heavy to load
    from ribband.butts.model import Butt, Layout, Ways
    from ribband.findings import Finding
    from ribband.hull.model import Hull
    from ribband.lining.model import Lining
    from ribband.planks.model import PlankList
    from ribband.planks.shape_model import Shape, Shapes
    from ribband.record import Left, OldNew, Photo, Present, Record, Repair
    from ribband.shop.hanging.model import Hanging
    from ribband.shop.whole import Shop
    from ribband.shop.work.whole import Worked
    from ribband.survey.model import OldWidth, Survey
    from ribband.timber.buying import Bought
    from ribband.timber.laid import Laid
    from ribband.timber.pile import Pile

__all__ = ["Known", "filled"]

Values = tuple[Any, ...]
TO_DO = "to be got out"


@dataclass(frozen=True, slots=True)
class Known:
    """What there is to write; None for what has not been made.

    `side` is what one side's results stand for: "both" where mirrored. `other` is starboard's own
    layout of butts, where it is not port's mirrored, and `starboard` its flat shapes then.
    `present` is the planking as it stands; lining, ways and layouts are those first planned.
    """

    survey: Survey | None = None
    hull: Hull | None = None
    lining: Lining | None = None
    ways: Ways | None = None
    layout: Layout | None = None
    other: Layout | None = None
    planks: PlankList | None = None
    shapes: Shapes | None = None
    starboard: Shapes | None = None
    pile: Pile | None = None
    laid: Laid | None = None
    bought: Bought | None = None
    shop: Shop | None = None
    hanging: Hanging | None = None
    worked: Worked | None = None
    left: Left | None = None
    repair: Repair | None = None
    record: Record | None = None
    present: Present | None = None
    photos: tuple[Photo, ...] = ()
    old: tuple[OldNew, ...] = ()
    picture_files: Mapping[str, str] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    side: str = "both"


def filled(known: Known) -> dict[str, list[Values]]:
    """Give the rows of every table that can be filled from what is known.

    >>> list(filled(Known()))
    ['findings']
    """
    tables: dict[str, list[Values]] = {}
    if known.hull is not None:
        tables["frames"] = list(_frames(known.hull))
    tables |= _lined(known)
    by_plank = {} if known.planks is None else _shape_of(known)
    if known.planks is not None:
        board_of = board_of_planks(known.laid, known.bought)
        steam = steam_of(known.shop)
        states = known.left.states if known.left else None
        tables["planks"] = list(_planks(known.planks, by_plank, board_of, steam, states))
        if by_plank:
            tables["shapes"] = list(_outlines(by_plank))
            tables["spiling"] = list(_spiling(by_plank))
    told = known.survey.particulars if known.survey else None
    tables |= filled_timber(
        *(known.pile, known.laid, known.bought),
        *((told.species, told.unit) if told else ("", "mm")),
    )
    tables |= filled_shop(known.shop)
    tables |= filled_work(known.hanging, known.worked)
    tables |= filled_record(known.left, by_plank)
    tables |= filled_repair(known.repair) | filled_kept(known.record) | filled_old(known.old)
    tables |= filled_photos(known.photos, known.picture_files)
    if lines := order_of_shop(known.shop):
        tables["order"] = [*tables.get("order", []), *lines]
    tables["findings"] = [
        (f.code, str(f.severity), f.stage, f.where, f.says, f.source) for f in known.findings
    ]
    return tables


def _lined(known: Known) -> dict[str, list[Values]]:
    """Give seams, strakes and butts as they stand; once a side was divided anew, as planned too."""
    if known.lining is None:
        return {}
    tables = _as_planned(known, known.lining)
    anew = known.present.anew if known.present else {}
    if not anew or known.present is None or known.planks is None:
        return tables
    first = {f"planned_{name}": rows for name, rows in tables.items()}
    old = known.survey.old_widths if known.survey else ()
    now: dict[str, list[Values]] = {name: [] for name in tables}
    for side in dict.fromkeys(plank.side for plank in known.planks.planks):
        lining = anew.get(side, known.lining)
        now["strake_edges"] += _edges(lining, side, old)
        now["strakes"] += _strakes(lining, side, _planks_of(known.planks, side))
        if known.ways is not None and known.layout is not None:
            planned = known.other if known.other and side == "starboard" else known.layout
            ways, layout = known.present.laid.get(side, (known.ways, planned))
            now["butts"] += _butts(ways, layout, side, {b for b in planned.butts if b.fixed})
    return now | first


def _as_planned(known: Known, lining: Lining) -> dict[str, list[Values]]:
    """Give seams, strakes and butts as first planned."""
    old = known.survey.old_widths if known.survey else ()
    tables = {
        "strake_edges": list(_edges(lining, known.side, old)),
        "strakes": list(_strakes(lining, known.side, _planks_a_side(known.planks))),
    }
    if known.ways is not None and known.layout is not None:
        tables["butts"] = list(_both_sides_butts(known.ways, known.layout, known))
    return tables


def _frames(hull: Hull) -> Iterator[Values]:
    own = hull.frames
    yield from zip(
        own.names, map(float, own.x_mm), map(float, own.girth_mm), own.basis, strict=True
    )


def _edges(lining: Lining, side: str, old: Sequence[OldWidth]) -> Iterator[Values]:
    recorded = _recorded(old)
    for s, strake in enumerate(lining.strakes):
        for c, column in enumerate(lining.columns):
            lower = float(lining.lower_girth_mm[s, c])
            upper = float(lining.upper_girth_mm[s, c])
            if math.isfinite(lower) and math.isfinite(upper):
                yield (
                    *(side, strake.name, column, lower, upper),
                    *_place(lining.lower_xyz, s, c),
                    *_place(lining.upper_xyz, s, c),
                    recorded.get((strake.name, column)),
                )


def _place(xyz: Any, s: int, c: int) -> Values:
    return (None, None, None) if xyz is None else tuple(map(float, xyz[s, c]))


def _recorded(old: Sequence[OldWidth]) -> dict[tuple[str, str], float]:
    """Give the mean of the widths recorded for a strake at a frame, the sides taken together."""
    widths: dict[tuple[str, str], list[float]] = {}
    for one in old:
        widths.setdefault((one.strake, one.frame), []).append(one.width_mm)
    return {at: sum(these) / len(these) for at, these in widths.items()}


def _strakes(lining: Lining, side: str, counts: Mapping[str, int]) -> Iterator[Values]:
    for strake, widths in zip(lining.strakes, lining.full_width_mm, strict=True):
        known = [float(width) for width in widths if math.isfinite(width)]
        yield (
            *(side, strake.name, strake.called, strake.first, strake.last, strake.stealer),
            max(known, default=None),
            min(known, default=None),
            counts.get(strake.name),
        )


def _planks_a_side(planks: PlankList | None) -> dict[str, int]:
    """Count the planks of each strake on the side that has most of them."""
    if planks is None:
        return {}
    counts: dict[str, int] = {}
    for (strake, _), n in Counter((plank.strake, plank.side) for plank in planks.planks).items():
        counts[strake] = max(n, counts.get(strake, 0))
    return counts


def _planks_of(planks: PlankList, side: str) -> dict[str, int]:
    """Count the planks of each strake on one side."""
    return dict(Counter(plank.strake for plank in planks.planks if plank.side == side))


def _both_sides_butts(ways: Ways, layout: Layout, known: Known) -> Iterator[Values]:
    if known.other is None:
        yield from _butts(ways, layout, known.side)
    else:
        yield from _butts(ways, layout, "port")
        yield from _butts(ways, known.other, "starboard")


def _butts(
    ways: Ways, layout: Layout, side: str, fixed: Collection[Butt] | None = None
) -> Iterator[Values]:
    """Give a side's butts; `fixed` are those the shipwright fixed, if not told by their own mark.

    After a re-lining a butt is marked fixed too where a plank hangs.
    """
    places = None if fixed is None else {(butt.strake, butt.landing) for butt in fixed}
    for butt in layout.butts:
        frame, block = divmod(butt.landing, 2)
        landing = "block" if block else "frame"
        held = butt.fixed if places is None else (butt.strake, butt.landing) in places
        yield (side, ways.strakes[butt.strake], ways.frames[frame], landing, held)


def _shape_of(known: Known) -> dict[str, Shape]:
    """Give every plank its flat shape; both sides share one where they are mirrored."""
    if known.planks is None or known.shapes is None:
        return {}
    port = {shape.name: shape for shape in known.shapes.shapes}
    own = known.starboard or known.shapes
    starboard = {shape.name: shape for shape in own.shapes}
    found = {}
    for plank in known.planks.planks:
        shapes = starboard if plank.side == "starboard" else port
        shape = shapes.get(f"{plank.strake}-{plank.number}")
        if shape is not None:
            found[plank.name] = shape
    return found


def _planks(
    planks: PlankList,
    shapes: Mapping[str, Shape],
    board_of: Mapping[str, str],
    steam: Mapping[str, float | None],
    states: Mapping[str, str] | None,
) -> Iterator[Values]:
    for p in planks.planks:
        shape = shapes.get(p.name)
        blank = (shape.blank_length_mm, shape.blank_width_mm, shape.sweep_mm) if shape else ()
        yield (
            *(p.name, p.side, p.strake, p.fore, p.aft),
            *(p.length_mm, p.width_max_mm, p.width_min_mm, p.dressed_mm, p.rough_mm),
            *(blank or (None, None, None)),
            *(p.area_m2, p.dressed_kg, steam.get(p.name), board_of.get(p.name)),
            None if states is None else states.get(p.name, TO_DO),
        )


def _outlines(shapes: Mapping[str, Shape]) -> Iterator[Values]:
    """Give the outlines, each edge from where the one before it ends."""
    for name, shape in shapes.items():
        edges = {
            "lower": shape.lower,
            "aft": shape.aft,
            "upper": shape.upper[::-1],
            "fore": shape.fore[::-1],
        }
        for edge, points in edges.items():
            for n, (x, y) in enumerate(points.tolist(), 1):
                yield (name, edge, n, x, y)


def _spiling(shapes: Mapping[str, Shape]) -> Iterator[Values]:
    for name, s in shapes.items():
        yield from zip(
            *([name] * len(s.frames), s.frames, s.along_mm.tolist()),
            *(s.lower_mm.tolist(), s.upper_mm.tolist()),
            *map(_degrees, (s.lower_bevel_rad, s.upper_bevel_rad)),
            *(s.hollow_mm.tolist(), _degrees(s.twist_rad_per_m), s.bend_radius_mm.tolist()),
            *_near(s),
            *map(_degrees, (s.lower_fit_rad, s.upper_fit_rad)),
            strict=True,
        )


def _near(s: Shape) -> tuple[Sequence[float | None], ...]:
    """Give what edges and bevels are likely to be within at each frame; None where not known."""
    if s.within is None:
        nothing: list[float | None] = [None] * len(s.frames)
        return (nothing,) * 4
    w = s.within
    bevels = (_degrees(w.lower_bevel_rad), _degrees(w.upper_bevel_rad))
    known = [[x if math.isfinite(x) else None for x in column] for column in bevels]
    return w.lower_mm.tolist(), w.upper_mm.tolist(), *known


def _degrees(angles: Any) -> list[float]:
    return [math.degrees(angle) for angle in angles.tolist()]
