"""Many hands at one job: what stands, what asks, and what a repeat does."""

from __future__ import annotations

import random
import threading
from pathlib import Path

import pytest

from ribband.app.entering.changes import Change, Clash, Edit, Overtaken, Patch, apply, go_back, step
from ribband.app.entering.jobs import history, new_job
from ribband.app.entering.row_merge import HEADING, put_in
from ribband.errors import InputError
from ribband.store import JobFile
from ribband.survey.rows import Form

HEADER = ("frame", "position", "side", "girth", "notes")
ROWS = tuple((str(n), f"{n}00", "", f"{1000 + n}", "") for n in range(1, 9))


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = new_job(tmp_path / "heron", None, "Ada").job
    name = Edit("vessel", None, ("vessel", "Marl Heron"), 0)
    assert isinstance(apply(path, Change("name", "Ada", "named", (name,), 0)), Patch)
    edits = tuple(Edit("girths", None, row, n) for n, row in enumerate(ROWS))
    assert isinstance(apply(path, Change("first", "Ada", "girths", edits, 1)), Patch)
    return path


def rows(job: Path, form: str = "girths") -> tuple[tuple[str, ...], ...]:
    with JobFile.open(job) as file:
        return file.forms()[form].rows


def with_cell(row: tuple[str, ...], column: str, text: str) -> tuple[str, ...]:
    at = HEADER.index(column)
    return (*row[:at], text, *row[at + 1 :])


def changed(row: int, column: str, text: str) -> Edit:
    return Edit("girths", ROWS[row], with_cell(ROWS[row], column, text), row)


def test_a_change_is_a_revision_with_who_and_why(job: Path) -> None:
    done = apply(job, Change("a", "Bo", "taped again", (changed(2, "girth", "1999"),), 2))
    assert isinstance(done, Patch)
    assert (done.revision, done.upon, done.who, done.why) == (3, 2, "Bo", "taped again")
    assert rows(job)[2][3] == "1999"
    assert history(job)[-1].why == "taped again"


def test_the_same_id_twice_does_nothing_twice(job: Path) -> None:
    change = Change("a", "Bo", "", (Edit("girths", None, ("99", "", "", "1", ""), 8),), 2)
    first, again = apply(job, change), apply(job, change)
    assert isinstance(first, Patch)
    assert isinstance(again, Patch)
    assert (again.repeated, again.revision) == (True, first.revision)
    assert len(rows(job)) == 9


def test_edits_to_different_cells_of_one_row_both_stand(job: Path) -> None:
    apply(job, Change("a", "Bo", "", (changed(2, "girth", "1999"),), 2))
    done = apply(job, Change("b", "Cy", "", (changed(2, "notes", "wet"),), 2))
    assert isinstance(done, Patch)
    assert rows(job)[2] == ("3", "300", "", "1999", "wet")


def test_edits_to_one_cell_ask_and_show_both(job: Path) -> None:
    apply(job, Change("a", "Bo", "", (changed(2, "girth", "1999"),), 2))
    done = apply(job, Change("b", "Cy", "", (changed(2, "girth", "1888"),), 2))
    assert isinstance(done, Clash)
    assert done.who == "Bo"
    (row,) = done.rows
    (cell,) = row.cells
    assert (cell.column, cell.was, cell.mine, cell.theirs) == ("girth", "1003", "1888", "1999")
    assert rows(job)[2][3] == "1999"
    assert len(history(job)) == 3


def test_what_a_clash_offers_can_be_put_in(job: Path) -> None:
    both = with_cell(with_cell(ROWS[2], "girth", "1999"), "notes", "wet")
    apply(job, Change("a", "Bo", "", (Edit("girths", ROWS[2], both, 2),), 2))
    clash = apply(job, Change("b", "Cy", "", (changed(2, "girth", "1888"),), 2))
    assert isinstance(clash, Clash)
    row = clash.rows[0]
    edit = Edit("girths", row.theirs, row.both, row.at)
    done = apply(job, Change("c", "Cy", "", (edit,), clash.revision))
    assert isinstance(done, Patch)
    assert rows(job)[2] == ("3", "300", "", "1888", "wet")


def test_the_same_edit_by_two_hands_is_no_clash(job: Path) -> None:
    apply(job, Change("a", "Bo", "", (changed(2, "girth", "1999"),), 2))
    done = apply(job, Change("b", "Cy", "", (changed(2, "girth", "1999"),), 2))
    assert isinstance(done, Patch)
    assert (done.edits, done.revision) == ((), 3)


def test_a_row_that_moved_is_found_again(job: Path) -> None:
    more = tuple(Edit("girths", None, (f"x{n}", "", "", "5", ""), 0) for n in range(3))
    apply(job, Change("a", "Bo", "", more, 2))
    done = apply(job, Change("b", "Cy", "", (changed(2, "girth", "1999"),), 2))
    assert isinstance(done, Patch)
    assert rows(job)[5] == with_cell(ROWS[2], "girth", "1999")
    assert done.edits[0].at == 5


def test_a_row_that_moved_and_changed_is_followed(job: Path) -> None:
    more = (Edit("girths", None, ("0", "", "", "5", ""), 0), changed(2, "notes", "wet"))
    apply(job, Change("a", "Bo", "", more, 2))
    apply(job, Change("b", "Cy", "", (changed(2, "girth", "1999"),), 2))
    assert rows(job)[3] == ("3", "300", "", "1999", "wet")


def test_a_row_taken_out_and_changed_asks_either_way_round(job: Path) -> None:
    out = Edit("girths", ROWS[2], None, 2)
    apply(job, Change("a", "Bo", "", (out,), 2))
    done = apply(job, Change("b", "Cy", "", (changed(2, "girth", "1999"),), 2))
    assert isinstance(done, Clash)
    assert done.rows[0].theirs is None
    apply(job, Change("c", "Bo", "", (changed(4, "girth", "1999"),), 3))
    done = apply(job, Change("d", "Cy", "", (Edit("girths", ROWS[4], None, 4),), 3))
    assert isinstance(done, Clash)
    assert done.rows[0].mine is None


def test_two_hands_at_one_rule_ask(job: Path) -> None:
    one = Edit("rules", None, ("lining.greatest_width", "190", ""), 0)
    two = Edit("rules", None, ("lining.greatest_width", "170", ""), 0)
    apply(job, Change("a", "Bo", "", (one,), 2))
    assert isinstance(apply(job, Change("b", "Cy", "", (two,), 2)), Clash)
    seen = apply(job, Change("c", "Cy", "", (two,), 3))
    assert isinstance(seen, Patch), "seen and still put in: no business of ours"


def test_edits_of_a_change_stand_or_fall_together(job: Path) -> None:
    apply(job, Change("a", "Bo", "", (changed(2, "girth", "1999"),), 2))
    edits = (changed(1, "girth", "1777"), changed(2, "girth", "1888"))
    assert isinstance(apply(job, Change("b", "Cy", "", edits, 2)), Clash)
    assert rows(job)[1] == ROWS[1]


def test_columns_move_by_name_or_are_renamed(job: Path) -> None:
    edits = (
        Edit("offsets", None, ("position",), 0),
        Edit("offsets", ("line", "at", "notes"), ("line", "at", "1", "2", "notes"), HEADING),
        Edit("offsets", ("position",), ("position", "", "0-0-0", "2-0-0", "look"), 0),
        Edit(
            "offsets", ("line", "at", "1", "2", "notes"), ("line", "at", "0", "2", "notes"), HEADING
        ),
        Edit("offsets", ("line", "at", "0", "2", "notes"), ("line", "at", "2", "notes"), HEADING),
    )
    assert isinstance(apply(job, Change("a", "Bo", "", edits, 2)), Patch)
    with JobFile.open(job) as file:
        form = file.forms()["offsets"]
    assert form.header == ("line", "at", "2", "notes")
    assert form.rows == (("position", "", "2-0-0", "look"),)


def test_headings_changed_by_two_hands_ask(job: Path) -> None:
    one = Edit("girths", HEADER, (*HEADER[:4], "remark"), HEADING)
    two = Edit("girths", HEADER, (*HEADER[:4], "says"), HEADING)
    apply(job, Change("a", "Bo", "", (one,), 2))
    assert isinstance(apply(job, Change("b", "Cy", "", (two,), 2)), Clash)


def test_nonsense_is_refused_and_changes_nothing(job: Path) -> None:
    for edit in (
        Edit("nothing", None, ("a",), 0),
        Edit("girths", None, tuple("abcdefghij"), 0),
        Edit("girths", HEADER, None, HEADING),
    ):
        with pytest.raises(InputError):
            apply(job, Change("a", "Bo", "", (edit,), 2))
    assert len(history(job)) == 2


def test_undo_is_done_once_and_not_over_what_was_not_seen(job: Path) -> None:
    apply(job, Change("a", "Bo", "", (changed(2, "girth", "1999"),), 2))
    with pytest.raises(Overtaken):
        step(job, "undo", "Cy", mark="u", upon=2)
    first, again = (step(job, "undo", "Cy", mark="u", upon=3) for _ in "12")
    assert first is not None
    assert again is not None
    assert (first.forms, again.repeated, again.revision) == (("girths",), True, 4)
    assert rows(job) == ROWS
    assert step(job, "redo", "Cy", mark="r", upon=4) is not None
    assert rows(job)[2][3] == "1999"
    assert step(job, "redo", "Cy", mark="s", upon=5) is None


def test_going_back_is_a_new_revision(job: Path) -> None:
    apply(job, Change("a", "Bo", "", (changed(2, "girth", "1999"),), 2))
    done = go_back(job, 2, "Cy", mark="g")
    assert (done.revision, done.forms) == (4, ("girths",))
    assert rows(job) == ROWS
    assert go_back(job, 2, "Cy", mark="g").repeated
    with pytest.raises(InputError):
        go_back(job, 99, "Cy")


def test_row_numbers_stay_with_their_rows() -> None:
    form = Form("girths", HEADER, ROWS[:3], "g.csv", (4, 5, 9), ((1, "# a"), (6, "# b")), 3)
    new = ("x", "", "", "", "")
    edits = [Edit("girths", None, new, 2), Edit("girths", ROWS[0], None, 0)]
    after, _, clashes = put_in({"girths": form}, {"girths": form}, edits)
    assert not clashes
    assert after["girths"].numbers == (5, 6, 10)
    assert after["girths"].notes == ((1, "# a"), (7, "# b"))


def test_hands_at_different_rows_lose_nothing(job: Path) -> None:
    """Eight threads, each at its own row, each change sent twice."""

    def hand(row: int) -> None:
        was = ROWS[row]
        for turn in range(6):
            now = with_cell(was, "notes", f"{turn}")
            change = Change(
                f"h{row}t{turn}", f"hand {row}", "", (Edit("girths", was, now, row),), 2
            )
            for _ in "12":
                assert isinstance(apply(job, change), Patch)
            was = now

    hands = [threading.Thread(target=hand, args=(row,)) for row in range(8)]
    for each in hands:
        each.start()
    for each in hands:
        each.join(60)
        assert not each.is_alive()
    assert [row[4] for row in rows(job)] == ["5"] * 8
    assert len(history(job)) == 2 + 8 * 6


@pytest.mark.parametrize("seed", range(20))
def test_two_hands_at_random_agree_with_one_after_the_other(seed: int) -> None:
    """Edits to different rows come to the same, whichever is first."""
    dice = random.Random(seed)
    base = Form("points", HEADER, ROWS, "p.csv", tuple(range(2, 10)))
    order = dice.sample(range(8), 8)
    one, two = (_random_edits(dice, own) for own in (order[:4], order[4:]))

    def both(first: list[Edit], then: list[Edit]) -> tuple[tuple[str, ...], ...]:
        forms, _, clashes = put_in({"points": base}, {"points": base}, first)
        assert not clashes
        forms, _, clashes = put_in(forms, {"points": base}, then)
        assert not clashes
        return forms["points"].rows

    assert sorted(both(one, two)) == sorted(both(two, one))


def _random_edits(dice: random.Random, own: list[int]) -> list[Edit]:
    edits = []
    for row in own:
        now = with_cell(ROWS[row], dice.choice(HEADER[1:]), f"new {row}")
        edits.append(Edit("points", ROWS[row], dice.choice([now, None]), row))
    return edits
