"""The faces the pages are set in: those of the drawings."""

from __future__ import annotations

from pathlib import Path

__all__ = ["face_file"]


def face_file(face: str) -> Path:
    """Find the file of a face.

    Raises
    ------
    FileNotFoundError : its package is not installed

    >>> face_file("Sans").exists()
    True
    """
    from ribband.drawing.fonts import font_file

    return font_file(face)
