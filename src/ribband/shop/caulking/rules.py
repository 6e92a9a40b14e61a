"""Rules of caulking, paying, priming and bedding."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.rulebook import rule

__all__ = ["CaulkingRules"]


@dataclass(frozen=True, slots=True)
class CaulkingRules:
    """Rules of caulking.

    >>> CaulkingRules().gather
    1.25
    """

    opening_part: float = rule(
        0.125, 0.0, 0.5, "of the thickness", "Opening of a seam at the outer face.", "choptank"
    )
    tight_part: float = rule(
        1 / 3, 0.0, 0.9, "of the thickness", "Inner part of a seam left tight.", "choptank"
    )
    cotton_strands: float = rule(
        0.0, 0.0, 12.0, "strands", "Cotton in a seam; nothing: by the thickness.", "caulking-forum"
    )
    oakum_strands: float = rule(
        0.0, 0.0, 12.0, "strands", "Oakum in a seam; nothing: by the thickness.", "caulking-forum"
    )
    gather: float = rule(
        1.25, 1.0, 3.0, "times", "Strand for a length of seam, tucked in loops.", "house"
    )
    waste_part: float = rule(0.1, 0.0, 1.0, "", "More of everything, for waste.", "house")
    cotton_g_per_m: float = rule(
        7.087, 0.5, 100.0, "g/m", "Weight of a strand of cotton: 210 ft to the pound.",
        "cotton-weight",
    )  # fmt: skip
    oakum_g_per_m: float = rule(
        0.0, 0.0, 500.0, "g/m", "Weight of a strand of oakum as rolled; nothing: not known.",
        "house",
    )  # fmt: skip
    paid_mm: float = rule(4.7625, 0.0, 30.0, "mm", "Depth paid over the fibres.", "caulking-steps")
    primer_m2_per_l: float = rule(
        10.0, 1.0, 30.0, "m2/l", "What a litre of primer covers, one coat.", "house"
    )
    primer_coats: int = rule(1, 0, 4, "coats", "Coats of primer in the seams.", "common-practice")
    bed_mm: float = rule(
        1.5, 0.0, 10.0, "mm", "Bedding under blocks and in the rabbets.", "common-practice"
    )
    rabbet_mm: float = rule(
        50.0, 0.0, 300.0, "mm", "Depth of a plank's end in the stem or stern rabbet.", "house"
    )
