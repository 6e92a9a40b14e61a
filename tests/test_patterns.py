"""Full-size patterns: each file read back with another library and measured against the plank."""

from __future__ import annotations

import itertools
import math
import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import ezdxf
import numpy as np
import pypdfium2 as pdfium
import pytest
from shapely import LineString, Polygon, box

from made_strips import OPENING, cone_sector, cylinder_strip, many, plank_for
from pdf_reading import levels, paths, texts
from ribband.drawing import dxf, patterns, pdf, svg
from ribband.drawing.bench import Bench, bevel, caulking_bevel, degrees, doubts_about, pairs, rise
from ribband.drawing.labels import text_box
from ribband.drawing.patterns.flat import CHORD_MM, fair_edge, laid, least_lie
from ribband.drawing.patterns.paper import PDF_MOST_MM, tiles, turned
from ribband.drawing.sheet import Box, Mark, Polyline, Sheet, Text
from ribband.findings import Finding, Severity

METRIC = Bench("Marl Heron", "mm", "Ebbmere Slip", "heron", "1936-04-02", "B")
FEET = replace(METRIC, unit="ft-in-8ths")
RADIUS, WIDE, LONG = 60_000.0, 200.0, 12_000.0
SECTOR = cone_sector("3-1", LONG, WIDE, RADIUS)
FIVE_METRES = cone_sector("3-2", 5_000.0, WIDE, 12_000.0)
SHAPES = {
    "sector": SECTOR,
    "strip": cylinder_strip(),
    "to a point": cylinder_strip("12-1", 5_200.0, 150.0, 1_200.0, 0.3, taper=0.97),
    "narrow": cylinder_strip("25-2", 3_000.0, 38.0),
    "close frames": cylinder_strip("9-1", 2_400.0, 160.0, space=130.0),
    "short": cylinder_strip("4-3", 700.0, 140.0, space=500.0),
}


def sheet_of(shape, side: str = "port", bench: Bench = METRIC, **more) -> Sheet:
    return patterns.full_size(shape, plank_for(shape, side), bench, **more)


def outline(sheet: Sheet) -> np.ndarray:
    (ring,) = (i.points for i in sheet.items if i.layer == "outline")
    return np.array(ring)


def off_sector(points: np.ndarray) -> np.ndarray:
    """How far points lie off the true sector's outline, mm: its arcs, or its straight ends."""
    half = LONG / 2 / RADIUS
    centre = np.array([RADIUS * math.sin(half), RADIUS * math.cos(half)])
    r = np.linalg.norm(points - centre, axis=1)
    arcs = np.minimum(np.abs(r - RADIUS - WIDE / 2), np.abs(r - RADIUS + WIDE / 2))
    angle = np.arctan2(points[:, 0] - centre[0], centre[1] - points[:, 1])
    ends = r * np.abs(np.abs(angle) - half)
    return np.minimum(arcs, ends)


def between(ring: np.ndarray) -> np.ndarray:
    """The corners of a closed polyline and three points on each of its sides."""
    after = np.roll(ring, -1, axis=0)
    return np.concatenate([ring + (after - ring) * t for t in (0.0, 0.25, 0.5, 0.75)])


def downwards(sheet: Sheet) -> list[Text]:
    return sorted((i for i in sheet.paper if isinstance(i, Text)), key=lambda t: -t.at[1])


def test_the_words_say_to_leave_wood_on_first_only_where_a_bevel_is_minus() -> None:
    plus = replace(SECTOR, lower_fit_rad=np.abs(SECTOR.lower_fit_rad) + 0.02,
                   upper_fit_rad=np.abs(SECTOR.upper_fit_rad) + 0.02)  # fmt: skip
    steep = np.full(len(SECTOR.frames), 0.15)
    minus = replace(plus, lower_fit_rad=-steep, lower_bevel_rad=0.0625 - steep)
    says = {
        name: " ".join(i.text for i in downwards(sheet_of(shape)))
        for name, shape in (("plus", plus), ("minus", minus))
    }
    assert "Bevel marked −" not in says["plus"]
    hair = " ".join(i.text for i in downwards(sheet_of(SECTOR)))  # −0.3 degrees
    assert "Bevel marked −: the OUTER face is the wider, by less than 1 mm" in hair
    assert "leave wood on" not in hair
    assert "the INNER face" in says["plus"]
    assert "leave wood on" not in says["plus"]
    reach = 16 * math.tan(0.15) + 32 * math.tan(0.0875)  # to the line, and from it to the face
    told = says["minus"]
    assert f"1, leave wood on outside the outline, here up to {reach:.0f} mm." in told
    steps = ("1, leave wood on", "2, cut square", "3, plane the bevel in")
    assert [told.index(s) for s in steps] == sorted(told.index(s) for s in steps)
    assert told.index("1, leave") < told.index("Bevel without a sign")


@pytest.mark.parametrize("paper", ["A4", "A3", "letter"])
def test_check_bars_and_match_marks_can_be_read_from_the_bench(paper: str) -> None:
    sheets = [*patterns.tiles(sheet_of(SECTOR), paper), *patterns.roll(sheet_of(SECTOR))]
    lettered = [i for s in sheets for i in s.paper if isinstance(i, Text)]
    read = [t for t in lettered if t.layer == "match" or "Check bar" in t.text]
    assert len(read) > 4
    assert min(t.height_mm for t in read) >= 2.5


# --- the outline ---------------------------------------------------------------------------------


def test_the_outline_stays_on_the_true_edges_between_the_given_points() -> None:
    ring = outline(sheet_of(SECTOR))
    assert off_sector(between(ring)).max() < CHORD_MM
    # the given points alone would not do
    given = np.concatenate([SECTOR.lower, SECTOR.upper[::-1]])
    assert off_sector(between(given)).max() > 0.1


def test_a_cone_in_few_points_is_still_within_a_tenth() -> None:
    few = cone_sector("3-1", LONG, WIDE, RADIUS, points=9)
    assert off_sector(between(outline(sheet_of(few)))).max() < 0.1


@pytest.mark.parametrize("side", ["port", "starboard"])
@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)
def test_the_outline_is_one_simple_ring_against_the_clock(shape, side: str) -> None:
    ring = Polygon(outline(sheet_of(shape, side)))
    assert ring.is_valid
    assert ring.exterior.is_ccw


def test_starboard_is_port_turned_over() -> None:
    port, starboard = (outline(sheet_of(SECTOR, side)) for side in ("port", "starboard"))
    turned = {(round(-x, 6), round(y, 6)) for x, y in port.tolist()}
    assert turned == {(round(x, 6), round(y, 6)) for x, y in starboard.tolist()}


def test_a_nibs_corner_is_kept_and_nothing_swings_beside_it() -> None:
    x = np.array([0.0, 500.0, 1000.0, 1000.0, 1500.0, 2000.0])
    edge = np.column_stack([x, np.where(x > 1000.0, 60.0, 0.0)])
    edge[3, 1] = 60.0
    fair = fair_edge(edge)
    assert {(1000.0, 0.0), (1000.0, 60.0)} <= set(map(tuple, fair.tolist()))
    assert set(fair[:, 1].tolist()) == {0.0, 60.0}


def test_the_blank_lies_as_the_plank_is_turned() -> None:
    turn, ring = 0.07, laid(SHAPES["strip"], "port").ring
    c, s = math.cos(turn), math.sin(turn)
    assert least_lie(ring @ np.array([[c, s], [-s, c]])) == pytest.approx(turn, abs=1e-9)


# --- lettering -----------------------------------------------------------------------------------


@pytest.mark.parametrize("bench", [METRIC, FEET], ids=["mm", "feet"])
@pytest.mark.parametrize("side", ["port", "starboard"])
@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)
def test_lettering_keeps_clear_of_lettering_and_of_the_outline(shape, side, bench) -> None:
    sheet = sheet_of(shape, side, bench)
    ring = LineString([*outline(sheet), outline(sheet)[0]])
    letters = [i for i in sheet.items if isinstance(i, Text)]
    boxes = [(text_box(t), t.text) for t in letters]
    for (a, one), (b, other) in itertools.combinations(boxes, 2):
        assert not a.meets(b), (one, other)
    for b, text in boxes:
        assert not ring.intersects(box(b.left, b.lower, b.right, b.upper)), text
    frames = {f.text for f in letters if f.layer == "frames"}
    assert set(shape.frames) <= frames
    assert min(t.height_mm for t in letters) >= 1.8
    assert all(abs(t.turn_rad) < 0.5 for t in letters)


@pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES)
def test_the_legend_keeps_clear_too(shape) -> None:
    sheet = sheet_of(shape, doubts=["Frame 9: girth read as 1108 is in doubt."] * 3)
    boxes = [text_box(t) for t in sheet.paper if isinstance(t, Text)]
    top = max(b.upper for b in boxes)
    drawn = [sheet.on_paper(p) for p in outline(sheet)]
    assert not any(a.meets(b) for a, b in itertools.combinations(boxes, 2))
    assert min(y for _, y in drawn) > top
    assert max(b.right for b in boxes) <= sheet.page.inner.right


def test_planks_of_a_hull_are_lettered_clear() -> None:
    from drawing_helper import stepped_layout  # noqa: PLC0415
    from made_hulls import launch  # noqa: PLC0415
    from made_planking import even_lining, ways_of  # noqa: PLC0415
    from ribband.planks import get_shapes, list_planks  # noqa: PLC0415

    hull = launch()
    lining = even_lining(hull, 16)
    job = (hull, lining, ways_of(hull, lining), stepped_layout(lining))
    every = pairs(list_planks(*job).planks, get_shapes(*job).shapes)
    assert len(every) > 90
    for plank, shape in every[::3]:
        sheet = patterns.full_size(shape, plank, METRIC)
        ring = LineString([*outline(sheet), outline(sheet)[0]])
        boxes = [(text_box(t), t.text) for t in sheet.items if isinstance(t, Text)]
        for b, text in boxes:
            assert not ring.intersects(box(b.left, b.lower, b.right, b.upper)), (plank.name, text)
        for (a, one), (b, other) in itertools.combinations(boxes, 2):
            assert not a.meets(b), (plank.name, one, other)


def test_a_bevel_is_written_both_ways() -> None:
    assert bevel(math.atan(0.25), "mm") == "14.0°  25 on 100"
    assert bevel(-math.atan(1 / 12), "ft") == "−4.8°  −1 on 12"
    assert (degrees(math.nan), rise(math.nan, "mm"), bevel(math.nan, "mm")) == ("", "", "?")


# --- DXF -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(("side", "hand"), [("port", 1), ("starboard", -1)])
def test_dxf_is_the_plank_at_full_size(tmp_path: Path, side: str, hand: int) -> None:
    doc = ezdxf.readfile(dxf.write(sheet_of(SECTOR, side), tmp_path / "a.dxf"))
    assert doc.units == ezdxf.units.MM
    (ring,) = doc.modelspace().query('LWPOLYLINE[layer=="OUTLINE"]')
    assert ring.closed
    points = np.array(ring.get_points("xy")) * (hand, 1)
    assert off_sector(between(points)).max() < 0.1
    true = 2 * (RADIUS + WIDE / 2) * math.sin(LONG / 2 / RADIUS)
    assert np.ptp(points[:, 0]) == pytest.approx(true, abs=0.01)
    assert not doc.audit().has_errors


def test_dxf_has_its_layers_and_the_frames_where_the_batten_has_them(tmp_path: Path) -> None:
    sheet = sheet_of(SECTOR, nails=[(600.0, 12.0)])
    model = ezdxf.readfile(dxf.write(sheet, tmp_path / "a.dxf")).modelspace()
    layers = {entity.dxf.layer for entity in model}
    assert layers == {"OUTLINE", "BATTEN LINE", "FRAMES", "BEVELS", "NAME", "SIGNS", "NAILS"}
    lines = [np.array(e.get_points("xy")) for e in model.query('LWPOLYLINE[layer=="FRAMES"]')]
    assert [line[0, 0] for line in lines] == pytest.approx(SECTOR.along_mm, abs=1e-6)
    assert [line[0, 1] for line in lines] == pytest.approx(SECTOR.lower_mm, abs=1e-6)
    assert [line[1, 1] for line in lines] == pytest.approx(SECTOR.upper_mm, abs=1e-6)
    said = {e.dxf.text for e in model.query("TEXT")}
    assert {"P3-1", "4", "33", "11800", bevel(SECTOR.lower_fit_rad[0], "mm")} <= said
    assert not any(e.dxf.get("text_generation_flag", 0) for e in model.query("TEXT"))


# --- SVG -----------------------------------------------------------------------------------------


def test_svg_holds_the_outline_at_full_size(tmp_path: Path) -> None:
    tree = ET.parse(svg.write(sheet_of(SECTOR), tmp_path / "a.svg"))
    group = next(e for e in tree.iter() if e.get("id") == "outline")
    numbers = re.findall(r"-?[\d.]+", group[0].get("d", ""))
    ring = np.array(numbers, float).reshape(-1, 2) * (1, -1)
    assert off_sector(between(ring)).max() < CHORD_MM + 0.01


# --- PDF: the roll -------------------------------------------------------------------------------


def ring_on(page: pdfium.PdfPage, like: np.ndarray) -> np.ndarray:
    """The outline as the page has it, its points in mm on the paper."""
    return next(p[: len(like)] for p in paths(page) if len(like) <= len(p) <= len(like) + 1)


def crosses(page: pdfium.PdfPage) -> np.ndarray:
    """The middles of the match marks' crosses."""
    across = [p for p in levels(page) if abs(np.ptp(p[:, 0]) - 5.0) < 0.01]
    return np.array([p.mean(axis=0) for p in across])


def test_a_roll_of_twelve_metres_is_true_and_its_marks_meet(tmp_path: Path) -> None:
    sheet = sheet_of(SECTOR)
    sheets = patterns.roll(sheet, 914.0)
    doc = pdfium.PdfDocument(pdf.write(sheets, tmp_path / "a.pdf"))
    assert len(doc) == 3
    like, marks = outline(sheet), []
    for page in doc:
        width, height = (size / pdf.MM for size in page.get_size())
        assert width <= PDF_MOST_MM
        assert height == pytest.approx(914.0, abs=0.01)
        ring = ring_on(page, like)
        shift = ring[0] - like[0]
        assert off_sector(between(ring - shift)).max() < 0.1
        assert np.ptp(ring[:, 0]) == pytest.approx(np.ptp(like[:, 0]), abs=0.1)
        marks.append(crosses(page) - shift)
        page.close()
    doc.close()
    assert [len(m) for m in marks] == [2, 4, 2]
    joined = [np.linalg.norm(a[:, None] - b, axis=2).min(axis=1) for a, b in
              itertools.pairwise(marks)]  # fmt: skip
    assert all(np.sort(far)[:2].max() < 0.05 for far in joined)


def test_every_point_of_the_plank_is_on_some_page_of_the_roll() -> None:
    sheet = sheet_of(SECTOR)
    sheets = patterns.roll(sheet, 610.0, longest_mm=3000.0)
    assert all(seen_on(sheets, point) for point in between(outline(sheet)))
    assert all(s.page.width_mm <= 3000.0 + 1e-6 for s in sheets)


def seen_on(sheets, point) -> bool:
    for s in sheets:
        x, y = s.on_paper(tuple(point))
        w = s.window or s.page.inner
        if w.left - 1e-6 <= x <= w.right + 1e-6 and w.lower - 1e-6 <= y <= w.upper + 1e-6:
            return True
    return False


def test_more_sweep_than_the_roll_is_wide_is_split_too() -> None:
    swept = cone_sector("2-1", 6_000.0, 250.0, 9_000.0)
    sheets = patterns.roll(sheet_of(swept), 610.0)
    assert len(sheets) > 2
    assert all(seen_on(sheets, point) for point in between(outline(sheet_of(swept))))


def test_a_plank_measured_on_the_printed_picture(tmp_path: Path) -> None:
    """Render at four dots to the millimetre and measure ink, as one would with a rule."""
    shape = cylinder_strip("4-3", 900.0, 140.0, space=1600.0)
    doc = pdfium.PdfDocument(pdf.write(patterns.roll(sheet_of(shape), 610.0), tmp_path / "a.pdf"))
    page = doc[0]
    dots = 4.0
    picture = page.render(scale=dots / pdf.MM, grayscale=True).to_pil()
    ink = np.asarray(picture) < 230
    page.close()
    doc.close()
    edges = np.flatnonzero(ink.sum(axis=1) > 880 * dots)
    assert np.ptp(edges) / dots == pytest.approx(140.0, abs=0.5)
    inside = ink[edges.min() : edges.max() + 1].sum(axis=0)
    ends = np.flatnonzero(inside > 135 * dots)
    assert np.ptp(ends) / dots == pytest.approx(900.0, abs=0.5)


# --- PDF: tiles ----------------------------------------------------------------------------------


@pytest.mark.parametrize("bench", [METRIC, FEET], ids=["mm", "feet"])
@pytest.mark.parametrize("paper", ["A4", "A3", "letter"])
def test_tiles_are_true_and_numbered_and_meet(tmp_path: Path, paper: str, bench: Bench) -> None:
    sheet = sheet_of(FIVE_METRES, bench=bench)
    sheets = patterns.tiles(sheet, paper)
    doc = pdfium.PdfDocument(pdf.write(sheets, tmp_path / "a.pdf"))
    like, bar = outline(sheet), 101.6 if bench is FEET else 100.0
    marks: list[np.ndarray] = []
    for number, page in enumerate(doc):
        said = texts(page)
        assert min(abs(np.ptp(p[:, 0]) - bar) for p in levels(page)) < 0.01, number
        if number == 0:
            assert f"{len(doc) - 1} sheets follow" in said
            page.close()
            continue
        assert f"sheet {number} of {len(doc) - 1}" in said
        ring = [p for p in paths(page) if len(like) <= len(p) <= len(like) + 1]
        assert ring, "a sheet without the plank's edge"
        shift = ring[0][0] - like[0]
        assert np.abs(ring[0][: len(like)] - shift - like).max() < 0.05
        marks.append(crosses(page) - shift)
        page.close()
    doc.close()
    for i, here in enumerate(marks):  # every mark stands on the same point of another sheet
        others = np.concatenate([m for k, m in enumerate(marks) if k != i])
        assert np.linalg.norm(here[:, None] - others, axis=2).min(axis=1).max() < 0.05


@pytest.mark.parametrize("paper", ["A4", "A3", "letter"])
def test_marks_of_a_tile_keep_clear_of_each_other_with_their_lettering(paper: str) -> None:
    swept = cone_sector("1-1", 4_000.0, 260.0, 6_000.0)  # two rows of sheets and more
    for sheet in tiles(turned(sheet_of(swept)), paper)[1:]:
        letters = [text_box(t) for t in sheet.paper if isinstance(t, Text)]
        arms = [Box(m.at[0] - wide, m.at[1] - high, m.at[0] + wide, m.at[1] + high)
                for m in sheet.paper if isinstance(m, Mark) and m.kind == "plus"
                for wide, high in ((2.5, 0.1), (0.1, 2.5))]  # fmt: skip
        assert not [1 for a, b in itertools.combinations(letters, 2) if a.meets(b)]
        inked = [replace(text_box(t), lower=t.at[1]) for t in sheet.paper
                 if isinstance(t, Text) and t.layer == "match"]  # fmt: skip
        assert not [1 for a in inked for b in arms if a.meets(b)]


@pytest.mark.parametrize("shape", [*SHAPES.values(), cone_sector("2-1", 6_000.0, 250.0, 9_000.0)])
def test_tiles_show_all_of_the_plank_and_no_blank_sheets(shape) -> None:
    sheet = sheet_of(shape)
    _, *sheets = patterns.tiles(sheet, "A4")
    assert all(seen_on(sheets, point) for point in between(outline(sheet)))
    plank = Polygon(outline(sheet)).buffer(3.0)
    letters = [i.at for i in sheet.items if isinstance(i, Text)]
    for s in sheets:
        (a, b), (c, d) = (s.full_size((s.window.left, s.window.lower)),
                          s.full_size((s.window.right, s.window.upper)))  # fmt: skip
        lettered = any(a <= x <= c and b <= y <= d for x, y in letters)
        assert lettered or plank.intersects(box(a, b, c, d))


def test_turning_moves_the_whole_pattern_and_changes_nothing() -> None:
    strip = cylinder_strip("5-1", 5_000.0)
    c, s = math.cos(0.08), math.sin(0.08)
    turn = np.array([[c, s], [-s, c]])
    lying = replace(strip, lower=strip.lower @ turn, upper=strip.upper @ turn,
                    fore=strip.fore @ turn, aft=strip.aft @ turn)  # fmt: skip
    sheet = sheet_of(lying, nails=[(100.0, 10.0)])
    level = patterns.turned(sheet)
    assert np.ptp(outline(level)[:, 1]) == pytest.approx(180.0, abs=1e-6)
    assert len(patterns.tiles(level)) < len(patterns.tiles(sheet))

    def ats(of: Sheet) -> np.ndarray:
        others = [i.at for i in of.items if not isinstance(i, Polyline)]
        return np.concatenate([outline(of), np.array(others)])

    before, after = ats(sheet), ats(level)
    for k in (0, len(before) // 2, -1):
        far = [np.linalg.norm(points - points[k], axis=1) for points in (before, after)]
        assert far[0] == pytest.approx(far[1], abs=1e-6)
    turns = {round(i.turn_rad, 6) for i in level.items if isinstance(i, Text)}
    assert min(turns) == pytest.approx(-0.08, abs=1e-6)
    assert patterns.turned(level) is level


def test_a_swept_plank_takes_fewer_sheets_than_its_rectangle() -> None:
    swept = sheet_of(cone_sector("2-1", 6_000.0, 250.0, 9_000.0))
    _, *sheets = patterns.tiles(swept, "A4")
    grid = {round(s.origin[0], 3) for s in sheets}, {round(s.origin[1], 3) for s in sheets}
    assert len(sheets) < 0.8 * len(grid[0]) * len(grid[1])


def test_the_page_map_tells_what_is_in_doubt() -> None:
    page_map, *_ = patterns.tiles(sheet_of(SECTOR, doubts=["Frame 9: a girth is in doubt."]))
    said = " ".join(i.text for i in page_map.paper if isinstance(i, Text))
    assert "In doubt: Frame 9: a girth is in doubt." in said
    numbers = [i.text for i in page_map.items if isinstance(i, Text)]
    boxes = [i for i in page_map.items if isinstance(i, Polyline) and i.layer == "tiles"]
    assert numbers[0] == "1"
    assert len(boxes) > len(numbers) > 3


# --- what is refused, and the folder -------------------------------------------------------------


@pytest.mark.parametrize("wrong", [
    lambda s: patterns.roll(s, 100.0),
    lambda s: patterns.roll(s, 914.0, longest_mm=9_000.0),
    lambda s: patterns.tiles(s, "A4", 2.0),
    lambda s: patterns.tiles(s, "foolscap"),
])  # fmt: skip
def test_paper_that_cannot_be_is_refused_in_words(wrong) -> None:
    with pytest.raises(ValueError, match=r"wanted one of|at least|from \d+"):
        wrong(sheet_of(SECTOR))


def test_a_folder_of_patterns(tmp_path: Path) -> None:
    told: list[tuple[float, str]] = []
    planks = many(3)
    made = patterns.write_folder(
        planks, METRIC, tmp_path / "patterns", ("dxf", "svg", "A4"),
        doubts={"P1-2": ["Frame 9: a girth is in doubt."]},
        progress=lambda part, says: told.append((part, says)),
    )  # fmt: skip
    assert sorted(p.name for p in made) == sorted(
        f"P1-{n}{end}" for n in (1, 2, 3) for end in (".dxf", ".svg", " A4.pdf")
    )
    assert all(p.stat().st_size > 1000 for p in made)
    assert told[-1] == (1.0, "pattern of P1-3")
    with pytest.raises(ValueError, match="dxf, arcs, svg, roll"):
        patterns.write_folder(planks, METRIC, tmp_path, ("step",))


def test_the_same_pattern_gives_the_same_pdf(tmp_path: Path) -> None:
    one, two = (pdf.write(patterns.roll(sheet_of(SECTOR)), tmp_path / n) for n in ("a", "b"))
    assert one.read_bytes() == two.read_bytes()


# --- planks and shapes ---------------------------------------------------------------------------


def test_one_shape_serves_both_sides() -> None:
    planks = [plank_for(SECTOR), plank_for(SECTOR, "starboard"), plank_for(SHAPES["strip"])]
    found = pairs(planks, [SECTOR])
    assert [(p.name, s.name) for p, s in found] == [("P3-1", "3-1"), ("S3-1", "3-1")]


def test_doubts_at_the_frames_a_plank_crosses() -> None:
    from made_hulls import launch  # noqa: PLC0415
    from ribband.hull.model import Doubt  # noqa: PLC0415

    hull = launch()
    open_ = Doubt("k", "9", "girth", "1108", 1108, 1130, -22, "", "", "girths.csv", 4, "girth")
    marks = ["between" if n == "12" else "measured" for n in hull.frames.names]
    frames = replace(hull.frames, basis=tuple(marks))
    doubted = replace(
        hull,
        frames=frames,
        doubts=(open_, replace(open_, frame="60"), replace(open_, decision="keep")),
    )
    found = [
        Finding("F1", Severity.CAUTION, "planks", "plank 3-1", "too much twist at frame 9"),
        Finding("F2", Severity.CAUTION, "planks", "plank 13-1", "Not this one."),
        Finding("F3", Severity.NOTE, "planks", "3-1", "Only a note."),
    ]
    said = doubts_about(doubted, SECTOR, found)
    assert said == (
        "Frame 9: girth read as 1108 is in doubt.",
        "Nothing was measured at frame 12: faired in between.",
        "Too much twist at frame 9.",
    )
    at_stations = replace(hull, frames=replace(hull.frames, basis=("between",) * len(marks)))
    assert doubts_about(at_stations, SECTOR) == ()


def test_a_roll_is_as_wide_as_it_is_asked_for(tmp_path) -> None:
    """The page of the PDF has the width of the roll, and the check says what cannot be."""
    shape = cylinder_strip("7-2", 3000.0)
    (path,) = patterns.write_folder(
        [(plank_for(shape), shape)], Bench("Marl Heron"), tmp_path, ("roll",), roll_mm=610.0
    )
    with pdfium.PdfDocument(path) as pages:
        assert min(pages[0].get_size()) / 72 * 25.4 == pytest.approx(610.0, abs=0.1)
    with pytest.raises(ValueError, match="a roll of at least 250 mm"):
        patterns.write_folder(
            [(plank_for(shape), shape)], Bench("x"), tmp_path, ("roll",), roll_mm=200.0
        )


def test_the_caulking_bevel_is_said_apart_from_the_fit() -> None:
    words = " ".join(i.text for i in downwards(sheet_of(SECTOR)))
    out = 32.0 * math.tan(OPENING)
    angle = degrees(OPENING)
    assert (
        f"from a line 16 mm off the inner face out, both edges by {out:.1f} mm ({angle})" in words
    )
    low = replace(SECTOR, upper_bevel_rad=SECTOR.upper_fit_rad)
    assert f"out, lower edge by {out:.1f} mm" in caulking_bevel(low, plank_for(SECTOR), "mm")
    plain = replace(low, lower_bevel_rad=SECTOR.lower_fit_rad)
    assert not caulking_bevel(plain, plank_for(SECTOR), "mm")
