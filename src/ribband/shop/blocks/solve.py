"""Butt blocks: a size for every butt that stands in a bay, and the timber for them all.

A block is as thick as the plank, wider than it by a lap on the strakes above and below, and
reaches as far each side of the butt as the rules want or as the bay allows, with water let past
at both frames. Where the frames' siding is not known the bay is not known, and the reach wanted
is taken and said.

A scarf wants no block. Not reckoned: hollowing to the hull, which wants thicker stuff on a round
bilge; stringers in the way. Look inside before cutting.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from ribband.findings import Finding, Severity
from ribband.planks.model import Plank
from ribband.shop.blocks.rules import BlockRules
from ribband.shop.planking import Planking
from ribband.units import BOARD_FEET_PER_M3, counted, format_length

__all__ = ["Block", "BlockSize", "Blocks", "check_blocks", "size_blocks"]

STEP_MM = 5.0


@dataclass(frozen=True, slots=True)
class Block:
    """A block in the bay aft of `frame`; `known` is False where the bay's width is not."""

    side: str
    strake: str
    frame: str
    length_mm: float
    width_mm: float
    thickness_mm: float
    known: bool
    short: bool


@dataclass(frozen=True, slots=True)
class BlockSize:
    """A line of the cutting list: so many blocks of one size, rounded up."""

    length_mm: float
    width_mm: float
    thickness_mm: float
    count: int


@dataclass(frozen=True, slots=True)
class Blocks:
    """The result; volume with spares, net of the saw; `price` of all, None where none was given."""

    blocks: tuple[Block, ...]
    sizes: tuple[BlockSize, ...]
    to_make: int
    volume_m3: float
    board_feet: float
    timber: str
    findings: tuple[Finding, ...] = ()
    price: float | None = None


def size_blocks(planking: Planking, rules: BlockRules = BlockRules()) -> Blocks:  # noqa: B008
    """Give a block for every butt on a block, from the keel up and forward to aft."""
    blocks = tuple(_blocks(planking, rules))
    volume = sum(b.length_mm * b.width_mm * b.thickness_mm for b in blocks) / 1e9
    volume *= 1 + rules.spares_part
    species = planking.species.name if planking.species else ""
    return Blocks(
        blocks, _sizes(blocks), math.ceil(round(len(blocks) * (1 + rules.spares_part), 6)),
        volume, volume * BOARD_FEET_PER_M3, rules.timber or species,
        tuple(_findings(blocks, rules, planking)),
    )  # fmt: skip


def _blocks(planking: Planking, rules: BlockRules) -> Iterator[Block]:
    for plank in planking.planks.planks:
        if plank.aft_landing == "block" and plank.dressed_mm > 0 and not plank.aft_scarf_mm:
            yield _block(planking, plank, rules)


def _block(planking: Planking, plank: Plank, rules: BlockRules) -> Block:
    width = next(c.width_mm for c in planking.crossings(plank) if c.kind == "block" and
                 c.at == plank.aft)  # fmt: skip
    bay = planking.bay_mm(plank.aft)
    wanted = 2 * rules.reach_mm
    length = wanted if bay is None else max(0.0, min(wanted, bay - 2 * rules.drain_mm))
    return Block(
        plank.side, plank.strake, plank.aft, length, width + rules.overlap_mm,
        plank.dressed_mm * rules.thickness_part, bay is not None,
        length < 2 * rules.least_reach_mm,
    )  # fmt: skip


def _sizes(blocks: tuple[Block, ...]) -> tuple[BlockSize, ...]:
    """Gather blocks of one size, each rounded up to the step."""
    counts: dict[tuple[float, float, float], int] = {}
    for b in blocks:
        key = (_up(b.length_mm), _up(b.width_mm), round(b.thickness_mm, 1))
        counts[key] = counts.get(key, 0) + 1
    return tuple(BlockSize(*size, n) for size, n in sorted(counts.items(), reverse=True))


def _up(mm: float) -> float:
    return math.ceil(round(mm / STEP_MM, 6)) * STEP_MM


def _findings(
    blocks: tuple[Block, ...], rules: BlockRules, planking: Planking
) -> Iterator[Finding]:
    short = [b for b in blocks if b.short]
    if short:
        first, least = short[0], format_length(2 * rules.least_reach_mm, planking.unit)
        says = (
            f"{counted(len(short), 'bay')} too narrow for a block of {least}, the first aft of "
            f"frame {first.frame} in strake {first.strake}: butt on the frame, or ask the surveyor"
        )
        yield Finding("W051", Severity.CAUTION, "shop", "butt blocks", says, source="house")
    if any(not b.known for b in blocks):
        says = "the frames' siding is not known, so neither are the bays: measure before cutting"
        yield Finding("W052", Severity.CAUTION, "shop", "butt blocks", says)
    if blocks:
        says = "blocks on a round bilge are hollowed to the planks: leave them thicker there"
        yield Finding("W053", Severity.NOTE, "shop", "butt blocks", says, source="common-practice")


def check_blocks(planking: Planking, rules: BlockRules, made: Blocks) -> tuple[Finding, ...]:
    """Look for butts without a block, blocks that foul a frame, and sums that do not agree."""
    found = []
    butts = [
        (p.side, p.strake, p.aft)
        for p in planking.planks.planks
        if p.aft_landing == "block" and p.dressed_mm > 0 and not p.aft_scarf_mm
    ]
    if sorted(butts) != sorted((b.side, b.strake, b.frame) for b in made.blocks):
        found.append(("W054", "not every butt on a block has one"))
    clear = _clear_bays(planking)
    found += [
        ("W055", f"the block aft of {b.frame} in strake {b.strake} fouls a frame")
        for b in made.blocks
        if b.length_mm > max(clear.get(b.frame, np.inf) - 2 * rules.drain_mm, 0.0) + 0.01
    ]
    if sum(s.count for s in made.sizes) != len(made.blocks):
        found.append(("W056", "the cutting list does not add up"))
    return tuple(Finding(c, Severity.FAULT, "shop", "butt blocks", says) for c, says in found)


def _clear_bays(planking: Planking) -> dict[str, float]:
    """Give the clear width aft of each frame whose siding, and the next one's, is known."""
    marks = planking.hull.marks
    faces = [
        (m.name, m.x_mm + m.sided_mm / 2, n.x_mm - n.sided_mm / 2)
        for m, n in pairwise(marks)
        if m.sided_mm is not None and n.sided_mm is not None
    ]
    return {name: fore - aft for name, aft, fore in faces}
