"""The planking book: one PDF that a lead shipwright, an owner and a surveyor read."""

from __future__ import annotations

from pathlib import Path

from ribband.drawing.book.model import Book, Proof

__all__ = ["Book", "Proof", "write"]


def write(book: Book, path: Path) -> None:
    """Write the book to a PDF at `path`; the same book gives the same bytes.

    Raises
    ------
    OSError : the file cannot be written
    """
    from ribband.drawing.book.press import press  # noqa: PLC0415 - heavy, only when printing

    press(book, path)
