"""Old planks cut back for scarfs: each end seen edgeways on its frames, and on the face.

Forward is at the left. Above, a cut along the planking: the old plank hatched, the new one plain,
the frames' faces below. Under it the old plank alone, seen on the face that is cut: where it is cut
off, and where the slope runs out. Places are told from the frame nearest to them, along the strake.

Not checked: whether the wood is sound; the notes on the sheet say so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from ribband.drawing.board import Setting, titled
from ribband.drawing.layout import Air, Drawing, fitted, lay_on, room_on
from ribband.drawing.sheet import Box, Dimension, Hatch, Item, Point, Polyline, Sheet, Text
from ribband.hull.model import Hull
from ribband.record.repair.cut_back import CutBack
from ribband.units import format_length

__all__ = ["cut_back_said", "cut_back_sheets", "place_of"]

_AIR = Air(8.0, 12.0, 8.0, 20.0)
_CAP = 2.0
_SOUND = (
    "The wood from the joint to the end of the slope must be sound: the surveyor looks before it "
    "is cut. Local codes come first."
)
_CARE = (
    "Draw every fastening out of the slope before a saw or plane comes near: metal struck flies. "
    "Eyes covered, the plank held so that it cannot spring."
)
_INNER = (
    "The inner face is cut from within the opening: draw the fastenings of the frames in the slope "
    "and spring the end off them, no further than it goes easily."
)


def cut_back_sheets(
    hull: Hull,
    cuts: Sequence[CutBack],
    *,
    setting: Setting = Setting(),  # noqa: B008 - frozen
) -> tuple[Sheet, ...]:
    """Draw every cut-back on a sheet of its own, to scale.

    Raises
    ------
    ValueError : there is none, or a scale not known
    """
    if not cuts:
        raise ValueError("no old plank is cut back: no renewal is scarfed to one")
    unit = hull.particulars.unit
    sheets: list[Sheet] = []
    for cut in cuts:
        drawing = _drawing(cut, unit)
        room = room_on(setting.page, drawing.notes, ())
        scale = fitted(drawing.extent, drawing.air, room, unit, setting.scale)
        what = f"Strake {cut.strake}: old plank cut back for {cut.new}"
        title = titled(hull, what, setting, cut.side)
        sheets += lay_on(drawing, setting.page, title, scale, unit=unit)
    return tuple(replace(sheet, number=n, of=len(sheets)) for n, sheet in enumerate(sheets, 1))


def cut_back_said(cut: CutBack, unit: str) -> str:
    """Say in a sentence how an old plank is cut back.

    >>> own = CutBack("port", "7", "aft", 24, 6000.0, 5700.0, 6300.0, "outer", 600.0, 75.0, 8.0,
    ...               250.0, "P7-2", (("12", 6000.0),))
    >>> cut_back_said(own, "mm")
    'the old plank aft: cut off 300 mm forward of frame 12, outer face off to full thickness 300 mm aft of frame 12, 600 mm in all, 1 in 8'
    """  # noqa: E501 - a sentence
    tip, full = (place_of(cut, at, unit) for at in (cut.tip_mm, cut.full_mm))
    long = format_length(cut.length_mm, unit)
    return (
        f"the old plank {cut.stays}: cut off {tip}, {cut.face} face off to full thickness {full}, "
        f"{long} in all, 1 in {cut.slope:.3g}"
    )


def place_of(cut: CutBack, at: float, unit: str) -> str:
    """Say where a place along the strake lies, from the frame nearest to it."""
    frame, off = cut.from_frame(at)
    if abs(off) < 1.0:
        return f"at frame {frame}"
    way = "aft" if off > 0 else "forward"
    return f"{format_length(abs(off), unit)} {way} of frame {frame}"


def _drawing(cut: CutBack, unit: str) -> Drawing:
    reach = 0.6 * cut.length_mm
    left, right = (f(cut.tip_mm, cut.full_mm) + way * reach for f, way in ((min, -1), (max, 1)))
    thick, wide = cut.thickness_mm, cut.width_mm
    foot = -(1.6 * thick + wide)  # of the face, under the cut along it
    items = [
        *_along(cut, left, right),
        *_face(cut, left, right, foot),
        *_frames(cut, left, right, foot - 0.25 * thick, 1.25 * thick),
        *_measures(cut, unit, foot),
    ]
    said = cut_back_said(cut, unit)
    notes = (
        f"{said[0].upper()}{said[1:]}.",
        _SOUND,
        _CARE,
        *((_INNER,) if cut.face == "inner" else ()),
    )
    return Drawing("cut-back", tuple(items), Box(left, foot, right, thick), _AIR, notes)


def _along(cut: CutBack, left: float, right: float) -> Iterator[Item]:
    """Draw the planking cut along: the slope leans so that the forward plank's tip lies outside."""
    first, last = sorted((cut.tip_mm, cut.full_mm))
    t = cut.thickness_mm
    forward: tuple[Point, ...] = ((left, 0.0), (first, 0.0), (last, t), (left, t))
    aft: tuple[Point, ...] = ((first, 0.0), (right, 0.0), (right, t), (last, t))
    old, new = (forward, aft) if cut.stays == "forward" else (aft, forward)
    yield Hatch("frames", old, 1.6)
    yield from (Polyline("seams", own, closed=True) for own in (old, new))
    inset = 0.04 * (right - left)
    new_says = f"new: {cut.new}"
    says = ("old", new_says) if old is forward else (new_says, "old")
    for text, x, align in zip(says, (left + inset, right - inset), ("left", "right"), strict=True):
        yield Text("notes", (x, 0.5 * t), text, _CAP + 0.4, align, "middle",  # type: ignore[arg-type]
                   mask=True, face="Sans-Semibold")  # fmt: skip
    yield Text("notes", (left, 2.0 * t), "outside, forward at the left", _CAP, face="Sans-Italic")


def _face(cut: CutBack, left: float, right: float, foot: float) -> Iterator[Item]:
    """Draw the old plank on the face that is cut."""
    end = left if cut.stays == "forward" else right
    top = foot + cut.width_mm
    a, b = sorted((cut.tip_mm, end))
    first, last = sorted((cut.tip_mm, cut.full_mm))
    yield Hatch("frames", _box(first, last, foot, top), 2.6)
    yield Polyline("seams", _box(a, b, foot, top), closed=True)
    yield Polyline("butts", ((cut.tip_mm, foot), (cut.tip_mm, top)))
    yield Polyline("open ends", ((cut.full_mm, foot), (cut.full_mm, top)))
    at = (end + (0.04 if end == left else -0.04) * (right - left), foot + 0.5 * cut.width_mm)
    align = "left" if cut.stays == "forward" else "right"
    says = f"old plank, {cut.face} face"
    yield Text("notes", at, says, _CAP, align, "middle", mask=True, face="Sans-Italic")  # type: ignore[arg-type]


def _frames(cut: CutBack, left: float, right: float, low: float, high: float) -> Iterator[Item]:
    for name, at in cut.frames:
        if left <= at <= right:
            yield Polyline("centreline", ((at, low), (at, high)))
            says = f"frame {name}"
            yield Text("frame numbers", (at, high), says, _CAP, "centre", face="Sans-Semibold")


def _measures(cut: CutBack, unit: str, foot: float) -> Iterator[Item]:
    """Measure the slope, and the places from the frame nearest to each, from the foot down."""
    first, last = sorted((cut.tip_mm, cut.full_mm))
    long = f"{format_length(cut.length_mm, unit)}, 1 in {cut.slope:.3g}"
    yield Dimension("dimensions", (first, -0.55 * cut.thickness_mm),
                    (last, -0.55 * cut.thickness_mm), long)  # fmt: skip
    for at in (cut.tip_mm, cut.full_mm):
        name, off = cut.from_frame(at)
        there = next(place for frame, place in cut.frames if frame == name)
        if abs(off) >= 1.0:
            a, b = sorted((there, at))
            y = foot + (0.18 if at == cut.tip_mm else 0.36) * cut.width_mm
            said = format_length(abs(off), unit)
            yield Dimension("dimensions", (a, y), (b, y), said)
    under = foot - 0.1 * cut.thickness_mm
    yield Text("notes", (cut.tip_mm, under), "cut off", _CAP, "centre", "top")
    yield Text("notes", (cut.full_mm, under), "full thickness", _CAP, "centre", "top")


def _box(left: float, right: float, low: float, high: float) -> tuple[Point, ...]:
    return ((left, low), (right, low), (right, high), (left, high))
