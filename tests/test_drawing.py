"""The sheet, its splitting, and the three back ends, each read back with another library."""

from __future__ import annotations

import ctypes
import math
import re
from itertools import pairwise
from pathlib import Path
from xml.etree import ElementTree as ET

import ezdxf
import numpy as np
import pypdfium2 as pdfium
import pypdfium2.raw as raw
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.pdfgen.canvas import Canvas
from scipy.interpolate import CubicSpline

from ribband.drawing import dxf, pdf, scales, svg
from ribband.drawing.embedding import register
from ribband.drawing.labels import Labels, spread, text_box
from ribband.drawing.layout import Air, Drawing, Sign, fitted, lay_on, room_on, windows
from ribband.drawing.lettering import size_mm, width_mm, wrap
from ribband.drawing.sheet import (
    Box,
    Circle,
    Curve,
    Dimension,
    Fill,
    Hatch,
    Mark,
    Page,
    Polyline,
    Sheet,
    Text,
    Title,
    plain,
    stretched,
)

SVG = "{http://www.w3.org/2000/svg}"
TITLE = Title("Marl Heron", "A trial", "Ebbmere Slip", "1936-04-02", "B", unit="millimetres")
KNOTS = [(0.0, 0.0), (1000.0, 420.0), (2300.0, 610.0), (4100.0, 530.0), (6000.0, 80.0)]
CURVE = Curve.through("seams", KNOTS)
ITEMS = (
    CURVE,
    Polyline("frames", ((1234.56, 0.0), (1234.56, 900.0))),
    Circle("butts", (3000.0, 500.0), 20.0, filled=True),
    Fill("wash", ((0.0, 0.0), (100.0, 0.0), (100.0, 100.0))),
    Hatch("seams", ((0.0, 0.0), (800.0, 0.0), (800.0, 400.0), (0.0, 400.0))),
    Dimension("dimensions", (0.0, -100.0), (6000.0, -100.0), "6000"),
    Mark("doubtful", (2000.0, 300.0), "ring"),
    Text("plank names", (2000.0, 200.0), "P7-2 & <1/2>", 2.0),
)


def a_sheet(scale: float = 1 / 20, scale_up: float | None = None, page: str = "A3") -> Sheet:
    drawing = Drawing("trial", ITEMS, Box(0.0, -150.0, 6000.0, 900.0), notes=("A note.",))
    (sheet,) = lay_on(drawing, Page.of(page), TITLE, scale, scale_up=scale_up)
    return sheet


# --- curves and plain items ---------------------------------------------------------------------


def test_a_curve_is_the_cubic_spline_through_its_points() -> None:
    at = np.array(KNOTS)
    chord = np.concatenate([[0], np.cumsum(np.linalg.norm(np.diff(at, axis=0), axis=1))])
    wanted = CubicSpline(chord, at)
    ours = np.array(CURVE.points(8))
    t = np.concatenate([np.linspace(a, b, 9)[1:] for a, b in pairwise(chord)])
    assert np.abs(ours[1:] - wanted(t)).max() < 1e-9


def test_a_curve_needs_two_places_and_bears_a_repeated_point() -> None:
    with pytest.raises(ValueError, match="two places"):
        Curve.through("seams", [(1.0, 1.0), (1.0, 1.0)])
    doubled = Curve.through("seams", [KNOTS[0], *KNOTS])
    assert doubled == CURVE


def test_two_points_make_a_straight_line() -> None:
    points = np.array(Curve.through("seams", [(0, 0), (30, 40)]).points(5))
    assert np.allclose(points[:, 0] * 4, points[:, 1] * 3)


def test_hatch_lines_lie_inside_and_at_their_spacing() -> None:
    ring = ((0.0, 0.0), (80.0, 0.0), (80.0, 40.0), (0.0, 40.0))
    lines = list(plain([Hatch("seams", ring, 2.0)], 0.5))
    assert len(lines) == pytest.approx((80 + 40) * math.sqrt(0.5) / 4.0, abs=1)
    for line in lines:
        assert isinstance(line, Polyline)
        for x, y in line.points:
            assert -1e-9 <= x <= 80 + 1e-9
            assert -1e-9 <= y <= 40 + 1e-9


def test_arrowheads_point_outwards_and_text_reads_upright() -> None:
    parts = list(plain([Dimension("dimensions", (10.0, 0.0), (0.0, 0.0), "10", mask=False)], 1.0))
    text = parts[-1]
    assert isinstance(text, Text)
    assert abs(text.turn_rad) < 1e-9
    assert text.at[1] > 0
    heads = [p for p in parts if isinstance(p, Polyline) and len(p.points) == 3]
    assert sorted(h.points[1][0] for h in heads) == [0.0, 10.0]
    assert all(0 < h.points[k][0] < 10 for h in heads for k in (0, 2))


def test_marks_keep_their_size_on_paper() -> None:
    (ring,) = plain([Mark("doubtful", (0.0, 0.0), "ring", 2.0)], 1 / 50)
    assert isinstance(ring, Circle)
    assert ring.radius / 50 == pytest.approx(1.0)
    tall = stretched(Circle("butts", (3.0, 4.0), 1.0), 2.5)
    assert tall == Circle("butts", (3.0, 10.0), 1.0)


# --- page, scales, lettering --------------------------------------------------------------------


@pytest.mark.parametrize("wrong", ["A9", "x", "300by200", "20x20", "1e9x1e9", "nanx300"])
def test_unknown_or_tiny_paper_is_refused_in_words(wrong: str) -> None:
    with pytest.raises(ValueError, match=re.escape(wrong)):
        Page.of(wrong)


def test_paper_by_name_and_by_size() -> None:
    assert Page.of("a4", landscape=False) == Page(210.0, 297.0)
    assert Page.of("tabloid").width_mm == 431.8
    assert Page.of("1200x841").height_mm == 841.0


@pytest.mark.parametrize("wrong", ["1:0", "-3", "big", 0, "1:1e-9", "1:0.5", "1:1e9", "nan"])
def test_a_wrong_scale_is_refused(wrong: str) -> None:
    with pytest.raises(ValueError, match="scale"):
        scales.wanted(wrong)


def test_a_drawing_of_more_sheets_than_anybody_would_lay_out_is_refused() -> None:
    drawing = Drawing("trial", ITEMS, Box(0.0, 0.0, 40_000.0, 4_000.0))
    with pytest.raises(ValueError, match=r"sheets of this paper.*a larger paper"):
        lay_on(drawing, Page.of("A4"), TITLE, 1.0)


@given(st.floats(1.0, 1e6), st.floats(20.0, 1200.0), st.sampled_from(["mm", "ft-in-8ths"]))
def test_a_chosen_scale_always_fits(long: float, room: float, unit: str) -> None:
    assert long * scales.choose(long, room, unit) <= room * (1 + 1e-9)


def test_a_scale_bar_is_true() -> None:
    bar = list(scales.scale_bar((0.0, 0.0), 1 / 48, "ft", 80.0, "1:48"))
    outline = next(i for i in bar if isinstance(i, Polyline))
    figures = [i for i in bar if isinstance(i, Text) and i.text.endswith(" ft")]
    feet = float(figures[0].text.split()[0])
    assert outline.points[1][0] * 48 / 304.8 == pytest.approx(feet)


def test_lettering_is_as_wide_as_the_pdf_library_says() -> None:

    register()
    for face in ("Sans", "Serif-Semibold"):
        ours = width_mm("Frame 12, 3-7-5+", 2.5, face)
        assert ours == pytest.approx(stringWidth("Frame 12, 3-7-5+", face, size_mm(2.5, face)))


def test_wrapped_lines_fit_and_lose_nothing() -> None:
    text = "Prove every seam with a ribband on the frames before any plank is got out."
    lines = wrap(text, 40.0, 2.0)
    assert " ".join(lines) == text
    assert all(width_mm(line, 2.0) <= 40.0 for line in lines)


# --- labels -------------------------------------------------------------------------------------


@given(st.lists(st.tuples(st.floats(0, 60), st.floats(0, 30)), min_size=1, max_size=40))
def test_placed_labels_never_meet(spots: list[tuple[float, float]]) -> None:
    labels = Labels()
    placed = [labels.place(Text("notes", (0, 0), "0-7-4", 2.0), [spot]) for spot in spots]
    boxes = [text_box(p) for p in placed if p]
    assert boxes
    assert not any(a.meets(b) for i, a in enumerate(boxes) for b in boxes[:i])


@given(st.lists(st.floats(-50, 50), min_size=1, max_size=30))
def test_spread_labels_keep_their_gap_and_their_mean(wanted: list[float]) -> None:
    wanted = sorted(wanted)
    moved = spread(wanted, 3.0)
    assert all(b - a >= 3.0 - 1e-9 for a, b in pairwise(moved))
    assert sum(moved) == pytest.approx(sum(wanted), abs=1e-6)


# --- layout and splitting -----------------------------------------------------------------------


@given(
    st.floats(10, 3000), st.floats(10, 1500), st.floats(60, 400), st.floats(60, 300),
    st.floats(0, 25),
)  # fmt: skip
def test_windows_cover_and_overlap(
    w: float, h: float, width: float, height: float, lap: float
) -> None:
    whole = Box(-5.0, 7.0, w - 5.0, h + 7.0)
    parts = windows(whole, width, height, lap)
    assert all(p.width <= width + 1e-6 and p.height <= height + 1e-6 for p in parts)
    lefts = sorted({(p.left, p.right) for p in parts})
    assert (lefts[0][0], lefts[-1][1]) == pytest.approx((whole.left, whole.right))
    for a, b in pairwise(lefts):
        assert a[1] - b[0] == pytest.approx(lap, abs=1e-6)


def test_tiles_reassemble() -> None:
    drawing = Drawing("trial", ITEMS, Box(0.0, -150.0, 6000.0, 900.0))
    sheets = lay_on(drawing, Page.of("A4"), TITLE, 1 / 5)
    assert len(sheets) > 2
    assert [s.number for s in sheets] == list(range(1, len(sheets) + 1))
    marks: dict[str, list[tuple[float, float]]] = {}
    for sheet in sheets:
        assert sheet.window
        assert sheet.window.grown(-1e-6).meets(sheet.page.inner)
        texts = [i for i in sheet.paper if isinstance(i, Text) and i.text.startswith("match")]
        pluses = [i for i in sheet.paper if isinstance(i, Mark) and i.kind == "plus"]
        for text, plus in zip(texts, pluses, strict=True):
            marks.setdefault(text.text, []).append(sheet.full_size(plus.at))
    assert marks
    for spots in marks.values():  # both sheets mark the same two points of the hull
        assert len(spots) == 4
        first, second = sorted(spots[:2]), sorted(spots[2:])
        assert np.allclose(first, second, atol=1e-6)
    for point in CURVE.points(6):  # every point of the curve is seen on some sheet
        assert any(_seen(s, point) for s in sheets)


def _seen(sheet: Sheet, point: tuple[float, float]) -> bool:
    x, y = sheet.on_paper(point)
    w = sheet.window
    assert w
    inside = w.left - 1e-6 <= x <= w.right + 1e-6 and w.lower - 1e-6 <= y <= w.upper + 1e-6
    return inside and CURVE in sheet.items


@pytest.mark.parametrize("paper", ["A4", "A3", "A1", "letter", "tabloid", "900x420"])
@pytest.mark.parametrize("landscape", [True, False])
def test_nothing_of_the_strip_leaves_the_border(paper: str, landscape: bool) -> None:
    signs = (Sign((Mark("butts", (0, 0), "dot"),), "butt on a frame"),)
    notes = ("Prove every seam with a ribband on the frames before any plank is got out.",) * 3
    page = Page.of(paper, landscape=landscape)
    box, air = Box(0.0, -150.0, 6000.0, 900.0), Air()
    room = room_on(page, notes, signs)
    scale = fitted(box, air, room, "mm")
    drawing = Drawing("trial", ITEMS, box, air, notes, signs)
    (sheet,) = lay_on(drawing, page, TITLE, scale)
    inner = page.inner.grown(0.2)
    texts = [text_box(i) for i in sheet.paper if isinstance(i, Text) and i.text]
    for b in texts:
        assert b.left >= inner.left
        assert b.right <= inner.right
        assert b.lower >= inner.lower
    assert not any(a.grown(-0.05).meets(b) for i, a in enumerate(texts) for b in texts[:i])
    low = sheet.on_paper((0.0, -150.0))
    assert low[1] >= room.lower


# --- SVG ----------------------------------------------------------------------------------------


def svg_numbers(path: str) -> np.ndarray:
    return np.array([float(n) for n in re.findall(r"-?\d+\.?\d*", path)]).reshape(-1, 2)


@pytest.mark.parametrize("scale_up", [None, 1 / 8])
def test_svg_holds_the_drawing_at_full_size(tmp_path: Path, scale_up: float | None) -> None:
    sheet = a_sheet(1 / 20, scale_up)
    root = ET.parse(svg.write(sheet, tmp_path / "a.svg")).getroot()
    assert (root.get("width"), root.get("height")) == ("420mm", "297mm")
    assert root.get("viewBox") == "0 0 420 297"
    drawing = root.find(f".//{SVG}g[@id='drawing']")
    assert drawing is not None
    matrix = [float(n) for n in re.findall(r"-?[\d.e-]+", drawing.get("transform", ""))]
    assert matrix[:4] == pytest.approx([0.05, 0, 0, 0.05])
    paths = drawing.findall(f"{SVG}g[@id='seams']/{SVG}path")
    found = svg_numbers(next(p.get("d", "") for p in paths if "C" in p.get("d", "")))
    wanted = np.array([CURVE.start, *(p for piece in CURVE.pieces for p in piece)])
    up = sheet.stretch
    assert np.abs(found * [1, -1 / up] - wanted).max() <= 0.01
    on_paper = found * 0.05 + [matrix[4], matrix[5]]
    again = np.array([sheet.on_paper((x, y)) for x, y in wanted])
    assert np.abs(on_paper - (again * [1, -1] + [0, 297])).max() <= 0.02


def test_svg_text_is_text_and_its_letters_are_inside(tmp_path: Path) -> None:
    text = svg.write(a_sheet(), tmp_path / "a.svg").read_text("utf-8")
    root = ET.fromstring(text)
    words = [t.text for t in root.iter(f"{SVG}text")]
    assert "P7-2 & <1/2>" in words
    assert "Marl Heron" in words
    assert "@font-face" in text
    assert not re.search(r'(href|src)="?https?:|url\(https?:', text)
    sizes = [float(t.get("font-size", "0")) for t in root.iter(f"{SVG}text")]
    assert min(sizes) * 0.66 >= 1.8 - 0.01


def test_svg_metadata_and_same_bytes() -> None:
    sheet = a_sheet()
    root = ET.fromstring(svg.written(sheet))
    title, about = root.find(f"{SVG}title"), root.find(f"{SVG}desc")
    assert title is not None
    assert title.text == "Marl Heron: A trial"
    assert about is not None
    assert "revision B" in (about.text or "")
    assert svg.written(sheet) == svg.written(sheet)


def test_long_curves_do_not_drift() -> None:
    x = np.linspace(0, 6000, 10001)
    line = Polyline("seams", tuple(zip(x.tolist(), (900 * np.sin(x / 900)).tolist(), strict=True)))
    sheet = Sheet("long", Page.of("A3"), TITLE, (line,), (), 1 / 20, 1 / 20)
    root = ET.fromstring(svg.written(sheet))
    path = root.find(f".//{SVG}g[@id='seams']/{SVG}path")
    assert path is not None
    found = svg_numbers(path.get("d", ""))
    assert np.abs(found * [1, -1] - np.array(line.points)).max() <= 0.0051


# --- PDF ----------------------------------------------------------------------------------------


def pdf_paths(page: pdfium.PdfPage) -> list[np.ndarray]:
    """Every path of a page, its points in mm on the paper."""
    out = []
    for thing in page.get_objects([raw.FPDF_PAGEOBJ_PATH], max_depth=5):
        m = thing.get_matrix()
        points = []
        for i in range(raw.FPDFPath_CountSegments(thing)):
            segment = raw.FPDFPath_GetPathSegment(thing, i)
            x, y = ctypes.c_float(), ctypes.c_float()
            raw.FPDFPathSegment_GetPoint(segment, x, y)
            points.append(
                (m.a * x.value + m.c * y.value + m.e, m.b * x.value + m.d * y.value + m.f)
            )
        out.append(np.array(points) / pdf.MM)
    return out


@pytest.mark.parametrize("scale_up", [None, 1 / 8])
def test_pdf_curve_lies_where_the_sheet_says(tmp_path: Path, scale_up: float | None) -> None:
    sheet = a_sheet(1 / 20, scale_up)
    doc = pdfium.PdfDocument(pdf.write(sheet, tmp_path / "a.pdf"))
    page = doc[0]
    assert page.get_size() == pytest.approx((420 * pdf.MM, 297 * pdf.MM), abs=0.01)
    wanted = np.array(
        [sheet.on_paper(p) for p in [CURVE.start, *(p for piece in CURVE.pieces for p in piece)]]
    )
    curves = [p for p in pdf_paths(page) if p.shape == wanted.shape]
    assert min(np.abs(c - wanted).max() for c in curves) < 0.02
    page.close()
    doc.close()


@pytest.mark.parametrize(("unit", "long"), [("mm", 100.0), ("ft-in-8ths", 101.6)])
def test_the_printed_check_bar_is_as_long_as_it_says(
    tmp_path: Path, unit: str, long: float
) -> None:
    drawing = Drawing("trial", ITEMS, Box(0.0, -150.0, 6000.0, 900.0))
    (sheet,) = lay_on(drawing, Page.of("A3"), TITLE, 1 / 20, unit=unit)
    doc = pdfium.PdfDocument(pdf.write(sheet, tmp_path / "a.pdf"))
    page = doc[0]
    text = page.get_textpage()
    said = text.get_text_range()
    assert ("4 in exactly" if unit != "mm" else "100 mm exactly") in said
    levels = [p for p in pdf_paths(page) if len(p) == 2 and abs(p[0, 1] - p[1, 1]) < 1e-3]
    lengths = [abs(p[1, 0] - p[0, 0]) for p in levels]
    assert min(abs(n - long) for n in lengths) < 0.01
    text.close()
    page.close()
    doc.close()


def test_pdf_of_many_sheets(tmp_path: Path) -> None:
    drawing = Drawing("trial", ITEMS, Box(0.0, -150.0, 6000.0, 900.0))
    sheets = lay_on(drawing, Page.of("A4"), TITLE, 1 / 5)
    path = pdf.write(sheets, tmp_path / "a.pdf")
    doc = pdfium.PdfDocument(path)
    assert len(doc) == len(sheets)
    marks = [item.get_title() for item in doc.get_toc()]
    assert marks[0] == f"A trial, sheet 1 of {len(sheets)}"
    assert doc.get_metadata_dict()["Title"] == "Marl Heron: A trial"
    for i, page in enumerate(doc):
        text = page.get_textpage()
        assert f"{i + 1} of {len(sheets)}" in text.get_text_range()
        text.close()
        page.close()
    doc.close()
    assert path.read_bytes() == pdf.write(sheets, tmp_path / "b.pdf").read_bytes()


def test_a_sheet_goes_into_a_rectangle_of_somebody_elses_page(tmp_path: Path) -> None:

    sheet = a_sheet()
    canvas = Canvas(str(tmp_path / "book.pdf"), pagesize=(210 * pdf.MM, 297 * pdf.MM), invariant=1)
    pdf.draw(canvas, sheet, Box(15.0, 40.0, 195.0, 200.0))
    canvas.save()
    doc = pdfium.PdfDocument(tmp_path / "book.pdf")
    page = doc[0]
    points = np.concatenate([p for p in pdf_paths(page) if len(p)])
    assert points.min(axis=0)[0] >= 15.0
    assert points.max(axis=0)[0] <= 195.0 + 1e-3
    assert points.min(axis=0)[1] >= 40.0
    page.close()
    doc.close()


# --- DXF ----------------------------------------------------------------------------------------


def test_dxf_is_full_size_in_millimetres(tmp_path: Path) -> None:
    sheet = a_sheet(1 / 20, 1 / 8)
    doc = ezdxf.readfile(dxf.write(sheet, tmp_path / "a.dxf"))
    assert doc.header["$INSUNITS"] == 4
    assert not doc.audit().errors
    model = doc.modelspace()
    (spline,) = model.query('SPLINE[layer=="SEAMS"]')
    t = np.linspace(0, spline.construction_tool().max_t, 8 * len(CURVE.pieces) + 1)
    found = np.array([(p.x, p.y) for p in spline.construction_tool().points(t)])
    assert np.abs(found - np.array(CURVE.points(8))).max() < 1e-6  # girths true, not stretched
    frames = model.query('LWPOLYLINE[layer=="FRAMES"]')
    assert frames[0].get_points("xy") == [(1234.56, 0.0), (1234.56, 900.0)]


def test_dxf_layers_text_and_paper(tmp_path: Path) -> None:
    sheet = a_sheet()
    doc = ezdxf.readfile(dxf.write(sheet, tmp_path / "a.dxf"))
    layer = doc.layers.get("SEAMS")
    assert layer.dxf.lineweight == 35
    texts = {t.dxf.text: t for t in doc.modelspace().query("TEXT")}
    assert texts["P7-2 & <1/2>"].dxf.height == pytest.approx(40.0)
    paper = doc.layout("Layout1")
    assert "Marl Heron" in {t.dxf.text for t in paper.query("TEXT")}
    (view,) = [v for v in paper.query("VIEWPORT") if v.dxf.id != 1]
    assert view.dxf.height / view.dxf.view_height == pytest.approx(sheet.scale)
