"""A plan as it is kept, and what is shown while it is made anew."""

from __future__ import annotations

from pathlib import Path

import pytest

from made_kept import planned_copy
from made_server import heron_job
from ribband.app.entering.rule_use import set_rule
from ribband.app.plan.as_kept import as_kept, as_last_kept
from ribband.app.plan.planning import plan
from ribband.app.screens.overview import overview
from ribband.app.screens.planks import plank_sheet, planks_page, ticket_bytes
from ribband.errors import InputError
from ribband.store import JobFile

STEPS = ("survey", "hull", "lining", "butts", "planks", "shapes")


@pytest.fixture
def job(tmp_path: Path) -> Path:
    return heron_job(tmp_path, last="shapes")


def test_what_is_of_the_newest_forms_says_nothing_of_its_age(job: Path) -> None:
    planned, as_of = as_last_kept(job, STEPS, "planks")
    assert as_of == ""
    assert planned.run.result("planks").planks == as_kept(job, STEPS).run.result("planks").planks


def test_the_last_plan_stands_whole_till_it_is_made_anew(job: Path) -> None:
    before, number = planks_page(job), overview(job).job.revision
    set_rule(job, "lining.garboard", "1.3", "Bo")
    set_rule(job, "lining.garboard", "1.31", "Bo")
    after = planks_page(job)
    assert after.planks == before.planks
    assert after.as_of == f"As it was at revision {number}: the plan is not up to date."
    planned, _ = as_last_kept(job, STEPS, "planks")
    assert planned.revision == number
    assert set(STEPS) <= set(planned.run.bench.made), "the steps before it are of that revision too"
    assert overview(job).as_of == after.as_of
    assert overview(job).figures
    assert plank_sheet(job, before.planks[0].name).cautions[0] == after.as_of


def test_papers_are_never_of_before(job: Path) -> None:
    set_rule(job, "lining.garboard", "1.3", "Bo")
    with pytest.raises(InputError, match="up to date"):
        ticket_bytes(job, "P1-1", "")


def test_undone_it_is_the_newest_again(job: Path) -> None:
    set_rule(job, "lining.garboard", "1.3", "Bo")
    with JobFile.open(job, writing=True) as file:
        file.undo("Bo")
    assert planks_page(job).as_of == ""


def test_a_plank_steamed_for_its_twist_is_nowhere_called_cold(tmp_path: Path) -> None:
    path = planned_copy(tmp_path / "heron.ribband", "shop")
    run = plan(path, "shop").run
    steamed = {p.plank for p in run.result("shop").steaming.steamed}
    cold = {f"P{s.name}" for s in run.present.shapes.shapes if s.grade == "cold"}
    assert steamed & cold, "some are cold by their bend alone"
    grades = {row.name: row.grade for row in planks_page(path).planks}
    assert not [name for name in steamed if grades[name] == "cold"]
    name = min(steamed & cold)
    said = dict(plank_sheet(path, name).facts)
    assert said["bending"].startswith("steam: ")
    assert "its bend alone is cold" in said["bending"]
