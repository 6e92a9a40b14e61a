"""Butts and boards solved together: what it came to, against butts first and boards after."""

from __future__ import annotations

from dataclasses import dataclass

from ribband.butts.model import Layout
from ribband.timber.laid import Laid

__all__ = ["Figures", "Suited"]


@dataclass(frozen=True, slots=True)
class Figures:
    """What a layout of butts costs in timber; `bought_m3` is the order for what found no board."""

    planks: int
    butts: int
    unlaid: int
    boards: int
    used_m3: float
    bought_m3: float

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
