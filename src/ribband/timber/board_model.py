"""Boards as tallied, and planks laid on them.

*Axes of a board.* x along the board from its butt end, y across from its lower edge as it lies
with the marked face up; the grain is taken along x. An *outline* runs round the board once; a
*flaw* is an area no plank may cover, unless its kind is allowed on a hidden edge.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

import numpy as np

from ribband.findings import Finding
from ribband.hull.model import Floats

__all__ = [
    "MEASURED_MM",
    "Board",
    "Cut",
    "Flaw",
    "Laying",
    "Piece",
    "names_said",
    "same_piece",
    "thick_enough",
]

MOST_NAMED = 12
SAME_MM = 1e-6
MEASURED_MM = 0.05  # of a thickness planed to; less is not measured


def names_said(names: Sequence[str]) -> str:
    """List boards, the first dozen by name.

    >>> names_said(["A7", "A9"]), names_said([str(n) for n in range(20)])[-13:]
    ('A7, A9', '11 and 8 more')
    """
    more = f" and {len(names) - MOST_NAMED} more" if len(names) > MOST_NAMED else ""
    return ", ".join(names[:MOST_NAMED]) + more


@dataclass(frozen=True, slots=True, eq=False)
class Flaw:
    """A flaw: its kind as named on the tally ("knot", "sap", "check", "shake", "wane"), and ring.

    ring : (n, 2) corners in order round it, mm
    """

    kind: str
    ring: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Board:
    """A rough board as it lies in the stack.

    outline : (n, 2) corners in order round it, mm; price per board, in the yard's own money
    bow_mm : how far it is bowed along its length; cut : "flat", "quarter" or "" where not known
    state : "sound", "barred" (not to be used) or "spoilt"
    face : the face the flaws were tallied on, "heart" or "bark", or "" where not known
    lost_mm : what drying and planing both faces take off its thickness; 0 where nobody asks
    log, leaf : the tree's log it was sawn from, and its number in it as it came off the saw; "" and
        0 where not known. turned : its marked face is the one away from leaf 1
    """

    name: str
    outline: Floats
    thickness_mm: float
    species: str = ""
    moisture_percent: float | None = None
    flaws: tuple[Flaw, ...] = ()
    live_edges: bool = False
    bow_mm: float = 0.0
    cut: Literal["", "flat", "quarter"] = ""
    price: float | None = None
    lies: str = ""
    state: Literal["sound", "barred", "spoilt"] = "sound"
    notes: str = ""
    face: Literal["", "heart", "bark"] = ""
    lost_mm: float = 0.0
    log: str = ""
    leaf: int = 0
    turned: bool = False


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A plank to be got out: its flat outline with what it needs of a board.

    outline : (n, 2) the flat shape, closed by its first point, x along the batten line
    planks : names of the planks got out to this shape, port as drawn ("P7-2"), starboard turned
        over ("S7-2"); each is one to be laid
    allowance_mm : left on every edge; end_allowance_mm on each end
    thickness_mm : least rough thickness; may_flip : either face may be up
    planed_mm : what it is planed to before it is backed out; 0 where not known
    """

    name: str
    outline: Floats
    planks: tuple[str, ...]
    thickness_mm: float
    allowance_mm: float = 0.0
    end_allowance_mm: float = 0.0
    may_flip: bool = True
    planed_mm: float = 0.0


def same_piece(one: Piece, two: Piece) -> bool:
    """Tell whether two pieces want the same of a board, whatever they are called.

    An outline reckoned again may differ in its last places, and is the same all the same.
    """
    figures = ("thickness_mm", "allowance_mm", "end_allowance_mm", "may_flip")
    return (
        all(getattr(one, f) == getattr(two, f) for f in figures)
        and abs(one.planed_mm - two.planed_mm) <= MEASURED_MM
        and one.outline.shape == two.outline.shape
        and np.allclose(one.outline, two.outline, rtol=0.0, atol=SAME_MM)
    )


def thick_enough(board: Board, piece: Piece) -> bool:
    """Tell whether a board is as thick as a plank wants, rough and when it has been planed.

    >>> import numpy as np
    >>> from dataclasses import replace
    >>> hollow = Piece("7-2", np.zeros((3, 2)), ("P7-2",), 45.0, planed_mm=42.0)
    >>> board = Board("A7", np.zeros((3, 2)), 48.0)
    >>> thick_enough(board, hollow), thick_enough(replace(board, lost_mm=6.4), hollow)
    (True, False)
    """
    rough = board.thickness_mm >= piece.thickness_mm - 1e-9
    return rough and board.thickness_mm - board.lost_mm >= piece.planed_mm - MEASURED_MM


@dataclass(frozen=True, slots=True)
class Cut:
    """Where a plank lies: mirror its flat shape in its x axis if flipped, turn, then shift."""

    plank: str
    board: str
    flipped: bool
    turn_rad: float
    x_mm: float
    y_mm: float


@dataclass(frozen=True, slots=True, eq=False)
class Laying:
    """The result: cuts, what found no board, the timber used and the bound on it.

    `used_m3` is the timber of the boards cut into, less off-cuts kept; `yield_part` the planks'
    rough volume over it; `bound_m3` the least timber any laying could use, proved; `gap` the
    distance between them as a part of the bound. `cost` is the price of what is used where every
    board cut into has one, in the yard's own money, and `cost_bound` the least it could be; None
    where prices are not known of all boards.
    offcuts : boards left over, long enough for another plank, after their board ("A7/1"); on
        papers and tables they are called as `retallied` marks them ("A7a")
    """

    cuts: tuple[Cut, ...]
    unlaid: tuple[str, ...]
    used_m3: float
    yield_part: float
    bound_m3: float
    gap: float
    seconds: float
    seed: int
    offcuts: tuple[Board, ...] = ()
    findings: tuple[Finding, ...] = ()
    cost: float | None = None
    cost_bound: float | None = None
