"""The house rules that a program can check."""

from __future__ import annotations

import ast
import importlib
import re
import statistics
import subprocess
from pathlib import Path

import pytest

HOME = Path(__file__).parents[1]
SOURCE = HOME / "src" / "ribband"
MODULES = sorted(SOURCE.rglob("*.py"))
WITH_DOORS = sorted(p for p in MODULES if "__all__" in p.read_text("utf-8"))


def functions(path: Path) -> list[ast.FunctionDef]:
    tree = ast.parse(path.read_text("utf-8"))
    return [node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef)]


def length(function: ast.FunctionDef) -> int:
    doc = ast.get_docstring(function, clean=False)
    assert function.end_lineno is not None
    return function.end_lineno - function.lineno + 1 - (doc.count("\n") + 1 if doc else 0)


def dotted(path: Path) -> str:
    parts = path.relative_to(SOURCE.parent).with_suffix("").parts
    return ".".join(parts).removesuffix(".__init__")


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(SOURCE)))
def test_no_file_is_over_600_lines(path: Path) -> None:
    assert len(path.read_text("utf-8").splitlines()) <= 600


def test_functions_are_short() -> None:
    lengths = sorted(length(f) for path in MODULES for f in functions(path))
    assert statistics.median(lengths) <= 8
    assert lengths[int(0.9 * len(lengths))] <= 30


@pytest.mark.parametrize("path", WITH_DOORS, ids=lambda p: str(p.relative_to(SOURCE)))
def test_every_name_at_the_door_is_there(path: Path) -> None:
    module = importlib.import_module(dotted(path))
    assert len(set(module.__all__)) == len(module.__all__)
    for name in module.__all__:
        assert hasattr(module, name)


def test_every_module_says_what_it_is_for() -> None:
    for path in MODULES:
        assert ast.get_docstring(ast.parse(path.read_text("utf-8"))), path


def test_the_library_of_statistics_is_not_read() -> None:
    """It loads for longer than all else that a plan is made with, in every process that plans."""
    assert [path for path in MODULES if "scipy.stats" in path.read_text("utf-8")] == []


def test_nothing_committed_names_a_registry_or_a_machine() -> None:
    hosts = re.compile(r"py[p]i\.org|python[h]osted|npm[j]s\.org|/wor[k]/", re.IGNORECASE)
    listed = subprocess.run(
        ["git", "ls-files", "-z"], cwd=HOME, check=False, capture_output=True, text=True
    )
    for name in filter(None, listed.stdout.split("\0")):
        path = HOME / name
        if path.suffix in {".py", ".md", ".csv", ".toml", ".txt", ".yml"} or path.name == "run":
            assert not hosts.search(path.read_text("utf-8")), name
