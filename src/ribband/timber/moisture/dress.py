"""Whether a rough board still dresses to the planking's thickness once it has dried.

*The yard's sum*: rough thickness, less what it loses in drying, less what the planer takes off
both faces, less the hollow to be backed out, must leave the dressed thickness. 2 3/8 in rough
loses about 1/8 in drying and dresses to 2 in (common practice).

Not checked here: cup, twist and saw marks deeper than the planer's allowance; measure the board.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ribband.findings import Finding, Severity
from ribband.rulebook import rule
from ribband.timber.board_model import Board, names_said
from ribband.timber.model import FIBRE_SATURATION, Species
from ribband.timber.moisture.settling import Grain, movement
from ribband.timber.species import species_named
from ribband.units import format_length, format_small

__all__ = ["DressRules", "Dressing", "check_dressing", "dress_board", "moisture_of",
           "rough_that_dresses", "will_it_dress"]  # fmt: skip

NOTHING_MM = 0.05  # short or to spare by less than can be measured


@dataclass(frozen=True, slots=True)
class DressRules:
    """Rules of dressing rough stuff."""

    planing_mm: float = rule(
        3.175, 0.0, 20.0, "mm", "Taken off each face to plane saw marks out of rough stuff.",
        "common-practice",
    )  # fmt: skip
    planking_percent: float = rule(
        15.0, 5.0, 30.0, "per cent",
        "Moisture of the planks when they are dressed and hung, where climate.yard_humidity is 0.",
        "fpl-r1606",
    )  # fmt: skip
    barer_mm: float = rule(
        0.4, 0.0, 3.0, "mm",
        "How much barer than asked a plank may come off the planer: a board that is short by no "
        "more counts as one that dresses, and is told.", "house",
    )  # fmt: skip
    bar: bool = rule(
        True, None, None, "", "Whether a board that will not dress is kept out of the laying.",
        "house",
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Dressing:
    """The sum for one thickness, mm; `dries_by_mm` and what follows None if species unknown.

    `to_spare_mm` is what is left over the dressed thickness; under nothing, it will not dress,
    unless it is short by no more than the `barer_mm` that is allowed: then it is `tight`.
    `assumed` tells that the cut was not known and the livelier way was taken.
    """

    rough_mm: float
    dressed_mm: float
    dries_by_mm: float | None
    planed_mm: float
    hollow_mm: float
    to_spare_mm: float | None
    source: str
    assumed: bool
    barer_mm: float = 0.0

    @property
    def dresses(self) -> bool | None:
        """Tell whether it dresses; None if it cannot be told."""
        return None if self.to_spare_mm is None else self.to_spare_mm >= -self.barer_mm - 1e-9

    @property
    def tight(self) -> bool:
        """Tell whether it dresses only because it may come out barer than asked."""
        return bool(self.dresses) and self.to_spare_mm is not None and self.to_spare_mm < -1e-9


def will_it_dress(
    rough_mm: float,
    dressed_mm: float,
    species: Species,
    cut: Grain,
    *,
    moisture_from: float,
    moisture_to: float,
    planing_mm: float = 3.175,
    hollow_mm: float = 0.0,
    barer_mm: float = 0.0,
) -> Dressing:
    """Work out whether `rough_mm` at `moisture_from` dresses to `dressed_mm` at `moisture_to`.

    >>> oak = species_named("white oak")
    >>> sum = will_it_dress(60.325, 50.8, oak, "quarter", moisture_from=30.0, moisture_to=15.0)
    >>> round(sum.dries_by_mm, 2), sum.dresses          # 2 3/8 in loses about 1/8 in; dresses to 2
    (3.17, True)
    """
    moved = movement(species, cut, moisture_from, moisture_to)
    dries = None if moved.thickness is None else -rough_mm * moved.thickness
    spare = None if dries is None else rough_mm - dries - 2 * planing_mm - hollow_mm - dressed_mm
    if spare is not None and abs(spare) < NOTHING_MM:
        spare = 0.0
    return Dressing(
        rough_mm, dressed_mm, dries, 2 * planing_mm, hollow_mm, spare, moved.source, moved.assumed,
        barer_mm,
    )  # fmt: skip


def rough_that_dresses(
    planed_mm: float, rules: DressRules, species: Species | None, moisture_from: float
) -> float:
    """Give the least rough thickness that planes to `planed_mm`, dried from so many per cent, mm.

    The cut is not known and the livelier is taken; of a timber nobody knows only the planer's part
    is reckoned. It may come out as much barer as the rules allow.

    >>> round(rough_that_dresses(50.8, DressRules(), species_named("white oak"), 30.0), 1)
    59.9
    """
    moved = None
    if species is not None:
        moved = movement(species, "", moisture_from, rules.planking_percent).thickness
    return (planed_mm + 2 * rules.planing_mm - rules.barer_mm) / (1.0 + min(moved or 0.0, 0.0))


def dress_board(
    board: Board, dressed_mm: float, rules: DressRules, timbers: Sequence[Species] = ()
) -> Dressing | None:
    """Give a board's sum, or None where its timber is not known.

    timbers : the yard's own; one tallied without moisture is taken as green, the worst

    >>> import numpy as np
    >>> ring = np.array([[0.0, 0], [4000, 0], [4000, 300], [0, 300]])
    >>> dress_board(Board("A7", ring, 60.3, "white oak", cut="quarter"), 50.8, DressRules()).dresses
    True
    """
    kind = species_named(board.species, timbers)
    if kind is None:
        return None
    return will_it_dress(
        board.thickness_mm, dressed_mm, kind, board.cut, moisture_from=moisture_of(board),
        moisture_to=rules.planking_percent, planing_mm=rules.planing_mm, barer_mm=rules.barer_mm,
    )  # fmt: skip


def moisture_of(board: Board) -> float:
    """Give a board's moisture as tallied; green where it was not."""
    return FIBRE_SATURATION if board.moisture_percent is None else board.moisture_percent


def check_dressing(
    boards: Sequence[Board],
    dressed_mm: float,
    rules: DressRules,
    unit: str = "mm",
    timbers: Sequence[Species] = (),
) -> tuple[Finding, ...]:
    """Find the boards that will not dress (T010), are tight (T014), or cannot be told (T011).

    Boards barred or spoilt are passed over. Boards of which the same is said are told together.
    """
    alike: dict[Finding, list[str]] = {}
    for board in boards:
        if board.state == "sound" and (
            found := _said(board, dress_board(board, dressed_mm, rules, timbers), rules, unit)
        ):
            alike.setdefault(found, []).append(board.name)
    return tuple(
        replace(found, where=f"board{'s' if len(names) > 1 else ''} {names_said(names)}")
        for found, names in alike.items()
    )


def _said(board: Board, done: Dressing | None, rules: DressRules, unit: str) -> Finding | None:
    if done is None or done.to_spare_mm is None or done.dries_by_mm is None:
        says = "whether it dresses cannot be told: the shrinkage of its species is not known"
        return Finding("T011", Severity.CAUTION, "timber", "", says)
    if done.dresses and not done.tight:
        return None
    does = "is tight: it dresses to" if done.tight else "will not dress to"
    by = "barer" if done.tight else "short"
    says = (
        f"{format_length(board.thickness_mm, unit)} rough {does} "
        f"{format_length(done.dressed_mm, unit)}: {by} by {format_small(-done.to_spare_mm, unit)}"
    )
    why = (
        f"drying from {moisture_of(board):g} to {rules.planking_percent:g} % takes "
        f"{format_small(done.dries_by_mm, unit)}, planing {format_small(done.planed_mm, unit)}"
        + ("; the cut is not known and the livelier way was taken" if done.assumed else "")
        + ("; moisture not tallied, taken as green" if board.moisture_percent is None else "")
    )
    code, grade = ("T014", Severity.NOTE) if done.tight else ("T010", Severity.CAUTION)
    return Finding(code, grade, "timber", "", says, why, done.source)
