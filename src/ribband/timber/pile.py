"""The pile: its boards tallied, what each will dress to, which may be planks, how seams move.

*Fit for planks* is a board that is sound, of the planking's timber, no wetter than the rules of
laying let it be, and that will still dress to the planking's thickness when it has dried. What is
not fit is named with the reason. Timber and moisture are judged by the laying (`laying/choice.py`),
here as there; what will not dress is barred for it. A board whose species was not tallied is taken
to be of the planking's.

Not checked here: that the boards in the yard are as tallied. Turn each one over and look.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats
from ribband.timber.board_model import Board, names_said
from ribband.timber.laying.choice import why_left
from ribband.timber.laying.rules import LayingRules
from ribband.timber.model import Species
from ribband.timber.moisture.dress import (
    Dressing,
    DressRules,
    check_dressing,
    dress_board,
    moisture_of,
)
from ribband.timber.moisture.seams import SeamMovement, SeamRules, move_seams
from ribband.timber.species import another_timber, names_like, species_named
from ribband.timber.tally.count import TallyRules, TallySum, count

__all__ = ["BoardDressing", "Pile", "PileRules", "Wanted", "fit_boards", "gather"]


@dataclass(frozen=True, slots=True)
class PileRules:
    """The rules the pile is looked over by."""

    tally: TallyRules = field(default_factory=TallyRules)
    dressing: DressRules = field(default_factory=DressRules)
    seams: SeamRules = field(default_factory=SeamRules)
    laying: LayingRules = field(default_factory=LayingRules)


@dataclass(frozen=True, slots=True, eq=False)
class Wanted:
    """What the planking asks for: its timber as the vessel's form names it, thickness, strakes.

    dressed_mm : thickness as planed; 0 where not known
    widths_mm : (S, F) widths of the strakes `strakes`, or None where nothing is lined out
    timbers : the yard's own figures of timbers
    """

    timber: str
    dressed_mm: float
    strakes: tuple[str, ...] = ()
    widths_mm: Floats | None = None
    unit: str = "mm"
    timbers: tuple[Species, ...] = ()


@dataclass(frozen=True, slots=True)
class BoardDressing:
    """A board's sum: the moisture it comes from, and the dressing or None if it cannot be told."""

    board: str
    moisture_from: float
    moisture_to: float
    dressing: Dressing | None


@dataclass(frozen=True, slots=True, eq=False)
class Pile:
    """The result. `unfit` are sound boards kept out of the laying, each with the reason.

    `wont_dress` are those of them that are too thin when they have dried; `bars` tells whether
    such are kept out.
    """

    boards: tuple[Board, ...]
    tally: TallySum
    dressings: tuple[BoardDressing, ...]
    unfit: tuple[tuple[str, str], ...]
    wont_dress: tuple[str, ...]
    seams: SeamMovement | None
    strakes: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    bars: bool = True


def gather(boards: Sequence[Board], wanted: Wanted, rules: PileRules = PileRules()) -> Pile:
    """Look a pile over.

    >>> import numpy as np
    >>> ring = np.array([[0.0, 0], [4000, 0], [4000, 300], [0, 300]])
    >>> boards = [Board("A", ring, 60.0, "white oak", 18.0), Board("B", ring, 40.0, "white oak")]
    >>> pile = gather(boards, Wanted("white oak", 38.0))
    >>> [board.state for board in fit_boards(pile)], pile.unfit[0][0]
    (['sound', 'barred'], 'B')
    """
    tally = count(boards, rules.tally, wanted.unit, wanted.timbers)
    called = [_called(board, wanted) for board in boards]
    dressings = tuple(_dressing(board, wanted, rules.dressing) for board in called)
    thin = tuple(own.board for own in dressings if rules.dressing.bar and _wont_dress(own))
    unfit = tuple(
        (board.name, why)
        for board in boards
        if board.state == "sound" and (why := _why_unfit(board, thin, wanted, rules))
    )
    seams = _seams(wanted, boards, rules)
    found = [*tally.findings, *_stranger(wanted), *_strange_boards(boards, wanted),
             *_other_timber(boards, wanted, rules.laying)]  # fmt: skip
    if wanted.dressed_mm > 0:
        found += check_dressing(
            called, wanted.dressed_mm, rules.dressing, wanted.unit, wanted.timbers
        )
    if seams is not None:
        found += seams.findings
    return Pile(
        *(tuple(boards), tally, dressings, unfit, thin, seams, wanted.strakes, tuple(found)),
        bars=rules.dressing.bar,
    )


def fit_boards(pile: Pile) -> tuple[Board, ...]:
    """Give the boards with those barred that will not dress; the laying judges the rest itself.

    Each is told what drying and planing take off it, less what a plank may come out barer, so that
    a plank to be backed out is laid on no board that will not dress to it. Where boards that will
    not dress are not to be barred, that is not asked.
    """
    lost = {own.board: _lost(own.dressing) if pile.bars else 0.0 for own in pile.dressings}
    return tuple(
        replace(
            board,
            state="barred" if board.state == "sound" and _thin(board, pile) else board.state,
            lost_mm=lost.get(board.name, 0.0),
        )
        for board in pile.boards
    )


def _thin(board: Board, pile: Pile) -> bool:
    return board.name in pile.wont_dress


def _lost(done: Dressing | None) -> float:
    """Give what a board loses, or nothing where that is not known."""
    if done is None or done.dries_by_mm is None:
        return 0.0
    return done.dries_by_mm + done.planed_mm - done.barer_mm


def _called(board: Board, wanted: Wanted) -> Board:
    """Take a board of which no timber is told to be of the planking's."""
    return board if board.species.strip() else replace(board, species=wanted.timber)


def _dressing(board: Board, wanted: Wanted, rules: DressRules) -> BoardDressing:
    done = None
    if wanted.dressed_mm > 0:
        done = dress_board(board, wanted.dressed_mm, rules, wanted.timbers)
    return BoardDressing(board.name, moisture_of(board), rules.planking_percent, done)


def _wont_dress(own: BoardDressing) -> bool:
    return own.dressing is not None and own.dressing.dresses is False


def _why_unfit(board: Board, thin: Sequence[str], wanted: Wanted, rules: PileRules) -> str:
    why = why_left(board, rules.laying, wanted.timber)
    if why:
        return why
    return "will not dress to the planking's thickness" if board.name in thin else ""


def _other(board: Board, wanted: Wanted) -> bool:
    """Tell whether a board is known to be of another timber than the planking."""
    return another_timber(board.species, wanted.timber)


def _other_timber(boards: Sequence[Board], wanted: Wanted, rules: LayingRules) -> list[Finding]:
    names = [board.name for board in boards if _other(board, wanted)]
    if not names:
        return []
    done = "may be cut into all the same" if rules.other_timber else "kept out of the laying"
    says = f"not of the planking's timber, {wanted.timber}: {done} (laying.other_timber)"
    where = f"board{'s' if len(names) > 1 else ''} {names_said(names)}"
    return [Finding("T012", Severity.CAUTION, "timber", where, says)]


def _stranger(wanted: Wanted) -> list[Finding]:
    """Say of a planking's timber that nobody knows which names are known, and what may be done."""
    if not wanted.timber.strip() or species_named(wanted.timber, wanted.timbers) is not None:
        return []
    says = f"{wanted.timber} is no name we know, so there are no weights and no movement of it"
    why = (
        f"known is, or are: {', '.join(names_like(wanted.timber, wanted.timbers))}; or give its "
        "figures on the form timbers"
    )
    return [Finding("T007", Severity.CAUTION, "timber", "the planking's timber", says, why)]


def _strange_boards(boards: Sequence[Board], wanted: Wanted) -> list[Finding]:
    """Say of boards whose timber nobody knows by that name which names are most like it."""
    named: dict[str, list[str]] = {}
    for board in boards:
        kind = species_named(board.species, wanted.timbers)
        if board.species.strip() and kind is None and _other(board, wanted):
            named.setdefault(board.species, []).append(board.name)
    return [
        Finding(
            "T013", Severity.CAUTION, "timber",
            f"board{'s' if len(names) > 1 else ''} {names_said(names)}",
            f"{said} is no name we know, so it is taken for another timber than {wanted.timber}",
            f"most like it: {', '.join(names_like(said, wanted.timbers))}; write the name so, or "
            "give its figures on the form timbers",
        )
        for said, names in named.items()
    ]  # fmt: skip


def _seams(wanted: Wanted, boards: Sequence[Board], rules: PileRules) -> SeamMovement | None:
    """Move the seams by the planking's timber; its cut is the boards', where they are all one."""
    kind: Species | None = species_named(wanted.timber, wanted.timbers)
    if kind is None or wanted.widths_mm is None or not wanted.dressed_mm:
        return None
    cuts = {board.cut for board in boards if not _other(board, wanted)}
    cut = cuts.pop() if len(cuts) == 1 else ""
    return move_seams(
        wanted.widths_mm, wanted.strakes, wanted.dressed_mm, kind, cut, rules=rules.seams,
        hung_percent=rules.dressing.planking_percent, unit=wanted.unit,
    )  # fmt: skip
