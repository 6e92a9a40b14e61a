"""Board sheets: every board cut into, with its planks as they lie and the cuts in saw order.

A board lies with its marked face up, its butt at the left. Planks are drawn to their dressed lines
with the rough outline dashed round them; cuts are numbered as the saw takes them; ends worth
keeping are ruled over with their size. Several boards go on a sheet, in the order of the tally.

Not checked: the laying; its own check does that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ribband.drawing.board import Setting
from ribband.drawing.layout import Air, Drawing, Sign, lay_on, room_on
from ribband.drawing.lettering import width_mm
from ribband.drawing.scales import choose
from ribband.drawing.scales import wanted as scale_wanted
from ribband.drawing.sheet import (
    Box,
    Circle,
    Fill,
    Hatch,
    Item,
    Point,
    Polyline,
    Sheet,
    Text,
    Title,
)
from ribband.hull.model import Floats
from ribband.numerics.polygons import laid_out
from ribband.timber.board_model import Board, Cut, Piece
from ribband.timber.laid import Laid
from ribband.timber.laying.cuts import SawCut, marked_ends, saw_order
from ribband.timber.laying.ground import rough_ring
from ribband.units import format_length

__all__ = ["board_sheets"]

Placing = Callable[[Floats], tuple[Point, ...]]  # from the axes of a board to the sheet's

HEAD, NAME, SMALL = 2.4, 2.2, 1.7  # mm, height of the lettering
ABOVE, BELOW = 6.5, 5.0  # mm of paper kept over a board for its heading, and under it
AIR = 6.0
CARE = (
    "Look at the real board first: a knot or a check that was not tallied is a weak plank.",
    "A board may bind on the saw as it opens: support both parts, stand clear of the line.",
    "Guards, dust extraction and a second hand at a long board as the local code asks.",
    "Mark every plank with its name and the marked face before it leaves the board.",
)


@dataclass(frozen=True, slots=True)
class _Row:
    """A board on a sheet: where its butt and lowest point lie, full-size mm, its cuts and ends."""

    board: Board
    cuts: tuple[Cut, ...]
    ends: tuple[Board, ...]
    up: float


def board_sheets(
    laid: Laid,
    title: Title,
    unit: str,
    *,
    setting: Setting = Setting(),  # noqa: B008 - frozen
) -> tuple[Sheet, ...]:
    """Draw every board cut into on as many sheets as it needs.

    `title` is of the whole set; its side is left empty, for boards hold both.
    """
    notes = _notes(laid, unit)
    signs = _signs()
    room = room_on(setting.page, notes, signs)
    on = _on_boards(laid)
    boards = [board for board in laid.boards if board.name in on]
    longest = max((float(np.ptp(b.outline[:, 0])) for b in boards), default=1000.0)
    scale = scale_wanted(setting.scale) or choose(longest, room.width - 2 * AIR, unit)
    drawings = [
        _drawing(laid, rows, notes, signs, scale, unit, longest)
        for rows in _shared_out(laid, boards, scale, room.height - 4.0)
    ]
    return lay_on(drawings, setting.page, title, scale, unit=unit, overlap_mm=setting.overlap_mm)


def _on_boards(laid: Laid) -> dict[str, tuple[Cut, ...]]:
    on: dict[str, list[Cut]] = {}
    for cut in laid.laying.cuts:
        on.setdefault(cut.board, []).append(cut)
    return {name: tuple(cuts) for name, cuts in on.items()}


def _ends(laid: Laid) -> dict[str, tuple[Board, ...]]:
    """Give the ends kept of each board, by the marks they are tallied again by."""
    ends: dict[str, list[Board]] = {}
    for board, end in marked_ends(laid.laying, laid.pieces, laid.boards, laid.rules):
        ends.setdefault(board, []).append(end)
    return {name: tuple(some) for name, some in ends.items()}


def _shared_out(laid: Laid, boards: Sequence[Board], scale: float, room: float) -> list[list[_Row]]:
    """Fill sheets with boards from the top, in the order of the tally."""
    on, ends = _on_boards(laid), _ends(laid)
    sheets: list[list[_Row]] = []
    left = 0.0
    for board in boards:
        tall = float(np.ptp(board.outline[:, 1])) * scale + ABOVE + BELOW
        if tall > left or not sheets:
            sheets.append([])
            left = room
        up = (left - ABOVE) / scale - float(board.outline[:, 1].max())
        sheets[-1].append(_Row(board, on[board.name], ends.get(board.name, ()), up))
        left -= tall
    return sheets


def _drawing(  # noqa: PLR0917 - a sheet's measures
    laid: Laid,
    rows: Sequence[_Row],
    notes: tuple[str, ...],
    signs: tuple[Sign, ...],
    scale: float,
    unit: str,
    longest: float,
) -> Drawing:
    items = [item for row in rows for item in _board(laid, row, scale, unit)]
    lowest = min(row.up + float(row.board.outline[:, 1].min()) for row in rows)
    highest = max(row.up + float(row.board.outline[:, 1].max()) for row in rows)
    box = Box(0.0, lowest, longest, highest)
    return Drawing("boards", tuple(items), box, Air(AIR, BELOW, AIR, ABOVE), notes, signs)


def _board(laid: Laid, row: _Row, scale: float, unit: str) -> Iterator[Item]:
    """Draw one board: wood, flaws, off-cuts, planks, cuts, words."""
    left = float(row.board.outline[:, 0].min())

    def at(ring: Floats) -> tuple[Point, ...]:
        return tuple((float(x) - left, float(y) + row.up) for x, y in ring)

    yield Fill("boards", at(row.board.outline))
    for flaw in row.board.flaws:
        if flaw.kind == "sap":
            yield Fill("sap", at(flaw.ring))
    yield from _offcuts(row, at, scale, unit)
    pieces = {plank: piece for piece in laid.pieces for plank in piece.planks}
    for cut in row.cuts:
        yield from _plank(cut, pieces[cut.plank], at, scale)
    for flaw in row.board.flaws:
        if flaw.kind != "sap":
            yield Hatch("flaws", at(flaw.ring), 0.7)
        yield Polyline("sap" if flaw.kind == "sap" else "flaws", at(flaw.ring), closed=True)
    edge = "live edges" if row.board.live_edges else "board edges"
    yield Polyline(edge, at(row.board.outline), closed=True)
    yield from _cuts(
        saw_order(row.board, row.cuts, laid.pieces, laid.rules), row, left, scale, unit
    )
    yield from _heading(row, left, scale, unit)


def _plank(cut: Cut, piece: Piece, at: Placing, scale: float) -> Iterator[Item]:
    lies = (cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm)
    ring = laid_out(piece.outline, *lies)
    yield Fill("planks", at(ring))
    yield Polyline("allowances", at(laid_out(rough_ring(piece), *lies)), closed=True)
    yield Polyline("planks", at(ring), closed=True)
    yield from _named(cut, piece, ring, at, scale)


def _named(cut: Cut, piece: Piece, ring: Floats, place: Placing, scale: float) -> Iterator[Item]:
    """Letter a plank's name along its middle, with the end that lies forward."""
    middle = ring.mean(axis=0)
    (x, y) = place(middle[None, :])[0]
    turned = -np.pi / 2 < cut.turn_rad <= np.pi / 2
    turn = cut.turn_rad if turned else cut.turn_rad - np.pi
    name = Text("plank names", (x, y), cut.plank, NAME, "centre", "middle", turn, "Sans-Semibold")
    yield name
    fore_x = np.array([piece.outline[:, 0].min()])
    fore = laid_out(np.array([[fore_x[0], float(piece.outline[:, 1].mean())]]), cut.flipped,
                    cut.turn_rad, cut.x_mm, cut.y_mm)[0]  # fmt: skip
    toward = 1.0 if middle[0] > fore[0] else -1.0
    inset = np.array([toward * 5.0 / scale, 0.0])
    (fx, fy) = place((fore + inset)[None, :])[0]
    fy = y + (fx - x) * float(np.tan(turn))
    yield Text("notes", (fx, fy), "fore", SMALL, "centre", "middle", turn, "Sans-Italic")


def _offcuts(row: _Row, at: Placing, scale: float, unit: str) -> Iterator[Item]:
    """Rule the ends kept over, with their length and what they are called."""
    for part in row.ends:
        ring = at(part.outline)
        yield Hatch("off-cuts", ring, 1.6)
        yield Polyline("off-cuts", ring, closed=True)
        x, y = np.asarray(ring).mean(axis=0)
        long, wide = np.ptp(part.outline, axis=0)
        said = f"keep {part.name}: {format_length(long, unit)} x {format_length(wide, unit)}"
        small = SMALL if width_mm(said, SMALL) < long * scale else 1.4
        yield Text("notes", (float(x), float(y)), said, small, "centre", "middle", mask=True)


def _cuts(
    found: Sequence[SawCut], row: _Row, left: float, scale: float, unit: str
) -> Iterator[Item]:
    """Draw every cut with its number in a ring at its end."""
    over = 1.2 / scale
    for cut in found:
        a = (cut.x_mm[0] - left, cut.y_mm[0] + row.up)
        b = (cut.x_mm[1] - left, cut.y_mm[1] + row.up)
        if cut.kind == "crosscut":
            a, b = (a[0], a[1] - over), (b[0], b[1] + over)
        if cut.kind in {"crosscut", "rip"}:
            yield Polyline("saw cuts", (a, b))
        mark = _number_at(cut, a, b, scale)
        yield Circle("saw numbers", mark, 1.45 / scale, filled=False)
        yield Text("saw numbers", mark, str(cut.number), 1.6, "centre", "middle")
        if cut.kind == "crosscut":
            from_butt = (mark[0] + 2.2 / scale, mark[1])
            said = format_length(float(np.mean(cut.x_mm)) - left, unit)
            yield Text("notes", from_butt, said, 1.5, "left", "middle")


def _number_at(cut: SawCut, a: Point, b: Point, scale: float) -> Point:
    """Give where the number stands: under a crosscut, else on the line a third along."""
    if cut.kind == "crosscut":
        return a[0], a[1] - 1.6 / scale
    part = 0.25 if cut.kind == "plank" else 0.33
    return a[0] + part * (b[0] - a[0]), a[1] + part * (b[1] - a[1]) + 2.2 / scale


def _heading(row: _Row, left: float, scale: float, unit: str) -> Iterator[Item]:
    board = row.board
    top = float(board.outline[:, 1].max()) + row.up
    x = 0.0
    yield Text(
        "board names", (x, top + 2.0 / scale), f"board {board.name}", HEAD, face="Sans-Semibold"
    )
    long, wide = np.ptp(board.outline, axis=0)
    parts = [
        f"{format_length(long, unit)} long, {format_length(wide, unit)} over all",
        f"rough {format_length(board.thickness_mm, unit)}",
        board.species,
        "" if board.moisture_percent is None else f"{board.moisture_percent:g} %",
        f"lies: {board.lies}" if board.lies else "",
        "butt at the left, marked face up" if not board.face else f"{board.face} side up",
    ]
    shift = width_mm(f"board {board.name}", HEAD, "Sans-Semibold") + 4.0
    said = ";  ".join(part for part in parts if part)
    yield Text("notes", (x + shift / scale, top + 2.0 / scale), said, SMALL)


def _notes(laid: Laid, unit: str) -> tuple[str, ...]:
    rules = laid.rules
    kept = (
        f"Kerf {format_length(rules.kerf_mm, unit)}. Dashed: to be sawn to, "
        f"{format_length(rules.allowance_mm, unit)} outside the dressed edge and "
        f"{format_length(rules.end_allowance_mm, unit)} past each end."
    )
    order = (
        "Cuts are numbered as the saw takes them, crosscuts with their distance from the butt; a "
        "number on a plank is its own outline."
    )
    return (kept, order, *CARE)


def _signs() -> tuple[Sign, ...]:
    wide = ((-4.0, -0.6), (4.0, -0.6), (4.0, 0.6), (-4.0, 0.6))
    return (
        Sign((Polyline("planks", wide, closed=True),), "plank, dressed"),
        Sign((Polyline("allowances", wide, closed=True),), "to be sawn to"),
        Sign((Polyline("saw cuts", ((-4.0, 0.0), (4.0, 0.0))),), "straight cut, numbered"),
        Sign((Polyline("flaws", wide, closed=True),), "knot, check, shake: ruled over"),
        Sign((Polyline("live edges", ((-4.0, 0.0), (4.0, 0.0))),), "live edge"),
    )
