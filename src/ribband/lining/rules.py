"""Rules of lining out: how wide a strake may be and where, and what is fair.

Widths are square across the strake, as the plank is got out. Where a limit is left at 0 it is
taken from the thickness of the planking, see `limits_of`. Not checked here: that the limits can
be kept on a given hull; the solver says so where they cannot.
"""

from __future__ import annotations

from dataclasses import dataclass

from ribband.rulebook import rule
from ribband.survey.model import Particulars

__all__ = ["LiningRules", "WidthLimits", "limits_of"]


@dataclass(frozen=True, slots=True)
class LiningRules:
    """What the lining out keeps to; a 0 mm limit means "from the thickness of the planking"."""

    greatest_width_mm: float = rule(
        0.0, 0.0, 1000.0, "mm", "Greatest width of a strake amidships; 0 = 125 mm and 2 1/4 times "
        "the planking's thickness.", "house",
    )  # fmt: skip
    greatest_hood_mm: float = rule(
        0.0, 0.0, 1000.0, "mm", "Greatest width at the hood ends; 0 = as amidships.", "house"
    )
    least_width_mm: float = rule(
        0.0, 0.0, 1000.0, "mm", "Least width away from the ends; 0 = four tenths of the greatest.",
        "house",
    )  # fmt: skip
    least_hood_mm: float = rule(
        0.0, 0.0, 1000.0, "mm", "Least width at the hood ends, to take two fastenings; "
        "0 = three tenths of the greatest.", "house",
    )  # fmt: skip
    hollow_mm: float = rule(
        0.0, 0.0, 100.0, "mm", "Most that may be backed out of a plank's inside; 0 = rough less "
        "dressed thickness, or a sixth of the dressed where the rough is not known.", "house",
    )  # fmt: skip
    garboard: float = rule(
        1.25, 0.5, 3.0, "", "Width of the garboard against a bottom strake.", "common-practice"
    )
    first_broad: float = rule(
        1.15, 0.5, 3.0, "", "Width of the first broad against a bottom strake.", "common-practice"
    )
    second_broad: float = rule(
        1.07, 0.5, 3.0, "", "Width of the second broad against a bottom strake.", "common-practice"
    )
    sheer_strake: float = rule(
        1.0, 0.5, 3.0, "", "Width of the sheer strake against a topside strake.", "house"
    )
    least_strakes: int = rule(5, 3, 80, "strakes", "Fewest strakes that are tried.", "house")
    most_strakes: int = rule(60, 3, 80, "strakes", "Most strakes that are tried.", "house")
    stealers: int = rule(
        2, 0, 4, "stealers", "Most stealers that may be let in; 0 = none.", "house"
    )
    nib_width_mm: float = rule(
        0.0, 0.0, 500.0, "mm", "Width of a stealer's squared end; 0 = half the least width and "
        "not under 50 mm.", "house",
    )  # fmt: skip
    sine_floor: float = rule(
        0.35, 0.1, 1.0, "", "Least sine of the angle between seam and frame that is reckoned with; "
        "below it the garboard ends in a point.", "house",
    )  # fmt: skip
    weight_sweep: float = rule(
        1.0, 0.0, 100.0, "", "How much straight seams matter (geodesic curvature).", "house"
    )
    weight_fairness: float = rule(
        0.002, 0.0, 1.0, "", "How much an even bend along a seam matters.", "house"
    )
    weight_evenness: float = rule(
        60.0, 0.0, 1000.0, "", "How much neighbours of like width matter.", "house"
    )
    weight_strain: float = rule(
        0.02, 0.0, 10.0, "", "How much matters what is left over in a plank's edges where the hull "
        "is round both ways, against 1 in 1000; 0 = not at all.", "house",
    )  # fmt: skip
    weight_hollow: float = rule(
        0.02, 0.0, 10.0, "", "How much backing out matters, against the most allowed; 0 = not at "
        "all (the most allowed still holds).", "house",
    )  # fmt: skip
    weight_board: float = rule(
        20.0, 0.0, 1000.0, "", "How much matters what a plank's blank is wider than the widest "
        "boards; 0 = not at all.", "house",
    )  # fmt: skip
    board_width_mm: float = rule(
        0.0, 0.0, 3000.0, "mm", "Widest boards to be had; 0 = not known.", "house"
    )
    plank_length_mm: float = rule(
        6000.0, 1000.0, 20000.0, "mm", "Usual length of a plank, over which its sweep is reckoned.",
        "house",
    )  # fmt: skip
    weight_strake: float = rule(
        1.0, 0.0, 100.0, "", "What one strake more costs, against fairness.", "house"
    )
    weight_stealer: float = rule(
        0.15, 0.0, 100.0, "", "What a stealer costs, against fairness.", "house"
    )


@dataclass(frozen=True, slots=True)
class WidthLimits:
    """The limits in force, in mm, with nothing left at 0."""

    greatest: float
    greatest_hood: float
    least: float
    least_hood: float
    hollow: float
    nib: float


def limits_of(rules: LiningRules, particulars: Particulars) -> WidthLimits:
    """Give the limits in force on a vessel, mm.

    >>> limits_of(LiningRules(), Particulars("a launch", planking_mm=38.0, rough_mm=44.0))
    WidthLimits(greatest=210.5, greatest_hood=210.5, least=84.2, ..., hollow=6.0, nib=50.0)
    """
    thick = particulars.planking_mm or 30.0
    greatest = rules.greatest_width_mm or 125.0 + 2.25 * thick
    least = rules.least_width_mm or 0.4 * greatest
    spare = particulars.rough_mm - particulars.planking_mm
    return WidthLimits(
        greatest=greatest,
        greatest_hood=rules.greatest_hood_mm or greatest,
        least=least,
        least_hood=rules.least_hood_mm or min(0.3 * greatest, least),
        hollow=rules.hollow_mm or (spare if spare > 0 else thick / 6.0),
        nib=rules.nib_width_mm or max(0.5 * least, 50.0),
    )
