"""The pages say what the program does: every form, column, unit and finding is on them."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from ribband.survey.columns import ITEMS, LAYOUTS, OFFSET_LINES
from ribband.units import UNITS, parse_length

ROOT = Path(__file__).parents[1]
FORMS = (ROOT / "docs" / "forms.md").read_text("utf-8")
LINES = {
    line.split("|")[1].strip(" `"): line.split("|")[2]
    for line in FORMS.splitlines()
    if line.startswith("| `")
}


@pytest.mark.parametrize("name", LAYOUTS)
def test_every_column_is_on_the_page_in_its_order(name: str) -> None:
    line = re.sub(r"\([^)]*\)", "", LINES[name].split(". ")[0])
    shown = [word.strip(" *") for word in line.split(",")]
    own = [column.name for column in LAYOUTS[name].columns]
    assert [word for word in shown if word in own] == own
    needed = [word for word in own if f"**{word}**" in LINES[name]]
    assert needed == [column.name for column in LAYOUTS[name].columns if column.needed]


def test_every_item_and_line_is_on_the_page() -> None:
    assert not [item for item in ITEMS if item not in LINES["vessel"]]
    assert not [line for line in OFFSET_LINES if line not in LINES["offsets"]]


def test_every_finding_is_on_the_page() -> None:
    used = set()
    for path in (ROOT / "src" / "ribband" / "survey").glob("*.py"):
        used |= set(re.findall(r'"(S\d{3})"', path.read_text("utf-8")))
    pages = FORMS + (ROOT / "docs" / "scan.md").read_text("utf-8")
    assert used == set(re.findall(r"^\| (S\d{3}) ", pages, re.MULTILINE))


def test_every_unit_and_its_example_is_on_the_page() -> None:
    page = (ROOT / "docs" / "units.md").read_text("utf-8")
    shown = dict(re.findall(r"^\| `([^`]+)` .* `([^`]+)` \|$", page, re.MULTILINE))
    assert shown == {key: unit.example for key, unit in UNITS.items()}
    assert [round(parse_length(text, key)) for key, text in shown.items()] == [
        1108, 1108, 1108, 1108, 1109, 1108,
    ]  # fmt: skip
