"""Hulls whose planks are known by formula, from the forms on: a bowl off a ball, and a cone.

Nothing but readings goes in; the hull is faired, lined out, butted, and the planks laid flat.
"""

from __future__ import annotations

import numpy as np
import pytest

from made_forms import form, forms_of, frames
from made_shapes import NO_BUTTS
from ribband import butts, hull, lining, planks
from ribband.drawing.views.lines import lines_drawing
from ribband.survey import read_survey

BALL, SIDING, TOP = 3000.0, 60.0, 1900.0  # mm: radius, half siding, height of the sheer
LENGTH, SMALL, LARGE, AXIS = 8000.0, 600.0, 1300.0, 1400.0  # the cone and the height of its axis
RULES = planks.ShapeRules(opening_part=0.0)


def vessel():
    said = (("vessel", "Marl Heron"), ("unit", "mm"), ("planking", "38"), ("rough", "48"))
    return form("vessel", ("item", "value", "notes"), [(k, v, "") for k, v in said])


def points(sections):
    """The form of points from sections (x, [(y, z), ...]), rabbet first and sheer last."""
    rows = []
    for k, (x, section) in enumerate(sections):
        for j, (y, z) in enumerate(section):
            label = {0: "rabbet", len(section) - 1: "sheer"}.get(j, "")
            rows.append((str(k + 1), "both", label, f"{x:.1f}", f"{y:.1f}", f"{z:.1f}", ""))
    return form("points", ("frame", "side", "label", "x", "y", "z", "notes"), rows)


def ends(rows):
    head = ("end", "height", "position", "half_siding", "notes")
    return form("ends", head, [(e, f"{z:.1f}", f"{x:.1f}", f"{y:.1f}", "") for e, x, y, z in rows])


def bowl_forms():
    """A double-ended bowl: a ball about (0, 0, R), the rabbet at a half siding, a level sheer."""
    rim = np.sqrt(BALL**2 - SIDING**2)

    def section(x: float):
        rho = np.sqrt(BALL**2 - x**2)
        turn = np.linspace(np.arcsin(SIDING / rho), np.arccos((BALL - TOP) / rho), 14)
        return x, [(rho * np.sin(a), BALL - rho * np.cos(a)) for a in turn]

    stations = np.arange(-2000.0, 2001.0, 250.0)
    reach = np.linspace(2200.0, np.sqrt(rim**2 - (BALL - TOP) ** 2), 9)
    edge = [(end, side * x, SIDING, BALL - np.sqrt(rim**2 - x**2))
            for end, side in (("stem", -1), ("stern", 1)) for x in reach]  # fmt: skip
    return forms_of(
        vessel(), frames(list(stations)), points([section(x) for x in stations]), ends(edge)
    )


def cone_forms():
    """Half a cone lying on its side, cut square at both ends."""

    def section(x: float, count: int = 12):
        r = SMALL + (LARGE - SMALL) * x / LENGTH
        turn = np.linspace(np.arcsin(50.0 / r), np.pi / 2, count)
        return x, [(r * np.sin(a), AXIS - r * np.cos(a)) for a in turn]

    stations = np.arange(400.0, 7700.0, 400.0)
    edge = [(end, x, y, z) for end, x in (("stem", 0.0), ("stern", LENGTH))
            for y, z in section(x, 9)[1]]  # fmt: skip
    return forms_of(
        vessel(), frames(list(stations)), points([section(x) for x in stations]), ends(edge)
    )


def planked(forms):
    fair = hull.fit(read_survey(forms))
    lined = lining.line_out(fair)
    ways = butts.ways(fair, lined, butts.rule_sets()["house"])
    shapes = planks.get_shapes(fair, lined, ways, NO_BUTTS, RULES)
    return fair, lined, ways, NO_BUTTS, shapes


@pytest.fixture(scope="module")
def bowl():
    return planked(bowl_forms())


@pytest.fixture(scope="module")
def cone():
    return planked(cone_forms())


@pytest.mark.parametrize("which", ["bowl", "cone"])
def test_the_checks_find_nothing_wrong(which: str, request) -> None:
    *job, shapes = request.getfixturevalue(which)
    assert planks.check_shapes(*job, RULES, shapes) == ()
    fair, lined, ways, layout = job
    assert planks.check(*job, planks.list_planks(fair, lined, ways, layout)) == ()


def test_planks_of_a_bowl_bend_to_the_ball(bowl) -> None:
    _, lined, _, _, shapes = bowl
    assert any(strake.stealer for strake in lined.strakes)
    for shape in shapes.shapes:
        assert shape.bend_radius_mm[2:-2] == pytest.approx(BALL, rel=0.02)
        assert np.abs(shape.twist_rad_per_m[2:-2]).max() < 0.01
        if shape.strake and lined.strakes[shape.strake - 1].stealer:
            continue  # two widths where the nib is let in
        wide = lined.width_mm[shape.strake, [lined.columns.index(f) for f in shape.frames]]
        hollow = wide**2 / 8 / BALL
        assert shape.hollow_mm[2:-2] == pytest.approx(hollow[2:-2], rel=0.05, abs=0.2)  # mm


def test_bevels_of_a_bowl_are_half_the_turn_from_face_to_face(bowl) -> None:
    _, lined, _, _, shapes = bowl
    by_row = {s.strake: s for s in shapes.shapes}
    for row, shape in by_row.items():
        above = by_row.get(row + 1)
        if above is None or lined.strakes[row].stealer or lined.strakes[row + 1].stealer:
            continue
        for k, frame in list(enumerate(shape.frames))[2:-2]:
            if frame in above.frames:
                at = lined.columns.index(frame)
                half = (lined.width_mm[row, at] + lined.width_mm[row + 1, at]) / 2 / BALL / 2
                assert shape.upper_bevel_rad[k] == pytest.approx(-half, abs=2e-3)


def test_planks_of_a_cone_are_its_development(cone) -> None:
    """The seams' crossings with the frames, developed by the cone's own formula."""
    fair, lined, _, _, shapes = cone
    taper = (LARGE - SMALL) / LENGTH
    apex = -SMALL / taper
    sine = taper / np.hypot(1.0, taper)

    def developed(xyz):
        away = (xyz[:, 0] - apex) * np.hypot(1.0, taper)
        turn = np.arctan2(xyz[:, 1], AXIS - xyz[:, 2]) * sine
        return np.stack([away * np.cos(turn), away * np.sin(turn)], axis=1)

    assert fair.rms_mm < 0.1
    for shape in shapes.shapes:
        columns = [lined.columns.index(f) for f in shape.frames]
        true = np.concatenate(
            [developed(xyz[shape.strake, columns]) for xyz in (lined.lower_xyz, lined.upper_xyz)]
        )
        flat = np.concatenate([shape.frame_lines[:, 0], shape.frame_lines[:, -1]])
        apart = [np.linalg.norm(p[:, None] - p[None], axis=-1) for p in (flat, true)]
        assert np.abs(apart[0] - apart[1]).max() < 0.3
        assert shape.strain < 5e-5
        assert shape.seam_error_mm < 0.1


def test_the_lines_of_a_hull_fullest_at_her_stern_are_drawn(cone) -> None:
    sheets = lines_drawing(cone[0])
    assert any(item.layer == "sheer" for sheet in sheets for item in sheet.items)
