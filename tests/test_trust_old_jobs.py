"""Job files of every release open, say what they said, and are not touched by being read."""

from __future__ import annotations

import json
import shutil
from pathlib import Path
from typing import Any

import pytest

from ribband.app.entering.changes import Change, Edit, Patch, apply
from ribband.app.papers.plain_text import write_text
from ribband.store import JobFile, copies_of, inputs_hash, verify
from ribband.store.migrations import MIGRATIONS
from ribband.survey import read_forms

KEPT = sorted((Path(__file__).parent / "data" / "jobs").glob("*.ribband"))


def test_there_are_some_and_one_of_every_shape() -> None:
    shapes = {int.from_bytes(path.read_bytes()[60:64], "big") for path in KEPT}
    assert shapes == set(range(1, len(MIGRATIONS) + 1)), "keep one of the new shape too"


@pytest.fixture(params=KEPT, ids=lambda path: path.stem)
def kept(request: pytest.FixtureRequest) -> Path:
    return request.param


def facts(path: Path) -> dict[str, Any]:
    return json.loads(path.with_name(path.stem + ".json").read_text("utf-8"))


def says_what_it_said(path: Path, wanted: dict[str, Any]) -> None:
    with JobFile.open(path) as job:
        past = [[r.number, r.parent, r.kind, r.at, r.who, r.why] for r in job.history()]
        assert past == wanted["revisions"]
        assert [inputs_hash(job.forms(row[0])) for row in past] == wanted["inputs"]
        assert sorted(job.forms()) == wanted["forms"]
        assert list(job.forms()["girths"].rows[0]) == wanted["first_row"]
        assert [r.key for r in job.results()] == wanted["results"]
        for key in wanted["results"]:
            assert job.kept(key) == ("kept for a test", 1.5, None)
    assert verify(path) == ()


def test_it_is_read_and_stays_as_it_is(kept: Path, tmp_path: Path) -> None:
    path = tmp_path / "old.ribband"
    shutil.copyfile(kept, path)
    before = path.read_bytes()
    says_what_it_said(path, facts(kept))
    write_text(path, tmp_path / "text")
    assert sorted(read_forms(tmp_path / "text" / "forms")) == sorted(facts(kept)["forms"])
    assert path.read_bytes() == before
    assert sorted(p.name for p in tmp_path.iterdir()) == ["old.ribband", "text"]


def test_it_is_written_after_a_copy_of_its_old_shape(kept: Path, tmp_path: Path) -> None:
    path = tmp_path / "old.ribband"
    shutil.copyfile(kept, path)
    shape = int.from_bytes(path.read_bytes()[60:64], "big")
    with JobFile.open(path) as job:
        width = len(job.forms()["frames"].header)
    edit = Edit("frames", None, ("99", *[""] * (width - 1)), 0)
    assert isinstance(apply(path, Change("now", "Ada", "added", (edit,), 99)), Patch)
    with JobFile.open(path) as job:
        *earlier, last = job.history()
        assert [r.at for r in earlier] == [row[3] for row in facts(kept)["revisions"]]
        assert last.why == "added"
    assert verify(path) == ()
    before = [copy for copy in copies_of(path) if copy.form is not None]
    assert [copy.form for copy in before] == ([shape] if shape < len(MIGRATIONS) else [])
    for copy in before:
        assert int.from_bytes(copy.path.read_bytes()[60:64], "big") == shape
        says_what_it_said(copy.path, facts(kept))
