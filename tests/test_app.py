"""Use cases below the command line: what depends on what, rules as written, decisions, keeping."""

from __future__ import annotations

import json
import math
import re
import threading
from collections import Counter
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ribband.app.demo import EXAMPLES, copy_example
from ribband.app.entering.compare import changed_cells
from ribband.app.entering.doubts import with_decision
from ribband.app.entering.jobs import new_job, take
from ribband.app.entering.rules import in_force, list_rules, with_rule
from ribband.app.plan import making, runner
from ribband.app.plan.everything import job_in
from ribband.app.plan.inputs import read_inputs
from ribband.app.plan.making import Bench, Made
from ribband.app.plan.runner import MemoryShelf, job_unit, run
from ribband.app.plan.steps import STEPS, keys
from ribband.app.showing.answers import Line, plain
from ribband.butts.model import Goal, Layout
from ribband.errors import InputError, JobFileError, NotConverged
from ribband.findings import Finding, Severity
from ribband.store import JobFile
from ribband.survey.rows import Form
from ribband.units import UNITS


def rules_form(*lines: tuple[str, str]) -> Form:
    rows = tuple((rule, value, "") for rule, value in lines)
    return Form(
        "rules", ("rule", "value", "notes"), rows, "rules.csv", tuple(range(2, len(rows) + 2))
    )


# ---- what depends on what

TIMBER = {"boards", "laying", "order", "shop", "work"}
HANG = {"stands", "hanging", "work", "relined", "repair"}
STOOD = {"stands", "laying", "order", "shop", "hanging", "work", "relined"}
AFTER = {
    "girths": {"survey", "hull", "lining", "butts", "planks", "shapes"} | TIMBER | HANG,
    "doubts": {"survey", "hull", "lining", "butts", "planks", "shapes"} | TIMBER | HANG,
    "old_strakes": {"survey", "lining", "butts", "planks", "shapes"} | TIMBER | HANG,
    "lining": {"lining", "butts", "planks", "shapes"} | TIMBER | HANG,
    "butts": {"butts", "planks", "shapes", "laying", "order", "shop"} | HANG,
    "stock": {"butts", "planks", "shapes", "laying", "order", "shop"} | HANG,
    "old_fastenings": {"survey", "repair"},
    "renew": {"repair"},
    "boards": TIMBER,
    "timbers": {"planks"} | TIMBER | HANG,
    "layings": {"laying", "order"},
    "mill": {"order"},
    "fastenings": {"shop", "work"},
    "path": {"shop", "work"},
    "supplies": {"shop", "work"},
    "rates": {"work"},
    "crew": {"work"},
    "gear": {"shop", "work"},
    "calendar": {"work"},
    "log": {"laying", "order", "hanging", "work", "relined"},
    "as_hung": STOOD,
}


@pytest.mark.parametrize("form", AFTER)
def test_only_what_depends_on_a_form_is_stale(form: str) -> None:
    before = keys({}, {"vessel": "a", form: "b"})
    after = keys({}, {"vessel": "a", form: "c"})
    assert {name for name in before if before[name] != after[name]} == AFTER[form]


@pytest.mark.parametrize(
    ("rule", "stale"),
    [
        ("hull.tolerance", {"hull", "lining", "butts", "planks", "shapes"} | TIMBER | HANG),
        ("lining.greatest_width", {"lining", "butts", "planks", "shapes"} | TIMBER | HANG),
        ("butts.passing", {"butts", "planks", "shapes", "laying", "order", "shop"} | HANG),
        ("planks.sides", {"planks"} | TIMBER | HANG),
        ("shapes.opening_part", {"planks", "shapes", "laying", "order", "shop"} | HANG),
        ("climate.yard_humidity", TIMBER),
        ("laying.kerf", {"laying", "order"}),
        ("laying.wettest_percent", {"boards", "laying", "order", "shop", "work"}),
        ("order.confidence", {"order"}),
        ("steaming.air_c", {"shop", "work"}),
        ("fastenings.spares_part", {"shop", "work"}),
        ("hanging.level", {"hanging", "work"}),
        ("work.hands", {"work"}),
        ("record.drift", {"relined"}),
    ],
)
def test_only_what_depends_on_a_rule_is_stale(rule: str, stale: set[str]) -> None:
    before = keys({}, {})
    after = keys({"rules": rules_form((rule, "3"))}, {"rules": "x"})
    assert {name for name in before if before[name] != after[name]} == stale


LOGGED = ("plank", "state", "at", "by", "note", "notes")
HUNG = ("P1-1", "hung", "2027-03-02", "Ann", "", "")
SEAM = Form(
    "as_hung", ("side", "strake", "edge", "frame", "girth", "notes"),
    (("port", "1", "upper", "9", "12 in", ""),), "as_hung.csv", (2,),
)  # fmt: skip


@pytest.mark.parametrize(
    ("line", "measured", "stale"),
    [
        (("P1-1", "caulked", "2027-03-09", "Ann", "", ""), False, {"work", "relined"}),
        (("P1-1", "caulked", "2027-03-09", "Ann", "", ""), True, {"work", "relined"}),
        (("P2-1", "hung", "2027-03-09", "Ann", "", ""), False,
         {"laying", "order", "hanging", "work", "relined"}),
        (("P1-1", "fastened", "2027-03-09", "Ann", "", ""), False, {"work", "relined"}),
        (("P2-1", "patterned", "2027-03-09", "Ann", "", ""), False, {"work", "relined"}),
        (("P2-1", "patterned", "2027-03-09", "Ann", "", ""), True, STOOD),
        (("P1-1", "spoilt", "2027-03-09", "Ann", "", ""), False,
         {"laying", "order", "hanging", "work", "relined"}),
    ],
)  # fmt: skip
def test_a_line_of_the_log_makes_stale_only_what_goes_by_it(
    line: tuple[str, ...], measured: bool, stale: set[str]
) -> None:
    def keyed(rows: tuple[tuple[str, ...], ...]) -> dict[str, str]:
        log = Form("log", LOGGED, rows, "log.csv", tuple(range(2, len(rows) + 2)))
        forms = {"log": log} | ({"as_hung": SEAM} if measured else {})
        return keys(forms, {"log": str(rows)} | ({"as_hung": "a"} if measured else {}))

    before, after = keyed((HUNG,)), keyed((HUNG, line))
    assert {name for name in before if before[name] != after[name]} == stale


def test_the_order_of_rules_on_the_form_does_not_matter() -> None:
    lines = [("butts.passing", "2"), ("butts.adjacent_spaces", "3")]
    assert keys({"rules": rules_form(*lines)}, {}) == keys({"rules": rules_form(*lines[::-1])}, {})


# ---- the runner


@pytest.fixture
def counted(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Steps that only note that they were made."""
    made: list[str] = []

    def note(name: str) -> object:
        def maker(bench: object, tell: object) -> Made:
            made.append(name)
            finding = Finding("X001", Severity.NOTE, name, "", "made")
            return Made((name, len(made)), (finding,))

        return maker

    monkeypatch.setattr(making, "_MAKERS", {step.name: note(step.name) for step in STEPS})
    monkeypatch.setattr(runner, "on_its_boards", lambda bench: bench.made["shop"])
    return made


def test_what_is_kept_is_not_made_again(counted: list[str]) -> None:
    shelf = MemoryShelf()
    forms = {"rules": rules_form(("butts.passing", "2"))}
    first = run(forms, {"rules": "a"}, shelf)
    assert counted == [step.name for step in STEPS]
    second = run(forms, {"rules": "a"}, shelf)
    assert len(counted) == len(STEPS)
    assert second.seconds == {}
    assert second.findings == first.findings
    run({"rules": rules_form(("butts.passing", "1"))}, {"rules": "b"}, shelf)
    assert counted[len(STEPS) :] == [
        "butts", "planks", "shapes", "repair", "stands", "laying", "order", "shop", "hanging",
        "work", "relined",
    ]  # fmt: skip


def test_a_step_that_does_not_settle_stops_the_run_and_keeps_the_rest(
    counted: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(bench: object, tell: object) -> Made:
        raise NotConverged("the seams cross")

    monkeypatch.setitem(making._MAKERS, "lining", fails)
    shelf = MemoryShelf()
    done = run({}, {}, shelf)
    assert done.stopped == "lining out did not settle: the seams cross"
    assert done.result("hull") is not None
    assert done.result("lining") is None
    assert len(shelf.results) == 2


def test_progress_runs_from_nothing_to_one(counted: list[str]) -> None:
    told: list[float] = []
    said: list[str] = []
    run({}, {}, MemoryShelf(), tell=lambda part, words: (told.append(part), said.append(words)))
    assert "done" not in said  # papers come after it
    assert told == sorted(told)
    assert (told[0], told[-1]) == (0.0, 1.0)


def layouts(*reached: tuple[int, bool]) -> list[Made]:
    """Layouts as a search would find them: how many butts, and whether proved the fewest."""
    return [
        Made(
            (None, Layout((), True, (Goal("butts", n, n if proved else 0, proved),), 1.0, 0), None)
        )
        for n, proved in reached
    ]


@pytest.mark.parametrize(
    ("first", "second", "searched", "kept"),
    [
        ((40, False), (38, False), True, 38),
        ((40, False), (41, False), True, 40),
        ((40, False), (40, True), True, 40),
        ((40, True), (38, False), False, 40),
    ],
)
def test_a_longer_search_is_made_only_where_the_best_is_not_proved(
    counted: list[str], monkeypatch: pytest.MonkeyPatch, first, second, searched: bool, kept: int
) -> None:
    found = layouts(first, second)
    given: list[float] = []

    def lay(bench: Bench, tell: object) -> Made:
        given.append(bench.seconds)
        return found[len(given) - 1]

    monkeypatch.setitem(making._MAKERS, "butts", lay)
    shelf = MemoryShelf()
    run({}, {}, shelf)
    run({}, {}, shelf)
    assert given == [30.0]  # not asked for: not searched again
    done = run({}, {}, shelf, "butts", seconds=90.0)
    assert given == ([30.0, 90.0] if searched else [30.0])
    assert done.result("butts")[1].goals[0].value == kept
    before = counted.count("planks")
    after = run({}, {}, shelf)
    better = searched and after.result("butts")[1] is found[1].result[1]
    assert counted.count("planks") == before + better  # planks of another layout are not kept
    assert after.result("butts")[1].goals[0].value == kept


def test_a_job_file_is_as_good_a_shelf(counted: list[str], tmp_path: Path) -> None:
    with JobFile.create(tmp_path / "a.ribband") as job:
        job.add_revision({"rules": rules_form()}, "Ada", "")
        first = run({}, {}, job)
        second = run({}, {}, job)
    assert len(counted) == len(STEPS)
    assert second.result("planks") == first.result("planks")
    assert second.findings == first.findings


@pytest.mark.parametrize(
    ("said", "unit"), [("", "mm"), ("ft-in-8ths", "ft-in-8ths"), ("cubits", "mm")]
)
def test_the_unit_is_the_vessels_own(said: str, unit: str) -> None:
    form = Form("vessel", ("item", "value"), (("Unit", said),), "vessel.csv", (2,))
    assert job_unit({"vessel": form}) == unit


# ---- rules as written


def test_rules_are_read_in_the_unit_of_the_job() -> None:
    form = rules_form(("lining.greatest_width", "0-7-4"), ("butts.passing", "2"))
    rules = in_force(form, "ft-in-8ths")
    assert rules["lining"].greatest_width_mm == pytest.approx(7.5 * 25.4)
    assert rules["butts"].passing == 2
    assert in_force(rules_form(("lining.greatest_width", "190")), "mm")["lining"] == replace(
        in_force(None, "mm")["lining"], greatest_width_mm=190.0
    )


def test_a_published_set_is_a_start_that_may_be_changed() -> None:
    form = rules_form(("butts.between", "5ft"), ("butts.set", "lake-1866"))
    rules = in_force(form, "mm")["butts"]
    assert (rules.name, rules.adjacent_mm, rules.between_mm) == ("lake-1866", 1524.0, 1524.0)
    shown = {rule.name: rule for rule in list_rules(form, "mm")}
    assert shown["butts.set"].value == "lake-1866"
    assert shown["butts.between"].changed


@pytest.mark.parametrize("text", ["12", "12:1", " 12 : 1 ", "1:12", "1 in 12", "12 to 1", "12.0"])
def test_a_scarfs_slope_is_read_either_way_round(text: str) -> None:
    rules = in_force(rules_form(("shapes.scarf_slope", text), ("repair.scarf_slope", text)), "mm")
    assert rules["shapes"].scarf_slope == rules["repair"].scarf_slope == 12.0


@pytest.mark.parametrize("text", ["12:2", "12:1:1", "12:", ":12", "a in b", "1:4", "nan:1"])
def test_a_slope_that_says_nothing_sure_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="wanted"):
        in_force(rules_form(("shapes.scarf_slope", text)), "mm")


@pytest.mark.parametrize("text", ["7:30", "07:30", "7.5"])
def test_a_time_of_day_is_read_as_papers_write_it(text: str) -> None:
    assert in_force(rules_form(("work.clock", text)), "mm")["work"].clock == 7.5


@pytest.mark.parametrize("text", ["7:60", "7:3", "7:", ":30", "half past 7", "-7:30", "17:00"])
def test_what_is_no_time_the_day_may_begin_at_is_refused(text: str) -> None:
    with pytest.raises(InputError, match="wanted"):
        in_force(rules_form(("work.clock", text)), "mm")


def test_every_problem_of_the_rules_is_told_with_its_row() -> None:
    form = rules_form(
        ("butts.passing", "-1"), ("lining.greatest_width", "wide"), ("butts.what", "1"),
        ("keel.depth", "1"), ("butts.set", "mine"), ("planks.yield_part", "nan"),
    )  # fmt: skip
    with pytest.raises(InputError) as caught:
        in_force(form, "mm")
    assert {problem.row for problem in caught.value.problems} >= {3, 5, 6, 7}


@pytest.mark.parametrize("unit", list(UNITS))
def test_every_rule_reads_back_as_it_is_shown(unit: str) -> None:
    shown = [rule for rule in list_rules(None, unit) if rule.name != "butts.set"]
    form = rules_form(*((rule.name, rule.value) for rule in shown))
    again = {rule.name: rule.value for rule in list_rules(form, unit)}
    for rule in shown:
        assert again[rule.name] == rule.value


@given(st.sampled_from(["butts.passing", "a", "b"]), st.text(min_size=1), st.text(min_size=1))
def test_setting_a_rule_twice_is_setting_it_once(name: str, first: str, second: str) -> None:
    form = with_rule(with_rule(rules_form(("b", "1")), name, first), name, second)
    assert [row[1] for row in form.rows if row[0] == name] == [second]
    assert len(form.numbers) == len(form.rows)
    assert len(set(form.numbers)) == len(form.numbers)


# ---- decisions and comparing


def test_a_decision_replaces_the_one_before_it() -> None:
    form = with_decision(None, "a", "keep", note="seen")
    form = with_decision(form, "b", "accept")
    form = with_decision(form, "a", "correct", "7-3-2")
    assert form.rows == (("b", "accept", "", ""), ("a", "correct", "7-3-2", ""))
    assert len(set(form.numbers)) == 2


def test_changed_cells_are_named_before_and_after() -> None:
    old, new = rules_form(("a", "1"), ("b", "2")), rules_form(("a", "1"), ("b", "3"), ("c", "4"))
    assert list(changed_cells({"rules": old}, {"rules": new})) == [
        ("rules", "2", "value", "2", "3"),
        ("rules", "3", "rule", "", "c"),
        ("rules", "3", "value", "", "4"),
    ]


def test_answers_are_plain_for_json() -> None:
    value = {
        "a": np.array([1.0, math.nan]),
        "b": Line("x", "y"),
        "c": Severity.NOTE,
        "d": Path("p"),
    }
    said = json.loads(json.dumps(plain(value), allow_nan=False))
    assert said["a"] == [1.0, None]
    assert (said["c"], said["d"]) == ("note", "p")


# ---- forms in


@pytest.mark.parametrize("name", EXAMPLES)
def test_every_example_is_taken_in(name: str, tmp_path: Path) -> None:
    job = job_in(copy_example(name, tmp_path / "forms"), tmp_path).job
    with JobFile.open(job) as opened:
        assert opened.forms() == read_inputs(tmp_path / "forms")


def test_wrong_forms_make_no_job_file(tmp_path: Path) -> None:
    folder = copy_example("marl_heron_girths", tmp_path / "forms")
    (folder / "girths.csv").write_text("frame,girth\n1,long\n")
    with pytest.raises(InputError):
        new_job(tmp_path / "a", folder)
    assert not (tmp_path / "a.ribband").exists()


def test_something_else_of_the_jobs_name_is_not_written_over(tmp_path: Path) -> None:
    folder = copy_example("marl_heron_girths", tmp_path / "forms")
    (tmp_path / "Marl Heron.ribband").write_text("the owner's letter")
    with pytest.raises(JobFileError, match="not a job file"):
        job_in(folder, tmp_path)
    assert (tmp_path / "Marl Heron.ribband").read_text() == "the owner's letter"


def test_forms_left_out_of_a_later_folder_stay(tmp_path: Path) -> None:
    folder = copy_example("marl_heron_girths", tmp_path / "forms")
    job = new_job(tmp_path / "a", folder).job
    only = tmp_path / "only"
    only.mkdir()
    (only / "rules.csv").write_text("rule,value,notes\nbutts.passing,2,\n")
    assert take(job, only).revision.number == 2
    with JobFile.open(job) as opened:
        assert {"girths", "frames", "vessel", "rules"} <= opened.forms().keys()


def test_two_takers_at_once_each_make_a_whole_revision(tmp_path: Path) -> None:
    folder = copy_example("marl_heron_girths", tmp_path / "forms")
    job = new_job(tmp_path / "a", folder).job
    troubles: list[Exception] = []
    each = {
        1: ("rules.csv", "rule,value,notes\nbutts.passing,2,\n"),
        2: ("stock.csv", "length,count,notes\n16ft,20,\n"),
        3: ("lining.csv", "wish,strake,frame,to_frame,value,weight,notes\nstrakes,,,,15,,\n"),
        4: ("old_fastenings.csv", "where,kind,gauge,length,per_frame,notes\nall,nail,10,3in,2,\n"),
    }

    def taker(n: int) -> None:
        own = tmp_path / f"own{n}"
        own.mkdir()
        name, text = each[n]
        (own / name).write_text(text)
        try:
            take(job, own, f"hand {n}")
        except Exception as error:
            troubles.append(error)

    hands = [threading.Thread(target=taker, args=(n,)) for n in (1, 2, 3, 4)]
    for hand in hands:
        hand.start()
    for hand in hands:
        hand.join(60)
        assert not hand.is_alive()
    assert not troubles
    with JobFile.open(job) as opened:
        assert [r.number for r in opened.history()] == [1, 2, 3, 4, 5]
        assert all("girths" in opened.forms(n) for n in range(1, 6))
        assert {"rules", "stock", "lining", "old_fastenings"} <= opened.forms().keys()


def test_quiet_tells_nobody(capsys: pytest.CaptureFixture[str]) -> None:
    runner.quiet(0.5, "words")
    assert capsys.readouterr() == ("", "")


def test_no_two_rules_of_a_stage_read_the_same() -> None:
    says = [(r.name.partition(".")[0], r.says) for r in list_rules(None, "ft-in-8ths")]
    assert [one for one, n in Counter(says).items() if n > 1] == []


def test_rules_of_a_job_in_feet_are_written_without_metric_figures() -> None:
    for rule in list_rules(None, "ft-in-8ths"):
        assert not re.search(r"\d ?mm\b", rule.value + rule.least + rule.most), rule.name
        if rule.unit == "kg":
            assert " lb" in rule.says, rule.name
