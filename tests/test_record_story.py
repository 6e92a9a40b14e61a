"""Forty days at the slip, told day by day to a job, up to a shutter that must fit."""

from __future__ import annotations

import csv
import shutil
from importlib.resources import files
from pathlib import Path

import numpy as np
import pytest

from made_story import ORDER, forty_days
from ribband.app.jobs import new_job, take
from ribband.app.papers import Paper
from ribband.app.planning import Planned, plan
from ribband.app.recorded import record_job, record_of
from ribband.app.tables import write

HERON = Path(str(files("ribband").joinpath("data", "examples", "marl_heron")))
LOG = "plank,state,at,by,note,notes\n"
SEAMS = "side,strake,edge,frame,girth,notes\n"
CREW = (
    "name,skills,days,from,to,notes\nAnn,all,,,2027-03-12,\nAnn,all,,2027-03-24,,back\n"
    "Bo,all,,,,\nCy,all,,,,\n"
)


@pytest.fixture(scope="module")
def slip(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    folder = tmp_path_factory.mktemp("slip")
    forms = folder / "forms"
    shutil.copytree(HERON, forms)
    (forms / "lining.csv").write_text(
        "wish,strake,frame,to_frame,value,weight,notes\nstrakes,,,,16,,\n", "utf-8"
    )
    (forms / "crew.csv").write_text(CREW, "utf-8")
    rules = forms / "rules.csv"
    more = "work.begins,2027-03-01,\nwork.seconds,0.5,\n"
    rules.write_text(rules.read_text("utf-8") + more, "utf-8")
    job = folder / "heron.ribband"
    new_job(job, forms, "a hand", "begun")
    plan(job, "shapes", seconds=2.0)
    return job, forms


@pytest.fixture(scope="module")
def told(slip: tuple[Path, Path]) -> tuple[Path, list[Planned]]:
    """Tell the job what was done, at five days of the forty, and plan what is left each time."""
    job, forms = slip
    run = plan(job, "planks").run
    days = forty_days(run.result("planks").planks, run.result("lining"))
    seen = []
    for until in (5, 12, 20, 31, 40):
        rows = [row for day in days[:until] for row in day.log]
        seams = [row for day in days[:until] for row in day.seams]
        (forms / "log.csv").write_text(LOG + "".join(",".join((*r, "")) + "\n" for r in rows))
        (forms / "as_hung.csv").write_text(SEAMS + "".join(",".join(r) + "\n" for r in seams))
        take(job, forms, "a hand", f"day {until}")
        seen.append(plan(job, "relined"))
    return job, seen


def test_what_hangs_never_moves_as_the_days_go(told: tuple[Path, list[Planned]]) -> None:
    for planned in told[1]:
        one = planned.run.result("relined").of("port")
        assert one.relined is not None
        faults = [f for f in planned.run.result("relined").findings if f.severity == "fault"]
        assert not faults, [f"{f.code} {f.where} {f.says}" for f in faults]
        new = one.relined.lining
        for drift in one.drifts:
            if np.isfinite(one.relined.seam_held[drift.seam, new.columns.index(drift.frame)]):
                row, column = drift.seam - 1, new.columns.index(drift.frame)
                assert abs(float(new.upper_girth_mm[row, column]) - drift.measured_mm) < 1.0


def test_fewer_planks_are_left_and_only_they_change(told: tuple[Path, list[Planned]]) -> None:
    left = [planned.run.result("relined").of("port") for planned in told[1]]
    assert sorted((len(one.planks) for one in left), reverse=True) == [len(o.planks) for o in left]
    for one in left:
        names = {plank.name for plank in one.planks}
        assert set(one.relined.changed) <= names
        done = {n for n, stand in one.standing.planks.items() if stand != "free"}
        assert not names & done
        assert {shape.name for shape in one.shapes} == {name[1:] for name in names}
        assert one.relined.seconds < 20.0


def test_the_shutter_fits_its_measured_opening(told: tuple[Path, list[Planned]]) -> None:
    one = told[1][-1].run.result("relined").of("port")
    assert {plank.strake for plank in one.planks} == {"10"}
    assert {o.strake for o in one.openings} == {"10"}
    new = one.relined.lining
    row = [s.name for s in new.strakes].index("10")
    measured = [o for o in one.openings if o.measured]
    assert measured
    for opening in measured:
        width = float(new.width_mm[row, new.columns.index(opening.frame)])
        assert width == pytest.approx(opening.left_mm, abs=1.0)
    off = max(abs(o.left_mm - o.planned_mm) for o in measured)
    assert off > 4.0  # by the plan it would not have gone in
    assert len(new.strakes) == 1 + len(ORDER)


def test_the_record_tells_the_spoilt_plank_the_hands_and_the_hours(
    told: tuple[Path, list[Planned]], tmp_path: Path
) -> None:
    job, _ = told
    out = record_job(job, tmp_path / "record.pdf", Paper("A4"))
    assert out.stat().st_size > 20_000
    record = record_of(plan(job, "all"))
    assert sum(own.spoilt for own in record.planks) == 1
    again = next(own for own in record.planks if own.spoilt)
    assert again.state == "fastened"  # got out anew and hung
    hung = [own for own in record.planks if own.plank.side == "port" and own.state]
    assert all(own.first <= own.last for own in hung)
    sick = [own for own in hung if own.first >= "2027-03-15" and own.last <= "2027-03-23"]
    assert sick
    assert all("Ann" not in own.hands for own in sick)
    hang = next(line for line in record.hours if line.operation == "hang")
    assert hang.logged > 5
    assert hang.spent > 0
    assert max(abs(own.drift_mm) for own in hung if own.drift_mm is not None) > 8.0


@pytest.mark.filterwarnings("ignore")
def test_tables_for_the_archive_are_written(
    told: tuple[Path, list[Planned]], tmp_path: Path
) -> None:
    frictionless = pytest.importorskip("frictionless")
    write(plan(told[0], "all"), tmp_path)
    report = frictionless.validate(str(tmp_path / "datapackage.json"))
    assert report.valid, report.flatten(["title", "note", "type"])
    rows = list(csv.DictReader((tmp_path / "record.csv").read_text("utf-8-sig").splitlines()))
    assert sum(int(row["spoilt"]) for row in rows) == 1
    assert {row["state"] for row in rows if row["plank"].startswith("P1-")} == {"fastened"}
    hours = list(csv.DictReader((tmp_path / "hours.csv").read_text("utf-8-sig").splitlines()))
    assert float(next(r for r in hours if r["operation"] == "hang")["real_hours"]) > 0
