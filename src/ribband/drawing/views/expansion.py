"""The planking expansion: one side laid flat, with frames, seams, butts and plank names.

Frames stand upright, girths are laid up from the rabbet, the bow lies to the right on the
starboard side (seen from outboard) and to the left on the port side. Where the paper allows,
girths are drawn to a larger scale than lengths; the title block states both. A butt is the stroke
across its strake: with a dot where it stands on a frame, with an open square where it stands on
a block in the bay. What is not shown: the flat shape of a plank (its sweep); see the spiling.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ribband.butts.model import Butt, Layout
from ribband.drawing import scales
from ribband.drawing.board import Board, Setting, titled
from ribband.drawing.labels import spread
from ribband.drawing.layout import Air, Drawing, Sign, fitted, lay_on, room_on
from ribband.drawing.lettering import width_mm
from ribband.drawing.sheet import (
    Box,
    Curve,
    Dimension,
    Fill,
    Item,
    Mark,
    Point,
    Polyline,
    Sheet,
    Text,
)
from ribband.drawing.views.flat import Band, Flat, bands, laid_flat
from ribband.hull.model import Floats, Hull
from ribband.lining.model import Lining
from ribband.planks.model import PlankList
from ribband.units import format_bare

__all__ = ["expansion"]

_LEAST_HEIGHT = 1.8  # mm, of a capital
_STEPS = 24  # of a washed plank along its length
_MOST_STRETCH = 3.0
_NAME_GAP = 3.1  # mm, from one strake's name to the next
_NAME_ROOM = 14.0  # mm, how far the column of names may reach beyond the planking


@dataclass(frozen=True, slots=True)
class _Work:
    """What every part of the drawing looks at."""

    hull: Hull
    lining: Lining
    flat: Flat
    bands: tuple[Band, ...]
    board: Board
    unit: str


def expansion(
    hull: Hull,
    lining: Lining,
    layout: Layout | None = None,
    planks: PlankList | None = None,
    *,
    setting: Setting = Setting(),  # noqa: B008 - frozen
    rule_words: Sequence[str] = (),
    tints: Mapping[str, str] | None = None,
    meanings: Mapping[str, str] | None = None,
) -> tuple[Sheet, ...]:
    """Draw the planking expansion.

    Parameters
    ----------
    layout : the butts; None draws seams only
    planks : for the planks' names; without it they are named side, strake, number from forward
    rule_words : the butt rules in force, a sentence each, printed with the notes
    tints, meanings : colours that planks are washed in, by their names; what a colour means

    Returns
    -------
    One sheet, or several that overlap where the scale asked for is larger than the paper.
    """
    unit = hull.particulars.unit
    flat = laid_flat(hull, -1 if setting.side == "starboard" else 1)
    notes = (*_notes(hull, lining, layout), *rule_words)
    signs, tinted = tuple(_signs(hull, lining, layout)), tuple(_tint_signs(meanings or {}))
    room = room_on(setting.page, (*notes, *_omitted(99, 99)), (*signs, *tinted))
    air = _air(lining, flat)
    scale = fitted(flat.box, air, room, unit, setting.scale)
    up = _girth_scale(flat.box, room, scale, unit, setting)
    work = _Work(hull, lining, flat, bands(flat, lining), Board(scale, up), unit)
    named, figured = _draw(work, layout, planks, setting.side)
    _wash(work, layout, planks, setting.side, tints or {})
    drawing = Drawing(
        "expansion",
        tuple(work.board.items),
        flat.box,
        air,
        (*notes, *_omitted(named, figured)),
        (*_used(signs, work.board.items), *tinted),
    )
    side = f"{setting.side}, seen from outboard"
    title = titled(hull, "Planking expansion", setting, side)
    return lay_on(
        drawing, setting.page, title, scale,
        scale_up=up, unit=unit, overlap_mm=setting.overlap_mm,
    )  # fmt: skip


def _draw(
    work: _Work, layout: Layout | None, planks: PlankList | None, side: str
) -> tuple[int, int]:
    """Draw everything; returns how many plank names and width figures found no room."""
    _frames(work)
    _edges(work)
    _hood_ends(work)
    _strake_names(work)
    butts = layout.butts if layout else ()
    for butt in butts:
        _butt(work, butt)
    for a, b in _tight(work, butts):
        _distance(work, a, b)
    figures = sum(not drawn for drawn in _width_figures(work))
    names = _plank_names(work, butts, planks, side) if layout else ()
    return sum(not drawn for drawn in names), figures


def _air(lining: Lining, flat: Flat) -> Air:
    """Keep room for the strakes' names: numbers at the stem, numbers and names aft."""
    aft = max(width_mm(f"{s.called}  {s.name}", 2.0) for s in lining.strakes) + 8.0
    fore = max(width_mm(s.name, 2.0) for s in lining.strakes) + 8.0
    open_fore, open_aft = (5.0 * (end is None) for end in (flat.stem, flat.stern))
    left, right = (aft + open_aft, fore + open_fore)
    if flat.aft > 0:
        left, right = right, left
    return Air(left, 11.0, right, 10.0)


def _girth_scale(box: Box, room: Box, scale: float, unit: str, setting: Setting) -> float:
    if setting.girth_scale == "same":
        return scale
    if given := scales.wanted(setting.girth_scale):
        return given
    fits = scales.choose(box.height, room.height - 21.0, unit)
    most = scales.choose(1.0, scale * _MOST_STRETCH, unit)  # a standard scale not over the limit
    return max(scale, min(fits, most))


# --- notes and signs --------------------------------------------------------------------------


def _notes(hull: Hull, lining: Lining, layout: Layout | None) -> Iterator[str]:
    yield (
        "Frames stand at their position along the hull and girths are laid up along the frame from "
        "the rabbet: do not scale the length of a plank off this drawing."
    )
    if not hull.in_space:
        yield "Only girths were measured: seams are fair in this expansion, not proved in space."
    if not (hull.has_stem and hull.has_stern):
        yield "Hood ends were not measured: the planking is drawn open beyond the last frame."
    if any(not doubt.decision for doubt in hull.doubts):
        yield f"Doubtful readings left out of this drawing: {_count(hull)}; see the findings."
    if not lining.feasible:
        yield "THIS LINING BREAKS A LIMIT: see the findings before marking a frame from it."
    if layout and not layout.feasible:
        yield "THESE BUTTS BREAK THE RULES: the best attempt, not to be built from."
    yield (
        "Prove every seam with a ribband on the frames before any plank is got out. The vessel's "
        "strength is a matter for her surveyor."
    )


def _count(hull: Hull) -> int:
    return sum(not doubt.decision for doubt in hull.doubts)


def _omitted(names: int, figures: int) -> Iterator[str]:
    if names:
        yield f"Plank names that found no room: {names}; see the plank list."
    if figures:
        yield f"Width figures that found no room: {figures}; see the table of widths."


def _example(hull: Hull) -> str:
    return format_bare(4.125 * 25.4, hull.particulars.unit)


def _signs(hull: Hull, lining: Lining, layout: Layout | None) -> Iterator[Sign]:
    stroke = Polyline("butts", ((0.0, -1.3), (0.0, 1.3)))
    butts = layout.butts if layout else ()
    if any(b.landing % 2 == 0 for b in butts):
        yield Sign((stroke, Mark("butts", (0.0, 0.0), "dot", 1.3)), "butt on a frame")
    if any(b.landing % 2 for b in butts):
        yield Sign((stroke, Mark("blocks", (0.0, 0.0), "square", 1.7)), "butt on a block in a bay")
    if any(b.fixed for b in butts):
        yield Sign((stroke, Mark("fixed butts", (0.0, 0.0), "ring", 2.6)), "butt held where it is")
    figure = Text("widths", (0.0, -0.9), _example(hull), 1.8, "centre")
    way = "square across the strake" if hull.in_space else "along the frame"
    yield Sign((figure,), f"width, {way}")
    if len(butts) > 1:
        line = Polyline("distances", ((-4.0, 0.0), (4.0, 0.0)))
        heads = [
            Polyline("distances", ((s * 2.8, 0.35), (s * 4.0, 0.0), (s * 2.8, -0.35)))
            for s in (-1, 1)
        ]
        yield Sign((line, *heads), "tightest shift (sp = frame spaces)")
    if any(s.stealer for s in lining.strakes):
        yield Sign((Polyline("nibs", ((0.0, -1.3), (0.0, 1.3))),), "nib of a stealer")


def _used(signs: Sequence[Sign], drawn: Sequence[Item]) -> tuple[Sign, ...]:
    """Leave out the signs of what found no room on the drawing: there is nothing they explain."""
    layers = {item.layer for item in drawn}
    return tuple(sign for sign in signs if all(item.layer in layers for item in sign.sample))


# --- frames and edges -------------------------------------------------------------------------


def _frames(work: _Work) -> None:
    flat, board = work.flat, work.board
    over = 2.5 / board.scale_up
    double = {m.name for m in work.hull.marks if m.double}
    tops = flat.rise_mm + flat.girth_mm
    for name, x, low, top in zip(flat.names, flat.x_mm, flat.rise_mm, tops, strict=True):
        layer = "double frames" if name in double else "frames"
        foot = float(low) - (over if flat.on_keel[flat.names.index(name)] else 0.0)
        board.draw(Polyline(layer, ((float(x), foot), (float(x), float(top) + over))))
    for i in sorted(_every(work, flat.names)):
        x, y = board.paper((float(flat.x_mm[i]), float(tops[i])))
        board.place(Text("frame numbers", (0, 0), flat.names[i], 2.0, "centre"), [(x, y + 3.4)])
        if flat.on_keel[i]:
            y = board.paper((0.0, float(flat.rise_mm[i])))[1]
            board.place(Text("frame numbers", (0, 0), flat.names[i], 2.0, "centre"), [(x, y - 5.2)])


def _every(work: _Work, names: Sequence[str]) -> set[int]:
    """Choose the frames that are numbered: all, or every second, fifth or tenth."""
    bay = float(np.median(np.abs(np.diff(work.flat.x_mm)))) * work.board.scale
    widest = max(width_mm(name, 2.0) for name in names) + 1.2
    step = next((n for n in (1, 2, 5) if n * bay >= widest), 10)
    return {i for i in range(len(names)) if (i + 1) % step == 0 or i == 0 or step == 1}


def _edges(work: _Work) -> None:
    flat, board = work.flat, work.board
    board.draw(_spring("rabbet", flat.rabbet))
    board.draw(_spring("sheer", flat.sheer))
    for band in work.bands[:-1]:
        board.draw(_spring("seams", band.upper))
    for row, (strake, band) in enumerate(zip(work.lining.strakes, work.bands, strict=True)):
        if strake.stealer:
            _stealer(work, row, band)
    _open_ends(work)


def _spring(layer: str, edge: Floats) -> Item:
    points = tuple(_pair(p) for p in edge)
    return Curve.through(layer, points) if len(set(points)) > 1 else Polyline(layer, points * 2)


def _stealer(work: _Work, row: int, band: Band) -> None:
    """Draw the squared end of a stealer."""
    nib = work.lining.strakes[row].nib
    if nib in work.flat.names:
        x = float(work.flat.x_mm[work.flat.names.index(nib)])
        low, high = band.edges_at(x)
        work.board.draw(Polyline("nibs", ((x, low), (x, high))))


def _open_ends(work: _Work) -> None:
    """Run the edges on, dashed, where the hood ends were not measured."""
    for band in work.bands:
        for known, fore in ((band.fore_known, True), (band.aft_known, False)):
            if not known:
                edges = (band.lower, band.upper) if band is work.bands[0] else (band.upper,)
                for edge in edges:
                    end = _pair(edge[0 if fore else -1])
                    run = (end, _run_on(work, edge, fore=fore))
                    work.board.draw(Polyline("open ends", run))


def _run_on(work: _Work, edge: Floats, *, fore: bool) -> Point:
    """Give where an edge would be a little beyond its last known point."""
    if len(edge) < 2:
        edge = np.array([edge[0], edge[0] + (1.0, 0.0)])
    (ax, ay), (bx, by) = (edge[0], edge[1]) if fore else (edge[-1], edge[-2])
    on = 5.0 / work.board.scale * work.flat.aft * (-1 if fore else 1)
    return float(ax + on), float(ay + (ay - by) / (ax - bx) * on)


def _hood_ends(work: _Work) -> None:
    for end in (work.flat.stem, work.flat.stern):
        if end is not None:
            work.board.draw(_spring("hood ends", end[:, 1:]))


def _pair(p: Floats | Sequence[float]) -> Point:
    return float(p[0]), float(p[1])


# --- lettering --------------------------------------------------------------------------------


def _strake_names(work: _Work) -> None:
    """Letter the strakes' names in a column beyond either end, with leaders where moved."""
    box = work.flat.box
    for right in (False, True):
        fore = right == (work.flat.aft < 0)
        rows = [i for i, b in enumerate(work.bands) if _reaches(work, b, fore=fore)]
        ends = [_end_middle(work, work.bands[i], fore=fore) for i in rows]
        rows, ends = _lettered(work, rows, ends)
        heights = spread([work.board.paper(p)[1] for p in ends], _NAME_GAP)
        beyond = [box.right if right else box.left, *(x for x, _ in ends)]
        edge = work.board.paper((max(beyond) if right else min(beyond), 0.0))[0]
        for i, end, y in zip(rows, ends, heights, strict=True):
            _strake_name(work, i, end, (edge + (6.0 if right else -6.0), y), fore=fore)


def _lettered(
    work: _Work, rows: Sequence[int], ends: Sequence[Point]
) -> tuple[list[int], list[Point]]:
    """Leave off strakes' names where all would reach far beyond the planking.

    The three lowest, the sheer strake and every second, fifth or tenth of the others stay.
    """
    most = int((work.flat.box.height * work.board.scale_up + _NAME_ROOM) / _NAME_GAP)
    step = next((n for n in (1, 2, 5) if len(rows) <= n * max(most - 3, 1)), 10)
    last = len(work.bands) - 1
    kept = [k for k, i in enumerate(rows) if (i + 1) % step == 0 or i < 3 or i == last]
    return [rows[k] for k in kept], [ends[k] for k in kept]


def _reaches(work: _Work, band: Band, *, fore: bool) -> bool:
    last = len(work.lining.columns) - 1
    return band.columns[0] <= 1 if fore else band.columns[-1] >= last - 1


def _end_middle(work: _Work, band: Band, *, fore: bool) -> Point:
    if band.fore_known if fore else band.aft_known:
        k = 0 if fore else -1
        return _pair((band.lower[k] + band.upper[k]) / 2)
    low, high = (_run_on(work, edge, fore=fore) for edge in (band.lower, band.upper))
    return (low[0] + high[0]) / 2, (low[1] + high[1]) / 2


def _strake_name(work: _Work, row: int, end: Point, at: Point, *, fore: bool) -> None:
    right = fore == (work.flat.aft < 0)
    strake, board = work.lining.strakes[row], work.board
    says = f"{strake.called}  {strake.name}" if strake.called and not fore else strake.name
    if right and strake.called and not fore:
        says = f"{strake.name}  {strake.called}"
    side = 1.0 if right else -1.0
    x, y = at
    px, py = board.paper(end)
    elbow = (x - side * 2.0, y)
    board.draw(
        Polyline(
            "leaders", tuple(map(board.full, ((px + side * 0.8, py), elbow, (x - side * 0.6, y))))
        )
    )
    board.letter(
        Text("strake names", board.full(at), says, 2.0, "left" if right else "right", "middle")
    )


def _landing_x(flat: Flat, landing: int) -> float:
    i, bay = divmod(landing, 2)
    return float(flat.x_mm[i] if not bay else (flat.x_mm[i] + flat.x_mm[i + 1]) / 2)


def _butt(work: _Work, butt: Butt) -> None:
    band, board = work.bands[butt.strake], work.board
    x = _landing_x(work.flat, butt.landing)
    low, high = band.edges_at(x)
    board.draw(Polyline("butts", ((x, low), (x, high))))
    at = (x, (low + high) / 2)
    if butt.landing % 2:
        board.mark(Mark("blocks", at, "square", 1.7))
    else:
        board.mark(Mark("butts", at, "dot", 1.3))
    if butt.fixed:
        board.mark(Mark("fixed butts", at, "ring", 2.6))
    px, py = board.paper(at)
    half = (high - low) / 2 * board.scale_up
    board.labels.take(Box(px - 0.4, py - half, px + 0.4, py + half))


def _tight(work: _Work, butts: Sequence[Butt]) -> list[tuple[Butt, Butt]]:
    """Give the pairs in adjacent strakes that stand nearest, at most eight, least shift first."""
    by_row: dict[int, list[Butt]] = {}
    for butt in butts:
        by_row.setdefault(butt.strake, []).append(butt)
    pairs = [(a, b) for row, mine in by_row.items() for a in mine for b in by_row.get(row + 1, ())]
    if not pairs:
        return []
    shift = {pair: abs(pair[0].landing - pair[1].landing) for pair in pairs}
    least = min(shift.values())
    return sorted((p for p in pairs if shift[p] <= least), key=lambda p: (p[0].strake, p[0]))[:8]


def _distance(work: _Work, a: Butt, b: Butt) -> None:
    """Draw the shift of two butts along the seam between their strakes."""
    board, band = work.board, work.bands[a.strake]
    xa, xb = _landing_x(work.flat, a.landing), _landing_x(work.flat, b.landing)
    spaces = abs(a.landing - b.landing) / 2
    says = f"{spaces:g} sp, {format_bare(abs(xa - xb), work.unit)}"
    half = width_mm(says, _LEAST_HEIGHT) / 2
    lift = _under_seam(band, (xa, xb), half / board.scale) + 1.7 / board.scale_up
    ya, yb = (band.edges_at(x)[1] - lift for x in (xa, xb))
    middle = board.paper(((xa + xb) / 2, (ya + yb) / 2))
    box = Box(middle[0] - half, middle[1] - 0.9, middle[0] + half, middle[1] + 0.9)
    if board.labels.free(box):
        board.labels.take(box)
        board.draw(Dimension("distances", (xa, ya), (xb, yb), says, _LEAST_HEIGHT))


def _under_seam(band: Band, ends: tuple[float, float], half: float) -> float:
    """Give how far a line between two points of a seam stands over it where its figure comes."""
    (xa, xb), (ya, yb) = ends, [band.edges_at(x)[1] for x in ends]
    middle = (xa + xb) / 2
    at = np.linspace(max(middle - half, min(ends)), min(middle + half, max(ends)), 9)
    seam = np.array([band.edges_at(float(x))[1] for x in at])
    chord = ya + (yb - ya) * (at - xa) / (xb - xa) if xa != xb else np.full(9, ya)
    return max(float(np.max(chord - seam)), 0.0)


def _width_figures(work: _Work) -> Iterator[bool]:
    """Figure the widths on frames about 24 mm apart, breaking the frame's line."""
    flat, board = work.flat, work.board
    last = -math.inf
    order = sorted(range(len(flat.names)), key=lambda i: flat.x_mm[i])
    for i in order:
        px = float(flat.x_mm[i]) * board.scale
        if px - last < 24.0:
            continue
        last = px
        for row, band in enumerate(work.bands):
            yield _width_figure(work, row, band, i + 1)


def _width_figure(work: _Work, row: int, band: Band, column: int) -> bool:
    """Figure one width; False if there is one but no room for it."""
    width = float(work.lining.full_width_mm[row, column])
    if not np.isfinite(width):
        return True
    x = float(work.flat.x_mm[column - 1])
    says = format_bare(width, work.unit)
    half = width_mm(says, _LEAST_HEIGHT) / 2
    text = Text("widths", (0, 0), says, _LEAST_HEIGHT, "centre", "middle", mask=True)
    places = []
    for shift in (0.0, -half - 1.3, half + 1.3):
        at = x + shift / work.board.scale
        reach = half / work.board.scale
        low, high = _clear(band, at, reach)
        inside = band.span[0] <= at - reach and at + reach <= band.span[1]
        if inside and (high - low) * work.board.scale_up >= _LEAST_HEIGHT + 0.8:
            places.append(work.board.paper((at, (low + high) / 2)))
    return work.board.place(text, places)


def _clear(band: Band, x: float, half: float) -> tuple[float, float]:
    """Give the heights between which level lettering clears both edges, `half` to either side."""
    lows, highs = zip(*(band.edges_at(x + d) for d in (-half, 0.0, half)), strict=True)
    return max(lows), min(highs)


def _plank_names(
    work: _Work, butts: Sequence[Butt], planks: PlankList | None, side: str
) -> Iterator[bool]:
    known = _names_by_place(planks, side)
    for row, band in enumerate(work.bands):
        for number, run in enumerate(_runs(work, butts, row), start=1):
            default = f"{side[0].upper()}{band.name}-{number}"
            yield _plank_name(work, band, run, known.get((band.name, number), default))


def _runs(work: _Work, butts: Sequence[Butt], row: int) -> list[tuple[float, float]]:
    """Give where the planks of a strake run (x), from forward."""
    band = work.bands[row]
    cuts = sorted(_landing_x(work.flat, b.landing) for b in butts if b.strake == row)
    runs = list(pairwise([band.span[0], *cuts, band.span[1]]))
    return runs[::-1] if work.flat.aft < 0 else runs


def _wash(
    work: _Work, layout: Layout | None, planks: PlankList | None, side: str,
    tints: Mapping[str, str],
) -> None:  # fmt: skip
    """Wash planks in their colours, under everything else."""
    known = _names_by_place(planks, side)
    for row, band in enumerate(work.bands):
        for number, (a, b) in enumerate(_runs(work, layout.butts if layout else (), row), 1):
            colour = tints.get(known.get((band.name, number), ""))
            if colour:
                x = [a + (b - a) * k / _STEPS for k in range(_STEPS + 1)]
                edges = [band.edges_at(at) for at in x]
                ring = [(at, low) for at, (low, _) in zip(x, edges, strict=True)]
                ring += [(at, high) for at, (_, high) in zip(x, edges, strict=True)][::-1]
                work.board.draw(Fill("bands", tuple(ring), colour))


def _tint_signs(meanings: Mapping[str, str]) -> Iterator[Sign]:
    for colour, says in meanings.items():
        box = ((-3.5, -1.0), (3.5, -1.0), (3.5, 1.0), (-3.5, 1.0))
        yield Sign((Fill("bands", box, colour), Polyline("frames", box, closed=True)), says)


def _names_by_place(planks: PlankList | None, side: str) -> dict[tuple[str, int], str]:
    every = planks.planks if planks else ()
    return {(p.strake, p.number): p.name for p in every if p.side in {side, "both"}}


def _plank_name(work: _Work, band: Band, run: tuple[float, float], name: str) -> bool:
    """Letter a plank's name along it, as near its middle as there is room; False if none."""
    board, height = work.board, 2.0
    for share in (0.5, 0.42, 0.58, 0.35, 0.65, 0.28, 0.72, 0.2, 0.8):
        x = run[0] + share * (run[1] - run[0])
        low, high = band.edges_at(x)
        if (high - low) * board.scale_up < height + 0.3:
            continue
        step = 0.02 * (run[1] - run[0])
        (ax, ay), (bx, by) = (board.paper(band.middle(x + d)) for d in (-step, step))
        turn = math.atan2(by - ay, bx - ax)
        text = Text(
            "plank names",
            (0.0, 0.0),
            name,
            height,
            "centre",
            "middle",
            turn,
            "Sans-Semibold",
            mask=True,
        )
        if board.place(text, [board.paper(band.middle(x))]):
            return True
    return False
