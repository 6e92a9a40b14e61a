"""Butts: laying, proof, reasons, wishes and stock."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import combinations, product
from time import process_time

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from made_hulls import tape
from made_ways import VESSELS, Vessel, made_ways, rules_for
from ribband.butts import (
    Butt,
    ButtRules,
    ButtWish,
    Layout,
    Ways,
    check,
    check_sides,
    clashes,
    lay,
    other_side,
    read_stock,
    read_wishes,
    rule_sets,
    shown,
    ways,
)
from ribband.butts.problem import with_wishes
from ribband.butts.short_hoods import short_hoods
from ribband.butts.short_stock import more_stock
from ribband.errors import InputError
from ribband.findings import Severity
from ribband.lining.model import Lining, Strake
from ribband.rulebook import with_values
from ribband.survey.rows import Row

SMALL = Vessel(4, 14, 600.0, 4000.0)


def faults(ways: Ways, rules: ButtRules, layout: Layout) -> list[str]:
    return [str(f) for f in check(ways, rules, layout) if f.severity == "fault"]


def count(layout: Layout) -> float:
    return layout.goals[1].value


def bare(butts: tuple[Butt, ...]) -> Layout:
    return Layout(butts, True, (), 0.0, 0)


# ---- the fewest butts, against a naive search -------------------------------------------------


def naive_fewest(ways: Ways, rules: ButtRules) -> int | None:
    """Try every set of butts of every strake, strake by strake, straight from the checker."""
    choices = []
    for s in range(len(ways.strakes)):
        places = np.flatnonzero(ways.open[s])
        alone = []
        for k in range(4):
            for at in combinations(places, k):
                row = tuple(Butt(s, int(j)) for j in at)
                if not [b for b in clashes(ways, rules, bare(row)) if b.strake == s]:
                    alone.append(row)
        choices.append(alone)
    best: dict[tuple[tuple[Butt, ...], ...], int] = {(): 0}
    for row in choices:  # keep the fewest for every layout of the last three strakes
        after: dict[tuple[tuple[Butt, ...], ...], int] = {}
        for (before, so_far), mine in product(best.items(), row):
            near = [b for r in before for b in r]
            pairs = [b for b in clashes(ways, rules, bare((*near, *mine))) if len(b.butts) == 2]
            if any(b.butts[0].strake != b.butts[1].strake for b in pairs):
                continue
            key = (*before, mine)[-3:]
            after[key] = min(after.get(key, 99), so_far + len(mine))
        best = after
    return min(best.values(), default=None)


@pytest.mark.parametrize("adjacent", [2, 3])
@pytest.mark.parametrize("passing", [1, 3])
@pytest.mark.parametrize("greatest", [3300.0, 4300.0])
def test_fewest_agrees_with_a_naive_search(adjacent: int, passing: int, greatest: float) -> None:
    rules = ButtRules(
        adjacent_spaces=adjacent,
        passing=passing,
        greatest_plank_mm=greatest,
        least_plank_mm=1800.0,
        hood_mm=1200.0,
    )
    ways = made_ways(Vessel(3, 12, 600.0, greatest), rules)
    layout = lay(ways, rules)
    naive = naive_fewest(ways, rules)
    assert layout.feasible == (naive is not None)
    if naive is not None:
        assert count(layout) == naive
        assert layout.goals[1].proved


# ---- every layout keeps the rules -------------------------------------------------------------


@st.composite
def problems(draw: st.DrawFn) -> tuple[Ways, ButtRules]:
    vessel = Vessel(
        strakes=draw(st.integers(2, 8)),
        frames=draw(st.integers(10, 24)),
        space_mm=draw(st.sampled_from([300.0, 450.0])),
        greatest_mm=0.0,
    )
    rules = ButtRules(
        adjacent_spaces=draw(st.integers(0, 5)),
        adjacent_mm=draw(st.sampled_from([0.0, 1200.0])),
        between_spaces=draw(st.integers(0, 2)),
        passing=draw(st.integers(0, 3)),
        landings=draw(st.sampled_from(["frames", "blocks", "both"])),
        least_plank_mm=draw(st.sampled_from([600.0, 1200.0])),
        least_plank_spaces=draw(st.integers(0, 4)),
        greatest_plank_mm=draw(st.sampled_from([2600.0, 3900.0])),
        hood_mm=draw(st.sampled_from([0.0, 700.0])),
    )
    return made_ways(vessel, rules, stealers=draw(st.integers(0, 1))), rules


@settings(max_examples=15, deadline=None)
@given(problems())
def test_a_layout_keeps_every_rule_or_says_that_none_fits(problem: tuple[Ways, ButtRules]) -> None:
    ways, rules = problem
    layout = lay(ways, rules, seconds=2.0)
    if layout.feasible:
        assert faults(ways, rules, layout) == []
        assert all(goal.bound <= goal.value for goal in layout.goals)
    else:
        assert layout.clashes


@settings(max_examples=8, deadline=None)
@given(problems(), st.sampled_from(["adjacent_spaces", "passing", "least_plank_spaces"]))
def test_tightening_a_rule_never_lowers_the_count(
    problem: tuple[Ways, ButtRules], rule: str
) -> None:
    ways, rules = problem
    tighter = replace(rules, **{rule: getattr(rules, rule) + 1})
    easy, hard = lay(ways, rules, seconds=2.0), lay(ways, tighter, seconds=2.0)
    if hard.feasible and easy.feasible and easy.goals[1].proved:
        assert count(easy) <= count(hard)
    assert easy.feasible or not hard.feasible


def test_the_same_seed_gives_the_same_layout() -> None:
    vessel = VESSELS["12 x 35"]
    ways = made_ways(vessel, rules_for(vessel))
    # time enough that the clock does not stop it
    one, two = (lay(ways, rules_for(vessel), seed=3, seconds=60.0) for _ in range(2))
    assert one.butts == two.butts
    assert one.goals == two.goals


@pytest.mark.parametrize("name", rule_sets())
def test_every_rule_set_can_be_laid(name: str) -> None:
    rules = rule_sets()[name]
    ways = made_ways(Vessel(10, 40, 400.0, 0.0), rules)
    layout = lay(ways, rules)
    assert layout.feasible
    assert faults(ways, rules, layout) == []
    assert layout.goals[1].proved


def test_stealers_touch_only_where_they_are() -> None:
    rules = ButtRules()
    ways = made_ways(Vessel(8, 40, 400.0, 0.0), rules, stealers=1)
    stealer = ways.strakes.index("3s")
    aft, fore = 60, 20
    assert ways.rank[stealer, fore] == -1
    below, above = stealer - 1, stealer + 1

    def codes(*butts: Butt) -> set[str]:
        return {b.code for b in clashes(ways, rules, bare(butts)) if len(b.butts) == 2}

    assert "B001" in codes(Butt(below, fore), Butt(above, fore + 2))
    assert "B001" not in codes(Butt(below, aft), Butt(above, aft + 2))
    assert "B001" in codes(Butt(below, aft), Butt(stealer, aft + 2))


# ---- wishes, stock, sides ---------------------------------------------------------------------


def test_fixed_butts_stand_and_forbidden_stretches_stay_empty() -> None:
    vessel = VESSELS["12 x 35"]
    rules = rules_for(vessel)
    wishes = [
        ButtWish("fix", "6", "15"),
        ButtWish("forbid", "", "20", "22", reason="engine beds"),
    ]
    ways = with_wishes(made_ways(vessel, rules), wishes)
    layout = lay(ways, rules)
    assert layout.feasible
    assert faults(ways, rules, layout) == []
    assert Butt(5, 28, fixed=True) in layout.butts
    assert not [b for b in layout.butts if 38 <= b.landing <= 42]
    moved = tuple(b for b in layout.butts if not b.fixed)
    said = faults(ways, rules, bare((*moved, Butt(0, 40))))
    assert any("B008" in f for f in said)
    assert any("engine beds" in f for f in said)


def test_a_moved_butt_is_laid_round_in_place() -> None:
    vessel = VESSELS["12 x 35"]
    rules = rules_for(vessel)
    ways = made_ways(vessel, rules)
    first = lay(ways, rules)
    moved = next(b for b in first.butts if b.strake == 6)
    pinned = replace(ways, fixed=(Butt(6, moved.landing + 2, fixed=True),))
    again = lay(pinned, rules, start=first)
    assert again.feasible
    assert Butt(6, moved.landing + 2, fixed=True) in again.butts
    same = set(first.butts) & set(again.butts)
    assert len(same) >= len(first.butts) / 2  # most stay where they were


def test_stock_limits_lengths_and_counts() -> None:
    vessel = replace(VESSELS["12 x 35"], strakes=8)
    rules = rules_for(vessel)
    ways = made_ways(vessel, rules)
    few = replace(ways, stock_mm=np.array([5000.0, 7000.0]), stock_count=np.array([-1, 6]))
    layout = lay(few, rules)
    assert layout.feasible
    assert faults(few, rules, layout) == []
    free = lay(replace(few, stock_count=np.array([-1, -1])), rules)
    assert count(layout) > count(free)
    assert any("B009" in f for f in faults(few, rules, free))
    told = [f for f in check(few, rules, free) if f.code == "B009"]
    assert len({f.why for f in told}) == 1
    assert told[0].why.startswith("of the stock all 6 of 7000 mm are handed out; ")
    more = int(re.search(r"(\d+) more board", told[0].why)[1])
    enough = replace(few, stock_count=np.array([-1, 6 + more]))
    assert not any("B009" in f for f in faults(enough, rules, free))
    bare = replace(few, stock_count=np.array([-1, 5 + more]))
    assert any("B009" in f for f in faults(bare, rules, free))


def test_of_stock_too_few_and_too_short_both_are_said() -> None:
    """Both sides are planked: an odd board of seven is half of what one more would be."""
    vessel = replace(VESSELS["12 x 35"], strakes=4)
    rules = replace(rules_for(vessel), sides="mirrored", trim_mm=0.0)
    ways = replace(made_ways(vessel, rules), stock_mm=np.array([4000.0, 5000.0]),
                   stock_count=np.array([-1, 7]))  # fmt: skip
    says = more_stock(ways, rules, [4500.0, 4200.0, 6100.0])
    assert says == (
        "of the stock all 7 of 5000 mm are handed out; 3 more boards of 5000 mm would do; 1 plank "
        "is longer than any board of the stock: 6100 mm would do"
    )


def test_staggered_sides_keep_their_distance() -> None:
    rules = with_values(rule_sets()["lloyds-composite-1891"], {"side_spaces": 2})
    port_ways = made_ways(Vessel(10, 40, 400.0, 0.0), rules)
    port = lay(port_ways, rules)
    ways = other_side(port_ways, rules, port)
    starboard = lay(ways, rules)
    assert starboard.feasible
    assert check_sides(port_ways, rules, port, starboard) == ()
    for a, b in product(port.butts, starboard.butts):
        assert a.strake != b.strake or abs(a.landing - b.landing) >= 4
    assert check_sides(port_ways, rules, port, port)


def test_forms_say_every_wrong_cell() -> None:
    with pytest.raises(InputError) as told:
        read_wishes(
            [
                Row({"wish": "fixx", "strake": "6", "frame": "12"}, "butts.csv", 2),
                Row({"wish": "fix", "strake": None, "frame": None}, "butts.csv", 3),
            ]
        )
    assert [(p.row, p.column) for p in told.value.problems] == [
        (2, "wish"),
        (3, "frame"),
        (3, "strake"),
    ]
    with pytest.raises(InputError):
        read_stock([Row({"length": None, "count": 2}, "stock.csv", 2)])
    rows = ((6000.0, 2), (5000.0, 1), (6000.0, 3))
    lengths, counts = read_stock([Row({"length": a, "count": c}, "stock.csv", 2) for a, c in rows])
    assert lengths.tolist() == [5000.0, 6000.0]
    assert counts.tolist() == [1, 5]


def test_wishes_must_name_what_is_there() -> None:
    ways = made_ways(SMALL, rules_for(SMALL))
    with pytest.raises(InputError) as told:
        with_wishes(ways, [ButtWish("fix", "9", "3"), ButtWish("forbid", "", "77", "3")])
    assert {p.column for p in told.value.problems} == {"strake", "frame"}


def test_rules_changed_for_the_job_say_so() -> None:
    rules = with_values(rule_sets()["lake-1866"], {"passing": 2})
    by_name = {r.name: r for r in shown(rules)}
    assert by_name["passing"].source == ""
    assert "Changed for this job" in by_name["passing"].says
    assert by_name["adjacent_mm"].source == "lake-underwriters-1866"
    with pytest.raises(InputError):
        with_values(rules, {"landings": "everywhere"})
    with pytest.raises(InputError):
        with_values(rules, {"greatest_plank_mm": 400.0})


# ---- when nothing fits ------------------------------------------------------------------------


def told(*wishes: ButtWish, **changes: object) -> Layout:
    vessel = VESSELS["12 x 35"]
    rules = rules_for(vessel, **changes)
    layout = lay(with_wishes(made_ways(vessel, rules), wishes), rules)
    assert not layout.feasible
    assert layout.butts  # the best attempt is shown
    return layout


def test_a_strake_that_cannot_reach_says_so() -> None:
    layout = told(ButtWish("forbid", "6", "5", "25", reason="engine beds"))
    assert layout.clashes[0].startswith("strake 6 has no place to butt from frame 4 to frame 26")
    assert any("engine beds" in line for line in layout.clashes)
    assert {r.rule for r in layout.reliefs} == {"greatest_plank", "stretch"}


def test_two_strakes_that_must_butt_together_are_named() -> None:
    shut = [
        ButtWish("forbid", s, a, b, reason="tank")
        for s in ("6", "7")
        for a, b in (("5", "15"), ("20", "30"))
    ]
    layout = told(*shut)
    assert layout.clashes[0].startswith("strakes 6 and 7 must both butt between frames 16 and 19")
    assert "adjacent_spaces" in {r.rule for r in layout.reliefs}


def test_fixed_butts_that_clash_are_a_least_set() -> None:
    layout = told(
        ButtWish("fix", "6", "15"), ButtWish("fix", "7", "16"), ButtWish("fix", "1", "12")
    )
    assert (
        len(layout.clashes) == 4
    )  # what, the rule, and the two fixed butts; strake 1 is not in it
    assert not any("strake 1 " in line for line in layout.clashes)


def test_giving_up_any_one_of_a_least_set_is_enough() -> None:
    vessel = VESSELS["12 x 35"]
    rules = rules_for(vessel)
    ways = with_wishes(
        made_ways(vessel, rules), [ButtWish("fix", "6", "15"), ButtWish("fix", "7", "16")]
    )
    for fixed in ways.fixed:
        assert lay(replace(ways, fixed=(fixed,)), rules).feasible
    assert lay(ways, replace(rules, adjacent_spaces=1)).feasible
    assert not lay(ways, replace(rules, adjacent_spaces=2)).feasible


# ---- the checker and speed --------------------------------------------------------------------


def naive_pairs(ways: Ways, rules: ButtRules, layout: Layout) -> set[tuple[int, int, int, int]]:
    """Loop over pairs: the house rule in so many words, on a vessel with no stealers."""
    wrong = set()
    for a, b in combinations(sorted(layout.butts), 2):
        apart, gap = b.strake - a.strake, abs(a.landing - b.landing) / 2
        adjacent = apart == 1 and gap < rules.adjacent_spaces
        same = apart and gap == 0 and apart - 1 < rules.passing
        if adjacent or same:
            wrong.add((a.strake, a.landing, b.strake, b.landing))
    return wrong


@settings(max_examples=40, deadline=None)
@given(st.sets(st.tuples(st.integers(0, 11), st.integers(4, 28)), max_size=40))
def test_the_quick_check_agrees_with_loops(at: set[tuple[int, int]]) -> None:
    vessel = VESSELS["12 x 35"]
    rules = rules_for(vessel)
    ways = made_ways(vessel, rules)
    layout = bare(tuple(Butt(s, 2 * i) for s, i in at))
    quick = {
        (b.butts[0].strake, b.butts[0].landing, b.butts[1].strake, b.butts[1].landing)
        for b in clashes(ways, rules, layout)
        if b.code in {"B001", "B003"}
    }
    assert quick == naive_pairs(ways, rules, layout)


def test_check_is_quick() -> None:
    vessel = VESSELS["25 x 60"]
    rules = rules_for(vessel)
    ways = made_ways(vessel, rules)
    layout = lay(ways, rules, seconds=1.0)  # any will do, the quick look takes as long at each

    def once() -> float:
        begun = process_time()
        clashes(ways, rules, layout)
        return process_time() - begun

    assert min(once() for _ in range(30)) < 0.002  # 0.3 ms on an idle machine


def test_butts_with_one_strake_between_do_not_bunch() -> None:
    vessel = VESSELS["12 x 35"]
    rules = rules_for(vessel)
    ways = made_ways(vessel, rules)
    wished, unasked = (
        lay(ways, replace(rules, between_wish_spaces=wish), seconds=10.0) for wish in (2, 0)
    )
    assert not [f for f in check(ways, rules, wished) if f.code == "B013"]
    assert [f for f in check(ways, rules, unasked) if f.code == "B013"]
    near = {goal.name: goal for goal in wished.goals}["near butts with one strake between"]
    assert (near.value, near.proved) == (0.0, True)
    assert count(wished) == count(unasked)


def test_a_vessel_too_short_for_the_shift_is_told_so_once() -> None:
    vessel = Vessel(8, 6, 900.0, 3600.0)
    rules = rules_for(vessel)
    ways = made_ways(vessel, rules)
    layout = lay(ways, rules, seconds=5.0)
    assert not layout.feasible
    found = [f for f in check(ways, rules, layout) if f.severity is Severity.FAULT]
    assert [f.code for f in found] == ["B014"]
    assert "only from frame 2 to frame 5" in found[0].says
    assert "whole lengths" in found[0].why
    assert lay(ways, replace(rules, greatest_plank_mm=6000.0)).feasible


def test_a_vessel_with_no_place_for_a_butt_is_laid_whole() -> None:
    vessel = Vessel(8, 6, 450.0, 7315.2)
    ways = made_ways(vessel, rules_for(vessel))
    assert not ways.open.any()
    layout = lay(ways, rules_for(vessel))
    assert layout.feasible
    assert layout.butts == ()
    short = rules_for(replace(vessel, greatest_mm=2000.0))
    assert lay(ways, short, seconds=5.0).clashes


# ---- from a lining ----------------------------------------------------------------------------


def lining_of(along: np.ndarray, names: tuple[str, ...]) -> Lining:
    """A lining with only what butts need: names and lengths along, (S, frames + 2)."""
    frames = tuple(str(i + 1) for i in range(along.shape[1] - 2))
    none = np.zeros_like(along)
    strakes = tuple(Strake(n, "", "stem", "stern", n.endswith("s")) for n in names)
    columns = ("stem", *frames, "stern")
    seams, here = np.zeros((len(names) + 1, 2)), np.ones((len(names), 2))
    return Lining(
        columns,
        strakes,
        none,
        none,
        none,
        None,
        None,
        along,
        np.zeros(2),
        seams,
        here,
        True,
        0.0,
        0.0,
    )


def test_ways_take_lengths_and_ranks_from_the_lining() -> None:
    hull = tape(frames=12, spacing=500.0)
    at = np.concatenate([[0.0], 200.0 + 500.0 * np.arange(12), [5900.0]])
    stealer = np.where(np.arange(14) >= 7, at - at[7], np.nan)  # nib on frame 7
    lining = lining_of(np.array([at, stealer, 1.02 * at]), ("1", "1s", "2"))
    rules = ButtRules(landings="both", hood_mm=1000.0, greatest_plank_mm=4000.0)
    found = ways(hull, lining, rules, [ButtWish("forbid", "2", "5", "6", reason="tank")])
    assert found.along_mm[0, :4].tolist() == [200.0, 450.0, 700.0, 950.0]
    assert found.length_mm.tolist() == [5900.0, 5900.0 - at[7], 1.02 * 5900.0]
    assert found.rank[:, 0].tolist() == [0, -1, 1]  # frame 1: the stealer is not there
    assert found.rank[:, 13].tolist() == [0, 1, 2]  # the bay aft of frame 7
    assert found.rank[1, 11] == -1  # the bay forward of the nib
    assert np.flatnonzero(found.open[0]).tolist() == list(range(4, 19))
    assert not found.open[2, 8:11].any()
    assert found.open[2, 7]
    assert found.unit == "mm"
    layout = lay(found, rules)
    assert layout.feasible
    assert faults(found, rules, layout) == []


def test_butts_close_with_one_strake_between_are_cautioned_where_no_rule_asks() -> None:
    rules = ButtRules(greatest_plank_mm=20_000.0)
    ways = made_ways(VESSELS["12 x 35"], rules)
    close = Layout((Butt(3, 30), Butt(5, 32)), True, (), 0.0, 0)
    (found,) = [f for f in check(ways, rules, close) if f.code == "B013"]
    assert found.severity is Severity.CAUTION
    assert "strakes 4 and 6 at frame 16 and frame 17" in found.says
    assert found.source == "common-practice"
    unasked = replace(rules, between_wish_spaces=0)
    assert not [f for f in check(ways, unasked, close) if f.code == "B013"]
    apart = Layout((Butt(3, 30), Butt(5, 34)), True, (), 0.0, 0)
    assert not [f for f in check(ways, rules, apart) if f.code == "B013"]
    asked = ButtRules(greatest_plank_mm=20_000.0, between_spaces=2)
    codes = {f.code for f in check(ways, asked, close)}
    assert "B002" in codes
    assert "B013" not in codes


def test_ends_are_cut_off_the_boards_in_stock() -> None:
    rules = ButtRules(greatest_plank_mm=20_000.0)
    ways = replace(
        made_ways(VESSELS["12 x 35"], rules),
        stock_mm=np.array([6000.0]), stock_count=np.array([-1]),
    )  # fmt: skip
    layout = lay(ways, rules, seconds=5)
    along = [0.0, *(ways.along_mm[4, b.landing] for b in layout.butts if b.strake == 4)]
    longest = np.diff([*along, ways.length_mm[4]]).max()
    assert longest <= 6000.0 - rules.trim_mm + 1e-6


def test_hood_planks_on_few_frames_are_told_of_and_the_ticket_knows_their_names() -> None:
    rules = ButtRules()
    ways = made_ways(VESSELS["12 x 35"], rules)
    count = len(ways.frames)
    crossed = [np.flatnonzero(np.isfinite(ways.along_mm[row, ::2])) for row in (3, 4, 6)]
    last = 2 * (count - 1)
    butts = (
        Butt(3, 2 * crossed[0][3]),  # on four frames forward
        Butt(4, 2 * crossed[1][4] + 1),  # on five, its butt in the bay after them
        Butt(4, 2 * crossed[1][-3]),  # on three aft
        Butt(6, 2 * crossed[2][2]), Butt(6, last - 2 * 9),
    )  # fmt: skip
    (found,) = short_hoods(ways, rules, Layout(butts, True, (), 0.0, 0))
    assert found.code == "B017"
    assert found.severity is Severity.CAUTION
    assert found.where == "planks 4-1 (on 4), 5-3 (on 3), 7-1 (on 3)"
    along = ways.along_mm.copy()
    along[3, 2 * crossed[0][0]] = 0.0  # it begins on a frame: a nib, no hood end
    nibbed = replace(ways, along_mm=along)
    assert "4-1" not in short_hoods(nibbed, rules, Layout(butts, True, (), 0.0, 0))[0].where
    unasked = replace(rules, hood_wish_frames=0)
    assert not short_hoods(ways, unasked, Layout(butts, True, (), 0.0, 0))
