"""The glossary tells every trade word that labels something; the page of limits has the figures."""

from __future__ import annotations

import re
from importlib import import_module
from pathlib import Path

import pytest

from ribband.app.plan.steps import STEPS
from ribband.findings import Severity
from ribband.store.table_shapes import SHAPES
from ribband.survey.columns import LAYOUTS, OFFSET_LINES
from ribband.survey.columns_work import GEAR, STATES
from ribband.timber.tally.flaws import KINDS

HOME = Path(__file__).parents[1]
PAGE = HOME / "docs" / "glossary.md"
WORDS = re.findall(r"[a-z]+", PAGE.read_text("utf-8").lower().replace("off-cut", "offcut"))
# words that any dictionary has in the sense they have here
PLAIN = frozenset({
    "across", "amount", "calendar", "condition", "count", "date", "decision", "item", "kind",
    "label", "many", "metal", "middle", "per", "photo", "reason", "scatter", "second", "sequence",
    "skills", "species", "top", "unit", "wage", "x", "y", "years", "z",
})  # fmt: skip


def told(word: str) -> bool:
    """Tell whether a word stands in the glossary or is a plain one; as one or as many."""
    forms = {word, word.removesuffix("s"), f"{word}s", word.removesuffix("es")}
    return bool(forms & set(WORDS)) or bool(forms & PLAIN)


def test_a_word_that_is_nowhere_is_seen() -> None:
    assert not told("futtock")
    assert told("girths")


@pytest.mark.parametrize("name", LAYOUTS)
def test_the_words_of_a_form_are_told(name: str) -> None:
    labels = [name, *(column.name for column in LAYOUTS[name].columns)]
    assert [w for label in labels for w in label.split("_") if not told(w)] == []


def test_the_words_of_the_open_tables_are_told() -> None:
    assert [w for name in SHAPES for w in name.split("_") if not told(w)] == []


@pytest.mark.parametrize(
    "labels",
    [
        [step.name for step in STEPS], [own.value for own in Severity], STATES, GEAR, KINDS,
        OFFSET_LINES,
    ],
    ids=["steps", "severities", "states", "gear", "flaws", "offsets"],
)  # fmt: skip
def test_steps_states_gear_flaws_and_lines_are_told(labels: list[str]) -> None:
    text = " ".join(WORDS)
    for label in labels:
        assert all(re.search(rf"\b{word}", text) for word in re.findall(r"[a-z]+", label)), label


def test_every_step_stands_in_the_table_of_steps_as_the_overview_calls_it() -> None:
    table = PAGE.read_text("utf-8").partition("| step | on the overview | makes |")[2]
    rows = re.findall(r"^\| (\w+) \| ([^|]+) \|", table, re.M)
    assert [name for name, _ in rows] == [step.name for step in STEPS]
    script = (HOME / "src/ribband/web/static/js/overview.js").read_text("utf-8")
    assert dict(rows) == dict(
        re.findall(r'(\w+): "([^"]+)"', script.partition("const NAMES = {")[2].partition("}")[0])
    )


@pytest.mark.parametrize(
    ("module", "name", "said"),
    [
        ("survey.csv_forms", "MOST_BYTES", "{mb} MB"),
        ("survey.csv_forms", "MOST_ROWS", "{n} rows"),
        ("survey.csv_forms", "MOST_LINES", "{n} lines with notes"),
        ("survey.workbook", "MOST_BYTES", "{mb} MB"),
        ("survey.workbook", "MOST_UNPACKED", "{mb} MB unpacked"),
        ("survey.workbook", "MOST_PARTS", "{n} parts"),
        ("survey.workbook", "MOST_LINES", "{n} lines"),
        ("survey.reading", "MOST_FILES", "{n} files"),
        ("app.entering.dropped", "MOST_FILES", "{n} files dropped"),
        ("survey.scan_file", "MOST_POINTS", "{m} million points"),
        ("survey.scan_file", "MOST_STREWN", "{m} million points"),
        ("app.entering.scanning", "MOST_PICKS", "{n} rows"),
        ("record.picture", "MOST_BYTES", "{mb} MB"),
        ("record.picture", "MOST_SIDE", "{n} pixels a side"),
        ("record.picture", "MOST_PIXELS", "{m} million in all"),
        ("store.jobfile", "LONGEST_ENTRY", "{mb} MB"),
        ("store.record_format", "MOST_BYTES", "{mb} MB"),
        ("app.study.cases", "MOST", "{n} alternatives"),
        ("app.study.kept", "MOST_BYTES", "{mb} MB"),
        ("app.screens.yard", "MOST", "{n} job files"),
        ("web.berths", "MOST_OPEN", "{n} served"),
        ("app.why.asked", "MOST_LETTERS", "{n} characters are read"),
        ("web.lines", "MOST_LINES", "{n}, of them"),
        ("web.lines", "MOST_OF_ADDRESS", "{n} from one"),
        ("web.live", "MOST_HANDS", "{n} live sockets"),
        ("web.live", "MOST_OF_ONE", "{n} of one caller"),
        ("web.access", "MOST_BODY", "{mb} MB"),
        ("web.access", "MOST_UPLOAD", "{mb} MB"),
        ("app.plan.limits", "MOST_STEP_MINUTES", "1 to {n}"),
    ],
)
def test_a_limit_is_as_the_page_says(module: str, name: str, said: str) -> None:
    own = getattr(import_module(f"ribband.{module}"), name)
    said = said.format(n=own, mb=own // 1_000_000, m=own // 1_000_000)
    page = (HOME / "docs" / "limits.md").read_text("utf-8")
    assert re.search(rf"(?<!\d){said}", re.sub(r"(?<=\d) (?=\d{3})", "", page)), said
