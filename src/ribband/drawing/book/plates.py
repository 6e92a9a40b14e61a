"""Drawings in the book: each on a page of its own, as large as its paper, at its true scale.

The running head lies in the drawing's margin. A drawing larger than the greatest fold-out is made
to fit it, and the page says that its scale no longer holds.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from reportlab.platypus import NextPageTemplate, PageBreak

from ribband.drawing.book.flow import Plate, Story
from ribband.drawing.book.model import Book
from ribband.drawing.book.style import mm
from ribband.drawing.pdf import draw
from ribband.drawing.sheet import Box, Sheet

__all__ = ["FOLDOUT", "Leaf", "leaf_of", "plates", "sheets_of"]

FOLDOUT = (297.0, 420.0)  # A3, mm; the longer way round as the drawing is


@dataclass(frozen=True, slots=True)
class Leaf:
    """The page a drawing is put on, points, and how much it is reduced."""

    name: str
    width: float
    height: float
    reduced: float


def sheets_of(book: Book, name: str) -> tuple[Sheet, ...]:
    """Give the drawings of a name, none to several."""
    found = book.sheets.get(name, ())
    return (found,) if isinstance(found, Sheet) else tuple(found)


def leaf_of(sheet: Sheet) -> Leaf:
    """Choose the page: the drawing's own paper, or the fold-out where that is too large."""
    wide, high = sheet.page.width_mm, sheet.page.height_mm
    most = FOLDOUT if high > wide else FOLDOUT[::-1]
    by = min(1.0, most[0] / wide, most[1] / high)
    if (2 * 279.4 >= wide >= high) and by > 0.96:  # tabloid is a little longer than A3
        by = 1.0
    width, height = round(wide * by, 1), round(high * by, 1)
    return Leaf(f"leaf {width} {height} {by:.3f}", width * mm, height * mm, by)


def plates(book: Book, name: str, section: tuple[str, str] | None = None) -> Story:
    """Set the drawings of a name, each on its own leaf, and go back to text pages.

    `section` (key, title) makes the first leaf the beginning of a section.
    """
    story: Story = []
    for sheet in sheets_of(book, name):
        leaf = leaf_of(sheet)
        plate = Plate(_player(sheet, leaf), (leaf.width, leaf.height))
        plate.entry = (1, f"plate {name} {sheet.name} {sheet.number}", _called(sheet))
        if section and not story:
            plate.entry = (0, *section)
        story += [NextPageTemplate(leaf.name), PageBreak(), plate]
    return [*story, NextPageTemplate("text"), PageBreak()] if story else []


def _called(sheet: Sheet) -> str:
    part = f", sheet {sheet.number} of {sheet.of}" if sheet.of > 1 else ""
    return f"{sheet.title.drawing}{part}"


def _player(sheet: Sheet, leaf: Leaf) -> Any:
    def play(canvas: Any, width: float, height: float) -> None:
        draw(canvas, sheet, Box(0.0, 0.0, width / mm, height / mm))

    return play
