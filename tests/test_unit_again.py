"""Bare figures older than the unit: found, written again in one change, newer ones left alone."""

from __future__ import annotations

from pathlib import Path

import pytest

from ribband.app.entering.changes import Change, Edit, Patch, apply, step
from ribband.app.entering.jobs import new_job
from ribband.app.entering.unit_again import bare_figures
from ribband.app.screens.forms import form_view
from ribband.app.screens.job import job_view
from ribband.app.screens.measure import evenly
from ribband.errors import InputError


def change(job: Path, *edits: Edit) -> None:
    newest = job_view(job).revision
    done = apply(job, Change(f"c{newest}", "Ada", "typed", edits, newest))
    assert isinstance(done, Patch)


def row(form: str, at: int, *cells: str, was: tuple[str, ...] | None = None) -> Edit:
    return Edit(form, was, cells, at)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    """Make a job with bare figures and no unit yet."""
    made = new_job(tmp_path / "grace.ribband", None, "Ada").job
    change(
        made,
        row("vessel", 0, "vessel", "Dunlin Grace", ""),
        row("vessel", 1, "planking", "38", ""),
        *(row("frames", n, str(n + 1), str(round(457.2 * (n + 1)))) for n in range(4)),
        row("frames", 4, "5", "7-6-0"),
        row("rules", 0, "hull.tolerance", "3", ""),
        row("rules", 1, "butts.passing", "3", ""),
        row("girths", 0, "1", "0-9-3", "", "1200 ?"),
    )
    return made


def say_unit(job: Path, unit: str, was: str = "") -> None:
    own = ("unit", was, "") if was else None
    change(job, row("vessel", 2, "unit", unit, "", was=own))


def test_nothing_is_older_than_a_unit_that_never_changed(job: Path) -> None:
    found = bare_figures(job)
    assert (found.count, found.since, found.said) == (0, 0, False)


def test_a_job_of_no_forms_has_none(tmp_path: Path) -> None:
    found = bare_figures(new_job(tmp_path / "blank.ribband", None, "Ada").job)
    assert (found.count, found.hand, found.said) == (0, "", False)


def test_bare_figures_are_written_again_in_one_change_and_undone_in_one(job: Path) -> None:
    say_unit(job, "ft-in-8ths")
    found = bare_figures(job)
    assert (found.was, found.now, found.since) == ("mm", "ft-in-8ths", 2)
    assert found.count == 7  # four frames, the planking, a girth and one rule of the two
    assert set(found.forms) == {"frames", "vessel", "girths", "rules"}
    assert len(job_view(job).problems) >= 6
    change(job, *found.edits)
    frames = form_view(job, "frames").rows
    assert [r[1] for r in frames] == ["1-6-0", "3-0-0", "4-6-0", "6-0-0", "7-6-0"]
    assert form_view(job, "girths").rows[0][3] == "3-11-2 ?"
    rules = {r[0]: r[1] for r in form_view(job, "rules").rows}
    assert rules == {"hull.tolerance": "0-0-1", "butts.passing": "3"}
    assert bare_figures(job).count == 0
    step(job, "undo", "Ada")
    assert form_view(job, "frames").rows[1][1] == "914"
    assert bare_figures(job).count == 7


def test_figures_written_since_the_unit_are_left_alone(job: Path) -> None:
    say_unit(job, "in")
    change(job, row("frames", 5, "6", "108"))
    found = bare_figures(job)
    assert found.was == "mm"
    assert {e.was[0] for e in found.edits if e.form == "frames" and e.was} == {"1", "2", "3", "4"}


def test_a_unit_said_wrongly_and_put_right_asks_of_nothing(job: Path) -> None:
    say_unit(job, "in")
    say_unit(job, "mm", was="in")
    assert bare_figures(job).count == 0


def test_the_unit_they_were_in_can_be_said_otherwise(job: Path) -> None:
    say_unit(job, "ft-in-8ths")
    found = bare_figures(job, "in")
    assert dict(found.examples)["457"] == "38-1-0"


def test_the_hand_tells_the_unit_where_all_is_written_with_dashes(job: Path) -> None:
    assert bare_figures(job).hand == ""
    fresh = new_job(job.with_name("plain.ribband"), None, "Ada").job
    change(fresh, row("frames", 0, "1", "1-6-0"), row("girths", 0, "1", "0-9-3", "", "3-7-5+ ?"))
    assert bare_figures(fresh).hand == "ft-in-8ths"
    assert job_view(fresh).next.says.startswith("Say how she is measured")


def test_an_example_is_written_as_the_figure_is() -> None:
    with pytest.raises(InputError) as wrong:
        evenly(3, "355", "1-6", "mm")
    assert wrong.value.problems[0].example == "1-2-0"
