"""The planking as the shop sees it: every plank, where it crosses frames and how it ends.

*Crossing*: a place where a plank is fastened: a frame, a butt on a frame, a butt on a block, a
hood end or a nib. Widths are of the strake square across, as lined out. Ends that run out to a
point have no width there and no crossing.

Not checked: whether list, lining and shapes belong together, beyond their names.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import Literal

import numpy as np

from ribband.hull.model import Floats, Hull
from ribband.lining.model import POINT_MM, Lining
from ribband.planks.model import Plank, PlankList
from ribband.planks.shape_model import Shape, Shapes
from ribband.timber.model import Species

__all__ = ["Crossing", "Ends", "Planking"]

Ends = Literal["frame", "butt", "block", "hood", "nib"]
END_OF = {"frame": "butt", "block": "block", "hood": "hood", "nib": "nib"}


@dataclass(frozen=True, slots=True)
class Crossing:
    """A place where a plank is fastened: the frame (for a block, the one forward of it)."""

    at: str
    width_mm: float
    kind: Ends


@dataclass(frozen=True, eq=False)
class Planking:
    """What is hung: hull, lining, list of planks, their flat shapes where known, the timber.

    `starboard` are its own shapes and `other` its own lining, where they are not port's mirrored.
    `timbers` are the yard's own figures of timbers.
    """

    hull: Hull
    lining: Lining
    planks: PlankList
    shapes: Shapes | None = None
    starboard: Shapes | None = None
    species: Species | None = None
    other: Lining | None = None
    timbers: tuple[Species, ...] = ()

    @property
    def unit(self) -> str:
        """The job's own unit, a key of `ribband.units`."""
        return self.hull.particulars.unit

    def shape(self, plank: Plank) -> Shape | None:
        """Give a plank's flat shape, or None where it is not known."""
        mine = self.starboard if plank.side == "starboard" else None
        chosen = self._port if mine is None else self._starboard
        return chosen.get(f"{plank.strake}-{plank.number}")

    def lining_of(self, side: str) -> Lining:
        """Give the lining of a side."""
        return self.lining if self.other is None or side != "starboard" else self.other

    def crossings(self, plank: Plank) -> tuple[Crossing, ...]:
        """Give the places where a plank is fastened, from forward."""
        row, columns = self._rows[plank.strake], self.lining.columns
        width = self.lining_of(plank.side).width_mm[row]
        first, last = columns.index(plank.fore), columns.index(plank.aft)
        start = first + (plank.fore_landing == "block")
        found = [self._crossing(width, c, "frame") for c in range(start, last + 1)]
        found[0] = self._end(width, first, plank.fore_landing)
        aft = self._end(width, last, plank.aft_landing)
        if plank.fore_landing == "block":
            found.insert(1, self._crossing(width, start, "frame"))
        if plank.aft_landing == "block":
            found.append(aft)
        else:
            found[-1] = aft
        return tuple(c for c in found if np.isfinite(c.width_mm) and c.width_mm > POINT_MM)

    def bay_mm(self, frame: str) -> float | None:
        """Give the clear width of the bay aft of a frame; None where a siding is not known."""
        names = [mark.name for mark in self.hull.marks]
        if frame not in names or names.index(frame) + 1 >= len(names):
            return None
        one, other = self.hull.marks[names.index(frame) : names.index(frame) + 2]
        if one.sided_mm is None or other.sided_mm is None:
            return None
        return other.x_mm - one.x_mm - (one.sided_mm + other.sided_mm) / 2

    def sided_mm(self, frame: str) -> float | None:
        """Give the siding of a frame, or None."""
        return next((m.sided_mm for m in self.hull.marks if m.name == frame), None)

    @cached_property
    def _rows(self) -> dict[str, int]:
        return {strake.name: row for row, strake in enumerate(self.lining.strakes)}

    @cached_property
    def _port(self) -> dict[str, Shape]:
        return {s.name: s for s in self.shapes.shapes} if self.shapes else {}

    @cached_property
    def _starboard(self) -> dict[str, Shape]:
        return {s.name: s for s in self.starboard.shapes} if self.starboard else {}

    def _crossing(self, widths: Floats, column: int, kind: Ends) -> Crossing:
        return Crossing(self.lining.columns[column], float(widths[column]), kind)

    def _end(self, widths: Floats, column: int, landing: str) -> Crossing:
        kind: Ends = END_OF[landing]  # type: ignore[assignment]
        if landing != "block":
            return self._crossing(widths, column, kind)
        beside = widths[column : column + 2]
        known = beside[np.isfinite(beside)]
        width = float(known.mean()) if len(known) else float("nan")
        return Crossing(self.lining.columns[column], width, kind)
