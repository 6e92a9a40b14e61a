"""The planking book, read back as a reader would: its text, its pages, its links and its bytes."""

from __future__ import annotations

import re
import time
from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest

import made_books
from ribband.butts.model import Butt, Goal, Layout, Relief
from ribband.drawing import book as planking_book
from ribband.drawing.book import Book
from ribband.drawing.book.butt_pages import pair_row
from ribband.drawing.book.flow import IfRoom, say
from ribband.drawing.book.stock_table import shared_out
from ribband.drawing.book.table import Col, Group, Line, Loud, Sum, Table
from ribband.drawing.book.tightest import pairs
from ribband.drawing.book.words import narrowest, range_of, value_of, widest
from ribband.drawing.embedding import register
from ribband.findings import Finding, Severity
from ribband.planks import ShapeRules, get_shapes, list_planks
from ribband.rulebook import Rule
from ribband.timber import LayingRules
from ribband.units import format_length


@cache
def marl_heron() -> Book:
    return made_books.book()


def pages_of(book: Book, folder: Path) -> list[str]:
    """Write the book and read its text, page by page, spaces made one."""
    path = folder / "book.pdf"
    planking_book.write(book, path)
    return read(path)


def read(path: Path) -> list[str]:
    pdf = pdfium.PdfDocument(path)
    texts = [" ".join(page.get_textpage().get_text_bounded().split()) for page in pdf]
    pdf.close()
    return texts


@pytest.fixture(scope="module")
def written(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("book") / "book.pdf"
    planking_book.write(marl_heron(), path)
    return path


@pytest.fixture(scope="module")
def pages(written: Path) -> list[str]:
    return read(written)


@pytest.fixture(scope="module")
def faulty(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The pages of a book with a fault that is open."""
    book = replace(marl_heron(), findings=(*made_books.FINDINGS, made_books.FAULT))
    return pages_of(book, tmp_path_factory.mktemp("faulty"))


@pytest.fixture(scope="module")
def taped(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The pages of the book of a vessel of which there are girths only."""
    return pages_of(made_books.taped(), tmp_path_factory.mktemp("taped"))


# -- what every page says -------------------------------------------------------------------


def test_every_page_says_vessel_revision_date_and_page_of_pages(pages: list[str]) -> None:
    for n, text in enumerate(pages, start=1):
        assert f"page {n} of {len(pages)}" in text
        assert "Marl Heron" in text
        assert re.search(r"[Rr]evision 3", text)
        assert "2026-11-25 14:02" in text


def test_the_contents_name_the_page_each_section_begins_on(pages: list[str]) -> None:
    listed = re.findall(r"([A-Z][^\d]+?) (\d+)(?= |$)", pages[1].partition("Contents ")[2])
    assert len(listed) >= 14
    for title, page in listed[:-1] if "page" in listed[-1][0] else listed:
        assert title in pages[int(page) - 1], (title, page)


def test_the_outline_points_at_the_same_pages_as_the_contents(
    written: Path, pages: list[str]
) -> None:
    pdf = pdfium.PdfDocument(written)
    marks = [(m.get_title(), m.get_dest().get_index()) for m in pdf.get_toc()]
    pdf.close()
    assert "Plank list" in {title for title, _ in marks}
    for title, index in marks:
        assert title in pages[index]


def test_key_figures_are_those_of_the_lining_and_the_planks(pages: list[str]) -> None:
    book, cover = marl_heron(), pages[0]
    wide, thin = widest(book.lining), narrowest(book.lining)
    assert book.planks is not None
    assert format_length(wide.mm, "ft-in-8ths") in cover
    assert wide.mm == pytest.approx(np.nanmax(book.lining.width_mm))
    assert thin.mm <= np.nanmin(book.lining.width_mm[book.lining.width_mm > 1.0])
    longest = max(book.planks.planks, key=lambda p: p.length_mm)
    assert f"{longest.name}, {format_length(longest.length_mm, 'ft-in-8ths')}" in cover
    assert f"{len(book.planks.planks)}" in cover
    bound = len(book.layout.butts) - 1
    assert f"at least {bound} needed, not proved the fewest" in cover
    assert f"{book.planks.totals[0].rough_board_feet:.1f} board feet" in cover


def test_every_plank_is_listed_with_its_length(pages: list[str]) -> None:
    assert marl_heron().planks is not None
    text = " ".join(pages[13:17])
    for plank in marl_heron().planks.planks:
        assert re.search(rf"\b{plank.name}\b", text), plank.name
        assert format_length(plank.length_mm, "ft-in-8ths") in text


def test_every_seam_and_width_at_every_frame_is_there_to_set_off(pages: list[str]) -> None:
    lining = marl_heron().lining
    first = next(i for i, t in enumerate(pages) if "Girths of the seams" in t and i > 1)
    text = " ".join(pages[first : first + 4]).replace("−", "-")
    figures = text.split()
    for table in (lining.upper_girth_mm, lining.width_mm):
        for mm in table[np.isfinite(table)]:
            assert format_length(float(mm), "ft-in-8ths") in figures


def test_a_vessel_in_feet_prints_no_millimetres(pages: list[str]) -> None:
    for text in pages:
        assert not re.search(r"\d ?mm\b|\bmm\b|\bkg/|m³|m²", text)
    assert "304.1" not in " ".join(pages)  # a finding that spoke in mm


def test_a_vessel_in_millimetres_prints_no_feet(tmp_path: Path) -> None:
    text = " ".join(pages_of(made_books.book("mm"), tmp_path))
    assert not re.search(r"\b\d+-\d{1,2}-[0-7][+]?(?= )|board f|\blb\b", text.replace("2026-", ""))
    assert "m³" in text
    assert " kg" in text


# -- doubts and faults ----------------------------------------------------------------------


def test_the_box_of_doubts_names_the_open_readings_and_their_page(pages: list[str]) -> None:
    box = pages[0].partition("Before you build")[2]
    assert "2 readings in doubt" in box
    assert "frame 23, buttock 2: 2-11-7, 1-0-0 too small" in box
    assert "diagonal" not in box  # that one was decided
    page = int(re.search(r"not decided on \(page (\d+)\)", box)[1])
    assert "Doubtful measurements" in pages[page - 1]
    assert "offsets.csv, row 7" in pages[page - 1]
    assert "kept as read" in pages[page - 1]


def test_without_any_doubt_the_box_says_so_and_nothing_warns(tmp_path: Path) -> None:
    book = marl_heron()
    frames = replace(book.hull.frames, basis=("faired",) * len(book.hull.frames.names))
    hull = replace(book.hull, doubts=(), frames=frames)
    text = pages_of(replace(book, hull=hull, findings=()), tmp_path)
    assert "Nothing stands in doubt" in text[0]
    assert "Before you build" not in text[0]
    assert any("No reading is doubtful" in t for t in text)


def test_a_fault_puts_the_band_on_every_page(pages: list[str], faulty: list[str]) -> None:
    assert not any("Not to be built from:" in t for t in pages)
    for text in faulty:
        assert "Not to be built from: 1 fault open, see page 3" in text


def test_an_infeasible_lining_is_a_fault_though_no_finding_says_so(tmp_path: Path) -> None:
    book = marl_heron()
    text = pages_of(replace(book, lining=replace(book.lining, feasible=False)), tmp_path)
    assert "Not to be built from" in text[0]
    assert any("breaks a limit" in t for t in text)


def test_where_no_butts_fit_the_clash_and_the_ways_out_are_told(tmp_path: Path) -> None:
    book = marl_heron()
    reliefs = (Relief("adjacent_spaces", "strakes 4 and 5", "three spaces instead of four", 2),)
    clash = "Strakes 4 and 5 cannot both shift four spaces clear of the engine bed."
    layout = replace(book.layout, feasible=False, clashes=(clash,), reliefs=reliefs)
    text = pages_of(replace(book, layout=layout), tmp_path)
    assert "no layout keeps every rule" in text[0]
    whole = " ".join(text)
    assert clash in whole
    assert "three spaces instead of four" in whole


# -- missing parts --------------------------------------------------------------------------


def test_girths_only_makes_a_sensible_book(taped: list[str]) -> None:
    text = taped
    assert "Only girths were measured" in text[0]
    assert "hood ends at the stem and stern are not known" in text[0]
    whole = " ".join(text)
    assert "there are no lines to draw" in whole
    assert "Nothing of the old planking was recorded" in whole
    assert "weights of these planks are not known" in whole
    assert "nan" not in whole.lower().split()


def test_without_butts_or_planks_the_book_still_lines_her_out(tmp_path: Path) -> None:
    book = replace(marl_heron(), ways=None, layout=None, planks=None, sheets={})
    text = pages_of(book, tmp_path)
    assert "not yet divided" in text[0]
    whole = " ".join(text)
    assert "No butts have been laid out" in whole
    assert "No expansion was drawn" in whole
    assert "Widths of the strakes" in whole


# -- the file -------------------------------------------------------------------------------


def test_the_same_book_gives_the_same_bytes(written: Path, tmp_path: Path) -> None:
    planking_book.write(made_books.book(), tmp_path / "again.pdf")
    assert (tmp_path / "again.pdf").read_bytes() == written.read_bytes()


def test_every_face_is_embedded_and_the_file_says_what_it_is(written: Path) -> None:
    pdf = pdfium.PdfDocument(written)
    assert pdf.get_metadata_value("Title") == "Planking book: Marl Heron"
    assert "9f2c41d07ab3e6" in pdf.get_metadata_value("Keywords")
    pdf.close()
    raw = written.read_bytes()
    faces = set(re.findall(rb"/BaseFont /([\w+-]+)", raw))
    assert faces
    assert all(b"Source" in face for face in faces), faces


def test_the_fold_out_is_as_large_as_its_drawing(written: Path) -> None:
    pdf = pdfium.PdfDocument(written)
    sizes = {tuple(round(v / 72 * 25.4) for v in page.get_size()) for page in pdf}
    pdf.close()
    assert sizes == {(210, 297), (420, 297)}


def test_letter_paper_is_there_for_those_who_have_it(tmp_path: Path) -> None:
    planking_book.write(replace(marl_heron(), paper="letter", sheets={}), tmp_path / "b.pdf")
    pdf = pdfium.PdfDocument(tmp_path / "b.pdf")
    assert {page.get_size() for page in pdf} == {(612.0, 792.0)}
    pdf.close()


def test_nothing_is_drawn_outside_the_margins(written: Path) -> None:
    """Every word of a text page stands between the margins; a clipped cell would not."""
    pdf = pdfium.PdfDocument(written)
    for page in pdf:
        wide, _ = page.get_size()
        if wide > 600:
            continue
        text = page.get_textpage()
        boxes = np.array([text.get_charbox(i) for i in range(text.count_chars())])
        boxes = boxes[boxes[:, 2] > boxes[:, 0]]
        assert boxes[:, 0].min() > 24 / 25.4 * 72
        assert boxes[:, 2].max() < wide - 24 / 25.4 * 72
        assert boxes[:, 1].min() > 10 / 25.4 * 72
    pdf.close()


def test_a_long_vessel_does_not_break_and_is_quick(tmp_path: Path) -> None:
    book = made_books.book(strakes=60, frames=140)
    began = time.process_time()
    text = pages_of(replace(book, sheets={}), tmp_path)
    assert time.process_time() - began < 10.0
    assert book.planks is not None
    whole = " ".join(text)
    assert all(f" {p.name} " in whole for p in book.planks.planks)
    assert f"page {len(text)} of {len(text)}" in text[-1]


# -- the pieces -----------------------------------------------------------------------------


@pytest.mark.parametrize("rows", [[("a", "1")], [Sum(("all", "1"))], [Group("a"), ("b", "1")]])
def test_a_short_table_that_does_not_fit_goes_to_the_next_page(rows: list[Line]) -> None:
    register()
    table = Table([Col("what"), Col("how many", "right")], rows, foot="a foot\n" * 30)
    for height in range(0, 60, 3):
        assert table.split(300.0, float(height)) in ([], [table])


def test_a_table_too_wide_to_stand_beside_itself_stands_once() -> None:
    register()
    rows: list[Line] = [("starboard", "above strake 14", "0-0-2+ low", str(n)) for n in range(20)]
    wide = Table([Col("side"), Col("seam"), Col("off"), Col("frame", "right")], rows, across=3)
    wide.wrap(300.0, 800.0)
    assert wide.across == 1
    wide = Table([Col("side"), Col("seam"), Col("off"), Col("frame", "right")], rows, across=3)
    wide.wrap(900.0, 800.0)
    assert wide.across == 3


def test_a_table_never_ends_a_page_on_a_group_and_keeps_its_sum_company() -> None:
    rows = [Group("a"), *[("x", "1")] * 30, Group("b"), *[("y", "2")] * 4, Sum(("all", "3"))]
    table = Table([Col("what"), Col("how many", "right")], rows)
    for height in np.arange(80.0, 520.0, 7.0):
        parts = Table(table.cols, rows).split(300.0, height)
        if len(parts) == 2:
            assert not isinstance(parts[0].rows[-1], Group)
            assert not isinstance(parts[1].rows[0], Sum)
            assert len(parts[1].rows) > 1
            assert parts[0].wrap(300.0, height)[1] <= height + 1e-6


def test_a_table_beside_itself_whose_rows_are_of_several_lines_breaks_within_its_page() -> None:
    long = ", ".join(f"{frame} (fixed)" for frame in range(1, 9))
    rows = [(str(n), "8", long) for n in range(40)]
    cols = [Col("strake"), Col("butts", "right"), Col("on frames", share=1)]
    for room in (250.0, 330.0, 410.0):
        first, _ = Table(cols, rows, across=2).split(480.0, room)
        assert first.wrap(480.0, room)[1] <= room


@pytest.mark.parametrize("across", [1, 2])
def test_a_foot_that_finds_no_room_takes_the_last_rows_over_with_it(across: int) -> None:
    rows: list[Line] = [Group("a"), *[("x", "1")] * 40, Group("b"), *[("y", "2")] * 5]
    whole = Table([Col("what"), Col("how many", "right")], rows, foot="a foot " * 60, across=across)
    _, tall = whole.wrap(300.0, 900.0)
    for height in np.arange(tall - 60.0, tall, 4.0):
        parts = Table(whole.cols, rows, foot=whole.foot, across=across).split(300.0, height)
        assert [bool(part.foot) for part in parts] == [False, True]
        assert parts[0].wrap(300.0, height)[1] <= height + 1e-6
        own = [row for part in parts for row in part.rows if not isinstance(row, Group)]
        assert own == [row for row in rows if not isinstance(row, Group)]


def test_breaking_a_table_loses_and_doubles_no_row() -> None:
    rows = [(str(i), "x") for i in range(200)]
    parts, seen = [Table([Col("n"), Col("t")], rows, across=2)], []
    while parts:
        first = parts.pop()
        split = first.split(300.0, 400.0)
        seen += split[0].rows
        parts = split[1:]
    assert seen == rows


def test_tightest_pairs_are_those_a_second_count_finds() -> None:
    book = marl_heron()
    ways, layout = book.ways, book.layout
    assert ways is not None
    assert layout is not None
    found = {(p.first, p.second): (p.passing, p.spaces) for p in pairs(ways, layout)}
    for a in layout.butts:
        for b in layout.butts:
            if a.strake < b.strake <= a.strake + 6:
                assert found[a, b] == (b.strake - a.strake - 1, abs(a.landing - b.landing) / 2)


def test_a_pair_that_breaks_a_rule_is_said_to() -> None:
    book = marl_heron()
    near = Layout((Butt(3, 20), Butt(4, 26)), feasible=True, goals=(), seconds=0.0, seed=0)
    far = replace(near, butts=(Butt(3, 20), Butt(4, 28)))
    rows = [pair_row(book, book.ways, pairs(book.ways, layout)[0]) for layout in (near, far)]
    assert isinstance(rows[0], Loud)
    assert rows[0].cells[-1] == "broken: at least 4 spaces"  # a copy in black says so too
    assert isinstance(rows[1], tuple)


def test_weights_carry_the_sign_of_what_they_rest_on(pages: list[str], tmp_path: Path) -> None:
    recalled = Finding(
        "P005", Severity.CAUTION, "planks", "the plank list", "weighed as white oak", "", "memory"
    )
    text = pages_of(replace(marl_heron(), findings=(recalled,)), tmp_path)
    assert re.search(r"Weight, dressed \d+ lb‡", text[0])
    assert "lb‡" not in pages[0]
    assert "Recalled and not read" in " ".join(text)


def test_staggered_sides_are_both_told(tmp_path: Path) -> None:
    book = marl_heron()
    other = replace(
        book.layout, butts=tuple(Butt(b.strake, b.landing + 4) for b in book.layout.butts)
    )
    planks = list_planks(book.hull, book.lining, book.ways, book.layout, other=other)
    text = pages_of(replace(book, starboard=other, planks=planks), tmp_path)
    assert "Butts to port" in text[0]
    assert "Butts to starboard" in text[0]
    whole = " ".join(text)
    assert "37 butts to port and 37 butts to starboard" in whole
    first = next(b for b in other.butts if b.strake == 0)
    listed = whole.partition("Butts of every strake to starboard")[2]
    frames = [str(b.landing // 2 + 1) for b in other.butts if b.strake == 0]
    assert f"1 {len(frames)} {', '.join(frames)}" in listed
    assert book.ways.frames[first.landing // 2] == frames[0]
    assert all(f" {p.name} " in whole for p in planks.planks)


def test_goals_in_mm_are_told_in_the_vessels_unit(tmp_path: Path) -> None:
    book = marl_heron()
    goals = (*book.layout.goals, Goal("stock length wasted, mm", 254.0, 0.0, proved=False))
    whole = " ".join(pages_of(replace(book, layout=replace(book.layout, goals=goals)), tmp_path))
    assert "stock length wasted 0-10-0 0-0-0 no, may be up to 0-10-0 better" in whole


def test_nothing_is_proved_of_stock_that_is_not_entered() -> None:
    """Nought wasted of no stock is no result; of stock that is there it is one."""
    ways = replace(marl_heron().ways, stock_mm=None)
    none = Goal("stock length wasted, mm", 0.0, 0.0, proved=True)
    assert none.instead(ways) == "no stock lengths entered"
    assert none.instead(replace(ways, stock_mm=np.array([6000.0]))) == ""
    assert Goal("butts", 0.0, 0.0, proved=True).instead(ways) == ""


def test_two_fold_outs_have_no_empty_page_between(tmp_path: Path) -> None:
    book = marl_heron()
    sheets = {"lines": book.sheets["expansion"], "body": book.sheets["expansion"], **book.sheets}
    planking_book.write(replace(book, sheets=sheets), tmp_path / "b.pdf")
    bare = [n for n, text in enumerate(read(tmp_path / "b.pdf"), 1) if len(text) < 120]
    assert not bare


@pytest.mark.parametrize(
    ("value", "unit", "said"),
    [(4, "frame spaces", "4 frame spaces"), (1, "butts", "1 butt"), (0.0, "mm", "0"),
     (25.4, "mm", "0-1-0"), ("frames", "", "frames"), (None, "", "–")],
)  # fmt: skip
def test_rule_values_in_words(value: object, unit: str, said: str) -> None:
    assert value_of(value, unit, "ft-in-8ths") == said


def test_ranges_of_rules() -> None:
    rule = Rule("x_mm", 1.0, 1.0, 0.0, 254.0, "mm", "", "house")
    assert range_of(rule, "in") == "up to 10"
    assert range_of(replace(rule, least=25.4), "in") == "1 to 10"
    assert range_of(replace(rule, least=25.4, most=None), "in") == "1 or more"


def test_faults_come_first_and_notes_last(faulty: list[str]) -> None:
    text = faulty[2]
    order = [text.index(code) for code in ("B002", "H003", "S014")]
    assert order == sorted(order)
    assert made_books.FAULT.severity is Severity.FAULT


# -- flat shapes, blanks and stock ----------------------------------------------------------


@cache
def shaped() -> Book:
    """The book with flat shapes of two strakes."""
    book = marl_heron()
    assert book.ways is not None
    assert book.layout is not None
    made = get_shapes(
        book.hull, book.lining, book.ways, book.layout, ShapeRules(), None, only=(3, 9)
    )
    steamed = [replace(s, grade="steam") if s.strake == 9 else s for s in made.shapes]
    found = Finding("P026", Severity.CAUTION, "planks", "plank 4-1", "grain runs out at 9 degrees")
    return replace(
        book, shapes=replace(made, shapes=tuple(steamed)), findings=(*book.findings, found)
    )


def test_the_plank_list_gives_the_least_blank_and_its_sweep(tmp_path: Path) -> None:
    book = shaped()
    text = " ".join(pages_of(book, tmp_path))
    listed = text.partition("Plank list Lengths")[2].partition("Flat shapes")[0]
    assert book.planks is not None
    assert book.shapes is not None
    for shape in book.shapes.shapes:
        plank = next(p for p in book.planks.planks if p.name == f"P{shape.name}")
        assert book.shape_of(plank) is shape
        figures = (plank.width_max_mm, plank.width_min_mm, shape.blank_length_mm,
                   shape.blank_width_mm, shape.sweep_mm)  # fmt: skip
        assert " ".join(format_length(mm, book.unit) for mm in figures) in listed, shape.name


def test_the_flat_shapes_have_a_section_with_grades_bends_and_cautions(tmp_path: Path) -> None:
    book = shaped()
    assert book.shapes is not None
    text = " ".join(pages_of(book, tmp_path))
    section = text.partition("Flat shapes 8 shapes")[2] or text.partition("Flat shapes")[2]
    steamed = [s for s in book.shapes.shapes if s.grade == "steam"]
    assert f"{len(steamed)} steam" in text
    for s in book.shapes.shapes:
        assert f"{s.name} {s.grade or 'not graded'}" in section
    assert "Heaviest bends" in section
    assert "plank 4-1: grain runs out at 9 degrees." in section


def test_a_starboard_plank_has_the_shape_of_its_own_side() -> None:
    book = shaped()
    assert book.shapes is not None
    assert book.planks is not None
    other = replace(book.shapes, shapes=book.shapes.shapes[:1])
    both = replace(book, starboard_shapes=other)
    name = book.shapes.shapes[1].name
    mine = {
        p.side: both.shape_of(p) for p in book.planks.planks if f"{p.strake}-{p.number}" == name
    }
    assert mine["port"] is book.shapes.shapes[1]
    assert mine["starboard"] is None


def test_the_quantities_say_what_allowances_are_in_the_rough_timber(pages: list[str]) -> None:
    text = " ".join(pages)
    laid = LayingRules()  # the plank list goes by what planks are sawn with
    edge = format_length(laid.allowance_mm, "ft-in-8ths")
    end = format_length(laid.allowance_mm + laid.end_allowance_mm, "ft-in-8ths")
    assert f"with {edge} left on each edge and {end} left on each end for fitting" in text
    assert "Timber, rough, with allowances" in pages[0]
    assert "net" not in text.partition("Quantities Areas")[2].partition("By side")[0].split()


def test_every_plank_comes_from_a_stock_length_and_shortage_is_told(
    pages: list[str], tmp_path: Path
) -> None:
    book = marl_heron()
    assert book.ways is not None
    assert book.planks is not None
    longest = max(p.length_mm for p in book.planks.planks)
    lengths = np.array([3000.0, longest - 200.0, longest + 500.0])
    ways = replace(book.ways, stock_mm=lengths, stock_count=np.array([4, -1, 1]))
    text = " ".join(pages_of(replace(book, ways=ways), tmp_path))
    section = text.partition("Boards from stock, by length Each")[2]
    assert "Boards are short for" in section
    assert "none left" in section
    assert "enough" in section
    plenty = replace(ways, stock_count=np.array([-1, -1, -1]))
    text = " ".join(pages_of(replace(book, ways=plenty), tmp_path))
    assert "There is a board for each, by length." in text
    assert "Boards from stock" not in " ".join(pages)


def test_sharing_out_stock_fails_only_where_every_sharing_would() -> None:
    """Against counting: for every length, as many boards that long as planks that long."""
    rng = np.random.default_rng(5)
    outcomes = set()
    for _ in range(200):
        stock = sorted(rng.uniform(2000, 8000, 3).tolist())
        counts = rng.integers(0, 4, 3).tolist()
        planks = rng.uniform(1000, 8000, 5).tolist()
        chosen = shared_out(planks, stock, counts)
        boards = [s for s, c in zip(stock, counts, strict=True) for _ in range(c)]
        enough = all(sum(b >= p for b in boards) >= sum(q >= p for q in planks) for p in planks)
        assert (None not in chosen) == enough
        used = [chosen.count(k) for k in range(3)]
        assert all(u <= c for u, c in zip(used, counts, strict=True))
        assert all(
            stock[k] >= p - 0.1 for p, k in zip(planks, chosen, strict=True) if k is not None
        )
        outcomes.add(enough)
    assert outcomes == {True, False}


def test_girths_only_says_that_planks_are_longer_where_a_length_is_read(taped: list[str]) -> None:
    pages = taped
    assert "true planks are longer, most of all at the ends" in pages[0]
    for section in ("Butts", "Plank list", "Quantities"):
        where = [t for t in pages[2:] if f"{section} " in t and "Lengths are too short" in t]
        assert where, section
    assert "Not known: only girths were measured" in " ".join(pages)


def test_the_cover_is_one_page_and_says_who_begins_where(pages: list[str]) -> None:
    assert "Contents" in pages[1]
    begins = re.search(r"For the surveyor: butts and their rules, page (\d+)", pages[0])
    assert begins
    assert pages[int(begins[1]) - 1].partition("Marl Heron")[2].lstrip().find("Butts") >= 0


def test_a_box_that_has_no_room_takes_none() -> None:
    boxed = IfRoom([say("Where to look", "boxhead")])
    assert boxed.wrap(400.0, 12.0) == (400.0, 0.0)
    assert not boxed.shown
    assert boxed.wrap(400.0, 200.0)[1] > 20.0
    assert boxed.shown


def test_a_finding_longer_than_a_page_goes_on_over_the_next_ones(tmp_path: Path) -> None:
    names = [f"P{strake}-{n}" for strake in range(1, 31) for n in range(1, 13)]
    says = "no class holds them: " + ", ".join(f"{n} 1-2-4 wide, no butt helps" for n in names)
    finding = Finding("T037", Severity.NOTE, "timber", ", ".join(names), says)
    pages = pages_of(replace(marl_heron(), findings=(finding,)), tmp_path)
    text = " ".join(pages)
    assert all(len(re.findall(rf"\b{name}\b", text)) >= 2 for name in names)
    assert sum("1-2-4 wide" in page for page in pages) > 2
