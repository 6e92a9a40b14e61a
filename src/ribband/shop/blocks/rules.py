"""Rules of butt blocks: how thick, how far they reach, what is left open for water."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.rulebook import rule

__all__ = ["BlockRules"]


@dataclass(frozen=True, slots=True)
class BlockRules:
    """Rules of butt blocks.

    >>> BlockRules().thickness_part
    1.0
    """

    thickness_part: float = rule(
        1.0, 0.5, 2.0, "of the plank's", "Thickness of a block.", "butt-block-page"
    )
    overlap_mm: float = rule(
        38.1, 0.0, 150.0, "mm", "Wider than the plank by, both edges together.", "butt-block-forum"
    )
    reach_mm: float = rule(
        177.8, 50.0, 600.0, "mm", "Reach each side of the butt, where the bay allows.",
        "butt-block-forum",
    )  # fmt: skip
    drain_mm: float = rule(
        6.0, 0.0, 60.0, "mm", "Left open between block and frame for water.", "common-practice"
    )
    least_reach_mm: float = rule(
        90.0, 20.0, 400.0, "mm", "Reach each side below which a block is called short.", "house"
    )
    timber: str = rule("", None, None, "", "Timber of the blocks; nothing: as the planks.", "house")
    spares_part: float = rule(0.1, 0.0, 1.0, "", "Spare blocks.", "house")
