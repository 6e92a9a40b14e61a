"""Planks and boards made ready for laying: kinds of plank in every lie, boards on cells.

*Kind*: planks got out to one shape that may lie the same ways. *Lie*: a kind flipped or not,
end for end or not, leaning by a few angles. *Plot*: a board on cells, with its *bars*, the flaws
and the planks already there that others must pass. Every plank is grown by its allowances and
half a kerf and every plot by half a kerf, so that planks that touch here are a kerf apart.

Not checked: that what lies on the cells lies right on the board; `laying/check.py` does that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

from ribband.numerics.polygons import laid_out
from ribband.numerics.profiles import (
    Floats,
    Profile,
    around,
    arounds,
    columns,
    grown,
    open_ring,
    ring_area,
    turned,
    within,
)
from ribband.timber.board_model import MEASURED_MM, Board, Cut, Piece
from ribband.timber.laying.ends import Spans, broken, hard_flaws
from ribband.timber.laying.rules import LayingRules

__all__ = [
    "COARSE",
    "FINE",
    "LEANS",
    "STEP",
    "Bar",
    "Kind",
    "Lies",
    "Plot",
    "bar_of",
    "cut_of",
    "ends_out",
    "kinds_of",
    "lies_of",
    "plot_of",
    "rough_ring",
    "suits",
]

STEP = 50.0  # mm, width of a cell
COARSE = 3  # cells between the places looked at in the first search
LEANS, FINE = 5, 17  # angles tried within the limit, and in a long search; the few are of the many
CLEAR = 0.02  # mm, added all round against rounding
FAR = 1.0e7


@dataclass(frozen=True, slots=True, eq=False)
class Kind:
    """Planks of one shape; `rough` is the ring with its allowances, `area_mm2` its area.

    only : names of the boards it may lie on, empty for any; never : boards it may not lie on
    """

    piece: Piece
    planks: tuple[str, ...]
    flips: tuple[bool, ...]
    rough: Floats
    area_mm2: float
    only: tuple[str, ...] = ()
    never: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, eq=False)
class Lies:
    """Every lie of every kind, (p,) and (p, cells, 2), padded with no height at all.

    low, high : edges over the cells with the plank's start at 0; `start` is where that start lies
    on the turned flat shape; low_at, high_at : (places, p) the same at every `COARSE`th cell
    low_over, high_over : the edges upside down, for planks that hang from the roof
    low_over_at, high_over_at : those at every `COARSE`th cell
    area : (p,) of the kind, mm2; core : (p,) least height over the middle of the lie
    way : (p,) a number each, one for the lies of a kind that differ only in their lean, which
        follow one another; lean : (p,) which of those
    """

    kind: NDArray[np.int64]
    flipped: NDArray[np.bool_]
    turn: Floats
    start: Floats
    length: Floats
    cells: NDArray[np.int64]
    low: Floats
    high: Floats
    low_at: NDArray[np.float32]
    high_at: NDArray[np.float32]
    low_over: Floats
    high_over: Floats
    area: Floats
    core: Floats
    low_over_at: NDArray[np.float32] = field(init=False)
    high_over_at: NDArray[np.float32] = field(init=False)
    way: NDArray[np.int64] = field(init=False)
    lean: NDArray[np.int64] = field(init=False)

    def __post_init__(self) -> None:
        """Reckon what follows from the others."""
        way = np.asarray(self.kind * 4 + self.flipped * 2 + (np.cos(self.turn) > 0))
        begins = np.append(True, way[1:] != way[:-1]).nonzero()[0]
        long = np.diff(np.append(begins, len(way)))
        object.__setattr__(self, "low_over_at", -self.high_at)
        object.__setattr__(self, "high_over_at", -self.low_at)
        object.__setattr__(self, "way", way)
        object.__setattr__(self, "lean", np.arange(len(way)) - np.repeat(begins, long))


@dataclass(frozen=True, slots=True, eq=False)
class Bar:
    """Something on a board that planks must pass: from a cell on, (cells, 2) edges."""

    first: int
    low: Floats
    high: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Plot:
    """A board on cells from `left` over `length` mm; floor and roof are its edges, (cells, 2).

    height : (cells + 1,) gross height at the cells' sides, area over (cells + 1,) up to there
    rate : what its timber counts, near 1; see `laying/choice.py`
    broken : stretches, from its left, that flaws cross so that no end is kept with them
    """

    board: Board
    left: float
    length: float
    floor: Floats
    roof: Floats
    bars: tuple[Bar, ...]
    height: Floats
    area_to: Floats
    rate: float = 1.0
    broken: Spans = ()


def kinds_of(
    pieces: Sequence[Piece],
    rules: LayingRules,
    pinned: Sequence[tuple[str, str]] = (),
    leave_out: Sequence[str] = (),
    barred: Sequence[tuple[str, str]] = (),
) -> tuple[Kind, ...]:
    """Sort planks into kinds: by shape, by side where they may not be flipped, by pin and bar."""
    board_of, out = dict(pinned), set(leave_out)
    bars_of: dict[str, tuple[str, ...]] = {}
    for plank, board in sorted(barred):
        bars_of[plank] = (*bars_of.get(plank, ()), board)
    kinds: list[Kind] = []
    for piece in pieces:
        if out.issuperset(piece.planks):
            continue
        rough = rough_ring(piece)
        area = ring_area(rough)
        groups: dict[tuple[tuple[bool, ...], str, tuple[str, ...]], list[str]] = {}
        for plank in piece.planks:
            if plank not in out:
                key = (_flips(piece, plank), board_of.get(plank, ""), bars_of.get(plank, ()))
                groups.setdefault(key, []).append(plank)
        kinds += [
            Kind(piece, tuple(names), flips, rough, area, (board,) if board else (), never)
            for (flips, board, never), names in groups.items()
        ]
    return tuple(kinds)


def _flips(piece: Piece, plank: str) -> tuple[bool, ...]:
    """Tell which way up a plank may lie: starboard is turned over where the face matters."""
    return (False, True) if piece.may_flip else (plank[:1] == "S",)


@lru_cache(maxsize=2048)
def rough_ring(piece: Piece) -> Floats:
    """Give a piece's ring with its end allowance and its allowance on every edge."""
    return grown(ends_out(open_ring(piece.outline), piece.end_allowance_mm), piece.allowance_mm)


def as_lain(piece: Piece, cut: Cut) -> Floats:
    """Give a piece's rough ring as its cut lies on the board, anticlockwise."""
    ring = laid_out(rough_ring(piece), cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm)
    return ring[::-1] if cut.flipped else ring


def ends_out(ring: Floats, by: float) -> Floats:
    """Set the ends of a plank's ring out along x, from the first steep corner to the last.

    Steep is meant widely, half as high as long, so that a raked end goes out whole.
    """
    if by <= 0:
        return ring
    x = ring[:, 0]
    edge = np.abs(np.roll(ring, -1, axis=0) - ring)
    steep = edge[:, 1] > 0.5 * edge[:, 0]
    corner = steep | np.roll(steep, 1) | (x <= x.min() + 1e-6) | (x >= x.max() - 1e-6)
    fore = x < (x.min() + x.max()) / 2
    shift = np.zeros(len(ring))
    shift[_run(corner & fore)] = -by
    shift[_run(corner & ~fore)] = by
    points = []
    for k, point in enumerate(ring):
        out = [point + np.array([shift[k], 0.0])]
        if shift[k] and not shift[k - 1] and shift[(k + 1) % len(ring)]:
            out = [point, *out]
        elif shift[k] and shift[k - 1] and not shift[(k + 1) % len(ring)]:
            out = [*out, point]
        points += out
    return open_ring(np.array(points))


def _run(marked: NDArray[np.bool_]) -> NDArray[np.int64]:
    """Give the shortest run round a ring that holds every marked corner."""
    at = np.flatnonzero(marked)
    gaps = np.diff(np.append(at, at[0] + len(marked)))
    first = int(at[(int(np.argmax(gaps)) + 1) % len(at)])
    return (first + np.arange(len(marked) - int(gaps.max()) + 1)) % len(marked)


def lies_of(kinds: Sequence[Kind], rules: LayingRules, leans_tried: int = LEANS) -> Lies:
    """Give every lie of every kind."""
    leans = np.linspace(-1, 1, leans_tried) * rules.greatest_turn_rad
    rows, profiles = [], []
    for k, kind in enumerate(kinds):
        ring = grown(kind.rough, rules.kerf_mm / 2 + CLEAR)
        own = [(k, flipped, turn) for flipped in kind.flips for turn in [*leans, *(leans + np.pi)]]
        profiles += arounds(np.stack([turned(ring, turn, flip) for _, flip, turn in own]), STEP)
        rows += own
    cells = np.array([len(p.low) for p in profiles])
    low = np.full((len(rows), int(cells.max()), 2), FAR)
    high = np.full_like(low, -FAR)
    for at, profile in enumerate(profiles):
        low[at, : cells[at]], high[at, : cells[at]] = profile.low, profile.high
    return Lies(
        kind=np.array([row[0] for row in rows]),
        flipped=np.array([row[1] for row in rows]),
        turn=np.array([row[2] for row in rows]),
        start=np.array([p.left for p in profiles]),
        length=np.array([p.right - p.left for p in profiles]),
        cells=cells,
        low=low,
        high=high,
        low_at=_places(low, cells, FAR),
        high_at=_places(high, cells, -FAR),
        low_over=-high,
        high_over=-low,
        area=np.array([kinds[row[0]].area_mm2 for row in rows]),
        core=np.array([_core(p) for p in profiles]),
    )


def _core(profile: Profile) -> float:
    """Give the least height over the middle half, and a little more, of a profile."""
    cells = len(profile.low)
    part = slice(cells // 4, cells - cells // 4)
    return float((profile.high[part] - profile.low[part]).min())


def _places(edge: Floats, cells: NDArray[np.int64], pad: float) -> NDArray[np.float32]:
    """Look at an edge at every `COARSE`th cell's side and at its end, (places, p)."""
    count = -(-cells // COARSE)
    places = np.full((int(count.max()) + 1, len(edge)), pad, dtype=np.float32)
    for k in range(int(count.max())):
        places[k] = edge[:, k * COARSE, 0]
    every = np.arange(len(edge))
    places[count, every] = edge[every, cells - 1, 1]
    return places


def suits(kinds: Sequence[Kind], plots: Sequence[Plot]) -> NDArray[np.bool_]:
    """Tell which kinds a board is thick enough for and may bear by the pins, (boards, kinds)."""
    rough = np.array([plot.board.thickness_mm for plot in plots])
    planed = rough - [plot.board.lost_mm for plot in plots]
    fits = rough[:, None] >= np.array([kind.piece.thickness_mm for kind in kinds]) - 1e-9
    fits &= planed[:, None] >= np.array([kind.piece.planed_mm for kind in kinds]) - MEASURED_MM
    for k, kind in enumerate(kinds):
        if kind.only:
            fits[:, k] &= np.array([plot.board.name in kind.only for plot in plots])
        if kind.never:
            fits[:, k] &= np.array([plot.board.name not in kind.never for plot in plots])
    return fits


def plot_of(
    board: Board, rules: LayingRules, narrowest: float, there: Sequence[Floats] = ()
) -> Plot:
    """Put a board on cells; `there` are rough rings of planks that lie on it already.

    narrowest : a flaw nearer than this to an edge is taken with the edge, for nothing goes between
    """
    bare, half = _bare(board, rules), rules.kerf_mm / 2
    found = [*bare.bars, *(bar_of(grown(r, half), bare.left) for r in there)]
    floor, roof, bars = _edges_with_flaws(bare.floor, bare.roof, found, narrowest)
    bad = broken(board, rules.offcut_width_mm, rules.sap_allowed)
    return Plot(
        *(board, bare.left, bare.length, floor, roof, tuple(bars), bare.height, bare.area_to),
        broken=tuple((a - bare.left, b - bare.left) for a, b in bad),
    )


@lru_cache(maxsize=512)
def _bare(board: Board, rules: LayingRules) -> Plot:
    """Put a board on cells with nothing on it; its flaws are bars, whether near an edge or not.

    Kept, for a board is asked after many times while a place on it is looked for.
    """
    ring, half = open_ring(board.outline), rules.kerf_mm / 2
    off = rules.live_edge_mm if board.live_edges else 0.0
    inner = grown(ring, -off) if off > 0 else ring
    left = float(inner[:, 0].min()) - half
    length = float(inner[:, 0].max()) + half - left
    room = within(inner, STEP, left)
    low_edge, high_edge = (_as_long(edge, length) for edge in (room.low, room.high))
    hard = hard_flaws(board, rules.sap_allowed)
    bars = [_flaw_bar(open_ring(f.ring), left, len(low_edge)) for f in hard]
    nodes = left + STEP * np.arange(len(low_edge) + 1)
    low, high = columns(ring, np.clip(nodes, ring[:, 0].min(), ring[:, 0].max()))
    height = high - low
    area = np.concatenate([[0.0], np.cumsum((height[1:] + height[:-1]) / 2 * STEP)])
    return Plot(
        *(board, left, length, low_edge - half, high_edge + half),
        tuple(b for b in bars if b is not None), height, area,
    )  # fmt: skip


def _as_long(edge: Floats, length: float) -> Floats:
    """Carry an edge on level to the cell in which a plot's length ends."""
    more = max(0, int(np.ceil(length / STEP - 1e-9)) - len(edge))
    return np.concatenate([edge, np.full((more, 2), edge[-1, 1])])


def _flaw_bar(ring: Floats, left: float, cells: int) -> Bar | None:
    """Give the bar of a flaw, cut off at the board's cells; None where it lies beside them."""
    bar = bar_of(ring, left)
    first, last = max(bar.first, 0), min(bar.first + len(bar.low), cells)
    if first >= last:
        return None
    part = slice(first - bar.first, last - bar.first)
    return Bar(first, bar.low[part], bar.high[part])


def bar_of(ring: Floats, left: float) -> Bar:
    """Put a ring on the cells of a plot that begin at `left`."""
    first = int(np.floor((float(ring[:, 0].min()) - left) / STEP))
    profile = around(ring, STEP, left + first * STEP)
    return Bar(first, profile.low, profile.high)


def _edges_with_flaws(
    floor: Floats, roof: Floats, bars: list[Bar], narrowest: float
) -> tuple[Floats, Floats, list[Bar]]:
    """Take bars into the board's edge where no plank would go between."""
    floor, roof = floor.copy(), roof.copy()
    bars = sorted(bars, key=lambda bar: float(bar.low.min()))
    changed = True
    while changed:
        changed = False
        for bar in list(bars):
            span = slice(bar.first, bar.first + len(bar.low))
            if np.all(bar.low - floor[span] < narrowest):
                floor[span] = np.maximum(floor[span], bar.high)
            elif np.all(roof[span] - bar.high < narrowest):
                roof[span] = np.minimum(roof[span], bar.low)
            else:
                continue
            bars.remove(bar)
            changed = True
    return floor, roof, bars


def cut_of(lies: Lies, plot: Plot, plank: str, *, lie: int, cell: int, y: float) -> Cut:
    """Say a place on the cells as a cut."""
    return Cut(
        plank=plank,
        board=plot.board.name,
        flipped=bool(lies.flipped[lie]),
        turn_rad=float(lies.turn[lie]),
        x_mm=float(plot.left + cell * STEP - lies.start[lie]),
        y_mm=float(y),
    )
