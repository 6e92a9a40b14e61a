"""Tables as in a good old handbook, which break over pages.

A strong rule above and below, a thin one under the heading, a little air after every fifth row,
figures ranged right with their eighths in line and the sign of a sixteenth hanging outside. The
heading is repeated on every page; `across` sets a long narrow table in several columns.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache
from typing import Any, Literal

from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Flowable

from ribband.drawing.book.style import BLUE, FAINT, HAIR, INK, RED

__all__ = ["Col", "Group", "Line", "Loud", "Sum", "Table", "broken"]

SIZE = 8.6  # points
LINE = 12.0  # from one row's foot to the next
AIR = 2.6  # after a fifth row
GAP = 9.0  # least between columns
GUTTER = 21.0  # between the columns of an `across` table
SMALL = 230.0  # a table no taller than this is not broken
HIGH = 300.0  # rows that together are no higher than this are kept together
_WITH_FOOT = 3  # rows that go over with a foot that found no room
_LINES = 24  # of one row: a longer one is set as several, which may stand on two pages


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


@dataclass(frozen=True, slots=True)
class _Set:
    """A table's measures: where columns start, their widths, hanging signs, width, heading."""

    left: tuple[float, ...] = ()
    width: tuple[float, ...] = ()
    hang: tuple[bool, ...] = ()
    total: float = 0.0
    heads: int = 0


class Table(Flowable):  # type: ignore[misc]
    """A table of text and figures.

    title, foot : over it (in italics, "continued" on the next page) and under it (small)
    across : columns the rows are set in, one after the other
    even : columns of figures that fill the width; a table with fewer keeps their width
    fives : air after every fifth row
    """

    def __init__(
        self,
        cols: Sequence[Col],
        rows: Sequence[Line],
        *,
        title: str = "",
        foot: str = "",
        across: int = 1,
        even: int = 0,
        fives: bool = True,
        size: float = SIZE,
        line: float = LINE,
    ) -> None:
        super().__init__()
        self.cols, self.rows = tuple(cols), list(rows)
        self.title, self.foot, self.across, self.even = title, foot, across, even
        self.fives, self.size, self.line = fives, size, line - (0.8 if across > 1 else 0.0)
        self.continued, self.measures, self.high = False, _Set(), [0.0]
        self.spaceBefore, self.spaceAfter = (8 if title else 2), 11

    # -- what the page engine asks ------------------------------------------------------------

    def wrap(self, width: float, height: float) -> tuple[float, float]:
        """Measure the table at this width."""
        self.room = width
        if not self.measures.left:
            self.measures = self._measured(self._inner())
            while self.across > 1 and self.measures.total > self._inner() + 0.5:
                self.across -= 1  # too wide to stand beside itself
                self.measures = self._measured(self._inner())
            self.rows = [part for row in self.rows for part in self._parted(row)]
            self.high = [self._height(row) for row in self.rows]
        return width, self._tall()

    def least(self, width: float) -> float:
        """Give the height without which none of it can stand on a page, points."""
        _, tall = self.wrap(width, 0.0)
        if tall <= SMALL:
            return tall
        return self._top() + sum(self._steps(self.rows[: self._fewest()], self.high)) + 4

    def split(self, width: float, height: float) -> list[Flowable]:
        """Break between rows; a small table is not broken, it goes to the next page."""
        _, tall = self.wrap(width, height)
        if tall <= height:
            return [self]
        fits = self._how_many(height - self._top() - 4)
        if fits == len(self.rows):  # all but the foot: some rows go over with it
            fits = self._before(max(len(self.rows) - _WITH_FOOT, 0))
        if tall <= SMALL or fits < self._fewest():
            return []
        first, rest = self._part(0, fits), self._part(fits, len(self.rows))
        first.foot, rest.continued = "", True
        return [first, rest]

    def draw(self) -> None:
        """Draw it, from the top down."""
        top = self._tall()
        if self.title:
            words = self.title + (" (continued)" if self.continued else "")
            self._ink(INK, "Serif-Italic", 10)
            self.canv.drawString(0, top - 10, words)
        start = 0
        for k, run in enumerate(self._columns()):
            high = self.high[start : start + len(run)]
            self._draw_column(k * self._step(), top - self._titled(), run, high)
            start += len(run)
        self._ink(FAINT, "Sans", 7.6)
        for n, line in enumerate(self._foot_lines()):
            self.canv.drawString(0, self._foot_high() - 11 - 9.6 * n, line)

    # -- measures -----------------------------------------------------------------------------

    def _inner(self) -> float:
        return self._step() - GUTTER if self.across > 1 else float(self.room)

    def _step(self) -> float:
        return float(self.room + GUTTER) / self.across

    def _measured(self, room: float) -> _Set:
        natural = [self._natural(i) for i in range(len(self.cols))]
        shares = [col.share for col in self.cols]
        after = len(self.cols) - 1
        fixed = sum(n for n, share in zip(natural, shares, strict=True) if not share)
        spare = room - fixed - GAP * after
        gap = GAP
        if sum(shares):
            width = self._shared(natural, spare)
        elif self.even:
            width, gap = [natural[0], *[(room - natural[0]) / self.even] * after], 0.0
        else:
            width = natural
            gap += min(max(spare, 0.0) / max(after, 1), 14.0)
        left = [sum(width[:i]) + gap * i for i in range(len(width))]
        cells = [c for c in map(_cells, self.rows) if c]
        hang = tuple(any(_signed(c[i]) for c in cells) for i in range(len(width)))
        heads = max(col.head.count("\n") + 1 for col in self.cols)
        return _Set(tuple(left), tuple(width), hang, left[-1] + width[-1], heads)

    def _shared(self, natural: list[float], spare: float) -> list[float]:
        """Share out what is left; where all would fit unbroken, take no more than that."""
        shares = [col.share for col in self.cols]
        wanted = [self._longest(i) if s else 0.0 for i, s in enumerate(shares)]
        over = (spare - sum(wanted)) / sum(s > 0 for s in shares)
        if over >= 0:
            each = [w + min(over, 14.0) for w in wanted]
        else:
            each = [spare * s / sum(shares) for s in shares]
        return [e if s else n for e, s, n in zip(each, shares, natural, strict=True)]

    def _longest(self, i: int) -> float:
        cells = [(c[i], self._face(row)) for row in self.rows if (c := _cells(row))]
        heads = [(t, "Sans-Italic") for t in self.cols[i].head.split("\n")]
        return max(_wide(text, face, self.size) for text, face in [*cells, *heads])

    def _natural(self, i: int) -> float:
        """Give the width of a column's longest cell, with room for a hanging sign."""
        heads = [_wide(t, "Sans-Italic", self.size - 0.8) for t in self.cols[i].head.split("\n")]
        if self.cols[i].share:
            return max(heads)
        texts = {(c[i], self._face(row)) for row in self.rows if (c := _cells(row))}
        hang = _wide("+", "Sans", self.size) if any(_signed(t) for t, _ in texts) else 0.0
        return max(
            [*heads]
            + [_wide(t, face, self.size) + (0 if _signed(t) else hang) for t, face in texts]
        )

    def _height(self, row: Line) -> float:
        if isinstance(row, Group):
            return self.line + 7
        cells = _cells(row)
        tall = max((len(self._lines(row, i)) for i in range(len(cells))), default=1)
        return self.line + (tall - 1) * (self.size + 2.2) + (4 if isinstance(row, Sum) else 0)

    def _parted(self, row: Line) -> list[Line]:
        """Set a row of very many lines as several rows, one going on from the other."""
        cells = _cells(row)
        lines = [self._lines(row, i) for i in range(len(cells))]
        tall = max(map(len, lines), default=1)
        if tall <= _LINES:
            return [row]
        runs = range(0, tall, _LINES)
        parts = [tuple(" ".join(own[k : k + _LINES]) for own in lines) for k in runs]
        return [replace(row, cells=p) if isinstance(row, (Sum, Loud)) else p for p in parts]

    def _lines(self, row: Line, i: int) -> tuple[str, ...]:
        text = _cells(row)[i]
        if not self.cols[i].share:
            return (text,)
        return broken(text, self._face(row), self.size, self.measures.width[i])

    def _titled(self) -> float:
        return 16.0 if self.title else 0.0

    def _top(self) -> float:
        return self._titled() + 10 + self.measures.heads * (self.size + 1.4)

    def _foot_lines(self) -> tuple[str, ...]:
        return broken(self.foot, "Sans", 7.6, self.room) if self.foot else ()

    def _foot_high(self) -> float:
        return 9.6 * len(self._foot_lines()) + (4 if self.foot else 0)

    def _tall(self) -> float:
        tallest, start = 0.0, 0
        for run in self._columns():
            tallest = max(tallest, sum(self._steps(run, self.high[start:])))
            start += len(run)
        return self._top() + tallest + 3 + self._foot_high()

    def _steps(self, run: Sequence[Line], high: Sequence[float]) -> list[float]:
        """Give what each row goes down by: its height, and the air after a fifth."""
        steps, k = [], 0
        for row, tall in zip(run, high, strict=False):
            k = 0 if isinstance(row, Group) else k + isinstance(row, tuple)
            fifth = self.fives and isinstance(row, tuple) and k % 5 == 0
            steps.append(tall + (AIR if fifth else 0.0))
        return steps

    def _columns(self) -> list[list[Line]]:
        if self.across == 1:
            return [self.rows]
        each = -(-len(self.rows) // self.across)
        return [self.rows[k * each : (k + 1) * each] for k in range(self.across)]

    # -- breaking -----------------------------------------------------------------------------

    def _fewest(self) -> int:
        """Give how many rows must come together: four, fewer where they are very high."""
        least = min(4, len(self.rows))
        while least > 1 and sum(self.high[:least]) > HIGH:
            least -= 1
        return least

    def _how_many(self, room: float) -> int:
        """Find how many rows fit, never ending on a group's line nor with one row left."""
        if self.across > 1:
            each = int(room // (max(self.high) + AIR / 5)) // 5 * 5  # rows may be of several lines
            return min(each * self.across, len(self.rows))
        fits, used = 0, 0.0
        for step in self._steps(self.rows, self.high):
            used += step
            if used > room:
                break
            fits += 1
        return self._before(fits)

    def _before(self, fits: int) -> int:
        """Break at row `fits` or a little before it, never after a group's line."""
        if 0 < fits < len(self.rows):
            fits -= isinstance(self.rows[fits], Sum)
            fits -= fits == len(self.rows) - 1
        while fits and isinstance(self.rows[fits - 1], Group):
            fits -= 1
        return fits

    def _part(self, first: int, last: int) -> Table:
        part = Table(
            self.cols,
            self.rows[first:last],
            title=self.title,
            foot=self.foot,
            across=self.across,
            even=self.even,
            fives=self.fives,
            size=self.size,
            line=self.line + (0.8 if self.across > 1 else 0.0),
        )
        part.continued, part.room, part.measures = self.continued, self.room, self.measures
        part.high = self.high[first:last]
        group = next((r for r in reversed(self.rows[:first]) if isinstance(r, Group)), None)
        if group and not isinstance(self.rows[first], (Group, Sum)):
            part.rows.insert(0, replace(group, note="continued"))
            part.high = [self._height(group), *part.high]
        return part

    # -- drawing ------------------------------------------------------------------------------

    @staticmethod
    def _face(row: Line) -> str:
        return "Sans-Semibold" if isinstance(row, (Sum, Loud)) else "Sans"

    def _ink(self, ink: Any, face: str, size: float) -> None:
        self.canv.setFillColor(ink)
        self.canv.setFont(face, size)

    def _draw_column(self, x: float, y: float, run: list[Line], high: list[float]) -> None:
        if not run:
            return
        wide = self.measures.total
        self._rule(x, y, wide, 0.9)
        self._draw_heads(x, y - 3)
        y -= 8 + self.measures.heads * (self.size + 1.4)
        self._rule(x, y, wide, 0.4)
        y -= 2
        for n, (row, step) in enumerate(zip(run, self._steps(run, high), strict=True)):
            if n and isinstance(row, Group):
                self._rule(x, y - 2.4, wide, 0.3, HAIR)
            self._draw_row(x, y, row)
            y -= step
        self._rule(x, y - 1, wide, 0.9)

    def _rule(self, x: float, y: float, wide: float, weight: float, ink: Any = INK) -> None:
        self.canv.setStrokeColor(ink)
        self.canv.setLineWidth(weight)
        self.canv.line(x, y, x + wide, y)

    def _draw_heads(self, x: float, y: float) -> None:
        self._ink(FAINT, "Sans-Italic", self.size - 0.8)
        for i, col in enumerate(self.cols):
            lines = col.head.split("\n")
            down = (self.measures.heads - len(lines) + 1) * (self.size + 1.4)
            for n, text in enumerate(lines):
                self._put(x, y - down - n * (self.size + 1.4) + 1, i, text)

    def _draw_row(self, x: float, y: float, row: Line) -> None:
        if isinstance(row, Group):
            self._draw_group(x, y, row)
            return
        if isinstance(row, Sum):
            self._rule(x, y - 1.2, self.measures.total, 0.4)
            y -= 4
        loud = RED if isinstance(row, Loud) else INK
        self.canv.setFont(self._face(row), self.size)
        for i in range(len(_cells(row))):
            self.canv.setFillColor(FAINT if self.cols[i].ink == "faint" else loud)
            for n, line in enumerate(self._lines(row, i)):
                self._put(x, y - self.line + 3 - n * (self.size + 2.2), i, line)

    def _draw_group(self, x: float, y: float, row: Group) -> None:
        wide = self.measures.total
        self._ink(BLUE, "Sans-Semibold", self.size + 0.3)
        self.canv.drawString(x, y - self.line - 2, row.text)
        self._ink(FAINT, "Sans", self.size)
        self.canv.drawRightString(x + wide, y - self.line - 2, row.note)

    def _put(self, x: float, y: float, i: int, text: str) -> None:
        left, width = x + self.measures.left[i], self.measures.width[i]
        match self.cols[i].align:
            case "left":
                self.canv.drawString(left, y, text)
            case "centre":
                self.canv.drawCentredString(left + width / 2, y, text)
            case "right":
                short = self.measures.hang[i] and text and not _signed(text)
                shift = _wide("+", "Sans", self.size) if short else 0.0
                self.canv.drawRightString(left + width - shift, y, text)


@cache
def _wide(text: str, face: str, size: float) -> float:
    return float(stringWidth(text, face, size))


def _cells(row: Line) -> tuple[str, ...]:
    return row.cells if isinstance(row, (Sum, Loud)) else row if isinstance(row, tuple) else ()


def _signed(text: str) -> bool:
    """Tell whether a figure ends in the + or - of a sixteenth."""
    return len(text) > 1 and text[-1] in "+-" and text[-2].isdigit()


@cache
def broken(text: str, face: str, size: float, width: float) -> tuple[str, ...]:
    """Break a text into lines no wider than `width`; a word too long is broken within."""
    lines, now = [], ""
    for part in text.split(" "):
        word, tried = part, f"{now} {part}".strip(" ")
        if _wide(tried, face, size) <= width:
            now = tried
            continue
        if now:
            lines.append(now)
        while _wide(word, face, size) > width and len(word) > 1:
            cut = _cut(word, face, size, width)
            lines.append(word[:cut])
            word = word[cut:]
        now = word
    return (*lines, now) if now or not lines else tuple(lines)


def _cut(word: str, face: str, size: float, width: float) -> int:
    fits = [n for n in range(1, len(word)) if _wide(word[:n], face, size) <= width]
    return max(fits, default=1)
