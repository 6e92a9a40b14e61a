"""The old planking beside the lining: another number of strakes is told."""

from __future__ import annotations

from dataclasses import replace

import pytest

from made_hung import planned
from ribband.findings import Severity
from ribband.lining.model import Lining, Wish
from ribband.lining.old_strakes import beside_old
from ribband.survey.model import Cell, OldWidth


@pytest.fixture(scope="module")
def lining() -> Lining:
    return planned().lining


@pytest.fixture(scope="module")
def now(lining: Lining) -> int:
    return sum(not strake.stealer for strake in lining.strakes)


def recorded(*strakes: int) -> list[OldWidth]:
    return [OldWidth("both", str(n), "4", 150.0, None, Cell("old", n, "width")) for n in strakes]


def test_as_many_strakes_as_she_had_say_nothing(lining: Lining, now: int) -> None:
    assert beside_old(lining, (), recorded(*range(1, now + 1))) == ()


@pytest.mark.parametrize("some", [(), (9,), (1, 2), (1, 2, 4, 5)])
def test_a_part_of_the_old_planking_tells_no_number(some: tuple[int, ...], lining: Lining) -> None:
    assert beside_old(lining, (), recorded(*some)) == ()


def test_another_number_is_told_and_is_a_caution_where_their_widths_are_followed(
    lining: Lining, now: int
) -> None:
    old = recorded(*range(1, now))
    (note,) = beside_old(lining, (), old)
    assert note.severity is Severity.NOTE
    assert f"{now - 1} old strakes" in note.says
    assert f"wish strakes {now - 1}" in note.why
    (caution,) = beside_old(lining, (Wish("recorded", 1.0),), old)
    assert caution.severity is Severity.CAUTION
    assert beside_old(replace(lining, strakes=lining.strakes[:-1]), (), old) == ()


def test_a_hull_recorded_part_of_the_way_up_is_not_said_to_have_had_so_few(
    lining: Lining, now: int
) -> None:
    (note,) = beside_old(lining, (), recorded(1, 2, 3))
    assert "as far as strake 3" in note.says
    assert "wish strakes" not in note.why
    (caution,) = beside_old(lining, (Wish("recorded", 1.0),), recorded(1, 2, 3))
    assert caution.severity is Severity.CAUTION
