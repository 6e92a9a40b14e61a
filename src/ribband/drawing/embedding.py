"""The faces put into a file, so that it is lettered alike wherever it is read: PDF and SVG.

A PDF's faces write the letters they have not got in words (`letters.readable`), whoever sets the
text: a drawing, a paragraph of the book or a cell of its tables.
"""

from __future__ import annotations

from functools import cache, lru_cache

from ribband.drawing.fonts import FACES, font_file
from ribband.drawing.letters import readable

__all__ = ["register", "subset"]


@cache
def register() -> None:
    """Make the faces known to the PDF library, and which is whose italic and bold."""
    from reportlab.pdfbase.pdfmetrics import (  # noqa: PLC0415 - heavy, only when printing
        registerFont,
        registerFontFamily,
    )
    from reportlab.pdfbase.ttfonts import TTFont  # noqa: PLC0415

    class Readable(TTFont):  # type: ignore[misc]
        """A face that measures and writes what it has not got in words."""

        def stringWidth(self, text: str, size: float, encoding: str = "utf8") -> float:  # noqa: N802
            return float(super().stringWidth(readable(text, self.fontName), size, encoding))

        def splitString(  # noqa: N802
            self, text: str, doc: object, encoding: str = "utf-8"
        ) -> list[tuple[int, bytes]]:
            pieces: list[tuple[int, bytes]] = super().splitString(
                readable(text, self.fontName), doc, encoding
            )
            return pieces

    for face in FACES:
        registerFont(Readable(face, str(font_file(face))))
    for family in ("Sans", "Serif"):
        registerFontFamily(
            family,
            normal=family,
            bold=f"{family}-Semibold",
            italic=f"{family}-Italic",
            boldItalic=f"{family}-SemiboldItalic",
        )


@lru_cache(maxsize=64)
def subset(face: str, characters: str) -> bytes:
    """Give the font file of `face` cut down to `characters`, for embedding."""
    from io import BytesIO  # noqa: PLC0415 - heavy, only when a screen drawing is written

    from fontTools.subset import (  # type: ignore[import-untyped] # noqa: PLC0415
        Options,
        Subsetter,
    )
    from fontTools.ttLib import TTFont  # type: ignore[import-untyped] # noqa: PLC0415

    options = Options(layout_features=["kern"], hinting=False, notdef_outline=True)
    cutter, out = Subsetter(options), BytesIO()
    cutter.populate(text=characters)
    with TTFont(str(font_file(face)), recalcTimestamp=False, lazy=True) as font:
        cutter.subset(font)
        font.save(out)
    return out.getvalue()
