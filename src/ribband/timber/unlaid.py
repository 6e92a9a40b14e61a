"""Why planks found no board: what no board of the pile could bear even by itself, and what helps.

*Wanted* of a board: the plank's rough thickness; its length with the allowances; its breadth
across, with them, at the broadest place; and a run clear of flaws as broad as its middle. A board
is asked for these one after the other, and a plank's reason is the last thing that a board lacked
which came furthest. A plank no board lacks anything for is one for which there is no room left.

Not checked: sweep and crook, so that a plank said to have no room left may fit nowhere.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ribband.findings import Finding, Severity
from ribband.numerics.profiles import Floats, columns, open_ring
from ribband.timber.board_model import Board, Laying, Piece, names_said, thick_enough
from ribband.timber.laying.choice import chosen, why_left
from ribband.timber.laying.ends import broken, sound_spans
from ribband.timber.laying.ground import rough_ring
from ribband.timber.laying.rules import LayingRules
from ribband.timber.laying.solve import PROVED
from ribband.units import counted

__all__ = ["too_small", "why_unlaid"]

LEANING = 0.994  # of what is drawn, the least that a plank takes as it leans and sweeps
MIDDLE = 0.8  # of a plank's length, its middle
GRID = 50.0  # mm between the places looked at along a board
_THICK, _HOLLOW, _LONG, _BROAD, _SOUND, _ROOM = range(6)
_SAYS = {
    _THICK: (
        ("too thick: up to {wanted:.1f} mm rough is wanted, and the thickest board that may be cut "
        "into has {most:.1f} mm"),
        "thicker boards (ribband order), or less rough thickness on the form vessel if they dress",
    ),
    _LONG: (
        ("too long: up to {wanted:.0f} mm of board is wanted with the ends' allowance, and the "
        "longest that may be cut into gives {most:.0f} mm"),
        ("shorter planks (butts.greatest_plank, or ribband lay JOB suit), or longer boards "
        "(ribband order)"),
    ),
    _BROAD: (
        ("too broad: up to {wanted:.0f} mm across is wanted with the edges' allowance, and the "
        "broadest board long enough gives {most:.0f} mm"),
        "broader boards (ribband order), or narrower strakes there",
    ),
    _SOUND: (
        ("no run clear of flaws: up to {wanted:.0f} mm is wanted for a plank's middle, and the "
        "longest clear run as broad as that is {most:.0f} mm"),
        ("look at the boards again, for a flaw is taken to go through; else boards with fewer "
        "(ribband order)"),
    ),
    _ROOM: (
        ("no room left: boards that may be cut into are long, broad and thick enough for each by "
        "itself, but they are wanted for other planks, or the sweep is too much for them"),
        "a longer search (ribband lay JOB --seconds 60) may find room; else buy (ribband order)",
    ),
}  # fmt: skip

SHORT = (
    "buy (ribband order), for not all of them can have room, proved; a longer search (ribband lay "
    "JOB --seconds 60) may find some of them room, or other ones"
)


@dataclass(frozen=True)
class _Wanted:
    """What a piece asks of a board, mm, and the planks that have none."""

    piece: Piece
    planks: tuple[str, ...]

    @cached_property
    def length(self) -> float:
        return LEANING * float(np.ptp(rough_ring(self.piece)[:, 0]))

    @cached_property
    def heights(self) -> Floats:
        ring = open_ring(rough_ring(self.piece))
        first, last = float(ring[:, 0].min()), float(ring[:, 0].max())
        middle, part = (first + last) / 2, MIDDLE * (last - first) / 2
        low, high = columns(ring, np.linspace(middle - part, middle + part, 33))
        return np.asarray(LEANING * (high - low))

    def of(self, cause: int) -> float:
        """Give the figure that a cause is about."""
        return {
            _THICK: self.piece.thickness_mm,
            _LONG: self.length / LEANING,
            _BROAD: float(self.heights.max()) / LEANING,
            _SOUND: MIDDLE * self.length,
        }.get(cause, 0.0)


@dataclass(frozen=True)
class _Given:
    """What a board gives, mm."""

    board: Board
    rules: LayingRules

    @cached_property
    def _off(self) -> float:
        return self.rules.live_edge_mm if self.board.live_edges else 0.0

    @cached_property
    def length(self) -> float:
        return float(np.ptp(self.board.outline[:, 0])) - 2 * self._off

    @cached_property
    def breadth(self) -> float:
        ring = open_ring(self.board.outline)
        low, high = columns(ring, np.arange(ring[:, 0].min() + 1.0, ring[:, 0].max(), GRID))
        return float((high - low).max()) - 2 * self._off

    def clear_run(self, breadth_mm: float) -> float:
        """Give the longest run that flaws leave so broad."""
        x = self.board.outline[:, 0]
        bad = broken(self.board, round(breadth_mm, -1), self.rules.sap_allowed)
        spans = sound_spans(float(x.min()), float(x.max()), bad)
        return max((b - a for a, b in spans), default=0.0)

    def lack(self, wanted: _Wanted) -> tuple[int, float]:
        """Give the first thing it lacks for a plank, and how much of that it gives."""
        if self.board.thickness_mm < wanted.piece.thickness_mm - 1e-9:
            return _THICK, self.board.thickness_mm
        if not thick_enough(self.board, wanted.piece):
            return _HOLLOW, 0.0
        if self.length < wanted.length:
            return _LONG, self.length
        if self.breadth < wanted.heights.max():
            return _BROAD, self.breadth
        run = self.clear_run(float(wanted.heights.min())) if self.board.flaws else self.length
        return (_ROOM, 0.0) if run >= MIDDLE * wanted.length else (_SOUND, run)


def why_unlaid(
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    rules: LayingRules,
    laying: Laying,
    timber: str = "",
) -> list[Finding]:
    """Say of planks without a board why, those of one reason together, and what helps (T127).

    Parameters
    ----------
    boards : of the pile, those barred or spoilt too
    timber : of the planking, as for `lay_planks`

    >>> ring = np.array([[0.0, 0], [3000, 0], [3000, 200], [0, 200]])
    >>> board = Board("A1", ring * [0.5, 1.5], 50.0)
    >>> laying = Laying((), ("P1-1",), 0.0, 0.0, 0.0, 0.0, 0.0, 0)
    >>> [found] = why_unlaid([Piece("1-1", ring, ("P1-1",), 45.0)], [board], LayingRules(), laying)
    >>> found.says[:43], found.says[-13:]
    ('too long: up to 3000 mm of board is wanted ', 'gives 1500 mm')
    """
    lacking = set(laying.unlaid)
    wanted = [
        _Wanted(piece, planks)
        for piece in pieces
        if (planks := tuple(plank for plank in piece.planks if plank in lacking))
    ]
    if not wanted:
        return []
    given = [_Given(board, rules) for board in chosen(boards, rules, timber)]
    if not given:
        return [_nothing_to_cut(boards, rules, laying, timber)]
    reasons: dict[int, list[tuple[_Wanted, float]]] = {}
    for each in wanted:
        cause, most = max(board.lack(each) for board in given)
        reasons.setdefault(cause, []).append((each, most))
    reasons.pop(_HOLLOW, None)  # said with T130
    proved = any(finding.why == PROVED for finding in laying.findings)
    return [_said(cause, reasons[cause], proved) for cause in sorted(reasons)]


def too_small(
    pieces: Sequence[Piece], boards: Sequence[Board], rules: LayingRules
) -> list[Finding]:
    """Name, in one note, the boards too short or too narrow for every plank there is (T147).

    boards : that may be cut into; those that are too thin for all are passed over
    """
    wanted = [_Wanted(piece, piece.planks) for piece in pieces if piece.planks]
    thin = min((each.piece.thickness_mm for each in wanted), default=0.0) - 1e-9
    names = [
        board.name
        for board in boards
        if board.thickness_mm >= thin and _all_lack(_Given(board, rules), wanted)
    ]
    if not names:
        return []
    short = min(each.length for each in wanted) / LEANING
    narrow = min(float(each.heights.max()) for each in wanted) / LEANING
    says = (
        f"left alone: too short or too narrow for every plank there is; with allowances the "
        f"shortest wants {short:.0f} mm, the narrowest {narrow:.0f} mm at its broadest"
    )
    where = f"board{'s' if len(names) > 1 else ''} {names_said(names)}"
    return [Finding("T147", Severity.NOTE, "timber", where, says)]


def _all_lack(given: _Given, wanted: Sequence[_Wanted]) -> bool:
    """Tell whether a board lacks length or breadth for every piece."""
    return bool(wanted) and all(
        given.length < each.length or given.breadth < each.heights.max() for each in wanted
    )


def _said(cause: int, of: Sequence[tuple[_Wanted, float]], proved: bool) -> Finding:
    says, helps = _SAYS[cause]
    helps = SHORT if proved and cause == _ROOM else helps
    planks = sorted(plank for each, _ in of for plank in each.planks)
    worst, most = max(of, key=lambda own: own[0].of(cause))
    return Finding(
        "T127", Severity.CAUTION, "timber", f"planks {names_said(planks)}",
        says.format(wanted=worst.of(cause), most=most), helps,
    )  # fmt: skip


def _nothing_to_cut(
    boards: Sequence[Board], rules: LayingRules, laying: Laying, timber: str
) -> Finding:
    """Say that no board may be cut into: how many are out by their state, how many by the rules."""
    left = Counter(why_left(board, rules, timber) for board in boards if board.state == "sound")
    other = sum(board.state != "sound" for board in boards)
    out = [f"{counted(many, 'board')} left alone: each {why}" for why, many in left.most_common(3)]
    out += [f"{counted(other, 'board')} barred, spoilt or not going to dress"] if other else []
    says = f"no board of the pile may be cut into: {'; '.join(out) or 'none is tallied'}"
    why = "ribband tally says why, board by board; buy what is wanted (ribband order)"
    return Finding(
        "T127", Severity.CAUTION, "timber", f"planks {names_said(sorted(laying.unlaid))}", says, why
    )
