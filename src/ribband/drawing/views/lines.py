"""The lines drawing: profile, half-breadth and body plan, with what was measured.

The bow lies to the right. Heights are from the base line of the offsets (z = 0). Waterlines,
buttocks and diagonals are those typed in the survey, so that every point measured on one lies on
a line that is drawn; where points were taken without lines, they are cut at round heights and
distances. Sections stand at the stations that were measured (or at every few frames). A measured
point is a small cross; one that the fair surface does not believe is ringed in red and labelled,
and was left out of the fit unless the shipwright said otherwise. Where only girths were measured
there are no lines: see `girths`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ribband.drawing.board import Board, Setting, titled
from ribband.drawing.labels import text_box
from ribband.drawing.layout import Air, Drawing, Sign, fitted, lay_on, room_on
from ribband.drawing.sheet import Box, Curve, Mark, Point, Polyline, Sheet, Text
from ribband.drawing.views.cuts import Net, along, apart, middle_of, net, section
from ribband.drawing.views.heads import number_heads
from ribband.hull.model import Doubt, Floats, Hull, Surface
from ribband.hull.sections import kinds_of
from ribband.survey.model import Reading, Survey, bodily_key, position_key
from ribband.units import format_bare, format_length, format_small, imperial

__all__ = ["body_of", "doubt_words", "lines_drawing", "stations_of"]

_AIR = Air(15.0, 18.0, 8.0, 12.0)
_MOST_TYPED = 40  # heights (or breadths) typed; more are points taken without lines


@dataclass(frozen=True, slots=True)
class _Views:
    """Where the three views stand: zero of each, full-size mm on the drawing."""

    base: float  # height z at the foot of the profile: 0, the base line, unless that is far below
    half_y: float  # the half-breadth's centreline
    body: Point  # where the body plan's centreline meets its base line
    edges: tuple[float, float]  # foot of the half-breadth, top of the profile

    def profile(self, p: Floats) -> Point:
        return float(-p[0]), float(p[2] - self.base)

    def half(self, p: Floats) -> Point:
        return float(-p[0]), float(self.half_y - p[1])

    def section(self, p: Floats, *, fore: bool) -> Point:
        x, y = self.body
        return float(x + (p[1] if fore else -p[1])), float(y + p[2] - self.base)


def lines_drawing(
    hull: Hull,
    survey: Survey | None = None,
    *,
    setting: Setting = Setting(),  # noqa: B008 - frozen
) -> tuple[Sheet, ...]:
    """Draw the lines of a hull with a surface; `survey` adds the measured points.

    Raises
    ------
    ValueError : the hull has no surface (only girths were measured)
    """
    if hull.surface is None:
        raise ValueError("only girths were measured, so there are no lines to draw")
    unit = hull.particulars.unit
    n = net(hull.surface)
    signs = tuple(_signs(hull, survey))
    notes = (*_notes(hull, survey), _base_note(n, unit))
    room = room_on(setting.page, notes, signs)
    views, extent = _set_out(n, room, unit, setting.scale)
    scale = fitted(extent, _AIR, room, unit, setting.scale)
    board = Board(scale, scale)
    levels = _levels_of(n, survey, unit)
    _ground(board, views, n, extent)
    _frames(board, views, hull, n)
    _outline(board, views, n)
    _cuts(board, views, (n, hull.surface), levels, unit)
    _body(board, views, n, hull, survey)
    told = _points(board, views, hull, survey, middle_of(n))
    _label_doubts(board, views, told, _paper_of(board, extent))
    drawing = Drawing("lines", tuple(board.items), extent, _AIR, notes, signs)
    title = titled(hull, "Lines", setting, "each side alike")
    return lay_on(drawing, setting.page, title, scale, unit=unit, overlap_mm=setting.overlap_mm)


def stations_of(hull: Hull, survey: Survey | None) -> tuple[tuple[str, float], ...]:
    """Give name and position of the sections to draw: the stations measured, else a few frames."""
    found = {r.station: r.x_mm for r in survey.readings if r.role == "surface"} if survey else {}
    every = sorted(found.items(), key=lambda s: s[1])
    most = 40
    if len(every) < 3:
        every, most = list(zip(hull.frames.names, map(float, hull.frames.x_mm), strict=True)), 14
    step = -(-len(every) // most)
    return tuple(every[step // 2 :: step])


def doubt_words(doubt: Doubt, unit: str) -> str:
    """Say a doubt on a drawing, short: where, how far out, what was decided."""
    out = format_bare(abs(doubt.off_mm), unit)
    way = "great" if doubt.off_mm > 0 else "small"
    said = f", {doubt.decision}ed" if doubt.decision in {"accept", "correct"} else ""
    kept = ", kept" if doubt.decision == "keep" else ""
    at = doubt.place if doubt.place.startswith("station") else doubt.frame
    return f"{at} {doubt.line}: {out} too {way}{said}{kept}".strip()


def body_of(
    board: Board, place: Sequence[float], n: Net, cuts: Iterable[tuple[str, float]], middle: float
) -> None:
    """Draw sections as a body plan: fore body to the right of the centreline, aft to the left.

    `place` is the centreline's x, and the z that stands at height 0 of the drawing.
    """
    body_x, base = place
    heads: dict[float, list[tuple[str, Point]]] = {1.0: [], -1.0: []}
    for name, x in cuts:
        cut = section(n, x)
        if cut is None:
            continue
        side = 1.0 if x <= middle else -1.0
        points = [(float(body_x + side * y), float(z - base)) for _, y, z in cut]
        board.draw(Curve.through("sections", apart(points)))
        heads[side].append((name, points[-1]))
    for body in heads.values():
        number_heads(board, body)


def _set_out(n: Net, room: Box, unit: str, scale: float | str) -> tuple[_Views, Box]:
    """Stand the body plan beyond the bow or over the profile, whichever allows a larger scale."""
    ways = [_set_out_with(n, beyond=beyond) for beyond in (True, False)]
    return max(ways, key=lambda way: fitted(way[1], _AIR, room, unit, scale))


def _set_out_with(n: Net, *, beyond: bool) -> tuple[_Views, Box]:
    low, high = n.xyz.min(axis=(0, 1)), n.xyz.max(axis=(0, 1))
    base = _foot(float(low[2]), float(high[2]))
    beam, length, tall = float(high[1]), float(high[0] - low[0]), float(high[2]) - base
    gap = 0.035 * length
    aft, fore = float(-high[0]), float(-low[0])
    body = (fore + gap + beam, 0.0) if beyond else ((aft + fore) / 2, tall + 1.6 * gap)
    extent = Box(aft, -gap - beam, fore, tall)
    if beyond:
        extent = Box(aft, extent.lower, body[0] + beam, tall)
    else:
        extent = Box(aft, extent.lower, fore, body[1] + tall)
    return _Views(base, -gap, body, (-gap - beam, tall)), extent


def _foot(low: float, high: float) -> float:
    """Give the height at the foot of the profile: the base line, or the hull's own foot.

    >>> _foot(300.0, 2700.0), _foot(-900.0, 1500.0), _foot(5000.0, 7000.0)
    (0.0, -900.0, 5000.0)
    """
    return min(low, 0.0) if low < 0.5 * (high - low) else low


def _notes(hull: Hull, survey: Survey | None) -> Iterator[str]:
    yield "Lines are to the outside of the frames, inside of the planking."
    if survey and hull.rms_mm > 0:
        unit = hull.particulars.unit
        rms, tol = (format_small(mm, unit) for mm in (hull.rms_mm, hull.tolerance_mm))
        yield f"The fair surface passes the believed readings within {rms} rms; tolerance {tol}."
    open_ = sum(not d.decision for d in hull.doubts)
    if open_:
        yield f"Doubtful readings left out of the fit until decided: {open_}."
    if not survey:
        yield "The measured points are not shown."


def _base_note(n: Net, unit: str) -> str:
    low, high = float(n.xyz[..., 2].min()), float(n.xyz[..., 2].max())
    foot = _foot(low, high)
    below = f", {format_length(foot, unit)} below the foot of the profile" if foot > 0 else ""
    return f"Heights are from the base line of the offsets (height 0){below}."


def _signs(hull: Hull, survey: Survey | None) -> Iterator[Sign]:
    if survey:
        yield Sign((Mark("measured", (0.0, 0.0), "plus", 1.4),), "measured point")
    if hull.doubts:
        sample = (
            Mark("doubtful", (0.0, 0.0), "ring", 2.6),
            Mark("measured", (0.0, 0.0), "plus", 1.4),
        )
        yield Sign(sample, "doubtful reading, and how far it lies out")
    yield Sign((Polyline("waterlines", ((-4.0, 0.0), (4.0, 0.0))),), "waterline (WL), by height")
    if survey and any(r.measured == "d" for r in survey.readings):
        yield Sign(
            (Polyline("diagonals", ((-4.0, 0.0), (4.0, 0.0))),), "diagonal, in the body plan"
        )
    yield Sign(
        (Polyline("buttocks", ((-4.0, 0.0), (4.0, 0.0))),), "buttock (B), from the centreline"
    )


def _round_step(reach: float, most: int, unit: str) -> float:
    one = 304.8 if imperial(unit) else 1000.0
    for f in (0.25, 0.5, 1.0, 2.0, 4.0, 5.0, 10.0):
        step = f * one if imperial(unit) else f * one * 0.4
        if reach / step <= most:
            return step
    return reach / most


def _round_levels(low: float, high: float, most: int, unit: str) -> tuple[float, ...]:
    step = _round_step(high - low, most, unit)
    first = int(np.floor(low / step)) + 1
    return tuple(k * step for k in range(first, int(np.ceil(high / step))))


@dataclass(frozen=True, slots=True)
class _Levels:
    """Where the hull is cut: heights from the base line, distances from the centreline, diagonals.

    A diagonal is its two ends in the body plan, (y, z): on the centreline, and farthest out.
    """

    waterlines: tuple[float, ...]
    buttocks: tuple[float, ...]
    diagonals: tuple[tuple[Point, Point], ...]


def _levels_of(n: Net, survey: Survey | None, unit: str) -> _Levels:
    """Give the lines that were typed; round ones where there are fewer than two of a kind."""
    low, high = n.xyz.min(axis=(0, 1)), n.xyz.max(axis=(0, 1))
    on_lines = [r for r in survey.readings if r.role == "surface"] if survey else []
    heights = tuple(sorted({r.z_mm for r in on_lines if r.measured == "y"}))
    breadths = tuple(sorted({r.y_mm for r in on_lines if r.measured == "z"}))
    if len(heights) < 2 or len(heights) > _MOST_TYPED:
        heights = _round_levels(float(low[2]), float(high[2]), 9, unit)
    if len(breadths) < 2 or len(breadths) > _MOST_TYPED:
        breadths = _round_levels(0.0, float(high[1]), 5, unit)
    return _Levels(heights, breadths, tuple(_diagonals(on_lines)))


def _diagonals(readings: Sequence[Reading]) -> Iterator[tuple[Point, Point]]:
    """Run each diagonal in the body plan from the centreline through the points read along it."""
    found: dict[str, list[Point]] = {}
    for r in readings:
        if r.measured == "d":
            found.setdefault(r.line, []).append((r.y_mm, r.z_mm))
    for points in found.values():
        (y0, z0), (y1, z1) = min(points), max(points)
        if y1 - y0 > 1.0:
            yield (0.0, z0 - y0 * (z1 - z0) / (y1 - y0)), (y1, z1)


def _ground(board: Board, views: _Views, n: Net, extent: Box) -> None:
    """Draw base line and centrelines, and name the views."""
    aft, fore = extent.left, float(-n.xyz[..., 0].min())
    beam, tall = float(n.xyz[..., 1].max()), views.edges[1]
    (x, y), base = views.body, max(-views.base, 0.0)
    board.draw(Polyline("centreline", ((aft, base), (fore, base))))
    board.draw(Polyline("centreline", ((aft, views.half_y), (fore, views.half_y))))
    board.draw(Polyline("centreline", ((x, y), (x, y + tall))))
    board.draw(Polyline("centreline", ((x - beam, y + base), (x + beam, y + base))))
    over = 7.0 / board.scale
    for at, says in (
        ((aft, tall + over), "Profile"),
        ((x - beam, y + tall + over), "Body plan"),
        ((aft, extent.lower - 6.0 / board.scale), "Half-breadth"),
    ):
        board.letter(Text("title", at, says, 2.6, face="Serif-Italic"))


def _frames(board: Board, views: _Views, hull: Hull, n: Net) -> None:
    names, xs = hull.frames.names, hull.frames.x_mm
    bay = float(np.median(np.diff(xs))) * board.scale
    step = next((s for s in (1, 2, 5, 10) if s * bay >= 6.0), 10)
    for i, (name, x) in enumerate(zip(names, xs, strict=True)):
        cut = section(n, float(x))
        if cut is None or (i + 1) % step:
            continue
        board.draw(Polyline("grid", (views.profile(cut[0]), views.profile(cut[-1]))))
        wide = cut[int(np.argmax(cut[:, 1]))]
        board.draw(Polyline("grid", ((float(-x), views.half_y), views.half(wide))))
        px, py = board.paper((float(-x), 0.0))
        board.place(Text("frame numbers", (0, 0), name, 1.8, "centre"), [(px, py - 3.6)])


def _outline(board: Board, views: _Views, n: Net) -> None:
    for layer, run in (
        ("rabbet", n.xyz[:, 0]), ("sheer", n.xyz[:, -1]),
        ("hood ends", n.xyz[0]), ("hood ends", n.xyz[-1]),
    ):  # fmt: skip
        board.draw(Curve.through(layer, apart([views.profile(p) for p in run])))
        board.draw(Curve.through(layer, apart([views.half(p) for p in run])))


def _cuts(
    board: Board, views: _Views, seen: tuple[Net, Surface], levels: _Levels, unit: str
) -> None:
    n, surface = seen
    fore, aft = float(-n.xyz[..., 0].min()), float(-n.xyz[..., 0].max())
    for height in levels.waterlines:
        runs, z = along(n, 2, height, surface), height - views.base
        if runs:
            board.draw(Polyline("grid", ((aft, z), (fore, z))))
            _name(board, "waterlines", f"WL {format_bare(height, unit)}", (aft, z), -1)
        for run in runs:
            board.draw(_thin(board, "waterlines", [views.half(p) for p in run]))
    for y in levels.buttocks:
        runs = along(n, 1, y, surface)
        if runs:
            board.draw(Polyline("grid", ((aft, views.half_y - y), (fore, views.half_y - y))))
            _name(board, "buttocks", f"B {format_bare(y, unit)}", (aft, views.half_y - y), -1)
        for run in runs:
            board.draw(_thin(board, "buttocks", [views.profile(p) for p in run]))
    _body_grid(board, views, n, levels)


def _thin(board: Board, layer: str, points: Sequence[Point]) -> Curve:
    """Spring a curve through every point that is 0.7 mm or more on from the last."""
    return Curve.through(layer, apart(points, 0.7 / board.scale))


def _body_grid(board: Board, views: _Views, n: Net, levels: _Levels) -> None:
    beam, top = float(n.xyz[..., 1].max()), float(n.xyz[..., 2].max())
    x0, y0 = views.body
    for z in levels.waterlines:
        at = y0 + z - views.base
        board.draw(Polyline("grid", ((x0 - beam, at), (x0 + beam, at))))
    for side in (-1.0, 1.0):
        for y in levels.buttocks:
            x = x0 + side * y
            board.draw(Polyline("grid", ((x, y0), (x, y0 + top - views.base))))
        for ends in levels.diagonals:
            run = [(x0 + side * y, y0 + z - views.base) for y, z in ends]
            board.draw(Polyline("diagonals", tuple(run)))


def _name(board: Board, layer: str, says: str, at: Point, side: int) -> None:
    px, py = board.paper(at)
    board.place(
        Text(layer, (0, 0), says, 1.8, "right", "middle"),
        [(px + side * 1.5, py), (px + side * 1.5, py + 2.0), (px + side * 1.5, py - 2.0)],
    )


def _body(board: Board, views: _Views, n: Net, hull: Hull, survey: Survey | None) -> None:
    middle = middle_of(n)
    for fore, run in ((True, n.xyz[:, -1]), (False, n.xyz[:, -1])):
        part = run[(run[:, 0] <= middle) == fore]
        if points := [views.section(p, fore=fore) for p in part]:  # none: fullest at an end
            board.draw(Curve.through("sheer", apart(points)))
    for fore, end in ((True, n.xyz[0]), (False, n.xyz[-1])):
        points = [views.section(p, fore=fore) for p in end]
        board.draw(Curve.through("hood ends", apart(points)))
    body_of(
        board, (views.body[0], views.base - views.body[1]), n, stations_of(hull, survey), middle
    )


def _points(
    board: Board, views: _Views, hull: Hull, survey: Survey | None, middle: float
) -> list[tuple[Point, str]]:
    """Mark the readings, and give the doubts that want lettering, from forward of the paper aft.

    Of a station doubted as a whole every reading is ringed, and the doubt lettered once.
    """
    doubts = {d.key: d for d in hull.doubts}
    told: dict[str, tuple[Point, str]] = {}
    for r in survey.readings if survey else ():
        p = np.array([r.x_mm, r.y_mm, r.z_mm])
        doubt = next((doubts[key] for key in _keys(r) if key in doubts), None)
        spots = [*_seen(views, r, p), views.section(p, fore=r.x_mm <= middle)]
        for at in spots:
            board.draw(Mark("measured", at, "plus", 1.1))
            if doubt:
                board.mark(Mark("doubtful", at, "ring", 2.6))
        if doubt:
            told.setdefault(doubt.key, (spots[0], doubt_words(doubt, hull.particulars.unit)))
    return sorted(told.values())


def _keys(r: Reading) -> Iterator[str]:
    """Give the names a doubt of a reading may bear: its own, its column's, its station's place."""
    yield r.key
    yield from (bodily_key(kind, r.station, r.side) for kind in kinds_of(r))
    yield position_key(r.station)


def _seen(views: _Views, r: Reading, p: Floats) -> tuple[Point, ...]:
    """Give the views, besides the body plan, a reading shows in: those its line is drawn in."""
    if r.role == "surface" and r.measured == "d":
        return ()
    if r.measured == "z":
        return (views.profile(p),)
    if r.measured == "y":
        return (views.half(p),)
    return views.profile(p), views.half(p)


@dataclass(frozen=True, slots=True)
class _Told:
    """A doubt to be lettered: its ring on the paper, the first row of labels, which way they go."""

    x: float
    y: float
    edge: float
    away: float
    says: str

    def channel(self, row: float) -> Box:
        """Give the strip of paper its leader takes down, or up, to a row of labels."""
        start = self.y + self.away * 1.5
        return Box(self.x - 1.6, min(start, row), self.x + 1.6, max(start, row))

    def row(self, k: int) -> float:
        return self.edge + self.away * (5.0 + 3.2 * k)


def _paper_of(board: Board, extent: Box) -> Box:
    """Give the paper the drawing is given, its air with it."""
    left, lower = board.paper((extent.left, extent.lower))
    right, upper = board.paper((extent.right, extent.upper))
    return Box(left - _AIR.left, lower - _AIR.lower, right + _AIR.right, upper + _AIR.upper)


def _label_doubts(
    board: Board, views: _Views, doubts: Sequence[tuple[Point, str]], paper: Box
) -> None:
    """Letter the doubts clear of the views, each with a leader to its ring that crosses no other.

    A label that has no such place is put where there is room, across a leader, but on the paper.
    """
    told = [_told(board, views, spot, says) for spot, says in doubts]
    channels = [t.channel(t.row(0)) for t in told]
    for i, mine in enumerate(told):
        others = [c for j, c in enumerate(channels) if j != i]
        every = list(_doubt_places(mine))
        places = [(t, k) for t, k in every if paper.holds(text_box(t, t.at))] or every
        clear = [(t, k) for t, k in places if _is_clear(board, mine, t, k, others)]
        for text, _ in clear or places:
            if board.place(text, [text.at]):
                side = -0.6 if text.align == "left" else 0.6
                ends = ((mine.x, mine.y + mine.away * 1.3), (text.at[0] + side, text.at[1]))
                board.draw(Polyline("doubt leaders", tuple(map(board.full, ends))))
                break


def _told(board: Board, views: _Views, spot: Point, says: str) -> _Told:
    below = spot[1] < 0
    edge = board.paper((0.0, views.edges[0 if below else 1]))[1]
    return _Told(*board.paper(spot), edge, -1.0 if below else 1.0, says)


def _doubt_places(mine: _Told) -> Iterator[tuple[Text, int]]:
    """Give the label at its places, near ones first, each with its row."""
    for shift in (2.0, 10.0, 16.0):
        for k in range(6):
            at = mine.row(k)
            yield Text("doubtful", (mine.x + shift, at), mine.says, 1.8, "left", "middle"), k
            yield Text("doubtful", (mine.x - shift, at), mine.says, 1.8, "right", "middle"), k


def _is_clear(board: Board, mine: _Told, text: Text, k: int, others: Sequence[Box]) -> bool:
    box = text_box(text, text.at).grown(0.5)
    leader = mine.channel(mine.row(k))
    leader = (
        replace(leader, left=min(leader.left, text.at[0]), right=max(leader.right, text.at[0]))
        if abs(text.at[0] - mine.x) > 2.0
        else leader
    )
    ways = board.labels.free(box) and board.labels.free(leader)
    return ways and not any(box.meets(c) for c in others)
