"""The faces every drawing and the book are set in: Source Sans and Source Serif, embedded.

Both are under the SIL Open Font License and come as installed packages; their plain figures all
have one width, so columns of figures stand under each other without more ado. Names given here
are the names used in PDF. Nothing is fetched and no system font is looked for.
"""

from __future__ import annotations

from pathlib import Path

__all__ = ["FACES", "font_file"]

FACES = {
    "Sans": ("font_source_sans_pro", "SourceSansPro-Regular"),
    "Sans-Italic": ("font_source_sans_pro", "SourceSansPro-It"),
    "Sans-Semibold": ("font_source_sans_pro", "SourceSansPro-Semibold"),
    "Sans-SemiboldItalic": ("font_source_sans_pro", "SourceSansPro-SemiboldIt"),
    "Serif": ("font_source_serif_pro", "SourceSerifPro-Regular"),
    "Serif-Italic": ("font_source_serif_pro", "SourceSerifPro-It"),
    "Serif-Semibold": ("font_source_serif_pro", "SourceSerifPro-Semibold"),
    "Serif-SemiboldItalic": ("font_source_serif_pro", "SourceSerifPro-SemiboldIt"),
}


def font_file(face: str) -> Path:
    """Find the TrueType file of a face.

    >>> font_file("Sans").name
    'SourceSansPro-Regular.ttf'
    """
    import importlib.util  # noqa: PLC0415 - only when something is drawn

    package, stem = FACES[face]
    spec = importlib.util.find_spec(package)
    if spec is None or spec.origin is None:
        raise FileNotFoundError(f"the package {package} with the face {face} is not installed")
    return Path(spec.origin).parent / "files" / f"{stem}.ttf"
