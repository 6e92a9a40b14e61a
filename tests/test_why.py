"""Why a figure is what it is: every column, heading and label is known; the answers are true."""

from __future__ import annotations

import ast
import json
import re
import shutil
from collections.abc import Iterator
from fnmatch import filter as fitting
from importlib.resources import files
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from made_client import TestClient
from ribband.app.entering.jobs import change, new_job
from ribband.app.entering.rule_use import set_rule
from ribband.app.entering.rules import list_rules
from ribband.app.papers.tables import known_of
from ribband.app.plan.planning import plan, summary
from ribband.app.plan.steps import STEPS, step_named
from ribband.app.why.asked import Subject, read_question
from ribband.app.why.names import BOOK, COLUMNS, LABELS, for_column, for_heading, for_label
from ribband.app.why.things import THINGS, Thing
from ribband.app.why.traced import Why, marks_of_labels, why
from ribband.cli import cli
from ribband.errors import InputError
from ribband.sources import source, sources
from ribband.store import JobFile
from ribband.store.table_rows import filled
from ribband.store.table_shapes import SHAPES
from ribband.survey.columns import LAYOUTS
from ribband.units import format_length
from ribband.web.server import create_app

HOME = Path(__file__).parents[1]
SOURCE = HOME / "src" / "ribband"
GIRTHS = Path(str(files("ribband").joinpath("data", "examples", "marl_heron_girths")))
PACKET = Path(str(files("ribband").joinpath("data", "examples", "packet_1825")))
PAGES = (
    "plan/planning", "entering/timber_sums", "showing/timber", "showing/shop", "showing/work",
    "screens/overview", "screens/line_out", "screens/shop", "screens/timber",
)  # fmt: skip
FACTS = (
    "strake", "from", "to", "length", "width", "thickness", "smallest blank", "tightest bend",
    "bending", "left-over strain", "steam", "why", "seam closes to", "weight", "fastened",
    "lifted by", "order", "needs", "caulking bevel",
)  # fmt: skip


# ---- nothing is left out


@pytest.mark.parametrize("table", SHAPES)
def test_every_column_of_the_open_tables_is_known(table: str) -> None:
    names = [column.name for column in SHAPES[table].columns]
    assert [name for name in names if for_column(table, name) is None] == []
    told = [name for own in COLUMNS[table].values() for name in own.split()]
    assert sorted(told) == sorted(names)  # each once, and none that is gone


def headings() -> Iterator[tuple[str, str]]:
    """Every heading of the book's tables, with … where a part of it is filled in."""
    for path in sorted((SOURCE / "drawing" / "book").glob("*.py")):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "Col" and node.args:
                for text in told(node.args[0]):
                    yield path.stem, text


def told(node: ast.expr) -> list[str]:
    if isinstance(node, ast.Constant):
        return [str(node.value)]
    if isinstance(node, ast.JoinedStr):
        parts = [p.value if isinstance(p, ast.Constant) else "…" for p in node.values]
        return ["".join(map(str, parts))]
    if isinstance(node, ast.IfExp):
        return [*told(node.body), *told(node.orelse)]
    return ["…"]


HEADINGS = sorted(set(headings()))


@pytest.mark.parametrize(("module", "heading"), HEADINGS, ids=lambda text: text or "blank")
def test_every_heading_of_the_book_is_known(module: str, heading: str) -> None:
    assert for_heading(module, heading) is not None


def test_no_heading_is_listed_that_the_book_does_not_set() -> None:
    there = {(module, " ".join(text.split()).lower()) for module, text in HEADINGS}
    by_job = ("rough board ft", "rough m³", "new butts at", "new scarfs at")  # set by what she has
    there |= {("plank_pages", text) for text in by_job}
    for module, own in BOOK.items():
        for names in own.values():
            for name in names.split("|"):
                assert (module, name) in there, (module, name)


@pytest.mark.parametrize("module", PAGES)
def test_every_figure_of_the_pages_is_known(module: str) -> None:
    """Lines of figures and heads of listings, as the use cases write them."""
    for node in ast.walk(ast.parse((SOURCE / "app" / f"{module}.py").read_text("utf-8"))):
        if not isinstance(node, ast.Call) or not node.args:
            continue
        name = getattr(node.func, "id", "")
        if name == "Line" and isinstance(node.args[0], ast.Constant):
            assert for_label(str(node.args[0].value)), node.args[0].value
        if name == "Listing" and len(node.args) > 1 and isinstance(node.args[1], ast.Tuple):
            for one in node.args[1].elts:
                if isinstance(one, ast.Constant) and one.value:
                    assert for_label(str(one.value)), one.value


@pytest.mark.parametrize("fact", FACTS)
def test_every_fact_of_a_planks_sheet_is_known(fact: str) -> None:
    assert fact in (SOURCE / "app" / "screens/planks.py").read_text("utf-8")
    assert for_label(fact)


@pytest.mark.parametrize("thing", THINGS, ids=lambda thing: thing.key)
def test_a_thing_leans_on_what_there_is(thing: Thing) -> None:
    rules = [rule.name for rule in list_rules(None, "mm")]
    assert all(fitting(rules, pattern) for pattern in thing.rules)
    assert set(thing.forms) <= set(LAYOUTS)
    assert thing.step in {"", *(step.name for step in STEPS)}
    assert (HOME / "docs" / f"{thing.page}.md").exists()
    assert all((SOURCE / "data" / f"{name}.csv").exists() for name in thing.data)
    assert len([own for own in THINGS if own.key == thing.key]) == 1
    named = {key for own in (*COLUMNS.values(), *BOOK.values(), LABELS) for key in own}
    assert thing.key in named


def test_a_thing_names_forms_its_steps_read() -> None:
    """A form a thing names is read by its step or one before it, or says what stage rules hold."""
    for thing in THINGS:
        if thing.step:
            read = {form for name in before(thing.step) for form in step_named(name).forms}
            assert set(thing.forms) <= read | {"rules"}, thing.key


def before(name: str) -> set[str]:
    found = {name}
    for other in step_named(name).after:
        found |= before(other)
    return found


# ---- the answers


@pytest.fixture(scope="module")
def job(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Marl Heron from girths, planned to the plan of work, with changes by two hands."""
    folder = tmp_path_factory.mktemp("why")
    path = new_job(folder / "heron.ribband", GIRTHS, "Ada").job
    set_rule(path, "lining.garboard", "1.3", "Bo")
    set_rule(path, "work.begins", "2027-03-01", "Cy")
    set_rule(path, "work.seconds", "0.3", "Cy")
    plan(path, "work", seconds=0.5)
    return path


def test_a_planks_width_at_a_frame(job: Path) -> None:
    found = why(job, "P7-2 width at 12", made=True)
    done = plan(job, "planks").run
    lining, plank = done.result("lining"), next(p for p in done.result("planks").planks
                                                if p.name == "P7-2")  # fmt: skip
    row = [strake.name for strake in lining.strakes].index("7")
    at = float(lining.full_width_mm[row, lining.columns.index("12")])
    said = {one.where: one.value for one in found.values}
    assert said["lining"] == format_length(at, "ft-in-8ths")
    assert said["planks.width_max_mm"] == format_length(plank.width_max_mm, "ft-in-8ths")
    assert (found.thing, found.of) == ("strake width", "P7-2, frame 12")
    garboard = next(rule for rule in found.rules if rule.name == "lining.garboard")
    assert (garboard.value, garboard.default, garboard.changed) == ("1.3", "1.25", True)
    assert "revision 2, Bo" in garboard.set_by
    assert (garboard.source.mark, garboard.source.marked) == ("common practice", True)
    assert [step.step for step in found.steps][-1] == "lining"
    assert found.page == "docs/lining.md"


def test_the_cells_are_those_that_were_typed(job: Path) -> None:
    found = why(job, "girth at 12", made=True)
    with JobFile.open(job) as store:
        form = store.forms()["girths"]
    rows = [(n, row) for n, row in zip(form.numbers, form.rows, strict=True) if row[0] == "12"]
    typed = [one for one in found.inputs if one.form == "girths" and one.row]
    assert [one.row for one in typed] == [n for n, _ in rows]
    for one, (_, row) in zip(typed, rows, strict=True):
        assert dict(one.typed) == {h: c for h, c in zip(form.header, row, strict=True) if c}
        assert (one.revision, one.who, one.before) == (1, "Ada", False)


def test_a_frame_is_not_taken_for_a_station_of_its_name(tmp_path: Path) -> None:
    """The packet's frame 12 stands at 23 ft, between stations J and H; station 12 is far aft."""
    path = new_job(tmp_path / "packet.ribband", PACKET, "Ada").job
    plan(path, "survey")
    typed = [one for one in why(path, "offset at 12", made=True).inputs if one.form == "offsets"]
    assert {heading for one in typed for heading, _ in one.typed} == {"line", "at", "J", "H"}
    assert dict(typed[0].typed) == {"line": "position", "J": "21", "H": "25"}


def test_a_row_is_as_old_as_its_text_and_no_older(job: Path, tmp_path: Path) -> None:
    own = Path(shutil.copy(job, tmp_path / "heron.ribband"))
    with JobFile.open(own) as store:
        form = store.forms()["frames"]
    at = form.header.index("notes")
    row = next(n for n, cells in enumerate(form.rows) if cells[0] == "12")
    cells = [list(one) for one in form.rows]
    cells[row][at] = "looked at again"
    changed = type(form)(
        "frames", form.header, tuple(map(tuple, cells)), form.file, form.numbers, form.notes
    )
    change(own, {"frames": changed}, "Di", "a note")
    set_rule(own, "lining.garboard", "1.2", "Ed")
    assert since(own, "12") == (5, "Di")
    assert since(own, "14") == (1, "Ada")


def since(job: Path, frame: str) -> tuple[int, str]:
    typed = why(job, f"frame {frame}", made=True).inputs
    own = next(one for one in typed if one.form == "frames" and one.row)
    return own.revision, own.who


def test_every_figure_of_every_table_is_given_as_the_table_has_it(job: Path) -> None:
    """The first row of each table: asked by its column and its keys, the cell is in the answer."""
    planned = plan(job, "work")
    unit = planned.run.bench.unit
    tables = filled(known_of(planned.run))
    assert {"planks", "strakes", "butts", "steaming", "fastenings", "sequence"} <= tables.keys()
    for table in ("planks", "strakes"):
        names = [column.name for column in SHAPES[table].columns]
        cells = dict(zip(names, tables[table][0], strict=True))
        subject = cells["plank"] if "plank" in cells else f"strake {cells['strake']}"
        for name in names[1:]:
            found = why(job, f"{table}.{name} {subject}", made=True)
            assert found.values, (table, name)
            if name.endswith("_mm") and cells[name] is not None:
                assert format_length(cells[name], unit) in {one.value for one in found.values}


@pytest.mark.parametrize(
    ("text", "thing"),
    [
        ("P7-2", "plank"), ("p7-2 sweep", "sweep"), ("butt 7 at 12", "butt"), ("seam 7", "seam"),
        ("seam above strake 7 at frame 12", "seam"), ("strake 7", "strake"), ("frame 12", "frame"),
        ("count of strakes", "strakes"), ("how many butts", "butts"), ("weight of P3-1", "weight"),
        ("steam time P3-1", "steam time"), ("bevel P7-2 at 12", "bevel"), ("board B4", "board"),
        ("the order", "order"), ("date of the plan", "date"), ("P1-1 date", "date"),
        ("hours", "hours"), ("planks.area_m2 P1-1", "plank area"), ("who lifts P1-1", "handling"),
        ("lining.stealers", "rule"), ("L001", "finding"), ("order of hanging", "order of hanging"),
        ("how wide is strake 3", "strake width"), ("hollow", "hollow"), ("off-cuts", "off-cut"),
    ],
)  # fmt: skip
def test_what_is_asked_in_the_shipwrights_words(text: str, thing: str) -> None:
    rules = frozenset(rule.name for rule in list_rules(None, "mm"))
    assert read_question(text, rules).thing.key == thing


def test_what_it_is_of_is_taken_apart() -> None:
    assert read_question("s6s-2 width at stem").subject == Subject(plank="S6s-2", frame="stem")
    assert read_question("butt of strake 7 at frame 12").subject == Subject(strake="7", frame="12")
    assert read_question("weight of board B-12").subject == Subject(board="B-12")


@pytest.mark.parametrize("text", ["a unicorn", "", "   ", "what is it", "\0", "x" * 5000])
def test_what_is_no_thing_of_ours_is_refused_in_words(text: str) -> None:
    with pytest.raises(InputError, match="P7-2 width at 12"):
        read_question(text)


def test_a_total_is_what_the_summary_says(job: Path) -> None:
    said = {line.what: line.value for line in summary(plan(job, "work").run)}
    for text, what in (("count of strakes", "strakes a side"), ("how many planks", "planks")):
        found = why(job, text, made=True)
        assert any(one.what == what and one.value.startswith(said[what]) for one in found.values)


def test_the_steps_are_those_kept_and_a_stale_one_is_said(job: Path, tmp_path: Path) -> None:
    own = Path(shutil.copy(job, tmp_path / "heron.ribband"))
    with JobFile.open(own) as store:
        kept = {result.key: result for result in store.results()}
    found = why(own, "butts", made=True)
    assert [step.step for step in found.steps] == ["hull", "lining", "butts"]
    assert all(kept[step.key].at == step.at for step in found.steps)
    set_rule(own, "lining.garboard", "1.1", "Ed")
    stale = why(own, "butts", made=True)
    assert [bool(step.at) for step in stale.steps] == [True, False, False]
    assert not stale.known
    fresh = why(own, "count of strakes")
    assert fresh.known
    assert all(step.at for step in fresh.steps)


def test_sources_are_marked_as_the_bibliography_marks_them(job: Path) -> None:
    found = why(job, "steam time P3-1", made=True)
    every = [*(rule.source for rule in found.rules), *found.data]
    assert {"from memory", "common practice", "read second-hand"} <= {own.mark for own in every}
    for own in every:
        if own.key:
            assert own.mark == source(own.key).mark
            assert own.marked == (own.mark not in {"read", "calculated"})


def test_findings_on_it_stand_beside_it(job: Path) -> None:
    planned = plan(job, "work")
    own = next(f for f in planned.run.bench.made["shop"].findings)
    code = why(job, own.code, made=True)
    assert {f.code for f in code.findings} == {own.code}
    of_plank = why(job, "P7-2 width", made=True)
    assert all(re.search(r"P7-2|strake 7\b", f.where) for f in of_plank.findings)


def test_a_finding_that_is_not_there_is_told_with_what_it_would_mean(job: Path) -> None:
    """L003 says that a strake is too wide; the demo's girths have none such."""
    found = why(job, "L003", made=True)
    assert found.findings == ()
    assert [said.value for said in found.values] == ["this job has no L003 now"]
    assert "wider than the greatest width" in found.says
    assert "lining.greatest_width" in {rule.name for rule in found.rules}
    assert found.page == "docs/lining.md"
    assert found.steps[-1].step == "lining"
    said = CliRunner().invoke(cli, ["why", str(job), "L003"]).output
    assert "this job has no L003 now" in said
    with pytest.raises(InputError, match="a code that a finding has"):
        why(job, "L999", made=True)


def test_of_a_step_not_made_it_is_not_known_whether_a_finding_is_there(tmp_path: Path) -> None:
    path = new_job(tmp_path / "own.ribband", GIRTHS, "Ada").job
    assert why(path, "L003", made=True).values[0].value.startswith("not known: lining")


# ---- the verb and the pages


def test_the_verb_says_it_in_words_and_in_json(job: Path) -> None:
    said = CliRunner().invoke(cli, ["why", str(job), "P7-2", "width", "at", "12"])
    assert said.exit_code == 0, said.output
    for words in ("width square across", "docs/lining.md", "common practice", "Bo", "lining"):
        assert words in said.output
    body = json.loads(CliRunner().invoke(cli, ["why", str(job), "P7-2", "--json"]).output)
    assert body["thing"] == "plank"
    for none in ("unicorn", "P77-2", "planks.sweep_mm P77-2", "frames.girth_mm frame 99"):
        assert CliRunner().invoke(cli, ["why", str(job), none]).exit_code == 3, none
    said = CliRunner().invoke(cli, ["why", str(job), "P77-2", "--json"])
    assert json.loads(said.output)["good"] is False
    for there in ("L003", "lining.greatest_width", "date"):
        assert CliRunner().invoke(cli, ["why", str(job), there]).exit_code == 0, there


def answered(here: TestClient, **asked: str) -> dict[str, Any]:
    answer = here.get("/api/why", params=asked)
    assert answer.status_code == 200, answer.text
    body: dict[str, Any] = answer.json()
    return body


def test_the_api_answers_the_same_and_lists_the_bibliography(job: Path) -> None:
    with TestClient(create_app(job, by_itself=False), base_url="http://127.0.0.1") as here:
        body = answered(here, thing="P7-2 width at 12", label="width")
        own: Why = why(job, "P7-2 width at 12", made=True)
        assert [one["value"] for one in body["values"]] == [one.value for one in own.values]
        assert (
            answered(here, thing="P7-2 smallest blank", label="smallest blank")["thing"] == "blank"
        )
        assert here.get("/api/why", params={"thing": "unicorn"}).status_code == 422
        assert here.get("/api/why", params={"thing": "x" * 201}).status_code == 422
        marks = here.get("/api/why/marks").json()
        assert "from memory" in marks["steam"]
        assert marks["widest"] == ["common practice"]
        assert "as typed" not in marks
        assert [one["key"] for one in here.get("/api/sources").json()] == [s.key for s in sources()]
        page = here.get("/sources").text
        assert all(f'id="{own.key}"' in page for own in sources())


def test_a_job_without_forms_leans_on_nothing_and_is_asked_after_in_vain(tmp_path: Path) -> None:
    empty = new_job(tmp_path / "empty.ribband", None, "Ada").job
    assert marks_of_labels(empty) == {}
    with pytest.raises(InputError, match="measurements"):
        why(empty, "P7-2", made=True)
