"""Laying a yard's pile: its wishes kept, what lay well before left where it lies.

*Wishes* are lines of the form `layings`: *pin* a plank to a board, *bar* a board, or *sawn*, that
a plank has been got out of a board and stays as it lies; *pair* and *book*, that port and starboard
of a plank or strake come out of one board, or book-matched (`laid_twins.py`). *Before* is the
laying of an earlier state of the job. Where nothing has changed but that boards turned bad, came,
or were pinned to, only what must change is laid anew; else everything is, starting from what was.

Not checked here: the laying; `check_laying` does that, and is called by whoever asks for this.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass, replace

import numpy as np

from ribband.errors import InputError, Problem
from ribband.findings import Finding
from ribband.numerics.polygons import enclosed_area
from ribband.planks.model import PlankList
from ribband.planks.shape_model import Shape
from ribband.survey.rows import Row
from ribband.timber.board_model import (
    Board,
    Cut,
    Laying,
    Piece,
    same_piece,
)
from ribband.timber.laid_said import said_of_laying
from ribband.timber.laid_twins import MATCHED, lay_first, said_of_twins, twins_wished
from ribband.timber.laying.choice import by_price, chosen
from ribband.timber.laying.pace import ByCount, said_of_cap, usual_trials
from ribband.timber.laying.pairs import Twin, TwinGround, is_so
from ribband.timber.laying.rules import LayingRules
from ribband.timber.laying.solve import lay_planks, pieces
from ribband.timber.laying.spoilt import relay
from ribband.timber.measure import volume_m3
from ribband.timber.species import another_timber

__all__ = [
    "Laid",
    "LayWish",
    "as_sawn",
    "lay_longer",
    "lay_pile",
    "lost_since",
    "moved_since",
    "others_now",
    "pieces_of_sides",
    "read_layings",
    "same_board",
    "sawn_planks",
    "twin_ground",
    "twins_so",
]

Progress = Callable[[float, str], None] | None
Apart = tuple[tuple[Twin, str], ...]  # twins that are not as wished, and why
PLACED = ("pin", "sawn")  # wishes that say which board a plank is of
ENOUGH = 1.6  # times the planks' own faces, in cheap boards, will mostly hold them
ALIKE = 1.05  # prices of a cubic metre no further apart than this are one
MOSTLY = 0.5  # part of the cuts before that must still lie for a laying to go on from them


@dataclass(frozen=True, slots=True)
class LayWish:
    """A wish: "pin" a plank to a board, "bar" a board, or "sawn", a plank got out already.

    "pair" and "book" are of port and starboard; `plank` is then either's name, or a strake's.
    """

    wish: str
    plank: str
    board: str


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """The planks of a job laid on its pile.

    `boards` are those the laying was made with, barred ones said so; `moved` planks lie on
    another board or elsewhere than in the laying before, `mended` if the rest was left alone.
    `out` are planks got out already that lie where they were sawn; `gone` those got out of boards
    not known, which are no more to be laid.
    `lost` are planks that had a board, lost it as one turned bad, and found no other.
    `timber` is the planking's, empty where it was not told. `twins` lie as they were wished.
    """

    pieces: tuple[Piece, ...]
    boards: tuple[Board, ...]
    rules: LayingRules
    wishes: tuple[LayWish, ...]
    laying: Laying
    mended: bool = False
    moved: tuple[str, ...] = ()
    findings: tuple[Finding, ...] = ()
    timber: str = ""
    out: tuple[str, ...] = ()
    gone: tuple[str, ...] = ()
    lost: tuple[str, ...] = ()
    twins: tuple[Twin, ...] = ()


def read_layings(rows: Sequence[Row], boards: Sequence[str] = ()) -> tuple[LayWish, ...]:
    """Read the form `layings`; boards are spelt as in `boards`, the names of the tally.

    Raises
    ------
    InputError : every cell that cannot be used, all at once

    >>> row = Row({"plank": "p7-2", "board": "a7", "wish": "pin"}, "layings.csv", 2)
    >>> read_layings([row], ["A7"])
    (LayWish(wish='pin', plank='p7-2', board='A7'),)
    """
    known = {_key(name): name for name in boards}
    problems = [p for row in rows for p in _wrong(row, known)]
    problems += _twice(rows)
    if problems:
        raise InputError(problems)
    return tuple(
        LayWish(row.values["wish"], _plank(row), known.get(_key(row.values.get("board")), ""))
        for row in rows
    )


def pieces_of_sides(
    shapes: Sequence[Shape],
    starboard: Sequence[Shape] | None,
    planks: PlankList,
    rules: LayingRules,
) -> tuple[Piece, ...]:
    """Give what is to be got out; starboard's own shapes where its butts differ from port's.

    Pieces of starboard alone are named after their plank ("S7-2").
    """
    if starboard is None:
        return pieces(shapes, planks, rules)
    port = pieces(shapes, _side(planks, "starboard", there=False), rules)
    other = pieces(starboard, _side(planks, "starboard", there=True), rules)
    return (*port, *(replace(piece, name=piece.planks[0]) for piece in other))


def lay_pile(
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    rules: LayingRules,
    wishes: Sequence[LayWish] = (),
    *,
    before: Laid | None = None,
    trials: int | None = None,
    seed: int = 0,
    progress: Progress = None,
    timber: str = "",
    out: Collection[str] = (),
) -> Laid:
    """Lay the planks of a job on its pile, keeping to the wishes.

    trials : of filling a board, after which the search ends; None is the usual count for the pile
    timber : the planking's, as for `lay_planks`; empty where any will do
    out : planks got out already; they stay on the board they lay on before

    The same planks, boards and wishes after the same laying before give the same cuts, however
    busy the machine; T126 is said where the cap of the processor's time struck first.

    Findings: T117 planks without a board, T120 a wish that names no plank of the list, T121 a
    plank pinned to a board it does not lie on; of the boards T118, T119, T128 and T129, as
    `laying/choice.py` says them.
    """
    names = {plank for piece in pieces for plank in piece.planks}
    wishes = _spelt(wishes, names)
    pieces = as_sawn(before, pieces, {*out, *(w.plank for w in wishes if w.wish == "sawn")})
    barred = {wish.board for wish in wishes if wish.wish == "bar"}
    there = tuple(replace(b, state="barred") if _barred(b, barred) else b for b in boards)
    fit = {b.name for b in chosen(there, rules, timber)}
    own = tuple(b if b.name in fit or b.state != "sound" else _left(b) for b in there)
    mine = [w for w in wishes if w.wish in PLACED and w.plank in names]
    mine += _as_sawn(before, mine, set(out) & names)
    twins, alone = twins_wished(wishes, pieces)
    ground = twin_ground(pieces, own, rules, mine, seed, timber)
    anew = _all_same(before, own, wishes) or _of_another(before, timber)
    old = None if anew else _old_cuts(before, pieces, own, rules)
    if before is not None and old is not None:
        laying, apart = _mended(before, old, own, mine, twins, ground, timber)
        kept = [w for w in mine if not _in_vain(w, before, laying)]
        if len(kept) < len(mine):  # where a pin cannot be kept to its plank stays where it was
            laying, apart = _mended(before, old, own, kept, twins, ground, timber)
    else:
        laying, apart = _afresh(
            own, mine, twins, ground, before=before, trials=trials, progress=progress,
            timber=timber,
        )  # fmt: skip
    moved, lost = ((), ()) if before is None or old is None else _since(before, laying)
    found = said_of_laying(laying, pieces, there, rules, wishes, timber)
    so = twins_so(twins, laying, ground)
    found += said_of_twins(apart, alone, so)
    return Laid(
        tuple(pieces), own, rules, tuple(wishes), laying, old is not None, moved, found, timber,
        _out_on(laying, out), lost=lost, twins=so,
    )  # fmt: skip


def twin_ground(  # noqa: PLR0917 - what is laid on what, and how
    pieces: Sequence[Piece],
    boards: Sequence[Board],
    rules: LayingRules,
    wishes: Sequence[LayWish],
    seed: int,
    timber: str,
) -> TwinGround:
    """Give what port and starboard planks are laid on together."""
    pins = {w.plank: w.board for w in wishes if w.wish == "pin"}
    return TwinGround(pieces, chosen(boards, rules, timber), rules, pins, seed, boards)


def twins_so(twins: Sequence[Twin], laying: Laying, ground: TwinGround) -> tuple[Twin, ...]:
    """Give the twins that lie as they were wished, on boards of any state if they are sawn."""
    return tuple(t for t in twins if is_so(t, laying.cuts, ground.pile, ground.pieces))


def _since(before: Laid, laying: Laying) -> tuple[tuple[str, ...], tuple[str, ...]]:
    return moved_since(before, laying), lost_since(before, laying)


def lost_since(before: Laid, laying: Laying) -> tuple[str, ...]:
    """Name the planks that had a board, before or at an earlier mending, and have none."""
    had = {*before.lost, *(cut.plank for cut in before.laying.cuts)}
    return tuple(sorted(had & set(laying.unlaid)))


def moved_since(before: Laid, laying: Laying) -> tuple[str, ...]:
    """Name the planks that lie on another board than before, or elsewhere on it."""
    was = {cut.plank: cut for cut in before.laying.cuts}
    return tuple(c.plank for c in laying.cuts if c.plank in was and was[c.plank] != c)


def as_sawn(
    before: Laid | None, pieces: Sequence[Piece], out: Collection[str]
) -> tuple[Piece, ...]:
    """Give the pieces with planks got out as they were sawn, whatever allowances are by now.

    A plank whose shape is another now is wanted anew, and left as the pieces have it.
    """
    lay = {cut.plank for cut in before.laying.cuts} if before else set()
    was = {p: q for q in before.pieces for p in q.planks} if before else {}
    found: list[Piece] = []
    for piece in pieces:
        sawn = {
            plank: was[plank]
            for plank in piece.planks
            if plank in out and plank in lay and plank in was and _but_allowed(was[plank], piece)
        }
        rest = tuple(plank for plank in piece.planks if plank not in sawn)
        found += [replace(piece, planks=rest)] if rest else []
        found += [replace(old, planks=(plank,)) for plank, old in sawn.items()]
    return tuple(found)


def _but_allowed(old: Piece, new: Piece) -> bool:
    """Tell whether two pieces differ in what is left on them for fitting, and in that only."""
    as_new = replace(
        old, may_flip=new.may_flip, allowance_mm=new.allowance_mm,
        end_allowance_mm=new.end_allowance_mm,
    )  # fmt: skip
    return not same_piece(old, new) and same_piece(as_new, new)


def _as_sawn(before: Laid | None, wishes: Sequence[LayWish], out: set[str]) -> list[LayWish]:
    """Say of planks got out, and of which nothing else is said, that they stay on their board."""
    said = {wish.plank for wish in wishes}
    cuts = () if before is None else before.laying.cuts
    return [LayWish("sawn", c.plank, c.board) for c in cuts if c.plank in out - said]


def _out_on(laying: Laying, out: Collection[str]) -> tuple[str, ...]:
    return tuple(sorted({cut.plank for cut in laying.cuts} & set(out)))


def lay_longer(laid: Laid, seconds: float, seed: int = 0, progress: Progress = None) -> Laid:
    """Go on with a laying for so many seconds; the cheaper of the two is given.

    Cheaper is less money where every board that may be cut into has a price, else less timber;
    planks without a board count before either.
    """
    mine = [w for w in laid.wishes if w.wish in PLACED]
    mine += _as_sawn(laid, mine, set(laid.out))
    twins = {plank for twin in laid.twins for plank in twin.planks}
    fixed = [c for c in laid.laying.cuts if _is_sawn(c, mine) or c.plank in twins]
    stay = {cut.plank for cut in fixed}
    laying = lay_planks(
        laid.pieces, laid.boards, laid.rules, seed=seed, seconds=seconds,
        start=replace(laid.laying, cuts=tuple(c for c in laid.laying.cuts if c not in fixed)),
        pinned=[(w.plank, w.board) for w in mine if w.plank not in stay], fixed=fixed,
        progress=progress, timber=laid.timber,
    )  # fmt: skip
    money = by_price(chosen(laid.boards, laid.rules, laid.timber))
    if _reached(laying, money) >= _reached(laid.laying, money):
        return laid
    wishes = [*laid.wishes, *(w for w in mine if w not in laid.wishes)]
    said = said_of_laying(laying, laid.pieces, laid.boards, laid.rules, wishes, laid.timber)
    left = [f for f in laid.findings if f.code in {"T118", "T132"}]  # the boards are the same
    found = (*(f for f in said if f.code != "T118"), *left)
    lost = tuple(plank for plank in laid.lost if plank in laying.unlaid)
    return replace(laid, laying=laying, mended=False, moved=(), findings=found, lost=lost)


def _reached(laying: Laying, money: bool) -> tuple[int, float]:
    used = laying.cost if money and laying.cost is not None else laying.used_m3
    return len(laying.unlaid), used


def sawn_planks(laid: Laid) -> frozenset[str]:
    """Give the planks said to be got out already, by the wishes or the log, as they lie."""
    on = {cut.plank: cut.board for cut in laid.laying.cuts}
    said = {w.plank for w in laid.wishes if w.wish == "sawn" and on.get(w.plank) == w.board}
    return frozenset(said | (set(laid.out) & on.keys()))


def _spelt(wishes: Sequence[LayWish], names: set[str]) -> tuple[LayWish, ...]:
    """Give the wishes with their planks as the list spells them."""
    known = {name.casefold(): name for name in names}
    return tuple(replace(w, plank=known.get(w.plank.casefold(), w.plank)) for w in wishes)


def _left(board: Board) -> Board:
    """Bar a board that the rules leave alone."""
    return replace(board, state="barred")


def _of_another(before: Laid | None, timber: str) -> bool:
    return before is not None and another_timber(before.timber, timber)


def _barred(board: Board, barred: set[str]) -> bool:
    return board.name in barred and board.state == "sound"


def _afresh(
    boards: Sequence[Board],
    wishes: Sequence[LayWish],
    twins: Sequence[Twin],
    ground: TwinGround,
    *,
    before: Laid | None,
    trials: int | None,
    progress: Progress,
    timber: str,
) -> tuple[Laying, Apart]:
    """Lay everything, starting from what was; sawn planks stay if their shape does.

    Twins are laid first, but for those that lie as wished already.
    """
    pieces, rules, seed = ground.pieces, ground.rules, ground.seed
    cuts = [] if before is None else _still(before, pieces, boards)
    alike = before is not None and before.rules == rules  # by another kerf cuts may be too near
    sawn = {cut.plank for cut in cuts if _is_sawn(cut, wishes)}
    own = {plank for twin in twins for plank in twin.planks} if alike else set()
    first = lay_first(twins, ground, [c for c in cuts if c.plank in sawn | own], sawn)
    fixed = [cut for cut in first.cuts if cut.plank in sawn | first.firm]
    stay = {cut.plank for cut in fixed}
    pins = [(w.plank, w.board) for w in wishes if w.plank not in stay]
    start = None
    if before is not None and alike:
        most = MOSTLY * len(before.laying.cuts)  # of a few, the search fills up less than afresh
        anew = {cut.board for cut in fixed if cut not in cuts}
        left = tuple(c for c in cuts if c.plank not in stay and c.board not in anew)
        start = replace(before.laying, cuts=left) if cuts and len(cuts) >= most else None
    if start is None and (dear := _too_dear(pieces, boards, rules, timber)):
        cheap = [_left(b) if b.name in dear - {c.board for c in fixed} else b for b in boards]
        few = ByCount(usual_trials(len(boards) - len(dear)) if trials is None else trials)
        start = lay_planks(
            pieces, cheap, rules, seed=seed, pinned=pins, fixed=fixed, timber=timber, pace=few
        )
        start = None if start.unlaid else start  # too few: from scratch on all boards does better
    pace = ByCount(usual_trials(len(boards)) if trials is None else trials)
    laying = lay_planks(
        pieces, boards, rules, seed=seed, start=start, pinned=pins, fixed=fixed,
        progress=progress, timber=timber, pace=pace,
    )  # fmt: skip
    return replace(laying, findings=(*laying.findings, *said_of_cap(pace))), first.apart


def _too_dear(
    pieces: Sequence[Piece], boards: Sequence[Board], rules: LayingRules, timber: str
) -> set[str]:
    """Name the boards that the cheapest could do without, where all have prices that differ.

    A search for least money begins from a laying on the others: among dear boards that are large
    it is slow to come to cheap ones.
    """
    own = chosen(boards, rules, timber)
    if not by_price(own):
        return set()
    wanted = ENOUGH * sum(len(p.planks) * enclosed_area(p.outline) for p in pieces)
    rate = {b.name: (b.price or 0.0) / volume_m3(b) for b in own}
    if max(rate.values()) < ALIKE * min(rate.values()):
        return set()
    by_rate = sorted(own, key=lambda b: (rate[b.name], b.name))
    there = np.cumsum([enclosed_area(b.outline) for b in by_rate])
    return {board.name for board in by_rate[int(np.searchsorted(there, wanted)) + 1 :]}


def _mended(  # noqa: PLR0917 - what was, and what there is now
    before: Laid,
    old: Sequence[Cut],
    boards: Sequence[Board],
    wishes: Sequence[LayWish],
    twins: Sequence[Twin],
    ground: TwinGround,
    timber: str,
) -> tuple[Laying, Apart]:
    """Lay again only the planks whose board turned bad, or that are pinned to another.

    Planks in the way of a pinned one are lifted; twins are laid first, then the pinned.
    """
    pieces, rules, seed = ground.pieces, ground.rules, ground.seed
    pinned = {w.plank: w.board for w in wishes}
    went = {c.plank for c in old if pinned.get(c.plank, c.board) != c.board}
    cleared = {pinned[plank] for plank in went | _waiting(before, pinned)}
    stay = [c for c in old if c.plank not in went and _may_stay(c, cleared, pinned)]
    sawn = {cut.plank for cut in stay if _is_sawn(cut, wishes)}
    bad = {board.name for board in boards if board.state != "sound"}
    twinned = lay_first(twins, ground, stay, sawn)
    stay, sawn = list(twinned.cuts), sawn | twinned.firm
    as_it_was = set(stay) == set(before.laying.cuts) and not _touched(stay, sawn, bad)
    if as_it_was and not (before.laying.unlaid and _boards_came(before, boards)):
        return before.laying, twinned.apart
    laying = replace(before.laying, cuts=tuple(stay))
    if _boards_came(before, boards):  # what was proved of the pile before is not proved of this one
        laying = replace(laying, bound_m3=0.0, cost_bound=None, findings=())
    first = {c.plank for c in stay} | (pinned.keys() - sawn)
    for some in (_only(pieces, first), pieces) if cleared else (pieces,):
        laying = relay(
            laying, some, boards, rules, bad, sawn=sawn, pinned=tuple(pinned.items()),
            seed=seed, timber=timber,
        )  # fmt: skip
    return laying, twinned.apart


def _in_vain(wish: LayWish, before: Laid, laying: Laying) -> bool:
    """Tell whether a plank that lay on a board has none, for it was pinned to another."""
    if wish.wish != "pin" or wish.plank in {cut.plank for cut in laying.cuts}:
        return False
    return any(c.plank == wish.plank and c.board != wish.board for c in before.laying.cuts)


def _touched(stay: Sequence[Cut], sawn: set[str], bad: set[str]) -> bool:
    """Tell whether a plank not sawn lies on a board that is none any more."""
    return any(cut.board in bad and cut.plank not in sawn for cut in stay)


def _waiting(before: Laid, pinned: dict[str, str]) -> set[str]:
    """Give the planks newly pinned that lay on no board."""
    had = {(w.plank, w.board) for w in before.wishes}
    new = {plank for plank, board in pinned.items() if (plank, board) not in had}
    return new - {cut.plank for cut in before.laying.cuts}


def _may_stay(cut: Cut, cleared: set[str], pinned: dict[str, str]) -> bool:
    return cut.board not in cleared or cut.plank in pinned


def _only(pieces: Sequence[Piece], planks: set[str]) -> tuple[Piece, ...]:
    some = [replace(q, planks=tuple(p for p in q.planks if p in planks)) for q in pieces]
    return tuple(piece for piece in some if piece.planks)


def _boards_came(before: Laid, boards: Sequence[Board]) -> bool:
    """Tell whether boards have come, are others than they were, or are barred no longer."""
    had = [board for board in before.boards if board.state == "sound"]
    return any(b.state == "sound" and not same_board(b, had) for b in boards)


def others_now(before: Laid, pieces: Sequence[Piece], boards: Sequence[Board]) -> bool:
    """Tell whether planks or boards are others, so that what was proved is proved no more."""
    return not _same_pieces(before.pieces, pieces) or _boards_came(before, boards)


def _is_sawn(cut: Cut, wishes: Sequence[LayWish]) -> bool:
    return any((w.wish, w.plank, w.board) == ("sawn", cut.plank, cut.board) for w in wishes)


def _all_same(before: Laid | None, boards: Sequence[Board], wishes: Sequence[LayWish]) -> bool:
    """Tell whether nothing was changed that a laying could be mended for."""
    if before is None or set(before.wishes) != set(wishes) or len(before.boards) != len(boards):
        return False
    were = {b.name: (b.state, b.log, b.leaf, b.turned) for b in before.boards}
    return all(were.get(b.name) == (b.state, b.log, b.leaf, b.turned) and
               same_board(b, before.boards) for b in boards)  # fmt: skip


def _old_cuts(
    before: Laid | None, pieces: Sequence[Piece], boards: Sequence[Board], rules: LayingRules
) -> list[Cut] | None:
    """Give the cuts of the laying before if it is of the same planks by the same rules.

    None too where most boards are others now: then the pile is laid anew.
    """
    if before is None or before.rules != rules or not _same_pieces(before.pieces, pieces):
        return None
    changed = {b.name for b in before.boards} - {
        b.name for b in boards if same_board(b, before.boards)
    }
    still = [cut for cut in before.laying.cuts if cut.board not in changed]
    return still if len(still) >= MOSTLY * len(before.laying.cuts) else None


def _still(before: Laid, pieces: Sequence[Piece], boards: Sequence[Board]) -> list[Cut]:
    """Give the cuts of planks and boards that are as they were."""
    then = {plank: piece for piece in before.pieces for plank in piece.planks}
    same = {p for q in pieces for p in q.planks if p in then and same_piece(then[p], q)}
    firm = {b.name for b in boards if same_board(b, before.boards)}
    return [cut for cut in before.laying.cuts if cut.plank in same and cut.board in firm]


def _same_pieces(one: Sequence[Piece], two: Sequence[Piece]) -> bool:
    return len(one) == len(two) and all(map(_same, one, two))


def _same(one: Piece, two: Piece) -> bool:
    return (one.name, one.planks) == (two.name, two.planks) and same_piece(one, two)


def same_board(board: Board, others: Sequence[Board]) -> bool:
    """Tell whether a board is as it was, whatever its state."""
    was = next((other for other in others if other.name == board.name), None)
    if was is None or len(was.flaws) != len(board.flaws):
        return False
    flaws = all(
        a.kind == b.kind and np.array_equal(a.ring, b.ring)
        for a, b in zip(was.flaws, board.flaws, strict=True)
    )
    thick = was.thickness_mm == board.thickness_mm and was.live_edges == board.live_edges
    thick = thick and was.lost_mm == board.lost_mm
    return flaws and thick and np.array_equal(was.outline, board.outline)


def _side(planks: PlankList, side: str, *, there: bool) -> PlankList:
    return replace(planks, planks=tuple(p for p in planks.planks if (p.side == side) is there))


def _wrong(row: Row, boards: dict[str, str]) -> list[Problem]:
    wish, plank, board = row.values["wish"], _plank(row), _key(row.values.get("board"))
    wrong = []
    if wish == "bar" and plank:
        wrong.append(row.problem("plank", "blank: a board is barred for every plank", ""))
    if wish in MATCHED and not plank:
        wrong.append(row.problem("plank", "the plank or strake of which both sides go", "7"))
    elif wish != "bar" and not plank:
        wrong.append(row.problem("plank", f"the plank that is {_DONE[wish]}", "P7-2"))
    if wish in MATCHED and board:
        wanted = "blank: a plank of them can be pinned in a row of its own"
        wrong.append(row.problem("board", wanted, ""))
    elif wish not in MATCHED and board not in boards:
        wanted = "a board of the form boards"
        wrong.append(row.problem("board", wanted, next(iter(boards.values()), "A7")))
    return wrong


_DONE = {"pin": "pinned", "sawn": "sawn", "bar": "barred"}


def _twice(rows: Sequence[Row]) -> list[Problem]:
    """Find planks with two boards, or two words on their sides."""
    found = []
    for wishes, wanted in (
        (PLACED, "each plank on one board only"),
        (MATCHED, "one word, pair or book, of a plank or strake"),
    ):
        named = [row for row in rows if row.values["wish"] in wishes and _plank(row)]
        keys = [_plank(row).casefold() for row in named]
        again = [row for at, row in enumerate(named) if keys[at] in keys[:at]]
        found += [row.problem("plank", wanted, "P7-2") for row in again]
    return found


def _plank(row: Row) -> str:
    return str(row.values.get("plank") or "").strip()


def _key(name: object) -> str:
    return " ".join(str(name or "").lower().split())
