"""The record in a job: the log and measured seams by verbs, what is left, papers, tables."""

from __future__ import annotations

import csv
import json
import re
import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner

from made_kept import planned_copy
from ribband.app.entering.record_use import to_get_out
from ribband.app.papers.bench import pairs_of
from ribband.app.plan.planning import plan
from ribband.cli import cli


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return planned_copy(tmp_path_factory.mktemp("yard") / "heron.ribband", "shapes")


def said(*words: str, code: int = 0) -> str:
    result = CliRunner().invoke(cli, list(words))
    assert result.exit_code == code, result.output
    return result.stdout if code == 0 else result.output


@pytest.fixture(scope="module")
def drifted(job: Path) -> Path:
    """Garboard and first broad of port hang, the third is cut, the second seam is off by 9 mm."""
    run = plan(job, "planks").run
    lining, planks = run.result("lining"), run.result("planks").planks
    port = [p.name for p in planks if p.side == "port" and p.strake in {"1", "2"}]
    cut = [p.name for p in planks if p.side == "port" and p.strake == "3"]
    for name in port:
        said("log", str(job), name, "hung", "--at", "2027-03-02", "--by", "Ann; Bo")
    for name in cut:
        said("log", str(job), name, "patterned")
    for column in range(4, len(lining.columns) - 4, 5):
        girth = f"{lining.upper_girth_mm[1, column] + 9.0:.1f} mm"
        said("as-hung", str(job), "port", "2", lining.columns[column], girth)
    return job


def test_what_is_left_is_divided_anew(drifted: Path) -> None:
    answer = json.loads(said("left", str(drifted), "--json"))
    assert {round(row["drift_mm"], 0) for row in answer["drift"]} == {9.0}
    edges = answer["relined_edges"]
    assert {row["side"] for row in edges} == {"port"}
    assert {row["stand"] for row in edges if row["strake"] in {"1", "2"}} == {"hangs"}
    assert {row["stand"] for row in edges if row["strake"] == "3"} == {"cut"}
    named = {row["plank"].split("-")[0] for row in answer["relined_planks"]}
    assert not named & {"P1", "P2", "P3"}
    assert any(row["changed"] for row in answer["relined_planks"])
    words = said("left", str(drifted))
    assert "divided anew" in words
    assert "keep their patterns" in words
    assert re.search(r"most drift +0-0-\d\+? high", words)
    assert not re.search(r"[+-]0-0-\d", words)  # a sign beside the plus of a sixteenth misleads
    new, _, same = words.partition("to be got out as they were")
    moved = re.findall(r"^ *(P\d+-\d+) .* (?:high|low) ", new, re.MULTILINE)
    assert set(moved) == {r["plank"] for r in answer["relined_planks"] if r["changed"]}
    assert not set(moved) & set(re.findall(r"^ *(P\d+-\d+) ", same, re.MULTILINE))


def test_papers_follow_the_new_lining_and_leave_out_what_is_cut(drifted: Path) -> None:
    planned = plan(drifted, "relined")
    before = {p.name: s for p, s in _old(drifted)}
    pairs = pairs_of(planned, ())
    assert {p.name for p, _ in pairs} == set(before)
    made = {p.name: s for p, s in to_get_out(planned, pairs, ())}
    assert not [name for name in made if name.startswith(("P1-", "P2-", "P3-"))]
    changed = planned.run.result("relined").of("port").relined.changed
    off = [abs(made[n].blank_width_mm - before[n].blank_width_mm) for n in changed]
    assert max(off) > 0.3
    assert made["S5-1"] is before["S5-1"] or made["S5-1"].name == "5-1"
    assert to_get_out(planned, pairs, ["P1-1"]) == pairs


def _old(job: Path):
    planned = plan(job, "shapes")
    return pairs_of(planned, ())


def test_tables_hold_the_new_widths_and_add_up(drifted: Path, tmp_path: Path) -> None:
    from ribband.app.papers.tables import write  # noqa: PLC0415

    write(plan(drifted, "relined"), tmp_path)
    rows = list(csv.DictReader((tmp_path / "relined_edges.csv").read_text("utf-8").splitlines()))
    assert all(float(r["upper_mm"]) >= float(r["lower_mm"]) for r in rows)
    planks = list(csv.DictReader((tmp_path / "relined_planks.csv").read_text("utf-8").splitlines()))
    assert all(float(r["blank_length_mm"]) > 0 for r in planks)


def test_a_plank_that_is_not_on_the_list_is_told_at_once(drifted: Path, tmp_path: Path) -> None:
    job = shutil.copy(drifted, tmp_path / "copy.ribband")
    assert "No plank P9- 99 is on the list" in said("log", str(job), "p9-\n99", "hung")
    assert "No plank" not in said("log", str(job), "P1-1", "fastened")


def test_a_wrong_step_or_frame_is_refused_by_its_cell(drifted: Path) -> None:
    assert "state" in said("log", str(drifted), "P1-1", "painted", code=3)
    assert "frame" in said("as-hung", str(drifted), "port", "2", "99", "2-3-0", code=3)
