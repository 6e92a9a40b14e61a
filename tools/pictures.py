"""Make every picture of the README and the handbook: python tools/pictures.py [FOLDER].

*Marl Heron* and the packet are planned in a folder that goes again; their sheets are rendered from
the PDFs the program writes, and the app's pages are photographed in the browser of the tests.
Nothing is drawn here.
"""

from __future__ import annotations

import io
import sys
from collections.abc import Mapping
from importlib import import_module
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import pypdfium2
from click.testing import CliRunner
from PIL import Image

from ribband.cli import cli

OCTREE = 2  # the way of choosing colours, as the imaging library numbers it
HOME = Path(__file__).parents[1]
PICTURES = HOME / "docs" / "pictures"
WIDE = 1400  # pixels of a sheet; a page of text has half of it
SHEETS: Mapping[str, tuple[str, int, int]] = {
    "expansion": ("demo/drawings/expansion.pdf", 0, WIDE),
    "lines": ("demo/drawings/lines.pdf", 0, WIDE),
    "body": ("demo/drawings/body.pdf", 0, WIDE),
    "book": ("demo/Marl Heron planking book.pdf", 0, WIDE // 2),
    "ticket": ("tickets.pdf", 0, WIDE // 2),
    "packet-lines": ("drawings/lines.pdf", 0, WIDE),
    "packet-expansion": ("drawings/expansion.pdf", 0, WIDE),
}
PAGES = {"app-measure": "/measure", "app-line-out": "/line-out"}
TICKET = "P7-2"


def main(folder: Path = PICTURES) -> None:
    """Plan both vessels, and make all pictures of them."""
    folder.mkdir(parents=True, exist_ok=True)
    with TemporaryDirectory() as named:
        work = Path(named)
        plan_both(work)
        for name, (pdf, page, wide) in SHEETS.items():
            render(work / pdf, page, folder / f"{name}.png", wide)
        photograph(work / "demo" / "Marl Heron.ribband", folder)


def plan_both(work: Path) -> None:
    """Make the demo, a ticket of hers, and two drawings of the packet."""
    heron, packet = work / "demo" / "Marl Heron", work / "packet"
    says("demo", "--out", work / "demo", "--no-open")
    says("tickets", heron, TICKET, "--out", work / "tickets.pdf")
    says("forms", work / "forms", "--example", "packet_1825")
    says("new", packet, work / "forms")
    says("rules", packet, "set", "butts.set", "lake-1866")
    for what in ("lines", "expansion"):
        says("draw", packet, what, "--out", work / "drawings")


def says(*words: object) -> None:
    """Run a command of ours.

    Raises
    ------
    RuntimeError : it did not end well
    """
    done = CliRunner().invoke(cli, [str(word) for word in words], prog_name="ribband")
    if done.exit_code not in {0, 1}:  # 1: done, with faults found
        raise RuntimeError(done.output)


def render(pdf: Path, page: int, png: Path, wide: int = WIDE) -> None:
    """Render one page, `wide` pixels across."""
    sheet = pypdfium2.PdfDocument(pdf)[page]
    keep(sheet.render(scale=wide / sheet.get_width()).to_pil(), png)


def photograph(job: Path, folder: Path) -> None:
    """Photograph the app's pages at the size of a desk's screen."""
    sys.path.append(str(HOME / "tests"))
    made: Any = import_module("made_server")
    with made.served(job) as here, made.browser() as chrome:
        for name, path in PAGES.items():
            page = made.open_page(chrome, here.url(path))
            page.wait_for_timeout(1500)  # fonts, and the drawing's first strokes
            keep(Image.open(io.BytesIO(page.screenshot())), folder / f"{name}.png")
            page.context.close()


def keep(image: Image.Image, png: Path) -> None:
    """Keep a picture in few colours, so that the file stays small and the rare reds stay red."""
    few = image.convert("RGB").quantize(128, method=OCTREE, dither=Image.Dither.NONE)
    few.save(png, optimize=True)


if __name__ == "__main__":
    main(*map(Path, sys.argv[1:]))
