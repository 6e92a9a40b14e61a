"""What findings' codes mean: every code in the tree is told, and none that is nowhere said."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from ribband.app.entering.rules import list_rules
from ribband.app.plan.steps import STEPS
from ribband.findings import meanings

HOME = Path(__file__).parents[1]
SOURCE = HOME / "src" / "ribband"
CODE = re.compile(r"[\"']([SHLBPTWR]\d{3})[\"']")


@pytest.fixture(scope="module")
def said() -> set[str]:
    """Every code that stands in the program as a text of its own."""
    return {code for file in SOURCE.rglob("*.py") for code in CODE.findall(file.read_text("utf-8"))}


def test_every_code_that_is_said_is_told_and_no_other(said: set[str]) -> None:
    assert sorted(said ^ set(meanings())) == [], "see data/findings.csv"


def test_rules_steps_and_pages_are_there() -> None:
    rules, steps = {rule.name for rule in list_rules(None, "mm")}, {step.name for step in STEPS}
    for code, meaning in meanings().items():
        assert set(meaning.rules) <= rules, code
        assert meaning.step in steps | {""}, code
        assert (HOME / "docs" / f"{meaning.page}.md").exists(), code
        assert meaning.means, code


def test_a_code_means_one_thing() -> None:
    told = [meaning.means for meaning in meanings().values()]
    assert [means for means in told if told.count(means) > 1] == []
