"""Imports run one way, in the order of a yard's work."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1] / "src" / "ribband"
ORDER = [
    "errors", "findings", "units", "sources", "rulebook", "numerics", "survey", "hull", "lining",
    "butts", "planks", "timber", "shop", "record", "drawing", "store", "app", "web", "cli",
]  # fmt: skip
STAGES = {"survey", "hull", "lining", "butts", "planks", "timber", "shop", "record"}
BASE = {"errors", "findings", "units", "sources", "rulebook"}
MAY = {
    "drawing": BASE | {"numerics"} | STAGES,
    "store": BASE | STAGES,
    "app": set(ORDER) - {"web", "cli"},
    "web": BASE | {"app"},
    "cli": BASE | {"app", "web"},  # `ribband open` starts the other face
}


def room_of(path: Path) -> str:
    return path.relative_to(ROOT).parts[0].removesuffix(".py")


def imported_rooms(path: Path) -> set[str]:
    rooms = set()
    for node in ast.walk(ast.parse(path.read_text("utf-8"))):
        names = []
        if isinstance(node, ast.ImportFrom) and node.module:
            names = [node.module, *(f"{node.module}.{alias.name}" for alias in node.names)]
            assert node.level == 0, f"{path}: write imports from the root"
        elif isinstance(node, ast.Import):
            names = [alias.name for alias in node.names]
        for name in names:
            parts = name.split(".")
            if parts[0] == "ribband" and len(parts) > 1:
                rooms.add(parts[1])
    return rooms & set(ORDER)


def allowed(room: str) -> set[str]:
    return MAY.get(room, set(ORDER[: ORDER.index(room)])) if room in ORDER else set()


MODULES = sorted(p for p in ROOT.rglob("*.py") if p.parent != ROOT or p.stem in ORDER)


@pytest.mark.parametrize("path", MODULES, ids=lambda p: str(p.relative_to(ROOT)))
def test_imports_run_one_way(path: Path) -> None:
    room = room_of(path)
    assert imported_rooms(path) <= allowed(room) | {room}


def test_every_module_is_in_a_room() -> None:
    rooms = {room_of(p) for p in ROOT.rglob("*.py")} - {"__init__", "__main__"}
    assert rooms <= set(ORDER)


def test_the_order_catches_a_wrong_import(tmp_path: Path) -> None:
    bad = tmp_path / "bad.py"
    bad.write_text("from ribband import store\nimport ribband.cli\n")
    assert not imported_rooms(bad) <= allowed("lining")
