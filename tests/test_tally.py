"""Boards as tallied: outlines, flaws as written, and what the pile comes to."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely.geometry import Point, Polygon

from ribband.errors import InputError
from ribband.rulebook import describe
from ribband.sources import sources
from ribband.survey import read_forms, typed
from ribband.survey.columns import LAYOUTS, shown
from ribband.survey.rows import Form, Row
from ribband.timber.board_model import Board
from ribband.timber.measure import (
    Alternately,
    area_m2,
    board_feet,
    practice_board_feet,
    volume_m3,
    width_for_tally_mm,
)
from ribband.timber.species import species_named
from ribband.timber.tally.boards import read_boards
from ribband.timber.tally.count import TallyRules, board_kg, count
from ribband.timber.tally.edges import edges_of_outline, edges_of_widths
from ribband.timber.tally.flaws import KINDS, flaw_examples, read_flaws
from ribband.units import UNITS

DATA = Path(__file__).parents[1] / "src" / "ribband" / "data" / "examples"
FOOT = 304.8


def row(**cells: Any) -> Row:
    own = {
        "board": "A7", "length": 4000.0, "width_butt": 300.0, "width_top": 260.0, "thickness": 50.0,
    } | cells  # fmt: skip
    return Row(own, "boards.csv", 2, {name: str(value) for name, value in own.items()})


def point(board: str, flaw: str, along: float, across: float, number: int = 2) -> Row:
    values = {"board": board, "flaw": flaw, "along": along, "across": across}
    return Row(values, "outlines.csv", number, {})


def oblong(long: float, wide: float, thick: float = 25.4, name: str = "A", **more: Any) -> Board:
    ring = np.array([[0.0, 0], [long, 0], [long, wide], [0, wide]])
    return Board(name, ring, thick, **more)


# --- outlines ---


def test_live_edges_lie_even_about_the_middle_and_a_sawn_one_is_straight() -> None:
    live = read_boards([row(edges="live", width_middle=280.0)], "mm")[0]
    sawn = read_boards([row(edges="one sawn", width_middle=280.0)], "mm")[0]
    assert live.live_edges
    assert sawn.live_edges
    assert not read_boards([row()], "mm")[0].live_edges
    middle = [(corner[1] + other[1]) / 2 for corner, other in zip(
        live.outline[:3], live.outline[:2:-1], strict=True)]  # fmt: skip
    assert middle == [150.0, 150.0, 150.0]
    assert sawn.outline[:3, 1].tolist() == [0.0, 0.0, 0.0]
    assert area_m2(live) == pytest.approx(area_m2(sawn)) == pytest.approx(4.0 * 0.28)


def test_notes_tell_the_edges_only_where_the_column_is_blank() -> None:
    assert read_boards([row(notes="live edges")], "mm")[0].outline[1, 1] > 0
    assert read_boards([row(notes="live edges", edges="sawn")], "mm")[0].outline[1, 1] == 0
    assert not read_boards([row(notes="has live edges?")], "mm")[0].live_edges


def test_widths_at_more_places_shape_the_board() -> None:
    board = read_boards([row(widths="200 at 1000; 310 mm at 3 m", edges="sawn")], "mm")[0]
    assert board.outline.tolist()[:5] == [[0, 0], [1000, 0], [3000, 0], [4000, 0], [4000, 260]]
    assert area_m2(board) == pytest.approx(0.25 + 2 * 0.255 + 0.285)


@pytest.mark.parametrize(
    "text",
    ["200", "200 at 5000", "0 at 1000", "x at 1000", "9 at 0-3", "2000 at 9", "20 at 9; 21 at 9"],
)
def test_widths_that_make_no_sense_are_refused_with_their_cell(text: str) -> None:
    with pytest.raises(InputError) as caught:
        read_boards([row(widths=text)], "mm")
    (problem,) = caught.value.problems
    assert (problem.column, problem.row, problem.found) == ("widths", 2, text)
    assert problem.wanted
    assert problem.example


def test_an_outline_stands_in_place_of_widths() -> None:
    ring = [(0, 0), (4000, 30), (4000, 250), (2000, 290), (0, 300)]
    points = [point("a7", "", *at) for at in reversed(ring)]
    points += [point("A7", "Knot 1", *at) for at in [(900, 90), (960, 90), (930, 140)]]
    board = read_boards([row(flaws="check at butt 100")], "mm", points)[0]
    assert sorted(map(tuple, board.outline.tolist())) == sorted(map(tuple, map(list, ring)))
    assert Polygon(board.outline).exterior.is_ccw
    assert [flaw.kind for flaw in board.flaws] == ["knot", "check"]
    assert board.flaws[1].ring.tolist()[:2] == [[0, 0], [100, 0.75]]


@pytest.mark.parametrize(
    ("points", "column"),
    [
        ([point("B1", "", 0, 0)], "board"),
        ([point("A7", "", 0, 0), point("A7", "", 1, 0)], "along"),
        ([point("A7", "", 0, 0), point("A7", "", 1, 0), point("A7", "", 2, 0)], "along"),
        ([point("A7", "nail 1", *at) for at in [(0, 0), (9, 0), (9, 9)]], "flaw"),
    ],
)
def test_an_outline_that_cannot_be_is_refused(points: list[Row], column: str) -> None:
    with pytest.raises(InputError) as caught:
        read_boards([row()], "mm", points)
    assert [problem.column for problem in caught.value.problems] == [column]
    assert caught.value.problems[0].file == "outlines.csv"


def test_edges_of_an_outline_agree_with_shapely() -> None:
    ring = np.array([[0.0, 5], [900, 0], [2500, 40], [4000, 0], [4000, 200], [1700, 260], [0, 300]])
    edges = edges_of_outline(ring)
    for x in np.linspace(1, 3999, 23):
        low, high = edges.at(float(x))
        cut = Polygon(ring).intersection(
            Polygon([(x, -9), (x + 1e-6, -9), (x + 1e-6, 999), (x, 999)])
        )
        assert (low, high) == pytest.approx((cut.bounds[1], cut.bounds[3]), abs=1e-3)


def test_a_board_twice_and_every_bad_cell_are_told_at_once() -> None:
    rows = [row(flaws="nonsense"), row(), row(board="B", widths="9")]
    with pytest.raises(InputError) as caught:
        read_boards(rows, "mm")
    assert sorted(p.column for p in caught.value.problems) == ["board", "flaws", "widths"]


def test_all_the_rest_of_a_row_is_kept() -> None:
    board = read_boards([row(species="teak", moisture=14, bow=12.0, cut="quarter", price=120.0,
        lies="rack 2", state="barred", notes="cracked", face="heart")], "mm")[0]  # fmt: skip
    assert (board.species, board.moisture_percent, board.bow_mm, board.cut) == (
        "teak", 14, 12.0, "quarter")  # fmt: skip
    assert (board.price, board.lies, board.state, board.notes, board.face) == (
        120.0, "rack 2", "barred", "cracked", "heart")  # fmt: skip


# --- flaws ---

EDGES = edges_of_widths([(0.0, 300.0), (4000.0, 260.0)], live=True)


def rings(text: str) -> list[Polygon]:
    return [Polygon(flaw.ring) for flaw in read_flaws(text, "mm", EDGES)]


def test_a_round_knot_is_ringed_with_nothing_left_outside() -> None:
    (ring,) = rings("knot at 2000 up 80 size 30")
    disc = Point(2000, 10 + 80).buffer(15, quad_segs=64)
    assert ring.covers(disc.buffer(-1e-6))
    assert ring.area < 1.07 * disc.area


def test_a_long_knot_has_its_own_size_across() -> None:
    (ring,) = rings("knot at 2000 up 80 size 60 by 20")
    assert ring.bounds == pytest.approx((1970, 80, 2030, 100))


def test_ends_edges_and_stretches_follow_the_board() -> None:
    board = Polygon(EDGES.outline())
    for text, area in [
        ("check at butt 200", 200 * 299),
        ("split at top end 500", 500 * 262.5),
        ("sap lower edge 25", 25 * 4000),
        ("wane upper edge 10 from 1000 to 3000", 10 * 2000),
        ("shake from 1000 to 3000", 2000 * 280),
        ("shake from 1000 to 3000 up 50 to 100", 2000 * 50),
    ]:
        (ring,) = rings(text)
        assert ring.is_valid
        assert board.buffer(1e-6).covers(ring), text
        assert ring.area == pytest.approx(area), text
    low, high = rings("sap both edges 25")
    assert low.disjoint(high)


def test_lengths_are_read_in_the_unit_of_the_job_and_any_case() -> None:
    edges = edges_of_widths([(0.0, 13 * 25.4), (14 * FOOT, 11 * 25.4)], live=False)
    (one,) = read_flaws("  Knot AT 5-8-0  up 0-4-0 size 0-1-2 ; ", "ft-in-8ths", edges)
    (two,) = read_flaws("knot at 1727.2 up 101.6 size 31.75", "mm", edges)
    assert np.allclose(one.ring, two.ring)
    assert read_flaws(" ; ", "mm", edges) == ()
    every = ["knot", "check", "sap", "shake"]  # one of each of the four ways
    for unit in UNITS:
        assert [f.kind for f in read_flaws(flaw_examples(unit), unit, edges)] == every
    assert "6-0-0 up 0-5-0" in flaw_examples("ft-in-8ths")


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("knott at 900 up 80 size 30", "perhaps knot"),
        ("knot 6 ft from butt", "KIND at PLACE up HEIGHT"),
        ("knot at 900 up 80", "KIND at PLACE up HEIGHT"),
        ("knot at 4001 up 80 size 30", "0 mm to 4000 mm from the butt"),
        ("knot at 900 up 309 size 30", "over the lower edge"),
        ("knot at 900 up 80 size 0", "over nothing"),
        ("knot at 9-0-0-0 up 80 size 30", "not '9-0-0-0'"),
        ("check at butt 5000", "a length of the board"),
        ("sap lower edge 265", "in from the edge"),
        ("sap lower edge -5", "in from the edge"),
        ("shake from 3000 to 1000", "nearer the butt"),
        ("shake from 1000 to 3000 up 90 to 50", "grow"),
        ("shake from 1000 to 3000 up 50", "not '3000 up 50'"),
        ("knot", "KIND at PLACE"),
        ("knot at " + "9" * 200, "120 characters"),
        ("knot at ９００ up 80 size 30", "plain digits"),
    ],
)
def test_a_flaw_that_cannot_be_read_says_what_is_wanted(text: str, wanted: str) -> None:
    with pytest.raises(InputError) as caught:
        read_boards([row(flaws=text, edges="live")], "mm")
    (problem,) = caught.value.problems
    assert (problem.file, problem.row, problem.column) == ("boards.csv", 2, "flaws")
    assert wanted in problem.wanted
    assert read_flaws(problem.example, "mm", EDGES)


WORDS = st.sampled_from([*KINDS, "at", "up", "size", "by", "from", "to", "butt", "top", "lower",
    "both", "edge", ";", "1-0-0", "0-3-0+", "12", "6 ft", "-1", "", "9" * 50, "½"])  # fmt: skip
TYPED = st.lists(WORDS, max_size=14).map(" ".join) | st.text(max_size=200)


@given(TYPED, st.sampled_from([*UNITS]))
def test_whatever_is_typed_is_read_or_refused_in_words(text: str, unit: str) -> None:
    try:
        flaws = read_flaws(text, unit, EDGES)
    except ValueError as error:
        refused = str(error)
        assert refused
    else:
        assert all(flaw.kind in KINDS and np.isfinite(flaw.ring).all() for flaw in flaws)


def test_the_page_of_forms_shows_the_grammar_and_every_kind() -> None:
    page = (DATA.parents[3] / "docs" / "forms.md").read_text("utf-8")
    block = re.search(r"```flaws\n(.*?)```", page, re.DOTALL)
    assert block
    for line in block[1].splitlines():
        assert read_flaws(
            line, "ft-in-8ths", edges_of_widths([(0, 330.0), (7e3, 300.0)], live=True)
        )
    assert not [kind for kind in KINDS if kind not in page]


@pytest.mark.parametrize("unit", ["mm", "ft-in-8ths"])
def test_the_form_s_own_example_can_be_read(unit: str) -> None:
    layout = LAYOUTS["boards"]
    cells = tuple(shown(column.example or column.kind.example, unit) for column in layout.columns)
    form = Form("boards", tuple(c.name for c in layout.columns), (cells,), "boards.csv", (2,))
    rows, problems = typed(form, unit)
    assert not problems
    assert len(read_boards(rows, unit)[0].flaws) == 4


# --- the example's pile ---


def test_the_marl_heron_s_pile_is_read_whole() -> None:
    form = read_forms(DATA / "marl_heron")["boards"]
    rows, problems = typed(form, "ft-in-8ths")
    assert not problems
    boards = read_boards(rows, "ft-in-8ths")
    assert len(boards) == len(form.rows) == 126
    written = sum(len(r.as_typed["flaws"].split(";")) for r in rows if r.as_typed["flaws"])
    assert sum(len(board.flaws) for board in boards) == written
    first = boards[0]
    assert first.live_edges
    assert first.thickness_mm == pytest.approx(1.875 * 25.4)
    for board in boards:
        ring = Polygon(board.outline)
        assert ring.is_valid
        assert ring.exterior.is_ccw
        assert all(Polygon(flaw.ring).intersects(ring) for flaw in board.flaws)


def test_the_marl_heron_s_pile_adds_up() -> None:
    rows, _ = typed(read_forms(DATA / "marl_heron")["boards"], "ft-in-8ths")
    boards = read_boards(rows, "ft-in-8ths")
    whole = count(boards)
    by_hand = sum(Polygon(b.outline).area * b.thickness_mm / 1e9 for b in boards)
    assert whole.volume_m3 == pytest.approx(by_hand)
    assert whole.board_feet == pytest.approx(by_hand * 423.776, rel=1e-6)
    # the narrow third and whole feet of length tally less than is there, never more
    assert 0.92 * whole.board_feet < whole.practice_board_feet < whole.board_feet
    density = species_named("douglas fir coast").density(15.0)
    assert whole.kg == pytest.approx(by_hand * density, rel=0.03)
    assert {f.code for f in whole.findings} == {"T003"}


# --- measure and weight ---


def test_volume_and_feet_of_a_plain_board() -> None:
    board = oblong(12 * FOOT, FOOT, 50.8)
    assert volume_m3(board) * 1e9 == pytest.approx(144 * 12 * 12 * 2 / 12 * 25.4**3)
    assert board_feet(board) == pytest.approx(24.0)


def test_a_tapered_board_is_tallied_a_third_from_its_narrow_end_either_way_round() -> None:
    ring = np.array([[0.0, 0], [3000, 0], [3000, 240], [0, 300]])
    turned = np.column_stack([3000 - ring[:, 0], ring[:, 1]])
    assert width_for_tally_mm(Board("A", ring, 50.0)) == pytest.approx(260.0)
    assert width_for_tally_mm(Board("A", turned, 50.0)) == pytest.approx(260.0)


def test_halves_go_up_and_down_in_turn_over_the_whole_pile() -> None:
    half = oblong(8 * FOOT, 9.75 * 25.4)  # 6.5 square feet
    assert practice_board_feet([half] * 4) == (7, 6, 7, 6)
    nearest = Alternately()
    assert sum(nearest(n + 0.5) for n in range(100)) == sum(n + 0.5 for n in range(100))


def test_thin_boards_count_as_an_inch_and_lengths_fall_to_whole_feet() -> None:
    assert practice_board_feet([oblong(12.9 * FOOT, FOOT, 12.7)]) == (12,)


def test_order_of_points_and_turning_round_change_nothing() -> None:
    ring = np.array([[0.0, 0], [3000, 10], [3000, 240], [0, 300]])
    boards = [Board("A", r, 50.0) for r in (ring, ring[::-1], np.roll(ring, 2, axis=0))]
    assert len({round(area_m2(board), 9) for board in boards}) == 1
    assert len({width_for_tally_mm(board) for board in boards}) == 1


def test_a_green_board_weighs_its_water_too() -> None:
    fir = species_named("douglas fir coast")
    board = oblong(4000.0, 250.0, 50.0)
    at_30, green = board_kg(board, fir, 30.0), board_kg(board, fir, 60.0)
    assert at_30 == pytest.approx(volume_m3(board) * fir.density(30.0))
    assert green / at_30 == pytest.approx(1.60 / 1.30)
    assert board_kg(board, None, 15.0) is None
    assert board_kg(board, species_named("utile"), 15.0) is None


def test_the_tally_says_what_it_does_not_know() -> None:
    fir, unknown = "Douglas-fir, coast", "old stuff"
    boards = [
        oblong(4000, 250, 50, "1", species=fir, moisture_percent=15.0, price=10.0),
        oblong(6000, 400, 60, "2", species=fir),
        oblong(4000, 250, 50, "3", species=unknown, moisture_percent=15.0),
        oblong(1000, 250, 50, "4", species="white oak", moisture_percent=45.0),
    ]
    whole = count(boards)
    named = {f.code: f.where for f in whole.findings}
    assert named == {
        "T001": "board 3", "T002": "board 2", "T003": "2 boards: 1, 2", "T004": "board 4",
        "T005": "board 4",
    }  # fmt: skip
    assert whole.kg is None
    assert whole.price is None
    assert [f.source for f in whole.findings if f.code == "T003"] == ["niosh-94-110"]


def test_sums_are_of_sound_boards_only() -> None:
    boards = [oblong(4000, 250, 50, "1", species="teak", moisture_percent=12.0, price=50.0)]
    boards.append(replace(boards[0], name="2", state="spoilt", price=None))
    whole = count(boards)
    assert whole.sound == 1
    assert whole.price == 50.0
    assert whole.volume_m3 == pytest.approx(0.05)
    assert whole.kg == pytest.approx(whole.boards[0].kg)
    assert len(whole.boards) == 2


def test_an_empty_pile_is_no_error() -> None:
    whole = count([])
    assert (whole.sound, whole.kg, whole.price, whole.findings) == (0, None, None, ())


def test_every_rule_of_the_tally_has_a_known_source() -> None:
    assert {rule.source for rule in describe(TallyRules())} <= {s.key for s in sources()}


def test_a_price_of_a_board_foot_among_prices_of_boards_is_asked_about() -> None:
    """A board foot at 3.90 is 0.0024 m3; a board of 50 of them at 195 has the same price."""
    boards = [oblong(4000, 250, 50, str(n), price=195.0 + 10 * n) for n in range(8)]
    slips = [replace(board, name=f"s{n}", price=3.9) for n, board in enumerate(boards[:2])]
    codes = {f.code: f.where for f in count([*boards, *slips]).findings}
    assert codes["T008"] == "2 boards: s0, s1"
    assert "T008" not in {f.code for f in count(boards).findings}
    assert "T008" not in {f.code for f in count(slips[:1]).findings}
