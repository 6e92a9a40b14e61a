"""Looking over planks wished out of one board or book-matched: where both sides lie.

Book-matched are two planks whose boards are numbered next to each other in one log, and whose
dressed rings lie over each other, point on point, when the boards are laid so again: butt to butt,
middle to middle, each with the face up that looked to leaf 1. Nothing of the search is used.

Not checked: that the boards were sawn as they are numbered.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping, Sequence

import numpy as np

from ribband.findings import Finding, Severity
from ribband.hull.model import Floats
from ribband.numerics.polygons import clipped, laid_out
from ribband.timber.board_model import Board, Cut, Piece

__all__ = ["unmatched"]

NEAR = 1.5  # mm between points that lie over each other
PLACES = 200  # along two boards, at which their middles are measured


def unmatched(
    piece_of: Mapping[str, Piece],
    board_of: Mapping[str, Board],
    cuts: Sequence[Cut],
    wishes: Collection[tuple[str, str]],
    claimed: Collection[str],
) -> Iterator[Finding]:
    """Find planks that do not lie as they are wished with their other side (T133).

    A fault where they are said to lie so, else a caution.
    """
    on = {cut.plank: cut for cut in cuts}
    for port in sorted(p for p in piece_of if p.startswith("P")):
        starboard, wish = "S" + port[1:], _wish(port, wishes)
        if not wish or starboard not in piece_of:
            continue
        both = [on[name] for name in (port, starboard) if name in on]
        says = _apart(both, piece_of, board_of, wish)
        if says:
            severity = Severity.FAULT if {port, starboard} & set(claimed) else Severity.CAUTION
            yield Finding("T133", severity, "timber", f"planks {port} and {starboard}", says)


def _wish(port: str, wishes: Collection[tuple[str, str]]) -> str:
    """Give what is wished of a plank: by its name on either side, else by its strake's."""
    said = {name.strip().upper(): wish for wish, name in wishes}
    place = port[1:].upper()
    names = (f"P{place}", f"S{place}", place, place[: place.rindex("-")])
    return next((said[name] for name in names if name in said), "")


def _apart(
    both: Sequence[Cut], piece_of: Mapping[str, Piece], board_of: Mapping[str, Board], wish: str
) -> str:
    """Say what is wrong; empty where they lie as wished."""
    if len(both) < 2:
        return "wished together, and not both are laid"
    boards = [board_of[cut.board] for cut in both]
    if wish == "pair":
        one = boards[0].name == boards[1].name
        return "" if one else f"not out of one board: {boards[0].name} and {boards[1].name}"
    logs = {board.log.casefold() for board in boards}
    if len(logs) > 1 or not all(b.leaf for b in boards) or abs(_leaves(boards)) != 1:
        return f"{boards[0].name} and {boards[1].name} were not next to each other in a log"
    rings = [
        laid_out(piece_of[c.plank].outline, c.flipped, c.turn_rad, c.x_mm, c.y_mm) for c in both
    ]
    if rings[0].shape != rings[1].shape:
        return "not alike, so not book-matched"
    seen = [_as_in_log(board, ring) for board, ring in zip(boards, rings, strict=True)]
    off = _middle_off(boards)
    far = float(np.abs(seen[0] - seen[1] + [0.0, off]).max())
    return "" if far < NEAR else f"{far:.1f} mm from lying over each other in the log"


def _leaves(boards: Sequence[Board]) -> int:
    return boards[0].leaf - boards[1].leaf


def _as_in_log(board: Board, ring: Floats) -> Floats:
    """Give points as seen from leaf 1, from the butt of their board."""
    across = -ring[:, 1] if board.turned else ring[:, 1]
    return np.column_stack([ring[:, 0] - board.outline[:, 0].min(), across])


def _middle_off(boards: Sequence[Board]) -> float:
    """Give how far the middle of the second board lies over that of the first, in the mean."""
    seen = [_as_in_log(board, board.outline) for board in boards]
    long = min(float(ring[:, 0].max()) for ring in seen)
    offs = []
    for x in (np.arange(PLACES) + 0.5) * long / PLACES:
        strips = [clipped(ring, x - 0.1, x + 0.1)[:, 1] for ring in seen]
        middle = [(strip.min() + strip.max()) / 2 for strip in strips]
        offs.append(middle[1] - middle[0])
    return float(np.mean(offs))
