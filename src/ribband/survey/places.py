"""Where things are along the hull: frames, and the places where girths and points were taken.

Not checked here: spacing; `ribband.survey.check` reports it.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Literal

from ribband.errors import Problem
from ribband.findings import Finding, Severity
from ribband.survey.columns import nearest
from ribband.survey.model import EndPoint, FrameMark, Girth, Reading, Side
from ribband.survey.offsets import DOUBTFUL
from ribband.survey.rows import Row
from ribband.survey.typed import doubtful

__all__ = ["CORNERS", "ENDS", "Places", "end_of", "key_of", "places", "read_girths", "read_points"]

ENDS = ("stem", "stern")
CORNERS: dict[str, Literal["stem", "stern"]] = {"forefoot": "stem", "heel": "stern"}
_SAME_MM = 1.0  # two positions of one frame may differ by this much


def key_of(name: object) -> str:
    """Bring a frame's name to the form by which it is matched.

    >>> key_of(" 12A "), key_of("12.0")
    ('12a', '12')
    """
    plain = " ".join(str(name).split()).casefold()
    return re.sub(r"^(\d+)\.0+$", r"\1", plain)


@dataclass(frozen=True, slots=True)
class Places:
    """The frames, and the position of every place that has a name."""

    frames: tuple[FrameMark, ...]
    x_mm: Mapping[str, float]
    findings: tuple[Finding, ...]

    @property
    def names(self) -> set[str]:
        """Give the keys of the frames."""
        return {key_of(frame.name) for frame in self.frames}


def places(
    rows: Mapping[str, Sequence[Row]], stations: Mapping[str, float]
) -> tuple[Places, list[Problem]]:
    """Gather frames and named places; without the form ``frames`` what was measured serves."""
    frames = tuple(_mark(row) for row in rows.get("frames", ()))
    problems = _frame_problems(rows.get("frames", ()))
    measured = [
        *_measured(rows.get("girths", ()), "position"),
        *_measured(rows.get("points", ()), "x"),
    ]
    measured += [FrameMark(name, x) for name, x in stations.items()]
    x_mm = {key_of(frame.name): frame.x_mm for frame in reversed([*frames, *measured])}
    if frames:
        return Places(frames, x_mm, ()), problems
    says = "no form frames: the places that were measured serve as frames"
    note = Finding("S001", Severity.NOTE, "survey", "frames", says)
    return Places(_distinct(measured), x_mm, (note,)), problems


def read_girths(
    rows: Sequence[Row], where: Places, side: Side
) -> tuple[tuple[Girth, ...], list[Problem]]:
    """Set girths in their places; a position may be left to the form ``frames``.

    A row without a girth is a gap: `check` reports it, nothing is made of it.
    """
    girths: dict[str, Girth] = {}
    problems = []
    for row in rows:
        if row.values["girth"] is None:
            continue
        x, wrong = _place(row, "position", where)
        girth = _girth(row, x, side)
        if girth.key in girths:
            wanted = "each frame once a side"
            wrong = Problem(row.file, row.number, "frame", girth.frame, wanted)
        if wrong:
            problems.append(wrong)
        girths.setdefault(girth.key, girth)
    return tuple(girths.values()), problems


def read_points(
    rows: Sequence[Row], where: Places, side: Side
) -> tuple[tuple[Reading, ...], tuple[EndPoint, ...], list[Problem]]:
    """Set points in their places; those of stem, stern, forefoot or heel are of the ends."""
    readings, ends, problems = [], [], []
    count: Counter[str] = Counter()
    for row in rows:
        label = " ".join((row.values.get("label") or "").split())
        x, wrong = _place(row, "x", where)
        if wrong:
            problems.append(wrong)
            continue
        name = _point_name(row, label, side, count)
        if label.lower() in {*ENDS, *CORNERS}:
            ends.append(_end(row, name, x))
        else:
            readings.append(_point(row, name, label, x, side))
    return tuple(readings), tuple(ends), problems


def _mark(row: Row) -> FrameMark:
    v = row.values
    return FrameMark(
        v["frame"], v["position"], v.get("sided"), v.get("moulded"), bool(v.get("double")),
        row.cell("frame"),
    )  # fmt: skip


def _frame_problems(rows: Sequence[Row]) -> list[Problem]:
    problems = []
    seen: set[str] = set()
    ahead: Row | None = None
    for row in rows:
        name = key_of(row.values["frame"])
        if name in seen:
            problems.append(Problem(row.file, row.number, "frame", name, "each frame once"))
        elif name in ENDS:
            wanted = "a frame; stem and stern are the ends, not frames"
            problems.append(Problem(row.file, row.number, "frame", name, wanted, "1"))
        seen.add(name)
        if ahead and row.values["position"] <= ahead.values["position"]:
            found = row.as_typed["position"].strip()
            last = ahead.as_typed["position"].strip()
            wanted = f"a position aft of frame {ahead.values['frame']} at {last}"
            problems.append(Problem(row.file, row.number, "position", found, wanted))
        else:
            ahead = row
    return problems


def _measured(rows: Sequence[Row], column: str) -> list[FrameMark]:
    return [
        FrameMark(row.values["frame"], row.values[column], cell=row.cell("frame"))
        for row in rows
        if row.values.get("frame") and row.values.get(column) is not None
        and key_of(row.values["frame"]) not in ENDS
        and key_of(row.values.get("label")) not in {*ENDS, *CORNERS}
    ]  # fmt: skip


def _distinct(marks: Sequence[FrameMark]) -> tuple[FrameMark, ...]:
    """Keep the first of each name and of each position, in order from forward."""
    kept: list[FrameMark] = []
    for mark in marks:
        same = (m for m in kept if key_of(m.name) == key_of(mark.name) or _near(m.x_mm, mark.x_mm))
        if not any(same):
            kept.append(mark)
    return tuple(sorted(kept, key=lambda mark: mark.x_mm))


def _near(a: float, b: float) -> bool:
    return abs(a - b) <= _SAME_MM


def _place(row: Row, column: str, where: Places) -> tuple[float, Problem | None]:
    """Find how far aft a row stands: by its own cell, or by its frame."""
    name = row.values.get("frame") or ""
    own, known = row.values.get(column), where.x_mm.get(key_of(name))
    if own is not None and known is not None and column == "position" and not _near(own, known):
        found = row.as_typed.get(column, "").strip()
        wanted = f"the same position as the form frames gives frame {name}, or a blank"
        return own, Problem(row.file, row.number, column, found, wanted)
    if own is not None or known is not None:
        return float(own if own is not None else known or 0.0), None
    if not name:
        wanted = "a position here, or the frame's name"
        return 0.0, Problem(row.file, row.number, column, "", wanted, "3657.6")
    near = nearest(key_of(name), tuple(where.x_mm))
    wanted = f"a position here, or a frame of the form frames; {name!r} is not one"
    return 0.0, Problem(row.file, row.number, "frame", name, wanted, near)


def _girth(row: Row, x: float, side: Side) -> Girth:
    v = row.values
    said = v.get("side") or side
    name = str(v["frame"])
    frame = key_of(name) if key_of(name) in ENDS else name
    key = f"girths: {frame if frame in ENDS else f'frame {frame}'}"
    key += "" if said == "both" else f" {said}"
    return Girth(key, frame, x, v["girth"], said, row.cell("girth"), row.as_typed["girth"].strip())


def _point_name(row: Row, label: str, side: Side, count: Counter[str]) -> str:
    """Name a point by its frame, side and label, or by its turn among those without."""
    said = row.values.get("side") or side
    frame = row.values.get("frame")
    at = f"frame {frame}" if frame else "off the frames"
    name = f"points: {at}" + ("" if said == "both" else f" {said}")
    count[f"{name}, {label}"] += 1
    turn = count[f"{name}, {label}"]
    if not label:
        return f"{name}, point {turn}"
    return f"{name}, {label}" if turn == 1 else f"{name}, {label} {turn}"


def _end(row: Row, name: str, x: float) -> EndPoint:
    v = row.values
    said = " ".join(v["label"].split()).lower()
    typed = row.as_typed["z"].strip()
    return EndPoint(name, end_of(said), x, v["y"], v["z"], row.cell("z"), typed, said in CORNERS)


def end_of(said: str) -> Literal["stem", "stern"]:
    """Give the end a word of the forms belongs to.

    >>> end_of("forefoot"), end_of("stern")
    ('stem', 'stern')
    """
    return CORNERS.get(said, "stem" if said == "stem" else "stern")


def _point(row: Row, name: str, label: str, x: float, side: Side) -> Reading:
    v = row.values
    role: Literal["surface", "rabbet", "sheer"] = "surface"
    if label.lower() in {"rabbet", "sheer"}:
        role = "rabbet" if label.lower() == "rabbet" else "sheer"
    typed = [row.as_typed.get(column, "").strip() for column in ("x", "y", "z")]
    return Reading(
        key=name,
        station=str(v.get("frame") or ""),
        line=label,
        role=role,
        side=v.get("side") or side,
        x_mm=x,
        y_mm=v["y"],
        z_mm=v["z"],
        measured="xyz",
        value_mm=v["y"],
        cell=row.cell("y"),
        as_typed=", ".join(text for text in typed if text),
        note=DOUBTFUL if any(map(doubtful, typed)) else "",
    )
