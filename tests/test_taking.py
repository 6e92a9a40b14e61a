"""Taking forms in again wipes nothing in silence; wishes set by a word, found when refused."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest
from click.testing import CliRunner

from ribband.app.demo import copy_example
from ribband.app.entering.doubts import with_decision
from ribband.app.entering.jobs import new_job, take
from ribband.app.entering.rules import in_force, with_rule
from ribband.app.entering.taking import is_blank, merged, vessel_says
from ribband.app.entering.wish_use import with_line
from ribband.app.entering.wishes import butt_wishes, lining_wishes, located, spelt
from ribband.app.plan.everything import job_in
from ribband.app.plan.runner import job_unit
from ribband.app.plan.timber_steps import boards_of
from ribband.cli import cli
from ribband.errors import InputError, Problem
from ribband.store import JobFile
from ribband.survey import read_forms, typed, write_blank_forms, write_forms
from ribband.survey.rows import Form

RULES = "rule,value,notes\nbutts.passing,2,\nbutts.hood,3-0-0,asked for\n"
BUTTS = "wish,strake,frame,to_frame,landing,reason,notes\nfix,5,12,,,,\nforbid,4,25,28,,beds,\n"


def says(*words: object, code: int = 0) -> str:
    result = CliRunner().invoke(cli, [str(word) for word in words], prog_name="ribband")
    assert result.exit_code == code, result.output
    return result.output


def stored(job: Path) -> dict[str, Form]:
    with JobFile.open(job) as opened:
        return opened.forms()


@pytest.fixture
def forms(tmp_path: Path) -> Path:
    folder = copy_example("marl_heron_girths", tmp_path / "forms")
    (folder / "rules.csv").write_text(RULES)
    (folder / "butts.csv").write_text(BUTTS)
    return folder


@pytest.fixture
def job(tmp_path: Path, forms: Path) -> Path:
    return new_job(tmp_path / "heron", forms).job


@pytest.fixture
def blank(tmp_path: Path) -> Path:
    write_blank_forms(tmp_path / "blank", "csv", "ft-in-8ths")
    return tmp_path / "blank"


# ---- blank forms and what is dropped


def test_blank_forms_change_nothing_and_are_told(job: Path, blank: Path) -> None:
    before = stored(job)
    text = says("take", job, blank)
    assert "no revision was made" in text
    assert "left as stored: vessel, frames, girths, butts, rules" in text
    assert stored(job) == before


def test_blank_forms_are_taken_as_meant_with_replace(job: Path, blank: Path, forms: Path) -> None:
    for name in ("vessel", "frames", "girths"):
        (blank / f"{name}.csv").write_bytes((forms / f"{name}.csv").read_bytes())
    text = says("take", job, blank, "--replace")
    assert "It drops 2 rules: butts.passing 2, butts.hood 3-0-0." in text
    assert "It drops 2 butt wishes: fix 5 12, forbid 4 25 28 beds." in text
    assert stored(job)["rules"].rows == ()


def test_a_form_deleted_on_purpose_needs_replace(job: Path, forms: Path) -> None:
    (forms / "rules.csv").unlink()
    assert "no revision was made" in says("take", job, forms)
    assert "rules" in stored(job)
    assert "drops 2 rules" in says("take", job, forms, "--replace")
    assert "rules" not in stored(job)


def test_rows_that_a_form_no_longer_has_are_told(job: Path, forms: Path) -> None:
    (forms / "rules.csv").write_text("rule,value,notes\nbutts.passing,1,\n")
    (forms / "butts.csv").write_text(BUTTS.replace("fix,5,12", "fix,5,13"))
    taken = take(job, forms)
    assert taken.drops == ("drops 1 butt wish: fix 5 12", "drops 1 rule: butts.hood 3-0-0")
    assert taken.kept == ()


def test_a_note_that_changes_drops_nothing(job: Path, forms: Path) -> None:
    (forms / "rules.csv").write_text(RULES.replace("asked for", "by the owner"))
    taken = take(job, forms)
    assert taken.revision is not None
    assert taken.drops == ()


def test_planning_over_a_job_wipes_nothing_either(tmp_path: Path, forms: Path) -> None:
    first = job_in(forms, tmp_path / "out")
    (forms / "rules.csv").write_text("rule,value,notes\n")
    again = job_in(forms, tmp_path / "out")
    assert (again.job, again.revision, again.kept) == (first.job, None, ("rules",))
    assert "Came blank and left as stored: rules" in again.says[0]
    assert job_in(forms, tmp_path / "out", replace_all=True).drops


def test_a_blank_vessel_form_of_another_unit_is_refused(job: Path, tmp_path: Path) -> None:
    write_blank_forms(tmp_path / "metres", "csv", "m")
    assert "found 'm'; wanted ft-in-8ths, the unit" in says(
        "take", job, tmp_path / "metres", code=3
    )


def test_an_empty_job_takes_everything_as_it_is(blank: Path, forms: Path) -> None:
    given = {"rules": Form("rules", ("rule", "value", "notes"), (), "rules.csv", ())}
    assert merged({}, given).forms == given


def test_a_job_with_blank_forms_goes_round_without_a_change(
    tmp_path: Path, blank: Path, forms: Path
) -> None:
    for form in forms.glob("*.csv"):
        (blank / form.name).write_bytes(form.read_bytes())
    job = new_job(tmp_path / "whole", blank).job
    write_forms(stored(job), tmp_path / "tables" / "inputs")
    assert take(job, tmp_path / "tables").revision is None
    assert take(job, tmp_path / "tables", replace=True).revision is None


# ---- another vessel


def test_forms_of_another_vessel_are_refused_unless_meant(job: Path, forms: Path) -> None:
    path = forms / "vessel.csv"
    path.write_text(path.read_text("utf-8-sig").replace("Marl Heron", "Sand Martin"), "utf-8")
    before = job.read_bytes()
    text = says("take", job, forms, code=3)
    assert "found 'Sand Martin'; wanted Marl Heron, as in this job" in text
    assert "--replace" in text
    assert job.read_bytes() == before
    assert "Revision 2 made" in says("take", job, forms, "--replace")


# ---- wishes


def test_wishes_are_set_and_dropped_by_a_word(job: Path) -> None:
    assert "Revision 2 made" in says("line", job, "set", "strakes", 17)
    assert "Revision 3 made" in says("line", job, "set", "strakes", 16)
    says("line", job, "set", "width", "0-8-0", "--strake", 1, "--frame", 12)
    rows = stored(job)["lining"].rows
    assert [row[:5] for row in rows] == [
        ("strakes", "", "", "", "16"), ("width", "1", "12", "", "0-8-0"),
    ]  # fmt: skip
    says("butts", job, "forbid", "all", 14, "--reason", "the mast step")
    says("butts", job, "fix", 6, 13, "--block")
    assert "That is so already" in says("butts", job, "fix", 6, 13, "--block")
    assert stored(job)["butts"].rows[2:] == (
        ("forbid", "", "14", "", "", "the mast step", ""), ("fix", "6", "13", "", "block", "", ""),
    )  # fmt: skip
    says("butts", job, "drop", 1)
    assert [row[0] for row in stored(job)["butts"].rows] == ["forbid", "forbid", "fix"]
    assert "a wish from 1 to 3" in says("butts", job, "drop", 4, code=3)
    assert "butts: without fix 5 12" in says("history", job)


@pytest.mark.parametrize(
    ("words", "told"),
    [
        (("butts", "fix", "5", "99"), "frame: found '99'; wanted a frame"),
        (("butts", "fix", "5", "stem"), "no plank is butted at stem or stern"),
        (("butts", "fix", "garboard", "12"), "strake: found 'garboard'; wanted a strake"),
        (("butts", "forbid", "0", "12"), "strake: found '0'"),
        (("line", "set", "strakes", "many"), "a whole number"),
        (("line", "set", "taper", "0.6", "--frame", "12"), "stem, stern or blank, for a taper"),
        (("line", "set", "width", "0-8-0", "--strake", "uppers", "--frame", "12"), "one strake"),
        (("line", "set", "wider", "3"), "wish: found 'wider'"),
        (("line", "drop", "1"), "no wish: there is none"),
    ],
    ids=" ".join,
)
def test_wishes_that_cannot_be_are_refused_when_taken(
    job: Path, words: tuple[str, ...], told: str
) -> None:
    before = job.read_bytes()
    assert told in says(words[0], job, *words[1:], code=3)
    assert job.read_bytes() == before


def rows_of(name: str, *lines: tuple[str, ...]):
    header = {
        "butts": ("wish", "strake", "frame", "to_frame", "landing", "reason", "notes"),
        "lining": ("wish", "strake", "frame", "to_frame", "value", "weight", "notes"),
    }[name]
    cells = tuple((*line, *[""] * (len(header) - len(line))) for line in lines)
    numbers = tuple(range(5, 5 + len(cells)))
    rows, problems = typed(Form(name, header, cells, f"{name}.csv", numbers), "mm")
    assert not problems
    return rows


def refused(rows, *problems: Problem) -> list[tuple[str, int, str]]:
    with pytest.raises(InputError) as caught, located(rows):
        raise InputError(problems)
    return [(p.file, p.row, p.column) for p in caught.value.problems]


def test_what_a_stage_refuses_is_found_on_the_form() -> None:
    rows = rows_of("butts", ("fix", "44", "12"), ("fix", "44", "13"), ("fix", "5", "3"))
    strake = Problem("butts", 0, "strake", "44", "a strake: 1, 2")
    lands = Problem("butts", 0, "frame", "frame 3", "a landing that strake 5 crosses")
    assert refused(rows, strake, strake, lands) == [
        ("butts.csv", 5, "strake"), ("butts.csv", 6, "strake"), ("butts.csv", 7, "frame"),
    ]  # fmt: skip
    wishes = rows_of("lining", ("strakes", "", "", "", "9"), ("stealer", "30", "12"))
    stealer = Problem("lining", 0, "stealer", "30 ['12', 'stern']", "a strake")
    assert refused(wishes, stealer) == [("lining.csv", 6, "strake")]
    other = Problem("rules", 0, "x", "44", "")
    assert refused(rows, other) == [("rules", 0, "x")]


def test_frames_are_spelt_as_the_hull_spells_them() -> None:
    rows = spelt(rows_of("butts", ("forbid", "4", "12a", "14.0")), ("12A", "13", "14"))
    assert (rows[0].values["frame"], rows[0].values["to_frame"]) == ("12A", "14")


def test_stealers_and_groups_are_good_names() -> None:
    butt_wishes(rows_of("butts", ("fix", "6s", "12"), ("forbid", "", "12")))
    lining_wishes(rows_of("lining", ("greatest", "uppers", "", "", "200"), ("taper", "6", "Stem")))


def test_headings_may_stand_in_any_order(tmp_path: Path) -> None:
    """The unit above all: read by its place it would be millimetres without a word."""
    heron = copy_example("marl_heron", tmp_path / "heron")
    turned = copy_example("marl_heron", tmp_path / "turned")
    for name in ("vessel", "boards", "mill", "rules", "frames"):
        form = read_forms(turned / f"{name}.csv")[name]
        back = [row[::-1] for row in (form.header, *form.rows)]
        with (turned / f"{name}.csv").open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows(back)
    given, own = read_forms(turned), read_forms(heron)
    assert job_unit(given) == job_unit(own) == "ft-in-8ths"
    for item in ("vessel", "species", "planking"):
        assert vessel_says(given, item) == vessel_says(own, item) != ""
    assert not is_blank(given["vessel"])
    for folder in (heron, turned):
        new_job(tmp_path / f"{folder.name}.ribband", folder, "Bo", "begun")
    one, other = (
        [(b.name, b.species, b.outline.tolist()) for b in boards_of(forms, job_unit(forms))]
        for forms in (own, given)
    )
    assert one == other
    blank = Form("vessel", ("notes", "value", "item"), (("", "", "vessel"), ("", "mm", "unit")),
                 "", (2, 3))  # fmt: skip
    assert is_blank(blank)


def test_headings_may_be_in_any_case() -> None:
    """A rule under a heading in capitals is in force, and said again in its own place."""
    rules = Form(
        "rules", (" Rule", "VALUE", "notes"), (("butts.passing", "2", ""),), "rules.csv", (2,)
    )
    assert in_force(rules, "mm")["butts"].passing == 2
    assert with_rule(rules, "butts.passing", "3").rows == (("butts.passing", "3", ""),)
    doubts = Form("doubts", ("Reading", "Decision"), (("girths: frame 2", "keep"),), "d.csv", (2,))
    decided = with_decision(doubts, "girths: frame 2", "correct", "1500")
    assert decided.header == ("Reading", "Decision", "value")
    assert decided.rows == (("girths: frame 2", "correct", "1500"),)


def test_a_wish_loses_nothing_on_a_form_that_lacks_its_column() -> None:
    form = Form("butts", ("Wish", "Strake", "Frame"), (("fix", "3", "7"),), "butts.csv", (2,))
    said = {"wish": "forbid", "strake": "3", "frame": "9", "to_frame": "12", "reason": "tank"}
    put = with_line(form, "butts", said)
    assert put.header == ("Wish", "Strake", "Frame", "to_frame", "reason")
    assert put.rows == (("fix", "3", "7", "", ""), ("forbid", "3", "9", "12", "tank"))
