"""The drawing board a view works on: items gathered at a known scale, lettering kept apart.

A view speaks full-size millimetres for the hull and paper millimetres for lettering; the board
goes between the two. `Setting` is what the one who asks for a drawing may choose.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from ribband.drawing.labels import Labels, text_box
from ribband.drawing.sheet import Box, Item, Mark, Page, Point, Text, Title
from ribband.hull.model import Hull
from ribband.units import UNITS

__all__ = ["Board", "Setting", "titled"]


@dataclass(frozen=True, slots=True)
class Setting:
    """How a drawing is set out.

    scale : "fit" (the largest standard scale that goes on one sheet) or such as "1:20"
    girth_scale : "fit" (girths drawn larger than lengths where there is room), "same", or a scale
    side : the side drawn; starboard has the bow to the right, port to the left
    """

    page: Page = field(default_factory=lambda: Page.of("A3"))
    scale: float | str = "fit"
    girth_scale: float | str = "fit"
    side: Literal["port", "starboard"] = "starboard"
    date: str = ""
    revision: str = ""
    overlap_mm: float = 15.0


def measured_to(hull: Hull) -> str:
    """Say what she was measured to, and whether the planking is taken off."""
    if hull.particulars.measured_to == "frame":
        return "the frames"
    taken_off = hull.in_space and hull.particulars.planking_mm > 0
    return "the planking, deducted" if taken_off else "the planking, not deducted"


def titled(hull: Hull, drawing: str, setting: Setting, side: str = "") -> Title:
    """Give the title block of a drawing of `hull`; `side` as it is to be said, or empty."""
    p = hull.particulars
    return Title(
        vessel=p.vessel,
        drawing=drawing,
        yard=p.yard,
        date=setting.date,
        revision=setting.revision,
        side=side,
        unit=UNITS[p.unit].says if p.unit in UNITS else p.unit,
        measured=f"to {measured_to(hull)}",
    )


@dataclass(slots=True)
class Board:
    """A view in the making."""

    scale: float
    scale_up: float
    items: list[Item] = field(default_factory=list)
    labels: Labels = field(default_factory=Labels)

    def paper(self, at: Point) -> Point:
        """Give paper millimetres (from the drawing's own zero) for a full-size point."""
        return at[0] * self.scale, at[1] * self.scale_up

    def full(self, at: Point) -> Point:
        """Give the full-size point for paper millimetres."""
        return at[0] / self.scale, at[1] / self.scale_up

    def draw(self, *items: Item) -> None:
        """Add items as they are; nothing is kept out of their way."""
        self.items += items

    def mark(self, mark: Mark) -> None:
        """Add a mark and keep lettering off it."""
        self.items.append(mark)
        x, y = self.paper(mark.at)
        r = mark.size_mm / 2
        self.labels.take(Box(x - r, y - r, x + r, y + r))

    def letter(self, text: Text) -> None:
        """Add lettering where it stands (full size) and keep others off it."""
        self.items.append(text)
        self.labels.take(text_box(text, self.paper(text.at)))

    def place(self, text: Text, places: Sequence[Point] | Iterable[Point]) -> bool:
        """Letter `text` at the first free of `places` (paper mm); False if there is none."""
        placed = self.labels.place(text, list(places))
        if placed:
            self.items.append(replace(placed, at=self.full(placed.at)))
        return placed is not None
