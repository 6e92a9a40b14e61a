"""A sheet as SVG: for the screen, and for whoever draws on.

The file stands alone (its letters are embedded, cut down to those used) and is as large as the
paper: width and height in mm. The drawing itself is one group whose coordinates are full-size
millimetres, absolute, at 0.01 mm, with y down (heights times `data-stretch` where girths are
drawn larger than lengths); one matrix brings it to the scale. Everything else is in mm on the
paper.
"""

from __future__ import annotations

import base64
from collections.abc import Iterable, Sequence
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

from ribband.drawing.embedding import subset
from ribband.drawing.lettering import size_mm, width_mm
from ribband.drawing.sheet import (
    PAPER,
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

__all__ = ["write", "written"]

_ANCHOR = {"left": "start", "centre": "middle", "right": "end"}
_FALLBACK = {"Serif": "Georgia, serif", "Sans": "Helvetica, Arial, sans-serif"}


def write(sheet: Sheet, path: Path) -> Path:
    """Write `sheet` to `path`; the same sheet gives the same bytes."""
    path.write_text(written(sheet), "utf-8")
    return path


def written(sheet: Sheet) -> str:
    """Give `sheet` as the text of an SVG file."""
    up = sheet.stretch
    drawn = list(plain([stretched(i, up) for i in sheet.items], sheet.scale))
    on_paper = list(plain(sheet.paper, 1.0))
    texts = [i for i in drawn if isinstance(i, Text)]
    lettering = [(t, _placed(sheet, t.at)) for t in texts]
    lettering += [(t, t.at) for t in on_paper if isinstance(t, Text)]
    body = [
        *_head(sheet, [t for t, _ in lettering]),
        *_drawing(sheet, drawn),
        f'<g id="paper" transform="translate(0 {_n(sheet.page.height_mm)})">',
        *_layers(sheet, on_paper, 1.0, "paper-"),
        "</g>",
        f'<g id="lettering"{_clip(sheet)}>',
        *_letters(sheet, lettering[: len(texts)]),
        "</g>",
        '<g id="paper-lettering">',
        *_letters(sheet, lettering[len(texts) :]),
        "</g>",
        "</svg>",
    ]
    return "\n".join(body) + "\n"


def _placed(sheet: Sheet, at: Point) -> Point:
    """Where a point whose height is already stretched falls on the paper."""
    x, y = sheet.origin
    return x + at[0] * sheet.scale, y + at[1] * sheet.scale


def _head(sheet: Sheet, texts: Sequence[Text]) -> Iterable[str]:
    w, h, t = sheet.page.width_mm, sheet.page.height_mm, sheet.title
    yield '<?xml version="1.0" encoding="UTF-8"?>'
    yield (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{_n(w)}mm" height="{_n(h)}mm" '
        f'viewBox="0 0 {_n(w)} {_n(h)}" data-unit="mm" data-scale="{sheet.scale:.9g}" '
        f'data-stretch="{sheet.stretch:.9g}" role="img" aria-labelledby="name about">'
    )
    yield f'<title id="name">{escape(f"{t.vessel}: {t.drawing}")}</title>'
    about = ", ".join(filter(None, [
        f"sheet {sheet.number} of {sheet.of}", t.side, t.date,
        f"revision {t.revision}" if t.revision else "",
    ]))  # fmt: skip
    yield f'<desc id="about">{escape(about)}</desc>'
    yield f"<style>{_faces(texts)}</style>"
    if sheet.window:
        b = sheet.window
        yield (
            f'<clipPath id="window"><rect x="{_n(b.left)}" y="{_n(h - b.upper)}" '
            f'width="{_n(b.width)}" height="{_n(b.height)}"/></clipPath>'
        )
    yield f'<rect width="{_n(w)}" height="{_n(h)}" fill="{PAPER}"/>'


def _faces(texts: Sequence[Text]) -> str:
    used: dict[str, set[str]] = {}
    for text in texts:
        used.setdefault(text.face, set()).update(text.text)
    out = []
    for face, letters in sorted(used.items()):
        data = base64.b64encode(subset(face, "".join(sorted(letters)))).decode()
        family = _FALLBACK[face.partition("-")[0]]
        out.append(
            f'@font-face{{font-family:"ribband {face}";src:url(data:font/ttf;base64,{data})}}'
            f'.{face}{{font-family:"ribband {face}",{family}}}'
        )
    return "".join(out)


def _clip(sheet: Sheet) -> str:
    return ' clip-path="url(#window)"' if sheet.window else ""


def _drawing(sheet: Sheet, drawn: Sequence[Plain]) -> Iterable[str]:
    x, y = sheet.origin
    s = f"{sheet.scale:.9g}"
    yield f'<g id="window-of-the-drawing"{_clip(sheet)}>'
    yield f'<g id="drawing" transform="matrix({s} 0 0 {s} {_n(x)} {_n(sheet.page.height_mm - y)})">'
    yield from _layers(sheet, drawn, sheet.scale, "")
    yield "</g></g>"


def _layers(sheet: Sheet, items: Sequence[Plain], scale: float, prefix: str) -> Iterable[str]:
    for name, style in sheet.styles.items():
        shapes = [i for i in items if i.layer == name and not isinstance(i, Text)]
        if shapes:
            yield f"<g id={quoteattr(prefix + name.replace(' ', '-'))} {_stroke(style, scale)}>"
            yield from (_shape(i, style) for i in shapes)
            yield "</g>"


def _stroke(style: Style, scale: float) -> str:
    dash = " ".join(f"{d / scale:.5g}" for d in style.dash_mm)
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    return (
        f'fill="none" stroke="{style.colour}" stroke-width="{style.weight_mm / scale:.5g}" '
        f'stroke-linecap="round" stroke-linejoin="round"{dashes}'
    )


def _shape(item: Plain, style: Style) -> str:
    match item:
        case Polyline():
            path = "M" + " L".join(map(_xy, item.points)) + (" Z" if item.closed else "")
            return f'<path d="{path}"/>'
        case Curve():
            pieces = " ".join(f"C{_xy(a)} {_xy(b)} {_xy(c)}" for a, b, c in item.pieces)
            return f'<path d="M{_xy(item.start)} {pieces}"/>'
        case Circle():
            filled = f' fill="{style.colour}"' if item.filled else ""
            x, y = item.at
            return f'<circle cx="{_n(x)}" cy="{_n(-y)}" r="{_n(item.radius)}"{filled}/>'
        case Fill():
            path = "M" + " L".join(map(_xy, item.points)) + " Z"
            return f'<path d="{path}" stroke="none" fill="{item.colour or style.fill or PAPER}"/>'
        case Text():
            raise TypeError("lettering is drawn apart")


def _letters(sheet: Sheet, texts: Sequence[tuple[Text, Point]]) -> Iterable[str]:
    order = {name: i for i, name in enumerate(sheet.styles)}
    for text, (x, y) in sorted(texts, key=lambda pair: order[pair[0].layer]):
        turn = f" rotate({-text.turn_rad * 57.29577951308232:.4g})" if text.turn_rad else ""
        down = {"base": 0.0, "middle": text.height_mm / 2, "top": text.height_mm}[text.rest]
        where = f"translate({_n(x)} {_n(sheet.page.height_mm - y)}){turn}"
        mask = _mask(text, down) if text.mask else ""
        yield (
            f'<g transform="{where}">{mask}<text class="{text.face}" y="{_n(down)}" '
            f'font-size="{size_mm(text.height_mm, text.face):.4g}" '
            f'fill="{sheet.styles[text.layer].colour}" text-anchor="{_ANCHOR[text.align]}">'
            f"{escape(text.text)}</text></g>"
        )


def _mask(text: Text, down: float) -> str:
    air, long = 0.3, width_mm(text.text, text.height_mm, text.face)
    left = {"left": 0.0, "centre": -long / 2, "right": -long}[text.align]
    high = text.height_mm
    return (
        f'<rect x="{_n(left - air)}" y="{_n(down - high - air)}" width="{_n(long + 2 * air)}" '
        f'height="{_n(high + 2 * air)}" fill="{PAPER}"/>'
    )


def _xy(point: Point) -> str:
    return f"{_n(point[0])},{_n(-point[1])}"


def _n(value: float) -> str:
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in {"-0", ""} else text
