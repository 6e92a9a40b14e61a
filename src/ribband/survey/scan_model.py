"""A scan of the hull: what was read, what the shipwright says of it, and how it was placed.

*Cloud*: the points of a file, in the scanner's own axes. *Pick*: a point the shipwright read off
the scan, in the file's own axes and unit. *Placing*: the shipwright's word; it goes before
anything found in the cloud. *Placed*: the hull's points in her own axes, right-handed: x aft,
y to starboard, z up; millimetres.

Not checked here: anything; `scan_place` checks that what is said agrees with itself.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding
from ribband.survey.rows import Form

__all__ = ["Cloud", "Cut", "Datum", "Floats", "Pick", "Placed", "Placing"]

Floats = NDArray[np.float64]
Pick = tuple[float, float, float]


@dataclass(frozen=True, slots=True, eq=False)
class Cloud:
    """Points (n, 3), mm in the scanner's axes; `unit_mm` is how long one of the file's units is."""

    points: Floats
    unit_mm: float
    file: str
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Datum:
    """A pick whose place is known: how far aft and how high it stands, mm."""

    pick: Pick
    x_mm: float
    z_mm: float


@dataclass(frozen=True, slots=True)
class Placing:
    """What the shipwright says of a scan; every part may be left out.

    bow, up : directions in the scan; `up` is taken as exact fore and aft
    level : two picks that stand level, far apart fore and aft; goes before `up`
    centreline : three or more picks on the centreline plane, not in a line
    scale : what lengths of the file are to be multiplied by, from a length measured on the hull
    datum : a pick of known place; without it 0 is the foremost and the lowest point found
    floor : False if no flat part of the scan is a floor or a wall
    rabbet, sheer, stem, stern : picks along these lines, either side, in any order
    """

    bow: Pick | None = None
    up: Pick | None = None
    level: tuple[Pick, Pick] | None = None
    centreline: tuple[Pick, ...] = ()
    scale: float = 1.0
    datum: Datum | None = None
    floor: bool = True
    rabbet: tuple[Pick, ...] = ()
    sheer: tuple[Pick, ...] = ()
    stem: tuple[Pick, ...] = ()
    stern: tuple[Pick, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """The hull in her own axes.

    points : (n, 3) mm, thinned, without what stood about her
    turn, shift : (3, 3) and (3,); a point p of the cloud is at ``turn @ (scale p) + shift``
    rabbet, sheer, stem, stern : (k, 3) picks
    dropped : how many points of the thinned cloud were left out
    asymmetry_mm : usual distance of one side from the mirror of the other; NaN if not compared
    """

    points: Floats
    turn: Floats
    shift: Floats
    rabbet: Floats
    sheer: Floats
    stem: Floats
    stern: Floats
    dropped: int
    asymmetry_mm: float
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """The form `points` as cut from a scan, and what is in doubt of it."""

    form: Form
    findings: tuple[Finding, ...] = ()
