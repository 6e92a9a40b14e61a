"""Board sheets: every board cut into, with its planks as they lie and the cuts in saw order.

A board lies with its marked face up, its butt at the left. Planks are drawn to their dressed lines
with the rough outline dashed round them; cuts are numbered as the saw takes them; ends worth
keeping are ruled over with their size. At both ends of a plank stands how far up from the board's
lower edge its batten line is struck. Several boards go on a sheet, in the order of the tally.
Planks got out already are outlined alone and not cut again; a board that has no others is left
off.

Not checked: the laying; its own check does that.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
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
from ribband.numerics.profiles import columns, open_ring
from ribband.timber.board_model import Board, Cut, Piece
from ribband.timber.laid import Laid, sawn_planks
from ribband.timber.laid_twins import mate_words
from ribband.timber.laying.cuts import SawCut, marked_ends, saw_order
from ribband.timber.laying.ground import rough_ring
from ribband.timber.milling import AS_TALLIED_WET, batten_ends, batten_on, is_wet
from ribband.units import format_length

__all__ = ["board_sheets"]

Placing = Callable[[Floats], tuple[Point, ...]]  # from the axes of a board to the sheet's

HEAD, NAME, SMALL = 2.4, 2.2, 1.7  # mm, height of the lettering
MATE, MATE_IN = (
    1.5,
    0.38,
)  # mm, height of what is said of a pair, and of its plank the part it takes
ABOVE, BELOW = 6.5, 5.0  # mm of paper kept over a board for its heading, and under it
AIR = 6.0
FIGURE_IN = 13.0  # mm of paper from a plank's end to its figure
ALONG = {"plank": 0.3, "line": 0.2}  # of a plank, where its cut's number stands
OVER = 25.0  # mm; a crosscut that ends so near the board's edge is right across
CARE = (
    "Look at the real board first: a knot or a check that was not tallied is a weak plank.",
    "A board may bind on the saw as it opens: support both parts, stand clear of the line.",
    "Guards, dust extraction and a second hand at a long board as the local code asks.",
    "Mark every plank with its name and the marked face before it leaves the board.",
)


@dataclass(frozen=True, slots=True)
class _Row:
    """A board on a sheet, so far up, full-size mm; its planks to be cut, and cut already; ends."""

    board: Board
    cuts: tuple[Cut, ...]
    sawn: tuple[Cut, ...]
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
    on = _on_boards(laid, sawn=False)
    boards = [board for board in laid.boards if board.name in on]
    longest = max((float(np.ptp(b.outline[:, 0])) for b in boards), default=1000.0)
    scale = scale_wanted(setting.scale) or choose(longest, room.width - 2 * AIR, unit)
    drawings = [
        _drawing(laid, rows, notes, signs, scale, unit, longest)
        for rows in _shared_out(laid, boards, scale, room.height - 4.0)
    ]
    return lay_on(drawings, setting.page, title, scale, unit=unit, overlap_mm=setting.overlap_mm)


def _on_boards(laid: Laid, *, sawn: bool) -> dict[str, tuple[Cut, ...]]:
    """Give the planks on each board that are got out already, or those that are not."""
    on: dict[str, list[Cut]] = {}
    out = sawn_planks(laid)
    for cut in laid.laying.cuts:
        if (cut.plank in out) is sawn:
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
    on, ends = _on_boards(laid, sawn=False), _ends(laid)
    sawn = _on_boards(laid, sawn=True)
    sheets: list[list[_Row]] = []
    left = 0.0
    for board in boards:
        tall = float(np.ptp(board.outline[:, 1])) * scale + ABOVE + BELOW
        if tall > left or not sheets:
            sheets.append([])
            left = room
        up = (left - ABOVE) / scale - float(board.outline[:, 1].max())
        there = sawn.get(board.name, ()), ends.get(board.name, ())
        sheets[-1].append(_Row(board, on[board.name], *there, up))
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
    mates = mate_words(laid)
    for cut in row.sawn:
        yield from _gone(cut, pieces[cut.plank], at)
    for cut in row.cuts:
        yield from _mate(mates.get(cut.plank, ""), cut, pieces[cut.plank], at, scale)
        yield from _plank(cut, pieces[cut.plank], at, scale)
        yield from _line_up(row, cut, pieces[cut.plank], at, scale, unit)
    for flaw in row.board.flaws:
        if flaw.kind != "sap":
            yield Hatch("flaws", at(flaw.ring), 0.7)
        yield Polyline("sap" if flaw.kind == "sap" else "flaws", at(flaw.ring), closed=True)
    edge = "live edges" if row.board.live_edges else "board edges"
    yield Polyline(edge, at(row.board.outline), closed=True)
    yield from _cuts(
        saw_order(row.board, row.cuts, laid.pieces, laid.rules), row, pieces, at, scale, unit
    )
    yield from _heading(row, left, scale, unit)


def _plank(cut: Cut, piece: Piece, at: Placing, scale: float) -> Iterator[Item]:
    lies = (cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm)
    ring = laid_out(piece.outline, *lies)
    yield Fill("planks", at(ring))
    yield Polyline("allowances", at(laid_out(rough_ring(piece), *lies)), closed=True)
    yield Polyline("planks", at(ring), closed=True)
    yield from _named(cut, piece, ring, at, scale)


def _gone(cut: Cut, piece: Piece, at: Placing) -> Iterator[Item]:
    """Outline a plank that is got out already, with a word that it is."""
    ring = laid_out(piece.outline, cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm)
    yield Polyline("allowances", at(ring), closed=True)
    said = f"{cut.plank}: got out already"
    yield Text("notes", at(ring.mean(axis=0)[None])[0], said, SMALL, "centre", "middle", mask=True)


def _line_up(  # noqa: PLR0917 - a plank, and where it is drawn
    row: _Row, cut: Cut, piece: Piece, at: Placing, scale: float, unit: str
) -> Iterator[Item]:
    """Draw a plank's batten line, and at its ends how far up from the lower edge it is struck."""
    butt, top = batten_ends(row.board, cut, piece)
    ends = batten_on(cut, piece)
    yield Polyline("centreline", at(ends))
    way = (ends[1] - ends[0]) / np.linalg.norm(ends[1] - ends[0])
    for end, toward, (_, up) in ((ends[0], 1.0, butt), (ends[1], -1.0, top)):
        place = at((end + toward * way * FIGURE_IN / scale)[None])[0]
        said = format_length(up, unit)
        yield Text("notes", place, said, 1.4, "centre", "middle", float(np.arctan2(*way[::-1])),
                   mask=True)  # fmt: skip


def _named(cut: Cut, piece: Piece, ring: Floats, place: Placing, scale: float) -> Iterator[Item]:
    """Letter a plank's name along its middle, with the end that lies forward."""
    middle = ring.mean(axis=0)
    (x, y) = place(middle[None, :])[0]
    turned = -np.pi / 2 < cut.turn_rad <= np.pi / 2
    turn = cut.turn_rad if turned else cut.turn_rad - np.pi
    name = Text("plank names", (x, y), cut.plank, NAME, "centre", "middle", turn, "Sans-Semibold",
                mask=True)  # fmt: skip
    yield name
    fore_x = np.array([piece.outline[:, 0].min()])
    fore = laid_out(np.array([[fore_x[0], float(piece.outline[:, 1].mean())]]), cut.flipped,
                    cut.turn_rad, cut.x_mm, cut.y_mm)[0]  # fmt: skip
    toward = 1.0 if middle[0] > fore[0] else -1.0
    inset = np.array([toward * 5.0 / scale, 0.0])
    (fx, fy) = place((fore + inset)[None, :])[0]
    fy = y + (fx - x) * float(np.tan(turn))
    yield Text("notes", (fx, fy), "fore", SMALL, "centre", "middle", turn, "Sans-Italic", mask=True)


def _mate(said: str, cut: Cut, piece: Piece, at: Placing, scale: float) -> Iterator[Item]:
    """Say beside a plank's name which one of the other side is got out with it."""
    if not said:
        return
    ring = laid_out(piece.outline, cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm)
    turned = -np.pi / 2 < cut.turn_rad <= np.pi / 2
    turn = cut.turn_rad if turned else cut.turn_rad - np.pi
    clear = (width_mm(cut.plank, NAME, "Sans-Semibold") / 2 + 2.0) / scale
    beside = ring.mean(axis=0) + clear * np.array([np.cos(turn), np.sin(turn)])
    words, long = said.partition(":")[0], float(np.ptp(ring[:, 0]))
    if width_mm(words, MATE) > MATE_IN * long * scale:
        words = words.partition(",")[0]
    yield Text("notes", at(beside[None])[0], words, MATE, "left", "middle", turn, "Sans-Italic",
               mask=True)  # fmt: skip


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


def _cuts(  # noqa: PLR0917 - cuts, and where they are drawn
    found: Sequence[SawCut],
    row: _Row,
    pieces: Mapping[str, Piece],
    at: Placing,
    scale: float,
    unit: str,
) -> Iterator[Item]:
    """Draw every cut with its number in a ring on it."""
    on = {cut.plank: cut for cut in row.cuts}
    for cut in found:
        way = np.stack([cut.x_mm, cut.y_mm], axis=1)
        if cut.kind in {"line", "plank"}:
            lies = on[cut.frees[0]]
            turned = (lies.flipped, lies.turn_rad, lies.x_mm, lies.y_mm)
            ring = laid_out(rough_ring(pieces[lies.plank]), *turned)
            way = _over_it(ring) if cut.kind == "line" else _through_it(ring)
        if cut.kind == "crosscut":  # a little over the board at both ends
            way = way + np.array([[0.0, -1.2], [0.0, 1.2]]) / scale
        if cut.kind != "plank":
            yield Polyline("saw cuts", at(way))
        mark = _number_at(cut, way, row.board, scale)
        (x, y) = at(mark[None])[0]
        yield Circle("saw numbers", (x, y), 1.45 / scale, filled=False)
        yield Text("saw numbers", (x, y), str(cut.number), 1.6, "centre", "middle", mask=True)
        if cut.kind == "crosscut":
            said = format_length(float(np.mean(cut.x_mm) - row.board.outline[:, 0].min()), unit)
            yield Text("notes", (x + 2.2 / scale, y), said, 1.5, "left", "middle", mask=True)


def _over_it(ring: Floats) -> Floats:
    """Give the way a band saw takes round a plank's upper edge and square out at its ends."""
    x = np.linspace(ring[:, 0].min() + 1e-6, ring[:, 0].max() - 1e-6, 60)
    low, high = columns(ring, x)
    ends = np.array([[x[0], low[0]], [x[-1], low[-1]]])
    return np.concatenate([ends[:1], np.stack([x, high], axis=1), ends[1:]])


def _through_it(ring: Floats) -> Floats:
    """Give the middle of a plank as it lies on its board, (k, 2)."""
    x = np.linspace(ring[:, 0].min() + 1e-6, ring[:, 0].max() - 1e-6, 20)
    return np.stack([x, np.mean(columns(ring, x), axis=0)], axis=1)


def _number_at(cut: SawCut, way: Floats, board: Board, scale: float) -> Floats:
    """Give where the number stands: under a crosscut right across, else on the cut itself."""
    place: Floats
    if cut.kind == "crosscut":
        foot = way[way[:, 1].argmin()]
        low, _ = columns(open_ring(board.outline), foot[:1])
        right_across = foot[1] - low[0] < OVER
        place = foot - np.array([0.0, 2.8 / scale]) if right_across else np.mean(way, axis=0)
        return place
    place = way[0] + (way[-1] - way[0]) / 3
    if cut.kind != "rip":
        place = way[round(ALONG[cut.kind] * (len(way) - 1))]
    return place


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
        _moist(board),
        f"log {board.log}, leaf {board.leaf}" if board.leaf else "",
        f"lies: {board.lies}" if board.lies else "",
        "butt at the left, marked face up" if not board.face else f"{board.face} side up",
    ]
    shift = width_mm(f"board {board.name}", HEAD, "Sans-Semibold") + 4.0
    said = ";  ".join(part for part in parts if part)
    yield Text("notes", (x + shift / scale, top + 2.0 / scale), said, SMALL)


def _moist(board: Board) -> str:
    if board.moisture_percent is None:
        return ""
    return f"{board.moisture_percent:g} %" + (
        ": dry it first" if is_wet(board.moisture_percent) else ""
    )


def _notes(laid: Laid, unit: str) -> tuple[str, ...]:
    rules = laid.rules
    kept = (
        f"Kerf {format_length(rules.kerf_mm, unit)}. Dashed: to be sawn to, "
        f"{format_length(rules.allowance_mm, unit)} outside the dressed edge and "
        f"{format_length(rules.end_allowance_mm, unit)} past each end."
    )
    order = (
        "Cuts are numbered as the saw takes them, crosscuts with their distance from the butt. A "
        "number within a plank is its own outline; on a curved line, a band saw's cut along it."
    )
    up = (
        "At each end of a plank: how far up from the board's lower edge its batten line is struck, "
        "at the dressed end."
    )
    on = _on_boards(laid, sawn=False)
    wet = any(is_wet(board.moisture_percent) for board in laid.boards if board.name in on)
    return (kept, order, up, *((AS_TALLIED_WET,) if wet else ()), *CARE)


def _signs() -> tuple[Sign, ...]:
    wide = ((-4.0, -0.6), (4.0, -0.6), (4.0, 0.6), (-4.0, 0.6))
    return (
        Sign((Polyline("planks", wide, closed=True),), "plank, dressed"),
        Sign((Polyline("allowances", wide, closed=True),), "to be sawn to"),
        Sign((Polyline("saw cuts", ((-4.0, 0.0), (4.0, 0.0))),), "straight cut, numbered"),
        Sign((Polyline("flaws", wide, closed=True),), "knot, check, shake: ruled over"),
        Sign((Polyline("live edges", ((-4.0, 0.0), (4.0, 0.0))),), "live edge"),
    )
