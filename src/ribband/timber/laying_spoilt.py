"""A board turned out bad: laying again only what must change.

The planks of a spoilt board go into room left on boards already cut into, else onto fresh boards.
Then it is tried whether lifting the planks of one other board, three at most, saves timber. All
else stays where it is.

Not checked: whether a plank already sawn from the spoilt board is itself sound; say in `sawn`
which are.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, field
from time import perf_counter

import numpy as np

from ribband.timber.board_model import Board, Cut, Laying, Piece
from ribband.timber.laying import cuts_of, laying_of, offcuts_of, plots_of, timber_used
from ribband.timber.laying_fill import Pattern, Way, fill
from ribband.timber.laying_ground import Kind, Plot, kinds_of, lies_of, suits
from ribband.timber.laying_rules import LayingRules
from ribband.timber.laying_search import State

__all__ = ["relay"]

MOST_MOVED = 3


@dataclass(frozen=True, slots=True)
class _Yard:
    """What stays the same while ways are tried, and what was reckoned of boards already."""

    pieces: Sequence[Piece]
    boards: dict[str, Board]
    rules: LayingRules
    rng: np.random.Generator
    plots: dict[tuple[str, tuple[Cut, ...]], Plot] = field(default_factory=dict)
    used: dict[tuple[str, tuple[Cut, ...]], float] = field(default_factory=dict)

    def plot(self, name: str, cuts: tuple[Cut, ...]) -> Plot:
        """Give a board on cells with planks on it."""
        if (name, cuts) not in self.plots:
            made = plots_of(self.pieces, [self.boards[name]], self.rules, cuts)
            self.plots[name, cuts] = made[0]
        return self.plots[name, cuts]

    def timber(self, name: str, cuts: tuple[Cut, ...]) -> float:
        """Give the timber of a board used by planks on it, m3."""
        if (name, cuts) not in self.used:
            board = [self.boards[name]] if name in self.boards else []
            kept = offcuts_of(self.pieces, board, self.rules, cuts)
            self.used[name, cuts] = timber_used(board, cuts, kept)
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
    seconds: float = 0.5,
) -> Laying:
    """Lay again the planks of boards that turned out bad, moving at most three others.

    Parameters
    ----------
    spoilt : names of the boards
    sawn : planks got out already; they stay where they are, on a spoilt board too
    seconds : after the planks have boards again, how long ways to save timber are looked for

    The bound of the laying is given on: a smaller pile cannot need less.
    """
    begun = perf_counter()
    sound = [b for b in boards if b.state == "sound" and b.name not in spoilt]
    stay = [c for c in laying.cuts if c.board not in spoilt or c.plank in sawn]
    pins = [(plank, board) for plank, board in pinned if board not in spoilt]
    homeless = {p for piece in pieces for p in piece.planks} - {c.plank for c in stay}
    yard = _Yard(pieces, {b.name: b for b in sound}, rules, np.random.default_rng(seed))
    best = _housed(yard, stay, homeless, pins)
    best_score = _score(yard, best)
    firm = set(sawn) | {plank for plank, _ in pinned}
    for moved in _moves(yard, laying, stay, firm):
        if perf_counter() - begun > seconds:
            break
        rest = [cut for cut in stay if cut.plank not in moved]
        trial = _housed(yard, rest, homeless | moved, pins, _board_of(stay, moved))
        score = _score(yard, trial)
        if score < best_score:
            best, best_score = trial, score
    whole = [b for b in boards if b.state == "sound" or b.name in {c.board for c in best}]
    bound = laying.bound_m3 * 1e9
    return laying_of(
        pieces, whole, rules, tuple(best), spent=perf_counter() - begun, seed=seed, bound=bound
    )


def _board_of(cuts: Sequence[Cut], moved: set[str]) -> tuple[str, ...]:
    return tuple({cut.board for cut in cuts if cut.plank in moved})


def _score(yard: _Yard, cuts: Sequence[Cut]) -> tuple[int, float]:
    """Give how many are laid, fewer being worse, and the timber used."""
    return -len(cuts), sum(yard.timber(name, on) for name, on in _by_board(cuts).items())


def _moves(yard: _Yard, laying: Laying, stay: Sequence[Cut], firm: set[str]) -> Iterator[set[str]]:
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
        if len(planks) <= MOST_MOVED and not planks & firm:
            yield planks


def _housed(
    yard: _Yard,
    stay: Sequence[Cut],
    homeless: set[str],
    pins: Sequence[tuple[str, str]],
    first: Sequence[str] = (),
) -> list[Cut]:
    """Give cuts with the homeless planks laid: on the boards `first`, in room left, on others."""
    cuts = list(stay)
    used = {cut.board for cut in cuts}
    fresh = [name for name in yard.boards if name not in used and name not in first]
    for group in ([*first], [n for n in yard.boards if n in used and n not in first], fresh):
        names = list(group)
        while homeless - {c.plank for c in cuts} and names:
            found, names = _laid_on(yard, cuts, homeless - {c.plank for c in cuts}, names, pins)
            cuts += found
    return cuts


def _laid_on(
    yard: _Yard,
    cuts: Sequence[Cut],
    homeless: set[str],
    names: Sequence[str],
    pins: Sequence[tuple[str, str]],
) -> tuple[tuple[Cut, ...], list[str]]:
    """Lay planks on the one of some boards that does best; name the others that bear any."""
    everything = {p for piece in yard.pieces for p in piece.planks}
    kinds = kinds_of(yard.pieces, yard.rules, pins, tuple(everything - homeless))
    on = _by_board(cuts)
    plots = [yard.plot(name, on.get(name, ())) for name in names]
    lies, fits = lies_of(kinds, yard.rules), suits(kinds, plots)
    prices = np.array([kind.area_mm2 for kind in kinds])
    counts = np.array([len(kind.planks) for kind in kinds])
    best: tuple[float, Pattern] | None = None
    bear = []
    for at, plot in enumerate(plots):
        for way in (Way(), Way(above=True)):
            pattern = fill(
                plot, at, lies, prices, counts * fits[at], rules=yard.rules, way=way, rng=yard.rng
            )
            if not pattern.places:
                break
            bear.append(names[at])
            worth = _worth(kinds, pattern, plot.board, plot.board.name in on)
            if best is None or worth > best[0]:
                best = worth, pattern
    if best is None:
        return (), []
    state = State({best[1].plot: best[1]}, np.zeros(len(kinds), dtype=np.int64))
    others = set(bear) - {names[best[1].plot]}
    return cuts_of(kinds, lies, plots, state), [name for name in names if name in others]


def _worth(kinds: Sequence[Kind], pattern: Pattern, board: Board, cut_into: bool) -> float:
    """Give the planks' timber for the timber it costs; much of it where the board is cut into."""
    planks = sum(kinds[p.kind].area_mm2 for p in pattern.places) * board.thickness_mm
    return planks if cut_into else planks / max(pattern.cost, 1.0)
