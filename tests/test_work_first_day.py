"""The day work is said to begin on, against the day of asking."""

from __future__ import annotations

import shutil
from datetime import date
from importlib.resources import files
from pathlib import Path

import pytest

from ribband.app.entering.jobs import new_job
from ribband.app.plan.planning import plan
from ribband.app.screens.shop import shop_page
from ribband.app.showing.work import show_forecast, show_work
from ribband.shop.work.first_day import first_day_doubted

GIRTHS = Path(str(files("ribband").joinpath("data", "examples", "marl_heron_girths")))
ASKED = date(2026, 11, 26)


@pytest.mark.parametrize(
    ("begins", "told"),
    [
        ("2025-03-01", "635 days before 26 Nov 2026, and nothing is logged since"),
        ("2026-11-18", "8 days before"),
        ("2026-11-19", ""),
        ("2027-03-01", ""),
        ("2029-11-25", ""),
        ("2029-11-26", "1096 days after 26 Nov 2026, over three years off"),
        ("", ""),
    ],
)
def test_a_day_long_past_or_years_off_is_doubted(begins: str, told: str) -> None:
    found = first_day_doubted(begins, begins, ASKED)
    assert [f.code for f in found] == ["W532"] * bool(told)
    assert all(told in f.says for f in found)


def test_where_the_log_has_settled_the_day_it_is_not_looked_at() -> None:
    assert first_day_doubted("2025-03-01", "2025-06-04", ASKED) == ()


def test_verbs_and_page_say_it_and_the_plan_does_not_keep_it(tmp_path: Path) -> None:
    forms = tmp_path / "forms"
    shutil.copytree(GIRTHS, forms)
    rules = "rule,value,notes\nwork.begins,2001-03-01,\nwork.seconds,0.2,\n"
    (forms / "rules.csv").write_text(rules, "utf-8")
    path = tmp_path / "heron.ribband"
    new_job(path, forms, "a hand", "begun")
    for answer in (show_work(path), show_forecast(path)):
        told = next(f for f in answer.findings if f.code == "W532")
        assert told.says.startswith("it is 1 Mar 2001, ")
    work = next(part for part in shop_page(path).parts if part.name == "work")
    assert any(where == "work.begins" and "1 Mar 2001" in says for _, where, says in work.says)
    assert "W532" not in {f.code for f in plan(path, "work").run.findings}
