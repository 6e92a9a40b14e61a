"""Letters our faces have not got: what is typed stands on every paper in letters that are there."""

from __future__ import annotations

import unicodedata
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree as ET

import ezdxf
import pypdfium2 as pdfium
import pytest
from fontTools.ttLib import TTFont
from hypothesis import given
from hypothesis import strategies as st

import made_books
from ribband.drawing import dxf, pdf, svg
from ribband.drawing.book.flow import Pairs, say
from ribband.drawing.book.press import press
from ribband.drawing.book.table import Col, Table
from ribband.drawing.fonts import FACES, font_file
from ribband.drawing.layout import Drawing, lay_on
from ribband.drawing.lettering import cut_to, width_mm, wrap
from ribband.drawing.letters import readable
from ribband.drawing.sheet import Box, Page, Polyline, Text, Title
from ribband.drawing.unprinted import unprinted

SVG = "{http://www.w3.org/2000/svg}"
NAMES = {  # as typed, and as it must stand on paper: by hand, from the Unicode charts
    "Ægir Łódź": "Ægir Łódź",
    "Чайка": "Чайка",
    "Ἀργώ": "Ἀργώ",
    "海鷗": "[U+6D77 U+9DD7]",
    "カモメ": "kamome",
    "갈매기": "galmaegi",
    "שחף": "[shin het pe]",
}


@cache
def cmap(face: str) -> frozenset[int]:
    """The letters of a face as another library reads them from its file."""
    with TTFont(str(font_file(face)), lazy=True) as font:
        return frozenset(font.getBestCmap())


def joined(text: str) -> str:
    """Text without its spaces, as nothing is sure of them when a PDF is read back."""
    return "".join(unicodedata.normalize("NFC", text).split())


def sheet_of(name: str):
    words = (Text("notes", (50.0, 20.0), f"hung by {name}", 3.0, face="Sans-Italic"),)
    line = Polyline("seams", ((0.0, 0.0), (900.0, 90.0)))
    drawing = Drawing(
        "trial", (line, *words), Box(0.0, 0.0, 900.0, 200.0), notes=(f"{name} seen.",)
    )
    (sheet,) = lay_on(drawing, Page.of("A3"), Title(name, "A trial", yard=name), 1 / 10)
    return sheet


@pytest.mark.parametrize("typed", NAMES)
def test_a_name_reads_alike_from_svg_dxf_and_pdf(typed: str, tmp_path: Path) -> None:
    sheet, stands = sheet_of(typed), NAMES[typed]
    pdf.write(sheet, tmp_path / "a.pdf")
    with pdfium.PdfDocument(tmp_path / "a.pdf") as read:
        text = joined(read[0].get_textpage().get_text_bounded())
        assert typed in read.get_metadata_value("Title")
    assert text.count(joined(stands)) >= 4  # title, yard, on the drawing and in the note
    root = ET.fromstring(svg.written(sheet))
    lettered = [t.text or "" for t in root.iter(f"{SVG}text")]
    assert sum(stands in t for t in lettered) >= 4
    for each in root.iter(f"{SVG}text"):
        assert {ord(c) for c in each.text or ""} <= cmap(each.get("class", ""))
    assert root.find(f"{SVG}title").text.startswith(typed)
    doc = ezdxf.readfile(dxf.write(sheet, tmp_path / "a.dxf"))
    spaces = (doc.modelspace(), doc.paperspace("Layout1"))
    assert sum(stands in t.dxf.text for space in spaces for t in space.query("TEXT")) >= 4


def test_pages_of_the_book_say_it_in_headings_running_heads_tables_and_pairs(
    tmp_path: Path,
) -> None:
    own = made_books.taped()
    named = replace(own.hull.particulars, vessel="海鷗 Чайка", yard="カモメ")
    book = replace(own, hull=replace(own.hull, particulars=named))

    def tell(_book, _before):
        rows = [("海 board", "갈매기")]
        yield say("海鷗 Чайка", "cover")
        yield say("Łódź", "kicker")
        yield Table([Col("board"), Col("שחף")], rows)
        yield Pairs([("鷗 of", "海鷗 & Ἀργώ")], [])

    press(book, tmp_path / "a.pdf", lambda b, f: list(tell(b, f)))
    with pdfium.PdfDocument(tmp_path / "a.pdf") as read:
        text = joined(" ".join(page.get_textpage().get_text_bounded() for page in read))
    for stands in ("[U+6D77U+9DD7]Чайка", "Łódź", "[U+6D77]board", "galmaegi", "[shinhetpe]",
                   "[U+9DD7]of", "[U+6D77U+9DD7]&Ἀργώ"):  # fmt: skip
        assert stands in text, (stands, text)
    (told,) = unprinted(named)
    assert told.code == "S020"
    assert "vessel is “[U+6D77 U+9DD7] Чайка” there, yard is “kamome” there" in told.says


@given(st.text(max_size=12), st.sampled_from(sorted(FACES)))
def test_nothing_typed_is_lost_and_nothing_is_written_that_the_face_has_not_got(
    typed: str, face: str
) -> None:
    stands = readable(f"é{typed}", face)
    assert {ord(c) for c in stands if c not in "\n\t" and not c.isascii()} <= cmap(face)
    for letter in typed:
        if unicodedata.category(letter)[0] in "LNSP":
            assert readable(letter, face).strip(), (letter, face)


def test_room_is_kept_for_the_words_that_stand_for_a_letter() -> None:
    assert width_mm("海", 2.0) == pytest.approx(width_mm("[U+6D77]", 2.0))
    assert wrap("海鷗 of the slip", 20.0, 2.0) == ("[U+6D77", "U+9DD7] of the", "slip")
    assert cut_to("海鷗", 8.0, 2.0).startswith("[U+")
