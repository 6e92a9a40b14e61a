"""How far a plank's edges and bevels may be out, from how the hull they came from may be.

The hull tells how it may be out (`ribband.hull.likely`): some ways, each as likely as the next.
Each moves the plank's opening a little, square to the hull where its seams are set off on it, and
along it too at rabbet and sheer. What so small a move does to the flat shape is linear and needs no
new rolling out: with the strains e it puts into the opening (a along the plank, c square across),

    turning of the middle along the plank:  d(turn)/da = d(2 e_ac)/da - d(e_aa)/dc,

lengths by e_aa, widths by e_cc, and lines across lean by the shear. As a pattern is laid where it
lies best, the plank's own shift and turn are taken off; what is left is counted square to the edge.

A bevel is half the turn from one plank's face to the next; a face turns by the difference of the
moves at its two edges, over its width.

*Within*: 95 of 100 lie no further out: 1.96 times the root mean square over the ways.

Not known here: how well it is cut, and all that the hull does not know of itself. Bevels in the
rabbet and at the sheer are given, not found from the hull, and have no figure.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from ribband.hull.model import Floats, Hull, Likely
from ribband.numerics.flattening import unit
from ribband.numerics.local import four_nearest
from ribband.numerics.polyline import evened
from ribband.planks.laid import Places, places
from ribband.planks.opening import Opening
from ribband.planks.shape_model import Shape, Shapes, Within

__all__ = ["SPREADS", "with_likely"]

Ints = NDArray[np.intp]
SPREADS = 1.96  # of a bell-shaped spread, within which 95 of 100 lie
EVERY = 2  # lines of the grid for one here
# parts of the usual plank's width, so that a hull twice as large is told of twice as much:
SAME = 0.12  # edges nearer than this are one seam
NARROW = 0.2  # an edge is no nearer to the other than this where moves are set against it
LEAST_SINE = 0.3


@dataclass(frozen=True, eq=False)
class _Strips:
    """P openings on n lines by three rows (lower edge, middle, upper edge), and how they move.

    xyz, normal : (P, n, 3, 3); move : (K, P, n, 3, 3); flat : (P, n, 3, 2)
    wide_mm : how wide planks usually are, edge to edge
    """

    xyz: Floats
    normal: Floats
    move: Floats
    flat: Floats
    wide_mm: float


def with_likely(hull: Hull, opening: Opening | None, shapes: Shapes) -> Shapes:
    """Give the shapes with how far they may be out; as they are where the hull does not know.

    `opening` are the openings of all planks of the vessel's side, those of the shapes among them.
    """
    if hull.likely is None or opening is None or not shapes.shapes:
        return shapes
    order = {name: p for p, name in enumerate(opening.name)}
    mine = [shape for shape in shapes.shapes if shape.name in order]
    own = opening.of(np.array([order[shape.name] for shape in mine], np.intp))
    top = int(opening.strake.max())
    strips = _strips(hull, hull.likely, own, mine, top)
    at = places(own, hull.frames.x_mm)
    within = _within(strips, at, own.strake, top)
    found = {shape.name: replace(shape, within=w) for shape, w in zip(mine, within, strict=True)}
    return replace(shapes, shapes=tuple(found.get(s.name, s) for s in shapes.shapes))


def _within(strips: _Strips, at: Places, strake: Ints, top: int) -> Iterator[Within]:
    """Give what each plank lies within, edges and bevels, as a whole and at its frames."""
    edges = _edges_out(strips)
    bevels = _bevels_out(strips, at, strake, top)
    first = np.searchsorted(at.plank, np.arange(len(strake) + 1))
    near = SPREADS * _between(_root_mean(edges), at, (0, 1))
    for p in range(len(strake)):
        q = slice(first[p], first[p + 1])
        leans = SPREADS * _root_mean(bevels[:, q])
        yield Within(
            _ninety_five(edges[:, p]), _ninety_five(bevels[:, q]),
            near[q, 0], near[q, 1], leans[:, 0], leans[:, 1],
        )  # fmt: skip


def _ninety_five(out: Floats) -> float:
    """Give what 95 of 100 are within, of draws of which some may not be known."""
    known = np.abs(out[np.isfinite(out)])
    return float(np.percentile(known, 95)) if len(known) else float("nan")


def _root_mean(out: Floats) -> Floats:
    return np.asarray(np.sqrt(np.mean(out**2, axis=0)), float)


def _strips(
    hull: Hull, likely: Likely, opening: Opening, shapes: Sequence[Shape], top: int
) -> _Strips:
    """Read how the openings move."""
    m = opening.xyz.shape[2] // 2
    u, v, xyz, normal = (
        a[:, ::EVERY][:, :, [0, m, -1]] for a in (opening.u, opening.v, opening.xyz, opening.normal)
    )
    laid = [[evened(edge, u.shape[1]) for edge in (s.lower, s.upper)] for s in shapes]
    lower, upper = np.moveaxis(np.array(laid), 1, 0)
    flat = np.stack([lower, (lower + upper) / 2, upper], axis=2)
    along, across = hull.lines.u[:, 0], np.linspace(0.0, 1.0, hull.lines.v.shape[1])
    square = _read(likely.square.astype(float), (along, across), u, v)
    move = square[..., None] * normal
    for strake, edge, rows in ((0, likely.rabbet, (1, 0.5, 0)), (top, likely.sheer, (0, 0.5, 1))):
        mine = opening.strake == strake
        own = _read(
            edge.transpose(0, 2, 1).astype(float), (along,), u[mine][:, :, 0 if strake == 0 else -1]
        )
        parts = np.array(rows)[None, None, None, :, None]
        move[:, mine] += np.moveaxis(own, 1, -1)[:, :, :, None] * parts
    wide = np.linalg.norm(xyz[:, :, 2] - xyz[:, :, 0], axis=-1)
    return _Strips(xyz, normal, move, flat, float(np.median(wide)))


def _read(grid: Floats, knots: Sequence[Floats], *at: Floats) -> Floats:
    """Read grids (..., K1 [, K2]) at places (...) by cubics of the four nearest knots each way."""
    from scipy import sparse  # noqa: PLC0415 - heavy

    shape, count = at[0].shape, at[0].size
    index, weight = np.zeros((count, 1), int), np.ones((count, 1))
    for k, x in zip(knots, at, strict=True):
        ends = (np.zeros(count, int), np.full(count, len(k) - 1))
        near, part, _ = four_nearest(k, x.ravel(), *ends)
        index = (index[:, :, None] * len(k) + near[:, None]).reshape(count, -1)
        weight = (weight[:, :, None] * part[:, None]).reshape(count, -1)
    starts = np.arange(count + 1) * index.shape[1]
    size = int(np.prod([len(k) for k in knots]))
    rows = sparse.csr_array((weight.ravel(), index.ravel(), starts), shape=(count, size))
    head = grid.shape[: grid.ndim - len(knots)]
    found = rows @ grid.reshape(-1, size).T
    return np.ascontiguousarray(found.T).reshape(*head, *shape)


def _edges_out(strips: _Strips) -> Floats:
    """Give how far both edges may be out, square to themselves, (K, P, n, 2)."""
    bent = _turned(strips)
    middle = strips.flat[:, :, 1]
    step = np.diff(middle, axis=1)
    turn = (bent.turn[..., 1:] + bent.turn[..., :-1]) / 2
    grown = bent.longer[..., None] * step + turn[..., None] * _square(step)
    moved = np.concatenate([np.zeros_like(grown[:, :, :1]), np.cumsum(grown, axis=2)], axis=2)
    sides = []
    for k, wider in zip((0, 2), bent.wider, strict=True):
        across = strips.flat[:, :, k] - middle
        sides.append(moved + wider[..., None] * across + bent.across[..., None] * _square(across))
    return _laid_best(strips.flat[:, :, [0, 2]], np.stack(sides, axis=3))


@dataclass(frozen=True, eq=False)
class _Bent:
    """What the moves do.

    longer : (K, P, n - 1) of the middle's steps; turn, across : (K, P, n) rad, of the middle and of
    the lines across; wider : (K, P, n) of the lower and the upper half
    """

    longer: Floats
    turn: Floats
    across: Floats
    wider: tuple[Floats, Floats]


def _turned(strips: _Strips) -> _Bent:
    xyz, move = strips.xyz, strips.move
    step = np.diff(xyz, axis=1)
    length = np.linalg.norm(step, axis=-1)
    longer = np.sum(np.diff(move, axis=2) * step, axis=-1) / length**2
    run = np.gradient(np.concatenate([0 * length[:, :1], length.cumsum(axis=1)], axis=1), axis=1)
    run = run[:, :, 1]
    ahead = unit(np.gradient(xyz[:, :, 1], axis=1))
    over = xyz[:, :, 2] - xyz[:, :, 0]
    wide = np.maximum(np.linalg.norm(over, axis=-1), NARROW * strips.wide_mm)
    over = over / wide[..., None]
    cosine = np.sum(ahead * over, axis=-1)
    sine = np.maximum(np.sqrt(np.maximum(1 - cosine**2, 0.0)), LEAST_SINE)
    by_run = np.gradient(move[:, :, :, 1], axis=2) / run[..., None]
    by_width = (move[:, :, :, 2] - move[:, :, :, 0]) / wide[..., None]
    along, across = np.sum(by_run * ahead, axis=-1), np.sum(by_width * over, axis=-1)
    shear = np.sum(by_run * over, axis=-1) + np.sum(by_width * ahead, axis=-1)
    square = (shear - 2 * cosine * along) / sine
    at_lines = _at_lines(longer)
    rise = (at_lines[..., 2] - at_lines[..., 0]) / wide
    slope = (rise - cosine * np.gradient(at_lines[..., 1], axis=2) / run) / sine
    turn = square - square[..., :1] - _summed(slope, length[:, :, 1])
    lean = -(shear - cosine * (along + across)) / sine
    return _Bent(longer[..., 1], turn, turn + lean, _halves_wider(strips))


def _halves_wider(strips: _Strips) -> tuple[Floats, Floats]:
    """Give by how much the lower and the upper half are wider, of their width."""
    xyz, move = strips.xyz, strips.move
    found = []
    for low, high in ((0, 1), (1, 2)):
        way = xyz[:, :, high] - xyz[:, :, low]
        size = np.maximum(np.sum(way**2, axis=-1), (NARROW * strips.wide_mm / 2) ** 2)
        found.append(np.sum((move[:, :, :, high] - move[:, :, :, low]) * way, axis=-1) / size)
    return found[0], found[1]


def _at_lines(steps: Floats) -> Floats:
    """Give what is known of the steps (K, P, n - 1, r) at the lines between them."""
    inner = (steps[:, :, 1:] + steps[:, :, :-1]) / 2
    return np.concatenate([steps[:, :, :1], inner, steps[:, :, -1:]], axis=2)


def _summed(values: Floats, length: Floats) -> Floats:
    """Sum values at the lines (K, P, n) along the plank from its fore end."""
    parts = (values[..., 1:] + values[..., :-1]) / 2 * length
    return np.concatenate([np.zeros_like(parts[..., :1]), np.cumsum(parts, axis=-1)], axis=-1)


def _square(way: Floats) -> Floats:
    """Turn (..., 2) by a right angle, from x to y."""
    return np.stack([-way[..., 1], way[..., 0]], axis=-1)


def _laid_best(edges: Floats, moved: Floats) -> Floats:
    """Take off a pattern's own shift and turn; give what is left square to the edges.

    edges (P, n, 2, 2), moved (K, P, n, 2, 2); gives (K, P, n, 2).
    """
    middle = edges - edges.mean(axis=(1, 2), keepdims=True)
    left = moved - moved.mean(axis=(2, 3), keepdims=True)
    arm = _square(middle)
    turn = np.sum(arm * left, axis=(2, 3, 4)) / np.sum(arm**2, axis=(1, 2, 3))
    left = left - turn[:, :, None, None, None] * arm
    return np.asarray(np.sum(left * _square(unit(np.gradient(edges, axis=1))), axis=-1), float)


def _bevels_out(strips: _Strips, at: Places, plank_strake: Ints, top: int) -> Floats:
    """Give how far the bevels of both edges may be out at the crossings, (K, Q, 2); NaN: given."""
    ends = [0, 2]
    square = np.sum(strips.move * strips.normal, axis=-1)[..., ends]
    edge = _between(strips.xyz[:, :, ends], at, (0, 1))
    over = edge[:, 1] - edge[:, 0]
    ahead = unit(_between(np.gradient(strips.xyz[:, :, 1:2], axis=1), at, (0,))[:, 0])
    wide = np.linalg.norm(over - np.sum(over * ahead, axis=-1)[:, None] * ahead, axis=-1)
    low, high = (
        np.moveaxis(_between(np.moveaxis(square[..., k], 0, -1)[:, :, None], at, (k,))[:, 0], -1, 0)
        for k in (0, 1)
    )
    lean = (high - low) / np.maximum(wide, NARROW * strips.wide_mm)
    strake = plank_strake[at.plank]
    same = SAME * strips.wide_mm
    above = _beside(strake, at.frame, edge[:, 1], edge[:, 0], same)
    below = _beside(-strake, at.frame, edge[:, 0], edge[:, 1], same)
    out = np.stack([_half(lean, below), _half(lean, above)], axis=-1)
    out[:, strake == 0, 0] = np.nan
    out[:, strake == top, 1] = np.nan
    return out


def _beside(rank: Ints, frame: Ints, edge: Floats, other: Floats, same_mm: float) -> Ints:
    """Give the crossing of higher rank whose `other` edge lies on each one's `edge`; else -1."""
    found = np.full(len(rank), -1)
    for one in np.unique(frame):
        here = np.flatnonzero(frame == one)
        gap = np.linalg.norm(edge[here][:, None] - other[here][None], axis=-1)
        gap[rank[here][:, None] >= rank[here][None]] = np.inf
        near = gap.argmin(axis=1)
        close = gap[np.arange(len(here)), near] < same_mm
        found[here[close]] = here[near[close]]
    return found


def _half(lean: Floats, beside: Ints) -> Floats:
    """Give half of what faces turn against those beside them, (K, Q); NaN where none is known."""
    return np.where(beside >= 0, (lean - lean[:, np.maximum(beside, 0)]) / 2, np.nan)


def _between(grid: Floats, at: Places, rows: Sequence[int]) -> Floats:
    """Read a grid (P, n, r, ...) where the frames cross its rows, (Q, r, ...).

    Row 0 of two is the lower edge and row 1 the upper.
    """
    edge = [0 if row == 0 else -1 for row in rows]
    place = np.clip(at.place[:, edge] / EVERY, 0.0, grid.shape[1] - 1.0)
    low = np.minimum(place.astype(int), grid.shape[1] - 2)
    part = (place - low).reshape(*place.shape, *(1,) * (grid.ndim - 3))
    plank, row = at.plank[:, None], np.arange(len(rows))
    return np.asarray(grid[plank, low, row] * (1 - part) + grid[plank, low + 1, row] * part, float)
