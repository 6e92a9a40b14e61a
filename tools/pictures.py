"""Make the pictures of the README from the demo: python tools/pictures.py DEMO [FOLDER].

DEMO is the folder that `ribband demo` wrote. Nothing is drawn here; pages of its PDFs are
rendered to PNG.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pypdfium2

OCTREE = 2  # the way of choosing colours, as the imaging library numbers it
PICTURES = Path(__file__).parents[1] / "docs" / "pictures"
WIDE = 1400  # pixels


def render(pdf: Path, page: int, png: Path, wide: int = WIDE) -> None:
    """Render one page, `wide` pixels across, in few colours so that the file stays small."""
    sheet = pypdfium2.PdfDocument(pdf)[page]
    image = sheet.render(scale=wide / sheet.get_width()).to_pil()
    few = image.convert("RGB").quantize(128, method=OCTREE, dither=0)  # keeps the rare reds
    few.save(png, optimize=True)


def main(demo: Path, folder: Path = PICTURES) -> None:
    """Render the drawings, the book's cover and a plank's ticket."""
    folder.mkdir(parents=True, exist_ok=True)
    (book,) = demo.glob("*planking book.pdf")
    for name in ("expansion", "lines", "body"):
        render(demo / "drawings" / f"{name}.pdf", 0, folder / f"{name}.png")
    render(book, 0, folder / "book.png", WIDE // 2)
    (tickets,) = demo.glob("*tickets.pdf")
    render(tickets, 18, folder / "ticket.png", WIDE // 2)


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
