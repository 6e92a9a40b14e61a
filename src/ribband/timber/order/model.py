"""What must be bought: what is needed, what the mill sells, and the order.

*Need*: planks of one size in the rough, everything left on. *Class*: boards as a mill sells them,
of one length, width and thickness. A plank is cut from a class as wide and thick as it or more;
planks follow each other end to end along a board.
"""

from __future__ import annotations

from dataclasses import dataclass

from ribband.findings import Finding
from ribband.timber.order.spares import Size, Spares

__all__ = ["Allowance", "BoardCut", "LessSure", "MillClass", "Need", "Order", "OrderLine", "Pack"]


@dataclass(frozen=True, slots=True)
class Need:
    """Planks wanted of one rough size, mm, allowances included.

    own_m3 : the rough timber of these planks themselves, as the plank list has it; 0 if not told
    """

    length_mm: float
    width_mm: float
    thickness_mm: float
    planks: tuple[str, ...]
    own_m3: float = 0.0

    @property
    def size(self) -> Size:
        """Give length, width and thickness."""
        return self.length_mm, self.width_mm, self.thickness_mm


@dataclass(frozen=True, slots=True)
class MillClass:
    """Boards a mill sells, mm; price of a cubic metre in the yard's money, or None."""

    length_mm: float
    width_mm: float
    thickness_mm: float
    price_m3: float | None = None
    at_most: int | None = None

    @property
    def size(self) -> Size:
        """Give length, width and thickness."""
        return self.length_mm, self.width_mm, self.thickness_mm

    @property
    def volume_m3(self) -> float:
        """Give the volume of one board."""
        return self.length_mm * self.width_mm * self.thickness_mm / 1e9

    @property
    def cost(self) -> float:
        """Give what one board costs, in money; its volume where nothing is priced."""
        return self.volume_m3 * (1.0 if self.price_m3 is None else self.price_m3)


@dataclass(frozen=True, slots=True)
class BoardCut:
    """What is cut from one board of a class: rough lengths, mm, each with its plank or "spare"."""

    of: MillClass
    pieces: tuple[tuple[float, str], ...]


@dataclass(frozen=True, slots=True)
class OrderLine:
    """A line of the order: boards to cut, spare boards over them, and what they come to."""

    of: MillClass
    boards: int
    spare: int
    volume_m3: float
    board_feet: float
    kg: float | None
    price: float | None

    @property
    def count(self) -> int:
        """Give how many to order."""
        return self.boards + self.spare


@dataclass(frozen=True, slots=True)
class Allowance:
    """An allowance by name: what it is, how much of the planks' own volume, in words."""

    name: str
    percent: float
    says: str


@dataclass(frozen=True, slots=True)
class Pack:
    """A pack for one lift: how many boards of each line, its length and weight."""

    boards: tuple[tuple[int, int], ...]  # (place of the line, how many)
    length_mm: float
    kg: float | None


@dataclass(frozen=True, slots=True)
class LessSure:
    """What an order as sure as `asked` only would come to: timber, m3, and money or None."""

    asked: float
    volume_m3: float
    price: float | None


@dataclass(frozen=True, slots=True)
class Order:
    """The result. `cost` is of the boards to cut, in money or, with no prices, in m3.

    `bound` is the least any order could cost that cuts the same planks and spares end to end,
    proved; `gap` the distance as a part of it. `confidence` is the chance that planks and boards
    are enough, `asked` what was asked for; `lacks` are boards, by class, that the mill would have
    to have over its counts for that. `unmet` are planks no class holds. `less` is what orders less
    sure would come to, where that was asked.
    """

    lines: tuple[OrderLine, ...]
    cuts: tuple[BoardCut, ...]
    packs: tuple[Pack, ...]
    allowances: tuple[Allowance, ...]
    cost: float
    bound: float
    gap: float
    confidence: float
    volume_m3: float
    board_feet: float
    kg: float | None
    price: float | None
    unmet: tuple[str, ...]
    plank_spares: Spares
    board_spares: Spares
    seconds: float
    findings: tuple[Finding, ...] = ()
    asked: float = 0.0
    lacks: tuple[tuple[MillClass, int], ...] = ()
    less: tuple[LessSure, ...] = ()

    @property
    def sure_enough(self) -> bool:
        """Tell whether the chance that it is enough is what was asked for."""
        return self.confidence >= self.asked - 1e-9
