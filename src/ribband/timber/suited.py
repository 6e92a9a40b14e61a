"""Butts and boards solved together: what it came to, against butts first and boards after."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ribband.butts.goals import NAMES
from ribband.butts.model import Layout
from ribband.timber.board_model import Laying, Piece
from ribband.timber.laid import Laid
from ribband.timber.laying.choice import by_price, chosen

__all__ = ["Figures", "Suited", "goals_of", "lacking_m3", "money_of", "reached", "worse_goals"]

NOT_HELD = {NAMES[0], NAMES[1], NAMES[4]}  # rules relaxed, butts, stock length


@dataclass(frozen=True, slots=True)
class Figures:
    """What a layout of butts costs in timber; `bought_m3` is the order for what found no board.

    `used_money` and `bought_money` are in the yard's own money, None where prices are not known.
    `goals` are what the butts reach of the goals beside the rules, less being better; stock length
    is left out, for the two are laid out of other stock.
    """

    planks: int
    butts: int
    unlaid: int
    boards: int
    used_m3: float
    bought_m3: float
    used_money: float | None = None
    bought_money: float | None = None
    goals: tuple[tuple[str, float], ...] = ()

    @property
    def money(self) -> float | None:
        """Give what is used and bought in money, None where one of them is not known."""
        if self.used_money is None or self.bought_money is None:
            return None
        return self.used_money + self.bought_money

    @property
    def timber_m3(self) -> float:
        """Give the timber used and bought."""
        return self.used_m3 + self.bought_m3


@dataclass(frozen=True, slots=True, eq=False)
class Suited:
    """The best of the layouts tried, and the figures of it and of the one it is compared with.

    `layout` and `laid` are None where none was found that is better; `tried` counts layouts,
    `why` says what forbade those that do not keep the rules, and what would ease it.
    """

    before: Figures
    after: Figures
    layout: Layout | None
    laid: Laid | None
    tried: int
    seconds: float
    why: tuple[str, ...] = ()


def goals_of(layout: Layout) -> tuple[tuple[str, float], ...]:
    """Give the goals of butts, beside the rules and the count, that two layouts can be held by."""
    return tuple((g.name, g.value) for g in layout.goals if g.name not in NOT_HELD)


def worse_goals(before: Figures, after: Figures) -> tuple[tuple[str, float, float], ...]:
    """Give the goals that are kept worse after than before, with both figures.

    >>> one, two = (Figures(8, 2, 0, 4, 1.0, 0.0, goals=(("near butts", n),)) for n in (5.0, 12.0))
    >>> worse_goals(one, two), worse_goals(two, one)
    ((('near butts', 5.0, 12.0),), ())
    """
    now = dict(after.goals)
    return tuple(
        (name, was, now[name]) for name, was in before.goals if now.get(name, was) > was + 1e-6
    )


def money_of(laid: Laid) -> float | None:
    """Give the money's worth of the timber used; None unless every board it could be has a price.

    Where none was cut into, that is nothing.
    """
    if not by_price(chosen(laid.boards, laid.rules, laid.timber)):
        return None
    return laid.laying.cost if laid.laying.cuts else 0.0


def lacking_m3(laid: Laid) -> float:
    """Give the timber over all of the planks that found no board, m3."""
    rough = {plank: _over_all(piece) for piece in laid.pieces for plank in piece.planks}
    return sum(rough[plank] for plank in laid.laying.unlaid)


def reached(
    lacking: float, laying: Laying, money: float | None, mill: float | None, butts: int
) -> tuple[float, float, int]:
    """Give how good butts with their laying are, less being better.

    lacking : m3 of planks without a board; money : of the timber used; mill : money a cubic metre
        of planks lacking costs to buy. Where both are known all is weighed in money. Else what
        must be bought counts first, then money where boards have prices, else timber, then butts.

    >>> dear, cheap = (Laying((), (), used, 0, 0, 0, 0, 0) for used in (0.9, 1.0))
    >>> reached(0.0, cheap, 40.0, None, 20) < reached(0.0, dear, 90.0, None, 20)
    True
    >>> reached(0.1, cheap, 40.0, 300.0, 20) < reached(0.0, dear, 90.0, 300.0, 20)
    True
    """
    if money is not None and mill is not None:
        return 0.0, money + lacking * mill, butts
    return lacking, laying.used_m3 if money is None else money, butts


def _over_all(piece: Piece) -> float:
    """Give a plank's timber over all, m3."""
    long, wide = np.ptp(piece.outline, axis=0)
    size = (long + 2 * piece.end_allowance_mm) * (wide + 2 * piece.allowance_mm)
    return float(size * piece.thickness_mm / 1e9)
