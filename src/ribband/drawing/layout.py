"""Setting a drawing out on paper: border, title block, notes, bars; splitting over sheets.

A view makes a `Drawing`; `lay_on` gives the sheets. Along the foot of a sheet runs the *strip*:
notes and signs at the left, scale and check bars, the title block at the right. What is left
above it is the *room*. A drawing larger than the room at its scale is split: neighbouring sheets
overlap, and the *match marks* on both stand on the same points of the hull.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from ribband.drawing import scales
from ribband.drawing.lettering import cut_to, width_mm, wrap
from ribband.drawing.sheet import (
    Box,
    Fill,
    Item,
    Mark,
    Page,
    Point,
    Polyline,
    Sheet,
    Text,
    Title,
    box_of,
    rectangle,
)

__all__ = ["Air", "Drawing", "Sign", "fitted", "lay_on", "match_marks", "room_on", "windows"]

_LEAD, _NOTE = 2.95, 1.85  # mm, from line to line of the notes, and their height
MOST_SHEETS = 400  # of one drawing
_STRIP = 36.0


@dataclass(frozen=True, slots=True)
class Sign:
    """A row of the legend: a sample drawn in a box 9 mm wide round (0, 0), and what it means."""

    sample: tuple[Item, ...]
    says: str


@dataclass(frozen=True, slots=True)
class Air:
    """Paper kept free round the drawing for its lettering, mm."""

    left: float = 10.0
    lower: float = 10.0
    right: float = 10.0
    upper: float = 10.0


@dataclass(frozen=True, slots=True)
class Drawing:
    """A view before it lies on paper: items in full-size mm and the box they fill."""

    name: str
    items: tuple[Item, ...]
    extent: Box
    air: Air = Air()
    notes: tuple[str, ...] = ()
    signs: tuple[Sign, ...] = ()
    to_scale: bool = True


def room_on(page: Page, notes: Sequence[str], signs: Sequence[Sign]) -> Box:
    """Give the room above the strip, paper mm."""
    inner = page.inner
    height = _Strip.on(page, notes, signs).height
    return Box(inner.left + 3, inner.lower + height + 3, inner.right - 3, inner.upper - 3)


def fitted(extent: Box, air: Air, room: Box, unit: str, scale: float | str = "fit") -> float:
    """Give the scale: the one wanted, or the largest standard one at which the drawing fits."""
    given = scales.wanted(scale)
    if given:
        return given
    across = scales.choose(extent.width, room.width - air.left - air.right, unit)
    free = room.height - air.lower - air.upper
    return min(across, scales.choose(extent.height, free, unit))


def lay_on(
    drawings: Drawing | Sequence[Drawing],
    page: Page,
    title: Title,
    scale: float,
    *,
    scale_up: float | None = None,
    unit: str = "mm",
    overlap_mm: float = 15.0,
) -> tuple[Sheet, ...]:
    """Lay drawings on as many sheets of `page` as they need at `scale`, numbered as one set.

    A drawing too large for a sheet is split, left to right, the top row first.
    """
    every = [drawings] if isinstance(drawings, Drawing) else list(drawings)
    up = scale_up or scale
    cut = [_parts(d, page, scale, up, overlap_mm) for d in every]
    total, first = sum(map(len, cut)), 1
    sheets: list[Sheet] = []
    for drawing, parts in zip(every, cut, strict=True):
        blank = Sheet(
            drawing.name, page, title, drawing.items, (), scale, up,
            number=first, of=total, to_scale=drawing.to_scale,
        )  # fmt: skip
        sheets += [_finished(drawing, blank, i, parts, unit=unit) for i in range(len(parts))]
        first += len(parts)
    return tuple(sheets)


def _parts(drawing: Drawing, page: Page, scale: float, up: float, lap: float) -> tuple[Box, ...]:
    room = room_on(page, drawing.notes, drawing.signs)
    ext, air = drawing.extent, drawing.air
    whole = Box(
        ext.left * scale - air.left,
        ext.lower * up - air.lower,
        ext.right * scale + air.right,
        ext.upper * up + air.upper,
    )
    parts = windows(whole, room.width, room.height, lap)
    if len(parts) > MOST_SHEETS:
        says = f"{len(parts)} sheets of this paper at this scale; wanted at most {MOST_SHEETS}"
        raise ValueError(f"{says}: a larger paper, or a smaller scale")
    return parts


def windows(whole: Box, width: float, height: float, overlap: float) -> tuple[Box, ...]:
    """Cover `whole` with boxes of at most `width` by `height` that overlap by at least `overlap`.

    Rows run left to right, the top row first.

    >>> [(b.left, b.right) for b in windows(Box(0, 0, 250, 50), 100, 60, 10)]
    [(0.0, 90.0), (80.0, 170.0), (160.0, 250.0)]
    """
    across = list(_cuts(whole.left, whole.right, width, overlap))
    upright = list(_cuts(whole.lower, whole.upper, height, overlap))
    return tuple(Box(l, b, r, t) for b, t in reversed(upright) for l, r in across)  # noqa: E741


def _cuts(low: float, high: float, most: float, overlap: float) -> Iterator[tuple[float, float]]:
    long, count = high - low, 1
    if long > most + 1e-6:
        count = -int(-(long - overlap) // (most - overlap))
    each = (long + (count - 1) * overlap) / count
    for i in range(count):
        yield low + i * (each - overlap), low + i * (each - overlap) + each


def _finished(
    drawing: Drawing, blank: Sheet, at: int, parts: tuple[Box, ...], *, unit: str
) -> Sheet:
    part, room = parts[at], room_on(blank.page, drawing.notes, drawing.signs)
    left = room.left + (room.width - part.width) / 2
    lower = room.lower + (room.height - part.height) / 2
    if not drawing.to_scale:
        lower = room.upper - part.height  # tables hang from the top
    origin = (left - part.left, lower - part.lower)
    sheet = replace(blank, number=blank.number + at, origin=origin)
    inner = sheet.page.inner
    strip = _Strip.on(sheet.page, drawing.notes, drawing.signs)
    paper = [
        rectangle("rules", inner.grown(1.6)),
        rectangle("border", inner),
        *strip.items(sheet, unit),
    ]
    if len(parts) == 1:
        return replace(sheet, paper=tuple(paper))
    window = Box(left, lower, left + part.width, lower + part.height)
    paper += match_marks(at, parts, origin, blank.number)
    seen = replace(sheet, window=window, paper=tuple(paper))
    return replace(seen, items=tuple(i for i in drawing.items if _shows(seen, i)))


def _shows(sheet: Sheet, item: Item) -> bool:
    box = box_of(item)
    left, lower = sheet.on_paper((box.left, box.lower))
    right, upper = sheet.on_paper((box.right, box.upper))
    seen = sheet.window or sheet.page.inner
    return Box(left, lower, right, upper).grown(30.0).meets(seen)


def match_marks(
    me: int, parts: tuple[Box, ...], origin: Point, first: int, cap_mm: float = 1.8
) -> Iterator[Item]:
    """Mark the middle of each overlap, at both its ends, with the sheet that joins on there.

    `parts` are the windows in paper mm from the drawing's zero, `origin` where that lies on this
    sheet, `first` the number of the first sheet, `cap_mm` the height of the lettering.
    """
    for other, part in enumerate(parts):
        lap = _lap(parts[me], part)
        if other == me or lap is None:
            continue
        says = f"match {first + min(me, other)}/{first + max(me, other)}"
        upright = lap.height > lap.width
        inset = min(50.0, lap.width / 4)  # clear of an upright overlap's marks and lettering
        middle = ((lap.left + lap.right) / 2, (lap.lower + lap.upper) / 2)
        ends = (
            [(middle[0], y) for y in (lap.lower + 2.5, lap.upper - 2.5)]
            if upright
            else [(x, middle[1]) for x in (lap.left + inset, lap.right - inset)]
        )
        for at in ends:
            on = (at[0] + origin[0], at[1] + origin[1])
            yield Mark("match", on, "plus", 5.0)
            yield Mark("match", on, "ring", 2.6)
            yield Text("match", (on[0] + 1.9, on[1] + 0.6), says, cap_mm, face="Sans-Italic")


def _lap(a: Box, b: Box) -> Box | None:
    lap = Box(
        max(a.left, b.left), max(a.lower, b.lower), min(a.right, b.right), min(a.upper, b.upper)
    )
    beside = abs(a.left - b.left) < 1e-6 or abs(a.lower - b.lower) < 1e-6
    return lap if beside and lap.width > 0 and lap.height > 0 else None


_Line = tuple[Sign | None, str]


@dataclass(frozen=True, slots=True)
class _Strip:
    """How the foot of the sheet is divided, paper mm."""

    inner: Box
    title: Box
    bars: Box
    notes: Box
    columns: tuple[tuple[_Line, ...], ...]  # lines of notes, a sign before some

    @classmethod
    def on(cls, page: Page, notes: Sequence[str], signs: Sequence[Sign]) -> _Strip:
        """Divide the strip: side by side on wide paper, notes above the title on narrow."""
        inner = page.inner
        wide = inner.width >= 255.0
        title_width = 150.0 if inner.width >= 330.0 else 132.0 if wide else inner.width
        left_width = inner.width - title_width if wide else inner.width
        bar_width = 110.0 if left_width >= 185.0 else 60.0
        note_width = left_width - bar_width
        columns = max(1, int(note_width // 62.0))
        wrapped = note_width / columns - 5.0
        filled = _filled(_paragraphs(notes, signs, wrapped), columns)
        deep = max(_STRIP, max(map(len, filled)) * _LEAD + 7.0)
        low = inner.lower
        title_deep = deep if wide else _STRIP
        title = Box(inner.right - title_width, low, inner.right, low + title_deep)
        base = low if wide else title.upper
        notes_box = Box(inner.left, base, inner.left + note_width, base + deep)
        bars = Box(notes_box.right, base, notes_box.right + bar_width, base + deep)
        return cls(inner, title, bars, notes_box, filled)

    @property
    def height(self) -> float:
        """From the border's foot to the top of the strip."""
        return max(self.title.upper, self.notes.upper) - self.inner.lower

    def items(self, sheet: Sheet, unit: str) -> Iterator[Item]:
        """Draw the strip of one sheet."""
        top = self.inner.lower + self.height
        yield Polyline("title", ((self.inner.left, top), (self.inner.right, top)))
        if self.title.upper < top:  # narrow paper: the notes stand over the title block
            y = self.title.upper
            yield Polyline("rules", ((self.inner.left, y), (self.inner.right, y)))
        yield from self._notes()
        if sheet.to_scale:
            yield from _bars(self.bars, sheet, unit)
        yield from _title_block(self.title, sheet, unit)

    def _notes(self) -> Iterator[Item]:
        across = self.notes.width / len(self.columns)
        for i, column in enumerate(self.columns):
            for k, (sign, line) in enumerate(column):
                x = self.notes.left + 4.0 + i * across
                y = self.notes.upper - 4.5 - k * _LEAD - _NOTE / 2
                indent = 11.0 if line.startswith("\t") else 0.0
                if sign:
                    yield from (_moved(item, x + 4.5, y) for item in sign.sample)
                yield Text("notes", (x + indent, y), line.strip(), _NOTE, "left", "middle")


def _paragraphs(
    notes: Sequence[str], signs: Sequence[Sign], room: float
) -> list[tuple[_Line, ...]]:
    """Wrap the legend (a paragraph of its own) and each note."""
    legend: list[_Line] = []
    for sign in signs:
        for k, line in enumerate(wrap(sign.says, room - 11.0, _NOTE)):
            legend.append((None if k else sign, f"\t{line}"))
    wrapped = (wrap(note, room, _NOTE) for note in notes)
    told: list[tuple[_Line, ...]] = [tuple((None, line) for line in w) for w in wrapped]
    if not legend:
        return told
    air: list[_Line] = [(None, "")] if told else []
    return [tuple(legend + air), *told]


def _filled(paragraphs: Sequence[tuple[_Line, ...]], columns: int) -> tuple[tuple[_Line, ...], ...]:
    """Fill the columns evenly without breaking a paragraph; as few lines deep as will do."""
    deep = max((len(p) for p in paragraphs), default=0)
    while True:
        filled: list[list[_Line]] = [[]]
        for paragraph in paragraphs:
            if filled[-1] and len(filled[-1]) + len(paragraph) > deep:
                filled.append([])
            filled[-1] += paragraph
        if len(filled) <= columns:
            blank: list[list[_Line]] = [[] for _ in range(columns - len(filled))]
            return tuple(map(tuple, filled + blank))
        deep += 1


def _moved(item: Item, x: float, y: float) -> Item:
    def by(p: Point) -> Point:
        return p[0] + x, p[1] + y

    match item:
        case Polyline() | Fill():
            return replace(item, points=tuple(map(by, item.points)))
        case Mark() | Text():
            return replace(item, at=by(item.at))
    raise TypeError(f"a sign is made of lines, areas, marks and text, not {type(item).__name__}")


def _bars(box: Box, sheet: Sheet, unit: str) -> Iterator[Item]:
    x, room = box.left + 6.0, box.width - 12.0
    y = box.upper - 8.0
    if abs(sheet.scale - 1.0) > 1e-9:
        same = abs(sheet.stretch - 1.0) < 1e-9
        said = scales.words(sheet.scale, unit)
        bar = room * 0.8 if same or room < 70 else room * 0.46
        yield from scales.scale_bar(
            (x, y), sheet.scale, unit, bar, said if same else f"lengths, {said}"
        )
        if not same:
            at = (x + room * 0.53, y) if room >= 70 else (x, y - 9.0)
            said = f"girths, {scales.words(sheet.scale_up, unit)}"
            yield from scales.scale_bar(at, sheet.scale_up, unit, bar, said)
    long = 100.0 if box.width >= 110.0 else 50.0
    yield from scales.check_bar((x, box.lower + 9.0), unit, min(long, 100.0))


def _title_block(box: Box, sheet: Sheet, unit: str) -> Iterator[Item]:
    t = sheet.title
    yield Polyline("title", ((box.left, box.lower), (box.left, box.upper)))
    low, mid = box.lower + 9.0, box.lower + 18.0
    for y in (low, mid):
        yield Polyline("rules", ((box.left, y), (box.right, y)))
    centre = (box.left + box.right) / 2
    top = (mid + box.upper) / 2
    yield _fit((centre, top + 1.2), t.vessel, 5.0, "Serif-Semibold", box.width - 8)
    yield _fit((centre, top - 5.2), t.drawing, 2.9, "Serif-Italic", box.width - 8)
    said = scales.words(sheet.scale, unit) if sheet.to_scale else "none"
    if abs(sheet.stretch - 1.0) > 1e-9:
        said = f"{_short(said)} lengths, {_short(scales.words(sheet.scale_up, unit))} girths"
    yield from _cells(box, mid, low, [("yard", t.yard, 0.42), ("side", t.side, 0.30),
                                      ("measured", t.measured, 0.28)])  # fmt: skip
    yield from _cells(box, low, box.lower, [
        ("scale", said, 0.34), ("figures in", t.unit, 0.20), ("date", t.date, 0.17),
        ("revision", t.revision, 0.13), ("sheet", f"{sheet.number} of {sheet.of}", 0.16),
    ])  # fmt: skip


def _short(scale_words: str) -> str:
    return scale_words.rpartition("(")[2].rstrip(")")


def _cells(
    box: Box, top: float, low: float, cells: Sequence[tuple[str, str, float]]
) -> Iterator[Item]:
    edges = [box.left]
    for _, _, share in cells:
        edges.append(edges[-1] + share * box.width)
    for (left, right), (caption, value, _) in zip(pairwise(edges), cells, strict=True):
        if left > box.left:
            yield Polyline("rules", ((left, low), (left, top)))
        yield Text(
            "frame numbers",
            (left + 1.5, top - 1.3),
            caption,
            1.8,
            "left",
            "top",
            face="Sans-Italic",
        )
        yield from _filled_in(((left + right) / 2, low), value, right - left - 2)


def _filled_in(at: Point, value: str, room: float) -> Iterator[Text]:
    """Letter a cell's value in one line, or in two where one would run into the next cell."""
    (x, low), least = at, 1.8
    if width_mm(value, least, "Sans") <= room:
        yield _fit((x, low + 1.8), value, 2.3, "Sans", room)
        return
    lines = wrap(value, room, least, "Sans")
    rest = " ".join(lines[1:])
    for line, up in ((lines[0], 3.3), (rest, 0.8)) if rest else ((lines[0], 1.8),):
        yield Text("title", (x, low + up), cut_to(line, room, least, "Sans"), least, "centre")


def _fit(at: Point, text: str, height: float, face: str, room: float) -> Text:
    """Letter `text` centred at `at`, smaller (never under 1.8 mm), then cut, where it is long."""
    long = width_mm(text, height, face)
    high = max(1.8, height * min(1.0, room / max(long, 1e-9)))
    return Text("title", at, cut_to(text, room, high, face), high, "centre", face=face)
