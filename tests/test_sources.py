"""The bibliography, and that every source named anywhere is in it."""

from __future__ import annotations

import csv
import importlib
import re
from pathlib import Path

import pytest

from ribband.errors import InputError
from ribband.rulebook import describe
from ribband.sources import MARKS, Source, _read, cite, source, sources

PACKAGE = Path(__file__).parents[1] / "src" / "ribband"
HEAD = "key,author,title,year,place,mark\n"
CITED = re.compile(r"""source\s*=\s*["']([a-z0-9-]+)["']""")


def rule_classes() -> list[type]:
    found = []
    for path in PACKAGE.glob("*/rules.py"):
        module = importlib.import_module(f"ribband.{path.parent.name}.rules")
        found += [c for n, c in vars(module).items() if n.endswith("Rules") and isinstance(c, type)]
    return found


def keys_in_rules() -> set[str]:
    return {rule.source for rules in rule_classes() for rule in describe(rules())}


def keys_in_code() -> set[str]:
    """Keys given to findings by name, as source="key"."""
    texts = (
        path.read_text("utf-8") for path in PACKAGE.rglob("*.py") if path.name != "rulebook.py"
    )
    return {key for text in texts for key in CITED.findall(text)}


def keys_in_data() -> set[str]:
    keys = set()
    for path in PACKAGE.joinpath("data").glob("*.csv"):
        with path.open(encoding="utf-8", newline="") as lines:
            for row in csv.DictReader(lines):
                keys |= {v for k, v in row.items() if k and k.endswith("source") and v}
    return keys


@pytest.mark.parametrize("where", [keys_in_rules, keys_in_code, keys_in_data])
def test_every_key_used_is_in_the_bibliography(where) -> None:
    known = {s.key for s in sources()}
    assert where() <= known


def test_the_search_finds_keys() -> None:
    assert {"common-practice", "house"} <= keys_in_rules()
    assert "wood-handbook-2010" in keys_in_data()
    assert CITED.findall('Finding("X", source="no-such")') == ["no-such"]


def test_every_mark_is_known_and_every_read_work_has_a_title() -> None:
    assert all(s.mark in MARKS for s in sources())
    assert all(s.title for s in sources())


def test_unknown_key_is_an_error_naming_it() -> None:
    with pytest.raises(InputError, match="no-such-book"):
        source("no-such-book")


def test_a_citation_says_when_the_work_was_not_read() -> None:
    assert cite("tm-5-852-4").endswith("(read second-hand)")
    assert cite("chapelle-1961").endswith("1961, fig. 5")


@pytest.mark.parametrize(
    ("rows", "column"),
    [("a,,T,,,read\na,,T,,,read\n", "key"), (",,T,,,read\n", "key"), ("a,,T,,,heard\n", "mark")],
)
def test_a_bad_table_is_refused(rows: str, column: str) -> None:
    with pytest.raises(InputError) as caught:
        _read(HEAD + rows)
    assert {p.column for p in caught.value.problems} == {column}


def test_a_good_table_is_read() -> None:
    assert _read(HEAD + 'a,B,"C, D",1900,p. 1,read\n') == {
        "a": Source("a", "B", "C, D", "1900", "p. 1", "read")
    }
