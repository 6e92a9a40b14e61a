"""The small expansion on the cover: seams and butts over the frames, no lettering.

It shows the starboard side, bow to the right, as the fold-out does. Heights are drawn larger
than lengths where that fills the strip better; it is a picture, not a drawing to measure from.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from ribband.drawing.book.model import Book
from ribband.drawing.book.style import BLUE, FAINT, INK
from ribband.drawing.views.flat import Flat, bands, laid_flat
from ribband.hull.model import Floats

__all__ = ["draw_small", "small_height"]

LIFT = 1.7  # heights over lengths


@dataclass(frozen=True, slots=True)
class _Scale:
    """Full size to the strip: shift, then scale along and up."""

    left: float
    low: float
    along: float
    up: float

    def __call__(self, points: Floats) -> Floats:
        return np.asarray((points - (self.left, self.low)) * (self.along, self.up))


def small_height(book: Book, wide: float) -> float:
    """Give the height the small expansion wants at a width, points; 0 with fewer than 3 frames."""
    if len(book.hull.frames.names) < 3:
        return 0.0
    box = laid_flat(book.hull).box
    return float(np.clip(wide * box.height / max(box.width, 1.0) * LIFT, 80.0, 190.0))


def draw_small(book: Book, canvas: Any, wide: float, high: float) -> None:
    """Draw the side laid flat in a strip of this width and height, points."""
    flat = laid_flat(book.hull)
    box = flat.box
    scale = _Scale(box.left, box.lower, wide / box.width, high / box.height)
    canvas.saveState()
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    _frames(canvas, flat, scale)
    _seams(book, canvas, flat, scale)
    _butts(book, canvas, flat, scale)
    canvas.restoreState()


def _frames(canvas: Any, flat: Flat, scale: _Scale) -> None:
    canvas.setStrokeColor(FAINT)
    canvas.setLineWidth(0.12)
    foot = np.column_stack([flat.x_mm, flat.rise_mm])
    head = foot + np.column_stack([0 * flat.girth_mm, flat.girth_mm])
    for a, b in zip(scale(foot), scale(head), strict=True):
        canvas.line(*a, *b)


def _seams(book: Book, canvas: Any, flat: Flat, scale: _Scale) -> None:
    canvas.setStrokeColor(INK)
    canvas.setLineWidth(0.4)
    strakes = bands(flat, book.lining)
    for band in strakes:
        _run(canvas, scale(band.upper))
    canvas.setLineWidth(0.9)
    _run(canvas, scale(strakes[0].lower))
    _run(canvas, scale(flat.sheer))
    for end in (flat.stem, flat.stern):
        if end is not None:
            _run(canvas, scale(end[:, 1:]))


def _run(canvas: Any, points: Floats) -> None:
    if len(points) < 2:
        return
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    canvas.drawPath(path)


def _butts(book: Book, canvas: Any, flat: Flat, scale: _Scale) -> None:
    canvas.setStrokeColor(BLUE)
    canvas.setLineWidth(1.4)
    strakes = bands(flat, book.lining)
    for butt in (book.starboard or book.layout).butts if book.layout else ():
        x = float(np.interp(butt.landing / 2, np.arange(len(flat.x_mm)), flat.x_mm))
        low, high = strakes[butt.strake].edges_at(x)
        (x, y0), (_, y1) = scale(np.array([[x, low], [x, high]]))
        canvas.line(x, y0 + 0.6, x, y1 - 0.6)
