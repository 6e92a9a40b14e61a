"""Port and starboard wished out of one board, or book-matched out of two of one log."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from shapely import Polygon, box
from shapely.affinity import rotate, scale, translate

import made_timber
from ribband.errors import InputError
from ribband.survey.rows import Row
from ribband.timber import (
    Laid,
    LayingRules,
    LayWish,
    check_laying,
    lay_longer,
    lay_pile,
    read_boards,
    read_layings,
)
from ribband.timber.board_model import Board, Flaw, Piece
from ribband.timber.laid_changed import lay_changed
from ribband.timber.laid_twins import mate_words

RULES = LayingRules()
PIECES = made_timber.planks(10)
BOARDS = made_timber.boards(36)
LEAVES = tuple(
    replace(b, log=f"L{n // 4}", leaf=n % 4 + 1, turned=n % 2 == 1) for n, b in enumerate(BOARDS)
)
PAIRED = (LayWish("pair", "1", ""),)
MATCHED = (LayWish("book", "1", ""),)


def oblong(name: str, long: float, wide: float, **more: object) -> Board:
    ring = np.array([[0.0, 0.0], [long, 0.0], [long, wide], [0.0, wide]])
    return Board(name, ring, 50.0, **more)


def straight(long: float = 2600.0, wide: float = 140.0, *planks: str) -> Piece:
    outline = made_timber.plank_outline(long, wide, 0.0, 0.0, 0.0)
    return Piece("1-1", outline, planks or ("P1-1", "S1-1"), 50.0, 4.0, 40.0)


def where(laid: Laid) -> dict[str, str]:
    return {cut.plank: cut.board for cut in laid.laying.cuts}


def faults(laid: Laid) -> list[str]:
    found = check_laying(
        laid.pieces, laid.boards, laid.rules, laid.laying, laid.timber,
        wishes=[(w.wish, w.plank) for w in laid.wishes if w.wish in {"pair", "book"}],
        claimed=[plank for twin in laid.twins for plank in twin.planks],
    )  # fmt: skip
    return [f"{f.code} {f.says}" for f in found if f.severity == "fault"]


def told(laid: Laid) -> list[tuple[str, str]]:
    return [(f.where, f.says) for f in laid.findings if f.code == "T132"]


def ring_of(laid: Laid, plank: str) -> Polygon:
    """Lay a plank out on its board, by shapely and none of ours."""
    cut = next(c for c in laid.laying.cuts if c.plank == plank)
    flat = Polygon(next(p for p in laid.pieces if plank in p.planks).outline)
    if cut.flipped:
        flat = scale(flat, 1.0, -1.0, origin=(0, 0))
    turned = rotate(flat, cut.turn_rad, origin=(0, 0), use_radians=True)
    return translate(turned, cut.x_mm, cut.y_mm)


def outer_is_up(laid: Laid, plank: str) -> bool:
    """A port plank laid as drawn has its outer face on the marked face, starboard turned over."""
    cut = next(c for c in laid.laying.cuts if c.plank == plank)
    return cut.flipped == plank.startswith("S")


@pytest.fixture(scope="module")
def plain() -> Laid:
    return lay_pile(PIECES, LEAVES, RULES)


@pytest.mark.parametrize("wide", [300.0, 304.0])
def test_a_board_that_just_bears_two_bears_the_pair(wide: float) -> None:
    """Two of 140 mm with 4 mm on every edge and a kerf of 5 want 301 mm."""
    boards = [oblong("A1", 2900.0, 160.0), oblong("A2", 2900.0, 160.0), oblong("A3", 2900.0, wide)]
    laid = lay_pile((straight(),), boards, RULES, PAIRED)
    assert not faults(laid)
    assert not laid.laying.unlaid
    if wide > 301.0:
        assert where(laid) == {"P1-1": "A3", "S1-1": "A3"}
        assert not told(laid)
    else:
        ((planks, says),) = told(laid)
        assert planks == "planks P1-1 and S1-1"
        assert "2688 mm by 301 mm" in says
        assert not laid.twins


def test_two_leaves_with_a_knot_in_one_keep_both_planks_clear_of_it() -> None:
    """The knot leaves room in the lower half of leaf 1; leaf 2 has none, and the plank is there."""
    knot = Flaw("knot", np.array([[1300.0, 200], [1400, 200], [1400, 260], [1300, 260]]))
    one = oblong("A1", 2900.0, 340.0, flaws=(knot,), log="L1", leaf=1)
    two = oblong("A2", 2900.0, 340.0, log="L1", leaf=2)
    laid = lay_pile((straight(),), [one, two], RULES, MATCHED)
    assert not faults(laid)
    assert sorted(where(laid).values()) == ["A1", "A2"]
    on_two = next(p for p, b in where(laid).items() if b == "A2")
    assert ring_of(laid, on_two).bounds[3] < 200.0
    low = replace(knot, ring=knot.ring - np.array([0.0, 130.0]))
    high = replace(knot, ring=knot.ring + np.array([0.0, 10.0]))
    split = [replace(one, flaws=(low,)), replace(two, flaws=(high,))]
    apart = lay_pile((straight(),), split, RULES, MATCHED)  # each bears one, but nowhere the same
    assert len(where(apart)) == 2
    assert [planks for planks, _ in told(apart)] == ["planks P1-1 and S1-1"]
    assert "nowhere 2688 mm by 148 mm" in told(apart)[0][1]
    assert not faults(apart)


def test_planks_book_matched_are_each_the_others_mirror_image_in_the_log() -> None:
    """Laid over each other again, the rings lie over each other and the outer faces look apart."""
    laid = lay_pile(PIECES, LEAVES, RULES, MATCHED)
    assert len(laid.twins) == 4
    assert not faults(laid)
    assert not told(laid)
    boards = {board.name: board for board in laid.boards}
    for twin in laid.twins:
        own = [boards[where(laid)[plank]] for plank in twin.planks]
        assert own[0].log == own[1].log
        assert abs(own[0].leaf - own[1].leaf) == 1
        seen, outer, wood = [], [], []
        for plank, board in zip(twin.planks, own, strict=True):
            up = -1.0 if board.turned else 1.0
            seen.append(scale(ring_of(laid, plank), 1.0, up, origin=(0, 0)))
            wood.append(scale(Polygon(board.outline), 1.0, up, origin=(0, 0)))
            outer.append(outer_is_up(laid, plank) is not board.turned)
        assert outer[0] is not outer[1]
        off = middle(wood[0], wood[1]) - middle(wood[1], wood[0])
        laid_over = translate(seen[1], wood[0].bounds[0] - wood[1].bounds[0], off)
        area = laid_over.symmetric_difference(seen[0]).area
        assert area < 1.0 * seen[0].length  # within a millimetre all round


def middle(wood: Polygon, other: Polygon) -> float:
    """Give the mean of the middles of a board along what it has in common with another."""
    long = min(w.bounds[2] - w.bounds[0] for w in (wood, other))
    places = wood.bounds[0] + long * (np.arange(150) + 0.5) / 150
    strips = [wood.intersection(box(x, -2000, x + 0.2, 2000)).bounds for x in places]
    return float(np.mean([(low + high) / 2 for _, low, _, high in strips]))


def test_where_the_face_matters_one_of_two_leaves_must_have_been_turned() -> None:
    rules = replace(RULES, may_flip=False)
    pieces = (replace(straight(), may_flip=False),)
    leaves = [oblong(f"A{n}", 2900.0, 200.0, log="L1", leaf=n) for n in (1, 2)]
    alike = lay_pile(pieces, leaves, rules, MATCHED)
    assert "both marked faces look the same way" in told(alike)[0][1]
    assert len(where(alike)) == 2
    turned = [leaves[0], replace(leaves[1], turned=True)]
    laid = lay_pile(pieces, turned, rules, MATCHED)
    assert not told(laid)
    assert not faults(laid)  # T109 among them: the marked face of each is the outer one
    assert all(outer_is_up(laid, plank) for plank in ("P1-1", "S1-1"))


def test_what_the_papers_say_of_the_pair() -> None:
    leaves = [oblong(f"A{n}", 2900.0, 200.0, log="L1", leaf=n) for n in (1, 2)]
    laid = lay_pile((straight(),), leaves, RULES, MATCHED)
    said = mate_words(laid)
    mate = where(laid)["S1-1"]
    assert said["P1-1"] == (
        f"pair of S1-1, from the next leaf of log L1, board {mate}: the faces that lay together "
        "outside"
    )
    pair = lay_pile((straight(),), [oblong("A1", 2900.0, 320.0)], RULES, PAIRED)
    said = mate_words(pair)["S1-1"]
    assert said == "pair of P1-1, out of the same board: the same face outside"
    assert outer_is_up(pair, "P1-1") is outer_is_up(pair, "S1-1")


@pytest.mark.parametrize("taper", [0.0, 0.5])
def test_a_pair_has_one_face_outside_unless_only_the_other_way_fits(taper: float) -> None:
    """A swept board bears two nested planks. Turned over, one lies end for end to sweep alike.

    Where they taper it would have its broad end on the board's narrow one, and does not fit.
    """
    ring = made_timber.plank_outline(3700.0, 160.0, 150.0, 0.0, taper)
    piece = Piece("1-1", ring, ("P1-1", "S1-1"), 50.0, 4.0, 40.0)
    outline = made_timber.plank_outline(3900.0, 400.0, 165.0, 0.0, 0.94 * taper)
    board = Board("A1", outline, 50.0)
    laid = lay_pile((piece,), [board], RULES, PAIRED)
    assert len(laid.twins) == 1
    assert not faults(laid)
    same = outer_is_up(laid, "P1-1") is outer_is_up(laid, "S1-1")
    assert same is (taper == 0.0)
    assert ("the same face outside" in mate_words(laid)["P1-1"]) is same


def test_no_leaves_no_other_side_and_sides_unlike_are_said() -> None:
    laid = lay_pile((straight(),), [oblong("A1", 2900.0, 320.0)], RULES, MATCHED)
    assert "no two boards" in told(laid)[0][1]
    assert len(where(laid)) == 2
    alone = lay_pile((straight(2600, 140, "S1-1"),), [oblong("A1", 2900.0, 320.0)], RULES, PAIRED)
    assert told(alone)[0][0] == "plank S1-1"
    leaves = [oblong(f"A{n}", 2900.0, 200.0, log="L1", leaf=n) for n in (1, 2)]
    unlike = (straight(2600, 140, "P1-1"), replace(straight(2500, 140, "S1-1"), name="S1-1"))
    other = lay_pile(unlike, leaves, RULES, MATCHED)
    assert "not alike" in told(other)[0][1]
    one = lay_pile(unlike, [oblong("A1", 2900.0, 320.0), *leaves], RULES, PAIRED)
    assert set(where(one).values()) == {"A1"}
    strange = lay_pile((straight(),), leaves, RULES, [LayWish("pair", "9", "")])
    assert [f.where for f in strange.findings if f.code == "T120"] == ["plank 9"]


def test_a_wish_set_later_moves_no_more_than_it_must(plain: Laid) -> None:
    for wishes in (PAIRED, MATCHED):
        laid = lay_pile(PIECES, LEAVES, RULES, wishes, before=plain)
        assert laid.mended
        assert not faults(laid)
        assert not told(laid)
        assert len(laid.twins) == 4
        assert not laid.laying.unlaid
        own = {plank for twin in laid.twins for plank in twin.planks}
        assert len(set(laid.moved) - own) <= 3  # what saves timber besides
        again = lay_pile(PIECES, LEAVES, RULES, wishes, before=laid)
        assert {c for c in again.laying.cuts if c.plank in own} == {
            c for c in laid.laying.cuts if c.plank in own
        }


def test_pairs_outlast_a_spoilt_board_a_longer_search_and_planks_that_changed() -> None:
    first = lay_pile(PIECES, LEAVES, RULES, MATCHED)
    bad = where(first)["P1-1"]
    worse = [replace(b, state="spoilt") if b.name == bad else b for b in LEAVES]
    spoilt = lay_pile(PIECES, worse, RULES, MATCHED, before=first)
    assert spoilt.mended
    longer = lay_longer(spoilt, 0.5)
    changed = lay_changed(
        longer, (replace(PIECES[0], thickness_mm=49.0), *PIECES[1:]), worse, RULES, MATCHED
    )
    for laid in (spoilt, longer, changed):
        assert len(laid.twins) == 4
        assert not faults(laid)
        assert bad not in where(laid).values()
        assert not laid.laying.unlaid


def test_a_plank_sawn_or_pinned_draws_the_other_to_it() -> None:
    first = lay_pile(PIECES, LEAVES, RULES, MATCHED)
    on = where(first)
    sawn = (*MATCHED, LayWish("sawn", "P1-1", on["P1-1"]))
    bad = on["S1-1"]
    worse = [replace(b, state="spoilt") if b.name == bad else b for b in LEAVES]
    after = lay_pile(PIECES, worse, RULES, sawn, before=first)
    assert next(c for c in after.laying.cuts if c.plank == "P1-1") in first.laying.cuts
    assert bad not in where(after).values()
    assert not faults(after)  # S1-1 lies on the leaf on the other side, or it is said
    assert ("P1-1" in {t.port for t in after.twins}) is not any("P1-1" in w for w, _ in told(after))
    big = oblong("B1", 7000.0, 600.0)
    pinned = (LayWish("pair", "1-1", ""), LayWish("pin", "S1-1", "B1"))
    both = lay_pile(PIECES, [*BOARDS, big], RULES, pinned)
    assert where(both)["P1-1"] == where(both)["S1-1"] == "B1"
    torn = (*pinned, LayWish("pin", "P1-1", "A1"))
    assert "pinned to boards A1 and B1" in told(lay_pile(PIECES, [*BOARDS, big], RULES, torn))[0][1]


def test_the_same_planks_and_boards_give_the_same_pairs() -> None:
    one, two = (lay_pile(PIECES, LEAVES, RULES, MATCHED) for _ in range(2))
    assert set(one.laying.cuts) == set(two.laying.cuts)


def test_a_pair_said_to_lie_so_that_does_not_is_a_fault() -> None:
    laid = lay_pile(PIECES, LEAVES, RULES, MATCHED)
    twin = laid.twins[0]
    moved = [replace(c, x_mm=c.x_mm + 3.0) if c.plank == twin.port else c for c in laid.laying.cuts]
    off = replace(laid, laying=replace(laid.laying, cuts=tuple(moved)))
    assert any(f.startswith("T133 3.0 mm") for f in faults(off))
    leaves = {where(laid)[plank] for plank in twin.planks}
    renumbered = tuple(replace(b, leaf=b.leaf + 7) if b.name in leaves and b.leaf % 2 else b
                       for b in laid.boards)  # fmt: skip
    wrong = replace(laid, boards=renumbered)
    assert any("not next to each other" in f for f in faults(wrong))
    turned = tuple(replace(b, turned=not b.turned) if b.name == where(laid)[twin.port] else b
                   for b in laid.boards)  # fmt: skip
    assert any(f.startswith("T133") for f in faults(replace(laid, boards=turned)))
    pairs = replace(laid, wishes=(LayWish("pair", twin.port, ""),))
    assert any("not out of one board" in f for f in faults(pairs))


def board_row(name: str, number: int, **more: object) -> Row:
    cells = {"board": name, "length": 4000.0, "width_butt": 300.0, "width_top": 260.0,
             "thickness": 50.0} | more  # fmt: skip
    return Row(cells, "boards.csv", number, {k: str(v) for k, v in cells.items()})


def test_leaves_are_read_from_the_tally() -> None:
    rows = [board_row("A1", 2, log="L1", leaf="1"), board_row("A2", 3, log="l1", leaf="2 turned")]
    assert [(b.leaf, b.turned) for b in read_boards(rows, "mm")] == [(1, False), (2, True)]


@pytest.mark.parametrize(
    ("more", "column"),
    [
        ({"log": "L1"}, "leaf"),
        ({"leaf": "3"}, "log"),
        ({"log": "L1", "leaf": "0"}, "leaf"),
        ({"log": "L1", "leaf": "2.5"}, "leaf"),
        ({"log": "L1", "leaf": "2 up"}, "leaf"),
        ({"log": "l1", "leaf": "1"}, "leaf"),  # the same leaf twice
    ],
)
def test_leaves_that_cannot_be_are_refused(more: dict[str, str], column: str) -> None:
    with pytest.raises(InputError) as wrong:
        read_boards([board_row("A1", 2, log="L1", leaf="1"), board_row("A2", 3, **more)], "mm")
    (problem,) = wrong.value.problems
    assert (problem.row, problem.column) == (3, column)


def wish_row(plank: str, board: str, wish: str, number: int = 2) -> Row:
    cells = {"plank": plank, "board": board, "wish": wish}
    return Row(cells, "layings.csv", number, cells)


@pytest.mark.parametrize(
    ("rows", "column"),
    [
        ([wish_row("", "", "pair")], "plank"),
        ([wish_row("7", "A1", "book")], "board"),
        ([wish_row("7", "", "pair"), wish_row("7", "", "book", 3)], "plank"),
        ([wish_row("P7-2", "", "pin")], "board"),
    ],
)
def test_wishes_for_both_sides_that_cannot_be_are_refused(rows: list[Row], column: str) -> None:
    with pytest.raises(InputError) as wrong:
        read_layings(rows, ["A1"])
    (problem,) = wrong.value.problems
    assert (problem.row, problem.column) == (rows[-1].number, column)
