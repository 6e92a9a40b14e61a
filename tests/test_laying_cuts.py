"""The order of a board's cuts: every pass clears the planks, every plank comes free, once."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import LineString, Polygon

import made_timber
from ribband.numerics.polygons import laid_out
from ribband.timber import LayingRules, lay_planks, retallied, saw_order
from ribband.timber.board_model import Board, Flaw, Laying, Piece
from ribband.timber.laying.cuts import marked_ends
from ribband.timber.laying.ground import rough_ring

RULES = LayingRules()


def plain(length: float, width: float, name: str = "A1", **more) -> Board:
    ring = np.array([[0, 0], [length, 0], [length, width], [0, width]], float)
    return Board(name, ring, 50.0, **more)


def straight(length: float, width: float, name: str) -> Piece:
    return Piece(
        name,
        made_timber.plank_outline(length, width, 0.0, 0.0, 0.0),
        (f"P{name}", f"S{name}"),
        50.0,
    )


@pytest.fixture(scope="module")
def pile():
    return made_timber.planks(14, seed=5), made_timber.boards(22, seed=6)


@pytest.fixture(scope="module")
def laid(pile) -> Laying:
    return lay_planks(*pile, RULES, seconds=2.0)


def bodies(pieces, cuts) -> dict[str, Polygon]:
    piece_of = {p: piece for piece in pieces for p in piece.planks}
    return {
        c.plank: Polygon(
            laid_out(rough_ring(piece_of[c.plank]), c.flipped, c.turn_rad, c.x_mm, c.y_mm)
        )
        for c in cuts
    }


def test_straight_passes_clear_the_planks_still_together(pile, laid) -> None:
    """A crosscut or a rip touches no plank that lies in the part it is made in."""
    pieces, boards = pile
    straight_passes = 0
    for board in boards:
        on = [c for c in laid.cuts if c.board == board.name]
        body = bodies(pieces, on)
        for cut in saw_order(board, on, pieces, RULES):
            if cut.kind in {"crosscut", "rip"}:
                line = LineString(list(zip(cut.x_mm, cut.y_mm, strict=True)))
                blade = line.buffer(0.98 * RULES.kerf_mm / 2, cap_style="flat")
                straight_passes += 1
                assert not any(blade.intersects(body[p].buffer(-0.1)) for p in cut.frees)
            if cut.kind == "rip":
                assert all(body[p].distance(line) >= 0.45 * RULES.kerf_mm for p in cut.frees)
    assert straight_passes > 10


def test_every_plank_is_sawn_to_its_lines_once_and_cuts_are_numbered(pile, laid) -> None:
    pieces, boards = pile
    out = []
    for board in boards:
        order = saw_order(board, laid.cuts, pieces, RULES)
        assert [c.number for c in order] == list(range(1, len(order) + 1))
        out += [c.frees[0] for c in order if c.kind == "plank"]
    assert sorted(out) == sorted(c.plank for c in laid.cuts)


def test_crosscut_before_rip() -> None:
    """Two pairs end to end: across between the pairs, then a rip in each."""
    board, pieces = (
        plain(5400.0, 350.0),
        [straight(2500.0, 150.0, "1-1"), straight(2400.0, 140.0, "2-1")],
    )
    laying = lay_planks(pieces, [board], RULES, seconds=1.0)
    assert not laying.unlaid
    kinds = [c.kind for c in saw_order(board, laying.cuts, pieces, RULES)]
    between = kinds.index("rip")
    assert kinds.count("rip") == 2
    assert "crosscut" in kinds[:between]


def test_what_is_left_is_tallied_again_with_its_share_of_the_price() -> None:
    board = plain(6000.0, 400.0, price=100.0, species="oak", moisture_percent=15.0)
    pieces = [
        Piece("1-1", made_timber.plank_outline(2500.0, 150.0, 0.0, 0.0, 0.0), ("P1-1",), 50.0)
    ]
    laying = lay_planks(pieces, [board], RULES, seconds=0.5)
    left = retallied(laying, pieces, [board], RULES)
    assert [b.name for b in left] == ["A1a", "A1b"]
    assert all(b.species == "oak" and b.moisture_percent == 15.0 for b in left)
    end, strip = left
    ((of, kept),) = marked_ends(laying, pieces, [board], RULES)
    assert (of, kept.name) == ("A1", "A1a")
    assert np.array_equal(kept.outline, laying.offcuts[0].outline)
    assert np.ptp(end.outline[:, 0]) > 3300
    assert np.ptp(strip.outline[:, 1]) > 200
    assert end.price == pytest.approx(100.0 * np.ptp(end.outline[:, 0]) / 6000.0)
    body = bodies(pieces, laying.cuts)["P1-1"]
    assert all(Polygon(b.outline).distance(body) >= RULES.kerf_mm * 0.99 for b in left)


def test_a_strip_is_parted_where_a_flaw_crosses_it() -> None:
    """The plank lies below; above it a shake leaves too little of the strip to keep with it."""
    shake = Flaw("shake", np.array([[2600.0, 180], [2700, 180], [2700, 400], [2600, 400.0]]))
    board = plain(5600.0, 400.0, flaws=(shake,))
    pieces = [
        Piece("1-1", made_timber.plank_outline(5400.0, 150.0, 0.0, 0.0, 0.0), ("P1-1",), 50.0)
    ]
    laying = lay_planks(pieces, [board], RULES, seconds=0.5)
    left = retallied(laying, pieces, [board], RULES)
    assert len(left) == 2
    assert all(Polygon(b.outline).intersection(Polygon(shake.ring)).area < 1.0 for b in left)
    assert all(np.ptp(b.outline[:, 0]) > 2000.0 for b in left)


def test_a_board_without_planks_has_no_cuts() -> None:
    assert saw_order(plain(3000.0, 300.0), (), (), RULES) == ()
