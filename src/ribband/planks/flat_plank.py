"""A plank as it is drawn anew while its seam is dragged: the flat shape, and no more.

Fields are those of `Shape` of the same name. Not here: bevels, bend, the batten on the hull.
"""

from __future__ import annotations

from dataclasses import dataclass

from ribband.hull.model import Floats

__all__ = ["FlatPlank"]


@dataclass(frozen=True, slots=True, eq=False)
class FlatPlank:
    """One plank laid flat."""

    name: str
    strake: int
    number: int
    lower: Floats
    upper: Floats
    frames: tuple[str, ...]
    frame_lines: Floats
    strain: float
    strain_at: str
    seam_error_mm: float
    sweep_mm: float
    blank_length_mm: float
    blank_width_mm: float
