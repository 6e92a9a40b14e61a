"""Planks logged as hung with nothing to hang from."""

from __future__ import annotations

from made_hung import planned
from ribband.findings import Finding
from ribband.record import hung_in_the_air


def told(*strakes: int, step: str = "hung") -> tuple[Finding, ...]:
    plan = planned()
    states = {p.name: step for p in plan.planks if p.side == "port" and int(p.strake) in strakes}
    return hung_in_the_air(plan.planks, plan.lining, states)


def test_planks_from_the_rabbet_up_and_the_sheer_down_hang_from_something() -> None:
    strakes = len(planned().lining.strakes)
    assert told() == ()
    assert told(1, 2, 3, strakes - 1, strakes) == ()
    assert told(*range(1, strakes + 1)) == ()


def test_a_plank_between_open_strakes_is_told_with_what_is_missing() -> None:
    found = told(1, 2, 4)
    planks = {p.name for p in planned().planks if p.side == "port" and p.strake == "4"}
    assert {f.where.removeprefix("plank ") for f in found} == planks
    assert all("P3-" in f.says and "P5-" in f.says for f in found)


def test_one_only_cut_is_not_told() -> None:
    assert told(7, step="got out") == ()
