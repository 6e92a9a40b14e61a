"""What a ticket says beside the plank's shape: neighbours, timber, steam, order, doubts.

Neighbours are found bay by bay (from one frame to the next), so that a plank which only touches
at the butts' own frame is not one. A stealer's neighbour is whatever strake is next in that bay.

Not checked: that the planks given are all of one side; a plank left out is no neighbour.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from urllib.parse import quote

import numpy as np

from ribband.planks.model import Plank
from ribband.planks.shape_model import Shape

__all__ = ["Beside", "Facts", "beside", "plank_link"]


@dataclass(frozen=True, slots=True)
class Beside:
    """Names of the planks that touch this one; empty at the sheer, the rabbet and the hood ends."""

    above: tuple[str, ...] = ()
    below: tuple[str, ...] = ()
    fore: str = ""
    aft: str = ""


@dataclass(frozen=True, slots=True)
class Facts:
    """What else is known of a plank; whatever is not known stays empty and is said to be so.

    called : the strake's name ("first broad")
    species, weight_source : the timber, and the key of the source of its weight
    moisture_percent : at which it was weighed
    steam_min, steam_source : time in the box, minutes (0: hung cold), and the key of its source
    hot_min : how long it stays workable out of it, an estimate
    steam_why : why it wants steam
    bend_min : from the box's door until it is bent on and clamped
    fastenings : how it is fastened; hands : who lifts it; not_by_hand : a crane or tackle must
    order : its place in the order of hanging ("31 of 175, after P6-2")
    cut_backs : how old planks it is scarfed to are cut back, a sentence each
    doubts : what is doubtful, a sentence each
    board : the board it is laid on; rough_kg : what it weighs as it is sawn from that
    mate : the other side's plank it is got out with, where that was so wished, and whence
    """

    beside: Beside = Beside()
    called: str = ""
    species: str = ""
    weight_source: str = ""
    moisture_percent: float | None = None
    steam_min: float | None = None
    steam_source: str = ""
    steam_why: str = ""
    hot_min: float | None = None
    bend_min: float | None = None
    fastenings: str = ""
    hands: str = ""
    not_by_hand: bool = False
    order: str = ""
    cut_backs: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    board: str = ""
    mate: str = ""
    rough_kg: float | None = None


def plank_link(job: str, plank: str, base: str = "") -> str:
    """Give what a ticket's code opens: the plank in the job, or in the app running at `base`.

    >>> plank_link("Marl Heron", "P7-2")
    'ribband:Marl%20Heron/plank/P7-2'
    >>> plank_link("heron", "P7-2", "http://bench:8000/")
    'http://bench:8000/planks/P7-2'
    """
    if base:
        return f"{base.rstrip('/')}/planks/{quote(plank, safe='')}"
    return f"ribband:{quote(job, safe='')}/plank/{quote(plank, safe='')}"


def beside(planks: Iterable[tuple[Plank, Shape]]) -> dict[str, Beside]:
    """Find the neighbours of every plank, by name; each side apart."""
    sides: dict[str, list[tuple[Plank, Shape]]] = {}
    for pair in planks:
        sides.setdefault(pair[0].side, []).append(pair)
    found: dict[str, Beside] = {}
    for every in sides.values():
        found |= _of_side(every)
    return found


def _of_side(every: Sequence[tuple[Plank, Shape]]) -> dict[str, Beside]:
    stacks: dict[tuple[str, str], list[tuple[int, str]]] = {}
    bays = _in_bays([shape for _, shape in every])
    for (plank, shape), own in zip(every, bays, strict=True):
        for bay in own:
            stacks.setdefault(bay, []).append((shape.strake, plank.name))
    along = {(shape.strake, shape.number): plank.name for plank, shape in every}
    return {
        plank.name: Beside(
            _next_to(shape, own, stacks, 1),
            _next_to(shape, own, stacks, -1),
            along.get((shape.strake, shape.number - 1), ""),
            along.get((shape.strake, shape.number + 1), ""),
        )
        for (plank, shape), own in zip(every, bays, strict=True)
    }


def _in_bays(shapes: Sequence[Shape]) -> list[list[tuple[str, str]]]:
    """Name every plank's bays; one that ends in a bay, on a block or in a scarf, is in it too."""
    own = [_bays(shape) for shape in shapes]
    whole = {bay for bays in own for bay in bays if all(bay)}
    before = {after: bay for bay in whole for after in bay[1:]}
    after = {bay[0]: bay for bay in whole}
    return [
        [before.get(b, (a, b)) if not a else after.get(a, (a, b)) if not b else (a, b)
         for a, b in bays]
        for bays in own
    ]  # fmt: skip


def _bays(shape: Shape) -> list[tuple[str, str]]:
    """Name the bays a plank runs through, with what lies beyond its first and last frame."""
    if not shape.frames:
        return []
    order = np.argsort(shape.along_mm, kind="stable")
    names = [shape.frames[i] for i in order]
    bays = list(pairwise(names))
    x = np.concatenate([shape.lower[:, 0], shape.upper[:, 0]])
    if float(shape.along_mm.min() - x.min()) > 25.0:
        bays.insert(0, ("", names[0]))
    if float(x.max() - shape.along_mm.max()) > 25.0:
        bays.append((names[-1], ""))
    return bays


def _next_to(
    shape: Shape,
    bays: Sequence[tuple[str, str]],
    stacks: dict[tuple[str, str], list[tuple[int, str]]],
    way: int,
) -> tuple[str, ...]:
    """Name the planks of the next strake up (`way` 1) or down in every bay, from forward."""
    names: list[str] = []
    for bay in bays:
        others = [(s, name) for s, name in stacks[bay] if (s - shape.strake) * way > 0]
        if others:
            nearest = min(others, key=lambda pair: (pair[0] - shape.strake) * way)[0]
            names += [name for s, name in others if s == nearest and name not in names]
    return tuple(names)
