"""Hanging and the plan of work in a job: forms, steps, tables, bars, diary, verbs, book."""

from __future__ import annotations

import csv
import shutil
from datetime import date, datetime, timedelta
from importlib.resources import files
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree as ET

import icalendar
import pytest
from click.testing import CliRunner

from ribband.app.entering.jobs import new_job, take
from ribband.app.papers.drawings import Paper
from ribband.app.papers.tables import tables
from ribband.app.papers.work import bars_of, draw_bars, work_papers, write_calendar
from ribband.app.plan import work_steps
from ribband.app.plan.making import rows_of
from ribband.app.plan.planning import plan
from ribband.app.showing.work import show_forecast, show_hanging, show_what_if, show_work
from ribband.cli import cli
from ribband.drawing.sheet import Text
from ribband.errors import InputError
from ribband.shop.steaming.boxes import fit_box, read_boxes
from ribband.shop.steaming.model import SteamedPlank
from ribband.shop.steaming.rules import SteamingRules
from ribband.shop.work.days import SLOT_MINUTES
from ribband.shop.work.model import Lack
from ribband.survey.rows import Form

GIRTHS = Path(str(files("ribband").joinpath("data", "examples", "marl_heron_girths")))
FORMS = {
    "crew": "name,skills,days,from,to,notes\n"
    "Ann,all,,,,\nBo,all,,,,\nCy,all but caulk,,,,\nDi,hang; fasten; bung; caulk,mon-thu,,,\n",
    "gear": "item,how_many,notes\nsteam box,1,\nstaging,6,\n",
    "calendar": "date,to_date,off,notes\n2027-03-10,2027-03-12,yes,\n",
    "rates": "operation,rate,unit,hands,scatter,notes\ncaulk,0.06,seam foot,1,0.2,\n",
    "rules": "rule,value,notes\nwork.begins,2027-03-01,\nwork.seconds,0.5,\n"
    "work.dinner_minutes,30,\n",
    "log": "plank,state,at,by,note,notes\n"
    "P1-1,hung,2027-03-01 11:30,Ann; Bo; Cy,,\nP1-1,fastened,2027-03-01 14:00,Ann; Bo,tight,\n",
}


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("yard")
    forms = folder / "forms"
    shutil.copytree(GIRTHS, forms)
    for name, text in FORMS.items():
        (forms / f"{name}.csv").write_text(text, "utf-8")
    path = folder / "heron.ribband"
    new_job(path, forms, "a hand", "begun")
    plan(path, "work", seconds=1.0)
    return path


def test_more_hands_for_the_lift_than_for_the_hanging_are_told(job: Path) -> None:
    done = plan(job, "work").run
    hang = {s.plank: s.hands for s in done.result("work").plan.steps if s.operation == "hang"}
    lifted = {h.name: h for h in done.result("shop").handling.planks if h.by_hand}
    few = {n for n, hands in hang.items() if n in lifted and lifted[n].hung_hands > hands}
    told = [f for f in done.findings if f.code == "W528"]
    assert few
    assert len(told) == 1
    assert told[0].says.startswith(f"{len(few)} planks want more hands")
    assert f"the plan has {hang[next(iter(few))]}" in told[0].says


def test_the_step_is_made_and_passes_its_check(job: Path) -> None:
    done = plan(job, "work").run
    worked, hanging = done.result("work"), done.result("hanging")
    assert done.seconds == {}  # all was kept
    faults = [f for f in done.findings if f.stage in {"work", "hanging"} and f.severity == "fault"]
    assert faults == []
    assert {hand.name for hand in worked.work.crew} == {"Ann", "Bo", "Cy", "Di"}
    assert worked.plan.days.days[0] == "2027-03-02"  # the day after what is logged
    assert "2027-03-11" not in worked.plan.days.days
    assert not [s for s in worked.plan.steps if s.plank == "P1-1" and s.operation == "hang"]
    assert hanging.places[0].plank == "P1-1"
    caulked = next(step for step in worked.plan.steps if step.operation == "caulk")
    assert {"Cy"}.isdisjoint(worked.plan.crew_of(worked.plan.steps.index(caulked)))


def test_answers_say_what_they_must(job: Path) -> None:
    work = show_work(job)
    assert [line.what for line in work.lines] == [
        "as like as not by", "nine in ten by", "left to do", "begins", "planned end",
    ]  # fmt: skip
    assert "1 that hang to be finished" in work.lines[2].value
    assert "by the rates, times" in work.lines[2].remark  # the log taught more hours
    skipping = next(f for f in work.findings if f.code == "W508")
    assert skipping.says.startswith("logged without the steps before it: P1-1 hung; all the hours")
    assert "without any mishap" in work.lines[-1].remark
    assert "of 100 runs end later" in work.lines[-1].remark
    told = next(f for f in work.findings if f.code == "W507")
    first = plan(job, "work").run.result("work").plan
    saws = [step for step in first.steps if step.operation == "get out"]
    assert told.says.startswith(f"{len(saws)} planks have no board")  # nothing is laid
    assert f"{saws[0].plank} on " in told.says
    assert f"by {first.days.at(saws[0].start).day} " in told.why
    assert "come before its hours" in work.notes[0]
    assert any(
        "1 steps" in str(row) or "1 step logged" in str(row) for row in work.listings[-1].rows
    )
    assert work.data["log"][1]["note"] == "tight"
    hanging = show_hanging(job)
    assert "surveyor" in hanging.notes[0]
    assert "W402" in {f.code for f in hanging.findings}  # only girths are known
    spread = show_forecast(job)
    assert list(spread.data["dates"]) == sorted(spread.data["dates"])


def test_hours_are_one_figure_or_say_what_each_is(job: Path) -> None:
    answer, own = show_work(job), plan(job, "work").run.result("work").plan
    tables = {listing.title: listing.rows for listing in answer.listings}
    *rows, whole = tables["Operations"]
    assert whole[2] == f"{own.hours:.0f}" == str(sum(int(row[2]) for row in rows))
    assert f"{own.hours:.0f} man-hours" in answer.lines[2].remark
    *hands, every = tables["Hands"]
    assert float(every[1].partition(":")[0]) == pytest.approx(
        sum(float(r[1]) for r in hands), abs=0.05 * len(hands) + 0.05
    )
    assert f"the {own.hours:.0f} man-hours, each step to five minutes" in every[1]


def test_a_longer_search_keeps_the_better(job: Path) -> None:
    before = plan(job, "work").run.result("work").plan
    answer = show_work(job, 1.0)
    after = plan(job, "work").run.result("work").plan
    assert after.end <= before.end
    if not before.proved:
        assert answer.lines[0].what == "longer search"


def test_what_if_tells_each_change(job: Path) -> None:
    answer = show_what_if(job, 1, [("steam box", 1)], "24-0-0", 0.3, 0.3)
    cases = answer.data["cases"]
    assert cases[0]["case"] == "as planned"
    assert len(cases) == 5
    assert cases[1]["working_days_gained"] > 0
    assert cases[4]["working_days_gained"] < 0
    with pytest.raises(InputError):
        show_what_if(job, boards="long")


def test_tables_hold_the_order_and_the_steps(job: Path, tmp_path: Path) -> None:
    frictionless = pytest.importorskip("frictionless")
    tables(job, tmp_path)
    rows = {
        name: list(csv.DictReader((tmp_path / f"{name}.csv").read_text("utf-8").splitlines()))
        for name in ("sequence", "steps", "log", "planks")
    }
    assert {r["plank"] for r in rows["sequence"]} == {r["plank"] for r in rows["planks"]}
    assert [int(r["place"]) for r in rows["sequence"]] == list(range(1, len(rows["planks"]) + 1))
    hung = [r for r in rows["sequence"] if r["hang_start"]]
    assert len(hung) == len(rows["planks"]) - 1  # one is logged as hung
    assert all(r["crew"] for r in hung)
    steps = {(r["plank"], r["operation"]): r for r in rows["steps"]}
    assert all(steps[r["plank"], "hang"]["start"] == r["hang_start"] for r in hung)
    assert [r["state"] for r in rows["log"]] == ["hung", "fastened"]
    report = frictionless.Package(str(tmp_path / "datapackage.json")).validate()
    wrong = [t for t in report.tasks if t.name in {"sequence", "steps", "log"} and not t.valid]
    assert wrong == []


def test_bars_are_as_long_as_their_steps(job: Path, tmp_path: Path) -> None:
    planned = plan(job, "work")
    sheets = bars_of(planned, Paper("A3"))
    worked = planned.run.result("work")
    bars = [
        item for sheet in sheets for item in sheet.items if getattr(item, "layer", "") == "bars"
    ]
    colours = {bar.colour for bar in bars}
    assert len(colours) >= 4
    names = {item.text for sheet in sheets for item in sheet.items if item.layer == "plank names"}
    assert names == {step.plank for step in worked.plan.steps}
    hangs = [s for s in worked.plan.steps if s.operation == "hang"]
    ink = [bar for bar in bars if bar.colour == "#1b1b1b"]
    drawn = sorted(bar.points[1][0] - bar.points[0][0] for bar in ink)
    meant = sorted(step.end - step.start for step in hangs)
    assert len(drawn) == len(meant)
    assert [a / b for a, b in zip(drawn, meant, strict=True)] == pytest.approx(
        [drawn[0] / meant[0]] * len(meant)
    )
    spread, ends = worked.forecast, date.fromisoformat(worked.plan.last_day)
    said = " ".join(i.text for s in sheets for i in s.paper if isinstance(i, Text))
    assert said.index("As like as not done by") < said.index(f"{ends.day} {ends:%b %Y}, without")
    likely = date.fromisoformat(spread.by[0.9])
    assert f"nine times in ten by {likely:%a} {likely.day} {likely:%b %Y}" in said
    for path in draw_bars(job, tmp_path, Paper("A4"), ("svg", "pdf")):
        if path.suffix == ".svg":
            ET.fromstring(path.read_text("utf-8"))


def test_the_diary_is_read_by_another(job: Path, tmp_path: Path) -> None:
    path = write_calendar(job, tmp_path / "all.ics")
    diary = icalendar.Calendar.from_ical(path.read_bytes())
    worked = plan(job, "work").run.result("work")
    steps = {f"{s.operation} {s.plank}": s for s in worked.plan.steps}
    every = list(diary.walk("VEVENT"))
    likely = [event for event in every if "planked" in str(event["SUMMARY"])]
    days = [worked.forecast.by[part] for part in (0.5, 0.9)]
    assert [event["DTSTART"].dt.isoformat() for event in likely] == days
    assert all("without any mishap" in str(event["DESCRIPTION"]) for event in likely)
    events = [event for event in every if event not in likely]
    assert len({str(event["UID"]) for event in events}) == len(events)
    assert all(isinstance(event["DTSTAMP"].dt, datetime) for event in events)
    told = {"steam", "hang", "fasten"}
    assert worked_hours(events) == pytest.approx(
        {name: hours(s) for name, s in steps.items() if s.operation in told}
    )
    uids: list[str] = []
    for hand in worked.work.crew:
        own = write_calendar(job, tmp_path / "own.ics", hand.name)
        mine = icalendar.Calendar.from_ical(own.read_bytes()).walk("VEVENT")
        stints = [s for s in worked.plan.stints if s.hand == hand.name]
        assert worked_hours(mine).keys() == {
            f"{worked.plan.steps[s.step].operation} {worked.plan.steps[s.step].plank}"
            for s in stints
        }
        slots = sum(s.end - s.start for s in stints)
        assert sum(worked_hours(mine).values()) == pytest.approx(slots * SLOT_MINUTES / 60)
        days = {event["DTSTART"].dt.date().isoformat() for event in mine}
        assert days <= set(worked.plan.days.days)
        assert not days & {"2027-03-10", "2027-03-11", "2027-03-12"}
        assert all(hand.there(day, date.fromisoformat(day).weekday()) for day in days)
        uids += [str(event["UID"]) for event in mine]
        again = write_calendar(job, tmp_path / "again.ics", hand.name)
        assert again.read_bytes() == own.read_bytes()
    assert len(set(uids)) == len(uids)  # also where all the hands share a calendar
    parted = [str(e["SUMMARY"]) for e in events if ", part " in str(e["SUMMARY"])]
    assert any(name.endswith("part 1 of 2") for name in parted)
    with pytest.raises(InputError):
        write_calendar(job, None, "Zed")


def hours(step: Any) -> float:
    return float((step.end - step.start) * SLOT_MINUTES / 60)


def worked_hours(events: Any) -> dict[str, float]:
    """Add up the hours of every step's events, none of which runs through a night."""
    found: dict[str, float] = {}
    for event in events:
        start, end = event["DTSTART"].dt, event["DTEND"].dt
        assert start.date() == end.date()
        noon = start.replace(hour=12, minute=0)
        assert end <= noon or start >= noon + timedelta(minutes=30)
        name = str(event["SUMMARY"]).partition(",")[0]
        found[name] = found.get(name, 0.0) + (end - start).total_seconds() / 3600
    return found


def test_bars_and_diary_come_with_everything(job: Path, tmp_path: Path) -> None:
    bars = work_papers(plan(job, "work"), tmp_path, Paper("A3"))
    assert {path.parent.name for path in bars} == {"drawings"}
    (diary,) = tmp_path.glob("*.ics")
    assert icalendar.Calendar.from_ical(diary.read_bytes()).walk("VEVENT")


@pytest.mark.parametrize("verb", ["hanging", "work", "forecast", "bars", "diary"])
def test_verbs_answer(verb: str, job: Path, tmp_path: Path) -> None:
    out = ["--out", str(tmp_path / "x.ics" if verb == "diary" else tmp_path)]
    more = out if verb in {"bars", "diary"} else []
    found = CliRunner().invoke(cli, [verb, str(job), *more])
    assert found.exit_code in {0, 1}, found.output
    assert "Traceback" not in found.output


def test_wrong_cells_are_refused_before_anything_is_stored(job: Path, tmp_path: Path) -> None:
    (tmp_path / "crew.csv").write_text(
        "name,skills,days,from,to,notes\nAnn,juggle,,,,\nBo,all,someday,,,\n", "utf-8"
    )
    with pytest.raises(InputError) as caught:
        take(job, tmp_path)
    assert [(p.row, p.column) for p in caught.value.problems] == [(2, "skills"), (3, "days")]


def test_blank_forms_of_the_work_are_there(tmp_path: Path) -> None:
    found = CliRunner().invoke(cli, ["forms", str(tmp_path / "blank")])
    assert found.exit_code == 0
    names = {path.stem for path in (tmp_path / "blank").glob("*.csv")}
    assert {"rates", "crew", "gear", "calendar", "log"} <= names


def test_a_box_too_small_for_every_plank_stops_no_plan() -> None:
    header = ("item", "how_many", "length", "width", "height", "from", "to", "notes")
    sizes = ("6-0-0", "1-0-0", "1-0-0")
    rows = (("steam box", "1", *sizes, "", "2027-03-08", ""),
            ("steam box", "1", *sizes, "2027-03-12", "", ""))  # fmt: skip
    forms = {"gear": Form("gear", header, rows, "gear.csv", (2, 3))}
    rules = SteamingRules()
    bench: Any = SimpleNamespace(forms=forms, unit="ft-in-8ths", rules={"steaming": rules})
    plank = SteamedPlank("P1-1", True, "", 32.0, 200.0, 6000.0, *[None] * 5, "", None)
    boxes = read_boxes(rows_of(forms, "gear", "ft-in-8ths"))
    fits = tuple(fit_box(box, [plank], rules) for box in boxes)
    steaming: Any = SimpleNamespace(boxes=fits)
    assert [fit.at_once for fit in fits] == [0, 0]
    assert work_steps._in_places(bench, steaming) == (
        {"steam box": 1, "planer": 1, "crane": 1, "staging": 8},
        (Lack("steam box", 1, "2027-03-09", "2027-03-11"),),
    )
