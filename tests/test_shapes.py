"""Flat shapes of planks: closed forms, neighbours, the hull closed again, faults caught."""

from __future__ import annotations

from dataclasses import replace
from importlib.resources import files
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_hulls import barrel, launch, tape
from made_planking import even_lining, stepped_layout, ways_of
from made_shapes import NO_BUTTS, apart, ball, cone, with_seams
from ribband.butts.model import Butt, Layout
from ribband.errors import InputError
from ribband.findings import Severity
from ribband.hull import fit
from ribband.lining import LiningRules, Wish, line_out
from ribband.numerics.flattening import flatten
from ribband.planks import ShapeRules, check_shapes, get_shapes, list_planks
from ribband.planks.bend import bending_limits, grade_of
from ribband.planks.blank import plank_blanks, smallest_blanks
from ribband.planks.shapes import flat_planks
from ribband.rulebook import describe
from ribband.sources import sources
from ribband.survey import read_forms, read_survey

RULES = ShapeRules()


def codes(findings) -> set[str]:
    return {f.code for f in findings}


@pytest.fixture(scope="module")
def boat():
    hull = launch()
    lining = even_lining(hull, 16)
    ways = ways_of(hull, lining)
    layout = stepped_layout(ways)
    return hull, lining, ways, layout, get_shapes(hull, lining, ways, layout)


def wavy(strakes: int, bow: float = 0.08):
    """Seams that sweep up and down, and taper forward."""

    def seams(u):
        v = np.linspace(0.1, 0.8, strakes + 1)[:, None]
        return v * (0.7 + 0.3 * u) + bow * np.sin(2.2 * u + v)

    return seams


def middle_grid(length: float, width: float, bow: float):
    """A swept strip in the plane, (49, 5, 2)."""
    s, t = np.meshgrid(np.linspace(0, length, 49), np.linspace(-0.5, 0.5, 5), indexing="ij")
    y = t * width * (0.6 + 0.4 * np.sin(3 * s / length)) + bow * (2 * s / length - 1) ** 2
    return np.stack([s + 0.4 * t * width * np.exp(-s / 500), y], axis=-1)


def test_the_batten_line_lies_on_every_straight_edged_board_that_holds_the_plank(boat) -> None:
    """Its ends lie within the plank's own, so that it is within all that is round the outline."""
    for shape in boat[-1].shapes:
        for end in (shape.fore, shape.aft):
            assert end[:, 1].min() - 1e-6 <= 0.0 <= end[:, 1].max() + 1e-6


@given(st.floats(0.0, 1.5), st.floats(-400.0, 400.0), st.floats(600.0, 5000.0))
@settings(max_examples=25, deadline=None)
def test_a_strip_on_a_cylinder_comes_back_flat_at_any_helix_angle(angle, bow, radius) -> None:
    flat = middle_grid(12000.0, 180.0, bow)
    a = flat[..., 0] * np.cos(angle) - flat[..., 1] * np.sin(angle)
    b = flat[..., 0] * np.sin(angle) + flat[..., 1] * np.cos(angle)
    normal = np.stack([0 * a, np.sin(a / radius), -np.cos(a / radius)], axis=-1)
    found = flatten((radius * normal + b[..., None] * [1.0, 0, 0])[None], normal[None])
    assert apart(found.points[0].reshape(-1, 2), flat.reshape(-1, 2)) < 0.001
    assert np.abs(found.strain).max() < 1e-6


@given(st.floats(0.1, 0.8), st.floats(-300.0, 300.0))
@settings(max_examples=25, deadline=None)
def test_a_strip_on_a_cone_comes_back_flat(half_angle, bow) -> None:
    flat = middle_grid(12000.0, 180.0, bow) + np.array([0.0, 9000.0])
    away, turn = np.hypot(flat[..., 0], flat[..., 1]), np.arctan2(flat[..., 1], flat[..., 0])
    turn = turn / np.sin(half_angle)
    out = np.stack([np.cos(turn), np.sin(turn), 0 * turn], axis=-1)
    xyz = away[..., None] * (np.sin(half_angle) * out + np.cos(half_angle) * np.array([0, 0, 1.0]))
    normal = np.cos(half_angle) * out - np.sin(half_angle) * np.array([0, 0, 1.0])
    found = flatten(xyz[None], normal[None])
    assert apart(found.points[0].reshape(-1, 2), flat.reshape(-1, 2)) < 0.01


def test_planks_of_a_barrel_are_its_development() -> None:
    hull = barrel(radius=1000.0, length=12000.0)
    lining, ways = with_seams(hull, wavy(6), 6)
    shapes = get_shapes(hull, lining, ways, NO_BUTTS).shapes
    u = np.linspace(0, 1, 4001)
    for shape, low, high in zip(shapes, wavy(6)(u)[:-1], wavy(6)(u)[1:], strict=True):
        true = [np.stack([12000.0 * u, np.pi / 2 * 1000.0 * v], axis=-1) for v in (low, high)]
        assert off_curves((shape.lower, shape.upper), true) < 0.01
        assert shape.strain < 1e-6
        assert shape.seam_error_mm < 0.01


def off_curves(edges, curves) -> float:
    """How far edges lie off curves (n, 2), ends matched first, then laid best together."""
    ends = np.array([e[k] for e in edges for k in (0, -1)])
    wanted = np.array([c[k] for c in curves for k in (0, -1)])
    p, q = ends.mean(axis=0), wanted.mean(axis=0)
    left, _, right = np.linalg.svd((ends - p).T @ (wanted - q))
    worst = 0.0
    for edge, curve in zip(edges, curves, strict=True):
        placed = (edge - p) @ (left @ right) + q
        worst = max(worst, *(off_line(point, curve) for point in placed[::8]))
    return worst


def off_line(point, curve) -> float:
    k = int(np.clip(np.linalg.norm(curve - point, axis=1).argmin(), 1, len(curve) - 2))
    a, b = curve[k - 1], curve[k + 1]
    way = (b - a) / np.linalg.norm(b - a)
    return abs(float(way[0] * (point - a)[1] - way[1] * (point - a)[0]))


def test_planks_of_a_cone_are_its_development() -> None:
    hull = cone()
    lining, ways = with_seams(hull, wavy(6), 6)
    slant = np.hypot(12000.0, 1000.0)
    sine = 1000.0 / slant
    u = np.linspace(0, 1, 4001)
    away = (500.0 + 1000.0 * u) / sine
    for shape, *seams in zip(
        get_shapes(hull, lining, ways, NO_BUTTS).shapes,
        wavy(6)(u)[:-1],
        wavy(6)(u)[1:],
        strict=True,
    ):
        turn = [np.pi / 2 * v * sine for v in seams]
        true = [np.stack([away * np.cos(t), away * np.sin(t)], axis=-1) for t in turn]
        assert off_curves((shape.lower, shape.upper), true) < 0.02
        assert shape.seam_error_mm < 0.01


def test_bend_twist_and_hollow_of_a_barrel() -> None:
    hull = barrel(radius=1000.0, length=12000.0)
    rise = 0.6 * np.pi / 2 * 1000.0 / 12000.0
    angle = np.arctan(rise)
    lining, ways = with_seams(hull, lambda u: np.array([[0.1], [0.2], [0.3]]) + 0.6 * u, 2)
    shape = get_shapes(hull, lining, ways, NO_BUTTS).shapes[0]
    across = 0.1 * np.pi / 2 * 1000.0 * np.cos(angle)
    assert 1 / shape.bend_radius_mm[5:-5] == pytest.approx(np.sin(angle) ** 2 / 1000.0, rel=1e-3)
    twist = np.abs(shape.twist_rad_per_m)[5:-5]
    assert twist == pytest.approx(np.sin(angle) * np.cos(angle), rel=1e-3)
    assert shape.hollow_mm[5:-5] == pytest.approx(
        np.cos(angle) ** 2 * across**2 / 8 / 1000.0, rel=3e-3
    )
    assert shape.sweep_mm < 0.01
    assert shape.runout_rad < 1e-4
    assert shape.blank_width_mm == pytest.approx(across, rel=1e-4)
    assert shape.fibre_strain == pytest.approx(38.0 * np.sin(angle) ** 2 / 2000.0, rel=2e-2)


def test_bevels_of_a_barrel_are_half_the_turn_from_plank_to_plank() -> None:
    hull = barrel(radius=1000.0, length=12000.0)
    lining, ways = with_seams(hull, lambda u: np.linspace(0, 1, 9)[:, None] + 0 * u, 8)
    shapes = get_shapes(hull, lining, ways, NO_BUTTS, ShapeRules(opening_part=0.0)).shapes
    turn = np.pi / 2 / 8
    for shape in shapes[1:-1]:
        assert shape.lower_bevel_rad == pytest.approx(-turn / 2, abs=1e-5)
        assert shape.upper_bevel_rad == pytest.approx(-turn / 2, abs=1e-5)
        assert shape.hollow_mm == pytest.approx(1000.0 * (1 - np.cos(turn / 2)), rel=1e-4)
        assert shape.round_mm == pytest.approx(1038.0 * (1 - np.cos(turn / 2)), rel=1e-4)
    assert shapes[0].lower_bevel_rad == pytest.approx(0.0)
    assert shapes[-1].upper_bevel_rad == pytest.approx(0.0)


def test_unlike_neighbours_share_their_turn_alike() -> None:
    hull = barrel(radius=1000.0, length=12000.0)
    lining, ways = with_seams(hull, lambda u: np.array([[0.1], [0.2], [0.4]]) + 0 * u, 2)
    low, high = get_shapes(hull, lining, ways, NO_BUTTS, ShapeRules(opening_part=0.0)).shapes
    half = np.pi / 2 * (0.1 + 0.2) / 2 / 2
    assert low.upper_bevel_rad == pytest.approx(-half, abs=1e-5)
    assert high.lower_bevel_rad == pytest.approx(-half, abs=1e-5)


@pytest.mark.parametrize(
    ("on", "up", "down"), [("both", 0.5, 0.5), ("upper", 1, 0), ("lower", 0, 1)]
)
def test_the_outgauge_opens_the_seam_by_the_rule(on, up, down) -> None:
    hull = barrel(radius=1000.0, length=12000.0)
    lining, ways = with_seams(hull, lambda u: np.linspace(0, 1, 9)[:, None] + 0 * u, 8)
    plain, opened = (
        get_shapes(hull, lining, ways, NO_BUTTS, ShapeRules(opening_part=part, outgauge_on=on))
        for part in (0.0, 0.125)
    )
    whole = np.arctan(0.125 / (2 / 3))
    for a, b in zip(plain.shapes[1:-1], opened.shapes[1:-1], strict=True):
        assert b.upper_bevel_rad - a.upper_bevel_rad == pytest.approx(up * whole)
        assert b.lower_bevel_rad - a.lower_bevel_rad == pytest.approx(down * whole)
    assert opened.shapes[0].lower_bevel_rad == pytest.approx(whole)


def test_planed_to_their_fits_edges_touch_inside_the_line_and_open_outside_it() -> None:
    """Seen along the seam of a barrel: two edges planed as the ticket says, in two steps."""
    hull = barrel(radius=1000.0, length=12000.0)
    lining, ways = with_seams(hull, lambda u: np.linspace(0, 1, 9)[:, None] + 0 * u, 8)
    rules = ShapeRules()
    shapes = get_shapes(hull, lining, ways, NO_BUTTS, rules).shapes
    turn = np.pi / 2 / 8  # from one inner face to the next
    for a, b in pairwise(shapes):
        assert a.upper_fit_rad + b.lower_fit_rad == pytest.approx(-turn, abs=1e-5)
        assert a.tight_mm == pytest.approx(38.0 / 3)
        out, opened = 38.0 - a.tight_mm, (a.upper_bevel_rad, b.lower_bevel_rad)
        gap = out * (np.tan(opened[0] + turn / 2) + np.tan(opened[1] + turn / 2))
        assert gap == pytest.approx(rules.opening_part * 38.0, rel=0.01)
    assert shapes[0].lower_fit_rad == pytest.approx(0.0)
    assert shapes[0].lower_bevel_rad == pytest.approx(np.arctan(0.125 * 1.5))
    assert shapes[-1].upper_bevel_rad == pytest.approx(0.0)


def test_butts_are_square_and_straight(boat) -> None:
    *_, shapes = boat
    for shape in shapes.shapes:
        if shape.number == 1:
            continue
        way = shape.fore[-1] - shape.fore[0]
        off = (shape.fore - shape.fore[0]) @ np.array([-way[1], way[0]]) / np.hypot(*way)
        assert np.abs(off).max() < 0.1
        middle = (shape.lower[:6] + shape.upper[:6]) / 2
        ahead = np.polyfit(middle[:, 0], middle[:, 1], 2)
        slope = np.polyval(np.polyder(ahead), middle[0, 0])
        assert np.arctan(slope) - np.arctan2(-way[0], way[1]) == pytest.approx(0.0, abs=2e-3)


def test_butted_planks_have_like_ends(boat) -> None:
    *_, shapes = boat
    for a, b in zip(shapes.shapes, shapes.shapes[1:], strict=False):
        if a.strake == b.strake:
            ends = [np.linalg.norm(s[-1] - s[0]) for s in (a.aft, b.fore)]
            assert ends[0] == pytest.approx(ends[1], abs=0.05)


def test_the_figures_on_the_batten_give_the_edges(boat) -> None:
    *_, shapes = boat
    for shape in shapes.shapes[::5]:
        for edge, figure in ((shape.lower, shape.lower_mm), (shape.upper, shape.upper_mm)):
            inside = (shape.along_mm > edge[0, 0]) & (shape.along_mm < edge[-1, 0])
            read = np.interp(shape.along_mm[inside], edge[:, 0], edge[:, 1])
            assert read == pytest.approx(figure[inside], abs=0.1)


def test_neighbours_edges_are_as_long_as_their_seam(boat) -> None:
    hull, *_, shapes = boat
    u = np.linspace(0, 1, 20001)
    for row in range(1, 16):
        seam = hull.surface.point(u, row / 16)
        true = np.linalg.norm(np.diff(seam, axis=0), axis=1).sum()
        for strake, edge in ((row - 1, "upper"), (row, "lower")):
            planks = [s for s in shapes.shapes if s.strake == strake]
            runs = [np.linalg.norm(np.diff(getattr(s, edge), axis=0), axis=1).sum() for s in planks]
            assert abs(sum(runs) - true) < sum(s.seam_error_mm for s in planks) + 0.3


def test_the_check_finds_nothing_wrong(boat) -> None:
    hull, lining, ways, layout, shapes = boat
    assert check_shapes(hull, lining, ways, layout, RULES, shapes) == ()


def spoilt(shapes, at: int, **changes):
    made = list(shapes.shapes)
    made[at] = replace(made[at], **changes)
    return replace(shapes, shapes=tuple(made))


def test_the_check_catches_what_is_wrong(boat) -> None:
    hull, lining, ways, layout, shapes = boat

    def found(bad) -> set[str]:
        return codes(check_shapes(hull, lining, ways, layout, RULES, bad))

    shape = shapes.shapes[20]
    assert "P041" in found(replace(shapes, shapes=shapes.shapes[1:]))
    assert "P041" in found(replace(shapes, shapes=(*shapes.shapes, shape)))
    assert "P042" in found(spoilt(shapes, 20, lower=shape.lower * 1.0005))
    assert "P043" in found(spoilt(shapes, 20, upper_mm=shape.upper_mm + 15.0))
    assert "P044" in found(spoilt(shapes, 20, fore=shape.fore + 1.0))
    hook = shape.upper.copy()
    hook[4, 1] += 12.0
    assert "P044" in found(spoilt(shapes, 20, upper=hook))
    assert "P045" in found(spoilt(shapes, 20, blank_width_mm=shape.blank_width_mm - 1.0))
    assert "P046" in found(spoilt(shapes, 20, upper_bevel_rad=shape.upper_bevel_rad + 0.05))


def test_girths_alone_have_no_shapes_and_say_what_is_wanted() -> None:
    hull = tape()
    lining = even_lining(hull, 8)
    ways = ways_of(hull, lining)
    shapes = get_shapes(hull, lining, ways, NO_BUTTS)
    assert shapes.shapes == ()
    (finding,) = shapes.findings
    assert (finding.code, finding.severity) == ("P021", Severity.NOTE)
    assert "offsets or points" in finding.says


def test_a_strake_the_lining_has_not_is_refused(boat) -> None:
    hull, lining, ways, layout, _ = boat
    odd = replace(ways, strakes=("no such", *ways.strakes[1:]))
    with pytest.raises(InputError, match="no such"):
        get_shapes(hull, lining, odd, layout)


def test_a_butt_on_a_block_stands_in_the_bay(boat) -> None:
    hull, lining, ways, *_ = boat
    layout = Layout((Butt(5, 41),), feasible=True, goals=(), seconds=0.0, seed=0)
    shapes = [s for s in get_shapes(hull, lining, ways, layout).shapes if s.strake == 5]
    assert shapes[0].frames[-1] == ways.frames[20]
    assert shapes[1].frames[0] == ways.frames[21]
    gap = ways.along_mm[5, 41] - ways.along_mm[5, 40]
    assert shapes[0].lower[-1, 0] - shapes[0].along_mm[-1] == pytest.approx(gap, abs=3.0)


def test_what_is_said_of_round_strong_and_broad_planks() -> None:
    hull = ball(3000.0, 0.2, 0.9, 1.6)
    lining, ways = with_seams(hull, lambda u: np.linspace(0, 1, 4)[:, None] + 0 * u, 3)
    rules = ShapeRules(rough_mm=40.0, board_mm=300.0)
    said = get_shapes(hull, lining, ways, NO_BUTTS, rules).findings
    assert {"P022", "P023", "P025", "P026", "P028"} <= codes(said)
    quiet = ShapeRules(
        least_strain=0.05, greatest_hollow_mm=100.0, rough_mm=200.0, greatest_runout_rad=1.5
    )
    left = codes(get_shapes(hull, lining, ways, NO_BUTTS, quiet).findings)
    assert not {"P022", "P023", "P025", "P026", "P028"} & left


def test_a_plank_keeps_its_length_where_the_rule_says() -> None:
    hull = barrel(radius=1000.0, length=12000.0)
    lining, ways = with_seams(hull, lambda u: np.array([[0.1], [0.2], [0.3]]) + 0.6 * u, 2)
    inner, middle = (
        get_shapes(hull, lining, ways, NO_BUTTS, ShapeRules(neutral_part=part)).shapes[0]
        for part in (0.0, 0.5)
    )
    rise = 0.6 * np.pi / 2 * 1000.0 / 12000.0
    longer = 19.0 * np.sin(np.arctan(rise)) ** 2 / 1000.0
    runs = [np.linalg.norm(np.diff(s.lower, axis=0), axis=1).sum() for s in (inner, middle)]
    assert runs[1] / runs[0] - 1 == pytest.approx(longer, rel=1e-2)


def test_bending_is_said_with_its_caution() -> None:
    hull = barrel(radius=1000.0, length=1500.0)
    lining, ways = with_seams(hull, lambda u: np.array([[0.02], [0.08], [0.14]]) + 0.8 * u, 2)
    steam, unsure = (
        get_shapes(hull, lining, ways, NO_BUTTS, ShapeRules(dressed_mm=t)) for t in (50.0, 100.0)
    )
    assert {s.grade for s in steam.shapes} == {"steam"}
    (caution,) = [f for f in steam.findings if f.code == "P029"]
    assert "gloves" in caution.says
    assert caution.source == "steam-box-pages"
    assert {s.grade for s in unsure.shapes} == {""}
    assert sum(f.code == "P030" for f in unsure.findings) == 2
    assert "P031" in codes(unsure.findings)


def test_no_thickness_is_said_and_guessed_at_nowhere() -> None:
    hull = barrel()
    hull = replace(hull, particulars=replace(hull.particulars, planking_mm=None, rough_mm=None))
    lining, ways = with_seams(hull, wavy(3), 3)
    shapes = get_shapes(hull, lining, ways, NO_BUTTS)
    assert "P027" in codes(shapes.findings)
    assert {(s.thickness_mm, s.fibre_strain, s.grade) for s in shapes.shapes} == {(0.0, 0.0, "")}


def test_a_batten_that_leaves_its_plank_is_told(boat) -> None:
    hull = ball(6000.0, 0.5, 0.7, 1.6)
    lining, ways = with_seams(hull, lambda u: np.linspace(0, 1, 9)[:, None] + 0 * u, 8)
    shapes = get_shapes(hull, lining, ways, NO_BUTTS)
    assert "P024" in codes(shapes.findings)
    assert any((s.lower_mm > 0).any() or (s.upper_mm < 0).any() for s in shapes.shapes)
    assert "P024" not in codes(boat[-1].findings)


def test_a_batten_lies_along_a_great_circle_of_a_ball() -> None:
    hull = ball(6000.0, 0.5, 0.7, 1.0)
    lining, ways = with_seams(hull, lambda u: np.linspace(0, 1, 4)[:, None] + 0 * u, 3)
    for shape in get_shapes(hull, lining, ways, NO_BUTTS).shapes:
        points = shape.batten_xyz
        plane = np.linalg.svd(points)[2][2]
        inside = np.abs(points @ plane)
        assert inside.max() < 1.0


@pytest.mark.parametrize("only", [(0, 7, 15), (8, 9)])
def test_some_strakes_alone_come_out_the_same(boat, only) -> None:
    hull, lining, ways, layout, shapes = boat
    some = get_shapes(hull, lining, ways, layout, only=only).shapes
    wanted = [s for s in shapes.shapes if s.strake in only]
    assert [s.name for s in some] == [s.name for s in wanted]
    for a, b in zip(some, wanted, strict=True):
        for name in ("lower", "upper", "lower_bevel_rad", "upper_bevel_rad", "hollow_mm"):
            assert getattr(a, name) == pytest.approx(getattr(b, name), abs=1e-6)


def test_planks_drawn_anew_in_a_drag_are_those_of_the_whole(boat) -> None:
    hull, lining, ways, layout, shapes = boat
    wanted = [s for s in shapes.shapes if s.strake in {7, 8}]
    for flat, shape in zip(
        flat_planks(hull, lining, ways, layout, RULES, (7, 8)), wanted, strict=True
    ):
        assert (flat.name, flat.frames, flat.strain_at) == (
            shape.name, shape.frames, shape.strain_at
        )  # fmt: skip
        for name in ("lower", "upper", "frame_lines", "sweep_mm", "blank_length_mm"):
            assert getattr(flat, name) == pytest.approx(getattr(shape, name), abs=1e-6)
        assert flat.blank_width_mm == pytest.approx(shape.blank_width_mm, abs=1e-6)
        assert flat.strain == pytest.approx(shape.strain, abs=1e-9)


def test_a_plank_s_blank_is_that_of_its_outline(boat) -> None:
    """Convex hulls of another library, side by side with the chains of the edges."""
    *_, shapes = boat
    lower, upper = (np.array([getattr(s, k) for s in shapes.shapes]) for k in ("lower", "upper"))
    assert (np.diff(lower[..., 0]) > 0).all(), "the chains are used"
    found = plank_blanks(lower, upper)
    wanted = smallest_blanks(np.concatenate([lower, upper], axis=1))
    for name in ("turn", "length", "width"):
        assert getattr(found, name) == pytest.approx(getattr(wanted, name), abs=1e-9)


def test_a_short_wide_plank_s_blank_may_lie_along_its_end() -> None:
    lower = np.array([[[0.0, 0], [30, 1], [60, 0]]])
    upper = np.array([[[5.0, 100], [30, 101], [66, 100]]])
    found = plank_blanks(lower, upper)
    wanted = smallest_blanks(np.concatenate([lower, upper], axis=1))
    assert found.width == pytest.approx(wanted.width)
    assert found.length == pytest.approx(wanted.length)


def test_progress_is_told_in_order(boat) -> None:
    hull, lining, ways, layout, _ = boat
    told: list[float] = []
    get_shapes(hull, lining, ways, layout, progress=lambda part, says: told.append(part))
    assert told == sorted(told)
    assert 0.0 <= told[0] <= told[-1] <= 1.0


def test_every_source_of_the_rules_is_in_the_bibliography() -> None:
    known = {s.key for s in sources()}
    assert {rule.source for rule in describe(RULES)} <= known
    assert {limit.source for limit in bending_limits().values() if limit.source} <= known


@pytest.mark.parametrize(
    ("times", "grade"), [(61.0, "cold"), (59.0, "steam"), (31.0, "steam"), (29.0, "")]
)
def test_grades_go_by_radius_over_thickness(times, grade) -> None:
    found, why = grade_of(times * 40.0, 40.0, RULES)
    assert found == grade
    assert f"{times:.0f} times" in why


@pytest.mark.parametrize(
    ("times", "grade"),
    [(61.0, "cold"), (31.0, "steam"), (29.0, "steam"), (21.0, "steam"), (19.0, "steam and force"),
     (13.0, "steam and force"), (11.0, "split or laminate")],
)  # fmt: skip
def test_a_yards_own_limits_of_steamed_wood_stand_and_are_said_to_be_its_own(times, grade) -> None:
    own = ShapeRules(steamed_times=20.0, forced_times=12.0)
    found, why = grade_of(times * 40.0, 40.0, own)
    assert found == grade
    assert ("yard's own" in why) == (12.0 < times < 30.0)
    assert ("12" in why) == (times < 20.0)


def test_with_one_limit_of_its_own_the_yard_knows_no_further() -> None:
    own = ShapeRules(steamed_times=20.0)
    assert grade_of(25 * 40.0, 40.0, own)[0] == "steam"
    found, why = grade_of(15 * 40.0, 40.0, own)
    assert (found, "try it on a piece" in why) == ("", True)
    strict = ShapeRules(steamed_times=40.0)  # gentler than wood bends cold: it binds all the same
    assert grade_of(35 * 40.0, 40.0, strict)[0] == ""
    with pytest.raises(InputError):
        ShapeRules(steamed_times=10.0, forced_times=12.0)


def test_no_grade_without_a_thickness() -> None:
    assert grade_of(1000.0, 0.0, RULES)[0] == ""


def test_the_narrowest_blank_of_a_turned_box() -> None:
    box = np.array([[0.0, 0], [3000, 0], [3000, 200], [0, 200]])
    turn = 0.07
    turned = box @ np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    blank = smallest_blanks(turned[None])
    assert blank.width[0] == pytest.approx(200.0, abs=0.05)
    assert blank.length[0] == pytest.approx(3000.0, abs=0.05)
    assert blank.turn[0] == pytest.approx(turn, abs=1e-4)


def test_a_word_of_the_rules_that_means_nothing_is_refused() -> None:
    with pytest.raises(InputError, match="outgauge_on"):
        ShapeRules(outgauge_on="either")


def test_edge_set_is_what_the_board_s_sweep_wants() -> None:
    """A plank along an arc of 20 m on a barrel's flat development."""
    hull = barrel(radius=1000.0, length=12000.0)
    girth, arc = np.pi / 2 * 1000.0, 20000.0

    def seams(u):
        x = 12000.0 * (u - 0.5)
        middle = 300.0 + arc - np.sqrt(arc**2 - x**2)
        across = 90.0 / np.sqrt(1 - (x / arc) ** 2)  # 180 mm square across
        return np.stack([middle - across, middle + across]) / girth

    lining, ways = with_seams(hull, seams, 1)
    (shape,) = get_shapes(hull, lining, ways, NO_BUTTS).shapes
    rise = arc - np.sqrt(arc**2 - 6000.0**2)
    assert shape.edge_set_mm == pytest.approx(rise, rel=1e-3)
    assert shape.edge_set_with(rise / 3) == pytest.approx(2 * rise / 3, rel=1e-3)
    assert shape.edge_set_with(-rise / 3) == shape.edge_set_with(rise / 3)
    assert shape.edge_set_with(2 * rise) == 0.0
    assert shape.edge_strain == pytest.approx(180.0 / 2 / arc, rel=0.06)


def test_where_a_raking_stem_cuts_a_strake_between_frames_its_length_goes_straight() -> None:
    """A frame that cuts a corner off a strake was walked through: 231 mm too far at strake 3."""
    forms = read_forms(Path(str(files("ribband").joinpath("data", "examples", "packet_1825"))))
    hull = fit(read_survey(forms))
    lining = line_out(hull, LiningRules(), [Wish("strakes", 34)])
    cut = np.isfinite(lining.width_mm[:, 1:-1]) & ~np.isfinite(lining.full_width_mm[:, 1:-1])
    assert cut.any()
    listed = {
        p.strake: p for p in list_planks(hull, lining, ways_of(hull, lining), NO_BUTTS).planks
    }
    for shape in get_shapes(hull, lining, ways_of(hull, lining), NO_BUTTS).shapes:
        middle = (shape.lower + shape.upper) / 2
        flat = float(np.linalg.norm(np.diff(middle, axis=0), axis=1).sum())
        assert listed[lining.strakes[shape.strake].name].length_mm == pytest.approx(flat, abs=25.0)
