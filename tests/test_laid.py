"""A pile laid with the yard's wishes, and mended when something of it changes."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import made_timber
from ribband.errors import InputError
from ribband.survey.rows import Row
from ribband.timber import (
    DressRules,
    Laid,
    LayingRules,
    LayWish,
    OrderRules,
    PileRules,
    Wanted,
    boards_for,
    check_laying,
    fit_boards,
    gather,
    lacking,
    lay_longer,
    lay_pile,
    lost_boards,
    mill_classes,
    needs_of_pieces,
    read_layings,
    sawn_planks,
)
from ribband.timber.board_model import Board, Cut, Flaw, Piece
from ribband.timber.laid_changed import lay_changed
from ribband.timber.measure import volume_m3

RULES = LayingRules()
PIECES = made_timber.planks(10)
BOARDS = made_timber.boards(36)


@pytest.fixture(scope="module")
def laid() -> Laid:
    found = lay_pile(PIECES, BOARDS, RULES)
    assert not found.laying.unlaid
    return found


def where(laid: Laid) -> dict[str, str]:
    return {cut.plank: cut.board for cut in laid.laying.cuts}


def marked(name: str, state: str) -> tuple[Board, ...]:
    return tuple(replace(b, state=state) if b.name == name else b for b in BOARDS)


def good(laid: Laid) -> bool:
    found = check_laying(laid.pieces, laid.boards, laid.rules, laid.laying)
    return not [f for f in found if f.severity == "fault"]


def codes(laid: Laid) -> list[str]:
    return [f.code for f in laid.findings]


def row(plank: str, board: str, wish: str, number: int = 2) -> Row:
    cells = {"plank": plank, "board": board, "wish": wish}
    return Row(cells, "layings.csv", number, cells)


def test_a_spoilt_board_moves_its_own_planks_and_three_others_at_most(laid: Laid) -> None:
    for bad in list(dict.fromkeys(where(laid).values()))[:3]:
        own = {plank for plank, board in where(laid).items() if board == bad}
        after = lay_pile(PIECES, marked(bad, "spoilt"), RULES, before=laid)
        assert after.mended
        assert good(after)
        assert bad not in where(after).values()
        assert not after.laying.unlaid
        assert own <= set(after.moved)
        assert len(set(after.moved) - own) <= 3


def test_a_board_barred_by_a_wish_is_as_good_as_spoilt(laid: Laid) -> None:
    bad = where(laid)["P1-1"]
    after = lay_pile(PIECES, BOARDS, RULES, [LayWish("bar", "", bad)], before=laid)
    assert bad not in where(after).values()
    assert good(after)
    assert next(b.state for b in after.boards if b.name == bad) == "barred"


def test_a_pinned_plank_goes_where_it_is_wanted_and_others_make_way(laid: Laid) -> None:
    on = where(laid)  # the board of its twin surely holds it
    pairs = (piece.planks for piece in PIECES if on[piece.planks[0]] != on[piece.planks[1]])
    plank, twin = next(pairs)
    full = on[twin]
    wish = LayWish("pin", plank.lower(), full)  # as it may be typed
    after = lay_pile(PIECES, BOARDS, RULES, [wish], before=laid)
    assert where(after)[plank] == full
    assert good(after)
    assert not after.laying.unlaid
    again = lay_pile(PIECES, BOARDS, RULES, [wish])  # from nothing
    assert where(again)[plank] == full


def test_a_plank_pinned_where_it_cannot_lie_keeps_the_board_it_had(laid: Laid) -> None:
    """Pinned to a board shorter than itself: nothing else moves for it, and it is told."""
    on = where(laid)
    long = {p: float(np.ptp(piece.outline[:, 0])) for piece in PIECES for p in piece.planks}
    length = {b.name: float(np.ptp(b.outline[:, 0])) for b in BOARDS}
    plank, board = next((p, b) for p in on for b in length if length[b] < long[p])
    after = lay_pile(PIECES, BOARDS, RULES, [LayWish("pin", plank, board)], before=laid)
    assert where(after) == on
    [told] = [f for f in after.findings if f.code == "T121"]
    assert told.says == f"is pinned to board {board}, and lies on {on[plank]}"


def test_a_sawn_plank_stays_where_it_lies_even_on_a_spoilt_board(laid: Laid) -> None:
    cut = laid.laying.cuts[0]
    wishes = [LayWish("sawn", cut.plank, cut.board)]
    after = lay_pile(PIECES, marked(cut.board, "spoilt"), RULES, wishes, before=laid)
    assert next(c for c in after.laying.cuts if c.plank == cut.plank) == cut
    assert sawn_planks(after) == {cut.plank}
    others = {p for p, b in where(laid).items() if b == cut.board} - {cut.plank}
    assert all(where(after)[plank] != cut.board for plank in others)


def test_a_board_that_comes_takes_planks_that_had_none() -> None:
    few = BOARDS[:3]
    short = lay_pile(PIECES, few, RULES)
    assert short.laying.unlaid
    assert [f.code for f in short.findings] == ["T117", "T127"]
    more = lay_pile(PIECES, BOARDS[:8], RULES, before=short)
    assert more.mended
    assert len(more.laying.unlaid) < len(short.laying.unlaid)
    assert {c for c in more.laying.cuts if c.plank in where(short)} == set(short.laying.cuts)


def test_planks_that_lose_their_board_in_a_short_pile_are_named_until_a_board_comes() -> None:
    """Not with them those that had none before; what boards to buy for them alone is said."""
    outline = made_timber.plank_outline(2600.0, 140.0, 0.0, 0.0, 0.0)
    pieces = (Piece("1-1", outline, ("P1-1", "S1-1", "P1-2"), 50.0),)
    own = [oblong(f"A{n}", 2800.0, 170.0, None) for n in range(2)]
    short = lay_pile(pieces, own, RULES)
    (never,) = short.laying.unlaid
    bad = short.laying.cuts[0]
    spoilt = [replace(b, state="spoilt") if b.name == bad.board else b for b in own]
    after = lay_pile(pieces, spoilt, RULES, before=short)
    assert set(after.laying.unlaid) == {never, bad.plank}
    assert after.lost == (bad.plank,)
    assert lay_changed(short, pieces, spoilt, RULES, ()).lost == after.lost
    needs = needs_of_pieces(lacking(pieces, set(after.lost)))
    said = boards_for(needs, mill_classes(60.0), OrderRules(), "mm")
    assert said == "1 board of 3048 mm x 203 mm x 60 mm"
    (told,) = lost_boards(after.lost, said)
    assert (told.code, told.where) == ("T131", f"plank {bad.plank}")
    more = lay_pile(pieces, [*spoilt, oblong("B1", 2800.0, 170.0, None)], RULES, before=after)
    assert len(more.laying.unlaid) == 1
    assert set(more.lost) == set(after.lost) & set(more.laying.unlaid)


def test_other_planks_or_rules_lay_everything_anew(laid: Laid) -> None:
    kerf = replace(RULES, kerf_mm=20.0)  # so that cuts taken over as they were would be too near
    after = lay_pile(PIECES, BOARDS, kerf, before=laid, trials=10)
    assert not after.mended
    assert good(after)
    fewer = lay_pile(PIECES[1:], BOARDS, RULES, before=laid)
    assert not fewer.mended
    assert good(fewer)


def test_a_longer_search_is_never_worse(laid: Laid) -> None:
    longer = lay_longer(laid, 0.5)
    assert longer.laying.used_m3 <= laid.laying.used_m3
    assert not longer.laying.unlaid


def test_boards_of_another_timber_are_left_and_named_when_laid_mended_and_laid_longer() -> None:
    pieces = PIECES[:3]
    boards = [replace(b, species="larch" if n % 2 else "oak") for n, b in enumerate(BOARDS[:20])]
    larch = {b.name for b in boards if b.species == "larch"}
    first = lay_pile(pieces, boards, RULES, timber="oak")
    assert not first.laying.unlaid
    assert not larch & set(where(first).values())
    bad = where(first)["P1-1"]
    worse = [replace(b, state="spoilt") if b.name == bad else b for b in boards]
    mended = lay_pile(pieces, worse, RULES, before=first, timber="oak")
    assert mended.mended
    better = lay_pile(pieces[:1], boards, RULES, timber="oak")
    for one in (first, mended, lay_longer(mended, 0.2), better, lay_longer(better, 0.2)):
        assert not larch & set(where(one).values())
        assert codes(one).count("T118") == len(larch)
        assert not check_laying(one.pieces, one.boards, RULES, one.laying, "oak")
    shown = check_laying(first.pieces, boards, RULES, first.laying, "larch")
    assert {f.code for f in shown} == {"T122"}


def test_another_timber_for_the_planking_lays_everything_anew() -> None:
    boards = [replace(b, species="larch" if n % 2 else "oak") for n, b in enumerate(BOARDS[:12])]
    first = lay_pile(PIECES[:2], boards, RULES, timber="oak")
    after = lay_pile(PIECES[:2], boards, RULES, before=first, timber="larch")
    assert not after.mended
    assert set(where(first).values()).isdisjoint(where(after).values())
    assert not after.laying.unlaid


def test_what_is_doubtful_of_the_boards_is_told_after_a_mending_too() -> None:
    pieces, pile = PIECES[:3], BOARDS[:10]
    untold = lay_pile(pieces, pile, RULES, timber="oak")
    (told,) = (f for f in untold.findings if f.code == "T119")
    assert all(name in told.where for name in set(where(untold).values()))
    mixed = [
        replace(b, species=("oak", "larch")[n % 2], price=None if n else 9.0)
        for n, b in enumerate(pile)
    ]
    both = lay_pile(pieces, mixed, RULES)
    assert codes(both).count("T129") == 1
    kinds = {b.name: b.species for b in mixed}
    assert ("T128" in codes(both)) == (len({kinds[b] for b in where(both).values()}) > 1)
    bad = where(both)["P1-1"]
    worse = [replace(b, state="spoilt") if b.name == bad else b for b in mixed]
    after = lay_pile(pieces, worse, RULES, before=both)
    assert after.mended
    assert "T129" in codes(after) or bad == pile[0].name
    assert ("T128" in codes(after)) == (len({kinds[b] for b in where(after).values()}) > 1)
    allowed = replace(RULES, other_timber=True)
    larch = [replace(b, species="larch") for b in pile]
    taken = lay_pile(pieces, larch, allowed, timber="oak")
    assert codes(taken).count("T119") == len(set(where(taken).values()))


def test_a_wet_board_is_left_and_named() -> None:
    dry = replace(RULES, wettest_percent=25.0)
    boards = [replace(b, moisture_percent=40.0 if n < 4 else 15.0) for n, b in enumerate(BOARDS)]
    found = lay_pile(PIECES[:3], boards, dry)
    assert codes(found).count("T118") == 4
    wet = {b.name for b in boards[:4]}
    assert not wet & set(where(found).values())
    assert "T123" not in {f.code for f in check_laying(PIECES[:3], boards, dry, found.laying)}
    moist = [replace(b, moisture_percent=40.0) for b in boards]
    assert "T123" in {f.code for f in check_laying(PIECES[:3], moist, dry, found.laying)}


def oblong(name: str, length: float, width: float, price: float | None) -> Board:
    ring = np.array([[0.0, 0.0], [length, 0.0], [length, width], [0.0, width]])
    return Board(name, ring, 60.0, price=price)


@pytest.mark.parametrize(("priced", "wanted"), [(True, "cheap"), (False, "small")])
def test_a_longer_search_goes_by_money_where_boards_have_prices(priced: bool, wanted: str) -> None:
    small = oblong("small", 2800.0, 200.0, 90.0 if priced else None)
    cheap = oblong("cheap", 4000.0, 220.0, 40.0)
    outline = made_timber.plank_outline(2600.0, 140.0, 0.0, 0.0, 0.0)
    pieces = (Piece("1-1", outline, ("P1-1",), 50.0),)
    other = {"cheap": "small", "small": "cheap"}[wanted]
    pinned = lay_pile(pieces, [small, cheap], RULES, [LayWish("pin", "P1-1", other)])
    assert where(pinned)["P1-1"] == other
    longer = lay_longer(replace(pinned, wishes=()), 1.0)
    assert where(longer)["P1-1"] == wanted
    assert (longer.laying.used_m3 > pinned.laying.used_m3) == priced
    again = lay_longer(longer, 0.1)
    assert again is longer


def test_wishes_for_nothing_are_told(laid: Laid) -> None:
    narrow = min(BOARDS, key=lambda b: b.outline[:, 0].max())
    lengths = {p: piece.outline[:, 0].max() for piece in PIECES for p in piece.planks}
    longest = max(lengths, key=lambda p: lengths[p])
    wishes = [LayWish("pin", "P99-1", narrow.name), LayWish("pin", longest, narrow.name)]
    after = lay_pile(PIECES, BOARDS, RULES, wishes, before=laid)
    codes = [f.code for f in after.findings]
    assert "T120" in codes
    assert ("T121" in codes) == (where(after).get(longest) != narrow.name)


@pytest.mark.parametrize(
    ("rows", "column"),
    [
        ([row("P1-1", "nowhere", "pin")], "board"),
        ([row("", "A1", "pin")], "plank"),
        ([row("P1-1", "A1", "bar")], "plank"),
        ([row("P1-1", "A1", "pin"), row("p1-1", "A2", "sawn", 3)], "plank"),
    ],
)
def test_lines_that_cannot_be_are_refused_with_their_row(rows: list[Row], column: str) -> None:
    with pytest.raises(InputError) as wrong:
        read_layings(rows, ["A1", "A2"])
    (problem,) = wrong.value.problems
    assert (problem.file, problem.row, problem.column) == ("layings.csv", rows[-1].number, column)


def test_planks_that_all_came_otherwise_are_laid_as_if_nothing_had_lain_before(laid: Laid) -> None:
    others = made_timber.planks(10, seed=7)
    after = lay_pile(others, BOARDS, RULES, before=laid)
    afresh = lay_pile(others, BOARDS, RULES)
    assert len(after.laying.cuts) == len(afresh.laying.cuts) > 0
    assert good(after)


def test_what_was_proved_of_a_pile_holds_of_less_of_it_and_not_of_more() -> None:
    outline = made_timber.plank_outline(2600.0, 140.0, 0.0, 0.0, 0.0)
    pieces = (Piece("1-1", outline, ("P1-1", "S1-1", "P1-2"), 50.0),)
    own = [oblong(f"A{n}", 2800.0, 170.0, None) for n in range(2)]
    spare = oblong("A9", 2800.0, 170.0, None)
    short = lay_pile(pieces, own, RULES)
    assert len(short.laying.unlaid) == 1
    assert "proved" in next(f.why for f in short.findings if f.code == "T117")
    fewer = lay_pile(pieces, [own[0], replace(own[1], state="spoilt")], RULES, before=short)
    assert len(fewer.laying.unlaid) == 2
    assert "proved" in next(f.why for f in fewer.findings if f.code == "T117")
    more = lay_pile(pieces, [*own, spare], RULES, before=short)
    assert not more.laying.unlaid
    good_for = lay_pile(pieces, [*own, spare, oblong("B", 6000.0, 170.0, None)], RULES)
    better = oblong("C", 2700.0, 460.0, None)
    again = lay_pile(pieces, [*good_for.boards, better], RULES, before=good_for,
                     wishes=[LayWish("pin", "P1-1", "C")])  # fmt: skip
    assert where(again)["P1-1"] == "C"
    assert again.laying.bound_m3 == 0.0


def test_boards_just_too_thin_and_green_ones_are_told() -> None:
    outline = made_timber.plank_outline(2600.0, 140.0, 0.0, 0.0, 0.0)
    pieces = (Piece("1-1", outline, ("P1-1",), 50.0),)
    thin = replace(oblong("thin", 4000.0, 300.0, None), thickness_mm=49.9)
    green = replace(oblong("green", 2800.0, 170.0, None), moisture_percent=45.0)
    laid = lay_pile(pieces, [thin, green], RULES)
    assert where(laid) == {"P1-1": "green"}
    told = {f.code: f.where for f in laid.findings}
    assert told["T118"] == "board thin"
    assert told["T125"] == "board green"


def test_what_is_got_out_stays_whatever_else_is_laid_anew(laid: Laid) -> None:
    """Pinned planks lay much anew, a wider kerf everything: what was sawn stays where it was."""
    cuts = {cut.plank: cut for cut in laid.laying.cuts}
    out = sorted(cuts)[:3]
    other = next(b.name for b in BOARDS if b.name not in where(laid).values())
    moving = next(plank for plank in sorted(cuts) if plank not in out)
    pinned = [LayWish("pin", moving, other)]
    for rules, wishes in ((RULES, pinned), (replace(RULES, kerf_mm=6.0), [])):
        after = lay_pile(PIECES, BOARDS, rules, wishes, before=laid, out=out)
        now = {cut.plank: cut for cut in after.laying.cuts}
        assert all(now[plank] == cuts[plank] for plank in out)
        assert after.out == tuple(out)
        assert sawn_planks(after) == set(out)
        longer = lay_longer(after, 0.3)
        assert {c.plank: c for c in longer.laying.cuts}[out[0]] == cuts[out[0]]


def test_a_board_changed_in_the_tally_loses_its_planks_but_those_got_out(laid: Laid) -> None:
    """A knot found later on a board: what is sawn of it stays, what is not is laid again."""
    on = laid.laying.cuts
    board = next(b for b in (c.board for c in on) if sum(c.board == b for c in on) > 1)
    first, *rest = [c.plank for c in on if c.board == board]
    ring = next(b for b in BOARDS if b.name == board).outline
    knot = Flaw(
        "knot", ring.mean(axis=0) + np.array([[-30.0, -30], [30, -30], [30, 30], [-30, 30]])
    )
    boards = [replace(b, flaws=(*b.flaws, knot)) if b.name == board else b for b in BOARDS]
    after = lay_changed(laid, PIECES, boards, RULES, (), [first])
    now = {cut.plank: cut for cut in after.laying.cuts}
    assert now[first] == next(c for c in on if c.plank == first)
    assert set(now) | set(after.laying.unlaid) == {c.plank for c in on}
    clear = [c for c in now.values() if c.plank != first]
    assert not [f for f in check_laying(after.pieces, after.boards, RULES, after.laying)
                if f.code == "T111" and any(c.plank in f.where for c in clear)]  # fmt: skip
    elsewhere = [c for c in on if c.board != board]
    assert all(now[c.plank] == c for c in elsewhere)
    assert rest


def test_a_plank_to_be_backed_out_is_laid_on_no_board_that_will_not_dress_to_it() -> None:
    """22 mm dressed and 4 mm hollow of 30 mm rough: 6.35 mm of planing leave 23.65, not 26."""
    ring = np.array([[0.0, 0], [4000, 0], [4000, 300], [0, 300]])
    thin, thick = (Board(n, ring, t, "white oak", 15.0) for n, t in (("A1", 30.0), ("A2", 34.0)))
    pile = gather([thin, thick], Wanted("white oak", 22.0))
    flat = np.array([[0.0, 0], [3500, 0], [3500, 120], [0, 120], [0, 0]])
    pieces = [
        Piece("1-1", flat, ("P1-1", "S1-1"), 26.0, planed_mm=26.0),
        Piece("2-1", flat, ("P2-1", "S2-1"), 26.0, planed_mm=22.0),
    ]
    laid = lay_pile(pieces, fit_boards(pile), LayingRules())
    assert {c.plank: c.board for c in laid.laying.cuts} == {
        "P1-1": "A2", "S1-1": "A2", "P2-1": "A1", "S2-1": "A1"}  # fmt: skip
    assert not check_laying(laid.pieces, laid.boards, laid.rules, laid.laying)
    short = lay_pile(pieces, fit_boards(gather([thin], Wanted("white oak", 22.0))), LayingRules())
    assert set(short.laying.unlaid) == {"P1-1", "S1-1"}
    told = next(f for f in short.findings if f.code == "T130")
    assert told.where == "planks P1-1, S1-1"
    assert "planed to 1.9 mm more" in told.says  # 26 - (30 - 6.35 + 0.4 barer) = 1.95
    on_thin = replace(laid.laying, cuts=(Cut("P1-1", "A1", False, 0.0, 60.0, 20.0),))
    wrong = check_laying(pieces, laid.boards, LayingRules(), on_thin)
    assert any(f.code == "T108" and "planes to 24" in f.says for f in wrong)
    as_they_are = PileRules(dressing=DressRules(bar=False))
    free = fit_boards(gather([thin], Wanted("white oak", 22.0), as_they_are))
    assert free[0].lost_mm == 0.0
    assert not lay_pile(pieces[:1], free, LayingRules()).laying.unlaid


def test_a_hollow_reckoned_again_to_another_last_place_moves_no_plank(laid) -> None:
    """As after a re-lining: the same shapes, their hollows summed in another order."""
    again = tuple(
        replace(p, planed_mm=p.planed_mm + 1e-12, outline=p.outline + 1e-11) for p in laid.pieces
    )
    after = lay_changed(laid, again, laid.boards, laid.rules, laid.wishes)
    assert where(after) == where(laid)
    assert not after.moved


def oak(name: str, length: float, width: float, state: str = "sound") -> Board:
    ring = np.array([[0, 0], [length, 0], [length, width], [0, width]], float)
    return Board(name, ring, 50.0, state=state)


def oblong_piece(name: str, length: float, *planks: str) -> Piece:
    ring = np.array([[0, 0], [length, 0], [length, 150], [0, 150]], float)
    return Piece(name, ring, planks, 45.0, 4.0, 40.0)


def test_planks_said_to_be_sawn_stay_though_the_log_has_others_got_out() -> None:
    """On a board that turns out bad, too; the yard has them already."""
    planks = [oblong_piece("1-1", 2500.0, "P1-1", "S1-1"), oblong_piece("2-1", 2600.0, "P2-1")]
    pile = [oak("A1", 3000.0, 200.0), oak("A2", 3000.0, 200.0), oak("A3", 3000.0, 200.0),
            oak("A4", 3000.0, 200.0)]  # fmt: skip
    first = lay_pile(planks, pile, RULES)
    board = where(first)["P1-1"]
    wishes = [LayWish("sawn", "P1-1", board)]
    told = lay_pile(planks, pile, RULES, wishes, before=first)
    bad = [replace(b, state="spoilt") if b.name == board else b for b in pile]
    after = lay_changed(told, planks, bad, RULES, told.wishes, ["S1-1"])
    assert where(after) == where(first)
    assert "T121" not in codes(after)
    found = check_laying(after.pieces, after.boards, RULES, after.laying, out=sawn_planks(after))
    assert "T104" not in {f.code for f in found}
    both = check_laying(after.pieces, after.boards, RULES, after.laying)
    assert "T104" in {f.code for f in both}  # were it not got out
    longer = lay_longer(after, 0.1)
    found = check_laying(longer.pieces, longer.boards, RULES, longer.laying)
    assert "T113" not in {f.code for f in found}  # the spoilt board counts as used


def test_a_board_that_comes_is_cut_into_though_a_mending_has_tried_all_it_may(monkeypatch) -> None:
    """Two planks have no board, others lie as they lay; two long boards come."""
    planks = [oblong_piece("1-1", 2500.0, "P1-1"), oblong_piece("2-1", 5000.0, "P2-1", "S2-1")]
    first = lay_pile(planks, [oak("A1", 3000.0, 200.0)], RULES)
    assert first.laying.unlaid == ("P2-1", "S2-1")
    monkeypatch.setattr("ribband.timber.laying.spoilt.LIFTING", 0)
    more = [oak("A1", 3000.0, 200.0), oak("B1", 5500.0, 200.0), oak("B2", 5500.0, 200.0)]
    after = lay_pile(planks, more, RULES, before=first)
    assert not after.laying.unlaid
    assert where(after)["P1-1"] == "A1"


def test_what_was_proved_of_other_boards_is_not_said_of_these() -> None:
    planks = [oblong_piece("1-1", 2500.0, "P1-1", "S1-1")]
    thick = [replace(oak(n, 3000.0, 200.0), thickness_mm=100.0) for n in ("A1", "A2")]
    first = lay_pile(planks, thick, RULES)
    assert first.laying.bound_m3 > 0.0
    thin = [oak("A1", 3000.0, 200.0), thick[1]]
    for after in (lay_changed(first, planks, thin, RULES, (), []),
                  lay_pile(planks, thin, RULES, before=first)):  # fmt: skip
        assert after.laying.bound_m3 <= after.laying.used_m3
        assert "T114" not in {f.code for f in check_laying(planks, thin, RULES, after.laying)}


@pytest.mark.parametrize("more", [{"allowance_mm": 9.0}, {"end_allowance_mm": 90.0}])
def test_a_plank_got_out_keeps_its_cut_and_the_allowance_it_was_sawn_with(
    more: dict[str, float],
) -> None:
    """On a sound board and on one that is spoilt since, by the log and by a wish."""
    planks = [oblong_piece("1-1", 2500.0, "P1-1", "S1-1"), oblong_piece("2-1", 2600.0, "P2-1")]
    pile = [oak(n, 3200.0, 260.0) for n in ("A1", "A2", "A3", "A4")]
    first = lay_pile(planks, pile, RULES)
    gone = {c.plank: c for c in first.laying.cuts if c.plank != "P2-1"}
    wishes = [LayWish("sawn", "S1-1", gone["S1-1"].board)]
    bad = [replace(b, state="spoilt") if b.name == gone["P1-1"].board else b for b in pile]
    wider = [replace(piece, **more) for piece in planks]
    rules = LayingRules(**more)
    for _ in range(2):  # and again, as the job is next looked at
        first = lay_pile(wider, bad, rules, wishes, before=first, out=["P1-1"])
        assert {c.plank: c for c in first.laying.cuts if c.plank != "P2-1"} == gone
        assert not first.laying.unlaid
        found = check_laying(first.pieces, bad, rules, first.laying, out=sawn_planks(first))
        assert not [f for f in found if f.severity == "fault"]
    kept = lay_changed(first, wider, bad, rules, first.wishes, ["P1-1"])
    assert {c.plank: c for c in kept.laying.cuts if c.plank != "P2-1"} == gone


def test_least_money_is_found_among_large_boards_that_are_dear() -> None:
    """Large boards at four times the price of small ones lead a search astray that begins so."""
    by_size = sorted(made_timber.boards(60), key=volume_m3)
    boards = [
        replace(b, price=(400.0 if n < 36 else 1600.0) * volume_m3(b))
        for n, b in enumerate(by_size)
    ]
    planks = made_timber.planks(8)
    whole = lay_pile(planks, boards, RULES).laying
    alone = lay_pile(planks, boards[:36], RULES).laying
    assert not whole.unlaid
    assert not alone.unlaid
    assert whole.cost < 1.1 * alone.cost
