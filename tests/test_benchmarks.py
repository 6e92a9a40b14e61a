"""The table of benchmarks: a way set beside ours, and a page kept section by section."""

from __future__ import annotations

import sys
from importlib import import_module
from math import inf
from pathlib import Path

import pytest

HOME = Path(__file__).parents[1]
if str(HOME) not in sys.path:
    sys.path.append(str(HOME))
table = import_module("benchmarks.table")
runner = import_module("benchmarks.__main__")


def test_another_way_is_set_beside_ours_with_its_spread() -> None:
    row = table.compared("butts", [70.0, 72.0, 74.0], [77.0, 72.0, inf], "butts")
    assert row.value == pytest.approx(1.1)
    assert "from 1 to nothing found, over 3" in row.note
    assert "ours 70 to 74 butts, theirs 72 to 77 butts (1 of 3 found nothing)" in row.note


@pytest.mark.parametrize(
    ("ours", "theirs", "ratio"),
    [(inf, inf, 1.0), (inf, 5.0, 0.0), (5.0, inf, inf), (4.0, 5.0, 1.25)],
)
def test_a_way_that_found_nothing_is_no_better_than_one_that_did(
    ours: float, theirs: float, ratio: float
) -> None:
    assert table.compared("x", [ours], [theirs], "").value == ratio


def test_a_target_not_held_is_said() -> None:
    assert "**no**" in table.line(table.Row("fit", 0.9, "s", 0.7))
    assert "| yes |" in table.line(table.Row("found", 0.9, "", 0.7, at_least=True))


def test_a_section_takes_the_place_of_its_last_and_the_others_stay(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    page = tmp_path / "benchmarks.md"
    monkeypatch.setattr(runner, "PAGE", page)
    runner.kept("lining", ["lining then"])
    runner.kept("butts", ["butts then", "", "| a | b |"])
    runner.kept("lining", ["lining now"])
    text = page.read_text("utf-8")
    assert list(runner.sections(text)) == ["butts", "lining"]
    assert "lining then" not in text
    assert "butts then\n\n| a | b |" in text
    assert text.count("# Benchmarks") == 1


def test_a_subject_runs_in_a_process_of_its_own_and_tells_its_peak() -> None:
    lines = runner.measured("drawing")
    assert "peak memory" in lines[0]
    assert "broke off" not in lines[0]
    assert sum(line.startswith("| drawing") for line in lines) >= 5


def test_a_subject_that_breaks_off_is_said_to() -> None:
    assert "it broke off" in runner.measured("no_such_subject")[0]
