"""Scales a drawing office uses, in its own words, and the bars that prove them.

In metric jobs 1:10, 1:20, 1:25 and so on; where the vessel is in feet, so many inches to the
foot. A scale is kept as paper over full size.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from ribband.drawing.sheet import Box, Fill, Item, Point, Polyline, Text, rectangle
from ribband.units import imperial

__all__ = ["check_bar", "choose", "scale_bar", "wanted", "words"]

_METRIC = (
    1,
    2,
    2.5,
    4,
    5,
    8,
    10,
    15,
    20,
    25,
    30,
    40,
    50,
    60,
    75,
    100,
    125,
    150,
    200,
    250,
    300,
    500,
)
_FEET = (1, 2, 4, 8, 12, 16, 24, 32, 48, 64, 96, 128, 192, 384)
_INCHES = {1: "full size", 2: "6 in", 4: "3 in", 8: "1 1/2 in", 12: "1 in", 16: "3/4 in",
           24: "1/2 in", 32: "3/8 in", 48: "1/4 in", 64: "3/16 in", 96: "1/8 in",
           128: "3/32 in", 192: "1/16 in", 384: "1/32 in"}  # fmt: skip
FOOT = 304.8
LEAST = 1000  # a drawing is at least one to so many


def choose(long_mm: float, room_mm: float, unit: str) -> float:
    """Choose the largest standard scale at which `long_mm` goes into `room_mm` of paper.

    >>> round(1 / choose(17000.0, 390.0, "mm")), round(1 / choose(17000.0, 390.0, "ft-in-8ths"))
    (50, 48)
    """
    for one_to in _FEET if imperial(unit) else _METRIC:
        if long_mm / one_to <= room_mm:
            return 1.0 / one_to
    return room_mm / max(long_mm, 1e-9)


def wanted(scale: float | str) -> float | None:
    """Read a wish for a scale: "fit" gives None; "1:20", "20", 20 or 0.05 give 0.05.

    >>> wanted("1:20"), wanted(20), round(wanted(0.05) or 0, 9), wanted("fit")
    (0.05, 0.05, 0.05, None)

    Raises
    ------
    ValueError : anything else
    """
    if scale == "fit":
        return None
    try:
        one_to = float(str(scale).removeprefix("1:"))
    except ValueError:
        one_to = math.nan
    if 0 < one_to < 1 and not str(scale).startswith("1:"):
        one_to = 1.0 / one_to
    if not 1 <= one_to <= LEAST:
        known = f"fit, 1:20, or 20: from full size, 1:1, to 1:{LEAST}"
        raise ValueError(f"scale {scale!r} is not one; wanted {known}")
    return 1.0 / one_to


def words(scale: float, unit: str) -> str:
    """Say a scale.

    >>> words(1 / 48, "ft"), words(1 / 25, "mm"), words(1.0, "mm"), words(1 / 47.3, "mm")
    ('1/4 in to the foot (1:48)', '1:25', 'full size', '1:47.3')
    """
    one_to = 1.0 / scale
    if abs(one_to - 1) < 1e-9:
        return "full size"
    if imperial(unit) and (inches := _INCHES.get(round(one_to, 6))):  # type: ignore[call-overload]
        return f"{inches} to the foot (1:{one_to:g})"
    return f"1:{one_to:.4g}"


def scale_bar(at: Point, scale: float, unit: str, room_mm: float, says: str) -> Iterator[Item]:
    """Draw a bar of round lengths, its left end at `at`, no longer than `room_mm`."""
    one, name = (FOOT, "ft") if imperial(unit) else (1000.0, "m")
    part = _round_part(room_mm / scale / one / 4) * one
    (x, y), step = at, part * scale
    yield rectangle("rules", Box(x, y, x + 4 * step, y + 1.2))
    for i in (0, 2):
        box = Box(x + i * step, y, x + (i + 1) * step, y + 1.2)
        yield Fill(
            "bars", ((box.left, y), (box.right, y), (box.right, y + 1.2), (box.left, y + 1.2))
        )
    for i in (0, 1, 2, 4):
        unit_name = f" {name}" if i == 4 else ""
        figure = f"{i * part / one:g}{unit_name}"
        yield Text("notes", (x + i * step, y + 2.0), figure, 1.8, "centre")
    yield Text("notes", (x, y - 0.8), says, 1.8, "left", "top", face="Sans-Italic")


def check_bar(at: Point, unit: str, long_mm: float = 100.0, cap_mm: float = 1.8) -> Iterator[Item]:
    """Draw the bar that proves a print: its line is exactly the length it says.

    100 mm (or 50), divided in tens; in jobs in feet 4 in (or 2), divided in halves. `cap_mm` is
    the height of its lettering.
    """
    part = 12.7 if imperial(unit) else 10.0
    parts = round(long_mm / (part if not imperial(unit) else 12.5))
    (x, y), full = at, parts * part
    yield Polyline("bars", ((x, y), (x + full, y)))
    for i in range(parts + 1):
        tall = 2.4 if i in {0, parts} else 1.2
        yield Polyline("rules", ((x + i * part, y), (x + i * part, y + tall)))
    said = f"{full / 25.4:g} in" if imperial(unit) else f"{full:g} mm"
    says = f"Check bar: {said} exactly. If it measures otherwise, the print is not true."
    for i, line in enumerate(_halves(says, full, cap_mm)):
        low = y - 0.9 - 1.55 * cap_mm * i
        yield Text("notes", (x, low), line, cap_mm, "left", "top", face="Sans-Italic")


def _round_part(most: float) -> float:
    ten = 10.0 ** math.floor(math.log10(most))
    return max(f * ten for f in (1.0, 2.0, 5.0) if f * ten <= most * (1 + 1e-9))


def _halves(text: str, room_mm: float, cap_mm: float) -> tuple[str, ...]:
    from ribband.drawing.lettering import wrap  # noqa: PLC0415

    return wrap(text, room_mm, cap_mm, "Sans-Italic")
