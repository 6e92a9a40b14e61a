"""What the page of measurements draws: fair sections where she was measured, decisions as made."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from made_server import heron_job
from ribband.app.entering.jobs import change
from ribband.app.screens.measure import measure_view
from ribband.survey.rows import Form

HEADER = ("reading", "decision", "value", "notes")


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return heron_job(tmp_path_factory.mktemp("measured"), last="hull")


def test_fair_sections_are_at_the_stations_and_pass_by_their_readings(job: Path) -> None:
    view = measure_view(job)
    assert view.fair is not None
    read = [r for r in view.readings if r["role"] == "surface"]
    assert {s["name"] for s in view.fair["sections"]} == {r["station"] for r in read}
    off = []
    for section in view.fair["sections"]:
        xyz = np.array(section["xyz"]).reshape(-1, 3)
        for r in (r for r in read if r["station"] == section["name"]):
            assert xyz[:, 0] == pytest.approx(r["x"], abs=2.0)
            a, b = xyz[:-1, 1:], xyz[1:, 1:]
            along = b - a
            part = ((np.array([r["y"], r["z"]]) - a) * along).sum(1) / (along**2).sum(1)
            near = a + np.clip(part, 0, 1)[:, None] * along
            off.append(float(np.hypot(*(near - [r["y"], r["z"]]).T).min()))
    assert np.median(off) < 3.0
    assert np.quantile(off, 0.95) < 12.0


def test_a_corrected_reading_is_drawn_as_said_and_one_left_out_is_not_inked(job: Path) -> None:
    keys = [doubt.key for doubt in measure_view(job).doubts if not doubt.whole]
    assert len(keys) >= 2
    rows = ((keys[0], "correct", "1-0-0", ""), (keys[1], "accept", "", ""))
    change(job, {"doubts": Form("doubts", HEADER, rows, "doubts.csv", (2, 3))}, "Ada", "decided")
    after = measure_view(job)
    said = {tuple(r["place"]): r for r in after.readings if r["decided"]}
    assert sorted(r["decided"] for r in said.values()) == ["accept", "correct"]
    [corrected] = [r for r in said.values() if r["said"]]
    assert 304.8 in corrected["said"]
    assert [corrected["y"], corrected["z"]] != corrected["said"]
    assert after.decided == []  # both are still among the doubts, as last made fair


def test_a_decision_on_a_reading_doubted_no_more_is_told(job: Path) -> None:
    rows = (("station 99, waterline 1", "keep", "", ""),)
    change(job, {"doubts": Form("doubts", HEADER, rows, "doubts.csv", (2,))}, "Ada", "decided")
    assert measure_view(job).decided == ["station 99, waterline 1: kept as read"]
