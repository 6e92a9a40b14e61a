"""A board turned out bad: where there is room for one plank, and what a mending makes of it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon

import made_timber
from ribband.timber import LayingRules, check_laying, lay_planks, relay
from ribband.timber.board_model import Board, Cut, Laying, Piece
from ribband.timber.laying.fill import Way, fill
from ribband.timber.laying.ground import FINE, Lies, kinds_of, lies_of
from ribband.timber.laying.pace import ByCount
from ribband.timber.laying.room import joined
from ribband.timber.laying.solve import plots_of
from ribband.timber.laying.swaps import Rooms

RULES = LayingRules()
WHERE = {f"T{n}" for n in range(107, 113)}  # the check's words on where planks lie


def leaning(length: float, width: float, slope: float, name: str = "A1") -> Board:
    """Give a board whose edges run straight up a slope."""
    rise = slope * length
    ring = np.array([[0, 0], [length, rise], [length, rise + width], [0, width]], float)
    return Board(name, ring, 50.0)


def straight(length: float, width: float, name: str, planks=None) -> Piece:
    ring = made_timber.plank_outline(length, width, 0.0, 0.0, 0.0)
    return Piece(name, ring, planks or (f"P{name}",), 50.0)


def on_boards(*cuts: Cut, unlaid: tuple[str, ...] = ()) -> Laying:
    return Laying(cuts, unlaid, 0.0, 0.0, 0.0, 0.0, 0.0, 0)


def rooms_of(pieces, boards) -> Rooms:
    def plot(name, cuts):
        return plots_of(pieces, [b for b in boards if b.name == name], RULES, cuts)[0]

    return Rooms(pieces, {b.name: b for b in boards}, RULES, plot, ByCount(10**6))


def faults(pieces, boards, laying: Laying, bad=()) -> list[str]:
    sound = [b for b in boards if b.name not in bad]
    return [
        f"{f.code} {f.says}" for f in check_laying(pieces, sound, RULES, laying) if f.code in WHERE
    ]


@pytest.fixture(scope="module")
def pile():
    return made_timber.planks(14, seed=5), made_timber.boards(22, seed=6)


@pytest.fixture(scope="module")
def laid(pile) -> Laying:
    return lay_planks(*pile, RULES, pace=ByCount(60))


def test_room_is_found_wherever_filling_finds_any_and_is_room_indeed(pile, laid) -> None:
    """On every board with one of its planks lifted, by the check that shares no code with it."""
    pieces, boards = pile
    rooms, found, missed = rooms_of(pieces, boards), 0, []
    for name in sorted({cut.board for cut in laid.cuts})[:6]:
        on = tuple(cut for cut in laid.cuts if cut.board == name)[1:]
        for plank in [p for piece in pieces for p in piece.planks[:1]]:
            if plank in {cut.plank for cut in on}:
                continue
            cut = rooms.find(plank, name, on)
            if cut is not None:
                found += 1
                assert not faults(pieces, boards, replace(laid, cuts=(*on, cut)))
            elif filled(pieces, boards, name, on, plank):
                missed.append((plank, name))
    assert found > 10
    assert not missed


def filled(pieces, boards, name: str, on: tuple[Cut, ...], plank: str) -> bool:
    """Tell whether filling the board from below or from above lays a plank."""
    others = {p for piece in pieces for p in piece.planks} - {plank}
    kinds = kinds_of(pieces, RULES, (), tuple(others))
    plot = plots_of(pieces, [b for b in boards if b.name == name], RULES, on)[0]
    lies, one = lies_of(kinds, RULES), np.ones(1, dtype=np.int64)
    rng = np.random.default_rng(0)
    return any(
        fill(plot, 0, lies, np.ones(1), one, rules=RULES, way=Way(above=above), rng=rng).places
        for above in (False, True)
    )


def test_a_plank_finds_the_gap_between_two_others() -> None:
    """Two planks along the edges of a board leave a breadth between them, and no less is taken."""
    pieces = [straight(3000.0, 100.0, f"{k}-1") for k in range(2)]
    apart = 2 * RULES.kerf_mm
    pieces += [straight(3000.0, 150.0, "2-1"), straight(3000.0, 153.0, "3-1")]
    board = leaning(3200.0, 100.0 + 100.0 + 150.0 + apart + 3.0, 0.0)
    width = float(board.outline[:, 1].max())
    on = tuple(
        Cut(f"P{k}-1", "A1", False, 0.0, 100.0, y) for k, y in enumerate((51.0, width - 51.0))
    )
    rooms = rooms_of(pieces, [board])
    cut = rooms.find("P2-1", "A1", on)
    assert cut is not None
    assert cut.y_mm == pytest.approx(width / 2, abs=1.0)
    assert rooms.find("P3-1", "A1", on) is None


def test_lies_made_kind_by_kind_are_those_of_all_kinds() -> None:
    kinds = kinds_of(made_timber.planks(5, seed=3), RULES)
    whole, parts = lies_of(kinds, RULES), joined([lies_of([kind], RULES) for kind in kinds])
    for name in Lies.__slots__:
        np.testing.assert_array_equal(getattr(parts, name), getattr(whole, name), name)


def test_a_plank_left_over_is_looked_at_with_finer_leans() -> None:
    """The one board left runs between two of the five leans: at either the plank is too high."""
    pieces = [straight(4000.0, 150.0, "1-1")]
    between = RULES.greatest_turn_rad / 4
    boards = [leaning(4200.0, 200.0, 0.0, "A0"), leaning(4200.0, 180.0, between)]
    lies = lies_of(kinds_of(pieces, RULES), RULES)
    assert min(abs(lies.turn - between)) > 0.01
    before = on_boards(Cut("P1-1", "A0", False, 0.0, 60.0, 100.0))
    mended = relay(before, pieces, boards, RULES, ["A0"])
    assert [cut.board for cut in mended.cuts] == ["A1"]
    assert not faults(pieces, boards, mended, ["A0"])
    assert len(lies_of(kinds_of(pieces, RULES), RULES, FINE).turn) > len(lies.turn)


def test_several_boards_spoilt_at_once_with_planks_sawn_and_pinned(pile, laid) -> None:
    pieces, boards = pile
    names = sorted({cut.board for cut in laid.cuts})
    bad, held = names[:3], next(cut for cut in laid.cuts if cut.board == names[3])
    sawn = next(cut for cut in laid.cuts if cut.board == bad[0])
    mended = relay(laid, pieces, boards, RULES, bad, sawn=[sawn.plank],
                   pinned=[(held.plank, held.board)])  # fmt: skip
    assert {sawn, held} <= set(mended.cuts)
    assert {cut.board for cut in mended.cuts} & set(bad) == {bad[0]}
    after = {cut.plank: cut for cut in mended.cuts}
    moved = [c for c in laid.cuts if c.board not in bad and after.get(c.plank, c) != c]
    assert len(moved) <= 3
    kept = replace(mended, cuts=tuple(cut for cut in mended.cuts if cut != sawn))
    assert not [f for f in faults(pieces, boards, kept, bad) if sawn.plank not in f]


def test_of_a_pile_without_room_it_is_said_that_every_way_of_lifting_was_tried() -> None:
    pieces = [straight(4600.0, 150.0, "1-1"), straight(4600.0, 150.0, "2-1")]
    boards = [leaning(4800.0, 180.0, 0.0, "A0"), leaning(4800.0, 180.0, 0.0)]
    before = on_boards(*(Cut(f"P{k + 1}-1", f"A{k}", False, 0.0, 60.0, 90.0) for k in range(2)))
    mended = relay(before, pieces, boards, RULES, ["A0"])
    assert mended.unlaid == ("P1-1",)
    told = next(f for f in mended.findings if f.code == "T117")
    assert "all ways of lifting them tried" in told.why
    assert Polygon(boards[1].outline).area < 2 * 4600.0 * 150.0
