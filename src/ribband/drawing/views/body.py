"""The body plan with the seams: sections of the frames, and every seam where it crosses them.

Fore body to the right of the centreline, aft body to the left. A seam that looks fair here and
in the expansion is fair on the hull; a hollow or a bump shows as a crowding of sections' crossings.
"""

from __future__ import annotations

import numpy as np

from ribband.drawing.board import Board, Setting, titled
from ribband.drawing.layout import Air, Drawing, fitted, lay_on, room_on
from ribband.drawing.sheet import Box, Curve, Point, Polyline, Sheet, Text
from ribband.drawing.views.cuts import Net, apart, middle_of, net, section
from ribband.drawing.views.heads import number_heads
from ribband.hull.model import Floats, Hull, Surface
from ribband.lining.model import Lining

__all__ = ["body_plan"]

_AIR = Air(16.0, 8.0, 16.0, 10.0)
_NOTES = (
    "Fore body to the right, aft body to the left; sections are to the outside of the frames.",
    "Figures at the stem and stern are the strakes.",
)


def body_plan(
    hull: Hull,
    lining: Lining,
    *,
    setting: Setting = Setting(),  # noqa: B008 - frozen
    alike: str = "each side alike",
) -> tuple[Sheet, ...]:
    """Draw the body plan with the seams of `lining`.

    Raises
    ------
    ValueError : the hull has no surface (only girths were measured)
    """
    if hull.surface is None:
        raise ValueError("only girths were measured, so there is no body plan to draw")
    unit = hull.particulars.unit
    n = net(hull.surface)
    low, high = n.xyz.min(axis=(0, 1)), n.xyz.max(axis=(0, 1))
    extent = Box(float(-high[1]), 0.0, float(high[1]), float(high[2] - low[2]))
    scale = fitted(extent, _AIR, room_on(setting.page, _NOTES, ()), unit, setting.scale)
    board = Board(scale, scale)
    base, middle = float(low[2]), middle_of(n)
    top = extent.upper
    board.draw(Polyline("centreline", ((0.0, 0.0), (0.0, top))))
    board.draw(Polyline("centreline", ((extent.left, 0.0), (extent.right, 0.0))))
    _frames(board, hull, n, base, middle)
    _edges(board, n, base, middle)
    _seams(board, hull.surface, lining, base, middle)
    drawing = Drawing("body plan", tuple(board.items), extent, _AIR, _NOTES)
    title = titled(hull, "Body plan with seams", setting, alike)
    return lay_on(drawing, setting.page, title, scale, unit=unit, overlap_mm=setting.overlap_mm)


def _on(p: Floats, base: float, middle: float) -> Point:
    return float(p[1] if p[0] <= middle else -p[1]), float(p[2] - base)


def _frames(board: Board, hull: Hull, n: Net, base: float, middle: float) -> None:
    step = _step(len(hull.frames.names))
    heads: dict[float, list[tuple[str, Point]]] = {1.0: [], -1.0: []}
    for i, (name, x) in enumerate(zip(hull.frames.names, hull.frames.x_mm, strict=True)):
        cut = section(n, float(x))
        if cut is None or (i + step // 5) % step:
            continue
        points = [_on(p, base, middle) for p in cut]
        board.draw(Curve.through("sections", apart(points)))
        heads[1.0 if x <= middle else -1.0].append((name, points[-1]))
    for body in heads.values():
        number_heads(board, body)


def _step(frames: int) -> int:
    """Give which frames are drawn: all of a few, else every other, every fifth or every tenth.

    >>> [_step(n) for n in (20, 44, 145, 300)]
    [1, 2, 5, 10]
    """
    if frames <= 24:
        return 1
    return next((step for step in (2, 5) if frames <= 40 * step), 10)


def _edges(board: Board, n: Net, base: float, middle: float) -> None:
    for layer, run in (("rabbet", n.xyz[:, 0]), ("sheer", n.xyz[:, -1])):
        _both_bodies(board, layer, run, base, middle)
    for end in (n.xyz[0], n.xyz[-1]):
        board.draw(Curve.through("hood ends", apart([_on(p, base, middle) for p in end])))


def _seams(board: Board, surface: Surface, lining: Lining, base: float, middle: float) -> None:
    present = np.asarray(lining.present, bool)
    for row, strake in enumerate(lining.strakes):
        on = present[row]
        if on.sum() < 3:
            continue
        u, v = lining.seam_u[on], lining.seam_v[row + 1][on]
        run = np.asarray(surface.point(u, v), float)
        if row < len(lining.strakes) - 1:
            _both_bodies(board, "seams", run, base, middle)
        if not _lettered(row, len(lining.strakes)):
            continue
        under = np.asarray(surface.point(u, lining.seam_v[row][on]), float)
        for k in (0, -1):
            x, y = board.paper(_on((run[k] + under[k]) / 2, base, middle))
            side = 1.0 if run[k][0] <= middle else -1.0
            text = Text(
                "strake names", (0, 0), strake.name, 1.8,
                "left" if side < 0 else "right", "middle", mask=True,
            )  # fmt: skip
            board.place(text, [(x - side * d, y) for d in (1.5, 4.0, 6.5)])


def _lettered(row: int, strakes: int) -> bool:
    """Tell whether a strake is lettered: every one, or of very many every fifth."""
    return strakes <= 40 or (row + 1) % 5 == 0 or row in {0, strakes - 1}


def _both_bodies(board: Board, layer: str, run: Floats, base: float, middle: float) -> None:
    """Draw a line along the hull in two, parted where it lies farthest out near amidships."""
    at = _fullest(run, middle)
    for part, side in ((run[: at + 1], 1.0), (run[at:], -1.0)):
        if len(part) > 2:
            points = [(float(side * y), float(z - base)) for _, y, z in part]
            board.draw(Curve.through(layer, apart(points)))


def _fullest(run: Floats, middle: float) -> int:
    """Find where a line turns back: farthest square to the way it goes, end to end, across ships.

    Seen along the hull a line runs out and down to amidships and back; "out" is square to the
    section there, judged from the middle of the line towards the mean of its ends.
    """
    at = int(np.clip(np.searchsorted(run[:, 0], middle), 1, len(run) - 2))
    out = run[at, 1:] - (run[0, 1:] + run[-1, 1:]) / 2
    reach = (run[:, 1:] - run[at, 1:]) @ (out / max(float(np.linalg.norm(out)), 1e-9))
    near = np.abs(run[:, 0] - run[at, 0]) <= 0.25 * np.ptp(run[:, 0])
    return int(np.argmax(np.where(near, reach, -np.inf)))
