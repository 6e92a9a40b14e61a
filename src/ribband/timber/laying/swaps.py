"""Planks without a board given one, by as few others moved as will do: looked for in order.

*Room*: a place on a board as it stands, planks on it staying. First every plank without a board
is looked for room on every board, cut into or not. Then one other plank is lifted, wherever that
makes room, and looks for room itself; then two, then three, from one board or in a chain. What
was tried once is kept, so a chain costs little more than its first link.

Not checked: places that would need a plank on the board to be shifted where it lies.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import combinations

import numpy as np

from ribband.numerics.polygons import enclosed_area
from ribband.numerics.profiles import grown
from ribband.timber.board_model import Board, Cut, Piece
from ribband.timber.laying.ground import (
    FINE,
    LEANS,
    Bar,
    Kind,
    Lies,
    Plot,
    as_lain,
    bar_of,
    cut_of,
    kinds_of,
    lies_of,
    suits,
)
from ribband.timber.laying.pace import ByCount
from ribband.timber.laying.room import Room, place_in, room_of
from ribband.timber.laying.rules import LayingRules

__all__ = ["Rooms", "house_all"]

Cuts = tuple[Cut, ...]
On = dict[str, Cuts]


@dataclass(slots=True)
class Rooms:
    """What room boards have for a plank, remembered.

    plot : gives a board on cells with the cuts on it; pace : counts every look, tells when to end
    firm : planks that are not lifted; only : the board a pinned plank must lie on
    finely : planks looked at with all the leans of a long search; rooms, bars, known, lies : what
        was worked out once
    """

    pieces: Sequence[Piece]
    boards: Mapping[str, Board]
    rules: LayingRules
    plot: Callable[[str, Cuts], Plot]
    pace: ByCount
    firm: Collection[str] = ()
    only: Mapping[str, str] = field(default_factory=dict)
    piece: dict[str, Piece] = field(init=False)
    length: dict[str, float] = field(init=False)
    area: dict[str, float] = field(init=False)
    face: dict[str, float] = field(init=False)
    finely: set[str] = field(init=False, default_factory=set)
    rooms: dict[tuple[str, Cuts], Room] = field(init=False, default_factory=dict)
    bars: dict[Cut, Bar] = field(init=False, default_factory=dict)
    known: dict[tuple[str, bool, str, Cuts], Cut | None] = field(init=False, default_factory=dict)
    lies: dict[tuple[Piece, bool, int], tuple[tuple[Kind, ...], Lies]] = field(
        init=False, default_factory=dict
    )

    def __post_init__(self) -> None:
        self.piece = {p: q for q in self.pieces for p in q.planks}
        self.length = {p: float(np.ptp(q.outline[:, 0])) for p, q in self.piece.items()}
        self.area = {p: enclosed_area(q.outline) for p, q in self.piece.items()}
        self.face = {name: enclosed_area(b.outline) for name, b in self.boards.items()}

    def late(self) -> bool:
        """Tell whether no more is to be tried."""
        return self.pace.gone() >= 1.0

    def find(self, plank: str, name: str, cuts: Cuts) -> Cut | None:
        """Give a place for a plank on a board with planks on it, or None."""
        if self.only.get(plank, name) != name:
            return None
        key = (plank, plank in self.finely, name, cuts)
        if key not in self.known:
            self.known[key] = self._looked(plank, name, cuts)
        return self.known[key]

    def _looked(self, plank: str, name: str, cuts: Cuts) -> Cut | None:
        kinds, lies = self.lies_of(plank)
        bare = self.plot(name, ())
        if not suits(kinds, [bare]).all():
            return None
        self.pace.tried()
        found = place_in(self._room(name, cuts), lies)
        if found is None:
            return None
        lie, cell, y = found
        return cut_of(lies, bare, plank, lie=lie, cell=cell, y=y)

    def _room(self, name: str, cuts: Cuts) -> Room:
        if (name, cuts) not in self.rooms:
            bare = self.plot(name, ())
            planks = [self._bar(cut, bare) for cut in cuts]
            made = room_of(bare.floor, bare.roof, bare.bars, planks, bare.length)
            self.rooms[name, cuts] = made
        return self.rooms[name, cuts]

    def _bar(self, cut: Cut, bare: Plot) -> Bar:
        """Give a plank as it lies on a board, with what is kept off it."""
        if cut not in self.bars:
            ring = grown(as_lain(self.piece[cut.plank], cut), self.rules.kerf_mm / 2)
            self.bars[cut] = bar_of(ring, bare.left)
        return self.bars[cut]

    def lies_of(self, plank: str) -> tuple[tuple[Kind, ...], Lies]:
        """Give a plank's lies, worked out once."""
        piece, leans = self.piece[plank], FINE if plank in self.finely else LEANS
        key = piece, not piece.may_flip and plank[:1] == "S", leans
        if key not in self.lies:
            kinds = kinds_of([replace(piece, planks=(plank,))], self.rules)
            self.lies[key] = kinds, lies_of(kinds, self.rules, leans)
        return self.lies[key]


def house_all(
    rooms: Rooms,
    on: On,
    homeless: Sequence[str],
    most_moved: int,
    stays: Collection[str] = (),
) -> On | None:
    """Give boards with every homeless plank on one, fewest others moved; None where none is found.

    `on` says what lies on every board; the long planks look first; `stays` are not lifted.
    """
    waiting = tuple(sorted(homeless, key=lambda p: -rooms.length[p]))
    for budget in range(most_moved + 1):
        found = _housed(rooms, on, waiting, budget, frozenset((*homeless, *stays)))
        if found is not None:
            return found
    return None


def _housed(
    rooms: Rooms, on: On, waiting: tuple[str, ...], budget: int, moved: frozenset[str]
) -> On | None:
    """House the planks waiting, one after the other, lifting at most `budget` others."""
    if not waiting:
        return on
    if rooms.late():
        return None
    plank, rest = waiting[0], waiting[1:]
    for name, cut in _room(rooms, on, plank):
        found = _housed(rooms, {**on, name: (*on.get(name, ()), cut)}, rest, budget, moved)
        if found is not None:
            return found
        if not budget and rest:
            continue
        break
    if not budget:
        return None
    for name, lifted, cut in _lifts(rooms, on, plank, budget, moved):
        left = tuple(c for c in on[name] if c.plank not in lifted)
        after = {**on, name: (*left, cut)}
        again = tuple(sorted((*lifted, *rest), key=lambda p: -rooms.length[p]))
        found = _housed(rooms, after, again, budget - len(lifted), moved | set(lifted))
        if found is not None or rooms.late():
            return found
    return None


def _room(rooms: Rooms, on: On, plank: str) -> Iterator[tuple[str, Cut]]:
    """Give the places there is room for a plank: boards cut into first, the fullest first."""
    names = sorted(rooms.boards, key=lambda n: (not on.get(n), _free(rooms, on, n)))
    for name in names:
        cut = rooms.find(plank, name, on.get(name, ()))
        if cut is not None:
            yield name, cut
        if rooms.late():
            return


def _free(rooms: Rooms, on: On, name: str) -> float:
    return rooms.face[name] - sum(rooms.area[cut.plank] for cut in on.get(name, ()))


def _lifts(
    rooms: Rooms, on: On, plank: str, budget: int, moved: frozenset[str]
) -> Iterator[tuple[str, tuple[str, ...], Cut]]:
    """Give the planks whose lifting makes room, the smallest of them first, fewest first."""
    able = {
        name: [c.plank for c in cuts if c.plank not in moved and c.plank not in rooms.firm]
        for name, cuts in on.items()
        if name in rooms.boards
    }
    able = {name: planks for name, planks in able.items() if _bears(rooms, on, plank, name, planks)}
    for many in range(1, budget + 1):
        tries = [
            (sum(rooms.area[p] for p in some), name, some)
            for name, planks in able.items()
            for some in combinations(planks, many)
        ]
        for _, name, some in sorted(tries):
            if rooms.late():
                return
            left = tuple(c for c in on[name] if c.plank not in some)
            cut = rooms.find(plank, name, left)
            if cut is not None:
                yield name, some, cut


def _bears(rooms: Rooms, on: On, plank: str, name: str, lifted: Sequence[str]) -> bool:
    """Tell whether a board would have room with all lifted that may be; fewer never make more."""
    left = tuple(cut for cut in on[name] if cut.plank not in lifted)
    return bool(lifted) and rooms.find(plank, name, left) is not None
