"""Many tickets as one PDF, with bookmarks by side and strake."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import groupby
from pathlib import Path

from ribband.drawing import pdf
from ribband.drawing.sheet import Sheet

__all__ = ["write"]


def write(tickets: Iterable[Sheet], path: Path) -> Path:
    """Write tickets (sheets of `ticket`, in the order wanted) to one PDF.

    A bookmark to each strake, and under it one to each plank. The same tickets give the same
    bytes.

    Raises
    ------
    ValueError : no tickets
    """
    from reportlab import rl_config  # noqa: PLC0415 - heavy, only when printing
    from reportlab.pdfgen.canvas import Canvas  # noqa: PLC0415

    rl_config.useA85 = 0  # plain bytes: writing them as letters takes long
    sheets = list(tickets)
    if not sheets:
        raise ValueError("at least one ticket")
    canvas = Canvas(str(path), invariant=1, pageCompression=1)
    canvas.setTitle(f"{sheets[0].title.vessel}: plank tickets")
    canvas.setAuthor(sheets[0].title.yard or "Ribband")
    canvas.setCreator("Ribband")
    for (side, strake), group in groupby(sheets, key=_strake):
        for n, sheet in enumerate(group):
            canvas.setPageSize((sheet.page.width_mm * pdf.MM, sheet.page.height_mm * pdf.MM))
            key = f"ticket-{canvas.getPageNumber()}"
            canvas.bookmarkPage(key)
            if n == 0:
                canvas.bookmarkPage(f"strake-{key}")
                canvas.addOutlineEntry(f"{side}, strake {strake}", f"strake-{key}", 0, closed=True)
            if sheet.number == 1:
                canvas.addOutlineEntry(sheet.name, key, 1)
            pdf.draw(canvas, sheet)
            canvas.showPage()
    canvas.save()
    return path


def _strake(sheet: Sheet) -> tuple[str, str]:
    """Give side and strake of a plank by its name: side's letter, strake, number."""
    return sheet.title.side, sheet.name[1:].rpartition("-")[0]
