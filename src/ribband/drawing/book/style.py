"""How the book is set: sizes, inks and paragraph styles.

Serif for what is read once (titles, captions), sans for text and figures. Rules are thin, inks
few: black, a blue for what leads the eye, a red for what must not be missed; every use of red
also says so in words, since a book is often copied in black.
"""

from __future__ import annotations

from reportlab.lib.colors import HexColor
from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.units import mm

__all__ = [
    "BLUE",
    "FAINT",
    "HAIR",
    "INK",
    "MARGINS",
    "PAPERS",
    "RED",
    "STYLES",
    "TINT",
    "WHITE",
    "cover_style",
    "mm",
    "text_width",
]

INK = HexColor("#1b1b1b")
FAINT = HexColor("#6d7276")
HAIR = HexColor("#c9c4b8")
BLUE = HexColor("#274a6d")
RED = HexColor("#9a2a1c")
TINT = HexColor("#f4f1e9")
WHITE = HexColor("#ffffff")

PAPERS = {"A4": (210 * mm, 297 * mm), "letter": (215.9 * mm, 279.4 * mm)}
LONG_NAME = 44  # letters, two lines of the cover
MARGINS = {"left": 27 * mm, "right": 25 * mm, "top": 29 * mm, "bottom": 24 * mm}

_BODY = ParagraphStyle(
    "body", fontName="Sans", bulletFontName="Sans",
    fontSize=9.8, leading=13.6, textColor=INK, spaceAfter=6,
    rightIndent=22 * mm, allowWidows=0, allowOrphans=0,
)  # fmt: skip
_CELL = ParagraphStyle(
    "cell", parent=_BODY, fontSize=8.6, leading=11.2, rightIndent=0, spaceAfter=0
)
_HEAD = ParagraphStyle(
    "section", fontName="Serif-Semibold", fontSize=19, leading=23, textColor=INK, spaceAfter=9,
    spaceBefore=18, keepWithNext=1,
)  # fmt: skip


def _with(name: str, parent: ParagraphStyle, **more: object) -> ParagraphStyle:
    return ParagraphStyle(name, parent=parent, **more)


STYLES = {
    style.name: style
    for style in (
        _BODY,
        _CELL,
        _HEAD,
        _with("small", _BODY, fontSize=8.6, leading=11.6, textColor=FAINT),
        _with("sub", _HEAD, fontSize=12.5, leading=16, spaceBefore=12, spaceAfter=4,
              keepWithNext=0),
        _with("list", _BODY, leftIndent=11, bulletIndent=0, spaceAfter=3),
        _with("boxed list", _BODY, fontSize=9.2, leading=12.2, leftIndent=11, spaceAfter=3,
              rightIndent=0),
        _with("cover", _HEAD, fontSize=40, leading=45, spaceBefore=0, spaceAfter=7, keepWithNext=0),
        _with("long cover", _HEAD, fontSize=27, leading=31, spaceBefore=0, spaceAfter=7,
              keepWithNext=0),
        _with("kicker", _BODY, fontName="Serif-Italic", fontSize=14, leading=18, textColor=BLUE,
              spaceAfter=2),
        _with("under", _BODY, fontSize=10.4, leading=14, spaceAfter=8, rightIndent=0),
        _with("boxed", _CELL, fontSize=9.2, leading=12.4, spaceAfter=2),
        _with("boxhead", _CELL, fontName="Sans-Semibold", fontSize=10, leading=13.5, spaceAfter=3),
    )
}  # fmt: skip


def text_width(paper: str) -> float:
    """Give the width between the margins, points."""
    return float(PAPERS[paper][0] - MARGINS["left"] - MARGINS["right"])


def cover_style(vessel: str) -> str:
    """Name the style her name is set in on the cover: a smaller one where it is long.

    >>> cover_style("Marl Heron")
    'cover'
    """
    return "cover" if len(vessel) <= LONG_NAME else "long cover"
