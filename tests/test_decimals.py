"""Decimal commas: never guessed at, told once a file, and taken as decimals where that is said."""

from __future__ import annotations

from pathlib import Path

import pytest
from click.testing import CliRunner
from openpyxl import Workbook

from ribband.app.entering.jobs import history, new_job, take
from ribband.app.plan.inputs import read_inputs
from ribband.cli import cli
from ribband.errors import InputError, Problem
from ribband.store import JobFile
from ribband.survey import read_survey

HALVES = ["1587,5", "1602,0", "1615,25", "1620", "1610,5", "1590,5"]
FORMS = {
    "vessel": "item;value\nvessel;Sand Wren\nunit;mm\nplanking;25,4\n",
    "frames": "frame;position\n" + "".join(f"{n};{600 * n},5\n" for n in range(1, 7)),
    "girths": "frame;girth;notes\n" + "".join(
        f"{n};{girth};10,5 by the old tape\n" for n, girth in enumerate(HALVES, 1)
    ),
    "boards": 'board;length;width_butt;width_top;thickness;flaws;widths;price\nA7,5;5000;300,5;260;'
              '44;"knot at 900,5 up 80 size 30";"279,5 at 1200,5";12,50\n',
    "rules": "rule;value\nlining.greatest_width;180,5\n",
}  # fmt: skip


@pytest.fixture
def commas(tmp_path: Path) -> Path:
    return written(tmp_path / "forms")


def written(folder: Path, **more: str) -> Path:
    folder.mkdir()
    for name, text in {**FORMS, **more}.items():
        (folder / f"{name}.csv").write_text(text, "utf-8")
    return folder


def refused(folder: Path, **how: str) -> tuple[Problem, ...]:
    with pytest.raises(InputError) as wrong:
        read_inputs(folder, **how)  # type: ignore[arg-type]
    return wrong.value.problems


def test_many_commas_are_told_once_a_file_with_what_they_would_be(commas: Path) -> None:
    problems = refused(commas)
    assert [(p.file, p.row) for p in problems] == [
        ("vessel.csv", 0), ("frames.csv", 0), ("girths.csv", 0), ("boards.csv", 0),
        ("boards.csv", 2), ("boards.csv", 2), ("rules.csv", 2),
    ]  # fmt: skip
    girths = problems[2]
    assert girths.found == "5 figures with a comma (girth 5), such as 1587,5 in row 2"
    assert "if the commas are decimals (1587.5), say so" in girths.wanted
    assert girths.example == "--decimal comma"


def test_one_or_two_commas_are_named_by_their_cells(tmp_path: Path) -> None:
    plain = {name: text.replace(",", ".") for name, text in FORMS.items() if name != "boards"}
    plain["boards"] = ""
    folder = written(tmp_path / "forms", **plain)
    (folder / "boards.csv").unlink()
    (folder / "girths.csv").write_text(plain["girths"].replace("1587.5", "1587,5"), "utf-8")
    (problem,) = refused(folder)
    assert (problem.row, problem.column, problem.found) == (2, "girth", "1587,5")


def test_commas_said_to_be_decimals_are_kept_as_points(commas: Path, tmp_path: Path) -> None:
    forms = read_inputs(commas, "comma")
    assert [row[1] for row in forms["girths"].rows] == [h.replace(",", ".") for h in HALVES]
    assert forms["girths"].rows[0][2] == "10,5 by the old tape"  # notes stay as they are
    assert forms["boards"].rows[0] == (
        "A7,5", "5000", "300.5", "260", "44", "knot at 900.5 up 80 size 30", "279.5 at 1200.5",
        "12.50",
    )  # fmt: skip
    assert forms["rules"].rows[0][1] == "180.5"
    assert [g.girth_mm for g in read_survey(forms).girths][:3] == [1587.5, 1602.0, 1615.25]
    taken = new_job(tmp_path / "wren", commas, "Bo", decimal="comma")
    assert history(taken.job)[-1].why == "the job begun; commas of figures read as decimals"
    with JobFile.open(taken.job) as job:
        assert job.forms()["girths"].rows == forms["girths"].rows


@pytest.mark.parametrize("figure", ["1.587", "1.587,5", "1587.5"])
def test_in_forms_of_commas_a_point_is_refused(tmp_path: Path, figure: str) -> None:
    girths = FORMS["girths"].replace("1587,5", figure)
    (problem, *_) = refused(written(tmp_path / "forms", girths=girths), decimal="comma")
    assert (problem.file, problem.row, problem.found) == ("girths.csv", 2, figure)
    assert "no mark for thousands" in problem.wanted


def test_numbers_of_a_workbook_have_no_mark(commas: Path, tmp_path: Path) -> None:
    """Of a workbook only what was typed as text has a comma; its numbers are what they are."""
    book = Workbook()
    book.remove(book.worksheets[0])
    for name in ("vessel", "frames", "girths"):
        sheet = book.create_sheet(name)
        for line in FORMS[name].splitlines():
            sheet.append(line.split(";"))
    book["girths"]["B2"] = 1587.5
    book.save(tmp_path / "forms.xlsx")
    given = read_inputs(tmp_path / "forms.xlsx", "comma")["girths"]
    assert [row[1] for row in given.rows][:2] == ["1587.5", "1602.0"]


def test_the_verbs_take_the_word(commas: Path, tmp_path: Path) -> None:
    run = CliRunner()
    job = str(tmp_path / "wren")
    said = run.invoke(cli, ["new", job, str(commas)])
    assert said.exit_code == 3
    assert "girths.csv\n  found '5 figures with a comma (girth 5)" in said.output
    assert run.invoke(cli, ["new", job, str(commas), "--decimal", "comma"]).exit_code == 0
    (commas / "girths.csv").write_text(FORMS["girths"].replace("1587,5", "1588,5"), "utf-8")
    said = run.invoke(cli, ["take", job, str(commas), "--decimal", "comma"])
    assert said.exit_code == 0, said.output
    assert take(Path(job), commas, decimal="comma").revision is None  # nothing new


def test_a_page_asks_what_the_commas_are(commas: Path, tmp_path: Path) -> None:
    """What a page shows is told by the problem's example, and it sends the files again."""
    from made_client import TestClient  # noqa: PLC0415 - the web only here
    from ribband.web.server import create_app  # noqa: PLC0415

    path = new_job(tmp_path / "wren", None).job
    files = [
        ("files", (file.name, file.read_bytes(), "text/csv")) for file in sorted(commas.iterdir())
    ]
    with TestClient(create_app(path, by_itself=False), base_url="http://127.0.0.1") as client:
        wrong = client.post("/api/take", files=files)
        assert wrong.status_code == 422
        assert "--decimal comma" in {p["example"] for p in wrong.json()["problems"]}
        taken = client.post("/api/take", files=files, data={"decimal": "comma"}).json()
        assert taken["revision"] == 1
        assert client.get("/api/forms/girths").json()["rows"][0][1] == "1587.5"
