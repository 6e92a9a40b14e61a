"""The forms of the record: what cannot be used is refused by file, row and column."""

from __future__ import annotations

from importlib.resources import files
from pathlib import Path

import pytest

from ribband.app.entering.record_forms import record_looks
from ribband.app.plan.shop_steps import shop_typed
from ribband.app.plan.work_steps import yard_of
from ribband.errors import InputError
from ribband.record import read_hung, read_renew
from ribband.survey import read_forms, typed
from ribband.survey.columns import LAYOUTS
from ribband.survey.rows import Form


def form(name: str, *rows: tuple[str, ...]) -> Form:
    header = tuple(column.name for column in LAYOUTS[name].columns)
    full = tuple((*row, *[""] * (len(header) - len(row))) for row in rows)
    return Form(name, header, full, f"{name}.csv", tuple(range(2, 2 + len(rows))))


FRAMES = form("frames", ("1", "0"), ("2", "400"), ("3", "800"))


def test_a_measured_seam_is_read_with_its_cell() -> None:
    rows, problems = typed(form("as_hung", ("p", "4", "", "2", "712.5")), "mm")
    assert not problems
    point = read_hung(rows)[0]
    assert (point.side, point.edge, point.girth_mm) == ("port", "upper", 712.5)
    assert (point.cell.row, point.cell.column) == (2, "girth")


@pytest.mark.parametrize(
    ("name", "row", "column"),
    [
        ("as_hung", ("port", "4", "upper", "9", "700"), "frame"),
        ("as_hung", ("port", "topside", "upper", "2", "700"), "strake"),
        ("as_hung", ("middle", "4", "upper", "2", "700"), "side"),
        ("as_hung", ("port", "4", "upper", "2", "700", "Tuesday"), "at"),
        ("renew", ("port", "4", "1", "7"), "to_frame"),
        ("renew", ("port", "4", "3", "1"), "to_frame"),
        ("renew", ("port", "4", "1", "3", "glue"), "joint"),
        ("photos", ("P4-1", ""), "file"),
    ],
)
def test_wrong_cells_are_named(name: str, row: tuple[str, ...], column: str) -> None:
    with pytest.raises(InputError) as caught:
        _looked_over({"frames": FRAMES, name: form(name, row)})
    problem = caught.value.problems[0]
    assert (problem.file, problem.row, problem.column) == (f"{name}.csv", 2, column)


def test_a_renewal_may_reach_stem_and_stern() -> None:
    forms = {"frames": FRAMES, "renew": form("renew", ("stbd", "4", "stem", "stern", "scarf"))}
    for look in record_looks(forms, "mm"):
        look()
    rows, _ = typed(forms["renew"], "mm")
    assert read_renew(rows)[0].joint == "scarf"


def test_the_forms_of_the_slip_in_the_example_are_read() -> None:
    slip = Path(str(files("ribband").joinpath("data", "examples", "marl_heron", "at_the_slip")))
    forms = read_forms(slip)
    assert set(forms) == {"crew", "gear", "calendar", "log"}
    yard = yard_of(forms, "ft-in-8ths")
    assert all(hand.wage for hand in yard.crew)
    assert len(yard.crew[0].more) == 1  # the foreman was ill, and came back
    assert {line.plank for line in yard.log} == {"P1-1", "S1-1"}
    (box,) = shop_typed(forms, "ft-in-8ths").boxes
    assert box.sized
    assert box.length_mm == pytest.approx(21.5 * 304.8)


def _looked_over(forms: dict[str, Form]) -> None:
    """Read the record's forms one by one."""
    for look in record_looks(forms, "mm"):
        look()
