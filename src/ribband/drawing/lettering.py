"""How long a line of lettering comes out, and how a note breaks into lines.

The height of lettering is the height of a capital, in mm on the paper, as on a drawing board;
the size a font is set at is larger (`size_mm`). The faces are those of `fonts`; letters they have
not got are measured as they are written in words (`letters`).
"""

from __future__ import annotations

from functools import lru_cache

from ribband.drawing.letters import readable, widths

__all__ = ["cut_to", "size_mm", "width_mm", "wrap"]

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
    table, otherwise = widths(face)
    size = size_mm(height_mm, face)
    return sum(table.get(ord(c), otherwise) for c in readable(text, face)) * size / 1000.0


@lru_cache(maxsize=2_000)
def wrap(text: str, room_mm: float, height_mm: float, face: str = "Sans") -> tuple[str, ...]:
    """Break `text` between words into lines no longer than `room_mm`.

    >>> wrap("frames upright and girths laid up", 30.0, 2.0)
    ('frames upright and', 'girths laid up')
    """
    lines = [""]
    for word in readable(text, face).split():
        longer = f"{lines[-1]} {word}".strip()
        if lines[-1] and width_mm(longer, height_mm, face) > room_mm:
            lines.append(word)
        else:
            lines[-1] = longer
    return tuple(lines)


def cut_to(text: str, room_mm: float, height_mm: float, face: str = "Sans") -> str:
    """Give `text`, or as much of it as goes into the room with an ellipsis after it.

    >>> cut_to("Ebbmere Slip", 30.0, 1.8), cut_to("Ebbmere Slip", 8.0, 1.8)
    ('Ebbmere Slip', 'Ebb…')
    """
    if width_mm(text, height_mm, face) <= room_mm * (1 + 1e-9):
        return text
    kept = readable(text, face)
    while kept and width_mm(f"{kept}…", height_mm, face) > room_mm:
        kept = kept[:-1]
    return f"{kept.rstrip()}…"
