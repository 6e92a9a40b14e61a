"""Board sheets, the milling list and labels: what lies on the paper is what was laid."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from shapely import LineString, Point, Polygon

import made_timber
from ribband.drawing import dxf, pdf, svg
from ribband.drawing.board import Setting
from ribband.drawing.lettering import width_mm
from ribband.drawing.sheet import Page, Polyline, Text, Title
from ribband.drawing.views.boards import board_sheets
from ribband.drawing.views.labels import GRIDS, label_sheets
from ribband.drawing.views.milling import milling_sheets
from ribband.numerics.polygons import enclosed_area, laid_out
from ribband.timber import Laid, LayingRules, lay_pile, retallied
from ribband.timber.laying.cuts import saw_order
from ribband.timber.milling import Label, MillingLine, batten_ends
from ribband.units import format_length

TITLE = Title("Marl Heron", "Board sheets")


@pytest.fixture(scope="module")
def laid() -> Laid:
    return lay_pile(made_timber.planks(8), made_timber.boards(30), LayingRules())


@pytest.fixture(scope="module")
def sheets(laid: Laid):
    return board_sheets(laid, TITLE, "mm", setting=Setting(page=Page.of("A3")))


def test_every_board_cut_into_is_drawn_once_with_its_planks(laid: Laid, sheets) -> None:
    words = [i.text for s in sheets for i in s.items if isinstance(i, Text)]
    boards = [t.removeprefix("board ") for t in words if t.startswith("board ")]
    assert sorted(boards) == sorted({cut.board for cut in laid.laying.cuts})
    for cut in laid.laying.cuts:
        assert words.count(cut.plank) == 1


def test_planks_got_out_already_are_not_cut_again(laid: Laid) -> None:
    first, *rest = laid.laying.cuts
    out = replace(laid, out=(first.plank,))
    words = texts(board_sheets(out, TITLE, "mm", setting=Setting(page=Page.of("A3"))))
    beside = [cut.plank for cut in rest if cut.board == first.board]
    assert first.plank not in words
    assert (f"{first.plank}: got out already" in words) is bool(beside)
    assert (f"board {first.board}" in words) is bool(beside)
    assert all(cut.plank in words for cut in rest)


def test_where_a_planks_batten_line_is_struck_is_told_at_both_ends(laid: Laid, sheets) -> None:
    words = texts(sheets)
    pieces = {p: piece for piece in laid.pieces for p in piece.planks}
    boards = {board.name: board for board in laid.boards}
    for cut in laid.laying.cuts:
        board = boards[cut.board]
        for x, up in batten_ends(board, cut, pieces[cut.plank]):
            assert format_length(up, "mm") in words
            at = board.outline[:, 0].min() + x
            beneath = LineString([(at, -1e4), (at, 1e4)]).intersection(Polygon(board.outline))
            struck = beneath.bounds[1] + up
            lies = (cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm)
            ring = Polygon(laid_out(pieces[cut.plank].outline, *lies))
            assert ring.buffer(40.0).contains(Point(at, struck))


def test_a_band_saws_cut_is_drawn_along_the_plank_it_follows(laid: Laid, sheets) -> None:
    curved = [
        cut
        for board in laid.boards
        for cut in saw_order(
            board, [c for c in laid.laying.cuts if c.board == board.name], laid.pieces, laid.rules
        )
        if cut.kind == "line"
    ]
    drawn = [i for s in sheets for i in s.items if isinstance(i, Polyline)]
    bent = [i for i in drawn if i.layer == "saw cuts" and len(i.points) > 2]
    assert len(bent) == len(curved) > 0


def texts(sheets) -> list[str]:
    return [i.text for s in sheets for i in s.items if isinstance(i, Text)]


def noted(sheets) -> str:
    """Give what is lettered on the paper round the drawings, its lines joined."""
    return " ".join(i.text for s in sheets for i in s.paper if isinstance(i, Text))


def test_planks_keep_their_true_area(laid: Laid, sheets) -> None:
    drawn = [
        enclosed_area(np.array(i.points))
        for s in sheets
        for i in s.items
        if isinstance(i, Polyline) and i.layer == "planks"
    ]
    piece_of = {p: piece for piece in laid.pieces for p in piece.planks}
    own = [enclosed_area(piece_of[cut.plank].outline) for cut in laid.laying.cuts]
    assert sorted(drawn) == pytest.approx(sorted(own), rel=1e-9)


def test_all_of_it_lies_on_the_paper(sheets) -> None:
    for sheet in sheets:
        inner = sheet.page.inner
        for item in sheet.items:
            if isinstance(item, Polyline):
                for point in map(sheet.on_paper, item.points):
                    assert inner.left < point[0] < inner.right
                    assert inner.lower < point[1] < inner.upper


def test_kerf_and_allowances_are_stated(sheets) -> None:
    said = " ".join(i.text for i in sheets[0].paper if isinstance(i, Text))
    assert "Kerf 5 mm" in said
    assert "4 mm" in said
    assert "stand clear" in said


def test_every_cut_has_its_number(laid: Laid, sheets) -> None:
    numbers = [i.text for s in sheets for i in s.items if isinstance(i, Text)
               and i.layer == "saw numbers"]  # fmt: skip
    assert numbers.count("1") == len({cut.board for cut in laid.laying.cuts})
    assert len(numbers) >= len(laid.laying.cuts)


def test_the_sheets_go_to_every_kind_of_file(sheets, tmp_path: Path) -> None:
    assert pdf.write(sheets, tmp_path / "boards.pdf").stat().st_size > 2000
    text = svg.write(sheets[0], tmp_path / "boards.svg").read_text("utf-8")
    assert "boards" in text
    assert dxf.write(sheets[0], tmp_path / "boards.dxf").stat().st_size > 2000


def line(n: int) -> MillingLine:
    return MillingLine(
        f"A{n}", "rack 2", 1, f"P{n}-1", "larch", 15.0, 100.0, 4000.0, 200.0, 90.0, 95.0,
        48.0, 40.0, 38.0, 2.0, 2.0, 4.0, 40.0, 8.0, "inner",
    )  # fmt: skip


def test_the_milling_list_has_a_row_for_every_plank() -> None:
    sheets = milling_sheets([line(n) for n in range(120)], TITLE, "mm")
    words = [i.text for s in sheets for i in s.items if isinstance(i, Text)]
    assert sum(bool(re.fullmatch(r"P\d+-1", word)) for word in words) == 120
    assert len(sheets) > 1


def test_of_a_wet_board_the_papers_say_that_their_figures_hold_for_it_wet(laid: Laid) -> None:
    name = laid.laying.cuts[0].board
    for percent, said in ((28.0, True), (18.0, False)):
        boards = tuple(
            replace(b, moisture_percent=percent if b.name == name else 12.0) for b in laid.boards
        )
        own = board_sheets(replace(laid, boards=boards), TITLE, "mm")
        assert ("tally it again when dry" in noted(own)) is said
        lines = [line(1), replace(line(2), moisture_percent=percent)]
        assert ("tally it again when dry" in noted(milling_sheets(lines, TITLE, "mm"))) is said


@pytest.mark.parametrize("size", GRIDS)
def test_labels_stay_within_their_own_label(size: str) -> None:
    grid = GRIDS[size]
    lines = ("Marl Heron", "port, strake 7, frame 12 to frame 31", "board A7, 1st from the butt",
             "plane to 0-1-5, dressed 0-1-4", "18-9-6 long, rough 50.7 lb; keep 0-0-1+ on edges",
             "marked face of the board: outer face of the plank")  # fmt: skip
    own = [Label(f"P16-{n}", lines) for n in range(grid.across * grid.down + 1)]
    sheets = label_sheets(own, grid, TITLE)
    assert len(sheets) == 2
    page = sheets[0].page
    assert grid.left_mm * 2 + grid.across * grid.wide_mm + grid.gap_mm <= page.width_mm + 0.1
    assert grid.top_mm + grid.down * grid.high_mm <= page.height_mm + 0.1
    for n, item in enumerate(sheets[0].paper):
        row, column = divmod(n // 7, grid.across)
        left = grid.left_mm + column * (grid.wide_mm + grid.gap_mm)
        top = page.height_mm - grid.top_mm - row * grid.high_mm
        x, y = item.at
        assert left < x
        assert x + width_mm(item.text, item.height_mm, item.face) < left + grid.wide_mm
        assert top - grid.high_mm < y - item.height_mm <= y < top


def test_ends_kept_are_called_as_they_are_tallied_again(laid: Laid, sheets) -> None:
    left = {b.name for b in retallied(laid.laying, laid.pieces, laid.boards, laid.rules)}
    words = [i.text for s in sheets for i in s.items if isinstance(i, Text)]
    kept = [word.split()[1].rstrip(":") for word in words if word.startswith("keep ")]
    assert len(kept) == len(laid.laying.offcuts) > 0
    assert set(kept) <= left
