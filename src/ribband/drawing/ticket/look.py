"""How a ticket looks: layers, heights and the pitch of its lines."""

from __future__ import annotations

from ribband.drawing.sheet import INK, Style

__all__ = ["CAP", "LOOK", "PITCH", "RED", "TINT", "row_pitch"]

RED = "#9a2a1c"
TINT = "#f4f1e9"
_GREY = "#55595d"
_BLUE = "#274a6d"
CAP, PITCH = 2.4, 4.3  # of the facts, mm

LOOK: dict[str, Style] = {  # bottom to top
    "tint": Style(0.0, INK, (), TINT),
    "code": Style(0.0, "#000000", (), "#000000"),
    "hair": Style(0.1, "#b9b4a8"),
    "rules": Style(0.2, INK),
    "blank": Style(0.13, _GREY, (1.6, 1.0)),
    "batten line": Style(0.13, _BLUE, (4.0, 1.0, 1.0, 1.0)),
    "frames": Style(0.13, _GREY),
    "outline": Style(0.35, INK),
    "signs": Style(0.18, INK),
    "labels": Style(0.15, _GREY),
    "kicker": Style(0.15, _BLUE),
    "figures": Style(0.15, INK),
    "name": Style(0.25, INK),
    "warning": Style(0.5, RED),
}


def row_pitch(free_mm: float, count: int) -> tuple[float, int]:
    """Give the pitch of `count` lines of figures, and how many of them go in.

    Room for notes is left below: 34 mm where the figures can still be read with ease, else 6.
    Where they go on overleaf all the same, those on the first page are easy to read.

    >>> row_pitch(134.0, 20), row_pitch(112.0, 25), row_pitch(112.0, 60)
    ((5.0, 20), (3.4, 25), (4.4, 24))
    """
    lines = max(count, 1)
    easy, tight = (free_mm - 34.0) / lines, (free_mm - 6.0) / lines
    pitch = min(5.2, max(easy, min(3.4, tight)))
    pitch = pitch if pitch >= 2.65 else 4.4
    return pitch, min(count, max(1, int((free_mm - 6.0) / pitch + 1e-9)))
