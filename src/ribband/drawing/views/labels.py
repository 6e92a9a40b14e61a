"""Labels for the planks, on sheets of gummed labels of the usual sizes.

A *grid* is named by the size of one label in millimetres; the sheet it is on and how many go on it
come with it. Print at 100 %, and one sheet on plain paper first, held against the labels.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ribband.drawing.lettering import width_mm
from ribband.drawing.sheet import Item, Page, Sheet, Text, Title
from ribband.timber.milling import Label

__all__ = ["GRIDS", "Grid", "label_sheets"]

INSET = 4.0  # mm kept off the edge of a label, for the printer's slip


@dataclass(frozen=True, slots=True)
class Grid:
    """Labels on a sheet: paper, columns and rows, size of one, and the margins left and top, mm.

    `gap_mm` lies between columns.
    """

    paper: str
    across: int
    down: int
    wide_mm: float
    high_mm: float
    left_mm: float
    top_mm: float
    gap_mm: float = 0.0


GRIDS = {
    "105x74": Grid("A4", 2, 4, 105.0, 74.25, 0.0, 0.0),
    "105x57": Grid("A4", 2, 5, 105.0, 57.0, 0.0, 6.0),
    "99x68": Grid("A4", 2, 4, 99.1, 67.7, 4.65, 13.1, 2.5),
    "70x42": Grid("A4", 3, 7, 70.0, 42.3, 0.0, 0.45),
    "70x37": Grid("A4", 3, 8, 70.0, 37.0, 0.0, 0.5),
    "102x51": Grid("letter", 2, 5, 101.6, 50.8, 3.95, 12.7, 4.8),
}


def label_sheets(labels: Sequence[Label], grid: Grid, title: Title) -> tuple[Sheet, ...]:
    """Set labels out row by row, on as many sheets as they need.

    >>> nine = [Label("P7-2", ("Marl Heron",))] * 9
    >>> len(label_sheets(nine, GRIDS["105x74"], Title("x", "y")))
    2
    """
    per = grid.across * grid.down
    page = Page.of(grid.paper, landscape=False, margin_mm=0.0)
    parts = [labels[k : k + per] for k in range(0, len(labels), per)]
    return tuple(
        Sheet(
            "labels",
            page,
            title,
            (),
            tuple(_page(part, grid, page)),
            1.0,
            1.0,
            number=n,
            of=len(parts),
            to_scale=False,
        )
        for n, part in enumerate(parts, 1)
    )


def _page(labels: Sequence[Label], grid: Grid, page: Page) -> Iterator[Item]:
    for n, label in enumerate(labels):
        row, column = divmod(n, grid.across)
        left = grid.left_mm + column * (grid.wide_mm + grid.gap_mm)
        top = page.height_mm - grid.top_mm - row * grid.high_mm
        yield from _label(label, left + INSET, top - INSET, grid)


def _label(label: Label, left: float, top: float, grid: Grid) -> Iterator[Item]:
    """Letter one label: its name as large as goes, the lines under it as small as they must."""
    wide, high = grid.wide_mm - 2 * INSET, grid.high_mm - 2 * INSET
    name = min(high * 0.26, 12.0)
    yield Text("title", (left, top), label.plank, name, "left", "top", face="Sans-Semibold")
    pitch = (high - name - 2.0) / max(len(label.lines), 1)
    size = min(pitch * 0.58, 2.8)
    longest = max((width_mm(line, size) for line in label.lines), default=0.0)
    size = max(size * min(1.0, wide / max(longest, 1e-9)), 1.2)
    for k, line in enumerate(label.lines):
        y = top - name - 2.0 - k * pitch
        yield Text("notes", (left, y), line, size, "left", "top")
