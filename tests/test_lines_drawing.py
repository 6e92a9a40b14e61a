"""The lines drawing: typed lines, heights over the base line, doubts; figures clear of seams."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from itertools import combinations

import numpy as np
import pytest
from shapely import LineString, box

from ribband.drawing.labels import text_box
from ribband.drawing.lettering import width_mm
from ribband.drawing.sheet import Box, Curve, Dimension, Mark, Polyline, Text
from ribband.drawing.views.expansion import expansion
from ribband.drawing.views.lines import lines_drawing
from ribband.hull.model import Doubt, Hull
from ribband.survey.model import Reading, Survey
from test_drawing_views import CELL, a_launch, doubtful, lined, of_kind


@cache
def typed_lines(base_mm: float = 0.0) -> tuple[Hull, Survey]:
    """The launch with exact readings on three waterlines, two buttocks and a diagonal."""
    hull = a_launch("ft-in-8ths")
    assert hull.surface is not None
    readings = []
    wanted = [("y", 2, z) for z in (760.0, 1143.0, 1676.4)]
    wanted += [("z", 1, y) for y in (457.2, 914.4)]
    wanted += [("d", 0, 1828.8)]
    for measured, axis, at in wanted:
        for u in np.linspace(0.2, 0.85, 14):
            p = _met(hull, float(u), measured, axis, at)
            if p is not None:
                readings.append(
                    Reading(f"{measured} {at} {u:.2f}", f"{u:.2f}", f"{measured} {at:g}", "surface",
                            "both", *map(float, p), measured, 1.0, CELL, "3-7-5")
                )  # fmt: skip
    return hull, Survey(hull.particulars, hull.marks, readings=tuple(readings))


def _met(hull: Hull, u: float, measured: str, axis: int, at: float) -> np.ndarray | None:
    """Find where the line of one parameter meets a waterline, a buttock or a diagonal."""
    assert hull.surface is not None

    def off(v: float) -> float:
        _, y, z = np.asarray(hull.surface.point(u, v), float).ravel()
        return float(at - z - y if measured == "d" else (0.0, y, z)[axis] - at)

    low, high = 0.0, 1.0
    if (off(low) > 0) == (off(high) > 0):
        return None
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if (off(middle) > 0) == (off(low) > 0) else (low, middle)
    return np.asarray(hull.surface.point(u, low), float).ravel()


@cache
def _run(curve: Curve | Polyline) -> np.ndarray:
    return np.asarray(curve.points(24) if isinstance(curve, Curve) else curve.points)


def _off_line(curves: Sequence[Curve | Polyline], at: tuple[float, float]) -> float:
    """Give how far a point lies from the nearest of the lines drawn."""
    least = np.inf
    for curve in curves:
        run = _run(curve)
        a, d = run[:-1], np.diff(run, axis=0)
        along_it = np.clip(((at - a) * d).sum(1) / np.maximum((d * d).sum(1), 1e-12), 0, 1)
        least = min(least, float(np.hypot(*(a + along_it[:, None] * d - at).T).min()))
    return least


def test_leaders_of_doubts_cross_no_label_and_no_other_leader() -> None:
    """Four doubts side by side, nearer to each other than their labels are long."""
    hull, survey = doubtful()
    near = [r for r in survey.readings if r.line == "WL 14"][3:7]
    doubts = tuple(
        Doubt(r.key, r.station, r.line, "3-7-5", r.y_mm, r.y_mm - 76, 76.2, "", "", "o", 4, "12")
        for r in near
    )
    sheets = lines_drawing(replace(hull, doubts=doubts), survey)
    (sheet,) = sheets
    labels = [text_box(t, sheet.on_paper(t.at)) for t in of_kind(sheets, "doubtful", Text)]
    leaders = [
        LineString([sheet.on_paper(p) for p in i.points])
        for i in of_kind(sheets, "doubt leaders", Polyline)
    ]
    assert len(labels) == len(leaders) == 4
    for leader in leaders:
        assert not any(leader.crosses(box(*_sides(b)).buffer(-0.1)) for b in labels)
    assert not any(a.crosses(b) for a, b in combinations(leaders, 2))


@pytest.mark.parametrize(("key", "line"), [
    ("half-breadths of station {}", "half-breadths, all"), ("position of station {}", "position"),
])  # fmt: skip
def test_every_reading_of_a_station_doubted_as_a_whole_is_ringed(key: str, line: str) -> None:
    hull, survey = doubtful()
    station = next(r.station for r in survey.readings if r.line == "WL 14")
    own = [r for r in survey.readings if r.station == station and r.measured == "y"]
    doubt = Doubt(key.format(station), station, line, "", 0.0, -15.0, -15.0, "", "", "o", 4, "12")
    sheets = lines_drawing(replace(hull, doubts=(doubt,)), survey)
    rings = [m for m in of_kind(sheets, "doubtful", Mark) if m.kind == "ring"]
    labels = [t.text for t in of_kind(sheets, "doubtful", Text)]
    assert len(own) > 1
    assert {round(m.at[0], 3) for m in rings} > {round(-own[0].x_mm, 3)}
    assert len(rings) >= 2 * len(own)  # in the half-breadth and in the body plan
    assert len(labels) == 1
    assert labels[0].startswith(f"{station} {line}: ")


def _sides(b: Box) -> tuple[float, float, float, float]:
    return b.left, b.lower, b.right, b.upper


def test_a_measured_point_lies_on_the_line_it_was_read_on() -> None:
    hull, survey = typed_lines()
    sheets = lines_drawing(hull, survey)
    layers = {"y": "waterlines", "z": "buttocks", "d": "diagonals"}
    lines = {
        m: [*of_kind(sheets, layer, Curve), *of_kind(sheets, layer, Polyline)]
        for m, layer in layers.items()
    }
    crosses = [m.at for m in of_kind(sheets, "measured", Mark)]
    on_lines = {m: sum(_off_line(lines[m], at) < 0.1 for at in crosses) for m in layers}
    typed = {m: sum(r.measured == m for r in survey.readings) for m in layers}
    assert typed["y"] > 30
    assert typed["z"] > 15
    assert typed["d"] > 8
    assert all(on_lines[m] >= typed[m] for m in layers), (on_lines, typed)


def test_waterlines_are_named_by_their_height_over_the_base_line() -> None:
    hull, survey = typed_lines()
    sheets = lines_drawing(hull, survey)
    names = {t.text for t in of_kind(sheets, "waterlines", Text)}
    assert names == {"WL 2-5-7+", "WL 3-9-0", "WL 5-6-0"}
    assert {t.text for t in of_kind(sheets, "buttocks", Text)} == {"B 1-6-0", "B 3-0-0"}
    unmeasured = lines_drawing(hull)
    assert "WL 2-0-0" in {t.text for t in of_kind(unmeasured, "waterlines", Text)}
    heights = {p[1] for i in of_kind(unmeasured, "grid", Polyline) for p in i.points}
    assert any(abs(h - 609.6) < 1e-6 for h in heights)  # drawn at the height it is named by


def test_no_seam_strikes_through_the_distance_of_two_butts() -> None:
    (sheet,) = expansion(*lined("ft-in-8ths"))
    told = of_kind((sheet,), "distances", Dimension)
    assert told
    seams = [
        LineString([sheet.on_paper(p) for p in c.points(24)])
        for c in of_kind((sheet,), "seams", Curve)
    ]
    for d in told:
        x, y = np.mean([sheet.on_paper(d.a), sheet.on_paper(d.b)], axis=0)
        half, tall = width_mm(d.text, d.height_mm) / 2, d.height_mm / 2
        lettering = box(x - half, y - tall, x + half, y + tall)
        assert not any(seam.intersects(lettering) for seam in seams), d.text
