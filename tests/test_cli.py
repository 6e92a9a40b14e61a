"""The command line in the user's words, in process."""

from __future__ import annotations

import io
import json
import os
import shutil
import subprocess
import sys
from pathlib import Path

import click
import pytest
from click.testing import CliRunner, Result

from made_kept import demo_copy
from ribband.app.demo import copy_example
from ribband.app.plan import status as at_fault
from ribband.cli import CODES, cli, progress

EXAMPLE = "marl_heron_girths"


def ribband(*words: object) -> Result:
    return CliRunner().invoke(cli, [str(word) for word in words], prog_name="ribband")


def says(*words: object, code: int = 0) -> str:
    result = ribband(*words)
    assert result.exit_code == code, result.output
    assert "Traceback" not in result.output
    return result.output


def data(*words: object, code: int = 0) -> dict:
    result = ribband(*words, "--json")
    assert result.exit_code == code, result.output
    return json.loads(result.stdout)


@pytest.fixture
def forms(tmp_path: Path) -> Path:
    return copy_example(EXAMPLE, tmp_path / "forms")


@pytest.fixture
def job(tmp_path: Path, forms: Path) -> Path:
    says("new", tmp_path / "heron", forms, "--who", "Ada")
    return tmp_path / "heron.ribband"


def test_forms_of_an_example_are_written_filled_in(tmp_path: Path) -> None:
    says("forms", tmp_path / "packet", "--example", "packet_1825")
    assert "Packet ship" in (tmp_path / "packet" / "vessel.csv").read_text("utf-8")
    assert "packet_1825" in says("forms", tmp_path / "x", "--example", "hulk", code=3)
    says("forms", tmp_path / "x", "--example", "packet_1825", "--xlsx", code=2)
    assert not (tmp_path / "x").exists()


def test_a_doubt_is_decided_by_its_place_whatever_its_number_and_it_is_said(
    tmp_path: Path,
) -> None:
    copy_example("marl_heron", tmp_path / "forms")
    says("new", tmp_path / "h", tmp_path / "forms")
    job, place = tmp_path / "h.ribband", "station F, waterline 4-6-0"
    text = says("doubts", job)
    assert place in text
    assert "numbered anew" in text
    told = says("doubts", job, "correct", place, "5-3-5")
    assert "Decided: correct offsets: waterline 4-6-0 at station F as 5-3-5." in told
    assert place not in says("doubts", job).partition("Decisions")[0]


def test_a_reading_nobody_doubts_is_corrected_by_its_name(tmp_path: Path) -> None:
    copy_example("marl_heron", tmp_path / "forms")
    says("new", tmp_path / "h", tmp_path / "forms")
    job, place = tmp_path / "h.ribband", "station G, waterline 4-6-0"
    assert place not in says("doubts", job)
    told = says("doubts", job, "correct", place, "5-3-5")
    assert "Decided: correct offsets: waterline 4-6-0 at station G as 5-3-5." in told
    key = "offsets: waterline 4-6-0 at station G"
    assert [key, "correct", "5-3-5", ""] in data("doubts", job)["decisions"]
    assert "of this one no other value is known" in says("doubts", job, "accept", place, code=3)
    assert key in says(
        "doubts", job, "keep", "station G waterline 4-6-0", code=3
    )  # nearly its name
    assert "Decided: keep" in says("doubts", job, "keep", key)  # as findings print it


def every_verb() -> list[tuple[str, ...]]:
    found = []
    for name, verb in cli.commands.items():
        found.append((name,))
        if isinstance(verb, click.Group):
            found += [(name, "JOB", under) for under in verb.commands]
    return found


@pytest.mark.parametrize("verb", every_verb(), ids=" ".join)
def test_every_verb_teaches_with_an_example_that_is_a_command(verb: tuple[str, ...]) -> None:
    text = says(*verb, "--help")
    assert "Example" in text
    lines = [line.strip() for line in text.splitlines() if line.strip().startswith("ribband ")]
    assert lines
    for line in lines:
        assert line.split()[1] in cli.commands
    assert "\\b" not in text


def test_top_help_gives_the_order_of_work_and_the_exit_codes() -> None:
    text = says("--help")
    steps = [text.index(f"ribband {verb} ") for verb in ("forms", "new", "doubts", "line", "book")]
    assert steps == sorted(steps)
    for code, meaning in CODES.items():
        assert f"{code}  {meaning}" in text
    assert all(f"\n  {verb}" in text for verb in cli.commands)


def test_help_is_there_at_once_and_loads_nothing_heavy() -> None:
    heavy = "numpy scipy ortools reportlab openpyxl ezdxf sqlite3"
    code = (
        "import sys; from ribband.cli import cli\n"
        "try: cli(['--help'])\nexcept SystemExit: pass\n"
        f"print([m for m in {heavy.split()!r} if m in sys.modules])"
    )
    spent = []
    for _ in range(3):
        began = spent_by_others()
        done = subprocess.run(
            [sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=60
        )
        spent.append(spent_by_others() - began)
        assert done.stdout.splitlines()[-1] == "[]"
    assert min(spent) < 0.5  # of the processor; 0.1 s on a quiet machine


def spent_by_others() -> float:
    """Give the seconds of the processor that ended programs took."""
    spent = os.times()
    return spent.children_user + spent.children_system


def test_blank_forms_are_written_once_and_can_be_read_back(tmp_path: Path) -> None:
    text = says("forms", tmp_path / "f", "--unit", "ft-in-8ths")
    assert "wrote" in text
    assert "then: ribband new JOB" in text
    assert (tmp_path / "f" / "girths.csv").exists()
    again = says("forms", tmp_path / "f", code=3)
    assert "may be filled in already" in again
    assert "1 problem" in again
    assert "--unit ft-in-8ths" not in text
    assert "give --unit ft-in-8ths" in says("forms", tmp_path / "metric")
    assert len(data("forms", tmp_path / "g", "--xlsx")["files"]) == 1
    assert "furlongs" in says("forms", tmp_path / "h", "--unit", "furlongs", code=3)


def test_a_job_is_made_and_tells_what_to_do_next(job: Path) -> None:
    text = says("status", job)
    assert "Marl Heron" in text
    assert "revision 1" in text
    assert "not made" in text
    assert "Next: make what is not made yet: ribband plan" in text
    assert says("status", job.with_suffix("")) == text  # the ending may be left off
    (revision,) = data("history", job)["revisions"]
    assert (revision["who"], revision["kind"]) == ("Ada", "new")


@pytest.mark.parametrize(
    ("said", "name"),
    [(".", "jobs"), ("..", "yard"), ("heron.ribband", "heron"), ("heron", "heron")],
)
def test_what_is_opened_is_called_by_its_name(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, said: str, name: str
) -> None:
    (tmp_path / "yard" / "jobs").mkdir(parents=True)
    monkeypatch.chdir(tmp_path / "yard" / "jobs")
    monkeypatch.setattr("ribband.cli.opening.open_in_browser", lambda *_, **__: None)
    monkeypatch.setattr("ribband.cli.opening._open_yard", lambda *_, **__: None)
    assert says("open", said) == f"Opening {name} ...\n"


def test_an_empty_job_says_what_it_wants(tmp_path: Path) -> None:
    says("new", tmp_path / "empty")
    assert "Next: take forms in" in says("status", tmp_path / "empty")
    assert "a job without forms" in says("plan", tmp_path / "empty.ribband", code=3)


def test_taking_the_same_forms_changes_nothing(job: Path, forms: Path) -> None:
    before = data("status", job)["inputs_hash"]
    assert "no revision was made" in says("take", job, forms)
    assert data("status", job)["inputs_hash"] == before
    assert len(data("history", job)["revisions"]) == 1


def alter(forms: Path, name: str, old: str, new: str) -> None:
    path = forms / name
    text = path.read_text("utf-8-sig")
    assert old in text
    path.write_text(text.replace(old, new, 1), "utf-8")


def test_a_change_is_a_revision_that_can_be_undone_and_redone(job: Path, forms: Path) -> None:
    alter(forms, "vessel.csv", "Marl Heron", "Marl Heron II")
    text = says("take", job, forms, "--why", "renamed", "--who", "Ben", "--replace")
    assert "Revision 2 made" in text
    assert "Next: make what is not made yet: ribband plan" in text
    assert "renamed" in says("history", job)
    assert "Marl Heron II" in says("compare", job)
    assert "Revision 3 made, as revision 1" in says("undo", job)
    assert data("status", job)["vessel"] == "Marl Heron"
    assert "nothing to undo" in says("undo", job, code=2)
    assert "Revision 4 made, as revision 2" in says("redo", job)
    assert data("status", job)["vessel"] == "Marl Heron II"
    assert "nothing to redo" in says("redo", job, code=2)
    assert "a revision from 1 to 4" in says("compare", job, 1, 9, code=3)


def test_wrong_forms_change_nothing_and_every_problem_is_told(job: Path, forms: Path) -> None:
    before = job.read_bytes()
    alter(forms, "vessel.csv", "ft-in-8ths", "cubits")
    girths = forms / "girths.csv"
    lines = girths.read_text("utf-8-sig").splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("frame,"))
    column = lines[at].split(",").index("girth")
    for row in (at + 2, at + 3):
        cells = lines[row].split(",")
        cells[column] = "about six"
        lines[row] = ",".join(cells)
    girths.write_text("\n".join(lines), "utf-8")
    text = says("take", job, forms, code=3)
    assert "nothing was changed" in text
    assert "girths.csv" in text
    assert f"row {at + 3}, girth: found 'about six'" in text
    assert f"row {at + 4}, girth: found 'about six'" in text
    assert "cubits" in text
    assert job.read_bytes() == before
    problems = data("take", job, forms, code=3)["problems"]
    assert {"file", "row", "column", "found", "wanted", "example"} <= problems[0].keys()


def test_rules_are_listed_set_and_refused(job: Path) -> None:
    text = says("rules")
    assert "butts.passing" in text
    assert "lining.greatest_width" in text
    assert "Revision 2 made" in says("rules", job, "set", "butts.passing", "2")
    (rule,) = [r for r in data("rules", job)["rules"] if r["name"] == "butts.passing"]
    assert (rule["value"], rule["default"], rule["changed"]) == ("2", "3", True)
    assert "That is so already" in says("rules", job, "set", "butts.passing", "2")
    assert "wanted 0 to 20" in says("rules", job, "set", "butts.passing", "99", code=3)
    assert "a whole number" in says("rules", job, "set", "butts.passing", "few", code=3)
    assert "a rule of butts" in says("rules", job, "set", "butts.nonsense", "1", code=3)
    assert "its stage" in says("rules", job, "set", "nonsense", "1", code=3)
    says("rules", job, "set", "butts.set", "lake-1866")
    assert "lake-1866" in says("rules", job)


def test_sources_are_listed_with_their_marks() -> None:
    found = data("sources")["sources"]
    assert {"read", "house"} <= {source["mark"] for source in found}


def test_the_whole_file_is_checked(job: Path) -> None:
    assert "The job file is whole." in says("check", job)
    whole = job.read_bytes()
    job.write_bytes(whole.replace(b"Marl Heron", b"Marl Haron"))
    assert "damaged" in says("check", job, code=1)
    job.write_bytes(whole[: len(whole) // 2])
    assert ribband("check", job).exit_code in {1, 4}


INTO_FOLDERS = [
    ("demo", "--out", "d.pdf"),
    ("plan", "heron", "--out", "d.pdf"),
    ("draw", "heron", "boards", "--out", "d.PDF"),
    ("patterns", "heron", "--out", "d.dxf"),
    ("bars", "heron", "--out", "d.svg"),
    ("repair", "heron", "--out", "d.pdf"),
    ("scan", "a.ply", "--frames", "f", "--picks", "p.csv", "--out", "d.csv"),
    ("study", "heron", "--out", "d.csv"),
    ("tables", "heron", "d.csv"),
    ("text", "heron", "d.txt"),
]


@pytest.mark.parametrize("words", INTO_FOLDERS, ids=" ".join)
def test_where_a_folder_is_written_the_name_of_a_file_is_refused(
    tmp_path: Path, words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    result = ribband(*words)
    assert result.exit_code == 2, result.output
    assert f"'{words[-1]}' names a file, and a folder is wanted" in result.output
    assert "such as 'd'" in result.output
    assert not list(tmp_path.iterdir())


def test_a_folder_that_is_there_may_have_any_name(job: Path, tmp_path: Path) -> None:
    folder = tmp_path / "d.txt"
    folder.mkdir()
    assert ribband("text", job, folder).exit_code == 0
    assert list(folder.iterdir())


BAD = [
    ("fly",),
    ("status",),
    ("status", "nowhere"),
    ("status", "."),
    ("status", "notes.txt"),
    ("take", "nowhere", "forms"),
    ("take", "heron", "nowhere"),
    ("take", "heron", "notes.txt"),
    ("take", "heron", "empty"),
    ("new", "heron", "forms"),
    ("new", "no/such/folder/heron", "forms"),
    ("new", "other", "nowhere"),
    ("plan", "forms"),
    ("plan", "nowhere", "--out", "out"),
    ("plan", "heron", "--seconds", "0"),
    ("plan", "heron", "--seconds", "soon"),
    ("plan", "heron", "--replace"),
    ("line", "heron", "set"),
    ("butts", "heron", "fix", "5"),
    ("butts", "nowhere", "drop", "1"),
    ("scan", "notes.txt", "--frames", "heron", "--out", "out"),
    ("scan", "notes.txt", "--frames", "heron", "--picks", "notes.txt", "--out", "out"),
    ("draw", "heron", "portrait"),
    ("draw", "nowhere", "expansion"),
    ("draw", "heron", "expansion", "--format", "jpg"),
    ("doubts", "nowhere"),
    ("doubts", "heron", "shrug", "1"),
    ("rules", "nowhere", "set", "butts.passing", "2"),
    ("rules", "heron", "set", "butts.passing"),
    ("compare", "heron", "0"),
    ("compare", "heron"),
    ("tables", "heron"),
    ("tables", "nowhere", "out"),
    ("book", "nowhere"),
    ("undo", "heron"),
    ("redo", "heron"),
    ("forms", "notes.txt"),
    ("history", "notes.txt", "--json"),
]


@pytest.mark.parametrize("words", BAD, ids=" ".join)
def test_wrong_use_is_answered_in_words(
    tmp_path: Path, job: Path, words: tuple[str, ...], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "notes.txt").write_text("a note")
    (tmp_path / "empty").mkdir()
    before = job.read_bytes()
    result = ribband(*words)
    assert result.exit_code in {2, 3, 4}, result.output
    assert result.output.strip()
    assert "Traceback" not in result.output
    assert job.read_bytes() == before


def test_an_error_of_ours_is_short_and_leaves_its_details(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(path: Path) -> None:
        raise ZeroDivisionError("a frame of no width")

    monkeypatch.setattr(at_fault, "status_answer", fails)
    text = says("status", job, code=5)
    assert "Something went wrong in Ribband itself" in text
    path = Path(text.split("The details are in ")[1].split(";")[0])
    assert "ZeroDivisionError: a frame of no width" in path.read_text("utf-8")
    path.unlink()


# ---- with a plan made


@pytest.fixture(scope="module")
def planned(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("planned")
    forms = copy_example(EXAMPLE, folder / "forms")
    result = ribband("plan", forms, "--out", folder / "out", "--seconds", "5", "--json")
    assert result.exit_code in {0, 1}, result.output
    (folder / "answer.json").write_text(result.stdout, "utf-8")
    return folder


@pytest.fixture
def plan(planned: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(planned, tmp_path / "plan")) / "out"


def only_job(folder: Path) -> Path:
    (job,) = folder.glob("*.ribband")
    return job


def test_a_folder_of_forms_goes_straight_to_everything(plan: Path) -> None:
    answer = json.loads((plan.parent / "answer.json").read_text("utf-8"))
    assert set(answer["files"]) == {"book", "drawings", "tables", "job file"}
    assert only_job(plan).name == "Marl Heron.ribband"
    assert (plan / "tables" / "datapackage.json").exists()
    assert (plan / "tables" / "planks.csv").exists()
    assert list(plan.glob("*.pdf"))
    assert {path.suffix for path in (plan / "drawings").iterdir()} == {".pdf", ".svg", ".dxf"}
    assert answer["totals"]["planks"][0]["planks"] > 20
    goals = [s for s in answer["searches"] if s["search"].startswith("butts")]
    assert all(goal["bound"] <= goal["value"] for goal in goals)
    assert answer["versions"]["ribband"]


def test_everything_is_fresh_and_nothing_is_made_again(plan: Path) -> None:
    job = only_job(plan)
    assert {step["state"] for step in data("status", job)["steps"]} == {"good"}
    before = job.read_bytes()
    assert ribband("planks", job).exit_code in {0, 1}
    assert job.read_bytes() == before


def test_a_butt_rule_leaves_the_hull_and_the_lining_good(plan: Path) -> None:
    job = only_job(plan)
    says("rules", job, "set", "butts.hood", "3-0-0")
    states = {step["step"]: step["state"] for step in data("status", job)["steps"]}
    good = {"survey", "hull", "lining", "boards"}
    assert states == {name: "good" if name in good else "stale" for name in states}
    assert {"butts", "planks", "shapes", "laying", "order", "shop"} <= states.keys()
    says("undo", job)
    assert {step["state"] for step in data("status", job)["steps"]} == {"good"}


def test_tables_go_round_without_a_change(plan: Path, tmp_path: Path) -> None:
    job = only_job(plan)
    before = data("status", job)["inputs_hash"]
    assert ribband("tables", job, tmp_path / "tables").exit_code == 0
    assert "no revision was made" in says("take", job, tmp_path / "tables")
    says("new", tmp_path / "second", tmp_path / "tables")
    assert data("status", tmp_path / "second")["inputs_hash"] == before
    summary = json.loads((tmp_path / "tables" / "summary.json").read_text("utf-8"))
    assert summary["inputs_hash"] == before


@pytest.mark.parametrize(
    "verb",
    ["line", "butts", "planks", "doubts", "plan", "steaming", "fastenings", "caulking", "handling"],
)
def test_each_stage_is_shown_in_the_unit_of_the_job_and_as_data(plan: Path, verb: str) -> None:
    job = only_job(plan)
    result = ribband(verb, job)
    assert result.exit_code in {0, 1}, result.output
    answer = json.loads(ribband(verb, job, "--json").stdout)
    assert isinstance(answer["good"], bool)
    assert (result.exit_code == 1) == (not answer["good"])


def test_every_finding_says_its_severity_in_words(plan: Path) -> None:
    text = ribband("plan", only_job(plan)).output
    shown = text.split("\nFindings\n")[1].splitlines() if "\nFindings\n" in text else []
    for line in shown:
        assert line.split()[0] in {"NOTE", "CAUTION", "FAULT"}
    assert "\x1b[" not in text


def test_a_drawing_is_put_on_the_paper_asked_for(plan: Path, tmp_path: Path) -> None:
    job = only_job(plan)
    text = says(
        "draw", job, "expansion", "--out", tmp_path / "d", "--paper", "A1", "--format", "svg"
    )
    assert "wrote" in text
    assert list((tmp_path / "d").glob("expansion*.svg"))
    assert "paper" in says("draw", job, "widths", "--paper", "napkin", code=3)
    assert "only girths" in says("draw", job, "lines", "--out", tmp_path / "d", code=3)
    scaled = ("--out", tmp_path / "d", "--scale", "1:10")
    assert "ticks is always full size" in says("draw", job, "ticks", *scaled, code=3)
    assert "widths is always a table" in says("draw", job, "widths", *scaled, code=3)
    says("draw", job, "expansion", *scaled, "--format", "svg")


def test_a_decision_is_a_revision(plan: Path) -> None:
    job = only_job(plan)
    found = data("doubts", job)["doubts"]
    assert "the number of a doubt" in says("doubts", job, "keep", "77", code=3) or not found
    if found:
        assert "Revision 2 made" in says("doubts", job, "keep", "1", "--note", "seen")
        assert [found[0]["key"], "keep", "", "seen"] in data("doubts", job)["decisions"]
        still = [d for d in data("doubts", job)["doubts"] if not d["decision"]]
        assert found[0]["key"] not in {doubt["key"] for doubt in still}


def test_one_doubt_is_one_reading_and_none_asks_for_no_decision(
    job: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    text = says("doubts", job)
    count = len(data("doubts", job)["doubts"])
    assert f"{count} doubtful reading{'s' * (count != 1)}, " in text
    monkeypatch.setattr("ribband.app.entering.doubts.list_doubts", lambda path: ())
    text = says("doubts", job, "keep", "1", code=3)
    assert "found '1'; wanted no decision: none is doubtful" in text
    assert "e.g." not in text


def test_a_wish_for_a_strake_that_is_not_there_is_found_on_its_form(plan: Path) -> None:
    job = only_job(plan)
    says("butts", job, "fix", "44", "12")
    text = says("butts", job, code=3)
    assert "butts.csv" in text
    assert "row 2, strake: found '44'; wanted a strake: 1, 2" in text
    says("butts", job, "drop", "1")
    says("line", job, "set", "width", "0-7-0", "--strake", "44", "--frame", "12")
    text = says("line", job, code=3)
    assert "lining.csv" in text
    assert "row 2, strake: found '44'; wanted one of 1 to" in text


def test_wishes_are_numbered_where_they_are_shown(plan: Path) -> None:
    job = only_job(plan)
    text = says("butts", job, "forbid", "4", "25", "28", "--reason", "engine beds")
    stale = "butts, planks, shapes, repair, stands, laying, order, shop, hanging, work, relined"
    assert f"Stale: {stale}." in text
    assert "Next: bring it up to date: ribband plan" in text
    shown = ribband("butts", job, "--seconds", "2").output.split("Wishes (form butts)\n")[1]
    assert shown.splitlines()[1].split()[:5] == ["1", "forbid", "4", "25", "28"]


def test_a_plan_of_a_job_says_that_it_wrote_no_job_file(plan: Path, tmp_path: Path) -> None:
    job = only_job(plan).rename(plan / "boat.ribband")
    result = ribband("plan", job, "--out", tmp_path / "papers")
    assert result.exit_code in {0, 1}, result.output
    assert "which stays there; none was written in" in result.output
    assert not list((tmp_path / "papers").glob("*.ribband"))
    assert (tmp_path / "papers" / "Marl Heron planking book.pdf").exists()


def test_a_read_only_answer_does_not_need_to_write(plan: Path) -> None:
    job = only_job(plan)
    job.chmod(0o444)
    assert ribband("planks", job).exit_code in {0, 1}


# ---- colour and progress


def test_colour_is_used_on_a_terminal_unless_it_is_not_wanted(plan: Path) -> None:
    words = ["plan", str(only_job(plan))]
    coloured = CliRunner().invoke(cli, words, color=True).output
    plain = CliRunner().invoke(cli, words, color=True, env={"NO_COLOR": "1"}).output
    assert "\x1b[" in coloured
    assert "\x1b[" not in plain
    assert click.unstyle(coloured) == plain


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def progress_of(monkeypatch: pytest.MonkeyPatch, stream: io.StringIO, *times: float) -> str:
    clock = iter(times)
    monkeypatch.setattr(sys, "stderr", stream)
    monkeypatch.setattr(progress.time, "monotonic", lambda: next(clock))
    with progress.Progress() as tell:
        for n, _ in enumerate(times[1:], 1):
            tell(n / 10, "fairing the hull")
    return stream.getvalue()


def test_short_work_is_done_in_silence(monkeypatch: pytest.MonkeyPatch) -> None:
    assert progress_of(monkeypatch, Terminal(), 0.0, 0.3, 0.9) == ""


def test_a_terminal_sees_the_time_left_and_is_left_clean(monkeypatch: pytest.MonkeyPatch) -> None:
    text = progress_of(monkeypatch, Terminal(), 0.0, 2.0, 4.0)
    assert "20% fairing the hull, about 16 s left" in text
    assert "\n" not in text
    assert text.endswith(" \r")


def test_elsewhere_each_step_is_one_plain_line(monkeypatch: pytest.MonkeyPatch) -> None:
    text = progress_of(monkeypatch, io.StringIO(), 0.0, 2.0, 4.0, 6.0)
    assert text == "... fairing the hull (10%)\n"


@pytest.mark.slow
def test_the_demo_does_everything_and_says_what_to_open(tmp_path: Path) -> None:
    result = demo_copy(tmp_path)
    assert result.exit_code in {0, 1}, result.output
    for what in ("strakes a side", "butts a side", "planks", "timber", "doubtful readings"):
        assert what in result.output
    *places, then = result.output.split("To open\n")[1].splitlines()
    assert "ribband doubts" in then
    for line in places:
        place = tmp_path / line.strip().split("  ", 1)[1].strip()
        assert place.exists(), place
    assert (tmp_path / "demo" / "forms" / "offsets.csv").exists()
