"""The flat shape of a plank, with what the bench needs to get it out.

*Axes of the flat shape.* x along the spiling batten's line from the fore end, y square to it and
positive towards the upper edge; the face laid flat is the one that sits on the frames. *Edges*
run fore to aft, *ends* from the lower edge to the upper. One shape serves both sides where the
planking is mirrored: drawn as port, turned over for starboard.

*Frame lines* are the frames' planes as they cross the flat plank: they lean, and are a little
bowed. Batten figures are square off the batten, where a frame line meets it; bevels are at the
frame lines' ends.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from ribband.findings import Finding
from ribband.hull.model import Floats

__all__ = ["Grade", "Shape", "Shapes", "Within"]

Grade = Literal["", "cold", "steam", "steam and force", "split or laminate"]


@dataclass(frozen=True, slots=True, eq=False)
class Within:
    """How near a shape is likely to be, from how the survey's readings scatter: 95 of 100.

    edges_mm, bevels_rad : of all points of its edges and of all its bevels; NaN: none is known
    lower_mm, upper_mm : (k,) of its edges at the frames it crosses
    lower_bevel_rad, upper_bevel_rad : (k,) of its bevels there; NaN in the rabbet and at the sheer,
        where they are given
    """

    edges_mm: float
    bevels_rad: float
    lower_mm: Floats
    upper_mm: Floats
    lower_bevel_rad: Floats
    upper_bevel_rad: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """One plank, flat.

    name : strake and number from forward, without the side ("7-2")
    strake : row in the lining, 0 = garboard; number : 1 from forward
    lower, upper : (n, 2) edges; fore, aft : (m, 2) ends; mm
    frames : (k,) the frames it crosses, those of its butts included
    along_mm, lower_mm, upper_mm : (k,) where each frame's line meets the batten, and square off
        the batten from there down to the lower edge (negative) and up to the upper edge
    lower_bevel_rad, upper_bevel_rad : (k,) of the edge from square to the inner face, positive
        where the outer face is the narrower; of its outer part, with the caulking's opening
    lower_fit_rad, upper_fit_rad : (k,) likewise of its inner part, tight against its neighbour
    tight_mm : how far from the inner face the seams are tight
    hollow_mm, round_mm : (k,) backing out of the inner face, rounding of the outer
    twist_rad_per_m, bend_radius_mm : (k,) along the plank; radius infinite where straight
    batten_xyz : (b, 3) where the batten lies on the hull
    fore_angle_rad, aft_angle_rad : of the ends, from square to the batten line
    strain, strain_at : greatest left-over strain in the plank's plane, and where
    seam_error_mm : how far the plank, bent back, misses its opening
    edge_set_mm : edgeways spring needed if got out straight; see `edge_set_with`
    blank_length_mm, blank_width_mm, sweep_mm, runout_rad : smallest blank and the grain in it
    thickness_mm : rough thickness needed for its hollow and round, before planing
    fibre_strain : greatest strain of the outer fibres in bending over the dressed thickness
    fore_scarf_mm, aft_scarf_mm : length of the scarf that is cut in an end; nothing for none.
        The fore plank's lies outside: its after end is cut on its inner face
    nib_mm : how thick its scarfs' ends are left, and how deep their steps; nothing for none
    frame_lines : (k, m, 2) each frame's line, lower edge first; None: not known, as if square
    within : how near it is likely to be; None: not known
    """

    name: str
    strake: int
    number: int
    lower: Floats
    upper: Floats
    fore: Floats
    aft: Floats
    frames: tuple[str, ...]
    along_mm: Floats
    lower_mm: Floats
    upper_mm: Floats
    lower_bevel_rad: Floats
    upper_bevel_rad: Floats
    lower_fit_rad: Floats
    upper_fit_rad: Floats
    hollow_mm: Floats
    round_mm: Floats
    twist_rad_per_m: Floats
    bend_radius_mm: Floats
    batten_xyz: Floats
    fore_angle_rad: float
    aft_angle_rad: float
    strain: float
    strain_at: str
    seam_error_mm: float
    edge_set_mm: float
    blank_length_mm: float
    blank_width_mm: float
    sweep_mm: float
    runout_rad: float
    thickness_mm: float
    fibre_strain: float
    grade: Grade
    why_grade: str
    fore_scarf_mm: float = 0.0
    aft_scarf_mm: float = 0.0
    frame_lines: Floats | None = None
    within: Within | None = None
    nib_mm: float = 0.0
    tight_mm: float = 0.0

    def edge_set_with(self, sweep_mm: float) -> float:
        """Give the edgeways spring needed if it is got out with less sweep than it has, mm."""
        return max(self.edge_set_mm - abs(sweep_mm), 0.0)

    @property
    def edge_strain(self) -> float:
        """Give the strain of the edges from springing a plank got out straight: w / 2R.

        R = l^2 / 8 s is the radius of the sweep s over the plank's length l, w the blank's width
        less the sweep. The like for less sweep is in proportion.
        """
        wide = max(self.blank_width_mm - self.sweep_mm, 0.0)
        return 4.0 * self.edge_set_mm * wide / self.blank_length_mm**2


@dataclass(frozen=True, slots=True, eq=False)
class Shapes:
    """Every plank's flat shape, strake by strake from the keel, forward to aft."""

    shapes: tuple[Shape, ...]
    findings: tuple[Finding, ...] = ()
