"""The order in which planks are hung, what each of them needs, and which one closes the planking.

*Seat*: where a plank lies, by its strake's row from the keel and the half steps it covers: twice
the column of the lining for a frame or hood end, one more for the bay aft of it. *Lower face*:
the planking that goes up from the garboard; *upper face*: down from the sheer strake; they meet
at the *shutter strake*, and the shutter is hung last on each side.
"""

from __future__ import annotations

from dataclasses import dataclass

from ribband.findings import Finding

__all__ = ["Hanging", "Look", "Place", "Seat"]


@dataclass(frozen=True, slots=True)
class Seat:
    """Where a plank lies: row of its strake from the keel, half steps from `fore` to `aft`.

    over : its after end is scarfed over the outside of the next plank's fore end
    """

    plank: str
    side: str
    row: int
    fore: int
    aft: int
    over: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """A plank's place in the order, from 1: what must be fast before it, and why it comes here.

    `face` is "lower", "upper", "shutter", or the turn of a repair; `needs` are names of planks.
    """

    plank: str
    side: str
    place: int
    face: str
    needs: tuple[str, ...]
    says: str


@dataclass(frozen=True, slots=True)
class Look:
    """How a plank would do as the shutter: points against it, and what they are for.

    Figures are None where they are not known. `height_mm` is over the lowest of the rabbet;
    `overhead_rad` how far its face looks down.
    """

    plank: str
    points: float
    sweep: float | None
    twist_rad_per_m: float | None
    strain: float | None
    height_mm: float | None
    overhead_rad: float | None
    hood: bool
    says: str


@dataclass(frozen=True, slots=True)
class Hanging:
    """The order: `places` from first to last, the shutter of each side, others looked at.

    `seams` are pairs (lower plank, upper plank) that share one; `ahead` the most one side is
    ever ahead of the other in what is left of this order. `hung` are those that hang already, in
    the order they were hung: they stand first, and nothing is said against them.
    """

    places: tuple[Place, ...]
    shutters: tuple[str, ...]
    looks: tuple[Look, ...]
    seams: tuple[tuple[str, str], ...]
    ahead: int
    findings: tuple[Finding, ...] = ()
    hung: tuple[str, ...] = ()
