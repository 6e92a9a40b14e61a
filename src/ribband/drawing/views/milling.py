"""The milling list on paper: planks in the order the saw and the planer take them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from ribband.drawing.board import Setting
from ribband.drawing.layout import Air, Drawing, lay_on, room_on
from ribband.drawing.lettering import width_mm
from ribband.drawing.sheet import Box, Fill, Item, Polyline, Sheet, Text, Title
from ribband.timber.milling import AS_TALLIED_WET, MillingLine, is_wet
from ribband.units import format_bare, format_small, rounded_up

__all__ = ["milling_sheets"]

Heads = Sequence[tuple[str, str]]
LINE, HEIGHT, HEAD = 4.6, 1.95, 9.2
GAP = 4.0  # mm between columns
NOTES = (
    "Boards are in the order of the tally, planks along a board from its butt.",
    "Plane to: the dressed thickness and what backing out takes; the round is taken off within it.",
    "To spare: over that, when drying and planing are taken off; what they take is in the tally.",
    "Line up: where its batten line is struck at either end, up from the board's lower edge there.",
    "Dry: a board over 20 % is dried first; what is sawn out of it wet comes out narrower.",
    "Measure the board before it is planed. Guards, extraction, masks as the local code asks.",
)  # fmt: skip
COLUMNS = (
    ("board", ""), ("plank", ""), ("from the", "butt"), ("length", "sawn"), ("breadth", "sawn"),
    ("line up,", "butt end"), ("line up,", "other end"), ("moisture", ""), ("rough", ""),
    ("plane to", ""), ("hollow", "after"), ("round", "after"), ("dressed", ""), ("to spare", ""),
    ("marked face", "becomes"), ("lies", ""),
)  # fmt: skip
TOGETHER = (("got out", "together"),)  # a column more, where planks are
WORDS = {0, 1, 14, 15, 16}  # columns of words, lettered from the left


def milling_sheets(
    lines: Sequence[MillingLine],
    title: Title,
    unit: str,
    *,
    setting: Setting = Setting(),  # noqa: B008
) -> tuple[Sheet, ...]:
    """Set the milling list out on as many sheets as it needs; lengths in the job's unit."""
    heads = (*COLUMNS, *TOGETHER) if any(line.mate for line in lines) else COLUMNS
    rows = [_row(line, unit)[: len(heads)] for line in lines]
    widths = [
        max(width_mm(text, HEIGHT, "Sans-Semibold") for text in (*head, *(r[c] for r in rows)))
        for c, head in enumerate(heads)
    ]
    notes = _notes(lines)
    room = room_on(setting.page, notes, ())
    per = max(1, int((room.height - HEAD - 2.0) // LINE))
    parts = [rows[k : k + per] for k in range(0, max(len(rows), 1), per)]
    drawings = [_drawing(part, heads, widths, notes) for part in parts]
    return lay_on(drawings, setting.page, title, 1.0, unit=unit)


def _notes(lines: Sequence[MillingLine]) -> tuple[str, ...]:
    wet = any(is_wet(line.moisture_percent) for line in lines)
    return (*NOTES, AS_TALLIED_WET) if wet else NOTES


def _drawing(
    rows: Sequence[tuple[str, ...]], heads: Heads, widths: Sequence[float], notes: tuple[str, ...]
) -> Drawing:
    box = Box(0.0, -HEAD - LINE * len(rows), sum(widths) + GAP * len(widths), 0.0)
    items = tuple(_table(rows, heads, widths))
    return Drawing("milling", items, box, Air(0, 0, 0, 1), notes, to_scale=False)


def _row(line: MillingLine, unit: str) -> tuple[str, ...]:
    plane_to = rounded_up(line.plane_to_mm, unit)  # it must not come out barer
    lengths = (line.from_butt_mm, line.long_mm, line.wide_mm, line.up_butt_mm, line.up_top_mm)
    moist = "" if line.moisture_percent is None else f"{line.moisture_percent:g} %"
    wet = f"{moist}: dry" if is_wet(line.moisture_percent) else moist
    return (
        line.board, line.plank, *(format_bare(x, unit) for x in lengths), wet,
        *(format_bare(x, unit) for x in (line.rough_mm, plane_to)),
        *(format_small(x, unit) if x >= 0.05 else "" for x in (line.hollow_mm, line.round_mm)),
        format_bare(line.dressed_mm, unit), format_small(line.spare_mm, unit),
        f"{line.marked_face} face", line.lies, line.mate.partition(":")[0],
    )  # fmt: skip


def _table(
    rows: Sequence[tuple[str, ...]], heads: Heads, widths: Sequence[float]
) -> Iterator[Item]:
    right = sum(widths) + GAP * len(widths)
    yield Polyline("title", ((0.0, 0.0), (right, 0.0)))
    for k in range(2):
        texts = tuple(column[k] for column in heads)
        yield from _line(texts, widths, -3.3 - 3.2 * k, "Sans-Italic")
    yield Polyline("rules", ((0.0, -HEAD + 1.4), (right, -HEAD + 1.4)))
    for n, row in enumerate(rows):
        y = -HEAD - (n + 1) * LINE + 1.4
        if n % 2:
            yield Fill("bands", ((0.0, y), (right, y), (right, y + LINE), (0.0, y + LINE)))
        yield from _line(row, widths, y + 1.3, "Sans")
    low = -HEAD - len(rows) * LINE + 1.4
    yield Polyline("title", ((0.0, low), (right, low)))


def _line(texts: Sequence[str], widths: Sequence[float], y: float, face: str) -> Iterator[Item]:
    left = GAP / 2
    for c, (text, wide) in enumerate(zip(texts, widths, strict=True)):
        bold = "Sans-Semibold" if c == 1 and face == "Sans" else face
        if c in WORDS:
            yield Text("notes", (left, y), text, HEIGHT, face=bold)
        elif text:
            yield Text("notes", (left + wide, y), text, HEIGHT, "right", face=bold)
        left += wide + GAP
