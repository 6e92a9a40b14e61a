"""A program killed while it writes: what it acknowledged is there, and nothing needs repair.

Five hundred kills take some minutes: ``python tests/made_kills.py FOLDER --kills 500``.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import made_kills

PROGRAM = Path(__file__).with_name("made_kills.py")


@pytest.mark.skipif(not hasattr(os, "fork"), reason="hands are forked")
def test_a_killed_hand_loses_nothing_it_was_told_is_kept(tmp_path: Path) -> None:
    words = [sys.executable, str(PROGRAM), str(tmp_path), "--kills", "15", "--seed", "7"]
    done = subprocess.run(words, capture_output=True, text=True, timeout=300, check=False)
    assert done.stdout, done.stderr
    found = json.loads(done.stdout)
    assert found["wrong"] == []
    assert found["kills"] == 15
    assert found["acknowledged"] >= 15
    assert len(found["of"]) >= 4, "changes of many kinds"


def test_the_judge_sees_what_is_missing(tmp_path: Path) -> None:
    yard = made_kills.Yard(tmp_path)
    told: list[made_kills.Told] = []

    def tell(kind: str, **facts: object) -> None:
        told.append({"told": kind, **facts})

    for n, does in enumerate(made_kills.DOES, 1):
        does(yard, f"w1-{n}", tell)
    assert {one["told"] for one in told} >= {"change", "undo", "result", "take", "photo", "paper"}
    assert made_kills.wrong_with(yard, told) == []
    lies = [dict(one) for one in told]
    for lie in lies:
        lie.update({name: 999 for name in ("revision",) if name in lie})
        lie.update({name: "f" * 64 for name in ("key",) if name in lie})
        lie.update({name: f"{lie[name]}-gone" for name in ("path", "folder") if name in lie})
    assert len(made_kills.wrong_with(yard, lies)) == len(lies)
    next(yard.away.glob("*.txt")).write_text("half")
    assert any("half" in text for text in made_kills.wrong_with(yard, told))
