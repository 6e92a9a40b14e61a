"""A full-size pattern on paper: on a roll, or in tiles with a page map.

Print at 100 %, not fitted to the page. Every sheet has a check bar; neighbouring sheets overlap
and their *match marks* stand on the same points of the plank. Paper moves with damp: check long
lengths against the figures along the batten, which go before the print.

A page of a PDF is at most 5080 mm long (14 400 units); a longer roll is split there.

Not checked: what the printer can really print; margins are those asked for.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

import numpy as np

from ribband.drawing.layout import match_marks, windows
from ribband.drawing.lettering import wrap
from ribband.drawing.patterns.flat import least_lie
from ribband.drawing.patterns.pattern import CAP_MM, MARGIN_MM, legend_tall
from ribband.drawing.scales import check_bar, choose, words
from ribband.drawing.sheet import (
    Box,
    Item,
    Mark,
    Page,
    Point,
    Polyline,
    Sheet,
    Text,
    box_of,
    rectangle,
)
from ribband.units import counted

__all__ = ["LEAST_ROLL_MM", "PDF_MOST_MM", "ROLL_MM", "roll", "tiles", "turned"]

ROLL_MM, LEAST_ROLL_MM = 914.0, 250.0  # 36 in; room for a legend
PDF_MOST_MM = 5080.0
_FOOT = 12.0  # of a sheet, for its name and check bar
_AIR = 2.0  # round the outline
_MANY = 12  # sheets, beyond which a roll is to be preferred


def roll(
    sheet: Sheet,
    width_mm: float = ROLL_MM,
    *,
    longest_mm: float = 5000.0,
    overlap_mm: float = 30.0,
) -> tuple[Sheet, ...]:
    """Lay a full-size pattern along a roll of paper `width_mm` wide.

    A plank longer than `longest_mm`, or with more sweep than the roll is wide, is split over
    sheets that overlap.

    Raises
    ------
    ValueError : a roll narrower than 250 mm, or pages longer than a PDF can have
    """
    if width_mm < LEAST_ROLL_MM:
        raise ValueError(f"a roll of at least {LEAST_ROLL_MM:g} mm, not {width_mm:g} mm")
    if not 300.0 <= longest_mm <= PDF_MOST_MM:
        raise ValueError(f"pages from 300 to {PDF_MOST_MM:g} mm long, not {longest_mm:g} mm")
    tall = legend_tall(sheet.paper) + MARGIN_MM
    extent = _extent(sheet)
    room = width_mm - 2 * MARGIN_MM - tall
    parts = windows(extent, longest_mm - 2 * MARGIN_MM, room, overlap_mm)
    return tuple(_on_roll(sheet, width_mm, parts, i, tall) for i in range(len(parts)))


def tiles(sheet: Sheet, paper: str = "A4", overlap_mm: float = 10.0) -> tuple[Sheet, ...]:
    """Lay a full-size pattern on small sheets, a page map first; sheets left blank are left out.

    The sheets lie the way that takes fewer of them.

    Raises
    ------
    ValueError : a paper we do not know, or an overlap under 6 mm or over 40 mm
    """
    if not 6.0 <= overlap_mm <= 40.0:
        raise ValueError(f"an overlap from 6 to 40 mm, not {overlap_mm:g} mm")
    ways = [_covered(sheet, Page.of(paper, landscape=way, margin_mm=8.0), overlap_mm)
            for way in (True, False)]  # fmt: skip
    page, parts = min(ways, key=lambda way: len(way[1]))
    upright = Page.of(paper, landscape=False, margin_mm=MARGIN_MM)
    pieces = [_tile(sheet, page, parts, i) for i in range(len(parts))]
    return (_page_map(sheet, upright, parts, overlap_mm), *pieces)


def turned(sheet: Sheet) -> Sheet:
    """Turn a full-size pattern so that it lies in the least height, for rolls and tiles.

    Lettering turns with the plank.
    """
    ring = np.asarray(next(i.points for i in sheet.items if isinstance(i, Polyline) and i.closed))
    turn = -least_lie(ring)
    if abs(turn) < math.radians(0.25):
        return sheet
    return replace(sheet, items=tuple(_turned(item, turn) for item in sheet.items))


def _turned(item: Item, turn: float) -> Item:
    c, s = math.cos(turn), math.sin(turn)

    def about(p: Point) -> Point:
        return p[0] * c - p[1] * s, p[0] * s + p[1] * c

    match item:
        case Polyline():
            return replace(item, points=tuple(map(about, item.points)))
        case Text():
            return replace(item, at=about(item.at), turn_rad=item.turn_rad + turn)
        case Mark():
            return replace(item, at=about(item.at))
    raise TypeError(f"a pattern is made of lines, marks and text, not {type(item).__name__}")


def _extent(sheet: Sheet) -> Box:
    """Give the box round everything drawn, lettering outside the plank with some air."""
    boxes = [box_of(item).grown(_AIR) for item in sheet.items if not isinstance(item, Text)]
    boxes += [
        Box(t.at[0], t.at[1] - 2.0 * t.height_mm, t.at[0], t.at[1] + t.height_mm)
        for t in sheet.items
        if isinstance(t, Text)
    ]
    return Box(min(b.left for b in boxes), min(b.lower for b in boxes),
               max(b.right for b in boxes), max(b.upper for b in boxes))  # fmt: skip


def _on_roll(sheet: Sheet, width: float, parts: tuple[Box, ...], at: int, tall: float) -> Sheet:
    part = parts[at]
    long = max(part.width, 184.0) + 2 * MARGIN_MM
    room = width - 2 * MARGIN_MM - tall
    lower = MARGIN_MM + tall + (room - part.height) / 2
    window = Box(MARGIN_MM, lower, MARGIN_MM + part.width, lower + part.height)
    origin = (window.left - part.left, window.lower - part.lower)
    marks = tuple(match_marks(at, parts, origin, 1, CAP_MM))
    return replace(
        sheet,
        page=Page(long, width, MARGIN_MM),
        origin=origin,
        window=window if len(parts) > 1 else None,
        paper=(*sheet.paper, *_sheet_of(sheet, at, len(parts)), *marks),
        items=_within(sheet, part),
        number=at + 1,
        of=len(parts),
    )


def _sheet_of(sheet: Sheet, at: int, of: int) -> Iterator[Item]:
    if of > 1:
        y = MARGIN_MM + legend_tall(sheet.paper)
        says = f"sheet {at + 1} of {of}: join by the match marks"
        yield Text("notes", (MARGIN_MM + 184.0, y - 3.2), says, 3.2, "right", face="Sans-Italic")


def _within(sheet: Sheet, part: Box) -> tuple[Item, ...]:
    seen = part.grown(60.0)
    return tuple(i for i in sheet.items if box_of(i).grown(0.01).meets(seen))


def _covered(sheet: Sheet, page: Page, overlap: float) -> tuple[Page, tuple[Box, ...]]:
    inner = page.inner
    cut = windows(_extent(sheet), inner.width, inner.height - _FOOT, overlap)
    ring = np.asarray(next(i.points for i in sheet.items if isinstance(i, Polyline) and i.closed))
    letters = [t.at for t in sheet.items if isinstance(t, Text)]
    return page, tuple(b for b in cut if _touches(ring, b) or any(_in(b, at) for at in letters))


def _in(box: Box, at: tuple[float, float]) -> bool:
    return box.left <= at[0] <= box.right and box.lower <= at[1] <= box.upper


def _touches(ring: np.ndarray, box: Box) -> bool:
    """Tell whether a plank's outline crosses a box, or has its middle within."""
    after = np.roll(ring, -1, axis=0)
    low, high = np.minimum(ring, after), np.maximum(ring, after)
    across = (low[:, 0] <= box.right) & (high[:, 0] >= box.left)
    if np.any(across & (low[:, 1] <= box.upper) & (high[:, 1] >= box.lower)):
        return True
    x, y = (box.left + box.right) / 2, (box.lower + box.upper) / 2
    cut = (ring[:, 0] <= x) != (after[:, 0] <= x)
    a, b = ring[cut], after[cut]
    heights = a[:, 1] + (x - a[:, 0]) / (b[:, 0] - a[:, 0]) * (b[:, 1] - a[:, 1])
    return bool(np.count_nonzero(heights > y) % 2)


def _tile(sheet: Sheet, page: Page, parts: tuple[Box, ...], at: int) -> Sheet:
    part, inner = parts[at], page.inner
    window = Box(inner.left, inner.upper - part.height, inner.left + part.width, inner.upper)
    origin = (window.left - part.left, window.lower - part.lower)
    paper = [
        rectangle("tiles", window),
        *_marks_within(match_marks(at, parts, origin, 1, CAP_MM), window),
        *_tile_foot(sheet, page, at, len(parts)),
    ]
    return replace(
        sheet, page=page, origin=origin, window=window, items=_within(sheet, part),
        paper=tuple(paper), number=at + 1, of=len(parts),
    )  # fmt: skip


def _marks_within(marks: Iterable[Item], window: Box) -> Iterator[Item]:
    """Turn the lettering of marks at the right and upper edge inwards, so that it is read."""
    for mark in marks:
        if not isinstance(mark, Text):
            yield mark
            continue
        (x, y), align = mark.at, mark.align
        beside = min(y, window.upper - mark.height_mm - 1.0)
        out = 1.1 if beside < y else 0.0  # level with the mark's arm: clear of its end
        x, align = (x - 3.8 - out, "right") if x > window.right - 20.0 else (x + out, align)
        y = beside
        yield replace(mark, at=(x, y), align=align)


def _tile_foot(sheet: Sheet, page: Page, at: int, of: int) -> Iterator[Item]:
    left, low = page.inner.left, page.inner.lower
    yield Text("name", (left, low + 4.0), sheet.name, 4.0, face="Sans-Semibold")
    yield Text("notes", (left + 26.0, low + 4.0), f"sheet {at + 1} of {of}", 2.8)
    long = 100.0 if page.inner.width > 185.0 else 50.0
    yield from check_bar((page.inner.right - 104.0, low + 7.0), _unit(sheet), long, CAP_MM)


def _unit(sheet: Sheet) -> str:
    return "ft" if any(word in sheet.title.unit for word in ("feet", "inch")) else "mm"


def _page_map(sheet: Sheet, page: Page, parts: Sequence[Box], overlap: float) -> Sheet:
    """Draw the plank small, with the sheets laid over it, above the legend."""
    extent, inner = _extent(sheet), page.inner
    scale = choose(extent.width, inner.width - 4.0, _unit(sheet))
    top = inner.upper - 42.0
    lower = top - extent.height * scale
    origin = (
        inner.left + (inner.width - extent.width * scale) / 2 - extent.left * scale,
        lower - extent.lower * scale,
    )
    kept = [i for i in sheet.items if isinstance(i, Polyline) and i.layer in {"outline", "frames"}]
    boxes = [rectangle("tiles", part) for part in parts]
    numbers = _numbers(parts, scale)
    return replace(
        sheet, page=page, origin=origin, scale=scale, scale_up=scale, number=1, of=1,
        items=(*kept, *boxes, *numbers), window=None,
        title=replace(sheet.title, drawing=f"Page map of plank {sheet.name}"),
        paper=(*sheet.paper, *_map_words(sheet, page, len(parts), overlap, scale)),
    )  # fmt: skip


def _numbers(parts: Sequence[Box], scale: float) -> Iterator[Item]:
    """Letter the sheets' numbers on the map: all, or every second, fifth ... where small."""
    wide = parts[0].width * scale
    each = next(k for k in (1, 2, 5, 10, 20, 50) if k * wide > 6.0)
    for at, part in enumerate(parts):
        if (at + 1) % each == 0 or at == 0:
            where = ((part.left + part.right) / 2, (part.lower + part.upper) / 2)
            number = str(at + 1)
            yield Text("tiles", where, number, 2.0, "centre", "middle", face="Sans-Semibold")


def _map_words(
    sheet: Sheet, page: Page, count: int, overlap: float, scale: float
) -> Iterator[Item]:
    inner = page.inner
    yield Text("title", (inner.left, inner.upper - 7.0), f"{sheet.name}: page map", 6.0,
               face="Serif-Semibold")  # fmt: skip
    lap = f"{overlap / 25.4:.2f} in" if _unit(sheet) == "ft" else f"{overlap:g} mm"
    told = (
        f"{counted(count, 'sheet follows', 'sheets follow')}, numbered as below; the map is "
        f"{words(scale, _unit(sheet))}. Print at 100 %, never fitted to the page, and "
        "measure the check bar of each before use. Cut two "
        f"sides of each sheet to its frame; neighbours overlap by at least {lap}. Lay the "
        "match marks of one number over each other, tape, then check the whole against the "
        "distances along the batten: the figures go before the paper."
    )
    if count > _MANY:
        told += " So many sheets are many joints to go wrong: print on a roll where one can be had."
    for k, line in enumerate(wrap(told, inner.width, 2.6)):
        yield Text("notes", (inner.left, inner.upper - 14.0 - 4.4 * k), line, 2.6)
