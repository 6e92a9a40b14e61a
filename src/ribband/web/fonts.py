"""The faces of the pages: the same as on the drawings, straight from the font packages."""

from __future__ import annotations

import gzip
from functools import lru_cache
from pathlib import Path

from ribband.app.papers.faces import face_file

__all__ = ["FACES", "font_path", "packed"]

FACES = {
    "sans": "Sans",
    "sans-italic": "Sans-Italic",
    "sans-semibold": "Sans-Semibold",
    "serif": "Serif",
    "serif-italic": "Serif-Italic",
    "serif-semibold": "Serif-Semibold",
}


def font_path(name: str) -> Path | None:
    """Find the file of a face by its name on the pages; None if there is no such face.

    >>> font_path("serif.ttf").suffix, font_path("other.ttf")
    ('.ttf', None)
    """
    face = FACES.get(name.removesuffix(".ttf"))
    return None if face is None else face_file(face)


@lru_cache(maxsize=len(FACES))
def packed(path: Path) -> bytes:
    """Give a face packed with gzip, once for every browser: half of what there is to send."""
    return gzip.compress(path.read_bytes(), 6, mtime=0)
