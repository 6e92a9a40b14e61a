"""The pieces pages are made of besides tables: headings, paragraphs, boxes, plates, pairs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any
from xml.sax.saxutils import escape

from reportlab.lib.styles import ParagraphStyle
from reportlab.lib.utils import simpleSplit
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Flowable, Paragraph, Spacer

from ribband.drawing.book.style import FAINT, HAIR, INK, RED, STYLES, TINT
from ribband.drawing.letters import face_for

__all__ = ["Box", "IfRoom", "Pairs", "Plate", "Story", "boxed", "bullet", "heading", "say", "space"]

Story = list[Flowable]
PAIR = 15.0  # points from line to line of `Pairs`
PAIR_LINE = 9.0  # from one line to the next of one text
LEAST_PAIR = 7.0  # points, how small a text is set before it is broken into lines


def say(text: str, style: str = "body") -> Paragraph:
    """Set plain text (no markup) in a style, in another face where its own lacks a letter."""
    own = STYLES[style]
    face = face_for(text, own.fontName)
    fit = own if face == own.fontName else ParagraphStyle(f"{style} {face}", own, fontName=face)
    return Paragraph(escape(text), fit)


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
        column = (width - 18) / 2
        self.set = [[_pair(label, text, column) for label, text in rows] for rows in self.sides]
        self.tall = max(sum(map(self._high, rows)) for rows in self.set) + 2
        return width, self.tall

    def draw(self) -> None:
        """Draw both columns."""
        column = (self.room - 18) / 2
        for k, rows in enumerate(self.set):
            low = self.tall
            for row in rows:
                low -= self._high(row)
                self._line((k * (column + 18), low + 4), column, row)

    def _high(self, row: _Pair) -> float:
        return self.pitch + PAIR_LINE * (len(row.lines) - 1)

    def _line(self, at: tuple[float, float], wide: float, row: _Pair) -> None:
        canvas, (x, low) = self.canv, at
        canvas.setStrokeColor(HAIR)
        canvas.setLineWidth(0.4)
        canvas.line(x, low - 4, x + wide, low - 4)
        y = low + PAIR_LINE * (len(row.lines) - 1)
        canvas.setFillColor(FAINT)
        canvas.setFont(face_for(row.label, "Sans-Italic"), 8.4)
        canvas.drawString(x, y, row.label)
        canvas.setFillColor(INK)
        canvas.setFont("Sans-Semibold", row.size)
        for n, line in enumerate(row.lines):
            canvas.drawRightString(x + wide, y - PAIR_LINE * n, line)


@dataclass(frozen=True, slots=True)
class _Pair:
    """A label with its text as it is set: its lines, and the size that lets them in."""

    label: str
    lines: tuple[str, ...]
    size: float


def _pair(label: str, text: str, wide: float) -> _Pair:
    """Set a text beside its label: smaller where it is long, in several lines where longer."""
    room, size = wide - stringWidth(label, face_for(label, "Sans-Italic"), 8.4) - 8, 9.0
    while stringWidth(text, "Sans-Semibold", size) > room:
        size -= 0.2
        if size < LEAST_PAIR:
            lines = simpleSplit(text, "Sans-Semibold", LEAST_PAIR, room)
            return _Pair(label, tuple(lines), LEAST_PAIR)
    return _Pair(label, (text,), size)


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
