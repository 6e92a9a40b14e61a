"""Studies: many alternatives of one job, on this machine's cores and on a cluster of workers."""

from __future__ import annotations

import csv
import dataclasses
import json
import os
import pickle
import random
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from importlib.resources import files
from multiprocessing import active_children
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from click.testing import CliRunner

from made_waits import until
from ribband.app.entering.jobs import new_job
from ribband.app.entering.rule_use import set_rule
from ribband.app.papers.drawings import Paper
from ribband.app.plan.inputs import read_folder
from ribband.app.plan.planning import plan
from ribband.app.study import hands as study_hands
from ribband.app.study.cases import AS_IT_IS, Alternative, crossed, forms_with, listed
from ribband.app.study.hands import Lost, on_cluster, on_cores
from ribband.app.study.kept import StudyFile, study_path
from ribband.app.study.measures import MEASURES, measured, non_dominated
from ribband.app.study.showing import draw_study, pair_of, study_answer, write_study_table
from ribband.app.study.study import Asked, Studied, study
from ribband.app.study.work import OtherProgram, Outcome, Task, plan_one, task_of
from ribband.cli import cli
from ribband.errors import InputError, JobFileError
from ribband.survey.rows import Form

GIRTHS = Path(str(files("ribband").joinpath("data", "examples", "marl_heron_girths")))
STRAKES = ("11", "12", "13", "14")
ASKED = Asked(crossed([("strakes", STRAKES)]), "lining", 0.5, 2)
TIMELESS = [name for name in MEASURES if name not in {"hours", "days"}]


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return new_job(tmp_path_factory.mktemp("study") / "heron.ribband", GIRTHS, "Ada").job


@pytest.fixture(scope="module")
def studied(job: Path) -> Studied:
    return study(job, ASKED)


@pytest.fixture
def own(job: Path, tmp_path: Path) -> Path:
    """A copy of the job, with nothing studied."""
    return Path(shutil.copy(job, tmp_path / "heron.ribband"))


@pytest.fixture
def here(monkeypatch: pytest.MonkeyPatch) -> None:
    """Plan in this process, where it is not the processes that are looked at."""
    monkeypatch.setattr(
        "ribband.app.study.study.on_cores", lambda tasks, _: (plan_one(t) for t in tasks)
    )


def figures(outcomes: tuple[Outcome, ...]) -> dict[str, Mapping[str, float | None]]:
    return {own.name: own.measures for own in outcomes}


# ---- the alternatives


def test_values_are_crossed_and_rows_listed(tmp_path: Path) -> None:
    found = crossed([("strakes", ("9", "10")), ("lining.greatest_width", ("150", "160", "170"))])
    assert len(found) == 6
    assert found[1].settings == (("strakes", "9"), ("lining.greatest_width", "160"))
    table = tmp_path / "ways.csv"
    table.write_text("alternative,strakes,butts.set\nwide,9,\n,,army-feet\n", "utf-8")
    assert [own.name for own in listed(table)] == ["wide", "set army-feet"]
    assert listed(table)[0].settings == (("strakes", "9"),)
    body = (
        '[vary]\nstrakes = [9, 10]\nlining.stealers = [0]\n[[alternative]]\nname = "b"\nseed = 4\n'
    )
    (tmp_path / "ways.toml").write_text(body, "utf-8")
    assert [own.settings for own in listed(tmp_path / "ways.toml")] == [
        (("strakes", "9"), ("lining.stealers", "0")),
        (("strakes", "10"), ("lining.stealers", "0")),
        (("seed", "4"),),
    ]


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.csv", "alternative,colour\nx,red\n"),
        ("a.csv", "strakes,strakes\n9,10\n"),
        ("a.csv", ""),
        ("a.csv", "strakes\n"),
        ("a.toml", "vary = 3\n"),
        ("a.toml", "[vary\n"),
        ("a.toml", "alternative = [1, 2]\n"),
        ("a.toml", "[vary]\nseed = " + str(list(range(6000))) + "\n"),
    ],
)
def test_a_list_that_cannot_be_read_is_refused_in_words(
    tmp_path: Path, name: str, text: str
) -> None:
    (tmp_path / name).write_text(text, "utf-8")
    with pytest.raises(InputError) as told:
        listed(tmp_path / name)
    assert told.value.problems[0].wanted


def test_every_knob_turns_what_it_says(job: Path, tmp_path: Path) -> None:
    forms = read_folder(GIRTHS)
    (tmp_path / "two.csv").write_text("name,skills\nAnn,all\nBo,all\n", "utf-8")
    settings = (
        ("strakes", "11"), ("stock", "3000 x 8; 4000"), ("hands", "3"), ("seed", "5"),
        ("lining.stealers", "0"), ("form.gear", "gear.csv"),
    )  # fmt: skip
    (tmp_path / "gear.csv").write_text("item,how_many\nstaging,6\n", "utf-8")
    found = forms_with(forms, Alternative("a", settings), tmp_path)
    rules = dict(row[:2] for row in found["rules"].rows)
    assert rules["lining.least_strakes"] == rules["lining.most_strakes"] == "11"
    assert (rules["work.hands"], rules["lining.stealers"]) == ("3", "0")
    assert found["stock"].rows == (("3000", "8"), ("4000", ""))
    assert found["gear"].rows == (("staging", "6"),)
    assert forms == read_folder(GIRTHS)
    crew = forms_with(forms, Alternative("a", (("form.crew", "two.csv"),)), tmp_path)
    assert len(crew["crew"].rows) == 2
    assert "crew" not in forms_with(crew, Alternative("a", (("hands", "2"),)), tmp_path)


def test_settings_that_cannot_be_read_are_told_together(own: Path) -> None:
    wrong = (
        Alternative("a", (("strakes", "many"),)), Alternative("b", (("lining.colour", "1"),)),
        Alternative("c", (("form.crew", "not there.csv"),)), Alternative("d", (("seed", "-1"),)),
    )  # fmt: skip
    with pytest.raises(InputError) as told:
        study(own, Asked(wrong, "lining"))
    assert len(told.value.problems) == 4
    assert not study_path(own).exists()


def test_not_beaten_is_what_comparing_each_with_each_gives() -> None:
    draw = random.Random(7)
    points = [{"a": float(draw.randrange(6)), "b": float(draw.randrange(6))} for _ in range(60)]
    points.append({"a": 0.0, "b": None})  # type: ignore[dict-item]
    found = non_dominated(points, {"a": "less", "b": "more"})
    for mine, marked in zip(points[:-1], found[:-1], strict=True):
        beaten = any(
            o["a"] <= mine["a"]
            and o["b"] >= mine["b"]
            and (o["a"], o["b"]) != (mine["a"], mine["b"])
            for o in points[:-1]
        )
        assert marked is not beaten
    assert found[-1] is False


# ---- on this machine's cores


def test_a_study_gives_what_planning_each_by_hand_gives(studied: Studied, own: Path) -> None:
    assert studied.whole
    assert [out.name for out in studied.outcomes] == [f"strakes {n}" for n in STRAKES]
    for n in ("11", "13"):
        set_rule(own, "lining.least_strakes", n)
        set_rule(own, "lining.most_strakes", n)
        by_hand = measured(plan(own, "lining").run)
        mine = figures(studied.outcomes)[f"strakes {n}"]
        assert mine["strakes"] == int(n)
        assert {name: mine[name] for name in TIMELESS} == {k: by_hand[k] for k in TIMELESS}


@pytest.mark.usefixtures("here")
def test_what_is_kept_is_not_planned_again_and_a_torn_line_is(
    studied: Studied, own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    lines = studied.kept.read_bytes().splitlines(keepends=True)
    study_path(own).write_bytes(b"".join(lines[:3]) + lines[3][:70])
    planned: list[str] = []
    keep = StudyFile.keep
    monkeypatch.setattr(
        StudyFile, "keep", lambda file, out: (planned.append(out.key), keep(file, out))[1]
    )
    again = study(own, ASKED)
    assert again.before == 3
    assert len(planned) == 1
    assert figures(again.outcomes) == figures(studied.outcomes)
    assert set(planned).isdisjoint(json.loads(line)["key"] for line in lines[:3])
    whole = study(own, ASKED)
    assert (whole.before, len(planned)) == (4, 1)


@pytest.mark.usefixtures("here")
def test_a_changed_job_is_planned_anew_and_names_are_no_part_of_it(own: Path) -> None:
    two = Asked(crossed([("hull.lines", ("61", "81"))]), "hull", 0.5, 1)
    assert study(own, two).before == 0
    other = tuple(Alternative(f"way {n}", a.settings) for n, a in enumerate(two.alternatives))
    renamed = study(own, dataclasses.replace(two, alternatives=other))
    assert (renamed.before, renamed.outcomes[0].name) == (2, "way 0")
    set_rule(own, "hull.tolerance", "0-0-2")
    assert study(own, two).before == 0


def test_a_process_that_is_ended_loses_nothing(
    own: Path, studied: Studied, monkeypatch: pytest.MonkeyPatch
) -> None:
    ended: list[int] = []
    keep = StudyFile.keep

    def kill_one(file: StudyFile, out: Outcome) -> None:
        keep(file, out)
        if not ended:
            victim = next(p for p in active_children() if p.pid and str(p.pid) not in out.where)
            assert victim.pid is not None
            ended.append(victim.pid)
            victim.kill()

    monkeypatch.setattr(StudyFile, "keep", kill_one)
    found = study(own, ASKED)
    assert ended
    assert found.whole
    assert not found.lost
    assert figures(found.outcomes) == figures(studied.outcomes)


class Poison:
    """Whoever reads it ends at once."""

    def __reduce__(self) -> tuple[Any, tuple[int]]:
        return os._exit, (1,)


def test_an_alternative_that_ends_every_process_is_given_up_and_the_rest_goes_on() -> None:
    forms = read_folder(GIRTHS)
    good = task_of(Alternative("good"), forms, "survey", 0.5)
    bad = dataclasses.replace(good, key="bad", name="bad", made={"x": Poison()})
    came = list(on_cores([bad, good], 1))
    assert [type(one) for one in came] == [Lost, Outcome]
    assert came[0].task.name == "bad"  # type: ignore[union-attr]


def test_forms_that_cannot_be_planned_are_an_outcome_not_an_end() -> None:
    forms = dict(read_folder(GIRTHS))
    forms["lining"] = Form("lining", ("wish", "strake"), (("nonsense", "1"),), "lining.csv", (2,))
    out = plan_one(task_of(Alternative("a"), forms, "lining", 0.5))
    assert out.state == "refused"
    assert "lining.csv" in out.says


def test_ctrl_c_keeps_what_is_done_and_the_same_command_goes_on(
    own: Path, studied: Studied, monkeypatch: pytest.MonkeyPatch
) -> None:
    command = [sys.executable, "-m", "ribband", "study", str(own), "--to", "lining", "--json",
               "--cores", "1", "--plot", "widest,narrowest", "--vary",
               "strakes=" + ",".join(STRAKES), "--seconds", "0.5"]  # fmt: skip
    process = subprocess.Popen(
        command, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
        start_new_session=True,
    )  # fmt: skip
    kept = study_path(own)
    until(lambda: kept.exists() and kept.read_bytes().count(b"\n") >= 1)
    os.killpg(process.pid, signal.SIGINT)
    said = json.loads(process.communicate(timeout=240)[0])
    assert process.returncode == 1
    assert said["stopped"] == "stopped by hand"
    done = kept.read_bytes().count(b"\n")
    assert 1 <= done < len(STRAKES)
    assert {out.name for out in StudyFile(kept).outcomes.values()} <= figures(
        studied.outcomes
    ).keys()
    monkeypatch.setattr(
        "ribband.app.study.study.on_cores", lambda tasks, _: (plan_one(t) for t in tasks)
    )
    again = study(own, ASKED)
    assert again.before == done
    assert figures(again.outcomes) == figures(studied.outcomes)


@pytest.mark.parametrize("name", ["heron.ribband", "boards.csv"])
def test_a_file_that_is_no_study_is_left_as_it_is(own: Path, name: str) -> None:
    mine = own.with_name(name)
    if not mine.exists():
        mine.write_text("board,length\nA7,7400\n")
    before = mine.read_bytes()
    words = ["study", str(own), "--vary", "seed=1,2", "--to", "lining", "--keep", str(mine)]
    done = CliRunner().invoke(cli, words)
    assert done.exit_code == 4
    assert "is no study file, and is left as it is" in done.output
    assert mine.read_bytes() == before


# ---- on a cluster


@contextmanager
def cluster(folder: Path, workers: int) -> Iterator[tuple[str, list[subprocess.Popen[bytes]]]]:
    """A scheduler and so many workers, each a process of its own."""
    file = folder / "scheduler.json"
    quiet: dict[str, Any] = {"stdout": subprocess.DEVNULL, "stderr": subprocess.DEVNULL}
    env = os.environ | {"OPENBLAS_NUM_THREADS": "1"}

    def begun(what: str, *options: str) -> subprocess.Popen[bytes]:
        command = [sys.executable, "-m", f"distributed.cli.dask_{what}", *options]
        return subprocess.Popen(
            [*command, "--no-dashboard", "--scheduler-file", str(file)],
            env=env,
            cwd=folder,
            **quiet,
        )

    own = ("--host", "127.0.0.1", "--nthreads", "1", "--no-nanny")
    every = [begun("scheduler", "--host", "127.0.0.1", "--port", "0")]
    every += [begun("worker", *own, "--name", f"w{n}") for n in range(workers)]
    try:
        until(file.exists)
        yield json.loads(file.read_text("utf-8"))["address"], every[1:]
    finally:
        for process in every:
            process.kill()
            process.wait(10)


def test_a_cluster_gives_the_same_survives_a_worker_killed_and_may_be_lost(
    own: Path, studied: Studied, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    keep = StudyFile.keep
    with cluster(tmp_path, 2) as (address, workers):
        pids = {str(worker.pid) for worker in workers}
        killed: list[str] = []

        def kill_the_other(file: StudyFile, out: Outcome) -> None:
            keep(file, out)
            seen = {pid_of(one) for one in file.outcomes.values()}
            if not killed and seen == pids:  # both have worked, and are at the next
                killed.extend(pids - {pid_of(out)})
                end(next(w for w in workers if str(w.pid) in killed))

        monkeypatch.setattr(StudyFile, "keep", kill_the_other)
        found = study(own, dataclasses.replace(ASKED, cluster=address))
        assert killed
        assert found.whole
        assert not found.lost
        assert {pid_of(out) for out in found.outcomes} == pids
        assert figures(found.outcomes) == figures(studied.outcomes)

        def kill_the_last(file: StudyFile, out: Outcome) -> None:
            keep(file, out)
            for worker in workers:
                end(worker)

        monkeypatch.setattr(StudyFile, "keep", kill_the_last)
        monkeypatch.setattr(study_hands, "ALONE_SECONDS", 0.5)
        longer = dataclasses.replace(ASKED, cluster=address, seconds=0.6)
        left = study(own, longer)
    assert "no workers" in left.stopped
    assert 1 <= len(left.outcomes) < len(STRAKES)
    assert not study_answer(left, pair_of("widest,narrowest")).good
    assert len(StudyFile(study_path(own)).outcomes) == len(STRAKES) + len(left.outcomes)


class LostAndWorkedAnew:
    """A future that has ended, whose worker is lost before its outcome is taken."""

    status = "finished"

    def __init__(self, outcome: Outcome) -> None:
        self.outcome = outcome
        self.asked = 0

    def result(self, timeout: float) -> Outcome:
        self.asked += 1
        if self.asked == 1:
            raise TimeoutError(f"timed out after {timeout} s")
        return self.outcome

    def exception(self, timeout: float | None = None) -> None:
        """It raised nothing."""


def test_an_outcome_lost_with_its_worker_is_waited_for_again() -> None:
    task = task_of(Alternative("a"), read_folder(GIRTHS), "survey", 0.5)
    out = Outcome(task.key, "a", (), "planned")
    future = LostAndWorkedAnew(out)
    client = SimpleNamespace(
        status="running",
        submit=lambda *_, **__: future,
        scheduler_info=lambda: {"workers": {"w0": {}}},
        cancel=lambda *_, **__: None,
    )
    assert list(study_hands._gathered(client, [task])) == [out]
    assert future.asked == 2


def pid_of(out: Outcome) -> str:
    return out.where.split()[-1]


def end(worker: subprocess.Popen[bytes]) -> None:
    worker.kill()
    worker.wait(10)


def test_no_cluster_and_no_package_are_told_in_words(
    own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(study_hands, "ANSWER_SECONDS", 0.3)
    task = task_of(Alternative("a"), read_folder(GIRTHS), "survey", 0.5)
    for address in ("tcp://127.0.0.1:9", "nonsense://x"):
        with pytest.raises(InputError, match="a scheduler that answers"):
            list(on_cluster([task], address))
    monkeypatch.setattr(study_hands, "find_spec", lambda name: None)
    with pytest.raises(InputError, match="extra called cluster"):
        list(on_cluster([task], "tcp://127.0.0.1:9"))


def test_another_program_plans_nothing() -> None:
    task = task_of(Alternative("a"), read_folder(GIRTHS), "survey", 0.5)
    with pytest.raises(OtherProgram, match="another Ribband"):
        plan_one(dataclasses.replace(task, step_key="0" * 64))


# ---- shown


def test_the_table_and_the_plot_say_what_came_of_it(studied: Studied, tmp_path: Path) -> None:
    pair = pair_of("widest,narrowest")
    path = write_study_table(studied, pair, tmp_path / "study.csv")
    with path.open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["strakes"] for row in rows] == list(STRAKES)
    marked = {row["alternative"] for row in rows if row["not_beaten"] == "true"}
    good = [out for out in studied.outcomes if out.good]
    for out in good:
        wide, thin = out.measures["widest"], out.measures["narrowest"]
        assert wide is not None
        assert thin is not None
        beaten = any(
            o.measures["widest"] <= wide and o.measures["narrowest"] >= thin  # type: ignore[operator]
            and (o.measures["widest"], o.measures["narrowest"]) != (wide, thin)
            for o in good
        )  # fmt: skip
        assert (out.name in marked) is not beaten
    drawn = draw_study(studied, pair, tmp_path, Paper("A4"), ("svg", "pdf"))
    assert all(path.stat().st_size > 1000 for path in drawn)
    words = "".join(ET.parse(drawn[0]).getroot().itertext())
    assert "widest strake (less is better)" in words
    assert f"none better in one and as good in the other: {len(marked)}" in words


def test_the_verb_answers_in_words_and_in_json(own: Path, studied: Studied, tmp_path: Path) -> None:
    shutil.copy(studied.kept, study_path(own))
    line = ["study", str(own), "--vary", "strakes=11,12", "--to", "lining", "--seconds", "0.5",
            "--plot", "widest,narrowest:less", "--show", "strakes,sweep"]  # fmt: skip
    said = CliRunner().invoke(cli, [*line, "--out", str(tmp_path / "out")])
    assert said.exit_code == 0, said.output
    assert "2 kept from before, 0 new" in said.output
    assert (tmp_path / "out" / "study.pdf").exists()
    told = json.loads(CliRunner().invoke(cli, [*line, "--json"]).output)
    assert [own["measures"]["strakes"] for own in told["alternatives"]] == [11, 12]
    assert told["goals"] == {"widest": "less", "narrowest": "less"}
    for wrong in (["--plot", "beauty,butts"], ["--to", "nowhere"], ["--vary", "strakes="]):
        assert CliRunner().invoke(cli, ["study", str(own), *wrong]).exit_code == 3


@pytest.mark.usefixtures("here")
def test_nothing_varied_is_the_job_as_it_is(own: Path) -> None:
    found = study(own, Asked((), "lining", 0.5, 1))
    assert [out.name for out in found.outcomes] == [AS_IT_IS]
    assert found.outcomes[0].measures == measured(plan(own, "lining").run)


def test_a_study_file_that_cannot_be_written_or_read_is_told(tmp_path: Path) -> None:
    with pytest.raises(JobFileError, match="--keep FILE"):
        StudyFile(tmp_path / "no folder" / "x.jsonl").keep(Outcome("k", "a", (), "planned"))
    with pytest.raises(JobFileError, match="cannot be read"):
        StudyFile(tmp_path)
    odd = tmp_path / "odd.jsonl"
    odd.write_text('{"key": 3}\n[1]\nnull\n\x00\n' + "[" * 3000 + "\n", "utf-8")
    assert StudyFile(odd).outcomes == {}
    odd.write_text('[1]\n{"key": 3}\n', "utf-8")
    with pytest.raises(JobFileError, match="no study file"):
        StudyFile(odd)


def test_a_task_can_be_sent_away() -> None:
    task = task_of(Alternative("a"), read_folder(GIRTHS), "survey", 0.5)
    back: Task = pickle.loads(pickle.dumps(task))
    assert back == task
    assert plan_one(back).key == task.key
