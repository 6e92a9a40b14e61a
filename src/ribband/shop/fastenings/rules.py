"""Rules of fastening: how many, how far from edges, spares, what the frames are of."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.rulebook import rule

__all__ = ["FasteningRules"]


@dataclass(frozen=True, slots=True)
class FasteningRules:
    """Rules of fastening. The form `fastenings` says what the yard has; without it, these.

    >>> FasteningRules().kind
    'screw'
    """

    set: str = rule(
        "small craft", None, None, "", "How many by width: a name of the table of such rules.",
        "common-practice",
    )  # fmt: skip
    kind: str = rule("screw", None, None, "", "Kind, where the form says none.", "common-practice")
    metal: str = rule(
        "silicon bronze", None, None, "", "Metal, where the form says none.", "wood-handbook-2010"
    )
    near_metals: str = rule(
        "", None, None, "", "Other metals at the planking, parted by commas.", "house"
    )
    frame_timber: str = rule("", None, None, "", "Timber of the frames.", "house")
    tons: float = rule(
        0.0, 0.0, 500.0, "tons", "Old tonnage, for treenails; nothing: the usual one.",
        "hedderwick-1830",
    )  # fmt: skip
    butt_least: int = rule(
        2, 1, 12, "fastenings", "At least, in each plank's end on a frame.", "lloyds-1891-wood"
    )
    block_rows: int = rule(
        2, 1, 4, "rows", "Rows of fastenings each side of a butt on a block.", "house"
    )
    block_least: int = rule(
        5, 1, 20, "fastenings", "At least, each side of a butt on a block.", "butt-block-forum"
    )
    hood_extra: int = rule(
        1, 0, 4, "fastenings", "More at a hood end or nib than on a frame.", "common-practice"
    )
    bung_part: float = rule(
        0.33, 0.0, 0.6, "of the thickness", "Depth of the counterbore for a bung.", "house"
    )
    edge_diameters: float = rule(
        4.0, 1.0, 12.0, "diameters",
        "Least from the plank's edge, by the fastening's diameter; the greater of it and the "
        "length beside it counts.", "house",
    )  # fmt: skip
    edge_mm: float = rule(
        15.0, 0.0, 60.0, "mm", "Least from the plank's edge, whatever the fastening.", "house"
    )
    apart_diameters: float = rule(
        5.0, 1.5, 20.0, "diameters", "Least from one fastening to the next.", "house"
    )
    frame_edge_diameters: float = rule(
        2.5, 1.0, 10.0, "diameters", "Least from the frame's side.", "house"
    )
    end_diameters: float = rule(
        8.0, 1.0, 20.0, "diameters", "Least from a butt on a block.", "house"
    )
    thread_part: float = rule(
        2 / 3, 0.3, 1.0, "of the length", "Threaded part of a wood screw.", "memory"
    )
    spares_part: float = rule(0.05, 0.0, 0.5, "", "Spares over those driven.", "house")
    bung_spares_part: float = rule(0.1, 0.0, 0.5, "", "Spare bungs.", "house")
    contact_mv: float = rule(
        200.0, 50.0, 1000.0, "mV", "Metals further apart than this waste each other.",
        "galvanic-millivolts",
    )  # fmt: skip
    life_years: float = rule(
        40.0, 1.0, 200.0, "years", "Span over which two fastenings are compared.", "house"
    )
    hour_cost: float = rule(
        0.0, 0.0, 1e6, "a hour", "What an hour costs the yard; nothing: hours apart.", "house"
    )
