"""A repair of nine planks on the packet, from the form to tables, patterns and tickets."""

from __future__ import annotations

import csv
import json
import shutil
from importlib.resources import files
from pathlib import Path

import pytest
from click.testing import CliRunner

from ribband.app.entering.jobs import new_job, take
from ribband.app.plan.planning import plan
from ribband.cli import cli

PACKET = Path(str(files("ribband").joinpath("data", "examples", "packet_1825")))
NINE = 9


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("yard")
    forms = folder / "forms"
    shutil.copytree(PACKET, forms)
    path = folder / "packet.ribband"
    new_job(path, forms, "a hand", "begun")
    run = plan(path, "planks", seconds=10.0).run
    planks = [p for p in run.result("planks").planks if p.side == "port" and p.fore != "stem"]
    chosen = [p for p in planks if p.aft != "stern"][3::7][:NINE]
    rows = [f"port,{p.strake},{p.fore},{p.aft},,rot,\n" for p in chosen]
    (forms / "renew.csv").write_text(
        "side,strake,from_frame,to_frame,joint,found,notes\n" + "".join(rows), "utf-8"
    )
    take(path, forms, "a hand", "what the surveyor found")
    return path


def said(*words: str, code: int = 0) -> str:
    result = CliRunner().invoke(cli, list(words))
    assert result.exit_code == code, result.output
    return result.stdout if code == 0 else result.output


def test_nine_old_planks_are_renewed_as_they_are(job: Path) -> None:
    answer = json.loads(said("repair", str(job), "--json"))
    rows = answer["renewals"]
    assert len(rows) == NINE
    repair = plan(job, "repair").run.result("repair")
    assert repair.planks.totals[0].planks == NINE  # old butt to old butt is the least
    assert repair.length_mm == pytest.approx(repair.bound_mm, rel=0.001)
    assert {row["new_joints"] for row in rows} == {0}
    assert "surveyor" in said("repair", str(job))
    assert {f["code"] for f in answer["findings"]} >= {"R030", "R032", "R047"}


def test_everything_is_written_for_those_planks_alone(job: Path, tmp_path: Path) -> None:
    said("repair", str(job), "--out", str(tmp_path))
    rows = {
        name: list(csv.DictReader((tmp_path / "tables" / f"{name}.csv").read_text("utf-8-sig")
                                  .splitlines()))
        for name in ("planks", "sequence", "steps", "renewals")
    }  # fmt: skip
    own = {r["plank"] for r in rows["planks"]}
    assert len(own) == NINE
    assert {r["plank"] for r in rows["sequence"]} == own
    assert {r["plank"] for r in rows["steps"]} == own
    assert {name for r in rows["renewals"] for name in r["planks"].split("; ")} == own
    assert (tmp_path / "tickets.pdf").stat().st_size > 10_000
    assert len(list((tmp_path / "patterns").glob("*.dxf"))) == NINE


def test_a_job_with_nothing_to_renew_says_so(tmp_path: Path) -> None:
    path = tmp_path / "packet.ribband"
    new_job(path, PACKET, "a hand", "begun")
    assert "nothing" in said("repair", str(path), "--out", str(tmp_path / "out"), code=3)
