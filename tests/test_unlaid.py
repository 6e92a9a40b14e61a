"""Why planks found no board: the reason named is the one the pile was made with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from ribband.app.entering.timber_sums import laying_lines
from ribband.findings import Finding
from ribband.timber import LayingRules
from ribband.timber.board_model import Board, Flaw, Piece
from ribband.timber.laid import lay_pile
from ribband.timber.unlaid import too_small

RULES = LayingRules()


def oblong(length: float, width: float) -> np.ndarray:
    return np.array([[0, 0], [length, 0], [length, width], [0, width]], float)


def board(name: str = "A1", length: float = 5000.0, width: float = 300.0) -> Board:
    return Board(name, oblong(length, width), 50.0, "oak")


PLANKS = [Piece("1-1", oblong(4000.0, 150.0), ("P1-1",), 45.0, 4.0, 40.0)]


def told(boards: Sequence[Board], planks: Sequence[Piece] = PLANKS) -> list[Finding]:
    laid = lay_pile(planks, boards, RULES, timber="oak", trials=4)
    return [f for f in laid.findings if f.code == "T127"]


def shake(first: float, last: float) -> Flaw:
    return Flaw("shake", oblong(last - first, 300.0) + np.array([first, 0.0]))


@pytest.mark.parametrize(
    ("pile", "reason", "figures"),
    [
        ([board(length=3500.0), board("A2", 3000.0)], "too long", ("4088 mm", "3500 mm")),
        ([replace(board(), thickness_mm=40.0)], "too thick", ("45.0 mm", "40.0 mm")),
        ([board(width=140.0), board("A2", 2000.0)], "too broad", ("158 mm", "140 mm")),
        (
            [replace(board(), flaws=(shake(1900.0, 2000.0), shake(3600.0, 3700.0)))],
            "no run clear of flaws",
            ("1900 mm",),
        ),
    ],
)
def test_each_lack_of_the_pile_is_named_with_its_figures(
    pile: list[Board], reason: str, figures: tuple[str, ...]
) -> None:
    [found] = told(pile)
    assert found.where == "planks P1-1"
    assert found.says.startswith(reason)
    assert all(figure in found.says for figure in figures)
    assert found.why


def test_where_no_board_may_be_cut_into_it_is_said_how_many_are_out_and_why() -> None:
    other = [replace(board(f"A{n}"), species="larch") for n in range(3)]
    [found] = told([*other, replace(board("B1"), state="spoilt")])
    assert (
        "no board of the pile may be cut into: 3 boards left alone: each is larch, not oak"
        in found.says
    )
    assert "1 board barred, spoilt or not going to dress" in found.says
    [none] = told([])
    assert "none is tallied" in none.says


def test_planks_of_one_reason_are_told_together_and_what_has_a_board_is_not_told() -> None:
    three = [replace(PLANKS[0], planks=("P1-1", "S1-1", "P1-2")),
             Piece("9-1", oblong(9000.0, 150.0), ("P9-1", "S9-1"), 45.0)]  # fmt: skip
    long, room = told([board(width=340.0)], three)
    assert long.where == "planks P9-1, S9-1"
    assert room.where in {"planks P1-1", "planks S1-1", "planks P1-2"}
    assert room.says.startswith("no room left")
    assert told([board()]) == []


def test_a_longer_search_is_held_out_only_where_it_is_not_proved_that_it_cannot_do() -> None:
    """Three planks on a board of two; and one so swept that only a laying tells it has no room."""
    [short] = told([board(width=340.0)], [replace(PLANKS[0], planks=("P1-1", "S1-1", "P1-2"))])
    assert "not all of them can have room, proved" in short.why
    x = np.linspace(0.0, 4000.0, 41)
    lower = np.stack([x, 120.0 * np.sin(np.pi * x / 4000.0)], axis=1)
    swept = Piece(
        "1-1", np.concatenate([lower, lower[::-1] + np.array([0.0, 150.0])]), ("P1-1",), 45.0
    )
    [room] = told([board(width=200.0)], [swept])
    assert "may find room" in room.why


def test_boards_too_short_or_too_narrow_for_every_plank_are_named_in_one_line() -> None:
    """One of 300 mm is too short for both planks, one of 60 mm breadth too narrow."""
    long = Piece("1-1", oblong(4000.0, 90.0), ("P1-1",), 45.0)
    short = Piece("2-1", oblong(1500.0, 150.0), ("P2-1",), 45.0)
    pile = [board("tiny", 300.0, 30.0), board("strip", 6000.0, 60.0),
            board("fits", 1600.0, 160.0), board("neither", 3000.0, 120.0)]  # fmt: skip
    thin = replace(pile[0], name="thin", thickness_mm=20.0)
    (found,) = too_small([long, short], [*pile, thin], RULES)
    assert (found.code, found.where) == ("T147", "boards tiny, strip, neither")
    assert "1500 mm" in found.says
    assert "90 mm" in found.says
    assert too_small([long, short], pile[2:3], RULES) == []
    assert too_small([], pile, RULES) == []
    laid = lay_pile([short], pile, RULES, trials=4)
    assert [f.where for f in laid.findings if f.code == "T147"] == ["boards tiny, strip, neither"]


def test_why_no_bound_is_told_while_planks_have_no_board() -> None:
    short = lay_pile([PLANKS[0], Piece("2-1", oblong(4000.0, 900.0), ("P2-1",), 45.0)], [board()],
                     RULES, trials=4)  # fmt: skip
    (line,) = [each for each in laying_lines(short, "mm") if each.what == "proved bound"]
    assert line.value == "none"
    assert "some have no board" in line.remark
    whole = lay_pile(PLANKS, [board()], RULES, trials=4)
    (line,) = [each for each in laying_lines(whole, "mm") if each.what == "proved bound"]
    assert "no laying can use less" in line.remark
