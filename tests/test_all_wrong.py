"""Every wrong cell is named at one look, also those that a wrong cell beside them would hide."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from made_forms import form
from ribband.app.plan.inputs import look_over
from ribband.errors import InputError, Problem
from ribband.survey.columns import LAYOUTS
from ribband.survey.rows import Form

GOOD = {
    "vessel": form(
        "vessel", ("item", "value"), [("vessel", "Sand Wren"), ("unit", "mm"), ("planking", "25")]
    ),
    "frames": form("frames", ("frame", "position"), [(str(n), str(600 * n)) for n in range(1, 7)]),
    "girths": form("girths", ("frame", "girth"), [(str(n), "1500") for n in range(1, 7)]),
    "boards": form(
        "boards", ("board", "length", "width_butt", "width_top", "thickness"),
        [("A7", "5000", "300", "260", "44")],
    ),
}  # fmt: skip
# form -> the cells of a row, and the columns of it that are wrong
ROWS: dict[str, tuple[dict[str, str], set[str]]] = {
    "vessel": ({"item": "planking", "value": "25,4"}, {"item", "value"}),  # said already
    "frames": ({"frame": "7", "position": "4,2", "sided": "3-7"}, {"position", "sided"}),
    "girths": ({"frame": "9", "girth": "1,5", "side": "left"}, {"frame", "girth", "side"}),
    "offsets": ({"line": "waterline", "at": "600", "1": "1,2", "2": "x"}, {"1", "2"}),
    "ends": ({"end": "bow", "height": "1,2", "position": "x"}, {"end", "height", "position"}),
    "points": ({"frame": "9", "y": "1,2", "z": "900", "x": ""}, {"frame", "y"}),
    "old_strakes": (
        {"strake": "3", "frame": "19", "width": "1,2", "thickness": "x"},
        {"frame", "width", "thickness"},
    ),
    "old_butts": ({"strake": "3", "frame": "19", "landing": "bolt"}, {"frame", "landing"}),
    "old_fastenings": ({"where": "", "kind": "nail", "length": "1,2"}, {"where", "length"}),
    "stock": ({"length": "1,2", "price": "1.250"}, {"length", "price"}),
    "boards": (
        {"board": "A8", "length": "5000", "width_butt": "300", "width_top": "2,6",
         "thickness": "44", "flaws": "dent at 900", "price": "1.250"},
        {"width_top", "flaws", "price"},
    ),
    "outlines": ({"board": "Z9", "along": "1,2", "across": "0"}, {"board", "along"}),
    "layings": ({"plank": "", "board": "Z9", "wish": "nail"}, {"board", "wish"}),
    "timbers": ({"timber": "larch", "density": "600", "radial": "8", "tangential": "4", "at": "x"},
                {"radial", "at"}),
    "mill": ({"length": "1,2", "price": "12,50"}, {"length", "price"}),
    "fastenings": ({"item": "screws", "kind": "glue", "price": "1.250"}, {"kind", "price"}),
    "path": ({"from": "pile", "to": "", "distance": "1,2"}, {"to", "distance"}),
    "lining": ({"wish": "width", "strake": "middle", "frame": "19", "value": "1,2"},
               {"strake", "frame", "value"}),
    "butts": ({"wish": "nail", "strake": "middle", "frame": "stem"}, {"wish", "strake", "frame"}),
    "rates": ({"operation": "sing", "rate": "0,5", "unit": "plank"}, {"operation", "rate"}),
    "crew": (
        {"name": "Ann", "wage": "24,50", "from": "01.03.2027", "to": "30.06.2027", "days": "Mo-Fr",
         "hours": "half"},
        {"wage", "from", "to", "days", "hours"},
    ),
    "gear": ({"item": "planer", "how_many": "1,0", "from": "1.3.2027"}, {"how_many", "from"}),
    "calendar": ({"date": "24.12.2027", "to_date": "2.1.2028", "off": "ja"},
                 {"date", "to_date", "off"}),
    "supplies": ({"item": "cotton", "price": "1.250", "unit": "litre"}, {"price", "unit"}),
    "log": ({"plank": "", "state": "gone", "at": "Tuesday"}, {"plank", "state", "at"}),
    "as_hung": ({"side": "left", "strake": "x", "frame": "19", "at": "now"},
                {"side", "strake", "frame", "at"}),
    "renew": ({"side": "left", "strake": "x", "from_frame": "19", "to_frame": "20"},
              {"side", "strake", "from_frame", "to_frame"}),
    "photos": ({"plank": "", "file": ""}, {"plank", "file"}),
    "rules": ({"rule": "", "value": ""}, {"rule", "value"}),
    "doubts": ({"reading": "", "decision": "guess", "value": "1,2"},
               {"reading", "decision", "value"}),
}  # fmt: skip


def told(forms: Mapping[str, Form]) -> tuple[Problem, ...]:
    try:
        look_over(forms)
    except InputError as wrong:
        return wrong.problems
    return ()


def with_row(name: str) -> tuple[dict[str, Form], int]:
    """The good forms with the wrong row under whatever was there; and its number."""
    cells = ROWS[name][0]
    old = GOOD.get(name, form(name, (), []))
    header = (*old.header, *(column for column in cells if column not in old.header))
    rows = [(*row, *[""] * (len(header) - len(row))) for row in old.rows]
    rows.append(tuple(cells.get(column, "") for column in header))
    return {**GOOD, name: form(name, header, rows)}, len(rows) + 1


def test_the_good_forms_are_good() -> None:
    assert told(GOOD) == ()


def test_every_form_is_tried() -> None:
    assert ROWS.keys() == LAYOUTS.keys()


@pytest.mark.parametrize("name", ROWS)
def test_every_wrong_cell_of_a_row_is_named_at_once_and_no_other(name: str) -> None:
    forms, row = with_row(name)
    found = told(forms)
    assert {p.column for p in found if (p.file, p.row) == (f"{name}.csv", row)} == ROWS[name][1]
    assert {(p.file, p.row) for p in found} == {(f"{name}.csv", row)}


def test_wrong_cells_of_all_forms_are_named_at_once() -> None:
    forms: dict[str, Form] = {}
    for name in ROWS:
        if name not in {"vessel", "offsets"}:
            forms[name] = with_row(name)[0][name]
    found = {(p.file, p.column) for p in told({**GOOD, **forms})}
    assert found >= {(f"{name}.csv", c) for name in forms for c in ROWS[name][1]}


def test_what_only_may_be_wrong_waits() -> None:
    """A flaw beyond a board whose length cannot be read; a pin or bar that is neither."""
    boards = form(
        "boards", ("board", "length", "width_butt", "width_top", "thickness", "flaws"),
        [("A7", "5,5", "300", "260", "44", "knot at 5200 up 80 size 30")],
    )  # fmt: skip
    layings = form("layings", ("plank", "board", "wish"), [("", "A7", "nail")])
    found = told({**GOOD, "boards": boards, "layings": layings})
    assert {(p.file, p.column) for p in found} == {
        ("boards.csv", "length"), ("layings.csv", "wish"),
    }  # fmt: skip


def test_a_row_is_not_blamed_for_one_that_is_wrong() -> None:
    """A name twice is told only where both rows can be read; a reference to a wrong row is one."""
    frames = form(
        "frames",
        ("frame", "position"),
        [*((str(n), str(600 * n)) for n in range(1, 6)), ("6", "x")],
    )
    crew = form("crew", ("name", "skills", "wage"), [("Ann", "all", "x"), ("Ann", "hang", "20")])
    found = told({**GOOD, "frames": frames, "crew": crew})
    assert {(p.file, p.row, p.column) for p in found} >= {("frames.csv", 7, "position")}
    assert not [p for p in found if p.file == "girths.csv"]


@pytest.mark.parametrize(
    ("text", "wanted"),
    [("1.250", "1250 or 1.25"), ("12.345", "12345 or 12.3450"), ("1.000", "1000 or 1")],
)
def test_a_price_that_may_be_a_thousand_times_another_is_asked_about(
    text: str, wanted: str
) -> None:
    stock = form("stock", ("length", "price"), [("5000", text)])
    (problem,) = told({**GOOD, "stock": stock})
    assert (problem.column, problem.found) == ("price", text)
    assert problem.wanted.startswith(f"{wanted}; {text} could be either")


@pytest.mark.parametrize("text", ["1250", "1.25", "0.125", "1250.000", "1234.567", "1.2500", "12"])
def test_a_price_that_can_be_one_thing_only_is_taken(text: str) -> None:
    assert told({**GOOD, "stock": form("stock", ("length", "price"), [("5000", text)])}) == ()
