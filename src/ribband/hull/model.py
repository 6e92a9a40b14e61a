"""The hull as everything after it sees it: lines across the planking, with girths along them.

*Direction.* u runs from 0 at the stem rabbet to 1 at the sternpost or the aftermost frame, the
way frames are numbered and x grows; v runs from 0 at the keel rabbet to 1 at the sheer and is
the girth fraction along a line u = const.

*Two sets of lines.* `lines` are the solver's own (u = const; they lean away from the frames
towards the ends of a full bow; the first and last are the hood ends). `frames` are what the
shipwright marks: the cut of each frame's plane; near the stem and under a transom a frame's cut
may start on that boundary instead of the keel. Where only girths were measured the two are the
same and every array of space is None.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal, Protocol

import numpy as np
from numpy.typing import ArrayLike, NDArray

from ribband.findings import Finding
from ribband.survey.model import FrameMark, Particulars

__all__ = ["Doubt", "Floats", "GirthLines", "Hull", "Likely", "SideDifference", "Surface"]

Floats = NDArray[np.float64]


class Surface(Protocol):
    """The fair surface between rabbet and sheer; shapes broadcast, lengths in mm."""

    def point(self, u: ArrayLike, v: ArrayLike) -> Floats:
        """Give points (..., 3)."""
        ...

    def normal(self, u: ArrayLike, v: ArrayLike) -> Floats:
        """Give unit normals (..., 3), outward."""
        ...

    def curvatures(self, u: ArrayLike, v: ArrayLike) -> tuple[Floats, Floats]:
        """Give principal curvatures (...,), 1/mm, greater first; positive where round outward."""
        ...


@dataclass(frozen=True, slots=True, eq=False)
class GirthLines:
    """L lines across the planking, each sampled at M even girth fractions from 0 to 1.

    names : (L,) frame numbers, or "" for the solver's lines
    x_mm : (L,) the frame's position, or the mean x of a leaning line
    girth_mm : (L,) length from its lower end to the sheer
    starts : (L,) where the lower end lies: "keel", "stem" or "stern"
    u, v : (L, M) parameters of each sample on the surface
    xyz, normal : (L, M, 3) or None; unit normals outward
    curvature : (L, M) or None; normal curvature of the surface along the line, 1/mm, positive
        where the hull is round (convex outward): what a plank's back is hollowed to
    basis : (L,) "measured", "faired" (measured, then moved by fairing) or "between"
    """

    names: tuple[str, ...]
    x_mm: Floats
    girth_mm: Floats
    starts: tuple[Literal["keel", "stem", "stern"], ...]
    u: Floats
    v: Floats
    xyz: Floats | None
    normal: Floats | None
    curvature: Floats | None
    basis: tuple[Literal["measured", "faired", "between"], ...]


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reading the fair surface does not believe.

    `off_mm` is how far it lies out, measured as the reading was taken (positive: the reading is
    too great); `fair_mm` the value that would lie fair; `explains` a slip that would account
    for it ("an inch", "a foot", "two eighths", "digits swapped"), or empty; `decision` what the
    shipwright said of it, empty while open. Open doubts are left out of the fit, never deleted.
    `x_mm` is where along the hull it was measured; `place` says at what: "station 9", "frame 9",
    "stem", or nothing for a point off the frames.

    Of a column doubted as a whole `value_mm` is nothing and `fair_mm`, like `off_mm`, is what its
    readings stand too great by.
    """

    key: str
    frame: str
    line: str
    as_typed: str
    value_mm: float
    fair_mm: float
    off_mm: float
    explains: str
    decision: Literal["", "accept", "correct", "keep"]
    file: str
    row: int
    column: str
    x_mm: float = float("nan")
    place: str = ""

    @property
    def whole(self) -> bool:
        """True where a whole column is doubted, not one reading of it."""
        return self.line.endswith(", all")

    @property
    def where(self) -> str:
        """Say at which frame or station it is."""
        return self.place or (f"frame {self.frame}" if self.frame else "")


@dataclass(frozen=True, slots=True)
class SideDifference:
    """How the two sides differ at a frame, port less starboard."""

    frame: str
    girth_mm: float
    greatest_mm: float
    at: str


@dataclass(frozen=True, slots=True, eq=False)
class Likely:
    """How the fair surface may be out: K ways, drawn by chance from how the readings scatter.

    Each is as likely as the next; what spreads over them by so much is known to so much.

    square : (K, L, M) mm outward at the samples of the hull's own lines
    rabbet, sheer : (K, L, 3) mm, what their lower and upper ends are out along the surface
    usual_mm : the usual error of a reading, square to the surface
    """

    square: NDArray[np.float32]
    rabbet: NDArray[np.float32]
    sheer: NDArray[np.float32]
    usual_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Hull:
    """A fair hull side, ready for lining out.

    `has_stem`, `has_stern` tell whether the first and last of `lines` are true hood ends; if
    not, the planking is known only to the first or last frame measured.
    `tolerance_mm` is the stated tolerance of the fit, `rms_mm` what was reached. `likely` is how
    it may be out; None where that is not known (girths, or too few readings to tell).
    """

    particulars: Particulars
    marks: tuple[FrameMark, ...]
    lines: GirthLines
    frames: GirthLines
    has_stem: bool
    has_stern: bool
    surface: Surface | None
    tolerance_mm: float
    rms_mm: float
    doubts: tuple[Doubt, ...] = ()
    sides: tuple[SideDifference, ...] = ()
    findings: tuple[Finding, ...] = ()
    likely: Likely | None = None

    @property
    def in_space(self) -> bool:
        """True where there is a surface; False where only girths were measured."""
        return self.surface is not None
