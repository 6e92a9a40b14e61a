"""What the pile comes to: each board's volume, board measure and weight, and the totals.

Weight is of the rough board with the water in it at the moisture tallied; where no moisture was
tallied it is weighed at the rule's. Density is the species' average.

Not checked here: the boards themselves. Weigh one before lifting.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import partial
from statistics import median

from ribband.findings import Finding, Severity
from ribband.rulebook import rule
from ribband.sources import source
from ribband.timber.board_model import Board, names_said
from ribband.timber.measure import board_feet, practice_board_feet, volume_m3
from ribband.timber.model import FIBRE_SATURATION, Species
from ribband.timber.own_timbers import YARD
from ribband.timber.species import species_named
from ribband.units import format_weight

__all__ = ["Counted", "TallyRules", "TallySum", "board_kg", "count"]

NO_WEIGHT = (
    "no weight: the species or its density is not known; weigh a sample and give its figures on "
    "the form timbers"
)
LIFTING = (
    "the load constant of the lifting equation, for ideal posture; most lifts allow less. "
    "Weigh one, plan the lift, follow the safety rules of the place"
)

PRICED = (
    "a price is of the whole board, not of the board foot or the cubic metre; look at these cells "
    "again"
)
FAR_APART = 8.0  # times the middle price of a volume, or an eighth of it


@dataclass(frozen=True, slots=True)
class TallyRules:
    """Rules of the tally."""

    moisture_percent: float = rule(
        15.0, 0.0, 30.0, "per cent", "Moisture at which boards tallied without it are weighed.",
        "fpl-r1606",
    )  # fmt: skip
    one_person_kg: float = rule(
        23.0, 1.0, 23.0, "kg", "Weight from which a board is more than one person's lift.",
        "niosh-94-110",
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Counted:
    """A board on the tally: exact and practice board feet, weight rough or None, rough sizes."""

    board: str
    length_mm: float
    mean_width_mm: float
    thickness_mm: float
    volume_m3: float
    board_feet: float
    practice_board_feet: int
    moisture_percent: float | None
    kg: float | None
    state: str


@dataclass(frozen=True, slots=True)
class TallySum:
    """The tally: every board, and the sums over those that are sound."""

    boards: tuple[Counted, ...]
    sound: int
    volume_m3: float
    board_feet: float
    practice_board_feet: int
    kg: float | None
    price: float | None
    findings: tuple[Finding, ...] = ()


def count(
    boards: Sequence[Board],
    rules: TallyRules = TallyRules(),
    unit: str = "mm",
    timbers: Sequence[Species] = (),
) -> TallySum:
    """Tally boards in their order; `timbers` are the yard's own figures.

    Price and weight are None unless they are known of every sound board.

    >>> import numpy as np
    >>> ring = np.array([[0.0, 0], [4876.8, 0], [4876.8, 304.8], [0, 304.8]])
    >>> whole = count([Board("A", ring, 50.8, species="sapele", moisture_percent=15.0)])
    >>> round(whole.board_feet, 6), whole.practice_board_feet, round(whole.kg)
    (32.0, 32, 51)
    """
    practice = practice_board_feet(boards)
    kinds = [species_named(board.species, timbers) for board in boards]
    lines = tuple(
        _counted(board, kind, feet, rules)
        for board, kind, feet in zip(boards, kinds, practice, strict=True)
    )
    sound = [line for line in lines if line.state == "sound"]
    return TallySum(
        boards=lines,
        sound=len(sound),
        volume_m3=sum(line.volume_m3 for line in sound),
        board_feet=sum(line.board_feet for line in sound),
        practice_board_feet=sum(line.practice_board_feet for line in sound),
        kg=_sum_if_known(line.kg for line in sound),
        price=_sum_if_known(board.price for board in boards if board.state == "sound"),
        findings=tuple(_findings(boards, kinds, lines, rules, unit)),
    )


def board_kg(board: Board, species: Species | None, moisture_percent: float) -> float | None:
    """Give the weight of a rough board at a moisture content, or None if the species is unknown.

    Over 30 % its volume no longer changes and only water is added.
    """
    if species is None:
        return None
    density = species.density(min(moisture_percent, FIBRE_SATURATION))
    if density is None:
        return None
    wetter = max(moisture_percent - FIBRE_SATURATION, 0.0) / (100 + FIBRE_SATURATION)
    return volume_m3(board) * density * (1 + wetter)


def _counted(board: Board, species: Species | None, practice: int, rules: TallyRules) -> Counted:
    x = board.outline[:, 0]
    long, volume = float(x.max() - x.min()), volume_m3(board)
    moisture = board.moisture_percent
    at = rules.moisture_percent if moisture is None else moisture
    return Counted(
        board=board.name,
        length_mm=long,
        mean_width_mm=volume * 1e9 / board.thickness_mm / long,
        thickness_mm=board.thickness_mm,
        volume_m3=volume,
        board_feet=board_feet(board),
        practice_board_feet=practice,
        moisture_percent=moisture,
        kg=board_kg(board, species, at),
        state=board.state,
    )


def _sum_if_known(values: Iterable[float | None]) -> float | None:
    known = list(values)
    found = [value for value in known if value is not None]
    return sum(found) if known and len(found) == len(known) else None


def _findings(
    boards: Sequence[Board],
    kinds: Sequence[Species | None],
    lines: Sequence[Counted],
    rules: TallyRules,
    unit: str,
) -> Iterable[Finding]:
    caution = partial(_of_boards, severity=Severity.CAUTION)
    unknown = [line.board for line in lines if line.kg is None]
    yield from caution(unknown, "T001", NO_WEIGHT)
    dry = [board.name for board in boards if board.moisture_percent is None]
    says = f"moisture not tallied; weighed at {rules.moisture_percent:g} %"
    yield from _of_boards(dry, "T002", says, source="fpl-r1606", severity=Severity.NOTE)
    heavy = [line.board for line in lines if (line.kg or 0.0) > rules.one_person_kg]
    most = format_weight(rules.one_person_kg, unit)
    says = f"over {most}: more than one person should lift"
    yield from caution(heavy, "T003", says, why=LIFTING, source="niosh-94-110")
    recalled = [own.name for own, kind in zip(boards, kinds, strict=True) if _recalled(kind)]
    says = "weighed with a density from memory, not read"
    yield from caution(recalled, "T004", says, source="memory")
    weighed = [own.name for own, kind in zip(boards, kinds, strict=True) if _of_yard(kind)]
    says = "weighed with the yard's own density"
    yield from _of_boards(weighed, "T006", says, source=YARD, severity=Severity.NOTE)
    green = [board.name for board in boards if (board.moisture_percent or 0.0) > FIBRE_SATURATION]
    says = "green: it will shrink and lose weight as it dries"
    yield from caution(green, "T005", says, source="wood-handbook-2010")
    says = "its price by volume is far from the others', so it may be of something else"
    yield from caution(_strangely_priced(boards), "T008", says, why=PRICED)


def _strangely_priced(boards: Sequence[Board]) -> list[str]:
    """Give boards whose price of a volume is far from the middle one of the pile."""
    priced = [board for board in boards if board.price]
    if len(priced) < 2:
        return []
    by_volume = [float(board.price or 0.0) / volume_m3(board) for board in priced]
    middle = median(by_volume)
    return [
        board.name
        for board, price in zip(priced, by_volume, strict=True)
        if not middle / FAR_APART <= price <= middle * FAR_APART
    ]


def _recalled(species: Species | None) -> bool:
    if species is None or not species.weight_source:
        return False
    return source(species.weight_source).mark == "from memory"


def _of_yard(species: Species | None) -> bool:
    return species is not None and species.weight_source == YARD


def _of_boards(
    names: Sequence[str],
    code: str,
    says: str,
    *,
    severity: Severity,
    why: str = "",
    source: str = "",
) -> list[Finding]:
    """Give one finding that names its boards, or none."""
    if not names:
        return []
    many = f"{len(names)} boards: " if len(names) > 1 else "board "
    where = many + names_said(names)
    return [Finding(code, severity, "timber", where, says, why, source)]
