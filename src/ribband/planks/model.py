"""The plank list: every plank with a name a crew can shout, its sizes, area and weight."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

from ribband.findings import Finding

__all__ = ["LengthClass", "Plank", "PlankList", "Timber", "Total", "plank_name"]


class Timber(Protocol):
    """What the list must know of a species; `ribband.timber.Species` is one."""

    @property
    def name(self) -> str:
        """Give its name."""
        ...

    @property
    def weight_source(self) -> str:
        """Give the key of the source of its weight."""
        ...

    def density(self, moisture_percent: float) -> float | None:
        """Give kg/m3 with the water in it at a moisture content, or None if not known."""
        ...


@dataclass(frozen=True, slots=True)
class Plank:
    """One plank. `name` is side, strake, number from forward: ``P7-2`` is port seven, two.

    `fore`, `aft` are "stem", "stern" or a frame; `fore_landing` and `aft_landing` tell how it ends
    there ("hood", "frame", "nib"), or on the block aft of it ("block"). Weights are of one plank.
    None = not known. A scarf reaches half of `fore_scarf_mm` or `aft_scarf_mm` past the landing;
    0 = butted, or no plank beyond. Length, area and all that is rough have it whole, as it is sawn;
    what is dressed, as it hangs, has it tapered. `taper_m2` is the area its scarfs so take off:
    the rest, which it covers of the hull alone or by its share, is `covers_m2`.
    """

    name: str
    side: str
    strake: str
    number: int
    fore: str
    fore_landing: str
    aft: str
    aft_landing: str
    length_mm: float
    width_max_mm: float
    width_min_mm: float
    area_m2: float
    dressed_mm: float
    rough_mm: float
    dressed_kg: float | None
    rough_kg: float | None
    dressed_board_feet: float
    rough_board_feet: float
    fore_scarf_mm: float = 0.0
    aft_scarf_mm: float = 0.0
    taper_m2: float = 0.0

    @property
    def covers_m2(self) -> float:
        """Give what it covers of the hull: where two planks lie in a scarf, each its share."""
        return self.area_m2 - self.taper_m2


@dataclass(frozen=True, slots=True)
class Total:
    """A sum over planks: of a side, a strake, a length class or everything.

    `area_m2` is what they cover: what overlaps in scarfs counts once. Rough timber has it twice.
    """

    of: str
    planks: int
    length_mm: float
    area_m2: float
    rough_board_feet: float
    rough_m3: float
    rough_kg: float | None


@dataclass(frozen=True, slots=True)
class LengthClass:
    """Planks from `over_mm` up to `to_mm`."""

    over_mm: float
    to_mm: float


@dataclass(frozen=True, slots=True)
class PlankList:
    """The result: planks, and totals by side, strake and length class."""

    planks: tuple[Plank, ...]
    totals: tuple[Total, ...]
    by_side: tuple[Total, ...]
    by_strake: tuple[Total, ...]
    by_length: tuple[Total, ...]
    findings: tuple[Finding, ...] = ()


def plank_name(typed: str) -> str:
    """Write a plank's name as the list has it, however it was typed: a stealer's s stays small.

    >>> plank_name(" p20S-1"), plank_name("s7-2"), plank_name("20s-1"), plank_name("Keel")
    ('P20s-1', 'S7-2', '20s-1', 'KEEL')
    """
    name = " ".join(typed.upper().split())
    return name[:1] + name[1:].lower() if any(c.isdigit() for c in name) else name
