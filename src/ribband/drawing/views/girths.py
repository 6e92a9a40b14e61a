"""The girth curve: girths against frame positions, for a hull known by its girths only.

The bow lies to the right. Crosses are girths as measured, the curve is the fair girth, a red ring
is a girth it does not believe. To show small bumps, girths are drawn to a larger scale.
"""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ribband.drawing import scales
from ribband.drawing.board import Board, Setting, titled
from ribband.drawing.layout import Air, Drawing, Sign, fitted, lay_on, room_on
from ribband.drawing.sheet import Box, Curve, Mark, Polyline, Sheet, Text
from ribband.drawing.views.lines import doubt_words
from ribband.hull.model import GirthLines, Hull
from ribband.survey.model import Survey
from ribband.units import format_bare

__all__ = ["girth_curve"]

_AIR = Air(14.0, 22.0, 14.0, 12.0)


def girth_curve(
    hull: Hull,
    survey: Survey | None = None,
    *,
    setting: Setting = Setting(),  # noqa: B008 - frozen
) -> tuple[Sheet, ...]:
    """Draw the girth curve; `survey` adds the girths as measured."""
    unit = hull.particulars.unit
    drawn = hull.frames if hull.in_space else hull.lines  # lines reach the hood ends measured
    x, g = drawn.x_mm, drawn.girth_mm
    tapes = survey.girths if survey else ()
    along = [*x, *(m.x_mm for m in tapes)]
    most = max([*g, *(m.girth_mm for m in tapes)])
    extent = Box(float(-max(along)), 0.0, float(-min(along)), float(most))
    notes, signs = tuple(_notes(hull)), tuple(_signs(hull, survey))
    room = room_on(setting.page, notes, signs)
    flat = Box(extent.left, 0.0, extent.right, 1.0)
    scale = fitted(flat, _AIR, room, unit, setting.scale)
    up = max(scale, scales.choose(extent.height, room.height - _AIR.lower - _AIR.upper, unit))
    board = Board(scale, up)
    _frames(board, hull)
    board.draw(Polyline("rabbet", ((extent.left, 0.0), (extent.right, 0.0))))
    _curve(board, drawn)
    _measured(board, hull, survey)
    drawing = Drawing("girths", tuple(board.items), extent, _AIR, notes, signs)
    title = titled(hull, "Girths", setting, "each side alike")
    return lay_on(
        drawing, setting.page, title, scale,
        scale_up=up, unit=unit, overlap_mm=setting.overlap_mm,
    )  # fmt: skip


def _curve(board: Board, drawn: GirthLines) -> None:
    """Draw the fair girths; a hood end's runs along stem or post, and is joined straight."""
    places = [(float(-a), float(b)) for a, b in zip(drawn.x_mm, drawn.girth_mm, strict=True)]
    first, last = (int(drawn.names[k] == end) for k, end in ((0, "stem"), (-1, "stern")))
    frames = places[first : len(places) - last]
    if len(frames) < 2:
        board.draw(Polyline("sheer", tuple(places)))
        return
    board.draw(Curve.through("sheer", frames))
    if first:
        board.draw(Polyline("sheer", tuple(places[:2])))
    if last:
        board.draw(Polyline("sheer", tuple(places[-2:])))


def _notes(hull: Hull) -> Iterator[str]:
    yield "Girths are along the outside of the frame, rabbet to sheer; bow to the right."
    if not hull.in_space:
        yield "Only girths were measured: there is no shape in space behind this drawing."
    open_ = sum(not d.decision for d in hull.doubts)
    if open_:
        yield f"Doubtful girths left out of the curve until decided: {open_}."


def _signs(hull: Hull, survey: Survey | None) -> Iterator[Sign]:
    if survey:
        yield Sign((Mark("measured", (0.0, 0.0), "plus", 1.6),), "girth as measured")
    if hull.doubts:
        yield Sign(
            (Mark("doubtful", (0.0, 0.0), "ring", 2.8),), "doubtful, and how far it lies out"
        )
    yield Sign((Polyline("sheer", ((-4.0, 0.0), (4.0, 0.0))),), "fair girth")


def _frames(board: Board, hull: Hull) -> None:
    for name, x, girth in zip(
        hull.frames.names, hull.frames.x_mm, hull.frames.girth_mm, strict=True
    ):
        at = float(-x)
        board.draw(Polyline("frames", ((at, 0.0), (at, float(girth)))))
        px, py = board.paper((at, 0.0))
        named = Text("frame numbers", (0, 0), name, 1.8, "centre")
        board.place(named, [(px, py - 3.6)])
        figure = Text(
            "widths", (0, 0), format_bare(float(girth), hull.particulars.unit), 1.8,
            "right", "middle", np.pi / 2,
        )  # fmt: skip
        board.place(figure, [(px, py - 5.4)])


def _measured(board: Board, hull: Hull, survey: Survey | None) -> None:
    doubts = {d.key: d for d in hull.doubts}
    for m in survey.girths if survey else ():
        at = (-m.x_mm, m.girth_mm)
        board.mark(Mark("measured", at, "plus", 1.6))
        if m.frame in {"stem", "stern"}:
            px, py = board.paper((-m.x_mm, 0.0))
            end = Text("frame numbers", (0, 0), m.frame, 1.8, "centre")
            board.place(end, [(px, py - 3.6), (px, py + 1.5), (px, py + 4.5)])
        if doubt := doubts.get(m.key):
            board.mark(Mark("doubtful", at, "ring", 2.8))
            x, y = board.paper(at)
            says = Text(
                "doubtful", (0, 0), doubt_words(doubt, hull.particulars.unit), 1.8, mask=True
            )
            board.place(says, [(x + 2.2, y + d) for d in (1.4, -3.2, 4.0, -6.0)])
