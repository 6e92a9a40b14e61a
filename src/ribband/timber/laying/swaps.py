"""Planks without a board given one, by as few others moved as will do: looked for in order.

*Room*: a place on a board as it stands, planks on it staying. First every plank without a board
is looked for room on every board, cut into or not. Then one other plank is lifted, wherever that
makes room, and looks for room itself; then two, then three, from one board or in a chain. What
was tried once is kept, so a chain costs little more than its first link.

Not checked: places that would need a plank on the board to be shifted where it lies.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import combinations

import numpy as np

from ribband.numerics.polygons import enclosed_area, laid_out
from ribband.numerics.profiles import Floats, columns, open_ring
from ribband.timber.board_model import Board, Cut, Piece
from ribband.timber.laying.fill import Way, fill
from ribband.timber.laying.ground import Kind, Lies, Plot, cut_of, kinds_of, lies_of, suits
from ribband.timber.laying.pace import ByCount
from ribband.timber.laying.rules import LayingRules

__all__ = ["Rooms", "house_all"]

GRID = 100.0  # mm between the places the height left is looked at
Cuts = tuple[Cut, ...]
On = dict[str, Cuts]


@dataclass(slots=True)
class Rooms:
    """What room boards have for a plank, remembered.

    plot : gives a board on cells with the cuts on it; pace : counts every look, tells when to end
    firm : planks that are not lifted; only : the board a pinned plank must lie on
    """

    pieces: Sequence[Piece]
    boards: Mapping[str, Board]
    rules: LayingRules
    plot: Callable[[str, Cuts], Plot]
    pace: ByCount
    firm: Collection[str] = ()
    only: Mapping[str, str] = field(default_factory=dict)
    length: dict[str, float] = field(init=False)
    area: dict[str, float] = field(init=False)
    face: dict[str, float] = field(init=False)
    rings: dict[str, Floats] = field(init=False)
    breadth: dict[str, float] = field(init=False, default_factory=dict)
    heights: dict[tuple[str, Cuts], Floats] = field(init=False, default_factory=dict)
    bare: dict[str, tuple[Floats, Floats]] = field(init=False, default_factory=dict)
    taken: dict[Cut, Floats] = field(init=False, default_factory=dict)
    known: dict[tuple[str, str, Cuts], Cut | None] = field(init=False, default_factory=dict)
    lies: dict[str, tuple[tuple[Kind, ...], Lies]] = field(init=False, default_factory=dict)

    def __post_init__(self) -> None:
        self.length = {p: float(np.ptp(q.outline[:, 0])) for q in self.pieces for p in q.planks}
        self.area = {p: enclosed_area(q.outline) for q in self.pieces for p in q.planks}
        self.face = {name: enclosed_area(b.outline) for name, b in self.boards.items()}
        self.rings = {p: q.outline for q in self.pieces for p in q.planks}
        for piece in self.pieces:
            breadth = _least_breadth(piece)
            self.breadth.update(dict.fromkeys(piece.planks, breadth))

    def late(self) -> bool:
        """Tell whether no more is to be tried."""
        return self.pace.gone() >= 1.0

    def find(self, plank: str, name: str, cuts: Cuts) -> Cut | None:
        """Give a place for a plank on a board with planks on it, or None."""
        if self.only.get(plank, name) != name:
            return None
        key = (plank, name, cuts)
        if key not in self.known:
            may = self.may_fit(plank, name, cuts)
            self.known[key] = self._looked(plank, name, cuts) if may else None
        return self.known[key]

    def may_fit(self, plank: str, name: str, cuts: Cuts) -> bool:
        """Tell whether somewhere along a board the height left would do for a plank's middle."""
        if (name, cuts) not in self.heights:
            self.heights[name, cuts] = self._height_left(name, cuts)
        left = self.heights[name, cuts]
        cells = int(0.8 * self.length[plank] / GRID)
        if cells >= len(left):
            return self.length[plank] <= len(left) * GRID
        windows = np.lib.stride_tricks.sliding_window_view(left, max(cells, 1))
        return bool(windows.min(axis=1).max() >= 0.95 * self.breadth[plank])

    def _height_left(self, name: str, cuts: Cuts) -> Floats:
        """Give the height of a board less its planks', every `GRID` along."""
        if name not in self.bare:
            ring = open_ring(self.boards[name].outline)
            x = np.arange(float(ring[:, 0].min()) + 1.0, float(ring[:, 0].max()), GRID)
            low, high = columns(ring, x)
            self.bare[name] = x, high - low
        x, left = self.bare[name]
        for cut in cuts:
            left = left - self._height_of(cut, x)
        return left

    def _height_of(self, cut: Cut, x: Floats) -> Floats:
        """Give the height of a plank as it lies, at places along its board; 0 beside it."""
        if cut not in self.taken:
            flat = self.rings[cut.plank]
            own = open_ring(laid_out(flat, cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm))
            low, high = columns(own, x)
            self.taken[cut] = np.nan_to_num(high - low)
        return self.taken[cut]

    def _looked(self, plank: str, name: str, cuts: Cuts) -> Cut | None:
        kinds, lies = self._lies(plank)
        plot = self.plot(name, cuts)
        if not suits(kinds, [plot]).all():
            return None
        one, price = np.ones(1, dtype=np.int64), np.array([kinds[0].area_mm2])
        for above in (False, True):
            self.pace.tried()
            found = fill(
                plot, 0, lies, price, one,
                rules=self.rules, way=Way(above=above), rng=np.random.default_rng(0),
            ).places  # fmt: skip
            if found:
                at = found[0]
                return cut_of(lies, plot, plank, lie=at.lie, cell=at.cell, y=at.y)
        return None

    def _lies(self, plank: str) -> tuple[tuple[Kind, ...], Lies]:
        """Give a plank's lies, worked out once."""
        if plank not in self.lies:
            others = tuple(set(self.length) - {plank})
            kinds = kinds_of(self.pieces, self.rules, (), others)
            self.lies[plank] = kinds, lies_of(kinds, self.rules)
        return self.lies[plank]


def _least_breadth(piece: Piece) -> float:
    """Give the least height of a plank over its middle four fifths, as it is drawn."""
    ring = open_ring(piece.outline)
    first, last = float(ring[:, 0].min()), float(ring[:, 0].max())
    x = np.linspace(first + 0.1 * (last - first), last - 0.1 * (last - first), 33)
    low, high = columns(ring, x)
    return float((high - low).min())


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
