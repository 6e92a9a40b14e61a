"""Outlines as drawn: rings that cannot be, those of another board, and boards that are forked."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from shapely.geometry import Polygon
from shapely.geometry.polygon import orient

from ribband.errors import InputError
from ribband.numerics.polygons import laid_out
from ribband.survey.rows import Row
from ribband.timber import LayingRules, lay_planks
from ribband.timber.board_model import Board, Piece
from ribband.timber.tally.boards import read_boards
from ribband.timber.tally.outlines import gaps

FORK = [(0, 0), (4000, 0), (4000, 160), (1500, 160), (1500, 210), (4000, 210), (4000, 400),
        (0, 400)]  # fmt: skip


def row(**cells: Any) -> Row:
    own = {
        "board": "A7", "length": 4000.0, "width_butt": 400.0, "width_top": 400.0, "thickness": 50.0,
    } | cells  # fmt: skip
    return Row(own, "boards.csv", 2, {name: str(value) for name, value in own.items()})


def drawn(ring: list[tuple[float, float]], flaw: str = "") -> list[Row]:
    return [
        Row({"board": "A7", "flaw": flaw, "along": x, "across": y}, "outlines.csv", n, {})
        for n, (x, y) in enumerate(ring, 2)
    ]


def oblong(long: float, wide: float) -> list[tuple[float, float]]:
    return [(0, 0), (long, 0), (long, wide), (0, wide)]


@pytest.mark.parametrize(
    ("rows", "column", "wanted"),
    [
        (drawn([(0, 0), (4000, 0), (0, 300), (4000, 300)]), "along", "crosses itself"),
        (drawn(oblong(8000, 300)), "along", "as long as the board, 4000"),
        (drawn(oblong(2000, 300)), "along", "as long as the board, 4000"),
        (drawn(oblong(4000, 100)), "across", "as broad as the board, 400"),
        (drawn([(9000, 0), (9100, 0), (9100, 50)], "knot 1"), "along", "a place on the board"),
        (drawn([(0, 0), (90, 0), (0, 90), (90, 90)], "knot 1"), "along", "crosses itself"),
    ],
)
def test_a_ring_that_cannot_be_this_board_s_is_refused(
    rows: list[Row], column: str, wanted: str
) -> None:
    with pytest.raises(InputError) as caught:
        read_boards([row()], "mm", rows)
    [problem] = caught.value.problems
    assert (problem.file, problem.column) == ("outlines.csv", column)
    assert wanted in problem.wanted


def test_a_knot_that_runs_over_the_edge_and_an_outline_a_little_longer_are_taken() -> None:
    rows = drawn(oblong(4400, 380)) + drawn([(900, -30), (960, -30), (930, 40)], "knot 1")
    [board] = read_boards([row()], "mm", rows)
    assert len(board.flaws) == 1


def test_the_gap_of_a_forked_board_is_a_flaw_and_no_plank_is_laid_over_it() -> None:
    [board] = read_boards([row()], "mm", drawn(FORK))
    assert [flaw.kind for flaw in board.flaws] == ["gap"]
    assert Polygon(board.flaws[0].ring).equals(Polygon([(1500, 160), (4000, 160), (4000, 210),
                                                        (1500, 210)]))  # fmt: skip
    broad = Piece("1-1", np.array(oblong(3000, 180), float), ("P1-1",), 45.0, 4.0, 40.0)
    narrow = Piece("2-1", np.array(oblong(3000, 130), float), ("P2-1",), 45.0, 4.0, 40.0)
    laid = lay_planks([broad, narrow], [board], LayingRules(), seconds=2.0)
    assert "P2-1" in {cut.plank for cut in laid.cuts}
    wood = Polygon(FORK)
    for cut in laid.cuts:
        piece = {"P1-1": broad, "P2-1": narrow}[cut.plank]
        ring = laid_out(piece.outline, cut.flipped, cut.turn_rad, cut.x_mm, cut.y_mm)
        assert wood.buffer(0.01).contains(Polygon(ring))


@pytest.mark.parametrize("seed", range(20))
def test_wood_and_gaps_together_fill_what_lies_between_the_outermost_edges(seed: int) -> None:
    """Of combs with slanting prongs, by areas of another library."""
    rng = np.random.default_rng(seed)
    many = int(rng.integers(2, 5))
    y = np.cumsum(rng.uniform(30, 120, 2 * many))
    prongs = [
        [(rng.uniform(0, 300), low), (rng.uniform(2000, 4000), low + rng.uniform(-8, 8)),
         (rng.uniform(2000, 4000), high + rng.uniform(-8, 8)), (rng.uniform(0, 300), high)]
        for low, high in zip(y[::2], y[1::2], strict=True)
    ]  # fmt: skip
    back = [(-200.0, y[-1]), (-200.0, y[0])]
    wood = orient(Polygon([corner for prong in prongs for corner in prong] + back))
    assert wood.is_valid
    found = gaps(np.array(wood.exterior.coords[:-1]))
    assert found
    shapes = [Polygon(flaw.ring) for flaw in found]
    assert all(shape.is_valid for shape in shapes)
    if many == 2:  # of more the wood between goes with the gaps
        assert sum(shape.intersection(wood).area for shape in shapes) < 1.0
    for x in rng.uniform(-190, 3990, 40):
        line = Polygon([(x, -1e4), (x + 1e-3, -1e4), (x + 1e-3, 1e4), (x, 1e4)])
        parts = wood.intersection(line)
        forked = parts.geom_type == "MultiPolygon"
        assert forked == any(shape.intersects(line) for shape in shapes) or _at_a_corner(wood, x)


def _at_a_corner(wood: Polygon, x: float) -> bool:
    return any(abs(x - corner[0]) < 0.01 for corner in wood.exterior.coords)


def test_a_board_of_one_breadth_has_no_gap() -> None:
    assert gaps(np.array(oblong(4000, 300), float)) == ()
    assert Board("A", np.array(oblong(4000, 300), float), 50.0).flaws == ()
