"""The milling list and the labels: order, thicknesses, which face."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest

from ribband.planks.model import Plank
from ribband.timber.board_model import Board, Cut, Laying, Piece
from ribband.timber.milling import labels, milling_list
from ribband.units import format_length, parse_length, rounded_up

RING = np.array([[0.0, 0], [2000, 0], [2000, 150], [0, 150], [0, 0]])
PIECE = Piece("7-2", RING, ("P7-2", "S7-2"), 45.0, 4.0, 40.0)
WIDE = np.array([[0.0, 0], [5000, 0], [5000, 400], [0, 400]])
BOARDS = [
    Board("9", WIDE, 48.0, "teak", 14.0, lies="rack 2"),
    Board("1", WIDE, 50.0, "teak", 14.0),
]


def plank(name: str, side: str) -> Plank:
    return Plank(
        name, side, "7", 2, "12", "frame", "20", "frame", 2000.0, 150.0, 140.0, 0.3, 38.1, 47.6,
        8.0, 10.0, 5.0, 6.0,
    )  # fmt: skip


PLANKS = [plank("P7-2", "port"), plank("S7-2", "starboard")]


def laid(*cuts: Cut) -> Laying:
    return Laying(cuts, (), 0.1, 0.5, 0.1, 0.0, 0.0, 0)


def test_the_list_runs_by_board_as_tallied_and_from_its_butt() -> None:
    other = replace(PIECE, name="8-1", planks=("P8-1",))
    far, near = (
        Cut("P7-2", "9", False, 0.0, 2600.0, 10.0), Cut("P8-1", "9", True, 0.0, 60.0, 200.0),
    )  # fmt: skip
    last = Cut("S7-2", "1", False, 0.0, 100.0, 10.0)
    lines = milling_list(
        laid(last, far, near), [PIECE, other], BOARDS, [*PLANKS, plank("P8-1", "port")]
    )
    assert [(line.board, line.place, line.plank) for line in lines] == [
        ("9", 1, "P8-1"), ("9", 2, "P7-2"), ("1", 1, "S7-2")]  # fmt: skip
    assert [line.from_butt_mm for line in lines] == pytest.approx([16.0, 2556.0, 56.0])
    assert lines[0].lies == "rack 2"


def test_a_plank_turned_end_for_end_is_measured_from_the_butt_too() -> None:
    turned = Cut("P7-2", "9", False, np.pi, 2500.0, 300.0)
    (line,) = milling_list(laid(turned), [PIECE], BOARDS, PLANKS)
    assert line.from_butt_mm == pytest.approx(456.0)
    assert (line.long_mm, line.wide_mm) == (2088.0, 158.0)


@pytest.mark.parametrize(
    ("name", "flipped", "face"),
    [("P7-2", False, "outer"), ("P7-2", True, "inner"), ("S7-2", False, "inner"),
     ("S7-2", True, "outer")],
)  # fmt: skip
def test_which_face_the_marked_face_becomes(name: str, flipped: bool, face: str) -> None:
    """Port is drawn as seen from outboard; starboard laid as port is drawn shows its inside."""
    (line,) = milling_list(laid(Cut(name, "9", flipped, 0.0, 60.0, 200.0)), [PIECE], BOARDS, PLANKS)
    assert line.marked_face == face


def test_hollow_and_round_are_planed_over_and_what_is_short_is_seen() -> None:
    shape = SimpleNamespace(
        name="7-2", hollow_mm=np.array([1.0, 6.0]), round_mm=np.array([2.0]), blank_width_mm=120.0
    )
    cut = Cut("P7-2", "9", False, 0.0, 60.0, 10.0)
    (line,) = milling_list(laid(cut), [PIECE], BOARDS, PLANKS, [shape])  # type: ignore[list-item]
    assert line.plane_to_mm == pytest.approx(38.1 + 6.0)
    assert line.spare_mm == pytest.approx(48.0 - 44.1)
    assert line.wide_mm == pytest.approx(120.0 + 2 * PIECE.allowance_mm)
    (bare,) = milling_list(laid(cut), [PIECE], BOARDS, PLANKS)
    assert bare.plane_to_mm == 38.1


def test_a_label_says_what_the_bench_needs() -> None:
    lines = milling_list(laid(Cut("S7-2", "9", True, 0.0, 60.0, 200.0)), [PIECE], BOARDS, PLANKS)
    (label,) = labels(lines, PLANKS, "Marl Heron", "in")
    assert label.plank == "S7-2"
    text = " / ".join(label.lines)
    for said in ("Marl Heron", "starboard, strake 7, 12 to 20", "board 9, 1st from the butt",
                 "dressed 1 1/2 in", "outer face of the plank", "22.0 lb"):  # fmt: skip
        assert said in text
    unweighed = labels(lines, [replace(p, rough_kg=None) for p in PLANKS], "Marl Heron", "in")
    assert " lb" not in " / ".join(unweighed[0].lines)


@pytest.mark.parametrize("unit", ["mm", "in", "ft-in-8ths"])
def test_what_to_plane_to_is_never_printed_barer_than_it_must_be(unit: str) -> None:
    for hollow in np.linspace(0.0, 6.0, 25):
        wanted = 38.1 + float(hollow)
        printed = format_length(rounded_up(wanted, unit), unit)
        assert parse_length(printed, unit) >= wanted - 0.06
        assert parse_length(printed, unit) < wanted + 1.7


def test_nothing_laid_is_an_empty_list() -> None:
    assert milling_list(laid(), [PIECE], BOARDS, PLANKS) == ()


def test_a_wet_board_is_told_on_the_label_and_a_dry_one_is_not() -> None:
    cut = Cut("P7-2", "9", False, 0.0, 60.0, 10.0)
    wet = [replace(board, moisture_percent=45.0) for board in BOARDS]
    (line,) = milling_list(laid(cut), [PIECE], wet, PLANKS)
    (label,) = labels([line], PLANKS, "Marl Heron")
    assert any("45 %: dry it first, its lines struck wet" in said for said in label.lines)
    dry = [replace(board, moisture_percent=18.0) for board in BOARDS]
    (line,) = milling_list(laid(cut), [PIECE], dry, PLANKS)
    (label,) = labels([line], PLANKS, "Marl Heron")
    assert not any("dry it" in said for said in label.lines)
