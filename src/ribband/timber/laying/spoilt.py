"""A board turned out bad: laying again only what must change.

The planks of a spoilt board go into room left on boards already cut into, else onto fresh boards.
Where one is left over, `laying/swaps.py` looks through what lifting one, two or three others would
make room for. Then it is tried whether lifting the planks of one other board, three at most, saves
timber. All else stays where it is.

Not checked: whether a plank already sawn from the spoilt board is itself sound; say in `sawn`
which are.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass, field, replace
from time import process_time

import numpy as np
from numpy.typing import NDArray

from ribband.numerics.profiles import Floats
from ribband.timber.board_model import Board, Cut, Laying, Piece
from ribband.timber.laying.choice import chosen, rates, with_boards_said
from ribband.timber.laying.fill import Pattern, Way, fill
from ribband.timber.laying.ground import Kind, Lies, Plot, cut_of, kinds_of, suits
from ribband.timber.laying.pace import LONGEST, ByCount, said_of_cap
from ribband.timber.laying.room import joined
from ribband.timber.laying.rules import LayingRules
from ribband.timber.laying.solve import (
    PROVED,
    laying_of,
    offcuts_of,
    plots_of,
    timber_used,
)
from ribband.timber.laying.swaps import Rooms, house_all

__all__ = ["relay"]

Ints = NDArray[np.int64]
MOST_MOVED = 3
FILLING = 8  # trials that a filling counts for; a look at a board for one plank is one
SAVING, LIFTING = 1300, 2000  # trials after which no more is saved, no more planks are lifted
WORTH_MOVING = 0.001  # m3 that must be saved at least for other planks to be moved
MOST_LIES = 300  # looked at, of many planks without a board
WAYS = (Way(most=MOST_LIES), Way(above=True, most=MOST_LIES))
OTHER_WAYS = tuple(replace(way, power=power) for power in (0.7, 0.85, 1.2) for way in WAYS)


@dataclass(slots=True)
class _Yard:
    """What stays the same while ways are tried, and what was reckoned of boards already.

    pins : (plank, board) pairs still to be kept to; firm : planks that are not lifted
    """

    pieces: Sequence[Piece]
    boards: dict[str, Board]
    rules: LayingRules
    rng: np.random.Generator
    pins: Sequence[tuple[str, str]]
    firm: set[str]
    pace: ByCount
    rate: dict[str, float] = field(init=False)
    plots: dict[tuple[str, tuple[Cut, ...]], Plot] = field(init=False, default_factory=dict)
    used: dict[tuple[str, tuple[Cut, ...]], float] = field(init=False, default_factory=dict)
    rooms: Rooms = field(init=False)

    def __post_init__(self) -> None:
        own = list(self.boards.values())
        self.rate = dict(zip(self.boards, rates(own).tolist(), strict=True))
        self.rooms = Rooms(
            self.pieces, self.boards, self.rules, self.plot, self.pace, self.firm, dict(self.pins)
        )

    def plot(self, name: str, cuts: tuple[Cut, ...]) -> Plot:
        """Give a board on cells with planks on it."""
        if (name, cuts) not in self.plots:
            made = plots_of(self.pieces, [self.boards[name]], self.rules, cuts)
            self.plots[name, cuts] = replace(made[0], rate=self.rate[name])
        return self.plots[name, cuts]

    def timber(self, name: str, cuts: tuple[Cut, ...]) -> float:
        """Give the timber of a board used by planks on it, m3, as it counts."""
        if (name, cuts) not in self.used:
            board = [self.boards[name]] if name in self.boards else []
            kept = offcuts_of(self.pieces, board, self.rules, cuts)
            self.used[name, cuts] = timber_used(board, cuts, kept) * self.rate.get(name, 1.0)
        return self.used[name, cuts]


def _by_board(cuts: Sequence[Cut]) -> dict[str, tuple[Cut, ...]]:
    on: dict[str, list[Cut]] = {}
    for cut in cuts:
        on.setdefault(cut.board, []).append(cut)
    return {name: tuple(some) for name, some in on.items()}


def relay(
    laying: Laying,
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    rules: LayingRules,
    spoilt: Collection[str],
    *,
    sawn: Collection[str] = (),
    pinned: Sequence[tuple[str, str]] = (),
    seed: int = 0,
    timber: str = "",
    longest: float = LONGEST,
    clock: Callable[[], float] = process_time,
) -> Laying:
    """Lay again the planks of boards that turned out bad, moving at most three others.

    Parameters
    ----------
    spoilt : names of the boards
    sawn : planks got out already; they stay where they are, on a spoilt board too
    timber : of the planking, as for `lay_planks`
    longest : s by the clock given, the processor's, at which it ends whatever is left to try

    It goes by a count of trials, so that the same boards are mended the same way on any machine;
    T126 where the cap struck first. The bound of the laying is given on: a smaller pile cannot
    need less.
    """
    begun = clock()
    sound = [b for b in chosen(boards, rules, timber) if b.name not in spoilt]
    pins = [(plank, board) for plank, board in pinned if board not in spoilt]
    yard = _Yard(
        pieces, {b.name: b for b in sound}, rules, np.random.default_rng(seed), pins,
        {*sawn, *(plank for plank, _ in pinned)}, ByCount(LIFTING, longest, clock),
    )  # fmt: skip
    stay = [c for c in laying.cuts if c.board not in spoilt or c.plank in sawn]
    homeless = {p for piece in pieces for p in piece.planks} - {c.plank for c in stay}
    before = homeless & set(laying.unlaid)
    had = (homeless - before) or homeless
    best = _housed(yard, stay, had)
    if had - {cut.plank for cut in best} and had != before:
        best = _by_swaps(yard.rooms, stay, best, had)
    best = _on_fresh(yard, best, homeless - {cut.plank for cut in best})
    best = _more(yard.rooms, best, homeless)
    late = yard.pace.gone() >= 1.0
    yard.rooms.finely.clear()
    best = _saving(yard, stay, best, had)
    whole = [b for b in boards if b.state == "sound" or b.name in {c.board for c in best}]
    bound = np.inf if _proved_short(laying) else laying.bound_m3 * 1e9
    mended = laying_of(
        pieces, whole, rules, tuple(best), spent=clock() - begun, seed=seed, bound=bound
    )
    mended = replace(mended, cost_bound=laying.cost_bound)
    mended = _said_short(mended, len(before), had, late) if homeless - before else mended
    mended = replace(mended, findings=(*mended.findings, *said_of_cap(yard.pace)))
    return with_boards_said(mended, boards, rules, timber)


def _saving(yard: _Yard, stay: Sequence[Cut], best: list[Cut], had: set[str]) -> list[Cut]:
    """Give cuts that use less timber with the planks of one board lifted, if any do."""
    best_score = _score(yard, best)
    for moved in _moves(yard, stay):
        if yard.pace.done >= SAVING or yard.pace.gone() >= 1.0:
            break
        rest = [cut for cut in stay if cut.plank not in moved]
        trial = _housed(yard, rest, had | moved, _board_of(stay, moved))
        score = _score(yard, trial)
        if score < (best_score[0], best_score[1] - WORTH_MOVING):
            best, best_score = trial, score
    return best


def _proved_short(laying: Laying) -> bool:
    """Tell whether it was proved that the pile cannot bear every plank."""
    return any(finding.why == PROVED for finding in laying.findings)


def _said_short(laying: Laying, short: int, had: set[str], late: bool) -> Laying:
    """Say of planks without a board how it was looked for one, and what became of the others.

    short : planks without a board before; had : planks that lost theirs; late : not all was tried
    """
    left = len(had & set(laying.unlaid))
    looked = f"no more than {MOST_MOVED} others moved"
    if short:
        why = (
            f"{short} had none before; of {len(had)} that lost theirs {len(had) - left} found "
            f"another, {looked}"
        )
    else:
        why = f"none was found with {looked}"
    why += f", in {LIFTING} trials" if late else ", all ways of lifting them tried"
    why += "; laying the whole pile anew may place more"
    told = (replace(f, why=why) if f.code == "T117" and f.why != PROVED else f
            for f in laying.findings)  # fmt: skip
    return replace(laying, findings=tuple(told))


def _by_swaps(rooms: Rooms, stay: Sequence[Cut], plain: list[Cut], homeless: set[str]) -> list[Cut]:
    """Give cuts with more of the homeless laid, at most three others moved.

    First those the plain way left over, one by one, at finer leans; then all of them anew.
    """
    on, moved = _by_board(plain), 0
    left = homeless - {cut.plank for cut in plain}
    rooms.finely |= left
    where = {cut.plank: cut for cut in stay}
    for plank in sorted(left, key=lambda p: (rooms.length[p], p)):
        found = house_all(rooms, on, [plank], MOST_MOVED - moved, stays=homeless)
        if found is not None:
            on = found
            now = {cut.plank: cut for cuts in on.values() for cut in cuts}
            moved = sum(now[p] != cut for p, cut in where.items())
    if homeless <= {cut.plank for cuts in on.values() for cut in cuts}:
        return [cut for cuts in on.values() for cut in cuts]
    anew = house_all(rooms, _by_board(stay), sorted(homeless), MOST_MOVED)
    return [cut for cuts in (on if anew is None else anew).values() for cut in cuts]


def _more(rooms: Rooms, cuts: list[Cut], homeless: set[str]) -> list[Cut]:
    """Give cuts with what else finds room, one plank after the other."""
    on = _by_board(cuts)
    for plank in sorted(homeless - {cut.plank for cut in cuts}):
        found = house_all(rooms, on, [plank], 0)
        on = found if found is not None else on
    return [cut for some in on.values() for cut in some]


def _board_of(cuts: Sequence[Cut], moved: set[str]) -> tuple[str, ...]:
    return tuple(sorted({cut.board for cut in cuts if cut.plank in moved}))


def _score(yard: _Yard, cuts: Sequence[Cut]) -> tuple[int, float]:
    """Give how many are laid, fewer being worse, and the timber used."""
    return -len(cuts), sum(yard.timber(name, on) for name, on in _by_board(cuts).items())


def _moves(yard: _Yard, stay: Sequence[Cut]) -> Iterator[set[str]]:
    """Give the planks of one board at a time, the emptiest boards first."""
    on = _by_board(stay)
    area = {p: float(np.ptp(q.outline[:, 0])) for q in yard.pieces for p in q.planks}
    spare = {
        name: float(np.ptp(yard.boards[name].outline[:, 0])) * 2 - sum(area[c.plank] for c in cuts)
        for name, cuts in on.items()
        if name in yard.boards
    }
    for name in sorted(spare, key=lambda n: -spare[n]):
        planks = {cut.plank for cut in on[name]}
        if len(planks) <= MOST_MOVED and not planks & yard.firm:
            yield planks


def _on_fresh(yard: _Yard, cuts: list[Cut], homeless: set[str]) -> list[Cut]:
    """Give cuts with what a board not cut into yet has room for laid there, whatever it takes."""
    used = {cut.board for cut in cuts}
    waiting = _waiting(yard, cuts, homeless)
    if waiting is None:
        return cuts
    waiting.lay_on([name for name in yard.boards if name not in used])
    return waiting.cuts


def _waiting(yard: _Yard, stay: Sequence[Cut], homeless: set[str]) -> _Waiting | None:
    """Give the planks without a board, ready to be laid; None where there are none."""
    everything = {p for piece in yard.pieces for p in piece.planks}
    kinds = kinds_of(yard.pieces, yard.rules, yard.pins, tuple(everything - homeless))
    lies = [yard.rooms.lies_of(kind.planks[0])[1] for kind in kinds]
    return _Waiting(yard, kinds, joined(lies), list(stay)) if kinds else None


def _housed(
    yard: _Yard, stay: Sequence[Cut], homeless: set[str], first: Sequence[str] = ()
) -> list[Cut]:
    """Give cuts with the homeless planks laid: on the boards `first`, in room left, on others."""
    waiting = _waiting(yard, stay, homeless)
    if waiting is None:
        return list(stay)
    used = {cut.board for cut in stay}
    fresh = [name for name in yard.boards if name not in used and name not in first]
    for group in ([*first], [n for n in yard.boards if n in used and n not in first], fresh):
        waiting.lay_on(group)
    return waiting.cuts


@dataclass(slots=True)
class _Waiting:
    """Planks without a board, and the cuts there are: boards are given them one after the other.

    What a board would bear is looked for once, and again only when another board was given one of
    those planks.
    """

    yard: _Yard
    kinds: tuple[Kind, ...]
    lies: Lies
    cuts: list[Cut]
    prices: Floats = field(init=False)
    names: list[list[str]] = field(init=False)
    on: dict[str, tuple[Cut, ...]] = field(init=False)

    def __post_init__(self) -> None:
        self.prices = np.array([kind.area_mm2 for kind in self.kinds])
        self.names = [list(reversed(kind.planks)) for kind in self.kinds]
        self.on = _by_board(self.cuts)

    def lay_on(self, boards: Sequence[str]) -> None:
        """Lay planks on boards, the one that does best first, till none bears any more."""
        made = ((name, self._offer(name)) for name in boards)
        offers = {name: offer for name, offer in made if offer is not None}
        while offers:
            name = max(offers, key=lambda n: offers[n][0])
            best = offers.pop(name)
            if not self._gone(best[1]):
                more = None if self._all_of(name, best[1]) else self._offer(name, OTHER_WAYS)
                self._take(name, best[1] if more is None or more[0] < best[0] else more[1])
            again = self._offer(name)
            if again is not None:
                offers[name] = again

    def _offer(self, name: str, ways: Sequence[Way] = WAYS) -> tuple[float, Pattern] | None:
        """Give the planks that would go on a board, and what that is worth."""
        left = self._left(name)
        if not left.any():
            return None
        plot = self.yard.plot(name, self.on.get(name, ()))
        able = left * suits(self.kinds, [plot])[0]
        found: list[Pattern] = []
        for way in ways if able.any() else ():
            self.yard.pace.tried(FILLING)
            found.append(
                fill(plot, 0, self.lies, self.prices, able, rules=self.yard.rules, way=way,
                     rng=self.yard.rng)
            )  # fmt: skip
            if name in self.on and len(found[-1].places) == able.sum():
                break  # no other way lays more
        worth = [(_worth(self.kinds, p, plot.board, name in self.on), p) for p in found if p.places]
        return max(worth, key=lambda each: each[0], default=None)

    def _left(self, name: str) -> Ints:
        """Give how many of each kind are left that a board may have room for."""
        cuts, rooms = self.on.get(name, ()), self.yard.rooms
        return np.array(
            [len(own) if own and rooms.find(own[-1], name, cuts) else 0 for own in self.names]
        )

    def _all_of(self, name: str, pattern: Pattern) -> bool:
        """Tell whether a board cut into is given every plank it has room for."""
        return name in self.on and len(pattern.places) == self._left(name).sum()

    def _gone(self, pattern: Pattern) -> bool:
        """Tell whether a plank of a pattern lies on another board by now."""
        wanted = Counter(place.kind for place in pattern.places)
        return any(len(self.names[kind]) < many for kind, many in wanted.items())

    def _take(self, name: str, pattern: Pattern) -> None:
        plot = self.yard.plot(name, self.on.get(name, ()))
        laid = tuple(
            cut_of(self.lies, plot, self.names[p.kind].pop(), lie=p.lie, cell=p.cell, y=p.y)
            for p in pattern.places
        )
        self.on[name] = (*self.on.get(name, ()), *laid)
        self.cuts += laid


def _worth(kinds: Sequence[Kind], pattern: Pattern, board: Board, cut_into: bool) -> float:
    """Give the planks' timber for the timber it costs; much of it where the board is cut into."""
    planks = sum(kinds[p.kind].area_mm2 for p in pattern.places) * board.thickness_mm
    return planks if cut_into else planks / max(pattern.cost, 1.0)
