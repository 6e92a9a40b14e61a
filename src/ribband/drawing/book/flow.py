"""The pieces pages are made of besides tables: headings, paragraphs, boxes, plates, pairs."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any
from xml.sax.saxutils import escape

from reportlab.platypus import Flowable, Paragraph, Spacer

from ribband.drawing.book.style import FAINT, HAIR, INK, RED, STYLES, TINT

__all__ = ["Box", "IfRoom", "Pairs", "Plate", "Story", "boxed", "bullet", "heading", "say", "space"]

Story = list[Flowable]
PAIR = 15.0  # points from line to line of `Pairs`


def say(text: str, style: str = "body") -> Paragraph:
    """Set plain text (no markup) in a style."""
    return Paragraph(escape(text), STYLES[style])


def bullet(text: str) -> Paragraph:
    """Set one item of a list."""
    return Paragraph(escape(text), STYLES["list"], bulletText="–")


def boxed(text: str) -> Paragraph:
    """Set one item of a list inside a box."""
    return Paragraph(escape(text), STYLES["boxed list"], bulletText="–")


def space(points: float) -> Spacer:
    """Leave some air."""
    return Spacer(1, points)


def heading(text: str, key: str, level: int = 0) -> Paragraph:
    """Set a heading that the contents and the outline know by `key`."""
    part = say(text, "section" if level == 0 else "sub")
    part.entry = (level, key, text)
    return part


class Box(Flowable):  # type: ignore[misc]
    """A box round a few paragraphs; `loud` gives it the heavy red frame of a warning."""

    def __init__(self, parts: Sequence[Flowable], *, loud: bool = False) -> None:
        super().__init__()
        self.parts, self.loud = list(parts), loud
        self.spaceBefore, self.spaceAfter = 6, 10

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Measure the paragraphs within."""
        self.room = width
        self.sizes = [part.wrap(width - 26, 10_000)[1] for part in self.parts]
        gaps = sum(part.getSpaceAfter() for part in self.parts[:-1])
        self.tall = sum(self.sizes) + gaps + 20
        return width, self.tall

    def draw(self) -> None:
        """Draw the box and what is in it."""
        canvas = self.canv
        canvas.setFillColor(TINT)
        canvas.setStrokeColor(RED if self.loud else HAIR)
        canvas.setLineWidth(1.6 if self.loud else 0.5)
        canvas.rect(0, 0, self.room, self.tall, fill=1)
        if self.loud:
            canvas.setFillColor(RED)
            canvas.rect(0, 0, 5, self.tall, stroke=0, fill=1)
        y = self.tall - 9
        for part, high in zip(self.parts, self.sizes, strict=True):
            part.drawOn(canvas, 15, y - high)
            y -= high + part.getSpaceAfter()


class IfRoom(Box):
    """A box that is left out where the page has no room for it."""

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Measure it, as nothing where it is taller than what is left of the page."""
        size = super().wrap(width, height)
        self.shown = size[1] <= height
        return size if self.shown else (width, 0.0)

    def draw(self) -> None:
        """Draw it, if it is shown."""
        if self.shown:
            super().draw()


class Pairs(Flowable):  # type: ignore[misc]
    """Two columns of label and text, each line over a hair rule."""

    def __init__(
        self, left: list[tuple[str, str]], right: list[tuple[str, str]], pitch: float = PAIR
    ) -> None:
        super().__init__()
        self.sides, self.pitch = (left, right), pitch

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Measure it."""
        self.room = width
        self.tall = self.pitch * max(map(len, self.sides)) + 2
        return width, self.tall

    def draw(self) -> None:
        """Draw both columns."""
        column = (self.room - 18) / 2
        for k, rows in enumerate(self.sides):
            for n, (label, text) in enumerate(rows):
                at = (k * (column + 18), self.tall - self.pitch * (n + 1) + 4)
                self._line(at, column, label, text)

    def _line(self, at: tuple[float, float], wide: float, label: str, text: str) -> None:
        canvas, (x, y) = self.canv, at
        canvas.setStrokeColor(HAIR)
        canvas.setLineWidth(0.4)
        canvas.line(x, y - 4, x + wide, y - 4)
        canvas.setFillColor(FAINT)
        canvas.setFont("Sans-Italic", 8.4)
        canvas.drawString(x, y, label)
        canvas.setFillColor(INK)
        room, size = wide - canvas.stringWidth(label, "Sans-Italic", 8.4) - 8, 9.0
        while canvas.stringWidth(text, "Sans-Semibold", size) > room and size > 6.2:
            size -= 0.2
        canvas.setFont("Sans-Semibold", size)
        canvas.drawRightString(x + wide, y, text)


class Plate(Flowable):  # type: ignore[misc]
    """A drawing of a fixed size; `play` draws it on the canvas in a width and height, points."""

    def __init__(self, play: Any, size: tuple[float, float]) -> None:
        super().__init__()
        self.play, self.size = play, size

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Give its size."""
        return self.size

    def draw(self) -> None:
        """Let it be drawn."""
        self.play(self.canv, *self.size)
