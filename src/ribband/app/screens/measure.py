"""The page of measurements: readings as typed, the fair hull behind them, doubts, both sides.

Lengths are in millimetres, rounded to a tenth, for drawing; what is read by people is text in the
job's unit. The fair hull is the last one made; `states` says whether it is of the present forms.
A decision shows at once, before the hull is made again upon it.

Not checked here: whether the readings can be planned on.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband.app.screens.kept import Lying, lying
from ribband.app.screens.readings import AsTyped, Where, readings_of
from ribband.errors import InputError, Problem
from ribband.survey.model import Cell, Girth, Reading
from ribband.survey.places import key_of
from ribband.survey.rows import Form, Row
from ribband.units import as_written, format_bare, format_length, parse_exact

if TYPE_CHECKING:
    from ribband.hull.model import Doubt, Hull

__all__ = ["DoubtShown", "MeasureView", "SideShown", "Trying", "evenly", "measure_view"]

Place = tuple[str, int, int] | None


@dataclass(frozen=True, slots=True)
class DoubtShown:
    """A reading the fair surface does not believe; `place` is form, row and column from 0.

    `at` and `fair_at` are where it lies and where the fair value lies: x, y, z (or x, girth), mm.
    `where` is the frame or station; of a `whole` column `fair` is what it stands too great by.
    """

    key: str
    frame: str
    line: str
    typed: str
    reads: str
    fair: str
    off: str
    explains: str
    where: str
    whole: bool
    decision: str
    value: str
    changed: bool
    place: Place
    at: list[float] | None
    fair_at: list[float] | None


FEWEST = 3  # stations, of fewer the sections of the frames say more
NET_ALONG, NET_UP = 81, 33  # of the surface, where it is cut for the page


@dataclass(frozen=True, slots=True)
class SideShown:
    """How the sides differ at a frame, port less starboard; `far` where by more than allowed."""

    frame: str
    girth: str
    mm: float
    greatest: str
    at: str
    port: str
    starboard: str
    far: bool


@dataclass(frozen=True, slots=True)
class MeasureView:
    """Everything the page draws; millimetres for drawing, text in the job's unit.

    stations : name, x
    readings : station, role, line, side, x, y, z, place, what was decided of it, and y, z as said
    ends, girths, frames : likewise
    fair : sections at the stations (N, M, 3) flat, rabbet and sheer, girths, or None where no hull
        was made
    doubts, sides, old : what is to be decided, compared and recorded
    decided : decisions on readings that are doubted no more
    old_nowhere : frames of old widths that stand nowhere yet, so that these are not drawn
    judged : what may be said where nothing is doubted
    """

    revision: int
    unit: str
    states: dict[str, str]
    stations: list[dict[str, Any]]
    readings: list[dict[str, Any]]
    ends: list[dict[str, Any]]
    girths: list[dict[str, Any]]
    frames: list[dict[str, Any]]
    fair: dict[str, Any] | None
    doubts: list[DoubtShown]
    decided: list[str]
    judged: str
    sides: list[SideShown]
    sides_from: str
    old: list[dict[str, Any]]
    old_nowhere: list[str]
    old_butts: list[dict[str, Any]]
    tolerance: str


@dataclass(frozen=True, slots=True)
class Trying:
    """A cell as it is being typed: `row` and `column` from 0; a row past the last is a new one."""

    form: str
    row: int
    column: int
    text: str


def measure_view(path: Path, trying: Trying | None = None) -> MeasureView:
    """Look at a job's measurements, with a cell that is still being typed; nothing is made.

    Raises
    ------
    JobFileError : the job cannot be opened
    """
    on = lying(path, ("hull",))
    if trying is not None:
        on = replace(on, forms=_tried(on.forms, trying))
    read, where, hull = readings_of(on.forms, on.unit), Where(on.forms), on.hull
    sides, sides_from = _sides(on, read, hull)
    said = {row.values["reading"]: row for row in read.rows.get("doubts", ())}
    return MeasureView(
        revision=on.revision,
        unit=on.unit,
        states=dict(on.states),
        stations=[{"name": name, "x": _mm(x)} for name, x in read.stations.items()],
        readings=[_reading(one, where, said.get(one.key)) for one in read.readings],
        ends=[_end(one, where) for one in read.ends],
        girths=[_girth(one, where) for one in read.girths],
        frames=[{"name": f.name, "x": _mm(f.x_mm)} for f in read.places.frames],
        fair=_fair(hull, {r.station: r.x_mm for r in read.readings if r.role == "surface"}),
        doubts=list(_doubts(on, read, where, hull, said)),
        decided=_decided(said, hull),
        judged=_judged(hull, stale=on.states["hull"] != "good"),
        sides=sides,
        sides_from=sides_from,
        old=list(_old(read, where)),
        old_nowhere=_old_nowhere(read),
        old_butts=list(_old_butts(read, where)),
        tolerance="" if hull is None else format_length(hull.tolerance_mm, on.unit),
    )


def evenly(many: int, spacing: str, first: str, unit: str) -> tuple[str, ...]:
    """Give the positions of frames at one spacing from the first on, in the job's unit.

    >>> evenly(3, "14 in", "0-10-0", "ft-in-8ths")
    ('0-10-0', '2-0-0', '3-2-0')

    Raises
    ------
    InputError : a length that cannot be read, or a spacing that leads nowhere
    """
    step, start = _asked("spacing", spacing, unit), _asked("first position", first or "0 mm", unit)
    if step <= 0:
        raise InputError([Problem("frames", 0, "spacing", spacing, "a length above nought")])
    return tuple(format_bare(float(start + n * step), unit) for n in range(many))


def _asked(what: str, text: str, unit: str) -> Fraction:
    try:
        return parse_exact(text, unit)
    except ValueError as wrong:
        example = format_bare(355.6, as_written(text, unit))
        raise InputError([Problem("frames", 0, what, text, str(wrong), example)]) from wrong


def _tried(forms: Mapping[str, Form], trying: Trying) -> Mapping[str, Form]:
    form = forms.get(trying.form)
    if form is None or trying.row >= len(form.rows) or trying.column >= len(form.header):
        return forms
    row, at = form.rows[trying.row], trying.column
    row = (*row[:at], trying.text, *row[at + 1 :])
    rows = (*form.rows[: trying.row], row, *form.rows[trying.row + 1 :])
    return {**forms, trying.form: replace(form, rows=rows)}


def _mm(value: float) -> float:
    return round(float(value), 1)


def _flat(values: Any) -> list[float]:
    return [round(float(one), 1) for one in values.ravel()]


def _reading(one: Reading, where: Where, decision: Row | None) -> dict[str, Any]:
    return {
        "station": one.station, "line": one.line, "role": one.role, "side": one.side,
        "x": _mm(one.x_mm), "y": _mm(one.y_mm), "z": _mm(one.z_mm),
        "place": where.place(one.cell), "faint": bool(one.note),
        "decided": decision.values["decision"] or "" if decision else "",
        "said": _as_said(one, decision),
    }  # fmt: skip


def _as_said(one: Reading, decision: Row | None) -> list[float] | None:
    """Give y and z of a reading as it was corrected, where it was."""
    from ribband.hull.sections import moved

    value = decision.values.get("value") if decision else None
    if value is None or decision is None or decision.values["decision"] != "correct":
        return None
    right = moved(one, value)
    return [_mm(right.y_mm), _mm(right.z_mm)]


def _decided(said: Mapping[str, Row], hull: Hull | None) -> list[str]:
    """Say the decisions on readings that are doubted no more."""
    open_ = {doubt.key for doubt in hull.doubts} if hull is not None else set()
    return [
        f"{key}: {_DECIDED[row.values['decision']]} {row.as_typed.get('value') or ''}".strip()
        for key, row in said.items()
        if key not in open_ and row.values["decision"] in _DECIDED
    ]


_DECIDED = {"accept": "the fair value is taken", "correct": "corrected to", "keep": "kept as read"}


def _end(one: Any, where: Where) -> dict[str, Any]:
    place = where.place(one.cell)
    return {"end": one.end, "x": _mm(one.x_mm), "y": _mm(one.y_mm), "z": _mm(one.z_mm),
            "typed": one.as_typed, "place": place}  # fmt: skip


def _girth(one: Girth, where: Where) -> dict[str, Any]:
    return {"key": one.key, "frame": one.frame, "x": _mm(one.x_mm), "girth": _mm(one.girth_mm),
            "side": one.side, "typed": one.as_typed, "place": where.place(one.cell)}  # fmt: skip


def _fair(hull: Hull | None, stations: Mapping[str, float]) -> dict[str, Any] | None:
    """Give the fair hull for drawing: sections, edges and girths along the frames."""
    if hull is None:
        return None
    lines, frames = hull.lines, hull.frames
    girths = [[_mm(x), _mm(g)] for x, g in zip(lines.x_mm, lines.girth_mm, strict=True)]
    if frames.xyz is None or lines.xyz is None:
        return {"girths": girths, "sections": [], "edges": []}
    thin = lines.xyz[:, :: max(1, lines.xyz.shape[1] // 8)]
    return {
        "girths": girths,
        "sections": [{"name": name, "xyz": _flat(xyz)} for name, xyz in _sections(hull, stations)],
        "edges": [_flat(lines.xyz[:, 0]), _flat(lines.xyz[:, -1])],
        "runs": [_flat(thin[:, at]) for at in range(1, thin.shape[1] - 1)],
    }


def _sections(hull: Hull, stations: Mapping[str, float]) -> Iterator[tuple[str, Any]]:
    """Give the fair hull's sections where she was measured, else at the frames."""
    from ribband.drawing.views.cuts import net, section

    frames = hull.frames
    if frames.xyz is None:
        return
    if len(stations) < FEWEST or hull.surface is None:
        yield from ((n, xyz[::2]) for n, xyz in zip(frames.names, frames.xyz, strict=True))
        return
    seen = net(hull.surface, NET_ALONG, NET_UP)
    for name, x in stations.items():
        cut = section(seen, x)
        if cut is not None:
            yield name, cut


# ---- doubtful readings


def _judged(hull: Hull | None, *, stale: bool) -> str:
    """Say how far it is known that nothing is to be doubted."""
    if hull is None:
        return "None looked for yet: the hull is made fair once the forms can be read."
    when = "As last made fair, none" if stale else "None"
    if hull.in_space:
        return f"{when} stands out from the fair surface."
    return (
        f"{when} stands out from its fellows. The two girths at either end have too few beside "
        "them to be judged: tape those twice."
    )


def _doubts(
    on: Lying, read: AsTyped, where: Where, hull: Hull | None, said: Mapping[str, Row]
) -> Iterator[DoubtShown]:
    known: dict[str, Reading | Girth] = {one.key: one for one in read.readings}
    known |= {one.key: one for one in read.girths}
    for doubt in hull.doubts if hull is not None else ():
        yield _doubt(doubt, on.unit, where, said.get(doubt.key), known.get(doubt.key))


def _doubt(
    doubt: Doubt, unit: str, where: Where, said: Row | None, at: Reading | Girth | None
) -> DoubtShown:
    place = where.place(Cell(doubt.file, doubt.row, doubt.column))
    reads = where.says(place).strip()
    return DoubtShown(
        key=doubt.key, frame=doubt.frame, line=doubt.line, typed=doubt.as_typed,
        reads=format_length(doubt.value_mm, unit), fair=format_bare(doubt.fair_mm, unit),
        where=doubt.where, whole=doubt.whole,
        off=_signed(doubt.off_mm, unit), explains=doubt.explains, place=place,
        decision=said.values["decision"] or "" if said else "",
        value=said.as_typed.get("value", "").strip() if said else "",
        changed=not doubt.whole and reads.rstrip(" ?") != doubt.as_typed.rstrip(" ?"),
        at=_spot(at), fair_at=_fair_spot(doubt, at),
    )  # fmt: skip


def _spot(at: Reading | Girth | None) -> list[float] | None:
    """Give where a reading lies: x, y, z, or x and girth."""
    if at is None:
        return None
    if isinstance(at, Girth):
        return [_mm(at.x_mm), _mm(at.girth_mm)]
    return [_mm(at.x_mm), _mm(at.y_mm), _mm(at.z_mm)]


def _fair_spot(doubt: Doubt, at: Reading | Girth | None) -> list[float] | None:
    """Give where the fair value would put it, where that is along one axis."""
    if isinstance(at, Girth):
        return [_mm(at.x_mm), _mm(doubt.fair_mm)]
    if at is None or at.measured not in {"y", "z"}:
        return None
    y, z = (doubt.fair_mm, at.z_mm) if at.measured == "y" else (at.y_mm, doubt.fair_mm)
    return [_mm(at.x_mm), _mm(y), _mm(z)]


def _signed(mm: float, unit: str) -> str:
    """Say a difference in words: too great or too small.

    >>> _signed(-25.4, "mm")
    '25 mm too small'
    """
    return f"{format_length(abs(mm), unit)} too {'great' if mm > 0 else 'small'}"


# ---- both sides


def _sides(on: Lying, read: AsTyped, hull: Hull | None) -> tuple[list[SideShown], str]:
    """Compare the sides: by the hull of the present forms, else by girths as typed."""
    if hull is not None and hull.sides and on.states["hull"] == "good":
        limit = on.rules("hull").sides_mm
        return [
            SideShown(
                frame=d.frame, girth=_plain_signed(d.girth_mm, on.unit), mm=_mm(d.girth_mm),
                greatest=format_length(d.greatest_mm, on.unit), at=d.at, port="", starboard="",
                far=d.greatest_mm > limit)
            for d in hull.sides
        ], "hull"  # fmt: skip
    rows = list(_typed_sides(on, read.girths))
    return rows, "girths" if rows else ""


def _typed_sides(on: Lying, girths: Sequence[Girth]) -> Iterator[SideShown]:
    by: dict[str, dict[str, Girth]] = defaultdict(dict)
    for one in girths:
        by[one.frame][one.side] = one
    limit = on.rules("hull").sides_mm
    for frame, sides in by.items():
        if "port" in sides and "starboard" in sides:
            port, starboard = sides["port"], sides["starboard"]
            by_mm = port.girth_mm - starboard.girth_mm
            yield SideShown(
                frame=frame, girth=_plain_signed(by_mm, on.unit), mm=_mm(by_mm), greatest="",
                at="girth as typed", port=port.as_typed, starboard=starboard.as_typed,
                far=abs(by_mm) > limit,
            )  # fmt: skip


def _plain_signed(mm: float, unit: str) -> str:
    said = format_length(abs(mm), unit)
    return said if said == format_length(0.0, unit) else f"{'+' if mm > 0 else '−'}{said}"


# ---- old planking


def _old(read: AsTyped, where: Where) -> Iterator[dict[str, Any]]:
    """Give the old widths with the positions of their frames, where those are known."""
    for row in read.rows.get("old_strakes", ()):
        v, x = row.values, _x(read, row)
        if x is not None and v["width"] is not None:
            place = where.place(row.cell("width"))
            yield _of_strake(row, x) | {"width": _mm(v["width"]), "place": place}


def _old_butts(read: AsTyped, where: Where) -> Iterator[dict[str, Any]]:
    for row in read.rows.get("old_butts", ()):
        v, x = row.values, _x(read, row)
        if x is not None:
            place = where.place(row.cell("frame"))
            yield _of_strake(row, x) | {"landing": v.get("landing") or "frame", "place": place}


def _of_strake(row: Row, x: float) -> dict[str, Any]:
    v = row.values
    return {"side": v.get("side") or "", "strake": v["strake"], "frame": v["frame"], "x": x}


def _old_nowhere(read: AsTyped) -> list[str]:
    """Name the frames of old widths of which no position is known."""
    rows = (row for row in read.rows.get("old_strakes", ()) if row.values["width"] is not None)
    names = [str(row.values["frame"]) for row in rows if _x(read, row) is None]
    return list(dict.fromkeys(name for name in names if name))


def _x(read: AsTyped, row: Row) -> float | None:
    """Give the position of a row's frame; of a hood end that of its girth or its profile."""
    name = key_of(row.values["frame"])
    x = read.places.x_mm.get(name)
    if x is None and name in {"stem", "stern"}:
        x = _end_x(read, name)
    return None if x is None else _mm(x)


def _end_x(read: AsTyped, end: str) -> float | None:
    taped = [one.x_mm for one in read.girths if key_of(one.frame) == end]
    drawn = [one.x_mm for one in read.ends if one.end == end]
    own = taped or drawn
    return sum(own) / len(own) if own else None
