"""The timber's page: the pile with its planks, what is lacking, and the order.

Read from what is kept; only boards that cannot be read yet are looked at as typed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband.app.plan.as_kept import as_kept, as_last_kept, has_no_forms, kept_keys
from ribband.app.plan.planning import Planned
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.app.showing.whose import whose
from ribband.errors import InputError, Problem
from ribband.units import format_length, format_volume, parse_length

if TYPE_CHECKING:
    from ribband.timber.board_model import Board
    from ribband.timber.laid import Laid
    from ribband.timber.pile import Pile

__all__ = [
    "BoardView", "FlawSaid", "PlankOnBoard", "TimberPage", "flaw_words", "timber_key",
    "timber_page",
]  # fmt: skip

READ = ("survey", "hull", "lining", "butts", "planks", "shapes", "stands", "boards",
        "laying", "order")  # fmt: skip
LEAST_MM = 1.0
FIGURES = ("from", "to", "up from", "up to")  # of a flaw: along, and up from the lower edge


@dataclass(frozen=True, slots=True)
class FlawSaid:
    """A flaw in the words of the tally, and its four figures (`FIGURES`) apart."""

    words: str
    figures: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class PlankOnBoard:
    """A plank as it lies on a board: its ring (mm) on the board's axes, and whether it is held.

    mate : the other side's plank it is got out with, and whence
    """

    name: str
    ring: list[list[float]]
    held: str
    mate: str = ""


@dataclass(frozen=True, slots=True)
class BoardView:
    """A board: outline and flaws (mm), words in the job's unit, and what lies on it.

    left : why nothing is got out of it, where it was left alone though sound
    """

    name: str
    outline: list[list[float]]
    flaws: list[dict[str, Any]]
    size: str
    timber: str
    species: str
    state: str
    lies: str
    dresses: str
    left: str
    planks: list[PlankOnBoard]


@dataclass(frozen=True, slots=True)
class TimberPage:
    """All the page shows; `why` says why nothing is laid, where nothing is.

    sides : by plank the word of the form layings on its two sides, "pair" or "book"
    apart : by plank why they do not lie so
    """

    tally: tuple[Line, ...]
    laying: tuple[Line, ...]
    boards: tuple[BoardView, ...]
    lacking: tuple[str, ...]
    offcuts: tuple[str, ...]
    order: tuple[Line, ...]
    listings: tuple[Listing, ...]
    notes: tuple[str, ...]
    why: str
    as_of: str
    sides: dict[str, str] = field(default_factory=dict)
    apart: dict[str, str] = field(default_factory=dict)
    alone: str = ""


def timber_key(path: Path) -> str:
    """Give one word that changes whenever the page would."""
    return kept_keys(path, READ)


def timber_page(path: Path) -> TimberPage:
    """Put the page together; nothing is made.

    Raises
    ------
    InputError, JobFileError : the job cannot be read
    """
    if has_no_forms(path):
        return TimberPage((), (), (), (), (), (), (), (), "There are no forms yet.", "")
    before, as_of = as_last_kept(path, READ, "laying")
    planned = as_kept(path, READ) if as_of else before
    unit = planned.run.bench.unit
    pile: Pile | None = planned.run.result("boards") or before.run.result("boards")
    laid: Laid | None = before.run.result("laying")
    from ribband.app.entering.timber_sums import laying_lines, tally_lines

    order = _order(before)
    return TimberPage(
        tally=tally_lines(pile, unit) if pile and pile.boards else (),
        laying=laying_lines(laid, unit) if laid else (),
        boards=tuple(_boards(planned, pile, planned.run.result("laying"))),
        lacking=tuple(laid.laying.unlaid) if laid else (),
        offcuts=tuple(_ends(laid, unit)) if laid else (),
        order=order.lines if order else (),
        listings=order.listings if order else (),
        notes=tuple(note for note in order.notes if note) if order else (),
        why=_why(planned, planned.run.result("laying")),
        as_of=as_of,
        sides=_sides(planned, before, laid) if laid else {},
        apart=dict(_apart(laid)) if laid else {},
        alone=whose(before),
    )


def _sides(planned: Planned, before: Planned, laid: Laid) -> dict[str, str]:
    """Give by plank what is wished of its two sides, as the forms say now."""
    from ribband.app.plan.timber_steps import by_strake, wishes_of
    from ribband.timber.laid_twins import twins_wished

    try:
        wishes = wishes_of(planned.run.bench.forms, planned.run.bench.unit)
    except InputError:
        return {}  # the form says what is wrong with it
    lining = before.run.result("lining")
    named = by_strake(wishes, lining.strakes if lining else ())
    twins, _ = twins_wished(named, laid.pieces)
    return {plank: twin.how for twin in twins for plank in twin.planks}


def _apart(laid: Laid) -> Iterator[tuple[str, str]]:
    """Give by plank why it does not lie as wished with its other side."""
    for found in laid.findings:
        if found.code == "T132":
            names = found.where.removeprefix("planks ").removeprefix("plank ").split(" and ")
            yield from ((name, found.says) for name in names)


def _ends(laid: Laid, unit: str) -> Iterator[str]:
    """Say the ends kept by the marks they are tallied again by."""
    from ribband.timber.laying.cuts import marked_ends

    for _, end in marked_ends(laid.laying, laid.pieces, laid.boards, laid.rules):
        yield f"{end.name}: {_size(end, unit)}"


def flaw_words(
    path: Path, board: str, kind: str, corners: Sequence[float], typed: Sequence[str] = ()
) -> FlawSaid:
    """Say a flaw drawn as a rectangle on a board in the words of the tally, in the job's unit.

    corners : x, y, x, y of two corners, mm on the board's axes
    typed : its four figures put right by hand, as `FlawSaid.figures`; they stand in their place

    Raises
    ------
    InputError : there is no such board, or a figure cannot be read
    """
    from ribband.app.plan.timber_steps import boards_of

    planned = as_kept(path, ("survey",))
    unit = planned.run.bench.unit
    known = {b.name: b for b in boards_of(planned.run.bench.forms, unit)}
    if board not in known:
        raise InputError([Problem("boards", 0, "board", board, "a board of the tally")])
    outline = known[board].outline
    long = float(outline[:, 0].max())
    if typed:
        figures = _put_right(typed, long, unit)
    else:
        x, to_x = (min(max(v, LEAST_MM), long - LEAST_MM) for v in sorted(corners[::2]))
        low = _lower_edge(outline, (x + to_x) / 2)
        y, to_y = (max(v - low, 0.0) for v in sorted(corners[1::2]))
        figures = tuple(format_length(v, unit) for v in (x, to_x, y, to_y))
    fore, aft, low_edge, high = figures
    return FlawSaid(f"{kind} from {fore} to {aft} up {low_edge} to {high}", figures)


def _put_right(typed: Sequence[str], long_mm: float, unit: str) -> tuple[str, ...]:
    """Read a flaw's figures as typed: along from the butt end, and up from the lower edge."""
    read, problems = [], []
    for name, text in zip(FIGURES, typed, strict=True):
        try:
            read.append(parse_length(text, unit))
        except ValueError as wrong:
            problems.append(Problem("boards", 0, name, text, str(wrong)))
    if not problems and not 0 <= read[0] < read[1] <= long_mm:
        wanted = f"two lengths in turn, 0 to {format_length(long_mm, unit)}"
        problems.append(Problem("boards", 0, "along", f"{typed[0]} to {typed[1]}", wanted))
    if not problems and not 0 <= read[2] < read[3]:
        wanted = "the lower first, then the higher"
        problems.append(Problem("boards", 0, "up", f"{typed[2]} to {typed[3]}", wanted))
    if problems:
        raise InputError(problems)
    return tuple(format_length(v, unit) for v in read)


def _lower_edge(outline: Any, x: float) -> float:
    import numpy as np

    rolled = np.roll(outline, -1, axis=0)
    found = [
        a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0])
        for a, b in zip(outline, rolled, strict=True)
        if min(a[0], b[0]) <= x <= max(a[0], b[0]) and a[0] != b[0]
    ]
    return float(min(found, default=0.0))


def _boards(planned: Planned, pile: Pile | None, laid: Laid | None) -> list[BoardView]:
    unit = planned.run.bench.unit
    boards = laid.boards if laid else pile.boards if pile else _as_typed(planned)
    on, held, mates = _placed(laid), _held(laid), _mates(laid)
    dresses = {d.board: d for d in pile.dressings} if pile else {}
    left, said = _left(pile, laid), _said_since(planned)
    return [
        BoardView(
            name=board.name,
            outline=_ring(board.outline),
            flaws=[{"kind": flaw.kind, "ring": _ring(flaw.ring)} for flaw in board.flaws],
            size=_size(board, unit),
            timber=format_volume(_volume(board), unit),
            species=board.species,
            state=said.get(board.name, board.state),
            lies=board.lies,
            dresses=_dresses(dresses.get(board.name)),
            left=left.get(board.name, ""),
            planks=[
                PlankOnBoard(name, ring, held.get(name, ""), mates.get(name, ""))
                for name, ring in on.get(board.name, ())
            ],
        )
        for board in boards
    ]


def _said_since(planned: Planned) -> dict[str, str]:
    """Give the boards marked bad since the pile was tallied: of them nobody waits for the tally."""
    if planned.run.result("boards") is not None:
        return {}
    return {board.name: board.state for board in _as_typed(planned) if board.state != "sound"}


def _left(pile: Pile | None, laid: Laid | None) -> dict[str, str]:
    """Say why boards were left alone: as the tally says, and as the laying does."""
    why = dict(pile.unfit) if pile else {}
    for found in laid.findings if laid else ():
        if found.code == "T118":
            says = found.says.removeprefix("left alone: ").removeprefix("it ")
            why.setdefault(found.where.removeprefix("board "), says)
    return why


def _as_typed(planned: Planned) -> tuple[Board, ...]:
    """Give the boards as typed, where the tally is not up to date; none that cannot be read."""
    from ribband.app.plan.timber_steps import boards_of

    try:
        return boards_of(planned.run.bench.forms, planned.run.bench.unit)
    except InputError:
        return ()  # the form says what is wrong with it


def _dresses(found: Any) -> str:
    if found is None or found.dressing is None:
        return ""
    good = found.dressing.dresses
    return "" if good is None else "dresses" if good else "will not dress to thickness"


def _placed(laid: Laid | None) -> dict[str, list[tuple[str, list[list[float]]]]]:
    """Lay every plank's outline where its cut says, by board."""
    from ribband.numerics.polygons import laid_out

    on: dict[str, list[tuple[str, list[list[float]]]]] = {}
    if laid is None:
        return on
    outlines = {name: piece.outline for piece in laid.pieces for name in piece.planks}
    for cut in laid.laying.cuts:
        ring = laid_out(outlines[cut.plank], cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm)
        on.setdefault(cut.board, []).append((cut.plank, _ring(ring)))
    return on


def _held(laid: Laid | None) -> Mapping[str, str]:
    if laid is None:
        return {}
    from ribband.timber import sawn_planks

    sawn = dict.fromkeys(sawn_planks(laid), "sawn")
    return {wish.plank: wish.wish for wish in laid.wishes if wish.plank and wish.board} | sawn


def _mates(laid: Laid | None) -> Mapping[str, str]:
    from ribband.timber import mate_words

    return {} if laid is None else mate_words(laid)


def _order(planned: Planned) -> Answer | None:
    from ribband.app.showing.timber import order_answer

    return None if planned.run.result("order") is None else order_answer(planned)


def _why(planned: Planned, laid: Laid | None) -> str:
    if laid is not None:
        return ""
    made = planned.run.bench.made
    if "shapes" not in made or ("laying" not in made and "boards" in planned.run.bench.forms):
        return "The plan has not come so far, or is not up to date."
    if "boards" not in planned.run.bench.forms:
        return "No boards are tallied yet: type them into the form, or drop a file on this page."
    return "Nothing is laid: flat shapes need a hull measured in space, not girths alone."


def _size(board: Board, unit: str) -> str:
    spans = board.outline.max(axis=0) - board.outline.min(axis=0)
    words = [format_length(float(v), unit) for v in (*spans, board.thickness_mm)]
    return f"{words[0]} × {words[1]} × {words[2]}"


def _volume(board: Board) -> float:
    from ribband.numerics.polygons import enclosed_area

    return enclosed_area(board.outline) * board.thickness_mm / 1e9


def _ring(ring: Any) -> list[list[float]]:
    step = max(1, len(ring) // 160)
    return [[round(float(x), 1), round(float(y), 1)] for x, y in ring[::step]]
