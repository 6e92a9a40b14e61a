"""Laying planks on boards: what must hold of every laying, looked over with another library."""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise

import numpy as np
import pytest
from shapely import Polygon
from shapely.ops import unary_union

import made_timber
from made_hulls import launch
from made_planking import even_lining, stepped_layout, ways_of
from ribband.numerics.polygons import distance, rings_meet
from ribband.planks import PlankRules, get_shapes, list_planks
from ribband.timber import LayingRules, check_laying, lay_planks, relay
from ribband.timber import pieces as pieces_of
from ribband.timber.board_model import Board, Cut, Flaw, Laying, Piece
from ribband.timber.laying.fill import Pattern, Way, fill, first_looks, on_top
from ribband.timber.laying.ground import FINE, STEP, kinds_of, lies_of
from ribband.timber.laying.pace import ByCount
from ribband.timber.laying.solve import cuts_of, laying_of, offcuts_of, plots_of
from ribband.timber.laying.state import Search, State

RULES = LayingRules()


def placed(ring: np.ndarray, cut: Cut) -> np.ndarray:
    y = -ring[:, 1] if cut.flipped else ring[:, 1]
    c, s = np.cos(cut.turn_rad), np.sin(cut.turn_rad)
    return np.stack([c * ring[:, 0] - s * y + cut.x_mm, s * ring[:, 0] + c * y + cut.y_mm], axis=1)


def lain(piece: Piece, cut: Cut) -> Polygon:
    """Give a made plank as it lies: its ring, and a strip on each end, as wide as the end is."""
    ring, by = piece.outline, np.array([piece.end_allowance_mm, 0.0])
    half = len(ring) // 2
    parts = [Polygon(placed(ring, cut))]
    for a, b, out in ((ring[0], ring[-1], -by), (ring[half - 1], ring[half], by)):
        if out.any():
            parts.append(Polygon(placed(np.array([a, b, b + out, a + out]), cut)))
    return unary_union(parts).buffer(0)


def wrong(pieces, boards, rules, laying: Laying) -> list[str]:
    """Look a laying over with shapely."""
    piece_of = {p: piece for piece in pieces for p in piece.planks}
    board_of = {b.name: b for b in boards}
    found = []
    assert {c.plank for c in laying.cuts} | set(laying.unlaid) == set(piece_of)
    assert len(laying.cuts) + len(laying.unlaid) == len(piece_of)
    on: dict[str, list[tuple[Cut, Polygon]]] = {}
    for cut in laying.cuts:
        piece, board = piece_of[cut.plank], board_of[cut.board]
        body = lain(piece, cut)
        lean = abs((cut.turn_rad + np.pi / 2) % np.pi - np.pi / 2)
        if lean > rules.greatest_turn_rad + 1e-9:
            found.append(f"{cut} leans")
        if board.thickness_mm < piece.thickness_mm or board.state != "sound":
            found.append(f"{cut} board")
        off = piece.allowance_mm + (rules.live_edge_mm if board.live_edges else 0)
        outline = Polygon(board.outline)
        if not outline.contains(body) or outline.exterior.distance(body) < off - 0.02:
            found.append(f"{cut} out of the board")
        found += [
            f"{cut} on a {f.kind}"
            for f in board.flaws
            if not (f.kind == "sap" and rules.sap_allowed)
            and Polygon(f.ring).distance(body) < piece.allowance_mm - 0.02
        ]
        on.setdefault(cut.board, []).append((cut, body))
    for cuts in on.values():
        for (a, one), (b, two) in combinations(cuts, 2):
            apart = rules.kerf_mm + piece_of[a.plank].allowance_mm + piece_of[b.plank].allowance_mm
            if one.distance(two) < apart - 0.02:
                found.append(f"{a} and {b} {one.distance(two):.4f} mm apart of {apart:.4f}")
    whole = sum(Polygon(board_of[n].outline).area * board_of[n].thickness_mm for n in on)
    kept = sum(Polygon(b.outline).area * b.thickness_mm for b in laying.offcuts)
    assert laying.used_m3 == pytest.approx((whole - kept) / 1e9)
    return found


def plain(length: float, width: float, name: str = "A1", flaws=()) -> Board:
    ring = np.array([[0, 0], [length, 0], [length, width], [0, width]], float)
    return Board(name, ring, 50.0, flaws=tuple(flaws))


def straight(length: float, width: float, name: str, planks=None, **more) -> Piece:
    ring = made_timber.plank_outline(length, width, 0.0, 0.0, 0.0)
    return Piece(name, ring, planks or (f"P{name}", f"S{name}"), 50.0, **more)


@pytest.fixture(scope="module")
def pile():
    return made_timber.planks(14, seed=5), made_timber.boards(22, seed=6)


@pytest.fixture(scope="module")
def laid(pile) -> Laying:
    return lay_planks(*pile, RULES, seconds=4.0)


def test_everything_is_laid_and_holds_by_both_checks(pile, laid) -> None:
    assert not laid.unlaid
    assert not wrong(*pile, RULES, laid)
    assert not [f for f in check_laying(*pile, RULES, laid) if f.severity == "fault"]


def test_bound_is_below_what_was_used(laid) -> None:
    assert 0 < laid.bound_m3 <= laid.used_m3
    assert laid.gap == pytest.approx(laid.used_m3 / laid.bound_m3 - 1)


@pytest.mark.parametrize("seed", range(6))
def test_odd_piles_hold(seed: int) -> None:
    rng = np.random.default_rng(seed)
    rules = LayingRules(
        kerf_mm=float(rng.uniform(0, 12)),
        live_edge_mm=float(rng.uniform(0, 20)),
        greatest_turn_rad=float(rng.choice([0.0, 0.02, 0.08])),
        sap_allowed=bool(rng.random() < 0.5),
    )
    pieces = tuple(
        replace(p, may_flip=bool(rng.random() < 0.5))
        for p in made_timber.planks(
            8,
            seed=seed,
            allowance=float(rng.uniform(0, 15)),
            end_allowance=float(rng.uniform(0, 99)),
        )
    )
    boards = tuple(
        replace(
            b, live_edges=bool(rng.random() < 0.5), thickness_mm=float(rng.choice([45, 50, 60]))
        )
        for b in made_timber.boards(14, seed=seed + 50)
    )
    laying = lay_planks(pieces, boards, rules, seconds=1.0)
    assert laying.cuts
    assert not wrong(pieces, boards, rules, laying)
    assert not [f for f in check_laying(pieces, boards, rules, laying) if f.code in FAULTS]


FAULTS = {f"T{n}" for n in (101, 102, 103, 104, *range(107, 117))}


def test_a_perfect_fit_is_found() -> None:
    rules = LayingRules(kerf_mm=0.0, greatest_turn_rad=0.0)
    pieces = [straight(3000.0, 149.9, "1-1"), straight(3000.0, 99.9, "2-1")]
    laying = lay_planks(pieces, [plain(3000.1, 500.1)], rules, seconds=1.0)
    assert not laying.unlaid
    assert laying.yield_part > 0.99
    assert laying.gap < 0.01


def sawn_up(rng: np.random.Generator, name: str, kerf: float) -> tuple[Board, list[Piece]]:
    """Give a tapered board and the swept planks it was parted into, a kerf between them."""
    length, butt, many = rng.uniform(2500, 5000), rng.uniform(300, 500), int(rng.integers(2, 4))
    s = np.linspace(0.0, 1.0, 31)
    height = butt * (1 - rng.uniform(0.0, 0.3) * s)
    sweep = np.append(np.append(0.0, rng.uniform(-30, 30, many - 1)), 0.0)
    lines = [height * (k / many) + sweep[k] * 4 * s * (1 - s) for k in range(many + 1)]
    ring = np.stack([np.append(length * s, length * s[::-1]), np.append(lines[0], height[::-1])], 1)
    parts = []
    for k, (under, over) in enumerate(pairwise(lines)):
        low, high = under + kerf / 2 * (k > 0), over - kerf / 2 * (k < many - 1)
        own = np.stack([np.append(length * s, length * s[::-1]), np.append(low, high[::-1])], 1)
        parts.append(Piece(f"{name}-{k}", own, (f"P{name}-{k}",), 50.0))
    return Board(name, ring, 50.0), parts


@pytest.mark.parametrize("seed", range(8))
def test_the_bound_is_no_more_than_a_laying_known_beforehand(seed: int) -> None:
    """Boards are parted into planks; among other boards, those planks need no more than that."""
    rng = np.random.default_rng(seed)
    rules = LayingRules(kerf_mm=float(rng.uniform(0, 8)))
    sawn = [sawn_up(rng, f"A{k}", rules.kerf_mm) for k in range(4)]
    pieces = [piece for _, parts in sawn for piece in parts]
    boards = [board for board, _ in sawn]
    known = sum(Polygon(b.outline).area * b.thickness_mm for b in boards) / 1e9
    laying = lay_planks(pieces, [*boards, *made_timber.boards(6, seed=seed)], rules, seconds=0.2)
    assert 0.9 * known < laying.bound_m3 <= known + 1e-9
    assert laying.bound_m3 <= laying.used_m3


def test_the_bound_knows_that_two_do_not_lie_abreast() -> None:
    """Planks over half as wide as the boards take a board each, though half of it is waste."""
    pieces = [straight(2900.0, 160.0, name) for name in ("1-1", "2-1")]
    boards = [plain(3000.0, 300.0, f"A{k}") for k in range(6)]
    laying = lay_planks(pieces, boards, RULES, seconds=0.5)
    assert len({c.board for c in laying.cuts}) == 4
    assert laying.gap < 0.06


def test_shapes_of_a_hull_with_raked_ends_are_laid() -> None:
    """Stem planks are raked by more than they are wide; all of every end is allowed for."""
    hull = launch()
    lining = even_lining(hull, 16)
    ways = ways_of(hull, lining)
    job = hull, lining, ways, stepped_layout(ways)
    plank_list = list_planks(*job, PlankRules())
    made = pieces_of(get_shapes(*job).shapes, plank_list, RULES)
    assert {p for piece in made for p in piece.planks} == {p.name for p in plank_list.planks}
    some = [piece for piece in made if piece.name.endswith(("-1", "-4"))][:16]
    laying = lay_planks(some, made_timber.boards(60, seed=3), RULES, seconds=1.0)
    too_long = {p for q in some if np.ptp(q.outline[:, 0]) > 7400 for p in q.planks}
    assert set(laying.unlaid) <= too_long
    assert not [f for f in check_laying(some, made_timber.boards(60, seed=3), RULES, laying)
                if f.code in FAULTS]  # fmt: skip


def test_face_up_is_kept_where_it_matters() -> None:
    pieces = [straight(2500.0, 120.0, "1-1", may_flip=False)]
    laying = lay_planks(pieces, [plain(5500.0, 300.0)], RULES, seconds=0.5)
    assert {c.plank: c.flipped for c in laying.cuts} == {"P1-1": False, "S1-1": True}


def test_knots_are_passed_between() -> None:
    """Two planks fit only one on each side of a knot in the middle of the board."""
    turn = np.linspace(0, 2 * np.pi, 17)[:-1]
    knot = Flaw("knot", np.array([1500.0, 200.0]) + 15 * np.stack([np.cos(turn), np.sin(turn)], 1))
    pieces = [straight(2800.0, 150.0, "1-1")]
    board = plain(3000.0, 400.0, flaws=[knot])
    laying = lay_planks(pieces, [board], RULES, seconds=0.5)
    assert not laying.unlaid
    assert not wrong(pieces, [board], RULES, laying)


def test_sap_only_where_allowed() -> None:
    sap = Flaw("sap", np.array([[0, 0], [3000, 0], [3000, 60], [0, 60]], float))
    board, pieces = plain(3000.0, 190.0, flaws=[sap]), [straight(2800.0, 150.0, "1-1", ("P1-1",))]
    assert lay_planks(pieces, [board], RULES, seconds=0.3).unlaid == ("P1-1",)
    assert not lay_planks(pieces, [board], LayingRules(sap_allowed=True), seconds=0.3).unlaid


def test_a_pile_that_cannot_do_is_a_result() -> None:
    laying = lay_planks(
        [straight(4000.0, 150.0, "1-1")], [plain(3000.0, 300.0)], RULES, seconds=0.3
    )
    assert set(laying.unlaid) == {"P1-1", "S1-1"}
    assert "proved" in laying.findings[0].why


def test_thin_and_barred_boards_are_left() -> None:
    boards = [replace(plain(3000.0, 300.0), thickness_mm=40.0), plain(3000.0, 300.0, "A2")]
    boards[1] = replace(boards[1], state="barred")
    assert len(lay_planks([straight(2000.0, 100.0, "1-1")], boards, RULES, seconds=0.3).unlaid) == 2


def test_short_planks_leave_an_end_to_keep() -> None:
    pieces = [straight(2000.0, 180.0, "1-1", ("P1-1",))]
    laying = lay_planks(pieces, [plain(6000.0, 200.0)], RULES, seconds=0.5)
    assert [b.name for b in laying.offcuts] in (["A1/1"], ["A1/2"])
    assert np.ptp(laying.offcuts[0].outline[:, 0]) > 3800


def test_an_end_split_down_its_middle_is_not_kept() -> None:
    """Either strip beside the shake is narrower than an end must be; by the check apart too."""
    split = Flaw("shake", np.array([[3100, 120], [6000, 120], [6000, 140], [3100, 140.0]]))
    pieces, board = (
        [straight(2500.0, 100.0, "1-1", ("P1-1",))],
        plain(6000.0, 260.0, flaws=(split,)),
    )
    laying = lay_planks(pieces, [board], RULES, pace=ByCount(4))
    assert not laying.offcuts
    whole = offcuts_of(pieces, [replace(board, flaws=())], RULES, laying.cuts)
    kept = replace(laying, offcuts=tuple(replace(end, flaws=(split,)) for end in whole))
    assert whole
    assert "T124" in {f.code for f in check_laying(pieces, [board], RULES, kept)}


def test_pins_and_fixed_cuts_are_kept(pile, laid) -> None:
    pieces, boards = pile
    plank = laid.cuts[0].plank
    other = next(c.board for c in laid.cuts[1:] if c.board != laid.cuts[0].board)
    fixed = laid.cuts[-1:]
    again = lay_planks(*pile, RULES, seconds=1.5, pinned=[(plank, other)], fixed=fixed)
    where = {c.plank: c for c in again.cuts}
    assert plank in again.unlaid or where[plank].board == other
    assert where[fixed[0].plank] == fixed[0]
    assert not wrong(pieces, boards, RULES, again)


def test_a_laying_is_gone_on_from(pile, laid) -> None:
    again = lay_planks(*pile, RULES, seconds=0.2, start=laid)
    assert again.used_m3 <= laid.used_m3 + 1e-9
    assert not again.unlaid


def test_two_boards_begun_become_one_that_holds_both() -> None:
    pieces = [straight(2800.0, 150.0, "1-1")]
    boards = [plain(3000.0, 360.0, f"A{k}") for k in range(3)]
    first = [lay_planks(pieces, [b], RULES, seconds=0.0).cuts[0] for b in boards[:2]]
    cuts = (replace(first[0], plank="P1-1"), replace(first[1], plank="S1-1"))
    apart = Laying(cuts, (), 0.0, 0.0, 0.0, 0.0, 0.0, 0)
    laying = lay_planks(pieces, boards, RULES, seconds=0.5, start=apart)
    assert len({c.board for c in laying.cuts}) == 1
    assert not wrong(pieces, boards, RULES, laying)


def test_lies_left_unlooked_at_as_too_high_would_not_have_fitted(pile) -> None:
    """Known to fit by the looks at every place, a plank is laid too where those are not taken."""
    narrow = [replace(b, outline=np.asarray(b.outline) * [1, 0.5], flaws=()) for b in pile[1][:12]]
    kinds = kinds_of(pile[0], RULES)
    lies = lies_of(kinds, RULES)
    asked = {"rules": RULES, "way": Way(), "rng": np.random.default_rng(0)}
    laid_on = 0
    for at, plot in enumerate(plots_of(pile[0], narrow, RULES)):
        looks = first_looks(plot, lies, False)
        for k in np.unique(lies.kind[np.isfinite(looks.taken)]):
            one, price = np.zeros(len(kinds), dtype=np.int64), np.ones(len(kinds))
            one[k] = 1
            known = fill(plot, at, lies, price, one, first=looks, **asked)
            plainly = fill(plot, at, lies, price, one, **asked)
            assert len(plainly.places) >= len(known.places)
            laid_on += len(known.places)
    assert laid_on > 20


@pytest.mark.parametrize("pairing", [False, True])
def test_patterns_of_two_halves_hold_by_both_checks(pairing: bool) -> None:
    """What was stacked from below goes with what hangs from above, past knots and all."""
    made, boards = made_timber.planks(14, seed=5), made_timber.boards(6, seed=8)
    kinds, plots = kinds_of(made, RULES), plots_of(made, boards, RULES)
    ground = Search(
        kinds, plots, lies_of(kinds, RULES), RULES, np.random.default_rng(0), ByCount(10**6)
    )
    joined = 0
    if pairing:
        ground.begin_pairing()
    for at in range(len(plots)):
        for above in (False, True, False, True):
            ground.fill(at, ground.volume, ground.counts, Way(above, blur=0.5))
        for pattern in ground.halves_of(at).best(ground.volume, ground.counts, 12):
            state = State({at: pattern}, ground.counts.copy())
            cuts = cuts_of(kinds, ground.lies, plots, state)
            laying = laying_of(made, boards, RULES, cuts, spent=0.0, seed=0, bound=0.0)
            assert not wrong(made, boards, RULES, laying)
            joined += len(pattern.places) > 1
    assert joined > 20


def test_single_planks_to_begin_with_are_paired_without_a_filling_and_never_give_way() -> None:
    made = [straight(2800.0, 150.0, "1-1", ("P1-1",)), straight(2400.0, 90.0, "2-1", ("P2-1",))]
    kinds, plots = kinds_of(made, RULES), plots_of(made, [plain(6000.0, 280.0)], RULES)
    lies = lies_of(kinds, RULES)
    ground = Search(kinds, plots, lies, RULES, np.random.default_rng(0), ByCount(10**6))
    ground.begin_pairing()
    ground.pair(0, ground.volume, ground.counts)
    assert (0, 1) in ground.pool[0]
    side = ground.halves_of(0).below
    alone, long = side.places[1 : side.firm], plots[0].length
    for kind in (0, 1):  # at the butt, and at the top but for the length of the cells looked at
        cells = [p.cell for (p,) in alone if p.kind == kind]
        assert min(cells) == 0
        assert max(cells) * STEP > long - 150.0 - STEP - max(lies.length[lies.kind == kind])
    for n in range(2 * len(side.room)):
        side.spot((n, n + 1), 1.0)
        side.places[-1] = side.places[-1] or (alone[0][0],)
    assert side.places[1 : side.firm] == alone


def test_a_search_long_enough_for_pairs_lays_planks_as_they_may_lie() -> None:
    """By a clock that goes a second at every look, so that it ends soon."""
    made, boards = made_timber.planks(8, seed=5), made_timber.boards(12, seed=8)
    ticks = (float(n) for n in range(1000))
    laying = lay_planks(made, boards, RULES, seconds=20.0, clock=lambda: next(ticks))
    assert not laying.unlaid
    assert not wrong(made, boards, RULES, laying)
    ticks = (float(n) for n in range(1000))
    longer = lay_planks(made, boards, RULES, seconds=20.0, start=laying, clock=lambda: next(ticks))
    assert not wrong(made, boards, RULES, longer)
    assert longer.used_m3 <= laying.used_m3 + 1e-9


def test_two_halves_that_meet_are_not_put_together() -> None:
    """Of two planks from below and one from above a board bears two, or the third anew."""
    made = [straight(2800.0, 150.0, "1-1", ("P1-1",)), straight(2800.0, 90.0, "2-1", ("P2-1",))]
    for wide, both in ((280.0, True), (230.0, False)):
        kinds, plots = kinds_of(made, RULES), plots_of(made, [plain(3000.0, wide)], RULES)
        lies = lies_of(kinds, RULES)
        ground = Search(kinds, plots, lies, RULES, np.random.default_rng(0), ByCount(10**6))
        for n, above in ((0, False), (1, True)):
            one = np.eye(2, dtype=np.int64)[n]
            ground.fill(0, ground.volume, one, Way(above))
        found = ground.halves_of(0).best(ground.volume, ground.counts, 9)
        assert (max(len(pattern.places) for pattern in found) == 2) is both


@pytest.mark.parametrize("above", [False, True])
def test_what_goes_on_a_half_is_learnt_and_holds_by_both_checks(above: bool) -> None:
    """Every plank that could come next on planks stacked from below, or hung from above."""
    made, boards = made_timber.planks(14, seed=5), made_timber.boards(6, seed=8)
    kinds, plots = kinds_of(made, RULES), plots_of(made, boards, RULES)
    lies, rng = lies_of(kinds, RULES, FINE), np.random.default_rng(0)
    ground = Search(kinds, plots, lies, RULES, rng, ByCount(10**6))
    ground.begin_pairing()
    on_others = 0
    for at, plot in enumerate(plots):
        for first in ground.halves_of(at).side(above).places[1:40:13]:
            able = np.flatnonzero(ground.first(at, above).fits)
            found = on_top(plot, lies, first, able, Way(above), ground.volume[lies.kind], rng)
            for place in found:
                pattern = Pattern(at, (*first, place), 1.0)
                if place.kind == first[0].kind and ground.counts[place.kind] < 2:
                    continue
                cuts = cuts_of(kinds, lies, plots, State({at: pattern}, ground.counts.copy()))
                laying = laying_of(made, boards, RULES, cuts, spent=0.0, seed=0, bound=0.0)
                assert not wrong(made, boards, RULES, laying)
                on_others += 1
    assert on_others > 30


def test_a_part_of_a_board_is_filled_and_the_rest_kept() -> None:
    made, board = [straight(2400.0, 90.0, "1-1", ("P1-1", "S1-1", "P1-2"))], plain(6000.0, 350.0)
    kinds, plots = kinds_of(made, RULES), plots_of(made, [board], RULES)
    lies, cells = lies_of(kinds, RULES), len(plots[0].floor)
    for part in ((0, 52), (cells - 52, 52)):
        pattern = fill(plots[0], 0, lies, np.ones(1), np.array([3]), rules=RULES,
                       way=Way(part=part), rng=np.random.default_rng(0))  # fmt: skip
        assert len(pattern.places) == 3
        ends = [(p.cell, p.cell + int(lies.cells[p.lie])) for p in pattern.places]
        assert all(part[0] <= a and b <= part[0] + part[1] for a, b in ends)
        assert pattern.cost < 0.6 * 6000.0 * 350.0 * 50.0


def test_a_spoilt_board_moves_three_others_at_most(pile, laid) -> None:
    pieces, boards = pile
    spoilt = laid.cuts[0].board
    mended = relay(laid, pieces, boards, RULES, [spoilt])
    before, after = ({c.plank: c for c in lay.cuts} for lay in (laid, mended))
    assert spoilt not in {c.board for c in mended.cuts}
    moved = [p for p in after if before[p] != after[p] and before[p].board != spoilt]
    assert len(moved) <= 3
    assert not mended.unlaid
    assert not wrong(pieces, [b for b in boards if b.name != spoilt], RULES, mended)


def test_a_chain_of_two_is_found_when_a_board_is_spoilt() -> None:
    """The long one fits only where the middle one lies, and that takes a spare board."""
    pieces = [
        straight(4600.0, 150.0, "1-1", ("P1-1",)),
        straight(3600.0, 150.0, "2-1", ("P2-1",)),
        straight(2600.0, 150.0, "3-1", ("P3-1",)),
    ]
    boards = [plain(n, 180.0, f"A{k}") for k, n in enumerate((4800.0, 4800.0, 3800.0, 2800.0))]
    end = {"P1-1": "A0", "P2-1": "A1", "P3-1": "A2"}
    cuts = tuple(Cut(plank, name, False, 0.0, 60.0, 90.0) for plank, name in end.items())
    before = Laying(cuts, (), 0.0, 0.0, 0.0, 0.0, 0.0, 0)
    mended = relay(before, pieces, boards, RULES, ["A0"])
    assert not mended.unlaid
    assert {c.plank: c.board for c in mended.cuts} == {"P1-1": "A1", "P2-1": "A2", "P3-1": "A3"}
    assert not wrong(pieces, boards[1:], RULES, mended)


def test_firm_planks_are_not_lifted_for_a_spoilt_board() -> None:
    pieces = [straight(4600.0, 150.0, "1-1", ("P1-1",)), straight(2600.0, 150.0, "2-1", ("P2-1",))]
    boards = [plain(n, 180.0, f"A{k}") for k, n in enumerate((4800.0, 4800.0, 2800.0))]
    cuts = tuple(Cut(p, n, False, 0.0, 60.0, 90.0) for p, n in (("P1-1", "A0"), ("P2-1", "A1")))
    before = Laying(cuts, (), 0.0, 0.0, 0.0, 0.0, 0.0, 0)
    held = relay(before, pieces, boards, RULES, ["A0"], sawn=["P2-1"])
    assert held.unlaid == ("P1-1",)
    assert not relay(before, pieces, boards, RULES, ["A0"]).unlaid


def test_of_a_pile_short_already_it_is_said_what_became_of_a_spoilt_boards_planks() -> None:
    """One of the two finds room beside what lies there, the other none; what had none has none."""
    pieces = [
        straight(n, 150.0, f"{k}-1", (f"P{k}-1",)) for k, n in enumerate((4600.0, 2200.0, 5200.0))
    ]
    pieces.append(straight(2000.0, 150.0, "4-1", ("P4-1",)))
    boards = [plain(4800.0, 360.0, "A0"), plain(4800.0, 180.0, "A1")]
    on = (("P0-1", "A0", 90.0), ("P1-1", "A0", 270.0), ("P4-1", "A1", 90.0))
    cuts = tuple(Cut(plank, name, False, 0.0, 60.0, y) for plank, name, y in on)
    before = Laying(cuts, ("P2-1",), 0.0, 0.0, 0.0, 0.0, 0.0, 0)
    mended = relay(before, pieces, boards, RULES, ["A0"])
    assert mended.unlaid == ("P0-1", "P2-1")
    told = next(f for f in mended.findings if f.code == "T117")
    assert told.why.startswith("1 had none before; of 2 that lost theirs 1 found another")


def test_many_planks_changed_are_laid_again_in_room_left_and_nothing_else_moves(pile, laid) -> None:
    """As after a re-lining: half the planks have new shapes, the others are as good as sawn."""
    pieces, boards = pile
    now = [replace(p, outline=p.outline * [1.0, 0.98]) if k % 2 else p
           for k, p in enumerate(pieces)]  # fmt: skip
    new = {plank for p in now[1::2] for plank in p.planks}
    stay = tuple(cut for cut in laid.cuts if cut.plank not in new)
    after = relay(replace(laid, cuts=stay), now, boards, RULES, (), sawn={c.plank for c in stay})
    assert set(stay) <= set(after.cuts)
    assert not after.unlaid
    assert not wrong(now, boards, RULES, after)


def test_least_money_is_looked_for_where_boards_have_prices() -> None:
    """The larger board is the cheaper one."""
    pieces = [straight(2600.0, 150.0, "1-1", ("P1-1",))]
    boards = [
        replace(plain(2800.0, 180.0, "A1"), price=90.0),
        replace(plain(4000.0, 200.0, "A2"), price=40.0),
    ]
    laying = lay_planks(pieces, boards, RULES, seconds=0.5)
    assert laying.cuts[0].board == "A2"
    assert laying.cost == pytest.approx(40.0)
    assert laying.cost_bound is not None
    assert 0 < laying.cost_bound <= 40.0
    assert (
        lay_planks(pieces, [replace(b, price=None) for b in boards], RULES, seconds=0.5)
        .cuts[0]
        .board
        == "A1"
    )


def test_another_timber_wet_boards_and_barred_pairs_are_left() -> None:
    pieces = [straight(2600.0, 150.0, "1-1", ("P1-1",))]
    larch, oak = (replace(plain(2800.0, 180.0, n), species=n) for n in ("larch", "oak"))
    laying = lay_planks(pieces, [larch, oak], RULES, seconds=0.3, timber="oak")
    assert laying.cuts[0].board == "oak"
    assert {f.code for f in laying.findings} == {"T118"}
    assert lay_planks(pieces, [larch], RULES, seconds=0.3, timber="oak").unlaid == ("P1-1",)
    mixed = lay_planks(
        pieces, [larch], replace(RULES, other_timber=True), seconds=0.3, timber="oak"
    )
    assert "T119" in {f.code for f in mixed.findings}
    wet = replace(oak, moisture_percent=40.0)
    assert lay_planks(pieces, [wet], replace(RULES, wettest_percent=25.0), seconds=0.3).unlaid
    barred = lay_planks(pieces, [larch, oak], RULES, seconds=0.3, barred=[("P1-1", "larch")])
    assert barred.cuts[0].board == "oak"


def test_sawn_planks_stay_on_a_spoilt_board(pile, laid) -> None:
    first = laid.cuts[0]
    mended = relay(laid, *pile, RULES, [first.board], sawn=[first.plank])
    assert first in mended.cuts


@pytest.mark.parametrize(
    ("change", "code"),
    [
        ({"x_mm": 900.0}, "T110"),
        ({"turn_rad": 0.2}, "T107"),
        ({"board": "Z9"}, "T103"),
        ({"plank": "P9-9"}, "T101"),
    ],
)
def test_check_finds_what_was_spoilt_on_purpose(change, code) -> None:
    pieces, boards = [straight(2400.0, 120.0, "1-1")], [plain(3000.0, 300.0)]
    good = lay_planks(pieces, boards, RULES, seconds=0.3)
    assert not [f for f in check_laying(pieces, boards, RULES, good) if f.severity == "fault"]
    bad = replace(good, cuts=(replace(good.cuts[0], **change), *good.cuts[1:]))
    assert code in {f.code for f in check_laying(pieces, boards, RULES, bad)}


def test_check_finds_overlap_flaw_thin_and_false_sums() -> None:
    pieces, boards = [straight(2400.0, 120.0, "1-1")], [plain(3000.0, 300.0)]
    good = lay_planks(pieces, boards, RULES, seconds=0.3)
    twice = replace(good.cuts[0], plank=good.cuts[1].plank)
    bad = replace(good, cuts=(good.cuts[0], twice), used_m3=0.01, bound_m3=1.0)
    knot = Flaw("knot", np.asarray(boards[0].outline))
    worse = [replace(boards[0], flaws=(knot,), thickness_mm=20.0)]
    codes = {f.code for f in check_laying(pieces, worse, RULES, bad)}
    assert {"T108", "T111", "T112", "T113", "T114"} <= codes


def test_shapely_agrees_on_distance() -> None:
    rng = np.random.default_rng(3)
    for _ in range(40):
        one, two = (
            made_timber.plank_outline(500, 80, 30, 0.1, 0.2) + rng.uniform(-300, 300, 2)
            for _ in range(2)
        )
        a, b = Polygon(one), Polygon(two)
        assert rings_meet(one, two) == a.intersects(b)
        if not a.intersects(b):
            assert distance(one, two) == pytest.approx(a.distance(b))
