"""The timber's page: the pile with its planks, what is lacking, and the order.

Read from what is kept; only boards that cannot be read yet are looked at as typed.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from ribband.app.plan.as_kept import as_kept, as_last_kept, has_no_forms, kept_keys
from ribband.app.plan.planning import Planned
from ribband.app.showing.answers import Answer, Line, Listing
from ribband.errors import InputError
from ribband.units import format_length, format_volume

if TYPE_CHECKING:
    from ribband.timber.board_model import Board
    from ribband.timber.laid import Laid
    from ribband.timber.pile import Pile

__all__ = ["BoardView", "PlankOnBoard", "TimberPage", "flaw_words", "timber_key", "timber_page"]

READ = ("survey", "hull", "lining", "butts", "planks", "shapes", "stands", "boards",
        "laying", "order")  # fmt: skip
LEAST_MM = 1.0


@dataclass(frozen=True, slots=True)
class PlankOnBoard:
    """A plank as it lies on a board: its ring (mm) on the board's axes, and whether it is held."""

    name: str
    ring: list[list[float]]
    held: str


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
    """All the page shows; `why` says why nothing is laid, where nothing is."""

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
    )


def _ends(laid: Laid, unit: str) -> Iterator[str]:
    """Say the ends kept by the marks they are tallied again by."""
    from ribband.timber.laying.cuts import marked_ends

    for _, end in marked_ends(laid.laying, laid.pieces, laid.boards, laid.rules):
        yield f"{end.name}: {_size(end, unit)}"


def flaw_words(  # noqa: PLR0917 - the corners of what was drawn
    path: Path, board: str, kind: str, x_mm: float, y_mm: float, to_x_mm: float, to_y_mm: float
) -> str:
    """Say a flaw drawn as a rectangle on a board in the words of the tally, in the job's unit.

    Raises
    ------
    InputError : there is no such board
    """
    from ribband.app.plan.timber_steps import boards_of
    from ribband.errors import Problem

    planned = as_kept(path, ("survey",))
    unit = planned.run.bench.unit
    known = {b.name: b for b in boards_of(planned.run.bench.forms, unit)}
    if board not in known:
        raise InputError([Problem("boards", 0, "board", board, "a board of the tally")])
    outline = known[board].outline
    x, to_x = (min(max(v, LEAST_MM), float(outline[:, 0].max()) - LEAST_MM)
               for v in sorted((x_mm, to_x_mm)))  # fmt: skip
    low = _lower_edge(outline, (x + to_x) / 2)
    y, to_y = (max(v - low, 0.0) for v in sorted((y_mm, to_y_mm)))
    words = [format_length(v, unit) for v in (x, to_x, y, to_y)]
    return f"{kind} from {words[0]} to {words[1]} up {words[2]} to {words[3]}"


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
    on, held = _placed(laid), _held(laid)
    dresses = {d.board: d for d in pile.dressings} if pile else {}
    left = _left(pile, laid)
    return [
        BoardView(
            name=board.name,
            outline=_ring(board.outline),
            flaws=[{"kind": flaw.kind, "ring": _ring(flaw.ring)} for flaw in board.flaws],
            size=_size(board, unit),
            timber=format_volume(_volume(board), unit),
            species=board.species,
            state=board.state,
            lies=board.lies,
            dresses=_dresses(dresses.get(board.name)),
            left=left.get(board.name, ""),
            planks=[
                PlankOnBoard(name, ring, held.get(name, ""))
                for name, ring in on.get(board.name, ())
            ],
        )
        for board in boards
    ]


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
    return {wish.plank: wish.wish for wish in laid.wishes if wish.plank} | sawn


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
