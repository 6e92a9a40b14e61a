"""What was measured, after the forms have been read and converted to millimetres.

Axes: x from forward to aft, y out from the centreline (always positive; `side` tells which),
z up. Every reading keeps the cell it came from and the text as typed, so that a doubt can be
shown where it was written. Nothing here is faired.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

from ribband.findings import Finding

__all__ = [
    "Cell",
    "Decision",
    "EndPoint",
    "FrameMark",
    "Girth",
    "Kind",
    "OldButt",
    "OldFastening",
    "OldWidth",
    "Particulars",
    "Reading",
    "Side",
    "Survey",
    "bodily_key",
    "place_of",
    "position_key",
]

Side = Literal["both", "port", "starboard"]
Kind = Literal["half-breadths", "heights"]
_SAME_PLACE = 50.0  # mm: nearer than this to the frame of its name a reading is of that frame


@dataclass(frozen=True, slots=True, order=True)
class Cell:
    """Where a value was written: file, row as the spreadsheet counts, column heading."""

    file: str
    row: int
    column: str


@dataclass(frozen=True, slots=True)
class Particulars:
    """The vessel and how she was measured.

    `unit` is the job's own unit, a key of `ribband.units`; `measured_to` tells whether the
    readings were taken on the frames or on the outside of the planking of `planking_mm`.
    """

    vessel: str
    unit: str = "mm"
    planking_mm: float = 0.0
    rough_mm: float = 0.0
    measured_to: Literal["frame", "planking"] = "frame"
    yard: str = ""
    built: str = ""
    measured_by: str = ""
    measured_on: str = ""
    species: str = ""
    more: tuple[tuple[str, str], ...] = ()  # whatever else the form says, label and text

    @property
    def quarter_turn_mm(self) -> float:
        """By how much a girth over the planking is longer round a quarter turn of the frame.

        Parallel curves: the thickness times the angle turned.
        """
        return self.planking_mm * math.pi / 2


@dataclass(frozen=True, slots=True)
class FrameMark:
    """A frame: `name` is its number as the yard says it, counted from forward."""

    name: str
    x_mm: float
    sided_mm: float | None = None
    moulded_mm: float | None = None
    double: bool = False
    cell: Cell | None = None


@dataclass(frozen=True, slots=True)
class Girth:
    """A girth along the outside of a frame, rabbet to sheer; `frame` may be "stem" or "stern"."""

    key: str
    frame: str
    x_mm: float
    girth_mm: float
    side: Side
    cell: Cell
    as_typed: str


@dataclass(frozen=True, slots=True)
class Reading:
    """One measured point of the moulded surface.

    `measured` names the coordinate that was read ("y" half-breadth, "z" height, "d" along a
    diagonal, "xyz" a point in space); the others were set. `role` is "rabbet" or "sheer" for
    points of those lines, else "surface". `line` is the name of the waterline, buttock or
    diagonal, or the label of the point.
    """

    key: str
    station: str
    line: str
    role: Literal["surface", "rabbet", "sheer"]
    side: Side
    x_mm: float
    y_mm: float
    z_mm: float
    measured: Literal["y", "z", "d", "xyz"]
    value_mm: float
    cell: Cell
    as_typed: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class EndPoint:
    """A point of the stem or stern rabbet profile; `y_mm` is the half siding there.

    `corner` : its rabbet meets the keel's there, as the shipwright says (forefoot or heel).
    """

    key: str
    end: Literal["stem", "stern"]
    x_mm: float
    y_mm: float
    z_mm: float
    cell: Cell
    as_typed: str
    corner: bool = False


@dataclass(frozen=True, slots=True)
class OldWidth:
    """The width of an old strake as recorded at a frame; `strake` counts from the keel.

    timber, fastening, condition : in the recorder's words, blank where not recorded
    """

    side: Side
    strake: str
    frame: str
    width_mm: float
    thickness_mm: float | None
    cell: Cell
    timber: str = ""
    fastening: str = ""
    condition: str = ""


@dataclass(frozen=True, slots=True)
class OldButt:
    """A butt of the old planking; on a frame or on a block in the bay aft of it."""

    side: Side
    strake: str
    frame: str
    landing: Literal["frame", "block"]
    cell: Cell


@dataclass(frozen=True, slots=True)
class OldFastening:
    """What held the old planking, in the recorder's words."""

    where: str
    kind: str
    gauge: str
    length_mm: float | None
    per_frame: str
    cell: Cell
    condition: str = ""


@dataclass(frozen=True, slots=True)
class Decision:
    """What the shipwright decided of a doubtful reading.

    "accept": take the fair value; "correct": take `value_mm`; "keep": the reading is right as
    it stands, whatever the fairing says.
    """

    key: str
    decision: Literal["accept", "correct", "keep"]
    value_mm: float | None
    cell: Cell


def position_key(station: str) -> str:
    """Name the position of a station, as a decision on it names it.

    >>> position_key("7")
    'position of station 7'
    """
    return f"position of station {station}"


def bodily_key(kind: Kind, station: str, side: Side = "both") -> str:
    """Name all readings of a kind at a station, as a decision on them names them.

    >>> bodily_key("half-breadths", "9"), bodily_key("heights", "9", "port")
    ('half-breadths of station 9', 'heights of station 9 port')
    """
    return f"{kind} of station {station}" + ("" if side == "both" else f" {side}")


def place_of(name: str, x_mm: float, frames: Iterable[FrameMark]) -> str:
    """Say where something was measured: at a frame, or at a station that is not the frame so named.

    >>> frames = (FrameMark("9", 4000.0),)
    >>> place_of("9", 4000.0, frames), place_of("9", 5500.0, frames), place_of("stem", 0.0, ())
    ('frame 9', 'station 9', 'stem')
    """
    if name in {"", "stem", "stern"}:
        return name
    here = any(m.name == name and abs(m.x_mm - x_mm) < _SAME_PLACE for m in frames)
    return f"{'frame' if here else 'station'} {name}"


@dataclass(frozen=True, slots=True)
class Survey:
    """Everything measured on one vessel; empty tuples where a form was not used.

    `stations` are the columns of the table of offsets, each with the cell of its position.
    """

    particulars: Particulars
    frames: tuple[FrameMark, ...]
    girths: tuple[Girth, ...] = ()
    readings: tuple[Reading, ...] = ()
    ends: tuple[EndPoint, ...] = ()
    old_widths: tuple[OldWidth, ...] = ()
    old_butts: tuple[OldButt, ...] = ()
    old_fastenings: tuple[OldFastening, ...] = ()
    decisions: tuple[Decision, ...] = ()
    findings: tuple[Finding, ...] = field(default=())
    stations: tuple[FrameMark, ...] = ()

    @property
    def girths_only(self) -> bool:
        """True where there are no points, so no surface can be made."""
        return not self.readings
