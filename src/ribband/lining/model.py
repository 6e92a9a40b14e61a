"""The lining out: which strakes there are and where their edges run.

Columns of every table by frame are ``("stem", frame names..., "stern")``: C = frames + 2. A
strake that does not reach a column holds NaN there. A strake that is cut by the stem between
two frames reaches the frame where any of its width does; its lower girth is then 0, and it is not
*whole* there: its width is what is left of it, and no measure of how wide the strake is.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np
from numpy.typing import NDArray

from ribband.findings import Finding
from ribband.hull.model import Floats

__all__ = ["KEPT_MM", "POINT_MM", "Alternative", "Bind", "Lining", "Strake", "Wish"]

KEPT_MM = 0.4  # a limit passed by less, a sixty-fourth of an inch, is kept: no saw is finer
POINT_MM = 1.0  # narrower is an end in a point, and no width


@dataclass(frozen=True, slots=True)
class Wish:
    """Something the shipwright wants of the lining, as read from the `lining` form.

    kind : "strakes" (value = how many), "width" (strake, frame, value), "least" / "greatest"
        (value, optionally strake and frames), "master" (strake = the seam above it; value =
        girth at frame), "fix" (seam above `strake` at `frame` held at girth `value`), "taper"
        (strake, value = width at the hood end over width amidships; frame = "stem" or "stern",
        blank for both), "stealer" (strake =
        the one it lies above, frame = its nib, to_frame = its other end), "recorded" (value =
        weight of the old widths, 0 to 1). For a limit or taper `strake` may name a group.
    value : mm, or a pure number for "strakes", "taper", "recorded"
    """

    kind: Literal[
        "strakes", "width", "least", "greatest", "master", "fix", "taper", "stealer", "recorded"
    ]
    value: float
    strake: str = ""
    frame: str = ""
    to_frame: str = ""
    weight: float = 1.0
    note: str = ""


@dataclass(frozen=True, slots=True)
class Strake:
    """One strake, counted from the keel; a stealer is named after the one below it ("6s").

    `first`, `last` are columns it reaches ("stem", a frame, "stern"); `nib` the frame of its
    squared end, for a stealer.
    """

    name: str
    called: str
    first: str
    last: str
    stealer: bool = False
    nib: str = ""


@dataclass(frozen=True, slots=True)
class Bind:
    """A limit that holds the lining where it is: what, where, and what easing it would gain."""

    what: str
    where: str
    gain: str


@dataclass(frozen=True, slots=True)
class Alternative:
    """Another division, for comparison; lower `cost` is fairer and evener.

    `blank_m2` is the estimated area of one side's blanks (planks with their sweep, before edge
    and end allowances), `saved_m2` how much less that is than of the lining chosen.
    """

    strakes: int
    stealers: int
    cost: float
    sweep_rms_per_m: float
    widest_mm: float
    narrowest_mm: float
    says: str
    blank_m2: float = 0.0
    saved_m2: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Lining:
    """The result.

    columns : (C,) "stem", frame names, "stern"
    strakes : (S,) from keel to sheer, stealers in their place
    lower_girth_mm, upper_girth_mm : (S, C) along the frame from the rabbet
    width_mm : (S, C) square across the strake, what a plank is got out to
    whole : (S, C) True where the full width of the strake stands; None: wherever it stands at all
    lower_xyz, upper_xyz : (S, C, 3), or None with girths only
    along_mm : (S, C) along the strake's middle from its fore end, at each column it reaches
    seam_u : (K,) the solver's lines; seam_v : (S + 1, K) edges on them, girth fraction, row i is
        the upper edge of strake i - 1 and the lower edge of strake i; where a strake is absent
        its two edges are equal
    present : (S, K) True where the strake exists on the line
    blank_m2 : estimated area of one side's blanks, as in `Alternative`; 0: not reckoned
    feasible : False where a limit had to be broken; `findings` then say which wish to give up
    """

    columns: tuple[str, ...]
    strakes: tuple[Strake, ...]
    lower_girth_mm: Floats
    upper_girth_mm: Floats
    width_mm: Floats
    lower_xyz: Floats | None
    upper_xyz: Floats | None
    along_mm: Floats
    seam_u: Floats
    seam_v: Floats
    present: Floats
    feasible: bool
    cost: float
    sweep_rms_per_m: float
    reasons: tuple[str, ...] = ()
    binds: tuple[Bind, ...] = ()
    alternatives: tuple[Alternative, ...] = ()
    findings: tuple[Finding, ...] = ()
    whole: NDArray[np.bool_] | None = None
    blank_m2: float = 0.0

    @property
    def full_width_mm(self) -> Floats:
        """Widths (S, C) where the full width of the strake stands, NaN elsewhere.

        What "widest" and "narrowest" are taken from, so that a corner left by the stem does not
        count as a narrow strake.
        """
        if self.whole is None:
            return self.width_mm
        full: Floats = np.where(self.whole, self.width_mm, np.nan)
        return full
