"""Two boards sawn next to each other from one log, laid over each other as they lay in it.

*Leaf*: a board of a log by its number, as it came off the saw. *In the log*: seen from the side of
leaf 1, x from the butt, y across; a leaf tallied on its other face is *turned* over for it. Leaves
lie butt to butt and middle to middle: by the mean of the middles of their breadth along what they
have in common.

One place sawn through both gives two planks that are each other's mirror image, like the pages of
an opened book: the faces that lay together are both outside or both inside.

Not checked: that the log was sawn as its leaves are numbered, that nothing was sawn off a butt
since, or that the middles of edged boards still lie over each other.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from ribband.hull.model import Floats
from ribband.numerics.profiles import columns, open_ring
from ribband.timber.board_model import Board, Cut, Flaw

__all__ = ["Book", "books", "common", "in_log", "on_leaf", "over_each_other"]

STEP, CLOSE = 10.0, 1e-3  # mm between the places looked at, and on either side of a corner
SAME_MM, SAME_RAD = 0.5, 1e-6  # nearer than this two cuts lie over each other
LEAST_MM = 1.0


@dataclass(frozen=True, slots=True, eq=False)
class Book:
    """Two leaves, the lower number first; `off_mm` brings the second middle over the first."""

    leaves: tuple[Board, Board]
    off_mm: float


def books(boards: Sequence[Board]) -> list[Book]:
    """Give every two boards next to each other in a log, by its name and their numbers."""
    own = {(b.log.casefold(), b.leaf): b for b in boards if b.leaf}
    pairs = [(b, own[log, n + 1]) for (log, n), b in sorted(own.items(), key=lambda kv: kv[0])
             if (log, n + 1) in own]  # fmt: skip
    return [Book(pair, _off(*pair)) for pair in pairs]


def on_leaf(book: Book, leaf: int, cut: Cut, plank: str) -> Cut:
    """Give a cut in the log as a cut of a plank on one of the leaves.

    >>> ring = np.array([[0.0, 0], [4000, 0], [4000, 300], [0, 300]])
    >>> one, two = Board("A1", ring, 50.0, leaf=1), Board("A2", ring, 50.0, leaf=2, turned=True)
    >>> book = Book((one, two), -300.0)
    >>> cut = on_leaf(book, 1, Cut("", "", False, 0.01, 60.0, 100.0), "S7-2")
    >>> (cut.board, cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm)
    ('A2', True, -0.01, 60.0, 200.0)
    """
    board, off = book.leaves[leaf], book.off_mm * leaf
    moved = replace(cut, plank=plank, board=board.name, x_mm=cut.x_mm + _butt(board),
                    y_mm=cut.y_mm + off)  # fmt: skip
    return _turned_over(moved) if board.turned else moved


def in_log(book: Book, leaf: int, cut: Cut) -> Cut:
    """Give where a cut on one of the leaves lies in the log."""
    board, off = book.leaves[leaf], book.off_mm * leaf
    seen = _turned_over(cut) if board.turned else cut
    return replace(seen, x_mm=seen.x_mm - _butt(board), y_mm=seen.y_mm - off)


def over_each_other(book: Book, one: Cut, two: Cut) -> bool:
    """Tell whether two cuts, the first on the first leaf, lie over each other in the log."""
    a, b = in_log(book, 0, one), in_log(book, 1, two)
    lean = abs((a.turn_rad - b.turn_rad + np.pi) % (2 * np.pi) - np.pi)
    near = np.hypot(a.x_mm - b.x_mm, a.y_mm - b.y_mm) <= SAME_MM
    return a.flipped == b.flipped and bool(near) and lean <= SAME_RAD


def common(book: Book) -> Board | None:
    """Give what is wood in both leaves as one board in the log, with the flaws of both.

    None where the leaves have nothing in common.
    """
    rings = [ring_in_log(book, leaf, board.outline) for leaf, board in enumerate(book.leaves)]
    ring = _both(*rings)
    if ring is None:
        return None
    one, two = book.leaves
    flaws = [Flaw(flaw.kind, ring_in_log(book, leaf, flaw.ring))
             for leaf, board in enumerate(book.leaves) for flaw in board.flaws]  # fmt: skip
    thick = min(one.thickness_mm, two.thickness_mm)
    left = min(b.thickness_mm - b.lost_mm for b in book.leaves)
    return replace(
        one, name=f"{one.name} and {two.name}", outline=ring, flaws=tuple(flaws),
        thickness_mm=thick, lost_mm=thick - left, live_edges=one.live_edges or two.live_edges,
        turned=False, price=None,
    )  # fmt: skip


def ring_in_log(book: Book, leaf: int, ring: Floats) -> Floats:
    """Give a ring on one of the leaves as it lies in the log, running the same way round."""
    board = book.leaves[leaf]
    sign = -1.0 if board.turned else 1.0
    seen = np.stack([ring[:, 0] - _butt(board), sign * ring[:, 1] - book.off_mm * leaf], axis=1)
    return seen[::-1] if board.turned else seen


def _turned_over(cut: Cut) -> Cut:
    """Give a cut as it is seen from the other face of its board."""
    turn = float((np.pi / 2 - cut.turn_rad) % (2 * np.pi) - np.pi / 2)
    return replace(cut, flipped=not cut.flipped, turn_rad=turn, y_mm=-cut.y_mm)


def _butt(board: Board) -> float:
    return float(board.outline[:, 0].min())


def _off(one: Board, two: Board) -> float:
    """Give how far across the middle of the second leaf lies from that of the first, as seen."""
    bare = Book((one, two), 0.0)
    rings = [open_ring(ring_in_log(bare, leaf, b.outline)) for leaf, b in enumerate(bare.leaves)]
    long = min(float(ring[:, 0].max()) for ring in rings)
    x = np.linspace(0.0, long, max(3, int(long / STEP)))
    middle = [np.mean(columns(ring, x), axis=0) for ring in rings]
    return float(np.mean(middle[1] - middle[0]))


def _both(one: Floats, two: Floats) -> Floats | None:
    """Give the ring of what lies in both of two rings, never more than that."""
    first = max(float(ring[:, 0].min()) for ring in (one, two))
    last = min(float(ring[:, 0].max()) for ring in (one, two))
    corners = np.concatenate([one[:, 0], two[:, 0]])
    x = np.concatenate([np.arange(first, last, STEP), corners, corners - CLOSE, corners + CLOSE])
    x = np.unique(np.clip(x, first, last))
    low, high = zip(*(columns(open_ring(ring), x) for ring in (one, two)), strict=True)
    floor, roof = np.maximum(*low), np.minimum(*high)
    begin, end = _longest(roof - floor > LEAST_MM)
    if end - begin < 2:
        return None
    x, floor, roof = x[begin:end], floor[begin:end], roof[begin:end]
    lower, upper = np.stack([x, floor], axis=1), np.stack([x, roof], axis=1)
    return np.concatenate([lower, upper[::-1]])


def _longest(good: np.ndarray) -> tuple[int, int]:
    """Give where the longest run of true ones begins, and where it has ended."""
    edge = np.flatnonzero(np.diff(np.concatenate([[0], good.astype(int), [0]])))
    runs = edge.reshape(-1, 2)
    best = runs[np.argmax(runs[:, 1] - runs[:, 0])] if len(runs) else (0, 0)
    return int(best[0]), int(best[1])
