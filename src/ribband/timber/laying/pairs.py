"""Port and starboard out of one board, or book-matched out of two next to each other in a log.

*Twin*: the port and the starboard plank of one place, wished for so. Twins are laid before
anything else, longest first and those to be book-matched before the others: on each board, or each
two leaves laid over each other, the way that uses least timber, and of these the board that does.
Then they stand, and all else is laid around them.

Where no board bears them it is said why; they are laid apart then.

Not checked: colour, figure or weight of the real boards; `laying/check.py` looks at where they lie.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import product
from typing import Literal

import numpy as np

from ribband.numerics.polygons import clipped, distance, holds, rings_meet
from ribband.timber.board_model import Board, Cut, Piece, thick_enough
from ribband.timber.laying.book import Book, books, common, in_log, on_leaf, over_each_other
from ribband.timber.laying.choice import rates
from ribband.timber.laying.ends import hard_flaws
from ribband.timber.laying.fill import Way
from ribband.timber.laying.ground import (
    FINE,
    LEANS,
    Kind,
    Lies,
    Plot,
    as_lain,
    kinds_of,
    lies_of,
    plot_of,
    rough_ring,
)
from ribband.timber.laying.pace import ByCount
from ribband.timber.laying.rules import LayingRules
from ribband.timber.laying.solve import (
    LEAST_BREADTH,
    cuts_of,
    offcuts_of,
    plots_of,
    timber_used,
)
from ribband.timber.laying.state import Search, State

__all__ = ["Twin", "TwinGround", "is_so", "lay_twins", "twins_of"]

MANY = 100_000  # trials, never reached: each board is filled twice
FULL = 100.0  # times its timber, the price of a plank, so that both are worth more than an end kept
Option = tuple[int, bool]  # the leaf the port plank comes from, and whether it is turned over there
Able = tuple[Book, Board | None, list[Option]]  # two leaves, what they have in common, the ways


@dataclass(frozen=True, slots=True)
class Twin:
    """The planks of one place wished out of one board ("pair") or book-matched ("book")."""

    how: Literal["pair", "book"]
    port: str
    starboard: str

    @property
    def planks(self) -> tuple[str, str]:
        """Give both."""
        return self.port, self.starboard


@dataclass(slots=True, eq=False)
class TwinGround:
    """What twins are laid on: boards that may be cut into, and planks pinned to boards.

    pile : all boards, of which some may have been cut into before
    """

    pieces: Sequence[Piece]
    boards: Sequence[Board]
    rules: LayingRules
    pins: Mapping[str, str]
    seed: int = 0
    pile: Sequence[Board] = ()
    piece_of: dict[str, Piece] = field(init=False)
    rate: dict[str, float] = field(init=False)
    opened: list[tuple[Book, Board | None]] = field(init=False)

    def __post_init__(self) -> None:
        self.piece_of = {plank: piece for piece in self.pieces for plank in piece.planks}
        names = [board.name for board in self.boards]
        self.rate = dict(zip(names, rates(self.boards).tolist(), strict=True))
        self.opened = [(book, common(book)) for book in books(self.boards)]

    def timber(self, board: Board, cuts: Sequence[Cut]) -> float:
        """Give the timber of a board used by planks on it, as it counts."""
        own = [cut for cut in cuts if cut.board == board.name]
        kept = offcuts_of(self.pieces, [board], self.rules, own)
        return timber_used([board], own, kept) * self.rate[board.name]

    def more(self, boards: Sequence[Board], on: Sequence[Cut], cuts: Sequence[Cut]) -> float:
        """Give the timber that cuts use beyond what lies there already."""
        return sum(self.timber(b, [*on, *cuts]) - self.timber(b, on) for b in boards)

    def kept_for_others(self, twin: Twin) -> set[str]:
        """Name the boards that other planks are pinned to."""
        return {board for plank, board in self.pins.items() if plank not in twin.planks}


def twins_of(
    wishes: Sequence[tuple[str, str]], planks: Sequence[str]
) -> tuple[tuple[Twin, ...], tuple[str, ...]]:
    """Give the twins that wishes ("pair" or "book", a plank or strake) name; and planks alone.

    What is said of a plank stands before what is said of its strake. A plank whose other side is
    not to be got out is alone.

    >>> planks = ["P7-1", "S7-1", "P7-2", "S7-2", "S8-1"]
    >>> twins_of([("pair", "7"), ("book", "p7-2"), ("pair", "8")], planks)
    ((Twin(how='pair', port='P7-1', starboard='S7-1'),
      Twin(how='book', port='P7-2', starboard='S7-2')), ('S8-1',))
    """
    how = {_place(name): wish for wish, name in wishes}
    names, found, alone = {plank.casefold(): plank for plank in planks}, [], []
    for place in dict.fromkeys(plank[1:] for plank in planks):
        key = place.casefold()
        wish = how.get(key) or how.get(key.rpartition("-")[0])
        if wish is None:
            continue
        there = [names[side + key] for side in ("p", "s") if side + key in names]
        if len(there) == 2:
            found.append(Twin("book" if wish == "book" else "pair", *there))
        else:
            alone += there
    return tuple(found), tuple(alone)


def _place(name: str) -> str:
    """Give what a plank is called on either side ("7-2"), or a strake, without case."""
    key = name.strip().casefold()
    return key[1:] if key[:1] in {"p", "s"} and "-" in key else key


def lay_twins(
    twins: Sequence[Twin], ground: TwinGround, stay: Sequence[Cut]
) -> tuple[tuple[Cut, ...], tuple[tuple[Twin, str], ...]]:
    """Lay twins around planks that stay; give their new cuts, and those not borne with the reason.

    A twin of which one plank stays already gets the other to it.
    """
    on, new, failed = list(stay), [], []
    for twin in sorted(twins, key=lambda t: (t.how, -_long(ground, t), t.port)):
        cuts, why = _laid(twin, ground, on)
        on += cuts
        new += cuts
        failed += [(twin, why)] if why else []
    return tuple(new), tuple(failed)


def is_so(
    twin: Twin, cuts: Sequence[Cut], boards: Sequence[Board], pieces: Sequence[Piece]
) -> bool:
    """Tell whether planks lie as they were wished."""
    on = {cut.plank: cut for cut in cuts if cut.plank in twin.planks}
    if len(on) < 2:
        return False
    port, starboard = on[twin.port], on[twin.starboard]
    if twin.how == "pair":
        return port.board == starboard.board
    own = [b for b in boards if b.name in {port.board, starboard.board}]
    shapes = [piece for piece in pieces if set(piece.planks) & set(twin.planks)]
    return _alike(shapes[0], shapes[-1]) and any(
        over_each_other(book, *_in_turn(book, port, starboard)) for book in books(own)
    )


def _alike(one: Piece, two: Piece) -> bool:
    return one.outline.shape == two.outline.shape and np.allclose(
        one.outline, two.outline, rtol=0.0, atol=1e-3
    )


def _in_turn(book: Book, one: Cut, two: Cut) -> tuple[Cut, Cut]:
    return (one, two) if one.board == book.leaves[0].name else (two, one)


def _long(ground: TwinGround, twin: Twin) -> float:
    return max(float(np.ptp(ground.piece_of[p].outline[:, 0])) for p in twin.planks)


def _laid(twin: Twin, ground: TwinGround, on: Sequence[Cut]) -> tuple[list[Cut], str]:
    had = [cut for cut in on if cut.plank in twin.planks]
    find = _paired if twin.how == "pair" else _matched
    cuts, why = find(twin, ground, on, had)
    if cuts or not why or len(on) == len(had):
        return cuts, why
    bare, _ = find(twin, ground, had, had)  # were nothing else to stay
    if bare:
        boards = sorted({cut.board for cut in bare})
        way = [cut.plank for cut in on if cut.board in boards and cut not in had]
        why = f"{' and '.join(boards)} would do, but {_named(way)} stays there"
    return [], why


def _paired(
    twin: Twin, ground: TwinGround, on: Sequence[Cut], had: Sequence[Cut]
) -> tuple[list[Cut], str]:
    """Get both out of one board."""
    if len(had) == 2:
        return [], "" if had[0].board == had[1].board else _got_out(had)
    named = {*(c.board for c in had), *(ground.pins[p] for p in twin.planks if p in ground.pins)}
    if len(named) > 1:
        return [], f"they are pinned to boards {' and '.join(sorted(named))}"
    left = ground.kept_for_others(twin) - named
    boards = [b for b in ground.boards if b.name not in left and (b.name in named or not named)]
    alike = not had and _alike(*(ground.piece_of[plank] for plank in twin.planks))
    overs = (False,) if alike else (False, True)  # alike, they may change places as well
    one_face = [_of_one_face(twin, ground, had, over) for over in overs]
    free = [_kinds(twin, ground, {c.plank for c in had})]
    for ways, leans in ((one_face, LEANS), (one_face, FINE), (free, FINE)):
        lain = [_Lain.of(kinds, ground, leans) for kinds in ways if kinds]
        best = _on_best(ground, lain, boards, on)
        if best:
            return best, ""
    return [], _why_no_board(twin, ground, named)


def _kinds(twin: Twin, ground: TwinGround, had: Collection[str]) -> list[Kind]:
    """Give each of the planks still to be laid as a kind of its own."""
    left = [plank for plank in twin.planks if plank not in had]
    ones = [replace(ground.piece_of[plank], planks=(plank,)) for plank in left]
    return [kind for one in ones for kind in kinds_of([one], ground.rules)]


def _of_one_face(twin: Twin, ground: TwinGround, had: Sequence[Cut], over: bool) -> list[Kind]:
    """Give them with one face of the board outside on both sides; none where that cannot be.

    over : the port plank is turned over, so that the marked face is the inner one
    """
    wanted = {twin.port: over, twin.starboard: not over}
    kinds = _kinds(twin, ground, {cut.plank for cut in had})
    if any(cut.flipped != wanted[cut.plank] for cut in had):
        return []
    able = all(wanted[kind.planks[0]] in kind.flips for kind in kinds)
    return [replace(kind, flips=(wanted[kind.planks[0]],)) for kind in kinds] if able else []


def _on_best(
    ground: TwinGround, ways: Sequence[_Lain], boards: Sequence[Board], on: Sequence[Cut]
) -> list[Cut]:
    """Lay kinds on the board where they use least timber; none where no board bears them."""
    found = []
    for board in boards:
        plot = plots_of(ground.pieces, [board], ground.rules, _on(board, on))[0]
        tried = [cuts for lain in ways if (cuts := _found(lain, plot))]
        found += [(ground.more([board], on, cuts), cuts) for cuts in tried]
    return min(found, key=lambda one: one[0], default=(0.0, []))[1]


def _why_no_board(twin: Twin, ground: TwinGround, named: set[str]) -> str:
    long, wide = _spans(ground, twin.port)
    two = 2 * wide + ground.rules.kerf_mm
    which = f"board {min(named)} is not" if named else "no board that may be cut into is"
    return (
        f"{which} long and broad enough for both, clear of flaws: abreast they want about "
        f"{long:.0f} mm by {two:.0f} mm, end to end {2 * long + ground.rules.kerf_mm:.0f} mm"
    )


def _matched(
    twin: Twin, ground: TwinGround, on: Sequence[Cut], had: Sequence[Cut]
) -> tuple[list[Cut], str]:
    """Get both out of two leaves of one log, one over the other."""
    port, starboard = (ground.piece_of[p] for p in twin.planks)
    if not _alike(port, starboard):
        return [], "port and starboard are not alike, so that neither is the other's mirror image"
    if len(had) == 2:
        return [], "" if is_so(twin, had, ground.pile, ground.pieces) else _got_out(had)
    every = [
        (book, wood)
        for book, wood in ground.opened
        if all(thick_enough(b, p) for b in book.leaves for p in (port, starboard))
        and not ground.kept_for_others(twin) & {b.name for b in book.leaves}
    ]
    if not every:
        return [], (
            "no two boards that may be cut into and are thick enough are tallied as sawn next to "
            "each other from one log (columns log and leaf of the form boards)"
        )
    able = [(*own, options) for own in every if (options := list(_options(twin, ground, own[0])))]
    if not able:
        return [], _why_no_face(every, ground)
    for leans in (LEANS, FINE):
        best = _in_best(twin, ground, on, had, able, leans)
        if best:
            return best, ""
    return [], _why_no_place(twin, ground, able, had)


def _in_best(  # noqa: PLR0917 - twins, what is there, and the leaves
    twin: Twin,
    ground: TwinGround,
    on: Sequence[Cut],
    had: Sequence[Cut],
    able: Sequence[Able],
    leans: int,
) -> list[Cut]:
    """Lay twins on the two leaves where they use least timber; none where no two bear them."""
    found = []
    lain: dict[tuple[bool, ...], _Lain] = {}
    for book, wood, options in able:
        flips = tuple(sorted({over for _, over in options}))
        if flips not in lain:
            lain[flips] = _Lain.of([_kind(twin, ground, flips)], ground, leans)
        if had:
            cuts = _to_the_one(twin, ground, on, had[0], book)
        else:
            place = [] if wood is None else _found(lain[flips], _opened(ground, on, book, wood))
            cuts = _shared(twin, book, place, options)
        if cuts:
            found.append((ground.more(book.leaves, on, cuts), cuts))
    return min(found, key=lambda one: one[0], default=(0.0, []))[1]


def _options(twin: Twin, ground: TwinGround, book: Book) -> Iterator[Option]:
    """Give the ways to share twins out, those first that have the faces outside that lay together.

    Where the face matters the marked one of both boards is the outer one.
    """
    pins, turned = ground.pins, [b.turned for b in book.leaves]
    for leaf, over in sorted(product((0, 1), (False, True)), key=lambda o: (o[0] == 0) != o[1]):
        own, other = book.leaves[leaf], book.leaves[1 - leaf]
        meant = pins.get(twin.port, own.name), pins.get(twin.starboard, other.name)
        marked_outside = over == turned[leaf] and over != turned[1 - leaf]
        free = all(ground.piece_of[p].may_flip for p in twin.planks)
        if meant == (own.name, other.name) and (free or marked_outside):
            yield leaf, over


def _why_no_face(every: Sequence[tuple[Book, Board | None]], ground: TwinGround) -> str:
    said = _named([f"{b.leaves[0].name} and {b.leaves[1].name}" for b, _ in every])
    if ground.rules.may_flip:
        return f"they are pinned to other boards than {said}, sawn next to each other"
    return (
        f"only the marked face may be outside (laying.may_flip), and of {said} both marked faces "
        "look the same way in the log: tally one of the two from its other face"
    )


def _why_no_place(twin: Twin, ground: TwinGround, able: Sequence[Able], had: Sequence[Cut]) -> str:
    long, wide = _spans(ground, twin.port)
    said = _named([f"{b.leaves[0].name} and {b.leaves[1].name}" for b, _, _ in able])
    if had:
        return f"over {had[0].plank}, sawn already, the next leaf has no sound room"
    return (
        f"what is sound of both leaves at one place is nowhere {long:.0f} mm by {wide:.0f} mm: "
        f"looked at were {said}"
    )


def _opened(ground: TwinGround, on: Sequence[Cut], book: Book, wood: Board) -> Plot:
    """Put what two leaves have in common on cells, with what lies on either."""
    there = [
        as_lain(ground.piece_of[cut.plank], in_log(book, leaf, cut))
        for leaf, board in enumerate(book.leaves)
        for cut in _on(board, on)
    ]
    ends = float(wood.outline[:, 0].min()), float(wood.outline[:, 0].max())
    inside = [ring for ring in (clipped(r, *ends) for r in there) if len(ring) > 2]
    return plot_of(wood, ground.rules, LEAST_BREADTH, inside)


def _shared(twin: Twin, book: Book, place: Sequence[Cut], options: Sequence[Option]) -> list[Cut]:
    """Take both planks from a place in the log, if there is one."""
    cuts = []
    for cut in place:
        leaf = next(leaf for leaf, over in options if over == cut.flipped)
        cuts = [on_leaf(book, leaf, cut, twin.port), on_leaf(book, 1 - leaf, cut, twin.starboard)]
    return cuts


def _to_the_one(
    twin: Twin, ground: TwinGround, on: Sequence[Cut], had: Cut, book: Book
) -> list[Cut]:
    """Get the other plank out of the leaf next to the one that is sawn already, at its place."""
    names = [board.name for board in book.leaves]
    if had.board not in names:
        return []
    leaf = names.index(had.board)
    plank = twin.starboard if had.plank == twin.port else twin.port
    other = on_leaf(book, 1 - leaf, in_log(book, leaf, had), plank)
    piece, board = ground.piece_of[plank], book.leaves[1 - leaf]
    right = piece.may_flip or other.flipped == (plank == twin.starboard)
    pinned = ground.pins.get(plank, board.name) == board.name
    return [other] if right and pinned and _bears(ground, board, piece, other, on) else []


def _bears(ground: TwinGround, board: Board, piece: Piece, cut: Cut, on: Sequence[Cut]) -> bool:
    """Tell whether a board has sound room for a plank just there."""
    rules, ring = ground.rules, as_lain(piece, cut)
    off = rules.live_edge_mm if board.live_edges else 0.0
    if not holds(board.outline, ring).all() or distance(board.outline, ring) < off:
        return False
    others = [as_lain(ground.piece_of[c.plank], c) for c in _on(board, on)]
    flaws = [flaw.ring for flaw in hard_flaws(board, rules.sap_allowed)]
    return not any(rings_meet(ring, flaw) for flaw in flaws) and not any(
        rings_meet(ring, other) or distance(ring, other) < rules.kerf_mm for other in others
    )


@dataclass(frozen=True, slots=True, eq=False)
class _Lain:
    """Planks to be laid in all their lies."""

    kinds: Sequence[Kind]
    lies: Lies
    ground: TwinGround

    @classmethod
    def of(cls, kinds: Sequence[Kind], ground: TwinGround, leans: int) -> _Lain:
        """Give planks in so many leans."""
        return cls(kinds, lies_of(kinds, ground.rules, leans), ground)


def _found(lain: _Lain, plot: Plot) -> list[Cut]:
    """Give the cheapest way met to lay every plank on one board; no cuts where there is none."""
    ground, kinds = lain.ground, lain.kinds
    rng = np.random.default_rng(ground.seed)
    search = Search(kinds, [plot], lain.lies, ground.rules, rng, ByCount(MANY))
    whole = float(plot.area_to[-1]) * plot.board.thickness_mm
    if not search.fits.all() or float(search.length.max()) > plot.length:
        return []
    if float(search.volume @ search.counts) > whole:
        return []
    every = tuple(k for k, many in enumerate(search.counts.tolist()) for _ in range(many))
    search.begin_pairing()
    for way in (Way(), Way(above=True)):
        search.fill(0, FULL * search.volume, search.counts, way)
        pattern = search.pool.get(0, {}).get(every)
        if pattern is not None:
            break
    state = State({} if pattern is None else {0: pattern}, search.counts)
    return list(cuts_of(kinds, lain.lies, [plot], state))


def _kind(twin: Twin, ground: TwinGround, flips: tuple[bool, ...]) -> Kind:
    """Give one plank that stands for both in the log."""
    one = replace(ground.piece_of[twin.port], planks=("",), may_flip=True)
    (kind,) = kinds_of([one], ground.rules)
    return replace(kind, flips=flips)


def _on(board: Board, cuts: Sequence[Cut]) -> list[Cut]:
    return [cut for cut in cuts if cut.board == board.name]


def _spans(ground: TwinGround, plank: str) -> tuple[float, float]:
    long, wide = np.ptp(rough_ring(ground.piece_of[plank]), axis=0)
    return float(long), float(wide)


def _got_out(had: Sequence[Cut]) -> str:
    return f"both lie already, on {had[0].board} and {had[1].board}"


def _named(names: Sequence[str]) -> str:
    more = f" and {len(names) - 4} more" if len(names) > 4 else ""
    return ", ".join(names[:4]) + more
