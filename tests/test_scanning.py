"""From a scan and picks to a folder of forms, by the command line."""

from __future__ import annotations

import csv
import json
from pathlib import Path

import numpy as np
import pytest
from click.testing import CliRunner

import made_scans
from ribband.app.entering import scanning
from ribband.app.entering.jobs import new_job
from ribband.cli import cli
from ribband.errors import Ambiguous
from ribband.survey import read_forms, read_survey


def says(*words: object, code: int = 0) -> str:
    result = CliRunner().invoke(cli, [str(word) for word in words], prog_name="ribband")
    assert result.exit_code == code, result.output
    return result.output


def write_picks(path: Path, lines: dict) -> Path:
    with path.open("w", newline="") as file:
        out = csv.writer(file)
        out.writerow(["line", "x", "y", "z"])
        for name, picks in lines.items():
            out.writerows([name, *(f"{c / 1000:.6f}" for c in pick)] for pick in picks)
    return path


@pytest.fixture(scope="module")
def yard(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A scan in metres, picks of it, and forms with the frames."""
    folder = tmp_path_factory.mktemp("yard")
    scan = made_scans.scanned(count=60_000, seed=5, clutter=False)
    np.savetxt(folder / "made.xyz", scan.points / 1000.0, fmt="%.6f")
    lines = {k: v for k, v in made_scans.picks(scan).items() if k != "datum"}
    write_picks(folder / "picks.csv", lines)
    write_picks(folder / "few.csv", {k: v[:2] for k, v in lines.items()})
    (folder / "forms").mkdir()
    (folder / "forms" / "vessel.csv").write_text("item,value\nvessel,Marl Heron\nunit,mm\n")
    rows = "".join(f"{n},{x}\n" for n, x in enumerate(range(1000, 16001, 1500), 1))
    (folder / "forms" / "frames.csv").write_text("frame,position\n" + rows)
    return folder


def words(yard: Path, out: Path, picks: str = "picks.csv") -> list[object]:
    return ["scan", yard / "made.xyz", "--frames", yard / "forms", "--picks", yard / picks,
            "--out", out]  # fmt: skip


def test_a_scan_becomes_forms_that_are_a_survey(yard: Path, tmp_path: Path) -> None:
    out = tmp_path / "cut"
    text = says(*words(yard, out), "--at", "1000", "0")
    assert "placed by" in text
    assert "rabbet, sheer, stem, stern, level, --at" in text
    assert f"Next: ribband new JOB {out}" in text
    forms = read_forms(out)
    assert set(forms) == {"vessel", "frames", "points"}
    survey = read_survey(forms)
    surface = made_scans.scanned(count=1000, seed=5, clutter=False).surface
    net = surface.point(*np.meshgrid(np.linspace(0, 1, 900), np.linspace(0, 1, 300), indexing="ij"))
    net = net.reshape(-1, 3)
    inside = [r for r in survey.readings if 3000 < r.x_mm < 14000 and r.role == "surface"]
    assert len(inside) > 100
    for r in inside[:: len(inside) // 40]:
        off = np.linalg.norm(net - [r.x_mm, r.y_mm, r.z_mm], axis=1).min()
        assert off < 20.0  # the net's own mesh is 20 mm by 10 mm
    assert "1 problem" in says(
        *words(yard, out), code=3
    )  # forms are there: nothing is written over


def test_the_frames_may_be_a_jobs_and_a_length_sets_the_scale(yard: Path, tmp_path: Path) -> None:
    says(*words(yard, tmp_path / "first"))
    job = new_job(tmp_path / "heron", tmp_path / "first").job
    asked = ["scan", yard / "made.xyz", "--frames", job, "--picks", yard / "picks.csv"]
    out = tmp_path / "second"
    text = says(*asked, "--out", out, "--length", "17.5m", "--json")
    answer = json.loads(text[text.index("{") :])  # progress stands before it
    assert answer["scale"] == pytest.approx(0.9476, abs=2e-3)
    assert any("far from 1" in note for note in answer["notes"])
    assert len(answer["files"]) == 3


@pytest.mark.parametrize(
    ("more", "told"),
    [
        (["--unit", "mm"], "the size of a vessel"),
        (["--up", "north"], "three numbers parted by commas"),
        (["--length", "long"], "a length"),
        (["--length", "3mm"], "0.8 to 150 m"),
    ],
    ids=" ".join,
)
def test_what_cannot_be_is_refused(yard: Path, tmp_path: Path, more: list[str], told: str) -> None:
    code = 2 if "--up" in more else 3
    assert told in says(*words(yard, tmp_path / "cut"), *more, code=code)
    assert not (tmp_path / "cut").exists()


def test_picks_are_looked_over(yard: Path, tmp_path: Path) -> None:
    text = says(*words(yard, tmp_path / "cut", "few.csv"), code=3)
    assert "2 picks of rabbet" in text
    path = tmp_path / "picks.csv"
    path.write_text("line,x,y,z\n# a note\nkeel,1,2,3\nrabbet,1,two,3\n")
    with pytest.raises(ValueError, match="keel") as caught:
        scanning.read_picks(path)
    assert [(p.row, p.column) for p in caught.value.problems] == [(3, "line"), (4, "y")]
    path.write_text("line,x,y\n")
    with pytest.raises(ValueError, match="this column"):
        scanning.read_picks(path)


def test_what_the_scan_cannot_tell_is_asked_with_the_option_that_answers(
    yard: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def asks(*_: object) -> None:
        raise Ambiguous("bow or stern? both ends are as fine as each other; say where the bow is")

    monkeypatch.setattr("ribband.survey.scan.place", asks)
    text = says(*words(yard, tmp_path / "cut"), code=3)
    assert text.splitlines()[-1].startswith("bow or stern?")
    assert "Answer with --bow x,y,z" in text
