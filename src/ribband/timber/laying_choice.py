"""Which boards of the pile may be cut into, and what a board's timber counts.

*Rate*: what a cubic millimetre of a board counts when least is looked for: by its price over the
mean price of the pile where every board has one, else 1 for all, so that rates are near 1 either
way. A board of another timber than the planking's is left alone unless the rule allows it; one
wetter than the rule's limit too. What is not tallied is let pass, and that is said.

Not checked: whether a price is fair, whether the timber is what the tally calls it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence

import numpy as np

from ribband.findings import Finding, Severity
from ribband.numerics.polygons import enclosed_area
from ribband.numerics.profiles import Floats
from ribband.timber.board_model import Board
from ribband.timber.laying_rules import LayingRules

__all__ = ["chosen", "cost_of", "rates", "said_of_boards"]


def chosen(boards: Sequence[Board], rules: LayingRules, timber: str = "") -> list[Board]:
    """Give the boards that may be cut into: sound, of the timber wanted, dry enough.

    timber : the planking's; empty where any will do
    """
    return [b for b in boards if b.state == "sound" and not _why_not(b, rules, timber)]


def _why_not(board: Board, rules: LayingRules, timber: str) -> str:
    """Say why a sound board is left alone; empty where it is not."""
    if _another(board, timber) and not rules.other_timber:
        return f"is {board.species}, not {timber}"
    wet = board.moisture_percent
    if rules.wettest_percent > 0 and wet is not None and wet > rules.wettest_percent:
        return f"is at {wet:g} % moisture, over {rules.wettest_percent:g}"
    return ""


def _another(board: Board, timber: str) -> bool:
    """Tell whether a board is known to be of another timber; by name, one name may say more."""
    has, wants = (set(name.lower().split()) for name in (board.species, timber))
    return bool(has and wants and not (has <= wants or wants <= has))


def rates(boards: Sequence[Board]) -> Floats:
    """Give what the timber of each board counts, (n,).

    >>> ring = np.array([[0, 0], [1000, 0], [1000, 100], [0, 100.0]])
    >>> rates([Board("A1", ring, 50.0, price=30.0), Board("A2", ring, 50.0, price=10.0)])
    array([1.5, 0.5])
    >>> rates([Board("A1", ring, 50.0, price=30.0), Board("A2", ring, 50.0)])
    array([1., 1.])
    """
    if not boards or any(b.price is None or b.price <= 0 for b in boards):
        return np.ones(len(boards))
    volume = np.array([enclosed_area(b.outline) * b.thickness_mm for b in boards])
    price = np.array([float(b.price or 0.0) for b in boards])
    return np.asarray(price / volume * volume.sum() / price.sum())


def cost_of(
    boards: Sequence[Board], cut_into: Collection[str], kept: Sequence[Board]
) -> float | None:
    """Give the price of the boards cut into less that of the ends kept; None if not all known.

    An end kept counts by its part of its board's face.
    """
    used = {b.name: b for b in boards if b.name in cut_into}
    if not used or any(b.price is None for b in used.values()):
        return None
    whole = sum(b.price or 0.0 for b in used.values())
    for end in kept:
        board = used[end.name.rpartition("/")[0]]
        part = enclosed_area(end.outline) / enclosed_area(board.outline)
        whole -= (board.price or 0.0) * part
    return whole


def said_of_boards(
    boards: Sequence[Board], cut_into: Collection[str], rules: LayingRules, timber: str = ""
) -> list[Finding]:
    """Say which boards were left alone and why, and what is doubtful of those cut into."""
    found = []
    for board in boards:
        why = _why_not(board, rules, timber) if board.state == "sound" else ""
        if why:
            found.append(_said("T118", Severity.NOTE, board.name, f"left alone: it {why}"))
    used = [b for b in boards if b.name in cut_into]
    for board in used:
        if timber and not board.species:
            says = f"cut into for {timber}, but its species is not tallied"
            found.append(_said("T119", Severity.CAUTION, board.name, says))
        elif _another(board, timber):
            says = (
                f"{board.species}, cut into for planking of {timber}: it moves and lasts otherwise"
            )
            found.append(_said("T119", Severity.CAUTION, board.name, says))
    kinds = sorted({b.species.lower() for b in used if b.species})
    if not timber and len(kinds) > 1:
        says = f"planks come from boards of {', '.join(kinds)}; sort the pile or name the timber"
        found.append(Finding("T128", Severity.CAUTION, "timber", "the pile", says))
    priced = [b for b in boards if b.price is not None]
    if priced and len(priced) < len(boards):
        lack = f"{len(boards) - len(priced)} of {len(boards)} boards have no price"
        says = f"{lack}, so least timber was looked for, not least money"
        found.append(Finding("T129", Severity.NOTE, "timber", "the pile", says))
    return found


def _said(code: str, severity: Severity, name: str, says: str) -> Finding:
    return Finding(code, severity, "timber", f"board {name}", says)
