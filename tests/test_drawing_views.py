"""Each drawing against what it is drawn from: places, figures, words, nothing overlapping."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import numpy as np
import pypdfium2 as pdfium
import pytest

import ribband.drawing
from drawing_helper import equal_lining, stepped_layout
from made_hulls import barrel, launch, tape
from ribband.butts.model import Butt, Layout
from ribband.drawing import pdf
from ribband.drawing.board import Board, Setting
from ribband.drawing.labels import text_box
from ribband.drawing.sheet import Curve, Dimension, Mark, Page, Polyline, Sheet, Text
from ribband.drawing.views.body import body_plan
from ribband.drawing.views.cuts import along, net, section
from ribband.drawing.views.expansion import expansion
from ribband.drawing.views.flat import bands, laid_flat
from ribband.drawing.views.girths import _curve, girth_curve
from ribband.drawing.views.lines import lines_drawing
from ribband.drawing.views.ticks import tick_strips
from ribband.drawing.views.widths import widths_table
from ribband.hull.model import Doubt, Hull
from ribband.lining.model import Lining, Strake
from ribband.planks.model import Plank, PlankList
from ribband.survey.model import Cell, Girth, Reading, Survey

CELL = Cell("offsets.csv", 4, "12")


@cache
def a_launch(unit: str = "mm") -> Hull:
    hull = launch(44)
    named = replace(hull.particulars, vessel="Marl Heron", yard="Ebbmere Slip", unit=unit)
    return replace(hull, particulars=named)


@cache
def lined(unit: str = "mm") -> tuple[Hull, Lining, Layout]:
    hull = a_launch(unit)
    lining = equal_lining(hull)
    return hull, lining, stepped_layout(lining)


@cache
def taped() -> tuple[Hull, Lining, Layout]:
    hull = tape()
    lining = equal_lining(hull, 12)
    return hull, lining, stepped_layout(lining)


def texts(sheets: Sequence[Sheet]) -> list[Text]:
    return [i for s in sheets for i in (*s.items, *s.paper) if isinstance(i, Text)]


def said(sheets: Sequence[Sheet]) -> str:
    return " ".join(t.text for t in texts(sheets))


def of_kind(sheets: Sequence[Sheet], layer: str, kind: type) -> list:
    return [i for s in sheets for i in s.items if isinstance(i, kind) and i.layer == layer]


def overlaps(sheet: Sheet) -> list[tuple[str, str]]:
    placed = [(t.text, text_box(t, sheet.on_paper(t.at))) for t in sheet.items
              if isinstance(t, Text) and t.text]  # fmt: skip
    placed += [(t.text, text_box(t)) for t in sheet.paper if isinstance(t, Text) and t.text]
    boxes = [(text, box.grown(-0.15)) for text, box in placed]
    return [(a, b) for i, (a, x) in enumerate(boxes) for b, y in boxes[:i] if x.meets(y)]


def every_drawing(unit: str = "mm") -> dict[str, tuple[Sheet, ...]]:
    hull, lining, layout = lined(unit)
    flat_hull, flat_lining, flat_layout = taped()
    return {
        "expansion": expansion(hull, lining, layout),
        "taped expansion": expansion(flat_hull, flat_lining, flat_layout),
        "widths": widths_table(hull, lining),
        "ticks": tick_strips(hull, lining, frames=("stem", "1", "2", "30", "stern")),
        "lines": lines_drawing(*doubtful()),
        "body": body_plan(hull, lining),
        "girths": girth_curve(flat_hull),
    }


@cache
def doubtful() -> tuple[Hull, Survey]:
    """The launch with readings on its frames, three of them three inches out."""
    hull = a_launch()
    xyz = hull.frames.xyz
    assert xyz is not None
    readings, doubts = [], []
    for i in range(1, 44, 4):
        for j in (4, 9, 14, 19, 24, 29):
            x, y, z = xyz[i, j]
            off = 76.2 if (i, j) in {(13, 14), (29, 9), (37, 24)} else 0.0
            key = f"offsets/{i}/{j}"
            readings.append(
                Reading(key, str(i + 1), f"WL {j}", "surface", "both", float(x), float(y + off),
                        float(z), "y", float(y + off), CELL, "3-7-5")
            )  # fmt: skip
            if off:
                doubts.append(
                    Doubt(
                        key, str(i + 1), f"WL {j}", "3-7-5", y + off, y, off, "", "", "o", 4, "12"
                    )
                )
    survey = Survey(hull.particulars, hull.marks, readings=tuple(readings))
    return replace(hull, doubts=tuple(doubts), rms_mm=2.0), survey


# --- all drawings -------------------------------------------------------------------------------


@pytest.mark.parametrize("unit", ["mm", "ft-in-8ths"])
def test_no_lettering_overlaps_and_none_is_small(unit: str) -> None:
    for name, sheets in every_drawing(unit).items():
        for sheet in sheets:
            assert not overlaps(sheet), name
        assert min(t.height_mm for t in texts(sheets)) >= 1.8, name


def test_every_drawing_has_its_title_block() -> None:
    for name, sheets in every_drawing().items():
        words = said(sheets)
        assert f"1 of {len(sheets)}" in words, name
        assert "millimetres" in words, name
        assert sheets[0].title.vessel in words, name


def test_every_drawing_prints(tmp_path: Path) -> None:
    for name, sheets in every_drawing().items():
        doc = pdfium.PdfDocument(pdf.write(sheets, tmp_path / "a.pdf"))
        assert len(doc) == len(sheets), name
        doc.close()


def test_the_door_opens_on_every_view() -> None:
    for name in ribband.drawing.__all__:
        assert getattr(ribband.drawing, name)
    with pytest.raises(AttributeError, match="nothing"):
        _ = ribband.drawing.nothing


# --- the expansion ------------------------------------------------------------------------------


def test_seams_of_a_taped_hull_lie_at_the_girths() -> None:
    hull, lining, layout = taped()
    curves = of_kind(expansion(hull, lining, layout), "seams", Curve)
    assert len(curves) == len(lining.strakes) - 1
    for curve, girths in zip(curves, lining.upper_girth_mm, strict=False):
        knots = np.array([curve.start, *(piece[2] for piece in curve.pieces)])
        assert np.allclose(knots[:, 0], -hull.frames.x_mm)
        assert np.allclose(knots[:, 1], girths[1:-1])


def test_girths_are_laid_up_from_the_rabbet_as_in_the_profile() -> None:
    hull, lining, _ = lined()
    flat = laid_flat(hull)
    assert hull.frames.xyz is not None
    rabbet_z = hull.frames.xyz[:, 0, 2]
    keel = [i for i, start in enumerate(hull.frames.starts) if start == "keel"]
    rise = flat.rise_mm[keel] - rabbet_z[keel]
    assert np.ptp(rise) < 1e-9
    edge = bands(flat, lining)[6].upper
    at = {round(float(-x), 3): y for x, y in edge}
    for i in keel:
        found = at[round(float(hull.frames.x_mm[i]), 3)] - flat.rise_mm[i]
        assert found == pytest.approx(lining.upper_girth_mm[6, i + 1], abs=1e-9)


@pytest.mark.parametrize("end", ["stem", "stern"])
def test_hood_ends_keep_their_true_length(end: str) -> None:
    hull, _, _ = lined()
    flat = laid_flat(hull)
    run = flat.stem if end == "stem" else flat.stern
    assert run is not None
    drawn = np.linalg.norm(np.diff(run[:, 1:], axis=0), axis=1).sum()
    girth = hull.lines.girth_mm[0 if end == "stem" else -1]
    assert drawn == pytest.approx(girth, rel=2e-3)


def test_a_frame_on_the_stem_starts_on_the_drawn_stem() -> None:
    hull, _, _ = lined()
    flat = laid_flat(hull)
    assert flat.stem is not None
    on_stem = [i for i, s in enumerate(hull.frames.starts) if s == "stem"]
    assert on_stem
    order = np.argsort(flat.stem[:, 1])
    for i in on_stem:
        y = np.interp(flat.x_mm[i], flat.stem[order, 1], flat.stem[order, 2])
        assert flat.rise_mm[i] == pytest.approx(y, abs=2.0)


def test_port_is_starboard_mirrored() -> None:
    hull, lining, _ = lined()
    port, starboard = laid_flat(hull, 1), laid_flat(hull, -1)
    for a, b in zip(bands(port, lining), bands(starboard, lining), strict=True):
        assert np.allclose(a.upper * [-1, 1], b.upper)


def test_butts_stand_on_their_frames_and_blocks_in_their_bays() -> None:
    hull, lining, layout = lined()
    sheets = expansion(hull, lining, layout)
    x = hull.frames.x_mm
    dots = [m for m in of_kind(sheets, "butts", Mark) if m.kind == "dot"]
    blocks = of_kind(sheets, "blocks", Mark)
    rings = of_kind(sheets, "fixed butts", Mark)
    on_frames = [b for b in layout.butts if b.landing % 2 == 0]
    in_bays = [b for b in layout.butts if b.landing % 2]
    assert Counter(round(-m.at[0], 6) for m in dots) == Counter(
        round(float(x[b.landing // 2]), 6) for b in on_frames
    )
    assert Counter(round(-m.at[0], 6) for m in blocks) == Counter(
        round(float(x[b.landing // 2] + x[b.landing // 2 + 1]) / 2, 6) for b in in_bays
    )
    assert len(rings) == sum(b.fixed for b in layout.butts)


def test_the_tightest_shift_is_dimensioned_and_no_other() -> None:
    hull, lining, _ = lined()
    butts = (Butt(3, 20), Butt(4, 28), Butt(7, 30), Butt(8, 36), Butt(9, 50))
    sheets = expansion(hull, lining, Layout(butts, True, (), 0.0, 0))
    found = of_kind(sheets, "distances", Dimension)
    x = hull.frames.x_mm
    assert [d.text for d in found] == [f"3 sp, {x[18] - x[15]:.0f}"]


def test_planks_bear_the_names_of_the_list() -> None:
    hull, lining, layout = lined()
    plank = Plank("S5-2 x", "starboard", "5", 2, "14", "frame", "26", "frame", 1.0, 1.0, 1.0, 1.0,
                  1.0, 1.0, None, None, 1.0, 1.0)  # fmt: skip
    none = PlankList((plank,), (), (), (), ())
    names = {t.text for t in of_kind(expansion(hull, lining, layout, none), "plank names", Text)}
    assert "S5-2 x" in names
    assert "S5-2" not in names
    assert "S5-1" in names


def test_what_found_no_room_is_counted() -> None:
    hull, lining, layout = lined()
    small = Setting(Page.of("A4"), girth_scale="same")
    sheets = expansion(hull, lining, layout, setting=small)
    planks = len(lining.strakes) + len(layout.butts)
    shown = len(of_kind(sheets, "plank names", Text))
    found = re.search(r"Plank names that found no room: (\d+)", said(sheets))
    assert found
    assert int(found[1]) == planks - shown


def test_the_legend_shows_no_sign_of_what_was_left_off() -> None:
    hull, lining, layout = lined()
    legend = {"width, square across": "widths", "tightest shift": "distances"}
    for scale in ("fit", "1:400"):
        sheets = expansion(hull, lining, layout, setting=Setting(Page.of("A4"), scale=scale))
        drawn = {item.layer for sheet in sheets for item in sheet.items}
        assert {words: words in said(sheets) for words in legend} == {
            words: layer in drawn for words, layer in legend.items()
        }
    assert "widths" not in drawn


def test_doubts_and_broken_rules_are_said() -> None:
    hull, lining, layout = lined()
    bad = expansion(
        replace(hull, doubts=doubtful()[0].doubts),
        replace(lining, feasible=False),
        replace(layout, feasible=False),
    )
    words = said(bad)
    assert "BREAKS A LIMIT" in words
    assert "BREAK THE RULES" in words
    assert "left out of this drawing: 3" in words
    good = said(expansion(hull, lining, layout))
    assert "BREAK" not in good
    assert "left out" not in good


def test_open_ends_where_hood_ends_are_not_known() -> None:
    sheets = expansion(*taped())
    dashes = of_kind(sheets, "open ends", Polyline)
    assert len(dashes) == 2 * (len(taped()[1].strakes) + 1)
    assert "Hood ends were not measured" in said(sheets)
    assert not of_kind(expansion(*lined()), "open ends", Polyline)


def test_a_stealer_is_drawn_with_its_nib() -> None:
    hull, lining, _ = taped()
    rows = [0, 1, 2, 3, 4, *range(4, 12)]
    lower, upper = lining.lower_girth_mm[rows].copy(), lining.upper_girth_mm[rows].copy()
    nib = lining.columns.index("14")
    middle = (lower[4] + upper[4]) / 2
    upper[4, nib:], lower[5, nib:] = middle[nib:], middle[nib:]
    lower[5, :nib], upper[5, :nib] = np.nan, np.nan
    strakes = list(lining.strakes)
    strakes.insert(5, Strake("5s", "stealer", "14", "stern", True, "14"))
    stealer = replace(
        lining, strakes=tuple(strakes), lower_girth_mm=lower, upper_girth_mm=upper,
        width_mm=upper - lower, present=np.ones((13, 41)),
    )  # fmt: skip
    sheets = expansion(hull, stealer)
    (stroke,) = of_kind(sheets, "nibs", Polyline)
    x = -float(hull.frames.x_mm[hull.frames.names.index("14")])
    assert [p[0] for p in stroke.points] == pytest.approx([x, x])
    assert [p[1] for p in stroke.points] == pytest.approx([lower[5, nib], upper[5, nib]])
    assert "5s" in {t.text.split()[-1] for t in of_kind(sheets, "strake names", Text)}


def test_a_set_scale_is_kept_and_splits_the_drawing() -> None:
    hull, lining, layout = lined()
    sheets = expansion(hull, lining, layout, setting=Setting(scale="1:20", girth_scale="same"))
    assert len(sheets) > 2
    assert all(s.scale == s.scale_up == 1 / 20 for s in sheets)
    names = {t.text for t in of_kind(sheets, "frame numbers", Text)}
    assert set(hull.frames.names) <= names


def test_rule_words_are_printed() -> None:
    hull, lining, layout = lined()
    sheets = expansion(hull, lining, layout, rule_words=("Four spaces in adjacent strakes.",))
    assert "Four spaces in adjacent strakes." in said(sheets)


# --- the table of widths ------------------------------------------------------------------------


def column_figures(sheets: Sequence[Sheet]) -> list[tuple[float, float, str]]:
    return [(t.at[0], t.at[1], t.text) for s in sheets for t in s.items
            if isinstance(t, Text) and t.layer == "girths"]  # fmt: skip


def test_every_width_and_girth_is_in_the_table_and_columns_add_up() -> None:
    hull, lining, _ = taped()
    sheets = widths_table(hull, lining)
    columns: dict[float, list[tuple[float, float]]] = {}
    for x, y, text in column_figures(sheets):
        columns.setdefault(round(x, 3), []).append((-y, float(text)))
    assert len(columns) == len(hull.frames.names)
    count = len(lining.strakes)
    for k, x in enumerate(sorted(columns)):
        figures = [value for _, value in sorted(columns[x])]
        widths, total, girths = figures[:count], figures[count], figures[count + 1 :]
        wanted = lining.upper_girth_mm[::-1, k + 1]
        assert girths == pytest.approx(wanted, abs=0.5)
        assert total == pytest.approx(hull.frames.girth_mm[k], abs=0.5)
        assert sum(widths) == pytest.approx(total, abs=count / 2)


def test_a_long_table_takes_more_sheets_and_loses_no_frame() -> None:
    hull, lining, _ = lined("ft-in-8ths")
    sheets = widths_table(hull, lining, setting=Setting(Page.of("A4")))
    assert len(sheets) >= 3
    heads = [t.text for t in of_kind(sheets, "strake names", Text) if t.align == "right"]
    assert set(heads) == {"stem", *hull.frames.names, "stern"}
    assert [t.number for t in sheets] == list(range(1, len(sheets) + 1))


# --- tick strips --------------------------------------------------------------------------------


def test_every_mark_of_every_frame_is_on_a_strip_at_its_girth() -> None:
    hull, lining, _ = lined()
    sheets = tick_strips(hull, lining)
    assert all(s.scale == 1.0 for s in sheets)
    ticks = Counter(round(i.points[0][0], 6) for i in of_kind(sheets, "ticks", Polyline))
    for column in range(len(lining.columns)):
        for girth in lining.upper_girth_mm[:, column]:
            if np.isfinite(girth):
                assert ticks[round(float(girth), 6)] >= 1


def test_ticks_are_printed_full_size(tmp_path: Path) -> None:
    hull, lining, _ = lined()
    (sheet, *_) = tick_strips(hull, lining, frames=("30",))
    ticks = [i.points[0] for i in sheet.items if isinstance(i, Polyline) and i.layer == "ticks"]
    girth = lining.upper_girth_mm[0, lining.columns.index("30")]
    spread = sheet.on_paper(ticks[1])[0] - sheet.on_paper(ticks[0])[0]
    assert spread == pytest.approx(girth, abs=1e-9)
    doc = pdfium.PdfDocument(pdf.write(sheet, tmp_path / "a.pdf"))
    text = doc[0].get_textpage()
    words = text.get_text_range()
    assert "frame 30" in words
    assert "100 mm exactly" in words
    text.close()
    doc.close()


def test_pieces_of_a_strip_share_their_join_lines_and_leave_no_gap() -> None:
    hull, lining, _ = lined()
    sheets = tick_strips(hull, lining, frames=("30",))
    assert len(sheets) > 3
    joins = Counter(round(i.points[0][0], 6) for i in of_kind(sheets, "open ends", Polyline))
    assert set(joins.values()) == {2}
    edges = of_kind(sheets, "sheer", Polyline)
    spans = sorted((i.points[0][0], i.points[1][0]) for i in edges)
    assert spans[0][0] == 0.0
    assert spans[-1][1] == pytest.approx(hull.frames.girth_mm[29])
    assert all(b[0] < a[1] for a, b in pairwise(spans))
    for s in sheets:
        for i in s.items:
            if isinstance(i, Polyline) and i.layer == "sheer":
                assert s.page.inner.left <= s.on_paper(i.points[0])[0]
                assert s.on_paper(i.points[1])[0] <= s.page.inner.right


# --- lines and body plan ------------------------------------------------------------------------


def test_cuts_of_a_barrel_are_the_lines_they_should_be() -> None:
    hull = barrel(1000.0)
    assert hull.surface is not None
    n = net(hull.surface)
    cut = section(n, 5000.0)
    assert cut is not None
    assert np.abs(np.hypot(cut[:, 1], cut[:, 2] - 1000.0) - 1000.0).max() < 0.1
    (waterline,) = along(n, 2, 400.0)
    assert np.abs(waterline[:, 1] - 800.0).max() < 0.1  # 3-4-5: 1000^2 - 600^2
    assert waterline[0, 0] == pytest.approx(0.0, abs=1e-6)
    assert waterline[-1, 0] == pytest.approx(12000.0, abs=1e-6)
    assert along(n, 2, 5000.0) == ()


def test_a_buttock_that_comes_back_is_one_curve() -> None:
    """A barrel more than half round: the buttock passes each section twice."""
    hull = barrel(1000.0)
    assert hull.surface is not None
    n = net(hull.surface)
    x, angle = 6000.0 * n.u, n.v * 0.8 * np.pi
    out = np.stack(np.broadcast_arrays(
        x[:, None], (900.0 + 200.0 * np.sin(np.pi * n.u))[:, None] * np.sin(angle)[None],
        -1000.0 * np.cos(angle)[None],
    ), axis=-1)  # fmt: skip
    (run,) = along(replace(n, xyz=out), 1, 1000.0)
    assert np.abs(run[:, 1] - 1000.0).max() < 1e-6
    assert np.linalg.norm(np.diff(run, axis=0), axis=1).max() < 250.0
    assert run[:, 2].min() < -100.0 < 100.0 < run[:, 2].max()
    assert np.allclose(run[0], run[-1])  # it closes on itself


def test_a_section_forward_starts_on_the_stem() -> None:
    hull = a_launch()
    assert hull.surface is not None
    assert hull.frames.xyz is not None
    for i in (0, 1, 5, 20, 43):
        cut = section(net(hull.surface, 161, 161), float(hull.frames.x_mm[i]))
        assert cut is not None
        assert np.linalg.norm(cut[0] - hull.frames.xyz[i, 0]) < 5.0
        assert np.linalg.norm(cut[-1] - hull.frames.xyz[i, -1]) < 1.0


def test_measured_points_and_doubts_are_drawn_and_labelled() -> None:
    hull, survey = doubtful()
    sheets = lines_drawing(hull, survey)
    crosses = of_kind(sheets, "measured", Mark)
    assert len(crosses) == 2 * len(survey.readings)  # a half-breadth shows in two views
    assert len(of_kind(sheets, "doubtful", Mark)) == 2 * 3
    labels = [t.text for t in of_kind(sheets, "doubtful", Text)]
    assert sorted(labels) == [
        "14 WL 14: 76 too great", "30 WL 9: 76 too great", "38 WL 24: 76 too great",
    ]  # fmt: skip
    assert "left out of the fit until decided: 3" in said(sheets)
    r = survey.readings[0]
    assert any(np.allclose(m.at[0], -r.x_mm) for m in crosses)


def test_doubts_at_the_bow_are_lettered_on_the_paper() -> None:
    hull, survey = doubtful()
    fore = survey.readings[0]
    key = fore.key
    doubt = replace(hull.doubts[0], key=key, line="diagonal 10-0-0 @ 42", frame=fore.station)
    edge = replace(fore, x_mm=float(hull.lines.x_mm[0]))
    survey = replace(survey, readings=(edge, *survey.readings[1:]))
    sheets = lines_drawing(replace(hull, doubts=(doubt,)), survey)
    (sheet,) = sheets
    (label,) = of_kind(sheets, "doubtful", Text)
    assert (
        text_box(label, sheet.on_paper(label.at)).right < sheet.page.width_mm - sheet.page.margin_mm
    )


def test_every_section_of_a_body_plan_is_numbered_beside_its_own_head() -> None:
    hull, lining, _ = lined()
    (sheet,) = body_plan(hull, lining)
    names = of_kind((sheet,), "frame numbers", Text)
    assert len(names) == len(of_kind((sheet,), "sections", Curve)) == 22
    leaders = [
        [sheet.on_paper(p) for p in i.points] for i in of_kind((sheet,), "leaders", Polyline)
    ]
    assert leaders
    heads = [sheet.on_paper(c.points()[-1]) for c in of_kind((sheet,), "sections", Curve)]
    head_of = dict(zip(hull.frames.names[::2], heads, strict=True))
    for text in names:
        at, head = sheet.on_paper(text.at), head_of[text.text]
        led = [i for i in leaders if np.hypot(i[0][0] - head[0], i[0][1] - head[1]) < 0.7]
        near = abs(at[0] - head[0]) < 0.9
        assert near or any(abs(i[1][0] - at[0]) < 0.1 for i in led), text.text


def test_lines_and_body_plan_need_a_surface() -> None:
    hull, lining, _ = taped()
    with pytest.raises(ValueError, match="only girths"):
        lines_drawing(hull)
    with pytest.raises(ValueError, match="only girths"):
        body_plan(hull, lining)


def test_seams_of_the_body_plan_lie_on_the_surface() -> None:
    hull, lining, _ = lined()
    sheets = body_plan(hull, lining)
    seams = of_kind(sheets, "seams", Curve)
    assert len(seams) == 2 * (len(lining.strakes) - 1)
    assert hull.surface is not None
    low = min(float(p[2]) for p in net(hull.surface).xyz.reshape(-1, 3))
    points = np.asarray(hull.surface.point(lining.seam_u, lining.seam_v[8]))
    wanted = np.column_stack([np.abs(points[:, 1]), points[:, 2] - low])
    knots = np.array([k for c in seams for k in [c.start, *(p[2] for p in c.pieces)]])
    off = [np.linalg.norm(np.abs(knots) - w, axis=1).min() for w in wanted]
    assert max(off) < 1.0


def test_the_girth_curve_does_not_swing_below_a_hood_end() -> None:
    """A hood end's girth runs along the stem: no batten goes through it and the frames."""
    lines = tape().lines
    ends = np.append(lines.x_mm[0] - 900.0, lines.x_mm[1:])
    girth = np.append(2.5 * lines.girth_mm[1], lines.girth_mm[1:])
    board = Board(0.02, 0.05)
    _curve(board, replace(lines, names=("stem", *lines.names[1:]), x_mm=ends, girth_mm=girth))
    (curve,) = [item for item in board.items if isinstance(item, Curve)]
    heights = [point[1] for piece in curve.pieces[:4] for point in piece]
    assert min(heights) >= 0.99 * lines.girth_mm[1]
    (straight,) = [item for item in board.items if isinstance(item, Polyline)]
    assert len(straight.points) == 2


def test_the_girth_curve_rings_what_it_doubts() -> None:
    hull, _, _ = taped()
    girths = tuple(
        Girth(f"g/{n}", n, float(x), float(g) + (40.0 if n == "12" else 0.0), "both", CELL, "")
        for n, x, g in zip(hull.frames.names, hull.frames.x_mm, hull.frames.girth_mm, strict=True)
    )
    doubt = Doubt("g/12", "12", "girth", "", 0.0, 0.0, 40.0, "", "", "girths.csv", 13, "girth")
    survey = Survey(hull.particulars, hull.marks, girths=girths)
    sheets = girth_curve(replace(hull, doubts=(doubt,)), survey)
    assert len(of_kind(sheets, "measured", Mark)) == 36
    (ring,) = of_kind(sheets, "doubtful", Mark)
    assert ring.at == (-girths[11].x_mm, girths[11].girth_mm)
    assert "12 girth: 40 too great" in said(sheets)
