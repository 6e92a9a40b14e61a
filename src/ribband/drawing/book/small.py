"""The small expansion on the cover: seams and butts over the frames, no lettering.

Heights are drawn larger than lengths where that fills the strip better; it is a picture, not a
drawing to measure from. Every seam is drawn as far as its strake reaches.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from ribband.drawing.book.model import Book
from ribband.drawing.book.style import BLUE, FAINT, INK
from ribband.hull.model import Floats

__all__ = ["draw_small", "small_height"]


def small_height(book: Book, wide: float) -> float:
    """Give the height the small expansion wants at a width, points; 0 with fewer than 3 frames."""
    if len(book.hull.frames.names) < 3:
        return 0.0
    along = float(np.ptp(_columns_x(book)))
    up = float(np.nanmax(book.lining.upper_girth_mm))
    return float(np.clip(wide * up / max(along, 1.0) * 1.35, 60.0, 120.0))


def draw_small(book: Book, canvas: Any, x: float, y: float, wide: float, high: float) -> None:
    """Draw the side laid flat within the box."""
    lining, at = book.lining, _columns_x(book)
    along = x + (at - at.min()) / np.ptp(at) * wide
    lift = high / float(np.nanmax(lining.upper_girth_mm))
    canvas.saveState()
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    _frames(canvas, along, lining.upper_girth_mm, y, lift)
    canvas.setStrokeColor(INK)
    for i in range(len(lining.strakes)):
        canvas.setLineWidth(0.9 if i == len(lining.strakes) - 1 else 0.45)
        _run(canvas, along, y + lining.upper_girth_mm[i] * lift)
    canvas.setLineWidth(0.9)
    _run(canvas, along, y + lining.lower_girth_mm[0] * lift)
    _butts(book, canvas, along, y, lift)
    canvas.restoreState()


def _columns_x(book: Book) -> Floats:
    """Give where each column stands: frames by position, hood ends by the planking's ends."""
    frames, lower, upper = book.hull.frames.x_mm, book.lining.lower_xyz, book.lining.upper_xyz
    ends = [frames[0], frames[-1]]
    if lower is not None and upper is not None:
        for k, column in enumerate((0, -1)):
            seen = np.concatenate([lower[:, column, 0], upper[:, column, 0]])
            if np.isfinite(seen).any():
                ends[k] = (np.nanmin, np.nanmax)[k](np.append(seen, ends[k]))
    return np.array([ends[0], *frames, ends[1]])


def _frames(canvas: Any, along: Floats, upper: Floats, y: float, lift: float) -> None:
    canvas.setStrokeColor(FAINT)
    canvas.setLineWidth(0.12)
    for column in range(1, len(along) - 1):
        seen = upper[:, column][np.isfinite(upper[:, column])]
        if len(seen):
            canvas.line(along[column], y, along[column], y + seen.max() * lift)


def _run(canvas: Any, x: Floats, y: Floats) -> None:
    seen = np.isfinite(y)
    points = list(zip(x[seen], y[seen], strict=True))
    if len(points) > 1:
        path = canvas.beginPath()
        path.moveTo(*points[0])
        for point in points[1:]:
            path.lineTo(*point)
        canvas.drawPath(path)


def _butts(book: Book, canvas: Any, along: Floats, y: float, lift: float) -> None:
    canvas.setStrokeColor(BLUE)
    canvas.setLineWidth(1.5)
    lining, columns = book.lining, np.arange(len(along))
    for butt in book.layout.butts if book.layout else ():
        at = 1 + butt.landing / 2
        low, high = (
            np.interp(at, columns, edges[butt.strake])
            for edges in (lining.lower_girth_mm, lining.upper_girth_mm)
        )
        if np.isfinite(low) and np.isfinite(high):
            x = float(np.interp(at, columns, along))
            canvas.line(x, y + low * lift + 0.6, x, y + high * lift - 0.6)
