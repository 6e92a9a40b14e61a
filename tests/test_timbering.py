"""The timber from the command line: a pile laid, a board spoilt, a pin, an order, papers."""

from __future__ import annotations

import json
import shutil
import time
from pathlib import Path
from time import perf_counter

import pytest
from click.testing import CliRunner, Result

from made_kept import planned_copy
from ribband.app.demo import copy_example
from ribband.app.entering.timber_use import with_state
from ribband.app.plan import timber_joint
from ribband.app.plan.planning import plan
from ribband.app.plan.timber_joint import accept_suited, suit_answer
from ribband.app.plan.timber_steps import by_strake, looked_over
from ribband.app.screens.timber import timber_page
from ribband.cli import cli
from ribband.errors import InputError
from ribband.lining.model import Strake
from ribband.survey.rows import Form
from ribband.timber import LayWish
from ribband.timber.laying import spoilt


def ribband(*words: object) -> Result:
    return CliRunner().invoke(cli, [str(word) for word in words])


def data(*words: object, code: int = 0) -> dict:
    result = ribband(*words, "--json")
    assert result.exit_code == code, result.output
    return json.loads(result.stdout)


@pytest.fixture(scope="module")
def laid(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo's job with its planks on its boards."""
    job = planned_copy(tmp_path_factory.mktemp("timber") / "heron.ribband", "order")
    assert ribband("lay", job).exit_code in {0, 1}
    return job


@pytest.fixture(autouse=True)
def mended_soon(monkeypatch: pytest.MonkeyPatch) -> None:
    """Ways that save timber are looked for only shortly after a mending."""
    monkeypatch.setattr(spoilt, "SAVING", 60)


@pytest.fixture
def job(laid: Path, tmp_path: Path) -> Path:
    """A copy to change."""
    return Path(shutil.copyfile(laid, tmp_path / "heron.ribband"))


def where(answer: dict) -> dict[str, str]:
    return {row["plank"]: row["board"] for row in answer["cuts"]}


def test_the_tally_needs_no_plan(tmp_path: Path) -> None:
    forms = copy_example("marl_heron", tmp_path / "forms")
    ribband("new", tmp_path / "heron", forms)
    began = time.process_time()
    told = data("tally", tmp_path / "heron")
    assert time.process_time() - began < 3.0
    assert len(told["boards"]) == 126
    assert all(board["dresses"] for board in told["boards"])
    text = ribband("tally", tmp_path / "heron").output
    assert "will it dress" in text
    assert "dries by" in text


def test_a_board_too_thin_and_one_of_another_timber_are_kept_out(tmp_path: Path) -> None:
    forms = copy_example("marl_heron", tmp_path / "forms")
    rows = (forms / "boards.csv").read_text("utf-8").splitlines()
    thin, oak = rows[1].split(",", 6), rows[2]
    thin[5] = "0-1-5"
    rows[1], rows[2] = ",".join(thin), oak.replace('"Douglas-fir, coast"', "white oak")
    (forms / "boards.csv").write_text("\n".join(rows), "utf-8")
    ribband("new", tmp_path / "heron", forms)
    told = data("tally", tmp_path / "heron")
    assert [bool(board["why_not"]) for board in told["boards"]][:3] == [True, True, False]
    assert {"T010", "T012"} <= {f["code"] for f in told["findings"]}


def test_the_yards_air_sets_the_moisture(job: Path) -> None:
    dry = {row["strake"]: row["opens_mm"] for row in data("seams", job)["seams"]}
    assert ribband("rules", job, "set", "climate.vessel_humidity", "40").exit_code == 0
    drier = {row["strake"]: row["opens_mm"] for row in data("seams", job)["seams"]}
    assert all(drier[strake] > dry[strake] > 0 for strake in dry)


def test_boards_too_wet_by_the_rule_are_named_where_the_laying_is_shown(job: Path) -> None:
    assert ribband("rules", job, "set", "laying.wettest_percent", "13").exit_code == 0
    told = data("lay", job, code=1)
    left = [f for f in told["findings"] if f["code"] == "T118"]
    assert len(left) == 118  # the other 8 are tallied at 13 % and under
    assert "over 13" in left[0]["says"]
    assert not {f["where"] for f in left} & {f"board {b}" for b in where(told).values()}
    said = {board.name: board.left for board in timber_page(job).boards if board.left}
    assert {f"board {name}" for name in said} == {f["where"] for f in left}
    assert "over 13" in next(iter(said.values()))


def test_a_spoilt_board_is_mended_at_once(job: Path) -> None:
    before = where(data("lay", job, code=1))
    bad = next(iter(before.values()))
    own = {plank for plank, board in before.items() if board == bad}
    text = ribband("lay", job, "spoil", bad, "--who", "Ada").output
    assert "Revision 2" in text
    assert "the rest stays as it lay" in text
    after = data("lay", job, code=1)
    assert bad not in where(after).values()
    moved = {p for p, board in before.items() if where(after).get(p) not in {None, board}}
    assert len(moved - own) <= 3
    assert ribband("undo", job).exit_code == 0
    assert where(data("lay", job, code=1)) == before  # kept, not laid again


def test_a_plank_is_pinned_and_set_free(job: Path) -> None:
    before = where(data("lay", job, code=1))
    plank, board = next(iter(before.items()))
    told = data("lay", job, "pin", plank, board, code=1)
    assert where(told)[plank] == board
    assert f"pin  {plank}" in ribband("lay", job).output or plank in ribband("lay", job).output
    assert ribband("lay", job, "drop", 1).exit_code == 0


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (("pin", "P1-1", "333"), "a board of the form boards"),
        (("pin", "P99-9", "3"), "a plank of the list"),
        (("bar", "333"), "a board of the form boards"),
        (("spoil", "333"), "a board of the tally"),
        (("suit", "--accept"), "ribband lay JOB suit"),
    ],
)
def test_wrong_words_change_nothing_and_say_what_is_wanted(
    laid: Path, words: tuple[str, ...], says: str
) -> None:
    result = ribband("lay", laid, *words)
    assert result.exit_code == 3, result.output
    assert says in result.output
    assert len(data("history", laid)["revisions"]) == 1


def test_what_is_lacking_is_ordered(laid: Path) -> None:
    unlaid = data("lay", laid, code=1)["laying"]["unlaid"]
    assert unlaid
    told = ribband("order", laid, "--json")
    lines = [row for row in json.loads(told.stdout)["order"] if row["unit"] == "boards"]
    assert sum(row["quantity"] for row in lines) >= 1
    text = ribband("order", laid).output
    assert "pack 1" in text
    assert "Lifting" in text


def logged(job: Path, folder: Path, *rows: tuple[str, str, str]) -> None:
    """Take in a log of these lines: plank, state, day."""
    folder.mkdir(exist_ok=True)
    lines = ["plank,state,at,by,note,notes", *(",".join((*row, "Ann", "", "")) for row in rows)]
    (folder / "log.csv").write_text("\n".join(lines), "utf-8")
    assert ribband("take", job, folder).exit_code == 0


def test_planks_got_out_are_looked_for_no_more_on_pile_or_order(job: Path, tmp_path: Path) -> None:
    """Of no known board they leave pieces and order; on one they stay as sawn; spoilt they return.

    Every other plank keeps its board and its place on it.
    """
    ribband("rules", job, "set", "order.seconds", "0.5")
    before = data("lay", job, code=1)
    unlaid, cuts = before["laying"]["unlaid"], {row["plank"]: row for row in before["cuts"]}
    gone, lie, place = unlaid[:2], sorted(cuts)[:2], ("board", "x_mm", "y_mm", "turn_deg")
    rows = [*((plank, "hung", "2027-03-02") for plank in (*gone, *lie)),
            (unlaid[2], "patterned", "2027-03-02")]  # fmt: skip
    logged(job, tmp_path / "log", *rows)
    after = data("lay", job, code=1)
    assert set(after["laying"]["unlaid"]) == set(unlaid) - set(gone)
    now = {row["plank"]: row for row in after["cuts"]}
    assert {p: [c[k] for k in place] for p, c in now.items()} == {
        p: [c[k] for k in place] for p, c in cuts.items()}  # fmt: skip
    assert {p for p, c in now.items() if c["got_out"]} == set(lie)
    text = ribband("lay", job).output
    assert "2 stay on their boards as they were sawn; of 2 the board is not known" in text
    said = ribband("order", job).output
    assert f"planks without a board {len(unlaid) - 2}" in " ".join(said.split())
    logged(job, tmp_path / "log", *rows, (gone[0], "spoilt", "2027-03-03"))
    again = data("lay", job, code=1)
    assert set(again["laying"]["unlaid"]) == set(unlaid) - {gone[1]}


def test_on_a_board_a_plank_was_sawn_from_elsewhere_than_planned_nothing_else_is_laid(
    job: Path,
) -> None:
    """It is not known where along that board it lay; the others keep their boards or lose none."""
    before = where(data("lay", job, code=1))
    plank, other = next((p, b) for p in before for b in before.values() if before[p] != b)
    lost = {p for p, b in before.items() if b == other}
    told = data("lay", job, "sawn", plank, other, code=1)
    after = where(told)
    assert plank not in after
    assert plank not in told["laying"]["unlaid"]
    assert other not in after.values()
    moved = {p for p, b in before.items() if p != plank and after.get(p) != b}
    assert len(moved - lost) <= 3
    text = ribband("lay", job).output
    assert f"{plank} was sawn from it, and not where the plan had it" in " ".join(text.split())
    assert not [f for f in told["findings"] if f["code"] in {"T120", "T121"}]
    assert where(data("lay", job, code=1)) == after


def with_mill(job: Path, folder: Path, *sizes: str) -> None:
    """Take in a mill that sells these sizes and no others."""
    folder.mkdir()
    lines = ["length,width,thickness,count,price,notes", *(f"{size},0-2-0,,4.5," for size in sizes)]
    (folder / "mill.csv").write_text("\n".join(lines), "utf-8")
    assert ribband("take", job, folder).exit_code == 0


def test_every_plank_without_a_board_can_be_bought_of_her_mill(laid: Path) -> None:
    told = ribband("order", laid, "--json")
    assert told.exit_code == 0
    assert json.loads(told.stdout)["unmet"] == []


def test_a_plank_no_board_holds_is_told_the_board_and_the_butt_that_would(
    job: Path, tmp_path: Path
) -> None:
    """Of a mill of short boards nothing long is held; each plank is told what would help."""
    with_mill(job, tmp_path / "mill", "14-0-0,1-6-0")
    told = data("order", job, code=1)
    assert told["unmet"]
    why = next(f["why"] for f in told["findings"] if f["code"] == "T030")
    assert why.count("a board of") >= len(told["unmet"]) / 2
    each = [f for f in told["findings"] if f["code"] == "T037"]
    named = [word for f in each for word in f["where"].replace(",", "").split() if word[0] in "PS"]
    assert sorted(named) == sorted(told["unmet"])
    assert len({(f["says"], f["why"]) for f in each}) == len(each)  # the same is said once
    assert all("a butt at" in f["says"] or "no one butt" in f["says"] for f in each)


def test_a_mill_with_prices_is_bought_from(job: Path, tmp_path: Path) -> None:
    with_mill(job, tmp_path / "mill", *(f"{long}-0-0,1-4-0" for long in (16, 20, 24, 26)))
    told = ribband("order", job, "--json")
    lines = [row for row in json.loads(told.stdout)["order"] if row["unit"] == "boards"]
    assert {row["thickness_mm"] for row in lines} == {50.8}
    feet = [row["volume_m3"] / 0.002359737216 * 4.5 for row in lines]
    assert [row["price"] for row in lines] == pytest.approx(feet, rel=1e-6)


def test_the_papers_of_the_saw_are_written(laid: Path, tmp_path: Path) -> None:
    for words in (("draw", laid, "boards"), ("draw", laid, "milling")):
        assert ribband(*words, "--out", tmp_path).exit_code == 0
    assert (
        ribband("labels", laid, "--out", tmp_path / "labels.pdf", "--size", "70x37").exit_code == 0
    )
    assert {path.name for path in tmp_path.iterdir()} == {"boards.pdf", "milling.pdf", "labels.pdf"}
    assert ribband("labels", laid, "--size", "1x1").exit_code == 3


@pytest.fixture
def short_trials(monkeypatch: pytest.MonkeyPatch) -> None:
    """Butts and boards together, by searches of a second or two."""
    monkeypatch.setattr(timber_joint, "LAYING", 1.0)
    monkeypatch.setattr(timber_joint, "BUTTS", 2.0)


@pytest.mark.usefixtures("short_trials")
def test_butts_and_boards_are_weighed_in_money_where_all_have_prices(
    job: Path, tmp_path: Path
) -> None:
    forms = copy_example("marl_heron", tmp_path / "forms")
    head, *rows = (forms / "boards.csv").read_text("utf-8").splitlines()
    lines = [head.replace(",notes", ",price,notes")]
    for n, row in enumerate(rows):
        cells, _, notes = row.rpartition(",")
        lines.append(f"{cells},{60 + n % 7 * 10},{notes}")
    only = tmp_path / "priced"
    only.mkdir()
    (only / "boards.csv").write_text("\n".join(lines), "utf-8")
    assert ribband("take", job, only).exit_code == 0
    answer = suit_answer(job, 4.0)
    before, after = answer.data["before"], answer.data["after"]
    assert before["used_money"] > 60 * before["boards"] * 0.2
    spent = [one["used_money"] + one["bought_money"] for one in (before, after)]
    assert spent[1] <= spent[0] + 1e-6
    assert (spent[1] < spent[0]) is answer.data["better"]
    rows_of = {row[0]: row[1:] for row in answer.listings[0].rows}
    assert rows_of["money in all"] == tuple(f"{money:.2f}" for money in spent)
    in_all = [one["used_m3"] + one["bought_m3"] for one in (before, after)]
    assert [before["timber_m3"], after["timber_m3"]] == pytest.approx(in_all)
    assert "timber in all" in rows_of
    near = "near butts with one strake between"
    assert rows_of[near] == tuple(f"{one['goals'][near]:g}" for one in (before, after))
    worse = {name for name, was in before["goals"].items() if after["goals"][name] > was + 1e-6}
    told = " ".join(note for note in answer.notes if note.startswith("What it costs"))
    assert all(name.removesuffix(", mm") in told for name in worse)
    assert bool(told) is bool(worse or after["butts"] > before["butts"])
    found = plan(job, "butts").run.bench.made["butts"].findings
    pairs = [int(f.says.split()[0]) for f in found if f.code == "B013" and f.says[0].isdigit()]
    assert before["goals"][near] == (pairs[0] if pairs else before["goals"][near])


@pytest.mark.usefixtures("short_trials")
def test_butts_that_suit_the_boards_keep_the_rules_and_can_be_taken(job: Path) -> None:
    answer = suit_answer(job, 6.0)
    before, after = answer.data["before"], answer.data["after"]
    assert after["unlaid"] <= before["unlaid"]
    if not answer.data["better"]:
        pytest.skip("nothing better was found in the time")
    done = accept_suited(job, "Ada")
    assert done.taken.revision is not None
    told = data("lay", job, code=1 if after["unlaid"] else 0)
    assert len(told["laying"]["unlaid"]) == after["unlaid"]
    assert told["laying"]["used_m3"] == pytest.approx(after["used_m3"])
    assert ribband("butts", job).exit_code == 0  # no rule is broken
    assert ribband("undo", job).exit_code == 0


@pytest.mark.usefixtures("short_trials")
def test_butts_that_suit_the_boards_leave_planks_got_out_and_their_boards(
    job: Path, tmp_path: Path
) -> None:
    """Hung, got out of no known board, or said to be sawn: each keeps name, shape and place."""
    before = plan(job, "laying").run.result("laying")
    hung, sawn = before.laying.cuts[0], before.laying.cuts[-1]
    gone = before.laying.unlaid[0]
    said = tmp_path / "log" / "layings.csv"
    said.parent.mkdir()
    said.write_text(f"plank,board,wish,notes\n{sawn.plank},{sawn.board},sawn,\n", "utf-8")
    logged(job, said.parent, *((plank, "hung", "2027-03-02") for plank in (hung.plank, gone)))
    planned = plan(job, "laying")
    bench, first = planned.run.bench, timber_joint._start(planned)
    held = timber_joint.held_planks(bench, first.laid)
    assert held == {hung.plank, gone, sawn.plank}
    trial = next(timber_joint._trials(bench, first, perf_counter() + 60.0, []))
    assert set(trial.layout.butts) != set(first.layout.butts)
    cuts = {cut.plank: cut for cut in trial.laid.laying.cuts}
    assert [cuts[own.plank] for own in (hung, sawn)] == [hung, sawn]
    assert gone not in cuts
    assert gone not in trial.laid.laying.unlaid
    assert trial.laid.gone == (gone,)
    assert not [f for f in looked_over(trial.laid) if f.severity == "fault"]


def test_girths_alone_are_ordered_by_the_plank_list(tmp_path: Path) -> None:
    forms = copy_example("marl_heron_girths", tmp_path / "forms")
    ribband("new", tmp_path / "girths", forms)
    told = ribband("order", tmp_path / "girths")
    assert "No flat shape is known" in told.output
    assert "Boards to buy" in told.output
    assert ribband("lay", tmp_path / "girths").exit_code == 1


def test_the_state_of_a_board_that_is_not_there_is_refused() -> None:
    form = Form("boards", ("board", "state", "notes"), (("A7", "", ""),), "boards.csv", (2,))
    assert with_state(form, "A7", "barred").rows == (("A7", "barred", ""),)
    with pytest.raises(InputError):
        with_state(form, "B1", "spoilt")


def test_what_a_strake_is_called_stands_for_all_strakes_so_called() -> None:
    called = {"1": "garboard", "2": "topside", "3": "topside", "4": "sheer strake"}
    strakes = [Strake(name, said, "stem", "stern") for name, said in called.items()]
    wishes = [LayWish("pair", "Topside", ""), LayWish("book", "3", ""), LayWish("bar", "", "A1")]
    assert [(w.wish, w.plank) for w in by_strake(wishes, strakes)] == [
        ("pair", "2"), ("book", "3"), ("bar", ""),
    ]  # fmt: skip


def test_both_sides_are_wished_out_of_one_board_by_a_word(job: Path) -> None:
    wrong = ribband("lay", job, "pair", "99")
    assert wrong.exit_code == 3
    assert "a plank or a strake of the list" in wrong.output
    told = data("lay", job, "pair", "P5-1", code=1)
    cuts = {row["plank"]: row for row in told["cuts"]}
    assert cuts["P5-1"]["board"] == cuts["S5-1"]["board"]
    assert (cuts["P5-1"]["with_plank"], cuts["P5-1"]["with_as"]) == ("S5-1", "pair")
    assert {row["with_plank"] for row in told["cuts"]} == {None, "P5-1", "S5-1"}
    out = ribband("lay", job).output
    assert "pair of S5-1, out of the same board" in out
    booked = ribband("lay", job, "book", "5-1")  # a word more on the same place; no log is tallied
    assert "no two boards that may be cut into" in booked.output
    assert "T133" not in booked.output  # said once


def test_the_garboards_seam_at_the_keel_moves_by_the_garboards_own_half(job: Path) -> None:
    told = data("seams", job)
    garboard = told["seams"][0]
    line = next(row for row in ribband("seams", job).output.splitlines() if "at the keel" in row)
    halves = [f"{garboard[name] / 2 / 25.4:.2f} in" for name in ("opens_mm", "closes_mm")]
    assert all(half in line for half in halves)
