"""Sheets as PDF: true to scale, letters embedded, the same sheets giving the same bytes.

`write` makes a file of sheets, each page as large as its paper, with a bookmark to each. `draw`
puts a sheet into a rectangle of a canvas that somebody else keeps (the planking book). Print at
100 %, without fitting to the page: the check bar tells whether that was done.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from functools import cache
from pathlib import Path
from typing import Any

from ribband.drawing.embedding import register
from ribband.drawing.lettering import size_mm, width_mm
from ribband.drawing.sheet import (
    PAPER,
    Box,
    Circle,
    Curve,
    Fill,
    Plain,
    Point,
    Polyline,
    Sheet,
    Style,
    Text,
    plain,
    stretched,
)

__all__ = ["MM", "draw", "write"]

MM = 72.0 / 25.4  # points in a millimetre


def write(sheets: Sheet | Sequence[Sheet], path: Path) -> Path:
    """Write the sheets to one file, a page to each."""
    from reportlab import rl_config  # noqa: PLC0415 - heavy, only when printing
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415

    rl_config.useA85 = 0  # plain bytes: writing them as letters takes a third of the time

    sheets = [sheets] if isinstance(sheets, Sheet) else list(sheets)
    canvas = Canvas(str(path), invariant=1, pageCompression=1)
    title = sheets[0].title
    canvas.setTitle(f"{title.vessel}: {title.drawing}")
    canvas.setSubject(title.drawing)
    canvas.setAuthor(title.yard or "Ribband")
    canvas.setCreator("Ribband")
    for sheet in sheets:
        page = sheet.page
        canvas.setPageSize((page.width_mm * MM, page.height_mm * MM))
        _bookmark(canvas, sheet)
        draw(canvas, sheet)
        canvas.showPage()
    canvas.save()
    return path


def draw(canvas: Any, sheet: Sheet, into: Box | None = None) -> None:
    """Draw a sheet on a canvas, its lower left corner in that of `into` (mm from the page's).

    The sheet is drawn true to size; where it is larger than `into` it is made to fit, and then
    its stated scale no longer holds (its scale bar does). None: the whole page.
    """
    register()
    page = sheet.page
    box = into or Box(0.0, 0.0, page.width_mm, page.height_mm)
    shrink = min(1.0, box.width / page.width_mm, box.height / page.height_mm)
    canvas.saveState()
    canvas.scale(MM, MM)
    canvas.translate(box.left, box.lower)
    canvas.scale(shrink, shrink)
    _play(canvas, sheet)
    canvas.restoreState()


def _bookmark(canvas: Any, sheet: Sheet) -> None:
    key = f"sheet-{canvas.getPageNumber()}"
    canvas.bookmarkPage(key)
    part = f", sheet {sheet.number} of {sheet.of}" if sheet.of > 1 else ""
    canvas.addOutlineEntry(f"{sheet.title.drawing}{part}", key, 0)


def _play(canvas: Any, sheet: Sheet) -> None:
    up, scale = sheet.stretch, sheet.scale
    drawn = list(plain([stretched(i, up) for i in sheet.items], scale))
    on_paper = list(plain(sheet.paper, 1.0))
    canvas.saveState()
    _clip(canvas, sheet.window)
    canvas.translate(*sheet.origin)
    canvas.scale(scale, scale)
    _layers(canvas, sheet, drawn, scale)
    canvas.restoreState()
    _layers(canvas, sheet, on_paper, 1.0)
    canvas.saveState()
    _clip(canvas, sheet.window)
    x, y = sheet.origin
    _letters(
        canvas, sheet, [(t, (x + t.at[0] * scale, y + t.at[1] * scale)) for t in _texts(drawn)]
    )
    canvas.restoreState()
    _letters(canvas, sheet, [(t, t.at) for t in _texts(on_paper)])


def _texts(items: Iterable[Plain]) -> list[Text]:
    return [i for i in items if isinstance(i, Text)]


def _clip(canvas: Any, window: Box | None) -> None:
    if window:
        path = canvas.beginPath()
        path.rect(window.left, window.lower, window.width, window.height)
        canvas.clipPath(path, stroke=0, fill=0)


def _layers(canvas: Any, sheet: Sheet, items: Sequence[Plain], scale: float) -> None:
    for name, style in sheet.styles.items():
        shapes = [i for i in items if i.layer == name and not isinstance(i, Text)]
        if shapes:
            _pen(canvas, style, scale)
            for item in shapes:
                _shape(canvas, item, style)


def _pen(canvas: Any, style: Style, scale: float) -> None:
    canvas.setStrokeColor(_ink(style.colour))
    canvas.setLineWidth(style.weight_mm / scale)
    canvas.setLineCap(1)
    canvas.setLineJoin(1)
    canvas.setDash([d / scale for d in style.dash_mm])


@cache
def _ink(colour: str) -> Any:
    from reportlab.lib.colors import HexColor  # noqa: PLC0415

    return HexColor(colour)


def _shape(canvas: Any, item: Plain, style: Style) -> None:
    match item:
        case Circle():
            canvas.setFillColor(_ink(style.colour))
            canvas.circle(*item.at, item.radius, stroke=1, fill=int(item.filled))
        case Polyline():
            canvas.drawPath(_path(canvas, item.points, closed=item.closed), stroke=1, fill=0)
        case Curve():
            path = _path(canvas, (item.start,))
            for a, b, c in item.pieces:
                path.curveTo(*a, *b, *c)
            canvas.drawPath(path, stroke=1, fill=0)
        case Fill():
            canvas.setFillColor(_ink(item.colour or style.fill or PAPER))
            canvas.drawPath(_path(canvas, item.points, closed=True), stroke=0, fill=1)
        case Text():
            raise TypeError("lettering is drawn apart")


def _path(canvas: Any, points: Sequence[Point], *, closed: bool = False) -> Any:
    path = canvas.beginPath()
    path.moveTo(*points[0])
    for point in points[1:]:
        path.lineTo(*point)
    if closed:
        path.close()
    return path


def _letters(canvas: Any, sheet: Sheet, texts: Sequence[tuple[Text, Point]]) -> None:
    order = {name: i for i, name in enumerate(sheet.styles)}
    for text, at in sorted(texts, key=lambda pair: order[pair[0].layer]):
        canvas.saveState()
        canvas.translate(*at)
        canvas.rotate(math.degrees(text.turn_rad))
        _letter(canvas, text, sheet.styles[text.layer].colour)
        canvas.restoreState()


def _letter(canvas: Any, text: Text, colour: str) -> None:
    long, high = width_mm(text.text, text.height_mm, text.face), text.height_mm
    x = {"left": 0.0, "centre": -long / 2, "right": -long}[text.align]
    y = {"base": 0.0, "middle": -high / 2, "top": -high}[text.rest]
    if text.mask:
        canvas.setFillColor(_ink(PAPER))
        canvas.rect(x - 0.3, y - 0.3, long + 0.6, high + 0.6, stroke=0, fill=1)
    canvas.setFillColor(_ink(colour))
    canvas.setFont(text.face, size_mm(high, text.face))
    canvas.drawString(x, y, text.text)
