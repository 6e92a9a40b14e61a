"""The tables of the record: drift, the last openings, and the lining of what is left.

Not checked here: the re-lining; the tables carry the findings beside them.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from ribband.store.table_model import Column, Shape
from ribband.store.table_model import must as _must
from ribband.store.table_model import number as _number
from ribband.store.table_model import text as _text
from ribband.store.table_model import yes as _yes

if TYPE_CHECKING:
    from ribband.planks.shape_model import Shape as FlatShape
    from ribband.record import (
        Left,
        OldNew,
        Photo,
        PlankRecord,
        Record,
        Repair,
        SideLeft,
        SideRepair,
    )

__all__ = [
    "RECORD_SHAPES", "filled_kept", "filled_old", "filled_photos", "filled_record",
    "filled_repair",
]  # fmt: skip

Values = tuple[Any, ...]
SIDES = ("port", "starboard")

RECORD_SHAPES = (
    Shape(
        "drift",
        "a seam of a plank that hangs, measured at a frame",
        (
            _must("side", "of the vessel", *SIDES),
            _text("above", "the seam lies above this strake; empty: the rabbet"),
            _must("frame", "the frame, stem or stern"),
            _number("planned_mm", "girth from the rabbet as planned"),
            _number("measured_mm", "girth as measured"),
            _number("drift_mm", "how far above its place it hangs"),
        ),
    ),
    Shape(
        "openings",
        "an opening between planks that hang, at a frame",
        (
            _must("side", "of the vessel", *SIDES),
            _must("strake", "that is to go in"),
            _must("frame", "the frame, stem or stern"),
            _number("planned_mm", "width as planned"),
            _number("left_mm", "width that is left"),
            _yes("measured", "both its seams were measured there"),
        ),
        ("side", "strake", "frame"),
    ),
    Shape(
        "relined_edges",
        "a strake of a side that was divided anew, at a frame",
        (
            _must("side", "of the vessel", *SIDES),
            _must("strake", "counted from the keel"),
            _must("frame", "the frame, stem or stern"),
            _number("lower_mm", "girth from the rabbet to its lower edge"),
            _number("upper_mm", "girth to its upper edge"),
            _number("width_mm", "square across"),
            _must("stand", "what is there", "hangs", "cut", "to be got out"),
        ),
        ("side", "strake", "frame"),
    ),
    Shape(
        "relined_planks",
        "a plank still to be got out by the new lining",
        (
            _must("plank", "its name"),
            _must("strake", "counted from the keel"),
            _text("fore", "its fore end"),
            _text("aft", "its after end"),
            _number("length_mm", "along its middle"),
            _number("width_max_mm", "widest"),
            _number("width_min_mm", "narrowest"),
            _number("blank_length_mm", "of the smallest blank; empty: no flat shape"),
            _number("blank_width_mm", "of it"),
            _yes("changed", "its shape is not the one first planned; else its pattern holds"),
            _number(
                "moved_mm", "along the frame: how far an edge of a changed one is off, up positive"
            ),
            _text("moved_edge", "which edge that is", "lower", "upper"),
            _text("moved_frame", "and at which frame"),
        ),
        ("plank",),
    ),
    Shape(
        "renewals",
        "a stretch of an old strake that is renewed",
        (
            _must("side", "of the vessel", *SIDES),
            _must("strake", "counted from the keel"),
            _text("bad", "what is bad, frame to frame"),
            _text("found", "what is wrong with it"),
            _text("fore", "where the renewal begins"),
            _text("aft", "where it ends"),
            _number("bad_mm", "length of what is bad"),
            _number("length_mm", "length renewed"),
            _must("joint", "at new ends", "butt", "scarf"),
            Column("new_joints", "integer", "joints that were not there before"),
            Column("turn", "integer", "it is opened in, from 1"),
            _text("planks", "its new planks, parted by ;"),
        ),
    ),
    Shape(
        "cut_backs",
        "an old plank's end that is cut back for a scarf",
        (
            _must("side", "of the vessel", *SIDES),
            _must("strake", "counted from the keel"),
            _must("stays", "where the old plank lies of what is renewed", "forward", "aft"),
            _number("joint_mm", "middle of the scarf, along the strake from its fore end"),
            _number("tip_mm", "where the old plank is cut off"),
            _number("full_mm", "where it has its full thickness"),
            _must("face", "planed away", "inner", "outer"),
            _number("length_mm", "of the scarf"),
            _number("thickness_mm", "of the planking"),
            _must("frame", "nearest to the cut"),
            _number("off_frame_mm", "the cut lies so far aft of it"),
            _must("plank", "the new plank it is joined to"),
        ),
    ),
    Shape(
        "record",
        "a plank as it was got out and hung",
        (
            _must("plank", "its name"),
            _text("state", "the furthest it has come; empty: to be got out"),
            _text("board", "it is got out of"),
            _text("species", "timber"),
            _number("moisture_percent", "of dry weight, as tallied"),
            _text("first", "first day anything was logged of it"),
            _text("last", "last day"),
            _text("hands", "who was at it, parted by ;"),
            _text("fastened", "as planned"),
            _number("drift_mm", "most of its upper edge; empty: not measured"),
            Column("spoilt", "integer", "planks of this name spoilt before"),
            _text("photos", "files, parted by ;"),
            _text("notes", "of the log, parted by ;"),
        ),
        ("plank",),
    ),
    Shape(
        "old_planking",
        "a place of the old planking as recorded, beside what is there now",
        (
            _must("side", "which side", "both", "port", "starboard"),
            _must("strake", "counted from the keel"),
            _must("frame", "the frame, stem or stern"),
            _number("old_width_mm", "as recorded"),
            _number("new_width_mm", "of the strake of that number now; empty: none there"),
            _number("old_thickness_mm", "as recorded; empty: not recorded"),
            _number("new_thickness_mm", "of the new plank; empty: none there, or not known"),
            _text("old_timber", "as recorded"),
            _text("new_timber", "of the new plank's board, or of the vessel"),
            _text("old_fastening", "as recorded"),
            _text("new_fastening", "as planned, of most planks"),
            _text("condition", "of the old plank, in the recorder's words"),
            _text("plank", "the new plank there; empty: the old one stays, or none"),
        ),
    ),
    Shape(
        "photos",
        "a picture of a plank",
        (
            _must("plank", "its name, as written"),
            _text("file", "the picture's name, as it came"),
            _text("at", "day, or day and clock, as written"),
            _text("by", "who took it"),
            _text("note", "what is to be seen on it"),
            _text("picture", "its file beside the tables; empty: only its name is known"),
            _text("sha256", "of that file"),
        ),
    ),
    Shape(
        "hours",
        "an operation, planned and real",
        (
            _must("operation", "what is done"),
            _number("planned_hours", "man-hours for all planks, by the rates"),
            Column("logged", "integer", "steps logged with hands and a clock"),
            _number("rated_hours", "these, by the rates"),
            _number("real_hours", "these, as they took"),
        ),
        ("operation",),
    ),
    Shape(
        "wages",
        "an operation's hours and wages, in the yard's own money",
        (
            _must("operation", "what is done"),
            _number("planned_hours", "man-hours for all planks, by the rates"),
            _number("wage", "an hour, the mean of those who may do it; empty: one is wanting"),
            _number("planned_cost", "hours by wage"),
            _number("logged_hours", "that the log tells, of those who were at it"),
            _number("real_cost", "these at their own wages; empty: not known"),
        ),
        ("operation",),
    ),
    Shape(
        "costs",
        "what the planking costs, in the yard's own money",
        (
            _must("what", "timber, fastenings, wages, what is used up, machines by the hour"),
            _number("planned", "by prices and wages given; empty: one is wanting"),
            _number("real", "so far; empty: not known"),
            _text("says", "of what"),
        ),
        ("what",),
    ),
)


def filled_record(
    left: Left | None, shapes: Mapping[str, FlatShape] | None = None
) -> dict[str, list[Values]]:
    """Give the rows of the tables that can be filled; `shapes` are the flat shapes by plank.

    >>> filled_record(None)
    {}
    """
    sides = left.sides if left else ()
    anew = [one for one in sides if one.relined is not None]
    tables: dict[str, list[Values]] = {
        "drift": [row for one in sides for row in _drift(one)],
        "openings": [row for one in sides for row in _openings(one)],
        "relined_edges": [row for one in anew for row in _edges(one)],
        "relined_planks": [row for one in anew for row in _planks(one, shapes or {})],
    }
    return {name: rows for name, rows in tables.items() if rows}


def filled_repair(repair: Repair | None) -> dict[str, list[Values]]:
    """Give the rows of the tables of renewals and of old planks cut back, if any.

    >>> filled_repair(None)
    {}
    """
    if repair is None:
        return {}
    rows = [row for side in repair.sides for row in _renewals(side)]
    tables = {"renewals": rows, "cut_backs": list(_cut_backs(repair))}
    return {name: own for name, own in tables.items() if own}


def _cut_backs(repair: Repair) -> Iterator[Values]:
    from ribband.record import cut_backs  # noqa: PLC0415

    for c in cut_backs(repair):
        frame, off = c.from_frame(c.tip_mm)
        places = (c.joint_mm, c.tip_mm, c.full_mm)
        sizes = (c.length_mm, c.thickness_mm)
        yield (c.side, c.strake, c.stays, *places, c.face, *sizes, frame, off, c.new)


def _renewals(side: SideRepair) -> Iterator[Values]:
    from ribband.record import place_said  # noqa: PLC0415

    for r in side.renewals:
        yield (
            r.side, r.strake, "; ".join(f"{b.first} to {b.last}" for b in r.bad),
            "; ".join(b.found for b in r.bad if b.found),
            place_said(side.ways, r.landings[0]), place_said(side.ways, r.landings[-1]),
            r.bad_mm, r.length_mm, r.joint, len(r.new), r.turn, "; ".join(r.planks),
        )  # fmt: skip


def filled_kept(record: Record | None) -> dict[str, list[Values]]:
    """Give the rows of the tables of planks as they were hung, and of hours.

    >>> filled_kept(None)
    {}
    """
    if record is None:
        return {}
    costs: list[Values] = [(c.what, c.planned, c.real, c.says) for c in record.costs]
    if not any(own.lines for own in record.planks):
        told = any(c.planned is not None for c in record.costs)
        return {"costs": costs} if told else {}
    hours: list[Values] = [
        (h.operation, h.planned, h.logged, h.rated, h.spent) for h in record.hours
    ]
    wages: list[Values] = [
        (w.operation, w.planned_hours, w.wage, w.planned, w.logged_hours, w.real)
        for w in record.wages
    ]
    tables = {"record": [_kept(own) for own in record.planks], "hours": hours, "wages": wages}
    return {name: rows for name, rows in tables.items() if rows} | {"costs": costs}


def filled_old(old: Sequence[OldNew]) -> dict[str, list[Values]]:
    """Give the rows of the table of the old planking.

    >>> filled_old(())
    {}
    """
    rows: list[Values] = [
        (o.side, o.strake, o.frame, o.old_mm, o.new_mm, o.old_thick_mm, o.new_thick_mm,
         o.old_timber, o.new_timber, o.old_fastening, o.new_fastening, o.condition, o.plank)
        for o in old
    ]  # fmt: skip
    return {"old_planking": rows} if rows else {}


def filled_photos(photos: Sequence[Photo], files: Mapping[str, str]) -> dict[str, list[Values]]:
    """Give the rows of the table of pictures; `files` are their paths, by their hash.

    >>> filled_photos((), {})
    {}
    """
    rows: list[Values] = [
        (p.plank, p.file, p.at, p.by, p.note, files.get(p.picture, ""),
         p.picture if p.picture in files else "")
        for p in photos
    ]  # fmt: skip
    return {"photos": rows} if rows else {}


def _kept(own: PlankRecord) -> Values:
    notes = "; ".join(line.note for line in own.lines if line.note)
    return (
        own.plank.name, own.state, own.got.board, own.got.species, own.got.moisture_percent,
        own.first, own.last, "; ".join(own.hands), own.got.fastened, own.drift_mm, own.spoilt,
        "; ".join(photo.file for photo in own.photos), notes,
    )  # fmt: skip


def _drift(one: SideLeft) -> Iterator[Values]:
    for d in one.drifts:
        yield (d.side, d.above, d.frame, d.planned_mm, d.measured_mm, d.drift_mm)


def _openings(one: SideLeft) -> Iterator[Values]:
    for o in one.openings:
        yield (one.side, o.strake, o.frame, o.planned_mm, o.left_mm, o.measured)


def _edges(one: SideLeft) -> Iterator[Values]:
    if one.relined is None:
        return
    lining, stand = one.relined.lining, one.standing
    for row, strake in enumerate(lining.strakes):
        for column, frame in enumerate(lining.columns):
            width = float(lining.width_mm[row, column])
            if math.isnan(width):
                continue
            word = "hangs" if stand.held[row, column] else "cut" if stand.cut[row, column] else ""
            edges = (lining.lower_girth_mm[row, column], lining.upper_girth_mm[row, column])
            girths = (float(edge) for edge in edges)
            yield (one.side, strake.name, frame, *girths, width, word or "to be got out")


def _planks(one: SideLeft, planned: Mapping[str, FlatShape]) -> Iterator[Values]:
    own = {f"{one.side[0].upper()}{shape.name}": shape for shape in one.shapes}
    shapes = {**planned, **own}
    moved = {each.plank: each for each in one.relined.moved} if one.relined else {}
    changed = set(one.relined.changed) if one.relined else set()
    for p in one.planks:
        shape = shapes.get(p.name)
        blank = (shape.blank_length_mm, shape.blank_width_mm) if shape else (None, None)
        sizes = (p.length_mm, p.width_max_mm, p.width_min_mm, *blank)
        off = moved.get(p.name)
        most = (off.mm, off.edge, off.frame) if off else (None, None, None)
        yield (p.name, p.strake, p.fore, p.aft, *sizes, p.name in changed, *most)
