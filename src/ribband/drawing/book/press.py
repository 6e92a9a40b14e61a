"""Puts the pages together: two passes or three, until every page number is true.

Headings are known before the first pass, so that the contents have their length; it is set without
drawings, for numbers only.

The running head names vessel, revision, date and page n of m on every page, and carries the band
"not to be built from" while a fault is open. The same book gives the same bytes.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field, replace
from io import BytesIO
from pathlib import Path
from typing import Any

from reportlab import rl_config
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
    Paragraph,
)

from ribband.drawing.book import (
    back_pages,
    butt_pages,
    front,
    hull_pages,
    lining_pages,
    plank_pages,
    shape_pages,
    shop_pages,
    timber_pages,
    work_pages,
)
from ribband.drawing.book.flow import Plate, Story
from ribband.drawing.book.model import Book
from ribband.drawing.book.plates import Leaf, leaf_of, sheets_of
from ribband.drawing.book.style import (
    FAINT,
    HAIR,
    INK,
    MARGINS,
    PAPERS,
    RED,
    WHITE,
    mm,
    text_width,
)
from ribband.drawing.book.table import Table
from ribband.drawing.book.words import count, faults
from ribband.drawing.embedding import register
from ribband.drawing.lettering import cut_to, size_mm
from ribband.drawing.letters import face_for
from ribband.drawing.unprinted import unprinted

__all__ = ["Found", "Tell", "press"]

NEW_PAGE = ("how", "widths", "butts", "planks", "timber", "shop", "hanging", "cautions")
ROOM = {
    "findings": 110,
    "doubts": 90,
    "lines": 120,
    "lining": 120,
    "old": 110,
}  # mm wanted to begin; else 62
PASSES = 4
UNDER_HEADING = 34.0  # points, a lesser heading with the air about it
UNKNOWN = 99  # a page not yet known, as wide as most numbers are


@dataclass(slots=True)
class Found:
    """Where things fell in a pass: entries (level, key, text) in order, pages, and how many."""

    entries: list[tuple[int, str, str]] = field(default_factory=list)
    pages: dict[str, int] = field(default_factory=dict)
    total: int = 0


Tell = Callable[[Book, Found], Story]


def press(book: Book, path: Path, tell: Tell | None = None, title: str = "Planking book") -> None:
    """Set the book and write it; `tell` gives another story under another title."""
    register()
    told = tell or _story
    letters = tuple(unprinted(book.hull.particulars))
    book = replace(book, findings=(*book.findings, *letters)) if letters else book
    before = _set(book, _foreseen(told(book, Found())), told, title, drawn=False)[1]
    for _ in range(PASSES):
        data, found = _set(book, before, told, title)
        if found == before:
            break
        before = found
    path.write_bytes(data)


def _foreseen(story: Story) -> Found:
    """Give the headings of a story, on pages not yet known."""
    entries = [part.entry for part in story if hasattr(part, "entry")]
    return Found(entries, dict.fromkeys((key for _, key, _ in entries), UNKNOWN), UNKNOWN)


def _set(
    book: Book, before: Found, tell: Tell, title: str, *, drawn: bool = True
) -> tuple[bytes, Found]:
    rl_config.useA85 = 0  # plain bytes: writing them as letters takes long
    out = BytesIO()
    doc = _Doc(book, out, before, title)
    story = tell(book, before)
    if not drawn:
        doc.pageCompression = 0
        for plate in (part for part in story if isinstance(part, Plate)):
            plate.play = _left_out
    doc.build(story)
    doc.found.total = doc.page
    return out.getvalue(), doc.found


def _left_out(canvas: Any, width: float, height: float) -> None:
    """Draw nothing: only the place is wanted."""


def _story(book: Book, before: Found) -> Story:
    pages = before.pages
    inside = [e for e in before.entries if e[1] != "cover"]
    story: Story = [NextPageTemplate("text"), *front.cover(book, pages), PageBreak()]
    story += front.contents(inside, pages)
    for part in (
        front.how_to_read(book, pages),
        front.findings(book),
        hull_pages.doubts(book),
        hull_pages.gaps_and_sides(book),
        hull_pages.lines(book),
        lining_pages.lining_out(book),
        lining_pages.expansion(book),
        lining_pages.widths(book),
        butt_pages.butts(book),
        plank_pages.plank_list(book),
        shape_pages.flat_shapes(book),
        plank_pages.quantities(book),
        timber_pages.timber(book),
        shop_pages.shop(book),
        work_pages.hanging(book),
        plank_pages.old_planking(book),
        back_pages.rules_in_force(book),
        back_pages.sources_cited(book),
        back_pages.cautions(book),
    ):
        story += _begun(part)
    return _paged(story, text_width(book.paper))


def _begun(part: Story) -> Story:
    """Begin a section on a new page, or lower on the same one where it is a short section."""
    entry = getattr(part[0], "entry", None)
    if entry is None:  # a fold-out, which turns its own page
        return part
    key = entry[1]
    return [PageBreak() if key in NEW_PAGE else CondPageBreak(ROOM.get(key, 62) * mm), *part]


def _paged(story: Story, wide: float) -> Story:
    """Keep lesser headings off the foot of a page, and drop page breaks with nothing between."""
    kept: Story = []
    for part, after in zip(story, [*story[1:], None], strict=True):
        if isinstance(part, Paragraph) and getattr(part, "entry", (0,))[0] == 1:
            table = after.least(wide) if isinstance(after, Table) else 0.0
            kept.append(CondPageBreak(max(42 * mm, UNDER_HEADING + table)))
        before = next((p for p in reversed(kept) if not isinstance(p, NextPageTemplate)), None)
        if isinstance(before, PageBreak) and isinstance(part, CondPageBreak):
            continue
        if isinstance(before, PageBreak) and isinstance(part, PageBreak):
            kept.remove(before)  # the leaf named since is the one that is turned to
        kept.append(part)
    while isinstance(kept[-1], PageBreak):
        kept.pop()
    return kept


class _Doc(BaseDocTemplate):  # type: ignore[misc]
    """The book as the page engine sees it; notes where every heading falls."""

    def __init__(self, book: Book, out: BytesIO, before: Found, title: str) -> None:
        super().__init__(
            out, pagesize=PAPERS[book.paper], invariant=1, pageCompression=1,
            initialFontName="Sans",
            title=f"{title}: {book.vessel}", author=book.who or "Ribband",
            subject=f"Revision {book.revision}, {book.when}",
            creator=f"Ribband {book.version}".strip(), lang="en-GB",
            keywords=f"inputs {book.inputs}" if book.inputs else "",
        )  # fmt: skip
        self.book, self.before, self.found = book, before, Found()
        self.section = ""
        self.wrong = faults(book)
        self.addPageTemplates([self._cover(), self._text(), *self._leaves()])

    def _frame(self, top: float) -> Frame:
        wide, high = PAPERS[self.book.paper]
        left, low = MARGINS["left"], MARGINS["bottom"]
        size = (wide - left - MARGINS["right"], high - top - low)
        return Frame(left, low, *size, 0, 0, 0, 0)

    def _cover(self) -> PageTemplate:
        return PageTemplate("cover", [self._frame(24 * mm)], onPageEnd=self._cover_end,
                            pagesize=PAPERS[self.book.paper])  # fmt: skip

    def _text(self) -> PageTemplate:
        return PageTemplate("text", [self._frame(MARGINS["top"])], onPageEnd=self._page_end,
                            pagesize=PAPERS[self.book.paper])  # fmt: skip

    def _leaves(self) -> list[PageTemplate]:
        leaves: dict[str, Leaf] = {}
        for name in self.book.sheets:
            for sheet in sheets_of(self.book, name):
                leaf = leaf_of(sheet)
                leaves[leaf.name] = leaf
        return [
            PageTemplate(leaf.name, [Frame(0, 0, leaf.width + 1, leaf.height + 1, 0, 0, 0, 0)],
                         onPageEnd=_leaf_end(self, leaf), pagesize=(leaf.width, leaf.height))
            for leaf in leaves.values()
        ]  # fmt: skip

    def afterFlowable(self, flowable: Flowable) -> None:  # noqa: N802 - the engine's name
        """Note where a heading fell, and put it in the outline."""
        entry = getattr(flowable, "entry", None)
        if entry is None:
            return
        level, key, text = entry
        if level == 0:
            self.section = text
        self.found.entries.append(entry)
        self.found.pages[key] = self.page
        self.canv.bookmarkPage(key)
        self.canv.addOutlineEntry(text, key, level, closed=level == 0)

    # -- running heads ----------------------------------------------------------------------

    def _said(self) -> str:
        parts = (self.book.alone, f"revision {self.book.revision}", self.book.when)
        return "   ·   ".join(p for p in parts if p)

    def _cover_end(self, canvas: Any, _doc: Any) -> None:
        wide, high = PAPERS[self.book.paper]
        left = MARGINS["left"]
        self._band(canvas, left, high - 15 * mm, wide - left - MARGINS["right"])
        canvas.setFillColor(FAINT)
        canvas.setFont("Sans", 8)
        canvas.drawString(left, 19 * mm, front.edition(self.book))
        self._foot(canvas, wide)

    def _page_end(self, canvas: Any, _doc: Any) -> None:
        wide, high = PAPERS[self.book.paper]
        left, right = MARGINS["left"], wide - MARGINS["right"]
        self._band(canvas, left, high - 13 * mm, right - left)
        y = high - 20 * mm
        canvas.setFillColor(INK)
        room_mm = (right - left - canvas.stringWidth(self._said(), "Sans", 8)) / mm - 6
        face = face_for(self.book.vessel, "Serif-Italic")
        canvas.setFont(face, 9.6)
        high_mm = 9.6 / size_mm(1.0, face) / mm
        canvas.drawString(left, y, cut_to(self.book.vessel, room_mm, high_mm, face))
        canvas.setFillColor(FAINT)
        canvas.setFont("Sans", 8)
        canvas.drawRightString(right, y, self._said())
        canvas.setStrokeColor(HAIR)
        canvas.setLineWidth(0.5)
        canvas.line(left, y - 4.5, right, y - 4.5)
        self._foot(canvas, wide)

    def _foot(self, canvas: Any, wide: float) -> None:
        y = 13 * mm
        canvas.setFillColor(FAINT)
        canvas.setFont("Serif-Italic", 8.6)
        canvas.drawString(MARGINS["left"], y, self.section)
        canvas.setFont("Sans", 8)
        canvas.drawRightString(wide - MARGINS["right"], y, self._folio())

    def _folio(self) -> str:
        return f"page {self.page} of {self.before.total or self.page}"

    def _band(self, canvas: Any, x: float, y: float, wide: float, high: float = 5.4 * mm) -> None:
        if not self.wrong:
            return
        canvas.setFillColor(RED)
        canvas.rect(x, y, wide, high, stroke=0, fill=1)
        canvas.setFillColor(WHITE)
        canvas.setFont("Sans-Semibold", 9.4)
        page = self.before.pages.get("findings", 0)
        text = f"Not to be built from: {count(len(self.wrong), 'fault')} open, see page {page}"
        canvas.drawCentredString(x + wide / 2, y + high / 2 - 3.2, text)


def _leaf_end(doc: _Doc, leaf: Leaf) -> Any:
    """Make the running head of a fold-out, in the margin of its drawing."""

    def end(canvas: Any, _doc: Any) -> None:
        left, right, y = 10 * mm, leaf.width - 10 * mm, leaf.height - 7.2 * mm
        canvas.setFillColor(FAINT)
        canvas.setFont("Sans", 7)
        reduced = (
            f"   ·   reduced to {leaf.reduced:.0%}: its scale no longer holds"
            if leaf.reduced < 1
            else ""
        )
        canvas.drawString(left, y, f"{doc.book.vessel}   ·   {doc._said()}{reduced}")
        canvas.drawRightString(right, y, doc._folio())
        if doc.wrong:
            doc._band(canvas, leaf.width / 2 - 55 * mm, y - 1.2 * mm, 110 * mm, 4.6 * mm)

    return end
