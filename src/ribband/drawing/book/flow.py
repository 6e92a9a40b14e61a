"""The pieces pages are made of: headings, tables, boxes and plates.

A `Table` is set as in a good old handbook: a strong rule above and below, a thin one under the
heading, a little air after every fifth row, figures ranged right with their eighths in line. It
breaks anywhere between rows and repeats its heading; `across` sets it in several columns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, Literal
from xml.sax.saxutils import escape

from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Flowable, KeepTogether, Paragraph, Spacer

from ribband.drawing.book.style import BLUE, FAINT, HAIR, INK, RED, STYLES, TINT

__all__ = [
    "Box", "Col", "Group", "Loud", "Plate", "Sum", "Table", "bullet", "caption", "heading",
    "say", "space", "together",
]  # fmt: skip

Size = 8.6
LINE = 12.0
AIR = 2.6
GAP = 9.0
Story = list[Flowable]


def say(text: str, style: str = "body") -> Paragraph:
    """Set plain text (no markup) in a style."""
    return Paragraph(escape(text), STYLES[style])


def bullet(text: str) -> Paragraph:
    """Set one item of a list."""
    return Paragraph(escape(text), STYLES["list"], bulletText="–")


def space(points: float) -> Spacer:
    """Leave some air."""
    return Spacer(1, points)


def together(*parts: Flowable) -> KeepTogether:
    """Keep parts on one page where they fit on one."""
    return KeepTogether(list(parts))


def heading(text: str, key: str, level: int = 0) -> Paragraph:
    """Set a heading that the contents and the outline know by `key`."""
    part = say(text, "section" if level == 0 else "sub")
    part.entry = (level, key, text)
    return part


def caption(text: str) -> Paragraph:
    """Set the caption over a table."""
    return say(text, "caption")


@dataclass(frozen=True, slots=True)
class Col:
    """A column: heading (lines parted by a newline), how it ranges, and its share of the width.

    With a `share` the text wraps in that part of what is left over; without, the column is as
    wide as its longest cell. `ink` "faint" sets it grey.
    """

    head: str
    align: Literal["left", "right", "centre"] = "left"
    share: float = 0.0
    ink: Literal["ink", "faint"] = "ink"


@dataclass(frozen=True, slots=True)
class Group:
    """A line over the rows that follow: what they have in common, and a note at the right."""

    text: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Sum:
    """A row of totals, with a rule over it."""

    cells: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Loud:
    """A row that must be seen."""

    cells: tuple[str, ...]


Line = tuple[str, ...] | Group | Sum | Loud


@cache
def _wide(text: str, face: str, size: float) -> float:
    return float(stringWidth(text, face, size))


def _cells(row: Line) -> tuple[str, ...]:
    return row.cells if isinstance(row, (Sum, Loud)) else row if isinstance(row, tuple) else ()


def _signed(text: str) -> bool:
    """Tell whether a figure ends in the + or - of a sixteenth."""
    return len(text) > 1 and text[-1] in "+-" and text[-2].isdigit()


@dataclass(frozen=True, slots=True)
class _Set:
    """A table's measures, found once: where columns start, their widths, hanging signs."""

    left: tuple[float, ...]
    width: tuple[float, ...]
    hang: tuple[bool, ...]
    total: float
    heads: int


class Table(Flowable):  # type: ignore[misc]
    """A table of text and figures that breaks over pages with its heading repeated.

    even : spread the columns after the first evenly over the whole width
    fives : air after every fifth row
    """

    def __init__(
        self,
        cols: Sequence[Col],
        rows: Sequence[Line],
        *,
        title: str = "",
        across: int = 1,
        even: bool = False,
        fives: bool = True,
        size: float = Size,
    ) -> None:
        super().__init__()
        self.cols, self.rows = tuple(cols), list(rows)
        self.title, self.across, self.even, self.fives = title, across, even, fives
        self.size, self.continued = size, False
        self.line = LINE * size / Size
        self.spaceAfter = 10
        self._measures: _Set | None = None
        self._high: list[float] | None = None

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.room = width
        self._fit(width)
        return width, self._top() + self._tallest(self._columns(self.rows)) + 3

    def split(self, width: float, height: float) -> list[Flowable]:
        self.room = width
        self._fit(width)
        room = height - self._top() - 4
        fits = self._how_many(room)
        if fits < min(3, len(self.rows)):
            return []
        if fits >= len(self.rows):
            return [self]
        first, rest = self._part(0, fits), self._part(fits, len(self.rows))
        rest.continued = True
        return [first, rest]

    def draw(self) -> None:
        canvas = self.canv
        top = self._top() + self._tallest(self._columns(self.rows)) + 3
        if self.title:
            words = self.title + (" (continued)" if self.continued else "")
            canvas.setFillColor(INK)
            canvas.setFont("Serif-Italic", 10)
            canvas.drawString(0, top - 10, words)
        start = 0
        for k, run in enumerate(self._columns(self.rows)):
            self._draw_column(k * self._step(), top - self._titled(), run, start)
            start += len(run)

    # -- measures ---------------------------------------------------------------------------

    def _step(self) -> float:
        return (self.room + 7 * GAP / 3) / self.across

    def _fit(self, width: float) -> None:
        if self._measures is None:
            self._measures = self._measured(
                self._step() - 7 * GAP / 3 if self.across > 1 else width
            )
            self._high = [self._height(row) for row in self.rows]

    def _measured(self, room: float) -> _Set:
        natural = [self._natural(i) for i in range(len(self.cols))]
        shares = [col.share for col in self.cols]
        spare = room - sum(n for n, s in zip(natural, shares, strict=True) if not s)
        spare -= GAP * (len(self.cols) - 1)
        if sum(shares):
            width = [spare * s / sum(shares) if s else n
                     for n, s in zip(natural, shares, strict=True)]  # fmt: skip
            gap = GAP
        elif self.even:
            each = (room - natural[0]) / max(len(self.cols) - 1, 1)
            width, gap = [natural[0], *[each] * (len(self.cols) - 1)], 0.0
        else:
            width = natural
            gap = GAP + min(spare / max(len(self.cols) - 1, 1), 14.0)
        left = [sum(width[:i]) + gap * i for i in range(len(width))]
        hang = tuple(any(_signed(c[i]) for c in map(_cells, self.rows) if c)
                     for i in range(len(width)))  # fmt: skip
        heads = max(col.head.count("\n") + 1 for col in self.cols)
        return _Set(tuple(left), tuple(width), hang, left[-1] + width[-1], heads)

    def _natural(self, i: int) -> float:
        heads = [_wide(t, "Sans-Italic", self.size - 0.8) for t in self.cols[i].head.split("\n")]
        if self.cols[i].share:
            return max(heads)
        cells = [c[i] for c in map(_cells, self.rows) if c]
        longest = max((_wide(t, "Sans", self.size) for t in set(cells)), default=0.0)
        return max(longest, *heads) + 0.5

    def _height(self, row: Line) -> float:
        if isinstance(row, Group):
            return self.line + 7
        tall = max(
            (len(self._wrapped(i, t)) for i, t in enumerate(_cells(row)) if self.cols[i].share),
            default=1,
        )
        return self.line + (tall - 1) * (self.size + 2.2) + (4 if isinstance(row, Sum) else 0)

    def _wrapped(self, i: int, text: str) -> tuple[str, ...]:
        assert self._measures is not None
        return _broken(text, self._face(None), self.size, self._measures.width[i])

    def _titled(self) -> float:
        return 16.0 if self.title else 0.0

    def _top(self) -> float:
        assert self._measures is not None
        return self._titled() + 3 + self._measures.heads * (self.size + 1.4) + 7

    def _air(self, k: int, row: Line) -> float:
        return AIR if self.fives and k % 5 == 4 and isinstance(row, tuple) else 0.0

    def _columns(self, rows: list[Line]) -> list[list[Line]]:
        each = -(-len(rows) // self.across) if rows else 0
        if self.across > 1:
            each = -(-each // 5) * 5
        return [rows[k * each : (k + 1) * each] for k in range(self.across)] if each else [rows]

    def _tallest(self, runs: list[list[Line]]) -> float:
        assert self._high is not None
        tall, start = 0.0, 0
        for run in runs:
            high = self._high[start : start + len(run)]
            tall = max(tall, self._run_height(run, high))
            start += len(run)
        return tall

    def _run_height(self, run: list[Line], high: list[float]) -> float:
        air, k = 0.0, 0
        for row in run:
            k = 0 if isinstance(row, Group) else k
            air += self._air(k, row)
            k += isinstance(row, tuple)
        return sum(high) + air

    def _how_many(self, room: float) -> int:
        """Find how many rows fit, never ending on a group's line nor with one row left."""
        assert self._high is not None
        if self.across > 1:
            each = int(room // (self.line + AIR / 5)) // 5 * 5
            return min(each * self.across, len(self.rows))
        used, fits, k = 0.0, 0, 0
        for row, high in zip(self.rows, self._high, strict=True):
            k = 0 if isinstance(row, Group) else k
            used += high + self._air(k, row)
            k += isinstance(row, tuple)
            if used > room:
                break
            fits += 1
        if fits < len(self.rows):
            fits -= isinstance(self.rows[fits], Sum)
            fits -= fits == len(self.rows) - 1
        while fits and isinstance(self.rows[fits - 1], Group):
            fits -= 1
        return fits

    def _part(self, first: int, last: int) -> Table:
        part = Table(
            self.cols, self.rows[first:last], title=self.title, across=self.across, even=self.even,
            fives=self.fives, size=self.size,
        )  # fmt: skip
        part.continued, part.room = self.continued, self.room
        assert self._high is not None
        part._measures, part._high = self._measures, self._high[first:last]
        group = next((r for r in reversed(self.rows[:first]) if isinstance(r, Group)), None)
        if first and group and not isinstance(self.rows[first], (Group, Sum)):
            again = replace(group, note="continued")
            part.rows.insert(0, again)
            part._high = [self._height(again), *part._high]
        return part

    # -- drawing ----------------------------------------------------------------------------

    def _face(self, row: Line | None) -> str:
        return "Sans-Semibold" if isinstance(row, (Sum, Loud)) else "Sans"

    def _draw_column(self, x: float, y: float, run: list[Line], start: int) -> None:
        assert self._measures is not None and self._high is not None
        if not run:
            return
        wide = self._measures.total
        self._rule(x, y, wide, 0.9)
        y -= 3
        self._draw_heads(x, y)
        y -= self._measures.heads * (self.size + 1.4) + 5
        self._rule(x, y, wide, 0.4)
        y -= 2
        k = 0
        for row, high in zip(run, self._high[start:], strict=False):
            k = 0 if isinstance(row, Group) else k
            self._draw_row(x, y, row, wide)
            y -= high + self._air(k, row)
            k += isinstance(row, tuple)
        self._rule(x, y - 1, wide, 0.9)

    def _rule(self, x: float, y: float, wide: float, weight: float, ink: Any = INK) -> None:
        self.canv.setStrokeColor(ink)
        self.canv.setLineWidth(weight)
        self.canv.line(x, y, x + wide, y)

    def _draw_heads(self, x: float, y: float) -> None:
        assert self._measures is not None
        size = self.size - 0.8
        self.canv.setFillColor(FAINT)
        self.canv.setFont("Sans-Italic", size)
        for i, col in enumerate(self.cols):
            lines = col.head.split("\n")
            down = (self._measures.heads - len(lines) + 1) * (self.size + 1.4)
            for n, text in enumerate(lines):
                self._put(x, y - down - n * (self.size + 1.4) + 1, i, text, hang=False)

    def _draw_row(self, x: float, y: float, row: Line, wide: float) -> None:
        canvas = self.canv
        if isinstance(row, Group):
            self._rule(x, y - 2.4, wide, 0.3, HAIR)
            canvas.setFillColor(BLUE)
            canvas.setFont("Sans-Semibold", self.size + 0.3)
            canvas.drawString(x, y - self.line - 2, row.text)
            canvas.setFillColor(FAINT)
            canvas.setFont("Sans", self.size)
            canvas.drawRightString(x + wide, y - self.line - 2, row.note)
            return
        if isinstance(row, Sum):
            self._rule(x, y - 1.2, wide, 0.4)
            y -= 4
        canvas.setFont(self._face(row), self.size)
        for i, text in enumerate(_cells(row)):
            loud = RED if isinstance(row, Loud) else INK
            canvas.setFillColor(FAINT if self.cols[i].ink == "faint" else loud)
            lines = self._wrapped(i, text) if self.cols[i].share else (text,)
            for n, line in enumerate(lines):
                self._put(x, y - self.line + 3 - n * (self.size + 2.2), i, line)

    def _put(self, x: float, y: float, i: int, text: str, *, hang: bool = True) -> None:
        assert self._measures is not None
        left, width = x + self._measures.left[i], self._measures.width[i]
        match self.cols[i].align:
            case "left":
                self.canv.drawString(left, y, text)
            case "centre":
                self.canv.drawCentredString(left + width / 2, y, text)
            case "right":
                short = hang and self._measures.hang[i] and text and not _signed(text)
                shift = _wide("+", "Sans", self.size) if short else 0.0
                self.canv.drawRightString(left + width - shift, y, text)


@cache
def _broken(text: str, face: str, size: float, width: float) -> tuple[str, ...]:
    """Break a text into lines no wider than `width`; a word too long is broken within."""
    lines, now = [], ""
    for part in text.split():
        word = part
        tried = f"{now} {word}".strip()
        if _wide(tried, face, size) <= width:
            now = tried
            continue
        if now:
            lines.append(now)
        while _wide(word, face, size) > width and len(word) > 1:
            cut = max(
                n for n in range(1, len(word)) if n == 1 or _wide(word[:n], face, size) <= width
            )
            lines.append(word[:cut])
            word = word[cut:]
        now = word
    return (*lines, now) if now or not lines else tuple(lines)


class Box(Flowable):  # type: ignore[misc]
    """A box round a few paragraphs; `loud` gives it the heavy red frame of a warning."""

    def __init__(self, parts: Sequence[Flowable], *, loud: bool = False) -> None:
        super().__init__()
        self.parts, self.loud = list(parts), loud
        self.spaceBefore, self.spaceAfter = 6, 10

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        self.room = width
        self.sizes = [part.wrap(width - 26, 10_000)[1] for part in self.parts]
        gaps = sum(part.getSpaceAfter() for part in self.parts[:-1])
        self.tall = sum(self.sizes) + gaps + 20
        return width, self.tall

    def draw(self) -> None:
        canvas = self.canv
        ink = RED if self.loud else HAIR
        canvas.setFillColor(TINT)
        canvas.setStrokeColor(ink)
        canvas.setLineWidth(1.6 if self.loud else 0.5)
        canvas.rect(0, 0, self.room, self.tall, fill=1)
        if self.loud:
            canvas.setFillColor(RED)
            canvas.rect(0, 0, 5, self.tall, stroke=0, fill=1)
        y = self.tall - 9
        for part, high in zip(self.parts, self.sizes, strict=True):
            part.drawOn(canvas, 15, y - high)
            y -= high + part.getSpaceAfter()


class Plate(Flowable):  # type: ignore[misc]
    """A drawing over a whole page; `play` draws it on the canvas within (x, y, width, height)."""

    def __init__(self, play: Any, size: tuple[float, float]) -> None:
        super().__init__()
        self.play, self.size = play, size

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        return self.size

    def draw(self) -> None:
        self.play(self.canv, 0.0, 0.0, *self.size)
