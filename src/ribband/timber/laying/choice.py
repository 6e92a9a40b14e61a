"""Which boards of the pile may be cut into, and what a board's timber counts.

*Rate*: what a cubic millimetre of a board counts when least is looked for: by its price over the
mean price of the pile where every board has one, else 1 for all, so that rates are near 1 either
way. A board of another timber than the planking's is left alone unless the rule allows it; one
wetter than the rule's limit too. What is not tallied is let pass, and that is said.

Not checked: whether a price is fair, whether the timber is what the tally calls it.
"""

from __future__ import annotations

from collections.abc import Collection, Sequence
from dataclasses import replace

import numpy as np

from ribband.findings import Finding, Severity
from ribband.numerics.polygons import enclosed_area
from ribband.numerics.profiles import Floats
from ribband.timber.board_model import Board, Laying, names_said
from ribband.timber.laying.rules import LayingRules
from ribband.timber.model import FIBRE_SATURATION
from ribband.timber.species import another_timber, species_named

__all__ = ["by_price", "chosen", "cost_of", "rates", "said_of_boards", "why_left",
           "with_boards_said"]  # fmt: skip


def chosen(boards: Sequence[Board], rules: LayingRules, timber: str = "") -> list[Board]:
    """Give the boards that may be cut into: sound, of the timber wanted, dry enough.

    timber : the planking's; empty where any will do
    """
    return [b for b in boards if b.state == "sound" and not why_left(b, rules, timber)]


def why_left(board: Board, rules: LayingRules, timber: str) -> str:
    """Say why a sound board is left alone; empty where it is not."""
    if another_timber(board.species, timber) and not rules.other_timber:
        return f"is {board.species}, not {timber}"
    wet = board.moisture_percent
    if rules.wettest_percent > 0 and wet is not None and wet > rules.wettest_percent:
        return f"is at {wet:g} % moisture, over {rules.wettest_percent:g}"
    return ""


def by_price(boards: Sequence[Board]) -> bool:
    """Tell whether least money can be looked for: every board has a price."""
    return bool(boards) and all(b.price is not None and b.price > 0 for b in boards)


def rates(boards: Sequence[Board]) -> Floats:
    """Give what the timber of each board counts, (n,).

    >>> ring = np.array([[0, 0], [1000, 0], [1000, 100], [0, 100.0]])
    >>> rates([Board("A1", ring, 50.0, price=30.0), Board("A2", ring, 50.0, price=10.0)])
    array([1.5, 0.5])
    >>> rates([Board("A1", ring, 50.0, price=30.0), Board("A2", ring, 50.0)])
    array([1., 1.])
    """
    if not by_price(boards):
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


def with_boards_said(
    laying: Laying, boards: Sequence[Board], rules: LayingRules, timber: str = ""
) -> Laying:
    """Add to a laying what is to be said of the boards."""
    said = said_of_boards(boards, {cut.board for cut in laying.cuts}, rules, timber)
    return replace(laying, findings=(*laying.findings, *said))


def said_of_boards(
    boards: Sequence[Board], cut_into: Collection[str], rules: LayingRules, timber: str = ""
) -> list[Finding]:
    """Say which boards were left alone and why, and what is doubtful of those cut into.

    T118 a board left alone; T119 boards cut into of another timber, or of none tallied; T125
    green boards cut into; T128 boards of several timbers where none is told; T129 prices known of
    some boards only.
    """
    used = [b for b in boards if b.name in cut_into]
    return [
        *_left_alone(boards, rules, timber),
        *_doubtful(used, timber),
        *_green(used),
        *([] if timber else _mixed(used)),
        *_half_priced(chosen(boards, rules, timber)),
    ]


def _left_alone(boards: Sequence[Board], rules: LayingRules, timber: str) -> list[Finding]:
    why = {b.name: why_left(b, rules, timber) for b in boards if b.state == "sound"}
    return [
        Finding("T118", Severity.NOTE, "timber", f"board {name}", f"left alone: it {says}")
        for name, says in why.items()
        if says
    ]


def _doubtful(used: Sequence[Board], timber: str) -> list[Finding]:
    """Say what of the boards cut into is not the planking's timber, or not known to be."""
    found = [
        _caution(
            "T119",
            f"board {b.name}",
            f"{b.species}, cut into for planking of {timber}: it moves and lasts otherwise",
        )
        for b in used
        if another_timber(b.species, timber)
    ]
    untold = [b.name for b in used if timber and not b.species]
    if untold:
        says = f"cut into for {timber}, but the species is not tallied"
        found.append(_caution("T119", _named(untold), says))
    return found


def _green(used: Sequence[Board]) -> list[Finding]:
    """Say which boards cut into are above fibre saturation: planks are laid on them as tallied."""
    wet = [b.name for b in used if (b.moisture_percent or 0.0) >= FIBRE_SATURATION]
    if not wet:
        return []
    says = "cut into though green: dry the board first, for planks got out of it now shrink"
    why = "laid on boards as tallied; laying.wettest_percent leaves wet ones alone"
    return [Finding("T125", Severity.CAUTION, "timber", _named(wet), says, why)]


def _mixed(used: Sequence[Board]) -> list[Finding]:
    kinds = sorted({_called(b.species) for b in used if b.species})
    if len(kinds) < 2:
        return []
    says = f"planks come from boards of {', '.join(kinds)}; sort the pile or name the timber"
    return [_caution("T128", "the pile", says)]


def _half_priced(boards: Sequence[Board]) -> list[Finding]:
    lack = sum(not b.price for b in boards)
    if lack in {0, len(boards)}:
        return []
    has = "has" if lack == 1 else "have"
    says = f"{lack} of {len(boards)} boards {has} no price, so least timber was looked for, "
    return [Finding("T129", Severity.NOTE, "timber", "the pile", says + "not least money")]


def _called(name: str) -> str:
    """Give the one name of a timber that goes by several."""
    kind = species_named(name)
    return name.lower() if kind is None else kind.name


def _named(names: Sequence[str]) -> str:
    return f"board{'s' if len(names) > 1 else ''} {names_said(names)}"


def _caution(code: str, where: str, says: str) -> Finding:
    return Finding(code, Severity.CAUTION, "timber", where, says)
