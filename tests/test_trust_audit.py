"""The code looked over for common weaknesses, and the pinned packages for known ones."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

HOME = Path(__file__).parents[1]
SOURCE = HOME / "src" / "ribband"

# What bandit names and we keep, and why. B101 may stand anywhere: ruff has each named.
KEPT = {
    ("B101", ""): "narrows a type for the checker; never stands for a mistake of the user's",
    ("B104", "web/serving.py"): "every address is listened on only with --share, by codes",
    ("B104", "web/yard_server.py"): "every address is listened on only with --share, by codes",
    ("B311", "store/jobfile.py"): "how long to wait for one's turn to write is no secret",
    ("B403", "app/plan/everything.py"): "a plan sent to our own process; none from a file",
    ("B301", "app/plan/everything.py"): "a plan sent to our own process; none from a file",
    ("B406", "drawing/book/flow.py"): "escapes text for XML; reads none",
    ("B406", "drawing/svg.py"): "escapes text for XML; reads none",
}


@pytest.mark.slow
def test_nothing_weak_that_is_not_named_with_its_reason(tmp_path: Path) -> None:
    out = tmp_path / "found.json"
    words = [sys.executable, "-m", "bandit", "-q", "-r", str(SOURCE), "-f", "json", "-o", str(out)]
    subprocess.run(words, check=False, capture_output=True)
    found = json.loads(out.read_text("utf-8"))
    assert not found["errors"]
    new = [
        f"{one['test_id']} {one['filename']}:{one['line_number']} {one['issue_text']}"
        for one in found["results"]
        if not _kept(one)
    ]
    assert new == []


def _kept(one: dict[str, Any]) -> bool:
    file = Path(one["filename"]).resolve().relative_to(SOURCE).as_posix()
    return bool({(one["test_id"], file), (one["test_id"], "")} & KEPT.keys())


def _audited(lock: Path) -> list[dict[str, Any]]:
    words = [sys.executable, "-m", "pip_audit", "-r", str(lock), "--disable-pip", "--no-deps",
             "--progress-spinner", "off", "--timeout", "5", "-f", "json"]  # fmt: skip
    done = subprocess.run(words, check=False, capture_output=True, text=True, timeout=240)
    if not done.stdout.strip():
        return []
    return list(json.loads(done.stdout)["dependencies"])


@pytest.mark.slow
def test_no_pinned_package_has_a_known_weakness(tmp_path: Path) -> None:
    lock = HOME / "lock" / "run.txt"
    one = tmp_path / "one.txt"
    lines = lock.read_text("utf-8").splitlines()
    first = next(n for n, line in enumerate(lines) if line.startswith("jinja2=="))
    one.write_text(lines[first].split()[0].rstrip("\\") + "\n")
    if not any("vulns" in asked for asked in _audited(one)):
        pytest.skip("NOT AUDITED: the register of known weaknesses is not reached from here")
    found = _audited(lock)
    unknown = [asked["name"] for asked in found if "vulns" not in asked]
    weak = [f"{asked['name']} {asked.get('version')}: {asked['vulns']}" for asked in found
            if asked.get("vulns")]  # fmt: skip
    assert weak == []
    assert len(unknown) < len(found) / 10, unknown
