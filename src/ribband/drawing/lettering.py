"""How long a line of lettering comes out, and how a note breaks into lines.

The height of lettering is the height of a capital, in mm on the paper, as on a drawing board;
the size a font is set at is larger (`size_mm`). The faces are those of `fonts`.
"""

from __future__ import annotations

from functools import cache, lru_cache
from typing import Any

from ribband.drawing.fonts import font_file

__all__ = ["cut_to", "face_for", "lacking", "size_mm", "subset", "width_mm", "wrap"]

_CAPITAL = {"Sans": 0.660, "Serif": 0.670}  # capital height over the em, of our two families


def size_mm(height_mm: float, face: str = "Sans") -> float:
    """Give the size to set a font at so that its capitals stand `height_mm`.

    >>> round(size_mm(1.8), 2)
    2.73
    """
    return height_mm / _CAPITAL[face.partition("-")[0]]


@lru_cache(maxsize=20_000)  # the same words stand on sheet after sheet
def width_mm(text: str, height_mm: float, face: str = "Sans") -> float:
    """Give the length of a line of lettering, mm.

    >>> 8 < width_mm("0-4-1", 3.0) < 11
    True
    """
    table, otherwise = _widths(face)
    size = size_mm(height_mm, face)
    return sum(table.get(ord(c), otherwise) for c in text) * size / 1000.0


@lru_cache(maxsize=2_000)
def wrap(text: str, room_mm: float, height_mm: float, face: str = "Sans") -> tuple[str, ...]:
    """Break `text` between words into lines no longer than `room_mm`.

    >>> wrap("frames upright and girths laid up", 30.0, 2.0)
    ('frames upright and', 'girths laid up')
    """
    lines = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width_mm(longer, height_mm, face) > room_mm:
            lines.append(word)
        else:
            lines[-1] = longer
    return tuple(lines)


def face_for(text: str, face: str) -> str:
    """Give the face to letter `text` in: the upright one where the italic lacks a letter of it.

    >>> face_for("Marl Heron", "Serif-Italic"), face_for("Жанна", "Serif-Italic")
    ('Serif-Italic', 'Serif')
    """
    if text.isascii() or "Italic" not in face:
        return face
    upright = face.replace("Italic", "").rstrip("-")
    lacking, still = (sum(ord(c) not in _widths(f)[0] for c in text) for f in (face, upright))
    return upright if still < lacking else face


def lacking(text: str, faces: tuple[str, ...] = ("Sans", "Serif")) -> str:
    """Give the letters of `text` that one of the faces has not got, each once.

    >>> lacking("Marl Heron"), lacking("Жанна 海")
    ('', '海')
    """
    if text.isascii():
        return ""
    own = [_widths(face)[0] for face in faces]
    each = dict.fromkeys(c for c in text if not c.isspace())
    return "".join(c for c in each if any(ord(c) not in widths for widths in own))


def cut_to(text: str, room_mm: float, height_mm: float, face: str = "Sans") -> str:
    """Give `text`, or as much of it as goes into the room with an ellipsis after it.

    >>> cut_to("Ebbmere Slip", 30.0, 1.8), cut_to("Ebbmere Slip", 8.0, 1.8)
    ('Ebbmere Slip', 'Ebb…')
    """
    if width_mm(text, height_mm, face) <= room_mm * (1 + 1e-9):
        return text
    kept = text
    while kept and width_mm(f"{kept}…", height_mm, face) > room_mm:
        kept = kept[:-1]
    return f"{kept.rstrip()}…"


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


@cache
def _widths(face: str) -> tuple[dict[int, float], float]:
    from reportlab.pdfbase.ttfonts import TTFontFile  # noqa: PLC0415 - heavy, only when lettering

    font: Any = TTFontFile(str(font_file(face)))
    return dict(font.charWidths), float(font.defaultWidth)
